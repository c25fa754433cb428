// The floor plan that is worked on: as the server gave it, as it is drawn, and the steps back and forth. No DOM.
import { changesBetween, copy, countOf, rebased, same, stateOf, withKeys } from "./changes.js";

const MOST_STEPS = 200;
let counter = 0;

export class PlanState {
  // loaded: the JSON of campaigns/services/floor_plans/state.py.
  constructor(loaded) {
    this.listeners = [];
    this.adopt(loaded);
  }

  // Start from what the server holds; nothing to undo.
  adopt(loaded) {
    this.version = loaded.version;
    this.image = loaded.image;
    this.doubts = loaded.doubts || [];
    this.base = stateOf(loaded);
    this.now = stateOf(loaded);
    this.past = [];
    this.future = [];
  }

  onChange(listener) {
    this.listeners.push(listener);
  }

  tell(text) {
    this.listeners.forEach((listener) => listener(text));
  }

  freshId() {
    counter += 1;
    return `new-${counter}`;
  }

  find(list, id) {
    return this.now[list].find((row) => row.id === id) || null;
  }

  // Outlines of drawn rooms, without that of the room named.
  outlines(except = null) {
    return this.now.rooms.filter((room) => room.outline && room.id !== except).map((room) => room.outline);
  }

  // One step that can be undone. `join`: steps with the same word in a row are one, as when an arrow key repeats.
  change(text, mutate, join = "") {
    const before = copy(this.now);
    mutate(this.now);
    if (same(before, this.now)) return false;
    if (!join || join !== this.joined || !this.past.length) this.past.push({ state: before, text });
    if (this.past.length > MOST_STEPS) this.past.shift();
    this.joined = join;
    this.future = [];
    this.tell(text);
    return true;
  }

  // While something is dragged the state moves without steps; `dragged` makes one step of it all.
  dragged(text, before) {
    if (same(before, this.now)) return;
    this.past.push({ state: before, text });
    this.joined = "";
    this.future = [];
    this.tell(text);
  }

  step(from, to, word) {
    const step = from.pop();
    if (!step) return false;
    to.push({ state: this.now, text: step.text });
    this.now = step.state;
    this.joined = "";
    this.tell(`${word}: ${step.text}`);
    return true;
  }

  undo() {
    return this.step(this.past, this.future, "Undone");
  }

  redo() {
    return this.step(this.future, this.past, "Done again");
  }

  changes() {
    return { version: this.version, ...changesBetween(this.base, this.now) };
  }

  get count() {
    return countOf(this.changes());
  }

  // It is saved: new rows have keys now, in the steps back as well. given: {key here: key there}.
  saved(loaded, given) {
    const { past, future } = this;
    this.adopt(loaded);
    this.past = past.map(({ state, text }) => ({ state: withKeys(state, given), text }));
    this.future = future.map(({ state, text }) => ({ state: withKeys(state, given), text }));
  }

  // Somebody else has saved: take theirs and put what was changed here on top. Returns names changed by both.
  rebase(loaded) {
    const { now, both } = rebased(this.base, this.now, stateOf(loaded));
    this.adopt(loaded);
    this.now = now;
    this.tell("The other changes are on the drawing now, and yours on top of them");
    return both;
  }
}
