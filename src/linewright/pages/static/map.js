// The process map: moved and enlarged with pointer, touch or keys, an operation chosen and followed to its text.

import { calm, make } from "./dom.js";

const SYMBOL = 15;

export class ProcessMap {
  #view = null;
  #whole = null;
  #held = new Map();

  // `choose(id)` is called when an operation is taken up.
  constructor(box, choose) {
    this.box = box;
    this.choose = choose;
    this.nodes = new Map();
    this.frame = make("div", { class: "mapframe" });
    this.box.append(this.frame);
    this.#listen();
  }

  show(svg) {
    if (svg === this.shown) return false;
    const first = !this.shown;
    this.shown = svg;
    const read = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
    if (read.nodeName !== "svg") return false;
    this.svg = document.importNode(read, true);
    for (const name of ["width", "height"]) this.svg.removeAttribute(name);
    this.svg.setAttribute("role", "group");
    const [, , width, height] = this.svg.getAttribute("viewBox").split(" ").map(Number);
    const before = this.#whole;
    this.#whole = { x: 0, y: 0, width, height };
    this.frame.replaceChildren(this.svg);
    if (first || !before || before.width !== width || before.height !== height) this.#view = null;
    this.#nodes();
    this.#look(this.#view ?? this.#fit());
    return true;
  }

  #nodes() {
    const chosen = this.chosen;
    this.nodes.clear();
    for (const group of this.svg.querySelectorAll("g.node")) {
      const id = group.dataset.node;
      const symbol = group.querySelector(".sym");
      const box = symbol.getBBox();
      const operation = Boolean(group.querySelector("text.n"));
      this.nodes.set(id, { id, group, symbol, x: box.x + box.width / 2, y: box.y + box.height / 2, operation });
      if (!operation) continue;
      group.setAttribute("role", "button");
      group.setAttribute("tabindex", "-1");
      const title = group.querySelector("title");
      group.setAttribute("aria-label", title.textContent);
    }
    this.wires = new Map();
    for (const path of this.svg.querySelectorAll("path[data-from]")) {
      this.wires.set(`${path.dataset.from}>${path.dataset.to}`, path);
    }
    const first = this.nodes.get(chosen) ?? [...this.nodes.values()].find((node) => node.operation);
    first?.group.setAttribute("tabindex", "0");
    if (this.nodes.has(chosen)) this.mark(chosen);
  }

  // What the map would look like if all of it, or a readable part, filled the frame.
  #fit() {
    const { clientWidth: wide, clientHeight: high } = this.frame;
    const { width, height } = this.#whole;
    const scale = Math.max(Math.min(wide / width, high / height), Math.min(wide / width, 0.62));
    return { x: 0, y: 0, width: wide / (scale || 1), height: high / (scale || 1) };
  }

  #look(view) {
    const { width, height } = this.#whole;
    const scale = Math.min(Math.max(view.width, 120), Math.max(width, view.height) * 3) / view.width;
    const w = view.width * scale;
    const h = view.height * scale;
    const spare = 60;
    const x = Math.min(Math.max(view.x, Math.min(-spare, width - w + spare)), Math.max(width - w + spare, -spare));
    const y = Math.min(Math.max(view.y, Math.min(-spare, height - h + spare)), Math.max(height - h + spare, -spare));
    this.#view = w >= width ? { x: (width - w) / 2, y, width: w, height: h } : { x, y, width: w, height: h };
    if (h >= height) this.#view.y = Math.min(0, (height - h) / 2);
    this.svg.setAttribute("viewBox", `${this.#view.x} ${this.#view.y} ${w} ${h}`);
  }

  whole() {
    const { width, height } = this.#whole;
    const { clientWidth: wide, clientHeight: high } = this.frame;
    const scale = Math.min(wide / width, high / height) || 1;
    this.#look({ x: 0, y: 0, width: wide / scale, height: high / scale });
  }

  refit() {
    if (!this.svg) return;
    const { clientWidth: wide, clientHeight: high } = this.frame;
    if (!wide || !high) return;
    const scale = this.#view.width / wide;
    this.#look(this.sized ? { ...this.#view, height: high * scale } : this.#fit());
  }

  // Enlarge by `by` around a point of the frame, by default its middle.
  zoom(by, at = null) {
    this.sized = true;
    const { clientWidth: wide, clientHeight: high } = this.frame;
    const { x, y, width, height } = this.#view;
    const px = at ? at.x / wide : 0.5;
    const py = at ? at.y / high : 0.5;
    const w = width / by;
    const h = height / by;
    this.#look({ x: x + (width - w) * px, y: y + (height - h) * py, width: w, height: h });
  }

  move(dx, dy) {
    this.sized = true;
    const scale = this.#view.width / this.frame.clientWidth;
    this.#look({ ...this.#view, x: this.#view.x - dx * scale, y: this.#view.y - dy * scale });
  }

  #listen() {
    const { frame } = this;
    const place = (event) => {
      const box = frame.getBoundingClientRect();
      return { x: event.clientX - box.left, y: event.clientY - box.top };
    };
    frame.addEventListener("pointerdown", (event) => {
      this.#held.set(event.pointerId, place(event));
      this.dragged = false;
    });
    frame.addEventListener("pointermove", (event) => this.#drag(event.pointerId, place(event), event));
    for (const name of ["pointerup", "pointercancel", "pointerleave"]) {
      frame.addEventListener(name, (event) => this.#held.delete(event.pointerId));
    }
    frame.addEventListener("wheel", (event) => {
      if (!event.ctrlKey && !event.metaKey) return;
      event.preventDefault();
      this.zoom(Math.exp(-event.deltaY / 300), place(event));
    }, { passive: false });
    frame.addEventListener("click", (event) => {
      const group = event.target.closest("g.node");
      if (!group || this.dragged || !this.nodes.get(group.dataset.node)?.operation) return;
      this.mark(group.dataset.node);
      this.choose(group.dataset.node);
    });
    frame.addEventListener("keydown", (event) => this.#key(event));
    new ResizeObserver(() => this.refit()).observe(frame);
  }

  #drag(pointer, now, event) {
    const before = this.#held.get(pointer);
    if (!before) return;
    const far = Math.hypot(now.x - before.x, now.y - before.y);
    if (this.#held.size === 2) {
      const other = [...this.#held].find(([id]) => id !== pointer)[1];
      const was = Math.hypot(before.x - other.x, before.y - other.y);
      this.zoom(Math.hypot(now.x - other.x, now.y - other.y) / Math.max(was, 1), other);
    } else {
      if (!this.dragged && far < 4) return;
      if (!this.dragged) this.frame.setPointerCapture(event.pointerId);
      this.move(now.x - before.x, now.y - before.y);
    }
    this.dragged = true;
    this.#held.set(pointer, now);
  }

  #key(event) {
    const group = event.target.closest("g.node");
    const way = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowDown: [0, 1], ArrowUp: [0, -1] }[event.key];
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (way && group) this.stand(this.#beside(this.nodes.get(group.dataset.node), way));
    else if ((event.key === "Home" || event.key === "End") && group) this.stand(this.#end(event.key === "End"));
    else if ((event.key === "Enter" || event.key === " ") && group) {
      this.mark(group.dataset.node);
      this.choose(group.dataset.node);
    } else if (event.key === "+" || event.key === "=") this.zoom(1.3);
    else if (event.key === "-") this.zoom(1 / 1.3);
    else if (event.key === "0") this.whole();
    else return;
    event.preventDefault();
  }

  #end(last) {
    const every = [...this.nodes.values()].filter((node) => node.operation);
    return last ? every.at(-1) : every[0];
  }

  // The nearest operation that way; sideways distance counts three times. Past the end of a band, the next in order.
  #beside(from, [dx, dy]) {
    let best = null;
    let least = Infinity;
    const every = [...this.nodes.values()].filter((node) => node.operation);
    for (const node of every) {
      const along = (node.x - from.x) * dx + (node.y - from.y) * dy;
      const across = Math.abs((node.x - from.x) * dy) + Math.abs((node.y - from.y) * dx);
      if (along < 8 || (dx && across > 70)) continue;
      const far = along + 3 * across;
      if (far < least) { least = far; best = node; }
    }
    if (best || !dx) return best ?? from;
    return every[every.indexOf(from) + dx] ?? from;
  }

  stand(node) {
    if (!node) return;
    this.svg.querySelector('g.node[tabindex="0"]')?.setAttribute("tabindex", "-1");
    node.group.setAttribute("tabindex", "0");
    this.reveal(node);
    node.group.focus({ preventScroll: true });
  }

  reveal({ x, y }) {
    const view = this.#view;
    const edge = { x: Math.min(110, view.width / 3), y: Math.min(90, view.height / 3) };
    const to = { ...view };
    if (x < view.x + edge.x || x > view.x + view.width - edge.x) to.x = x - view.width / 2;
    if (y < view.y + edge.y || y > view.y + view.height - edge.y) to.y = y - view.height / 2;
    if (to.x === view.x && to.y === view.y) return;
    this.sized = true;
    if (calm()) this.#look(to);
    else this.#glide(view, to);
  }

  #glide(from, to) {
    const begin = performance.now();
    const step = (now) => {
      const part = Math.min((now - begin) / 180, 1);
      const at = 1 - (1 - part) ** 3;
      this.#look({ ...from, x: from.x + (to.x - from.x) * at, y: from.y + (to.y - from.y) * at });
      if (part < 1) requestAnimationFrame(step);
    };
    requestAnimationFrame(step);
  }

  // Show which operation the text stands at.
  mark(id) {
    this.chosen = id;
    for (const node of this.nodes.values()) node.group.classList.toggle("chosen", node.id === id);
  }
}

export { SYMBOL };
