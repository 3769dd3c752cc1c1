// The site from the side, to scale: from the water to the spray. Heights may be drawn larger by a
// whole number, which is said in the drawing.

import { begin, line, make, path, round, text, widthOf } from "./svg.js";

const MOST = 290;
const MOST_NARROW = 190;
const NARROW = 430;
const ABOVE = 36;
const BELOW = 14;
const LEFT_M = 1.6;
const TIMES = [10, 8, 6, 5, 4, 3, 2.5, 2, 1.5, 1.25, 1];

// Where things are, in metres: x from the strainer, y from the pump up.
export function placesOf(scene) {
  const deep = scene.lift + scene.cover;
  const across = (along, high, least) => Math.max(least, Math.sqrt(Math.max(along * along - high * high, 0)));
  const pump = across(scene.suction, deep, 0.25 * scene.suction);
  const ground = scene.rise - scene.stand;
  const foot = pump + across(scene.hose, ground, 0.2 * scene.hose);
  return { pump, foot, ground, deep, battery: pump + Math.max(scene.cable, 0.05) };
}

// Height of the jet over the ground: rises at its angle, and comes down at the throw.
function jet(scene) {
  const slope = Math.tan((scene.elevation_deg * Math.PI) / 180);
  const bend = (scene.stand + scene.throw * slope) / (scene.throw * scene.throw);
  return (x) => scene.stand + x * slope - bend * x * x;
}

function apex(scene) {
  if (scene.throw <= 0) return scene.stand;
  const slope = Math.tan((scene.elevation_deg * Math.PI) / 180);
  const bend = (scene.stand + scene.throw * slope) / (scene.throw * scene.throw);
  return scene.stand + (slope * slope) / (4 * bend);
}

function scaleOf(scene, width) {
  const at = placesOf(scene);
  const left = LEFT_M;
  const right = at.foot + Math.max(scene.throw, 2.0) + 0.5;
  const across = (width - 12) / (left + right);
  const low = -at.deep - 0.35;
  const high = Math.max(at.ground + apex(scene), scene.rise, 0.8) + 0.3;
  const room = (width < NARROW ? MOST_NARROW : MOST) - ABOVE - BELOW;
  const times = TIMES.find((one) => (high - low) * across * one <= room) || 1;
  const up = Math.min(across * times, room / (high - low));
  return { across, up, times: up / across, left, right, low, high, height: Math.ceil(ABOVE + BELOW + (high - low) * up) };
}

const kept = new WeakMap();

// Draws, and returns what turns a place of the drawing back into metres.
export function drawSection(svg, answer, options = {}) {
  const { scene } = answer;
  let width = widthOf(svg);
  const at = placesOf(scene);
  let scale = kept.get(svg);
  const fits = scale && scale.width === width && at.foot + 1 < scale.right && -at.deep > scale.low
    && Math.max(at.ground + apex(scene), scene.rise) < scale.high;
  if (!options.held || !fits) scale = { ...scaleOf(options.widest || scene, width), width };
  kept.set(svg, scale);
  width = begin(svg, scale.height);
  const X = (m) => 6 + (m + scale.left) * scale.across;
  const Y = (m) => ABOVE + (scale.high - m) * scale.up;
  const states = options.states || {};
  const mark = (part) => ({ class: `part ${states[part] || ""}`, "data-part": part });

  ground(svg, scene, at, scale, X, Y, width);
  drawWater(svg, scene, at, X, Y, mark);
  drawSuction(svg, scene, at, X, Y, mark);
  drawHose(svg, scene, at, X, Y, mark);
  drawSpray(svg, answer, at, X, Y, mark);
  drawPower(svg, scene, at, X, Y, mark);
  drawPump(svg, answer, X, Y, mark);
  if (options.labels !== false) drawLabels(svg, scene, at, X, Y, options.texts || {}, width);
  drawScale(svg, scene, scale, width);
  badges(svg, scene, at, X, Y, states, options.shorts || {});
  if (options.grips !== false) grips(svg, scene, at, X, Y);
  svg.setAttribute("aria-label", words(answer, options.shorts || {}));
  return { X, Y, at, scale, toX: (px) => (px - 6) / scale.across - scale.left, toY: (px) => scale.high - (px - ABOVE) / scale.up };
}

function words(answer, shorts) {
  const { texts } = answer.scene;
  const wrong = Object.values(shorts);
  return `The site from the side: pump ${texts.lift} above the water, ${texts.hose} of hose, nozzle `
    + `${texts.rise} above the pump, throw ${texts.throw}.${wrong.length ? ` Marked: ${wrong.join("; ")}.` : ""}`;
}

function ground(svg, scene, at, scale, X, Y, width) {
  const shore = Math.max(0.55 * at.pump, at.pump - 0.8);
  const points = [
    [X(-scale.left) - 6, Y(-at.deep - 0.25)], [X(0.25 * at.pump), Y(-at.deep - 0.25)],
    [X(shore), Y(-0.12)], [X(at.pump + 0.4), Y(-0.12)],
    [X(at.foot), Y(at.ground)], [width, Y(at.ground)], [width, scale.height], [0, scale.height],
  ];
  svg.append(path(points, { class: "soil" }));
}

function drawWater(svg, scene, at, X, Y, mark) {
  const top = Y(-scene.lift);
  const shore = Math.max(0.55 * at.pump, at.pump - 0.8);
  // Where the surface meets the bank, which runs from the bottom up to the pump.
  const deep = at.deep + 0.25 - 0.12;
  const share = Math.min(1, Math.max(0, (at.deep + 0.25 - scene.lift) / Math.max(deep, 0.01)));
  const edge = 0.25 * at.pump + share * (shore - 0.25 * at.pump);
  const group = make("g", mark("water"));
  group.append(path([[0, top], [X(edge), top], [X(0.25 * at.pump), Y(-at.deep - 0.25)], [0, Y(-at.deep - 0.25)]], { class: "pond" }));
  group.append(line(0, top, X(edge), top, { class: "surface" }));
  svg.append(group);
}

function drawSuction(svg, scene, at, X, Y, mark) {
  const group = make("g", { ...mark("suction"), "data-click": "suction.bore" });
  const points = [[X(0), Y(-at.deep)], [X(0), Y(-at.deep + 0.12)], [X(at.pump), Y(0)]];
  const wide = Math.max(2.5, Math.min(8, scene.suction_bore * 240));
  group.append(path(points, { class: "pipe-hit" }));
  group.append(path(points, { class: "pipe", "stroke-width": round(wide) }));
  group.append(make("rect", { x: round(X(0) - 6), y: round(Y(-at.deep) - 5), width: 12, height: 12, class: "strainer" }));
  if (scene.foot_valve !== "none") {
    group.append(path([[X(0) - 5, Y(-at.deep) - 6], [X(0) + 5, Y(-at.deep) - 6], [X(0), Y(-at.deep) - 14]], { class: "valve" }));
  }
  svg.append(group);
  const lift = make("g", mark("lift"));
  const x = X(at.pump) - 15;
  lift.append(line(x, Y(0), x, Y(-scene.lift), { class: "measure" }));
  svg.append(lift);
}

function drawHose(svg, scene, at, X, Y, mark) {
  const group = make("g", { ...mark("hose"), "data-click": "line.bore" });
  const wide = Math.max(2.5, Math.min(8, scene.hose_bore * 240));
  const points = [[X(at.pump), Y(0)], [X(at.pump + 0.4), Y(-0.02)], [X(at.foot), Y(at.ground + 0.04)]];
  group.append(path(points, { class: "pipe-hit" }));
  group.append(path(points, { class: "pipe", "stroke-width": round(wide) }));
  group.append(line(X(at.foot), Y(at.ground), X(at.foot), Y(scene.rise), { class: "stand" }));
  svg.append(group);
}

function drawSpray(svg, answer, at, X, Y, mark) {
  const { scene } = answer;
  const group = make("g", mark("spray"));
  if (answer.runs && scene.throw > 0) {
    for (const way of [-1, 1]) {
      const height = jet(scene);
      const points = [];
      for (let n = 0; n <= 24; n += 1) {
        const x = (scene.throw * n) / 24;
        points.push([X(at.foot + way * x), Y(at.ground + Math.max(0, height(x)))]);
      }
      group.append(path([...points, [X(at.foot), Y(at.ground)]], { class: "spray-fill" }));
      group.append(path(points, { class: "jet" }));
    }
  }
  svg.append(group);
  const nozzle = make("g", { ...mark("nozzle"), "data-click": "sprinkler.nozzle_bore" });
  nozzle.append(make("circle", { cx: round(X(at.foot)), cy: round(Y(scene.rise)), r: 12, class: "hit" }));
  nozzle.append(path([[X(at.foot) - 6, Y(scene.rise)], [X(at.foot) + 6, Y(scene.rise)], [X(at.foot), Y(scene.rise) + 7]], { class: "nozzle" }));
  svg.append(nozzle);
}

function drawPump(svg, answer, X, Y, mark) {
  const x = X(placesOf(answer.scene).pump);
  const group = make("g", mark("pump"));
  group.append(make("rect", { x: round(x - 10), y: round(Y(0) - 10), width: 20, height: 17, rx: 4, class: answer.runs ? "pump on" : "pump" }));
  group.append(make("circle", { cx: round(x), cy: round(Y(0) - 1.5), r: 4, class: "pump-eye" }));
  svg.append(group);
}

// The battery stands a cable's length from the pump; its cable hangs above the hose.
function drawPower(svg, scene, at, X, Y, mark) {
  const px = X(at.pump);
  const bx = Math.max(X(at.battery), px + 34);
  const by = Y(0) - 26;
  const cable = make("g", { ...mark("cable"), "data-click": "cable.section" });
  const points = [[px + 4, Y(0) - 10], [px + 8, by], [bx, by]];
  cable.append(path(points, { class: "pipe-hit" }), path(points, { class: "cable" }));
  svg.append(cable);
  const fuse = make("g", { ...mark("fuse"), "data-click": "cable.fuse" });
  fuse.append(make("rect", { x: round(bx - 12), y: round(by - 4), width: 9, height: 8, class: "fuse" }));
  svg.append(fuse);
  const battery = make("g", { ...mark("battery"), "data-click": "battery.capacity" });
  const high = 24;
  battery.append(make("rect", { x: round(bx), y: round(by - 14), width: 26, height: high, rx: 2, class: "case" }));
  battery.append(make("rect", { x: round(bx + 2), y: round(by - 12 + (high - 4) * (1 - scene.charge)), width: 22, height: round((high - 4) * scene.charge), class: "charge" }));
  battery.append(make("rect", { x: round(bx + 4), y: round(by - 17), width: 5, height: 3, class: "post" }));
  battery.append(make("rect", { x: round(bx + 17), y: round(by - 17), width: 5, height: 3, class: "post" }));
  svg.append(battery);
}

function drawLabels(svg, scene, at, X, Y, more, width) {
  const { texts } = scene;
  const put = (x, y, what, anchor) => svg.append(text(x, y, what, { class: "label", "text-anchor": anchor || "middle" }));
  const px = X(at.pump);
  const small = width < NARROW;
  put(px - 9, (Y(0) + Y(-scene.lift)) / 2 + 10, texts.lift, "start");
  const hose = [texts.hose, more.hose].filter(Boolean).join(", ");
  put((X(at.pump + 0.4) + X(at.foot)) / 2, (Y(0) + Y(at.ground)) / 2 + 18, hose);
  if (!small) put(X(0) + 4, Y(-at.deep) + 20, [texts.suction, more.suction].filter(Boolean).join(", "), "start");
  const bx = Math.max(X(at.battery), px + 34);
  put(bx + 32, Y(0) - 31, [texts.battery, texts.charge].join(", "), "start");
  if (!small) put(bx + 32, Y(0) - 18, [texts.cable, more.cable].filter(Boolean).join(", "), "start");
  if (scene.throw > 0) {
    const y = Y(at.ground) + 12;
    svg.append(line(X(at.foot), y, X(at.foot + scene.throw), y, { class: "measure" }));
    put(X(at.foot + scene.throw / 2), y + 14, texts.throw);
  }
  const up = [texts.rise, small ? "" : more.nozzle].filter(Boolean).join(", ");
  put(X(at.foot), Y(Math.max(scene.rise, at.ground + apex(scene))) - 7, up);
}

function drawScale(svg, scene, scale, width) {
  const unit = 1 / scene.metre;
  const choices = [1, 2, 5, 10, 20, 50].map((n) => n * unit);
  const long = choices.findLast((m) => m * scale.across < width / 5) || choices[0];
  const count = Math.round(long * scene.metre);
  const x = width - 12 - long * scale.across;
  svg.append(line(x, 12, width - 12, 12, { class: "rule" }), line(x, 8, x, 16, { class: "rule" }), line(width - 12, 8, width - 12, 16, { class: "rule" }));
  const times = Math.round(scale.times * 100) / 100;
  const heights = times > 1.05 ? `heights ${times} times` : times < 0.95 ? "heights flattened" : "heights to the same scale";
  svg.append(text(x - 6, 16, `${count} ${scene.unit}, ${heights}`, { class: "label small", "text-anchor": "end" }));
}

function badges(svg, scene, at, X, Y, states, shorts) {
  const px = X(at.pump);
  const bx = Math.max(X(at.battery), px + 34);
  const where = {
    water: [X(-0.8), Y(-scene.lift) - 12], lift: [px - 15, Y(-scene.lift / 2)], suction: [X(at.pump * 0.45), Y(-at.deep * 0.55)],
    pump: [px - 14, Y(0) - 16], cable: [(px + bx) / 2, Y(0) - 38], fuse: [bx - 8, Y(0) - 14], battery: [bx + 13, Y(0) - 54],
    hose: [(px + X(at.foot)) / 2, Y(at.ground / 2) - 12], nozzle: [X(at.foot) + 18, Y(scene.rise) - 4],
    spray: [X(at.foot - scene.throw * 0.6), Y(at.ground) - 14], plot: [X(at.foot + scene.throw * 0.8), Y(at.ground) - 12],
  };
  for (const [part, state] of Object.entries(states)) {
    if (!where[part] || state === "good") continue;
    const [x, y] = where[part];
    const badge = make("g", { class: `badge ${state}` }, make("title", {}, shorts[part] || ""));
    badge.append(make("circle", { cx: round(x), cy: round(y), r: 8 }), text(x, y + 4, "!", { "text-anchor": "middle" }));
    svg.append(badge);
  }
}

function grips(svg, scene, at, X, Y) {
  const px = X(at.pump);
  const bx = Math.max(X(at.battery), px + 34);
  const found = [
    ["line.length", X(at.foot), Y(at.ground) + 4, "ew-resize"],
    ["line.rise", X(at.foot), Y(scene.rise) - 9, "ns-resize"],
    ["water.lift", X(-0.9), Y(-scene.lift), "ns-resize"],
    ["suction.length", X(0), Y(-at.deep) + 9, "ew-resize"],
    ["cable.length", bx + 26, Y(0) - 20, "ew-resize"],
  ];
  for (const [key, x, y, cursor] of found) {
    const grip = make("g", { class: `grip ${cursor}`, "data-drag": key });
    grip.append(make("circle", { cx: round(x), cy: round(y), r: 14, class: "hit" }), make("circle", { cx: round(x), cy: round(y), r: 5, class: "dot" }));
    svg.append(grip);
  }
}

// What a drag to a place of the drawing makes of its handle, in metres.
export function draggedTo(key, scene, x, y) {
  const at = placesOf(scene);
  if (key === "line.length") return Math.hypot(Math.max(x - at.pump, 0.1), at.ground);
  if (key === "line.rise") return y;
  if (key === "water.lift") return -y;
  if (key === "suction.length") return Math.hypot(Math.max(at.pump - x, 0.05), at.deep);
  return Math.max(x - at.pump, 0.1);
}
