// Knots and cracks drawn on the board with a finger: a box becomes a row of numbers in the form.

const SVG = "http://www.w3.org/2000/svg";
const LEAST_MM = 3;

const board = document.getElementById("drawon");
const rows = document.getElementById("defects");
const template = document.getElementById("defect-row");
const svg = board?.querySelector("svg");
let start = null;
let box = null;

if (svg && rows && template) {
  svg.addEventListener("pointerdown", begin);
  svg.addEventListener("pointermove", move);
  svg.addEventListener("pointerup", end);
  svg.addEventListener("pointercancel", forget);
}
document.addEventListener("click", (event) => {
  const row = event.target.closest?.("[data-drop]")?.closest(".defect");
  if (!row) return;
  for (const input of row.querySelectorAll("input")) input.value = "";
  if (row.parentElement === rows) row.remove();
});

// The board's own outline on the page: the last path of the picture.
function outline() {
  return [...svg.querySelectorAll("path")].at(-1).getBoundingClientRect();
}

function place(event) {
  const at = outline();
  const long = Number(board.dataset.length);
  const wide = Number(board.dataset.width);
  const along = ((event.clientX - at.left) / at.width) * long;
  const across = ((event.clientY - at.top) / at.height) * wide;
  return { x: Math.min(Math.max(along, 0), long), y: Math.min(Math.max(across, 0), wide) };
}

function begin(event) {
  event.preventDefault();
  svg.setPointerCapture(event.pointerId);
  start = place(event);
  box = document.createElementNS(SVG, "rect");
  box.setAttribute("class", "knot drawn");
  svg.append(box);
}

function move(event) {
  if (!start) return;
  const part = spanned(place(event));
  const at = outline();
  const page = svg.getScreenCTM().inverse();
  const corner = new DOMPoint(
    at.left + (part.x / Number(board.dataset.length)) * at.width,
    at.top + (part.y / Number(board.dataset.width)) * at.height,
  ).matrixTransform(page);
  box.setAttribute("x", corner.x);
  box.setAttribute("y", corner.y);
  box.setAttribute("width", (part.long / Number(board.dataset.length)) * at.width * page.a);
  box.setAttribute("height", (part.wide / Number(board.dataset.width)) * at.height * page.d);
}

function end(event) {
  if (!start) return;
  const part = spanned(place(event));
  start = null;
  if (part.long < LEAST_MM || part.wide < LEAST_MM) return forget();
  const row = template.content.firstElementChild.cloneNode(true);
  const values = [part.x, part.y, part.long, part.wide];
  row.querySelectorAll("input").forEach((input, k) => {
    input.value = `${Math.round(values[k] * 10) / 10} mm`;
  });
  rows.append(row);
  box = null;
}

function forget() {
  start = null;
  box?.remove();
  box = null;
}

function spanned(to) {
  return {
    x: Math.min(start.x, to.x),
    y: Math.min(start.y, to.y),
    long: Math.abs(to.x - start.x),
    wide: Math.abs(to.y - start.y),
  };
}
