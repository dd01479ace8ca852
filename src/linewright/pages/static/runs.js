// One long computation at a time: begun, followed by its events, cancelled. The page stays usable meanwhile.

import { ask } from "./api.js";

export class Run {
  // `kind` and `body` as the server takes them; `hear` has progress, partial, done, failed, cancelled.
  constructor(kind, body, hear) {
    this.kind = kind;
    this.hear = hear;
    this.over = false;
    this.#begin(kind, body);
  }

  async #begin(kind, body) {
    try {
      const { run } = await ask("POST", "/api/runs", { ...body, kind });
      this.id = run;
    } catch (wrong) {
      return this.#end("failed", { error: wrong.message, problems: wrong.data?.problems });
    }
    if (this.over) return ask("DELETE", `/api/runs/${this.id}`).catch(() => null);
    this.source = new EventSource(`/api/runs/${this.id}/events`);
    const on = (name, act) => this.source.addEventListener(name, (event) => act(JSON.parse(event.data || "{}")));
    on("progress", (data) => this.hear.progress?.(data));
    on("partial", (data) => this.hear.partial?.(data));
    on("done", (data) => this.#end("done", data));
    on("failed", (data) => this.#end("failed", data));
    on("cancelled", () => this.#end("cancelled", {}));
    this.source.onerror = () => this.#lost();
  }

  // The stream broke off: ask once how the run stands; a server that is gone is said so.
  async #lost() {
    if (this.over) return;
    try {
      const state = await ask("GET", `/api/runs/${this.id}`);
      if (state.state === "failed") this.#end("failed", { error: state.error ?? "The computation broke off." });
    } catch (wrong) {
      this.#end("failed", { error: wrong.message });
    }
  }

  #end(how, data) {
    if (this.over) return;
    this.over = true;
    this.source?.close();
    this.hear[how]?.(data);
  }

  async cancel() {
    if (this.over) return;
    if (this.id) await ask("DELETE", `/api/runs/${this.id}`).catch(() => null);
    this.#end("cancelled", {});
  }
}

// A bar that shows a run: what it does, how far it is, and the way to end it.
export class RunBar {
  constructor(box, { make }) {
    this.bar = make("progress", { "aria-label": "Progress", max: 1 });
    this.text = make("span", { class: "runtext", role: "status" });
    this.stop = make("button", { type: "button", onclick: () => this.run?.cancel() }, "Cancel");
    box.append(this.text, this.bar, this.stop);
    this.box = box;
    this.rest();
  }

  begin(text) {
    this.box.hidden = false;
    this.bar.removeAttribute("value");
    this.bar.hidden = this.stop.hidden = false;
    this.text.textContent = text;
  }

  progress({ done, of, message }) {
    if (of) {
      this.bar.max = of;
      this.bar.value = done ?? 0;
    }
    if (message) this.text.textContent = message;
  }

  rest(text = "") {
    this.run = null;
    this.text.textContent = text;
    this.bar.hidden = this.stop.hidden = true;
    this.box.hidden = !text;
  }
}
