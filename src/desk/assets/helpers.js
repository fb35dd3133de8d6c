// Lines beside the part: edge of the ground, dimension lines, arrows of bridges, what the part may be
// for. Each method gives pieces of line in the build frame and adds its lettering to `notes`.

import { cross, unit } from './space.js';
import { length } from './words.js';

/** Dashes of a centre line: dash, gap, dot, gap, as shares of the radius of the part (ISO 128). */
const CHAIN = [0.16, 0.04, 0.03, 0.04];

export class Helpers {
  /** `radius` of the part, half its length and width as it stands, and its height. */
  constructor(radius, half, high) {
    this.half = half;
    this.high = high;
    // Edge of the ground and the dimension lines stand off by a share of the part.
    this.off = 0.09 * radius;
    this.tick = 0.04 * radius;
    this.radius = radius;
    this.notes = [];
  }

  /** The tip of an arrow at `p` that points against `way` times `along`. */
  #head(p, along, way, out) {
    return [0.35, -0.35].map((s) => [p, p.map((v, k) => v + way * this.tick * along[k] + s * this.tick * out[k])]);
  }

  #dimension(a, b, out) {
    const along = unit(b.map((v, k) => v - a[k]));
    return [[a, b], ...this.#head(a, along, 1, out), ...this.#head(b, along, -1, out)];
  }

  ground() {
    const { half: [x, y], high, off, tick } = this;
    const [gx, gy] = [x + off, y + off];
    const [dx, dy] = [-gx - off, -gy - off];
    this.notes.push(
      { at: [0, dy - 0.8 * off, 0], text: length(2 * x) },
      { at: [dx - 0.8 * off, 0, 0], text: length(2 * y) },
      { at: [gx + 0.8 * off, -gy - 0.8 * off, high / 2], text: length(high) },
    );
    return [
      [[-gx, -gy, 0], [gx, -gy, 0]], [[gx, -gy, 0], [gx, gy, 0]], [[gx, gy, 0], [-gx, gy, 0]], [[-gx, gy, 0], [-gx, -gy, 0]],
      ...this.#dimension([-x, dy, 0], [x, dy, 0], [0, 1, 0]),
      ...this.#dimension([dx, -y, 0], [dx, y, 0], [1, 0, 0]),
      ...this.#dimension([gx, -gy, 0], [gx, -gy, high], [1, 0, 0]),
      [[-x, -y, 0], [-x, dy - tick, 0]], [[x, -y, 0], [x, dy - tick, 0]], [[-x, -y, 0], [dx - tick, -y, 0]], [[-x, y, 0], [dx - tick, y, 0]],
      [[x, -y, high], [gx + tick, -gy - tick, high]],
    ];
  }

  /** The arrow of a bridge with its length. `place` puts points and directions of the part into the build frame. */
  span(place, { middle, along, span_mm }) {
    const at = place.point(middle), way = place.way(along);
    const [a, b] = [-0.5, 0.5].map((t) => at.map((m, k) => m + t * span_mm * way[k]));
    this.notes.push({ at, text: length(span_mm), both: true });
    return this.#dimension(a, b, unit([-way[1], way[0], 0]));
  }

  /** The dimension line at a slender piece. */
  slender(place, { tip, tall, text }) {
    const top = place.point(tip);
    const foot = [top[0], top[1], top[2] - tall];
    this.notes.push({ at: top.map((v, k) => (v + foot[k]) / 2), text });
    return this.#dimension(foot, top, unit([1, 1, 0]));
  }

  /** An axis as a centre line, a side as an arrow at it, a pull as an arrow both ways; each with its letter. */
  purpose(place, { letter, kind, at, along, ends }) {
    const middle = place.point(at), way = place.way(along);
    const on = (t) => middle.map((m, k) => m + t * way[k]);
    const out = unit(cross(way, Math.abs(way[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0]));
    const [back, front] = [ends[0] - this.off, ends[1] + this.off];
    this.notes.push({ at: on(front + 2.4 * this.off), text: letter, mark: true });
    if (kind === 'axis') return chain(on, back, front, this.radius);
    if (kind === 'pull') return this.#dimension(on(back), on(front), out);
    const [tail, head] = [on(front + this.off), on(ends[1])];
    return [[tail, head], ...this.#head(head, way, 1, out)];
  }
}

/** A chain line from one place on a line to another. */
function chain(on, from, to, radius) {
  const pieces = [];
  for (let t = from, i = 0; t < to; i = (i + 1) % 4) {
    const end = Math.min(to, t + CHAIN[i] * radius);
    if (i % 2 === 0) pieces.push([on(t), on(end)]);
    t = end;
  }
  return pieces;
}
