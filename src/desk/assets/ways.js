// The poses to choose from, each with its silhouette, what it costs, and what to do for it.

import { draw, inSum, split } from './bar.js';
import { charged, equal, gates } from './figures.js';
import { act, make, sideDown } from './words.js';

/** What speaks most against `pose` beside `first`. */
function mainCost(pose, first) {
  const told = gates(pose)[0];
  if (told) return told;
  let worst = '', by = 1e-9;
  for (const [name, value] of Object.entries(pose.penalties || {})) {
    const more = value - (first.penalties?.[name] ?? 0);
    const text = more > by ? charged(name, pose) : null;
    // What reads the same in both poses tells nobody why.
    if (text && text !== charged(name, first)) [worst, by] = [text, more];
  }
  return worst || (first.penalties ? equal() : '');
}

/** A picture as text, able to stand alone in an image. */
export function picture(svg) {
  let text = svg;
  if (!/<svg[^>]*xmlns=/.test(text)) text = text.replace('<svg', '<svg xmlns="http://www.w3.org/2000/svg"');
  return `data:image/svg+xml;charset=utf-8,${encodeURIComponent(text)}`;
}

/** Holds the place of a picture that is on its way. */
const BLANK = picture('<svg viewBox="0 0 40 22"></svg>');

export class Ways {
  /** `choose` gets the index of a pose. */
  constructor(root, choose) {
    this.root = root;
    this.items = [];
    root.addEventListener('change', (e) => choose(Number(e.target.value)));
  }

  #item() {
    const input = make('input', { type: 'radio', name: 'way', value: String(this.items.length) });
    const image = make('img', { alt: '', src: BLANK });
    const [rank, side, total, turn, cost, sum] = ['b', 'span', 'span', 'span', 'span', 'span'].map((tag) => make(tag));
    side.className = 'side';
    total.className = 'total';
    turn.className = 'turn';
    cost.className = 'cost';
    sum.className = 'sum';
    const bar = make('span', { className: 'bar', 'aria-hidden': 'true' });
    const says = make('span', { className: 'says' }, make('span', { className: 'head' }, rank, ' ', side), ' ', turn, ' ', cost, ' ', bar, ' ', total, ' ', sum);
    const item = make('label', { className: 'way' }, input, image, says);
    this.root.append(item);
    return { item, input, image, rank, side, total, turn, cost, bar, sum };
  }

  /** Shows the poses, in place, so that the focus stays where it is. `early`: totals are bounds so far. */
  show(poses, pictures, chosen, early) {
    while (this.items.length > poses.length) this.items.pop().item.remove();
    while (this.items.length < poses.length) this.items.push(this.#item());
    const sums = poses.map(split);
    const most = Math.max(...sums.map((s) => s.total));
    poses.forEach((pose, i) => {
      const { item, input, image, rank, side, total, turn, cost, bar, sum } = this.items[i];
      const src = pictures[i] ? picture(pictures[i]) : '';
      if (image.src !== (src || BLANK)) image.src = src || BLANK;
      put(rank, String(pose.rank ?? i + 1));
      put(side, sideDown(pose.down) + (pose.equivalent > 1 ? `, ${pose.equivalent} alike` : ''));
      put(turn, act(pose.down));
      put(cost, i === 0 ? (gates(pose)[0] ?? '') : mainCost(pose, poses[0]));
      cost.hidden = !cost.textContent;
      put(total, early ? '' : `total ${sums[i].total.toFixed(2)}`);
      put(sum, early ? '' : inSum(sums[i]));
      bar.hidden = early;
      draw(bar, sums[i], most);
      input.checked = i === chosen;
      item.classList.toggle('chosen', i === chosen);
    });
  }
}

function put(node, text) {
  if (node.textContent !== text) node.textContent = text;
}
