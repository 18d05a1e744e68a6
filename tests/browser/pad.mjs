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

// Through a ring, back under its rim, and round itself.
const HITCH = [[-10, 1], [5.5, 1], [7, -0.5], [5, -2], [-4, -2], [-5, 4]];
const HITCHED = `tie drawn knot
ring R round 7,0 radius 3.5
line A
  -10,1 u o 5.5,1 7,-0.5 5,-2 u -4,-2 o -5,4
pulled A first
`;
// Two turns round its standing part, and through between them and a ring of radius 3.5 at 6,0.
const CLINCH = [[-14, 0], [6.5, 0], [7.6, -1], [6.2, -2.2], [-0.5, -2.2], [-2, 2], [-4, -2.2], [-6, 2], [-8, -2.2], [-8.5, -4.5],
  [0, -4.5], [1.2, -3.8], [1.2, 4]];
const TURNED_OVER = [[-6.95, 0], [-2.95, 0], [1.2, -2.2]];
// A rod that a line goes round, and a ring that hangs on another line.
const RINGS = `tie round a rod
kind hitch
view 0 20
ring T round 14.5,-6 radius 4.25 thick 0.5
rod S thick 2
  0,-8 u 0,0 o o 0,9
line A
  -9,-3 o 4,-3 4,3 u -4,3 -4,7 u 6,7
line B thick 0.7
  6,-6 o 14,-6 14,-5 u 6,-5
pulled A first, B first, B last
`;

const text_of = (page) => page.locator('textarea[name=tie]').inputValue();
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

const label = (page) => page.evaluate(() => document.activeElement.getAttribute('aria-label'));

async function drag(page, from, to) {
  await page.mouse.move(...(await spot(page, from)));
  await page.mouse.down();
  await page.mouse.move(...(await spot(page, to)), { steps: 4 });
  await page.mouse.up();
}

async function picture(page, name) {
  if (folder) await page.screenshot({ path: `${folder}/pad-${name}.png`, fullPage: true });
}

async function made(page) {
  await page.waitForFunction(() => !document.querySelector('h1').textContent.startsWith('Being worked out'));
  await page.waitForLoadState();
}

async function hitch(page, tap, hold) {
  await page.goto(`${site}/tie`);
  await ready(page);
  await press(page, 'Add a ring');
  same('a new ring has the focus, and says where it is', await label(page), 'Ring R, its middle, at 6, 0, radius 3');
  await hold();
  for (const point of HITCH) await tap(point);
  await tap(HITCH.at(-1));
  await tap(HITCH[0]);
  same('a hitch is written', await text_of(page), HITCHED);
}

async function ring_by_mouse(page) {
  const tap = async (point) => page.mouse.click(...(await spot(page, point)));
  await hitch(page, tap, async () => {
    await drag(page, [6, 0], [7, 0]);
    await drag(page, [10, 0], [10.5, 0]);
  });
  await picture(page, 'ring');
  check('its crossings are counted', /6 points, 3 crossings, 1 ring\./.test(await told(page)), await told(page));
  await tap([7 - Math.sqrt(3.5 ** 2 - 2 ** 2), -2]);
  same('a crossing of the rim is turned over', await text_of(page), HITCHED.replace('5,-2 u', '5,-2 o'));
  await press(page, 'Undo');
  await drag(page, [7 + 3.5 * Math.SQRT1_2, 3.5 * Math.SQRT1_2], [7 + 4 * Math.SQRT1_2, 4 * Math.SQRT1_2]);
  same('a rim is dragged anywhere, and its crossings keep their answers', await text_of(page), HITCHED.replace('3.5', '4'));
  await press(page, 'Undo');
  same('the drag is one step', await text_of(page), HITCHED);
  await tap([7, 0]);
  await press(page, 'Delete the ring');
  same('without its ring it crosses itself alone', await text_of(page), HITCHED.replace(/ring.*\n/, '').replace('u o', 'u').replace('5,-2 u', '5,-2'));
  await press(page, 'Undo');
  await page.getByRole('button', { name: 'Look at it' }).click();
  await made(page);
  const said = (await page.locator('main').textContent()).replace(/\s+/g, ' ');
  check('it is read as it is drawn', /has 3 crossings/.test(said), said);
  same('the text is still there', (await text_of(page)).trim(), HITCHED.trim());
  await page.getByLabel('The knot that is tied so').fill('half hitch on a ring');
  await page.getByRole('button', { name: 'Keep it in the book' }).click();
  await made(page);
  check('it is kept', (await page.locator('main').textContent()).includes('half hitch on a ring'), page.url());
}

// The strands of a tie with its ends joined, by what does not change with the drawing.
async function numbers(page, tie) {
  let reply = await page.request.get(`${site}/api/1/tie`, { params: { tie } });
  while (reply.status() === 202) reply = await page.request.get(`${site}/api/1/tie`, { params: { tie } });
  const { rows } = (await reply.json()).tables?.find(({ name }) => name === 'closures') ?? { rows: [] };
  return rows.map((row) => [row.strand, row.alexander, row.determinant, row.signature, row.linking].join()).join('\n');
}

async function a_whole_hitch(page) {
  const tap = async (point) => page.mouse.click(...(await spot(page, point)));
  await page.goto(`${site}/tie`);
  await ready(page);
  await press(page, 'Add a ring');
  await drag(page, [9, 0], [9.5, 0]);
  for (const point of CLINCH) await tap(point);
  await page.keyboard.press('Enter');
  for (const crossing of TURNED_OVER) await tap(crossing);
  await picture(page, 'clinch');
  const [drawn, known] = [await numbers(page, await text_of(page)), await numbers(page, 'clinch, turns=2')];
  check('what the known clinch is, is told', known.includes('from A,'), known);
  same('a clinch that is drawn is the one that is known', drawn, known);
}

async function ring_by_finger(page) {
  await hitch(page, async (point) => page.touchscreen.tap(...(await spot(page, point))), async () => {
    for (const [key, times] of [['ArrowRight', 1], ['+', 1]]) for (let i = 0; i < times; i += 1) await page.keyboard.press(key);
    await page.locator('[data-key^=rim]').focus();
    for (let i = 0; i < 5; i += 1) await page.keyboard.press('Shift+ArrowDown');
  });
  const small = await page.evaluate(() =>
    [...document.querySelectorAll('.hold .touch')].filter((one) => one.getBoundingClientRect().width < 55.5).length);
  same('what a ring is held by is 56 px wide', String(small), '0');
  await picture(page, 'ring-finger');
}

async function ring_by_key(page) {
  await offer(page, site, RINGS);
  await ready(page);
  same('rings and rods are read, and not written anew', await text_of(page), RINGS);
  check('what crosses them is found', /13 points, 5 crossings, 1 ring\./.test(await told(page)), await told(page));
  await picture(page, 'rods');
  const names = await page.locator('[data-key^=crossing]').evaluateAll((all) => all.map((one) => one.getAttribute('aria-label').replace(/.*: /, '')));
  same('crossings say who runs over', names.join(', '), 'line A runs over rod S, rod S runs over line A, rod S runs over line A, line B runs over ring T, ring T runs over line B');
  await page.locator('[data-key^=crossing]').last().focus();
  await page.keyboard.press('Space');
  await page.keyboard.press('Space');
  same('what is written again is the same', await text_of(page), RINGS);
  await page.locator('[data-key^=ring]').focus();
  await page.keyboard.press('ArrowUp');
  await page.keyboard.press('Shift+ArrowLeft');
  await page.keyboard.press('-');
  check('arrows move a ring, minus makes it less', (await text_of(page)).includes('ring T round 14.4,-5 radius 3.25 thick 0.5'), await text_of(page));
  await page.keyboard.press('Tab');
  await page.keyboard.press('ArrowUp');
  same('its rim says its radius', await page.evaluate(() => document.activeElement.getAttribute('aria-valuetext')), '4.25 line diameters');
  for (let i = 0; i < 6; i += 1) await page.keyboard.press('ArrowLeft');
  same('which has a least', await page.evaluate(() => document.activeElement.getAttribute('aria-valuenow')), '1');
  await page.keyboard.press('Delete');
  check('Delete takes it', !(await text_of(page)).includes('ring'), await text_of(page));
  for (let i = 0; i < 11; i += 1) await page.keyboard.press('Control+z');
  same('and all is undone', await text_of(page), RINGS);
  const end = page.locator('[data-key^=point]').first();
  await end.focus();
  same('an end of a rod is not pulled', await label(page), 'Rod S, its first point, at 0, -8');
  await page.keyboard.press('Space');
  same('nor can be', await text_of(page), RINGS);
  await page.getByRole('button', { name: 'Add a ring', exact: true }).isDisabled().then((shut) => check('four lines and rings are enough', shut));
  await page.locator('#tie').fill('');
  await page.waitForFunction(() => document.querySelectorAll('.sheet .run').length === 1);
  await press(page, 'New rod');
  for (const point of [[2, -6], [2, 6]]) await page.mouse.click(...(await spot(page, point)));
  await page.keyboard.press('Enter');
  await press(page, 'New line');
  for (const point of [[-6, 1], [6, 1]]) await page.mouse.click(...(await spot(page, point)));
  await page.keyboard.press('Enter');
  same('a rod is drawn as a line is', await text_of(page), 'tie weaver\nkind bend\nrod R thick 2\n  2,-6 u 2,6\nline A\n  -6,1 o 6,1\n');
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
  await says('a ring that faces aside', 'ring R round 3,0 facing x radius 3\nline A\n-4,0 5,0\n', 'Line 1, column 1: the pad draws a ring that is told as "ring R round 3,0 radius 3"');
  await says('a ring of some height', 'ring R round 3,0,1 radius 3\nline A\n-4,0 5,0\n', 'another can be changed as text alone');
  await says('points behind a ring', 'line A\n-4,0 5,0\nring R round 3,9 radius 3\n4,5\n', 'Line 4, column 1: "4,5"');
  await says('letters that leave the rim out', 'ring R round 3,0 radius 3\nline A\n-4,0 o 9,0\n', 'meets 2 crossings, and 1 is told');
  await says('a rod that is pulled', 'rod R\n 0,-4 0,4\nline A\n-4,0 o 5,0\npulled R first\n', '"R first" is no end of a line');
  await says('two of one letter', 'ring A round 3,0 radius 3\nline A\n-4,0 5,0\n', 'Line 2, column 6: there is a line A already');
  await says('a line along a rim', 'ring R round 3,0 radius 3\nline A\n-4,3 5,3\n', 'Line A touches the rim of ring R');
  await says('rings on one another', 'ring R round 3,0 radius 3\nring S round 7,0 radius 2\nline A\n-4,6 5,6\n', 'Rings R and S lie on one another');
  await says('a rod on a ring', 'ring R round 3,0 radius 3\nrod S\n3,0 9,0\nline A\n-4,6 5,6\n', 'Rod S and ring R lie on one another');
  await says('rods on one another', 'rod R 0,-4 0,4\nrod S\n-3,0 9,0\nline A\n-4,6 5,6\n', 'Rods R and S lie on one another');
  await says('a rod on itself', 'rod R 0,-4 0,4 3,4 -3,0\nline A\n-4,6 5,6\n', 'Rod R runs over itself');
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

const looked_at = (tie) => async (page) => {
  await offer(page, site, tie);
  await ready(page);
  await page.locator('.pad summary').click();
  same('axe-core finds nothing', await faults(page), '');
  if (folder) await page.screenshot({ path: `${folder}/pad-${tie === REEF ? '' : 'rings-'}${page.viewportSize().width}-${(await page.evaluate(() => matchMedia('(prefers-color-scheme: dark)').matches)) ? 'dark' : 'light'}.png`, fullPage: true });
};

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
  ['ring, mouse', {}, ring_by_mouse],
  ['ring, clinch', {}, a_whole_hitch],
  ['ring, finger', { ...phone, hasTouch: true, isMobile: true }, ring_by_finger],
  ['ring, keys', {}, ring_by_key],
  ['light', { bypassCSP: true }, looked_at(REEF)],
  ['dark, narrow', { ...phone, colorScheme: 'dark', bypassCSP: true }, looked_at(REEF)],
  ['rings, dark', { colorScheme: 'dark', bypassCSP: true }, looked_at(RINGS)],
  ['rings, narrow', { ...phone, bypassCSP: true }, looked_at(RINGS)],
  ['without script', { javaScriptEnabled: false }, without_script],
]);
