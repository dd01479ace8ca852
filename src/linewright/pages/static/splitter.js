// The line between the plan and the answers: dragged, or moved with the arrow keys; remembered.

import { keep, kept } from "./storage.js";

const LEAST = 24;
const MOST = 76;

export function splitter(line, body) {
  const set = (percent) => {
    const part = Math.min(Math.max(percent, LEAST), MOST);
    body.style.setProperty("--plan", `${part}%`);
    line.setAttribute("aria-valuenow", Math.round(part));
    keep("divider", part);
    return part;
  };
  let part = set(kept("divider") ?? 44);
  line.addEventListener("pointerdown", (event) => {
    line.setPointerCapture(event.pointerId);
    event.preventDefault();
  });
  line.addEventListener("pointermove", (event) => {
    if (line.hasPointerCapture(event.pointerId)) part = set((100 * event.clientX) / innerWidth);
  });
  line.addEventListener("keydown", (event) => {
    const way = { ArrowLeft: -2, ArrowRight: 2 }[event.key];
    if (!way) return;
    event.preventDefault();
    part = set(part + way);
  });
}
