// The charts of the answers: drawn when they come into sight, in the colours of the page. The charting library is the
// server's own copy; under the page's policy it evaluates nothing and loads nothing.

import { make } from "./dom.js";

let library = null;

function loaded() {
  library ??= new Promise((done, failed) => {
    const script = document.createElement("script");
    script.src = "/vendor/vega.js";
    script.onload = () => done(globalThis.vegaEmbed);
    script.onerror = () => failed(new Error("The charts cannot be drawn: their library is not installed."));
    document.head.append(script);
  });
  return library;
}

let palette = null;

// The palette's light values by colour, to be named as variables, so that a chart follows light and dark.
function colours() {
  if (palette) return palette;
  palette = new Map();
  for (const sheet of document.styleSheets) {
    if (!sheet.href?.endsWith("/palette.css")) continue;
    const root = [...sheet.cssRules].find((rule) => rule.selectorText === ":root");
    for (const name of root?.style ?? []) {
      const value = root.style.getPropertyValue(name).trim().toLowerCase();
      if (name.startsWith("--lw-") && !palette.has(value)) palette.set(value, name);
    }
  }
  return palette;
}

function themed(value) {
  if (typeof value === "string") {
    const name = value.startsWith("#") ? colours().get(value.toLowerCase()) : null;
    return name ? `var(${name})` : value;
  }
  if (Array.isArray(value)) return value.map(themed);
  if (value && typeof value === "object") {
    return Object.fromEntries(Object.entries(value).map(([key, part]) => [key, key === "values" ? part : themed(part)]));
  }
  return value;
}

const refused = () => Promise.reject(new Error("this page loads nothing"));

async function drawn(place, spec) {
  try {
    const embed = await loaded();
    const { $schema, ...own } = themed(spec);
    const made = await embed(place, own, {
      mode: "vega-lite", ast: true, actions: false, renderer: "svg", defaultStyle: false,
      tooltip: tell, loader: { load: refused, sanitize: refused },
    });
    place.querySelector("svg")?.setAttribute("aria-hidden", "true");
    place.dataset.drawn = "yes";
    return made;
  } catch (wrong) {
    place.textContent = wrong.message;
    return null;
  }
}

let teller = null;

// What the pointer rests on, told beside it: the names and values that the chart gives.
function tell(_handler, event, _item, value) {
  teller ??= document.body.appendChild(make("div", { class: "teller", "aria-hidden": "true" }));
  teller.hidden = value === null || value === undefined || value === "";
  if (teller.hidden) return;
  const rows = typeof value === "object" ? Object.entries(value) : [["", value]];
  teller.replaceChildren(...rows.map(([name, said]) => make("div", {}, name ? make("span", {}, name) : null, String(said))));
  const { offsetWidth: wide, offsetHeight: high } = teller;
  teller.style.left = `${Math.max(4, Math.min(event.clientX + 14, innerWidth - wide - 8))}px`;
  teller.style.top = `${event.clientY + 18 + high > innerHeight ? event.clientY - high - 12 : event.clientY + 18}px`;
}

const watch = new IntersectionObserver((seen) => {
  for (const { target, isIntersecting } of seen) {
    if (!isIntersecting) continue;
    watch.unobserve(target);
    drawn(target, target.spec);
  }
}, { rootMargin: "200px" });

// Fill the places of a piece of HTML with their charts. Where a chart was drawn `before`, it stays until the new one is
// there, so that nothing jumps under the reader.
export function chartsIn(box, charts, before = new Map()) {
  for (const place of box.querySelectorAll("[data-chart]")) {
    const chart = charts?.[place.dataset.chart];
    if (!chart) continue;
    place.spec = chart.spec;
    const old = before.get(place.dataset.chart);
    if (old) place.replaceChildren(...old.childNodes);
    if (old && JSON.stringify(old.spec) === JSON.stringify(chart.spec)) {
      place.dataset.drawn = "yes";
      continue;
    }
    watch.observe(place);
  }
}
