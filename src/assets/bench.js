// SPDX-License-Identifier: GPL-3.0-or-later
// The page of the bench, live: loads come as events, another step brings the page anew, and keys press
// the button that shows them. Without this script the page is the same, and stands still.
'use strict';

const SHOWN_s = 30; // of a pull that goes on; then all of it
const BEFORE_s = 5; // before a pull begins
const KEPT = 4096;
const TOLD_EVERY_ms = 5000;
const SILENT_ms = 3000; // a program that lives says something each second
const LOST_ms = 1000;
const AGAIN_ms = 2000;

let bench = document.getElementById('bench');
let points = []; // [time, lowest, highest] of each sixtieth of a second, or longer
let slips = []; // [time, load]
let now = null; // what was told last
let told_ms = -Infinity;
let lost = '';

function shown(newtons) {
  if (newtons === null) return '-';
  let words = (newtons * Number(bench.dataset.perNewton)).toFixed(Number(bench.dataset.decimals));
  if (Number(words) === 0) words = words.replace('-', '');
  return words.replace('.', document.documentElement.dataset.decimal ?? '.');
}

const with_unit = (newtons) => `${shown(newtons)} ${bench.dataset.unit}`;

function put(id, words) {
  const place = document.getElementById(id);
  if (place && place.textContent !== words) place.textContent = words;
}

// ---- the trace ----

// What of it is on show: from, to, and the number of the first point.
function stretch() {
  const end = points[points.length - 1][0];
  const whole = bench.dataset.at !== 'pull' || end - points[0][0] <= SHOWN_s;
  const from = whole ? points[0][0] : end - SHOWN_s;
  let first = points.length - 1;
  while (first > 0 && points[first - 1][0] >= from) first -= 1;
  return { from, to: Math.max(end, from + 10), first };
}

// Of a pull that is over the program tells no peak any more: it is the highest of its points.
function peak() {
  if (bench.dataset.at === 'pull') return now.peak_N === null ? null : [now.peak_s, now.peak_N];
  const high = points.reduce((best, point) => (point[2] > best[2] ? point : best), [0, 0, 0]);
  return high[2] > 0 ? [high[0], high[2]] : null;
}

let tones = null; // of light or dark

function tones_of(canvas) {
  const style = getComputedStyle(canvas);
  const [muted, hairline] = ['--muted', '--hairline'].map((name) => style.getPropertyValue(name));
  return { ink: style.color, muted, hairline, font: `14px ${style.fontFamily}` };
}

// 1, 2 or 5 of a power of ten, for three to six lines.
function nice(most) {
  const power = 10 ** Math.floor(Math.log10(most / 3));
  return [5, 2, 1].map((one) => one * power).find((one) => one <= most / 3) ?? power;
}

function draw_grid(ink, chart) {
  const { width, height, y, most, from, to } = chart;
  const per = Number(bench.dataset.perNewton);
  const step = nice(most * per);
  ink.textBaseline = 'bottom';
  for (let load = 0; load < most * per; load += step) {
    const at = Math.round(y(load / per)) + 0.5;
    ink.fillStyle = tones.hairline;
    ink.fillRect(0, at - 0.5, width, 1);
    ink.fillStyle = tones.muted;
    ink.textAlign = 'left';
    ink.fillText(Number(load.toPrecision(6)), 0, at - 2);
  }
  ink.textBaseline = 'top';
  ink.textAlign = 'right';
  const span = Math.round(to - from);
  ink.fillText(from > points[0][0] ? `the last ${span} s` : `${span} s`, width, height - 18);
}

// Neighbours that share a column of the screen are one stroke.
function draw_line(ink, chart, first) {
  const { x, y } = chart;
  let column = null;
  let low = 0;
  let high = 0;
  ink.strokeStyle = tones.ink;
  ink.lineWidth = 2;
  ink.lineJoin = 'round';
  ink.beginPath();
  const stroke = () => {
    ink.lineTo(column, y(high));
    if (low !== high) ink.lineTo(column, y(low));
  };
  for (let i = first; i < points.length; i += 1) {
    const at = Math.round(x(points[i][0]));
    if (at !== column) {
      if (column !== null) stroke();
      [column, low, high] = [at, points[i][1], points[i][2]];
    } else {
      low = Math.min(low, points[i][1]);
      high = Math.max(high, points[i][2]);
    }
  }
  stroke();
  ink.stroke();
}

// A mark says its word, unless it would stand on that of the one before.
function draw_marks(ink, chart) {
  const { x, y, width, from } = chart;
  let free = 0;
  ink.lineWidth = 2;
  ink.fillStyle = ink.strokeStyle = tones.ink;
  ink.textBaseline = 'bottom';
  ink.textAlign = 'left';
  const say = (words, at, top) => {
    const room = ink.measureText(words).width;
    const left = Math.min(Math.max(at - room / 2, 0), width - room);
    if (left < free) return;
    ink.fillText(words, left, top);
    free = left + room + 8;
  };
  for (const [time, load] of slips) {
    if (time < from) continue;
    ink.beginPath();
    ink.moveTo(x(time) - 5, y(load) - 12);
    ink.lineTo(x(time) + 5, y(load) - 12);
    ink.lineTo(x(time), y(load) - 3);
    ink.fill();
    say('slip', x(time), y(load) - 14);
  }
  const [time, load] = peak() ?? [-Infinity];
  if (time < from) return;
  ink.beginPath();
  ink.arc(x(time), y(load), 5, 0, 2 * Math.PI);
  ink.stroke();
  free = 0;
  say(`peak ${with_unit(load)}`, x(time), y(load) - 30); // above the word of a slip
}

function draw() {
  const canvas = document.getElementById('trace');
  if (!canvas) return;
  const scale = window.devicePixelRatio || 1;
  const [width, height] = [canvas.clientWidth, canvas.clientHeight];
  if (canvas.width !== Math.round(width * scale)) canvas.width = Math.round(width * scale);
  if (canvas.height !== Math.round(height * scale)) canvas.height = Math.round(height * scale);
  const ink = canvas.getContext('2d');
  ink.setTransform(scale, 0, 0, scale, 0, 0);
  ink.clearRect(0, 0, width, height);
  if (points.length < 2 || !now) return;
  const { from, to, first } = stretch();
  let most = now.peak_N ?? 0;
  for (let i = first; i < points.length; i += 1) most = Math.max(most, points[i][2]);
  most = Math.max(1, most);
  tones ??= tones_of(canvas);
  ink.font = tones.font;
  const [top, bottom] = [44, 20]; // for words
  const x = (time) => ((time - from) / (to - from)) * width;
  const y = (load) => height - bottom - (Math.max(load, 0) / most) * (height - top - bottom);
  const chart = { width, height, x, y, most, from, to };
  draw_grid(ink, chart);
  draw_line(ink, chart, first);
  draw_marks(ink, chart);
}

const clock = () => new Date().toTimeString().slice(0, 8);

// The same in words, now and then, and therefore with the time.
function tell() {
  const after = (time) => (bench.dataset.at === 'pull' ? '' : ` after ${Math.round(time - points[0][0])} s`);
  const highest = peak();
  const words = [];
  if (bench.dataset.at === 'pull') words.push(`At ${clock()}: ${with_unit(now.load_N)}`);
  if (highest) words.push(`peak ${with_unit(highest[1])}${after(highest[0])}`);
  const falls = slips.slice(-5).map(([time, load]) => `from ${with_unit(load)}${after(time)}`);
  if (slips.length) words.push(`${slips.length} ${slips.length === 1 ? 'slip' : 'slips'}, ${falls.join(', ')}`);
  put('told', words.length ? `${words.join('; ').replace(/^p/, 'P')}.` : '');
  told_ms = performance.now();
}

// ---- what is told is shown with the next frame ----

let asked = false;

function show() {
  asked = false;
  put('load', shown(now.load_N));
  put('rate', shown(now.rate_N_s));
  put('zero', shown(now.zero_N));
  put('phase', now.phase);
  if (bench.dataset.at !== 'answer') put('peak', shown(now.peak_N));
  draw();
  if (performance.now() - told_ms >= TOLD_EVERY_ms) tell();
}

function ask() {
  if (!asked) requestAnimationFrame(show);
  asked = true;
}

function say() {
  const trouble = now?.trouble ?? '';
  put('trouble', lost || (trouble ? `Trouble: ${trouble}.` : ''));
  bench.classList.toggle('old', lost !== '');
}

function take(load) {
  now = load;
  say();
  ask();
  if (bench.dataset.at !== 'pull') return;
  if (load.peak_N === null) slips = [];
  if (load.slips.length) told_ms = -Infinity;
  slips.push(...load.slips.filter(([time]) => !slips.some((one) => one[0] === time)));
  if (load.low_N === null || (points.length && load.time_s <= points[points.length - 1][0])) return;
  points.push([load.time_s, load.low_N, load.high_N]);
  const from = load.time_s - (load.peak_N === null ? BEFORE_s : SHOWN_s);
  if (load.peak_N === null || points.length > KEPT) points = points.filter((point) => point[0] >= from);
}

// ---- another step: the page anew ----

let renewing = false;

async function renew() {
  if (renewing) return;
  renewing = true;
  try {
    const reply = await fetch(location.pathname + location.search);
    const page = new DOMParser().parseFromString(await reply.text(), 'text/html');
    if (!page.getElementById('bench')) {
      put('trouble', 'Trouble: the page cannot be had anew. What is pulled is kept: load it again.');
      return;
    }
    document.querySelector('main').replaceWith(page.querySelector('main'));
    bench = document.getElementById('bench');
    told_ms = -Infinity;
    const first = bench.querySelector('.first') ?? bench.querySelector('input:not([type=hidden])');
    if (first) first.focus();
  } catch {
    // The line is down: the step comes again when it is up.
  } finally {
    renewing = false;
  }
  if (now && String(now.step) !== bench.dataset.step) setTimeout(check_step, 100);
  say();
  ask();
}

function check_step() {
  if (!lost && String(now.step) !== bench.dataset.step) renew();
}

// ---- news ----

let heard_ms = performance.now();

function lose() {
  if (lost) return;
  lost = `No word from the program since ${clock()}: what stands here is old. It is asked again and again.`;
  say();
}

function hear() {
  heard_ms = performance.now();
  lost = '';
}

function listen() {
  const news = new EventSource('/bench/news');
  news.addEventListener('load', (event) => {
    hear();
    const load = JSON.parse(event.data);
    if (String(load.step) === bench.dataset.step) take(load);
  });
  news.addEventListener('step', (event) => {
    hear();
    now = JSON.parse(event.data);
    ({ points, slips } = now);
    told_ms = -Infinity;
    say();
    ask();
    check_step();
  });
  // Also when the page is left; and an interruption that is over at once is none.
  news.addEventListener('error', () => {
    const before = heard_ms;
    setTimeout(() => heard_ms === before && lose(), LOST_ms);
    if (news.readyState === EventSource.CLOSED) setTimeout(listen, AGAIN_ms);
  });
}

listen();
setInterval(() => {
  if ('rig' in bench.dataset && performance.now() - heard_ms > SILENT_ms) lose();
}, 1000);
window.addEventListener('resize', () => now && ask());
matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => {
  tones = null;
  if (now) ask();
});

// ---- keys ----

document.addEventListener('keydown', (event) => {
  const typing = event.target.matches('input:not([type=radio]), select, textarea');
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (typing && event.key !== 'Enter') return;
  if (event.key === 'Enter' && event.target.matches('button, summary, a')) return;
  const key = event.key === 'Enter' ? 'Enter' : event.key.toLowerCase();
  // What is folded away has a place of its own all the same.
  const seen = (one) => one.offsetParent !== null && !one.closest('details:not([open])');
  const open = [...bench.querySelectorAll('[data-key]')].filter(seen);
  const target = open.find((one) => one.dataset.key === key);
  if (!target || (typing && target.form !== event.target.form)) return; // Enter sends the form typed in
  event.preventDefault();
  target.click();
});
