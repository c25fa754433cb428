// Where the image lies on the floor: for rooms that were drawn before it came.
import { announce } from "../announce.js";
import { metres, parsedNumber } from "../numbers.js";
import { fieldOf, partOf } from "./fields.js";
import { metresPerPixel, toMetres } from "./image-scale.js";

const AXES = ["x", "y"];

export class ImageForm {
  constructor(place, plan) {
    Object.assign(this, { plan, form: partOf(place, "picture") });
    this.form.addEventListener("submit", () => this.move());
  }

  draw() {
    this.form.closest("details").hidden = !this.plan.image || !this.plan.now.scale;
    toMetres(this.plan, [0, 0]).forEach((value, axis) => {
      const input = fieldOf(this.form, AXES[axis]);
      if (input !== document.activeElement) input.value = metres(value);
    });
  }

  move() {
    const [x, y] = AXES.map((name) => parsedNumber(fieldOf(this.form, name).value));
    if (x === null || y === null) {
      announce("Type where the corner of the image lies, in metres.");
      return;
    }
    const size = metresPerPixel(this.plan);
    this.plan.change("plan image moved", (now) => { now.origin = { x_px: -x / size, y_px: -y / size }; });
  }
}
