// The course of stored values on the strip: rows [time, lowest, highest], an empty row where nothing was logged. No DOM.

const HALF_LINE = 0.6; // pixels: lowest and highest may be the same, and are seen all the same

// The range of the value axis for what is seen; null when nothing is.
export const valueRange = (trace, scale) => {
  const seen = trace.filter((row) => row.length && row[0] <= scale.to && row[0] >= scale.from - scale.perPixel * 4);
  if (!seen.length) return null;
  const low = Math.min(0, ...seen.map((row) => row[1]));
  return [low, Math.max(...seen.map((row) => row[2]), low + 1e-9)];
};

// Stretches of rows that are seen, unbroken each.
export const runsOf = (trace, scale) => {
  const runs = [[]];
  for (const row of trace) {
    if (!row.length) runs.push([]);
    else if (row[0] >= scale.from && row[0] <= scale.to) runs.at(-1).push(row);
  }
  return runs.filter((run) => run.length);
};

// The outline of a run as SVG path: along the highest, back along the lowest. The last row lasts one interval.
export const outlineOf = (run, scale, y, interval) => {
  const place = (x, value, shift) => `${x.toFixed(1)},${(y(value) + shift).toFixed(1)}`;
  const last = run[run.length - 1];
  const end = Math.min(scale.right, scale.x(last[0]) + Math.max(1, interval / scale.perPixel));
  const there = run.map(([time, , highest]) => place(scale.x(time), highest, -HALF_LINE));
  const back = run.map(([time, lowest]) => place(scale.x(time), lowest, HALF_LINE)).reverse();
  return `M${[...there, place(end, last[2], -HALF_LINE), place(end, last[1], HALF_LINE), ...back].join("L")}Z`;
};
