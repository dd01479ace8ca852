// The text of the plan: the one document that the text view and the tables edit, with its history.

import { Signal } from "./signal.js";

const JOINED = 900; // ms: keystrokes closer than this are one step back

export class PlanText {
  #past = [];
  #future = [];
  changed = new Signal();

  constructor(text = "") {
    this.text = text;
  }

  // Begin anew with what is on disk; there is nothing to go back to.
  begin(text) {
    this.text = text;
    this.#past = [];
    this.#future = [];
    this.changed.send({ by: "opening", caret: null });
  }

  // Replace the whole text. `by` says who did it, `caret` where the caret stands afterwards.
  change(text, { by = "typing", caret = null, was = null } = {}) {
    if (text === this.text) return;
    const step = difference(this.text, text);
    step.by = by;
    step.when = performance.now();
    step.after = caret ?? step.at + step.added.length;
    step.before = was ?? step.at + step.removed.length;
    if (!joins(this.#past.at(-1), step)) this.#past.push(step);
    this.#future = [];
    this.text = text;
    this.changed.send({ by, caret, step });
  }

  get canUndo() { return this.#past.length > 0; }
  get canRedo() { return this.#future.length > 0; }

  undo() {
    const step = this.#past.pop();
    if (!step) return;
    this.#future.push(step);
    this.text = put(this.text, step.at, step.added.length, step.removed);
    this.changed.send({ by: "undo", caret: step.before });
  }

  redo() {
    const step = this.#future.pop();
    if (!step) return;
    this.#past.push(step);
    this.text = put(this.text, step.at, step.removed.length, step.added);
    this.changed.send({ by: "redo", caret: step.after });
  }
}

const put = (text, at, length, added) => text.slice(0, at) + added + text.slice(at + length);

function difference(a, b) {
  const most = Math.min(a.length, b.length);
  let at = 0;
  while (at < most && a.charCodeAt(at) === b.charCodeAt(at)) at += 1;
  let end = 0;
  while (end < most - at && a.charCodeAt(a.length - 1 - end) === b.charCodeAt(b.length - 1 - end)) end += 1;
  return { at, removed: a.slice(at, a.length - end), added: b.slice(at, b.length - end) };
}

// Whether a step goes on from the last one; then the last one has taken it in.
function joins(last, step) {
  if (!last || last.by !== "typing" || step.by !== "typing" || step.when - last.when > JOINED) return false;
  const typed = !step.removed && step.at === last.at + last.added.length && !step.added.includes("\n");
  const rubbed = !step.added && step.removed.length === 1 && !last.added && step.at + 1 === last.at;
  if (typed) last.added += step.added;
  else if (rubbed) {
    last.removed = step.removed + last.removed;
    last.at = step.at;
  } else return false;
  last.after = step.after;
  last.when = step.when;
  return true;
}
