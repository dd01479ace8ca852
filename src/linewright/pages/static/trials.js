// The best single changes, each to be tried at once: the text as it stands is kept as a version, the change is written
// into the text as one step of its history, and the two are compared.

import { make } from "./dom.js";

// `change(edits)` writes edits into the text and says whether it could; `versions` keeps and compares.
export function trials(tries, { change, versions }) {
  if (!tries?.length) return null;
  const rows = tries.map((trial) => {
    const button = make("button", { type: "button", "aria-label": `Try it: ${trial.what}` }, "Try it");
    button.addEventListener("click", async () => {
      button.disabled = true;
      const label = await versions.aside(`before ${trial.what}`);
      if (label && (await change(trial.edits))) await versions.compare(label);
      button.disabled = false;
    });
    const sign = /^[-−]/.test(trial.gain) ? "" : "+";
    const gain = trial.gain ? `${trial.verdict}, ${sign}${trial.gain} a day` : trial.verdict;
    const capital = trial.assumes && trial.assumes[0].toUpperCase() + trial.assumes.slice(1);
    const assumes = capital ? make("small", { class: "note" }, `${capital}.`) : null;
    return make("li", {}, button, make("span", {}, make("b", {}, trial.what), `: ${gain} `, assumes));
  });
  return make("div", { class: "trials" }, make("h3", {}, "Try one of them in the text"), make("ul", {}, ...rows));
}
