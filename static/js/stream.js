// One event stream for all pages of a browser: it has only six connections for one server.
//
// The page that holds the lease listens to the server and tells the others. A page that goes out
// of sight gives the lease back; one that dies loses it after a few seconds.

import { storage } from "./kept.js";

const LEASE = "ringwright.stream";
const LEASE_MS = 6000;
const RENEW_MS = 2000;
const SILENT_MS = 40000;

const me = Array.from(crypto.getRandomValues(new Uint8Array(8))).join("");
const channel = "BroadcastChannel" in window ? new BroadcastChannel("ringwright") : null;
let source = null;
let wanted = false;
let renewal = 0;
let heardAt = 0;
let newest = () => 0;
let hear = () => {};

// `after()` is the newest line known here, `onSeq` is called with each newer one.
export function startStream(after, onSeq) {
  newest = after;
  hear = onSeq;
  if (!channel) return;
  channel.onmessage = ({ data }) => {
    if (data.free && wanted) open();
    if (data.seq && wanted) hear(data.seq);
  };
}

export function open() {
  wanted = true;
  if (!mayListen()) return;
  source?.close();
  clearInterval(renewal);
  renewal = setInterval(renew, RENEW_MS);
  heardAt = performance.now();
  source = new EventSource(`/api/live?after=${newest()}`);
  source.onopen = () => {
    heardAt = performance.now();
  };
  source.onmessage = (event) => {
    heardAt = performance.now();
    const seq = Number(event.lastEventId);
    hear(seq);
    channel?.postMessage({ seq });
  };
}

export function close() {
  wanted = false;
  if (!source) return;
  drop();
  storage?.removeItem(LEASE);
  channel?.postMessage({ free: true });
}

// Whether events come in: by an open stream of this page, or by another page of the browser.
export function flows() {
  if (!source) return lease().until > Date.now() && lease().page !== me;
  return source.readyState === EventSource.OPEN && performance.now() - heardAt < SILENT_MS;
}

function drop() {
  clearInterval(renewal);
  source?.close();
  source = null;
}

function lease() {
  try {
    return JSON.parse(storage.getItem(LEASE)) ?? { until: 0 };
  } catch {
    return { until: 0 };
  }
}

function mayListen() {
  if (!channel || !storage) return true;
  const held = lease();
  if (held.page !== me && held.until > Date.now() && held.until < Date.now() + LEASE_MS + RENEW_MS) return false;
  storage.setItem(LEASE, JSON.stringify({ page: me, until: Date.now() + LEASE_MS }));
  return true;
}

function renew() {
  if (!mayListen()) drop(); // another page took over while this one slept
}
