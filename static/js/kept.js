// What this device still has to send, kept in its own storage so that a reload loses nothing.
// One key an entry: several tabs of one browser share it without overwriting one another.

const PREFIX = "ringwright.unsent.";
const REFUSED = "ringwright.refused.";
const DEVICE = "ringwright.device";
const memory = new Map(); // where the browser keeps nothing

export const storage = probe();

function probe() {
  try {
    localStorage.setItem("ringwright.probe", "1");
    localStorage.removeItem("ringwright.probe");
    return localStorage;
  } catch {
    return null;
  }
}

export function uuid() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return [0, 8, 12, 16, 20].map((from, i, all) => hex.slice(from, all[i + 1])).join("-");
}

export function deviceName() {
  const known = storage?.getItem(DEVICE) ?? memory.get(DEVICE);
  if (known) return known;
  const small = Math.min(screen.width, screen.height);
  const kind = !matchMedia("(pointer: coarse)").matches ? "Computer" : small < 600 ? "Phone" : "Tablet";
  const letters = "ABCDEFGHJKLMNPQRSTUVWXYZ";
  const pick = Array.from(crypto.getRandomValues(new Uint8Array(2)), (b) => letters[b % letters.length]);
  const name = `${kind} ${pick.join("")}`;
  put(DEVICE, name);
  return name;
}

function put(key, text) {
  try {
    if (!storage) throw new Error("no storage");
    storage.setItem(key, text);
    return true;
  } catch {
    memory.set(key, text);
    return false;
  }
}

function keys(prefix) {
  const stored = storage ? Object.keys(storage).filter((key) => key.startsWith(prefix)) : [];
  const held = [...memory.keys()].filter((key) => key.startsWith(prefix));
  return [...stored, ...held].sort();
}

function read(prefix) {
  return keys(prefix).flatMap((key) => {
    try {
      return [{ key, ...JSON.parse(storage?.getItem(key) ?? memory.get(key)) }];
    } catch {
      return [];
    }
  });
}

export function unsentItems() {
  return read(PREFIX);
}

export function refusedItems() {
  return read(REFUSED);
}

// Keeps an item at the end of the line. False where it lives only as long as this page.
export function keep(item) {
  const last = keys(PREFIX).at(-1);
  const number = last ? Number(last.slice(PREFIX.length, PREFIX.length + 12)) + 1 : 1;
  return put(`${PREFIX}${String(number).padStart(12, "0")}.${item.entry.id}`, JSON.stringify(item));
}

export function drop(item) {
  storage?.removeItem(item.key);
  memory.delete(item.key);
}

export function refuse(item, why) {
  put(`${REFUSED}${item.entry.id}`, JSON.stringify({ entry: item.entry, words: item.words, why }));
  drop(item);
}
