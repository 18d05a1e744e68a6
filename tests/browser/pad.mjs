// SPDX-License-Identifier: GPL-3.0-or-later
// pad.mjs SITE CHROMIUM [FOLDER]: a tie is drawn by mouse, by finger and by key, and read back. With a FOLDER,
// pictures are left in it.
import { check, faults, run, same } from './tap.mjs';
import { REEF, offer } from './tie_page.mjs';

const [site, executablePath, folder] = process.argv.slice(2);

// A loop that runs over itself once, and a line through it.
const LOOP = [[-8, -3], [4, -3], [4, 5], [-2, 5], [-2, -7]];
const THROUGH = [[8, 1], [-10, 1]];
const DRAWN = `tie weaver
kind bend
line A
  -8,-3 u 4,-3 u 4,5 -2,5 u o -2,-7
line B
  8,1 o o -10,1
pulled A first
`;

const text_of = (page) => page.locator('#tie').inputValue();
const told = (page) => page.locator('.told').textContent();

// Where a point of the drawing is in the window.
const spot = (page, [x, y]) =>
  page.evaluate(([x, y]) => {
    const svg = document.querySelector('.sheet svg');
    const at = new DOMPoint(x, -y).matrixTransform(svg.getScreenCTM());
    return [at.x, at.y];
  }, [x, y]);

const ready = async (page) => {
  await page.locator('.sheet svg').waitFor();
  await page.locator('.sheet').evaluate((sheet) => sheet.scrollIntoView({ block: 'center' }));
};

async function press(page, name) {
  await page.getByRole('button', { name, exact: true }).click();
  await page.locator('.sheet').evaluate((sheet) => sheet.scrollIntoView({ block: 'center' }));
}

async function draw(page, tap) {
  for (const point of LOOP) await tap(point);
  await tap(LOOP.at(-1));
  await press(page, 'New line');
  for (const point of THROUGH) await tap(point);
  await tap(THROUGH.at(-1));
  await tap(LOOP[0]);
}

async function by_mouse(page) {
  await offer(page, site);
  await ready(page);
  const tap = async (point) => page.mouse.click(...(await spot(page, point)));
  await draw(page, tap);
  same('by mouse: what was drawn is written', await text_of(page), DRAWN);
  await tap([-2, -3]);
  same('a crossing is turned over', await text_of(page), DRAWN.replace('-8,-3 u 4', '-8,-3 o 4').replace('-2,5 u o', '-2,5 u u'));
  await press(page, 'Undo');
  same('and back', await text_of(page), DRAWN);
  await page.mouse.move(...(await spot(page, [4, 5])));
  await page.mouse.down();
  await page.mouse.move(...(await spot(page, [5, 6])), { steps: 4 });
  await page.mouse.move(...(await spot(page, [6.5, 7])), { steps: 4 });
  await page.mouse.up();
  check('a point is dragged, and its crossings keep their answers', /4,-3 u 6\.5,7 -2,5 u o -2,-7/.test(await text_of(page)), await text_of(page));
  await press(page, 'Undo');
  same('the drag is one step', await text_of(page), DRAWN);
  await page.mouse.move(...(await spot(page, [-6, 1])));
  await page.mouse.down();
  await page.mouse.move(...(await spot(page, [-6, 3])), { steps: 4 });
  await page.mouse.up();
  check('a run is bent', /8,1 o o -6,3 -10,1/.test(await text_of(page)), await text_of(page));
  await press(page, 'Delete the point');
  same('and straight again without its point', await text_of(page), DRAWN);
  if (folder) await page.screenshot({ path: `${folder}/pad-mouse.png`, fullPage: true });
}

async function by_finger(page) {
  await offer(page, site);
  await ready(page);
  await draw(page, async (point) => page.touchscreen.tap(...(await spot(page, point))));
  same('by finger: the same is written', await text_of(page), DRAWN);
  const small = await page.evaluate(() =>
    [...document.querySelectorAll('.pad button, .pad input, .pad summary')].filter((one) => one.getBoundingClientRect().height < 56).map((one) => one.outerHTML).join());
  same('targets are 56 px high', small, '');
  const touch = await page.locator('.touch').first().evaluate((one) => one.getBoundingClientRect().width);
  check('so are points', touch > 55.5, touch);
  const way = await page.locator('.sheet svg').evaluate((svg) => getComputedStyle(svg).touchAction);
  check('a finger on the sheet still scrolls', way.includes('pan-y'), way);
  if (folder) await page.screenshot({ path: `${folder}/pad-finger.png`, fullPage: true });
}

async function go(page, from, to) {
  for (const [axis, keys] of [[0, ['ArrowLeft', 'ArrowRight']], [1, ['ArrowDown', 'ArrowUp']]])
    for (let i = from[axis]; i !== to[axis]; i += Math.sign(to[axis] - i)) await page.keyboard.press(keys[to[axis] > from[axis] ? 1 : 0]);
}

async function by_key(page) {
  await offer(page, site);
  await ready(page);
  await page.getByRole('button', { name: 'End the line', exact: true }).focus();
  await page.keyboard.press('Tab');
  let at = [0, 0];
  const put = async (point) => {
    await go(page, at, point);
    at = point;
    await page.keyboard.press('Space');
  };
  for (const point of LOOP) await put(point);
  await page.keyboard.press('Enter');
  for (let i = 0; i < 1; i += 1) await page.keyboard.press('Tab');
  await page.keyboard.press('Space');
  const focus = await page.evaluate(() => document.activeElement.getAttribute('aria-label'));
  same('the end that has the focus says what it is', focus, 'Line A, its first point, at -8, -3, pulled');
  await page.getByRole('button', { name: 'New line', exact: true }).focus();
  await page.keyboard.press('Enter');
  for (const point of THROUGH) await put(point);
  await page.keyboard.press('Enter');
  same('by key: the same is written', await text_of(page), DRAWN);
  check('what there is, is said', /7 points, 3 crossings\./.test(await told(page)), await told(page));
  await page.locator('[data-key^=crossing]').first().focus();
  await page.keyboard.press('Space');
  check('Space turns a crossing over', (await text_of(page)).includes('-8,-3 o 4,-3'), await text_of(page));
  check('which keeps the focus', /^Crossing 1/.test(await page.evaluate(() => document.activeElement.getAttribute('aria-label'))));
  await page.keyboard.press('Control+z');
  same('Ctrl and Z takes it back', await text_of(page), DRAWN);
  await page.locator('[data-key^=point]').nth(2).focus();
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('Shift+ArrowUp');
  check('arrows move a point', (await text_of(page)).includes(' 5,5.1 '), await text_of(page));
  await page.keyboard.press('Insert');
  check('Insert puts one behind it', (await text_of(page)).includes(' 5,5.1 1.5,5.05 -2,5'), await text_of(page));
  await page.keyboard.press('Delete');
  check('Delete takes it', (await text_of(page)).includes(' 5,5.1 -2,5'), await text_of(page));
  await page.locator('[data-key^=point]').last().focus();
  for (let i = 0; i < 9; i += 1) await page.keyboard.press('ArrowLeft');
  const left = await page.locator('.sheet svg').evaluate((svg) => svg.viewBox.baseVal.x);
  check('the sheet grows with what is moved', left === -22 && (await text_of(page)).includes(' -19,1'), `${left} ${await text_of(page)}`);
  await page.keyboard.press('Escape');
  same('Escape leaves the pad', await page.evaluate(() => document.activeElement.id), 'tie');
}

async function by_text(page) {
  await offer(page, site, REEF);
  await ready(page);
  same('text that is read is not written anew', await text_of(page), REEF);
  check('its crossings are found', /6 crossings/.test(await told(page)), await told(page));
  if (folder) await page.screenshot({ path: `${folder}/pad-reef.png`, fullPage: true });
  const type = async (text) => page.locator('#tie').fill(text);
  const says = async (name, text, words) => {
    await type(text);
    await page.waitForFunction((want) => document.querySelector('.told').textContent.includes(want), words).catch(() => {});
    check(name, (await told(page)).includes(words), await told(page));
  };
  await says('a coil is for those who type', REEF.replace('3.6,2.5', '3.6,2.5 coil 3 right'), 'Line 6, column 11: "coil"');
  check('then nothing can be pressed', await page.locator('.sheet svg').evaluate((svg) => svg.inert !== false && svg.hasAttribute('inert')));
  check('and the text is left', (await text_of(page)).includes('coil 3 right'));
  await says('too few letters are told', REEF.replace('-3,-1 o -1,1', '-3,-1 oo -1,1'), 'Line 5, column 11: behind -3,-1 line A meets 1 crossing, and 2 are told');
  await says('two that are both over', REEF.replace('3,-1 u 1,1', '3,-1 o 1,1'), 'both runs are told as over');
  await says('a line of one point', 'line A\n 3,4\n', 'Line 1, column 1: line A needs two waypoints');
  await says('an end that is none', REEF.replace('B first', 'B middle'), 'Line 9, column 17: "B middle" is no end of a line');
  await says('heights', 'line A\n 3,4,1 5,6\n', 'Line 2, column 2: "3,4,1"');
  await says('one letter for both will do', 'line A\n-4,0 5,0\nline B\n0,-3 o 0,4\n', '1 crossing.');
  await says('none is said', 'line A\n-4,0 5,0\nline B\n0,-3 0,4\n', 'not told which runs over at 1 crossing');
  await says('a point on a run', 'line A\n-4,0 5,0\nline B\n0,-3 0,0 2,4\n', 'Point 2 of line B lies on line A');
  await says('what is right again is shown', REEF, '6 crossings');
  await page.locator('[data-key^=crossing]').first().press('Enter');
  same('what stands round the lines is kept', (await text_of(page)).split('\n').slice(0, 3).join(), REEF.split('\n').slice(0, 3).join());
  check('a thickness too', (await text_of(page)).includes('line B thick 0.7'));
}

async function with_photo(page) {
  await offer(page, site);
  await ready(page);
  const png = await page.screenshot();
  await page.locator('input[type=file]').setInputFiles({ name: 'knot.png', mimeType: 'image/png', buffer: png });
  const painted = () => {
    const canvas = document.querySelector('.sheet canvas');
    const at = canvas.getContext('2d').getImageData(canvas.width / 2, canvas.height / 2, 1, 1).data;
    return canvas.width > 0 && at[3] === 255;
  };
  check('a photo lies under the pad', await page.waitForFunction(painted).then(() => true, () => false));
  check('it has no name, and so is not sent', (await page.locator('input[type=file]').getAttribute('name')) === null);
  await page.locator('input[type=file]').setInputFiles({ name: 'knot.txt', mimeType: 'image/png', buffer: Buffer.from('no picture') });
  await page.waitForFunction(() => document.querySelector('.told').textContent.includes('knot.txt')).catch(() => {});
  check('what is no picture is said', (await told(page)).includes('knot.txt could not be read as a picture'), await told(page));
}

async function looked_at(page) {
  await offer(page, site, REEF);
  await ready(page);
  await page.locator('.pad summary').click();
  same('axe-core finds nothing', await faults(page), '');
  if (folder) await page.screenshot({ path: `${folder}/pad-${page.viewportSize().width}-${(await page.evaluate(() => matchMedia('(prefers-color-scheme: dark)').matches)) ? 'dark' : 'light'}.png`, fullPage: true });
}

async function without_script(page) {
  await offer(page, site, REEF);
  check('without script there is text to type', await page.locator('#tie').isVisible());
  same('and no pad', String(await page.locator('.pad svg').count()), '0');
}

const phone = { viewport: { width: 390, height: 844 } };
await run(executablePath, [
  ['mouse', {}, by_mouse],
  ['finger', { ...phone, hasTouch: true, isMobile: true }, by_finger],
  ['keys', {}, by_key],
  ['text', {}, by_text],
  ['photo', {}, with_photo],
  ['light', { bypassCSP: true }, looked_at],
  ['dark, narrow', { ...phone, colorScheme: 'dark', bypassCSP: true }, looked_at],
  ['without script', { javaScriptEnabled: false }, without_script],
]);
