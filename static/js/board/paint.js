// Painting on the unrolled wall and on a ring from above: segments under the finger take the
// brush's wood at once; letting go sends what was touched, and the desk comes back newly drawn.

function begin(root) {
  root.dataset.ready = "yes";
  const sheets = [...root.querySelectorAll(".paint-wall, .paint-ring")];
  const form = root.querySelector("form");
  if (!sheets.length || !form) return;
  const other = form.querySelector("[data-other]");
  const otherWood = form.querySelector("[data-other-wood]");
  const faces = new Map();
  // What only widens a face for the finger is not painted.
  for (const face of root.querySelectorAll("[data-seg]:not(.hit)")) {
    const key = face.dataset.seg;
    faces.set(key, [...(faces.get(key) ?? []), face]);
  }
  const counts = new Map();
  for (const key of faces.keys()) {
    const ring = key.slice(0, key.lastIndexOf(":"));
    counts.set(ring, (counts.get(ring) ?? 0) + 1);
  }
  let touched = null;
  const colour = () => {
    const chosen = form.querySelector("input[name=wood]:checked");
    return chosen === other ? otherWood.selectedOptions[0].dataset.colour : chosen.dataset.colour;
  };

  otherWood.addEventListener("change", () => {
    other.checked = true;
    other.value = otherWood.value;
  });
  other.addEventListener("change", () => {
    other.value = otherWood.value;
  });

  // What the brush takes of a ring when it touches one of its segments.
  function taken(key) {
    const cut = key.lastIndexOf(":");
    const [ring, index] = [key.slice(0, cut), Number(key.slice(cut + 1))];
    const count = counts.get(ring);
    const brush = form.elements.brush.value;
    if (brush === "ring") return Array.from({ length: count }, (_, k) => `${ring}:${k}`);
    if (brush === "one") return [key];
    const every = Math.max(2, Number(form.elements.every.value) || 2);
    return Array.from({ length: Math.ceil(count / every) }, (_, k) => `${ring}:${(index + k * every) % count}`);
  }

  function over(event) {
    const under = document.elementFromPoint(event.clientX, event.clientY);
    const key = under?.dataset?.seg;
    if (!key || !root.contains(under) || touched.has(key)) return;
    touched.add(key);
    for (const each of taken(key)) {
      for (const face of faces.get(each) ?? []) face.setAttribute("fill", colour());
    }
  }

  function down(event) {
    if (!event.target.dataset.seg) return;
    touched = new Set();
    event.currentTarget.setPointerCapture(event.pointerId);
    event.preventDefault();
    over(event);
  }

  function up() {
    if (!touched?.size) return;
    const pairs = [...touched].map((key) => {
      const cut = key.lastIndexOf(":");
      return [key.slice(0, cut), Number(key.slice(cut + 1))];
    });
    touched = null;
    form.elements.touched.value = JSON.stringify(pairs);
    form.requestSubmit();
  }

  for (const sheet of sheets) {
    sheet.addEventListener("pointerdown", down);
    sheet.addEventListener("pointermove", (event) => touched && over(event));
    sheet.addEventListener("pointercancel", () => {
      touched = null;
    });
    sheet.addEventListener("pointerup", up);
  }
}

function find(scope) {
  for (const root of scope.querySelectorAll?.(".painter:not([data-ready])") ?? []) begin(root);
}

// The brush stays as it was when the desk comes back.
let brush = null;
document.addEventListener("htmx:beforeRequest", () => {
  const form = document.querySelector(".brush-form");
  if (form) {
    brush = { wood: form.elements.wood.value, brush: form.elements.brush.value, every: form.elements.every.value };
  }
});
document.addEventListener("htmx:load", (event) => {
  find(event.detail.elt.parentElement ?? event.detail.elt);
  const form = document.querySelector(".brush-form");
  if (!form || !brush) return;
  form.elements.brush.value = brush.brush;
  form.elements.every.value = brush.every;
  const same = [...form.querySelectorAll("input[name=wood]")].find((one) => one.value === brush.wood);
  if (same) same.checked = true;
});
find(document);
