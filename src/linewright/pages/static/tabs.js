// Tabs after the pattern of the ARIA practices: arrows move, the panel follows.

export function tabs(list, chosen) {
  const all = [...list.querySelectorAll('[role="tab"]')];
  const choose = (tab, focus = false) => {
    for (const one of all) {
      const on = one === tab;
      one.setAttribute("aria-selected", String(on));
      one.setAttribute("tabindex", on ? "0" : "-1");
      document.getElementById(one.getAttribute("aria-controls")).hidden = !on;
    }
    if (focus) tab.focus();
    chosen(tab.dataset.view);
  };
  list.addEventListener("click", (event) => {
    const tab = event.target.closest('[role="tab"]');
    if (tab) choose(tab);
  });
  list.addEventListener("keydown", (event) => {
    const way = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    const at = all.indexOf(event.target);
    if (!way || at < 0) return;
    event.preventDefault();
    choose(all[(at + way + all.length) % all.length], true);
  });
  return (view) => choose(all.find((tab) => tab.dataset.view === view));
}
