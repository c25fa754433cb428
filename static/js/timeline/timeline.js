// The strip of a timeline: draws the JSON of the page as SVG, and lets the edges of deployments be moved.
// What is moved is sent with the same form that works without a script; the page then comes back as it stands.
import { svgElement } from "../elements.js";
import { EdgeHandle } from "./edge-handle.js";
import { boundsOf, endOf, timeOf } from "./edges.js";
import { TimeScale } from "./scale.js";
import { bottomOf, ROWS, stripOf } from "./strip.js";
import { allowedView, around, VIEWS, zoomedAbout } from "./view-range.js";

const NARROWEST = 320; // pixels
const ASK_AFTER = 200; // ms: somebody who goes on looking closer asks once

class Timeline {
  constructor(figure, data) {
    Object.assign(this, { figure, data, trace: data.trace, pending: null, width: 0 });
    this.place = figure.querySelector(".timeline-strip");
    this.bar = figure.querySelector(".timeline-pending");
    this.form = document.getElementById("timeline-move");
    const chosen = data.bands.find((band) => band.key === data.chosen);
    this.view = this.firstView(chosen && [chosen.start, endOf(chosen, data.extent)]);
    figure.hidden = false;
    this.listen();
  }

  // --- what is kept while the page comes again ---

  keyOf(name) {
    return `timeline/${this.data.id}/${name}`;
  }

  // What was looked at before, if what is chosen is to be seen in it.
  firstView(chosen) {
    const held = JSON.parse(sessionStorage.getItem(this.keyOf("view")) || "null");
    const [from, to] = chosen ?? this.data.extent;
    if (held && held[0] < to && held[1] > from) return held;
    return chosen ? around(...chosen) : [...this.data.extent];
  }

  takeFocus() {
    const edge = sessionStorage.getItem(this.keyOf("focus"));
    if (!edge) return;
    sessionStorage.removeItem(this.keyOf("focus"));
    this.focus(edge);
  }

  focus(edge) {
    this.place.querySelector(`[data-edge="${edge}"]`)?.focus({ preventScroll: true });
  }

  // --- what is shown ---

  open() {
    const { view, data } = this;
    this.draw();
    if (view[0] !== data.extent[0] || view[1] !== data.extent[1]) this.fetchDetail();
    this.takeFocus();
  }

  draw() {
    const { data } = this;
    this.width = Math.max(NARROWEST, this.place.clientWidth);
    this.scale = new TimeScale(this.view, this.width);
    const svg = svgElement(
      "svg",
      {
        width: this.width, height: bottomOf(data) + 34, role: "group",
        "aria-label": `${data.parameter} and deployments over time`,
      },
      ...stripOf(data, this.scale, this.trace),
      ...(data.may ? data.bands.flatMap((band) => ["start", "end"].flatMap((edge) => this.handle(band, edge))) : []),
    );
    this.place.replaceChildren(svg);
  }

  handle(band, edge) {
    const { data, scale } = this;
    const time = timeOf(band, edge, data.extent);
    if (!scale.shows(scale.x(time), 1)) return [];
    const name = `${edge === "start" ? "Start" : "End"} of ${band.name}`;
    const bounds = boundsOf(band, edge, [...data.bands, ...data.elsewhere], data.extent);
    return [new EdgeHandle({ id: `${band.key}/${edge}`, band, edge, name, time, bounds }, ROWS.bands, this).node];
  }

  look(wished) {
    this.view = allowedView(wished, this.data.extent, this.data.interval);
    sessionStorage.setItem(this.keyOf("view"), JSON.stringify(this.view));
    this.draw();
    clearTimeout(this.asked);
    this.asked = setTimeout(() => this.fetchDetail(), ASK_AFTER);
  }

  async fetchDetail() {
    const { view } = this;
    const url = `${this.data.trace_url}&start=${Math.max(0, view[0])}&end=${view[1]}`;
    const answer = await fetch(url, { headers: { Accept: "application/json" } });
    if (!answer.ok || view !== this.view || this.pending) return;
    this.trace = (await answer.json()).trace;
    const focused = document.activeElement?.closest?.("[data-edge]")?.dataset.edge;
    this.draw();
    if (focused) this.focus(focused);
  }

  // --- an edge that was moved and is not saved ---

  // The handle that waits for saving, or none.
  pend(handle) {
    this.pending = handle;
    this.bar.hidden = !handle;
    if (handle) this.bar.querySelector("span").textContent = handle.said;
  }

  keep() {
    if (!this.pending) return;
    const { now, edge: { id, band, edge } } = this.pending;
    const moved = new Date(now).toISOString();
    const { elements } = this.form;
    elements.deployment.value = band.key;
    elements.seen.value = `${band.starts}|${band.ends}`;
    elements.starts_at.value = edge === "start" ? moved : band.starts;
    elements.ends_at.value = edge === "end" ? moved : band.ends;
    sessionStorage.setItem(this.keyOf("focus"), id);
    this.form.submit();
  }

  // --- hands ---

  listen() {
    for (const button of this.figure.querySelectorAll("[data-view]")) {
      button.addEventListener("click", () => this.look(VIEWS[button.dataset.view](this.view, this.data.extent)));
    }
    this.place.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    this.bar.querySelector("[data-keep]").addEventListener("click", () => this.keep());
    this.bar.querySelector("[data-leave]").addEventListener("click", () => this.pending?.leave());
    new ResizeObserver(() => {
      if (Math.abs(this.place.clientWidth - this.width) > 1 && !this.pending) this.draw();
    }).observe(this.place);
  }

  // The wheel turns the page; with Ctrl it comes closer to what is under the mouse.
  wheel(event) {
    if (!event.ctrlKey && !event.metaKey) return;
    event.preventDefault();
    const at = this.scale.timeAt(event.clientX - this.place.getBoundingClientRect().left);
    this.look(zoomedAbout(at, this.view, event.deltaY > 0 ? 1.25 : 0.8));
  }
}

const source = document.getElementById("timeline-data");
const figure = document.getElementById("timeline");
if (source && figure) new Timeline(figure, JSON.parse(source.textContent)).open();
