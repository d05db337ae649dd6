// Times that run: absolute ends at the server, counted down here, never ticking anything.
//
// `data-deadline` on an element with a `data-left` inside (or on itself) is a countdown. A press
// that is not sent yet is counted down as well, in the head's strip.

import { hourAndMinute, serverNow } from "./clock.js";
import { unsentItems } from "./kept.js";

const ANNOUNCED_MIN = [10, 1];
const SECOND_MS = 1000;
const CLOCK_PLAY_MS = 50;
const RINGS = new Set(["press", "halves"]);

let next = 0;
const announced = new Map();

export function startTimers() {
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") paint();
  });
  for (const name of ["htmx:afterSettle", "ringwright:said", "ringwright:ledger", "ringwright:clock"]) {
    document.body.addEventListener(name, paint);
  }
  paint();
}

// Timers that are over and that nobody has quieted yet; what the alarm goes by.
export function ringing() {
  const found = new Map();
  for (const element of document.querySelectorAll("[data-timer][data-deadline]")) {
    const { timer, kind, heard, deadline } = element.dataset;
    if (!RINGS.has(kind) || heard === "yes" || found.has(timer)) continue;
    if (serverNow() >= Date.parse(deadline)) found.set(timer, element);
  }
  return found;
}

export function running() {
  return [...document.querySelectorAll("[data-timer][data-deadline]")].filter((element) =>
    RINGS.has(element.dataset.kind),
  );
}

export function timeText(ms) {
  const over = ms <= 0;
  // The clock may have been read a moment better since the time began: 30:01 is no half hour.
  const seconds = over ? Math.floor(-ms / 1000) : Math.max(0, Math.ceil((ms - CLOCK_PLAY_MS) / 1000));
  const minutes = Math.floor(seconds / 60);
  if (minutes >= 100) return `${over ? "+" : ""}${Math.round(minutes / 60)} h`;
  return `${over && seconds ? "+" : ""}${minutes}:${String(seconds % 60).padStart(2, "0")}`;
}

function onHold() {
  return document.getElementById("clock-wrong") !== null;
}

function paint() {
  clearTimeout(next);
  if (document.visibilityState !== "visible") return;
  provisional();
  const now = serverNow();
  let soonest = SECOND_MS;
  if (!onHold()) {
    for (const element of document.querySelectorAll("[data-deadline]")) {
      paintOne(element, now);
      soonest = Math.min(soonest, nextDigit(Date.parse(element.dataset.deadline) - now));
    }
    for (const line of document.querySelectorAll("[data-from][data-until]")) grow(line, now);
  }
  askForWhatIsDue();
  next = setTimeout(paint, soonest + 4);
}

// In how many ms the text of a time changes: each has its own seconds, by the moment it ends.
function nextDigit(left) {
  if (left > 0 && left <= CLOCK_PLAY_MS) return left;
  const into = left > 0 ? left - CLOCK_PLAY_MS : left;
  return ((into % SECOND_MS) + SECOND_MS) % SECOND_MS || SECOND_MS;
}

// The sheet that the server drew before the time was over is asked for again, until it says so.
function askForWhatIsDue() {
  const due = document.querySelector("[data-countdown].over:not([data-over])");
  if (due) document.body.dispatchEvent(new CustomEvent("ringwright:due"));
}

function paintOne(element, now) {
  const deadline = Date.parse(element.dataset.deadline);
  const left = deadline - now;
  const face = element.matches("[data-left]") ? element : element.querySelector("[data-left]");
  const text = timeText(left);
  if (face && face.textContent !== text) face.textContent = text;
  const over = left <= 0;
  element.classList.toggle("over", over);
  const until = element.querySelector("[data-until-word]");
  const word = over ? "since" : "until";
  if (until && until.textContent !== word) until.textContent = word;
  if (element.dataset.timer && RINGS.has(element.dataset.kind)) tell(element, left, deadline);
}

function tell(element, left, deadline) {
  const key = `${element.dataset.timer}@${deadline}`;
  const name = element.dataset.name ?? element.querySelector(".vh")?.textContent ?? "";
  const at = ANNOUNCED_MIN.findLast((minutes) => left <= minutes * 60000);
  if (left <= 0) {
    announce(key, 0, `${name} Time is over.`);
  } else if (at !== undefined && left > at * 60000 - 5000) {
    announce(key, at, `${name} ${at} ${at === 1 ? "minute" : "minutes"} left.`);
  }
}

function announce(key, step, text) {
  if (announced.get(key) === step) return;
  announced.set(key, step);
  let region = document.getElementById("said-aloud");
  if (!region) {
    region = document.createElement("p");
    region.id = "said-aloud";
    region.className = "vh";
    region.setAttribute("role", "status");
    document.body.append(region);
  }
  region.textContent = text.trim();
}

// The part of a dimension line that has passed: from x1 to data-end.
function grow(line, now) {
  const from = Date.parse(line.dataset.from);
  const until = Date.parse(line.dataset.until);
  const share = Math.min(1, Math.max(0, (now - from) / (until - from)));
  const start = Number(line.getAttribute("x1"));
  line.setAttribute("x2", (start + (Number(line.dataset.end) - start) * share).toFixed(1));
}

// Presses that are on this device only: shown in the strip until the server has them.
function provisional() {
  const strip = document.getElementById("runs");
  if (!strip) return;
  const items = unsentItems();
  const gone = new Set(items.map((item) => item.entry.undoes));
  const wanted = new Map();
  for (const { entry } of items) {
    const minutes = entry.data?.minutes;
    if (!gone.has(entry.id) && minutes > 0 && !strip.querySelector(`[data-timer="${entry.id}"]:not(.unsent)`))
      wanted.set(entry.id, entry);
  }
  for (const element of strip.querySelectorAll(".unsent")) {
    if (!wanted.delete(element.dataset.timer)) element.remove();
  }
  for (const entry of wanted.values()) strip.append(run(entry));
}

function run(entry) {
  const element = document.createElement("div");
  const deadline = Date.parse(entry.at) + entry.data.minutes * 60000;
  element.className = "run unsent";
  Object.assign(element.dataset, {
    timer: entry.id,
    kind: entry.kind === "clamped" ? "press" : "halves",
    deadline: new Date(deadline).toISOString(),
  });
  const letter = document.createElement("span");
  letter.className = "letter";
  letter.textContent = entry.data.faceplate ?? "·";
  const words = document.createElement("span");
  const left = document.createElement("b");
  left.dataset.left = "";
  const small = document.createElement("small");
  small.textContent = `until ${hourAndMinute(deadline)}, not sent`;
  words.append(left, small);
  element.append(letter, words);
  return element;
}
