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
  if (f.contact_area_mm2 !== undefined) out.push(`Solid ink: contact, ${area(f.contact_area_mm2)}.`);
  if (f.overhang_area_mm2 === 0) out.push('No overhang.');
  if (f.overhang_area_mm2 > 0) {
    const needs = pose.needs_support ? `, which needs ${volume(f.support_needed_mm3)} of support` : ', which needs no support';
    out.push(`45° hatching: overhang, ${area(f.overhang_area_mm2)}${pose.needs_support === undefined ? '' : needs}.`);
  }
  if (f.bridge_longest_mm > 0) out.push(`Bridges up to ${length(f.bridge_longest_mm)}; an arrow runs along each within the limit.`);
  out.push('Dashed edges lie behind.');
  return out.join(' ');
}

/** How far the part is from a pose nearby, and what Enter does; `null` where none is near. */
export function nearby(near) {
  if (!near || near.deg > NEAR_DEG) return null;
  const which = near.rank ? `pose ${near.rank}` : `standing on a face, ${sideDown(near.down)}`;
  if (near.deg < 0.05) return near.rank ? `This is pose ${near.rank}.` : 'It stands on a face.';
  return `${decimal(near.deg, 1)}° from ${which}; press Enter in the drawing to turn it there.`;
}

/** What the button for that says; `null` where there is nothing to turn to. */
export function settling(near) {
  if (!near || near.deg > NEAR_DEG || near.deg < 0.05) return null;
  return `Turn to ${near.rank ? `pose ${near.rank}` : 'the face nearby'} (${decimal(near.deg, 1)}°)`;
}

/** Which pose is looked at where that is not the advised one; empty where it is. */
export function headline(pose, byHand, off) {
  if (byHand) return `Turned by hand: ${sideDown(pose.down)}, ${decimal(off, 1)}° from pose 1.`;
  return pose.rank > 1 ? `Pose ${pose.rank}, not the advised one: ${sideDown(pose.down)}.` : '';
}
