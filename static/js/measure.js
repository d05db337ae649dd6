// Forms that write a measured length into the ledger: 2 5/8, 2-5/8", 66.7 mm, 66,7.
// They go through the queue like every tick, so they may be filled in out of touch.

import { say } from "./queue.js";

const MM_PER_INCH = 25.4;
const LARGEST_MM = 3000;
const VULGAR = { "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8" };
const LENGTH = /^(?:(\d+(?:[.,]\d+)?|[.,]\d+)(?:[ -]+(?=\d+\/)|(?!\d*\/)))?(?:(\d+)\/(\d+))?\s*(mm|cm|in|″|"|”)?$/i;

// A length in mm, or null. A number without a unit is in `units`, a fraction always in inches.
export function readLength(text, units) {
  let typed = text.trim();
  for (const [sign, plain] of Object.entries(VULGAR)) typed = typed.replace(sign, ` ${plain}`);
  const found = LENGTH.exec(typed.trim().replace(/\s+/g, " "));
  if (!found || (found[1] === undefined && found[2] === undefined)) return null;
  const [, whole, top, under, unit] = found;
  if (under !== undefined && Number(under) === 0) return null;
  const value = Number((whole ?? "0").replace(",", ".")) + (top ? Number(top) / Number(under) : 0);
  const named = (unit ?? (top ? "in" : units)).toLowerCase();
  return value * (named === "mm" ? 1 : named === "cm" ? 10 : MM_PER_INCH);
}

document.addEventListener("submit", (event) => {
  const form = event.target.closest?.("form[data-measure]");
  if (!form) return;
  event.preventDefault();
  const value = readLength(form.elements.value.value, form.dataset.units);
  const wrong = value === null ? 'Write 2 5/8, 2-5/8" or 66.7 mm.' : value <= 0 || value > LARGEST_MM ? "No such length here." : "";
  const words = form.querySelector("[data-wrong]");
  words.textContent = wrong;
  words.hidden = !wrong;
  if (wrong) return;
  const { subject, quantity, part } = form.dataset;
  say({ kind: "measured", subject, part, data: { quantity, value_mm: value }, words: "a measure", mark: `measured:${subject}` }, form);
  form.reset();
});
