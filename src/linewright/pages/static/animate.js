// A simulated day over the map: dots wait left of their operation, stand in it while it works, and fly along the wires.
// A reader who asked for less motion sees the same counts step on without flight.

import { calm, draw, make } from "./dom.js";
import { DONE, Pieces, WAITS, WORKS } from "./pieces.js";

const SPEEDS = [[30, "½ min a second"], [60, "1 min a second"], [180, "3 min a second"], [600, "10 min a second"], [1800, "30 min a second"]];
const SHOWN = 12; // dots of one pile; the number says how many there are
const FLIGHT = 420; // ms of the eye, not of the plant
const MOST_FLYING = 60;
const HOUR = 3600;

export class Animation {
  #frame = 0;
  #last = 0;
  #flying = [];

  constructor(box, map) {
    this.box = box;
    this.map = map;
    this.speed = 180;
    this.playing = false;
  }

  open(data) {
    this.stop();
    this.data = data;
    this.pieces = new Pieces(data);
    this.span = this.#span();
    this.time = this.span.begin;
    this.#controls();
    this.attach();
    this.go(this.time);
  }

  // An hour in the middle of the morning to begin with: something has begun, nobody is at lunch.
  #span() {
    const { time } = this.data.trace;
    if (!time.length) return { begin: this.data.begin, end: this.data.begin + HOUR };
    const first = Math.floor(time[0] / HOUR) * HOUR;
    const begin = Math.min(first + 2 * HOUR, Math.max(first, this.data.end - HOUR));
    return { begin, end: Math.min(begin + HOUR, this.data.end) };
  }

  #controls() {
    const { begin, end } = this.data;
    const { time } = this.data.trace;
    this.play = make("button", { type: "button", class: "play", onclick: () => (this.playing ? this.stop() : this.start()) }, "Play");
    this.clock = make("output", { class: "clock", "aria-live": "off" });
    this.said = make("p", { class: "note piles", "aria-live": "off" });
    const low = time.length ? Math.floor(time[0] / 60) * 60 : begin;
    const high = time.length ? Math.ceil(time.at(-1) / 60) * 60 : end;
    this.slider = make("input", {
      type: "range", min: low, max: high, step: 10, "aria-label": "Time of the simulated day",
      oninput: () => { this.span = { begin: low, end: high }; this.go(Number(this.slider.value)); },
    });
    this.limits = { low, high };
    const speed = make("select", { "aria-label": "Speed", onchange: (event) => { this.speed = Number(event.target.value); } },
      ...SPEEDS.map(([value, text]) => make("option", { value, selected: value === this.speed }, text)));
    const step = (by, text) => make("button", { type: "button", onclick: () => { this.stop(); this.go(Math.min(Math.max(this.time + by, low), high)); } }, text);
    const close = make("button", { type: "button", onclick: () => this.close() }, "Put away");
    const key = make("p", { class: "note pilekey" }, dot("waits"), "waits before the operation ", dot("works"), "in work, or running ", dot("done"), "done, cannot go on");
    this.box.replaceChildren(
      make("div", { class: "player" }, this.play, step(-300, "−5 min"), step(300, "+5 min"), this.clock, this.slider, speed, close),
      this.said, key);
    if (this.data.cut) this.box.append(make("p", { class: "note" }, "The day holds more records than fit; it is shown as far as they go."));
    this.box.hidden = false;
  }

  // Draw on the map that is there now; a new map after an edit takes the dots again.
  attach() {
    if (!this.pieces || !this.map.svg) return;
    this.layer?.remove();
    this.layer = draw("g", { class: "pieces", "aria-hidden": "true" });
    this.flight = draw("g", { class: "pieces", "aria-hidden": "true" });
    this.map.svg.append(this.layer, this.flight);
    this.places = this.data.names.operation.map((id) => this.map.nodes.get(id) ?? null);
    this.piles = this.places.map(() => "");
    this.groups = this.places.map((place) => (place ? this.layer.appendChild(draw("g")) : null));
    this.#draw();
  }

  start() {
    if (this.playing) return;
    this.playing = true;
    this.play.textContent = "Pause";
    if (this.time >= this.limits.high) this.go(this.limits.low);
    this.#last = performance.now();
    const tick = (now) => {
      if (!this.playing) return;
      const passed = Math.min(now - this.#last, 100);
      if (!calm() || now - this.#last >= 500) {
        this.go(Math.min(this.time + (this.speed * (calm() ? now - this.#last : passed)) / 1000, this.limits.high));
        this.#last = now;
      }
      if (this.time >= this.limits.high) return this.stop();
      this.#frame = requestAnimationFrame(tick);
    };
    this.#frame = requestAnimationFrame(tick);
  }

  stop() {
    this.playing = false;
    cancelAnimationFrame(this.#frame);
    if (this.play) this.play.textContent = "Play";
  }

  close() {
    this.stop();
    this.layer?.remove();
    this.flight?.remove();
    this.pieces = null;
    this.box.hidden = true;
    this.box.replaceChildren();
    this.onclose?.();
  }

  go(time) {
    this.time = time;
    this.pieces.go(time);
    this.slider.value = time;
    const text = `${this.data.day ?? ""} ${clock(time)}`.trim();
    this.clock.textContent = text;
    this.slider.setAttribute("aria-valuetext", text);
    if (this.playing && !calm()) this.#launch();
    this.#draw();
    this.#fly();
  }

  #launch() {
    const now = performance.now();
    for (const { from, to, gone } of this.pieces.moved.slice(-MOST_FLYING)) {
      if (this.#flying.length >= MOST_FLYING || from < 0) break;
      const a = this.places[from];
      const b = to >= 0 ? this.places[to] : null;
      if (!a || (!b && gone !== "scrapped")) continue;
      const wire = b ? this.map.wires.get(`${a.id}>${b.id}`) : null;
      const dot_ = draw("circle", { class: gone ? "gone" : "flies", r: 4 });
      this.flight.append(dot_);
      this.#flying.push({ dot: dot_, wire, long: wire?.getTotalLength(), a, b: b ?? { x: a.x, y: a.y + 34 }, now });
    }
  }

  #fly() {
    const now = performance.now();
    this.#flying = this.#flying.filter((one) => {
      const part = (now - one.now) / FLIGHT;
      if (part >= 1 || !this.playing) {
        one.dot.remove();
        return false;
      }
      const at = one.wire
        ? one.wire.getPointAtLength(one.long * part)
        : { x: one.a.x + (one.b.x - one.a.x) * part, y: one.a.y + (one.b.y - one.a.y) * part };
      one.dot.setAttribute("cx", at.x);
      one.dot.setAttribute("cy", at.y);
      return true;
    });
  }

  #draw() {
    const counts = this.pieces.counts();
    counts.forEach((count, k) => {
      const group = this.groups[k];
      const mark = count.join();
      if (!group || mark === this.piles[k]) return;
      this.piles[k] = mark;
      group.replaceChildren(...pile(this.places[k], count));
    });
    this.#say(counts);
  }

  #say(counts) {
    const piled = counts.map((count, k) => ({ id: this.data.names.operation[k], waits: count[WAITS] + count[DONE] }))
      .filter(({ waits }) => waits > 1).sort((a, b) => b.waits - a.waits).slice(0, 3);
    const open = [...this.pieces.lots.values()].length;
    const down = [...this.pieces.down].map((k) => this.data.names.station[k]).filter(Boolean);
    const names = piled.map(({ id, waits }) => `${waits} at ${this.name?.(id) ?? id}`).join(", ");
    const stopped = down.length ? ` Stopped: ${down.join(", ").replaceAll("_", " ")}.` : "";
    const text = `${open} open pieces, ${this.pieces.finished} finished since the day began. ${names ? `Most wait: ${names}.` : "Nothing piles up."}${stopped}`;
    if (this.said.textContent !== text) this.said.textContent = text;
  }
}

// Dots of one operation: those that wait in rows of four to the left, those in work in the symbol, and the numbers.
function pile({ x, y }, count) {
  const found = [];
  const waiting = count[WAITS];
  for (let k = 0; k < Math.min(waiting, SHOWN); k += 1) {
    found.push(draw("circle", { class: "waits", r: 3.6, cx: x - 23 - 8 * (k % 4), cy: y + 11 - 8 * Math.floor(k / 4) }));
  }
  if (waiting > 3) found.push(draw("text", { class: "waits", x: x - 19, y: y - 10 }, String(waiting)));
  for (let k = 0; k < Math.min(count[WORKS], 6); k += 1) {
    found.push(draw("circle", { class: "works", r: 4.4, cx: x - 8 + 8 * (k % 3), cy: y + 13 + 9 * Math.floor(k / 3) }));
  }
  if (count[WORKS] > 6) found.push(draw("text", { class: "works", x: x + 14, y: y + 22 }, String(count[WORKS])));
  for (let k = 0; k < Math.min(count[DONE], 4); k += 1) {
    found.push(draw("rect", { class: "done", width: 7, height: 7, x: x + 17, y: y + 4 - 9 * k }));
  }
  if (count[DONE] > 4) found.push(draw("text", { class: "done", x: x + 26, y: y + 11 }, String(count[DONE])));
  return found;
}

const dot = (kind) => draw("svg", { viewBox: "-6 -6 12 12", width: 12, height: 12, class: "pieces", "aria-hidden": "true" },
  kind === "done" ? draw("rect", { class: kind, x: -4, y: -4, width: 8, height: 8 }) : draw("circle", { class: kind, r: 4.4 }));

export function clock(seconds) {
  const day = ((seconds % 86400) + 86400) % 86400;
  const two = (n) => String(Math.floor(n)).padStart(2, "0");
  return `${two(day / 3600)}:${two((day % 3600) / 60)}`;
}
