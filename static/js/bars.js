// Bars across the sheet: things the whole page must know. Words only, never a dialog.

function icon(name) {
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  svg.setAttribute("aria-hidden", "true");
  svg.setAttribute("class", "icon");
  const use = document.createElementNS("http://www.w3.org/2000/svg", "use");
  use.setAttribute("href", `#i-${name}`);
  svg.append(use);
  return svg;
}

// Text as nodes, so that no markup is ever parsed: `**strong**`, `__underlined__`, line breaks.
const PARTS = /(\*\*[^*]+\*\*|__[^_]+__|\n)/;

function words(text) {
  const span = document.createElement("span");
  for (const part of text.split(PARTS)) {
    if (part === "\n") span.append(document.createElement("br"));
    else if (part.startsWith("**") || part.startsWith("__")) {
      const marked = document.createElement(part.startsWith("**") ? "b" : "u");
      marked.textContent = part.slice(2, -2);
      span.append(marked);
    } else span.append(part);
  }
  return span;
}

export function label(target, name, text) {
  target.replaceChildren(icon(name), words(text));
}

// A bar that came or went under a finger would push the page along, and the tap would hit
// something else than it was aimed at: bars wait until the finger is off.
const LIFTED_MS = 60;
const waiting = new Map();
let held = false;
let lifting = 0;

document.addEventListener("pointerdown", down, { capture: true });
for (const kind of ["pointerup", "pointercancel"]) document.addEventListener(kind, up, { capture: true });

function down() {
  clearTimeout(lifting);
  held = true;
}

function up() {
  clearTimeout(lifting);
  lifting = setTimeout(lifted, LIFTED_MS);
}

function lifted() {
  held = false;
  for (const move of waiting.values()) move();
  waiting.clear();
}

function whenLifted(id, move) {
  if (held) waiting.set(id, move);
  else move();
}

export function showBar(id, bar) {
  whenLifted(id, () => put(id, bar));
}

export function hideBar(id) {
  whenLifted(id, () => document.getElementById(id)?.remove());
}

// `tap` makes the whole bar a button, `act` puts one with a label of its own at its end.
function put(id, { sign, text, red = false, tap = null, act = null }) {
  let bar = document.getElementById(id);
  const kind = tap ? "BUTTON" : "DIV";
  if (bar && bar.tagName !== kind) {
    bar.remove();
    bar = null;
  }
  if (!bar) {
    bar = document.createElement(kind.toLowerCase());
    bar.id = id;
    if (tap) {
      bar.type = "button";
      bar.addEventListener("click", tap);
    }
    document.getElementById("bars")?.append(bar);
  }
  bar.className = red ? "bar red" : "bar";
  if (bar.dataset.text !== text) {
    bar.dataset.text = text;
    label(bar, sign, text);
    if (act) bar.append(button(act));
  }
}

function button(act) {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "alt";
  made.textContent = act.label;
  made.addEventListener("click", act.tap);
  return made;
}

export { icon };
