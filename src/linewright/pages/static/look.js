// Light, dark, or as the system asks: one button, remembered.

import { keep, kept } from "./storage.js";

const LOOKS = ["system", "light", "dark"];

export function wear(look = kept("look") ?? "system") {
  if (look === "system") document.documentElement.removeAttribute("data-theme");
  else document.documentElement.setAttribute("data-theme", look);
  return look;
}

export function lookButton(button) {
  const say = (look) => { button.textContent = { system: "Look: system", light: "Look: light", dark: "Look: dark" }[look]; };
  say(wear());
  button.addEventListener("click", () => {
    const look = LOOKS[(LOOKS.indexOf(kept("look") ?? "system") + 1) % LOOKS.length];
    keep("look", look);
    say(wear(look));
  });
}
