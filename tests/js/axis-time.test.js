import assert from "node:assert/strict";
import { test } from "node:test";

import {
  allowedRange, draggedRange, isoTime, isWhole, parsedTime, rangeAfter, shortTime, shrunk, stretched,
} from "../../static/js/charts/axis-time.js";
import { HOUR, MINUTE } from "../../static/js/time.js";
import { near, seeded } from "./seeded.js";

const NINE = Date.UTC(2026, 8, 14, 9);
const DAY_SEEN = [NINE, NINE + 8 * HOUR];
// Two stretches without a deployment: 10 to 12 o'clock, and 14 to 15.
const BREAKS = [[NINE + HOUR, NINE + 3 * HOUR], [NINE + 5 * HOUR, NINE + 6 * HOUR]];

test("times of the axis as the plotting library and the server write them", () => {
  assert.equal(parsedTime("2026-09-14 09:00"), NINE);
  assert.equal(parsedTime("2026-09-14 09:00:30.5"), NINE + 30_500);
  assert.equal(parsedTime("2026-09-14T09:00:00"), NINE);
  assert.equal(parsedTime("2026-09-14"), NINE - 9 * HOUR);
  assert.equal(isoTime(NINE), "2026-09-14T09:00:00.000");
  assert.equal(parsedTime(isoTime(NINE + 1)), NINE + 1);
  assert.equal(shortTime(NINE + 5 * MINUTE), "14 Sep 09:05");
});

test("stretches that are left out take no room", () => {
  assert.equal(shrunk(NINE, BREAKS), NINE);
  assert.equal(shrunk(NINE + 3 * HOUR, BREAKS), NINE + HOUR);
  assert.equal(shrunk(NINE + 2 * HOUR, BREAKS), NINE + HOUR, "inside of one nothing is drawn");
  assert.equal(shrunk(NINE + 8 * HOUR, BREAKS), NINE + 5 * HOUR);
});

test("a place where a stretch was left out is its start at the end of a range and its end at the start of one", () => {
  assert.equal(stretched(NINE + HOUR, BREAKS, true), NINE + HOUR);
  assert.equal(stretched(NINE + HOUR, BREAKS, false), NINE + 3 * HOUR);
});

test("what is drawn and the time are each other's inverse where something is drawn", () => {
  const random = seeded(9);
  for (let n = 0; n < 500; n += 1) {
    const time = NINE + random.between(0, 8 * HOUR);
    if (BREAKS.some(([from, to]) => time >= from && time <= to)) continue;
    assert.ok(near(stretched(shrunk(time, BREAKS), BREAKS, random.oneOf([true, false])), time, 1e-3));
  }
});

test("one step closer shows the middle half, one wider twice as much", () => {
  assert.deepEqual(rangeAfter("closer", DAY_SEEN, DAY_SEEN, []), [NINE + 2 * HOUR, NINE + 6 * HOUR]);
  const shown = [NINE + 3 * HOUR, NINE + 5 * HOUR];
  assert.deepEqual(rangeAfter("wider", shown, DAY_SEEN, []), [NINE + 2 * HOUR, NINE + 6 * HOUR]);
  assert.deepEqual(rangeAfter("later", shown, DAY_SEEN, []), [NINE + 4 * HOUR, NINE + 6 * HOUR]);
});

test("steps end at the ends, with the same length", () => {
  const shown = [NINE + HOUR / 2, NINE + 2.5 * HOUR];
  assert.deepEqual(rangeAfter("earlier", shown, DAY_SEEN, []), [NINE, NINE + 2 * HOUR]);
  assert.deepEqual(rangeAfter("wider", DAY_SEEN, DAY_SEEN, []), DAY_SEEN);
});

test("steps jump over what is left out", () => {
  const [from, to] = rangeAfter("later", [NINE, NINE + HOUR], DAY_SEEN, BREAKS);
  assert.deepEqual([from, to], [NINE + HOUR / 2, NINE + 3.5 * HOUR]);
  assert.equal(shrunk(to, BREAKS) - shrunk(from, BREAKS), HOUR, "an hour is drawn, as before");
});

test("whatever is pressed, what is drawn stays inside and never grows by moving", () => {
  const random = seeded(10);
  const drawn = ([from, to]) => shrunk(to, BREAKS) - shrunk(from, BREAKS);
  let shown = DAY_SEEN;
  for (let n = 0; n < 400; n += 1) {
    const step = random.oneOf(["earlier", "later", "closer", "wider"]);
    const after = allowedRange(rangeAfter(step, shown, DAY_SEEN, BREAKS), DAY_SEEN);
    assert.ok(after[0] >= DAY_SEEN[0] - MINUTE && after[1] <= DAY_SEEN[1] + MINUTE);
    if (step === "earlier" || step === "later") assert.ok(near(drawn(after), drawn(shown), MINUTE), step);
    if (step === "wider") assert.ok(drawn(after) >= drawn(shown) - MINUTE);
    shown = after;
  }
});

test("less than a minute is shown as a minute about its middle", () => {
  assert.deepEqual(allowedRange([NINE + HOUR, NINE + HOUR + 1000], DAY_SEEN), [NINE + HOUR + 500 - MINUTE / 2, NINE + HOUR + 500 + MINUTE / 2]);
  assert.deepEqual(allowedRange([NINE - HOUR, NINE + HOUR], DAY_SEEN), [NINE, NINE + HOUR]);
  assert.equal(isWhole(allowedRange([0, Infinity], DAY_SEEN), DAY_SEEN), true);
  assert.equal(isWhole([NINE, NINE + HOUR], DAY_SEEN), false);
});

test("a drag is told in two ways, and a double click takes it back", () => {
  const wanted = [NINE, NINE + HOUR];
  assert.deepEqual(draggedRange({ "xaxis.range[0]": "2026-09-14 09:00", "xaxis.range[1]": "2026-09-14 10:00" }), wanted);
  assert.deepEqual(draggedRange({ "xaxis.range": ["2026-09-14 09:00", "2026-09-14 10:00"] }), wanted);
  assert.equal(draggedRange({ "xaxis.autorange": true }), "whole");
  assert.equal(draggedRange({ "yaxis.range[0]": 0 }), null);
});
