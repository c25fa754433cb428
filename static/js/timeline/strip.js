// What the strip shows besides the edges that can be moved: axis, values, bursts, readings outside, deployments. Each
// function returns SVG elements.
import { svgElement } from "../elements.js";
import { threeDigits } from "../numbers.js";
import { dayAndTime } from "./clock.js";
import { endOf } from "./edges.js";
import { ticksOf } from "./ticks.js";
import { outlineOf, runsOf, valueRange } from "./trace.js";

// Rows from the top, each [top, height] in pixels.
export const ROWS = { trace: [8, 110], bursts: [124, 10], outside: [142, 14], doubtful: [142, 14], bands: [164, 44], proposals: [214, 34] };
const LETTER_PX = 7.2;

export const bottomOf = (data) => (data.proposals.length ? 252 : 212);

const span = (data, low, high) => `${dayAndTime(data.offsets, low)} to ${dayAndTime(data.offsets, high)}`;

// A stretch of time in a row, with words for whoever points at it; null where it is not seen.
const box = (scale, row, [low, high], { look, words, least }) => {
  const seen = scale.clipped(low, high);
  if (!seen) return null;
  const [top, height] = ROWS[row];
  const [from, to] = seen;
  return svgElement(
    "rect", { x: from, y: top, width: Math.max(least, to - from), height, class: look }, svgElement("title", {}, words),
  );
};

const tick = ({ label, day }, x, bottom) => [
  svgElement("line", { x1: x, x2: x, y1: ROWS.trace[0], y2: bottom + 4, class: "timeline-tick" }),
  svgElement("text", { x, y: bottom + 16, class: "timeline-when" }, label),
  ...(day ? [svgElement("text", { x, y: bottom + 30, class: "timeline-when timeline-day" }, day)] : []),
];

const axis = (data, scale) => {
  const bottom = bottomOf(data);
  return [
    svgElement("line", { x1: scale.left, x2: scale.right, y1: bottom, y2: bottom, class: "timeline-axis" }),
    ...ticksOf(scale, data.offsets).flatMap((each) => tick(each, scale.x(each.time), bottom)),
  ];
};

const values = (data, scale, trace) => {
  const range = valueRange(trace, scale);
  if (!range) return [];
  const [low, high] = range;
  const [top, height] = ROWS.trace;
  const y = (value) => top + height - ((value - low) / (high - low)) * (height - 4);
  const label = (at, text) => svgElement("text", { x: scale.left - 6, y: at, class: "timeline-value" }, text);
  return [
    ...range.map((value) => label(y(value) + 4, threeDigits(value))),
    label(top + height / 2, data.unit),
    ...runsOf(trace, scale).map((run) => svgElement("path", { class: "timeline-trace", d: outlineOf(run, scale, y, data.interval) })),
  ];
};

const bursts = (data, scale) =>
  data.bursts.map(([low, high, count]) =>
    box(scale, "bursts", [low, high], { look: "timeline-bursts", words: `${span(data, low, high)}: ${count} readings, burst`, least: 2 }));

// Readings that count nowhere, with the way to a deployment of them for those who may make one.
const outside = (data, scale) =>
  data.outside.map(([low, high, count]) => {
    const words = `${span(data, low, high)}: ${count} readings, outside every deployment`;
    const node = box(scale, "outside", [low, high], { look: "timeline-outside", words, least: 2 });
    if (!node || !data.may) return node;
    const label = `Make a deployment of ${count} readings outside, from ${dayAndTime(data.offsets, low)}`;
    return svgElement("a", { href: `${data.url}&from=${low}&to=${high}#create`, "aria-label": label }, node);
  });

const doubtful = (data, scale) =>
  data.doubtful.flatMap(([low, high, count]) => {
    const words = `${count} readings at a doubtful time`;
    const node = box(scale, "doubtful", [low, high], { look: "timeline-doubtful", words, least: 3 });
    if (!node) return [];
    const [x] = scale.clipped(low, high);
    return [node, svgElement("text", { x: x + 2, y: ROWS.doubtful[0] + 11, class: "timeline-doubt" }, "?")];
  });

// A deployment, with as much of its name as there is room for. url: where a click goes, if anywhere.
const band = (data, scale, row, { low, high, name, look, url }) => {
  const node = box(scale, row, [low, high], { look, words: `${name}: ${span(data, low, high)}`, least: 2 });
  if (!node) return null;
  const group = svgElement("g", { "data-url": url }, node);
  const [from, to] = scale.clipped(low, high);
  const letters = Math.floor((to - from - 20) / LETTER_PX);
  if (letters > 2) {
    const [top, height] = ROWS[row];
    const shown = name.length > letters ? `${name.slice(0, letters - 1)}…` : name;
    group.append(svgElement("text", { x: from + 12, y: top + height / 2 + 5, class: "timeline-name" }, shown));
  }
  if (url) group.addEventListener("click", () => location.assign(url));
  return group;
};

const lookOf = ({ key, end }, chosen) =>
  `timeline-band${key === chosen ? " is-chosen" : ""}${end === null ? " is-open" : ""}`;

const bands = (data, scale) => [
  ...data.elsewhere.map((each) => band(data, scale, "bands", {
    low: each.start, high: endOf(each, data.extent), name: each.name, look: "timeline-elsewhere",
  })),
  ...data.bands.map((each) => band(data, scale, "bands", {
    low: each.start, high: endOf(each, data.extent), name: each.name, look: lookOf(each, data.chosen),
    url: data.may ? `${data.url}&deployment=${each.key}#chosen` : null,
  })),
];

const proposals = (data, scale) =>
  data.proposals.map(([low, high, name, weak]) => band(data, scale, "proposals", {
    low, high, name: `${name}${weak ? " (weak)" : ""}`, look: `timeline-proposal${weak ? " is-weak" : ""}`,
  }));

// data: the JSON of readings/services/timeline/picture.py; trace: rows of values for the part that is seen.
export const stripOf = (data, scale, trace) =>
  [axis, values, bursts, outside, doubtful, bands, proposals].flatMap((part) => part(data, scale, trace)).filter(Boolean);
