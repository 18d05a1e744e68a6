// SPDX-License-Identifier: GPL-3.0-or-later
// handled.mjs SITE CHROMIUM [FOLDER]: the evening of the bench and the form of a pull that tell how specimens were
// handled, without script and with, in light and dark, on a phone and on a desktop. Prints TAP.
import { check, faults, run, same } from './tap.mjs';

const [site, executablePath, folder] = process.argv.slice(2);
const narrow = { viewport: { width: 390, height: 844 }, colorScheme: 'dark' };
const bare = { javaScriptEnabled: false, bypassCSP: true, faulty: true }; // a form is refused there

const open = (page, words) => page.locator('summary', { hasText: words }).click();
async function fill(form, values) {
  for (const [label, value] of Object.entries(values)) await form.getByLabel(label, { exact: false }).fill(value);
}
const form_of = (page, what) => page.locator(`form:has(input[name=do][value=${what}])`);

async function picture(page, name) {
  if (folder) await page.screenshot({ path: `${folder}/${name}.png`, fullPage: true });
}

async function looks(page, name) {
  same(`${name}: axe-core finds nothing`, await faults(page), '');
  await picture(page, name);
}

async function take(page, load) {
  await page.getByRole('button', { name: 'Take it' }).click();
  await page.getByRole('button', { name: /Guard down/ }).click();
  const form = form_of(page, 'answer');
  await form.getByLabel('Load, with its unit').fill(load);
  await form.getByLabel('broke', { exact: false }).first().check();
  await form.getByLabel('in the knot').check();
  await page.getByRole('button', { name: /Keep it/ }).click();
}

async function record_of(place) {
  const { rows } = await (await fetch(`${site}/api/1/record?of=pulls`)).json();
  return rows[place];
}

const told = { Temperature: '19.5 C', Humidity: '51', 'Grips, and': 'bollards', 'Speed of': '500', 'Tied by': 'Wren', 'Soak: dry': '30 min', 'Judged by': 'Tern' };

await run(executablePath, [
  ['an evening without script', bare, async (page) => {
    await page.goto(`${site}/bench`);
    check('the page says that it is not told yet', (await page.textContent('main')).includes('is not told yet'));
    await open(page, 'This evening');
    const form = form_of(page, 'evening');
    await fill(form, { ...told, Temperature: '19.5' });
    await form.getByRole('button').click();
    check('a temperature without its unit is refused', (await page.textContent('main')).includes('has no unit'));
    same('and what was typed stands there', await form.getByLabel('Grips, and').inputValue(), 'bollards');
    await fill(form, { Temperature: '19.5 C' });
    await form.getByRole('button').click();
    check('then it is kept', (await page.textContent('main')).includes('Told of every pull: temperature: 19.5 C; '));
    await take(page, '12.5 lb');
    const pull = await record_of(0);
    same('the pull has it', [pull.temperature_K, pull.grips, (pull.speed_m_s * 60000).toFixed(0), pull.judged_by].join(), '292.65,bollards,500,Tern');
  }],
  ['an evening by keys', { bypassCSP: true }, async (page) => {
    await page.goto(`${site}/bench`);
    await open(page, 'This evening');
    await looks(page, 'handled-evening');
    await form_of(page, 'evening').getByLabel('Judged by').fill('Plover');
    await page.keyboard.press('Enter');
    await page.waitForFunction(() => document.querySelector('main').textContent.includes('judged by: Plover'));
    same('Enter sent no other form: the first pull is as it was', (await record_of(0)).corrections, 0);
    await take(page, '12.25 lb');
    await page.waitForFunction(() => document.querySelector('main').textContent.includes('Kept: '));
    const pull = await record_of(1);
    same('the next pull has the change', [pull.judged_by, pull.grips].join(), 'Plover,bollards');
  }],
  ['the evening on a phone', { ...narrow, bypassCSP: true }, async (page) => {
    await page.goto(`${site}/bench`);
    await open(page, 'This evening');
    await looks(page, 'handled-evening-narrow');
  }],
  ['a pull told of later without script', bare, async (page) => {
    await page.goto(`${site}/pull/1`);
    await open(page, 'How it was tied, gripped and pulled');
    const form = form_of(page, 'handle');
    await fill(form, { 'Drawn up with': '2 lb', 'Grips, and': 'clamps' });
    await form.getByRole('button').click();
    check('a change asks for its reason', (await page.textContent('main')).includes('Not kept: grips is on record as "bollards"; say why it is changed.'));
    await fill(form, { 'Why, where': 'seen on the photo', 'Told by': 'Tern' });
    await form.getByRole('button').click();
    const said = await page.textContent('main');
    check('and the page shows both', said.includes('What was told anew') && said.includes('seen on the photo'), said);
    const pull = await record_of(0);
    same('the record has the new', [pull.grips, pull.seating_N.toFixed(3), pull.soak].join(), 'clamps,8.896,dry');
  }],
  ['a pull on a desktop', { bypassCSP: true }, async (page) => {
    await page.goto(`${site}/pull/1`);
    await open(page, 'How it was tied, gripped and pulled');
    await looks(page, 'handled-pull');
  }],
  ['a pull on a phone', { ...narrow, bypassCSP: true }, async (page) => {
    await page.goto(`${site}/pull/1`);
    await open(page, 'How it was tied, gripped and pulled');
    await looks(page, 'handled-pull-narrow');
  }],
]);
