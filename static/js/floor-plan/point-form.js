// The form of the chosen point.
import { metres, parsedNumber } from "../numbers.js";
import { fieldOf, fill, partOf } from "./fields.js";

export class PointForm {
  constructor(place, plan, tools) {
    Object.assign(this, { place, plan, tools, form: partOf(place, "point") });
    this.form.addEventListener("change", (event) => this.changed(event.target));
  }

  focus() {
    this.form.querySelector("h2").focus();
  }

  draw() {
    const point = this.tools.chosenPoint();
    this.form.hidden = !point;
    if (!point) return;
    const { id, name, kind, height_m, place, x_m, y_m } = point;
    const room = this.plan.find("rooms", point.room);
    this.form.querySelector("h2").textContent = `Point ${name}`;
    partOf(this.place, "point-room").textContent = room ? `In ${room.name}.` : "Outdoors.";
    fieldOf(this.form, "kind").closest(".field").hidden = !room;
    const isPlaced = x_m !== null;
    const at = isPlaced ? { x_m: metres(x_m), y_m: metres(y_m) } : { x_m: "", y_m: "" };
    fill(this.form, id, { name, kind, height_m, place, ...at });
    partOf(this.place, "take-off").hidden = !isPlaced;
    partOf(this.place, "place-it").textContent = isPlaced ? "Place anew" : "Place on the plan";
  }

  changed(input) {
    const point = this.tools.chosenRow();
    const { field } = input.dataset;
    if (["name", "kind", "place"].includes(field)) {
      this.plan.change(`point ${point.name} changed`, () => { point[field] = input.value.trim(); });
      return;
    }
    const value = parsedNumber(input.value);
    if (value === null && field === "height_m") input.value = point.height_m;
    else this.plan.change(`point ${point.name} moved`, () => this.move(point, field, value));
  }

  // x and y come together: the first of them that is typed waits for the other at 0.
  move(point, field, value) {
    point[field] = value;
    const other = { x_m: "y_m", y_m: "x_m" }[field];
    if (other) point[other] = value === null ? null : point[other] ?? 0;
  }

  takeOff() {
    const point = this.tools.chosenRow();
    this.plan.change(`point ${point.name} taken off the plan`, () => Object.assign(point, { x_m: null, y_m: null }));
  }
}
