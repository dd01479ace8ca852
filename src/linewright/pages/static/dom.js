// Elements made from words: make("p", { class: "note" }, "text"). Text is always set as text, never as markup.

export function make(tag, attributes = {}, ...children) {
  return dress(document.createElement(tag), attributes, children);
}

export function draw(tag, attributes = {}, ...children) {
  return dress(document.createElementNS("http://www.w3.org/2000/svg", tag), attributes, children);
}

function dress(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

export const find = (id) => document.getElementById(id);

// Call `act` once, `wait` milliseconds after the last of several calls.
export function later(wait, act) {
  let timer = 0;
  const call = (...given) => {
    clearTimeout(timer);
    timer = setTimeout(() => act(...given), wait);
  };
  call.drop = () => clearTimeout(timer);
  return call;
}

export const calm = () => matchMedia("(prefers-reduced-motion: reduce)").matches;
