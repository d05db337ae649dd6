// Ticks: answered from the device at once, kept on it, sent in order, once each.
//
// A button says what is so with `data-say` (kind, subject, data, undoes as JSON); the nearest
// `data-seq` says how much of the ledger whoever taps has seen. Sending the same entry again is
// harmless, its id is made here.

import { serverNow } from "./clock.js";
import { hideBar, icon, label, showBar } from "./bars.js";
import { deviceName, drop, keep, refuse, refusedItems, storage, unsentItems, uuid } from "./kept.js";
import { countUnsentWith, live, noteSeq, showLost } from "./live.js";
import { dropPhoto, sendPhoto } from "./photos.js";

const DOUBLE_MS = 400;
const TIMEOUT_MS = 8000;
const LATE_MS = 2000;
const DRAWN_WITHIN_MS = 10000;
const BACKOFF_MS = [500, 1000, 2000, 4000, 8000, 15000];
const FINAL = new Set([400, 404, 409, 413, 422]);

let sending = false;
let tries = 0;
let retry = 0;
let kept = []; // on disk at the server, but not on the sheet yet
let lastTap = { element: null, at: -Infinity };

export function startQueue() {
  countUnsentWith(() => unsentItems().length);
  document.addEventListener("click", onClick);
  window.addEventListener("beforeunload", (event) => late() && event.preventDefault());
  window.addEventListener("storage", show);
  document.body.addEventListener("htmx:afterSettle", show);
  document.body.addEventListener("ringwright:reach", (event) => {
    if (event.detail) {
      tries = 0;
      send();
    }
    show();
  });
  setInterval(show, 1000);
  show();
  send();
}

// Say something: from a button, or from another module. Returns the entry as it will be sent.
export function say(what, from = document.body, photo = null) {
  const seen = from.closest("[data-seq]") ?? document.body;
  const entry = {
    id: uuid(),
    piece: what.piece ?? document.body.dataset.piece,
    kind: what.kind,
    subject: what.subject,
    at: new Date(serverNow()).toISOString(),
    device: deviceName(),
    seen_seq: Number(seen.dataset.seq) || 0,
    data: what.data ?? {},
  };
  for (const name of ["part", "note", "undoes"]) if (what[name]) entry[name] = what[name];
  const item = { entry, words: what.words ?? "", mark: what.mark ?? markOf(what), photo };
  keep(item);
  document.body.dispatchEvent(new CustomEvent("ringwright:said", { detail: entry }));
  show();
  send();
  return entry;
}

function markOf(what) {
  return `${what.kind}:${what.subject}`;
}

function onClick(event) {
  const button = event.target.closest?.("[data-say], [data-undo-unsent]");
  if (!button || button.disabled) return;
  event.preventDefault();
  if (lastTap.element === markKey(button) && event.timeStamp - lastTap.at < DOUBLE_MS) return;
  lastTap = { element: markKey(button), at: event.timeStamp };
  const newest = newestTaken(button);
  if (button.hasAttribute("data-undo-unsent") && newest) return undoTaken(newest, button);
  if (!button.dataset.say || button.dataset.pending) return;
  for (const what of [JSON.parse(button.dataset.say)].flat()) say(what, button);
}

function markKey(button) {
  return button.id || button.dataset.say;
}

// The last thing said here that the element's sheet does not show yet, sent or not.
function newestTaken(element) {
  const items = [...kept.filter((item) => isNews(item, element)), ...unsentItems()];
  const undone = new Set(items.map((item) => item.entry.undoes));
  return items.filter((item) => item.entry.kind !== "undone" && !undone.has(item.entry.id)).at(-1);
}

function undoTaken(item, button) {
  const { id, subject, piece } = item.entry;
  say({ kind: "undone", subject, piece, undoes: id, words: `${item.words}, undone` }, button);
}

// ---- sending ----

async function send() {
  if (sending) return;
  clearTimeout(retry);
  sending = true;
  try {
    for (let item = unsentItems()[0]; item; item = unsentItems()[0]) {
      if (!(await deliver(item))) {
        retry = setTimeout(send, BACKOFF_MS[Math.min(tries, BACKOFF_MS.length - 1)]);
        tries += 1;
        break;
      }
      tries = 0;
    }
  } finally {
    sending = false;
    show();
  }
}

// True when the item is off the device: kept by the server, or refused and shown as refused.
async function deliver(item) {
  const abort = new AbortController();
  const patience = setTimeout(() => abort.abort(), TIMEOUT_MS);
  try {
    const reply = await (item.photo ? sendPhoto(item.photo, item.entry, abort.signal) : post(item.entry, abort.signal));
    if (reply.ok) {
      const { seq } = await reply.json();
      drop(item);
      if (item.photo) dropPhoto(item.photo);
      kept.push({ ...item, seq, at: performance.now() });
      noteSeq(seq);
      return true;
    }
    if (!FINAL.has(reply.status)) return false;
    refuse(item, (await reply.json().catch(() => ({}))).detail ?? `answer ${reply.status}`);
    return true;
  } catch {
    return false;
  } finally {
    clearTimeout(patience);
  }
}

function post(entry, signal) {
  return fetch("/api/ledger", {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(entry),
    signal,
  });
}

// ---- showing ----

function age(item) {
  return serverNow() - Date.parse(item.entry.at);
}

function late() {
  return unsentItems().some((item) => !live.reachable || age(item) > LATE_MS);
}

function show() {
  const items = unsentItems();
  showSaved(items);
  showMarks(items);
  showRefused();
  showLost();
}

function showSaved(items) {
  const cell = document.getElementById("saved");
  if (!cell) return;
  const waits = items.length > 0 && late();
  const state = waits ? `no ${items.length}` : items.length ? "soon" : "yes";
  if (cell.dataset.saved === state) return;
  if (state === "yes" && cell.dataset.saved === undefined) return;
  cell.dataset.saved = state;
  if (waits) {
    const ticks = items.length === 1 ? "1 tick not" : `${items.length} ticks not`;
    label(cell, "unsent", `${ticks}\nsent yet`);
  } else if (items.length) label(cell, "unsent", "Saving");
  else label(cell, "sent", `Saved\n${clockWords()}`);
}

function clockWords() {
  return new Date(serverNow()).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
}

// The tick itself carries the dashed box until the server has it.
function showMarks(items) {
  const undone = new Set(items.map((item) => item.entry.undoes));
  const marks = new Set(items.filter((i) => !undone.has(i.entry.id)).map((item) => item.mark));
  kept = kept.filter((one) => performance.now() - one.at < DRAWN_WITHIN_MS);
  for (const element of document.querySelectorAll("[data-mark]")) {
    const pending = marks.has(element.dataset.mark) || isBehind(element);
    if (pending === Boolean(element.dataset.pending)) continue;
    if (pending) {
      element.dataset.pending = "yes";
      element.append(pendingSign());
    } else {
      delete element.dataset.pending;
      element.querySelector(":scope > .pending")?.remove();
    }
  }
  const waiting = new Set(items.filter((i) => !undone.has(i.entry.id)).map((item) => item.entry.subject));
  for (const sign of document.querySelectorAll("[data-waits]")) {
    sign.toggleAttribute("data-pending", waiting.has(sign.dataset.waits));
  }
  for (const element of document.querySelectorAll("[data-undo-unsent]")) {
    const newest = newestTaken(element);
    const small = element.querySelector("small");
    element.dataset.words ??= small?.textContent ?? "";
    const words = newest && (newest.seq ? newest.words : `${newest.words}, not sent`);
    if (small) small.textContent = words || element.dataset.words;
    element.disabled = !newest && !element.dataset.say;
  }
}

// The sheet is older than what the server took from this device: the tick must not flicker.
function isBehind(element) {
  return kept.some((item) => item.mark === element.dataset.mark && isNews(item, element));
}

function isNews(item, element) {
  return item.seq > Number((element.closest("[data-seq]") ?? document.body).dataset.seq);
}

function pendingSign() {
  const sign = document.createElement("span");
  sign.className = "pending";
  const words = document.createElement("span");
  words.className = "vh";
  words.textContent = "not sent yet";
  sign.append(icon("unsent"), words);
  return sign;
}

function showRefused() {
  const refused = refusedItems();
  if (!refused.length) return hideBar("refused");
  const first = refused[0];
  showBar("refused", {
    sign: "stop",
    red: true,
    text: `**Not taken by the server:** ${first.words || first.entry.kind}. ${first.why} Tap to put this message away.`,
    tap: () => {
      for (const item of refusedItems().slice(0, 1)) drop(item);
      show();
    },
  });
}

if (!storage) {
  showBar("no-storage", {
    sign: "warn",
    text: "**This browser keeps nothing.** Ticks that are not sent are lost when the page is closed.",
  });
}
