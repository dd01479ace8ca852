// The answers: the verdict, the figures that matter, and the eight questions, each with its short answer; a question
// opens to what stands behind it. A figure that an edit has moved says what it was when the page was opened.

import { chartsIn } from "./charts.js";
import { make } from "./dom.js";

// Said by the verdict and by the questions themselves.
const ELSEWHERE = new Set(["will-it-make-the-rate", "hazards-named"]);

export class Answers {
  #open = new Set();
  #rows = new Map();
  #first = { bounds: null, simulated: null };

  constructor({ head, key, list }, { opened }) {
    Object.assign(this, { head, key, list, opened });
  }

  get open() { return [...this.#open]; }

  show(answer) {
    this.question = answer.question ?? this.question;
    const asked = make("span", { class: "asked" }, `Makes ${this.question}? `);
    const kind = { true: "yes", false: "no", null: "unsure" }[String(answer.makes)];
    const said = make("strong", { class: kind }, verdict(answer));
    // Written anew only where it differs: it is read aloud each time.
    if (this.head.textContent !== asked.textContent + said.textContent) this.head.replaceChildren(asked, said);
    else this.head.lastChild.className = kind;
    this.numbers = answer.numbers ?? this.numbers;
    this.#figures([...allowed(this.numbers), ...(answer.key ?? [])], answer.states ? "simulated" : "bounds");
    this.sections(answer.sections, answer.charts);
  }

  // An estimate is told against the first estimate, what was simulated against what was simulated first.
  #figures(key, kind) {
    key = key.filter(({ id }) => !ELSEWHERE.has(id));
    this.#first[kind] ??= new Map(key.map(({ id, value }) => [id, value]));
    this.key.replaceChildren(...key.flatMap(({ id, label, value, note }) => {
      const was = this.#first[kind].get(id);
      const moved = was !== undefined && was !== value;
      return [make("div", { class: moved ? "moved" : null, "data-key": id },
        make("dt", {}, label),
        make("dd", {}, value, note ? make("small", {}, ` ${note}`) : null, moved ? make("small", { class: "was" }, ` was ${was}`) : null))];
    }));
  }

  sections(sections, charts = {}) {
    for (const section of sections) {
      const row = this.#rows.get(section.id) ?? this.#add(section);
      row.question.textContent = section.question;
      row.short.textContent = section.short ?? "";
      const mark = section.html && section.html + JSON.stringify(charts);
      if (mark && row.html !== mark) {
        row.html = mark;
        const kept = [...row.body.querySelectorAll(".scroll, .chart")].map((box) => box.scrollLeft);
        const drawn = new Map([...row.body.querySelectorAll("[data-drawn]")].map((place) => [place.dataset.chart, place]));
        row.body.innerHTML = section.html; // made and escaped by the server
        row.body.querySelectorAll(".scroll, .chart").forEach((box, k) => { box.scrollLeft = kept[k] ?? 0; });
        reachable(row.body);
        chartsIn(row.body, charts, drawn);
      }
      row.stale = !section.html;
      row.box.classList.toggle("empty", !row.html);
    }
  }

  #add(section) {
    const question = make("h2", {});
    const short = make("span", { class: "short" });
    const own = make("div", { class: "own" });
    const body = make("div", { class: "body" });
    const box = make("details", { class: "question", id: `q-${section.id}` }, make("summary", {}, question, short), own, body);
    const row = { box, question, short, own, body, html: "" };
    this.#rows.set(section.id, row);
    box.addEventListener("toggle", () => {
      if (box.open) this.#open.add(section.id);
      else this.#open.delete(section.id);
      this.opened(section.id, box.open, row.stale);
    });
    this.list.append(box);
    return row;
  }

  // A place for the page's own things at the head of a question.
  own(id) { return this.#rows.get(id)?.own; }

  row(id) { return this.#rows.get(id); }

  unfold(id) {
    const row = this.#rows.get(id);
    if (!row) return;
    this.#open.add(id);
    row.box.open = true;
  }
}

function allowed(numbers) {
  if (typeof numbers?.allowed !== "number") return [];
  return [{ id: "allowed", label: "At most, by the bounds", value: `${numbers.allowed.toPrecision(4)} a day` }];
}

function verdict(answer) {
  const text = answer.verdict ?? "";
  return `${text.slice(0, 1).toUpperCase()}${text.slice(1)}.`;
}

// Tables and charts that scroll sideways can be reached by keyboard.
export function reachable(box) {
  for (const cell of box.querySelectorAll("td")) if (cell.textContent.length < 16) cell.classList.add("brief");
  for (const scroll of box.querySelectorAll(".scroll")) {
    scroll.setAttribute("tabindex", "0");
    scroll.setAttribute("role", "region");
    scroll.setAttribute("aria-label", scroll.querySelector("caption")?.textContent ?? "Table");
  }
}
