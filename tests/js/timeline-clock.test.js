// Clocks are compared with those of ICU's time zones, which Node carries.
import assert from "node:assert/strict";
import { test } from "node:test";

import { DAY, HOUR, MINUTE } from "../../static/js/time.js";
import { dayAndTime, dayOf, offsetAt, timeOfDay } from "../../static/js/timeline/clock.js";
import { TimeScale } from "../../static/js/timeline/scale.js";
import { ticksOf } from "../../static/js/timeline/ticks.js";
import { near, seeded } from "./seeded.js";

// Berlin in 2026: clocks go ahead on 29 March and back on 25 October, both at 01:00 UTC (Directive 2000/84/EC).
const AHEAD = Date.UTC(2026, 2, 29, 1);
const BACK = Date.UTC(2026, 9, 25, 1);
const BERLIN = { at: [AHEAD, BACK], ms: [HOUR, 2 * HOUR, HOUR] };

const parts = new Intl.DateTimeFormat("en-GB", {
  timeZone: "Europe/Berlin", hourCycle: "h23",
  year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit",
});
const onBerlinsClock = (time) => {
  const { year, month, day, hour, minute } = Object.fromEntries(parts.formatToParts(time).map(({ type, value }) => [type, value]));
  return `${year}-${month}-${day} ${hour}:${minute}`;
};

test("the clock is that of the site through both changes", () => {
  const random = seeded(11);
  for (const about of [AHEAD, BACK]) {
    for (let n = 0; n < 300; n += 1) {
      const time = about + random.whole(-3000, 3000) * MINUTE;
      assert.equal(dayAndTime(BERLIN, time), onBerlinsClock(time));
    }
  }
  assert.equal(timeOfDay(BERLIN, AHEAD - MINUTE), "01:59");
  assert.equal(timeOfDay(BERLIN, AHEAD), "03:00");
  assert.equal(timeOfDay(BERLIN, BACK), "02:00", "for the second time");
});

test("seconds are said where there are any", () => {
  assert.equal(timeOfDay({ at: [], ms: [0] }, Date.UTC(2026, 8, 14, 9, 5, 7)), "09:05:07");
  assert.equal(dayOf({ at: [], ms: [14 * HOUR] }, Date.UTC(2026, 8, 14, 12)), "2026-09-15", "islands are a day ahead");
  assert.equal(offsetAt(BERLIN, AHEAD - 1), HOUR);
});

const scaleOf = (from, to, width = 900) => new TimeScale([from, to], width);

for (const [name, about] of [["ahead", AHEAD], ["back", BACK]]) {
  test(`on the day clocks go ${name} ticks rise, are round, and say what the clock says`, () => {
    const scale = scaleOf(about - 3 * HOUR, about + 3 * HOUR);
    const ticks = ticksOf(scale, BERLIN);
    assert.ok(ticks.length >= 5);
    ticks.forEach(({ time, label }, n) => {
      assert.equal(label, onBerlinsClock(time).slice(11));
      assert.equal(time % (30 * MINUTE), 0);
      if (n) assert.ok(time > ticks[n - 1].time, label);
    });
  });
}

test("the hour that no clock shows has no tick", () => {
  const labels = ticksOf(scaleOf(AHEAD - 3 * HOUR, AHEAD + 3 * HOUR), BERLIN).map(({ label }) => label);
  assert.ok(!labels.some((label) => label.startsWith("02:")), labels.join());
  assert.equal(new Set(labels).size, labels.length);
});

test("days begin at midnight of the site, those of 23 and of 25 hours too", () => {
  for (const about of [AHEAD, BACK]) {
    const ticks = ticksOf(scaleOf(about - 4 * DAY, about + 4 * DAY), BERLIN);
    assert.ok(ticks.length >= 4);
    for (const { time, label, day } of ticks) {
      assert.equal(onBerlinsClock(time), `${label} 00:00`);
      assert.equal(day, "", "the label says it");
    }
  }
});

test("the date stands once a day", () => {
  const midnight = Date.UTC(2026, 8, 14) - 2 * HOUR;
  const ticks = ticksOf(scaleOf(midnight - DAY, midnight + DAY), BERLIN);
  assert.deepEqual(ticks.filter(({ day }) => day).map(({ day }) => day), ["2026-09-13", "2026-09-14", "2026-09-15"]);
});

test("ticks never crowd, however much is looked at", () => {
  for (let span = MINUTE; span < 200 * DAY; span *= 1.7) {
    const scale = scaleOf(BACK, BACK + span);
    const places = ticksOf(scale, BERLIN).map(({ time }) => scale.x(time));
    // One hour comes twice on the day clocks go back, one is missing on the other: neither makes ticks nearer.
    places.slice(1).forEach((x, n) => assert.ok(x - places[n] >= 83, `${span}: ${x - places[n]}`));
    assert.ok(places.length <= 11);
  }
});

test("time and place are each other's inverse", () => {
  const random = seeded(12);
  const scale = scaleOf(BACK, BACK + DAY);
  for (let n = 0; n < 200; n += 1) {
    const time = BACK + random.between(0, DAY);
    assert.ok(near(scale.timeAt(scale.x(time)), time, 1e-3));
    assert.ok(scale.shows(scale.x(time)));
  }
  assert.equal(scale.perPixel * (scale.right - scale.left), DAY);
});

test("of a stretch only what is seen is drawn", () => {
  const scale = scaleOf(BACK, BACK + DAY);
  assert.deepEqual(scale.clipped(BACK - DAY, BACK + 9 * DAY), [scale.left, scale.right]);
  assert.equal(scale.clipped(BACK - 2 * DAY, BACK - DAY), null);
  assert.equal(scale.clipped(BACK + 2 * DAY, BACK + 3 * DAY), null);
});
