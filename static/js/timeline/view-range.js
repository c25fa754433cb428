// Which part of the time is looked at: [from, to] in UTC ms. No DOM.
import { MINUTE } from "../time.js";

const LEAST_MARGIN = 10 * MINUTE;
const LEAST_INTERVALS = 20; // fewer readings are not looked at
const MOST = 1.2; // of everything

// A deployment with as much time on both sides as it lasts.
export const around = (start, end) => {
  const margin = Math.max(end - start, LEAST_MARGIN);
  return [start - margin, end + margin];
};

// A wish within reason: not much more than everything, not less than some readings. interval: of the log, in ms.
export const allowedView = ([from, to], extent, interval) => {
  const longest = (extent[1] - extent[0]) * MOST;
  const shortest = Math.max(MINUTE, LEAST_INTERVALS * interval);
  const middle = (from + to) / 2;
  const half = Math.max(Math.min(to - from, longest), shortest) / 2;
  return [Math.round(middle - half), Math.round(middle + half)];
};

// What the buttons with data-view wish.
export const VIEWS = {
  in: ([from, to]) => [from + (to - from) / 4, to - (to - from) / 4],
  out: ([from, to]) => [from - (to - from) / 2, to + (to - from) / 2],
  back: ([from, to]) => [from - (to - from) / 2, to - (to - from) / 2],
  on: ([from, to]) => [from + (to - from) / 2, to + (to - from) / 2],
  all: (_, extent) => extent,
};

// Closer or farther about a moment, which stays where it is.
export const zoomedAbout = (time, [from, to], factor) => [time - (time - from) * factor, time + (to - time) * factor];
