import assert from "node:assert/strict";
import { test } from "node:test";

import {
  area, bounds, crossesItself, freePlace, inside, labelPlace, rectangle, rounded, settled, snap, straightened, widestStretch,
} from "../../static/js/floor-plan/geometry.js";
import { near, seeded } from "./seeded.js";

const SQUARE = rectangle(0, 0, 2, 2);
const ELL = [[0, 0], [4, 0], [4, 1], [1, 1], [1, 3], [0, 3]]; // 4 × 1 and 1 × 2

test("areas of figures whose area is known", () => {
  assert.equal(area(SQUARE), 4);
  assert.equal(area([...SQUARE].reverse()), 4);
  assert.equal(area(ELL), 6);
  assert.equal(area([[0, 0], [3, 0], [0, 4]]), 6);
});

test("an area stays when the outline is moved or begins elsewhere", () => {
  const random = seeded(2);
  for (let n = 0; n < 200; n += 1) {
    const [dx, dy, first] = [random.between(-50, 50), random.between(-50, 50), random.whole(0, 5)];
    const moved = ELL.map(([x, y]) => [x + dx, y + dy]);
    assert.ok(near(area([...moved.slice(first), ...moved.slice(0, first)]), 6, 1e-6));
  }
});

test("corners come before walls, and what is far away does nothing", () => {
  assert.deepEqual(snap([2.1, 0.1], [SQUARE], 0.3), [2, 0]);
  assert.deepEqual(snap([2.1, 1.0], [SQUARE], 0.3), [2, 1]);
  assert.equal(snap([2.5, 1.0], [SQUARE], 0.3), null);
  assert.deepEqual(snap([2.05, 0.25], [SQUARE], 0.3), [2, 0], "the wall is nearer, the corner is better");
  assert.equal(snap([0, 0], [], 1), null);
});

test("what is caught lies within reach, on an outline", () => {
  const random = seeded(3);
  for (let n = 0; n < 500; n += 1) {
    const point = [random.between(-1, 5), random.between(-1, 4)];
    const at = snap(point, [ELL], 0.4);
    if (!at) continue;
    assert.ok(Math.hypot(at[0] - point[0], at[1] - point[1]) <= 0.4);
    const onWall = ELL.some(([ax, ay], i) => {
      const [bx, by] = ELL[(i + 1) % ELL.length];
      const length = Math.hypot(bx - ax, by - ay);
      return near(Math.hypot(at[0] - ax, at[1] - ay) + Math.hypot(at[0] - bx, at[1] - by), length);
    });
    assert.ok(onWall, String(at));
  }
});

test("nearly level and nearly upright walls are made so, slanting ones stay", () => {
  assert.deepEqual(straightened([1, 1], [6, 1.02]), [6, 1]);
  assert.deepEqual(straightened([1, 1], [1.02, 6]), [1, 6]);
  assert.deepEqual(straightened([0, 0], [3, 3]), [3, 3]);
  assert.deepEqual(straightened([0, 0], [10, 1.5]), [10, 1.5], "8.5° is meant");
  assert.deepEqual(straightened([0, 0], [10, 1.3]), [10, 0], "7.4° is not");
});

test("an outline that crosses itself is told from one that does not", () => {
  assert.equal(crossesItself(SQUARE), false);
  assert.equal(crossesItself(ELL), false);
  assert.equal(crossesItself([[0, 0], [2, 2], [2, 0], [0, 2]]), true);
  assert.equal(crossesItself([[0, 0], [4, 0], [4, 3], [2, -1], [0, 3]]), true);
});

test("the inside of an ell is not its bounding box", () => {
  assert.equal(inside([0.5, 2], ELL), true);
  assert.equal(inside([3, 2], ELL), false);
  assert.deepEqual(bounds(ELL), { x: 0, y: 0, right: 4, bottom: 3 });
});

test("the share of places inside is the share of the area", () => {
  const random = seeded(4);
  const places = Array.from({ length: 20000 }, () => [random.between(0, 4), random.between(0, 3)]);
  const share = places.filter((place) => inside(place, ELL)).length / places.length;
  assert.ok(near(share, area(ELL) / 12, 0.015), String(share)); // 4 standard deviations of 20,000 are 0.014
});

test("a name stands inside its room, where most of it is free", () => {
  assert.deepEqual(labelPlace(SQUARE), { free: 2, at: [1, 1] }, "the middle first");
  const place = labelPlace(ELL);
  assert.equal(place.free, 4);
  assert.ok(inside(place.at, ELL));
  assert.equal(widestStretch(SQUARE, 5).free, -1);
});

test("rooms by size are put in rows", () => {
  const outlines = [];
  for (let n = 0; n < 12; n += 1) {
    const [x, y] = freePlace(outlines, 6);
    const fresh = rectangle(x, y, 6, 4);
    assert.ok(outlines.every((other) => bounds(other).right <= x || bounds(other).bottom <= y), "nothing lies on another");
    outlines.push(fresh);
  }
  assert.deepEqual(outlines[0][0], [0, 0]);
  assert.deepEqual(outlines[1][0], [6.5, 0]);
  const all = bounds(outlines.flat());
  assert.ok(all.right <= 30);
  assert.ok(all.bottom > 8);
});

test("a room that was dragged rests on its neighbours by the least move, or where it is", () => {
  const beside = rectangle(2.1, 0.05, 3, 2);
  assert.deepEqual(settled(beside, [SQUARE], 0.3)[0], [2, 0]);
  assert.deepEqual(settled(beside, [SQUARE], 0.05), beside);
  assert.deepEqual(settled(beside, [], 1), beside);
  assert.ok(near(area(settled(beside, [SQUARE], 0.3)), 6, 1e-9));
});

test("what is kept is kept to the millimetre", () => {
  assert.deepEqual(rounded([1.23456, -0.0004]), [1.235, -0]);
});
