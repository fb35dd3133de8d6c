// The parts on the table: how they come, the list of them, and what went wrong.

import { post, upload } from './link.js';
import { decimal, make } from './words.js';

const $ = (id) => document.getElementById(id);

/** The name that the question is asked by. */
export const nameOf = (entry) => entry.name || entry.facts.path.replace(/^.*[/\\]/, '').replace(/\.[^.]*$/, '');

/** Words of trouble by what they are about; `null` takes them back. */
export function trouble(about, text) {
  const id = `trouble-${about}`;
  $(id)?.remove();
  if (text) $('trouble').append(make('pre', { id }, text));
}

/** What is being done now; `null` when nothing is. */
export function progress(text) {
  $('progress').hidden = !text;
  if ($('progress').textContent !== (text || '')) $('progress').textContent = text || '';
}

export class Shelf {
  /** `open` gets the part to look at, or `null` when the table is empty. */
  constructor(open) {
    this.open = open;
    this.parts = new Map();
    this.on = null;
    this.limit = Infinity;
  }

  /** Files come by the button, or dropped anywhere on the page. */
  listen() {
    $('files').addEventListener('change', (e) => {
      this.take([...e.target.files]);
      e.target.value = '';
    });
    let inside = 0;
    const over = () => ($('drop').hidden = inside <= 0);
    const does = {
      dragenter: () => inside++,
      dragover: () => {},
      dragleave: () => inside--,
      drop: (e) => {
        inside = 0;
        this.take([...e.dataTransfer.files]);
      },
    };
    for (const [kind, then] of Object.entries(does)) {
      addEventListener(kind, (e) => {
        if (![...(e.dataTransfer?.types || [])].includes('Files')) return;
        e.preventDefault();
        then(e);
        over();
      });
    }
  }

  add(entry) {
    this.parts.set(entry.part, entry);
  }

  /** Sends files to the desk, one after another, and opens the first that is a part. */
  async take(files, units) {
    $('trouble').replaceChildren();
    let first = null;
    for (const [i, file] of files.entries()) {
      const which = files.length > 1 ? ` (${i + 1} of ${files.length})` : '';
      if (file.size > this.limit) {
        const [has, most] = [file.size, this.limit].map((n) => decimal(n / 1e6, 0));
        trouble(`file-${i}`, `error: ${file.name}: is larger than this desk takes: ${has} of ${most} MB\nhint: try wayup advise in the terminal`);
        continue;
      }
      progress(`Reading ${file.name}${which}`);
      try {
        const said = await upload(file, units, (share) => progress(`Reading ${file.name}${which}: ${decimal(100 * share, 0)} %`));
        const entry = { ...said, file };
        this.add(entry);
        first ??= entry;
      } catch (e) {
        trouble(`file-${i}`, e.message);
      }
    }
    progress(null);
    this.list();
    if (first) this.open(first);
  }

  /** Reads the file of a part again, its numbers in another unit. */
  reread(entry, units) {
    this.#drop(entry);
    this.take([entry.file], units);
  }

  #drop(entry) {
    this.parts.delete(entry.part);
    // A part that stays behind in the program's memory harms nobody.
    post(`part/${entry.part}/close`).catch(() => {});
  }

  #off(entry) {
    this.#drop(entry);
    if (this.on === entry) this.open([...this.parts.values()][0] ?? null);
    this.list();
  }

  list() {
    $('parts').hidden = this.parts.size < 2;
    $('parts').replaceChildren(...[...this.parts.values()].map((entry) => {
      const name = make('button', { type: 'button', className: 'plain-button', onclick: () => this.open(entry) }, nameOf(entry));
      if (this.on === entry) name.setAttribute('aria-current', 'true');
      const size = entry.facts.size_mm.map((x) => decimal(x, 1)).join(' × ');
      const off = make('button', { type: 'button', className: 'small', onclick: () => this.#off(entry) }, 'remove', make('span', { className: 'unseen' }, ` ${nameOf(entry)}`));
      return make('li', {}, name, ' ', make('span', { className: 'quiet' }, `${size} mm${entry.verdict ? `. ${entry.verdict}` : ''}`), ' ', off);
    }));
  }
}
