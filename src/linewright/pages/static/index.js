// The list of plans: a new plan, and the look.

import { ask, at } from "./api.js";
import { find } from "./dom.js";
import { lookButton } from "./look.js";

lookButton(find("look"));

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
