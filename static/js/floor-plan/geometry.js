// Geometry of outlines on a floor, in metres, x to the right and y down. The server computes what is kept
// (methods/floorplans); this only says at once what the hand is doing. No DOM.

export const distance = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
export const rounded = (point) => point.map((value) => Math.round(value * 1000) / 1000);

export const area = (outline) => {
  let twice = 0;
  outline.forEach(([x, y], i) => {
    const [nx, ny] = outline[(i + 1) % outline.length];
    twice += x * ny - nx * y;
  });
  return Math.abs(twice) / 2;
};

export const inside = ([x, y], outline) => {
  let within = false;
  outline.forEach(([ax, ay], i) => {
    const [bx, by] = outline[(i + 1) % outline.length];
    if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) within = !within;
  });
  return within;
};

// The foot of the perpendicular from a point on a wall from a to b.
const foot = (point, a, b) => {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const squared = dx * dx + dy * dy;
  if (!squared) return a;
  const along = ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / squared;
  const t = Math.max(0, Math.min(1, along));
  return [a[0] + t * dx, a[1] + t * dy];
};

export const walls = (outline) => outline.map((corner, i) => [corner, outline[(i + 1) % outline.length]]);

// Corners come before walls, so that rooms share their corners exactly.
export const snap = (point, outlines, reach) => {
  let best = null;
  const offer = (candidate) => {
    const away = distance(point, candidate);
    if (away <= reach && (!best || away < best.away)) best = { at: candidate, away };
  };
  outlines.forEach((outline) => outline.forEach(offer));
  if (best) return best.at;
  outlines.forEach((outline) => walls(outline).forEach(([a, b]) => offer(foot(point, a, b))));
  return best ? best.at : null;
};

// A wall that is nearly level or upright is made so; to where it starts from.
export const straightened = (from, point, degrees = 8) => {
  const [dx, dy] = [point[0] - from[0], point[1] - from[1]];
  const slope = Math.tan((degrees * Math.PI) / 180);
  if (Math.abs(dy) <= Math.abs(dx) * slope) return [point[0], from[1]];
  if (Math.abs(dx) <= Math.abs(dy) * slope) return [from[0], point[1]];
  return point;
};

const sideOf = (a, b, c) => Math.sign((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]));
const cross = (a, b, c, d) => sideOf(a, b, c) !== sideOf(a, b, d) && sideOf(c, d, a) !== sideOf(c, d, b);

// Whether walls that are no neighbours meet.
export const crossesItself = (outline) => {
  const all = walls(outline);
  const areNeighbours = (i, j) => j === i + 1 || (i === 0 && j === all.length - 1);
  return all.some(([a, b], i) => all.some(([c, d], j) => j > i && !areNeighbours(i, j) && cross(a, b, c, d)),
  );
};

export const bounds = (points) => {
  const [xs, ys] = [points.map((p) => p[0]), points.map((p) => p[1])];
  return { x: Math.min(...xs), y: Math.min(...ys), right: Math.max(...xs), bottom: Math.max(...ys) };
};

// The longest stretch of floor on one level: its middle, and how wide it is.
export const widestStretch = (outline, y) => {
  const met = walls(outline)
    .filter(([a, b]) => a[1] > y !== b[1] > y)
    .map(([a, b]) => a[0] + ((y - a[1]) / (b[1] - a[1])) * (b[0] - a[0]))
    .sort((p, q) => p - q);
  let best = { free: -1, at: [0, y] };
  for (let i = 0; i + 1 < met.length; i += 2) {
    const free = met[i + 1] - met[i];
    if (free > best.free) best = { free, at: [(met[i] + met[i + 1]) / 2, y] };
  }
  return best;
};

// Where a name stands: on the level that has the longest stretch, the middle one first.
export const labelPlace = (outline) => {
  const box = bounds(outline);
  const levels = [0.5, 0.35, 0.65, 0.25, 0.75].map((share) => widestStretch(outline, box.y + (box.bottom - box.y) * share));
  return levels.reduce((best, next) => (next.free > best.free + 0.01 ? next : best));
};

export const rectangle = (x, y, width, length) => [
  [x, y],
  [x + width, y],
  [x + width, y + length],
  [x, y + length],
];

// Where a rectangle so wide goes: right of the last outline on its level, or under all of them where that is taken or the
// row would be longer than a row should be.
const LONGEST_ROW = 30;
const GAP = 0.5;
export const freePlace = (outlines, width) => {
  const boxes = outlines.map(bounds);
  if (!boxes.length) return [0, 0];
  const left = Math.min(...boxes.map((box) => box.x));
  const bottom = Math.max(...boxes.map((box) => box.bottom));
  const last = boxes[boxes.length - 1];
  const [x, y] = [last.right + GAP, last.y];
  const isFree = boxes.every((box) => box.right <= x || box.x >= x + width || box.bottom <= y);
  return isFree && x + width <= left + LONGEST_ROW ? [x, y] : [left, bottom + GAP];
};

// An outline that was let go comes to rest on its neighbours' corners and walls: moved by the least that takes one there.
export const settled = (outline, others, reach) => {
  const shifts = outline
    .map((corner) => [corner, snap(corner, others, reach)])
    .filter(([, caught]) => caught)
    .map(([corner, caught]) => [caught[0] - corner[0], caught[1] - corner[1]])
    .sort((a, b) => Math.hypot(...a) - Math.hypot(...b));
  if (!shifts.length) return outline;
  const [dx, dy] = shifts[0];
  return outline.map(([x, y]) => rounded([x + dx, y + dy]));
};
