// Keys on the drawing: everything the mouse does, with a cross that the arrows move.
import { announce } from "../announce.js";
import { rounded } from "./geometry.js";

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

// Metres of one press.
const stepOf = ({ shiftKey, altKey }) => {
  if (shiftKey) return 1;
  return altKey ? 0.01 : 0.1;
};

export class Keyboard {
  constructor(drawing, tools, refresh) {
    Object.assign(this, { drawing, tools, refresh });
    drawing.svg.addEventListener("keydown", (event) => this.key(event));
  }

  key(event) {
    if (event.ctrlKey || event.metaKey) return;
    if (event.key in ARROWS) this.arrow(event);
    else if (!this.word(event)) return;
    event.preventDefault();
    this.refresh();
  }

  arrow(event) {
    const [dx, dy] = ARROWS[event.key].map((value) => value * stepOf(event));
    const { corner, list, id } = event.target.dataset;
    if (this.tools.tool !== "choose") this.moveCross(dx, dy);
    else if (corner !== undefined) this.tools.nudge(dx, dy, Number(corner));
    else if (list && this.tools.isChosen(list, id)) this.tools.nudge(dx, dy);
    else this.panBy(...ARROWS[event.key]);
  }

  moveCross(dx, dy) {
    const { tools, drawing } = this;
    const [x, y] = tools.cursor || rounded(drawing.camera.middle).map((value) => Math.round(value * 10) / 10);
    tools.cursor = rounded([x + dx, y + dy]);
    tools.keyboard = true;
    drawing.show(tools.cursor);
    announce(tools.cursor.map((value) => value.toFixed(2)).join(", "));
  }

  panBy(x, y) {
    const { width, height } = this.drawing.camera.box;
    this.drawing.pan(x * width * 0.1, y * height * 0.1);
  }

  // Keys with a meaning. Returns whether this was one.
  word(event) {
    const { tools, drawing } = this;
    const { list, id } = event.target.dataset;
    const keys = {
      Escape: () => (tools.corners.length ? (tools.corners = []) : tools.use("choose")),
      Backspace: () => tools.back(),
      "+": () => drawing.zoom(0.8),
      "-": () => drawing.zoom(1.25),
      0: () => drawing.showWhole(),
      Delete: () => this.remove(event.target.dataset),
      Enter: () => this.enter(list, id),
      " ": () => this.set(list, id),
    };
    const act = keys[event.key];
    if (act) act();
    return Boolean(act);
  }

  remove({ corner, list, id }) {
    if (corner !== undefined) this.tools.removeCorner(Number(corner));
    else if (this.tools.isChosen(list, id)) this.tools.remove();
  }

  enter(list, id) {
    if (this.tools.tool === "draw" && this.tools.corners.length > 2) this.tools.close();
    else this.set(list, id);
  }

  set(list, id) {
    if (this.tools.tool === "choose") this.tools.choose(list || null, id);
    else if (this.tools.cursor) this.tools.press(this.tools.cursor);
    else announce("Move the cross with the arrow keys first");
  }
}
