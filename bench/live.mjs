// SPDX-License-Identifier: GPL-3.0-or-later
// live.mjs BUILD CHROMIUM [RUNS]: from the moment a rig writes a sample until the page of the bench shows it, and
// how often the page draws, with 1,000 samples a second and the demonstration book.
//
// The rig is a process of its own (bench_live BUILD rig), which stamps each write by CLOCK_MONOTONIC, and that is
// also the clock of process.hrtime here. The page's performance.now() is set against it by asking for it many
// times: the answer lies between question and reply, so the narrowest of these brackets says by how much the two
// differ, give or take half its width. This is done before and after, so that a drift would be seen.
import { spawn } from 'node:child_process';
import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join as join_path } from 'node:path';
import { createInterface } from 'node:readline';
import { chromium } from 'playwright-core';

const [build, executablePath, runs = '3'] = process.argv.slice(2);
const STEP_N = 0.001; // as bench_live has them
const START_N = 10;
const SECONDS = 20;
const RATE_Hz = 1000;
const views = [
  { name: 'desktop, 1280 x 900', viewport: { width: 1280, height: 900 } },
  { name: 'phone, 390 x 844, two pixels a point', viewport: { width: 390, height: 844 }, deviceScaleFactor: 2 },
];

// Of the whole machine since it started, [idle, all].
function machine() {
  const parts = readFileSync('/proc/stat', 'utf8').split('\n')[0].trim().split(/\s+/).slice(1, 9).map(Number);
  return [parts[3] + parts[4], parts.reduce((sum, one) => sum + one, 0)];
}

const hrtime_ms = () => Number(process.hrtime.bigint()) / 1e6;

// What to add to the page's clock, and how far that may be wrong; ms.
async function join(page) {
  let best = { offset: 0, within: Infinity };
  for (let i = 0; i < 200; i += 1) {
    const before = hrtime_ms();
    const there = await page.evaluate(() => performance.now());
    const after = hrtime_ms();
    if ((after - before) / 2 < best.within) best = { offset: (before + after) / 2 - there, within: (after - before) / 2 };
  }
  return best;
}

// Notes of every frame the load that it shows, when it began, when it was drawn, and when the task after its
// painting ran.
function watch() {
  globalThis.frames_seen = [];
  const show_it = globalThis.show;
  const { port1, port2 } = new MessageChannel();
  const waiting = [];
  port1.onmessage = () => { waiting.shift().painted = performance.now(); };
  globalThis.show = (began) => {
    show_it(began);
    const frame = { began, drawn: performance.now(), load: now.load_N, at: bench.dataset.at };
    globalThis.frames_seen.push(frame);
    waiting.push(frame);
    port2.postMessage(0);
  };
}

const quantile = (sorted, share) => sorted[Math.min(sorted.length - 1, Math.ceil(share * sorted.length) - 1)];

// From the write of each sample until the frame that shows it or a newer one.
function delays_of(frames, sent, offset, when) {
  const delays = [];
  let next = 0;
  for (const frame of frames) {
    const number = Math.round((frame.load - START_N) / STEP_N);
    if (frame.at !== 'pull' || !(frame.load >= START_N - STEP_N / 2) || number >= sent.length) continue;
    for (; next <= number; next += 1) delays.push(frame[when] + offset - sent[next]);
  }
  return delays.sort((a, b) => a - b);
}

function figures_of(frames, sent, clocks) {
  const pulled = frames.filter((frame) => frame.at === 'pull' && frame.load >= START_N - STEP_N / 2);
  const gaps = pulled.slice(1).map((frame, i) => frame.began - pulled[i].began).sort((a, b) => a - b);
  const busy = pulled.map((frame) => frame.painted - frame.began).sort((a, b) => a - b);
  const [drawn, painted] = ['drawn', 'painted'].map((when) => delays_of(pulled, sent, clocks.offset, when));
  return {
    'to drawn': quantile(drawn, 0.5),
    'p99': quantile(drawn, 0.99),
    'most': drawn.at(-1),
    'to painted': quantile(painted, 0.5),
    'painted p99': quantile(painted, 0.99),
    'painted most': painted.at(-1),
    'frames a second': (1000 * gaps.length) / (pulled.at(-1).began - pulled[0].began),
    'p99 between frames': quantile(gaps, 0.99),
    'longest between frames': gaps.at(-1),
    'work of a frame': quantile(busy, 0.5),
    'work p99': quantile(busy, 0.99),
    'clocks within': clocks.within,
    'clocks drift': clocks.drift,
  };
}

// ---- processes ----

const children = [];
async function start(program, args, wanted) {
  const child = spawn(program, args, { stdio: ['pipe', 'pipe', 'inherit'] });
  children.push(child);
  for await (const line of createInterface({ input: child.stdout })) {
    const found = line.match(wanted);
    if (found) return { child, said: found[0] };
  }
  throw new Error(`${program} said nothing of use`);
}

const ended = (child) => new Promise((resolve) => { child.on('exit', resolve); });

async function take_specimen(page) {
  if (!(await page.locator('#f-specimen').isVisible())) await page.locator('summary').filter({ hasText: 'Another specimen' }).click();
  for (const [field, words] of [['specimen', 'LIVE1'], ['knot', 'uni'], ['line-A', 'nylon 12 lb']]) await page.fill(`#f-${field}`, words);
  await page.locator('button').filter({ hasText: 'Take this one' }).click();
  await page.waitForSelector('#bench[data-at=guard]');
  await page.locator('button.first').click();
  await page.waitForSelector('#bench[data-at=pull]');
  await page.waitForFunction(() => document.getElementById('phase').textContent === 'ready');
}

async function measure(view) {
  const folder = mkdtempSync(join_path(tmpdir(), 'be-bench-page-'));
  const [book, rigs, stamps] = ['demo.book', 'rigs', 'stamps'].map((name) => join_path(folder, name));
  copyFileSync(`${build}/demo.book`, book);
  const rig = await start(`${build}/bench/bench_live`, [build, 'rig', RATE_Hz, RATE_Hz * SECONDS, stamps], /^\d+$/);
  writeFileSync(rigs, '[bench]\nsource = tcp\nframes = number\nframe settings = unit=N\n'
    + `source settings = address=127.0.0.1 port=${rig.said}\n`);
  const serving = await start(`${build}/src/cli/bitterend`, ['serve', book, '--rig', rigs, '--port', '0'], /http:[/0-9.:]*\d/);
  const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
  try {
    const page = await browser.newPage({ ...view, bypassCSP: true });
    await page.goto(`${serving.said}/bench`);
    await take_specimen(page);
    const before = await join(page);
    await page.evaluate(`(${watch})()`);
    const from = machine();
    rig.child.stdin.write('pull\n');
    await new Promise((resolve) => { setTimeout(resolve, 1000 * (SECONDS + 0.5)); });
    const to = machine();
    const frames = await page.evaluate(() => globalThis.frames_seen);
    const after = await join(page);
    const written = ended(rig.child);
    rig.child.stdin.end();
    await written;
    const bytes = readFileSync(stamps);
    const sent = Array.from(new BigInt64Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length)), (ns) => Number(ns) / 1e6);
    const best = before.within < after.within ? before : after;
    const figures = figures_of(frames, sent, { ...best, drift: after.offset - before.offset });
    return { ...figures, 'machine idle, %': (100 * (to[0] - from[0])) / (to[1] - from[1]) };
  } finally {
    await browser.close();
    for (const child of children.splice(0)) child.kill();
    rmSync(folder, { recursive: true });
  }
}

// ---- the table ----

const all = views.map(() => []);
for (let i = 0; i < Number(runs); i += 1)
  for (const [k, view] of views.entries()) all[k].push(await measure(view));
console.log(`live page: ${RATE_Hz} samples a second for ${SECONDS} s, ${runs} runs; ms`);
const names = Object.keys(all[0][0]);
console.log(`| | ${names.join(' | ')} |\n|---${'|---'.repeat(names.length)}|`);
for (const [k, view] of views.entries()) {
  const cells = names.map((name) => {
    const sorted = all[k].map((one) => one[name]).sort((a, b) => a - b);
    const middle = sorted[sorted.length >> 1].toFixed(1);
    return sorted.length > 1 ? `${middle} (${sorted[0].toFixed(1)} to ${sorted.at(-1).toFixed(1)})` : middle;
  });
  console.log(`| ${view.name} | ${cells.join(' | ')} |`);
}
process.exit(0);
