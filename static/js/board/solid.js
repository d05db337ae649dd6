// From a ring's description to its segments as solids: the section's outline turned round.

const TURN = 2 * Math.PI;
const CREASE = Math.cos(Math.PI / 6);

// Start and end angle and wood of every segment and joint; open joints are left out.
export function sectorsOf(ring) {
  const n = ring.n;
  if (n === 1) return [{ from: -Math.PI, to: Math.PI, wood: ring.woods[0], whole: true }];
  const shares = ring.shares ?? new Array(n).fill(1);
  const sum = shares.reduce((a, b) => a + b, 0);
  const gap = ring.gap ?? 0;
  const found = [];
  let at = ((ring.phase ?? 0) * TURN) / n;
  for (let k = 0; k < n; k += 1) {
    const end = at + (shares[k] / sum) * TURN;
    found.push({ from: at + gap / 2, to: end - gap / 2, wood: ring.woods[k % ring.woods.length], open: gap > 0 && ring.spacer === undefined });
    if (ring.spacer !== undefined) found.push({ from: at - gap / 2, to: at + gap / 2, wood: ring.spacer, thin: true });
    at = end;
  }
  return found;
}

// The part of a sector within the half that a cut leaves, as up to two pieces.
export function halved(sector, from, to) {
  const pieces = [];
  for (const turns of [-TURN, 0, TURN]) {
    const low = Math.max(sector.from + turns, from);
    const high = Math.min(sector.to + turns, to);
    if (high - low > 1e-4) {
      pieces.push({ ...sector, from: low, to: high, capLow: sector.open || low === from, capHigh: sector.open || high === to });
    }
  }
  return pieces;
}

function edgesOf(outline) {
  const points = [];
  for (let k = 0; k < outline.length; k += 2) points.push([outline[k], outline[k + 1]]);
  const edges = points.map((a, k) => {
    const b = points[(k + 1) % points.length];
    const length = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
    return { a, b, n: [(b[1] - a[1]) / length, -(b[0] - a[0]) / length], length };
  });
  // Round normals where the outline only bends, sharp ones at its corners.
  edges.forEach((edge, k) => {
    const before = edges[(k + edges.length - 1) % edges.length];
    const after = edges[(k + 1) % edges.length];
    edge.na = blend(edge.n, before.n);
    edge.nb = blend(edge.n, after.n);
  });
  return { points, edges: edges.filter((e) => e.a[0] > 1e-6 || e.b[0] > 1e-6) };
}

function blend(n, m) {
  if (n[0] * m[0] + n[1] * m[1] < CREASE) return n;
  const length = Math.hypot(n[0] + m[0], n[1] + m[1]);
  return [(n[0] + m[0]) / length, (n[1] + m[1]) / length];
}

export class Collector {
  constructor() {
    this.position = [];
    this.normal = [];
    this.uv = [];
    this.index = [];
  }

  vertex(r, z, angle, n, u, v) {
    const [s, c] = [Math.sin(angle), Math.cos(angle)];
    this.position.push(r * s, z, r * c);
    this.normal.push(n[0] * s, n[1], n[0] * c);
    this.uv.push(u, v);
    return this.position.length / 3 - 1;
  }

  flat(x, y, z, n, u, v) {
    this.position.push(x, y, z);
    this.normal.push(...n);
    this.uv.push(u, v);
    return this.position.length / 3 - 1;
  }
}

const stepsFor = (angle, n) => Math.max(1, Math.ceil(angle / (n >= 48 ? 0.14 : 0.1)));

// Turn an outline through an angle; `along` lays the grain along the axis instead of round.
export function addSolid(to, outline, piece, n, seed, along, triangulate) {
  const { points, edges } = edgesOf(outline);
  const steps = stepsFor(piece.to - piece.from, n);
  const shift = [(seed * 0.618) % 1, (seed * 0.377) % 1];
  let walked = 0;
  for (const edge of edges) {
    const mean = Math.max(8, (edge.a[0] + edge.b[0]) / 2);
    const rows = [];
    for (let k = 0; k <= steps; k += 1) {
      const angle = piece.from + ((piece.to - piece.from) * k) / steps;
      const round = (angle * mean) / 60 + shift[0];
      const up = [walked / 60 + shift[1], (walked + edge.length) / 60 + shift[1]];
      const uv = along ? up.map((w) => [w, round * 2]) : up.map((w) => [round, w * 2]);
      rows.push([
        to.vertex(edge.a[0], edge.a[1], angle, edge.na, ...uv[0]),
        to.vertex(edge.b[0], edge.b[1], angle, edge.nb, ...uv[1]),
      ]);
    }
    for (let k = 0; k < steps; k += 1) {
      const [[a, b], [c, d]] = [rows[k], rows[k + 1]];
      to.index.push(a, c, b, b, c, d);
    }
    walked += edge.length;
  }
  for (const [cap, angle, sign] of [[piece.capLow, piece.from, -1], [piece.capHigh, piece.to, 1]]) {
    if (cap) addCap(to, points, angle, sign, shift, triangulate);
  }
}

function addCap(to, points, angle, sign, shift, triangulate) {
  const [s, c] = [Math.sin(angle), Math.cos(angle)];
  const n = [sign * c, 0, -sign * s];
  const first = points.map(([r, z]) => to.flat(r * s, z, r * c, n, z / 60 + shift[1], (r / 60) * 2));
  for (const [a, b, d] of triangulate(points)) {
    if (sign > 0) to.index.push(first[a], first[b], first[d]);
    else to.index.push(first[a], first[d], first[b]);
  }
}

// Joint lines where two sectors meet, just off the surface.
export function addJoint(lines, outline, angle) {
  const { edges } = edgesOf(outline);
  const [s, c] = [Math.sin(angle), Math.cos(angle)];
  const off = 0.06;
  for (const { a, b, n } of edges) {
    for (const [r, z] of [a, b]) lines.push((r + n[0] * off) * s, z + n[1] * off, (r + n[0] * off) * c);
  }
}
