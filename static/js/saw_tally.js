// The tally answers at once, also out of touch: what this device said and the sheet does not know
// yet is added to the sheet's own count.

import { unsentItems } from "./kept.js";

const FORGET_MS = 6000;
const said = new Map(); // id -> {entry, at}, until the sheet knows of it

document.body.addEventListener("ringwright:said", (event) => {
  const entry = event.detail;
  if (entry.kind !== "cut" && entry.kind !== "undone") return;
  said.set(entry.id, { entry, at: performance.now() });
  show();
});
document.body.addEventListener("htmx:afterSettle", show);
setInterval(show, 1000);
show();

// Lines that the sheet does not have: those still on the device, and those just sent.
function waiting(known) {
  const unsent = new Map(unsentItems().map((item) => [item.entry.id, item.entry]));
  for (const [id, one] of said) {
    const gone = one.entry.kind === "undone" && !unsent.has(id) && !known[one.entry.undoes];
    const late = !unsent.has(id) && performance.now() - one.at > FORGET_MS;
    if (id in known || gone || late) said.delete(id);
  }
  const all = new Map(unsent);
  for (const [id, one] of said) all.set(id, one.entry);
  for (const id of Object.keys(known)) all.delete(id);
  return all;
}

function show() {
  const figure = document.querySelector("[data-tally]");
  if (!figure) return;
  const known = JSON.parse(figure.dataset.known);
  const lines = waiting(known);
  let cut = Number(figure.dataset.cut);
  let broken = Number(figure.dataset.broken);
  const count = (entry, sign) => {
    cut += sign * (entry.data.count ?? 0);
    broken += sign * (entry.data.broken ?? 0);
  };
  for (const entry of lines.values()) {
    if (entry.piece !== document.body.dataset.piece) continue;
    if (entry.kind === "cut" && entry.data.strip === figure.dataset.tally) count(entry, 1);
    if (entry.kind !== "undone") continue;
    const here = lines.get(entry.undoes);
    if (here?.kind === "cut" && here.data.strip === figure.dataset.tally) count(here, -1);
    else if (known[entry.undoes]) {
      cut -= known[entry.undoes][0];
      broken -= known[entry.undoes][1];
    }
  }
  paint(figure, Math.max(0, cut), broken);
}

function paint(figure, cut, broken) {
  const words = String(cut);
  for (const one of [figure, document.querySelector("[data-tally-copy]")]) {
    if (one && one.textContent !== words) one.textContent = words;
  }
  const spares = document.querySelector("[data-spares]");
  const more = broken - Number(figure.dataset.broken);
  if (spares) {
    spares.dataset.words ??= spares.textContent;
    const text = more ? `${spares.dataset.words}, ${more} broken not sent` : spares.dataset.words;
    if (spares.textContent !== text) spares.textContent = text;
  }
  const sure = Number(figure.dataset.cut);
  for (const glyph of document.querySelectorAll(".tens [data-n]")) {
    const n = Number(glyph.dataset.n);
    const rest = n > Number(figure.dataset.needed) ? "spare" : "to-come";
    const state = n <= Math.min(sure, cut) ? "cut" : n <= cut ? "unsent" : rest;
    if (glyph.dataset.state !== state) glyph.dataset.state = state;
  }
}
