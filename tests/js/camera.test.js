import assert from "node:assert/strict";
import { test } from "node:test";

import { Camera } from "../../static/js/floor-plan/camera.js";
import { metresPerPixel, toMetres, toPixels } from "../../static/js/floor-plan/image-scale.js";
import { PlanState } from "../../static/js/floor-plan/plan-state.js";
import { floor } from "./floor.js";
import { near, seeded } from "./seeded.js";

const shareOf = ({ box }, [x, y]) => [(x - box.x) / box.width, (y - box.y) / box.height];

test("what lies under the hand stays there while it comes closer", () => {
  const random = seeded(7);
  const camera = new Camera();
  for (let n = 0; n < 300; n += 1) {
    const about = [random.between(-5, 25), random.between(-5, 20)];
    const before = shareOf(camera, about);
    camera.zoom(random.between(0.5, 2), about);
    shareOf(camera, about).forEach((share, axis) => assert.ok(near(share, before[axis], 1e-6)));
    assert.ok(camera.box.width >= 2 && camera.box.width <= 400);
    assert.ok(near(camera.box.width / camera.box.height, 20 / 12, 1e-6));
  }
});

test("closer and farther end at two and at four hundred metres", () => {
  const camera = new Camera();
  camera.zoom(1e-9);
  assert.equal(camera.box.width, 2);
  camera.zoom(1e9);
  assert.equal(camera.box.width, 400);
  assert.deepEqual(camera.middle.map(Math.round), [10, 6], "about the middle");
});

test("the whole floor has a margin, and an empty one is a room to draw in", () => {
  const camera = new Camera();
  camera.showWhole(new PlanState(floor()));
  assert.ok(near(camera.box.x, -0.42) && near(camera.box.width, 7.84), JSON.stringify(camera.box));
  camera.showWhole(new PlanState(floor({ zones: [], rooms: [], points: [] })));
  assert.ok(camera.box.x < 0 && camera.box.width > 20);
});

test("a place outside is brought in, one inside moves nothing", () => {
  const camera = new Camera();
  camera.show([5, 5]);
  assert.deepEqual(camera.box, { x: 0, y: 0, width: 20, height: 12 });
  for (const place of [[-8, 3], [50, 40], [10, -7]]) {
    camera.show(place);
    for (const share of shareOf(camera, place)) assert.ok(share >= 0 && share <= 1);
  }
});

test("one pixel of a screen shows as much as its tighter side asks for", () => {
  const camera = new Camera();
  assert.equal(camera.metresPerPixel({ width: 1000, height: 100 }), 0.12);
  assert.equal(camera.metresPerPixel({ width: 100, height: 1000 }), 0.2);
  assert.ok(Number.isFinite(camera.metresPerPixel({ width: 0, height: 0 })), "before it is laid out");
});

test("pixels of the image and metres are each other's inverse", () => {
  const scale = { x1: 100, y1: 100, x2: 400, y2: 500, length_m: 10 }; // 500 pixels
  const plan = new PlanState(floor({ image: { width_px: 1200, height_px: 600 }, scale, origin: { x_px: 30, y_px: -20 } }));
  assert.equal(metresPerPixel(plan), 0.02);
  assert.deepEqual(toMetres(plan, [30, -20]), [0, 0]);
  const random = seeded(8);
  for (let n = 0; n < 100; n += 1) {
    const at = [random.between(-10, 10), random.between(-10, 10)];
    toMetres(plan, toPixels(plan, at)).forEach((value, axis) => assert.ok(near(value, at[axis])));
  }
});

test("without a scale an image is thirty metres on its longer side, and without an image a pixel is a metre", () => {
  assert.equal(metresPerPixel(new PlanState(floor({ image: { width_px: 600, height_px: 1500 } }))), 0.02);
  assert.equal(metresPerPixel(new PlanState(floor())), 1);
});
