// The strip of a timeline: draws the JSON of the page as SVG, and lets the edges of deployments be dragged.
// What is dragged is sent with the same form that works without a script; the page then comes back as it stands.
"use strict";

(() => {
  const SVG = "http://www.w3.org/2000/svg";
  const SNAP_PX = 6, HANDLE_PX = 24, LEFT = 56, RIGHT = 12;
  const ROWS = { trace: [8, 110], bursts: [124, 10], outside: [142, 14], doubtful: [142, 14], bands: [164, 44], proposals: [214, 34] };
  const STEPS = [1e3, 5e3, 1e4, 3e4, 6e4, 3e5];
  const TICKS = [1e3, 5e3, 15e3, 6e4, 3e5, 9e5, 18e5, 36e5, 108e5, 216e5, 432e5, 864e5, 2 * 864e5, 7 * 864e5, 30 * 864e5];

  const make = (name, attributes = {}, text = "") => {
    const node = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
    if (text) node.textContent = text;
    return node;
  };

  const start = () => {
    const source = document.getElementById("timeline-data"), figure = document.getElementById("timeline");
    if (!source || !figure) return;
    const data = JSON.parse(source.textContent);
    const place = figure.querySelector(".timeline-strip"), form = document.getElementById("timeline-move");
    const bar = figure.querySelector(".timeline-pending");
    const stored = (name) => `timeline/${data.id}/${name}`;
    const endOf = (band) => band.end ?? Math.max(data.extent[1], band.start + 36e5);
    const chosen = data.bands.find((band) => band.key === data.chosen);
    let view = remembered() || around(chosen) || [...data.extent];
    let trace = data.trace, pending = null, width = 800, asked = 0;
    figure.hidden = false;

    function remembered() {
      const held = JSON.parse(sessionStorage.getItem(stored("view")) || "null");
      const seen = chosen ? [chosen.start, endOf(chosen)] : data.extent;
      return held && held[0] < seen[1] && held[1] > seen[0] ? held : null;
    }

    function around(band) {
      if (!band) return null;
      const end = endOf(band), margin = Math.max(end - band.start, 6e5);
      return [band.start - margin, end + margin];
    }

    // --- time and place ---

    function offset(ms) {
      let at = 0;
      while (at < data.offsets.at.length && data.offsets.at[at] <= ms) at += 1;
      return data.offsets.ms[at];
    }
    const two = (n) => String(n).padStart(2, "0");
    function clock(ms, parts) {
      const wall = new Date(ms + offset(ms));
      const day = `${wall.getUTCFullYear()}-${two(wall.getUTCMonth() + 1)}-${two(wall.getUTCDate())}`;
      const time = `${two(wall.getUTCHours())}:${two(wall.getUTCMinutes())}`;
      const seconds = wall.getUTCSeconds() ? `:${two(wall.getUTCSeconds())}` : "";
      return parts === "day" ? day : parts === "time" ? time + seconds : `${day} ${time}${seconds}`;
    }
    const x = (ms) => LEFT + ((ms - view[0]) / (view[1] - view[0])) * (width - LEFT - RIGHT);
    const perPixel = () => (view[1] - view[0]) / (width - LEFT - RIGHT);
    const clip = (low, high) => [Math.max(LEFT, x(low)), Math.min(width - RIGHT, x(high))];

    function box(row, low, high, name, least = 1) {
      const [from, to] = clip(low, high);
      if (to < LEFT || from > width - RIGHT || to < from) return null;
      return make("rect", { x: from, y: ROWS[row][0], width: Math.max(least, to - from), height: ROWS[row][1], class: name });
    }
    const titled = (node, words) => { if (node) node.append(make("title", {}, words)); return node; };

    // --- drawing ---

    function draw() {
      width = Math.max(320, place.clientWidth);
      const bottom = data.proposals.length ? 252 : 212;
      const svg = make("svg", { width, height: bottom + 34, role: "group", "aria-label": `${data.parameter} and deployments over time` });
      axis(svg, bottom);
      values(svg);
      for (const [row, spans, words] of [["bursts", data.bursts, "burst"], ["outside", data.outside, "outside every deployment"]]) {
        for (const [low, high, count] of spans) {
          const node = titled(box(row, low, high, `timeline-${row}`, 2), `${clock(low)} to ${clock(high)}: ${count} readings, ${words}`);
          if (node && row === "outside" && data.may) svg.append(linked(`${data.url}&from=${low}&to=${high}#create`, node, `Make a deployment of ${count} readings outside, from ${clock(low)}`));
          else if (node) svg.append(node);
        }
      }
      for (const [low, high, count] of data.doubtful) {
        const node = titled(box("doubtful", low, high, "timeline-doubtful", 3), `${count} readings at a doubtful time`);
        if (node) svg.append(node, make("text", { x: clip(low, high)[0] + 2, y: ROWS.doubtful[0] + 11, class: "timeline-doubt" }, "?"));
      }
      for (const band of data.elsewhere) addBand(svg, "bands", band.start, endOf(band), band.name, "timeline-elsewhere");
      for (const band of data.bands) {
        const name = `timeline-band${band.key === data.chosen ? " is-chosen" : ""}${band.end === null ? " is-open" : ""}`;
        const group = addBand(svg, "bands", band.start, endOf(band), band.name, name);
        if (group && data.may) group.dataset.url = `${data.url}&deployment=${band.key}#chosen`;
      }
      for (const [low, high, name, weak] of data.proposals) addBand(svg, "proposals", low, high, `${name}${weak ? " (weak)" : ""}`, `timeline-proposal${weak ? " is-weak" : ""}`);
      if (data.may) for (const band of data.bands) for (const edge of ["start", "end"]) handle(svg, band, edge);
      place.replaceChildren(svg);
    }

    function linked(url, node, label) {
      const link = make("a", { href: url, "aria-label": label });
      link.append(node);
      return link;
    }

    function addBand(svg, row, low, high, name, style) {
      const node = titled(box(row, low, high, style, 2), `${name}: ${clock(low)} to ${clock(high)}`);
      if (!node) return null;
      const group = make("g", {});
      const [from, to] = clip(low, high);
      group.append(node);
      const letters = Math.floor((to - from - 20) / 7.2);
      if (letters > 2) group.append(make("text", { x: from + 12, y: ROWS[row][0] + ROWS[row][1] / 2 + 5, class: "timeline-name" }, name.length > letters ? `${name.slice(0, letters - 1)}…` : name));
      svg.append(group);
      group.addEventListener("click", () => { if (group.dataset.url) location.assign(group.dataset.url); });
      return group;
    }

    function axis(svg, bottom) {
      const least = 84 * perPixel(), step = TICKS.find((one) => one >= least) || TICKS[TICKS.length - 1];
      svg.append(make("line", { x1: LEFT, x2: width - RIGHT, y1: bottom, y2: bottom, class: "timeline-axis" }));
      let day = "";
      const first = Math.ceil((view[0] + offset(view[0])) / step) * step;
      for (let wall = first; wall - offset(wall) <= view[1]; wall += step) {
        const at = wall - offset(wall - offset(wall)), here = x(at);
        if (here < LEFT || here > width - RIGHT) continue;
        svg.append(make("line", { x1: here, x2: here, y1: ROWS.trace[0], y2: bottom + 4, class: "timeline-tick" }));
        const today = clock(at, "day");
        svg.append(make("text", { x: here, y: bottom + 16, class: "timeline-when" }, step >= 864e5 ? today : clock(at, "time")));
        if (today !== day && step < 864e5) svg.append(make("text", { x: here, y: bottom + 30, class: "timeline-when timeline-day" }, today));
        day = today;
      }
    }

    function values(svg) {
      const rows = trace.filter((row) => row.length && row[0] <= view[1] && row[0] >= view[0] - perPixel() * 4);
      if (!rows.length) return;
      const low = Math.min(0, ...rows.map((row) => row[1])), high = Math.max(...rows.map((row) => row[2]), low + 1e-9);
      const [top, height] = ROWS.trace;
      const y = (value) => top + height - ((value - low) / (high - low)) * (height - 4);
      for (const value of [low, high]) svg.append(make("text", { x: LEFT - 6, y: y(value) + 4, class: "timeline-value" }, String(Number(value.toPrecision(3)))));
      svg.append(make("text", { x: LEFT - 6, y: top + height / 2, class: "timeline-value" }, data.unit));
      const parts = [];
      for (const row of trace) {
        if (!row.length || !parts.length) parts.push([]);
        if (row.length && row[0] >= view[0] && row[0] <= view[1]) parts[parts.length - 1].push(row);
      }
      const width_ = Math.max(1, data.interval / perPixel());
      for (const part of parts.filter((one) => one.length)) {
        const there = part.map((row) => `${x(row[0]).toFixed(1)},${(y(row[2]) - 0.6).toFixed(1)}`);
        const back = part.map((row) => `${x(row[0]).toFixed(1)},${(y(row[1]) + 0.6).toFixed(1)}`).reverse();
        const last = part[part.length - 1], right = Math.min(width - RIGHT, x(last[0]) + width_).toFixed(1);
        svg.append(make("path", { class: "timeline-trace", d: `M${there.join("L")}L${right},${(y(last[2]) - 0.6).toFixed(1)}L${right},${(y(last[1]) + 0.6).toFixed(1)}L${back.join("L")}Z` }));
      }
    }

    // --- edges ---

    const standing = (band, edge) => (edge === "start" ? band.start : endOf(band));

    function bounds(band, edge) {
      const others = [...data.bands, ...data.elsewhere].filter((one) => one.key !== band.key);
      if (edge === "start") return [Math.max(-Infinity, ...others.filter((one) => endOf(one) <= band.start).map(endOf)), endOf(band) - 1e3];
      return [band.start + 1e3, Math.min(Infinity, ...others.filter((one) => one.start >= endOf(band)).map((one) => one.start))];
    }
    const held = (ms, [low, high]) => Math.min(high, Math.max(low, ms));

    function snapped(ms, free) {
      if (!free) {
        const near = data.bursts.flatMap(([low, high]) => [low, high]).map((at) => [Math.abs(at - ms), at]).sort((a, b) => a[0] - b[0])[0];
        if (near && near[0] <= SNAP_PX * perPixel()) return near[1];
      }
      const step = STEPS.filter((one) => one <= Math.max(1e3, perPixel())).pop();
      return Math.round(ms / step) * step;
    }

    function handle(svg, band, edge) {
      const at = standing(band, edge), here = x(at);
      if (here < LEFT - 1 || here > width - RIGHT + 1) return;
      const [top, height] = ROWS.bands;
      const name = `${edge === "start" ? "Start" : "End"} of ${band.name}`;
      const group = make("g", { class: "timeline-edge", role: "slider", tabindex: 0, "aria-label": name, "aria-orientation": "horizontal" });
      group.dataset.edge = `${band.key}/${edge}`;
      group.append(make("rect", { x: -HANDLE_PX / 2, y: top - 4, width: HANDLE_PX, height: height + 8, class: "timeline-grip" }));
      group.append(make("line", { x1: 0, x2: 0, y1: top - 4, y2: top + height + 4, class: "timeline-line" }));
      group.append(make("circle", { cx: 0, cy: top + height / 2, r: 5, class: "timeline-knob" }));
      const told = make("text", { y: top - 8, class: "timeline-told" });
      group.append(told);
      let now = at;
      const show = (ms) => {
        now = held(ms, bounds(band, edge));
        group.setAttribute("transform", `translate(${x(now)} 0)`);
        const [low, high] = bounds(band, edge);
        group.setAttribute("aria-valuemin", Math.max(low, data.extent[0]));
        group.setAttribute("aria-valuemax", Math.min(high, data.extent[1] + 864e5));
        group.setAttribute("aria-valuenow", now);
        group.setAttribute("aria-valuetext", clock(now));
        told.textContent = now === at ? "" : clock(now, "time");
        told.setAttribute("text-anchor", x(now) > width - 80 ? "end" : "start");
        pending = now === at ? null : { band, edge, now, leave: () => show(at) };
        bar.hidden = !pending;
        if (pending) bar.querySelector("span").textContent = `${name}: ${clock(at)} becomes ${clock(now)}.`;
      };
      show(at);
      group.addEventListener("pointerdown", (event) => {
        event.preventDefault();
        group.focus();
        group.setPointerCapture(event.pointerId);
        const grab = event.clientX - x(now);
        const follow = (moved) => show(snapped(view[0] + (moved.clientX - grab - LEFT) * perPixel(), moved.altKey));
        const done = () => {
          group.removeEventListener("pointermove", follow);
          if (pending) keep();
        };
        group.addEventListener("pointermove", follow);
        group.addEventListener("pointerup", done, { once: true });
        group.addEventListener("pointercancel", () => { group.removeEventListener("pointermove", follow); show(at); }, { once: true });
      });
      group.addEventListener("keydown", (event) => {
        const way = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 }[event.key];
        if (way) show(now + way * data.interval * (event.shiftKey ? 10 : 1));
        else if (event.key === "Enter" && pending) keep();
        else if (event.key === "Escape") show(at);
        else return;
        event.preventDefault();
      });
      svg.append(group);
    }

    function keep() {
      const { band, edge, now } = pending, moved = new Date(now).toISOString();
      form.elements.deployment.value = band.key;
      form.elements.seen.value = `${band.starts}|${band.ends}`;
      form.elements.starts_at.value = edge === "start" ? moved : band.starts;
      form.elements.ends_at.value = edge === "end" ? moved : band.ends;
      sessionStorage.setItem(stored("focus"), `${band.key}/${edge}`);
      form.submit();
    }

    // --- what is shown of it ---

    function look(low, high) {
      const span = Math.min(high - low, (data.extent[1] - data.extent[0]) * 1.2), least = Math.max(60 * 1e3, 20 * data.interval);
      const middle = (low + high) / 2, half = Math.max(span, least) / 2;
      view = [Math.round(middle - half), Math.round(middle + half)];
      sessionStorage.setItem(stored("view"), JSON.stringify(view));
      draw();
      clearTimeout(asked);
      asked = setTimeout(detail, 200);
    }

    async function detail() {
      const [low, high] = view;
      const answer = await fetch(`${data.trace_url}&start=${Math.max(0, low)}&end=${high}`, { headers: { Accept: "application/json" } });
      if (!answer.ok || low !== view[0] || high !== view[1] || pending) return;
      trace = (await answer.json()).trace;
      const focused = document.activeElement?.closest?.("[data-edge]")?.dataset.edge;
      draw();
      if (focused) focus(focused);
    }
    const focus = (edge) => place.querySelector(`[data-edge="${edge}"]`)?.focus({ preventScroll: true });

    const ways = {
      in: ([low, high]) => [low + (high - low) / 4, high - (high - low) / 4],
      out: ([low, high]) => [low - (high - low) / 2, high + (high - low) / 2],
      back: ([low, high]) => [low - (high - low) / 2, high - (high - low) / 2],
      on: ([low, high]) => [low + (high - low) / 2, high + (high - low) / 2],
      all: () => data.extent,
    };
    for (const button of figure.querySelectorAll("[data-view]")) button.addEventListener("click", () => look(...ways[button.dataset.view](view)));
    place.addEventListener("wheel", (event) => {
      if (!event.ctrlKey && !event.metaKey) return;
      event.preventDefault();
      const at = view[0] + (event.clientX - place.getBoundingClientRect().left - LEFT) * perPixel(), by = event.deltaY > 0 ? 1.25 : 0.8;
      look(at - (at - view[0]) * by, at + (view[1] - at) * by);
    }, { passive: false });
    bar.querySelector("[data-keep]").addEventListener("click", () => { if (pending) keep(); });
    bar.querySelector("[data-leave]").addEventListener("click", () => pending?.leave());
    new ResizeObserver(() => { if (Math.abs(place.clientWidth - width) > 1 && !pending) draw(); }).observe(place);

    draw();
    if (view[0] !== data.extent[0] || view[1] !== data.extent[1]) detail();
    const last = sessionStorage.getItem(stored("focus"));
    if (last) { sessionStorage.removeItem(stored("focus")); focus(last); }
  };

  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
  else start();
})();
