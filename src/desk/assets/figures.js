// Every figure of a pose: its name, how it reads, and what was measured, what it
// means and what to do about it. And the table of all poses.

import { area, count, decimal, degrees, duration, length, make, sideDown, three, volume } from './words.js';

const known = (v) => v !== undefined;

/**
 * `of` takes the figures of a pose and gives the number that is compared (undefined
 * while it is not measured yet); `show` writes such a number; `more` adds to the value.
 * `better` is -1 where less is better, 1 where more is, 0 where neither.
 */
const ROWS = [
  {
    key: 'contact', name: 'contact', better: 1, of: (f) => f.contact_area_mm2, show: area,
    more: (f) => known(f.contact_patches) && `in ${count(f.contact_patches, 'patch', 'patches')}`,
    tip: (s) => [`Area of the section ${length(s.first_layer_mm / 2)} above the bed, half the first layer.`,
      'It is all that holds the part down while it is printed.',
      'Small for the height? Print a brim, or choose a pose with a larger base.'],
  },
  {
    key: 'overhang', name: 'overhang', better: -1, of: (f) => f.overhang_area_mm2, show: area,
    more: (f) => known(f.overhang_charged_mm2) && f.overhang_area_mm2 > 0 && `of which ${area(f.overhang_charged_mm2)} count in full`,
    tip: (s) => [`Surface that leans more than ${decimal(s.limit_deg + 0.5, 1)}° from the vertical and does not lie on the bed.`,
      'It sags, or needs something under it.',
      'Tilt the part, chamfer the edge in the model, or accept support there.'],
  },
  {
    key: 'support', name: 'support', better: -1, of: (f) => f.support_needed_mm3, show: volume,
    more: (f) => known(f.support_volume_mm3) && f.support_volume_mm3 > f.support_needed_mm3 + 0.5
      && `${volume(f.support_volume_mm3)} if nothing bridged`,
    tip: () => ['Empty room under overhang down to the next surface, less what bridges and small roofs carry.',
      'It is filled, paid for and broken away again.',
      'A pose with less of it saves material and leaves fewer marks.'],
  },
  {
    key: 'marks', name: 'support marks', better: -1,
    of: (f) => f.support_scar_mm2 && (f.support_needed_mm3 > 0 ? f.support_scar_mm2.below + f.support_scar_mm2.above : 0), show: area,
    tip: () => ['Where support would stand on the part, and the overhang it would touch.',
      'Both come out rough.', 'Turn such places away from the side that is seen, or plan to sand them.'],
  },
  {
    key: 'trapped', name: 'trapped support', better: -1, of: (f) => f.support_trapped_mm3, show: volume,
    tip: () => ['Support in a hollow that nothing joins to the outside.', 'It stays in for good.',
      'Cut the part in two, or open the hollow.'],
  },
  {
    key: 'bridge', name: 'longest bridge', better: -1, of: (f) => f.bridge_longest_mm, show: length,
    more: (f) => f.bridges?.length > 0 && `of ${f.bridges.length}`,
    tip: (s) => ['Ceiling that is laid in the air from one held end to the other: the longest way across.',
      `Up to ${length(s.bridge_limit_mm)} it needs nothing below, by the limit set.`,
      'Test with a bridge of that length on your machine, then set the limit to what it manages.'],
  },
  {
    key: 'ledge', name: 'longest ledge', better: -1, of: (f) => f.ledge_longest_mm, show: length,
    tip: () => ['How far a piece reaches that is held on one side only.', 'It droops at its free end.',
      'Past a millimetre or two, support it or give it a 45° brace in the model.'],
  },
  {
    key: 'floating', name: 'floating starts', better: -1, of: (f) => f.floating_starts?.length, show: (n) => String(n),
    more: (f) => f.floating_starts?.length > 0 && `the first at z = ${length(f.floating_starts[0].z_mm)}`,
    tip: () => ['Pieces of a layer that begin on nothing at all.', 'Without support they are lost.',
      'Support each of them, or choose a pose without.'],
  },
  {
    key: 'slender', name: 'slenderness', better: -1, of: (f) => f.slender_ratio, show: (v) => `${decimal(v, 1)} : 1`,
    more: (f) => f.slender && `${length(f.slender.width_mm)} wide, free from z = ${length(f.slender.from_mm)} to ${length(f.slender.to_mm)}`,
    tip: () => ['Height over width of the slimmest piece that stands free while it is printed.',
      'The nozzle pushes slim pieces about; their tops come out wavy.', 'Lay it down, brace it, or slow down near the top.'],
  },
  {
    key: 'sway', name: 'sway', better: -1, of: (f) => f.sway_mm_per_n, show: (v) => `${three(v)} mm/N`,
    tip: (s) => [`How far a push of 1 N moves the softest free tip sideways, in ${s.material.name}.`,
      'About a layer height or more, and layers begin to miss each other.', 'A stiffer material helps a little, a lower pose a lot.'],
  },
  {
    key: 'tip', name: 'tips over at', better: 1, of: (f) => f.tip_angle_deg, show: degrees,
    tip: () => ['Smallest tilt that brings the centroid over an edge of the base.',
      'Small: a knock of the nozzle topples the part. Below zero it falls over by itself.', 'Print a brim or a raft, or widen the base.'],
  },
  {
    key: 'height', name: 'height', better: -1, of: (f) => f.height_mm, show: length,
    more: (f) => known(f.layers) && `in ${count(f.layers, 'layer', 'layers')}`,
    tip: () => ['From the bed to the highest point.', 'Each layer takes time and is one more joint.',
      'Where time matters, choose a flatter pose or thicker layers.'],
  },
  {
    key: 'stairs', name: 'steps', better: -1, of: (f) => f.stair_mean_um, show: (v) => `${three(v)} µm`,
    tip: () => ['Mean height of the steps between layers, over all surface that is not level.',
      'The lower, the smoother it feels.', 'Thinner layers lower all of them; a pose lowers those of one side.'],
  },
  {
    key: 'shrink', name: 'shrink pull', better: -1, of: (f) => f.shrink_pull_mm, show: length,
    tip: (s) => [`Free contraction of ${s.material.name} across the longest chord of the base while it cools.`,
      'It is what lifts corners off the bed.', 'A wide brim, less draught, a filled grade, or a pose with a shorter base.'],
  },
  {
    key: 'weakest', name: 'weakest section', better: 1, of: (f) => f.weakest_section_mm2, show: area,
    more: (f) => known(f.weakest_section_z_mm) && `at z = ${length(f.weakest_section_z_mm)}`,
    tip: () => ['Smallest section that has material above it.', 'A pull along the height parts the layers there first.',
      'For a part that carries, lay it so that the pull runs along the layers.'],
  },
  {
    key: 'load', name: 'pull across layers', better: -1, of: (f) => f.load_across_layers, show: (v) => `${decimal(100 * v, 0)} %`,
    optional: true,
    tip: () => ['Share of the pull that acts square to the layers: cos² of its angle to the height.',
      'Layers hold least that way.', 'Lay the part so that the pull runs along the bed.'],
  },
  {
    key: 'show', name: 'marks on clean sides', better: -1, of: (f) => f.show_marked_mm2, show: area, optional: true,
    tip: () => ['Area of the sides that must stay clean which the bed, support or coarse steps would mark.',
      'That is what will be seen.', 'Turn these sides up or upright.'],
  },
  {
    key: 'time', name: 'time', better: -1, of: (f) => f.print_min, show: duration,
    more: (f) => known(f.filament_g) && `and ${three(f.filament_g)} g`,
    tip: (s) => [`Estimate for ${count(s.walls, 'wall', 'walls')}, ${decimal(100 * s.infill, 0)} % infill, ${decimal(s.rate_mm3_s, 1)} mm³/s and ${decimal(s.layer_change_s, 1)} s a layer, without support and heating up.`,
      'Good for comparing poses, not for a promise.', 'Set the rate of your machine in wayup.toml.'],
  },
];

/** Columns of the table of all poses: as in the terminal. */
const COLUMNS = [
  ['height', 'height', ['mm', 1], ['m', 1e3], 1e4, 'height'],
  ['contact', 'contact', ['mm²', 1], ['cm²', 1e2], 1e3, 'contact'],
  ['overhang', 'overhang', ['mm²', 1], ['cm²', 1e2], 1e3, 'overhang'],
  ['support', 'support', ['mm³', 1], ['cm³', 1e3], 1e3, 'support'],
  ['bridge', 'bridge', ['mm', 1], ['m', 1e3], 1e4, 'bridge'],
  ['slender', 'slender', ['ratio', 1], ['ratio', 1], Infinity, 'slender'],
  ['time', 'time', ['min', 1], ['min', 1], Infinity, 'time'],
  ['total', 'total', ['', 1], ['', 1], Infinity, null],
];

const GATES = {
  does_not_fit: 'too large for the bed',
  no_contact: 'touches the bed in no area',
  tips: 'falls over by itself',
};

/** What keeps a pose from being printed, in words; empty where nothing does. */
export const gates = (pose) => (pose.gates || []).map((g) => GATES[g] || g);

const signed = (show, v) => (v > 0 ? '+' : '') + show(v);

/** The figures of the pose shown, each with its tip; differences are to `winner`. */
export class FigureList {
  constructor(root) {
    this.root = root;
    this.rows = new Map();
    this.list = make('dl');
    root.append(this.list);
    for (const row of ROWS) {
      const button = make('button', { type: 'button', className: 'name' }, row.name);
      const tip = make('span', { className: 'tip', id: `tip-${row.key}`, role: 'tooltip' });
      button.setAttribute('aria-describedby', tip.id);
      const value = make('b');
      const more = make('span', { className: 'more' });
      const diff = make('span', { className: 'diff' });
      const line = make('div', { className: 'figure' }, make('dt', {}, button, tip), make('dd', {}, value, ' ', more, ' ', diff));
      line.dataset.key = row.key;
      this.list.append(line);
      this.rows.set(row.key, { row, tip, value, more, diff, line });
    }
    // Escape hides a tip, wherever the focus is, until one comes back to it.
    addEventListener('keydown', (e) => {
      if (e.key !== 'Escape') return;
      for (const line of root.querySelectorAll('.figure:hover, .figure:focus-within')) line.classList.add('hushed');
    });
    for (const kind of ['mouseenter', 'focusin']) {
      root.addEventListener(kind, (e) => e.target.closest?.('.figure')?.classList.remove('hushed'), true);
    }
  }

  /** `fresh`: the settings are new, so the tips are written anew. */
  show(pose, winner, settings) {
    const f = pose.figures;
    const same = pose === winner;
    for (const { row, tip, value, more, diff, line } of this.rows.values()) {
      const v = row.of(f);
      line.hidden = row.optional && v === undefined;
      if (line.hidden) continue;
      put(value, v === undefined ? '…' : row.show(v ?? NaN));
      put(more, (v !== undefined && row.more?.(f)) || '');
      const w = winner && !same ? row.of(winner.figures) : undefined;
      const d = Number.isFinite(v) && Number.isFinite(w) ? v - w : 0;
      const shown = row.show(d);
      const said = d !== 0 && !/^\D*0(\D|$)/.test(shown) ? `${signed(row.key === 'slender' ? (x) => decimal(x, 1) : row.show, d)}` : '';
      put(diff, said && `${said} against pose 1`);
      diff.classList.toggle('better', said !== '' && d * row.better > 0);
      const [measured, means, todo] = row.tip(settings);
      const text = `${measured} ${means} ${todo}`;
      if (tip.dataset.text !== text) {
        tip.dataset.text = text;
        tip.replaceChildren(make('span', {}, make('i', {}, 'Measured: '), measured), make('span', {}, make('i', {}, 'Means: '), means),
          make('span', {}, make('i', {}, 'Do: '), todo));
      }
    }
  }
}

function put(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

/** A sentence of the main figures, for those who do not see the table. */
export function inWords(pose) {
  const f = pose.figures;
  const out = [];
  for (const key of ['height', 'contact', 'overhang', 'support', 'bridge', 'slender']) {
    const row = ROWS.find((r) => r.key === key);
    const v = row.of(f);
    if (Number.isFinite(v)) out.push(`${row.name} ${row.show(v)}`);
  }
  return out.join(', ');
}

/**
 * The table of all poses, the best of each column underlined, below each value its
 * difference to the first pose. `hand` is the pose turned by hand, if it is shown.
 */
export function against(table, poses, hand, chosen) {
  const rows = hand ? [...poses, hand] : poses;
  const values = COLUMNS.map(([key, , , , , of]) => rows.map((p) => {
    const v = key === 'total' ? p.total : ROWS.find((r) => r.key === of).of(p.figures);
    return v === null ? NaN : v;
  }));
  const free = rows.some((p) => !p.gates?.length);
  const counts = rows.map((p) => !p.gates?.length || !free);
  const columns = COLUMNS.map(([key, name, small, large, step], c) => {
    const finite = values[c].filter(Number.isFinite);
    const most = Math.max(0, ...finite.map(Math.abs));
    let [unit, size] = most >= step ? large : small;
    const long = key === 'time' && finite.some((m) => Math.round(m) >= 100);
    if (long) unit = 'h:min';
    const write = (v) => {
      if (key === 'slender') return decimal(v, 1);
      if (key !== 'time') return three(v / size);
      if (!long) return decimal(v, 0);
      const whole = Math.round(Math.abs(v));
      return `${v < -0.5 ? '\u2212' : ''}${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
    };
    const cells = values[c].map((v) => (v === undefined ? '…' : write(v)));
    const able = values[c].map((v, i) => counts[i] && Number.isFinite(v));
    const pick = key === 'contact' ? Math.max : Math.min;
    const top = pick(...values[c].filter((_, i) => able[i]));
    const best = cells[values[c].findIndex((v, i) => able[i] && v === top)];
    const all = cells.every((t, i) => !able[i] || t === best);
    return {
      name, unit, cells,
      best: cells.map((t, i) => able[i] && t === best && !all),
      differ: values[c].map((v, i) => {
        const d = v - values[c][0];
        if (i === 0 || !Number.isFinite(d)) return '';
        const text = write(d);
        return /^\D*0(:00)?$/.test(text) ? '=' : (d > 0 ? '+' : '') + text;
      }),
    };
  });
  const head = make('tr', {}, make('th', { scope: 'col' }, 'Pose'),
    ...columns.map((c) => make('th', { scope: 'col' }, c.name, ' ', make('span', { className: 'unit' }, c.unit))));
  const body = rows.map((pose, i) => {
    const label = pose === hand ? 'by hand' : String(pose.rank);
    const note = gates(pose);
    const tr = make('tr', { className: pose === chosen ? 'chosen' : '' },
      make('th', { scope: 'row' }, make('b', {}, label), ' ', sideDown(pose.down), note.length ? `, ${note.join(', ')}` : ''),
      ...columns.map((c) => make('td', {}, make('span', { className: c.best[i] ? 'best' : '' }, c.cells[i]),
        c.best[i] ? make('span', { className: 'unseen' }, ' best') : null,
        c.differ[i] ? make('span', { className: 'differ' }, c.differ[i]) : null)));
    return tr;
  });
  const caption = make('caption', { className: 'unseen' }, 'Figures of all poses; the best of each column is underlined, the small number is the difference to pose 1');
  table.replaceChildren(caption, make('thead', {}, head), make('tbody', {}, ...body));
}
