// SPDX-License-Identifier: GPL-3.0-or-later
// evening.mjs PORT SITE CHROMIUM [FOLDER]: a whole evening at the bench, with a rig of its own that streams
// 100 readings a second to whoever connects to PORT: ten pulls by keys alone, ten by touch. Prints TAP.
import { createRequire } from 'node:module';
import net from 'node:net';
import { chromium } from 'playwright-core';

const [port, site, executablePath, folder] = process.argv.slice(2);
const PULLS = 10; // of each kind
const axe = createRequire(import.meta.url).resolve('axe-core');

// ---- the rig ----

let load = 0;
let breaks = 0; // N; 0: nobody pulls
const rig = net.createServer((socket) => {
  const stream = setInterval(() => {
    if (breaks) load += 2;
    if (breaks && load > breaks) load = breaks = 0;
    socket.write(`${(load + 0.3 + 0.04 * Math.sin(37 * performance.now())).toFixed(2)} N\r\n`);
  }, 10);
  socket.on('close', () => clearInterval(stream));
  socket.on('error', () => {});
});
await new Promise((done) => rig.listen(Number(port), '127.0.0.1', done));

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

async function pull(page, i, press, name) {
  await at(page, 'choose');
  if (i === 1) await look(page, `${name}-choose`);
  await press('n', 'Take it');
  await at(page, 'guard');
  const code = (await page.textContent('main p')).match(/Specimen (\S+?)[,:]/)[1];
  if (i === 1) await look(page, `${name}-guard`);
  await press('g', 'Guard down');
  await at(page, 'pull');
  await ready(page);
  if (i === 1) await look(page, `${name}-pull`);
  const wanted = 41 + i;
  breaks = wanted;
  await at(page, 'answer');
  if (i === 1) await look(page, `${name}-answer`);
  const said = await page.textContent('main');
  if (!said.includes('suggests: event, broke')) throw new Error(`no break suggested for ${code}: ${said}`);
  const peak = Number(await page.textContent('#peak')) / 0.224808943;
  if (!(Math.abs(peak - wanted) < 2.5)) throw new Error(`peak ${peak} N for ${wanted}`);
  await press('k', 'in the knot');
  await press('a', 'line A');
  await press('Enter', 'Keep it');
  await at(page, 'choose');
  const kept = await page.textContent('main');
  if (!kept.includes(`Kept: ${code}, `)) throw new Error(`${code} is not said to be kept: ${kept}`);
}

const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
try {
  const keys = await browser.newPage({ viewport: { width: 1280, height: 900 }, bypassCSP: true });
  const faults = [];
  keys.on('console', (message) => faults.push(message.text()));
  await keys.goto(`${site}/bench?unit=lb`);
  for (let i = 0; i < PULLS; i += 1) {
    const fault = await pull(keys, i, (key) => keys.keyboard.press(key), 'keys').then(() => null, (error) => error);
    report(`pull ${i + 1}, by keys`, fault);
    if (fault) break;
  }
  report('nothing is said to the console', faults[0]);

  const phone = await browser.newPage({ viewport: { width: 390, height: 844 }, hasTouch: true, colorScheme: 'dark', bypassCSP: true });
  await phone.goto(`${site}/bench?unit=lb`);
  const tap = async (_key, words) => {
    await phone.locator('#bench label:visible, #bench button:visible').filter({ hasText: words }).first().tap();
  };
  for (let i = 0; i < PULLS; i += 1) {
    const fault = await pull(phone, i, tap, 'touch').then(() => null, (error) => error);
    report(`pull ${PULLS + i + 1}, by touch`, fault);
    if (fault) break;
  }
  const agree = await keys.textContent('main h1 ~ p').then((one) => phone.textContent('main h1 ~ p').then((two) => one === two));
  report('two open pages agree', agree ? null : 'they differ');
} finally {
  await browser.close();
  rig.close();
}
console.log(`1..${count}`);
process.exit(0);
