(() => {
  const table = document.getElementById('table');
  const body = table.tBodies[0];
  const rows = [...body.rows];
  const form = document.querySelector('.filters');
  const left = document.getElementById('left');
  const boxes = [...form.querySelectorAll('input')];
  form.hidden = false;
  form.addEventListener('submit', (e) => e.preventDefault());
  const filter = () => {
    const on = boxes.filter((b) => b.checked).map((b) => b.value);
    let n = 0;
    for (const row of rows) {
      row.hidden = !on.every((k) => row.dataset.k.includes(k));
      if (!row.hidden) n++;
    }
    left.textContent = `${n} of ${rows.length} rows`;
  };
  boxes.forEach((b) => b.addEventListener('change', filter));
  filter();
  const heads = [...table.tHead.rows[0].cells];
  const value = (row, i) => {
    const cell = row.cells[i];
    return cell.dataset.v === undefined ? cell.textContent : Number(cell.dataset.v);
  };
  const order = (a, b) => {
    if (typeof a === 'string' && typeof b === 'string') return a < b ? -1 : a > b ? 1 : 0;
    // What is not known comes last either way.
    return a - b;
  };
  heads.slice(1).forEach((head, k) => {
    const i = k + 1;
    const button = document.createElement('button');
    button.type = 'button';
    button.append(...head.childNodes);
    head.append(button);
    button.addEventListener('click', () => {
      const numbers = rows.some((r) => r.cells[i].dataset.v !== undefined);
      const was = head.getAttribute('aria-sort');
      const up = was ? was === 'descending' : !numbers;
      heads.forEach((h) => h.removeAttribute('aria-sort'));
      head.setAttribute('aria-sort', up ? 'ascending' : 'descending');
      const known = (r) => !numbers || r.cells[i].dataset.v !== undefined;
      rows.sort((a, b) => {
        if (known(a) !== known(b)) return known(a) ? -1 : 1;
        if (!known(a)) return 0;
        const o = order(value(a, i), value(b, i));
        return up ? o : -o;
      });
      body.append(...rows);
    });
  });
})();
