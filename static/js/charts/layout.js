// How every chart looks: the layout of a figure, dressed for the place it is drawn in. No DOM.
import { colourOf } from "./colour-roles.js";
import { LOCALE } from "./dates.js";

const PAPER_WIDTH = 660; // CSS pixels between the margins of an A4 page
const NARROW = 560; // CSS pixels: a phone
const MOST_TICKS = 4; // on a phone

// The buttons are an allow-list and the server address is empty: the library's own set can send a chart to its maker.
const CONFIG = {
  locale: LOCALE.name, responsive: true, displaylogo: false, displayModeBar: true, plotlyServerURL: "", showSendToCloud: false,
  modeBarButtons: [["zoom2d", "pan2d", "resetScale2d", "toImage"]],
  toImageButtonOptions: { format: "svg", filename: "fanlight-chart" },
};
const OWN_TOOLS = { displayModeBar: false, doubleClick: false }; // buttons of the page do it, in words

export const configured = (hasOwnTools) => ({ ...CONFIG, ...(hasOwnTools ? OWN_TOOLS : {}) });

const axis = (variable) => ({
  gridcolor: variable("rule"), zerolinecolor: variable("rule"), linecolor: variable("ink"), tickcolor: variable("ink"),
  ticks: "outside", ticklen: 4, showline: true, automargin: true, exponentformat: "none",
  title: { standoff: 10, font: { size: 13 } },
});

const houseStyle = (narrow, several, variable) => ({
  font: { family: variable("sans"), size: narrow ? 12 : 13, color: variable("ink") },
  paper_bgcolor: "rgba(0,0,0,0)", plot_bgcolor: "rgba(0,0,0,0)",
  colorway: [1, 2, 3, 4].map((n) => colourOf(`series-${n}`, variable)),
  xaxis: { ...axis(variable), showgrid: false }, yaxis: axis(variable),
  hoverlabel: { bgcolor: variable("sheet"), bordercolor: variable("ink"), font: { color: variable("ink") } },
  legend: { orientation: "h", x: 0, y: 1.02, yanchor: "bottom", xanchor: "left" },
  margin: { l: narrow ? 44 : 60, r: 12, t: several ? 40 : 12, b: 44 },
});

// Names of categories stand above their bars instead of beside them.
const namesAbove = (layout, variable) => {
  for (const [name, part] of Object.entries(layout)) {
    if (!name.startsWith("yaxis") || part.type !== "category" || !part.tickvals) continue;
    part.showticklabels = false;
    layout.annotations = [...(layout.annotations ?? []), ...part.tickvals.map((y, n) => ({
      xref: "paper", x: 0, xanchor: "left", xshift: 3, yref: name.replace("axis", ""), y, yanchor: "bottom", yshift: 3,
      text: part.ticktext[n], showarrow: false, font: { size: 11, color: variable("ink") },
    }))];
  }
};

const fewerTicks = (axisX) => {
  if (axisX.tickmode === "array" && axisX.tickvals.length > MOST_TICKS) {
    const every = Math.ceil(axisX.tickvals.length / MOST_TICKS);
    axisX.tickvals = axisX.tickvals.filter((_, n) => n % every === 0);
    axisX.ticktext = axisX.ticktext.filter((_, n) => n % every === 0);
  } else if (axisX.type === "date") axisX.nticks = MOST_TICKS;
};

// The layout for a phone; changes the one it is given.
export const narrowed = (layout, variable) => {
  namesAbove(layout, variable);
  fewerTicks(layout.xaxis ?? {});
  return layout;
};

// The layout of a recoloured figure. place: {width, height} in CSS pixels, printing, finger (no mouse is there).
export const dressed = ({ data, layout = {} }, place, variable) => {
  const narrow = place.width < NARROW;
  const several = data.length > 1 && layout.showlegend !== false;
  const inPlace = {
    ...(narrow ? narrowed(layout, variable) : layout), template: { layout: houseStyle(narrow, several, variable) },
    autosize: !place.printing, width: place.printing ? PAPER_WIDTH : undefined, height: place.height,
  };
  if (place.finger) inPlace.dragmode = false; // a drag across the chart must still scroll the page
  return inPlace;
};

// A caption in lines for the head of a picture, as the plotting library takes text: with a little markup.
export const captionLines = (text, most) =>
  text
    .split(/\s+/)
    .reduce((lines, word) => {
      const last = lines.at(-1);
      if (last && last.length + word.length < most) lines[lines.length - 1] = `${last} ${word}`;
      else lines.push(word);
      return lines;
    }, [])
    .map((line) => line.replace(/&/g, "&amp;").replace(/</g, "&lt;"));
