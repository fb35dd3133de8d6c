// Edges as geometry: a quad each, which the line shader of ink.js lays along it.

import { BufferAttribute, InstancedBufferAttribute, InstancedBufferGeometry } from './three.js';

/** Outlines drawn at most of a part with very many edges. */
const OUTLINES_MOST = 40000;

/** Quads, one an edge, that the vertex shader lays along it. */
export function strokes({ ends, sides, kinds, count }) {
  const g = new InstancedBufferGeometry();
  g.setAttribute('position', new BufferAttribute(new Float32Array([0, -1, 0, 0, 1, 0, 1, -1, 0, 1, 1, 0]), 3));
  g.setIndex([0, 2, 1, 1, 2, 3]);
  const of = (array, shift) => {
    const out = new Float32Array(3 * count);
    for (let i = 0; i < count; i++) for (let k = 0; k < 3; k++) out[3 * i + k] = array[6 * i + shift + k];
    return new InstancedBufferAttribute(out, 3);
  };
  g.setAttribute('a', of(ends, 0));
  g.setAttribute('b', of(ends, 3));
  g.setAttribute('n1', of(sides, 0));
  g.setAttribute('n2', of(sides, 3));
  g.setAttribute('kind', new InstancedBufferAttribute(kinds, 1));
  g.instanceCount = count;
  return g;
}

/** Outlines of a part with very many edges: those of one view, chosen anew for each look. */
export class Outlines {
  constructor(edges) {
    this.edges = edges;
    const room = Math.min(edges.count, OUTLINES_MOST);
    this.geometry = strokes({ ends: new Float32Array(6 * room), sides: new Float32Array(6 * room), kinds: new Float32Array(room), count: room });
    this.room = room;
  }

  /** `eye` points at the one who looks, in the frame of the part. */
  choose([x, y, z]) {
    const { ends, sides, kinds, count } = this.edges;
    const [a, b, n1, n2, kind] = ['a', 'b', 'n1', 'n2', 'kind'].map((k) => this.geometry.getAttribute(k));
    let m = 0;
    for (let i = 0; i < count && m < this.room; i++) {
      const e = 6 * i;
      const one = sides[e] * x + sides[e + 1] * y + sides[e + 2] * z;
      const two = sides[e + 3] * x + sides[e + 4] * y + sides[e + 5] * z;
      if (one * two > 0 && (kinds[i] === 0 || one < 0)) continue;
      for (let k = 0; k < 3; k++) {
        a.array[3 * m + k] = ends[e + k];
        b.array[3 * m + k] = ends[e + 3 + k];
        n1.array[3 * m + k] = sides[e + k];
        n2.array[3 * m + k] = sides[e + 3 + k];
      }
      kind.array[m++] = kinds[i];
    }
    for (const attribute of [a, b, n1, n2, kind]) attribute.needsUpdate = true;
    this.geometry.instanceCount = m;
  }
}

/** Straight lines that are always drawn. */
export function lines(list) {
  const ends = new Float32Array(list.flat(2));
  return strokes({ ends, sides: new Float32Array(ends.length), kinds: new Float32Array(list.length).fill(2), count: list.length });
}
