// The map of the part: asked for when it is opened, and again when the settings changed.

import { at } from './link.js';
import { $, put } from './page.js';

/** What is shown: part and settings, as one text. */
let shown = '';
let wanted = null;

/** The map of a part under some settings; drawn where it is open. */
export function map(part, settings) {
  wanted = { part, key: JSON.stringify([part, settings]) };
  if ($('map').open) draw();
}

async function draw() {
  if (!wanted || wanted.key === shown) return;
  const { part, key } = wanted;
  shown = key;
  put('map-says', 'Checking directions …');
  $('map-picture').hidden = true;
  const asked = performance.now();
  try {
    const answer = await fetch(at(`part/${part}/map.svg`));
    if (!answer.ok) throw new Error(`the desk answered ${answer.status}`);
    const text = await answer.text();
    if (key !== wanted.key) return;
    const picture = $('map-picture');
    // What it shows in words; numbers and units, no marks of their own. Parsed, its style would be refused.
    picture.alt = /<title>([^<]*)</.exec(text)?.[1] ?? '';
    picture.src = `data:image/svg+xml,${encodeURIComponent(text)}`;
    picture.hidden = false;
    put('map-says', `Drawn in ${((performance.now() - asked) / 1000).toFixed(1)} s.`);
  } catch (e) {
    if (key !== wanted.key) return;
    shown = '';
    put('map-says', `The map did not come: ${e.message}. Close it and open it again.`);
  }
}

$('map').addEventListener('toggle', () => $('map').open && draw());
