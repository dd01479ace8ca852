// The list of plans: a new plan, and the look.

import { ask, at } from "./api.js";
import { find } from "./dom.js";
import { lookButton } from "./look.js";

lookButton(find("look"));

for (const time of document.querySelectorAll("time")) {
  const when = new Date(time.dateTime);
  if (!Number.isNaN(when.valueOf())) time.textContent = when.toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
}

find("new")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const field = find("newname");
  try {
    const made = await ask("POST", "/api/plans", { name: field.value.trim() });
    location.assign(`/plan/${at(made.name)}`);
  } catch (wrong) {
    find("newsaid").textContent = wrong.message;
    field.focus();
  }
});
