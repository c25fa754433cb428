// Buttons with data-save="png" or "svg" save the chart of their figure as it is shown, on paper instead of nothing, with
// its caption above it so that it still says what it is when it lies in another document.
import { announce } from "../announce.js";
import { LOCALE } from "./dates.js";
import { variable } from "./drawing.js";
import { captionLines } from "./layout.js";

const WIDTH = 1200;
const LINE = 130; // characters of a caption on one line
const SCALES = { png: 2, svg: 1 };

const save = async (figure, format) => {
  const plot = figure.querySelector(".chart-plot");
  const title = captionLines(figure.querySelector("figcaption").textContent.trim(), LINE);
  const layout = {
    ...plot.layout,
    autosize: false,
    paper_bgcolor: variable("paper"),
    title: { text: title.join("<br>"), x: 0.01, xanchor: "left", y: 0.985, yanchor: "top", font: { size: 13 } },
    margin: { l: 70, r: 20, t: 30 + 18 * title.length + (plot.layout.showlegend ? 30 : 0), b: 50 },
  };
  await window.Plotly.downloadImage(
    { data: plot.data, layout, config: { locale: LOCALE.name } },
    {
      format, width: WIDTH, height: Math.max(520, plot.clientHeight + 60), scale: SCALES[format],
      filename: figure.dataset.file || "chart",
    },
  );
  announce(`The chart was saved as ${format.toUpperCase()}.`);
};

document.body.addEventListener("click", ({ target }) => {
  const button = target.closest("[data-save]");
  if (!button) return;
  save(button.closest("figure"), button.dataset.save).catch((error) => {
    announce(`The chart could not be saved (${error.message}).`);
  });
});
document.body.addEventListener("chart:drawn", ({ target }) => {
  const tools = target.querySelector(".chart-tools");
  if (tools) tools.hidden = false;
});
