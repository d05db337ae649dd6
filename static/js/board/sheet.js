// The sheet of the form editor: an SVG in the part's own millimetres, axis in the middle, that is
// redrawn whole at every frame of a pull.

import { spansThrough } from "./curve.js";

const NS = "http://www.w3.org/2000/svg";
const HIT_PX = 24;
const DOT_PX = 9;

export function element(name, attributes = {}, parent = null) {
  const made = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  parent?.append(made);
  return made;
}

// Only what is new is written: the browser draws again whatever was set.
function set(at, name, value) {
  const text = String(value);
  if (at.getAttribute(name) !== text) at.setAttribute(name, text);
}

function pathOf(spans, flip) {
  const at = ([r, z]) => `${(flip * r).toFixed(3)} ${(-z).toFixed(3)}`;
  if (!spans.length) return "";
  const curves = spans.map((s) => `C${at(s[1])} ${at(s[2])} ${at(s[3])}`);
  return `M${at(spans[0][0])}${curves.join("")}`;
}

function reversed(spans) {
  return spans
    .map((s) => [...s].reverse())
    .reverse();
}

// One side of the section as a closed outline.
function wallPath(outside, inside, flip) {
  const at = ([r, z]) => `${(flip * r).toFixed(3)} ${(-z).toFixed(3)}`;
  const up = pathOf(outside, flip);
  if (!inside) {
    const top = outside.at(-1)[3];
    const bottom = outside[0][0];
    return `${up}L${at([0, top[1]])}L${at([0, bottom[1]])}Z`;
  }
  const back = reversed(inside);
  const down = back.map((s) => `C${at(s[1])} ${at(s[2])} ${at(s[3])}`).join("");
  const end = back.at(-1)[3];
  return `${up}L${at(back[0][0])}${down}L${at([0, end[1]])}L${at([0, outside[0][0][1]])}Z`;
}

// The rim between the curves (for a solid its top), and the foot out from the axis.
function endsPath(outside, inside, flip) {
  if (!outside.length) return "";
  const at = ([r, z]) => `${(flip * r).toFixed(3)} ${(-z).toFixed(3)}`;
  const [foot, rim] = [outside[0][0], outside.at(-1)[3]];
  const inner = inside?.length ? inside.at(-1)[3] : [0, rim[1]];
  return `M${at([0, foot[1]])}L${at(foot)}M${at(rim)}L${at(inner)}`;
}

export class Sheet {
  constructor(svg, data) {
    this.svg = svg;
    this.data = data;
    this.box = null;
    svg.replaceChildren();
    const defs = element("defs", {}, svg);
    this.clips = [1, -1].map((flip) => {
      const clip = element("clipPath", { id: `wall-${flip > 0 ? "r" : "l"}` }, defs);
      return element("path", {}, clip);
    });
    this.under = element("g", { class: "underlay" }, svg);
    this.ringGroups = [1, -1].map((flip) => this.#rings(flip));
    this.lines = [1, -1].map(() => ({
      outside: element("path", { class: "lw" }, svg),
      inside: element("path", { class: "lw" }, svg),
      ends: element("path", { class: "lw" }, svg),
    }));
    this.planes = element("g", { class: "planes" }, svg);
    this.axis = element("path", { class: "lc" }, svg);
    this.handles = element("g", { class: "handles" }, svg);
    this.readout = element("text", { class: "readout", "text-anchor": "middle" }, svg);
    this.#underlay();
  }

  #rings(flip) {
    const group = element("g", { "clip-path": `url(#wall-${flip > 0 ? "r" : "l"})` }, this.svg);
    const wide = 3000;
    for (const ring of this.data.rings) {
      element(
        "rect",
        {
          x: flip > 0 ? 0 : -wide,
          y: -ring.top,
          width: wide,
          height: ring.top - ring.bottom,
          fill: ring.colour,
          stroke: ring.grain,
          class: "lj",
        },
        group,
      );
    }
    return group;
  }

  #underlay() {
    const under = this.data.underlay;
    if (!under) return;
    element(
      "image",
      {
        href: under.href,
        x: under.x,
        y: -under.z - under.height,
        width: under.width,
        height: under.height,
        opacity: 0.5,
        preserveAspectRatio: "none",
      },
      this.under,
    );
  }

  // px on the screen for one mm of the sheet.
  get scale() {
    const matrix = this.svg.getScreenCTM();
    return matrix ? Math.abs(matrix.a) : 1;
  }

  setBox(box) {
    this.box = box;
    this.svg.setAttribute("viewBox", `${box.x} ${box.y} ${box.w} ${box.h}`);
  }

  fit(shape) {
    const all = [...shape.outside, ...(shape.inside ?? [])];
    const r = Math.max(...all.map((p) => p.r), 1);
    const [low, high] = [Math.min(...all.map((p) => p.z)), Math.max(...all.map((p) => p.z))];
    const pad = 0.09 * Math.max(2 * r, high - low);
    this.setBox({ x: -r - pad, y: -high - pad, w: 2 * (r + pad), h: high - low + 2 * pad });
  }

  // Screen px to r, z in mm.
  point(clientX, clientY) {
    const at = new DOMPoint(clientX, clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return { x: at.x, r: Math.abs(at.x), z: -at.y };
  }

  draw(shape, selected) {
    // Read before anything is written, or the page would have to be laid out in the middle.
    const px = 1 / this.scale;
    const outside = spansThrough(shape.outside);
    const inside = shape.inside ? spansThrough(shape.inside) : null;
    [1, -1].forEach((flip, k) => {
      this.clips[k].setAttribute("d", wallPath(outside, inside, flip));
      this.lines[k].outside.setAttribute("d", pathOf(outside, flip));
      this.lines[k].inside.setAttribute("d", inside ? pathOf(inside, flip) : "");
      this.lines[k].ends.setAttribute("d", endsPath(outside, inside, flip));
    });
    const { box } = this;
    this.axis.setAttribute("d", `M0 ${box.y}V${box.y + box.h}`);
    this.#handles(shape, selected, px);
  }

  #handles(shape, selected, px) {
    const wanted = [];
    for (const curve of ["inside", "outside"]) {
      shape[curve]?.forEach((p, index) => wanted.push({ curve, index, p }));
    }
    while (this.handles.children.length > wanted.length) this.handles.lastChild.remove();
    while (this.handles.children.length < wanted.length) this.#handle();
    wanted.forEach(({ curve, index, p }, k) => {
      const group = this.handles.children[k];
      const chosen = selected?.curve === curve && selected.index === index;
      const d = DOT_PX;
      const dot = p.c
        ? `M${-d} ${-d}H${d}V${d}H${-d}Z`
        : `M${-d} 0A${d} ${d} 0 1 1 ${d} 0A${d} ${d} 0 1 1 ${-d} 0Z`;
      set(group, "data-curve", curve);
      set(group, "data-index", index);
      set(group, "class", `handle ${curve}${chosen ? " chosen" : ""}`);
      set(group, "transform", `translate(${p.r.toFixed(3)} ${(-p.z).toFixed(3)}) scale(${px})`);
      set(group, "aria-label", `${curve} point ${index + 1}${p.c ? ", corner" : ""}`);
      set(group, "aria-pressed", chosen);
      set(group.lastChild, "d", dot);
    });
  }

  #handle() {
    const group = element("g", { tabindex: 0, role: "button" }, this.handles);
    element("circle", { r: HIT_PX, class: "hit" }, group);
    element("path", { class: "dot" }, group);
  }

  // Crosses where the photo was tapped.
  marks(points) {
    this.picked ??= element("g", { class: "picked" }, this.svg);
    this.picked.replaceChildren();
    const d = 10 / this.scale;
    for (const [x, z] of points) {
      element("path", { class: "lr", d: `M${x - d} ${-z}h${2 * d}M${x} ${-z - d}v${2 * d}` }, this.picked);
    }
  }

  // Words beside the point that is being pulled.
  say(p, words) {
    if (!words) {
      this.readout.textContent = "";
      return;
    }
    const px = 1 / this.scale;
    this.readout.textContent = words;
    this.readout.setAttribute("transform", `translate(${p.r} ${-p.z - 34 * px}) scale(${px})`);
  }
}
