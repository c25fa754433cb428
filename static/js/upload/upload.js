// Handing in log files: every form[data-upload] (templates/parts/upload.html) sends each file on its own and says what
// became of it. Without this script the form posts all files at once, as forms do.
import { repeated } from "./words.js";
import { UploadQueue } from "./upload-queue.js";

const queues = [...document.querySelectorAll("form[data-upload]")].map((form) => new UploadQueue(form));

// The row of an archive comes with those of its logs when it is unpacked; some may be in the list already.
document.body.addEventListener("htmx:afterSwap", () => {
  const rows = [...document.querySelectorAll("[data-job]")];
  for (const index of repeated(rows.map((row) => row.dataset.job))) rows[index].remove();
});

// A file dropped beside the form would otherwise replace the page.
for (const name of ["dragover", "drop"]) document.addEventListener(name, (event) => event.preventDefault());
window.addEventListener("beforeunload", (event) => {
  if (queues.some((queue) => queue.isBusy)) event.preventDefault();
});
