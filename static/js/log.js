// Forms that write into the ledger: notes, photos, the shop's temperature and humidity.
// They go through the queue like every tick, so they may be filled in out of touch.

import { keepPhoto } from "./photos.js";
import { say } from "./queue.js";

export function startForms() {
  document.addEventListener("submit", onSubmit);
}

async function onSubmit(event) {
  const form = event.target.closest?.("form[data-log]");
  if (!form) return;
  event.preventDefault();
  const wrong = form.dataset.log === "room" ? room(form) : await noteAndPhoto(form);
  const words = form.querySelector("[data-wrong]");
  if (words) {
    words.textContent = wrong ?? "";
    words.hidden = !wrong;
  }
  if (!wrong) form.reset();
}

// A number as people write it: comma or point; a temperature may end in F.
export function readNumber(text) {
  const found = /^\s*([-−]?\d+(?:[.,]\d+)?)\s*(°?\s*[cf]|%)?\s*$/i.exec(text);
  if (!found) return null;
  const value = Number(found[1].replace("−", "-").replace(",", "."));
  return /f/i.test(found[2] ?? "") ? ((value - 32) * 5) / 9 : value;
}

function room(form) {
  const fields = [
    ["temperature_c", -20, 60, "A shop’s temperature lies between −20 and 60 °C."],
    ["humidity_percent", 0, 100, "Humidity lies between 0 and 100 %."],
  ];
  const found = [];
  for (const [quantity, low, high, words] of fields) {
    const typed = form.elements[quantity]?.value.trim();
    if (!typed) continue;
    const value = readNumber(typed);
    if (value === null || value < low || value > high) return words;
    found.push([quantity, value]);
  }
  if (!found.length) return "Write a temperature or a humidity first.";
  for (const [quantity, value] of found) {
    say({ kind: "measured", subject: form.dataset.subject, data: { quantity, value }, words: "the shop’s air" }, form);
  }
  return null;
}

async function noteAndPhoto(form) {
  const subject = form.elements.subject.value;
  const note = form.elements.note.value.trim();
  const file = form.elements.photo?.files[0];
  if (!note && !file) return "Write a note or take a photo first.";
  if (file) {
    const photo = await keepPhoto(file);
    if (!photo) return "This is no picture that the browser can read.";
    say({ kind: "photo", subject, note: note || undefined, words: "a photo" }, form, photo);
  } else say({ kind: "note", subject, note, words: "a note" }, form);
  return null;
}
