// Curves: pressure along the way and volts along the cable, in the order of the section above
// them; and readings against time.

import { begin, line, make, path, text } from "./svg.js";

const TOP = 16;
const GAP_S = 30;

function niceStep(span, most) {
  const raw = span / most;
  const power = 10 ** Math.floor(Math.log10(raw));
  return [1, 2, 5, 10].map((n) => n * power).find((step) => step >= raw);
}

// Lines across at round values, with their numbers at the left.
function grid(svg, low, high, Y, width, digits) {
  const step = niceStep(high - low, 4);
  for (let at = Math.ceil(low / step) * step; at <= high + 1e-9; at += step) {
    const y = Y(at);
    svg.append(line(0, y, width, y, { class: Math.abs(at) < 1e-9 ? "axis" : "grid" }));
    svg.append(text(0, y - 2, at.toFixed(digits ?? Math.max(0, -Math.floor(Math.log10(step) + 1e-9))), { class: "label small" }));
  }
}

// Pressure along the way, pump on and off. `placed` is what the section has returned.
export function drawPressure(svg, answer, placed) {
  const height = 150;
  const width = begin(svg, height);
  const { marks, rating, unit } = answer.pressure;
  const all = marks.flatMap((mark) => [mark.on, mark.off]);
  const top = Math.max(...all, 0.1);
  const low = Math.min(...all, 0) - 0.08 * top;
  const high = top * 1.18;
  const Y = (value) => TOP + ((high - value) * (height - TOP - 18)) / (high - low);
  const where = { water: 0, pump: placed.at.pump, foot: placed.at.foot, top: placed.at.foot };
  const X = (mark) => placed.X(where[mark.at]) + (mark.at === "top" ? 5 : 0);
  grid(svg, low, high, Y, width);
  const on = marks.map((mark) => [X(mark), Y(mark.on)]);
  const off = marks.map((mark) => [X(mark), Y(mark.off)]);
  svg.append(path([[on[0][0], Y(0)], ...on, [on.at(-1)[0], Y(0)]], { class: "under water-line" }));
  svg.append(path(off, { class: "off" }), path(on, { class: "on water-line" }));
  if (rating < high) {
    svg.append(line(0, Y(rating), width, Y(rating), { class: "limit" }));
    svg.append(text(width, Y(rating) - 3, `rated for ${rating.toFixed(2)}`, { class: "label small", "text-anchor": "end" }));
  }
  const inlet = marks.findIndex((mark) => mark.name === "pump") - 1;
  const nozzle = marks.length - 2;
  const put = (n, dx, dy, anchor) => svg.append(text(on[n][0] + dx, on[n][1] + dy, `${marks[n].on.toFixed(2)} ${unit}`, { class: "label", "text-anchor": anchor }));
  put(inlet + 1, 6, -5, "start");
  put(inlet, 6, 10, "start");
  put(nozzle, 8, 0, "start");
  legend(svg, width, TOP - 5);
  const said = marks.map((mark) => `after ${mark.name} ${mark.on.toFixed(2)} ${unit} on, ${mark.off.toFixed(2)} off`);
  svg.setAttribute("aria-label", `Pressure along the way: ${said.join("; ")}.`);
}

function legend(svg, width, y) {
  svg.append(line(width - 168, y - 4, width - 148, y - 4, { class: "on" }), text(width - 143, y, "pump on", { class: "label small" }));
  svg.append(line(width - 82, y - 4, width - 62, y - 4, { class: "off" }), text(width - 57, y, "pump off", { class: "label small" }));
}

// Volts from the motor, under the pump, to the battery at the right.
export function drawVolts(svg, answer, placed) {
  const height = 150;
  const width = begin(svg, height);
  const { steps, rest, minimum } = answer.volts;
  // From the motor back to the battery: what is read before each step is what the one before left.
  const names = ["motor", ...steps.map((step) => step.name).reverse()];
  const on = [steps.at(-1).on, ...steps.map((step) => step.on).reverse()];
  const high = rest + 0.08 * (rest - Math.min(on[0], minimum)) + 0.02;
  const close = on[0] - minimum > 1.5 * (rest - on[0]) + 0.3;
  const low = close ? on[0] - 0.35 * (rest - on[0]) - 0.03 : Math.min(on[0], minimum) - 0.15;
  const Y = (value) => TOP + ((high - value) * (height - TOP - 34)) / (high - low);
  const begins = width - placed.X(placed.at.pump) > 300 ? Math.max(placed.X(placed.at.pump), 34) : 34;
  const each = (width - begins - 2) / names.length;
  grid(svg, low, high, Y, width, high - low < 1.5 ? 2 : 1);
  const points = [];
  names.forEach((name, n) => {
    const x = begins + n * each;
    // A step's loss lies between what is left after it, at its left, and what came, at its right.
    const after = n ? on[n] : on[0];
    points.push([x, Y(after)], [x + each, Y(n === names.length - 1 ? rest : on[n + 1] ?? rest)]);
    const lines = name.split(" ");
    const label = make("text", { x: x + each / 2, y: height - 20, class: "label small", "text-anchor": "middle" });
    lines.forEach((word, k) => label.append(make("tspan", { x: x + each / 2, dy: k ? 11 : 0 }, word)));
    svg.append(label);
  });
  points.splice(0, 2, [begins, Y(on[0])], [begins + each, Y(on[0])]);
  svg.append(line(begins, Y(rest), width, Y(rest), { class: "off" }), path(points, { class: "on volt-line" }));
  if (!close) {
    svg.append(line(begins, Y(minimum), width, Y(minimum), { class: "limit" }));
    svg.append(text(width, Y(minimum) - 3, `the motor needs ${minimum.toFixed(1)} V`, { class: "label small", "text-anchor": "end" }));
  }
  svg.append(text(begins + 4, Y(on[0]) + 14, `${on[0].toFixed(2)} V`, { class: "label" }));
  svg.append(text(width - 4, Y(rest) - 5, `${rest.toFixed(2)} V at rest`, { class: "label", "text-anchor": "end" }));
  const said = steps.map((step) => `after ${step.name} ${step.on.toFixed(2)} V`);
  svg.setAttribute("aria-label", `Volts with the pump on: ${said.join("; ")}; with the pump off ${rest.toFixed(2)} V everywhere.`);
}

// Readings against time: `rows` of [t, value, value as the board reads it]; `limits` are drawn in.
export function drawTime(svg, rows, { unit, limits = [], kind, from, to, at, digits = 2 }) {
  const height = 150;
  const width = begin(svg, height);
  const values = rows.flatMap((row) => row.slice(1)).filter((value) => value !== null && value !== undefined);
  if (!values.length) {
    svg.append(text(0, 40, "no reading", { class: "label" }));
    return;
  }
  const span = Math.max(...values) - Math.min(...values, kind === "volts" ? Infinity : 0);
  let high = Math.max(...values);
  let low = kind === "volts" ? Math.min(...values) : 0;
  // Brown-out and charger lie volts away: drawn in, they would flatten what there is to see.
  const away = 2.5 * Math.max(span, 0.4);
  const near = limits.filter((one) => kind !== "volts" || (one.at <= high + away && one.at >= low - away));
  high = Math.max(high, ...near.map((one) => one.at));
  low = Math.min(low, ...near.map((one) => one.at));
  const margin = 0.08 * Math.max(high - low, 0.2);
  [low, high] = [low - margin, high + margin];
  const Y = (value) => TOP + ((high - value) * (height - TOP - 8)) / (high - low);
  const X = (t) => 34 + ((t - from) * (width - 40)) / Math.max(to - from, 1e-9);
  grid(svg, low, high, Y, width);
  for (const one of near) {
    svg.append(line(34, Y(one.at), width, Y(one.at), { class: "limit" }));
    svg.append(text(width, Y(one.at) - 3, `${one.words} ${one.at.toFixed(2)}`, { class: "label small", "text-anchor": "end" }));
  }
  for (const [place, kindOf] of [[1, "on"], [2, "reads"]]) {
    const known = rows.filter((row) => row[place] !== null && row[place] !== undefined && row[0] >= from && row[0] <= to);
    // Volts jump when the pump starts: over a long gap they are held, not drawn aslant.
    const points = known.flatMap((row, n) => {
      const before = n && kind === "volts" && row[0] - known[n - 1][0] > GAP_S ? [[X(row[0]), Y(known[n - 1][place])]] : [];
      return [...before, [X(row[0]), Y(row[place])]];
    });
    if (points.length) svg.append(path(points, { class: `${kindOf} ${kind === "volts" ? "volt-line" : "water-line"}` }));
  }
  if (at !== undefined) svg.append(line(X(at), TOP, X(at), height - 6, { class: "cursor" }));
  const last = rows.findLast((row) => row[1] !== null && (at === undefined || row[0] <= at));
  if (last) svg.append(text(34, TOP - 4, `${last[1].toFixed(digits)} ${unit}`, { class: "label" }));
}
