// Which part of the floor is seen: a box in metres. No DOM.
import { bounds } from "./geometry.js";
import { toMetres } from "./image-scale.js";

const [NEAREST, FARTHEST] = [2, 400]; // metres across
const MARGIN = 0.06; // of the longer side
const EMPTY = [[0, 0], [20, 12]]; // what is shown of a floor with nothing on it

// Everything that is on the plan: corners, points, the corners of the image.
const places = (plan) => {
  const { rooms, zones, points } = plan.now;
  const corners = [...rooms, ...zones].flatMap((row) => row.outline || []);
  const marks = points.filter((mark) => mark.x_m !== null).map((mark) => [mark.x_m, mark.y_m]);
  const { image } = plan;
  const sheet = image ? [toMetres(plan, [0, 0]), toMetres(plan, [image.width_px, image.height_px])] : [];
  return [...corners, ...marks, ...sheet];
};

export class Camera {
  constructor() {
    this.box = { x: 0, y: 0, width: 20, height: 12 };
  }

  get middle() {
    const { x, y, width, height } = this.box;
    return [x + width / 2, y + height / 2];
  }

  // Metres that one pixel of a screen of this size shows, when the whole box is to be seen on it.
  metresPerPixel({ width, height }) {
    return Math.max(this.box.width / (width || 1), this.box.height / (height || 1));
  }

  showWhole(plan) {
    const seen = places(plan);
    const { x, y, right, bottom } = bounds(seen.length ? seen : EMPTY);
    const margin = Math.max(right - x, bottom - y, 4) * MARGIN;
    this.box = { x: x - margin, y: y - margin, width: right - x + 2 * margin, height: bottom - y + 2 * margin };
  }

  // factor < 1 comes closer; what lies at `about` stays where it is.
  zoom(factor, about = this.middle) {
    const { x, y } = this.box;
    const width = Math.min(FARTHEST, Math.max(NEAREST, this.box.width * factor));
    const ratio = width / this.box.width;
    const height = this.box.height * ratio;
    this.box = { x: about[0] - (about[0] - x) * ratio, y: about[1] - (about[1] - y) * ratio, width, height };
  }

  pan(dx, dy) {
    this.box.x += dx;
    this.box.y += dy;
  }

  // Moves no farther than needed to see a place, a tenth inside.
  show([x, y]) {
    const { box } = this;
    if (x < box.x) box.x = x - box.width * 0.1;
    if (x > box.x + box.width) box.x = x - box.width * 0.9;
    if (y < box.y) box.y = y - box.height * 0.1;
    if (y > box.y + box.height) box.y = y - box.height * 0.9;
  }
}
