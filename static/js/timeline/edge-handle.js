// An edge of a deployment that can be moved: dragged, or with the arrow keys. Nothing is saved before it is let go.
import { svgElement } from "../elements.js";
import { DAY } from "../time.js";
import { dayAndTime, timeOfDay } from "./clock.js";
import { snapped, within } from "./edges.js";

const GRIP_PX = 24;
const ARROWS = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 };

export class EdgeHandle {
  // edge: {id, name, time, bounds}; row: [top, height]; timeline: {data, scale, pend(handle or null), keep()}.
  constructor(edge, [top, height], timeline) {
    Object.assign(this, { edge, timeline, now: edge.time });
    this.told = svgElement("text", { y: top - 8, class: "timeline-told" });
    this.node = svgElement(
      "g",
      {
        class: "timeline-edge", role: "slider", tabindex: 0, "aria-label": edge.name, "aria-orientation": "horizontal",
        "data-edge": edge.id,
      },
      svgElement("rect", { x: -GRIP_PX / 2, y: top - 4, width: GRIP_PX, height: height + 8, class: "timeline-grip" }),
      svgElement("line", { x1: 0, x2: 0, y1: top - 4, y2: top + height + 4, class: "timeline-line" }),
      svgElement("circle", { cx: 0, cy: top + height / 2, r: 5, class: "timeline-knob" }),
      this.told,
    );
    this.node.addEventListener("pointerdown", (event) => this.grab(event));
    this.node.addEventListener("keydown", (event) => this.key(event));
    this.show(edge.time);
  }

  get hasMoved() {
    return this.now !== this.edge.time;
  }

  // What would change, in words.
  get said() {
    const { offsets } = this.timeline.data;
    return `${this.edge.name}: ${dayAndTime(offsets, this.edge.time)} becomes ${dayAndTime(offsets, this.now)}.`;
  }

  show(time) {
    const { data, scale } = this.timeline;
    const [earliest, latest] = this.edge.bounds;
    this.now = within(time, this.edge.bounds);
    const x = scale.x(this.now);
    this.node.setAttribute("transform", `translate(${x} 0)`);
    this.node.setAttribute("aria-valuemin", Math.max(earliest, data.extent[0]));
    this.node.setAttribute("aria-valuemax", Math.min(latest, data.extent[1] + DAY));
    this.node.setAttribute("aria-valuenow", this.now);
    this.node.setAttribute("aria-valuetext", dayAndTime(data.offsets, this.now));
    this.told.textContent = this.hasMoved ? timeOfDay(data.offsets, this.now) : "";
    this.told.setAttribute("text-anchor", x > scale.right - 68 ? "end" : "start");
    this.timeline.pend(this.hasMoved ? this : null);
  }

  leave() {
    this.show(this.edge.time);
  }

  grab(event) {
    event.preventDefault();
    this.node.focus();
    this.node.setPointerCapture(event.pointerId);
    const { data, scale } = this.timeline;
    const grip = event.clientX - scale.x(this.now);
    const follow = ({ clientX, altKey }) => this.show(snapped(scale.timeAt(clientX - grip), data.bursts, scale.perPixel, altKey));
    const release = () => this.node.removeEventListener("pointermove", follow);
    this.node.addEventListener("pointermove", follow);
    this.node.addEventListener("pointerup", () => {
      release();
      this.timeline.keep();
    }, { once: true });
    this.node.addEventListener("pointercancel", () => {
      release();
      this.leave();
    }, { once: true });
  }

  key(event) {
    const way = ARROWS[event.key];
    if (way) this.show(this.now + way * this.timeline.data.interval * (event.shiftKey ? 10 : 1));
    else if (event.key === "Enter" && this.timeline.pending) this.timeline.keep();
    else if (event.key === "Escape") this.leave();
    else return;
    event.preventDefault();
  }
}
