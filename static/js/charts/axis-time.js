// Arithmetic of a chart's time axis: texts of it, steps on it, and the stretches left out of it. Times are milliseconds
// of the axis, which shows the clock of the site as if it were UTC. No DOM.
import { MINUTE } from "../time.js";
import { SHORT_MONTHS } from "./dates.js";

const SHORTEST = MINUTE; // nothing shorter is shown

export const parsedTime = (text) => Date.parse(`${text.length === 10 ? `${text} 00:00` : text}`.replace(" ", "T") + "Z");

export const isoTime = (at) => new Date(at).toISOString().slice(0, -1);

// "7 Sep 09:30"
export const shortTime = (at) => {
  const date = new Date(at);
  return `${date.getUTCDate()} ${SHORT_MONTHS[date.getUTCMonth()]} ${isoTime(at).slice(11, 16)}`;
};

// Stretches left out of the axis ("breaks", [from, to] in order) take no room on it: steps are taken in what is drawn.
// From time to drawn time:
export const shrunk = (at, breaks) => breaks.reduce((less, [from, to]) => less - Math.max(0, Math.min(at, to) - from), at);

// And back. A place where a stretch was left out is before it at the end of a range, and after it at the start of one.
export const stretched = (at, breaks, isEnd) =>
  breaks.reduce((more, [from, to]) => (isEnd ? more > from : more >= from) ? more + (to - from) : more, at);

const STEPS = {
  earlier: (from, to) => [from - (to - from) / 2, to - (to - from) / 2],
  later: (from, to) => [from + (to - from) / 2, to + (to - from) / 2],
  closer: (from, to) => [from + (to - from) / 4, to - (to - from) / 4],
  wider: (from, to) => [from - (to - from) / 2, to + (to - from) / 2],
};

// The same length inside [low, high], or all of it when it is longer.
const shiftedInside = ([from, to], [low, high]) => {
  if (to - from >= high - low) return [low, high];
  if (from < low) return [low, low + to - from];
  return to > high ? [high - (to - from), high] : [from, to];
};

// The range after one step of a button. whole: the range of all that is there.
export const rangeAfter = (step, shown, whole, breaks) => {
  const drawn = (at) => shrunk(at, breaks);
  const [from, to] = shiftedInside(STEPS[step](...shown.map(drawn)), whole.map(drawn));
  return [stretched(from, breaks, false), stretched(to, breaks, true)];
};

// A range that was asked for, inside the whole, and long enough to be looked at.
export const allowedRange = ([from, to], whole) => {
  const range = [Math.max(from, whole[0]), Math.min(to, whole[1])];
  if (range[1] - range[0] >= SHORTEST) return range;
  const middle = (range[0] + range[1]) / 2;
  return [middle - SHORTEST / 2, middle + SHORTEST / 2];
};

export const isWhole = (range, whole) => range[0] <= whole[0] && range[1] >= whole[1];

// What the plotting library says of a drag across the chart: a range, "whole", or nothing that concerns the time.
export const draggedRange = (changes) => {
  const from = changes["xaxis.range[0]"] ?? changes["xaxis.range"]?.[0];
  const to = changes["xaxis.range[1]"] ?? changes["xaxis.range"]?.[1];
  if (from !== undefined && to !== undefined) return [parsedTime(String(from)), parsedTime(String(to))];
  return changes["xaxis.autorange"] ? "whole" : null;
};
