// The form being pulled about: its points, snapping, and the inside that follows at its wall.

import { beside, besideOf, nearest, spansThrough } from "./curve.js";

const EDGE = 3000;

export function shapeOf(data) {
  const read = (points) => points?.map(([r, z, c]) => ({ r, z, c: Boolean(c) })) ?? null;
  return { outside: read(data.outside), inside: read(data.inside) };
}

export function written(shape) {
  const write = (points) =>
    points?.map((p) => [Number(p.r.toFixed(3)), Number(p.z.toFixed(3)), p.c]) ?? null;
  return JSON.stringify({ outside: write(shape.outside), inside: write(shape.inside) });
}

export function copyOf(shape) {
  const copy = (points) => points?.map((p) => ({ ...p })) ?? null;
  return { outside: copy(shape.outside), inside: copy(shape.inside) };
}

export const SNAPS = {
  off: 0,
  "1 mm": 1,
  "5 mm": 5,
  "1/16″": 25.4 / 16,
  "1/8″": 25.4 / 8,
};

// Heights snap to the mark; radii so that the diameter does.
export function snapped(r, z, mark) {
  if (!mark) return [Math.max(0, r), Math.max(0, z)];
  return [
    Math.max(0, (Math.round((2 * r) / mark) * mark) / 2),
    Math.max(0, Math.round(z / mark) * mark),
  ];
}

// What each inside point keeps to while the outside is pulled: its place along it and its wall.
// With `taper`, {low, high} in mm, the wall goes evenly from the one at the floor to the other at
// the rim; without, each point keeps the wall that it has.
export function wallOf(shape, taper = null) {
  if (!shape.inside) return null;
  const spans = spansThrough(shape.outside);
  const heights = shape.inside.map((p) => p.z);
  const [floor, rim] = [Math.min(...heights), Math.max(...heights)];
  return shape.inside.map((p) => {
    if (p.r < 1e-6) return null; // the floor's middle stays on the axis
    const where = nearest(spans, p.r, p.z);
    const share = rim > floor ? (p.z - floor) / (rim - floor) : 1;
    const away = taper ? taper.low + (taper.high - taper.low) * share : besideOf(spans, where, p.r, p.z);
    return { where, away };
  });
}

// The shape with its inside laid at a wall of wallOf.
export function walled(before, wall) {
  const shape = copyOf(before);
  if (shape.inside && wall) follow(before, shape, wall);
  return shape;
}

// How thick the wall is where a point of a curve lies; null for a solid.
export function wallAt(shape, curve, point) {
  if (!shape.inside) return null;
  const other = curve === "outside" ? shape.inside : shape.outside;
  return nearest(spansThrough(other), point.r, point.z).away;
}

// The shape with one point moved; `wall` (of wallOf) makes the inside follow the outside.
export function moved(before, curve, index, r, z, wall) {
  const shape = copyOf(before);
  const point = shape[curve][index];
  point.r = Math.min(EDGE, r);
  point.z = Math.min(EDGE, z);
  if (curve === "outside" && wall) follow(before, shape, wall);
  return shape;
}

function follow(before, shape, wall) {
  const spans = spansThrough(shape.outside);
  const top = shape.inside.length - 1;
  wall.forEach((kept, k) => {
    if (!kept) return;
    const [r, z] = beside(spans, kept.where, kept.away);
    const point = shape.inside[k];
    point.r = Math.max(0, r);
    point.z = Math.max(0, z);
    // The floor keeps its level, the rim its own height over the outside's.
    if (k <= 1 && before.inside[0].r < 1e-6 && before.inside[1].z === before.inside[0].z) {
      point.z = before.inside[k].z;
    }
    if (k === top) {
      const rise = before.inside[top].z - before.outside.at(-1).z;
      point.z = Math.max(0, shape.outside.at(-1).z + rise);
    }
  });
}

export function withPoint(before, curve, after) {
  const shape = copyOf(before);
  const points = shape[curve];
  const spans = spansThrough(points);
  const span = spans[Math.min(after, spans.length - 1)];
  const middle = [0, 1].map((k) => (span[0][k] + 3 * span[1][k] + 3 * span[2][k] + span[3][k]) / 8);
  points.splice(after + 1, 0, { r: middle[0], z: middle[1], c: false });
  return shape;
}

export function withoutPoint(before, curve, index) {
  const shape = copyOf(before);
  if (shape[curve].length > 2) shape[curve].splice(index, 1);
  return shape;
}

export function withCorner(before, curve, index, corner) {
  const shape = copyOf(before);
  shape[curve][index].c = corner;
  return shape;
}
