(() => {
  const table = document.getElementById('table');
  const body = table.tBodies[0];
  const size = Number(table.dataset.rows);
  const form = document.querySelector('.filters');
  const left = document.getElementById('left');
  const named = document.getElementById('named');
  const boxes = [...form.querySelectorAll('input[type=checkbox]')];
  const heads = [...table.tHead.rows[0].cells];
  // A row: kinds, path, side, numbers, notes, address of the sheet, outline.
  const all = [];
  for (const block of document.querySelectorAll('script.rows')) {
    all.push(...JSON.parse(block.textContent));
    block.remove();
  }
  let view = all;
  let first = 0;

  const make = (tag, ...content) => {
    const element = document.createElement(tag);
    element.append(...content);
    return element;
  };
  const pad = (n) => String(n).padStart(2, '0');
  const shown = (v, places) => {
    if (v === null) return '\u2013';
    const minus = v < 0 ? '\u2212' : '';
    const plain = Math.abs(v);
    if (places < 0) return `${minus}${Math.floor(plain / 60)}:${pad(plain % 60)}`;
    if (plain === 0 && places > 0) return `0\u2008${'\u2007'.repeat(places)}`;
    return minus + plain.toFixed(places);
  };
  const outline = (path) => {
    if (!path) return '';
    const of = (tag) => document.createElementNS('http://www.w3.org/2000/svg', tag);
    const [svg, line] = [of('svg'), of('path')];
    svg.setAttribute('class', 'f');
    svg.setAttribute('viewBox', `0 0 ${table.dataset.box} ${table.dataset.box}`);
    svg.setAttribute('aria-hidden', 'true');
    line.setAttribute('d', path);
    svg.append(line);
    return svg;
  };
  const name = (path, sheet) => {
    const pieces = path.split('/').flatMap((piece, i) => (i ? ['/', make('wbr'), piece] : [piece]));
    if (!sheet) return pieces;
    const link = make('a', ...pieces);
    link.href = sheet;
    return [link];
  };
  const numbers = heads.filter((h) => h.dataset.number).map((h) => [Number(h.dataset.number), Number(h.dataset.places)]);
  const row = ([, path, side, values, notes, sheet, drawn]) => {
    const head = make('th', ...name(path, sheet));
    head.scope = 'row';
    const cells = numbers.map(([i, places]) => make('td', shown(values[i], places)));
    return make('tr', make('td', outline(drawn)), head, make('td', side), ...cells, make('td', notes));
  };

  const pager = document.querySelector('.pager');
  const turn = (words, to) => {
    const button = make('button', words);
    button.type = 'button';
    button.addEventListener('click', () => draw(to()));
    pager.append(button);
    return button;
  };
  const last = () => Math.max(0, Math.floor((view.length - 1) / size) * size);
  const back = [turn('First', () => 0), turn('Previous', () => first - size)];
  const on = [turn('Next', () => first + size), turn('Last', last)];
  const where = make('span');
  back[1].after(where);
  const draw = (from) => {
    first = Math.min(Math.max(0, from), last());
    const rows = view.slice(first, first + size);
    body.replaceChildren(...rows.map(row));
    where.textContent = rows.length ? `rows ${first + 1} to ${first + rows.length} of ${view.length}` : 'no rows';
    left.textContent = `${view.length} of ${all.length} parts`;
    pager.hidden = view.length <= size;
    for (const b of back) b.disabled = first === 0;
    for (const b of on) b.disabled = first === last();
  };

  let compare = null;
  const order = (head, up) => {
    const i = Number(head.dataset.number ?? head.dataset.text);
    const of = head.dataset.number ? (r) => r[3][i] : (r) => r[i];
    compare = (p, q) => {
      const [a, b] = [of(p), of(q)];
      // What is not known comes last either way.
      if (a === null || b === null) return (a === null) - (b === null);
      const o = a < b ? -1 : a > b ? 1 : 0;
      return up ? o : -o;
    };
  };
  const choose = () => {
    const on = boxes.filter((b) => b.checked).map((b) => b.value);
    const word = named.value.trim().toLowerCase();
    const is = ([kinds, path]) => on.every((k) => kinds.includes(k)) && path.toLowerCase().includes(word);
    view = on.length || word ? all.filter(is) : all.slice();
    if (compare) view.sort(compare);
    draw(0);
  };
  for (const head of heads.filter((h) => h.dataset.number || h.dataset.text)) {
    const button = make('button', ...head.childNodes);
    button.type = 'button';
    head.append(button);
    button.addEventListener('click', () => {
      const was = head.getAttribute('aria-sort');
      const up = was ? was === 'descending' : !head.dataset.number;
      for (const h of heads) h.removeAttribute('aria-sort');
      head.setAttribute('aria-sort', up ? 'ascending' : 'descending');
      order(head, up);
      choose();
    });
  }
  for (const box of boxes) box.addEventListener('change', choose);
  named.addEventListener('input', choose);
  form.addEventListener('submit', (e) => e.preventDefault());
  form.hidden = false;
  draw(0);
})();
