// What a click means: choosing, drawing, dividing, placing, scaling. A click of the mouse, a tap and a key press at the
// cross of the keyboard all end in `press`. No DOM.
import { copy } from "./changes.js";
import { crossesItself, distance, inside, rounded, snap, straightened } from "./geometry.js";
import { metresPerPixel, toPixels } from "./image-scale.js";

const CATCH_PX = 12; // so near a corner or wall catches what is set
const SAME_M = 0.001;
const SHORTEST_SCALE_PX = 5;

const NO_SCALE = "Set the scale of the plan image first.";
const HINTS = {
  choose: "Choose a room or a point. Drag corners, or focus one and use the arrow keys (0.1 m; with Shift 1 m, with Alt 1 cm).",
  draw: "Set each corner; set the first one again or press Enter to close. By keyboard: arrows move the cross, Space sets a corner.",
  divide: "Set two places on the line that divides the chosen room. By keyboard: arrows move the cross, Space sets a place.",
  point: "Set the place of the point. By keyboard: arrows move the cross, Space sets it.",
  scale: "Set two places on the plan image that are a known length apart, such as the ends of a long wall.",
};

// The first name that is not taken: "P1", "P2" …, from the number after how many there are.
const freeName = (word, names) => {
  const taken = new Set(names);
  let number = names.length + 1;
  while (taken.has(`${word}${number}`)) number += 1;
  return `${word}${number}`;
};

export class Tools {
  // page: what is asked of the page around: {say(text), split(outline, first, second) → promise of {parts} or {message},
  // length(first, second), done()}.
  constructor(plan, page) {
    Object.assign(this, { plan, page, tool: "choose", chosen: null, corners: [], cursor: null, keyboard: false });
    Object.assign(this, { straight: true, catching: true, placing: null, outlining: null, lastZone: null });
  }

  get hint() {
    if (this.tool === "divide" && !this.chosenRoom()?.outline) return "Choose a drawn room first, then divide it.";
    if (this.needsScale && this.tool !== "choose" && this.tool !== "scale") return NO_SCALE;
    return HINTS[this.tool];
  }

  get needsScale() {
    return Boolean(this.plan.image) && !this.plan.now.scale;
  }

  use(tool) {
    this.tool = tool;
    this.corners = [];
    this.keyboard = false;
    this.cursor = null;
    if (tool !== "point") this.placing = null;
    if (tool !== "draw") this.outlining = null;
  }

  // --- what is chosen ---

  choose(list, id) {
    this.chosen = list ? { list, id } : null;
    const room = this.chosenRoom();
    if (room) this.lastZone = room.zone;
  }

  isChosen(list, id) {
    return this.chosen?.list === list && this.chosen.id === id;
  }

  chosenRow() {
    return this.chosen ? this.plan.find(this.chosen.list, this.chosen.id) : null;
  }

  chosenRoom() {
    return this.chosen?.list === "rooms" ? this.chosenRow() : null;
  }

  chosenPoint() {
    return this.chosen?.list === "points" ? this.chosenRow() : null;
  }

  // --- what a click does ---

  // Where a click really goes: to a corner or wall nearby, else straight on from the last corner. fine: metres a pixel.
  aim(point, fine, except = null) {
    if (this.tool === "scale") return point;
    const reach = CATCH_PX * fine;
    if (this.corners.length > 2 && distance(point, this.corners[0]) <= reach) return this.corners[0];
    const catches = this.catching && this.tool !== "point";
    return rounded((catches && snap(point, this.plan.outlines(except), reach)) || this.straightOn(point));
  }

  straightOn(point) {
    const last = this.corners.at(-1);
    return this.straight && last && this.tool === "draw" ? straightened(last, point) : point;
  }

  press(point) {
    if (this.needsScale && this.tool !== "scale") return this.page.say(NO_SCALE);
    const act = { draw: "setCorner", divide: "setCut", point: "setPoint", scale: "setScale" }[this.tool];
    return act && this[act](point);
  }

  setCorner(point) {
    const [first] = this.corners;
    if (this.corners.length > 2 && distance(first, point) < SAME_M) return this.close();
    const last = this.corners.at(-1);
    if (last && distance(last, point) < SAME_M) return this.page.say("There is a corner already.");
    this.corners.push(point);
    return this.page.say(`Corner ${this.corners.length} at ${point.map((value) => value.toFixed(2)).join(", ")}`);
  }

  back() {
    if (this.corners.pop()) this.page.say("Corner taken back");
  }

  close() {
    if (this.corners.length < 3) return this.page.say("A room needs at least three corners.");
    if (crossesItself(this.corners)) return this.page.say("The outline crosses itself. Take corners back with Backspace.");
    const outline = this.corners;
    this.corners = [];
    if (this.outlining) {
      const { list, id } = this.outlining;
      this.plan.change("outline drawn", () => Object.assign(this.plan.find(list, id), { outline }));
      return this.finish(list === "rooms" ? list : null, id);
    }
    return this.addRoom({ outline });
  }

  addRoom({ outline, name = this.nextName(), zone = null, height_m = null }) {
    const id = this.plan.freshId();
    this.plan.change(`room ${name} drawn`, (now) => {
      now.rooms.push({ id, name, zone: zone || this.zoneForNew(now), outline, area_m2: null, height_m });
    });
    return this.finish("rooms", id);
  }

  nextName() {
    return freeName("Room ", this.plan.now.rooms.map((room) => room.name));
  }

  zoneForNew({ zones }) {
    if (zones.some((zone) => zone.id === this.lastZone)) return this.lastZone;
    if (!zones.length) zones.push({ id: this.plan.freshId(), name: "Zone 1", outline: null });
    return zones[0].id;
  }

  finish(list, id) {
    this.use("choose");
    this.choose(list, id);
    this.page.done();
  }

  async setCut(point) {
    const room = this.chosenRoom();
    if (!room?.outline) return this.page.say("Choose a drawn room first.");
    this.corners.push(point);
    if (this.corners.length < 2) return this.page.say("First place set");
    const [first, second] = this.corners;
    this.corners = [];
    const answer = await this.page.split(room.outline, first, second);
    return answer.parts ? this.divide(room, answer.parts) : this.page.say(answer.message);
  }

  // The part with the room's points stays the room; without points the larger one, which comes first.
  divide(room, parts) {
    const points = this.plan.now.points.filter((point) => point.room === room.id && point.x_m !== null);
    const held = (part) => points.filter((point) => inside([point.x_m, point.y_m], part)).length;
    const [kept, other] = [...parts].sort((a, b) => held(b) - held(a));
    const fresh = { ...copy(room), id: this.plan.freshId(), name: `${room.name} b`, outline: other, area_m2: null };
    this.plan.change(`${room.name} divided`, (now) => {
      Object.assign(this.plan.find("rooms", room.id), { outline: kept, area_m2: null });
      now.rooms.push(fresh);
    });
    return this.finish("rooms", fresh.id);
  }

  setPoint([x_m, y_m]) {
    const placed = this.placing && this.plan.find("points", this.placing);
    if (!placed) return this.addPoint([x_m, y_m]);
    this.plan.change(`point ${placed.name} placed`, () => Object.assign(this.plan.find("points", placed.id), { x_m, y_m }));
    return this.finish("points", placed.id);
  }

  addPoint([x_m, y_m]) {
    const room = this.plan.now.rooms.find((other) => other.outline && inside([x_m, y_m], other.outline)) ?? null;
    const here = this.plan.now.points.filter((other) => other.room === (room?.id ?? null));
    const fresh = {
      id: this.plan.freshId(), name: freeName("P", here.map((other) => other.name)), kind: room ? "room_air" : "outdoor",
      room: room?.id ?? null, height_m: 1.2, place: "", x_m, y_m,
    };
    this.plan.change(`point ${fresh.name} placed ${room ? `in ${room.name}` : "outdoors"}`, (now) => now.points.push(fresh));
    return this.finish("points", fresh.id);
  }

  setScale(point) {
    this.corners.push(point);
    if (this.corners.length < 2) return this.page.say("First place set; now the other end");
    const [first, second] = this.corners.map((corner) => toPixels(this.plan, corner));
    if (distance(first, second) < SHORTEST_SCALE_PX) {
      this.corners = [];
      return this.page.say("The two places are too near each other: take a long wall.");
    }
    return this.page.length(first, second);
  }

  // The length between two pixels is known: `moveAlong` keeps what is drawn on the picture, so that its metres change.
  applyScale(first, second, length_m, moveAlong) {
    const before = metresPerPixel(this.plan);
    this.plan.change(`scale set to ${length_m} m`, (now) => {
      now.scale = { x1: first[0], y1: first[1], x2: second[0], y2: second[1], length_m };
      const factor = metresPerPixel(this.plan) / before;
      if (!moveAlong || !Number.isFinite(factor)) return;
      const grown = (outline) => outline && outline.map((corner) => corner.map((value) => value * factor));
      [...now.rooms, ...now.zones].forEach((row) => Object.assign(row, { outline: grown(row.outline) }));
      now.points.forEach((point) => point.x_m !== null && Object.assign(point, { x_m: point.x_m * factor, y_m: point.y_m * factor }));
    });
    this.use("choose");
    this.page.done();
  }

  // --- what keys do with what is chosen ---

  // Moves a corner, a point or a whole room by metres; repeated presses of a key are one step.
  nudge(dx, dy, corner = null) {
    const row = this.chosenRow();
    if (!row) return;
    const moved = ([x, y]) => rounded([x + dx, y + dy]);
    const move = () => {
      if (this.chosen.list === "points" && row.x_m !== null) [row.x_m, row.y_m] = moved([row.x_m, row.y_m]);
      if (this.chosen.list === "rooms" && row.outline) {
        row.outline = row.outline.map((at, i) => (corner === null || i === corner ? moved(at) : at));
      }
    };
    this.plan.change(corner === null ? `${row.name} moved` : "corner moved", move, `nudge ${row.id} ${corner}`);
  }

  removeCorner(index) {
    const room = this.chosenRoom();
    if (!room?.outline || room.outline.length <= 3) return this.page.say("A room needs at least three corners.");
    return this.plan.change("corner removed", () => room.outline.splice(index, 1));
  }

  // A room goes only without points: the server would refuse it, so it is said here.
  remove() {
    const row = this.chosenRow();
    if (!row) return;
    const { list, id } = this.chosen;
    const held = this.plan.now.points.filter((point) => list === "rooms" && point.room === id);
    if (held.length) {
      this.page.say(`${row.name} has ${held.length === 1 ? "a point" : `${held.length} points`}: delete that first.`);
      return;
    }
    this.choose(null);
    this.plan.change(`${row.name} deleted`, (now) => {
      now[list] = now[list].filter((other) => other.id !== id);
    });
  }
}
