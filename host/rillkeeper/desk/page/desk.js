// The page: what is changed on a site, and its answers from the desk's server.

import { Refused, ask, read, say } from "./ask.js";
import { drawPressure, drawVolts } from "./charts.js";
import * as controls from "./controls.js";
import { setUpNight } from "./night.js";
import { drawPlan } from "./plan.js";
import { draggedTo, drawSection } from "./section.js";
import { forget, html } from "./svg.js";
import { setUpWatch } from "./watch.js";

const REST_MS = 250;
const UNDO_MAX = 200;
const find = (id) => document.getElementById(id);

const desk = {
  sheet: null,
  changes: { now: {}, with: {} },
  active: "now",
  both: false,
  past: [],
  future: [],
  editing: null,
};
const panels = {};

class Panel {
  constructor(which) {
    this.which = which;
    this.place = find(`panel-${which}`);
    this.answer = null;
    this.whole = null;
    this.asking = false;
    this.next = null;
    this.drawn = 0;
    this.rest = null;
    this.hold = false;
    this.listen();
  }

  part(name) {
    return this.place.querySelector(name);
  }

  // Asks quickly now, and for the whole when nothing has moved for a moment.
  ask() {
    this.place.dataset.whole = false;
    clearTimeout(this.rest);
    this.rest = setTimeout(() => this.send(true), REST_MS);
    return this.send(false);
  }

  // One question at a time: what is asked meanwhile waits, and only the last of it is asked.
  async send(whole) {
    this.next = { whole };
    if (this.asking) return;
    this.asking = true;
    try {
      while (this.next) {
        const wish = this.next;
        this.next = null;
        const changes = desk.changes[this.which];
        const before = this.which === "with" ? desk.changes.now : {};
        this.take(await ask("answer", { id: desk.sheet.id, changes, before, ...wish }));
      }
    } catch (error) {
      say(error.message, true);
    } finally {
      this.asking = false;
    }
  }

  take(answer) {
    const wrong = answer.mistakes || [];
    const rest = this.which === desk.active ? controls.mark(wrong) : wrong;
    this.place.classList.toggle("stale", wrong.length > 0);
    if (wrong.length) {
      this.part(".lead").textContent = rest.length
        ? rest.map((one) => `${one.path}: ${controls.sentenceOf(one)}`).join(" ")
        : "This cannot be; see the handle that is marked.";
      return;
    }
    this.answer = answer;
    if (answer.whole) this.whole = answer;
    this.draw();
  }

  draw() {
    const { answer } = this;
    if (!answer || find("try").hidden || this.place.hidden) return;
    const open = answer.answers.filter((one) => one.state !== "good");
    const states = {};
    const shorts = {};
    for (const one of [...open].sort((a, b) => (a.state === "act" ? 1 : 0) - (b.state === "act" ? 1 : 0))) {
      states[one.part] = one.state;
      shorts[one.part] = one.short;
    }
    const changes = desk.changes[this.which];
    const texts = {
      hose: controls.wordsOf("line.bore", changes), suction: controls.wordsOf("suction.bore", changes),
      nozzle: controls.wordsOf("sprinkler.nozzle_bore", changes), cable: controls.wordsOf("cable.section", changes),
    };
    const options = { states, shorts, texts, held: this.hold };
    this.placed = drawSection(this.part(".section svg"), answer, options);
    drawPressure(this.part(".pressure svg"), answer, this.placed);
    drawVolts(this.part(".volts svg"), answer, this.placed);
    this.plan = drawPlan(this.part(".plan"), answer, options);
    this.tell(answer, open);
    this.drawn += 1;
    this.place.dataset.drawn = this.drawn;
    this.place.dataset.whole = answer.whole;
  }

  tell(answer, open) {
    const lead = this.part(".lead");
    if (answer.whole) lead.textContent = answer.sentence;
    lead.classList.toggle("waiting", !answer.whole);
    const figures = this.part(".figures");
    const other = this.which === "with" && panels.now.answer;
    const differs = (one, n) => other && other.figures[n].value !== one.value;
    figures.replaceChildren(...answer.figures.map((one, n) => html("div", { class: `${one.state}${differs(one, n) ? " differs" : ""}` },
      html("dt", {}, one.words), html("dd", {}, one.value), html("dd", { class: "note" }, one.note))));
    const item = (one) => html("li", { class: one.state }, html("strong", {}, `${one.short[0].toUpperCase()}${one.short.slice(1)}. `), one.sentence);
    this.part(".answers-open").replaceChildren(...open.map(item));
    this.part(".answers-good").replaceChildren(...answer.answers.filter((one) => one.state === "good").map(item));
    const changed = Object.entries(desk.changes[this.which]).map(([key, value]) => `${labelOf(key)} ${value}`);
    this.part(".changed").textContent = changed.length ? `with ${changed.join(", ")}` : "as in the file";
  }

  // What is dragged or clicked in the drawings moves the same controls.
  listen() {
    const { place } = this;
    place.addEventListener("pointerdown", (event) => {
      const grip = event.target.closest("[data-drag]");
      if (!grip || !this.answer) return;
      event.preventDefault();
      choose(this.which);
      this.drag(grip, event);
    });
    place.addEventListener("click", (event) => {
      const thing = event.target.closest("[data-click]");
      if (!thing || event.target.closest("[data-drag]")) return;
      choose(this.which);
      controls.next(thing.dataset.click);
    });
  }

  drag(grip, event) {
    const key = grip.dataset.drag;
    const svg = grip.closest("svg");
    const { scene } = this.answer;
    const placed = key === "stand" ? this.plan : this.placed;
    const box = svg.getBoundingClientRect();
    const ratio = svg.viewBox.baseVal.width / box.width;
    this.hold = true;
    const to = (moved, done) => {
      const x = placed.toX((moved.clientX - svg.getBoundingClientRect().left) * ratio);
      const y = placed.toY((moved.clientY - svg.getBoundingClientRect().top) * ratio);
      if (key === "stand") {
        controls.move("sprinkler.x", x, scene.metre, done);
        controls.move("sprinkler.y", y, scene.metre, done);
      } else {
        controls.move(key, draggedTo(key, scene, x, y), scene.metre, done);
      }
    };
    const moved = (one) => to(one, false);
    const ended = (one) => {
      window.removeEventListener("pointermove", moved);
      window.removeEventListener("pointerup", ended);
      window.removeEventListener("pointercancel", ended);
      this.hold = false;
      if (one.type === "pointerup") to(one, true);
    };
    window.addEventListener("pointermove", moved);
    window.addEventListener("pointerup", ended);
    window.addEventListener("pointercancel", ended);
  }
}

function labelOf(key) {
  const label = controls.control(key)?.handle.label || key;
  return label[0].toLowerCase() + label.slice(1);
}

// A change of one handle; one hold of a handle is one step of undo.
function changed(key, value, done) {
  const changes = desk.changes[desk.active];
  const before = changes[key];
  const mark = `${desk.active} ${key}`;
  const original = controls.original(controls.control(key).handle);
  if (value !== (before ?? original)) {
    if (desk.editing !== mark) remember();
    if (value === original) delete changes[key];
    else changes[key] = value;
    shown();
    ask_();
  }
  desk.editing = done ? null : mark;
  buttons();
}

function ask_() {
  panels[desk.active].ask();
  if (desk.both && desk.active === "now") panels.with.ask();
}

function remember() {
  desk.past.push(JSON.stringify([desk.changes, desk.both, desk.active]));
  if (desk.past.length > UNDO_MAX) desk.past.shift();
  desk.future.length = 0;
}

function back(from, to) {
  if (!from.length) return;
  to.push(JSON.stringify([desk.changes, desk.both, desk.active]));
  [desk.changes, desk.both, desk.active] = JSON.parse(from.pop());
  desk.editing = null;
  all();
}

function shown() {
  controls.show(desk.changes[desk.active]);
}

function buttons() {
  find("undo").disabled = !desk.sheet || !desk.past.length;
  find("redo").disabled = !desk.sheet || !desk.future.length;
  for (const id of ["save", "compare", "play-night"]) find(id).disabled = !desk.sheet;
}

// Everything anew: controls, panels, answers.
function all() {
  find("compare").setAttribute("aria-pressed", desk.both);
  find("active").hidden = !desk.both;
  panels.with.place.hidden = !desk.both;
  document.body.classList.toggle("both", desk.both);
  forget();
  for (const button of document.querySelectorAll("[data-active]")) {
    button.setAttribute("aria-pressed", button.dataset.active === desk.active);
  }
  for (const which of ["now", "with"]) panels[which].place.classList.toggle("active", which === desk.active);
  buttons();
  shown();
  panels.now.ask();
  if (desk.both) panels.with.ask();
}

function choose(which) {
  if (which === desk.active) return;
  desk.active = which;
  desk.editing = null;
  all();
}

async function open(name, text, corrections = {}) {
  const found = await ask("open", { name, text, changes: corrections });
  if (found.mistakes.length) {
    mistakesOf(found);
    return;
  }
  find("mistakes").hidden = true;
  document.querySelector(".desk").hidden = false;
  desk.sheet = found;
  desk.changes = { now: {}, with: {} };
  desk.past.length = desk.future.length = 0;
  desk.active = "now";
  desk.both = false;
  find("title").textContent = found.title;
  document.title = `${found.title} - desk`;
  controls.build(found.handles, changed);
  all();
}

// All mistakes of a file, each with the field that it belongs to.
function mistakesOf(found) {
  desk.sheet = null;
  desk.past.length = desk.future.length = 0;
  for (const panel of Object.values(panels)) panel.answer = null;
  buttons();
  find("mistakes").hidden = false;
  document.querySelector(".desk").hidden = true;
  find("title").textContent = found.name;
  const rows = found.mistakes.map((one, n) => {
    const where = one.line ? `line ${one.line}` : "";
    const words = html("p", { class: "wrong", id: `mistake-${n}` }, controls.sentenceOf(one));
    if (!one.field) {
      return html("div", { class: "handle" }, html("p", {}, [one.path, where].filter(Boolean).join(", ")), words);
    }
    const input = html("input", { id: `mistake-field-${n}`, "data-path": one.path, value: one.read, "aria-describedby": words.id, "aria-invalid": "true" });
    return html("div", { class: "handle" }, html("label", { for: input.id }, [one.path, where].filter(Boolean).join(", ")), input, words);
  });
  find("mistake-list").replaceChildren(...rows);
  find("again").onclick = () => {
    const corrections = {};
    for (const input of document.querySelectorAll("#mistake-list [data-path]")) {
      if (input.value && input.value !== input.defaultValue) corrections[input.dataset.path] = input.value;
    }
    guarded(() => open(found.name, found.text, corrections));
  };
}

async function save() {
  const found = await ask("save", { id: desk.sheet.id, changes: desk.changes[desk.active] });
  const address = URL.createObjectURL(new Blob([found.text], { type: "application/toml" }));
  html("a", { href: address, download: found.name }).click();
  setTimeout(() => URL.revokeObjectURL(address), 1000);
  say(`saved as ${found.name}: the file that the command line reads, its comments kept`);
}

async function guarded(work) {
  try {
    await work();
  } catch (error) {
    say(error instanceof Refused ? error.message : `${error}`, true);
  }
}

function view(name) {
  for (const button of document.querySelectorAll("[data-view]")) {
    button.setAttribute("aria-pressed", button.dataset.view === name);
    find(button.dataset.view).hidden = button.dataset.view !== name;
  }
  draw();
}

function draw() {
  forget();
  for (const panel of Object.values(panels)) panel.draw();
  window.dispatchEvent(new Event("desk-draw"));
}

function setUp() {
  panels.now = new Panel("now");
  panels.with = new Panel("with");
  for (const button of document.querySelectorAll("[data-view]")) button.onclick = () => view(button.dataset.view);
  for (const button of document.querySelectorAll("[data-active]")) button.onclick = () => choose(button.dataset.active);
  find("undo").onclick = () => back(desk.past, desk.future);
  find("redo").onclick = () => back(desk.future, desk.past);
  find("save").onclick = () => guarded(save);
  find("compare").onclick = () => {
    remember();
    desk.both = !desk.both;
    if (desk.both) desk.changes.with = { ...desk.changes.now };
    desk.active = desk.both ? "with" : "now";
    all();
  };
  find("file").onchange = (event) => guarded(async () => {
    const [file] = event.target.files;
    if (file) await open(file.name, await file.text());
    event.target.value = "";
  });
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z" || event.target.type === "text") return;
    event.preventDefault();
    if (event.shiftKey) back(desk.future, desk.past);
    else back(desk.past, desk.future);
  });
  let resized = null;
  window.addEventListener("resize", () => {
    cancelAnimationFrame(resized);
    resized = requestAnimationFrame(draw);
  });
  for (const query of ["(prefers-color-scheme: dark)", "print"]) matchMedia(query).addEventListener("change", draw);
  setUpNight(() => ({ id: desk.sheet?.id, changes: desk.changes[desk.active], answer: panels[desk.active].answer }));
  setUpWatch();
}

setUp();
guarded(async () => {
  const first = await read("begin");
  await open(first.name, first.text);
});
