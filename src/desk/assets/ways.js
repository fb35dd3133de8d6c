// The poses to choose from, each with its silhouette.

import { charged, equal, gates } from './figures.js';
import { make, sideDown } from './words.js';

/** What speaks most against `pose` beside `first`. */
function mainCost(pose, first) {
  const told = gates(pose)[0];
  if (told) return told;
  let worst = '', by = 1e-9;
  for (const [name, value] of Object.entries(pose.penalties || {})) {
    const more = value - (first.penalties?.[name] ?? 0);
    const text = more > by ? charged(name, pose) : null;
    if (text) [worst, by] = [text, more];
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

  /** Shows the poses, in place, so that the focus stays where it is. */
  show(poses, pictures, chosen) {
    while (this.items.length > poses.length) this.items.pop().item.remove();
    while (this.items.length < poses.length) {
      const input = make('input', { type: 'radio', name: 'way', value: String(this.items.length) });
      const image = make('img', { alt: '', src: BLANK });
      const rank = make('b');
      const side = make('span', { className: 'side' });
      const cost = make('span', { className: 'cost' });
      const item = make('label', { className: 'way' }, input, image, make('span', { className: 'says' }, rank, ' ', side, ' ', cost));
      this.items.push({ item, input, image, rank, side, cost });
      this.root.append(item);
    }
    poses.forEach((pose, i) => {
      const { item, input, image, rank, side, cost } = this.items[i];
      const src = pictures[i] ? picture(pictures[i]) : '';
      if (image.src !== (src || BLANK)) image.src = src || BLANK;
      rank.textContent = String(pose.rank ?? i + 1);
      side.textContent = sideDown(pose.down) + (pose.equivalent > 1 ? `, ${pose.equivalent} alike` : '');
      const said = i === 0 ? (gates(pose)[0] ?? '') : mainCost(pose, poses[0]);
      cost.textContent = said;
      cost.hidden = !said;
      input.checked = i === chosen;
      item.classList.toggle('chosen', i === chosen);
    });
  }

  /** Marks one pose, or none where the part was turned by hand. */
  mark(chosen) {
    this.items.forEach(({ item, input }, i) => {
      input.checked = i === chosen;
      item.classList.toggle('chosen', i === chosen);
    });
  }
}
