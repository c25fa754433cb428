// Zones: their names, and an outline of its own for one that is more than the ground of its rooms.
import { element } from "../elements.js";
import { fieldOf, partOf } from "./fields.js";

const zoneRow = ({ id }) => element(
  "li", {}, element("input", { maxlength: 100, "data-zone": id, autocomplete: "off" }),
  element("button", { type: "button", class: "plain", "data-outline": id }),
);

export class ZoneForms {
  // panel: {drawOutline(list, id), refresh()}.
  constructor(place, plan, tools, panel) {
    Object.assign(this, { plan, tools, panel, rows: partOf(place, "zones"), form: partOf(place, "new-zone") });
    this.rows.addEventListener("change", ({ target }) => this.rename(target.dataset.zone, target.value.trim()));
    this.rows.addEventListener("click", ({ target }) => {
      if (target.dataset.outline) this.outline(target.dataset.outline);
    });
    this.form.addEventListener("submit", () => this.add());
  }

  draw() {
    const { zones } = this.plan.now;
    const here = [...this.rows.querySelectorAll("input")].map((input) => input.dataset.zone);
    if (here.join() !== zones.map((zone) => zone.id).join()) this.rows.replaceChildren(...zones.map(zoneRow));
    zones.forEach((zone, i) => {
      const [input, button] = this.rows.children[i].children;
      if (input !== document.activeElement) input.value = zone.name;
      input.setAttribute("aria-label", `Name of zone ${zone.name}`);
      button.textContent = zone.outline ? "As its rooms" : "Outline of its own";
      button.setAttribute("aria-label", `${zone.name}: ${button.textContent}`);
    });
  }

  rename(id, name) {
    const zone = this.plan.find("zones", id);
    this.plan.change(`zone ${zone.name} renamed`, () => { zone.name = name; });
  }

  // A zone is the ground its rooms cover; where that is not so it gets an outline of its own.
  outline(id) {
    const zone = this.plan.find("zones", id);
    if (zone.outline) this.plan.change(`${zone.name} is the ground of its rooms again`, () => { zone.outline = null; });
    else this.panel.drawOutline("zones", id);
  }

  add() {
    const name = fieldOf(this.form, "name").value.trim();
    if (!name) return;
    const id = this.plan.freshId();
    this.plan.change(`zone ${name} added`, (now) => now.zones.push({ id, name, outline: null }));
    this.tools.lastZone = id;
    this.form.reset();
    this.panel.refresh();
  }
}
