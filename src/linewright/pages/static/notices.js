// Short notices at the foot of the page, read aloud, gone after a while unless they ask something.

import { make } from "./dom.js";

const STAY = 8000;

export function noticesIn(box) {
  return (text, choices = null) => {
    const row = make("div", { class: "notice" }, make("p", {}, text));
    if (choices) {
      for (const [name, act] of Object.entries(choices)) row.append(make("button", { type: "button", onclick: act }, name));
    } else {
      row.append(make("button", { type: "button", onclick: () => row.remove() }, "Close"));
      setTimeout(() => row.remove(), STAY);
    }
    box.append(row);
    return row;
  };
}
