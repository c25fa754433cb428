// What every page gets: focus on form errors, definitions that close, and a spoken word when a job changes state.
import { announce } from "./announce.js";

document.getElementById("form-errors")?.focus();

const closeTerms = (except) => {
  for (const term of document.querySelectorAll("details.term[open]")) {
    if (term !== except) term.open = false;
  }
};
document.addEventListener("click", (event) => closeTerms(event.target.closest("details.term")));
document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  const open = document.querySelector("details.term[open]");
  closeTerms(null);
  if (open && open.contains(document.activeElement)) open.querySelector("summary").focus();
});

// Rows that poll are replaced every few seconds; only a change of state is worth interrupting a reader for.
const states = new Map();
const noteJobs = () => {
  for (const row of document.querySelectorAll("[data-job]")) {
    const { job, state, spoken } = row.dataset;
    if (states.has(job) && states.get(job) !== state) announce(spoken);
    states.set(job, state);
  }
};
noteJobs();
document.body.addEventListener("htmx:afterSettle", noteJobs);
