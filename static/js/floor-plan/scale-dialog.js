// The length between two places on the plan image is asked for here.
import { parsedNumber } from "../numbers.js";
import { fieldOf, partOf } from "./fields.js";

export class ScaleDialog {
  // done: what happens when the scale is set.
  constructor(place, plan, tools, done) {
    Object.assign(this, { plan, tools, done, form: partOf(place, "length"), ends: null });
    this.form.addEventListener("submit", () => this.set());
  }

  draw() {
    if (this.tools.tool !== "scale") this.form.hidden = true;
  }

  open(first, second) {
    this.ends = [first, second];
    this.form.hidden = false;
    fieldOf(this.form, "along").checked = Boolean(this.plan.now.scale);
    fieldOf(this.form, "length_m").focus();
  }

  set() {
    const length = parsedNumber(fieldOf(this.form, "length_m").value);
    if (!(length > 0)) {
      this.tools.page.say("Type the length between the two places in metres, above zero.");
      return;
    }
    this.form.hidden = true;
    this.tools.applyScale(...this.ends, length, fieldOf(this.form, "along").checked);
    this.done();
  }
}
