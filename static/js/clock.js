// The server's time on this device, whatever the device's own clock says.
//
// A sample pairs the server's time with this page's monotonic clock at the middle of a request;
// the one with the shortest round trip is believed, to half of that trip. Device time is only used
// to notice a sleep, through which the monotonic clock of some systems stands still.

const KEPT = 8;
const SLEPT_MS = 2000;
const SET_MS = 5000;
const WORTH_PAINTING_MS = 50;
const UNCERTAIN_MS = 250;

let samples = [];
let base = firstSample();
let lastWall = Date.now();
let lastSteady = performance.now();

function firstSample() {
  const [load] = performance.getEntriesByType("navigation");
  // The server read its clock somewhere between the question and the answer.
  const at = load?.responseStart > 0 ? (load.requestStart + load.responseStart) / 2 : performance.now();
  return { server: Number(document.body.dataset.now) || Date.now(), at, trip: Infinity };
}

export function serverNow() {
  return base.server + (performance.now() - base.at);
}

// Whether a further sample is worth having soon: the server may be out of reach later. On a network
// that is always slow it comes no better.
export function unsettled() {
  return base.trip / 2 > UNCERTAIN_MS && samples.length < KEPT;
}

// `sent` and `got` are readings of performance.now() around the request.
export function addSample(server, sent, got) {
  const before = serverNow();
  const trip = got - sent;
  // The server's clock was set: nothing that was measured before says anything of it.
  if (Math.abs(server - (before - (performance.now() - (sent + got) / 2))) > SET_MS + trip) samples = [];
  samples.push({ server, at: (sent + got) / 2, trip });
  samples = samples.slice(-KEPT);
  base = samples.reduce((best, sample) => (sample.trip <= best.trip ? sample : best));
  document.body.dataset.clockWithin = String(Math.ceil(base.trip / 2));
  lastWall = Date.now();
  lastSteady = performance.now();
  if (Math.abs(serverNow() - before) > WORTH_PAINTING_MS) {
    document.body.dispatchEvent(new CustomEvent("ringwright:clock"));
  }
}

// On return to the page: what was measured before may be stale, and the device may have slept.
export function awoke() {
  const wall = Date.now() - lastWall;
  const steady = performance.now() - lastSteady;
  if (wall - steady > SLEPT_MS) base = { ...base, server: base.server + (wall - steady) };
  samples = [];
  lastWall = Date.now();
  lastSteady = performance.now();
}

export function hourAndMinute(ms) {
  return new Date(ms).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
}
