// The alarm: sound, shaking and a loud screen. It says truly whether it will ring here.
//
// A browser lets a page sound only after a tap; the first tap anywhere unlocks it. A dark or
// locked screen silences any page: then nothing rings here, and the page says so.

import { hideBar, label, showBar } from "./bars.js";
import { live } from "./live.js";
import { say } from "./queue.js";
import { ringing, running } from "./timers.js";

const PATTERN_HZ = [880, 660, 880];
const BEEP_S = 0.18;
const GAP_S = 0.12;
const AGAIN_MS = 1500;
const QUIET_AFTER_MS = 10 * 60000;

let context = null;
let ringTimer = 0;
const since = new Map();

export function startAlarm() {
  for (const kind of ["pointerdown", "keydown", "click"]) {
    document.addEventListener(kind, unlock, { capture: true });
  }
  document.getElementById("alarm")?.addEventListener("click", (event) => {
    if (ringing().size) quiet(event.currentTarget);
    else test();
  });
  document.addEventListener("click", (event) => {
    const button = event.target.closest?.("[data-quiet]");
    if (button) quiet(button);
  });
  for (const name of ["htmx:afterSettle", "ringwright:due", "ringwright:reach", "ringwright:said"]) {
    document.body.addEventListener(name, show);
  }
  document.addEventListener("visibilitychange", show);
  setInterval(show, 1000);
  show();
}

// Synchronously inside the tap: some browsers accept nothing later.
function unlock() {
  const Context = window.AudioContext ?? window.webkitAudioContext;
  if (!Context) return;
  if (!context) {
    context = new Context();
    context.onstatechange = show;
    if (navigator.audioSession) navigator.audioSession.type = "playback";
  }
  if (context.state !== "running") context.resume().then(show, show);
}

export function willRing() {
  return context?.state === "running" && document.visibilityState === "visible";
}

function show() {
  const ready = willRing();
  const cell = document.getElementById("alarm");
  const state = ringing().size ? "ringing" : !ready ? "off" : live.reachable ? "on" : "alone";
  if (cell && cell.dataset.alarm !== state) {
    cell.dataset.alarm = state;
    if (state === "ringing") label(cell, ready ? "bell" : "mute", "**Time is over**\n__Quiet__");
    else if (state === "off") label(cell, "mute", "Will **not**\nring here");
    else label(cell, "bell", state === "on" ? "Will ring here\n__Test__" : "Will ring here,\nif nothing changed");
  }
  if (!ready && running().length) {
    showBar("will-not-ring", {
      sign: "mute",
      text: "**Will not ring here.** Tap to let this device sound.",
      tap: unlock,
    });
  } else hideBar("will-not-ring");
  ringOrNot();
}

function ringOrNot() {
  const timers = ringing();
  for (const id of since.keys()) if (!timers.has(id)) since.delete(id);
  for (const id of timers.keys()) if (!since.has(id)) since.set(id, performance.now());
  const loud = [...since.values()].some((from) => performance.now() - from < QUIET_AFTER_MS);
  document.body.classList.toggle("alarm", timers.size > 0);
  document.body.dataset.ringing = loud && willRing() ? "yes" : "no";
  if (loud && !ringTimer) ringAgain();
  if (!loud) {
    clearTimeout(ringTimer);
    ringTimer = 0;
  }
}

function ringAgain() {
  beep();
  shake([200, 100, 200]);
  ringTimer = setTimeout(ringAgain, AGAIN_MS);
}

// Before the first tap a browser refuses to shake, and complains about being asked.
function shake(pattern) {
  if (navigator.userActivation?.hasBeenActive !== false) navigator.vibrate?.(pattern);
}

function beep() {
  if (context?.state !== "running") return;
  PATTERN_HZ.forEach((hz, index) => {
    const at = context.currentTime + index * (BEEP_S + GAP_S);
    const tone = context.createOscillator();
    const loudness = context.createGain();
    tone.type = "square";
    tone.frequency.value = hz;
    loudness.gain.setValueAtTime(0, at);
    loudness.gain.linearRampToValueAtTime(0.5, at + 0.01);
    loudness.gain.setValueAtTime(0.5, at + BEEP_S - 0.02);
    loudness.gain.linearRampToValueAtTime(0, at + BEEP_S);
    tone.connect(loudness).connect(context.destination);
    tone.start(at);
    tone.stop(at + BEEP_S);
  });
}

function test() {
  unlock();
  beep();
  shake([200]);
  show();
}

// Heard here is heard everywhere: it goes into the ledger, and every device falls silent.
function quiet(button) {
  for (const [id, element] of ringing()) {
    const { piece, subject } = element.dataset;
    if (element.classList.contains("unsent")) continue;
    say({ kind: "note", subject, piece, note: "Alarm heard", data: { heard: id }, words: "alarm heard" }, button);
    for (const same of document.querySelectorAll(`[data-timer="${id}"]`)) same.dataset.heard = "yes";
  }
  show();
}
