// Where the edges of a deployment may go. A band: {key, start, end} in UTC ms, end null while it still stands. No DOM.
import { HOUR, MINUTE, SECOND } from "../time.js";

const SNAP_PX = 6;
const STEPS = [SECOND, 5 * SECOND, 10 * SECOND, 30 * SECOND, MINUTE, 5 * MINUTE];
const SHORTEST = SECOND;

// A deployment that still stands is drawn to the end of everything, or for an hour.
export const endOf = (band, extent) => band.end ?? Math.max(extent[1], band.start + HOUR);

export const timeOf = (band, edge, extent) => (edge === "start" ? band.start : endOf(band, extent));

// [earliest, latest]: not past its own other edge, nor into a deployment beside it.
export const boundsOf = (band, edge, others, extent) => {
  const beside = others.filter((other) => other.key !== band.key);
  const end = endOf(band, extent);
  if (edge === "start") {
    const ends = beside.map((other) => endOf(other, extent)).filter((time) => time <= band.start);
    return [Math.max(-Infinity, ...ends), end - SHORTEST];
  }
  const starts = beside.map((other) => other.start).filter((time) => time >= end);
  return [band.start + SHORTEST, Math.min(Infinity, ...starts)];
};

export const within = (time, [earliest, latest]) => Math.min(latest, Math.max(earliest, time));

// A dragged edge goes to the edge of a burst nearby, else to a round time; `free` of bursts while Alt is held.
export const snapped = (time, bursts, perPixel, free = false) => {
  const [near] = bursts
    .flatMap(([low, high]) => [low, high])
    .map((edge) => ({ edge, away: Math.abs(edge - time) }))
    .sort((a, b) => a.away - b.away);
  if (!free && near && near.away <= SNAP_PX * perPixel) return near.edge;
  const step = STEPS.filter((length) => length <= Math.max(SECOND, perPixel)).pop();
  return Math.round(time / step) * step;
};
