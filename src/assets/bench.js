// SPDX-License-Identifier: GPL-3.0-or-later
// The page of the bench, live: loads come as events, another step brings the page anew, and keys press
// the button that shows them. Without this script the page is the same, and stands still.
'use strict';

let bench = document.getElementById('bench');
let points = [];

function shown(newtons) {
  if (newtons === null) return '-';
  let words = (newtons * Number(bench.dataset.perNewton)).toFixed(Number(bench.dataset.decimals));
  if (Number(words) === 0) words = words.replace('-', '');
  return words.replace('.', document.documentElement.dataset.decimal ?? '.');
}

function put(id, words) {
  const place = document.getElementById(id);
  if (place && place.textContent !== words) place.textContent = words;
}

// ---- the trace: lowest and highest load of each thirtieth of a second ----

function draw() {
  const canvas = document.getElementById('trace');
  if (!canvas) return;
  const scale = window.devicePixelRatio || 1;
  const width = canvas.clientWidth;
  const height = canvas.clientHeight;
  if (canvas.width !== Math.round(width * scale)) canvas.width = Math.round(width * scale);
  if (canvas.height !== Math.round(height * scale)) canvas.height = Math.round(height * scale);
  const ink = canvas.getContext('2d');
  const style = getComputedStyle(canvas);
  ink.setTransform(scale, 0, 0, scale, 0, 0);
  ink.clearRect(0, 0, width, height);
  if (points.length < 2) return;
  const from = points[0][0];
  const span = Math.max(points[points.length - 1][0] - from, 10);
  const most = Math.max(1, ...points.map((point) => point[2])) * 1.1;
  const x = (time) => ((time - from) / span) * width;
  const y = (load) => height - 1 - (Math.max(load, 0) / most) * (height - 2);
  ink.strokeStyle = style.borderBottomColor;
  ink.beginPath();
  ink.moveTo(0, y(0));
  ink.lineTo(width, y(0));
  ink.stroke();
  ink.strokeStyle = style.color;
  ink.lineWidth = 2;
  ink.lineJoin = 'round';
  ink.beginPath();
  for (const [time, low, high] of points) {
    ink.lineTo(x(time), y(high));
    ink.lineTo(x(time), y(low));
  }
  ink.stroke();
}

function take(load) {
  put('load', shown(load.load_N));
  put('rate', shown(load.rate_N_s));
  put('phase', load.phase);
  if (bench.dataset.at !== 'answer') put('peak', shown(load.peak_N));
  if (bench.dataset.at !== 'pull' || load.low_N === null) return;
  points.push([load.time_s, load.low_N, load.high_N]);
  if (load.peak_N === null && points.length > 150) points.shift();
  requestAnimationFrame(draw);
}

// ---- another step: the page anew, with what is typed into it kept by the browser ----

async function renew() {
  const reply = await fetch(location.pathname + location.search);
  const page = new DOMParser().parseFromString(await reply.text(), 'text/html');
  if (!page.getElementById('bench')) {
    put('trouble', 'Trouble: the page cannot be had anew. What is pulled is kept: load it again.');
    return;
  }
  document.querySelector('main').replaceWith(page.querySelector('main'));
  bench = document.getElementById('bench');
  const first = bench.querySelector('.first') ?? bench.querySelector('input:not([type=hidden])');
  if (first) first.focus();
  draw();
}

const news = new EventSource('/bench/news');
news.addEventListener('load', (event) => {
  const load = JSON.parse(event.data);
  if (String(load.step) === bench.dataset.step) take(load);
});
news.addEventListener('step', (event) => {
  const step = JSON.parse(event.data);
  points = step.points;
  if (String(step.step) !== bench.dataset.step) {
    renew();
    return;
  }
  put('trouble', step.trouble ? `Trouble: ${step.trouble}.` : '');
  draw();
});
news.addEventListener('error', () => put('phase', 'no word from the program'));

// ---- keys ----

document.addEventListener('keydown', (event) => {
  const typing = event.target.matches('input:not([type=radio]), select, textarea');
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (typing && event.key !== 'Enter') return;
  if (event.key === 'Enter' && event.target.matches('button, summary, a')) return;
  const key = event.key === 'Enter' ? 'Enter' : event.key.toLowerCase();
  const open = [...bench.querySelectorAll('[data-key]')].filter((one) => one.offsetParent !== null);
  const target = open.find((one) => one.dataset.key === key);
  if (!target) return;
  event.preventDefault();
  target.click();
});
