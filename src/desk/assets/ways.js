// The poses to choose from, each with its silhouette.

import { gates } from './figures.js';
import { area, decimal, degrees, duration, length, make, sideDown, three, volume } from './words.js';

/** What a row of the penalty table looks at, as a caption. */
const COSTS = {
  contact: (f) => `contact ${area(f.contact_area_mm2)}`,
  overhang: (f) => `overhang ${area(f.overhang_charged_mm2)}`,
  bridge: (f) => `bridged ceiling ${area(f.ceiling_carried_mm2)}`,
  wide: (f) => `wide spans ${area(f.overhang_wide_mm2)}`,
  support: (f) => `support ${volume(f.support_needed_mm3)}`,
  trapped: (f) => `trapped support ${volume(f.support_trapped_mm3)}`,
  underside: (f) => `undersides ${area(f.underside_area_mm2)}`,
  bores: (f) => `lying bores ${area(f.bores_lying_mm2)}`,
  slender: (f) => `slender ${decimal(f.slender_ratio, 1)} : 1`,
  sway: (f) => `sway ${three(f.sway_mm_per_n)} mm/N`,
  tip: (f) => `tips over at ${degrees(f.tip_angle_deg)}`,
  height: (f) => `height ${length(f.height_mm)}`,
  stairs: (f) => `steps ${three(f.stair_mean_um)} µm`,
  scar: (f) => `support marks ${area(f.support_scar_mm2.above + f.support_scar_mm2.below)}`,
  time: (f) => `time ${duration(f.print_min)}`,
  load: (f) => `pull across layers ${decimal(100 * f.load_across_layers, 0)} %`,
  show: (f) => `marks on clean sides ${area(f.show_marked_mm2)}`,
};

/** What speaks most against `pose` beside `first`. */
function mainCost(pose, first) {
  const told = gates(pose)[0];
  if (told) return told;
  let worst = null, by = 1e-9;
  for (const [name, value] of Object.entries(pose.penalties || {})) {
    const more = value - (first.penalties?.[name] ?? 0);
    if (more > by && COSTS[name]) [worst, by] = [name, more];
  }
  if (!worst) return first.penalties ? 'as good to a hair' : '';
  const text = COSTS[worst](pose.figures);
  return text.includes('\u2013') ? '' : text;
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
