// The list of zones, rooms and points beside the drawing.
import { element } from "../elements.js";
import { metres } from "../numbers.js";
import { partOf } from "./fields.js";
import { area } from "./geometry.js";

const stateOf = (list, row) => {
  if (list === "points") return row.x_m === null ? "not on the plan" : "";
  return row.outline ? `${metres(area(row.outline))} m²` : "not drawn";
};

const button = (list, id) => element(
  "button", { type: "button", class: "plain", "data-list": list, "data-id": id }, element("span"), element("span", { class: "faint" }),
);

export class RoomList {
  // pick: what happens when a row is chosen here.
  constructor(place, plan, tools, pick) {
    Object.assign(this, { place: partOf(place, "list"), plan, tools });
    this.place.addEventListener("click", (event) => {
      const chosen = event.target.closest("button[data-list]");
      if (chosen) pick(chosen.dataset.list, chosen.dataset.id);
    });
  }

  // The list is made anew only when rows come or go. Otherwise its buttons stay: one that is replaced while a finger
  // is on it, because leaving a field has just changed a name, would never hear of the click.
  draw() {
    const { zones, rooms, points } = this.plan.now;
    const rows = JSON.stringify([zones.map((z) => z.id), rooms.map((r) => [r.id, r.zone]), points.map((p) => [p.id, p.room])]);
    if (rows !== this.rows) {
      this.rows = rows;
      this.build();
    }
    this.place.querySelectorAll("h3[data-zone]").forEach((head) => {
      head.textContent = this.plan.find("zones", head.dataset.zone).name;
    });
    this.place.querySelectorAll("button[data-list]").forEach((row) => this.label(row));
  }

  label(row) {
    const { list, id } = row.dataset;
    const held = this.plan.find(list, id);
    row.setAttribute("aria-pressed", String(this.tools.isChosen(list, id)));
    [held.name || "without a name", stateOf(list, held)].forEach((text, i) => { row.children[i].textContent = text; });
  }

  build() {
    const held = this.place.contains(document.activeElement) && document.activeElement.dataset.id;
    this.place.replaceChildren(...this.plan.now.zones.map((zone) => this.zone(zone)), ...this.outdoors());
    if (held) this.place.querySelector(`[data-id="${CSS.escape(held)}"]`)?.focus({ preventScroll: true });
  }

  zone(zone) {
    const items = this.plan.now.rooms.filter((room) => room.zone === zone.id).map((room) =>
      element("li", {}, button("rooms", room.id), ...this.points(room.id)),
    );
    return element("section", {}, element("h3", { "data-zone": zone.id }), element("ul", { class: "board-rooms" }, ...items));
  }

  outdoors() {
    const points = this.points(null);
    return points.length ? [element("section", {}, element("h3", {}, "Outdoors"), ...points)] : [];
  }

  points(room) {
    const items = this.plan.now.points
      .filter((point) => point.room === room)
      .map((point) => element("li", {}, button("points", point.id)));
    return items.length ? [element("ul", { class: "board-marks" }, ...items)] : [];
  }
}
