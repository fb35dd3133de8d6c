// A total as a thin bar, split by its largest penalties, and the same in words.

import { make } from './words.js';

/** Penalties that are named. */
const NAMED = 3;

/** A penalty below this share of the total is not named. */
const LEAST = 0.05;

/** What the rows of the penalty table are called. */
let names = {};
export const call = (all) => { names = all; };
export const penaltyName = (name) => names[name] ?? name;

/** The largest penalties of a pose, then all others together, as they are printed; they add up. */
export function split(pose) {
  const total = Number((pose.total ?? 0).toFixed(2));
  const found = Object.entries(pose.penalties || {}).filter(([, v]) => v > 0);
  found.sort((a, b) => b[1] - a[1]);
  const parts = found.slice(0, NAMED).filter(([, v]) => v >= LEAST * total)
    .map(([name, v]) => ({ name: penaltyName(name), value: Number(v.toFixed(2)) }));
  const rest = Number((total - parts.reduce((s, p) => s + p.value, 0)).toFixed(2));
  if (parts.length && rest >= 0.01) parts.push({ name: 'others', value: rest });
  return { parts, total };
}

/** "small contact 1.92, height 1.20, others 0.59" */
export const inSum = ({ parts }) => parts.map((p) => `${p.name} ${p.value.toFixed(2)}`).join(', ');

/** The bar; as long beside one of `most` as its total is beside that. */
export function draw(node, { parts, total }, most) {
  const key = JSON.stringify([parts, total, most]);
  if (node.dataset.key === key) return;
  node.dataset.key = key;
  node.replaceChildren(...parts.map((p, i) => {
    const piece = make('i', { className: p.name === 'others' ? 'rest' : `part-${i + 1}` });
    piece.style.width = `${(100 * p.value) / Math.max(most, total, 1e-9)}%`;
    return piece;
  }));
}
