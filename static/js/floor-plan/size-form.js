// A room by its width and length, for those who have no outline of it.
import { announce } from "../announce.js";
import { parsedNumber } from "../numbers.js";
import { fieldOf, offerZones, partOf } from "./fields.js";
import { freePlace, rectangle } from "./geometry.js";

export class SizeForm {
  constructor(place, plan, tools) {
    Object.assign(this, { plan, tools, form: partOf(place, "rectangle") });
    this.form.addEventListener("submit", () => this.add());
  }

  draw() {
    offerZones(fieldOf(this.form, "zone"), this.plan.now.zones, this.tools.lastZone);
  }

  add() {
    const field = (name) => fieldOf(this.form, name);
    const [width, length] = ["width", "length"].map((name) => parsedNumber(field(name).value));
    if (!(width > 0 && length > 0)) {
      announce("Type a width and a length in metres, above zero.");
      field(width > 0 ? "length" : "width").focus();
      return;
    }
    if (this.tools.needsScale) {
      this.tools.page.say("Set the scale of the plan image first.");
      return;
    }
    const name = field("name").value.trim() || this.tools.nextName();
    const [x, y] = freePlace(this.plan.outlines(), width);
    this.tools.addRoom({ outline: rectangle(x, y, width, length), name, zone: field("zone").value });
    this.form.reset();
    field("name").focus();
  }
}
