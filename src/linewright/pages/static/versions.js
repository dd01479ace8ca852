// Versions of a plan that were kept, and what changed since: the differences in the text and in the answers, and after
// a simulation of both under the same luck, their intervals.

import { ask, at } from "./api.js";
import { calm, make } from "./dom.js";
import { sideBySide } from "./differ.js";

export class Versions {
  // `text()` is the text that stands in the page, `saved()` that of the file; `start(kind, body, hear)` begins a run; `take(text)` opens a text.
  constructor(name, box, { text, saved, start, take, notice }) {
    Object.assign(this, { name, box, text, saved, start, take, notice });
    this.label = make("input", { type: "text", value: "as it is", "aria-label": "Name of the version", spellcheck: "false" });
    const form = make("form", { class: "keep" }, make("label", {}, "Keep this text as ", this.label), make("button", { type: "submit" }, "Keep"));
    form.addEventListener("submit", (event) => { event.preventDefault(); this.keep(this.label.value.trim()); });
    this.list = make("ul", { class: "versions" });
    this.result = make("div", { class: "compared" });
    box.append(form, this.list, this.result);
  }

  async refresh(versions = null) {
    this.versions = versions ?? (await ask("GET", `/api/versions/${at(this.name)}`).catch(() => []));
    this.list.replaceChildren(...this.versions.map((version) => this.#row(version)));
    const saved = make("button", { type: "button", onclick: () => this.compare(null) }, "Compare with now");
    saved.setAttribute("aria-label", "Compare with now: as saved");
    this.list.append(make("li", {}, make("strong", {}, "as saved"), make("span", { class: "acts" }, saved)));
    if (!this.versions.length) this.list.append(make("li", { class: "note" }, "No version is kept yet. Keep the plan as it is, change something, and compare."));
    this.onchange?.(this.versions.length);
  }

  #row({ label, saved }) {
    const when = saved ? new Date(typeof saved === "number" ? saved * 1000 : saved).toLocaleString([], { dateStyle: "medium", timeStyle: "short" }) : "";
    const button = (text, act, name) => make("button", { type: "button", onclick: act, "aria-label": `${text}: ${name}` }, text);
    return make("li", {}, make("b", {}, label), make("span", { class: "note" }, when), make("span", { class: "acts" },
      button("Compare with now", () => this.compare(label), label),
      button("Open", () => this.openOne(label), label),
      button("Remove", () => this.#remove(label), label)));
  }

  #at(label) { return `/api/versions/${at(this.name)}?label=${encodeURIComponent(label)}`; }

  async keep(label) {
    if (!label) return this.label.focus();
    try {
      const made = await ask("POST", `/api/versions/${at(this.name)}`, { label, text: this.text() });
      this.notice(`Kept as "${made.label}".`);
      this.label.value = nextName(label);
      await this.refresh();
    } catch (wrong) {
      this.notice(`Not kept: ${wrong.message}`);
    }
  }

  // Keep the text as it stands beside a change that is about to be made; says under which label.
  async aside(wish) {
    const stem = wish.replace(/[^\p{L}\p{N} ,.%()-]/gu, "").slice(0, 76).replace(/[ .]+$/, "");
    const there = new Set(this.versions.map(({ label }) => label));
    let label = stem;
    for (let k = 2; there.has(label); k += 1) label = `${stem} ${k}`;
    try {
      await ask("POST", `/api/versions/${at(this.name)}`, { label, text: this.text() });
      await this.refresh();
      return label;
    } catch (wrong) {
      this.notice(`Not tried, for the text could not be kept: ${wrong.message}`);
      return null;
    }
  }

  async openOne(label) {
    const { text } = await ask("GET", this.#at(label));
    this.take(text);
    this.notice(`The version "${label}" is in the editor. Undo gives back what was there.`);
  }

  async #remove(label) {
    const { text } = await ask("GET", this.#at(label));
    await ask("DELETE", this.#at(label));
    await this.refresh();
    const row = this.notice(`"${label}" is removed.`, {
      "Bring it back": async () => {
        row.remove();
        await ask("POST", `/api/versions/${at(this.name)}`, { label, text });
        await this.refresh();
      },
      "All right": () => row.remove(),
    });
  }

  // The text is no longer the one that was compared.
  changed() {
    if (this.shown === undefined || this.shown === this.text()) return;
    this.shown = undefined;
    this.result.classList.add("old");
    this.result.prepend(make("p", { class: "outdated", role: "status" }, "The plan has changed since it was compared."));
  }

  // Compare with a version, or with the file (null).
  async compare(label) {
    this.onshow?.();
    this.result.classList.remove("old");
    this.result.replaceChildren(make("p", { class: "note" }, "Comparing"));
    const text = this.text();
    try {
      const old = label === null ? this.saved() : (await ask("GET", this.#at(label))).text;
      const a = { label: label ?? "as saved", text: old };
      const found = await ask("POST", "/api/compare", { name: this.name, a, b: { label: "now", text } });
      this.#show(a, text, found);
    } catch (wrong) {
      this.result.replaceChildren(make("p", { class: "failed" }, wrong.message));
    }
  }

  #show(a, text, found) {
    const { label, text: old } = a;
    this.shown = text;
    const heads = [label.length > 20 ? "kept" : label, "now"];
    const table = make("div", {}, differences(found, heads));
    const play = make("button", { type: "button" }, "Simulate both");
    play.addEventListener("click", () => {
      play.disabled = true;
      this.start("compare", { name: this.name, text, options: { a, b: { label: "now", text } } }, {
        done: (data) => { table.replaceChildren(differences(data, heads)); play.disabled = false; },
        failed: () => { play.disabled = false; },
        cancelled: () => { play.disabled = false; },
      });
    });
    const lines = old === text
      ? make("p", { class: "note" }, "The two texts are the same.")
      : make("details", {}, make("summary", {}, "What differs in the text"), sideBySide(old, text, [label, "Now"]));
    const about = make("p", { class: "note" }, "The simulation plays both under the same luck, so that only the change makes the difference.");
    this.result.replaceChildren(make("h3", {}, `"${label}" beside the plan as it stands now`), table, make("div", { class: "acts" }, play), about, lines);
    this.result.scrollIntoView({ block: "start", behavior: calm() ? "auto" : "smooth" });
  }
}

export function differences({ rows = [], said = "", notes = [] }, [left, right]) {
  const part = make("div", {});
  if (said) part.append(make("p", { class: "said" }, said));
  const differ = rows.filter((row) => row.a !== row.b || (row.low ?? null) !== null);
  const same = rows.filter((row) => !differ.includes(row));
  if (differ.length) part.append(tableOf(differ, [left, right], "What differs in the answers"));
  if (same.length) {
    part.append(make("details", {}, make("summary", {}, `${same.length} ${same.length === 1 ? "answer is" : "answers are"} the same`),
      tableOf(same, [left, right], "What is the same")));
  }
  for (const note of notes) part.append(make("p", { class: "note" }, `${note.slice(0, 1).toUpperCase()}${note.slice(1)}.`));
  return part;
}

function tableOf(rows, [left, right], title) {
  const head = ["", left, right, "difference"];
  const body = rows.map((row) => make("tr", {},
    make("th", { scope: "row" }, row.what + (row.unit ? `, ${row.unit}` : "")),
    make("td", { class: "num" }, shown(row.a)), make("td", { class: "num" }, shown(row.b)),
    make("td", { class: "num" }, row.said ?? "")));
  return make("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": title },
    make("table", {}, make("caption", {}, title),
      make("thead", {}, make("tr", {}, ...head.map((text, k) => (text ? make("th", { scope: "col", class: k ? "num" : null }, text) : make("td", {}))))),
      make("tbody", {}, ...body)));
}

const shown = (value) => (value === null || value === undefined ? "" : typeof value === "number" ? round(value) : value);
const round = (value) => (Math.abs(value) >= 100 ? value.toFixed(2) : Number(value.toPrecision(4)).toString());

function nextName(label) {
  const hit = /^(.*?)(\d+)$/.exec(label);
  return hit ? `${hit[1]}${Number(hit[2]) + 1}` : "change 1";
}
