// The profile's curve as the server draws it: cubic spans through all points, monotone in radius
// and in height, straight between two corners (server/craft/form/curves.py is the other half).

function endSlope(nearStep, farStep, near, far) {
  const slope = ((2 * nearStep + farStep) * near - nearStep * far) / (nearStep + farStep);
  if (slope * near <= 0) return 0;
  if (near * far < 0 && Math.abs(slope) > 3 * Math.abs(near)) return 3 * near;
  return slope;
}

export function monotoneSlopes(at, values) {
  const n = values.length;
  const step = [];
  const secant = [];
  for (let i = 0; i < n - 1; i += 1) {
    step.push(at[i + 1] - at[i]);
    secant.push((values[i + 1] - values[i]) / step[i]);
  }
  if (n === 2) return [secant[0], secant[0]];
  const slopes = new Array(n).fill(0);
  for (let i = 1; i < n - 1; i += 1) {
    const [before, after] = [secant[i - 1], secant[i]];
    if (before * after <= 0) continue;
    const a = 2 * step[i] + step[i - 1];
    const b = step[i] + 2 * step[i - 1];
    slopes[i] = ((a + b) * before * after) / (a * after + b * before);
  }
  slopes[0] = endSlope(step[0], step[1], secant[0], secant[1]);
  slopes[n - 1] = endSlope(step[n - 2], step[n - 3], secant[n - 2], secant[n - 3]);
  return slopes;
}

function withoutDoubles(points) {
  const kept = [];
  for (const p of points) {
    const last = kept.at(-1);
    if (last && Math.hypot(p.r - last.r, p.z - last.z) < 1e-9) {
      kept[kept.length - 1] = { ...last, c: last.c || p.c };
    } else kept.push(p);
  }
  return kept;
}

function runSpans(run) {
  const at = [0];
  for (let i = 1; i < run.length; i += 1) {
    at.push(at[i - 1] + Math.hypot(run[i].r - run[i - 1].r, run[i].z - run[i - 1].z));
  }
  const mr = monotoneSlopes(at, run.map((p) => p.r));
  const mz = monotoneSlopes(at, run.map((p) => p.z));
  const spans = [];
  for (let i = 0; i < run.length - 1; i += 1) {
    const h = (at[i + 1] - at[i]) / 3;
    const [a, b] = [run[i], run[i + 1]];
    spans.push([
      [a.r, a.z],
      [a.r + mr[i] * h, a.z + mz[i] * h],
      [b.r - mr[i + 1] * h, b.z - mz[i + 1] * h],
      [b.r, b.z],
    ]);
  }
  return spans;
}

// Spans of four control points [r, z]; points are {r, z, c} with c for a corner.
export function spansThrough(points) {
  const kept = withoutDoubles(points);
  const spans = [];
  let start = 0;
  for (let i = 1; i < kept.length; i += 1) {
    if (kept[i].c || i === kept.length - 1) {
      spans.push(...runSpans(kept.slice(start, i + 1)));
      start = i;
    }
  }
  return spans;
}

export function spanAt(span, t) {
  const u = 1 - t;
  const w = [u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t];
  return [0, 1].map((k) => w.reduce((sum, wi, i) => sum + wi * span[i][k], 0));
}

function spanDirection(span, t) {
  const u = 1 - t;
  const w = [u * u, 2 * u * t, t * t];
  const d = [0, 1].map((k) =>
    w.reduce((sum, wi, i) => sum + wi * (span[i + 1][k] - span[i][k]), 0),
  );
  const length = Math.hypot(...d) || 1;
  return [d[0] / length, d[1] / length];
}

// Where on the curve a point is nearest: {span, t, away}.
export function nearest(spans, r, z, steps = 12) {
  let best = { span: 0, t: 0, away: Infinity };
  spans.forEach((span, index) => {
    for (let k = 0; k <= steps; k += 1) {
      const [pr, pz] = spanAt(span, k / steps);
      const away = Math.hypot(pr - r, pz - z);
      if (away < best.away) best = { span: index, t: k / steps, away };
    }
  });
  let [low, high] = [Math.max(0, best.t - 1 / steps), Math.min(1, best.t + 1 / steps)];
  for (let k = 0; k < 24; k += 1) {
    const [a, b] = [low + (high - low) / 3, high - (high - low) / 3];
    const off = (t) => {
      const [pr, pz] = spanAt(spans[best.span], t);
      return Math.hypot(pr - r, pz - z);
    };
    if (off(a) < off(b)) high = b;
    else low = a;
  }
  const t = (low + high) / 2;
  const [pr, pz] = spanAt(spans[best.span], t);
  return { span: best.span, t, away: Math.hypot(pr - r, pz - z) };
}

// A point beside the curve, `away` towards the axis side of its walk upwards.
export function beside(spans, where, away) {
  const span = spans[Math.min(where.span, spans.length - 1)];
  const [r, z] = spanAt(span, where.t);
  const [dr, dz] = spanDirection(span, Math.min(0.999, Math.max(0.001, where.t)));
  return [r - dz * away, z + dr * away];
}

// How far a point lies on the axis side of the curve at a place, and along it.
export function besideOf(spans, where, r, z) {
  const [pr, pz] = spanAt(spans[where.span], where.t);
  const [dr, dz] = spanDirection(spans[where.span], Math.min(0.999, Math.max(0.001, where.t)));
  return -(r - pr) * dz + (z - pz) * dr;
}
