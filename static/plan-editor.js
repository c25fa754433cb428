// The plan page: puts board, drawing, tools, hands, panel and saving together. Without this script the page shows the
// drawing as it is and links to forms.
"use strict";

(() => {
  const { Board, Hands, Keeping, Panel, Tools, View } = window.fanlight.plan;
  const place = document.querySelector("[data-plan-board]");
  if (!place) return;

  const board = new Board(JSON.parse(document.getElementById("plan-state").textContent));
  const svg = place.querySelector("svg[data-drawing]");
  const dialog = place.querySelector("[data-part=length]");
  let ends = null;

  const tools = new Tools(board, {
    say: (text) => {
      place.querySelector("[data-said]").textContent = text;
      window.fanlight.announce(text);
    },
    split: (outline, first, second) => keeping.ask(place.dataset.split, { outline, first, second }),
    length: (first, second) => {
      ends = [first, second];
      dialog.hidden = false;
      dialog.querySelector("[data-field=along]").checked = Boolean(board.now.scale);
      dialog.querySelector("[data-field=length_m]").focus();
    },
    done: () => refresh(),
  });
  const view = new View(svg, board, tools);
  const refresh = () => {
    view.draw();
    panel.draw();
    keeping.draw();
    place.querySelectorAll("[data-tool]").forEach((button) => button.setAttribute("aria-pressed", String(button.dataset.tool === tools.tool)));
    place.querySelector("[data-hint]").textContent = tools.hint;
    place.querySelector("[data-do=undo]").disabled = !board.past.length;
    place.querySelector("[data-do=redo]").disabled = !board.future.length;
    place.querySelector("[data-do=finish]").hidden = tools.tool !== "draw" || tools.corners.length < 3;
    place.querySelector("[data-do=cancel]").hidden = tools.tool === "choose";
    const scale = place.querySelector("[data-tool=scale]");
    scale.hidden = !board.image;
    dialog.hidden = dialog.hidden || tools.tool !== "scale";
    svg.classList.toggle("drawing", tools.tool !== "choose");
  };
  const panel = new Panel(place, board, tools, view, refresh);
  const keeping = new Keeping(place, board, tools, refresh);
  new Hands(view, tools, refresh);

  const step = (name) => {
    if (board[name]() && !tools.chosenRow()) tools.choose(null);
    refresh();
  };
  const deeds = {
    undo: () => step("undo"),
    redo: () => step("redo"),
    closer: () => view.zoom(0.7),
    farther: () => view.zoom(1.4),
    whole: () => view.whole(),
    finish: () => tools.close(),
    cancel: () => tools.use("choose"),
  };
  place.addEventListener("click", (event) => {
    const button = event.target.closest("[data-do], [data-tool]");
    if (!button) return;
    if (button.dataset.tool) {
      tools.use(button.dataset.tool);
      if (button.dataset.tool !== "choose") panel.toDrawing();
    } else deeds[button.dataset.do]();
    refresh();
  });
  place.querySelectorAll("[data-option]").forEach((box) => {
    box.addEventListener("change", () => { tools[box.dataset.option] = box.checked; });
  });
  dialog.addEventListener("submit", (event) => {
    event.preventDefault();
    const typed = Number(dialog.querySelector("[data-field=length_m]").value.trim().replace(",", "."));
    if (!(typed > 0)) return tools.ask.say("Type the length between the two places in metres, above zero.");
    dialog.hidden = true;
    tools.applyScale(...ends, typed, dialog.querySelector("[data-field=along]").checked, view);
    return view.whole();
  });
  document.addEventListener("keydown", (event) => {
    if (!event.ctrlKey && !event.metaKey) return;
    const key = event.key.toLowerCase();
    const typing = event.target.matches("input:not([type=checkbox]), textarea, select");
    if (key === "s") keeping.save();
    else if (key === "z" && !typing) step(event.shiftKey ? "redo" : "undo");
    else if (key === "y" && !typing) step("redo");
    else return;
    event.preventDefault();
  });

  board.onChange((text) => {
    place.querySelector("[data-said]").textContent = text;
    window.fanlight.announce(text);
    refresh();
  });
  document.querySelectorAll("[data-when-plain]").forEach((node) => { node.hidden = true; });
  place.hidden = false;
  view.whole();
  refresh();
})();
