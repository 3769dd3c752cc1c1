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

// The width of a drawing's place: it is drawn as wide, so that its letters keep their size.
export function widthOf(svg, least = 260) {
  return Math.max(least, svg.parentElement.clientWidth || least);
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
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}
