// A night on the site as it is drawn, played back: what the board says beside what really is.

import { ask, say } from "./ask.js";
import { drawTime } from "./charts.js";
import { drawSection } from "./section.js";
import { html } from "./svg.js";

const BEFORE_S = 600;
const AFTER_S = 900;
const find = (id) => document.getElementById(id);

let night = null;
let at = 0;
let playing = null;

function windowOf(found) {
  const pumping = found.frames.filter((frame) => frame.on || frame.relay);
  const times = [...pumping.map((frame) => frame.t), ...found.told.filter((one) => one.t > 0).map((one) => one.t)];
  if (found.fault) times.push(found.fault.at);
  const last = found.frames.at(-1).t;
  return [Math.max(0, Math.min(...times, last) - BEFORE_S), Math.min(last, Math.max(...times, 0) + AFTER_S)];
}

function frameAt(t) {
  return night.frames.findLast((frame) => frame.t <= t) || night.frames[0];
}

function clockOf(t) {
  const second = Math.floor(t + 43200) % 86400;
  return [second / 3600, (second / 60) % 60, second % 60].map((n) => String(Math.floor(n)).padStart(2, "0")).join(":");
}

function rows(place, found) {
  place.replaceChildren(...found.flatMap(([name, value, off]) => [html("dt", {}, name), html("dd", { class: off ? "off-true" : "" }, value)]));
}

function draw() {
  if (!night || find("night").hidden) return;
  const frame = frameAt(at);
  const { units, limits } = night;
  const scene = { ...night.answer.scene, throw: frame.throw, charge: frame.charge };
  scene.texts = { ...scene.texts, charge: `${Math.round(100 * frame.charge)} %`, throw: `${(frame.throw * scene.metre).toFixed(1)} ${units.length}` };
  drawSection(find("night-section"), { ...night.answer, scene, runs: frame.on && frame.flow > 0 }, { grips: false, held: true, widest: night.answer.scene });
  find("clock").textContent = clockOf(at);
  find("at").setAttribute("aria-valuetext", clockOf(at));
  const differs = (n, much) => Math.abs(frame.reads[n] - frame.is[n]) > much;
  rows(find("board-says"), [
    ["does", frame.does], ["relay", frame.relay ? "closed" : "open", frame.relay !== frame.on],
    ["outlet", `${frame.reads[0].toFixed(2)} ${units.pressure}`, differs(0, 0.15)], ["battery", `${frame.reads[1].toFixed(2)} V`, differs(1, 0.2)],
  ]);
  rows(find("really-is"), [
    ["flow", `${frame.flow.toFixed(1)} ${units.flow}`], ["pump", frame.on ? `works, ${frame.current.toFixed(1)} A` : "stands"],
    ["outlet", `${frame.is[0].toFixed(2)} ${units.pressure}`], ["battery", `${frame.is[1].toFixed(2)} V`],
  ]);
  const [from, to] = night.window;
  const course = (n) => night.frames.map((one) => [one.t, one.is[n], one.reads[n]]);
  drawTime(find("night-pressure"), course(0), { unit: units.pressure, limits: limits.pressure, kind: "pressure", from, to, at });
  drawTime(find("night-volts"), course(1), { unit: "V", limits: limits.volts, kind: "volts", from, to, at });
  const told = night.told.filter((one) => one.t <= at);
  find("night-told").replaceChildren(...told.reverse().map((one) => html("li", { class: one.level }, html("time", {}, one.clock), html("span", {}, one.words))));
  felt();
}

function felt() {
  const { fault } = night;
  const place = find("fault-felt");
  if (!fault) place.textContent = "Nothing goes wrong tonight.";
  else if (at < fault.at) place.textContent = `At ${clockOf(fault.at)}: ${fault.sentence}`;
  else place.textContent = `${fault.sentence} ${fault.felt ? "The plant shows it." : "The plant never showed it: it came when the pump stood, or too gently."}`;
}

function stop() {
  cancelAnimationFrame(playing);
  playing = null;
  find("play").setAttribute("aria-pressed", false);
  find("play").textContent = "Play";
}

function play() {
  if (playing !== null) {
    stop();
    return;
  }
  if (at >= night.window[1]) move(night.window[0]);
  find("play").setAttribute("aria-pressed", true);
  find("play").textContent = "Pause";
  let before = performance.now();
  const step = (now) => {
    move(at + ((now - before) / 1000) * Number(find("speed").value));
    before = now;
    if (at >= night.window[1]) stop();
    else playing = requestAnimationFrame(step);
  };
  playing = requestAnimationFrame(step);
}

function move(t) {
  at = Math.min(Math.max(t, night.window[0]), night.window[1]);
  find("at").value = at;
  draw();
}

async function begin(current) {
  const { id, changes, answer } = current();
  const button = find("play-night");
  button.disabled = true;
  say("replaying tonight; that takes some seconds");
  try {
    const fault = find("fault").value;
    const severity = Number(find("severity").value);
    const minutes = Number(find("minutes").value);
    const found = await ask("night", { id, changes, fault, minutes, severity });
    stop();
    night = { ...found, answer, window: windowOf(found) };
    const slider = find("at");
    [slider.min, slider.max] = night.window.map(Math.floor);
    find("player").hidden = false;
    say("");
    move(night.window[0]);
    play();
  } catch (error) {
    say(error.message, true);
  } finally {
    button.disabled = !current().id;
  }
}

// `current` tells the site as it is drawn.
export function setUpNight(current) {
  find("play-night").onclick = () => begin(current);
  find("play").onclick = play;
  find("at").oninput = () => {
    stop();
    move(Number(find("at").value));
  };
  find("fault").onchange = () => {
    const chosen = find("fault").selectedOptions[0];
    find("severity-means").textContent = chosen.dataset.severity ? `How bad: ${chosen.dataset.severity}.` : "";
    find("severity").min = chosen.dataset.both === "true" ? -1 : 0;
  };
  window.addEventListener("desk-draw", draw);
}
