// Opens pages in a headless browser and says what is wrong with them: accessibility
// by axe-core, one A4 page a part, readable at phone width, nothing loaded from afar.
//
//   node pages.mjs CHROMIUM NODE_MODULES SHOTS PAGE.html=PAGES...
//
// PAGES is the number of A4 pages the file must print to. Prints one line a check and
// ends with a count; exits 1 if one failed or none ran.
import { createRequire } from 'node:module';
import { mkdirSync, readFileSync } from 'node:fs';
import { basename, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

const [chromium, modules, shots, ...files] = process.argv.slice(2);
const require = createRequire(resolve(modules, 'x.js'));
const { chromium: browserType } = require('playwright-core');
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
mkdirSync(shots, { recursive: true });

let passed = 0;
let failed = 0;
const check = (what, good, why = '') => {
  good ? passed++ : failed++;
  console.log(`${good ? 'ok    ' : 'FAILED'} ${what}${good ? '' : `: ${why}`}`);
};

const browser = await browserType.launch({
  executablePath: chromium,
  args: ['--no-sandbox', '--disable-gpu'],
});
// No page may ask for anything but itself.
const open = async (file, options) => {
  const context = await browser.newContext(options);
  const asked = [];
  await context.route('**/*', (route) => {
    const url = route.request().url();
    if (url.startsWith('file:') || url.startsWith('data:')) return route.continue();
    asked.push(url);
    return route.abort();
  });
  const page = await context.newPage();
  await page.goto(pathToFileURL(resolve(file)).href);
  return { context, page, asked };
};

for (const entry of files) {
  const [file, count] = entry.split('=');
  const name = basename(file, '.html');
  for (const colorScheme of ['light', 'dark']) {
    const { context, page, asked } = await open(file, {
      viewport: { width: 1200, height: 900 },
      colorScheme,
    });
    await page.evaluate(axe);
    const found = await page.evaluate(() =>
      window.axe.run(document, { resultTypes: ['violations'], rules: { 'color-contrast-enhanced': { enabled: true } } }),
    );
    const said = found.violations
      .map((v) => `${v.id} (${v.nodes.length}): ${v.nodes[0].target} ${v.nodes[0].failureSummary}`)
      .join('\n       ');
    check(`${name} ${colorScheme}: no accessibility violation`, found.violations.length === 0, said);
    check(`${name} ${colorScheme}: asks for nothing else`, asked.length === 0, asked.join(' '));
    if (colorScheme === 'light') {
      const mute = await page.evaluate(
        () => [...document.querySelectorAll('svg')].filter((s) => {
          const hidden = s.closest('[aria-hidden=true]');
          return !hidden && !(s.getAttribute('aria-label') || '').trim();
        }).length,
      );
      check(`${name}: every picture says in words what it shows`, mute === 0, `${mute} do not`);
    }
    await page.screenshot({ path: `${shots}/${name}-${colorScheme}.png` });
    await context.close();
  }

  const phone = await open(file, { viewport: { width: 390, height: 844 }, deviceScaleFactor: 1 });
  const wide = await phone.page.evaluate(() => document.scrollingElement.scrollWidth);
  check(`${name}: fits a phone 390 px wide`, wide <= 390, `${wide} px`);
  const small = await phone.page.evaluate(() => {
    const sizes = [...document.querySelectorAll('p, li, td, th, dd, figcaption, label, button')]
      .filter((e) => e.offsetParent && e.textContent.trim())
      .map((e) => parseFloat(getComputedStyle(e).fontSize));
    return Math.min(...sizes);
  });
  check(`${name}: words at least 10.5 px high on a phone`, small >= 10.5, `${small} px`);
  await phone.page.screenshot({ path: `${shots}/${name}-phone.png`, fullPage: true });
  await phone.context.close();

  const paper = await open(file, { viewport: { width: 794, height: 1123 } });
  await paper.page.emulateMedia({ media: 'print' });
  const over = await paper.page.evaluate(() =>
    [...document.querySelectorAll('.sheet')]
      .filter((s) => s.scrollHeight > s.clientHeight + 1 || s.scrollWidth > s.clientWidth + 1)
      .map((s) => `${s.id || s.className} by ${s.scrollHeight - s.clientHeight} px`),
  );
  check(`${name}: no sheet runs over its page`, over.length === 0, over.join(', '));
  const pdf = await paper.page.pdf({ preferCSSPageSize: true, printBackground: true });
  const text = pdf.toString('latin1');
  const pages = (text.match(/\/Type\s*\/Page\b(?!s)/g) || []).length;
  if (count) check(`${name}: prints to ${count} A4 pages`, pages === Number(count), `${pages} pages`);
  const boxes = [...text.matchAll(/\/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]/g)];
  const a4 = boxes.every((b) => Math.abs(b[1] - 595.28) < 1 && Math.abs(b[2] - 841.89) < 1);
  check(`${name}: pages are A4`, boxes.length > 0 && a4, boxes.map((b) => b[0]).join(' '));
  await paper.context.close();
}
await browser.close();
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed === 0 && passed > 0 ? 0 : 1);
