// The handles: a real form control each, with its label.

import { html } from "./svg.js";

const byKey = new Map();

// Builds the controls of a site; `changed(key, text, done)` is told each change.
export function build(handles, changed) {
  byKey.clear();
  for (const place of document.querySelectorAll("#handles fieldset")) {
    while (place.children.length > 1) place.lastChild.remove();
  }
  for (const handle of handles) {
    const place = document.querySelector(`#handles fieldset[data-group="${handle.group}"]`);
    const id = `handle-${handle.key.replace(/\W/g, "-")}`;
    const row = html("div", { class: "handle" });
    const label = html("label", { for: id }, handle.label);
    const wrong = html("p", { class: "wrong", id: `${id}-wrong` });
    const found = { handle, row, wrong };
    if (handle.kind === "choice") {
      found.main = html("select", { id, "aria-describedby": wrong.id });
      for (const [value, words] of handle.choices) found.main.append(html("option", { value }, words));
      found.main.addEventListener("change", () => changed(handle.key, found.main.value, true));
      row.append(label, found.main);
    } else {
      const ends = { min: handle.min, max: handle.max, step: handle.step };
      found.main = html("input", { id, type: "range", ...ends, "aria-describedby": wrong.id });
      found.number = html("input", { type: "number", ...ends, step: "any", "aria-label": `${handle.label}, ${handle.unit}` });
      const told = (value, done) => changed(handle.key, `${value} ${handle.unit}`, done);
      found.main.addEventListener("input", () => told(found.main.value, false));
      found.main.addEventListener("change", () => told(found.main.value, true));
      found.number.addEventListener("change", () => {
        if (found.number.value !== "" && found.number.checkValidity()) told(Number(found.number.value), true);
        else found.number.reportValidity();
      });
      row.append(label, html("span", { class: "number" }, found.number, html("span", { class: "unit", "aria-hidden": "true" }, handle.unit)), found.main);
    }
    row.title = handle.says;
    row.append(wrong);
    place.append(row);
    byKey.set(handle.key, found);
  }
}

export function original(handle) {
  return handle.kind === "choice" ? handle.value : `${handle.value} ${handle.unit}`;
}

// Sets all controls to what a site with these changes has.
export function show(changes) {
  for (const [key, { handle, main, number, row }] of byKey) {
    const value = changes[key] ?? original(handle);
    row.classList.toggle("changed", key in changes);
    if (handle.kind === "choice") {
      main.value = value;
    } else {
      const bare = parseFloat(value);
      if (document.activeElement !== main || parseFloat(main.value) !== bare) main.value = bare;
      if (document.activeElement !== number) number.value = bare;
      main.setAttribute("aria-valuetext", value);
    }
  }
}

// Puts mistakes at the controls they belong to; returns those that have none.
export function mark(mistakes) {
  for (const { wrong, main } of byKey.values()) {
    wrong.textContent = "";
    main.removeAttribute("aria-invalid");
  }
  return mistakes.filter((mistake) => {
    const found = byKey.get(mistake.path);
    if (!found) return true;
    found.wrong.textContent = sentenceOf(mistake);
    found.main.setAttribute("aria-invalid", "true");
    return false;
  });
}

export function sentenceOf(mistake) {
  const more = [mistake.allowed && `allowed: ${mistake.allowed}`, mistake.nearest && `nearest: ${mistake.nearest}`];
  return [mistake.problem, ...more].filter(Boolean).join("; ");
}

// The control of a key, for what is dragged or clicked in the drawing.
export function control(key) {
  return byKey.get(key);
}

// Moves the control of a key, as a hand would; a length in metres is turned into its unit.
export function move(key, metres, metre, done) {
  const found = byKey.get(key);
  if (!found) return;
  const { min, max, step } = found.handle;
  const raw = Math.min(max, Math.max(min, metres * metre));
  const value = Number((Math.round((raw - min) / step) * step + min).toFixed(4));
  found.main.value = value;
  found.main.dispatchEvent(new Event(done ? "change" : "input"));
}

// The next size of a list.
export function next(key) {
  const { main } = byKey.get(key);
  main.selectedIndex = (main.selectedIndex + 1) % main.options.length;
  main.dispatchEvent(new Event("change"));
  main.focus({ preventScroll: true });
}

// What a control shows as words.
export function wordsOf(key, changes) {
  const { handle } = byKey.get(key);
  return changes[key] ?? handle.value;
}
