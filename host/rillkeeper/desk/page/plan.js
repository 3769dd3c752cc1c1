// The plot from above, with the depth that a night's sets lay on it.

import { begin, colour, line, make, round, text, widthOf } from "./svg.js";

const EDGE = 10;

function ramp() {
  return [0, 1, 2, 3, 4].map((n) => {
    const hex = colour(`--depth-${n}`).slice(1);
    return [0, 2, 4].map((k) => parseInt(hex.slice(k, k + 2), 16));
  });
}

export function drawPlan(figure, answer, options = {}) {
  const svg = figure.querySelector("svg");
  const canvas = figure.querySelector("canvas");
  const { plot } = answer;
  const room = widthOf(svg, 220);
  const scale = Math.min((room - 2 * EDGE) / plot.width, 300 / plot.depth);
  const height = round(plot.depth * scale + 2 * EDGE + 34);
  begin(svg, height, 220);
  const X = (m) => EDGE + m * scale;
  const Y = (m) => EDGE + (plot.depth - m) * scale;
  const map = plot.map;
  const top = Math.max(1e-9, ...map.map((row) => Math.max(...row)));
  paint(canvas, map, top, X(0), Y(plot.depth), plot.width * scale, plot.depth * scale, room, height);

  svg.append(make("rect", { x: X(0), y: round(Y(plot.depth)), width: round(plot.width * scale), height: round(plot.depth * scale), class: "edge" }));
  if (plot.throw > 0) {
    const clip = `clip-${svg.closest("[id]").id}`;
    svg.append(make("clipPath", { id: clip }, make("rect", { x: 0, y: 0, width: room, height: height - 36 })));
    svg.append(make("g", { "clip-path": `url(#${clip})` }, sweep(plot, X, Y, scale)));
  }
  const stand = make("g", { class: "grip move", "data-drag": "stand" });
  stand.append(make("circle", { cx: round(X(plot.x)), cy: round(Y(plot.y)), r: 14, class: "hit" }));
  stand.append(make("circle", { cx: round(X(plot.x)), cy: round(Y(plot.y)), r: 5, class: "dot" }));
  svg.append(stand);
  key(svg, top, plot, room, height);
  const state = (options.states || {}).plot;
  if (state && state !== "good") {
    const badge = make("g", { class: `badge ${state}` }, make("title", {}, (options.shorts || {}).plot || ""));
    badge.append(make("circle", { cx: X(0) + 12, cy: Y(plot.depth) + 12, r: 8 }), text(X(0) + 12, Y(plot.depth) + 16, "!", { "text-anchor": "middle" }));
    svg.append(badge);
  }
  const flat = map.flat();
  const mean = flat.reduce((sum, one) => sum + one, 0) / flat.length;
  svg.setAttribute("aria-label", `The plot from above: ${mean.toFixed(1)} ${plot.unit} a night on average, ${top.toFixed(1)} at most; ${plot.need.toFixed(1)} are needed on a usual day.`);
  return { toX: (px) => (px - EDGE) / scale, toY: (px) => plot.depth - (px - EDGE) / scale };
}

function paint(canvas, map, top, x, y, wide, high, width, height) {
  const sharp = window.devicePixelRatio || 1;
  canvas.width = width * sharp;
  canvas.height = height * sharp;
  canvas.style.width = `${width}px`;
  canvas.style.height = `${height}px`;
  const small = document.createElement("canvas");
  small.width = map[0].length;
  small.height = map.length;
  const pen = small.getContext("2d");
  const pixels = pen.createImageData(small.width, small.height);
  const colours = ramp();
  map.forEach((row, r) => row.forEach((depth, c) => {
    const share = Math.min(depth / top, 1) * (colours.length - 1);
    const n = Math.min(Math.floor(share), colours.length - 2);
    const at = ((map.length - 1 - r) * small.width + c) * 4;
    for (let k = 0; k < 3; k += 1) pixels.data[at + k] = colours[n][k] + (share - n) * (colours[n + 1][k] - colours[n][k]);
    pixels.data[at + 3] = 255;
  }));
  pen.putImageData(pixels, 0, 0);
  const big = canvas.getContext("2d");
  big.scale(sharp, sharp);
  big.imageSmoothingEnabled = true;
  big.drawImage(small, x, y, wide, high);
}

// The circle that the jet sweeps, or its sector.
function sweep(plot, X, Y, scale) {
  const radius = plot.throw * scale;
  if (plot.arc >= 360) return make("circle", { cx: round(X(plot.x)), cy: round(Y(plot.y)), r: round(radius), class: "sweep" });
  const end = (bearing) => {
    const angle = (bearing * Math.PI) / 180;
    return `${round(X(plot.x) + radius * Math.sin(angle))} ${round(Y(plot.y) - radius * Math.cos(angle))}`;
  };
  const half = plot.arc / 2;
  const d = `M${round(X(plot.x))} ${round(Y(plot.y))}L${end(plot.facing - half)}A${round(radius)} ${round(radius)} 0 ${plot.arc > 180 ? 1 : 0} 1 ${end(plot.facing + half)}Z`;
  return make("path", { d, class: "sweep" });
}

// The scale of the depths, with what is needed marked in it.
function key(svg, top, plot, width, height) {
  const wide = Math.min(150, width - 110);
  const y = height - 20;
  for (let n = 0; n < 4; n += 1) {
    const name = `shade-${svg.closest("[id]").id}-${n}`;
    const shade = make("linearGradient", { id: name });
    shade.append(make("stop", { offset: 0, class: `depth-${n}` }), make("stop", { offset: 1, class: `depth-${n + 1}` }));
    svg.append(shade, make("rect", { x: EDGE + (n * wide) / 4, y, width: wide / 4 + 0.5, height: 8, fill: `url(#${name})` }));
  }
  const at = EDGE + wide * Math.min(plot.need / top, 1);
  svg.append(line(at, y - 3, at, y + 11, { class: "need" }));
  svg.append(text(EDGE + wide + 6, y + 8, `${top.toFixed(1)} ${plot.unit} a night`, { class: "label small" }));
  svg.append(text(Math.min(at + 4, EDGE + wide), y - 4, `needed ${plot.need.toFixed(1)}`, { class: "label small", "text-anchor": at > wide * 0.6 ? "end" : "start" }));
}
