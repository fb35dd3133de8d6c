// The reading table: what is on it, which pose is looked at, and what the server says.

import { listen } from './away.js';
import { Drawing, LOOKS } from './drawing.js';
import { Faces } from './faces.js';
import { inWords, learn } from './figures.js';
import { Glide } from './glide.js';
import { Hand } from './hand.js';
import { Line, bytes, json } from './link.js';
import { $, put, putList, tell } from './page.js';
import { Part } from './part.js';
import { map } from './map.js';
import { marks, purposeMarks } from './marks.js';
import { Purposes } from './purposes.js';
import { Shelf, nameOf, progress, trouble } from './shelf.js';
import { Shown } from './shown.js';
import { between, downOf, fromRows } from './space.js';
import { WhatIf, anew, effect } from './whatif.js';
import { direction, make, sideDown, typed } from './words.js';

const UNITS = { um: 'micrometres', mm: 'millimetres', cm: 'centimetres', m: 'metres', in: 'inches', ft: 'feet' };

/** A quick answer waits this long where a full one stands, ms. */
const EARLY_MS = 250;

const EMPTY = ['Which way up should it go?', 'Drop a part file on this page, or choose one.'];

/** Turns that can be undone at most. */
const REMEMBERED = 100;

const state = { rotation: [0, 0, 0, 1], look: [...LOOKS.corner] };
let now = null;

/** What is known of the part that is open. */
const opened = (entry) => ({
  entry, part: null, ranking: null, chosen: -1, picked: false, hand: null, base: [0, 0, 0, 1], full: null, near: null,
  seq: 0, shown: 0, asked: '', command: '', sent: new Map(), pictures: new Map(),
  past: [], moving: false, before: null,
});

let drawing = null;
try {
  drawing = new Drawing($('view'));
} catch {
  // Without WebGL the server's pictures take its place.
  $('view').replaceChildren(make('img', { id: 'plain', alt: '' }));
}
const shelf = new Shelf((entry) => open(entry));
const shown = new Shown((i) => pickPose(i));
const whatif = new WhatIf($('settings'), (values) => {
  if (now) line.say({ do: 'settings', part: now.entry.part, values });
});
const purposes = new Purposes($('purposes'), $('purpose-list'), (values) => whatif.ask(values));
const hand = new Hand($('view'), state, {
  moved: (rotation, rest) => move(rotation, rest),
  looked: () => looked(null),
  clicked: (x, y) => faces.clicked(x, y),
  settle: () => settleNear(),
  home: () => home(),
  undo: () => undo(),
  closer: (by) => zoom(by),
});
const glide = new Glide(state, drawing);
const faces = new Faces(drawing, whatif, (face, triangle) => turnDown(face, triangle));
const line = new Line(hear, (on) => {
  $('paper').classList.toggle('cut-off', !on);
  if (on) {
    trouble('line', null);
    if (now) reopen();
  } else if (now) {
    trouble('line', 'The desk does not answer. Does wayup desk still run in its terminal? This page asks again by itself.');
  }
});

async function open(entry) {
  shelf.on = entry;
  shelf.list();
  for (const node of document.querySelectorAll('.empty')) node.hidden = Boolean(entry);
  $('intake').classList.toggle('blank', !entry);
  $('headline').hidden = true;
  $('lead').hidden = true;
  $('purposes').hidden = true;
  if (!entry) {
    now = null;
    $('work').hidden = true;
    $('notes').hidden = true;
    $('units-line').hidden = true;
    put('question', EMPTY[0]);
    put('answer', EMPTY[1]);
    return;
  }
  const mine = opened(entry);
  now = mine;
  const name = nameOf(entry);
  document.title = `Which way up should ${name} go? · wayup desk`;
  $('question').replaceChildren('Which way up should ', make('em', {}, name), ' go?');
  put('answer', 'Looking at it …');
  $('notes').replaceChildren(...(entry.facts.notes || []).map((n) => make('li', {}, n)));
  $('notes').hidden = !entry.facts.notes?.length;
  $('units-line').hidden = !entry.file;
  $('units').value = entry.facts.units;
  $('work').hidden = true;
  drawing?.lay(null);
  faces.of(null);
  progress(null);
  trouble('advice', null);
  reopen();
  try {
    const part = new Part(await bytes(`part/${entry.part}/mesh`));
    if (now !== mine) return;
    mine.part = part;
    mine.origin = entry.origin_mm || [0, 0, 0];
    drawing?.lay(part);
    faces.of(part);
    if (mine.ranking?.final) mark();
    if (mine.ranking) settle();
  } catch (e) {
    if (now === mine) trouble('mesh', `error: ${name}: ${e.message}`);
  }
}

/** Asks for advice on the part that is open, with the settings that were changed here. */
function reopen() {
  const { entry } = now;
  if (Object.keys(whatif.changed).length) line.say({ do: 'settings', part: entry.part, values: whatif.changed });
  line.say({ do: 'open', part: entry.part });
}

// ---- what the server says ----------------------------------------------------------

function hear(m) {
  if (m.say === 'refused') return whatif.refuse(m.field, m.text);
  if (!now || m.part !== now.entry.part) return undefined;
  if (m.say === 'progress') return progress(`${STAGES[m.what] || m.what}: ${m.done} of ${m.of}`);
  if (m.say === 'failed') return trouble('advice', m.text);
  if (m.say === 'ranking') return ranked(m);
  if (m.say === 'figures') return measured(m);
  return undefined;
}

const STAGES = { candidates: 'Looking at directions', refinement: 'Tilting the best a little further', poses: 'Measuring the best in full' };

function ranked(m) {
  clearTimeout(now.early);
  const stands = now.ranking;
  if (m.stage === 'quick' && stands?.stage === 'full') {
    // A cheap answer never takes the place of a better one to the same question.
    if (JSON.stringify(m.advice.settings) === JSON.stringify(stands.advice.settings)) return;
    // New settings: the full answer is often there before the eye has read the quick one.
    now.early = setTimeout(() => now && m.part === now.entry.part && accept(m), EARLY_MS);
    return;
  }
  accept(m);
}

function accept(m) {
  const first = !now.ranking;
  const before = now.ranking?.advice.verdict;
  m.advice.poses.forEach((p, i) => m.pictures?.[i] && now.pictures.set(String(p.down), m.pictures[i]));
  learn(m.figures);
  now.ranking = m;
  $('work').hidden = false;
  put('answer', m.advice.verdict);
  $('answer').classList.toggle('early', !m.final);
  if (m.final) {
    now.entry.verdict = m.advice.verdict;
    shelf.list();
    progress(null);
    put('anew', first || now.final === undefined ? '' : anew(m.seconds, m.measured_anew ?? 0));
    if (!now.final || before !== m.advice.verdict) tell(m.advice.verdict);
    now.final = true;
  } else if (first) {
    progress('The quick answer stands; the figures come one after another.');
  }
  // Purposes are found when the search has ended.
  if (m.final) {
    purposes.show(m.advice);
    map(now.entry.part, m.advice.settings);
    mark();
  }
  if (m.final) {
    const { settings, poses } = m.advice;
    if (now.before && JSON.stringify(now.before.settings) !== JSON.stringify(settings)) put('did', effect(now.before, m.advice));
    now.before = { settings, poses };
  }
  whatif.inForce(m.advice.settings);
  drawing?.limits(m.advice.settings);
  faces.told();
  putList('cautions', m.cautions);
  putList('sure', m.sure?.length ? m.sure : ['…']);
  if (now.part || !drawing) settle();
  else show();
}

/** After a new ranking: keeps the pose that is looked at, or follows the first place. */
function settle() {
  const { poses, settings } = now.ranking.advice;
  const key = JSON.stringify([settings, now.ranking.final]);
  const fresh = now.settled !== key;
  now.settled = key;
  if (now.hand) {
    show();
    if (fresh && now.ranking.final) ask(downOf(state.rotation), true);
    return;
  }
  const was = now.looked;
  let i = 0;
  if (now.picked && was) {
    const near = poses.map((p) => between(p.down, was));
    i = near.indexOf(Math.min(...near));
    if (near[i] > 1) i = 0;
  }
  choose(i, now.picked, fresh);
}

// ---- the pose that is looked at ----------------------------------------------------

function choose(i, byHand, fresh = false) {
  const pose = now.ranking?.advice.poses[i];
  if (!pose) return;
  hand.drop();
  now.moving = false;
  Object.assign(now, { chosen: i, home: i, picked: byHand, hand: null, looked: pose.down, near: null });
  now.base = fromRows(pose.rotation);
  glide.to(now.base);
  for (const id of ['tip-x', 'tip-y']) $(id).value = '0';
  ask(pose.down, true, fresh);
  show();
}

/** Keeps what is shown, so that the turn that follows can be undone. */
function remember() {
  if (!now?.ranking) return;
  now.past.push({ rotation: state.rotation, down: now.hand?.down ?? now.looked, hand: Boolean(now.hand) });
  if (now.past.length > REMEMBERED) now.past.shift();
  $('undo').disabled = false;
}

/** Takes the last turn or choice back. */
function undo() {
  const was = now?.past.pop();
  if (!was) return;
  $('undo').disabled = !now.past.length;
  const i = was.hand ? -1 : now.ranking.advice.poses.findIndex((p) => between(p.down, was.down) < 0.05);
  if (i >= 0) return choose(i, true);
  now.moving = true;
  glide.to(was.rotation);
  move(was.rotation, true, was.down);
}

/** The person chooses a pose of the list. */
function pickPose(i) {
  if (now.hand || i !== now.chosen) remember();
  choose(i, true);
}

const home = () => now && pickPose(now.home ?? 0);

/** Asks for the figures with a direction down, unless they were asked for last. */
function ask(down, rest, anyway = true) {
  const key = `${down} ${rest}`;
  if (!anyway && now.asked === key) return;
  now.asked = key;
  const seq = ++now.seq;
  now.sent.set(seq, performance.now());
  if (now.sent.size > 200) now.sent.delete(now.sent.keys().next().value);
  if (now.full && between(now.full.down, down) > 1e-3) {
    now.full = null;
    drawing?.part && drawing.meaning(null);
  }
  busy();
  line.say({ do: 'turn', part: now.entry.part, seq, down, rest });
}

/** Whether figures of the pose shown are still on their way. */
function busy() {
  $('figures').setAttribute('aria-busy', String(now.settledAt !== now.seq));
}

/** The hand moved the part; `exact` is the direction down where it is known better than by hand. */
function move(rotation, rest, exact = null) {
  if (!now?.part) return;
  if (!now.moving) remember();
  now.moving = !rest;
  hand.drop();
  glide.stand(rotation, !rest);
  const down = exact ?? downOf(rotation).map((x) => Number(x.toFixed(6)));
  if (!now.hand) {
    now.hand = { down, figures: {}, gates: [], penalties: {} };
    now.chosen = -1;
    now.picked = true;
  }
  now.hand.down = down;
  for (const id of ['tip-x', 'tip-y']) if ($(id) !== document.activeElement) $(id).value = '';
  ask(down, rest);
  if (!$('down').matches(':focus')) $('down').value = typed(down);
  put('drawn', `${sideDown(down)}, turned by hand.`);
}

function measured(m) {
  const { sent } = now;
  if (m.seq <= now.shown && m.stage !== 'full') return;
  if (m.seq < now.shown) return;
  now.shown = m.seq;
  const newest = m.seq === now.seq;
  if (m.stage === 'full' && newest) {
    now.full = { down: m.pose.down, pose: m.pose };
    now.settledAt = m.seq;
    busy();
    meanings(m);
  }
  if (newest) {
    now.command = m.command;
    now.near = m.near;
  }
  if (now.hand) {
    now.hand = { ...m.pose, by: 'hand' };
    // The server may have snapped the direction to the face itself.
    if (newest && now.laying === m.seq) {
      now.laying = 0;
      glide.to(hand.pointed(m.pose.down));
    }
    show();
    if (m.stage === 'full' && newest) tell(`${sideDown(m.pose.down)}: ${inWords(m.pose)}. ${shown.near(now) || ''}`);
  } else show();
  const began = sent.get(m.seq);
  if (began === undefined) return;
  sent.delete(m.seq);
  requestAnimationFrame(() => performance.measure(`turn to figure, ${m.stage}`, { start: began, end: performance.now() }));
}

/** Hatching and arrows of the pose as the server measured it. */
function meanings(m) {
  if (!drawing?.part) return;
  const { bytes: each, spans, slender } = marks(m, now.origin);
  drawing.meaning(each?.length === now.part.count ? each : null, spans, slender);
}

/** What the part may be for, as the last answer says it. */
function mark() {
  if (drawing?.part) drawing.purposes(purposeMarks(purposes.rows, now.part, now.origin));
}

function settleNear() {
  const n = now?.near;
  if (!n || !now.hand) return;
  const i = now.ranking.advice.poses.findIndex((p) => between(p.down, n.down) < 0.05);
  if (i >= 0) return pickPose(i);
  move(hand.pointed(n.down), true, n.down);
}

/** Writes all that depends on the pose shown. */
function show() {
  shown.write(now);
}

/** Turns a face down; the server knows it by one of its triangles. */
function turnDown(face, triangle) {
  move(hand.pointed(face.normal), false);
  now.moving = false;
  now.laying = ++now.seq;
  now.sent.set(now.seq, performance.now());
  busy();
  line.say({ do: 'face', part: now.entry.part, seq: now.seq, triangle });
}

function zoom(by) {
  if (!drawing) return;
  drawing.zoom = Math.min(8, Math.max(0.25, drawing.zoom * by));
  drawing.redraw();
}

function looked(name) {
  if (name) state.look = [...LOOKS[name]];
  else $('look').value = Object.keys(LOOKS).find((k) => LOOKS[k].every((v, i) => v === state.look[i])) || '';
  if (!drawing) return;
  drawing.look = state.look;
  drawing.redraw();
}

// ---- wiring ------------------------------------------------------------------------

$('units').replaceChildren(...Object.entries(UNITS).map(([value, word]) => make('option', { value }, word)));
$('units').addEventListener('change', () => {
  shelf.reread(now.entry, $('units').value);
});
shelf.listen();
$('angles').addEventListener('submit', (e) => {
  e.preventDefault();
  if (!now?.part) return;
  const d = direction($('down').value);
  $('down').toggleAttribute('aria-invalid', !d);
  // The direction counts where it was changed; else the two angles do.
  if (d && between(d, downOf(state.rotation)) > 0.02) return move(hand.pointed(d), true, d);
  const [x, y] = ['tip-x', 'tip-y'].map((id) => Number($(id).value) || 0);
  move(hand.tipped(now.base, x, y), true);
});
$('look').addEventListener('change', (e) => looked(e.target.value));
$('back').addEventListener('click', home);
$('undo').addEventListener('click', undo);
$('settle').addEventListener('click', settleNear);
for (const button of document.querySelectorAll('[data-tip]')) {
  button.addEventListener('click', () => now?.part && hand.tip(button.dataset.tip, Number($('step').value)));
}
for (const button of document.querySelectorAll('[data-orbit]')) button.addEventListener('click', () => hand.orbit(Number(button.dataset.orbit)));
for (const button of document.querySelectorAll('[data-zoom]')) button.addEventListener('click', () => zoom(Number(button.dataset.zoom)));
$('demo').addEventListener('click', async () => {
  try {
    shelf.take([new File([await bytes('assets/page-holder.stl')], 'page-holder.stl')]);
  } catch (e) {
    trouble('demo', `error: page-holder.stl: ${e.message}`);
  }
});
listen(drawing);

try {
  const table = await json('table');
  whatif.choices(table.materials, table.aims);
  shelf.limit = table.upload_limit_bytes;
  for (const entry of table.parts) shelf.add(entry);
  shelf.list();
  if (!now) open(table.parts[0] ?? null);
} catch (e) {
  trouble('table', `The desk does not answer: ${e.message}.`);
}
