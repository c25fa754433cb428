// The files of one form: some wait, a few are being sent, each with a request of its own.
import { FileRow } from "./file-row.js";
import { megabytes, outcome, parsedAnswer } from "./words.js";

const AT_ONCE = 2; // more would only share the same line, and each file would finish later

export class UploadQueue {
  constructor(form) {
    this.form = form;
    this.input = form.querySelector('input[type="file"]');
    this.waiting = [];
    this.sending = new Map();
    this.maxBytes = Number(form.dataset.maxBytes) || Infinity;
    this.open();
  }

  get isBusy() {
    return this.sending.size > 0 || this.waiting.length > 0;
  }

  open() {
    for (const node of this.form.querySelectorAll("[data-when-live]")) node.hidden = false;
    for (const node of this.form.querySelectorAll("[data-when-plain]")) node.hidden = true;
    this.input.required = false;
    this.input.addEventListener("change", () => this.takeChosen());
    if (this.input.files.length) this.takeChosen(); // chosen before this script had come
    this.form.addEventListener("submit", (event) => event.preventDefault());
    this.form.addEventListener("dragover", (event) => {
      event.preventDefault();
      this.form.classList.add("is-over");
    });
    for (const name of ["dragleave", "drop"]) {
      this.form.addEventListener(name, () => this.form.classList.remove("is-over"));
    }
    this.form.addEventListener("drop", (event) => {
      event.preventDefault();
      this.take(event.dataTransfer.files);
    });
  }

  takeChosen() {
    this.take(this.input.files);
    this.input.value = "";
  }

  take(files) {
    if (!this.form.reportValidity()) return;
    for (const file of files) this.add(new FileRow(this.form, file));
    this.pump();
  }

  add(row) {
    row.find("[data-cancel]").onclick = () => this.cancel(row);
    row.find("[data-again]").onclick = () => {
      this.enter(row);
      this.pump();
    };
    this.enter(row);
  }

  enter(row) {
    if (row.file.size > this.maxBytes) {
      const most = this.form.dataset.maxWords || megabytes(this.maxBytes);
      const sizes = `This file has ${megabytes(row.file.size)}; the server takes up to ${most}.`;
      const message = `${sizes} Split the download, or ask the person who runs the server.`;
      row.show({ look: "failed", word: "not sent", message });
      return;
    }
    row.show({ look: "queued", word: "waiting", cancel: true });
    this.waiting.push(row);
  }

  pump() {
    while (this.sending.size < AT_ONCE && this.waiting.length) this.send(this.waiting.shift());
  }

  send(row) {
    const body = new FormData(this.form);
    body.delete(this.input.name);
    body.append(this.input.name, row.file, row.file.name);
    const request = new XMLHttpRequest();
    this.sending.set(row, request);
    request.open("POST", this.form.action);
    request.setRequestHeader("Accept", "application/json");
    request.setRequestHeader("X-CSRFToken", body.get("csrfmiddlewaretoken") || "");
    request.upload.onprogress = ({ lengthComputable, loaded, total }) => {
      if (lengthComputable) row.progress.value = loaded / total;
    };
    request.upload.onload = () => {
      row.find("[data-state]").textContent = "checking";
      row.progress.removeAttribute("value");
    };
    request.onloadend = () => this.finish(row, request);
    row.progress.value = 0;
    row.show({ look: "running", word: "sending", cancel: true });
    request.send(body);
  }

  finish(row, request) {
    this.sending.delete(row);
    const ended = outcome(request.status, parsedAnswer(request.responseText), row.cancelled);
    row.show(ended);
    if (ended.row) row.follow(ended.row);
    row.cancelled = false;
    this.pump();
  }

  cancel(row) {
    const request = this.sending.get(row);
    if (request) {
      row.cancelled = true;
      request.abort();
      return;
    }
    this.waiting = this.waiting.filter((other) => other !== row);
    row.show({ look: "failed", word: "cancelled", message: "Not sent.", again: true });
  }
}
