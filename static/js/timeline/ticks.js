// Ticks of the time axis: on round times of the site's clock, as many as there is room for. No DOM.
import { DAY, HOUR, MINUTE, SECOND } from "../time.js";
import { dayOf, offsetAt, timeOfDay } from "./clock.js";

const STEPS = [
  SECOND, 5 * SECOND, 15 * SECOND, MINUTE, 5 * MINUTE, 15 * MINUTE, 30 * MINUTE, HOUR, 3 * HOUR, 6 * HOUR, 12 * HOUR,
  DAY, 2 * DAY, 7 * DAY, 30 * DAY,
];
const LABEL_PX = 84;

const stepFor = (scale) => STEPS.find((step) => step >= LABEL_PX * scale.perPixel) ?? STEPS[STEPS.length - 1];

// [{time, label, day}]: day is the date where it is another than that of the tick before and not the label itself.
export const ticksOf = (scale, offsets) => {
  const step = stepFor(scale);
  const first = Math.ceil((scale.from + offsetAt(offsets, scale.from)) / step) * step;
  const ticks = [];
  let before = "";
  for (let local = first; local - offsetAt(offsets, local) <= scale.to; local += step) {
    const time = local - offsetAt(offsets, local - offsetAt(offsets, local));
    // Two local times are the same moment where the clock jumps ahead: one of them is on no clock.
    if (!scale.shows(scale.x(time)) || time === ticks.at(-1)?.time) continue;
    const today = dayOf(offsets, time);
    const isDays = step >= DAY;
    ticks.push({ time, label: isDays ? today : timeOfDay(offsets, time), day: isDays || today === before ? "" : today });
    before = today;
  }
  return ticks;
};
