// Every figure of a pose, as the table of the server has it: its name, how it reads, and
// what was measured, what it means and what to do about it. And the table of all poses.

import { call, draw, inSum, split } from './bar.js';
import { area, count, estimate, length, make, mass, scale, sideDown, three, volume } from './words.js';

/** The table of figures; it comes with every ranking, with the settings in force put in. */
let table = { rows: [], columns: [], charged: {}, equal: '' };

/** Takes the table that came with a ranking. */
export function learn(said) {
  table = said;
  const names = Object.entries(table.charged).map(([name, key]) => [name, table.penalties?.[name] ?? find(key)?.label ?? name]);
  call(Object.fromEntries(names));
}

const find = (key) => table.rows.find((r) => r.key === key);

/**
 * The number of a figure in a pose: a list counts, parts add up; undefined while it is not
 * measured yet. What common practice takes for nothing is 0, as everywhere.
 */
function valueOf(row, pose) {
  const raw = row.key === 'total' ? pose.total : pose.figures[row.key];
  if (raw === undefined || (row.with_support && pose.needs_support === undefined)) return undefined;
  if (raw === null) return NaN;
  const v = Array.isArray(raw) ? raw.length : typeof raw === 'object' ? Object.values(raw).reduce((a, b) => a + b, 0) : raw;
  if (row.plus && pose.needs_support) return v + pose.figures[row.plus];
  return (row.with_support && !pose.needs_support) || v <= row.above && row.above > 0 ? 0 : v;
}

/** A figure with its unit; '…' while it is not measured, '' where there is none. */
const said = (row, v) => (v === undefined ? '…' : scale(row.quantity, [v]).say(v));

/** What a row of the penalty table looks at, as a caption. `null` where it is shown as 0 or not known. */
export function charged(name, pose) {
  const row = find(table.charged[name]);
  const v = row && valueOf(row, pose);
  if (!Number.isFinite(v) || (v === 0 && (row.with_support || row.above > 0))) return null;
  return `${row.label} ${said(row, v)}`;
}

/** What the figure behind a row of the penalty table means. */
export const penaltyMeans = (name) => find(table.charged[name])?.means ?? '';
/** How a penalty is worked out, in words. */
export const penaltyFormula = (name) => table.formulas[name] ?? '';

/** A figure of a pose as it is read; '…' while it is not measured. `from`: its difference to another pose. */
export function reading(key, pose, from = null) {
  const row = find(key);
  const v = row && valueOf(row, pose);
  const w = from && from !== pose ? valueOf(row, from) : NaN;
  if (!Number.isFinite(v) || !Number.isFinite(w)) return { says: row ? said(row, v) : '…', apart: '' };
  const by = scale(row.quantity, [v, w]);
  return { says: by.say(v), apart: by.apart(v, w) };
}

/** Said where nothing speaks against a pose. */
export const equal = () => table.equal;

/** How the figure of a key is written: by the unit that ends its name. */
const write = (key) => ({ mm: length, mm2: area, mm3: volume, min: estimate, g: mass })[key.split('_').pop()] ?? three;

/**
 * What stands behind the number where there is room for a few words only: the row's own words
 * with figures of the pose put in. Empty where one is not known, all are 0, or the number is
 * only said once more.
 */
function short(row, v, { figures, needs_support: on }) {
  const put = [];
  const text = ((on && row.short_with_support) || row.short).replace(/\{([\w.]+)(?::(\w+)\|(\w+))?\}/g, (_, path, one, many) => {
    const found = path.split('.').reduce((at, key) => at?.[key], figures);
    const x = Array.isArray(found) ? found.length : found;
    put.push(x);
    return one ? count(x, one, many) : Number.isFinite(x) ? write(path)(x) : '';
  });
  const known = put.every(Number.isFinite) && (v > 0 || put.some((x) => x !== 0));
  return known && !text.startsWith(`${said(row, v)} `) ? text : '';
}

const GATES = {
  does_not_fit: 'too large for the bed',
  no_contact: 'touches the bed only at a point or an edge',
  tips: 'falls over by itself',
};

/** What keeps a pose from being printed, in words; empty where nothing does. */
export const gates = (pose) => (pose.gates || []).map((g) => GATES[g] || g);

/** The figures of the pose shown, each with its tip; differences are to `winner`. */
export class FigureList {
  constructor(root) {
    this.root = root;
    this.rows = new Map();
    this.list = make('dl');
    root.append(this.list);
    // Escape hides a tip, wherever the focus is, until one comes back to it.
    addEventListener('keydown', (e) => {
      if (e.key !== 'Escape') return;
      for (const line of root.querySelectorAll('.figure:hover, .figure:focus-within')) line.classList.add('hushed');
    });
    for (const kind of ['mouseenter', 'focusin']) {
      root.addEventListener(kind, (e) => e.target.closest?.('.figure')?.classList.remove('hushed'), true);
    }
  }

  /** The line of a figure, made when it is shown first. */
  line(row) {
    if (!this.rows.has(row.key)) {
      const button = make('button', { type: 'button', className: 'name' }, row.label);
      const tip = make('span', { className: 'tip', id: `tip-${row.key}`, role: 'tooltip' });
      button.setAttribute('aria-describedby', tip.id);
      const value = make('b');
      const more = make('span', { className: 'more' });
      const diff = make('span', { className: 'diff' });
      const line = make('div', { className: 'figure' }, make('dt', {}, button, tip), make('dd', {}, value, ' ', diff, ' ', more));
      line.dataset.key = row.key;
      this.list.append(line);
      this.rows.set(row.key, { tip, value, more, diff, line });
    }
    return this.rows.get(row.key);
  }

  /** The total first, with its bar. */
  #total(pose, winner, most, early) {
    const row = find('total');
    const { tip, value, more, diff, line } = this.line(row);
    this.bar ??= line.appendChild(make('span', { className: 'bar', 'aria-hidden': 'true' }));
    const sum = split(pose);
    line.hidden = early || !sum.parts.length;
    written(value, sum.total.toFixed(2));
    put(more, inSum(sum));
    draw(this.bar, sum, most);
    this.#apart(row, diff, pose, winner);
    this.#tip(row, tip);
  }

  #apart(row, diff, pose, winner) {
    const v = valueOf(row, pose);
    const w = winner && pose !== winner ? valueOf(row, winner) : NaN;
    const apart = Number.isFinite(v) && Number.isFinite(w) ? scale(row.quantity, [v, w]).apart(v, w) : '';
    if (diff.dataset.apart === apart) return;
    diff.dataset.apart = apart;
    diff.replaceChildren(...(apart ? [apart, make('span', { className: 'unseen' }, ' against pose 1')] : []));
  }

  #tip(row, tip) {
    const text = `${row.measured} ${row.means} ${row.todo}`;
    if (tip.dataset.text === text) return;
    tip.dataset.text = text;
    tip.replaceChildren(make('span', {}, make('i', {}, 'Measured: '), row.measured), make('span', {}, make('i', {}, 'Means: '), row.means),
      make('span', {}, make('i', {}, 'Do: '), row.todo));
  }

  /** `most`: the largest total of the list, which the bar is drawn beside. */
  show(pose, winner, most, early) {
    this.#total(pose, winner, most, early);
    // Parts of other figures and what is no single number stand behind those.
    for (const row of table.rows.filter((r) => !r.part && r.better !== 'neither' && r.key !== 'total')) {
      const { tip, value, more, diff, line } = this.line(row);
      const v = valueOf(row, pose);
      line.hidden = row.optional && v === undefined;
      if (line.hidden) continue;
      // Beside another pose both in the unit of the larger value, so that the difference is theirs.
      const w = winner && pose !== winner ? valueOf(row, winner) : NaN;
      written(value, Number.isFinite(v) && Number.isFinite(w) ? scale(row.quantity, [v, w]).say(v) : said(row, v));
      put(more, v === undefined ? '' : short(row, v, pose));
      this.#apart(row, diff, pose, winner);
      this.#tip(row, tip);
    }
  }
}

/** A number and its unit, each in its own place of the line. */
function written(node, text) {
  if (node.textContent === text) return;
  const [, number, unit] = /^(\d+ h \d+|[^\s°%]*)(.*)$/.exec(text);
  node.replaceChildren(make('span', { className: 'number' }, number), make('span', { className: 'of' }, unit));
}

function put(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

/** The first figures of the table of poses in a sentence, for those who do not see it. */
export function inWords(pose) {
  return table.columns.slice(0, 6).map(find)
    .map((row) => [row, valueOf(row, pose)])
    .filter(([, v]) => Number.isFinite(v))
    .map(([row, v]) => `${row.label} ${said(row, v)}`).join(', ');
}

/** Blanks behind the numbers of a column that bring their decimals under each other. */
export function padding(cells) {
  const behind = (t) => (/\d\.\d/.test(t) ? t.length - t.lastIndexOf('.') : 0);
  const most = Math.max(0, ...cells.map(behind));
  return cells.map((t) => {
    const lacks = most - behind(t);
    if (lacks === 0 || !/\d/.test(t)) return '';
    // One as wide as the point, the others as wide as digits.
    return behind(t) === 0 ? `\u2008${'\u2007'.repeat(lacks - 1)}` : '\u2007'.repeat(lacks);
  });
}

/**
 * The table of all poses, the total beside the name, the best of each column underlined; below the
 * values of the pose looked at, `chosen`, their difference to the first. `hand` is the pose turned
 * by hand, if it is shown.
 */
export function against(node, poses, hand, chosen) {
  const rows = hand ? [...poses, hand] : poses;
  const free = rows.some((p) => !p.gates?.length);
  const counts = rows.map((p) => !p.gates?.length || !free);
  const columns = table.columns.map(find).map((row) => {
    const values = rows.map((p) => valueOf(row, p));
    const by = scale(row.quantity, values);
    const cells = values.map((v) => (v === undefined ? '…' : by.cell(v)));
    const able = values.map((v, i) => counts[i] && Number.isFinite(v));
    const pick = row.better === 'higher' ? Math.max : Math.min;
    const top = pick(...values.filter((_, i) => able[i]));
    const best = cells[values.findIndex((v, i) => able[i] && v === top)];
    const all = cells.every((t, i) => !able[i] || t === best);
    const differ = (v, i) => (i === 0 || rows[i] !== chosen || !Number.isFinite(v) || !Number.isFinite(values[0]) ? '' : by.apart(v, values[0], true) || '=');
    return { key: row.key, name: row.label, unit: by.unit, cells, pads: padding(cells), best: cells.map((t, i) => able[i] && t === best && !all), differ: values.map(differ) };
  });
  columns.sort((a, b) => (b.key === 'total') - (a.key === 'total'));
  const head = make('tr', {}, make('th', { scope: 'col' }, 'Pose'),
    ...columns.map((c) => make('th', { scope: 'col' }, c.name, ' ', make('span', { className: 'unit' }, c.unit))));
  const body = rows.map((pose, i) => {
    const label = pose === hand ? 'by hand' : String(pose.rank);
    const note = gates(pose);
    const tr = make('tr', { className: pose === chosen ? 'chosen' : '' },
      make('th', { scope: 'row' }, make('b', {}, label), ' ', sideDown(pose.down), note.length ? `, ${note.join(', ')}` : ''),
      ...columns.map((c) => {
        const td = make('td', {}, make('span', { className: c.best[i] ? 'best' : '' }, c.cells[i]), c.pads[i],
          c.best[i] ? make('span', { className: 'unseen' }, ' best') : null,
          c.differ[i] ? make('span', { className: 'differ' }, c.differ[i]) : null);
        td.dataset.key = c.key;
        return td;
      }));
    return tr;
  });
  const caption = make('caption', { className: 'unseen' }, 'Figures of all poses; the best of each column is underlined, the small numbers are the differences of the pose looked at to pose 1');
  node.replaceChildren(caption, make('thead', {}, head), make('tbody', {}, ...body));
}
