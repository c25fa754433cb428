import assert from "node:assert/strict";
import { test } from "node:test";

import { colourOf, recoloured, ROLES } from "../../static/js/charts/colour-roles.js";
import { captionLines, configured, dressed, narrowed } from "../../static/js/charts/layout.js";

const variable = (name) => `<${name}>`;

test("a role is the colour of the stylesheet, with its opacity as two digits", () => {
  assert.equal(colourOf("limit", variable), "<ink>");
  assert.equal(colourOf("accent/0.2", () => "#102030"), "#10203033"); // 0.2 × 255 = 51 = 33 hexadecimal
  assert.equal(colourOf("ink/0", () => "#102030"), "#10203000");
  assert.equal(colourOf("rgba(0,0,0,0)", variable), "rgba(0,0,0,0)");
  assert.equal(ROLES.get("f10"), "f10");
});

test("roles are looked for under colours alone, and the figure is copied", () => {
  const figure = { data: [{ name: "ink", marker: { color: ["ink", "f3"] }, line: { color: "band" }, y: [1, null] }], colorway: ["over"] };
  const before = structuredClone(figure);
  const found = recoloured(figure, variable);
  assert.deepEqual(found.data[0], { name: "ink", marker: { color: ["<ink>", "<f3>"] }, line: { color: "<rule>" }, y: [1, null] });
  assert.deepEqual(found.colorway, ["<over>"]);
  assert.deepEqual(figure, before);
});

test("on a phone a third of twelve ticks stays, each with its own words", () => {
  const tickvals = Array.from({ length: 12 }, (_, n) => n);
  const { xaxis } = narrowed({ xaxis: { tickmode: "array", tickvals, ticktext: tickvals.map((n) => `at ${n}`) } }, variable);
  assert.deepEqual(xaxis.tickvals, [0, 3, 6, 9]);
  assert.deepEqual(xaxis.ticktext, ["at 0", "at 3", "at 6", "at 9"]);
});

test("never more than four ticks on a phone, and the first of them always", () => {
  for (let count = 1; count < 60; count += 1) {
    const tickvals = Array.from({ length: count }, (_, n) => n);
    const { xaxis } = narrowed({ xaxis: { tickmode: "array", tickvals, ticktext: tickvals.map(String) } }, variable);
    assert.ok(xaxis.tickvals.length <= 4 && xaxis.tickvals[0] === 0, String(count));
  }
  assert.equal(narrowed({ xaxis: { type: "date" } }, variable).xaxis.nticks, 4);
  assert.deepEqual(narrowed({}, variable), {});
});

test("on a phone names of points stand above their bars", () => {
  const layout = narrowed({ annotations: [{ text: "limit" }], yaxis2: { type: "category", tickvals: [0, 1], ticktext: ["A", "B"] } }, variable);
  assert.equal(layout.yaxis2.showticklabels, false);
  assert.deepEqual(layout.annotations.map(({ text, yref, y }) => [text, yref, y]), [["limit", undefined, undefined], ["A", "y2", 0], ["B", "y2", 1]]);
});

const SCREEN = { width: 900, height: 300, printing: false, finger: false };

test("a chart is as wide as its place, and on paper as wide as the paper", () => {
  const figure = { data: [{}], layout: { xaxis: { type: "date" } } };
  const screen = dressed(figure, SCREEN, variable);
  assert.deepEqual([screen.autosize, screen.width, screen.height, "dragmode" in screen], [true, undefined, 300, false]);
  assert.equal(screen.template.layout.font.size, 13);
  const paper = dressed(figure, { ...SCREEN, printing: true }, variable);
  assert.deepEqual([paper.autosize, paper.width], [false, 660]);
});

test("under a finger a drag scrolls the page", () => {
  assert.equal(dressed({ data: [] }, { ...SCREEN, finger: true }, variable).dragmode, false);
});

test("there is room for a legend where there are several series and it is wanted", () => {
  const top = (data, layout) => dressed({ data, layout }, SCREEN, variable).template.layout.margin.t;
  assert.ok(top([{}, {}], {}) > top([{}], {}));
  assert.equal(top([{}, {}], { showlegend: false }), top([{}], {}));
});

test("no button of the library sends a chart away", () => {
  for (const own of [true, false]) {
    const config = configured(own);
    assert.equal(config.showSendToCloud, false);
    assert.equal(config.plotlyServerURL, "");
    assert.equal(config.displayModeBar, !own);
    assert.deepEqual(config.modeBarButtons, [["zoom2d", "pan2d", "resetScale2d", "toImage"]]);
  }
});

test("a caption is broken between words, loses none, and is no markup", () => {
  const words = Array.from({ length: 60 }, (_, n) => `word${n}`);
  const lines = captionLines(words.join("  "), 40);
  assert.ok(lines.every((line) => line.length <= 40));
  assert.deepEqual(lines.join(" ").split(" "), words);
  assert.deepEqual(captionLines("a < b & c", 40), ["a &lt; b &amp; c"]);
});
