// SPDX-License-Identifier: GPL-3.0-or-later
// ties.mjs SITE CHROMIUM [FOLDER]: a tie is drawn on its page, looked at, kept and found again as that of a knot;
// without script it is typed. With a FOLDER, pictures are left in it.
import { check, faults, run, same } from './tap.mjs';

const [site, executablePath, folder] = process.argv.slice(2);

const half = [[-9, -3], [-3, -1], [-1, 1], [1, -1], [3, 1], [4, 3], [3, 5], [1, 7], [-1, 5], [-3, 7], [-9, 8]];
const REEF = [half, half.map(([x, y]) => [-x, y])];
const A_OVER = [[-2, 0], [2, 0], [2, 6], [-2, 6]];
const RUNS = '-9,-3 -3,-1 o -1,1 u 1,-1 o 3,1 4,3 3,5 o 1,7 u -1,5 o -3,7 -9,8';

const area = (page) => page.locator('#tie-text');

async function tap(page, point) {
  const at = await page.evaluate(([x, y]) => {
    const spot = new DOMPoint(x, -y).matrixTransform(document.querySelector('.sheet svg').getScreenCTM());
    return [spot.x, spot.y];
  }, point);
  await page.mouse.click(...at);
}

async function press(page, name) {
  await page.getByRole('button', { name, exact: true }).click();
  await page.locator('.sheet').evaluate((sheet) => sheet.scrollIntoView({ block: 'center' }));
}

// A page that is still being made comes by itself.
async function made(page) {
  await page.waitForFunction(() => !document.querySelector('h1').textContent.startsWith('Being worked out'));
  await page.waitForLoadState();
}

const said = async (page) => (await page.locator('main > p').allTextContents()).join(' ');

async function is_pictured(page, name) {
  const figure = page.locator('figure.space');
  await figure.evaluate((one) => one.scrollIntoView({ block: 'center' }));
  const width = await figure.locator('img').evaluate(async (one) => {
    await one.decode().catch(() => {});
    return one.naturalWidth;
  });
  check(`${name}: its picture is there`, width > 300, width);
}

async function draw(page) {
  await page.locator('.sheet svg').waitFor();
  await page.locator('.sheet').evaluate((sheet) => sheet.scrollIntoView({ block: 'center' }));
  for (const line of REEF) {
    if (line !== half) await press(page, 'New line');
    for (const point of line) await tap(page, point);
    await tap(page, line.at(-1));
  }
  for (const crossing of A_OVER) await tap(page, crossing);
  for (const line of REEF) await tap(page, line[0]);
}

async function keep(page, knot) {
  await page.getByLabel('The knot that is tied so').fill(knot);
  await page.getByRole('button', { name: 'Keep it in the book' }).click();
  await made(page);
  same(`${knot}: it is kept, and the knots are shown`, new URL(page.url()).pathname, '/knots');
  await page.locator('main').getByRole('link', { name: knot, exact: true }).first().click();
  await made(page);
  check(`${knot}: its page says how it runs`, /has 6 crossings as it is usually drawn/.test(await said(page)), await said(page));
  await is_pictured(page, knot);
}

async function by_mouse(page) {
  await page.goto(`${site}/knots`);
  await made(page);
  await page.getByRole('link', { name: 'draw or write another' }).click();
  await draw(page);
  const text = await area(page).inputValue();
  check('what was drawn is written', text.includes(RUNS) && /pulled A first, B first/.test(text), text);
  await page.getByRole('button', { name: 'Look at it' }).click();
  await made(page);
  check('its crossings are counted', /of two lines, has 6 crossings/.test(await said(page)), await said(page));
  same('the text is still there', (await area(page).inputValue()).trim(), text.trim());
  await is_pictured(page, 'looked at');
  await page.locator('.stage canvas').waitFor();
  await page.reload();
  await made(page);
  same('and after it is loaded again', (await area(page).inputValue()).trim(), text.trim());
  if (folder) await page.screenshot({ path: `${folder}/tie-drawn.png`, fullPage: true });
  await keep(page, 'my reef');
}

async function refused(page) {
  await page.goto(`${site}/tie?tie=granny`);
  await made(page);
  await page.getByRole('button', { name: 'Keep it in the book' }).click();
  await made(page);
  check('a tie of no knot is refused, and why is said', /whose tie it is/.test(await page.locator('main').textContent()));
  same('nothing typed is lost', (await area(page).inputValue()).trim(), 'granny');
}

async function by_typing(page) {
  await page.goto(`${site}/tie`);
  await area(page).fill('reef');
  await page.getByRole('button', { name: 'Look at it' }).click();
  while ((await page.locator('h1').textContent()).startsWith('Being worked out')) await page.goto(page.url());
  check('without script: its crossings are counted', /has 6 crossings/.test(await said(page)), await said(page));
  same('without script: the text is still there', (await area(page).inputValue()).trim(), 'reef');
  await is_pictured(page, 'without script');
  await page.getByLabel('The knot that is tied so').fill('typed reef');
  await page.getByRole('button', { name: 'Keep it in the book' }).click();
  await page.getByRole('link', { name: 'typed reef', exact: true }).first().waitFor();
  check('without script: it is kept', true);
}

async function hostile(page) {
  const tie = 'tie <script>document.title="run"</script> & "q"\nline A\n-4,0 u 5,0 5,3 2,3 o 2,-4\npulled A first\n';
  await page.goto(`${site}/tie?tie=${encodeURIComponent(tie)}`);
  await made(page);
  check('a name with markup is a name', /<script>.* & "q", of one line, has 1 crossing /.test(await said(page)), await said(page));
  check('and is not run', (await page.title()) !== 'run');
  await is_pictured(page, 'a name with markup');
  await page.goto(`${site}/tie?tie=${encodeURIComponent('0,0,0\n5,0,0\n')}`);
  await made(page);
  check('a line that crosses nothing is a tie too', /has 0 crossings/.test(await said(page)), await said(page));
}

async function looked_at(page) {
  for (const path of ['/ties', '/tie', '/tie?tie=clinch', '/tie?tie=reef']) {
    await page.goto(site + path);
    await made(page);
    same(`${path}: axe-core finds nothing`, await faults(page), '');
    const small = await page.evaluate(() =>
      [...document.querySelectorAll('main button, main input, main summary')].filter((one) => one.checkVisibility() && one.getBoundingClientRect().height < 55.5).map((one) => one.outerHTML).join('\n'));
    same(`${path}: targets are 56 px high`, small, '');
  }
}

const phone = { viewport: { width: 390, height: 844 } };
await run(executablePath, [
  ['mouse', {}, by_mouse],
  ['refused', { faulty: true }, refused],
  ['without script', { javaScriptEnabled: false }, by_typing],
  ['hostile', {}, hostile],
  ['light', { bypassCSP: true }, looked_at],
  ['dark, narrow', { ...phone, colorScheme: 'dark', bypassCSP: true }, looked_at],
]);
