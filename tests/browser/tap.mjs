// SPDX-License-Identifier: GPL-3.0-or-later
// Checks of a page, as TAP.
import { createRequire } from 'node:module';
import { chromium } from 'playwright-core';

const axe = createRequire(import.meta.url).resolve('axe-core');
let count = 0;

export function check(name, holds, why = '') {
  count += 1;
  console.log(`${holds ? 'ok' : 'not ok'} ${count} - ${name}`);
  if (!holds && why !== '') console.log(`# ${String(why).replaceAll('\n', '\n# ').slice(0, 2000)}`);
}

export function same(name, got, want) {
  check(name, got === want, `got:\n${got}\nwant:\n${want}`);
}

export async function faults(page) {
  await page.addScriptTag({ path: axe });
  const found = await page.evaluate(() => globalThis.axe.run(document));
  const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  const list = found.violations.map((one) => `${one.id}: ${one.help}: ${one.nodes[0].html}`);
  return [...list, ...(over > 0 ? [`${over} px wider than the window`] : [])].join('\n');
}

// Runs each step with a page of its own; one that throws fails, and the others go on.
export async function run(executablePath, steps) {
  const browser = await chromium.launch({ executablePath, args: ['--no-sandbox', '--use-angle=swiftshader', '--enable-unsafe-swiftshader'] });
  try {
    for (const [name, { faulty, ...options }, step] of steps) {
      const page = await browser.newPage({ viewport: { width: 1000, height: 900 }, colorScheme: 'light', ...options });
      page.setDefaultTimeout(20000);
      const said = [];
      page.on('console', (message) => message.type() === 'error' && said.push(message.text()));
      page.on('pageerror', (error) => said.push(error.message));
      try {
        await step(page);
        check(`${name}: the console ${faulty ? 'tells why' : 'is silent'}`, (said.length > 0) === (faulty === true), said.join('\n'));
      } catch (error) {
        check(name, false, `${error.stack}\n${said.join('\n')}`);
      }
      await page.close();
    }
  } finally {
    await browser.close();
  }
  console.log(`1..${count}`);
}
