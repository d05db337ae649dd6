// Photos: made smaller and freed of where they were taken by drawing them anew, then kept in the
// browser's database until the server has them.

const LONGEST_PX = 1600;
const QUALITY = 0.85;
const SHELF = "photos";

function database() {
  return new Promise((done, fail) => {
    const open = indexedDB.open("ringwright", 1);
    open.onupgradeneeded = () => open.result.createObjectStore(SHELF);
    open.onsuccess = () => done(open.result);
    open.onerror = () => fail(open.error);
  });
}

async function shelf(mode, act) {
  const base = await database();
  return new Promise((done, fail) => {
    const request = act(base.transaction(SHELF, mode).objectStore(SHELF));
    request.onsuccess = () => done(request.result);
    request.onerror = () => fail(request.error);
  });
}

// Keeps a picture and says under what name; null when it is none.
export async function keepPhoto(file) {
  try {
    const image = await createImageBitmap(file);
    const scale = Math.min(1, LONGEST_PX / Math.max(image.width, image.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(image.width * scale));
    canvas.height = Math.max(1, Math.round(image.height * scale));
    canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
    const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", QUALITY));
    const name = `${Date.now()}-${Array.from(crypto.getRandomValues(new Uint8Array(8))).join("")}`;
    await shelf("readwrite", (photos) => photos.put(blob, name));
    return name;
  } catch {
    return null;
  }
}

// Sends a picture with what is said of it; the server writes the entry, the same once for one id.
export async function sendPhoto(name, entry, signal) {
  const blob = await shelf("readonly", (photos) => photos.get(name));
  const form = new FormData();
  form.append("photo", blob ?? new Blob(), "photo.jpg");
  for (const field of ["id", "subject", "part", "note", "at", "device"]) {
    if (entry[field]) form.append(field, entry[field]);
  }
  const address = `/api/pieces/${encodeURIComponent(entry.piece)}/photos`;
  return fetch(address, { method: "POST", body: form, signal });
}

export async function dropPhoto(name) {
  await shelf("readwrite", (photos) => photos.delete(name)).catch(() => {});
}
