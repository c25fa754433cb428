// Draws every figure[data-chart] (templates/parts/chart.html) from its JSON: a plotly figure made in Python whose colours
// are roles, so that one figure serves light, dark and print. Roles, with an optional opacity ("accent/0.2"):
//   ink, faint, rule, paper, sheet, accent      as in the stylesheet
//   limit                                       lines of limits (ink; dash them)
//   band                                        deployment bands and other areas behind the data
//   series-1 … series-4                         several series: told apart by dash or marker too, never by tint alone
//   f0 … f10, over                              the scale "fraction of the limit"
"use strict";

(() => {
  const PLOTLY = document.currentScript.dataset.plotly;
  const ROLES = new Map(Object.entries({
    limit: "ink", band: "rule", "series-1": "accent", "series-2": "ink", "series-3": "f6", "series-4": "faint",
  }));
  for (const name of ["ink", "faint", "rule", "paper", "sheet", "accent", "over"]) ROLES.set(name, name);
  for (let step = 0; step <= 10; step += 1) ROLES.set(`f${step}`, `f${step}`);

  const PAPER_WIDTH = 660; // CSS pixels between the margins of an A4 page
  let printing = false;

  const variable = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();

  const colour = (word) => {
    const [role, opacity] = word.split("/");
    if (!ROLES.has(role)) return word;
    const hex = variable(ROLES.get(role));
    return opacity ? hex + Math.round(Number(opacity) * 255).toString(16).padStart(2, "0") : hex;
  };

  // Roles are looked for only under keys that hold colours: a trace named "ink" keeps its name.
  const recolour = (value, isColour = false) => {
    if (typeof value === "string") return isColour ? colour(value) : value;
    if (Array.isArray(value)) return value.map((item) => recolour(item, isColour));
    if (value === null || typeof value !== "object") return value;
    return Object.fromEntries(
      Object.entries(value).map(([key, item]) => [key, recolour(item, /color(scale|way)?$/i.test(key))]),
    );
  };

  const axis = () => ({
    gridcolor: variable("rule"), zerolinecolor: variable("rule"), linecolor: variable("ink"), tickcolor: variable("ink"),
    ticks: "outside", ticklen: 4, showline: true, automargin: true, title: { standoff: 10, font: { size: 13 } },
  });

  const house = (narrow, several) => ({
    font: { family: variable("sans"), size: narrow ? 12 : 13, color: variable("ink") },
    paper_bgcolor: "rgba(0,0,0,0)", plot_bgcolor: "rgba(0,0,0,0)",
    colorway: [1, 2, 3, 4].map((n) => colour(`series-${n}`)),
    xaxis: { ...axis(), showgrid: false }, yaxis: axis(),
    hoverlabel: { bgcolor: variable("sheet"), bordercolor: variable("ink"), font: { color: variable("ink") } },
    legend: { orientation: "h", x: 0, y: 1.02, yanchor: "bottom", xanchor: "left" },
    margin: { l: narrow ? 44 : 60, r: 12, t: several ? 40 : 12, b: 44 },
  });

  const MONTHS = [
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
  ];
  const DAYS = ["Sunday", "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday"];
  const short = (words) => words.map((word) => word.slice(0, 3));
  const DATES = {
    moduleType: "locale", name: "en-GB", dictionary: {},
    format: {
      days: DAYS, shortDays: short(DAYS), months: MONTHS, shortMonths: short(MONTHS),
      date: "%-d %B %Y", year: "%Y", month: "%b %Y", dayMonth: "%-d %b", dayMonthYear: "%-d %b %Y",
    },
  };

  // On a phone the names of points go above their bars, and times have fewer ticks.
  const narrowed = (layout) => {
    for (const [name, part] of Object.entries(layout)) {
      if (!name.startsWith("yaxis") || part.type !== "category" || !part.tickvals) continue;
      part.showticklabels = false;
      layout.annotations = [...(layout.annotations ?? []), ...part.tickvals.map((y, n) => ({
        xref: "paper", x: 0, xanchor: "left", xshift: 3, yref: name.replace("axis", ""), y, yanchor: "bottom", yshift: 3,
        text: part.ticktext[n], showarrow: false, font: { size: 11, color: variable("ink") },
      }))];
    }
    const axis = layout.xaxis ?? {};
    if (axis.tickmode === "array" && axis.tickvals.length > 4) {
      const every = Math.ceil(axis.tickvals.length / 4);
      axis.tickvals = axis.tickvals.filter((_, n) => n % every === 0);
      axis.ticktext = axis.ticktext.filter((_, n) => n % every === 0);
    } else if (axis.type === "date") axis.nticks = 4;
    return layout;
  };

  // The buttons are an allow-list and the server address is empty: the library's own set can send a chart to its maker.
  const CONFIG = {
    locale: DATES.name, responsive: true, displaylogo: false, displayModeBar: true, plotlyServerURL: "", showSendToCloud: false,
    modeBarButtons: [["zoom2d", "pan2d", "resetScale2d", "toImage"]],
    toImageButtonOptions: { format: "svg", filename: "fanlight-chart" },
  };
  const OWN_TOOLS = { displayModeBar: false, doubleClick: false }; // buttons of the page do it, in words

  // A figure as the server made it, or the part of it that is shown instead (chart-range.js).
  const parts = new WeakMap();
  const whole = (figure) => JSON.parse(document.getElementById(figure.dataset.chart).textContent);

  const draw = (figure) => {
    const plot = figure.querySelector(".chart-plot");
    const { data, layout = {} } = recolour(parts.get(figure) ?? whole(figure));
    const narrow = plot.clientWidth < 560;
    const finger = matchMedia("(pointer: coarse)").matches;
    const dressed = {
      ...(narrow ? narrowed(layout) : layout), template: { layout: house(narrow, data.length > 1 && layout.showlegend !== false) },
      autosize: !printing, width: printing ? PAPER_WIDTH : undefined, height: plot.clientHeight,
    };
    if (finger) dressed.dragmode = false; // a drag across the chart must still scroll the page
    plot.querySelector(".chart-wait")?.remove();
    const own = figure.querySelector(".chart-tools") ? OWN_TOOLS : {};
    return window.Plotly.react(plot, data, dressed, { ...CONFIG, ...own });
  };

  // The library writes style elements, which the content policy forbids; it leaves them out when it finds these.
  // Its few needed rules are in the stylesheet.
  const standIn = (id) => {
    const node = document.createElement("meta");
    node.id = id;
    node.className = "no-inline-styles";
    document.head.append(node);
  };

  let library = null;
  const load = () => {
    library ??= new Promise((resolve, reject) => {
      standIn("plotly.js-style-global");
      standIn("9f215cf04c5486422605d13261cb87401f4e7763b6296af81e98efbc0130da53");
      const script = document.createElement("script");
      script.src = PLOTLY;
      script.onload = () => {
        window.Plotly.register(DATES);
        resolve();
      };
      script.onerror = () => reject(new Error("the plotting library did not load"));
      document.head.append(script);
    });
    return library;
  };

  const drawn = new Set();
  const show = (figure) =>
    load()
      .then(() => draw(figure))
      .then(() => {
        drawn.add(figure);
        figure.dispatchEvent(new CustomEvent("chart:drawn", { bubbles: true }));
      })
      .catch((error) => {
        const place = figure.querySelector(".chart-plot");
        place.textContent = `This chart could not be drawn (${error.message}). The numbers are in the table.`;
      });

  const near = new IntersectionObserver(
    (entries) => {
      for (const { isIntersecting, target } of entries) {
        if (!isIntersecting) continue;
        near.unobserve(target);
        show(target);
      }
    },
    { rootMargin: "400px" },
  );
  const watch = (root) => root.querySelectorAll("figure[data-chart]:not([data-watched])").forEach((figure) => {
    figure.dataset.watched = "";
    near.observe(figure);
  });
  watch(document);
  document.body.addEventListener("htmx:afterSettle", (event) => watch(event.target));

  window.fanlight.charts = {
    whole,
    variable,
    show: (figure, part) => {
      if (part) parts.set(figure, part);
      else parts.delete(figure);
      return draw(figure);
    },
  };

  const redraw = () => drawn.forEach((figure) => (figure.isConnected ? draw(figure) : drawn.delete(figure)));
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
  const onPaper = (yes) => {
    printing = yes;
    document.documentElement.classList.toggle("on-paper", yes);
    redraw();
  };
  window.addEventListener("beforeprint", () => onPaper(true));
  window.addEventListener("afterprint", () => onPaper(false));
})();
