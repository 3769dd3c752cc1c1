// A board that is watched: its readings, what it says, and what a person may ask of it.

import { ask, read, say } from "./ask.js";
import { drawTime } from "./charts.js";
import { html } from "./svg.js";

const LOOK_MS = 1000;
const find = (id) => document.getElementById(id);
const QUESTIONS = {
  run: ["Start the pump by hand? All protections are at work. Be near enough to see the water.", "for so many minutes", 5, 1],
  hold: ["Skip the sets of some nights, tonight first? 0 ends a hold.", "nights", 1, 0],
  clear: ["Have you looked at pump, lines and relay? Clear only after that.", null, 0, 0],
};

let timer = null;
let seen = null;

async function list() {
  try {
    const found = await read("ports");
    const before = find("port").value;
    find("port").replaceChildren(...found.map((one) => html("option", { value: one.name }, `${one.name}, ${one.what}`)));
    if (found.some((one) => one.name === before)) find("port").value = before;
    find("watch-port").disabled = !found.length;
    find("no-port").textContent = found.length ? "" : "No port that a board may be behind. Plug one in, or try a virtual one: rillkeeper board";
  } catch (error) {
    say(error.message, true);
  }
}

async function watch() {
  find("watch-port").disabled = true;
  say("waiting for the board to answer");
  try {
    take(await ask("watch", { port: find("port").value }));
    if (!seen.problem) say("");
    clearInterval(timer);
    timer = setInterval(look, LOOK_MS);
  } catch (error) {
    say(error.message, true);
  } finally {
    find("watch-port").disabled = false;
  }
}

async function letGo() {
  clearInterval(timer);
  try {
    await ask("watch", {});
    seen = null;
    find("live").hidden = true;
    say("the port is free again");
  } catch (error) {
    say(error.message, true);
  }
}

async function look() {
  try {
    take(await read("board"));
  } catch (error) {
    clearInterval(timer);
    say(error.message, true);
  }
}

function take(found) {
  seen = found;
  if (found.problem) {
    clearInterval(timer);
    say(found.problem, true);
  }
  draw();
}

function set(place, words) {
  if (place.textContent !== words) place.textContent = words;
}

function draw() {
  if (!seen || !seen.state || find("watch").hidden) return;
  find("live").hidden = false;
  find("live").classList.toggle("stale", Boolean(seen.problem));
  set(find("who"), `board ${seen.called}, firmware ${seen.firmware}, ${seen.port}; its clock: ${seen.clock}`);
  set(find("does"), `The board is ${seen.does}.`);
  set(find("calls"), seen.calls ? `Somebody should come: ${seen.calls}` : "");
  find("rows").replaceChildren(...seen.rows.flatMap(([name, words]) => [html("dt", {}, name), html("dd", {}, words)]));
  for (const button of document.querySelectorAll("[data-do]")) button.disabled = Boolean(seen.problem);
  document.querySelector("[data-do=clear]").disabled ||= !seen.can_clear;
  find("do-stop").disabled = Boolean(seen.problem);
  const limits = seen.limits || {};
  const to = seen.samples.at(-1)[0];
  const from = Math.min(seen.samples[0][0], to - 60);
  const time = (n) => seen.samples.map((row) => [row[0], row[n]]);
  drawTime(find("live-pressure"), time(1), { unit: seen.unit, limits: limits.pressure, kind: "pressure", from, to });
  drawTime(find("live-volts"), time(2), { unit: "V", limits: limits.volts, kind: "volts", from, to });
  nights();
  for (const name of ["morning", "why", "proof"]) find(`to-${name}`).href = `shown/${name}?board=${encodeURIComponent(seen.board)}`;
}

function nights() {
  const place = find("nights");
  const mark = JSON.stringify([seen.nights, seen.log_problem]);
  if (place.dataset.mark === mark) return;
  place.dataset.mark = mark;
  place.replaceChildren(...seen.nights.map((night) => html("section", { class: "told" },
    html("h3", {}, night.day), html("p", {}, night.words),
    html("ul", { class: "steps" }, ...night.events.map((one) => html("li", { class: one.level }, html("time", {}, one.when.split(" ").at(-1)), html("span", {}, one.words)))))));
  if (!seen.nights.length) place.append(html("p", { class: "hint" }, seen.log_problem || "No night is in its log yet."));
}

// Asks first; only a stop is done at once.
function question(what) {
  const [words, unit, first, least] = QUESTIONS[what];
  const dialog = find("question");
  const number = find("question-number");
  find("question-words").textContent = words;
  number.hidden = unit === null;
  number.querySelector("span").textContent = unit || "";
  const input = number.querySelector("input");
  input.value = first;
  input.min = least;
  for (const button of dialog.querySelectorAll("button")) {
    button.onclick = () => {
      if (button.value === "yes" && unit !== null && !input.reportValidity()) return;
      dialog.close();
      if (button.value === "yes") act(what, unit === null ? 0 : Number(input.value));
    };
  }
  dialog.showModal();
}

async function act(what, number = 0) {
  say(what === "stop" ? "stopping" : "asked of the board");
  try {
    say((await ask("do", { what, number })).said);
  } catch (error) {
    say(error.message, true);
  }
  if (timer !== null) look();
}

export function setUpWatch() {
  find("list-ports").onclick = list;
  find("watch-port").onclick = watch;
  find("let-go").onclick = letGo;
  find("do-stop").onclick = () => act("stop");
  for (const button of document.querySelectorAll("[data-do]")) button.onclick = () => question(button.dataset.do);
  document.querySelector("[data-view=watch]").addEventListener("click", list);
  window.addEventListener("desk-draw", draw);
}
