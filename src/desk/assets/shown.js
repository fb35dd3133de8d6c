// Writes what depends on the pose that is looked at: list, figures, reasons, links.

import { away } from './away.js';
import { essentials } from './essentials.js';
import { FigureList, against } from './figures.js';
import { at } from './link.js';
import { $, put, putList } from './page.js';
import { nameOf } from './shelf.js';
import { between } from './space.js';
import { caption, nearby, settling } from './telling.js';
import { Ways, picture } from './ways.js';
import { sideDown, typed } from './words.js';

/** The silhouette of a pose, from this ranking or an earlier one. */
const drawn = (now, pose) => now.pictures.get(String(pose.down));

/** Without WebGL: the server's picture of the pose. */
function plain(now, pose) {
  const img = $('plain');
  if (!img) return;
  const own = now.hand ? null : drawn(now, pose);
  const src = own ? picture(own) : at(`part/${now.entry.part}/picture.svg?down=${pose.down.join(',')}`);
  if (img.src !== src) img.src = src;
  img.alt = caption(nameOf(now.entry), pose, now.hand);
}

export class Shown {
  /** `choose` gets the index of a pose. */
  constructor(choose) {
    this.figures = new FigureList($('figures'));
    this.ways = new Ways($('ways'), choose);
  }

  /** What lies near a part that was turned by hand. */
  near(now) {
    return now.hand ? nearby(now.near) : null;
  }

  /** Writes everything that depends on the pose shown. */
  write(now) {
    const { advice } = now.ranking;
    const first = advice.poses[0];
    const pose = now.hand || advice.poses[now.chosen] || first;
    const early = now.ranking.stage === 'quick';
    this.ways.show(advice.poses, advice.poses.map((p) => drawn(now, p)), now.hand ? -1 : now.chosen, early);
    this.figures.show(pose, first, Math.max(...advice.poses.map((p) => p.total ?? 0)), early || pose.total === undefined || pose.needs_support === undefined);
    put('figures-of', now.hand ? 'by hand, and against pose 1' : pose === first ? 'pose 1' : `pose ${pose.rank}, and against pose 1`);
    against($('against'), advice.poses, now.hand, pose);
    put('legend', 'Underlined: the best of the column. Small: the difference of the pose looked at to pose 1. The total is the sum of the penalties, lower is better.');
    const reasons = now.hand ? now.hand.reasons : pose.reasons;
    putList('why', reasons?.length ? reasons : ['…']);
    putList('machine', pose.precautions?.length ? pose.precautions : [pose.precautions ? 'Nothing out of the ordinary: clean bed, and watch the first layer go down.' : '…']);
    const off = between(pose.down, first.down);
    const said = this.near(now);
    $('near').hidden = !said;
    put('near', said || '');
    const to = now.hand ? settling(now.near) : null;
    put('settle', to ?? 'Turn to the pose nearby');
    $('settle').disabled = !to;
    put('back', `Back to pose ${(now.home ?? 0) + 1}`);
    $('back').disabled = !now.hand && now.chosen === (now.home ?? 0);
    put('turned', now.hand ? `Turned by hand: ${sideDown(pose.down)}.` : `Pose ${pose.rank}: ${sideDown(pose.down)}.`);
    essentials(now, pose, first, off);
    if (!$('down').matches(':focus')) $('down').value = typed(pose.down);
    put('drawn', caption(nameOf(now.entry), pose, now.hand));
    plain(now, pose);
    away(now, pose);
  }
}
