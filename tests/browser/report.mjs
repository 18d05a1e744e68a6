// SPDX-License-Identifier: GPL-3.0-or-later
// report.mjs CHROMIUM FOLDER FILE...: opens each report as a file, light and dark, on a phone, on a desktop and
// on paper, and prints TAP. A report passes when axe-core finds no violation in it, nothing is wider than
// the window, nothing was said to the console, no request left the file, and every way within it leads somewhere.
// Pictures are left in FOLDER unless it is "-".
import { createRequire } from 'node:module';
import { chromium } from 'playwright-core';

const [executablePath, folder, ...files] = process.argv.slice(2);
const axe = createRequire(import.meta.url).resolve('axe-core');
const views = [];
for (const colorScheme of ['light', 'dark'])
  for (const width of [390, 1200]) views.push({ colorScheme, viewport: { width, height: 900 } });

let count = 0;
function report(name, faults) {
  count += 1;
  console.log(`${faults.length ? 'not ok' : 'ok'} ${count} - ${name}`);
  for (const fault of faults) console.log(`# ${fault.replaceAll('\n', ' ').slice(0, 300)}`);
}

/* Whatever is asked for beside the file itself is a fault. */
async function open(browser, file, view) {
  const faults = [];
  const page = await browser.newPage(view);
  const url = `file://${file}`;
  page.on('request', (request) => {
    if (request.url() !== url && !request.url().startsWith('data:')) faults.push(`asks for ${request.url()}`);
  });
  page.on('console', (message) => faults.push(`console: ${message.text()}`));
  await page.goto(url);
  return { page, faults };
}

async function lost_ways(page) {
  return page.evaluate(() =>
    [...document.querySelectorAll('a[href]')]
      .map((a) => a.getAttribute('href'))
      .filter((way) => !way.startsWith('#') || !document.getElementById(way.slice(1))),
  );
}

async function faults_of(page, faults) {
  for (const way of await lost_ways(page)) faults.push(`a way that leads nowhere: ${way}`);
  const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  if (over > 0) faults.push(`${over} px wider than the window`);
  await page.addScriptTag({ path: axe });
  // A report has thousands of cells: what is right of them is not handed over.
  const violations = await page.evaluate(async () => {
    const found = await globalThis.axe.run(document, { resultTypes: ['violations'] });
    return found.violations.map(({ id, help, nodes }) => `${id}: ${help}: ${nodes[0].html}`);
  });
  faults.push(...violations);
  return faults;
}

// On paper no table may be cut at the edge; a sheet of A4 on its side has 273 mm between its margins.
async function faults_on_paper(browser, file) {
  const { page, faults } = await open(browser, file, { viewport: { width: 1032, height: 700 } });
  await page.emulateMedia({ media: 'print' });
  const wide = await page.evaluate(() =>
    [...document.querySelectorAll('table')].filter((table) => table.scrollWidth > innerWidth).map((table) => table.caption?.textContent ?? 'a table'),
  );
  for (const table of wide) faults.push(`cut at the edge of the paper: ${table}`);
  const sheets = await page.pdf({ preferCSSPageSize: true, ...(folder !== '-' && { path: `${folder}/report.pdf` }) });
  if (sheets.length < 10000) faults.push('no sheets to speak of');
  await page.close();
  return faults;
}

const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
try {
  for (const file of files) {
    const name = file.replace(/.*\//, '');
    for (const view of views) {
      const { page, faults } = await open(browser, file, view);
      report(`${name} (${view.colorScheme}, ${view.viewport.width} px)`, await faults_of(page, faults));
      if (folder !== '-')
        await page.screenshot({ path: `${folder}/${name}-${view.colorScheme}-${view.viewport.width}.png` });
      await page.close();
    }
    report(`${name} (on paper)`, await faults_on_paper(browser, file));
  }
} finally {
  await browser.close();
}
console.log(`1..${count}`);
