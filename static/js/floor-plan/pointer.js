// Mouse, touch and wheel on the drawing.
import { copy } from "./changes.js";
import { distance, rounded, settled } from "./geometry.js";

const STILL_PX = 6; // a hand that moved less has clicked
const SETTLE_PX = 12; // a room that was dragged so near to another rests on it

export class Pointer {
  constructor(drawing, tools, refresh) {
    Object.assign(this, { drawing, tools, refresh, down: new Map(), grip: null });
    const { svg } = drawing;
    svg.addEventListener("pointerdown", (event) => this.press(event));
    svg.addEventListener("pointermove", (event) => this.move(event));
    svg.addEventListener("pointerup", (event) => this.lift(event));
    svg.addEventListener("pointercancel", (event) => this.lift(event, true));
    svg.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
  }

  get plan() {
    return this.tools.plan;
  }

  press(event) {
    if (event.button > 0) return;
    const { svg } = this.drawing;
    svg.setPointerCapture(event.pointerId);
    svg.focus({ preventScroll: true });
    this.down.set(event.pointerId, [event.clientX, event.clientY]);
    if (this.down.size > 1) {
      this.putBack();
      this.pinch = this.spread();
      return;
    }
    const target = event.target.closest("[data-corner], [data-between], [data-list]");
    this.grip = {
      start: [event.clientX, event.clientY], from: this.drawing.at(event), moved: false, target: target ? { ...target.dataset } : null,
      before: copy(this.plan.now), pan: true,
    };
    if (this.tools.tool === "choose" && target) this.take(this.grip);
  }

  // What is dragged: a corner, a new corner between two, a point, or a room that is chosen already.
  take(grip) {
    const { corner, between, list, id } = grip.target;
    const room = this.tools.chosenRoom();
    if (between !== undefined) Object.assign(grip, { pan: false, insert: Number(between) + 1 });
    else if (corner !== undefined) Object.assign(grip, { pan: false, corner: Number(corner) });
    else if (list === "points") Object.assign(grip, { pan: false, point: id });
    else if (room && room.id === id) Object.assign(grip, { pan: false, whole: copy(room.outline) });
  }

  // --- moving ---

  move(event) {
    if (this.down.has(event.pointerId)) this.down.set(event.pointerId, [event.clientX, event.clientY]);
    if (this.down.size > 1) return this.pinched();
    const { grip } = this;
    if (!grip) return this.hover(event);
    if (!grip.moved && distance(grip.start, [event.clientX, event.clientY]) < STILL_PX) return undefined;
    grip.moved = true;
    const at = this.drawing.at(event);
    if (grip.pan) return this.drawing.pan(grip.from[0] - at[0], grip.from[1] - at[1]);
    this.drag(grip, at);
    return this.drawing.draw();
  }

  drag(grip, at) {
    if (grip.point) this.dragPoint(grip.point, at);
    else if (grip.whole) this.dragRoom(grip, at);
    else this.dragCorner(grip, at);
  }

  dragPoint(id, at) {
    const point = this.plan.find("points", id);
    this.tools.choose("points", id);
    [point.x_m, point.y_m] = rounded(at);
  }

  dragRoom({ from, whole }, at) {
    const [dx, dy] = [at[0] - from[0], at[1] - from[1]];
    this.tools.chosenRoom().outline = whole.map(([x, y]) => rounded([x + dx, y + dy]));
  }

  dragCorner(grip, at) {
    const room = this.tools.chosenRoom();
    if (grip.insert !== undefined) {
      room.outline.splice(grip.insert, 0, at);
      grip.corner = grip.insert;
      delete grip.insert;
    }
    room.outline[grip.corner] = this.tools.aim(at, this.drawing.fine, room.id);
  }

  hover(event) {
    if (this.tools.tool === "choose" || event.pointerType === "touch") return;
    this.tools.cursor = this.tools.aim(this.drawing.at(event), this.drawing.fine);
    this.tools.keyboard = false;
    this.drawing.draw();
  }

  // --- letting go ---

  lift(event, cancelled = false) {
    this.down.delete(event.pointerId);
    const { grip } = this;
    if (!grip || this.down.size) return;
    this.grip = null;
    if (cancelled) return;
    if (grip.moved) {
      if (!grip.pan) this.dropped(grip);
      return;
    }
    this.clicked(grip);
    this.refresh();
  }

  clicked({ target, from }) {
    if (this.tools.tool === "choose") {
      this.pick(target);
      return;
    }
    this.tools.keyboard = false;
    this.tools.press(this.tools.aim(from, this.drawing.fine));
  }

  pick(target) {
    if (target?.corner !== undefined) this.drawing.svg.querySelector(`[data-corner="${target.corner}"]`)?.focus();
    else if (target?.list) this.tools.choose(target.list, target.id);
    else if (target?.between === undefined) this.tools.choose(null);
  }

  dropped(grip) {
    const room = this.tools.chosenRoom();
    if (grip.whole && this.tools.catching) {
      room.outline = settled(room.outline, this.plan.outlines(room.id), SETTLE_PX * this.drawing.fine);
    }
    const row = grip.point ? `point ${this.plan.find("points", grip.point).name}` : "corner";
    this.plan.dragged(`${grip.whole ? room.name : row} moved`, grip.before);
  }

  // --- two fingers ---

  // A second finger came down: what the first was dragging goes back.
  putBack() {
    if (this.grip && !this.grip.pan) this.plan.now = this.grip.before;
    this.grip = null;
  }

  spread() {
    const [a, b] = [...this.down.values()];
    return { apart: distance(a, b), middle: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] };
  }

  pinched() {
    const now = this.spread();
    const about = this.drawing.at({ clientX: now.middle[0], clientY: now.middle[1] });
    this.drawing.zoom(this.pinch.apart / (now.apart || 1), about);
    const { fine } = this.drawing;
    this.drawing.pan((this.pinch.middle[0] - now.middle[0]) * fine, (this.pinch.middle[1] - now.middle[1]) * fine);
    this.pinch = now;
  }

  // The wheel turns the page until the drawing is in hand: it has the focus or Ctrl is held.
  wheel(event) {
    if (!event.ctrlKey && !this.drawing.svg.contains(document.activeElement)) return;
    event.preventDefault();
    this.drawing.zoom(Math.exp(Math.sign(event.deltaY) * 0.2), this.drawing.at(event));
  }
}
