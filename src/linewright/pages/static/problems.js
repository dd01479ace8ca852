// What is wrong with the plan, in words below the text; a row leads to its line.

import { make } from "./dom.js";

const level = (problem) => (problem.level === "error" ? "error" : "warning");

export class ProblemList {
  constructor(box, count, go) {
    this.box = box;
    this.count = count;
    this.go = go;
    this.problems = [];
  }

  show(problems) {
    const changed = JSON.stringify(problems) !== JSON.stringify(this.problems);
    this.problems = problems;
    const errors = problems.filter((p) => level(p) === "error").length;
    const said = told(errors, problems.length - errors);
    if (this.count.textContent !== said) this.count.textContent = said;
    this.count.className = errors ? "count error" : problems.length ? "count warning" : "count";
    if (!changed) return;
    this.box.replaceChildren(...problems.map((problem) => this.#row(problem)));
  }

  #row(problem) {
    const where = (problem.file ? `${problem.file}, ` : "") + (problem.line ? `line ${problem.line}` : "plan");
    const hint = problem.hint ? ` ${problem.hint}` : "";
    return make("li", { class: level(problem) },
      make("button", { type: "button", onclick: () => this.go(problem) },
        make("span", { class: "where" }, `${level(problem) === "error" ? "Error" : "Warning"}, ${where}`),
        make("span", { class: "what" }, sentence(problem), make("i", {}, hint))));
  }
}

export function sentence(problem) {
  const path = problem.path ? `${problem.path}: ` : "";
  return path + (problem.what ?? problem.expected ?? "");
}

function told(errors, warnings) {
  const many = (n, word) => `${n} ${word}${n === 1 ? "" : "s"}`;
  const parts = [];
  if (errors) parts.push(many(errors, "error"));
  if (warnings) parts.push(many(warnings, "warning"));
  return parts.join(", ") || "No problem found";
}
