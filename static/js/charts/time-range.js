// Any part of a chart's time axis in more detail: figure[data-range] holds the address that knows the readings of a part.
// A drag across the chart, or a button, asks for it at the width of the drawing; what came before stays until it is there.
import { announce } from "../announce.js";
import { allowedRange, draggedRange, isoTime, isWhole, parsedTime, rangeAfter, shortTime } from "./axis-time.js";
import { showPart, wholeFigure } from "./drawing.js";

const WAIT = 150; // ms: somebody who drags on asks once

class TimeRange {
  constructor(figure) {
    this.figure = figure;
    this.home = wholeFigure(figure);
    const axis = this.home.layout.xaxis;
    this.breaks = (axis.rangebreaks ?? []).map(({ bounds }) => bounds.map(parsedTime));
    this.whole = axis.range.map(parsedTime);
    this.shown = [...this.whole];
    this.request = null;
    const plot = figure.querySelector(".chart-plot");
    plot.on("plotly_relayout", (changes) => this.dragged(changes));
    plot.on("plotly_doubleclick", () => this.showWhole());
  }

  dragged(changes) {
    const range = draggedRange(changes);
    if (range === "whole") this.showWhole();
    else if (range) this.ask(range);
  }

  step(name) {
    if (name === "whole") this.showWhole();
    else this.ask(rangeAfter(name, this.shown, this.whole, this.breaks));
  }

  ask(wished) {
    const range = allowedRange(wished, this.whole);
    this.stop();
    if (isWhole(range, this.whole)) {
      this.showWhole();
      return;
    }
    this.shown = range;
    this.setBusy(true);
    this.say("Loading this part …", false);
    this.timer = setTimeout(() => this.fetchPart(range), WAIT);
  }

  stop() {
    clearTimeout(this.timer);
    this.request?.abort();
    this.request = null;
  }

  address(range) {
    const url = new URL(this.figure.dataset.range, window.location.href);
    url.searchParams.set("from", isoTime(range[0]));
    url.searchParams.set("to", isoTime(range[1]));
    url.searchParams.set("width", String(Math.round(this.figure.querySelector(".chart-plot").clientWidth)));
    return url;
  }

  async fetchPart(range) {
    this.request = new AbortController();
    const { signal } = this.request;
    try {
      const answer = await fetch(this.address(range), { signal, headers: { Accept: "application/json" } });
      if (!answer.ok) throw new Error(`the server answered ${answer.status}`);
      const part = await answer.json();
      if (!signal.aborted) await this.received(range, part);
    } catch (error) {
      if (error.name === "AbortError") return; // a later wish has taken its place
      this.say(`This part could not be loaded (${error.message}). Try again, or choose “Whole time”.`);
    }
    if (!signal.aborted) this.setBusy(false);
  }

  received(range, answer) {
    const part = answer.figure ?? structuredClone(this.home);
    part.layout.xaxis.range = range.map((at) => isoTime(at).replace("T", " "));
    part.layout.xaxis.rangebreaks = this.home.layout.xaxis.rangebreaks;
    this.homeNumbers ??= this.figure.querySelector("[data-numbers]")?.innerHTML;
    this.showNumbers(answer.numbers);
    this.linkCsv(range);
    this.say(`${shortTime(range[0])} to ${shortTime(range[1])}. ${answer.said}`);
    return showPart(this.figure, part);
  }

  showWhole() {
    this.stop();
    this.setBusy(false);
    this.shown = [...this.whole];
    if (this.homeNumbers !== undefined) this.showNumbers(this.homeNumbers);
    this.linkCsv(null);
    this.say("The whole time is shown.");
    return showPart(this.figure, null);
  }

  showNumbers(html) {
    const place = this.figure.querySelector("[data-numbers]");
    if (place) place.innerHTML = html;
  }

  linkCsv(range) {
    const link = this.figure.querySelector("[data-csv]");
    const url = new URL(link.href);
    for (const [n, name] of ["from", "to"].entries()) {
      if (range) url.searchParams.set(name, isoTime(range[n]));
      else url.searchParams.delete(name);
    }
    link.href = url.href;
  }

  say(text, aloud = true) {
    this.figure.querySelector("[data-state]").textContent = text;
    if (aloud) announce(text);
  }

  setBusy(yes) {
    if (yes) this.figure.setAttribute("aria-busy", "true");
    else this.figure.removeAttribute("aria-busy");
  }
}

const ranges = new WeakMap();
document.body.addEventListener("chart:drawn", ({ target }) => {
  if (target.dataset.range && !ranges.has(target)) ranges.set(target, new TimeRange(target));
});
document.body.addEventListener("click", ({ target }) => {
  const button = target.closest("[data-step]");
  if (button) ranges.get(button.closest("figure")).step(button.dataset.step);
});
