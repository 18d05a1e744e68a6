// SPDX-License-Identifier: GPL-3.0-or-later
// pages.mjs SITE CHROMIUM [FOLDER]: opens every page that can be reached from the first, in light and dark, on a
// phone and on a desktop, and prints TAP. A page passes when axe-core finds no violation on it, nothing
// is wider than the window, and nothing was said to the console. With a FOLDER, pictures are left in it.
import { createRequire } from 'node:module';
import { chromium } from 'playwright-core';

const [site, executablePath, folder] = process.argv.slice(2);
const axe = createRequire(import.meta.url).resolve('axe-core');
const PAGES_OF_A_KIND = 3; // /pull/7 and /pull/8 are of one kind
const views = [
  { name: 'light, wide', colorScheme: 'light', viewport: { width: 1280, height: 900 } },
  { name: 'dark, narrow', colorScheme: 'dark', viewport: { width: 390, height: 844 } },
];

let count = 0;
function report(name, faults) {
  count += 1;
  console.log(`${faults.length ? 'not ok' : 'ok'} ${count} - ${name}`);
  for (const fault of faults) console.log(`# ${fault.replaceAll('\n', ' ').slice(0, 300)}`);
}

/* A page that is still being made is asked for again. */
async function load(page, url) {
  let reply = await page.goto(site + url);
  while (reply.status() === 202) reply = await page.goto(site + url);
  return reply;
}

async function faults_of(page, url) {
  const faults = [];
  // What the driver of the display says is no page's fault.
  const listen = (message) => message.text().includes('GL Driver Message') || faults.push(`console: ${message.text()}`);
  page.on('console', listen);
  const reply = await load(page, url);
  if (reply.status() !== 200) faults.push(`status ${reply.status()}`);
  await page.addScriptTag({ path: axe });
  const found = await page.evaluate(() => globalThis.axe.run(document));
  for (const violation of found.violations)
    faults.push(`${violation.id}: ${violation.help}: ${violation.nodes[0].html}`);
  const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  if (over > 0) faults.push(`${over} px wider than the window`);
  page.off('console', listen);
  return faults;
}

async function ways_from(page) {
  const ways = await page.evaluate(() => [...document.querySelectorAll('a[href]')].map((a) => a.href));
  return ways.filter((way) => way.startsWith(site)).map((way) => way.slice(site.length).replace(/#.*/, ''));
}

async function knot_with_tie() {
  const { rows } = await (await fetch(`${site}/api/1/record?of=knots`)).json();
  return `/knot?at=${rows.find((knot) => knot.tie).row}`;
}

// The pages to open: a few of each kind, so that those of hundreds of pulls are not all opened.
async function find_pages(page) {
  // No link leads to what a form asks.
  const pages = ['/', '/plan?name=spring&knots=palomar&on=N12-1+%2B+ring&specimens=4', '/tie', '/tie?tie=clinch', '/tie?tie=gauss+1+2', await knot_with_tie()];
  const kinds = new Map();
  for (let i = 0; i < pages.length; i += 1) {
    await load(page, pages[i]);
    for (const way of await ways_from(page)) {
      const kind = way.replace(/=[^&]*/g, '').replace(/\d+/g, 'N');
      const opened = kinds.get(kind) ?? 0;
      if (pages.includes(way) || opened >= PAGES_OF_A_KIND || !way.startsWith('/')) continue;
      kinds.set(kind, opened + 1);
      pages.push(way);
    }
  }
  return pages;
}

const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
try {
  // Pages forbid scripts that are not theirs, and so the one that looks at them.
  const finder = await browser.newPage({ bypassCSP: true });
  const pages = await find_pages(finder);
  await finder.close();
  for (const view of views) {
    const page = await browser.newPage({ ...view, bypassCSP: true });
    for (const url of pages) {
      report(`${url} (${view.name})`, await faults_of(page, url));
      const file = `${url}-${view.colorScheme}`.replace(/[^a-z0-9]+/gi, '-');
      if (folder) await page.screenshot({ path: `${folder}/page${file}.png`, fullPage: true });
    }
    await page.close();
  }
} finally {
  await browser.close();
}
console.log(`1..${count}`);
