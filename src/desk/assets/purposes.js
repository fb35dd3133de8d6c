// What the part is for, as choices: what is ticked is sent as a setting, and the answer follows.

import { between } from './space.js';
import { make } from './words.js';

/** Setting that each kind of purpose is one of the directions of. */
const FIELDS = { round: 'round', thread: 'round', flat: 'flat', relief: 'show', seen: 'show', snap: 'load', pull: 'load' };

/** Letters of the choices, here and in the drawing. */
const LETTERS = 'ABCDEFGHIJKLMNOP';

/** Directions closer than this are one, degrees. */
const SAME_DEG = 1;

export class Purposes {
  /** `say` gets the values that changed. */
  constructor(section, box, say) {
    this.section = section;
    this.box = box;
    this.say = say;
  }

  /** Shows what the last answer says: what is asked for, ticked, and what may be asked for. Keeps it as `rows`. */
  show({ asked = [], purposes = [], settings }) {
    const rows = [
      ...asked.map((a) => ({ ...a, ticked: true, text: a.says })),
      ...purposes.map((p) => ({ ...p, ticked: false, text: p.asks })),
    ].map((row, i) => ({ ...row, letter: LETTERS[i] }));
    this.rows = rows;
    this.settings = settings;
    const key = JSON.stringify(rows.map((r) => [r.letter, r.kind, r.direction, r.ticked, r.text]));
    this.section.hidden = !rows.length;
    if (key === this.key) return;
    this.key = key;
    // The focus stays on the same choice, so that the keyboard goes on from there.
    const held = this.box.contains(document.activeElement) ? document.activeElement.dataset.flag : null;
    this.box.replaceChildren(...rows.map((row) => this.#row(row)));
    if (held) [...this.box.querySelectorAll('input')].find((input) => input.dataset.flag === held)?.focus();
  }

  #row(row) {
    const letter = make('b', { title: 'its mark in the drawing' }, row.letter);
    // What no pose does well by is told, not offered.
    if (row.met === false && !row.ticked) return make('p', {}, letter, make('span', {}, row.text));
    const input = make('input', { type: 'checkbox', checked: row.ticked });
    input.dataset.flag = row.flag;
    input.addEventListener('change', () => this.#take(row, input.checked));
    return make('label', {}, input, letter, make('span', {}, row.text));
  }

  #take(row, on) {
    const field = FIELDS[row.kind];
    if (field === 'load') return this.say({ load: on ? row.direction : null });
    const sides = ['flat', 'show'].includes(field);
    const apart = (d) => {
      const off = between(d, row.direction);
      return sides ? off : Math.min(off, 180 - off);
    };
    const kept = (this.settings[field] || []).filter((d) => apart(d) > SAME_DEG);
    return this.say({ [field]: on ? [...kept, row.direction] : kept });
  }
}
