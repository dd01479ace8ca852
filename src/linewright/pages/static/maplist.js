// The map as a list, for whoever reads rather than looks: every operation in order with its numbers, leading to its text.

import { make } from "./dom.js";

export function mapList(operations, money, choose) {
  const percent = (value) => (value === null || value === undefined ? "" : `${Math.round(100 * value)} %`);
  const rows = operations.map((operation) => make("tr", {},
    make("td", { class: "num" }, String(operation.number)),
    make("td", {}, make("button", { type: "button", class: "link", onclick: () => choose(operation.id) }, operation.name)),
    make("td", {}, (operation.station ?? "").replaceAll("_", " ")),
    make("td", { class: "num" }, percent(operation.use)),
    make("td", { class: "num" }, operation.cost === null || operation.cost === undefined ? "" : operation.cost.toFixed(2)),
    make("td", {}, operation.limits ? "limits the rate" : "")));
  const head = ["", "operation", "station", "use of its station", `cost, ${money}`, ""];
  return make("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "The map as a list" },
    make("table", {}, make("caption", {}, "The operations in order; a name leads to its text"),
      make("thead", {}, make("tr", {}, ...head.map((text, k) => (text ? make("th", { scope: "col", class: [0, 3, 4].includes(k) ? "num" : null }, text) : make("td", {}))))),
      make("tbody", {}, ...rows)));
}
