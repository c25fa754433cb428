// Beside the drawing: the list of rooms and points, and the form of what is chosen. Everything can be done from here
// without a mouse.
"use strict";

(() => {
  const { geometry, metres } = window.fanlight.plan;
  const number = (text) => {
    const found = Number(String(text).trim().replace(",", "."));
    return String(text).trim() && Number.isFinite(found) ? found : null;
  };

  const element = (name, attributes = {}, ...children) => {
    const node = document.createElement(name);
    Object.entries(attributes).forEach(([key, value]) => {
      if (key === "text") node.textContent = value;
      else if (value !== null && value !== false && value !== undefined) node.setAttribute(key, value === true ? "" : value);
    });
    node.append(...children);
    return node;
  };

  class Panel {
    // place: the element with the parts named by data-part. refresh: draws everything again.
    constructor(place, board, tools, view, refresh) {
      Object.assign(this, { place, board, tools, view, refresh });
      this.room = this.part("room");
      this.point = this.part("point");
      this.listen();
    }

    part(name) {
      return this.place.querySelector(`[data-part="${name}"]`);
    }

    field(form, name) {
      return form.querySelector(`[data-field="${name}"]`);
    }

    listen() {
      this.part("list").addEventListener("click", (event) => {
        const button = event.target.closest("button[data-list]");
        if (button) this.pick(button.dataset.list, button.dataset.id);
      });
      this.room.addEventListener("change", (event) => this.roomChanged(event.target));
      this.point.addEventListener("change", (event) => this.pointChanged(event.target));
      this.place.addEventListener("click", (event) => {
        const act = event.target.closest("[data-act]")?.dataset.act;
        if (act && this[act]) this[act]();
      });
      this.part("zones").addEventListener("change", ({ target }) => {
        const zone = this.board.find("zones", target.dataset.zone);
        this.board.change(`zone ${zone.name} renamed`, () => { zone.name = target.value.trim(); });
      });
      this.part("zones").addEventListener("click", ({ target }) => {
        if (target.dataset.outline) this.outlineZone(target.dataset.outline);
      });
      this.place.addEventListener("submit", (event) => {
        event.preventDefault();
        if (event.target.dataset.part === "rectangle") this.addRectangle(event.target);
        if (event.target.dataset.part === "picture") this.movePicture(event.target);
        if (event.target.dataset.part === "new-zone") this.addZone(event.target);
      });
    }

    pick(list, id) {
      this.tools.use("choose");
      this.tools.choose(list, id);
      const row = this.tools.chosenRow();
      const at = row.outline ? geometry.labelPlace(row.outline).at : row.x_m != null && [row.x_m, row.y_m];
      if (at) this.view.show(at);
      this.refresh();
      (list === "rooms" ? this.room : this.point).querySelector("h2").focus();
    }

    // --- what is shown ---

    draw() {
      this.drawList();
      this.drawRoom(this.tools.chosenRoom());
      this.drawPoint(this.tools.chosen?.list === "points" ? this.tools.chosenRow() : null);
      this.drawZones(this.field(this.part("rectangle"), "zone"), this.tools.lastZone);
      this.drawPicture();
      this.drawZoneNames();
      this.part("doubts").replaceChildren(...this.doubts().map((text) => element("li", { text })));
      this.part("doubts").hidden = !this.part("doubts").children.length;
    }

    // The list is made anew only when rows come or go. Otherwise its buttons stay: one that is replaced while a finger
    // is on it, because leaving a field has just changed a name, would never hear of the click.
    drawList() {
      const { zones, rooms, points } = this.board.now;
      const place = this.part("list");
      const rows = JSON.stringify([zones.map((z) => z.id), rooms.map((r) => [r.id, r.zone]), points.map((p) => [p.id, p.room])]);
      if (rows !== this.rows) {
        this.rows = rows;
        const held = place.contains(document.activeElement) && document.activeElement.dataset.id;
        place.replaceChildren(...zones.map((zone) => this.zone(zone)), ...this.outdoors());
        if (held) place.querySelector(`[data-id="${CSS.escape(held)}"]`)?.focus({ preventScroll: true });
      }
      place.querySelectorAll("h3[data-zone]").forEach((head) => { head.textContent = this.board.find("zones", head.dataset.zone).name; });
      place.querySelectorAll("button[data-list]").forEach((button) => {
        const { list, id } = button.dataset;
        const row = this.board.find(list, id);
        button.setAttribute("aria-pressed", String(this.tools.isChosen(list, id)));
        [row.name || "without a name", this.saidOf(list, row)].forEach((text, i) => { button.children[i].textContent = text; });
      });
    }

    saidOf(list, row) {
      if (list === "points") return row.x_m === null ? "not on the plan" : "";
      return row.outline ? `${metres(geometry.area(row.outline))} m²` : "not drawn";
    }

    zone(zone) {
      const items = this.board.now.rooms.filter((room) => room.zone === zone.id).map((room) => {
        const marks = this.marks(room.id);
        return element("li", {}, this.button("rooms", room.id), ...(marks ? [marks] : []));
      });
      return element("section", {}, element("h3", { "data-zone": zone.id }), element("ul", { class: "board-rooms" }, ...items));
    }

    outdoors() {
      const marks = this.marks(null);
      return marks ? [element("section", {}, element("h3", { text: "Outdoors" }), marks)] : [];
    }

    marks(room) {
      const found = this.board.now.points.filter((mark) => mark.room === room);
      const items = found.map((mark) => element("li", {}, this.button("points", mark.id)));
      return items.length ? element("ul", { class: "board-marks" }, ...items) : null;
    }

    button(list, id) {
      const parts = [element("span"), element("span", { class: "faint" })];
      return element("button", { type: "button", class: "plain", "data-list": list, "data-id": id }, ...parts);
    }

    doubts() {
      const { rooms, points } = this.board.now;
      const crossing = rooms.filter((room) => room.outline && geometry.crossesItself(room.outline));
      const astray = points.filter((mark) => {
        const room = mark.room && rooms.find((other) => other.id === mark.room);
        return mark.x_m !== null && room?.outline && !geometry.inside([mark.x_m, mark.y_m], room.outline);
      });
      return [
        ...crossing.map((room) => `${room.name}: the outline crosses itself.`),
        ...astray.map((mark) => `Point ${mark.name} lies outside its room, ${rooms.find((room) => room.id === mark.room).name}.`),
        ...this.board.doubts,
      ];
    }

    drawRoom(room) {
      this.room.hidden = !room;
      if (!room) return;
      this.room.querySelector("h2").textContent = room.name || "Room without a name";
      this.put(this.room, { name: room.name, height_m: room.height_m ?? "", area_m2: room.area_m2 ?? "" });
      this.drawZones(this.field(this.room, "zone"), room.zone);
      const drawn = room.outline ? geometry.area(room.outline) : null;
      const differs = drawn !== null && room.area_m2 !== null && Math.abs(drawn - room.area_m2) > 0.01;
      this.part("drawn").textContent = drawn === null ? "No outline is drawn." : `The outline encloses ${metres(drawn)} m².`;
      this.part("take-area").hidden = !differs;
      this.part("outline-it").textContent = room.outline ? "Draw the outline anew" : "Draw the outline";
      this.part("divide-it").hidden = !room.outline;
      this.part("corners-of").hidden = !room.outline;
      this.drawCorners(room.outline || []);
    }

    drawCorners(outline) {
      const body = this.part("corners");
      if (body.contains(document.activeElement) && body.children.length === outline.length) {
        outline.forEach((corner, i) => corner.forEach((value, axis) => {
          const input = body.children[i].querySelectorAll("input")[axis];
          if (input !== document.activeElement) input.value = metres(value);
        }));
        return;
      }
      body.replaceChildren(...outline.map((corner, i) => element(
        "tr", {}, element("th", { scope: "row", text: i + 1 }),
        ...["x", "y"].map((axis, at) => element("td", {}, element("input", {
          inputmode: "decimal", value: metres(corner[at]), "data-corner": i, "data-axis": at, "aria-label": `${axis} of corner ${i + 1}, metres`,
        }))),
      )));
    }

    drawPoint(mark) {
      this.point.hidden = !mark;
      if (!mark) return;
      const room = this.board.find("rooms", mark.room);
      this.point.querySelector("h2").textContent = `Point ${mark.name}`;
      this.part("point-room").textContent = room ? `In ${room.name}.` : "Outdoors.";
      this.field(this.point, "kind").closest(".field").hidden = !room;
      const at = mark.x_m === null ? ["", ""] : [metres(mark.x_m), metres(mark.y_m)];
      this.put(this.point, { name: mark.name, kind: mark.kind, height_m: mark.height_m, place: mark.place, x_m: at[0], y_m: at[1] });
      this.part("take-off").hidden = mark.x_m === null;
      this.part("place-it").textContent = mark.x_m === null ? "Place on the plan" : "Place anew";
    }

    // Where the image lies on the floor: for rooms that were drawn before it came.
    drawPicture() {
      const form = this.part("picture");
      form.closest("details").hidden = !this.board.image || !this.board.now.scale;
      this.view.toMetres([0, 0]).forEach((value, axis) => {
        const input = this.field(form, ["x", "y"][axis]);
        if (input !== document.activeElement) input.value = metres(value);
      });
    }

    movePicture(form) {
      const [x, y] = ["x", "y"].map((name) => number(this.field(form, name).value));
      if (x === null || y === null) return window.fanlight.announce("Type where the corner of the image lies, in metres.");
      const origin = { x_px: -x / this.view.perPixel, y_px: -y / this.view.perPixel };
      return this.board.change("plan image moved", (now) => { now.origin = origin; });
    }

    drawZoneNames() {
      const place = this.part("zones");
      const { zones } = this.board.now;
      const here = [...place.querySelectorAll("input")].map((input) => input.dataset.zone);
      if (here.join() !== zones.map((zone) => zone.id).join()) {
        place.replaceChildren(...zones.map((zone) => element(
          "li", {}, element("input", { maxlength: 100, "data-zone": zone.id, autocomplete: "off" }),
          element("button", { type: "button", class: "plain", "data-outline": zone.id }),
        )));
      }
      zones.forEach((zone, i) => {
        const [input, button] = place.children[i].children;
        if (input !== document.activeElement) input.value = zone.name;
        input.setAttribute("aria-label", `Name of zone ${zone.name}`);
        button.textContent = zone.outline ? "As its rooms" : "Outline of its own";
        button.setAttribute("aria-label", `${zone.name}: ${button.textContent}`);
      });
    }

    drawZones(select, chosen) {
      const options = this.board.now.zones.map((zone) => element("option", { value: zone.id, text: zone.name, selected: zone.id === chosen }));
      select.replaceChildren(...options);
    }

    put(form, values) {
      Object.entries(values).forEach(([name, value]) => {
        const input = this.field(form, name);
        if (input !== document.activeElement || input.dataset.of !== this.tools.chosen.id) input.value = value;
        input.dataset.of = this.tools.chosen.id;
      });
    }

    // --- what is entered ---

    roomChanged(input) {
      const room = this.tools.chosenRoom();
      const { field, corner, axis } = input.dataset;
      if (!room) return;
      if (corner !== undefined) {
        const value = number(input.value);
        if (value === null) input.value = metres(room.outline[corner][axis]);
        else this.board.change("corner moved", () => { room.outline[corner][axis] = value; });
      } else if (field === "name" || field === "zone") {
        this.board.change(`${field} of ${room.name} changed`, () => { room[field] = input.value.trim(); });
      } else this.board.change(`${room.name} changed`, () => { room[field] = number(input.value); });
      this.tools.lastZone = room.zone;
    }

    pointChanged(input) {
      const mark = this.tools.chosenRow();
      const { field } = input.dataset;
      if (["name", "kind", "place"].includes(field)) {
        this.board.change(`point ${mark.name} changed`, () => { mark[field] = input.value.trim(); });
        return;
      }
      const value = number(input.value);
      if (value === null && field === "height_m") {
        input.value = mark.height_m;
        return;
      }
      // x and y come together: the first of them that is typed waits for the other at 0.
      this.board.change(`point ${mark.name} moved`, () => {
        mark[field] = value;
        if (field === "x_m") mark.y_m = value === null ? null : mark.y_m ?? 0;
        if (field === "y_m") mark.x_m = value === null ? null : mark.x_m ?? 0;
      });
    }

    addRectangle(form) {
      const [width, length] = ["width", "length"].map((name) => number(this.field(form, name).value));
      if (!(width > 0 && length > 0)) {
        window.fanlight.announce("Type a width and a length in metres, above zero.");
        this.field(form, width > 0 ? "length" : "width").focus();
        return;
      }
      if (this.tools.needsScale) return void this.tools.ask.say("Set the scale of the plan image first.");
      const name = this.field(form, "name").value.trim() || this.tools.nextName();
      const [x, y] = this.freePlace(width);
      this.tools.addRoom({ outline: geometry.rectangle(x, y, width, length), name, zone: this.field(form, "zone").value });
      form.reset();
      this.field(form, "name").focus();
    }

    // Right of the last room of the lowest row, or a new row when that would be wider than 30 m.
    freePlace(width) {
      const drawn = this.board.now.rooms.filter((room) => room.outline).map((room) => geometry.bounds(room.outline));
      if (!drawn.length) return [0, 0];
      const all = { x: Math.min(...drawn.map((box) => box.x)), bottom: Math.max(...drawn.map((box) => box.bottom)) };
      const last = drawn[drawn.length - 1];
      const at = [last.right + 0.5, last.y];
      const free = drawn.every((box) => box.right <= at[0] || box.x >= at[0] + width || box.bottom <= at[1]);
      return free && at[0] + width <= all.x + 30 ? at : [all.x, all.bottom + 0.5];
    }

    addZone(form) {
      const name = this.field(form, "name").value.trim();
      if (!name) return;
      const id = this.board.freshId();
      this.board.change(`zone ${name} added`, (now) => now.zones.push({ id, name, outline: null }));
      this.tools.lastZone = id;
      form.reset();
      this.refresh();
    }

    takeArea() {
      const room = this.tools.chosenRoom();
      this.board.change(`drawn area taken for ${room.name}`, () => { room.area_m2 = Math.round(geometry.area(room.outline) * 100) / 100; });
    }

    outlineIt() {
      const room = this.tools.chosenRoom();
      this.tools.use("draw");
      this.tools.outlining = { list: "rooms", id: room.id };
      this.toDrawing();
    }

    // A zone is the ground its rooms cover; where that is not so it gets an outline of its own.
    outlineZone(id) {
      const zone = this.board.find("zones", id);
      if (zone.outline) {
        this.board.change(`${zone.name} is the ground of its rooms again`, () => { zone.outline = null; });
        return;
      }
      this.tools.use("draw");
      this.tools.outlining = { list: "zones", id };
      this.toDrawing();
    }

    divideIt() {
      this.tools.use("divide");
      this.toDrawing();
    }

    placeIt() {
      const mark = this.tools.chosenRow();
      this.tools.use("point");
      this.tools.placing = mark.id;
      this.toDrawing();
    }

    takeOff() {
      const mark = this.tools.chosenRow();
      this.board.change(`point ${mark.name} taken off the plan`, () => Object.assign(mark, { x_m: null, y_m: null }));
    }

    deleteIt() {
      this.tools.remove();
      this.refresh();
    }

    toDrawing() {
      this.refresh();
      this.view.svg.scrollIntoView({ block: "nearest" });
      this.view.svg.focus({ preventScroll: true });
    }
  }

  window.fanlight.plan.Panel = Panel;
})();
