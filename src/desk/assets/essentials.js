// Side, sureness, support, height and time in one line, and a word where the pose is not the advised one.

import { gates, reading } from './figures.js';
import { $, put } from './page.js';
import { headline } from './telling.js';
import { act, sideDown } from './words.js';

const SURE = {
  clear: () => ['clear', 'pose 1 stays first'],
  close: () => ['close', 'another pose may come first'],
  tied: (rank) => ['a toss-up', `poses 1 and ${rank} are practically equal`],
};

/** Shows them for a pose of a part; `off`: its angle to the advised one. */
export function essentials({ ranking, hand }, pose, first, off) {
  const { confidence, margin, poses } = ranking.advice;
  const head = headline(pose, hand, off);
  $('headline').hidden = $('lead').hidden = !head;
  $('advised').classList.toggle('aside', Boolean(head));
  put('headline', head);
  put('in-what', hand ? 'Turned by hand' : 'Side down');
  put('in-side', sideDown(pose.down));
  put('in-act', [act(pose.down), gates(pose)[0]].filter(Boolean).join('; '));
  const rank = margin?.runner_up;
  const [sure, why] = SURE[confidence] && rank ? SURE[confidence](rank) : ranking.final && poses.length === 1 ? ['the only pose', ''] : ['…', ''];
  put('in-sure', sure);
  put('in-why', why);
  for (const [id, key] of [['support', 'support_needed_mm3'], ['height', 'height_mm'], ['time', 'print_min']]) {
    const { says, apart } = reading(key, pose, first);
    put(`in-${id}`, says);
    put(`in-${id}-diff`, apart && `${apart} to pose 1`);
  }
}
