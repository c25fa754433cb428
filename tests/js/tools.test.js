import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";

import { doubtsOf } from "../../static/js/floor-plan/doubts.js";
import { area, rectangle } from "../../static/js/floor-plan/geometry.js";
import { PlanState } from "../../static/js/floor-plan/plan-state.js";
import { Tools } from "../../static/js/floor-plan/tools.js";
import { floor } from "./floor.js";
import { near } from "./seeded.js";

const IMAGE = { url: "/plan.png", width_px: 1200, height_px: 600 };
let plan, tools, said, asked;

const open = (more) => {
  plan = new PlanState(floor(more));
  [said, asked] = [[], []];
  tools = new Tools(plan, {
    say: (text) => { said.push(text); },
    split: async () => ({ parts: [rectangle(2, 0, 2, 3), rectangle(0, 0, 2, 3)] }),
    length: (...ends) => asked.push(ends),
    done: () => {},
  });
};
beforeEach(() => open());

test("a room is drawn corner by corner and closed on its first", () => {
  tools.use("draw");
  for (const at of [[0, 4], [5, 4], [5, 7], [0, 7], [0, 4]]) tools.press(at);
  const drawn = plan.now.rooms.at(-1);
  assert.deepEqual([drawn.name, drawn.zone, area(drawn.outline)], ["Room 3", "z1", 15]);
  assert.ok(tools.isChosen("rooms", drawn.id));
  assert.equal(tools.tool, "choose");
});

test("an outline that crosses itself, or has two corners, is not closed", () => {
  tools.use("draw");
  for (const at of [[0, 4], [2, 6]]) tools.press(at);
  tools.close();
  for (const at of [[2, 4], [0, 6]]) tools.press(at);
  tools.close();
  assert.equal(plan.now.rooms.length, 2);
  assert.match(said.join(), /three corners.*crosses itself/);
});

test("a corner is caught by a neighbour's, or goes straight on, or both are switched off", () => {
  tools.use("draw");
  const fine = 0.02; // metres a pixel: 12 pixels are 24 cm
  assert.deepEqual(tools.aim([0.1, 3.1], fine), [0, 3]);
  tools.press([0, 3]);
  assert.deepEqual(tools.aim([5, 5], fine), [5, 5]);
  assert.deepEqual(tools.aim([0.3, 6], fine), [0, 6]);
  tools.straight = false;
  assert.deepEqual(tools.aim([0.3, 6], fine), [0.3, 6]);
  tools.catching = false;
  assert.deepEqual(tools.aim([0.1, 3.1], fine), [0.1, 3.1]);
});

test("a corner that is dragged is not caught by its own room", () => {
  assert.deepEqual(tools.aim([0.1, 0.1], 0.02), [0, 0]);
  assert.deepEqual(tools.aim([0.1, 0.1], 0.02, "r1"), [0.1, 0.1]);
});

test("a new point belongs to the room it lies in, and has a name of its own there", () => {
  tools.use("point");
  tools.press([2, 2]);
  const [inRoom] = plan.now.points.slice(-1);
  assert.deepEqual([inRoom.name, inRoom.room, inRoom.kind], ["P2", "r1", "room_air"]);
  tools.use("point");
  tools.press([20, 20]);
  const [outdoors] = plan.now.points.slice(-1);
  assert.deepEqual([outdoors.name, outdoors.room, outdoors.kind], ["P1", null, "outdoor"]);
});

test("a divided room keeps the part in which its points are, the other part is new", async () => {
  tools.choose("rooms", "r1");
  tools.use("divide");
  tools.press([2, 0]);
  await tools.press([2, 3]);
  assert.deepEqual(plan.find("rooms", "r1").outline, rectangle(0, 0, 2, 3));
  const fresh = plan.now.rooms.at(-1);
  assert.deepEqual([fresh.name, fresh.outline, fresh.area_m2], ["Hall b", rectangle(2, 0, 2, 3), null]);
  assert.equal(plan.past.length, 1, "one step");
});

test("a room that holds points is not removed, and an empty one is", () => {
  tools.choose("rooms", "r1");
  tools.remove();
  assert.match(said.at(-1), /Hall has a point/);
  tools.choose("rooms", "r2");
  tools.remove();
  assert.deepEqual(plan.now.rooms.map(({ id }) => id), ["r1"]);
  assert.equal(tools.chosen, null);
});

test("without a scale nothing is drawn on an image", () => {
  open({ image: IMAGE });
  tools.use("draw");
  tools.press([1, 1]);
  assert.deepEqual(tools.corners, []);
  assert.match(said.at(-1), /Set the scale/);
  assert.match(tools.hint, /Set the scale/);
});

test("a scale is set in pixels of the image, and what is drawn goes along if wanted", () => {
  open({ image: IMAGE });
  tools.use("scale");
  tools.press([2, 2]); // unscaled the image is 30 m wide: 40 pixels a metre
  tools.press([22, 2]);
  assert.deepEqual(asked, [[[80, 80], [880, 80]]]);
  tools.applyScale(...asked[0], 8, true); // 800 pixels are 8 m: 1 cm a pixel instead of 2.5
  assert.ok(near(plan.find("rooms", "r2").outline[1][0], 2.8));
  assert.ok(near(plan.now.points[0].x_m, 0.4) && near(plan.now.points[0].y_m, 0.4));
  plan.undo();
  tools.applyScale(...asked[0], 8, false);
  assert.deepEqual(plan.find("rooms", "r2").outline[1], [7, 0]);
});

test("two places that are the same set no scale", () => {
  open({ image: IMAGE });
  tools.use("scale");
  tools.press([2, 2]);
  tools.press([2.1, 2]); // four pixels
  assert.deepEqual([asked, tools.corners], [[], []]);
});

test("keys move a corner, a whole room or a point, and the last three corners stay", () => {
  tools.choose("rooms", "r1");
  tools.nudge(0.1, 0, 1);
  assert.deepEqual(plan.find("rooms", "r1").outline, [[0, 0], [4.1, 0], [4, 3], [0, 3]]);
  tools.nudge(0, 1);
  assert.deepEqual(plan.find("rooms", "r1").outline[0], [0, 1]);
  tools.removeCorner(1);
  tools.removeCorner(1);
  assert.equal(plan.find("rooms", "r1").outline.length, 3);
  assert.match(said.at(-1), /at least three/);
  tools.choose("points", "p1");
  tools.nudge(-0.01, 0);
  assert.equal(plan.find("points", "p1").x_m, 0.99);
});

test("doubts name what a person should look at", () => {
  assert.deepEqual(doubtsOf(plan), []);
  plan.now.points[0].x_m = 6;
  plan.now.rooms[1].outline = [[4, 0], [7, 3], [7, 0], [4, 3]];
  plan.doubts = ["Two rooms lie on each other."];
  assert.deepEqual(doubtsOf(plan), [
    "Study: the outline crosses itself.", "Point P1 lies outside its room, Hall.", "Two rooms lie on each other.",
  ]);
});
