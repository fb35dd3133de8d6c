// The settings as a form: what changes is sent at once.

import { decimal, direction, facing, make, typed } from './words.js';

/** Milliseconds without a stroke before a typed value is sent. */
const PAUSE = 150;

const AIMS = { sound: 'a sound print', clean: 'clean surfaces', quick: 'little time and material', strong: 'strength' };

export class WhatIf {
  /** `send` gets the values that changed; null takes one back to the start. */
  constructor(form, send) {
    this.form = form;
    this.send = send;
    this.show = [];
    this.weights = new Map();
    this.changed = {};
    this.refusal = document.getElementById('refused');
    form.addEventListener('submit', (e) => e.preventDefault());
    form.addEventListener('input', (e) => this.#typed(e.target));
    document.getElementById('defaults').addEventListener('click', () => this.#back());
  }

  choices(materials, aims) {
    this.form.material.replaceChildren(...materials.map((m) => make('option', { value: m }, m)));
    this.form.aim.replaceChildren(...aims.map((a) => make('option', { value: a }, AIMS[a] || a)));
  }

  #typed(field) {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.#take(field), field.tagName === 'SELECT' ? 0 : PAUSE);
  }

  #take(field) {
    const values = {};
    this.refuse(null);
    if (field.dataset.row) {
      if (field.value === '' || !Number.isFinite(field.valueAsNumber)) return;
      values.weights = { [field.dataset.row]: field.valueAsNumber };
    } else if (field.name === 'load') {
      const d = field.value.trim() ? direction(field.value) : null;
      if (field.value.trim() && !d) return this.refuse('load', `'${field.value}' is no direction: write one as -z or 0,0,-1`);
      values.load = d;
    } else if (field.type === 'number') {
      if (!Number.isFinite(field.valueAsNumber)) return;
      values[field.name] = field.valueAsNumber;
    } else {
      values[field.name] = field.value;
    }
    this.#say(values);
  }

  #say(values) {
    for (const [k, v] of Object.entries(values)) {
      if (k === 'weights' && v) this.changed.weights = { ...this.changed.weights, ...v };
      else if (v === null) delete this.changed[k];
      else this.changed[k] = v;
    }
    this.send(values);
  }

  #back() {
    const values = {};
    for (const k of Object.keys(this.changed)) values[k] = k === 'show' ? [] : null;
    if (this.changed.weights) values.weights = Object.fromEntries(Object.keys(this.changed.weights).map((k) => [k, null]));
    this.refuse(null);
    this.changed = {};
    if (Object.keys(values).length) this.send(values);
  }

  /** Adds a side that must stay clean, or takes it back where it is there. */
  clean(normal) {
    const i = this.show.findIndex((d) => d.reduce((s, x, k) => s + x * normal[k], 0) > 0.9999);
    const show = i < 0 ? [...this.show, normal] : this.show.filter((_, k) => k !== i);
    this.#say({ show });
    return i < 0;
  }

  /** Says why a value was refused, beside its field; `null` takes that back. */
  refuse(field, text) {
    for (const input of this.form.elements) input.removeAttribute('aria-invalid');
    this.refusal.textContent = text || '';
    const input = field && [...this.form.elements].find((e) => e.name === field || `weights.${e.dataset.row}` === field);
    if (!input) return;
    input.setAttribute('aria-invalid', 'true');
    input.setAttribute('aria-describedby', 'refused');
  }

  /** Shows what is in force; a field with the focus is left to the one who types. */
  inForce(s) {
    const put = (field, value) => {
      if (field && field !== document.activeElement && field.value !== value) field.value = value;
    };
    for (const name of ['limit_deg', 'layer_mm', 'bridge_limit_mm']) put(this.form[name], String(s[name]));
    put(this.form.material, s.material.name);
    put(this.form.aim, s.aim);
    put(this.form.load, s.load ? typed(s.load) : '');
    this.show = (s.show || []).map((d) => [...d]);
    this.#shown();
    const box = document.getElementById('weights');
    for (const { name, weight, scale } of s.penalties || []) {
      if (!this.weights.has(name)) {
        const input = make('input', { type: 'number', step: 'any', min: '0' });
        input.dataset.row = name;
        const said = make('span', { className: 'scale', id: `scale-${name}` }, `× ${scale}`);
        input.setAttribute('aria-describedby', said.id);
        box.append(make('div', {}, make('label', {}, make('span', {}, name), input), said));
        this.weights.set(name, input);
      }
      put(this.weights.get(name), String(Number(weight.toPrecision(6))));
    }
  }

  #shown() {
    const box = document.getElementById('shown');
    const key = JSON.stringify(this.show);
    if (box.dataset.key === key) return;
    box.dataset.key = key;
    if (!this.show.length) {
      box.replaceChildren('No side is marked to stay clean; mark one in the drawing.');
      return;
    }
    box.replaceChildren('Must stay clean: ', ...this.show.map((d) =>
      make('button', { type: 'button', onclick: () => this.clean(d) }, `the side that faces ${facing(d)}`, make('span', {}, ' (take back)'))));
  }
}

/** "Ranked again in 0.03 s, 12 poses measured anew." */
export function anew(seconds, measured) {
  const time = seconds < 0.005 ? 'at once' : `in ${decimal(seconds, 2)} s`;
  return `Ranked again ${time}${measured > 0 ? `, ${measured} ${measured === 1 ? 'pose' : 'poses'} measured again` : ', nothing measured again'}.`;
}
