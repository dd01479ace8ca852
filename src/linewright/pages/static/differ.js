// Two texts side by side, line by line, with what was taken out on the left and what came in on the right.

import { make } from "./dom.js";
import { compared, near } from "./lines.js";

export function sideBySide(before, after, [left, right]) {
  const rows = near(compared(before, after));
  const body = make("tbody");
  for (let k = 0; k < rows.length; k += 1) {
    const row = rows[k];
    if (row.kind === "gap") {
      body.append(make("tr", { class: "gap" }, make("td", { colspan: 4 }, `${row.count} lines are the same`)));
    } else if (row.kind === "same") {
      body.append(line(row, row, "same"));
    } else {
      const out = [];
      const into = [];
      while (k < rows.length && rows[k].kind === "out") out.push(rows[k++]);
      while (k < rows.length && rows[k].kind === "in") into.push(rows[k++]);
      k -= 1;
      for (let i = 0; i < Math.max(out.length, into.length); i += 1) body.append(line(out[i], into[i], "changed"));
    }
  }
  return make("div", { class: "scroll differ", tabindex: "0", role: "region", "aria-label": `${left} beside ${right}` },
    make("table", {}, make("colgroup", {}, make("col", { class: "narrow" }), make("col"), make("col", { class: "narrow" }), make("col")), make("thead", {}, make("tr", {},
      make("th", { scope: "col", colspan: 2 }, left), make("th", { scope: "col", colspan: 2 }, right))), body));
}

function line(a, b, kind) {
  const cell = (row, number, side) => [
    make("td", { class: "at" }, row ? String(row[number]) : ""),
    make("td", { class: kind === "changed" && row ? side : "" }, row ? mark(side, kind) + row.text : ""),
  ];
  return make("tr", {}, ...cell(a, "a", "out"), ...cell(b, "b", "in"));
}

const mark = (side, kind) => (kind === "same" ? "  " : side === "out" ? "− " : "+ ");
