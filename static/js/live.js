// What other devices do, and whether the server is there at all.
//
// The event stream only says that something changed. A heartbeat, while the page is visible,
// decides whether the server can be reached, measures the clock, and notices what the stream
// missed, so that a missed event never matters.

import { addSample, awoke, hourAndMinute, serverNow, unsettled } from "./clock.js";
import { hideBar, showBar } from "./bars.js";
import * as stream from "./stream.js";

const BEAT_MS = 5000;
const BEAT_LOST_MS = 2000;
const BEAT_UNSETTLED_MS = 500;
const BEAT_TIMEOUT_MS = 4000;
const LOST_AFTER = 2;
const GATHER_MS = 15;

let seq = Number(document.body.dataset.seq) || 0;
let beatTimer = 0;
let failures = 0;
let dataFrom = serverNow();
let gathered = 0;
let unsent = () => 0;

export const live = {
  reachable: true,
  get seq() {
    return seq;
  },
};

export function countUnsentWith(count) {
  unsent = count;
}

export function startLive() {
  stream.startStream(
    () => seq,
    (number) => {
      reached();
      noteSeq(number);
    },
  );
  document.addEventListener("visibilitychange", onVisibility);
  window.addEventListener("pageshow", (event) => event.persisted && comeBack());
  window.addEventListener("pagehide", close);
  window.addEventListener("online", () => beat());
  document.body.addEventListener("htmx:afterSettle", () => {
    document.body.dataset.seq = String(seq);
  });
  if (document.visibilityState === "visible") comeBack();
}

function onVisibility() {
  if (document.visibilityState === "visible") comeBack();
  else close();
}

function comeBack() {
  awoke();
  stream.open();
  beat();
}

function close() {
  clearTimeout(beatTimer);
  stream.close();
}

// Something is in the ledger up to `number`: say so once for all that arrives together.
export function noteSeq(number) {
  if (!(number > seq)) return;
  seq = number;
  changed();
}

function changed() {
  if (gathered) return;
  gathered = setTimeout(() => {
    gathered = 0;
    document.body.dispatchEvent(new CustomEvent("ringwright:ledger", { detail: { seq } }));
  }, GATHER_MS);
}

function soon(ms) {
  clearTimeout(beatTimer);
  if (document.visibilityState === "visible") beatTimer = setTimeout(beat, ms);
}

async function beat() {
  clearTimeout(beatTimer);
  const abort = new AbortController();
  const patience = setTimeout(() => abort.abort(), BEAT_TIMEOUT_MS);
  const sent = performance.now();
  try {
    const reply = await fetch("/api/time", { cache: "no-store", signal: abort.signal });
    const got = performance.now();
    if (!reply.ok) throw new Error(String(reply.status));
    const said = await reply.json();
    addSample(said.now_ms, sent, got);
    reached();
    catchUp(said.seq);
    hold(said.behind_s);
  } catch {
    missed();
  } finally {
    clearTimeout(patience);
  }
  soon(untilNext());
}

function untilNext() {
  if (!live.reachable || failures > 0) return BEAT_LOST_MS;
  return unsettled() ? BEAT_UNSETTLED_MS : BEAT_MS;
}

// The stream is reopened when nothing flows in, or when it did not say what is so.
function catchUp(newest) {
  const behind = newest !== seq;
  if (newest < seq) seq = newest; // an older ledger was put back at the server
  else noteSeq(newest);
  const sheet = document.querySelector("#main [data-seq]");
  if (behind || (sheet && Number(sheet.dataset.seq) < seq)) changed();
  if (!stream.flows() || behind) stream.open();
}

function reached() {
  failures = 0;
  dataFrom = serverNow();
  if (!live.reachable) {
    live.reachable = true;
    hideBar("not-connected");
    document.body.dispatchEvent(new CustomEvent("ringwright:reach", { detail: true }));
  }
}

function missed() {
  failures += 1;
  if (failures < LOST_AFTER) return;
  const first = live.reachable;
  live.reachable = false;
  showLost();
  if (first) document.body.dispatchEvent(new CustomEvent("ringwright:reach", { detail: false }));
}

export function showLost() {
  if (live.reachable) return;
  const count = unsent();
  const waiting = count ? ` Ticks wait on this device: ${count}.` : " Ticks will wait on this device.";
  showBar("not-connected", {
    sign: "off",
    red: true,
    text: `**Not connected.** Shop state from ${hourAndMinute(dataFrom)}.${waiting}`,
  });
}

// Said again a little later where it did not get through: a tap must not go unheard.
async function believe() {
  for (const wait of [0, 1000, 3000]) {
    await new Promise((done) => setTimeout(done, wait));
    const asked = { method: "POST", headers: { "HX-Request": "true" } };
    if ((await fetch("/clock/right", asked).catch(() => null))?.ok) break;
  }
  beat();
}

let held = false;
function hold(behind) {
  if (behind > 0) {
    showBar("clock-wrong", {
      sign: "warn",
      red: true,
      text: "**The server’s clock is earlier than it was before.** Times stand still until it is set right.",
      act: { label: "The clock is right now", tap: believe },
    });
  } else if (held) hideBar("clock-wrong");
  held = behind > 0;
}
