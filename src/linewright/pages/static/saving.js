// Saving, and what may go wrong with it: the file changed on disk meanwhile, the browser was closed. Nothing is lost:
// a draft is kept in this browser, and of two versions both are offered.

import { ask, at, Refused } from "./api.js";
import { later, make } from "./dom.js";
import { sideBySide } from "./differ.js";
import { keep, kept } from "./storage.js";

export class Saving {
  constructor(name, text, { state, button, dialog, notice }) {
    Object.assign(this, { name, text, state, button, dialog, notice });
    this.stamp = null;
    this.disk = "";
    this.draft = later(400, () => this.#keepDraft());
    button.addEventListener("click", () => this.save());
    document.addEventListener("keydown", (event) => {
      if (event.key.toLowerCase() !== "s" || !(event.ctrlKey || event.metaKey) || event.altKey) return;
      event.preventDefault();
      this.save();
    });
    text.changed.on(() => {
      this.#say();
      if (this.stamp) this.draft();
    });
    addEventListener("pagehide", () => this.#keepDraft());
    addEventListener("focus", () => this.look());
  }

  get unsaved() { return this.text.text !== this.disk; }

  async open() {
    const { text, stamp, versions } = await ask("GET", `/api/plan/${at(this.name)}`);
    this.disk = text;
    this.text.begin(text);
    this.stamp = stamp;
    const draft = kept(`draft:${this.name}`);
    if (draft && draft.text !== text) this.#takeUp(draft);
    else if (draft) keep(`draft:${this.name}`, null);
    this.#say();
    return versions ?? [];
  }

  // Writing of an earlier visit that was never saved is there again at once; undo, or the button, gives the file's text.
  #takeUp(draft) {
    this.text.change(draft.text, { by: "draft", caret: 0 });
    const when = new Date(draft.when).toLocaleString();
    const other = draft.stamp && draft.stamp !== this.stamp ? " The file has changed since; saving will show both." : "";
    if (other) this.stamp = draft.stamp;
    const row = this.notice(`Your changes of ${when} were not saved; here they are again.${other}`, {
      "Throw them away": () => { this.text.change(this.disk, { by: "draft", caret: 0 }); row.remove(); this.look(); },
      "Keep them": () => row.remove(),
    });
  }

  #keepDraft() {
    this.draft.drop();
    if (!this.stamp) return;
    if (this.unsaved) {
      const whole = keep(`draft:${this.name}`, { text: this.text.text, stamp: this.stamp, when: Date.now() });
      this.undrafted = !whole;
    } else keep(`draft:${this.name}`, null);
  }

  #say(said = "") {
    this.state.textContent = said || (this.unsaved ? "Not saved" : "Saved");
    this.state.className = this.unsaved ? "state unsaved" : "state";
    this.button.disabled = !this.unsaved;
    document.title = document.title.replace(/^(• )?/, this.unsaved ? "• " : "");
  }

  async save({ force = false } = {}) {
    if (this.busy || (!this.unsaved && !force)) return;
    this.busy = true;
    const text = this.text.text;
    this.#say("Saving");
    try {
      const made = await ask("PUT", `/api/plan/${at(this.name)}`, { text, stamp: this.stamp, force });
      this.#saved(text, made.stamp);
      if (made.kept) this.notice(`What was on disk is kept as the version "${made.kept}".`);
      if (made.kept) this.onkept?.();
    } catch (wrong) {
      if (wrong instanceof Refused && wrong.status === 409) this.#conflict(wrong.data, text);
      else this.notice(`Not saved: ${wrong.message} What you wrote is still here.`);
    } finally {
      this.busy = false;
      this.#say();
    }
  }

  #saved(text, stamp) {
    this.disk = text;
    this.stamp = stamp;
    this.#keepDraft();
    this.onsaved?.();
  }

  // Has the file changed on disk? Where nothing was written here, its new text is taken (undo brings the old one back).
  async look() {
    if (this.busy || !this.stamp || this.dialog.open) return;
    const now = await ask("GET", `/api/plan/${at(this.name)}`).catch(() => null);
    if (!now || now.stamp === this.stamp || this.busy) return;
    if (this.unsaved) {
      this.state.textContent = "Not saved, and the file has changed on disk";
      return;
    }
    this.disk = now.text;
    this.stamp = now.stamp;
    this.text.change(now.text, { by: "disk", caret: 0 });
    this.#say();
    this.notice("The file changed on disk; its new text is shown. Undo gives the earlier one.");
  }

  #conflict(theirs, mine) {
    const close = () => this.dialog.close();
    const button = (text, act, kind = "") => make("button", { type: "button", class: kind, onclick: act }, text);
    const beside = this.#beside(mine, theirs, close);
    this.dialog.replaceChildren(
      make("h2", { id: "conflict-title" }, "The file has changed on disk since you opened it"),
      make("p", {}, "Left: what is on disk now. Right: what you wrote. Whatever you choose, the other one is kept."),
      sideBySide(theirs.text, mine, ["On disk", "Yours"]),
      make("div", { class: "choices" },
        button("Keep mine", async () => {
          close();
          await this.save({ force: true });
        }),
        button("Take theirs", async () => {
          close();
          await this.#aside(mine, "mine");
          this.disk = theirs.text;
          this.stamp = theirs.stamp;
          this.text.change(theirs.text, { by: "disk", caret: 0 });
          this.#say();
        }),
        beside, button("Go on editing", close)));
    this.dialog.setAttribute("aria-labelledby", "conflict-title");
    this.dialog.showModal();
  }

  #beside(mine, theirs, close) {
    const name = make("input", { type: "text", value: `${this.name}-mine`, "aria-label": "Name of the new plan", spellcheck: "false" });
    const form = make("form", { class: "beside" }, name, make("button", { type: "submit" }, "Save mine beside"));
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      try {
        const made = await ask("POST", "/api/plans", { name: name.value.trim(), text: mine });
        this.disk = theirs.text;
        this.stamp = theirs.stamp;
        this.text.change(theirs.text, { by: "disk", caret: 0 });
        this.#keepDraft();
        this.#say();
        close();
        const row = this.notice(`Yours is saved as ${made.name}; here is what is on disk.`, {
          [`Open ${made.name}`]: () => location.assign(`/plan/${at(made.name)}`), "All right": () => row.remove(),
        });
      } catch (wrong) {
        name.setCustomValidity(wrong.message);
        name.reportValidity();
        name.oninput = () => name.setCustomValidity("");
      }
    });
    return form;
  }

  // Keep a text as a version, so that choosing the other one loses nothing.
  async #aside(text, label) {
    const when = new Date().toTimeString().slice(0, 8).replaceAll(":", "");
    const made = await ask("POST", `/api/versions/${at(this.name)}`, { label: `${label} ${when}`, text }).catch(() => null);
    this.onkept?.();
    if (made) this.notice(`The other text is kept as the version "${made.label}".`);
  }
}
