// Mouse, touch, wheel and keys on the drawing.
"use strict";

(() => {
  const { geometry, copy } = window.fanlight.plan;
  const STILL_PX = 6; // a hand that moved less has clicked
  const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  const stepOf = (event) => (event.shiftKey ? 1 : event.altKey ? 0.01 : 0.1);

  class Hands {
    constructor(view, tools, refresh) {
      Object.assign(this, { view, tools, refresh, down: new Map(), grip: null });
      const { svg } = view;
      svg.addEventListener("pointerdown", (event) => this.press(event));
      svg.addEventListener("pointermove", (event) => this.move(event));
      svg.addEventListener("pointerup", (event) => this.lift(event));
      svg.addEventListener("pointercancel", (event) => this.lift(event, true));
      svg.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
      svg.addEventListener("keydown", (event) => this.key(event));
    }

    get board() {
      return this.tools.board;
    }

    press(event) {
      if (event.button > 0) return;
      this.view.svg.setPointerCapture(event.pointerId);
      this.view.svg.focus({ preventScroll: true });
      this.down.set(event.pointerId, [event.clientX, event.clientY]);
      if (this.down.size > 1) {
        this.drop(true);
        this.pinch = this.spread();
        return;
      }
      const target = event.target.closest("[data-corner], [data-between], [data-list]");
      this.grip = {
        start: [event.clientX, event.clientY], from: this.view.at(event), moved: false, target: target ? { ...target.dataset } : null,
        before: copy(this.board.now), pan: true,
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

    move(event) {
      if (this.down.has(event.pointerId)) this.down.set(event.pointerId, [event.clientX, event.clientY]);
      if (this.down.size > 1) return this.pinched();
      const { grip } = this;
      if (!grip) return this.hover(event);
      if (!grip.moved && geometry.distance(grip.start, [event.clientX, event.clientY]) < STILL_PX) return undefined;
      grip.moved = true;
      const at = this.view.at(event);
      if (grip.pan) return this.view.pan(grip.from[0] - at[0], grip.from[1] - at[1]);
      this.drag(grip, at);
      return this.view.draw();
    }

    drag(grip, at) {
      const { tools } = this;
      if (grip.point) {
        const mark = this.board.find("points", grip.point);
        tools.choose("points", grip.point);
        [mark.x_m, mark.y_m] = geometry.rounded(at);
        return;
      }
      const room = tools.chosenRoom();
      if (grip.whole) {
        const [dx, dy] = [at[0] - grip.from[0], at[1] - grip.from[1]];
        room.outline = grip.whole.map(([x, y]) => geometry.rounded([x + dx, y + dy]));
        return;
      }
      if (grip.insert !== undefined) {
        room.outline.splice(grip.insert, 0, at);
        grip.corner = grip.insert;
        delete grip.insert;
      }
      room.outline[grip.corner] = tools.aim(at, this.view.fine, room.id);
    }

    hover(event) {
      if (this.tools.tool === "choose" || event.pointerType === "touch") return;
      this.tools.cursor = this.tools.aim(this.view.at(event), this.view.fine);
      this.tools.keyboard = false;
      this.view.draw();
    }

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
      if (this.tools.tool === "choose") this.pick(grip.target);
      else {
        this.tools.keyboard = false;
        this.tools.press(this.tools.aim(grip.from, this.view.fine), this.view);
      }
      this.refresh();
    }

    pick(target) {
      if (target?.corner !== undefined) this.view.svg.querySelector(`[data-corner="${target.corner}"]`)?.focus();
      else if (target?.list) this.tools.choose(target.list, target.id);
      else if (target?.between === undefined) this.tools.choose(null);
    }

    dropped(grip) {
      // A room that was only dragged comes to rest on its neighbours' corners.
      if (grip.whole && this.tools.catching) this.settle(this.tools.chosenRoom());
      const name = grip.point ? `point ${this.board.find("points", grip.point).name}` : grip.whole ? this.tools.chosenRoom().name : "corner";
      this.board.dragged(`${name} moved`, grip.before);
    }

    settle(room) {
      const others = this.board.now.rooms.filter((other) => other.outline && other.id !== room.id).map((other) => other.outline);
      const reach = 12 * this.view.fine;
      const shifts = room.outline
        .map((corner) => [corner, geometry.snap(corner, others, reach)])
        .filter(([, caught]) => caught)
        .map(([corner, caught]) => [caught[0] - corner[0], caught[1] - corner[1]]);
      if (!shifts.length) return;
      const [dx, dy] = shifts.sort((a, b) => Math.hypot(...a) - Math.hypot(...b))[0];
      room.outline = room.outline.map(([x, y]) => geometry.rounded([x + dx, y + dy]));
    }

    // A second finger came down: what the first was dragging goes back.
    drop(undo) {
      if (undo && this.grip && !this.grip.pan) this.board.now = this.grip.before;
      this.grip = null;
    }

    spread() {
      const [a, b] = [...this.down.values()];
      return { apart: geometry.distance(a, b), middle: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] };
    }

    pinched() {
      const now = this.spread();
      const about = this.view.at({ clientX: now.middle[0], clientY: now.middle[1] });
      this.view.zoom(this.pinch.apart / (now.apart || 1), about);
      const fine = this.view.fine;
      this.view.pan((this.pinch.middle[0] - now.middle[0]) * fine, (this.pinch.middle[1] - now.middle[1]) * fine);
      this.pinch = now;
    }

    // The wheel turns the page until the drawing is in hand: it has the focus or Ctrl is held.
    wheel(event) {
      if (!event.ctrlKey && !this.view.svg.contains(document.activeElement)) return;
      event.preventDefault();
      this.view.zoom(Math.exp(Math.sign(event.deltaY) * 0.2), this.view.at(event));
    }

    key(event) {
      if (event.ctrlKey || event.metaKey) return;
      const done = event.key in ARROWS ? this.arrow(event) : this.word(event);
      if (done) {
        event.preventDefault();
        this.refresh();
      }
    }

    arrow(event) {
      const [dx, dy] = ARROWS[event.key].map((value) => value * stepOf(event));
      const { corner, list, id } = event.target.dataset;
      const { tools, view } = this;
      if (tools.tool !== "choose") {
        const middle = [view.box.x + view.box.width / 2, view.box.y + view.box.height / 2];
        const [x, y] = tools.cursor || geometry.rounded(middle).map((value) => Math.round(value * 10) / 10);
        tools.cursor = geometry.rounded([x + dx, y + dy]);
        tools.keyboard = true;
        view.show(tools.cursor);
        window.fanlight.announce(tools.cursor.map((value) => value.toFixed(2)).join(", "));
      } else if (corner !== undefined) tools.nudge(dx, dy, Number(corner));
      else if (list && tools.isChosen(list, id)) tools.nudge(dx, dy);
      else view.pan((dx / stepOf(event)) * view.box.width * 0.1, (dy / stepOf(event)) * view.box.height * 0.1);
      return true;
    }

    word(event) {
      const { tools, view } = this;
      const { corner, list, id } = event.target.dataset;
      const keys = {
        Escape: () => (tools.corners.length ? (tools.corners = []) : tools.use("choose")),
        Backspace: () => tools.back(),
        "+": () => view.zoom(0.8),
        "-": () => view.zoom(1.25),
        0: () => view.whole(),
        Delete: () => (corner !== undefined ? tools.removeCorner(Number(corner)) : tools.isChosen(list, id) && tools.remove()),
        Enter: () => this.enter(list, id),
        " ": () => this.set(list, id),
      };
      const act = keys[event.key];
      if (act) act();
      return Boolean(act);
    }

    enter(list, id) {
      if (this.tools.tool === "draw" && this.tools.corners.length > 2) this.tools.close();
      else this.set(list, id);
    }

    set(list, id) {
      if (this.tools.tool === "choose") this.tools.choose(list || null, id);
      else if (this.tools.cursor) this.tools.press(this.tools.cursor, this.view);
      else window.fanlight.announce("Move the cross with the arrow keys first");
    }
  }

  window.fanlight.plan.Hands = Hands;
})();
