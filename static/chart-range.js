// Any part of a chart's time axis in more detail: figure[data-range] holds the address that knows the readings of a part.
// A drag across the chart, or a button, asks for it at the width of the drawing; what came before stays until it is there.
"use strict";

(() => {
  const WAIT = 150; // ms: somebody who drags on asks once
  const LEAST = 60_000; // ms of time on the axis
  const states = new WeakMap();

  const ms = (text) => Date.parse(`${text.length === 10 ? `${text} 00:00` : text}`.replace(" ", "T") + "Z");
  const iso = (at) => new Date(at).toISOString().slice(0, -1);
  const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
  const clock = (at) => `${new Date(at).getUTCDate()} ${MONTHS[new Date(at).getUTCMonth()]} ${iso(at).slice(11, 16)}`;

  // Stretches left out of the axis take no room on it: steps are taken in what is drawn.
  const shrink = (at, breaks) => breaks.reduce((less, [from, to]) => less - Math.max(0, Math.min(at, to) - from), at);
  const stretch = (at, breaks, isEnd) =>
    breaks.reduce((more, [from, to]) => (isEnd ? more > from : more >= from) ? more + (to - from) : more, at);

  const begin = (figure) => {
    const home = window.fanlight.charts.whole(figure);
    const axis = home.layout.xaxis;
    const state = {
      home,
      breaks: (axis.rangebreaks ?? []).map(({ bounds }) => bounds.map(ms)),
      reach: axis.range.map(ms),
      shown: axis.range.map(ms),
    };
    states.set(figure, state);
    return state;
  };

  const say = (figure, text, aloud = true) => {
    figure.querySelector("[data-state]").textContent = text;
    if (aloud) window.fanlight.announce(text);
  };

  const busy = (figure, yes) => {
    if (yes) figure.setAttribute("aria-busy", "true");
    else figure.removeAttribute("aria-busy");
  };

  const mark = (figure, range) => {
    const link = figure.querySelector("[data-csv]");
    const url = new URL(link.href);
    for (const [n, name] of ["from", "to"].entries()) {
      if (range) url.searchParams.set(name, iso(range[n]));
      else url.searchParams.delete(name);
    }
    link.href = url.href;
  };

  const stop = (state) => {
    clearTimeout(state.timer);
    state.request?.abort();
    state.request = null;
  };

  const numbers = (figure, html) => {
    const place = figure.querySelector("[data-numbers]");
    if (place) place.innerHTML = html;
  };

  const wholeTime = (figure) => {
    const state = states.get(figure);
    stop(state);
    busy(figure, false);
    state.shown = [...state.reach];
    if (state.numbers !== undefined) numbers(figure, state.numbers);
    mark(figure, null);
    say(figure, "The whole time is shown.");
    return window.fanlight.charts.show(figure, null);
  };

  const received = (figure, range, answer) => {
    const state = states.get(figure);
    const part = answer.figure ?? structuredClone(state.home);
    part.layout.xaxis.range = range.map((at) => iso(at).replace("T", " "));
    part.layout.xaxis.rangebreaks = state.home.layout.xaxis.rangebreaks;
    state.numbers ??= figure.querySelector("[data-numbers]")?.innerHTML;
    numbers(figure, answer.numbers);
    mark(figure, range);
    say(figure, `${clock(range[0])} to ${clock(range[1])}. ${answer.said}`);
    return window.fanlight.charts.show(figure, part);
  };

  const fetchPart = async (figure, range) => {
    const state = states.get(figure);
    state.request = new AbortController();
    const { signal } = state.request;
    const url = new URL(figure.dataset.range, window.location.href);
    url.searchParams.set("from", iso(range[0]));
    url.searchParams.set("to", iso(range[1]));
    url.searchParams.set("width", String(Math.round(figure.querySelector(".chart-plot").clientWidth)));
    try {
      const answer = await fetch(url, { signal, headers: { Accept: "application/json" } });
      if (!answer.ok) throw new Error(`the server answered ${answer.status}`);
      const told = await answer.json();
      if (!signal.aborted) await received(figure, range, told);
    } catch (error) {
      if (error.name === "AbortError") return; // a later wish has taken its place
      say(figure, `This part could not be loaded (${error.message}). Try again, or choose “Whole time”.`);
    }
    if (!signal.aborted) busy(figure, false);
  };

  const ask = (figure, from, to) => {
    const state = states.get(figure);
    const range = [Math.max(from, state.reach[0]), Math.min(to, state.reach[1])];
    if (range[1] - range[0] < LEAST) {
      const middle = (range[0] + range[1]) / 2;
      range.splice(0, 2, middle - LEAST / 2, middle + LEAST / 2);
    }
    stop(state);
    if (range[0] <= state.reach[0] && range[1] >= state.reach[1]) {
      wholeTime(figure);
      return;
    }
    state.shown = range;
    busy(figure, true);
    say(figure, "Loading this part …", false);
    state.timer = setTimeout(() => fetchPart(figure, range), WAIT);
  };

  const STEPS = {
    earlier: (from, to) => [from - (to - from) / 2, to - (to - from) / 2],
    later: (from, to) => [from + (to - from) / 2, to + (to - from) / 2],
    closer: (from, to) => [from + (to - from) / 4, to - (to - from) / 4],
    wider: (from, to) => [from - (to - from) / 2, to + (to - from) / 2],
  };

  const step = (figure, name) => {
    if (name === "whole") {
      wholeTime(figure);
      return;
    }
    const { shown, breaks, reach } = states.get(figure);
    const [low, high] = reach.map((at) => shrink(at, breaks));
    let [from, to] = STEPS[name](...shown.map((at) => shrink(at, breaks)));
    if (to - from >= high - low) [from, to] = [low, high];
    else if (from < low) [from, to] = [low, low + to - from];
    else if (to > high) [from, to] = [high - (to - from), high];
    ask(figure, stretch(from, breaks, false), stretch(to, breaks, true));
  };

  const dragged = (figure, changes) => {
    const from = changes["xaxis.range[0]"] ?? changes["xaxis.range"]?.[0];
    const to = changes["xaxis.range[1]"] ?? changes["xaxis.range"]?.[1];
    if (from !== undefined && to !== undefined) ask(figure, ms(String(from)), ms(String(to)));
    else if (changes["xaxis.autorange"]) wholeTime(figure);
  };

  document.body.addEventListener("chart:drawn", ({ target }) => {
    if (!target.dataset.range || states.has(target)) return;
    begin(target);
    const plot = target.querySelector(".chart-plot");
    plot.on("plotly_relayout", (changes) => dragged(target, changes));
    plot.on("plotly_doubleclick", () => wholeTime(target));
  });
  document.body.addEventListener("click", ({ target }) => {
    const button = target.closest("[data-step]");
    if (button) step(button.closest("figure"), button.dataset.step);
  });
})();
