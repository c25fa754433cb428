// One file that is handed in: its line in the list, made from the form's template (templates/parts/upload.html).
import { announce } from "../announce.js";
import { megabytes } from "./words.js";

const ASK_AGAIN = "3s"; // where the first answer did not come

export class FileRow {
  constructor(form, file) {
    this.form = form;
    this.file = file;
    this.cancelled = false;
    this.node = form.querySelector("[data-file-row]").content.firstElementChild.cloneNode(true);
    this.find("[data-name]").textContent = `${file.name} (${megabytes(file.size)})`;
    for (const control of this.node.querySelectorAll("a, button")) {
      control.setAttribute("aria-label", `${control.textContent}: ${file.name}`);
    }
    this.progress.setAttribute("aria-label", `Progress of ${file.name}`);
    form.querySelector("[data-files]").append(this.node);
  }

  find(selector) {
    return this.node.querySelector(selector);
  }

  get progress() {
    return this.find("progress");
  }

  // look: the row's class, as in parts/job.html. Only ends are announced: progress would drown everything else.
  show({ look, word, message = "", url = "", again = false, cancel = false }) {
    this.node.className = `job ${look}`;
    this.find("[data-state]").textContent = word;
    this.find("[data-message]").textContent = message;
    this.find("[data-message]").hidden = !message;
    this.progress.hidden = look !== "running";
    this.find("[data-open]").hidden = !url;
    if (url) this.find("[data-open]").href = url;
    this.find("[data-again]").hidden = !again;
    this.find("[data-cancel]").hidden = !cancel;
    if (look !== "running" && look !== "queued") announce(`${this.file.name}: ${word}. ${message}`);
  }

  // What was stored has a row of its own on the server (templates/parts/job.html), which asks by itself how far it is.
  follow(url) {
    for (const node of document.querySelectorAll("[data-none-held]")) node.remove();
    const asks = { "hx-get": url, "hx-trigger": `load, every ${ASK_AGAIN}`, "hx-swap": "outerHTML" };
    for (const [name, value] of Object.entries(asks)) this.node.setAttribute(name, value);
    window.htmx.process(this.node);
  }
}
