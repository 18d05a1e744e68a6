// SPDX-License-Identifier: GPL-3.0-or-later
// space.mjs SITE CHROMIUM [FOLDER]: what turns in space is drawn, turned by key and by hand, stands still when
// nothing changes or motion is not wanted, and leaves the still picture where it cannot be drawn.
import { check, faults, run, same } from './tap.mjs';
import { offer } from './tie_page.mjs';

const [site, executablePath, folder] = process.argv.slice(2);
const still = { reducedMotion: 'reduce' };
const phone = { viewport: { width: 390, height: 844 } };

// Frames are counted where they are drawn.
const count_frames = () => {
  window.frames_drawn = 0;
  const { clear } = WebGL2RenderingContext.prototype;
  WebGL2RenderingContext.prototype.clear = function counted(...mask) {
    window.frames_drawn += 1;
    return clear.apply(this, mask);
  };
};
const frames = (page) => page.evaluate(() => window.frames_drawn);

async function turned_on(page) {
  await page.addInitScript(count_frames);
  await offer(page, site);
  await page.locator('.space.turns canvas').waitFor();
  await next_frame(page);
}

const next_frame = (page) =>
  page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 50)))));

// The pixels of the canvas as they are on the screen: how many are of which tone.
async function tones(page) {
  const png = await page.locator('.stage').screenshot();
  return page.evaluate(async (data) => {
    const bytes = Uint8Array.from(atob(data), (one) => one.charCodeAt(0));
    const image = await createImageBitmap(new Blob([bytes], { type: 'image/png' }));
    const ink = new OffscreenCanvas(image.width, image.height).getContext('2d');
    ink.drawImage(image, 0, 0);
    const { data: pixels } = ink.getImageData(0, 0, image.width, image.height);
    const found = { blue: 0, brown: 0, all: pixels.length / 4, sum: 0 };
    for (let i = 0; i < pixels.length; i += 4) {
      const [r, g, b] = pixels.subarray(i, i + 3);
      if (b > r + 40 && b > g + 20) found.blue += 1;
      if (r > b + 60) found.brown += 1;
      found.sum = (found.sum * 31 + r + 256 * g + 65536 * b) % 4294967291;
    }
    return found;
  }, png.toString('base64'));
}

async function drawn(page) {
  await turned_on(page);
  const seen = await tones(page);
  check('nylon is seen', seen.blue > seen.all / 300, JSON.stringify(seen));
  check('braid is seen', seen.brown > seen.all / 600, JSON.stringify(seen));
  check('the still picture is put away', !(await page.locator('.still').isVisible()));
  await next_frame(page);
  const before = await frames(page);
  await page.waitForTimeout(400);
  same('no frame is drawn when nothing changes', await frames(page), before);
  same('nothing turns by itself where motion is not wanted', (await tones(page)).sum, seen.sum);
  await page.emulateMedia({ colorScheme: 'dark' });
  await next_frame(page);
  const dark = await tones(page);
  check('another light has a frame of its own', (await frames(page)) > before && dark.sum !== seen.sum);
  await page.emulateMedia({ media: 'print' });
  check('on paper stands the still picture', (await page.locator('.still').isVisible()) && !(await page.locator('.stage').isVisible()));
}

async function turned(page) {
  await turned_on(page);
  const home = (await tones(page)).sum;
  const moves = async (name, act) => {
    await act();
    await next_frame(page);
    check(name, (await tones(page)).sum !== home);
  };
  // The ring of the focus is part of no picture here: it is there in all of them.
  await page.locator('.stage').focus();
  await page.keyboard.press('Home');
  await next_frame(page);
  const at_home = (await tones(page)).sum;
  const press = async (key) => {
    await page.keyboard.press(key);
    await next_frame(page);
    return (await tones(page)).sum;
  };
  const pictures = new Set([at_home]);
  for (const key of ['ArrowLeft', 'ArrowUp', '+', '-']) {
    pictures.add(await press(key));
    if (key === '-') same('farther undoes nearer', pictures.size, 4);
  }
  for (const key of ['ArrowRight', 'ArrowDown', '-']) await press(key);
  same('Home puts it back', await press('Home'), at_home);
  const ring = await page.locator('.stage').evaluate((one) => getComputedStyle(one).outlineStyle);
  same('the focus is seen', ring, 'solid');
  await moves('a button turns it', () => page.getByRole('button', { name: 'Turn left' }).click());
  await page.getByRole('button', { name: 'Home' }).click();
  const box = await page.locator('.stage').boundingBox();
  await moves('a drag turns it', async () => {
    await page.mouse.move(box.x + 200, box.y + 100);
    await page.mouse.down();
    await page.mouse.move(box.x + 280, box.y + 130, { steps: 3 });
    await page.mouse.up();
  });
}

async function by_itself(page) {
  await turned_on(page);
  const before = await frames(page);
  const sum = (await tones(page)).sum;
  await page.waitForTimeout(500);
  check('it turns by itself', (await frames(page)) > before + 2 && (await tones(page)).sum !== sum, `${before}, ${await frames(page)}`);
  await page.getByRole('button', { name: 'Pause' }).click();
  await next_frame(page);
  const paused = await frames(page);
  await page.waitForTimeout(400);
  same('Pause stops it', await frames(page), paused);
  await page.getByRole('button', { name: 'Turn slowly' }).click();
  await page.waitForTimeout(400);
  check('and it goes on when asked', (await frames(page)) > paused + 1);
  await page.evaluate(() => scrollTo(0, document.body.scrollHeight));
  // On a busy machine the browser may take its time to notice; in sight some ten frames are drawn in between.
  let away = -1;
  for (let i = 0; i < 20 && (await frames(page)) !== away; i++) {
    away = await frames(page);
    await page.waitForTimeout(300);
  }
  const out = await page.locator('.stage').evaluate((one) => one.getBoundingClientRect().bottom < 0);
  check('nothing is drawn out of sight', out && (await frames(page)) === away, `${out} ${away} ${await frames(page)}`);
  await page.evaluate(() => scrollTo(0, 0));
  await page.waitForTimeout(300);
  check('and again in sight', (await frames(page)) > away);
  await page.emulateMedia({ reducedMotion: 'reduce' });
  await next_frame(page);
  const wanted = await frames(page);
  await page.waitForTimeout(300);
  same('it stops when motion is not wanted any more', await frames(page), wanted);
}

async function without_webgl(page) {
  await page.addInitScript(() => {
    const { getContext } = HTMLCanvasElement.prototype;
    HTMLCanvasElement.prototype.getContext = function none(kind, ...more) {
      return kind.startsWith('webgl') ? null : getContext.call(this, kind, ...more);
    };
  });
  await offer(page, site);
  await page.getByText('This browser cannot draw in space').waitFor();
  check('without WebGL the still picture stays', await page.locator('.still svg').isVisible());
  same('and there is nothing to turn', await page.locator('.stage').count(), 0);
}

async function without_lines(page) {
  await offer(page, site);
  await page.unroute('**/trial-lines');
  await page.route('**/trial-lines', (route) => route.fulfill({ json: { nothing: true } }));
  await page.reload();
  await page.getByText('could not be loaded').waitFor();
  check('without lines the still picture stays', await page.locator('.still svg').isVisible());
}

async function lost(page) {
  await turned_on(page);
  await page.evaluate(() => {
    window.lose = document.querySelector('.stage canvas').getContext('webgl2').getExtension('WEBGL_lose_context');
    window.lose.loseContext();
  });
  await page.locator('.still svg').waitFor();
  check('a lost context leaves the still picture', !(await page.locator('.stage').isVisible()));
  await page.evaluate(() => window.lose.restoreContext());
  await page.locator('.space.turns canvas').waitFor();
  await next_frame(page);
  const seen = await tones(page);
  check('and one that comes back is drawn on', seen.blue > seen.all / 300, JSON.stringify(seen));
}

async function dense(page) {
  await turned_on(page);
  const [got, want] = await page.evaluate(() => [document.querySelector('.stage canvas').width, 2 * document.querySelector('.stage').clientWidth]);
  same('no more than two pixels to one', got, want);
  const way = await page.locator('.stage').evaluate((one) => getComputedStyle(one).touchAction);
  check('a finger on it still scrolls', way.includes('pan-y'), way);
  await page.setViewportSize({ width: 700, height: 844 });
  await next_frame(page);
  const wide = await page.evaluate(() => [document.querySelector('.stage canvas').width, 2 * document.querySelector('.stage').clientWidth]);
  same('a wider window has a wider picture', wide[0], wide[1]);
  check('wider than before', wide[0] > want);
}

async function looked_at(page) {
  await turned_on(page);
  same('axe-core finds nothing', await faults(page), '');
  const small = await page.evaluate(() =>
    [...document.querySelectorAll('.turning button')].filter((one) => one.getBoundingClientRect().height < 56 || one.getBoundingClientRect().width < 56).map((one) => one.outerHTML).join());
  same('targets are 56 px', small, '');
  const dark = await page.evaluate(() => matchMedia('(prefers-color-scheme: dark)').matches);
  if (folder) await page.screenshot({ path: `${folder}/space-${page.viewportSize().width}-${dark ? 'dark' : 'light'}.png` });
}

await run(executablePath, [
  ['drawn', { ...still }, drawn],
  ['turned', { ...still }, turned],
  ['by itself', { viewport: { width: 1000, height: 700 } }, by_itself],
  ['without WebGL', {}, without_webgl],
  ['lost', { ...still }, lost],
  ['dense', { ...phone, ...still, deviceScaleFactor: 3, hasTouch: true }, dense],
  ['light', { ...still, bypassCSP: true }, looked_at],
  ['dark, narrow', { ...still, ...phone, colorScheme: 'dark', bypassCSP: true }, looked_at],
  ['without lines', { ...still, faulty: true }, without_lines],
]);
