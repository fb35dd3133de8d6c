// A part as the server sends it: triangles, plane regions, sharp edges. From them the
// edges that can be outlines, and the faces that one can point at.

const MARK = 0x314d5957;
const NONE = 0xffffffff;

/** Edges flatter than this (cosine of the angle between their faces) are never outlines. */
const FLAT = 0.99999;

/** More faces than this in the list would help nobody. */
const LISTED = 30;

export class Part {
  /** Reads the bytes of `/mesh`. Throws an Error on bytes that are none. */
  constructor(buffer) {
    const head = new DataView(buffer);
    if (buffer.byteLength < 16 || head.getUint32(0, true) !== MARK) throw new Error('no mesh came from the desk');
    const [nv, nt, ne] = [4, 8, 12].map((o) => head.getUint32(o, true));
    let at = 16;
    const take = (Kind, n) => {
      const out = new Kind(buffer, at, n);
      at += 4 * n;
      return out;
    };
    this.points = take(Float32Array, 3 * nv);
    this.triangles = take(Uint32Array, 3 * nt);
    this.regions = take(Uint32Array, nt);
    this.sharp = take(Uint32Array, 2 * ne);
    this.count = nt;
    this.#measure();
    this.faces = this.#faces();
    this.edges = this.#edges();
  }

  #measure() {
    const { points: p, triangles: t, count: n } = this;
    this.normals = new Float32Array(3 * n);
    this.areas = new Float32Array(n);
    const lo = [Infinity, Infinity, Infinity];
    const hi = [-Infinity, -Infinity, -Infinity];
    for (let i = 0; i < p.length; i++) {
      const k = i % 3;
      if (p[i] < lo[k]) lo[k] = p[i];
      if (p[i] > hi[k]) hi[k] = p[i];
    }
    this.middle = lo.map((x, k) => (x + hi[k]) / 2);
    this.radius = Math.max(1e-6, Math.hypot(...lo.map((x, k) => hi[k] - x)) / 2);
    for (let i = 0; i < n; i++) {
      const [a, b, c] = [3 * t[3 * i], 3 * t[3 * i + 1], 3 * t[3 * i + 2]];
      const ux = p[b] - p[a], uy = p[b + 1] - p[a + 1], uz = p[b + 2] - p[a + 2];
      const vx = p[c] - p[a], vy = p[c + 1] - p[a + 1], vz = p[c + 2] - p[a + 2];
      const x = uy * vz - uz * vy, y = uz * vx - ux * vz, z = ux * vy - uy * vx;
      const size = Math.hypot(x, y, z);
      this.areas[i] = size / 2;
      const by = size > 0 ? 1 / size : 0;
      this.normals.set([x * by, y * by, z * by], 3 * i);
    }
  }

  /** The triangles that make one face with this one. */
  face(triangle) {
    const region = this.regions[triangle];
    if (region === NONE) return { triangle, region, triangles: [triangle], ...this.#mean([triangle]) };
    return this.byRegion.get(region);
  }

  #mean(triangles) {
    const n = [0, 0, 0];
    let area = 0;
    for (const i of triangles) {
      area += this.areas[i];
      for (let k = 0; k < 3; k++) n[k] += this.areas[i] * this.normals[3 * i + k];
    }
    const size = Math.hypot(...n) || 1;
    return { area, normal: n.map((x) => x / size) };
  }

  #faces() {
    this.byRegion = new Map();
    for (let i = 0; i < this.count; i++) {
      const r = this.regions[i];
      if (r === NONE) continue;
      if (!this.byRegion.has(r)) this.byRegion.set(r, { region: r, triangle: i, triangles: [] });
      this.byRegion.get(r).triangles.push(i);
    }
    for (const face of this.byRegion.values()) Object.assign(face, this.#mean(face.triangles));
    return [...this.byRegion.values()].sort((a, b) => b.area - a.area || a.region - b.region).slice(0, LISTED);
  }

  /** Per edge: its ends, the normals of both its faces, and whether it is drawn always. */
  #edges() {
    const { triangles: t, count: n, normals, points } = this;
    let size = 1;
    while (size < 6 * n + 16) size *= 2;
    const slots = new Int32Array(size).fill(-1);
    const lo = new Uint32Array(3 * n), hi = new Uint32Array(3 * n);
    const one = new Int32Array(3 * n), two = new Int32Array(3 * n).fill(-1);
    let m = 0;
    const find = (a, b) => {
      const [x, y] = a < b ? [a, b] : [b, a];
      let h = (Math.imul(x, 73856093) ^ Math.imul(y, 19349663)) >>> 0;
      h = (h ^ (h >>> 15)) & (size - 1);
      while (slots[h] >= 0 && (lo[slots[h]] !== x || hi[slots[h]] !== y)) h = (h + 1) & (size - 1);
      return [h, x, y];
    };
    for (let i = 0; i < n; i++) {
      for (let k = 0; k < 3; k++) {
        const [h, x, y] = find(t[3 * i + k], t[3 * i + ((k + 1) % 3)]);
        const e = slots[h];
        if (e >= 0) {
          two[e] = i;
          continue;
        }
        slots[h] = m;
        lo[m] = x;
        hi[m] = y;
        one[m++] = i;
      }
    }
    const kind = new Uint8Array(m);
    for (let i = 0; i + 1 < this.sharp.length; i += 2) {
      const e = slots[find(this.sharp[i], this.sharp[i + 1])[0]];
      if (e >= 0) kind[e] = 1;
    }
    const keep = [];
    for (let e = 0; e < m; e++) {
      const [i, j] = [3 * one[e], 3 * two[e]];
      if (two[e] < 0) kind[e] = 1;
      else if (!kind[e]) {
        const dot = normals[i] * normals[j] + normals[i + 1] * normals[j + 1] + normals[i + 2] * normals[j + 2];
        if (dot > FLAT) continue;
      }
      keep.push(e);
    }
    const ends = new Float32Array(6 * keep.length), sides = new Float32Array(6 * keep.length), kinds = new Float32Array(keep.length);
    keep.forEach((e, k) => {
      const other = two[e] < 0 ? one[e] : two[e];
      for (let c = 0; c < 3; c++) {
        ends[6 * k + c] = points[3 * lo[e] + c];
        ends[6 * k + 3 + c] = points[3 * hi[e] + c];
        sides[6 * k + c] = normals[3 * one[e] + c];
        sides[6 * k + 3 + c] = normals[3 * other + c];
      }
      kinds[k] = kind[e];
    });
    return { ends, sides, kinds, count: keep.length };
  }

  /** Lowest and highest corner of the part after a rotation (rows of a matrix). */
  bounds(rows) {
    const p = this.points;
    const lo = [Infinity, Infinity, Infinity], hi = [-Infinity, -Infinity, -Infinity];
    for (let k = 0; k < 3; k++) {
      const [x, y, z] = rows[k];
      let low = Infinity, high = -Infinity;
      for (let i = 0; i < p.length; i += 3) {
        const v = x * p[i] + y * p[i + 1] + z * p[i + 2];
        if (v < low) low = v;
        if (v > high) high = v;
      }
      lo[k] = low;
      hi[k] = high;
    }
    return { lo, hi };
  }

  /** The first triangle that a ray meets, or -1. Part frame. */
  hit(from, along) {
    const { points: p, triangles: t, count: n } = this;
    let best = Infinity, found = -1;
    const [dx, dy, dz] = along;
    for (let i = 0; i < n; i++) {
      const [a, b, c] = [3 * t[3 * i], 3 * t[3 * i + 1], 3 * t[3 * i + 2]];
      const e1x = p[b] - p[a], e1y = p[b + 1] - p[a + 1], e1z = p[b + 2] - p[a + 2];
      const e2x = p[c] - p[a], e2y = p[c + 1] - p[a + 1], e2z = p[c + 2] - p[a + 2];
      const qx = dy * e2z - dz * e2y, qy = dz * e2x - dx * e2z, qz = dx * e2y - dy * e2x;
      const det = e1x * qx + e1y * qy + e1z * qz;
      if (det === 0) continue;
      const sx = from[0] - p[a], sy = from[1] - p[a + 1], sz = from[2] - p[a + 2];
      const u = (sx * qx + sy * qy + sz * qz) / det;
      if (u < 0 || u > 1) continue;
      const rx = sy * e1z - sz * e1y, ry = sz * e1x - sx * e1z, rz = sx * e1y - sy * e1x;
      const v = (dx * rx + dy * ry + dz * rz) / det;
      if (v < 0 || u + v > 1) continue;
      const far = (e2x * rx + e2y * ry + e2z * rz) / det;
      if (far < best) {
        best = far;
        found = i;
      }
    }
    return found;
  }
}
