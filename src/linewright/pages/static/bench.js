// The workbench of one plan: joins the text, the tables, the answers, the map and the runs.

import { ask, newest } from "./api.js";
import { Answers, reachable } from "./answers.js";
import { chartsIn } from "./charts.js";
import { Completion } from "./complete.js";
import { calm, find, later, make } from "./dom.js";
import { Editor } from "./editor.js";
import { lookButton } from "./look.js";
import { MapPanel } from "./mappanel.js";
import { noticesIn } from "./notices.js";
import { ProblemList, sentence } from "./problems.js";
import { Run, RunBar } from "./runs.js";
import { Saving } from "./saving.js";
import { splitter } from "./splitter.js";
import { tabs } from "./tabs.js";
import { TableView } from "./tables.js";
import { PlanText } from "./text.js";
import { trials } from "./trials.js";
import { Versions } from "./versions.js";

const ERRORS = "The plan has errors; the answers below are those of the last text without any.";
const KINDS = ["operations", "stations", "crews", "items"];
const QUESTIONS = [
  ["made", "How is it made?"], ["flows", "What goes in and out?"], ["rate", "Will it make the rate?"],
  ["people", "Who does what?"], ["cost", "What does one cost?"], ["good", "How do we know it is good?"],
  ["helps", "What would help most?"], ["hurts", "What can hurt someone?"],
];
const name = document.body.dataset.plan;
const text = new PlanText();
const notice = noticesIn(find("notices"));
const known = { names: {}, fields: {} };
let tables = {};
let view = "text";

lookButton(find("look"));
splitter(find("divider"), document.body);

// ---- the plan

const editor = new Editor(find("editor"), text);
new Completion(editor, () => known);
const problems = new ProblemList(find("problems"), find("count"), (problem) => {
  if (problem.file) notice(`It stands in ${problem.file}, line ${problem.line}.`);
  else toLine(problem.line ?? 1);
});
editor.onmove = (line) => {
  const here = editor.problemsAt(line);
  find("here").textContent = here.length ? here.map(sentence).join(" ") : "";
  panel.mark(operationAt(line));
};

const grids = Object.fromEntries(KINDS.map((kind) => [kind, new TableView(find(`view-${kind}`), kind, {
  edit, names: () => known.names, go: toRow,
})]));

const views = tabs(find("views"), (chosen) => {
  view = chosen;
  if (chosen !== "text" && tables[chosen]) grids[chosen].show(tables[chosen]);
  if (chosen === "text") editor.box.dispatchEvent(new Event("scroll"));
});

function toLine(line) {
  side("plan");
  views("text");
  editor.go(line);
}

function toRow({ id, file, line }) {
  if (file) notice(`${id} is written in ${file}, line ${line}, not in the plan itself.`);
  else if (line) toLine(line);
}

function operationAt(line) {
  let found = null;
  for (const row of tables.operations?.rows ?? []) if (row.line && !row.file && row.line <= line && (!found || row.line > found.line)) found = row;
  const next = /^\s*\[(?!\[routes)/;
  if (!found) return null;
  for (let k = found.line; k < line; k += 1) if (next.test(editor.lines[k] ?? "")) return null;
  return found.id;
}

let editing = Promise.resolve();

// Changes of a table or of a trial: the server puts them into the text as it is now, all of them or none, as one step.
// They are made one after the other; a text that was typed in meanwhile is asked about anew.
function edit(...changes) {
  editing = editing.then(async () => {
    for (let again = 0; again < 3; again += 1) {
      const before = text.text;
      let after = before;
      try {
        for (const change of changes) ({ text: after } = await ask("POST", "/api/edit", { name, text: after, change }));
      } catch (failure) {
        notice(`Not changed: ${failure.message}`);
        if (view !== "text" && tables[view]) grids[view].show(tables[view]);
        return false;
      }
      if (text.text !== before) continue;
      text.change(after, { by: "table", caret: firstChange(before, after) });
      await check();
      return true;
    }
    return false;
  });
  return editing;
}

function firstChange(a, b) {
  let at = 0;
  while (at < a.length && a[at] === b[at]) at += 1;
  return at;
}

// Problems of reading come with the check, those of the whole with the answer; both are marked.
const wrong = { checked: [], answered: [] };

function mark() {
  const every = new Map([...wrong.checked, ...wrong.answered].map((p) => [`${p.path} ${p.what}`, p]));
  const sorted = [...every.values()].sort((a, b) => (a.level > b.level) - (a.level < b.level) || (a.line ?? 0) - (b.line ?? 0));
  editor.mark(sorted.filter((problem) => !problem.file));
  problems.show(sorted);
}

const asking = newest();

async function check() {
  let found;
  try {
    found = await asking("POST", "/api/check", { name, text: text.text });
  } catch (failure) {
    return find("count").replaceChildren(failure.message);
  }
  if (!found) return;
  wrong.checked = found.problems;
  mark();
  tables = found.tables ?? {};
  known.names = found.names ?? {};
  if (found.fields) known.fields = found.fields;
  if (view !== "text" && tables[view]) grids[view].show(tables[view]);
}

// ---- the answers

const answers = new Answers({ head: find("verdict"), key: find("key"), list: find("questions") }, {
  opened: (id, open, stale) => {
    if (open && stale && answers.numbers) answer();
    if (id === "made" && open) panel.refit();
  },
});
answers.sections(QUESTIONS.map(([id, question]) => ({ id, question })));
const panel = new MapPanel(answers.own("made"), {
  name, text: () => text.text, run,
  choose: (id) => {
    const row = tables.operations?.rows.find((one) => one.id === id);
    if (row) toRow(row);
  },
});
for (const [id, kind, words, told] of [
  ["helps", "improve", "Try every single change", "Every change is screened by the bounds, the best are simulated."],
  ["people", "balance", "Share the work out anew", "Who does what on each line, with the fewest stations."],
]) longer(id, kind, words, told);

const answering = newest();

async function answer() {
  const open = answers.open;
  find("answers").setAttribute("aria-busy", "true");
  try {
    const found = await answering("POST", "/api/answer", { name, text: text.text, open });
    if (!found || found.superseded) return;
    wrong.answered = found.problems ?? found.warnings ?? [];
    mark();
    if (!found.sections) return outdated(ERRORS);
    answers.show(found);
    panel.show(found);
    document.body.dataset.ready = "yes";
    if (answers.open.some((id) => !open.includes(id))) return answer(); // opened meanwhile
    find("answers").classList.remove("old");
    find("why").hidden = true;
    if (simulatedText !== null && simulatedText !== text.text) bar.rest("The text has changed since it was simulated.");
  } catch (failure) {
    if (failure.data?.superseded) return;
    wrong.answered = failure.data?.problems ?? [];
    mark();
    outdated(failure.status === 422 ? ERRORS : failure.message);
  } finally {
    find("answers").removeAttribute("aria-busy");
  }
}

// The plan goes by the name that it gives itself.
function titled() {
  const hit = /^\[plan\][^[]*?^name\s*=\s*"([^"\\]+)"/m.exec(text.text);
  const title = hit ? hit[1] : name;
  find("title").textContent = title;
  document.title = `${saving.unsaved ? "• " : ""}${title} · Linewright`;
}

function outdated(why) {
  find("answers").classList.add("old");
  find("why").hidden = false;
  find("why").textContent = why;
}

const soonChecked = later(90, check);
const soonAnswered = later(260, answer);
text.changed.on(({ by }) => {
  titled();
  find("undo").disabled = !text.canUndo;
  find("redo").disabled = !text.canRedo;
  if (by === "opening") return;
  versions.changed();
  if (by !== "table") soonChecked();
  soonAnswered();
});
find("undo").addEventListener("click", () => text.undo());
find("redo").addEventListener("click", () => text.redo());
document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.altKey || event.target.matches("input, select")) return;
  const key = event.key.toLowerCase();
  const back = key === "z" && !event.shiftKey;
  const on = (key === "z" && event.shiftKey) || key === "y";
  if (!back && !on) return;
  event.preventDefault();
  if (back) text.undo();
  else text.redo();
});

// ---- what takes longer

const bar = new RunBar(find("runbar"), { make });
let simulatedText = null;

// Begin a run; the one before it ends. `hear` gets what comes of it.
function run(kind, body, hear, words = "Simulating") {
  bar.run?.cancel();
  bar.begin(words);
  bar.run = new Run(kind, body, {
    progress: (data) => bar.progress(data),
    partial: (data) => { bar.progress({ message: data.said }); hear.partial?.(data); },
    done: (data) => { bar.rest(data.said ?? ""); hear.done(data); },
    failed: (data) => { bar.rest(`It did not end well: ${data.error}`); hear.failed?.(data); },
    cancelled: () => { bar.rest("Cancelled."); hear.cancelled?.(); },
  });
}

find("simulate").addEventListener("click", () => {
  const played = text.text;
  answers.unfold("rate");
  run("simulate", { name, text: played, options: { open: answers.open } }, {
    done: (data) => {
      const found = data;
      if (text.text !== played) return bar.rest("The text changed while it was simulated; simulate again.");
      simulatedText = played;
      answers.show(found);
      panel.states(found.states ?? null);
      bar.rest("Simulated.");
    },
  });
});

function longer(id, kind, words, told) {
  const box = make("div", { class: "longer" });
  const out = make("div", { class: "outcome" });
  const button = make("button", { type: "button" }, words);
  button.addEventListener("click", () => run(kind, { name, text: text.text, options: {} }, {
    done: (data) => {
      if (data.short) answers.row(id).short.textContent = data.short;
      out.innerHTML = data.html ?? ""; // made and escaped by the server
      reachable(out);
      chartsIn(out, data.charts);
      const tried = trials(data.tries, { change: (edits) => edit(...edits), versions });
      if (tried) out.prepend(tried);
    },
  }, words));
  box.append(button, make("span", { class: "note" }, ` ${told}`), out);
  answers.own(id)?.append(box);
}

// ---- saving, versions, papers

const saving = new Saving(name, text, { state: find("state"), button: find("save"), dialog: find("conflict"), notice });
const versions = new Versions(name, find("versions"), {
  text: () => text.text, saved: () => saving.disk, notice,
  start: (kind, body, hear) => run(kind, body, hear),
  take: (whole) => text.change(whole, { by: "version", caret: 0 }),
});
versions.onshow = () => {
  find("compare").open = true;
};
find("tocompare").addEventListener("click", () => {
  find("compare").open = true;
  find("compare").scrollIntoView({ behavior: calm() ? "auto" : "smooth" });
  find("compare").querySelector("summary").focus({ preventScroll: true });
});
saving.onkept = () => versions.refresh();
saving.onsaved = again;
addEventListener("online", () => again());

// What could not be answered while the server was gone is asked anew.
function again() {
  if (find("why").hidden || find("why").textContent === ERRORS) return;
  check();
  answer();
}
find("papers").addEventListener("toggle", () => { find("unsaved-note").hidden = !saving.unsaved; });
document.addEventListener("click", (event) => {
  if (!find("papers").contains(event.target)) find("papers").open = false;
});
find("papers").addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  find("papers").open = false;
  find("papers").querySelector("summary").focus();
});

function side(which) {
  document.body.dataset.side = which;
  for (const button of document.querySelectorAll("[data-to]")) {
    button.setAttribute("aria-pressed", String(button.dataset.to === which));
  }
  panel.refit();
}
for (const button of document.querySelectorAll("[data-to]")) button.addEventListener("click", () => side(button.dataset.to));
side("plan");

async function open() {
  try {
    const [kept, fields] = await Promise.all([saving.open(), ask("GET", "/api/fields")]);
    known.fields = fields;
    await versions.refresh(kept);
  } catch (wrong) {
    notice(wrong.message);
  }
  answers.unfold("made");
  await check();
  await answer();
}

open();
