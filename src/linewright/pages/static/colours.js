// The map coloured by what an operation is, how much of its station's time is used, what it costs, or what it does all
// day. A colour never stands alone: the number is written beside the symbol, and the legend names every step.

import { draw, make } from "./dom.js";

const USE = [
  [0.25, "less than 25 %"], [0.5, "25 to 50 %"], [0.7, "50 to 70 %"], [0.85, "70 to 85 %"], [Infinity, "85 % and more"],
];
const COST = [0.25, 0.5, 0.7, 0.9, Infinity];
const STATES = [
  "working", "setting up", "cleaning", "starting up", "moving", "standing", "stopped", "blocked", "short of parts",
  "no crew", "no tool", "unmanned", "free",
];
const ALONE = new Set(["unmanned"]);
const CLASS = {
  "working": "working", "setting up": "setting-up", "cleaning": "cleaning", "starting up": "start-up",
  "moving": "moving", "standing": "standing", "stopped": "down", "down": "down", "blocked": "blocked",
  "short of parts": "short", "no crew": "no-crew", "no tool": "no-tool", "unmanned": "free", "free": "free",
};

export const WAYS = [
  ["kind", "what it is"], ["use", "use of its station"], ["cost", "what it costs"], ["state", "what it does all day"],
];

export class MapColours {
  constructor(map, legend) {
    this.map = map;
    this.legend = legend;
    this.way = "kind";
    this.operations = [];
    this.states = null;
    this.money = "";
  }

  paint() {
    const { svg } = this.map;
    if (!svg) return;
    svg.querySelectorAll(".badge").forEach((badge) => badge.remove());
    for (const node of this.map.nodes.values()) node.group.classList.remove(...STEPS);
    svg.classList.toggle("plain", this.way !== "kind");
    const told = { kind: () => this.#kinds(), use: () => this.#use(), cost: () => this.#cost(), state: () => this.#states() };
    this.legend.replaceChildren(...told[this.way]());
  }

  #kinds() { return []; }

  #each(act) {
    for (const operation of this.operations) {
      const node = this.map.nodes.get(operation.id);
      if (node) act(node, operation);
    }
  }

  #use() {
    this.#each((node, { use }) => {
      if (use === null || use === undefined) return;
      node.group.classList.add(`step-${USE.findIndex(([most]) => use < most)}`);
      this.#badge(node, `${Math.round(100 * use)} %`);
    });
    return [title("Share of the hours of its station that is taken"), ...USE.map(([, text], k) => row(`step-${k}`, text))];
  }

  #cost() {
    const most = Math.max(...this.operations.map(({ cost }) => cost ?? 0), 0);
    this.#each((node, { cost }) => {
      if (cost === null || cost === undefined || most <= 0) return;
      node.group.classList.add(`step-${COST.findIndex((part) => cost / most < part)}`);
      this.#badge(node, cost.toFixed(2));
    });
    const upto = (part) => (part * most).toFixed(2);
    const texts = COST.map((part, k) =>
      k === 0 ? `less than ${upto(part)}` : part === Infinity ? `${upto(COST[k - 1])} and more` : `${upto(COST[k - 1])} to ${upto(part)}`);
    return [title(`${this.money} for one product, with the material that is taken there`), ...texts.map((text, k) => row(`step-${k}`, text))];
  }

  #states() {
    if (!this.states) return [make("p", { class: "note" }, "Simulate first: only a simulation knows what a station does all day.")];
    const seen = new Set();
    this.#each((node, { id }) => {
      const shares = Object.entries(this.states[id] ?? {}).filter(([name, share]) => share > 0.005 && !ALONE.has(name));
      if (!shares.length) return;
      const whole = shares.reduce((sum, [, share]) => sum + share, 0);
      shares.sort(([a], [b]) => STATES.indexOf(a) - STATES.indexOf(b));
      shares.forEach(([name]) => seen.add(name));
      this.#bar(node, shares);
      const [name, share] = shares.reduce((a, b) => (b[1] > a[1] ? b : a));
      this.#badge(node, name, `${Math.round((100 * share) / whole)} %`);
    });
    const known = STATES.filter((name) => seen.has(name));
    return [title("Shares of the time of its station, hours when nobody is there not counted; the largest is written"), ...known.map((name) => row(`state-${CLASS[name]}`, name))];
  }

  #badge(node, text, below = "") {
    node.group.append(draw("text", { class: "badge", x: node.x + 18, y: node.y - 4 }, text));
    if (below) node.group.append(draw("text", { class: "badge", x: node.x + 18, y: node.y + 12 }, below));
  }

  #bar(node, shares) {
    const wide = 44;
    let x = node.x - wide / 2;
    const whole = shares.reduce((sum, [, share]) => sum + share, 0);
    for (const [name, share] of shares) {
      const width = (wide * share) / whole;
      node.group.append(draw("rect", { class: `badge state-${CLASS[name]}`, x, y: node.y + 15.5, width, height: 4.5 }));
      x += width;
    }
  }
}

const STEPS = [0, 1, 2, 3, 4].map((k) => `step-${k}`);

const title = (text) => make("strong", {}, text);

function row(kind, text) {
  const swatch = draw("svg", { viewBox: "0 0 14 14", width: 14, height: 14, "aria-hidden": "true", class: "swatch" },
    draw("rect", { class: kind, x: 1, y: 1, width: 12, height: 12 }));
  return make("span", { class: "key" }, swatch, text);
}
