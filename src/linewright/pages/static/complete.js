// Completion while typing: the names of fields where a field may stand, and of things of the plan where one is meant.

import { make } from "./dom.js";
import { tableAt } from "./toml.js";

// Which names of the plan a field's value means.
const MEANS = {
  station: "stations", crew: "crews", takes: "items", gives: "items", takes_per_load: "items", any_of: "items",
  makes: "items", item: "items", seconds: "items", shift: "shifts", then_to: "stores", from: "stores", to: "stores",
  after: "operations", rework: "operations", uses: "tools", faults: "faults", finds: "faults", then: "faults",
  hazards: "hazards", mending: "crews",
};
const MOST = 9;

// What may stand at a place: { from, options: [{ text, about }] }, or null.
export function offered(lines, line, column, { names, fields }, asked) {
  const before = lines[line].slice(0, column);
  if (/^[^"#]*(?:"[^"]*"[^"#]*)*#/.test(before)) return null;
  const word = /[A-Za-z0-9_]*$/.exec(before)[0];
  if (!word && !asked) return null;
  const from = column - word.length;
  const rest = before.slice(0, from);
  const options = /^\s*\[+[^\]]*$/.test(rest) && !rest.includes("=")
    ? headers(rest, names, fields)
    : rest.trim() === "" ? keys(lines, line, fields) : values(rest, names, fields, lines, line);
  if (!options) return null;
  const low = word.toLowerCase();
  const fits = options.filter(({ text }) => text.toLowerCase().startsWith(low) && text !== word);
  const more = options.filter(({ text }) => !text.toLowerCase().startsWith(low) && low && text.toLowerCase().includes(low));
  const found = [...fits, ...more].slice(0, MOST);
  const inside = (rest.match(/"/g) ?? []).length % 2 === 1;
  const after = lines[line].slice(column).replace(/^[A-Za-z0-9_]*/, "");
  return found.length ? { from, word, options: found.map((option) => ({ ...option, put: quoted(option, inside, after) })) } : null;
}

// What is put in: a value in quotes, a key only where it needs them, and a quote that is open is closed.
function quoted({ text, value }, inside, after) {
  if (inside) return after.startsWith('"') ? text : `${text}"`;
  return value || !/^[A-Za-z0-9_-]+$/.test(text) ? `"${text}"` : text;
}

function headers(rest, names, fields) {
  const path = rest.replace(/^\s*\[+/, "").split(".").slice(0, -1);
  if (path.length === 0) return (fields[""] ?? []).map(told);
  if (path.length === 1) return (names[path[0]] ?? []).map((text) => ({ text, about: "" }));
  return [{ text: "operations", about: "the steps of a route" }];
}

function keys(lines, line, fields) {
  const there = new Set();
  for (let k = line - 1; k >= 0 && !/^\s*\[/.test(lines[k]); k -= 1) {
    const key = /^\s*([A-Za-z0-9_]+)\s*=/.exec(lines[k]);
    if (key) there.add(key[1]);
  }
  return (fields[kindOf(tableAt(lines, line))] ?? []).filter((field) => !there.has(field.name)).map(told);
}

// ["routes", "shell", "operations"] is "operations"; ["stations", "press"] is "stations".
export function kindOf(path) {
  if (path.length > 2) return path[2];
  return path[0] ?? "";
}

function values(rest, names, fields, lines, line) {
  const written = [...rest.matchAll(/([A-Za-z_]+)\s*=/g)].map((hit) => hit[1]);
  if (!written.length) return null;
  const inside = rest.lastIndexOf("{") > rest.lastIndexOf("}");
  const atKey = inside && /[{,]\s*$/.test(rest);
  const first = MEANS[written[0]];
  const last = MEANS[written.at(-1)];
  const kind = atKey ? first : last;
  if (kind && (atKey || /["[,\s=]$/.test(rest) || last)) {
    return (names[kind] ?? []).map((text) => ({ text, about: "", value: !atKey }));
  }
  if (atKey) return (fields[written[0]] ?? []).map(told);
  return null;
}

const told = ({ name, about, example }) => ({ text: name, about: about ?? "", example });

export class Completion {
  #found = null;
  #at = 0;

  constructor(editor, known) {
    this.editor = editor;
    this.known = known; // () => { names, fields }
    this.list = make("ul", { class: "offers", role: "listbox", id: "offers", "aria-label": "What may stand here", hidden: true });
    editor.paper.append(this.list);
    editor.pen.setAttribute("aria-autocomplete", "list");
    editor.pen.setAttribute("aria-controls", "offers");
    editor.pen.addEventListener("input", (event) => {
      if (event.inputType === "insertText" || event.inputType === "deleteContentBackward") this.#look(false);
      else this.close();
    });
    editor.pen.addEventListener("blur", () => this.close());
    editor.onkey = (event) => this.#key(event);
  }

  #look(asked) {
    const { line, column, x, y } = this.editor.caret();
    const found = offered(this.editor.lines, line, column, this.known(), asked);
    if (!found) return this.close();
    this.#found = { ...found, line };
    this.#at = 0;
    this.list.style.left = `${Math.max(0, x - found.word.length * this.editor.wide)}px`;
    this.list.style.top = `${y + 4}px`;
    this.list.replaceChildren(...found.options.map((option, k) => make(
      "li", { role: "option", id: `offer-${k}`, onpointerdown: (event) => { event.preventDefault(); this.#take(k); } },
      make("b", {}, option.text), make("span", {}, option.about || option.example || ""),
    )));
    this.list.hidden = false;
    const { box, high } = this.editor;
    const below = box.scrollTop + box.clientHeight - y;
    if (this.list.offsetHeight > below) this.list.style.top = `${Math.max(0, y - high - this.list.offsetHeight - 4)}px`;
    this.#choose(0);
    return true;
  }

  #choose(k) {
    const count = this.list.children.length;
    this.#at = (k + count) % count;
    [...this.list.children].forEach((row, i) => row.setAttribute("aria-selected", String(i === this.#at)));
    this.editor.pen.setAttribute("aria-activedescendant", `offer-${this.#at}`);
  }

  #take(k) {
    const { options, word } = this.#found;
    const caret = this.editor.pen.selectionStart;
    const rest = /^[A-Za-z0-9_]*/.exec(this.editor.pen.value.slice(caret))[0]; // what it takes the place of
    this.editor.write(options[k].put, caret - word.length, caret + rest.length, "completion");
    this.close();
  }

  close() {
    if (this.list.hidden) return;
    this.list.hidden = true;
    this.list.replaceChildren();
    this.editor.pen.removeAttribute("aria-activedescendant");
  }

  #key(event) {
    if (event.key === " " && event.ctrlKey) return this.#look(true);
    if (this.list.hidden) return false;
    if (event.key === "ArrowDown") this.#choose(this.#at + 1);
    else if (event.key === "ArrowUp") this.#choose(this.#at - 1);
    else if (event.key === "Enter" || event.key === "Tab") this.#take(this.#at);
    else if (event.key === "Escape") this.close();
    else {
      if (event.key.startsWith("Arrow") || event.key === "Home" || event.key === "End") this.close();
      return false;
    }
    return true;
  }
}
