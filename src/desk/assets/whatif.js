// The settings as a form: what changes is sent at once.

import { penaltyName } from './bar.js';
import { penaltyFormula, penaltyMeans } from './figures.js';
import { between } from './space.js';
import { decimal, direction, facing, make, sideDown, typed } from './words.js';

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

  /** Sends values that were chosen elsewhere on the page. */
  ask(values) {
    this.refuse(null);
    this.#say(values);
  }

  #back() {
    const values = {};
    for (const k of Object.keys(this.changed)) values[k] = k === 'show' ? [] : null;
    if (this.changed.weights) values.weights = Object.fromEntries(Object.keys(this.changed.weights).map((k) => [k, null]));
    this.refuse(null);
    this.changed = {};
    if (Object.keys(values).length) this.send(values);
  }

  #at(normal) {
    return this.show.findIndex((d) => d.reduce((s, x, k) => s + x * normal[k], 0) > 0.9999);
  }

  isCosmetic(normal) {
    return this.#at(normal) >= 0;
  }

  /** Marks a cosmetic side, or takes the mark back where it is there. */
  clean(normal) {
    const i = this.#at(normal);
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
    const [box, scales] = ['weights', 'scales'].map((id) => document.getElementById(id));
    for (const { name, weight } of s.penalties || []) {
      if (!this.weights.has(name)) {
        const input = make('input', { type: 'number', step: 'any', min: '0' });
        input.dataset.row = name;
        const says = penaltyMeans(name);
        const said = make('span', { className: 'scale', id: `means-${name}` }, says);
        if (says) input.setAttribute('aria-describedby', said.id);
        box.append(make('div', {}, make('label', {}, input, make('span', {}, penaltyName(name))), said));
        scales.append(make('div', {}, make('dt', {}, penaltyName(name)), make('dd', {}, penaltyFormula(name))));
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
      box.replaceChildren('No cosmetic side is marked; mark one under Faces.');
      return;
    }
    box.replaceChildren('Cosmetic sides: ', ...this.show.map((d) =>
      make('button', { type: 'button', onclick: () => this.clean(d) }, `the side that faces ${facing(d)}`, make('span', {}, ' (take back)'))));
  }
}

/** "Ranked again in 0.03 s, 12 poses measured again." */
export function anew(seconds, measured) {
  const time = seconds < 0.005 ? 'at once' : `in ${decimal(seconds, 2)} s`;
  return `Ranked again ${time}${measured > 0 ? `, ${measured} ${measured === 1 ? 'pose' : 'poses'} measured again` : ', nothing measured again'}.`;
}

/** Directions closer than this are one pose, degrees. */
const SAME_DEG = 1;

/** What differs between two sets of settings, in words. */
function changes(was, is) {
  const out = [];
  for (const [key, name, unit] of [['limit_deg', 'overhang limit', '°'], ['layer_mm', 'layer', ' mm'], ['bridge_limit_mm', 'longest bridge', ' mm']]) {
    if (was[key] !== is[key]) out.push(`${name} ${decimal(is[key], 3)}${unit} instead of ${decimal(was[key], 3)}${unit}`);
  }
  if (was.material.name !== is.material.name) out.push(`${is.material.name} instead of ${was.material.name}`);
  if (was.aim !== is.aim) return [...out, `${AIMS[is.aim] ?? is.aim} matters most`];
  if (JSON.stringify(was.load) !== JSON.stringify(is.load)) out.push(is.load ? `load along ${facing(is.load)}` : 'no load');
  const sides = [was, is].map((s) => (s.show || []).length);
  if (sides[0] !== sides[1]) out.push(sides[1] ? `cosmetic sides: ${is.show.map((d) => facing(d)).join(', ')}` : 'no cosmetic side');
  for (const [key, asks] of [['round', 'round along'], ['flat', 'flat on the side that faces']]) {
    const [before, after] = [was, is].map((s) => (s[key] || []).map((d) => facing(d)).join(', '));
    if (before !== after) out.push(after ? `must be ${asks} ${after}` : `nothing must be ${key}`);
  }
  const old = new Map((was.penalties || []).map((p) => [p.name, p.weight]));
  for (const { name, weight } of is.penalties || []) {
    const before = old.get(name) ?? weight;
    if (Math.abs(weight - before) > 1e-9 * Math.abs(before)) out.push(`${penaltyName(name)} counts ${weight === 0 ? 'no longer' : weight > before ? 'more' : 'less'}`);
  }
  return out;
}

/** What a change of the settings did to the order: "Small contact counts more: pose 2 of before leads, −Z side down." */
export function effect(before, after) {
  const said = changes(before.settings, after.settings).join(', ');
  const [first, second] = after.poses;
  if (!said || !first) return '';
  const was = before.poses.findIndex((p) => between(p.down, first.down) < SAME_DEG);
  const ahead = ({ poses }) => (poses[1] ? decimal(poses[1].total - poses[0].total, 2) : '');
  let then = `pose ${was + 1} of before leads, ${sideDown(first.down)}`;
  if (was === 0) then = `pose 1 stays first${second ? `, ${ahead(after)} ahead of pose 2 (before: ${ahead(before)})` : ''}`;
  else if (was < 0) then = `a new pose leads, ${sideDown(first.down)}`;
  return `${said[0].toUpperCase()}${said.slice(1)}: ${then}.`;
}
