import assert from "node:assert/strict";
import { test } from "node:test";

import { DAY, HOUR, MINUTE, SECOND } from "../../static/js/time.js";
import { boundsOf, endOf, snapped, timeOf, within } from "../../static/js/timeline/edges.js";
import { TimeScale } from "../../static/js/timeline/scale.js";
import { outlineOf, runsOf, valueRange } from "../../static/js/timeline/trace.js";
import { allowedView, around, VIEWS, zoomedAbout } from "../../static/js/timeline/view-range.js";
import { near, seeded } from "./seeded.js";

const NINE = Date.UTC(2026, 8, 14, 9);
const EXTENT = [NINE, NINE + 8 * HOUR];
const band = (key, from, to) => ({ key, start: NINE + from * HOUR, end: to === null ? null : NINE + to * HOUR });
const [FIRST, SECOND_STAY, STANDING] = [band("a", 0, 2), band("b", 3, 5), band("c", 6, null)];
const ALL = [FIRST, SECOND_STAY, STANDING];

test("an instrument that still stands is drawn to the end, or for an hour after it", () => {
  assert.equal(endOf(STANDING, EXTENT), EXTENT[1]);
  assert.equal(endOf(band("d", 8, null), EXTENT), NINE + 9 * HOUR);
  assert.equal(timeOf(SECOND_STAY, "start", EXTENT), SECOND_STAY.start);
  assert.equal(timeOf(SECOND_STAY, "end", EXTENT), SECOND_STAY.end);
});

test("an edge stops at its neighbour and before its own other edge", () => {
  assert.deepEqual(boundsOf(SECOND_STAY, "start", ALL, EXTENT), [FIRST.end, SECOND_STAY.end - SECOND]);
  assert.deepEqual(boundsOf(SECOND_STAY, "end", ALL, EXTENT), [SECOND_STAY.start + SECOND, STANDING.start]);
  assert.deepEqual(boundsOf(FIRST, "start", ALL, EXTENT), [-Infinity, FIRST.end - SECOND]);
  assert.deepEqual(boundsOf(STANDING, "end", ALL, EXTENT), [STANDING.start + SECOND, Infinity]);
});

test("deployments that touch have one place where they meet", () => {
  const [left, right] = [band("l", 0, 2), band("r", 2, 4)];
  assert.equal(boundsOf(right, "start", [left, right], EXTENT)[0], left.end);
  assert.equal(boundsOf(left, "end", [left, right], EXTENT)[1], right.start);
});

test("wherever an edge is dragged, deployments stay in order and apart", () => {
  const random = seeded(13);
  for (let n = 0; n < 300; n += 1) {
    const edge = random.oneOf(["start", "end"]);
    const moved = within(NINE + random.between(-9, 12) * HOUR, boundsOf(SECOND_STAY, edge, ALL, EXTENT));
    const after = { ...SECOND_STAY, [edge]: moved };
    assert.ok(after.start >= FIRST.end && after.end <= STANDING.start && after.start < after.end);
  }
});

const BURSTS = [[NINE + 7 * SECOND, NINE + HOUR], [NINE + 2 * HOUR, NINE + 3 * HOUR]];

test("an edge goes to the edge of a burst within six pixels, to the nearer of two", () => {
  assert.equal(snapped(NINE + 5 * MINUTE, BURSTS, MINUTE), NINE + 7 * SECOND);
  assert.equal(snapped(NINE + HOUR + 6 * MINUTE, BURSTS, MINUTE), NINE + HOUR);
  assert.notEqual(snapped(NINE + HOUR + 7 * MINUTE, BURSTS, MINUTE), NINE + HOUR);
  const close = [[NINE, NINE + MINUTE], [NINE + 2 * MINUTE, NINE + HOUR]];
  assert.equal(snapped(NINE + 1.6 * MINUTE, close, MINUTE), NINE + 2 * MINUTE);
});

test("with Alt, or far from any burst, it goes to a round time that a pixel can show", () => {
  assert.equal(snapped(NINE + 5 * MINUTE + 20 * SECOND, BURSTS, MINUTE, true), NINE + 5 * MINUTE);
  assert.equal(snapped(NINE + 5 * MINUTE + 20.4 * SECOND, [], 10), NINE + 5 * MINUTE + 20 * SECOND, "a second at least");
  const random = seeded(14);
  for (let n = 0; n < 300; n += 1) {
    const [time, perPixel] = [NINE + random.between(0, 8 * HOUR), random.between(1, HOUR)];
    const found = snapped(time, [], perPixel);
    assert.equal(found % SECOND, 0);
    assert.ok(Math.abs(found - time) <= Math.max(SECOND, perPixel) / 2, "never farther than half a pixel");
  }
});

test("a deployment is looked at with as much time on both sides", () => {
  assert.deepEqual(around(NINE, NINE + 2 * HOUR), [NINE - 2 * HOUR, NINE + 4 * HOUR]);
  assert.deepEqual(around(NINE, NINE + MINUTE), [NINE - 10 * MINUTE, NINE + 11 * MINUTE]);
});

test("no look is longer than everything and a fifth, nor shorter than twenty readings or a minute", () => {
  const length = ([from, to]) => to - from;
  assert.equal(length(allowedView([NINE - 9 * DAY, NINE + 9 * DAY], EXTENT, MINUTE)), 9.6 * HOUR);
  assert.equal(length(allowedView([NINE, NINE + 1], EXTENT, 10 * SECOND)), 200 * SECOND);
  assert.equal(length(allowedView([NINE, NINE + 1], EXTENT, SECOND)), MINUTE);
  const [from, to] = allowedView([NINE, NINE + 1000], EXTENT, MINUTE);
  assert.equal((from + to) / 2, NINE + 500, "about the same middle");
});

test("the buttons undo each other", () => {
  const view = [NINE, NINE + 2 * HOUR];
  assert.deepEqual(VIEWS.out(VIEWS.in(view)), view);
  assert.deepEqual(VIEWS.back(VIEWS.on(view)), view);
  assert.equal(VIEWS.all(view, EXTENT), EXTENT);
});

test("what is under the mouse stays there", () => {
  const random = seeded(15);
  for (let n = 0; n < 100; n += 1) {
    const time = NINE + random.between(0, 8 * HOUR);
    const [from, to] = zoomedAbout(time, EXTENT, 0.8);
    assert.ok(near((time - from) / (to - from), (time - EXTENT[0]) / (8 * HOUR), 1e-9));
    assert.ok(near(to - from, 0.8 * 8 * HOUR, 1e-3));
  }
});

const SCALE = new TimeScale(EXTENT, 868); // 800 pixels: 36 s each
const row = (hours, low, high) => [NINE + hours * HOUR, low, high];

test("what is seen is drawn in unbroken stretches", () => {
  const trace = [row(-1, 1, 2), row(1, 1, 2), row(2, 3, 4), [], row(3, 5, 6), [], [], row(9, 7, 8)];
  assert.deepEqual(runsOf(trace, SCALE), [[row(1, 1, 2), row(2, 3, 4)], [row(3, 5, 6)]]);
  assert.deepEqual(runsOf([], SCALE), []);
});

test("the axis of values begins at zero or below, and is never flat", () => {
  assert.deepEqual(valueRange([row(1, 3, 9), [], row(2, 2, 4)], SCALE), [0, 9]);
  assert.deepEqual(valueRange([row(1, -3, 9)], SCALE), [-3, 9]);
  assert.deepEqual(valueRange([row(1, 3, 9), row(30, 0, 500)], SCALE), [0, 9], "what is not seen does not count");
  const [low, high] = valueRange([row(1, 0, 0)], SCALE);
  assert.ok(high > low);
  assert.equal(valueRange([[], row(30, 1, 2)], SCALE), null);
});

test("the outline goes along the highest and back along the lowest, the last reading for one interval", () => {
  const path = outlineOf([row(1, 1, 2), row(2, 3, 4)], SCALE, (value) => 100 - 10 * value, HOUR);
  assert.equal(path, "M156.0,79.4L256.0,59.4L356.0,59.4L356.0,70.6L256.0,70.6L156.0,90.6Z");
  const last = outlineOf([row(8, 1, 1)], SCALE, () => 50, HOUR);
  assert.ok(!last.match(/[\d.]+(?=,)/g).some((x) => Number(x) > SCALE.right), "not beyond the strip");
});
