// The summary of a very large library: how fast it opens, sorts, filters and turns its pages.
//
//   node load.mjs CHROMIUM NODE_MODULES SUMMARY.html
import { createRequire } from 'node:module';
import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

const [chromium, modules, summary] = process.argv.slice(2);
const require = createRequire(resolve(modules, 'x.js'));
const { chromium: browserType } = require('playwright-core');
const browser = await browserType.launch({ executablePath: chromium, args: ['--no-sandbox', '--disable-gpu'] });
const page = await browser.newPage({ viewport: { width: 1280, height: 900 } });
const began = Date.now();
await page.goto(pathToFileURL(resolve(summary)).href);
const loaded = Date.now() - began;
await page.waitForFunction(() => performance.getEntriesByName('first-contentful-paint').length > 0);
const paint = await page.evaluate(() => performance.getEntriesByName('first-contentful-paint')[0].startTime);
const rows = () => page.locator('#table tbody tr:visible').count();
console.log(`page: first paint ${paint.toFixed(0)} ms, loaded ${loaded} ms, ${await rows()} rows shown of ${await page.evaluate(() => document.getElementsByTagName('*').length)} elements`);
const timed = async (what, act) => {
  const from = Date.now();
  await act();
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => setTimeout(done, 0))));
  console.log(`page: ${what} ${Date.now() - from} ms`);
};
await timed('sorted by a column', () => page.locator('#table thead th:nth-child(3) button').click());
await timed('filtered', () => page.locator('.filters input').first().click());
await page.screenshot({ path: `${summary}.png` });
if (paint >= 1000) {
  console.log('FAILED page: first paint takes a second or more');
  process.exitCode = 1;
}
await browser.close();
