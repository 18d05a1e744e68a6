// SPDX-License-Identifier: GPL-3.0-or-later
// together.mjs PORT SITE CHROMIUM [FOLDER]: one pull with several pages of the bench open: on a desktop, a
// tablet and a phone, and an old one without script. Prints TAP.
import { createRequire } from 'node:module';
import http from 'node:http';
import { chromium } from 'playwright-core';
import { open_rig } from './rig.mjs';

const [port, site, executablePath, folder] = process.argv.slice(2);
const axe = createRequire(import.meta.url).resolve('axe-core');
const rig = await open_rig(port);

let count = 0;
function report(name, fault) {
  count += 1;
  console.log(`${fault ? 'not ok' : 'ok'} ${count} - ${name}`);
  if (fault) console.log(`# ${String(fault).replaceAll('\n', ' ').slice(0, 400)}`);
}
const check = async (name, work) => report(name, await Promise.resolve().then(work).catch((error) => error));

// The phone's way to the site, which can be cut.
let cut = false;
const ways = new Set();
const proxy = http.createServer((request, reply) => {
  const { method, headers } = request;
  const onward = http.request(request.url, { method, headers }, (answer) => {
    reply.writeHead(answer.statusCode, answer.rawHeaders);
    answer.pipe(reply);
  });
  reply.on('close', () => onward.destroy());
  onward.on('error', () => reply.destroy());
  request.pipe(onward);
});
proxy.on('connection', (socket) => {
  if (cut) socket.destroy();
  ways.add(socket);
});
await new Promise((listening) => proxy.listen(0, '127.0.0.1', listening));
const cut_way = () => {
  cut = true;
  for (const socket of ways) socket.destroy();
};

const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
const open = async (options) => {
  const page = await (await browser.newContext({ bypassCSP: true, ...options })).newPage();
  await page.goto(`${site}/bench?unit=lb`);
  return page;
};
const views = {
  desktop: { viewport: { width: 1280, height: 900 } },
  tablet: { viewport: { width: 900, height: 1200 }, colorScheme: 'dark' },
  phone: {
    viewport: { width: 390, height: 844 },
    hasTouch: true,
    proxy: { server: `http://127.0.0.1:${proxy.address().port}`, bypass: '<-loopback>' },
  },
};

try {
  const [desktop, tablet, phone] = await Promise.all(Object.values(views).map(open));
  const old = await open({ javaScriptEnabled: false });
  const pages = [desktop, tablet, phone];
  const each = (work) => Promise.all(pages.map(work));
  const at = (step) => each((page) => page.waitForSelector(`#bench[data-at=${step}]`));
  const same = async (what) => {
    const all = await each(what);
    return all.every((one) => one === all[0]) ? null : `they differ: ${all}`;
  };
  const said = () => same((page) => page.textContent('main p'));

  await check('what one takes, all show', async () => {
    await desktop.keyboard.press('n');
    await at('guard');
    return said();
  });
  await check('an old page is told, and shows what is now', async () => {
    const [reply] = await Promise.all([old.waitForResponse((one) => one.request().method() === 'POST'),
      old.click('button.first')]);
    const words = await old.textContent('main');
    if (reply.status() !== 409) return `status ${reply.status()}`;
    return words.includes('Not done: the bench has gone on') && words.includes('put it on the rig') ? null : words;
  });
  await check('the guard of one is that of all', async () => {
    await phone.locator('button.first').tap();
    await at('pull');
    await each((page) => page.waitForFunction(() => document.getElementById('phase').textContent === 'ready'));
    return said();
  });

  const rising = rig.pull([[30, 1.5], [25, 0.1], [33, 0.9]]);
  await check('a page without a line says so', async () => {
    cut_way();
    await phone.waitForFunction(() => document.getElementById('trouble').textContent.startsWith('No word from the program'));
    await rising;
    return (await desktop.textContent('#trouble')) && 'another says it too';
  });
  await check('comes back by itself', async () => {
    cut = false;
    await phone.waitForFunction(() => document.getElementById('trouble').textContent === '');
    await rig.pull([[40, 1]]);
    return null;
  });
  await check('and has no gap in its trace', async () => {
    const of = (page) => page.evaluate('points.map((point) => point[0])');
    const [whole, mended] = [await of(desktop), await of(phone)];
    const end = mended[mended.length - 1];
    const missing = whole.filter((time) => time <= end && !mended.some((one) => Math.abs(one - time) < 0.002));
    if (whole.length < 100 || mended.length < 100) return `${whole.length} and ${mended.length} points`;
    return missing.length ? `${missing.length} of ${whole.length} points are missing` : null;
  });
  await check('peak and slip are marked on all', async () => {
    await each((page) => page.waitForFunction("slips.length === 1 && now.peak_N > 38"));
    await each((page) => page.waitForFunction(
      "/^At .* lb; peak .* lb; 1 slip, from 6.[5-9]\\d* lb\\.$/.test(document.getElementById('told').textContent)"));
    return null;
  });
  await check('load beside trace on a tablet, above it on a phone, 96 px high', async () => {
    const places = await each((page) => page.evaluate(() => {
      const [load, trace] = ['.load', '#trace'].map((one) => document.querySelector(one).getBoundingClientRect());
      const size = parseFloat(getComputedStyle(document.querySelector('.load')).fontSize);
      const over = document.documentElement.scrollWidth - innerWidth;
      return [load.right <= trace.left && load.top < trace.bottom, load.bottom <= trace.top, size >= 96, over <= 0].join();
    }));
    const want = 'true,false,true,true true,false,true,true false,true,true,true';
    return places.join(' ') === want ? null : places.join(' ');
  });
  for (const [i, name] of Object.keys(views).entries()) {
    await check(`${name}, pulling: axe-core finds nothing`, async () => {
      if (folder) await pages[i].screenshot({ path: `${folder}/together-${name}.png`, fullPage: true });
      await pages[i].addScriptTag({ path: axe });
      const found = await pages[i].evaluate(() => globalThis.axe.run(document));
      return found.violations.map((one) => `${one.id}: ${one.nodes[0].html}`)[0];
    });
  }
  await check('all ask what let go, and show the whole pull', async () => {
    await rig.pull([[0, 0.02]]);
    await at('answer');
    await each((page) => page.waitForFunction(
      "/^Peak (8.9|9.0)\\d* lb after \\d+ s; 1 slip, from 6.[5-9]\\d* lb after \\d+ s\\.$/.test(document.getElementById('told').textContent)"));
    if (folder) await each((page, i) => page.screenshot({ path: `${folder}/together-${i}-answer.png`, fullPage: true }));
    return (await said()) ?? (await same((page) => page.evaluate('JSON.stringify([points.length, slips])')));
  });
  await check('two that answer at once: one is kept, one is told', async () => {
    const replies = await Promise.all([desktop, tablet].map(async (page) => {
      const reply = page.waitForResponse((one) => one.request().method() === 'POST');
      await page.keyboard.press('Enter');
      return (await reply).status();
    }));
    await at('choose');
    if (replies.sort().join() !== '303,409') return `replies ${replies}`;
    const kept = await each((page) => page.textContent('main'));
    const code = kept[2].match(/Kept: (\S+), /)?.[1];
    return kept.find((words) => !words.includes(`Kept: ${code}, `) || words.includes(`Next is specimen ${code}`));
  });
  await check('another rig is used: all pages follow, without being loaded again', async () => {
    const use = (words) => desktop.evaluate(
      async (form) => (await fetch('/rig', { method: 'POST', body: new URLSearchParams(form) })).status, words);
    const typed = await use({ do: 'type' });
    await each((page) => page.waitForFunction("!('rig' in document.getElementById('bench').dataset)"));
    const back = await use({ do: 'use', rig: 'bench' });
    await each((page) => page.waitForFunction("/^-?[0-9]/.test(document.getElementById('load')?.textContent)"));
    return typed === 200 && back === 200 ? null : `replies ${typed}, ${back}`;
  });
} finally {
  await browser.close();
  rig.close();
  proxy.close();
}
console.log(`1..${count}`);
process.exit(0);
