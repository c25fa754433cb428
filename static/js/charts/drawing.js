// One figure[data-chart] (templates/parts/chart.html) and its drawing: JSON of a plotly figure made in Python.
import { recoloured } from "./colour-roles.js";
import { configured, dressed } from "./layout.js";
import { plottingLibrary } from "./plotting-library.js";

const parts = new WeakMap(); // figure → the part of it that is shown instead of the whole (time-range.js)
const drawn = new Set();
let printing = false;

// The value of a custom property of the stylesheet.
export const variable = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();

// The figure as the server made it.
export const wholeFigure = (figure) => JSON.parse(document.getElementById(figure.dataset.chart).textContent);

// At once, because paper does not wait: the library is there when the first drawing was made.
const draw = (figure) => {
  const plot = figure.querySelector(".chart-plot");
  const content = recoloured(parts.get(figure) ?? wholeFigure(figure), variable);
  const finger = matchMedia("(pointer: coarse)").matches;
  const place = { width: plot.clientWidth, height: plot.clientHeight, printing, finger };
  const layout = dressed(content, place, variable);
  plot.querySelector(".chart-wait")?.remove();
  return window.Plotly.react(plot, content.data, layout, configured(Boolean(figure.querySelector(".chart-tools"))));
};

// Draws a figure for the first time, and says so with the event chart:drawn, which bubbles.
export const drawFirst = async (figure) => {
  try {
    await plottingLibrary();
    await draw(figure);
    drawn.add(figure);
    figure.dispatchEvent(new CustomEvent("chart:drawn", { bubbles: true }));
  } catch (error) {
    const place = figure.querySelector(".chart-plot");
    place.textContent = `This chart could not be drawn (${error.message}). The numbers are in the table.`;
  }
};

// Shows a part instead of the whole, or the whole again when there is none.
export const showPart = (figure, part) => {
  if (part) parts.set(figure, part);
  else parts.delete(figure);
  return draw(figure);
};

export const redrawAll = () => drawn.forEach((figure) => (figure.isConnected ? draw(figure) : drawn.delete(figure)));

export const drawForPaper = (yes) => {
  printing = yes;
  document.documentElement.classList.toggle("on-paper", yes);
  redrawAll();
};
