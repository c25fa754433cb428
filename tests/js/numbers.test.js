import assert from "node:assert/strict";
import { test } from "node:test";

import { metres, parsedNumber, threeDigits } from "../../static/js/numbers.js";
import { seeded } from "./seeded.js";

test("numbers are typed with a point or a comma, and nothing is no number", () => {
  assert.equal(parsedNumber(" 2,5 "), 2.5);
  assert.equal(parsedNumber("-0.25"), -0.25);
  assert.equal(parsedNumber(7), 7);
  for (const text of ["", "  ", "2,5,1", "wide", "Infinity", "1 000"]) assert.equal(parsedNumber(text), null, text);
});

test("metres lose their last zeros and no others", () => {
  assert.deepEqual([0, 10, 100, 2.5, 2.05, 0.004, -1.2].map(metres), ["0", "10", "100", "2.5", "2.05", "0", "-1.2"]);
});

test("metres are read again as they were written", () => {
  const random = seeded(1);
  for (let n = 0; n < 500; n += 1) {
    const value = random.whole(-99999, 99999) / 100;
    assert.equal(parsedNumber(metres(value)), value);
  }
});

test("values are written in plain digits, whatever their size", () => {
  const written = { 0: "0", 0.0123109: "0.0123", 12345.6: "12346", 1e9: "1000000000", 1e-9: "0.000000001", 150: "150" };
  for (const [value, text] of Object.entries(written)) assert.equal(threeDigits(Number(value)), text);
  assert.deepEqual([-6.94e-18, -0.25].map(threeDigits), ["0", "−0.25"]);
});
