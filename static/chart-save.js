// Buttons with data-save="png" or "svg" save the chart of their figure as it is shown, on paper instead of nothing, with
// its caption above it so that it still says what it is when it lies in another document.
"use strict";

(() => {
  const WIDTH = 1200;
  const LINE = 130; // characters of a caption on one line
  const scales = { png: 2, svg: 1 };

  const wrapped = (text) =>
    text
      .split(/\s+/)
      .reduce((lines, word) => {
        const last = lines.at(-1);
        if (last && last.length + word.length < LINE) lines[lines.length - 1] = `${last} ${word}`;
        else lines.push(word);
        return lines;
      }, [])
      .map((line) => line.replace(/&/g, "&amp;").replace(/</g, "&lt;"));

  const save = async (figure, format) => {
    const plot = figure.querySelector(".chart-plot");
    const { variable } = window.fanlight.charts;
    const title = wrapped(figure.querySelector("figcaption").textContent.trim());
    const layout = {
      ...plot.layout,
      autosize: false,
      paper_bgcolor: variable("paper"),
      title: { text: title.join("<br>"), x: 0.01, xanchor: "left", y: 0.985, yanchor: "top", font: { size: 13 } },
      margin: { l: 70, r: 20, t: 30 + 18 * title.length + (plot.layout.showlegend ? 30 : 0), b: 50 },
    };
    await window.Plotly.downloadImage(
      { data: plot.data, layout, config: { locale: "en-GB" } },
      {
        format, width: WIDTH, height: Math.max(520, plot.clientHeight + 60), scale: scales[format],
        filename: figure.dataset.file || "chart",
      },
    );
    window.fanlight.announce(`The chart was saved as ${format.toUpperCase()}.`);
  };

  document.body.addEventListener("click", ({ target }) => {
    const button = target.closest("[data-save]");
    if (!button) return;
    save(button.closest("figure"), button.dataset.save).catch((error) => {
      window.fanlight.announce(`The chart could not be saved (${error.message}).`);
    });
  });
  document.body.addEventListener("chart:drawn", ({ target }) => {
    const tools = target.querySelector(".chart-tools");
    if (tools) tools.hidden = false;
  });
})();
