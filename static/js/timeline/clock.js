// The clock of the site. offsets: {at, ms} of readings/services/timeline/picture.py: before at[i] local time is ms[i] ahead
// of UTC, after the last of them ms.at(-1). Times are UTC in milliseconds. No DOM.
import { twoDigits } from "../time.js";

export const offsetAt = (offsets, time) => {
  let n = 0;
  while (n < offsets.at.length && offsets.at[n] <= time) n += 1;
  return offsets.ms[n];
};

export const dayOf = (offsets, time) => {
  const local = new Date(time + offsetAt(offsets, time));
  return `${local.getUTCFullYear()}-${twoDigits(local.getUTCMonth() + 1)}-${twoDigits(local.getUTCDate())}`;
};

// Seconds only where there are any.
export const timeOfDay = (offsets, time) => {
  const local = new Date(time + offsetAt(offsets, time));
  const seconds = local.getUTCSeconds() ? `:${twoDigits(local.getUTCSeconds())}` : "";
  return `${twoDigits(local.getUTCHours())}:${twoDigits(local.getUTCMinutes())}${seconds}`;
};

export const dayAndTime = (offsets, time) => `${dayOf(offsets, time)} ${timeOfDay(offsets, time)}`;
