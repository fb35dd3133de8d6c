// The summary of a library: sorted and filtered with a keyboard, and without scripts.
//
//   node library.mjs CHROMIUM NODE_MODULES SUMMARY.html
import { createRequire } from 'node:module';
import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

const [chromium, modules, summary] = process.argv.slice(2);
const require = createRequire(resolve(modules, 'x.js'));
const { chromium: browserType } = require('playwright-core');
const browser = await browserType.launch({ executablePath: chromium, args: ['--no-sandbox', '--disable-gpu'] });
const url = pathToFileURL(resolve(summary)).href;
let passed = 0;
let failed = 0;
const check = (what, good) => {
  good ? passed++ : failed++;
  console.log(`${good ? 'ok    ' : 'FAILED'} summary: ${what}`);
};
const rows = (page) => page.locator('#table tbody tr:visible');
const values = (page, column) =>
  page.locator(`#table tbody tr:visible td:nth-child(${column})`).evaluateAll((all) =>
    all.map((c) => (c.dataset.v === undefined ? null : Number(c.dataset.v))));
const ordered = (list, way) => list.every((v, i) => i === 0 || way * (list[i - 1] - v) <= 0);

const page = await browser.newPage({ viewport: { width: 1100, height: 900 } });
await page.goto(url);
const all = await rows(page).count();
check('every part has a row', all >= 13);
const figures = await page.locator('#table tbody svg path').count();
check('every part that was read has a figure', figures === all);

const support = page.locator('#table thead th:nth-child(5)');
await support.locator('button').focus();
await page.keyboard.press('Enter');
check('a column of numbers sorts the largest first', (await support.getAttribute('aria-sort')) === 'descending'
  && ordered(await values(page, 5), -1));
await page.keyboard.press('Enter');
check('and once more the smallest first', (await support.getAttribute('aria-sort')) === 'ascending'
  && ordered(await values(page, 5), 1));
const name = page.locator('#table thead th:nth-child(2) button');
await name.focus();
await page.keyboard.press('Space');
const names = await page.locator('#table tbody th').allTextContents();
check('a column of words sorts by the alphabet', names.join() === [...names].sort().join());
check('one column is marked as sorted', (await page.locator('th[aria-sort]').count()) === 1);

const box = page.locator('.filters input[value=s]');
await box.focus();
await page.keyboard.press('Space');
const some = await rows(page).count();
const words = await page.locator('#table tbody tr:visible td:last-child').allTextContents();
check('a filter leaves only its kind', some > 0 && some < all && words.every((w) => w.includes('needs support')));
check('and says how many are left', (await page.locator('#left').innerText()) === `${some} of ${all} rows`);
await page.keyboard.press('Space');
check('off again all are back', (await rows(page).count()) === all);

const plain = await (await browser.newContext({ javaScriptEnabled: false })).newPage();
await plain.goto(url);
check('without scripts the table stands there', (await rows(plain).count()) === all);
check('without scripts there is nothing to press', (await plain.locator('button:visible, input:visible').count()) === 0);
await browser.close();
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed === 0 && passed > 0 ? 0 : 1);
