// Saving: all changes at once, said plainly, and never over what somebody else has saved.
import { announce } from "../announce.js";
import { element } from "../elements.js";
import { LISTS } from "./changes.js";

const OFFLINE = "The server cannot be reached. Your changes are still here; save again when the connection is back.";
const LOGGED_OUT = "Your login has ended. Log in in another tab, then save again.";
const GONE = "This floor is no longer there, or you may no longer change it.";
const MIXED = "Their work is on the drawing now, with yours on top. Look it over, then save.";

export class Saving {
  constructor(place, plan, tools, refresh) {
    Object.assign(this, { place, plan, tools, refresh, busy: false });
    this.button = place.querySelector("[data-save-button]");
    this.word = place.querySelector("[data-saved]");
    this.trouble = place.querySelector("[data-trouble]");
    this.button.addEventListener("click", () => this.save());
    window.addEventListener("beforeunload", (event) => {
      if (this.plan.count) event.preventDefault();
    });
  }

  draw() {
    const { count } = this.plan;
    this.button.disabled = this.busy || !count;
    this.word.textContent = this.stateIn(count);
    this.word.classList.toggle("unsaved", Boolean(count));
  }

  stateIn(count) {
    if (this.busy) return "Saving…";
    return count ? `${count} ${count === 1 ? "change" : "changes"} not saved` : "All saved";
  }

  // Posts JSON. Returns {status, message} or what the server answers; status 0 when it cannot be reached.
  async ask(url, content) {
    const token = this.place.querySelector("[name=csrfmiddlewaretoken]").value;
    try {
      const answer = await fetch(url, {
        method: "POST", body: JSON.stringify(content), headers: { "Content-Type": "application/json", "X-CSRFToken": token },
      });
      if (answer.redirected || answer.status === 403) return { status: 403, message: LOGGED_OUT };
      if (answer.status === 404) return { status: 404, message: GONE };
      return { status: answer.status, ...(await answer.json()) };
    } catch {
      return { status: 0, message: OFFLINE };
    }
  }

  async save() {
    if (this.busy || !this.plan.count) return;
    this.busy = true;
    this.draw();
    const answer = await this.ask(this.place.dataset.save, this.plan.changes());
    this.busy = false;
    if (answer.status === 200) this.kept(answer);
    else if (answer.status === 409) this.outdated(answer);
    else this.tell(answer.message || OFFLINE, (answer.problems || []).map((problem) => this.named(problem)));
    this.refresh();
  }

  kept({ state, given }) {
    const { chosen, lastZone } = this.tools;
    if (chosen) chosen.id = given[chosen.id] || chosen.id;
    if (lastZone) this.tools.lastZone = given[lastZone] || lastZone;
    this.plan.saved(state, given);
    this.tell("");
    announce("Saved");
  }

  outdated({ message, state }) {
    const both = this.plan.rebase(state);
    if (!this.tools.chosenRow()) this.tools.choose(null);
    this.tell(`${message} ${MIXED}`, both.map((name) => `${name} was changed by both of you; yours is shown.`));
  }

  named({ id, message }) {
    const row = LISTS.map((list) => this.plan.find(list, id)).find(Boolean);
    return row ? `${row.name || "Without a name"}: ${message}` : message;
  }

  tell(text, details = []) {
    this.trouble.hidden = !text;
    this.trouble.querySelector("p").textContent = text;
    this.trouble.querySelector("ul").replaceChildren(...details.map((detail) => element("li", {}, detail)));
    if (text) this.trouble.focus();
  }
}
