// Saving: all changes at once, said plainly, and never over what somebody else has saved.
"use strict";

(() => {
  const OFFLINE = "The server cannot be reached. Your changes are still here; save again when the connection is back.";

  class Keeping {
    constructor(place, board, tools, refresh) {
      Object.assign(this, { place, board, tools, refresh, busy: false });
      this.button = place.querySelector("[data-save-button]");
      this.word = place.querySelector("[data-saved]");
      this.trouble = place.querySelector("[data-trouble]");
      this.button.addEventListener("click", () => this.save());
      window.addEventListener("beforeunload", (event) => {
        if (this.board.count) event.preventDefault();
      });
    }

    draw() {
      const { count } = this.board;
      this.button.disabled = this.busy || !count;
      this.word.textContent = this.busy ? "Saving…" : count ? `${count} ${count === 1 ? "change" : "changes"} not saved` : "All saved";
      this.word.classList.toggle("unsaved", Boolean(count));
    }

    async ask(url, content) {
      const token = this.place.querySelector("[name=csrfmiddlewaretoken]").value;
      try {
        const answer = await fetch(url, {
          method: "POST", body: JSON.stringify(content), headers: { "Content-Type": "application/json", "X-CSRFToken": token },
        });
        if (answer.redirected || answer.status === 403) return { status: 403, message: "Your login has ended. Log in in another tab, then save again." };
        if (answer.status === 404) return { status: 404, message: "This floor is no longer there, or you may no longer change it." };
        return { status: answer.status, ...(await answer.json()) };
      } catch {
        return { status: 0, message: OFFLINE };
      }
    }

    async save() {
      if (this.busy || !this.board.count) return;
      this.busy = true;
      this.draw();
      const answer = await this.ask(this.place.dataset.save, this.board.changes());
      this.busy = false;
      if (answer.status === 200) this.kept(answer);
      else if (answer.status === 409) this.outdated(answer);
      else this.tell(answer.message || OFFLINE, (answer.problems || []).map((problem) => this.named(problem)));
      this.refresh();
    }

    kept({ state, given }) {
      const { chosen } = this.tools;
      if (chosen) chosen.id = given[chosen.id] || chosen.id;
      if (this.tools.lastZone) this.tools.lastZone = given[this.tools.lastZone] || this.tools.lastZone;
      this.board.saved(state, given);
      this.tell("");
      window.fanlight.announce("Saved");
    }

    outdated({ message, state }) {
      const both = this.board.rebase(state);
      if (!this.tools.chosenRow()) this.tools.choose(null);
      const mixed = "Their work is on the drawing now, with yours on top. Look it over, then save.";
      this.tell(`${message} ${mixed}`, both.map((name) => `${name} was changed by both of you; yours is shown.`));
    }

    named({ id, message }) {
      const row = ["rooms", "points", "zones"].map((list) => this.board.find(list, id)).find(Boolean);
      return row ? `${row.name || "Without a name"}: ${message}` : message;
    }

    tell(text, details = []) {
      this.trouble.hidden = !text;
      this.trouble.querySelector("p").textContent = text;
      this.trouble.querySelector("ul").replaceChildren(
        ...details.map((detail) => Object.assign(document.createElement("li"), { textContent: detail })),
      );
      if (text) this.trouble.focus();
    }
  }

  window.fanlight.plan.Keeping = Keeping;
})();
