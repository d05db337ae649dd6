// The form pulled about by hand on the drawing board. What is pulled is shown at once; the numbers
// and findings follow from the server; letting go keeps it as the next drawing.

import { listenTo } from "./hands.js";
import { SNAPS, moved, shapeOf, snapped, wallAt, wallOf, walled, withCorner, withPoint, withoutPoint, written } from "./shape.js";
import { Sheet } from "./sheet.js";

const ASK_MS = 80;

// What stays when the desk is drawn anew: the view, what is chosen, how it snaps.
const kept = new Map();

function start(root) {
  const data = JSON.parse(root.dataset.form);
  const key = `${location.pathname} ${data.part}`;
  const mine = kept.get(key) ?? { selected: null, snap: data.units === "in" ? "1/16″" : "1 mm", wall: true, low: "", high: "", box: null };
  kept.set(key, mine);
  const sheet = new Sheet(root.querySelector("svg.form-sheet"), data);
  const form = root.querySelector("form.shape-form");
  let shape = shapeOf(data);
  let pullFrom = null;
  let asked = 0;
  let waiting = false;
  let pulledTo = null; // where the finger is, until the next frame
  let frame = 0;

  const tools = Object.fromEntries(
    [...root.querySelectorAll("[data-tool]")].map((tool) => [tool.dataset.tool, tool]),
  );

  function draw() {
    frame = 0;
    if (pulledTo) follow();
    sheet.draw(shape, mine.selected);
    tell();
  }
  function later() {
    if (!frame) frame = requestAnimationFrame(draw);
  }

  const size = (mm) =>
    data.units === "in" ? `${(mm / 25.4).toFixed(3)}″` : `${mm.toFixed(1)} mm`;

  const lengthOf = (text) => {
    const typed = Number(text.trim().replace(",", "."));
    return text.trim() && typed > 0 ? (data.units === "in" ? typed * 25.4 : typed) : null;
  };
  // The wall that is kept: as it is, or between the two thicknesses that were asked for.
  function taper() {
    const [low, high] = [lengthOf(mine.low), lengthOf(mine.high)];
    return low === null && high === null ? null : { low: low ?? high, high: high ?? low };
  }
  const wallNow = () => (mine.wall ? wallOf(shape, taper()) : null);

  function chosen() {
    const { selected } = mine;
    return selected && shape[selected.curve]?.[selected.index] ? shape[selected.curve][selected.index] : null;
  }

  function tell() {
    const point = chosen();
    for (const name of ["corner", "add", "remove", "across", "height"]) {
      if (tools[name]) tools[name].disabled = !point;
    }
    tools.corner?.setAttribute("aria-pressed", String(Boolean(point?.c)));
    if (!point) return;
    for (const [name, mm] of [["across", 2 * point.r], ["height", point.z]]) {
      if (document.activeElement !== tools[name]) {
        tools[name].value = data.units === "in" ? (mm / 25.4).toFixed(4) : mm.toFixed(2);
      }
    }
  }

  // Keep the shape: the form is posted, the server draws the desk anew.
  function keep() {
    form.elements.shape.value = written(shape);
    form.requestSubmit();
  }

  // Numbers and findings while pulling, one question under way at a time.
  async function ask() {
    if (waiting) return;
    waiting = true;
    const begun = performance.now();
    const number = (asked += 1);
    const sent = written(shape);
    try {
      const body = new URLSearchParams(new FormData(form));
      body.set("shape", sent);
      const reply = await fetch(form.dataset.try, { method: "POST", body });
      const html = await reply.text();
      const place = root.ownerDocument.getElementById("trial");
      if (reply.ok && place && root.isConnected && number === asked) place.innerHTML = html;
    } catch {
      // Away: letting go says so in its own words.
    } finally {
      // Ten times a second is as often as a number can be read.
      setTimeout(() => {
        waiting = false;
        if (root.isConnected && pullFrom && written(shape) !== sent) ask();
      }, Math.max(0, ASK_MS - (performance.now() - begun)));
    }
  }

  // The form goes to where the finger is; once a frame, however many touches that frame had.
  function follow() {
    const { curve, index } = mine.selected;
    const [r, z] = snapped(...pulledTo, SNAPS[mine.snap]);
    pulledTo = null;
    const first = curve === "inside" && index === 0 && pullFrom.shape.inside[0].r < 1e-6;
    shape = moved(pullFrom.shape, curve, index, first ? 0 : r, z, pullFrom.wall);
    const point = shape[curve][index];
    const wall = wallAt(shape, curve, point);
    sheet.say(point, `Ø ${size(2 * point.r)}, ${size(point.z)} high${wall === null ? "" : `, wall ${size(wall)}`}`);
    ask();
  }

  listenTo(sheet, {
    start(curve, index) {
      mine.selected = { curve, index };
      pullFrom = { shape, wall: wallNow() };
      later();
    },
    pull(r, z) {
      pulledTo = [r, z];
      later();
    },
    drop(pulled) {
      if (pulled && pulledTo) follow();
      pulledTo = null;
      sheet.say({ r: 0, z: 0 }, "");
      if (pulled) keep();
      else if (pullFrom) shape = pullFrom.shape;
      later();
    },
    viewed() {
      mine.box = { ...sheet.box };
      later();
    },
    place(at) {
      root.dispatchEvent(new CustomEvent("ringwright:sheet-tap", { detail: at }));
    },
  });

  // Two points tapped on the photo, for its scale.
  const scaling = document.getElementById("underlay-scale");
  let picks = null;
  scaling?.querySelector("[data-pick]").addEventListener("click", () => {
    picks = [];
    sheet.marks([]);
    root.classList.add("picking");
    root.scrollIntoView({ block: "nearest" });
  });
  root.addEventListener("ringwright:sheet-tap", (event) => {
    if (!picks) return;
    picks.push([event.detail.x, event.detail.z]);
    sheet.marks(picks);
    if (picks.length < 2) return;
    const fields = scaling.elements;
    [[fields.ax.value, fields.az.value], [fields.bx.value, fields.bz.value]] = picks;
    picks = null;
    root.classList.remove("picking");
    // `length` alone would be how many fields there are.
    fields.namedItem("length").focus();
  });

  function change(next) {
    shape = next;
    draw();
    keep();
  }

  root.addEventListener("click", (event) => {
    const tool = event.target.closest("[data-tool]")?.dataset.tool;
    const { selected } = mine;
    if (tool === "bigger" || tool === "smaller") zoom(tool === "bigger" ? 1 / 1.4 : 1.4);
    if (tool === "fit") fit();
    if (tool === "wall") {
      mine.wall = !mine.wall;
      tools.wall.setAttribute("aria-pressed", String(mine.wall));
    }
    if (!chosen()) return;
    if (tool === "corner") change(withCorner(shape, selected.curve, selected.index, !chosen().c));
    if (tool === "add") {
      const after = Math.min(selected.index, shape[selected.curve].length - 2);
      mine.selected = { curve: selected.curve, index: after + 1 };
      change(withPoint(shape, selected.curve, after));
    }
    if (tool === "remove") {
      mine.selected = { curve: selected.curve, index: Math.max(0, selected.index - 1) };
      change(withoutPoint(shape, selected.curve, selected.index));
    }
  });

  function zoom(factor) {
    const { box } = sheet;
    const [w, h] = [box.w * factor, box.h * factor];
    sheet.setBox({ x: box.x + (box.w - w) / 2, y: box.y + (box.h - h) / 2, w, h });
    mine.box = { ...sheet.box };
    draw();
  }
  function fit() {
    sheet.fit(shape);
    mine.box = null;
    draw();
  }

  // Arrow keys move the chosen point by one mark.
  sheet.svg.addEventListener("keydown", (event) => {
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const handle = event.target.closest?.(".handle");
    if (!handle) return;
    mine.selected = { curve: handle.dataset.curve, index: Number(handle.dataset.index) };
    if (event.key === "Enter" || event.key === " ") draw();
    const way = ways[event.key];
    if (!way) return;
    event.preventDefault();
    const step = SNAPS[mine.snap] || 0.1;
    const { curve, index } = mine.selected;
    const point = shape[curve][index];
    const wall = wallNow();
    const r = Math.max(0, point.r + (way[0] * step) / 2);
    change(moved(shape, curve, index, r, Math.max(0, point.z + way[1] * step), wall));
  });

  // A number typed for the chosen point, in the piece's units.
  for (const name of ["across", "height"]) {
    tools[name]?.addEventListener("change", () => {
      const typed = Number(tools[name].value.replace(",", "."));
      if (!chosen() || !Number.isFinite(typed) || typed < 0) return;
      const mm = data.units === "in" ? typed * 25.4 : typed;
      const { curve, index } = mine.selected;
      const point = chosen();
      const [r, z] = name === "across" ? [mm / 2, point.z] : [point.r, mm];
      change(moved(shape, curve, index, r, z, wallNow()));
    });
  }

  // A wall typed in: the inside is laid at it, and keeps to it while the outside is pulled.
  for (const name of ["low", "high"]) {
    tools[name].value = mine[name];
    tools[name].disabled = !shape.inside;
    tools[name].addEventListener("change", () => {
      mine[name] = tools[name].value;
      if (!taper()) return;
      mine.wall = true;
      change(walled(shape, wallOf(shape, taper())));
    });
  }

  tools.snap?.addEventListener("change", () => {
    mine.snap = tools.snap.value;
  });
  if (tools.snap) tools.snap.value = mine.snap;
  tools.wall?.setAttribute("aria-pressed", String(mine.wall));
  if (mine.box) sheet.setBox(mine.box);
  else sheet.fit(shape);
  draw();
  root.dataset.ready = "yes";
}

document.addEventListener("htmx:load", (event) => {
  const scope = event.detail.elt;
  const found = scope.querySelectorAll?.(".form-editor") ?? [];
  for (const root of found) if (!root.dataset.ready) start(root);
  if (scope.matches?.(".form-editor") && !scope.dataset.ready) start(scope);
});
for (const root of document.querySelectorAll(".form-editor")) if (!root.dataset.ready) start(root);
