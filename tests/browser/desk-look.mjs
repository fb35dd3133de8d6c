// How the desk looks and who can use it: accessibility, phone, print, keyboard alone,
// without WebGL; and how soon figures follow a turn, which is printed and never fails.
//
//   node desk-look.mjs CHROMIUM NODE_MODULES WAYUP PYTHON FOLDER MESH[=UNIT]...
//
// MESH: what the turns are timed on; UNIT: of its numbers, where that is not mm.
import { mkdirSync } from 'node:fs';
import { check, complaints, desk, drop, end, figure, launch, out, page, ranked, same, settled, told, trimesh, violations } from './bench.mjs';

const timed = process.argv.slice(7);
mkdirSync(out, { recursive: true });
const part = 'meshes/page-holder.stl';
const server = await desk(part);
const browser = await launch();
const text = async (tab, id) => (await tab.locator(`#${id}`).innerText()).trim();

// ---- light, dark, phone ----------------------------------------------------------------
const looks = {
  light: {}, dark: { colorScheme: 'dark' }, phone: { viewport: { width: 390, height: 844 } },
  'dark phone': { viewport: { width: 390, height: 844 }, colorScheme: 'dark' },
};
for (const [name, options] of Object.entries(looks)) {
  const tab = await page(browser, server.url, options);
  await ranked(tab, 'page-holder');
  await settled(tab);
  await tab.locator('#priorities > summary').click();
  await tab.locator('#formulas > summary').click();
  same(`${name}: no accessibility violation`, await violations(tab), '');
  // Turned by hand, with a side marked and a value refused, there is more to see.
  await tab.locator('#tip-x').fill('12');
  await tab.locator('#tip-x').press('Enter');
  await settled(tab);
  await tab.locator('#faces').selectOption({ index: 1 });
  await tab.locator('#clean').click();
  await tab.locator('[name=limit_deg]').fill('99');
  await tab.waitForFunction(() => document.getElementById('refused').textContent !== '');
  same(`${name}, at work: no accessibility violation`, await violations(tab), '');
  if (name.includes('phone')) {
    const wide = await tab.evaluate(() => document.scrollingElement.scrollWidth);
    check(`${name}: fits 390 px`, wide <= 390, `${wide} px`);
    const small = await tab.evaluate(() => Math.min(...[...document.querySelectorAll('p, li, td, th, dd, figcaption, label, button, .labels span')]
      .filter((e) => e.offsetParent && e.textContent.trim()).map((e) => parseFloat(getComputedStyle(e).fontSize))));
    check(`${name}: words at least 10.5 px high`, small >= 10.5, `${small} px`);
    await tab.waitForTimeout(500);
    const off = await tab.evaluate(() => [...document.querySelectorAll('.labels span')]
      .filter((e) => e.getBoundingClientRect().left < 0 || e.getBoundingClientRect().right > 390).map((e) => e.textContent));
    check(`${name}: no lettering of the drawing is cut`, off.length === 0, off.join(', '));
  }
  const mute = await tab.evaluate(() => [...document.querySelectorAll('img')].filter((i) => i.offsetParent && !i.alt.trim() && !i.closest('label')?.textContent.trim()).length);
  same(`${name}: words beside every picture`, mute, 0);
  check(`${name}: the drawing is told in words`, (await text(tab, 'drawn')).length > 60);
  await tab.screenshot({ path: `${out}/${name.replace(' ', '-')}.png`, fullPage: true });
  await tab.context().close();
}

// ---- figures in view while the part is turned; a touch screen ---------------------------
for (const [width, height] of [[1000, 800], [1280, 900], [1920, 1080]]) {
  const tab = await page(browser, server.url, { viewport: { width, height } });
  await ranked(tab, 'page-holder');
  await settled(tab);
  await tab.locator('#drawing').evaluate((e) => scrollTo(0, e.getBoundingClientRect().top + scrollY - 130));
  const box = (css) => tab.locator(css).first().boundingBox();
  const [view, total, time, tips, strip] = await Promise.all(['#view', '.figure[data-key=total]', '.figure[data-key=print_min]', '#turned', '#essentials'].map(box));
  check(`${width} px: figures stand to the right of the drawing`, total.x > view.x + view.width, JSON.stringify([view, total]));
  check(`${width} px: drawing, live figures and the short line are in view together`, view.y >= 0 && total.y >= 0 && time.y + time.height <= height && strip.y >= 0 && view.y + view.height <= height,
    JSON.stringify([view, total, time, strip]));
  check(`${width} px: the buttons of the group Turn begin in view`, (await box('#by-hand')).y + 40 < height && tips.y > view.y);
  await tab.context().close();
}
{
  const tab = await page(browser, server.url, { viewport: { width: 390, height: 844 }, hasTouch: true });
  await ranked(tab, 'page-holder');
  await settled(tab);
  const pen = await tab.context().newCDPSession(tab);
  const swipe = async (dx, dy) => {
    const b = await tab.locator('#view').boundingBox();
    const [x, y] = [b.x + b.width / 2, b.y + b.height / 2];
    const point = (s) => [{ x: x + s * dx, y: y + s * dy }];
    await pen.send('Input.dispatchTouchEvent', { type: 'touchStart', touchPoints: point(0) });
    for (let i = 1; i <= 10; i++) await pen.send('Input.dispatchTouchEvent', { type: 'touchMove', touchPoints: point(i / 10) });
    await pen.send('Input.dispatchTouchEvent', { type: 'touchEnd', touchPoints: [] });
    await tab.waitForTimeout(500);
    await settled(tab);
  };
  const [undo, look] = [await tab.locator('#undo').boundingBox(), await tab.locator('.looks').boundingBox()];
  check('phone: the buttons in the drawing stand beside each other', undo.x + undo.width <= look.x, `${undo.x + undo.width} px and ${look.x} px`);
  await tab.locator('#view').evaluate((e) => e.scrollIntoView({ block: 'center' }));
  const before = await tab.evaluate(() => scrollY);
  const down = await tab.locator('#down').inputValue();
  await swipe(0, -200);
  check('touch: a stroke upwards scrolls the page past the drawing', (await tab.evaluate(() => scrollY)) > before + 50, `${before} to ${await tab.evaluate(() => scrollY)}`);
  same('touch: and leaves the part as it is', await tab.locator('#down').inputValue(), down);
  await tab.locator('#view').evaluate((e) => e.scrollIntoView({ block: 'center' }));
  await swipe(120, 0);
  check('touch: a stroke sideways turns the part', (await tab.locator('#headline').innerText()).startsWith('Turned by hand'), await tab.locator('#headline').innerText());
  await tab.context().close();
}

// ---- print -------------------------------------------------------------------------------
for (const colorScheme of ['light', 'dark']) {
  const tab = await page(browser, server.url, { colorScheme, viewport: { width: 794, height: 1123 } });
  await ranked(tab, 'page-holder');
  await settled(tab);
  await tab.emulateMedia({ media: 'print', colorScheme });
  const pdf = (await tab.pdf({ preferCSSPageSize: true, printBackground: true, path: `${out}/print-${colorScheme}.pdf` })).toString('latin1');
  const pages = (pdf.match(/\/Type\s*\/Page\b(?!s)/g) || []).length;
  check(`print, ${colorScheme}: two A4 pages at most`, pages >= 1 && pages <= 2, `${pages} pages`);
  const boxes = [...pdf.matchAll(/\/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]/g)];
  check(`print, ${colorScheme}: pages are A4`, boxes.length > 0 && boxes.every((b) => Math.abs(b[1] - 595.28) < 1 && Math.abs(b[2] - 841.89) < 1), boxes.join(' '));
  const share = await tab.evaluate(() => {
    const canvas = document.getElementById('printed');
    const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
    let dark = 0;
    for (let i = 0; i < data.length; i += 4) if (data[i + 3] > 128 && data[i] < 80) dark++;
    return canvas.offsetParent ? dark / (data.length / 4) : 0;
  });
  check(`print, ${colorScheme}: the drawing is there, dark on white`, share > 0.005 && share < 0.5, String(share));
  const paper = await tab.evaluate(() => getComputedStyle(document.getElementById('paper')).backgroundColor);
  same(`print, ${colorScheme}: on white`, paper, 'rgb(255, 255, 255)');
  check(`print, ${colorScheme}: no knobs on paper`, !(await tab.locator('#settings').isVisible()) && !(await tab.locator('#copy').isVisible()));
  await tab.context().close();
}

// ---- the keyboard alone --------------------------------------------------------------------
{
  const tab = await page(browser, server.url);
  await ranked(tab, 'page-holder');
  await settled(tab);
  const keys = tab.keyboard;
  // Asked for well before the key: the browser has to be told that nobody sees its dialogue.
  const opened = tab.waitForEvent('filechooser');
  const focused = () => tab.evaluate(() => document.activeElement.id || document.activeElement.name || document.activeElement.className);
  const to = async (id) => {
    for (let i = 0; i < 120; i++) {
      if ((await focused()) === id) return true;
      await keys.press('Tab');
    }
    return false;
  };
  const advice = told('advise', part);
  await keys.press('Tab');
  same('keyboard: the first stop leads past the top', await tab.evaluate(() => document.activeElement.className), 'skip');
  check('keyboard: files can be chosen', await to('files'));
  await keys.press('Enter');
  const chooser = await opened;
  check('keyboard: Enter opens the chooser, several files', chooser.isMultiple());
  check('keyboard: to the poses', await to('way'));
  await keys.press('ArrowDown');
  await settled(tab);
  check('keyboard: the next pose', (await text(tab, 'drawn')).includes('in pose 2'), await text(tab, 'drawn'));
  check('keyboard: to the drawing', await to('view'));
  await keys.press('ArrowUp');
  await tab.waitForTimeout(400);
  await settled(tab);
  check('keyboard: an arrow tips it by 5°', (await text(tab, 'near')).startsWith('5° from pose 2'), await text(tab, 'near'));
  await keys.press('Enter');
  await settled(tab);
  check('keyboard: Enter turns it to the pose nearby', (await text(tab, 'drawn')).includes('in pose 2'));
  check('keyboard: to the faces', await to('faces'));
  await keys.press('ArrowDown');
  check('keyboard: to the button that turns it down', await to('face-down'));
  await keys.press('Enter');
  await settled(tab);
  check('keyboard: it stands on that face', (await text(tab, 'drawn')).includes('turned by hand'), await text(tab, 'drawn'));
  check('keyboard: to a figure', await to('name'));
  check('keyboard: its tip shows', (await tab.locator('.tip:visible').count()) === 1);
  check('keyboard: to the limit', await to('limit_deg'));
  await keys.press('Control+a');
  await keys.type('20');
  const should = told('advise', part, '--limit', '20').verdict;
  await tab.waitForFunction((v) => document.getElementById('answer').textContent === v, should, { timeout: 30000 }).catch(() => {});
  same('keyboard: another limit, another answer', await text(tab, 'answer'), should);
  check('keyboard: to the file', await to('take-stl'));
  const [download] = await Promise.all([tab.waitForEvent('download'), keys.press('Enter')]);
  await download.saveAs(`${out}/by-keyboard.stl`);
  check('keyboard: and it is saved; trimesh reads it', Math.abs(trimesh(`${out}/by-keyboard.stl`).lo[2]) < 1e-4);
  check('keyboard: to the end of the page', await to('copy'));
  check('keyboard: the focus is seen', await tab.evaluate(() => getComputedStyle(document.activeElement).outlineStyle !== 'none'));
  same('keyboard: advice is the same as before', (await tab.locator('.way').count()), advice.poses.length);
  await tab.context().close();
}

// ---- how soon figures follow a turn ----------------------------------------------------------
for (const [mesh, units] of timed.map((t) => t.split('='))) {
  const tab = await page(browser, server.url);
  await drop(tab, mesh);
  const name = mesh.replace(/.*\//, '').replace(/\.[^.]*$/, '');
  await tab.waitForFunction((n) => document.querySelector('#question em')?.textContent === n, name, { timeout: 60000 });
  await tab.waitForSelector('#work:not([hidden])', { timeout: 60000 });
  if (units) {
    // Its numbers are metres: read again, it has its true size.
    await tab.locator('#units').selectOption(units);
    await tab.waitForFunction(() => document.getElementById('notes').hidden && !document.getElementById('work').hidden, null, { timeout: 60000 }).catch(() => {});
    check(`${name}: read in its own unit, nothing is odd about its size`, !/very small/.test(await tab.locator('#notes').innerText()));
  }
  // A scan is searched for long: turns are timed while that goes on.
  await ranked(tab, name, 3000).catch(() => {});
  await settled(tab).catch(() => {});
  const list = await tab.evaluate(async () => {
    performance.clearMeasures();
    const view = document.getElementById('view');
    const times = [];
    for (let i = 0; i < 100; i++) {
      const before = performance.getEntriesByName('turn to figure, quick').length;
      view.dispatchEvent(new KeyboardEvent('keydown', { key: i % 3 ? 'ArrowRight' : 'ArrowUp', bubbles: true }));
      for (let n = 0; n < 300; n++) {
        await new Promise((go) => setTimeout(go, 10));
        if (performance.getEntriesByName('turn to figure, quick').length > before) break;
      }
      const all = performance.getEntriesByName('turn to figure, quick');
      if (all.length > before) times.push(all.at(-1).duration);
    }
    return times.sort((a, b) => a - b);
  });
  const triangles = told('inspect', mesh).part.triangles;
  const at = (share) => list[Math.min(list.length - 1, Math.floor(share * list.length))]?.toFixed(0);
  console.log(`Turn to figure in the page, ${name}, ${triangles} triangles, ${list.length} of 100 turns answered: median ${at(0.5)} ms, 95th ${at(0.95)} ms`);
  check(`${name}: turns are answered`, list.length >= 90, `${list.length} of 100`);
  await tab.context().close();
}
await browser.close();

// ---- without WebGL ------------------------------------------------------------------------------
{
  const poor = await launch(false);
  const tab = await page(poor, server.url);
  await ranked(tab, 'page-holder');
  await settled(tab);
  same('without WebGL there is no canvas', await tab.locator('#view canvas').count(), 0);
  const shown = () => tab.locator('#plain').evaluate(async (i) => (await i.decode(), i.naturalWidth > 0 && i.alt.length > 40 && i.src));
  const first = await shown();
  check('without WebGL the picture of the server stands there, with words', Boolean(first));
  await tab.locator('.way').nth(1).click();
  await settled(tab);
  check('without WebGL: another pose, another picture', (await shown()) !== first);
  await tab.locator('#view').focus();
  await tab.keyboard.press('ArrowRight');
  await tab.waitForTimeout(400);
  await settled(tab);
  check('without WebGL: turned by key, figures and picture follow', (await text(tab, 'near')).startsWith('5° from pose 2') && Boolean(await shown()), await text(tab, 'near'));
  same('without WebGL: height as measured', await figure(tab, 'height_mm') === '114 mm', false);
  same('without WebGL: no accessibility violation', await violations(tab), '');
  await poor.close();
}
await server.stop();
same('nothing on the console', complaints.join('\n'), '');
end();
