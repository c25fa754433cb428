// The drawing: state → SVG, and which part of the floor is seen.
"use strict";

(() => {
  const { geometry } = window.fanlight.plan;
  const SVG = "http://www.w3.org/2000/svg";
  const [NEAREST, FARTHEST] = [2, 400]; // metres across

  const make = (name, attributes = {}, ...children) => {
    const node = document.createElementNS(SVG, name);
    Object.entries(attributes).forEach(([key, value]) => {
      if (value !== null && value !== undefined && value !== false) node.setAttribute(key, value);
    });
    node.append(...children);
    return node;
  };
  const points = (outline) => outline.map(([x, y]) => `${x.toFixed(3)},${y.toFixed(3)}`).join(" ");
  const metres = (value) => value.toFixed(2).replace(/\.?0+$/, "");

  class View {
    // context: what the tools hold (selection, corners drawn so far, cursor), read at each drawing.
    constructor(svg, board, context) {
      Object.assign(this, { svg, board, context });
      this.box = { x: 0, y: 0, width: 20, height: 12 };
      new ResizeObserver(() => this.draw()).observe(svg);
    }

    // Metres per pixel of the image; without a scale the image is taken for 30 m, only to be seen.
    get perPixel() {
      const { scale } = this.board.now;
      const { image } = this.board;
      if (scale) return scale.length_m / geometry.distance([scale.x1, scale.y1], [scale.x2, scale.y2]);
      return image ? 30 / Math.max(image.width_px, image.height_px) : 1;
    }

    toPixels([x, y]) {
      const { origin } = this.board.now;
      return [x / this.perPixel + origin.x_px, y / this.perPixel + origin.y_px];
    }

    toMetres([px, py]) {
      const { origin } = this.board.now;
      return [(px - origin.x_px) * this.perPixel, (py - origin.y_px) * this.perPixel];
    }

    // Metres that one pixel of the screen shows.
    get fine() {
      const rect = this.svg.getBoundingClientRect();
      return Math.max(this.box.width / (rect.width || 1), this.box.height / (rect.height || 1));
    }

    at(event) {
      const matrix = this.svg.getScreenCTM().inverse();
      const found = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
      return [found.x, found.y];
    }

    whole() {
      const { rooms, zones, points: marks } = this.board.now;
      const found = [...rooms, ...zones].flatMap((row) => row.outline || []);
      marks.forEach((mark) => mark.x_m !== null && found.push([mark.x_m, mark.y_m]));
      const { image } = this.board;
      if (image) found.push(this.toMetres([0, 0]), this.toMetres([image.width_px, image.height_px]));
      if (!found.length) found.push([0, 0], [20, 12]);
      const box = geometry.bounds(found);
      const margin = Math.max(box.right - box.x, box.bottom - box.y, 4) * 0.06;
      this.box = {
        x: box.x - margin, y: box.y - margin, width: box.right - box.x + 2 * margin, height: box.bottom - box.y + 2 * margin,
      };
      this.draw();
    }

    zoom(factor, about = [this.box.x + this.box.width / 2, this.box.y + this.box.height / 2]) {
      const width = Math.min(FARTHEST, Math.max(NEAREST, this.box.width * factor));
      const real = width / this.box.width;
      this.box = {
        x: about[0] - (about[0] - this.box.x) * real, y: about[1] - (about[1] - this.box.y) * real,
        width, height: this.box.height * real,
      };
      this.draw();
    }

    pan(dx, dy) {
      this.box.x += dx;
      this.box.y += dy;
      this.frame();
    }

    show([x, y]) {
      const { box } = this;
      if (x < box.x) box.x = x - box.width * 0.1;
      if (x > box.x + box.width) box.x = x - box.width * 0.9;
      if (y < box.y) box.y = y - box.height * 0.1;
      if (y > box.y + box.height) box.y = y - box.height * 0.9;
      this.frame();
    }

    frame() {
      const { x, y, width, height } = this.box;
      this.svg.setAttribute("viewBox", `${x} ${y} ${width} ${height}`);
    }

    draw() {
      const held = this.svg.contains(document.activeElement) ? document.activeElement.dataset.id : null;
      this.frame();
      const { now } = this.board;
      const layers = [
        this.picture(), ...now.zones.map((zone) => this.zone(zone)), ...now.rooms.map((room) => this.room(room)),
        ...now.rooms.map((room) => this.name(room)), ...now.points.map((mark) => this.mark(mark)), ...this.handles(), this.trace(),
      ];
      this.svg.replaceChildren(...layers.filter(Boolean));
      if (!held) return;
      const again = this.svg.querySelector(`[data-id="${CSS.escape(held)}"]`) || this.svg; // what had the focus may be gone
      again.focus({ preventScroll: true });
    }

    picture() {
      const { image } = this.board;
      if (!image) return null;
      const [x, y] = this.toMetres([0, 0]);
      const size = { width: image.width_px * this.perPixel, height: image.height_px * this.perPixel };
      return make("image", { href: image.url, x, y, ...size, preserveAspectRatio: "none", class: "board-picture" });
    }

    zone(zone) {
      return zone.outline && make("polygon", { points: points(zone.outline), class: "board-zone" });
    }

    room(room) {
      if (!room.outline) return null;
      const chosen = this.context.isChosen("rooms", room.id);
      const wrong = geometry.crossesItself(room.outline) ? " wrong" : "";
      const said = `${room.name || "Room without a name"}, ${metres(geometry.area(room.outline))} m²${wrong && ", crosses itself"}`;
      return make("polygon", {
        points: points(room.outline), class: `board-room${chosen ? " chosen" : ""}${wrong}`, "data-id": room.id, "data-list": "rooms",
        tabindex: 0, role: "button", "aria-label": said, "aria-pressed": chosen,
      });
    }

    name(room) {
      if (!room.outline) return null;
      const place = geometry.labelPlace(room.outline);
      const size = Math.min(14 * this.fine, (place.free * 0.9) / (0.58 * Math.max(room.name.length, 4)));
      if (size < 7 * this.fine) return null; // too small to read: the list beside has it
      // Above the middle, where points lie; below it if a wall is in the way there.
      const above = geometry.stretch(room.outline, place.at[1] - size * 1.2);
      const [x, y] = above.free > place.free * 0.95 ? above.at : [place.at[0], place.at[1] + size * 1.2];
      const text = make("text", { x, y, "font-size": size, class: "board-name" });
      text.textContent = room.name;
      return text;
    }

    mark(mark) {
      if (mark.x_m === null) return null;
      const chosen = this.context.isChosen("points", mark.id);
      const r = Math.min(7 * this.fine, Math.max(0.3, 4 * this.fine)) * (chosen ? 1.3 : 1);
      return make(
        "g",
        {
          class: `board-point ${mark.kind}${chosen ? " chosen" : ""}`, "data-id": mark.id, "data-list": "points", tabindex: 0,
          role: "button", "aria-label": `Point ${mark.name}, ${metres(mark.height_m)} m above the floor`, "aria-pressed": chosen,
        },
        make("circle", { cx: mark.x_m, cy: mark.y_m, r: 14 * this.fine, class: "board-reach" }),
        make("circle", { cx: mark.x_m, cy: mark.y_m, r, class: "board-dot" }),
      );
    }

    // Corners of the chosen room; between them smaller marks that become corners.
    handles() {
      const room = this.context.chosenRoom();
      if (!room || !room.outline || this.context.tool !== "choose") return [];
      const corner = ([x, y], i) =>
        make(
          "g",
          {
            class: "board-corner", "data-corner": i, "data-id": `corner-${i}`, tabindex: 0, role: "button",
            "aria-label": `Corner ${i + 1} of ${room.name}, x ${metres(x)}, y ${metres(y)}`,
          },
          make("circle", { cx: x, cy: y, r: 14 * this.fine, class: "board-reach" }),
          make("rect", { x: x - 5 * this.fine, y: y - 5 * this.fine, width: 10 * this.fine, height: 10 * this.fine }),
        );
      const between = geometry.walls(room.outline).map(([[ax, ay], [bx, by]], i) =>
        make("circle", { cx: (ax + bx) / 2, cy: (ay + by) / 2, r: 5 * this.fine, class: "board-between", "data-between": i }),
      );
      return [...between, ...room.outline.map(corner)];
    }

    // What is being drawn: the corners so far, the line to the cursor, and the cursor of the keyboard.
    trace() {
      const { corners, cursor, keyboard } = this.context;
      const group = make("g", { class: "board-trace" });
      const line = cursor ? [...corners, cursor] : corners;
      if (line.length > 1) group.append(make("polyline", { points: points(line) }));
      corners.forEach(([x, y], i) => {
        group.append(make("circle", { cx: x, cy: y, r: (i ? 4 : 7) * this.fine, class: i ? "board-dot" : "board-first" }));
      });
      if (cursor && keyboard) {
        const [[x, y], reach] = [cursor, 14 * this.fine];
        group.append(make("path", { d: `M${x - reach} ${y}H${x + reach}M${x} ${y - reach}V${y + reach}`, class: "board-cursor" }));
      }
      return group;
    }
  }

  Object.assign(window.fanlight.plan, { View, metres });
})();
