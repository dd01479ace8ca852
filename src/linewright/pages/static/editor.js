// The text view: a plain text area for the writing, and behind it the same lines in colour. Only the lines that can be
// seen are drawn, so that a plan of thousands of lines stays fluid. The history is that of the document, not of the area.

import { make } from "./dom.js";
import { coloured, openings } from "./toml.js";

const SPARE = 12; // lines drawn above and below what is seen

export class Editor {
  #lines = [""];
  #open = [""];
  #marks = new Map();
  #drawn = new Map();

  constructor(box, text) {
    this.box = box;
    this.text = text;
    this.gutter = make("div", { class: "gutter", "aria-hidden": "true" });
    this.ink = make("div", { class: "ink", "aria-hidden": "true" });
    this.pen = make("textarea", {
      class: "pen", wrap: "off", spellcheck: "false", autocomplete: "off", autocapitalize: "off",
      "aria-label": "Text of the plan", id: "pen",
    });
    this.paper = make("div", { class: "paper" }, this.ink, this.pen);
    box.append(this.gutter, this.paper);
    this.#listen();
    this.#measure();
    this.#take();
  }

  // Listeners that the workbench sets: keys seen before the editor's own, the caret moved, the text typed.
  onkey = () => false;
  onmove = () => {};

  #listen() {
    this.pen.addEventListener("input", () => {
      this.text.change(this.pen.value, { caret: this.pen.selectionStart, was: this.was });
    });
    this.pen.addEventListener("beforeinput", (event) => {
      this.was = this.pen.selectionStart;
      if (event.inputType !== "historyUndo" && event.inputType !== "historyRedo") return;
      event.preventDefault();
      if (event.inputType === "historyUndo") this.text.undo();
      else this.text.redo();
    });
    this.pen.addEventListener("keydown", (event) => {
      if (this.onkey(event)) event.preventDefault();
      else this.#key(event);
    });
    this.pen.addEventListener("focus", () => requestAnimationFrame(() => this.show(this.caret().line + 1)));
    document.addEventListener("selectionchange", () => {
      if (document.activeElement === this.pen) this.#moved();
    });
    this.box.addEventListener("scroll", () => this.#draw(), { passive: true });
    new ResizeObserver(() => { this.#measure(); this.#draw(); }).observe(this.box);
    this.text.changed.on((how) => this.#take(how));
  }

  #measure() {
    const probe = make("span", { class: "probe" }, "0".repeat(100));
    this.ink.append(probe);
    const size = probe.getBoundingClientRect();
    probe.remove();
    this.wide = size.width / 100 || 8;
    this.high = parseFloat(getComputedStyle(this.pen).lineHeight) || 20;
  }

  #take(how = {}) {
    this.#lines = this.text.text.split("\n");
    this.#open = openings(this.#lines);
    this.#drawn.clear();
    this.ink.replaceChildren();
    this.gutter.replaceChildren();
    if (this.pen.value !== this.text.text) {
      this.pen.value = this.text.text;
      if (how.caret !== null && how.caret !== undefined) this.pen.setSelectionRange(how.caret, how.caret);
      if (how.by === "undo" || how.by === "redo") this.show(this.lineOf(how.caret));
    }
    let most = 40;
    for (const line of this.#lines) if (line.length > most) most = line.length;
    this.paper.style.height = this.gutter.style.height = `${(this.#lines.length + 1) * this.high}px`;
    this.paper.style.minWidth = `${(most + 4) * this.wide + 16}px`;
    this.#draw();
  }

  #draw() {
    const first = Math.max(0, Math.floor(this.box.scrollTop / this.high) - SPARE);
    const last = Math.min(this.#lines.length, Math.ceil((this.box.scrollTop + this.box.clientHeight) / this.high) + SPARE);
    for (const [k, [line, number]] of this.#drawn) {
      if (k >= first && k < last) continue;
      line.remove();
      number.remove();
      this.#drawn.delete(k);
    }
    for (let k = first; k < last; k += 1) if (!this.#drawn.has(k)) this.#drawLine(k);
  }

  #drawLine(k) {
    const marks = this.#marks.get(k + 1);
    const line = make("div", { class: marks ? `line ${marks[0].level}` : "line" });
    for (const [kind, text] of coloured(this.#lines[k], this.#open[k])) {
      line.append(kind === "plain" || kind === "mark" ? text : make("span", { class: `t-${kind}` }, text));
    }
    if (marks) this.#underline(line, k, marks[0]);
    const number = make("div", { class: marks ? `number ${marks[0].level}` : "number" }, String(k + 1));
    if (k + 1 === this.here) number.classList.add("here");
    line.style.top = number.style.top = `${k * this.high}px`;
    this.ink.append(line);
    this.gutter.append(number);
    this.#drawn.set(k, [line, number]);
  }

  // A wavy line below what is wrong: the value where it can be found on the line, else the whole line.
  #underline(line, k, mark) {
    const text = this.#lines[k];
    const value = mark.value === null || mark.value === undefined ? "" : String(mark.value).replace(/^['"]|['"]$/g, "");
    const at = value ? text.indexOf(value, Math.max(text.indexOf("="), 0)) : -1;
    const from = at >= 0 ? at : text.search(/\S|$/);
    const long = at >= 0 ? value.length : Math.max(text.trim().length, 1);
    const wave = make("span", { class: `wave ${mark.level}` });
    wave.style.left = `${from * this.wide}px`;
    wave.style.width = `${Math.max(long, 1) * this.wide}px`;
    line.append(wave);
  }

  // Mark problems: each { level: "error" | "warning", line, value }; errors come first on a line.
  mark(problems) {
    this.#marks.clear();
    for (const problem of [...problems].sort((a, b) => (a.level > b.level) - (a.level < b.level))) {
      if (!problem.line) continue;
      if (!this.#marks.has(problem.line)) this.#marks.set(problem.line, []);
      this.#marks.get(problem.line).push(problem);
    }
    for (const [line, number] of this.#drawn.values()) { line.remove(); number.remove(); }
    this.#drawn.clear();
    this.#draw();
    this.#moved();
  }

  problemsAt(line) { return this.#marks.get(line) ?? []; }

  get lines() { return this.#lines; }

  lineOf(caret) { return this.text.text.slice(0, caret).split("\n").length; }

  // Where the caret is: line and column from 0, and in pixels from the corner of the paper.
  caret() {
    const before = this.pen.value.slice(0, this.pen.selectionStart);
    const line = before.split("\n").length - 1;
    const column = before.length - (before.lastIndexOf("\n") + 1);
    return { line, column, x: column * this.wide, y: (line + 1) * this.high };
  }

  #moved() {
    const line = this.caret().line + 1;
    if (line !== this.here) {
      this.#drawn.get((this.here ?? 0) - 1)?.[1].classList.remove("here");
      this.here = line;
      this.#drawn.get(line - 1)?.[1].classList.add("here");
    }
    this.onmove(line);
  }

  show(line) {
    const top = (line - 1) * this.high;
    const { scrollTop, clientHeight } = this.box;
    if (top < scrollTop + this.high || top > scrollTop + clientHeight - 3 * this.high) {
      this.box.scrollTop = Math.max(0, top - clientHeight / 3);
    }
  }

  // Put the caret on a line and show it.
  go(line, { focus = true } = {}) {
    let at = 0;
    for (let k = 0; k < Math.min(line - 1, this.#lines.length - 1); k += 1) at += this.#lines[k].length + 1;
    this.pen.setSelectionRange(at, at);
    if (focus) this.pen.focus({ preventScroll: true });
    this.box.scrollLeft = 0;
    this.show(line);
    this.#moved();
  }

  // Put `added` in place of the selection, or of what stands between two places.
  write(added, from = this.pen.selectionStart, to = this.pen.selectionEnd, by = "typing") {
    const text = this.pen.value;
    const caret = from + added.length;
    this.pen.value = text.slice(0, from) + added + text.slice(to);
    this.pen.setSelectionRange(caret, caret);
    this.text.change(this.pen.value, { by, caret, was: to });
    this.show(this.lineOf(caret));
  }

  #key(event) {
    const { key } = event;
    if (key === "Enter" && !event.ctrlKey && !event.metaKey && !event.altKey) {
      event.preventDefault();
      const line = this.#lines[this.caret().line] ?? "";
      this.write("\n" + /^\s*/.exec(line)[0]);
    } else if (key === "PageDown" || key === "PageUp") {
      event.preventDefault();
      const step = Math.max(1, Math.floor(this.box.clientHeight / this.high) - 2);
      const line = this.caret().line + 1 + (key === "PageDown" ? step : -step);
      this.go(Math.min(Math.max(line, 1), this.#lines.length));
    } else if (key === "/" && (event.ctrlKey || event.metaKey)) {
      event.preventDefault();
      this.#comment();
    }
  }

  // Take the lines of the selection out of the plan, or back in, by "# ".
  #comment() {
    const first = this.lineOf(this.pen.selectionStart) - 1;
    const last = this.lineOf(Math.max(this.pen.selectionEnd - 1, this.pen.selectionStart)) - 1;
    const chosen = this.#lines.slice(first, last + 1);
    const out = chosen.every((line) => /^\s*#|^\s*$/.test(line));
    const made = chosen.map((line) => (out ? line.replace(/^(\s*)# ?/, "$1") : line && `# ${line}`));
    const start = this.#lines.slice(0, first).reduce((sum, line) => sum + line.length + 1, 0);
    this.write(made.join("\n"), start, start + chosen.join("\n").length, "comment");
  }
}
