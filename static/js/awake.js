// Keeping the screen awake, as far as the browser lets a page; the button says what is true.
//
// The wake lock exists only where the address is secure. On a plain shop network a small silent
// picture that plays keeps many screens on, but nobody promises it: the page says so.

import { label } from "./bars.js";

let wanted = false;
let lock = null;
let film = null;
let frames = 0;

export function startAwake() {
  document.addEventListener("click", (event) => {
    if (event.target.closest?.("[data-awake]")) toggle();
  });
  document.addEventListener("visibilitychange", () => {
    if (wanted && document.visibilityState === "visible") hold();
  });
  document.body.addEventListener("htmx:afterSettle", show);
  show();
}

async function toggle() {
  wanted = !wanted;
  if (wanted) await hold();
  else await release();
  show();
}

async function hold() {
  try {
    if (window.isSecureContext && navigator.wakeLock) {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => {
        lock = null;
        show();
      });
    } else await play();
  } catch {
    lock = null;
  }
  show();
}

async function release() {
  await lock?.release();
  lock = null;
  clearInterval(frames);
  film?.pause();
  film?.remove();
  film = null;
}

// A canvas of two pixels as a running film.
async function play() {
  if (film) return film.play();
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = 2;
  const pen = canvas.getContext("2d");
  film = document.createElement("video");
  film.muted = true;
  film.setAttribute("playsinline", "");
  film.className = "vh";
  film.setAttribute("aria-hidden", "true");
  film.srcObject = canvas.captureStream(1);
  frames = setInterval(() => pen.fillRect(0, 0, 2, 2), 1000);
  document.body.append(film);
  await film.play();
}

function state() {
  if (lock) return ["held", "Screen stays on"];
  if (film && !film.paused) return ["tried", "Screen on, if this browser agrees. Else set auto-lock to never"];
  return ["off", "Screen may go dark. Keep it on"];
}

function show() {
  const [name, text] = state();
  for (const button of document.querySelectorAll("[data-awake]")) {
    if (button.dataset.awake === name) continue;
    button.dataset.awake = name;
    button.setAttribute("aria-pressed", String(wanted));
    label(button, name === "off" ? "rest" : "done", text);
  }
}
