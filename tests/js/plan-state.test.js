import assert from "node:assert/strict";
import { test } from "node:test";

import { changesBetween, copy, countOf, rebased, stateOf } from "../../static/js/floor-plan/changes.js";
import { PlanState } from "../../static/js/floor-plan/plan-state.js";
import { floor } from "./floor.js";
import { seeded } from "./seeded.js";

const room = (state, id) => state.rooms.find((row) => row.id === id);
const changed = (mutate) => {
  const state = stateOf(floor());
  mutate(state);
  return state;
};
const base = stateOf(floor());

test("the server is told what changed and nothing else", () => {
  const now = changed((state) => {
    room(state, "r1").name = "Entrance";
    state.rooms.push({ id: "new-1", name: "Store", zone: "z1", outline: null, area_m2: null, height_m: null });
    state.points = [];
  });
  const changes = changesBetween(base, now);
  assert.deepEqual(changes.rooms, [
    { id: "r1", name: "Entrance" },
    { id: "new-1", name: "Store", zone: "z1", outline: null, area_m2: null, height_m: null, new: true },
  ]);
  assert.deepEqual(changes.removed, { zones: [], rooms: [], points: ["p1"] });
  assert.ok(!("scale" in changes || "origin" in changes));
  assert.equal(countOf(changes), 3);
  assert.equal(countOf(changesBetween(base, base)), 0);
});

test("a scale is one change", () => {
  const changes = changesBetween(base, changed((state) => { state.scale = { x1: 0, y1: 0, x2: 9, y2: 0, length_m: 3 }; }));
  assert.equal(changes.scale.length_m, 3);
  assert.equal(countOf(changes), 1);
});

test("rebase keeps mine where they touched nothing, and theirs where I did not", () => {
  const mine = changed((state) => { room(state, "r1").name = "Entrance"; });
  const theirs = changed((state) => {
    room(state, "r2").name = "Library";
    room(state, "r1").height_m = 3; // another field of the same room
  });
  const { now, both } = rebased(base, mine, theirs);
  assert.deepEqual([room(now, "r1").name, room(now, "r1").height_m, room(now, "r2").name], ["Entrance", 3, "Library"]);
  assert.deepEqual(both, []);
});

test("what both changed is named as they call it, and mine is shown", () => {
  const mine = changed((state) => { room(state, "r1").name = "Entrance"; });
  const theirs = changed((state) => { room(state, "r1").name = "Lobby"; });
  const { now, both } = rebased(base, mine, theirs);
  assert.deepEqual(both, ["Lobby"]);
  assert.equal(room(now, "r1").name, "Entrance");
});

test("the same change made by both of us is named too: somebody should look", () => {
  const same = changed((state) => { room(state, "r1").name = "Entrance"; });
  assert.deepEqual(rebased(base, same, copy(same)).both, ["Entrance"]);
});

test("new rows of both stand beside each other", () => {
  const fresh = (id, name) => ({ id, name, zone: "z1", outline: null, area_m2: null, height_m: null });
  const mine = changed((state) => state.rooms.push(fresh("new-1", "Mine")));
  const theirs = changed((state) => state.rooms.push(fresh("r3", "Theirs")));
  assert.deepEqual(rebased(base, mine, theirs).now.rooms.map(({ name }) => name), ["Hall", "Study", "Theirs", "Mine"]);
});

test("what I removed goes, what they removed goes unless I changed it", () => {
  const without = (id) => changed((state) => { state.rooms = state.rooms.filter((row) => row.id !== id); });
  assert.deepEqual(rebased(base, without("r2"), base).now.rooms.map(({ id }) => id), ["r1"]);
  assert.deepEqual(rebased(base, base, without("r2")).now.rooms.map(({ id }) => id), ["r1"]);
  const mine = changed((state) => { room(state, "r2").name = "Library"; });
  const { now } = rebased(base, mine, without("r2"));
  assert.deepEqual(now.rooms.map(({ name }) => name), ["Hall", "Library"]);
});

test("rebase on what nobody changed is what I have, and changes no argument", () => {
  const random = seeded(5);
  for (let n = 0; n < 100; n += 1) {
    const mine = changed((state) => {
      const row = random.oneOf([...state.rooms, ...state.points, ...state.zones]);
      row.name = `${row.name} ${random.whole(1, 9)}`;
      if (random.whole(0, 1)) state.points[0].x_m = random.between(0, 4);
    });
    const [before, kept] = [copy(base), copy(mine)];
    assert.deepEqual(rebased(before, mine, before), { now: kept, both: [] });
    assert.deepEqual([before, mine], [base, kept]);
  }
});

test("undo goes back to the beginning and redo to the end, whatever was done", () => {
  const random = seeded(6);
  const plan = new PlanState(floor());
  const seen = [copy(plan.now)];
  for (let n = 0; n < 60; n += 1) {
    plan.change("step", (now) => { random.oneOf(now.rooms).name = `Room ${n}`; });
    seen.push(copy(plan.now));
  }
  for (const state of [...seen].reverse().slice(1)) {
    assert.equal(plan.undo(), true);
    assert.deepEqual(plan.now, state);
  }
  assert.equal(plan.undo(), false);
  assert.equal(plan.count, 0);
  for (const state of seen.slice(1)) {
    assert.equal(plan.redo(), true);
    assert.deepEqual(plan.now, state);
  }
  assert.equal(plan.redo(), false);
});

test("a new step forgets what was undone; a step that changes nothing is none", () => {
  const plan = new PlanState(floor());
  const rename = (name) => plan.change("renamed", (now) => { now.rooms[0].name = name; });
  rename("A");
  plan.undo();
  assert.equal(rename("Hall"), false, "that is its name");
  assert.equal(plan.future.length, 1);
  rename("B");
  assert.equal(plan.future.length, 0);
  assert.equal(plan.redo(), false);
});

test("repeated presses of a key are one step, those on another row are not", () => {
  const plan = new PlanState(floor());
  const nudge = (n) => plan.change("moved", (now) => { now.rooms[n].outline[0][0] += 0.1; }, `nudge ${n}`);
  nudge(0);
  nudge(0);
  nudge(1);
  assert.equal(plan.past.length, 2);
  plan.undo();
  nudge(1);
  assert.equal(plan.past.length, 2, "after an undo a step is a step again");
});

test("no more than two hundred steps are kept", () => {
  const plan = new PlanState(floor());
  for (let n = 0; n < 250; n += 1) plan.change("step", (now) => { now.rooms[0].name = String(n); });
  assert.equal(plan.past.length, 200);
});

test("after saving new rows have the server's keys, in the steps back as well", () => {
  const plan = new PlanState(floor());
  const id = plan.freshId();
  const fresh = { id, name: "Store", zone: "z1", outline: null, area_m2: null, height_m: null };
  plan.change("added", (now) => now.rooms.push(fresh));
  plan.change("renamed", () => { plan.find("rooms", id).name = "Shop"; });
  const answer = floor({ version: 4, rooms: [...floor().rooms, { ...fresh, id: "r9", name: "Shop" }] });
  plan.saved(answer, { [id]: "r9" });
  assert.equal(plan.count, 0);
  plan.undo();
  assert.equal(plan.find("rooms", "r9").name, "Store");
  assert.deepEqual(plan.changes(), { version: 4, removed: { zones: [], rooms: [], points: [] }, zones: [], rooms: [{ id: "r9", name: "Store" }], points: [] });
});

test("a rebased plan says so, has the new version, and nothing to undo", () => {
  const plan = new PlanState(floor());
  const said = [];
  plan.onChange((text) => said.push(text));
  plan.change("renamed", (now) => { now.rooms[0].name = "Entrance"; });
  const theirs = floor({ version: 4 });
  theirs.rooms[0].name = "Lobby";
  assert.deepEqual(plan.rebase(theirs), ["Lobby"]);
  assert.deepEqual([plan.version, plan.past.length, plan.count], [4, 0, 1]);
  assert.match(said.at(-1), /other changes/);
});
