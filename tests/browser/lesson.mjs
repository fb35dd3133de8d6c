// The lesson with a keyboard alone, and without scripts.
//
//   node lesson.mjs CHROMIUM NODE_MODULES LESSON.html
import { createRequire } from 'node:module';
import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

const [chromium, modules, lesson] = process.argv.slice(2);
const require = createRequire(resolve(modules, 'x.js'));
const { chromium: browserType } = require('playwright-core');
const browser = await browserType.launch({ executablePath: chromium, args: ['--no-sandbox', '--disable-gpu'] });
const url = pathToFileURL(resolve(lesson)).href;
let passed = 0;
let failed = 0;
const check = (what, good) => {
  good ? passed++ : failed++;
  console.log(`${good ? 'ok    ' : 'FAILED'} lesson: ${what}`);
};
const shown = (page, css) => page.locator(`${css}:visible`).count();

const page = await browser.newPage({ viewport: { width: 1100, height: 900 } });
await page.goto(url);
check('no answer before a choice', (await shown(page, '.answer')) === 0);
await page.keyboard.press('Tab');
await page.keyboard.press('Space');
check('a choice by keyboard shows its answer', (await shown(page, '.answer')) === 1);
await page.keyboard.press('ArrowDown');
check('the next choice shows one answer, its own',
  (await shown(page, '.answer')) === 1 && (await shown(page, '.answer[data-for=B]')) === 1);
await page.locator('#tip').focus();
const before = await page.locator('.frame.on figcaption').innerText();
for (let i = 0; i < 5; i++) await page.keyboard.press('ArrowRight');
const after = await page.locator('.frame.on figcaption').innerText();
check('the slider tips the part and moves the figures', before !== after && (await shown(page, '.frame')) === 1);
check('the slider says its angle', /°/.test(await page.locator('#tip').getAttribute('aria-valuetext')));
const moved = await page.locator('.cursor').evaluateAll((all) => all.filter((c) => c.getAttribute('transform').includes('translate(')).length);
const near = await page.evaluate(() => {
  const box = (e) => e.getBoundingClientRect();
  const tip = document.getElementById('tip');
  const [track, angle] = [box(tip), box(document.getElementById('angle'))];
  const thumb = track.left + 8 + (track.width - 16) * (tip.value / tip.max);
  return Math.abs(angle.left + angle.width / 2 - thumb);
});
check('the angle stands at the thumb', near < 6);
const ends = await page.locator('.ends span').allInnerTexts();
check('the ends of the slider carry the two sides', ends.length === 2 && ends.every((t) => t.endsWith('down')) && ends[0] !== ends[1]);
const beside = await page.evaluate(() => {
  const [picture, curves] = ['.frame.on svg', '.curves'].map((css) => document.querySelector(css).getBoundingClientRect());
  return picture.right <= curves.left + 1 && picture.top < curves.bottom && curves.top < picture.bottom;
});
check('the picture stands beside the curves', beside);
check('the dip at the limit is explained', /Why the dip at \d+/.test(await page.locator('.dip').innerText()));
const small = await page.evaluate(() => {
  const texts = [...document.querySelectorAll('p, li, td, th, dd, dt, figcaption, label, output, .sum, .unit')].filter((e) => e.checkVisibility() && e.textContent.trim());
  const drawn = [...document.querySelectorAll('svg text')].filter((e) => e.checkVisibility());
  const scale = (t) => t.getScreenCTM().a * parseFloat(t.getAttribute('font-size'));
  return Math.min(...texts.map((e) => parseFloat(getComputedStyle(e).fontSize)), ...drawn.map(scale));
});
check(`nothing under 9 points (smallest ${(small * 0.75).toFixed(1)})`, small * 0.75 >= 8.99);
check('all cautions stand there', /qualified person/.test(await page.locator('main').innerText()) && /Nozzle and bed burn/.test(await page.locator('main').innerText()));
check('every curve has its cursor', moved === (await page.locator('.curves figure').count()));

const plain = await (await browser.newContext({ javaScriptEnabled: false })).newPage();
await plain.goto(url);
check('without scripts every answer stands there', (await shown(plain, '.answer')) >= 2);
check('without scripts five steps stand there', (await shown(plain, '.frame')) === 5);
check('without scripts no slider', (await shown(plain, '.slider')) === 0);
await browser.close();
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed === 0 && passed > 0 ? 0 : 1);
