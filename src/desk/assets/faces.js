// The faces of the part: one is picked, stands down or is a cosmetic side.

import { $, put, tell } from './page.js';
import { area, facing, make } from './words.js';

export class Faces {
  /** `down` gets a face and the triangle of it that was pointed at. */
  constructor(drawing, whatif, down) {
    Object.assign(this, { drawing, whatif, down, part: null, face: null });
    $('faces').addEventListener('change', (e) => this.pick(this.part?.faces[Number(e.target.value || NaN)] ?? null));
    $('face-down').addEventListener('click', () => this.face && down(this.face, this.face.triangle));
    $('clean').addEventListener('click', () => this.face && this.#clean());
  }

  /** Lists the faces of a part; of none while it is on its way. */
  of(part) {
    this.part = part;
    $('faces').replaceChildren(make('option', { value: '' }, 'none picked'), ...(part?.faces ?? []).map((f, i) =>
      make('option', { value: String(i) }, `${i + 1}: ${area(f.area)}, faces ${facing(f.normal)}`)));
    this.pick(null);
  }

  pick(face) {
    this.face = face;
    const i = face ? this.part.faces.indexOf(face) : -1;
    $('clicked')?.remove();
    if (face && i < 0) $('faces').append(make('option', { id: 'clicked', value: 'clicked' }, `the one clicked: ${area(face.area)}, faces ${facing(face.normal)}`));
    $('faces').value = i >= 0 ? String(i) : face ? 'clicked' : '';
    for (const id of ['face-down', 'clean']) $(id).disabled = !face;
    this.told();
  }

  /** What the last act on a face came to, in words and as a tint. */
  told() {
    const { face, whatif } = this;
    const chosen = face && whatif.isCosmetic(face.normal);
    put('clean', chosen ? 'No longer a cosmetic side' : 'Mark it as a cosmetic side');
    const sides = whatif.show.map((d) => facing(d)).join(', ');
    put('picked', [face ? `Picked: ${area(face.area)}, faces ${facing(face.normal)}.` : 'No face is picked.', sides && `Cosmetic: ${sides}.`].filter(Boolean).join(' '));
    if (this.drawing?.part) this.drawing.tint(face ? face.triangles : [], whatif.show);
  }

  /** A click in the drawing does with the face below it what is chosen. */
  clicked(x, y) {
    if (!this.drawing?.part) return;
    const t = this.drawing.under(x, y);
    if (t < 0) return this.pick(null);
    const face = this.part.face(t);
    const does = document.querySelector('input[name=click]:checked').value;
    this.pick(face);
    if (does === 'down') this.down(face, t);
    else if (does === 'clean') this.#clean();
  }

  #clean() {
    const { normal } = this.face;
    const on = this.whatif.clean(normal);
    tell(on ? `The side that faces ${facing(normal)} is a cosmetic side.` : 'No longer a cosmetic side.');
  }
}
