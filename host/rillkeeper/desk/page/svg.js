// Elements of a drawing, and the colours of the style sheet.

const SPACE = "http://www.w3.org/2000/svg";

export function make(name, attributes = {}, ...inside) {
  const element = document.createElementNS(SPACE, name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value !== undefined && value !== null) element.setAttribute(key, value);
  }
  element.append(...inside);
  return element;
}

export function html(name, attributes = {}, ...inside) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value !== undefined && value !== null) element.setAttribute(key, value);
  }
  element.append(...inside);
  return element;
}

export function text(x, y, words, attributes = {}) {
  return make("text", { x: round(x), y: round(y), ...attributes }, words);
}

export function line(x1, y1, x2, y2, attributes = {}) {
  return make("line", { x1: round(x1), y1: round(y1), x2: round(x2), y2: round(y2), ...attributes });
}

export function path(points, attributes = {}) {
  const d = points.map(([x, y], n) => `${n ? "L" : "M"}${round(x)} ${round(y)}`).join("");
  return make("path", { d, ...attributes });
}

export function round(value) {
  return Math.round(value * 10) / 10;
}

const widths = new WeakMap();
const colours = new Map();
let measured = {};

// What was measured is not measured again for each picture: that would lay the page out anew.
// Forgets it, where the window or its colours have changed.
export function forget() {
  measured = {};
  colours.clear();
}

// The width of a drawing's place: it is drawn as wide, so that its letters keep their size.
export function widthOf(svg, least = 260) {
  const kept = widths.get(svg);
  if (kept?.measured === measured) return kept.width;
  const width = Math.max(least, svg.parentElement.clientWidth || least);
  widths.set(svg, { measured, width });
  return width;
}

// A drawing begun anew.
export function begin(svg, height, least = 260) {
  const width = widthOf(svg, least);
  svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
  svg.setAttribute("width", width);
  svg.setAttribute("height", height);
  svg.replaceChildren();
  return width;
}

export function colour(name) {
  if (!colours.has(name)) colours.set(name, getComputedStyle(document.documentElement).getPropertyValue(name).trim());
  return colours.get(name);
}
