// What the checks of the desk share: the program with its page, a browser, trimesh, counting.
import { execFileSync, spawn } from 'node:child_process';
import { createRequire } from 'node:module';
import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';

export const [chromium, modules, wayup, python, out] = process.argv.slice(2);
const require = createRequire(resolve(modules, 'x.js'));
const { chromium: browserType } = require('playwright-core');
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');

/** WebGL without a graphics card. */
const SOFTWARE = ['--use-gl=angle', '--use-angle=swiftshader', '--enable-unsafe-swiftshader', '--ignore-gpu-blocklist'];

export const launch = (gl = true) => browserType.launch({
  executablePath: chromium,
  args: ['--no-sandbox', ...(gl ? SOFTWARE : ['--disable-gpu', '--disable-3d-apis'])],
});

let passed = 0;
let failed = 0;
export function check(what, good, why = '') {
  good ? passed++ : failed++;
  console.log(`${good ? 'ok    ' : 'FAILED'} desk: ${what}${good ? '' : `: ${why}`}`);
}
export const same = (what, is, should) => check(what, is === should, `${JSON.stringify(is)} instead of ${JSON.stringify(should)}`);
export const close = (what, is, should, off) => check(what, Math.abs(is - should) <= off, `${is} instead of ${should}`);

export function end() {
  console.log(`${passed} passed, ${failed} failed`);
  process.exit(failed === 0 && passed > 0 ? 0 : 1);
}

/** The words of a command, and what it printed. */
export function words(...args) {
  try {
    return { text: execFileSync(wayup, args, { encoding: 'utf8', stdio: ['ignore', 'pipe', 'pipe'], maxBuffer: 1 << 28 }), code: 0 };
  } catch (e) {
    return { text: e.stdout, error: e.stderr, code: e.status };
  }
}
export const told = (...args) => JSON.parse(words(...args, '--json').text);

/** What trimesh reads in files, a library outside the project; all in one go, for it starts slowly. */
export const trimeshes = (files) => JSON.parse(execFileSync(python, ['-c', `
import json, sys, trimesh
all = [trimesh.load(file, force='mesh') for file in sys.argv[1:]]
print(json.dumps([{'lo': m.bounds[0].tolist(), 'hi': m.bounds[1].tolist(), 'volume': float(m.volume), 'area': float(m.area),
                   'faces': len(m.faces), 'closed': bool(m.is_watertight)} for m in all]))`, ...files], { encoding: 'utf8' }));
export const trimesh = (file) => trimeshes([file])[0];

/** Starts the desk; resolves to its address and a way to end it. */
export function desk(...args) {
  const child = spawn(wayup, ['desk', '--no-browser', ...args], { stdio: ['ignore', 'pipe', 'inherit'] });
  // A check that breaks off must not leave it running.
  process.on('exit', () => child.kill());
  return new Promise((done, broke) => {
    let text = '';
    child.stdout.on('data', (d) => {
      text += d;
      const url = /http:\/\/\S+/.exec(text);
      if (url) done({ url: url[0], stop: () => new Promise((ended) => child.on('exit', ended) && child.kill('SIGTERM')) });
    });
    child.on('exit', (code) => broke(new Error(`wayup desk ended with ${code}`)));
  });
}

/** Everything the console complained of, over all pages. */
export const complaints = [];

export async function page(browser, url, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1200, height: 900 }, acceptDownloads: true, ...options });
  const tab = await context.newPage();
  tab.on('console', (m) => ['error', 'warning'].includes(m.type()) && !quiet(m.text()) && complaints.push(m.text()));
  tab.on('pageerror', (e) => complaints.push(e.stack));
  await tab.goto(url);
  return tab;
}
// The browser's own remarks: on drawing without a graphics card, and on the answer to a
// file that is broken on purpose.
const quiet = (text) => /swiftshader|software WebGL|GPU stall|status of 422/i.test(text);

/** Waits until the full ranking of a part stands. */
export const ranked = (tab, name, timeout = 60000) => tab.waitForFunction((n) => document.querySelector('#question em')?.textContent === n
  && !document.getElementById('work').hidden && !document.getElementById('answer').classList.contains('early'), name, { timeout });

/** Waits until the figures of the pose shown stand, every one of them, and nothing is on its way. */
export const settled = (tab) => tab.waitForSelector('#figures[aria-busy=false]', { timeout: 30000 });

/** Drops a file on the page as a hand would. */
export async function drop(tab, ...files) {
  const handle = await tab.evaluateHandle((list) => {
    const data = new DataTransfer();
    for (const { name, body } of list) data.items.add(new File([Uint8Array.from(atob(body), (c) => c.charCodeAt(0))], name));
    return data;
  }, files.map((f) => ({ name: f.replace(/.*\//, ''), body: readFileSync(f).toString('base64') })));
  for (const kind of ['dragenter', 'dragover', 'drop']) await tab.dispatchEvent('body', kind, { dataTransfer: handle });
}

export async function violations(tab) {
  // The page allows no foreign script, so axe-core is let in by the browser itself.
  await tab.evaluate(axe);
  const found = await tab.evaluate(() => window.axe.run(document, { resultTypes: ['violations'], rules: { 'color-contrast-enhanced': { enabled: true } } }));
  return found.violations.map((v) => `${v.id} (${v.nodes.length}): ${v.nodes[0].target} ${v.nodes[0].failureSummary}`).join('\n       ');
}

/** The value of a figure as shown, without what stands behind it. */
export const figure = async (tab, key) => (await tab.locator(`.figure[data-key=${key}] b`).innerText()).replace(/\s+/g, ' ').trim();
