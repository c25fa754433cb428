// The drawing: the floor plan as SVG. Everything is drawn anew after a change; what had the focus has it again.
import { svgElement } from "../elements.js";
import { metres } from "../numbers.js";
import { Camera } from "./camera.js";
import { area, crossesItself, labelPlace, walls, widestStretch } from "./geometry.js";
import { metresPerPixel, toMetres } from "./image-scale.js";

const LETTER_PX = [7, 14]; // smallest and usual height of a room's name
const REACH_PX = 14; // what a finger hits

const pointsOf = (outline) => outline.map(([x, y]) => `${x.toFixed(3)},${y.toFixed(3)}`).join(" ");

export class Drawing {
  // tools: what is chosen, the corners drawn so far and the cursor are read from it at each drawing.
  constructor(svg, plan, tools) {
    Object.assign(this, { svg, plan, tools, camera: new Camera() });
    new ResizeObserver(() => this.draw()).observe(svg);
  }

  // Metres that one pixel of the screen shows.
  get fine() {
    return this.camera.metresPerPixel(this.svg.getBoundingClientRect());
  }

  // Where the mouse or a finger is, in metres.
  at({ clientX, clientY }) {
    const { x, y } = new DOMPoint(clientX, clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return [x, y];
  }

  // --- which part is seen ---

  showWhole() {
    this.camera.showWhole(this.plan);
    this.draw();
  }

  zoom(factor, about) {
    this.camera.zoom(factor, about);
    this.draw();
  }

  pan(dx, dy) {
    this.camera.pan(dx, dy);
    this.frame();
  }

  show(place) {
    this.camera.show(place);
    this.frame();
  }

  frame() {
    const { x, y, width, height } = this.camera.box;
    this.svg.setAttribute("viewBox", `${x} ${y} ${width} ${height}`);
  }

  // --- what is drawn ---

  draw() {
    const held = this.svg.contains(document.activeElement) ? document.activeElement.dataset.id : null;
    this.frame();
    const { zones, rooms, points } = this.plan.now;
    const drawn = rooms.filter((room) => room.outline);
    this.svg.replaceChildren(
      ...this.image(),
      ...zones.filter((zone) => zone.outline).map((zone) => this.zone(zone)),
      ...drawn.map((room) => this.room(room)),
      ...drawn.flatMap((room) => this.name(room)),
      ...points.filter((point) => point.x_m !== null).map((point) => this.point(point)),
      ...this.handles(),
      this.trace(),
    );
    if (!held) return;
    const again = this.svg.querySelector(`[data-id="${CSS.escape(held)}"]`) || this.svg; // what had the focus may be gone
    again.focus({ preventScroll: true });
  }

  image() {
    const { image } = this.plan;
    if (!image) return [];
    const [x, y] = toMetres(this.plan, [0, 0]);
    const size = metresPerPixel(this.plan);
    return [svgElement("image", {
      href: image.url, x, y, width: image.width_px * size, height: image.height_px * size, preserveAspectRatio: "none", class: "board-picture",
    })];
  }

  zone({ outline }) {
    return svgElement("polygon", { points: pointsOf(outline), class: "board-zone" });
  }

  room({ id, name, outline }) {
    const chosen = this.tools.isChosen("rooms", id);
    const wrong = crossesItself(outline);
    const said = `${name || "Room without a name"}, ${metres(area(outline))} m²${wrong ? ", crosses itself" : ""}`;
    return svgElement("polygon", {
      points: pointsOf(outline), class: `board-room${chosen ? " chosen" : ""}${wrong ? " wrong" : ""}`, "data-id": id,
      "data-list": "rooms", tabindex: 0, role: "button", "aria-label": said, "aria-pressed": chosen,
    });
  }

  name({ name, outline }) {
    const place = labelPlace(outline);
    const [smallest, usual] = LETTER_PX.map((pixels) => pixels * this.fine);
    const size = Math.min(usual, (place.free * 0.9) / (0.58 * Math.max(name.length, 4)));
    if (size < smallest) return []; // too small to read: the list beside has it
    // Above the middle, where points lie; below it if a wall is in the way there.
    const above = widestStretch(outline, place.at[1] - size * 1.2);
    const [x, y] = above.free > place.free * 0.95 ? above.at : [place.at[0], place.at[1] + size * 1.2];
    return [svgElement("text", { x, y, "font-size": size, class: "board-name" }, name)];
  }

  point({ id, name, kind, height_m, x_m, y_m }) {
    const chosen = this.tools.isChosen("points", id);
    const r = Math.min(7 * this.fine, Math.max(0.3, 4 * this.fine)) * (chosen ? 1.3 : 1);
    return svgElement(
      "g",
      {
        class: `board-point ${kind}${chosen ? " chosen" : ""}`, "data-id": id, "data-list": "points", tabindex: 0,
        role: "button", "aria-label": `Point ${name}, ${metres(height_m)} m above the floor`, "aria-pressed": chosen,
      },
      this.reach(x_m, y_m),
      svgElement("circle", { cx: x_m, cy: y_m, r, class: "board-dot" }),
    );
  }

  reach(cx, cy) {
    return svgElement("circle", { cx, cy, r: REACH_PX * this.fine, class: "board-reach" });
  }

  // Corners of the chosen room; between them smaller marks that become corners.
  handles() {
    const room = this.tools.chosenRoom();
    if (!room || !room.outline || this.tools.tool !== "choose") return [];
    const between = walls(room.outline).map(([[ax, ay], [bx, by]], i) =>
      svgElement("circle", { cx: (ax + bx) / 2, cy: (ay + by) / 2, r: 5 * this.fine, class: "board-between", "data-between": i }),
    );
    return [...between, ...room.outline.map((at, i) => this.corner(at, i, room.name))];
  }

  corner([x, y], i, name) {
    const half = 5 * this.fine;
    return svgElement(
      "g",
      {
        class: "board-corner", "data-corner": i, "data-id": `corner-${i}`, tabindex: 0, role: "button",
        "aria-label": `Corner ${i + 1} of ${name}, x ${metres(x)}, y ${metres(y)}`,
      },
      this.reach(x, y),
      svgElement("rect", { x: x - half, y: y - half, width: 2 * half, height: 2 * half }),
    );
  }

  // What is being drawn: the corners so far, the line to the cursor, and the cursor of the keyboard.
  trace() {
    const { corners, cursor, keyboard } = this.tools;
    const group = svgElement("g", { class: "board-trace" });
    const line = cursor ? [...corners, cursor] : corners;
    if (line.length > 1) group.append(svgElement("polyline", { points: pointsOf(line) }));
    corners.forEach(([cx, cy], i) => {
      group.append(svgElement("circle", { cx, cy, r: (i ? 4 : 7) * this.fine, class: i ? "board-dot" : "board-first" }));
    });
    if (cursor && keyboard) {
      const [[x, y], reach] = [cursor, REACH_PX * this.fine];
      group.append(svgElement("path", { d: `M${x - reach} ${y}H${x + reach}M${x} ${y - reach}V${y + reach}`, class: "board-cursor" }));
    }
    return group;
  }
}
