// Handing in log files: every form[data-upload] (templates/parts/upload.html) sends each file on its own and says what
// became of it. Without this script the form posts all files at once, as forms do.
"use strict";

(() => {
  const AT_ONCE = 2; // more would only share the same line, and each file would finish later

  const megabytes = (bytes) => {
    if (bytes < 1e3) return `${bytes} B`;
    return bytes < 1e6 ? `${Math.round(bytes / 1e3)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
  };

  class Row {
    constructor(form, file) {
      this.form = form;
      this.file = file;
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
    show(look, word, message = "", { url = "", again = false, cancel = false } = {}) {
      this.node.className = `job ${look}`;
      this.find("[data-state]").textContent = word;
      this.find("[data-message]").textContent = message;
      this.find("[data-message]").hidden = !message;
      this.progress.hidden = look !== "running";
      this.find("[data-open]").hidden = !url;
      if (url) this.find("[data-open]").href = url;
      this.find("[data-again]").hidden = !again;
      this.find("[data-cancel]").hidden = !cancel;
      if (look !== "running" && look !== "queued") window.fanlight?.announce(`${this.file.name}: ${word}. ${message}`);
    }
  }

  const explain = (status) => {
    if (status === 0) return "The connection broke. If the file had arrived all the same, sending it again does no harm.";
    if (status === 401 || status === 403) {
      return "Your login has ended or does not allow this. Reload the page and log in.";
    }
    if (status === 413) return "The server refuses files of this size.";
    return `The server could not take this file (answer ${status}). Try again, or tell the person who runs the server.`;
  };

  const answerOf = (request) => {
    try {
      const answer = JSON.parse(request.responseText);
      return answer && typeof answer === "object" ? answer : {};
    } catch {
      return {}; // an error page of a proxy, not ours: the status says what is known
    }
  };

  const localUrl = (url) => (typeof url === "string" && url.startsWith("/") && !url.startsWith("//") ? url : "");

  class Desk {
    constructor(form) {
      this.form = form;
      this.input = form.querySelector('input[type="file"]');
      this.waiting = [];
      this.sending = new Map();
      this.maxBytes = Number(form.dataset.maxBytes) || Infinity;
      this.open();
    }

    open() {
      for (const node of this.form.querySelectorAll("[data-when-live]")) node.hidden = false;
      for (const node of this.form.querySelectorAll("[data-when-plain]")) node.hidden = true;
      this.input.required = false;
      this.input.addEventListener("change", () => {
        this.take(this.input.files);
        this.input.value = "";
      });
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

    take(files) {
      if (!this.form.reportValidity()) return;
      for (const file of files) this.queue(new Row(this.form, file));
      this.pump();
    }

    queue(row) {
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
        row.show("failed", "not sent", `${sizes} Split the download, or ask the person who runs the server.`);
        return;
      }
      row.show("queued", "waiting", "", { cancel: true });
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
      row.show("running", "sending", "", { cancel: true });
      request.send(body);
    }

    finish(row, request) {
      this.sending.delete(row);
      const { status } = request;
      const answer = answerOf(request);
      const url = localUrl(answer.url);
      if (row.cancelled) row.show("failed", "cancelled", "If it had arrived all the same, it is in the list of uploads.", { again: true });
      else if (status >= 200 && status < 300) row.show("done", "accepted", answer.message, { url });
      else if (status === 409) row.show("done", "already held", answer.message, { url });
      else {
        const again = status === 0 || status >= 500;
        row.show("failed", "not accepted", answer.message || explain(status), { url, again });
      }
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
      row.show("failed", "cancelled", "Not sent.", { again: true });
    }
  }

  const desks = [...document.querySelectorAll("form[data-upload]")].map((form) => new Desk(form));

  // A file dropped beside the form would otherwise replace the page.
  for (const name of ["dragover", "drop"]) document.addEventListener(name, (event) => event.preventDefault());
  window.addEventListener("beforeunload", (event) => {
    if (desks.some((desk) => desk.sending.size || desk.waiting.length)) event.preventDefault();
  });
})();
