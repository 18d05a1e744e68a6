// SPDX-License-Identifier: GPL-3.0-or-later
// evening.mjs PORT SITE CHROMIUM [FOLDER]: a whole evening at the bench, with a rig of its own at PORT: ten
// pulls by keys alone, ten by touch. Prints TAP, and how long the program takes from the moment a specimen
// lets go until the next one is taken.
import { createRequire } from 'node:module';
import { chromium } from 'playwright-core';
import { open_rig } from './rig.mjs';

const [port, site, executablePath, folder] = process.argv.slice(2);
const PULLS = 10; // of each kind
const axe = createRequire(import.meta.url).resolve('axe-core');

const rig = await open_rig(port);

// ---- TAP ----

let count = 0;
function report(name, fault) {
  count += 1;
  console.log(`${fault ? 'not ok' : 'ok'} ${count} - ${name}`);
  if (fault) console.log(`# ${String(fault).replaceAll('\n', ' ').slice(0, 400)}`);
}

const at = (page, step) => page.waitForSelector(`#bench[data-at=${step}]`, { timeout: 60000 });
const ready = (page) =>
  page.waitForFunction(() => document.getElementById('phase').textContent === 'ready', null, { timeout: 60000 });

// What axe-core finds on the page as it stands; and its picture.
async function look(page, name) {
  await page.addScriptTag({ path: axe });
  const found = await page.evaluate(() => globalThis.axe.run(document));
  const faults = found.violations.map((one) => `${one.id}: ${one.nodes[0].html}`);
  const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  if (over > 0) faults.push(`${over} px wider than the window`);
  report(`${name}: axe-core finds nothing`, faults[0]);
  if (folder) await page.screenshot({ path: `${folder}/${name}.png`, fullPage: true });
}

// ---- one pull ----

// Seconds between a press and what it brings, from letting go to the next specimen; and the presses.
const takes = { keys: [], touch: [] };
let own_s = 0;
let presses = 0;
async function timed(since, work) {
  await work;
  own_s += (performance.now() - since) / 1000;
}

async function take_next(page, press, name, i) {
  await at(page, 'choose');
  if (i === 0) await look(page, `${name}-choose`);
  const since = performance.now();
  await press('n', 'Take it');
  await timed(since, at(page, 'guard'));
}

async function pull(page, i, press, name) {
  const code = (await page.textContent('main p')).match(/Specimen (\S+?)[,:]/)[1];
  if (i === 1) await look(page, `${name}-guard`);
  await press('g', 'Guard down');
  await at(page, 'pull');
  await ready(page);
  if (i === 1) await look(page, `${name}-pull`);
  const wanted = 41 + i;
  const fell = await rig.pull([[wanted, 0.25], [0, 0.01]]);
  own_s = presses = 0;
  await timed(fell, at(page, 'answer'));
  if (i === 1) await look(page, `${name}-answer`);
  const said = await page.textContent('main');
  if (!said.includes('suggests: event, broke')) throw new Error(`no break suggested for ${code}: ${said}`);
  const peak = Number(await page.textContent('#peak')) / 0.224808943;
  if (!(Math.abs(peak - wanted) < 2.5)) throw new Error(`peak ${peak} N for ${wanted}`);
  await press('k', 'in the knot');
  const since = performance.now();
  await press('Enter', 'Keep it');
  await timed(since, at(page, 'choose'));
  const kept = await page.textContent('main');
  if (!kept.includes(`Kept: ${code}, `)) throw new Error(`${code} is not said to be kept: ${kept}`);
  await take_next(page, press, name, i + 1);
  takes[name].push(own_s);
  if (presses > 3) throw new Error(`${presses} presses from letting go to the next specimen`);
}

async function pulls(page, press, name, first) {
  await take_next(page, press, name, 0);
  for (let i = 0; i < PULLS; i += 1) {
    const fault = await pull(page, i, press, name).then(() => null, (error) => error);
    report(`pull ${first + i}, by ${name}`, fault);
    if (fault) break;
  }
  const sorted = takes[name].sort((a, b) => a - b);
  console.log(`# by ${name}, from letting go until the next specimen is taken: 3 presses, and of the program's time `
    + `${sorted[sorted.length >> 1]?.toFixed(2)} s (${sorted[0]?.toFixed(2)} to ${sorted.at(-1)?.toFixed(2)}), at rest for 1 s included`);
}

const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
try {
  const keys = await browser.newPage({ viewport: { width: 1280, height: 900 }, bypassCSP: true });
  const faults = [];
  keys.on('console', (message) => faults.push(message.text()));
  await keys.goto(`${site}/bench?unit=lb`);
  await pulls(keys, (key) => { presses += 1; return keys.keyboard.press(key); }, 'keys', 1);
  report('nothing is said to the console', faults[0]);

  const phone = await browser.newPage({ viewport: { width: 390, height: 844 }, hasTouch: true, colorScheme: 'dark', bypassCSP: true });
  await phone.goto(`${site}/bench?unit=lb`);
  const tap = async (_key, words) => {
    presses += 1;
    await phone.locator('#bench label:visible, #bench button:visible').filter({ hasText: words }).first().tap();
  };
  await phone.locator('#bench button:visible').filter({ hasText: 'Another specimen' }).tap();
  await pulls(phone, tap, 'touch', 1 + PULLS);
  const agree = await keys.textContent('main h1 ~ p').then((one) => phone.textContent('main h1 ~ p').then((two) => one === two));
  report('two open pages agree', agree ? null : 'they differ');
} finally {
  await browser.close();
  rig.close();
}
console.log(`1..${count}`);
process.exit(0);
