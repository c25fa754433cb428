// plotly.js, fetched when the first chart comes near: it is large, and served from its installed package.
import { LOCALE } from "./dates.js";

// The library writes style elements, which the content policy forbids; it leaves them out when it finds these.
// Its few needed rules are in the stylesheet.
const STYLES = ["plotly.js-style-global", "9f215cf04c5486422605d13261cb87401f4e7763b6296af81e98efbc0130da53"];

const standIn = (id) => {
  const node = document.createElement("meta");
  node.id = id;
  node.className = "no-inline-styles";
  document.head.append(node);
};

// It is no module and puts itself on the window. Its address stands in templates/parts/chart_scripts.html.
const fetched = () =>
  new Promise((resolve, reject) => {
    STYLES.forEach(standIn);
    const script = document.createElement("script");
    script.src = document.querySelector("script[data-plotly]").dataset.plotly;
    script.onload = () => {
      window.Plotly.register(LOCALE);
      resolve();
    };
    script.onerror = () => reject(new Error("the plotting library did not load"));
    document.head.append(script);
  });

let library = null;

// Fulfilled when window.Plotly is there; the same promise for all who ask.
export const plottingLibrary = () => (library ??= fetched());
