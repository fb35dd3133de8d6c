// The pose shown, in sentences.

import { gates } from './figures.js';
import { area, decimal, length, sideDown, volume } from './words.js';

/** A pose nearby is worth a word up to this angle, degrees. */
const NEAR_DEG = 15;

/** What the drawing shows. */
export function caption(name, pose, byHand) {
  const f = pose.figures;
  const faults = gates(pose).map((g) => `; ${g}`).join('');
  const out = [`${name} ${byHand ? 'turned by hand' : `in pose ${pose.rank}`}, ${sideDown(pose.down)}${faults}.`];
  if (f.contact_area_mm2 !== undefined) out.push(`Solid ink lies on the bed: ${area(f.contact_area_mm2)}.`);
  if (f.overhang_area_mm2 === 0) out.push('Nothing leans past the limit.');
  if (f.overhang_area_mm2 > 0) {
    const needs = pose.needs_support ? `, which needs ${volume(f.support_needed_mm3)} of support` : ', which needs no support';
    out.push(`Hatched surface leans past the limit: ${area(f.overhang_area_mm2)}${pose.needs_support === undefined ? '' : needs}.`);
  }
  if (f.bridge_longest_mm > 0) out.push(`Bridges reach up to ${length(f.bridge_longest_mm)}; arrows run along those within the limit.`);
  out.push('Dashed edges lie behind.');
  return out.join(' ');
}

/** How far the part is from a pose nearby, and what Enter does; `null` where none is near. */
export function nearby(near) {
  if (!near || near.deg > NEAR_DEG) return null;
  const which = near.rank ? `pose ${near.rank}` : `resting flat, ${sideDown(near.down)}`;
  if (near.deg < 0.05) return near.rank ? `This is pose ${near.rank}.` : 'It rests flat.';
  return `${decimal(near.deg, 1)}° from ${which}; press Enter in the drawing to turn it there.`;
}
