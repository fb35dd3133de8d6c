// What is taken away from the desk: files, paper, command lines.

import { at } from './link.js';
import { $, put } from './page.js';
import { sideDown } from './words.js';

/** Links and commands for the pose shown. */
export function away(now, pose) {
  const base = `part/${now.entry.part}`;
  const kind = now.entry.facts.format === '3mf' ? '3mf' : 'stl';
  const down = `down=${pose.down.map((x) => Number(x.toPrecision(12))).join(',')}`;
  for (const kind of ['stl', '3mf', 'obj', 'ply']) $(`take-${kind}`).href = at(`${base}/turned.${kind}?${down}`);
  $('take-first').href = $(`take-${kind}`).href;
  put('take-first', `Download ${kind.toUpperCase()}`);
  $('take-sheet').href = at(`${base}/sheet.html?${down}`);
  $('take-json').href = at(`${base}/advice.json`);
  put('take-what', now.hand ? `The file holds the part as you turned it: ${sideDown(pose.down)}.` : `The file holds pose ${pose.rank}: ${sideDown(pose.down)}.`);
  const fits = now.shown === now.seq;
  put('command', [now.ranking.command, fits && now.command !== now.ranking.command ? now.command : ''].filter(Boolean).join('\n'));
}

/** The buttons for paper and for the command lines. */
export function listen(drawing) {
  addEventListener('beforeprint', () => drawing?.printInto($('printed')));
  matchMedia('print').addEventListener('change', (e) => e.matches && drawing?.printInto($('printed')));
  $('print').addEventListener('click', () => window.print());
  $('copy').addEventListener('click', async () => {
    const text = $('command').textContent;
    try {
      await navigator.clipboard.writeText(text);
      $('copy').textContent = 'Copied';
    } catch {
      getSelection().selectAllChildren($('command'));
      $('copy').textContent = 'Marked: copy it with the keyboard';
    }
    setTimeout(() => ($('copy').textContent = 'Copy'), 2000);
  });
}
