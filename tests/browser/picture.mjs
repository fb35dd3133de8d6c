// The picture of a sheet in the README: makes it, or checks that it is still true.
//
//   node picture.mjs CHROMIUM NODE_MODULES SHEET.html PICTURE.png [write]
//
// The fonts are those of the checks, but browsers smooth edges differently from one version to the
// next, so both are compared as eighths in grey.
import { createRequire } from 'node:module';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

const MEAN = 5; // grey levels of 255 by which all of it may differ
const [chromium, modules, sheet, picture, write] = process.argv.slice(2);
const require = createRequire(resolve(modules, 'x.js'));
const { chromium: browserType } = require('playwright-core');
const browser = await browserType.launch({
  executablePath: chromium,
  args: ['--no-sandbox', '--disable-gpu', '--force-color-profile=srgb'],
});
const page = await browser.newPage({ viewport: { width: 900, height: 1200 } });
await page.goto(pathToFileURL(resolve(sheet)).href);
const now = await page.locator('.sheet').first().screenshot();
if (write) {
  mkdirSync(dirname(picture), { recursive: true });
  writeFileSync(picture, now);
  console.log(`wrote ${picture}, ${now.length} bytes`);
  await browser.close();
  process.exit(0);
}
const before = readFileSync(picture);
const mean = await page.evaluate(async ([a, b]) => {
  const small = async (data) => {
    const image = new Image();
    image.src = `data:image/png;base64,${data}`;
    await image.decode();
    const canvas = document.createElement('canvas');
    [canvas.width, canvas.height] = [99, 140];
    const pen = canvas.getContext('2d');
    pen.imageSmoothingQuality = 'high';
    pen.drawImage(image, 0, 0, 99, 140);
    return pen.getImageData(0, 0, 99, 140).data;
  };
  const [x, y] = [await small(a), await small(b)];
  let sum = 0;
  for (let i = 0; i < x.length; i += 4) sum += Math.abs(x[i + 1] - y[i + 1]);
  return (4 * sum) / x.length;
}, [before.toString('base64'), now.toString('base64')]);
await browser.close();
const good = mean <= MEAN;
console.log(
  `${good ? 'ok    ' : 'FAILED'} ${picture} shows what the program draws (mean difference ${mean.toFixed(2)} of 255)` +
    (good ? '' : '; make it anew with tests/browser/run picture, and look at it'),
);
console.log(`${good ? 1 : 0} passed, ${good ? 0 : 1} failed`);
process.exit(good ? 0 : 1);
