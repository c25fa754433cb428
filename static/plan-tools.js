// What a click means: choosing, drawing, dividing, placing, scaling. A click of the mouse, a tap and a key press at the
// cross of the keyboard all end in `press`.
"use strict";

(() => {
  const { geometry, copy } = window.fanlight.plan;
  const CATCH_PX = 12;

  const HINTS = {
    choose: "Choose a room or a point. Drag corners, or focus one and use the arrow keys (0.1 m; with Shift 1 m, with Alt 1 cm).",
    draw: "Set each corner; set the first one again or press Enter to close. By keyboard: arrows move the cross, Space sets a corner.",
    divide: "Set two places on the line that divides the chosen room. By keyboard: arrows move the cross, Space sets a place.",
    point: "Set the place of the point. By keyboard: arrows move the cross, Space sets it.",
    scale: "Set two places on the plan image that are a known length apart, such as the ends of a long wall.",
  };

  class Tools {
    // ask: {length(), split(outline, first, second) → parts, say(text), done()} of the page around.
    constructor(board, ask) {
      Object.assign(this, { board, ask, tool: "choose", chosen: null, corners: [], cursor: null, keyboard: false });
      Object.assign(this, { straight: true, catching: true, placing: null, outlining: null, lastZone: null });
    }

    get hint() {
      if (this.tool === "divide" && !this.chosenRoom()?.outline) return "Choose a drawn room first, then divide it.";
      if (this.needsScale && this.tool !== "choose" && this.tool !== "scale") return "Set the scale of the plan image first.";
      return HINTS[this.tool];
    }

    get needsScale() {
      return Boolean(this.board.image) && !this.board.now.scale;
    }

    use(tool) {
      this.tool = tool;
      this.corners = [];
      this.keyboard = false;
      this.cursor = null;
      if (tool !== "point") this.placing = null;
      if (tool !== "draw") this.outlining = null;
    }

    choose(list, id) {
      this.chosen = list ? { list, id } : null;
      const room = this.chosenRoom();
      if (room) this.lastZone = room.zone;
    }

    isChosen(list, id) {
      return this.chosen?.list === list && this.chosen.id === id;
    }

    chosenRow() {
      return this.chosen ? this.board.find(this.chosen.list, this.chosen.id) : null;
    }

    chosenRoom() {
      return this.chosen?.list === "rooms" ? this.chosenRow() : null;
    }

    // Where a click really goes: to a corner or wall nearby, else straight on from the last corner.
    aim(point, fine, except = null) {
      if (this.tool === "scale") return point;
      const reach = CATCH_PX * fine;
      const last = this.corners[this.corners.length - 1];
      if (this.corners.length > 2 && geometry.distance(point, this.corners[0]) <= reach) return this.corners[0];
      if (this.catching && this.tool !== "point") {
        const others = this.board.now.rooms.filter((room) => room.outline && room.id !== except).map((room) => room.outline);
        const caught = geometry.snap(point, others, reach);
        if (caught) return geometry.rounded(caught);
      }
      return geometry.rounded(this.straight && last && this.tool === "draw" ? geometry.straightened(last, point) : point);
    }

    press(point, view) {
      if (this.needsScale && this.tool !== "scale") return this.ask.say("Set the scale of the plan image first.");
      const act = { draw: "setCorner", divide: "setCut", point: "setPoint", scale: "setScale" }[this.tool];
      return act && this[act](point, view);
    }

    setCorner(point) {
      const [first] = this.corners;
      if (this.corners.length > 2 && geometry.distance(first, point) < 0.001) return this.close();
      const last = this.corners[this.corners.length - 1];
      if (last && geometry.distance(last, point) < 0.001) return this.ask.say("There is a corner already.");
      this.corners.push(point);
      return this.ask.say(`Corner ${this.corners.length} at ${point.map((v) => v.toFixed(2)).join(", ")}`);
    }

    back() {
      if (this.corners.pop()) this.ask.say("Corner taken back");
    }

    close() {
      if (this.corners.length < 3) return this.ask.say("A room needs at least three corners.");
      if (geometry.crossesItself(this.corners)) return this.ask.say("The outline crosses itself. Take corners back with Backspace.");
      const outline = this.corners;
      this.corners = [];
      if (this.outlining) {
        const { list, id } = this.outlining;
        this.board.change("outline drawn", () => Object.assign(this.board.find(list, id), { outline }));
        return this.finish(list === "rooms" ? list : null, id);
      }
      return this.addRoom({ outline });
    }

    addRoom({ outline, name = this.nextName(), zone = null, height_m = null }) {
      const id = this.board.freshId();
      this.board.change(`room ${name} drawn`, (now) => {
        now.rooms.push({ id, name, zone: zone || this.zoneForNew(now), outline, area_m2: null, height_m });
      });
      return this.finish("rooms", id);
    }

    nextName() {
      const taken = new Set(this.board.now.rooms.map((room) => room.name));
      let number = this.board.now.rooms.length + 1;
      while (taken.has(`Room ${number}`)) number += 1;
      return `Room ${number}`;
    }

    zoneForNew({ zones }) {
      if (zones.some((zone) => zone.id === this.lastZone)) return this.lastZone;
      if (!zones.length) zones.push({ id: this.board.freshId(), name: "Zone 1", outline: null });
      return zones[0].id;
    }

    finish(list, id) {
      this.use("choose");
      this.choose(list, id);
      this.ask.done();
    }

    async setCut(point) {
      const room = this.chosenRoom();
      if (!room?.outline) return this.ask.say("Choose a drawn room first.");
      this.corners.push(point);
      if (this.corners.length < 2) return this.ask.say("First place set");
      const [first, second] = this.corners;
      this.corners = [];
      const answer = await this.ask.split(room.outline, first, second);
      if (!answer.parts) return this.ask.say(answer.message);
      // The part with the room's points stays the room; without points the larger one, which comes first.
      const marks = this.board.now.points.filter((mark) => mark.room === room.id && mark.x_m !== null);
      const held = (part) => marks.filter((mark) => geometry.inside([mark.x_m, mark.y_m], part)).length;
      const [kept, other] = [...answer.parts].sort((a, b) => held(b) - held(a));
      const fresh = { ...copy(room), id: this.board.freshId(), name: `${room.name} b`, outline: other, area_m2: null };
      this.board.change(`${room.name} divided`, (now) => {
        Object.assign(this.board.find("rooms", room.id), { outline: kept, area_m2: null });
        now.rooms.push(fresh);
      });
      return this.finish("rooms", fresh.id);
    }

    setPoint([x_m, y_m]) {
      const mark = this.placing && this.board.find("points", this.placing);
      if (mark) {
        this.board.change(`point ${mark.name} placed`, () => Object.assign(this.board.find("points", mark.id), { x_m, y_m }));
        return this.finish("points", mark.id);
      }
      const room = this.roomAt([x_m, y_m]);
      const here = this.board.now.points.filter((other) => other.room === (room?.id ?? null));
      let number = here.length + 1;
      while (here.some((other) => other.name === `P${number}`)) number += 1;
      const fresh = {
        id: this.board.freshId(), name: `P${number}`, kind: room ? "room_air" : "outdoor", room: room?.id ?? null,
        height_m: 1.2, place: "", x_m, y_m,
      };
      this.board.change(`point ${fresh.name} placed ${room ? `in ${room.name}` : "outdoors"}`, (now) => now.points.push(fresh));
      return this.finish("points", fresh.id);
    }

    roomAt(point) {
      return this.board.now.rooms.find((room) => room.outline && geometry.inside(point, room.outline)) || null;
    }

    setScale(point, view) {
      this.corners.push(point);
      if (this.corners.length < 2) return this.ask.say("First place set; now the other end");
      const [first, second] = this.corners.map((corner) => view.toPixels(corner));
      if (geometry.distance(first, second) < 5) {
        this.corners = [];
        return this.ask.say("The two places are too near each other: take a long wall.");
      }
      return this.ask.length(first, second);
    }

    // The length is known: `moveAlong` keeps what is drawn on the picture, so that its metres change.
    applyScale(first, second, length_m, moveAlong, view) {
      const before = view.perPixel;
      const scale = { x1: first[0], y1: first[1], x2: second[0], y2: second[1], length_m };
      this.board.change(`scale set to ${length_m} m`, (now) => {
        now.scale = scale;
        const factor = view.perPixel / before;
        if (!moveAlong || !Number.isFinite(factor)) return;
        const grown = (outline) => outline && outline.map((corner) => corner.map((value) => value * factor));
        [...now.rooms, ...now.zones].forEach((row) => Object.assign(row, { outline: grown(row.outline) }));
        now.points.forEach((mark) => mark.x_m !== null && Object.assign(mark, { x_m: mark.x_m * factor, y_m: mark.y_m * factor }));
      });
      this.use("choose");
      this.ask.done();
    }

    // Moves a corner, a point or a whole room by metres; repeated presses of a key are one step.
    nudge(dx, dy, corner = null) {
      const row = this.chosenRow();
      if (!row) return;
      const moved = ([x, y]) => geometry.rounded([x + dx, y + dy]);
      this.board.change(
        corner === null ? `${row.name} moved` : "corner moved",
        () => {
          if (this.chosen.list === "points" && row.x_m !== null) [row.x_m, row.y_m] = moved([row.x_m, row.y_m]);
          if (this.chosen.list === "rooms" && row.outline) {
            row.outline = row.outline.map((at, i) => (corner === null || i === corner ? moved(at) : at));
          }
        },
        `nudge ${row.id} ${corner}`,
      );
    }

    removeCorner(index) {
      const room = this.chosenRoom();
      if (!room?.outline || room.outline.length <= 3) return this.ask.say("A room needs at least three corners.");
      return this.board.change("corner removed", () => room.outline.splice(index, 1));
    }

    // A room goes only without points: the server would refuse it, so it is said here.
    remove() {
      const row = this.chosenRow();
      if (!row) return;
      const { list, id } = this.chosen;
      const held = this.board.now.points.filter((mark) => list === "rooms" && mark.room === id);
      if (held.length) {
        this.ask.say(`${row.name} has ${held.length === 1 ? "a point" : `${held.length} points`}: delete that first.`);
        return;
      }
      this.choose(null);
      this.board.change(`${row.name} deleted`, (now) => {
        now[list] = now[list].filter((other) => other.id !== id);
      });
    }
  }

  window.fanlight.plan.Tools = Tools;
})();
