// What the server says of each triangle, made ready for the drawing.

import { decimal } from './words.js';

/** A dimension line stands at a slender piece from this ratio on: from there it is worth a word. */
const SLENDER = 8;

/** Bridges that get an arrow at most. */
const ARROWS = 6;

/**
 * Of full figures: the meaning of each triangle, the spans of bridges and the slender piece,
 * relative to `origin`, where the mesh has its zero.
 */
export function marks({ meaning, spans = [], pose }, origin) {
  const local = (p) => p.map((x, k) => x - origin[k]);
  const bytes = meaning ? Uint8Array.from(atob(meaning), (c) => c.charCodeAt(0)) : null;
  const piece = pose.figures.slender;
  let slender = null;
  if (piece?.ratio >= SLENDER) {
    const r = pose.rotation;
    const d = piece.tip_mm.map((x, k) => x - pose.offset_mm[k]);
    const tip = [0, 1, 2].map((c) => r[0][c] * d[0] + r[1][c] * d[1] + r[2][c] * d[2]);
    slender = { tip: local(tip), tall: piece.to_mm - piece.from_mm, text: `${decimal(piece.ratio, 1)} : 1` };
  }
  return { bytes, spans: spans.slice(0, ARROWS).map((s) => ({ ...s, middle: local(s.middle) })), slender };
}

/** How each kind of purpose is marked; the other kinds are sides. */
const MARKED = { round: 'axis', thread: 'axis', pull: 'pull', snap: 'pull' };

/**
 * The rows of purposes.js that can be drawn: letter, kind of mark, a point and a direction of the mesh
 * of `part`, and how far the part goes from the point along it, backwards and forwards.
 */
export function purposeMarks(rows, part, origin) {
  return rows.map(({ letter, kind, at_mm: at, direction }) => {
    const point = at ? at.map((x, k) => x - origin[k]) : part.middle;
    const ends = [Infinity, -Infinity];
    for (let i = 0; i < part.points.length; i += 3) {
      const t = [0, 1, 2].reduce((sum, k) => sum + (part.points[i + k] - point[k]) * direction[k], 0);
      ends[0] = Math.min(ends[0], t);
      ends[1] = Math.max(ends[1], t);
    }
    return { letter, kind: MARKED[kind] || 'side', at: point, along: direction, ends };
  });
}
