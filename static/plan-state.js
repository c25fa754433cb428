// What is on the drawing board: the state as the server gave it, the state as drawn, and the way back.
"use strict";

(() => {
  const LISTS = ["zones", "rooms", "points"];
  const DEEPEST = 200;
  const copy = (value) => JSON.parse(JSON.stringify(value));
  const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);
  const kept = ({ scale, origin, zones, rooms, points }) => copy({ scale, origin, zones, rooms, points });
  const byId = (rows) => new Map(rows.map((row) => [row.id, row]));
  let counter = 0;

  class Board {
    constructor(state) {
      this.listeners = [];
      this.adopt(state);
    }

    // Start from what the server holds; nothing to undo.
    adopt(state) {
      this.version = state.version;
      this.image = state.image;
      this.doubts = state.doubts || [];
      this.base = kept(state);
      this.now = kept(state);
      this.past = [];
      this.future = [];
    }

    onChange(listener) {
      this.listeners.push(listener);
    }

    told(text) {
      this.listeners.forEach((listener) => listener(text));
    }

    freshId() {
      counter += 1;
      return `new-${counter}`;
    }

    find(list, id) {
      return this.now[list].find((row) => row.id === id) || null;
    }

    // One step that can be undone. `join`: steps with the same word in a row are one, as when an arrow key repeats.
    change(text, mutate, join = "") {
      const before = copy(this.now);
      mutate(this.now);
      if (same(before, this.now)) return false;
      if (!join || join !== this.joined || !this.past.length) this.past.push({ state: before, text });
      if (this.past.length > DEEPEST) this.past.shift();
      this.joined = join;
      this.future = [];
      this.told(text);
      return true;
    }

    // While something is dragged the state moves without steps; `dragged` makes one step of it all.
    dragged(text, before) {
      if (same(before, this.now)) return;
      this.past.push({ state: before, text });
      this.joined = "";
      this.future = [];
      this.told(text);
    }

    step(from, to, word) {
      const step = from.pop();
      if (!step) return false;
      to.push({ state: this.now, text: step.text });
      this.now = step.state;
      this.joined = "";
      this.told(`${word}: ${step.text}`);
      return true;
    }

    undo() {
      return this.step(this.past, this.future, "Undone");
    }

    redo() {
      return this.step(this.future, this.past, "Done again");
    }

    // What the server must be told, in the words of campaigns/services/floor_plans/saving.py.
    changes() {
      const found = { version: this.version, removed: {} };
      if (!same(this.base.scale, this.now.scale)) found.scale = this.now.scale;
      if (!same(this.base.origin, this.now.origin)) found.origin = this.now.origin;
      LISTS.forEach((list) => {
        const held = byId(this.base[list]);
        found[list] = this.now[list].map((row) => this.changesOf(row, held.get(row.id))).filter(Boolean);
        const here = byId(this.now[list]);
        found.removed[list] = this.base[list].map((row) => row.id).filter((id) => !here.has(id));
      });
      return found;
    }

    changesOf(row, before) {
      if (!before) return { ...row, new: true };
      const fields = Object.keys(row).filter((name) => !same(row[name], before[name]));
      return fields.length ? { id: row.id, ...Object.fromEntries(fields.map((name) => [name, row[name]])) } : null;
    }

    get count() {
      const found = this.changes();
      const plan = ("scale" in found ? 1 : 0) + ("origin" in found ? 1 : 0);
      return LISTS.reduce((sum, list) => sum + found[list].length + found.removed[list].length, plan);
    }

    // It is saved: new rows have keys now, in the steps back as well.
    saved(state, given) {
      const renamed = (value) => JSON.parse(JSON.stringify(value, (_, v) => (typeof v === "string" && given[v]) || v));
      const { past, future } = this;
      this.adopt(state);
      this.past = past.map(({ state: step, text }) => ({ state: renamed(step), text }));
      this.future = future.map(({ state: step, text }) => ({ state: renamed(step), text }));
    }

    // Somebody else has saved: take theirs and put what was changed here on top. Returns names changed by both.
    rebase(state) {
      const mine = this.changes();
      const old = Object.fromEntries(LISTS.map((list) => [list, byId(this.base[list])]));
      const drawn = Object.fromEntries(LISTS.map((list) => [list, byId(this.now[list])]));
      const { scale, origin } = this.now;
      this.adopt(state);
      if ("scale" in mine) this.now.scale = scale;
      if ("origin" in mine) this.now.origin = origin;
      const both = [];
      LISTS.forEach((list) => {
        mine[list].forEach(({ new: _, ...fields }) => {
          const theirs = this.find(list, fields.id);
          if (!theirs) {
            this.now[list].push(copy(drawn[list].get(fields.id))); // new here, or deleted there while changed here
          } else {
            const was = old[list].get(fields.id) || {};
            const clash = Object.keys(fields).some((name) => name !== "id" && !same(theirs[name], was[name]));
            if (clash) both.push(theirs.name);
            Object.assign(theirs, copy(fields));
          }
        });
        this.now[list] = this.now[list].filter((row) => !mine.removed[list].includes(row.id));
      });
      this.told("The other changes are on the drawing now, and yours on top of them");
      return both;
    }
  }

  window.fanlight.plan.Board = Board;
  window.fanlight.plan.copy = copy;
})();
