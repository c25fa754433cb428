// The page of a floor plan: puts the plan, its drawing, tools, panel and saving together. Without this script the page
// shows the drawing as it is and links to forms.
import { announce } from "../announce.js";
import { Drawing } from "./drawing.js";
import { Keyboard } from "./keyboard.js";
import { Panel } from "./panel.js";
import { PlanState } from "./plan-state.js";
import { Pointer } from "./pointer.js";
import { Saving } from "./saving.js";
import { ScaleDialog } from "./scale-dialog.js";
import { Tools } from "./tools.js";

const isTyping = (node) => node.matches("input:not([type=checkbox]), textarea, select");

class Editor {
  constructor(place) {
    this.place = place;
    const refresh = () => this.refresh();
    this.plan = new PlanState(JSON.parse(document.getElementById("plan-state").textContent));
    this.tools = new Tools(this.plan, {
      say: (text) => this.say(text),
      split: (outline, first, second) => this.saving.ask(place.dataset.split, { outline, first, second }),
      length: (first, second) => this.scale.open(first, second),
      done: refresh,
    });
    this.drawing = new Drawing(place.querySelector("svg[data-drawing]"), this.plan, this.tools);
    this.panel = new Panel(place, this.plan, this.tools, this.drawing, refresh);
    this.saving = new Saving(place, this.plan, this.tools, refresh);
    this.scale = new ScaleDialog(place, this.plan, this.tools, () => this.drawing.showWhole());
    new Pointer(this.drawing, this.tools, refresh);
    new Keyboard(this.drawing, this.tools, refresh);
    this.listen();
  }

  listen() {
    this.place.addEventListener("click", (event) => {
      const button = event.target.closest("[data-do], [data-tool]");
      if (button) this.press(button.dataset);
    });
    this.place.querySelectorAll("[data-option]").forEach((box) => {
      box.addEventListener("change", () => { this.tools[box.dataset.option] = box.checked; });
    });
    document.addEventListener("keydown", (event) => this.shortcut(event));
    this.plan.onChange((text) => {
      this.say(text);
      this.refresh();
    });
  }

  open() {
    document.querySelectorAll("[data-when-plain]").forEach((node) => { node.hidden = true; });
    this.place.hidden = false;
    this.drawing.showWhole();
    this.refresh();
  }

  say(text) {
    this.place.querySelector("[data-said]").textContent = text;
    announce(text);
  }

  refresh() {
    this.drawing.draw();
    this.panel.draw();
    this.saving.draw();
    this.scale.draw();
    this.drawBar();
  }

  drawBar() {
    const { place, plan, tools } = this;
    const does = (name) => place.querySelector(`[data-do=${name}]`);
    place.querySelectorAll("[data-tool]").forEach((button) => {
      button.setAttribute("aria-pressed", String(button.dataset.tool === tools.tool));
    });
    place.querySelector("[data-hint]").textContent = tools.hint;
    does("undo").disabled = !plan.past.length;
    does("redo").disabled = !plan.future.length;
    does("finish").hidden = tools.tool !== "draw" || tools.corners.length < 3;
    does("cancel").hidden = tools.tool === "choose";
    place.querySelector("[data-tool=scale]").hidden = !plan.image;
    this.drawing.svg.classList.toggle("drawing", tools.tool !== "choose");
  }

  // What the buttons with data-do do.
  get deeds() {
    return {
      undo: () => this.step("undo"),
      redo: () => this.step("redo"),
      closer: () => this.drawing.zoom(0.7),
      farther: () => this.drawing.zoom(1.4),
      whole: () => this.drawing.showWhole(),
      finish: () => this.tools.close(),
      cancel: () => this.tools.use("choose"),
    };
  }

  press({ tool, do: deed }) {
    if (tool) {
      this.tools.use(tool);
      if (tool !== "choose") this.panel.toDrawing();
    } else this.deeds[deed]();
    this.refresh();
  }

  step(name) {
    if (this.plan[name]() && !this.tools.chosenRow()) this.tools.choose(null);
    this.refresh();
  }

  shortcut(event) {
    if (!event.ctrlKey && !event.metaKey) return;
    const key = event.key.toLowerCase();
    if (key === "s") this.saving.save();
    else if (isTyping(event.target)) return;
    else if (key === "z") this.step(event.shiftKey ? "redo" : "undo");
    else if (key === "y") this.step("redo");
    else return;
    event.preventDefault();
  }
}

const place = document.querySelector("[data-plan-board]");
if (place) new Editor(place).open();
