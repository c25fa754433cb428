// The form of the chosen room: its name, zone, area and height, and its corners as numbers.
import { element } from "../elements.js";
import { metres, parsedNumber } from "../numbers.js";
import { fieldOf, fill, offerZones, partOf } from "./fields.js";
import { area } from "./geometry.js";

const SAME_M2 = 0.01;

const cornerRow = (corner, i) => element(
  "tr", {}, element("th", { scope: "row" }, i + 1),
  ...["x", "y"].map((axis, at) => element("td", {}, element("input", {
    inputmode: "decimal", value: metres(corner[at]), "data-corner": i, "data-axis": at, "aria-label": `${axis} of corner ${i + 1}, metres`,
  }))),
);

export class RoomForm {
  constructor(place, plan, tools) {
    Object.assign(this, { place, plan, tools, form: partOf(place, "room") });
    this.form.addEventListener("change", (event) => this.changed(event.target));
  }

  focus() {
    this.form.querySelector("h2").focus();
  }

  draw() {
    const room = this.tools.chosenRoom();
    this.form.hidden = !room;
    if (!room) return;
    this.form.querySelector("h2").textContent = room.name || "Room without a name";
    fill(this.form, room.id, { name: room.name, height_m: room.height_m ?? "", area_m2: room.area_m2 ?? "" });
    offerZones(fieldOf(this.form, "zone"), this.plan.now.zones, room.zone);
    this.drawArea(room);
    const part = (name) => partOf(this.place, name);
    part("outline-it").textContent = room.outline ? "Draw the outline anew" : "Draw the outline";
    part("divide-it").hidden = !room.outline;
    part("corners-of").hidden = !room.outline;
    this.drawCorners(part("corners"), room.outline || []);
  }

  drawArea({ outline, area_m2 }) {
    const drawn = outline ? area(outline) : null;
    const differs = drawn !== null && area_m2 !== null && Math.abs(drawn - area_m2) > SAME_M2;
    partOf(this.place, "drawn").textContent = drawn === null ? "No outline is drawn." : `The outline encloses ${metres(drawn)} m².`;
    partOf(this.place, "take-area").hidden = !differs;
  }

  // While somebody types in one of them they stay, and only the others follow.
  drawCorners(body, outline) {
    if (!body.contains(document.activeElement) || body.children.length !== outline.length) {
      body.replaceChildren(...outline.map(cornerRow));
      return;
    }
    outline.forEach((corner, i) => corner.forEach((value, axis) => {
      const input = body.children[i].querySelectorAll("input")[axis];
      if (input !== document.activeElement) input.value = metres(value);
    }));
  }

  changed(input) {
    const room = this.tools.chosenRoom();
    const { field, corner } = input.dataset;
    if (!room) return;
    if (corner !== undefined) this.cornerChanged(room, input);
    else if (field === "name" || field === "zone") {
      this.plan.change(`${field} of ${room.name} changed`, () => { room[field] = input.value.trim(); });
    } else this.plan.change(`${room.name} changed`, () => { room[field] = parsedNumber(input.value); });
    this.tools.lastZone = room.zone;
  }

  cornerChanged(room, input) {
    const { corner, axis } = input.dataset;
    const value = parsedNumber(input.value);
    if (value === null) input.value = metres(room.outline[corner][axis]);
    else this.plan.change("corner moved", () => { room.outline[corner][axis] = value; });
  }

  takeArea() {
    const room = this.tools.chosenRoom();
    this.plan.change(`drawn area taken for ${room.name}`, () => { room.area_m2 = Math.round(area(room.outline) * 100) / 100; });
  }
}
