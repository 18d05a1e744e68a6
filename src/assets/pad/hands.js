// SPDX-License-Identifier: GPL-3.0-or-later
// What is done to the pad by mouse, finger and key, as words for pad.js: put, drag, tap, ...
import { nearest_on } from './drawing.js';
import { off_rim } from './rings.js';

const NEAR_px = 28; // to what is already drawn, half of a target
const NEAR_DRAWING_px = 11; // while a line is drawn, waypoints may stand close
const STILL_px = 6; // less is no drag
const STEP = 1;
const FINE = 0.1; // with Shift
const AHEAD = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

const tenth = (value) => Math.round(value * 10) / 10;

// What of the drawing is nearest: { kind: point, ring, rim, crossing or run, key or id, ... }, or null.
function hit(drawing, sheet, place, drawn) {
  let reach = (drawn === null ? NEAR_px : NEAR_DRAWING_px) * sheet.unit;
  let best = null;
  const offer = (apart, what) => {
    if (apart <= reach && (!best || apart < best.apart)) best = { ...what, apart };
  };
  for (const line of drawing.lines)
    for (const { id, x, y } of line.points)
      offer(Math.hypot(x - place.x, y - place.y), { kind: 'point', id });
  if (best && drawn !== null) return best;
  reach = NEAR_px * sheet.unit;
  for (const { id, x, y, radius } of drawing.rings) {
    offer(Math.hypot(x - place.x, y - place.y), { kind: 'ring', id });
    offer(Math.hypot(x + radius - place.x, y - place.y), { kind: 'rim', id });
  }
  if (drawn !== null) return best;
  for (const crossing of drawing.crossings())
    offer(Math.hypot(crossing.x - place.x, crossing.y - place.y), { kind: 'crossing', key: crossing.key });
  if (best) return best;
  for (const { from, to, id } of drawing.pieces()) {
    const on = nearest_on(from, to, place.x, place.y);
    if (on.apart <= reach / 2) offer(on.apart, { kind: 'run', id, x: on.x, y: on.y });
  }
  for (const ring of drawing.rings)
    if (off_rim(ring, place) <= reach / 2) offer(off_rim(ring, place), { kind: 'rim', id: ring.id });
  return best;
}

export function listen_to_pointers(pad, svg) {
  let start = null;
  svg.addEventListener('pointerdown', (event) => {
    if (event.button !== 0 || start) return;
    const place = pad.sheet.place_of(event);
    start = { id: event.pointerId, x: event.clientX, y: event.clientY, hit: hit(pad.drawing, pad.sheet, place, pad.drawn), moved: false };
    event.preventDefault(); // the focus goes where pad.js says
    svg.setPointerCapture(event.pointerId);
  });
  svg.addEventListener('pointermove', (event) => {
    const place = pad.sheet.place_of(event);
    if (event.pointerId !== start?.id) {
      if (event.pointerType === 'mouse') pad.point_at(place);
      return;
    }
    if (!start.moved && Math.hypot(event.clientX - start.x, event.clientY - start.y) < STILL_px) return;
    if (!start.moved) start.hit = pad.begin_drag(start.hit);
    start.moved = true;
    if (start.hit) pad.drag(start.hit, { x: tenth(place.x), y: tenth(place.y) });
  });
  svg.addEventListener('pointerup', (event) => {
    if (event.pointerId !== start?.id) return;
    const { hit: on, moved } = start;
    start = null;
    const place = pad.sheet.place_of(event);
    if (moved) pad.end_drag();
    else pad.tap(on, { x: tenth(place.x), y: tenth(place.y) });
  });
  svg.addEventListener('pointercancel', (event) => {
    if (event.pointerId === start?.id) start = null;
  });
  svg.addEventListener('pointerleave', () => pad.point_at(null));
}

function key_on_ring(pad, kind, id, event) {
  const ahead = AHEAD[event.key];
  const step = event.shiftKey && ahead ? FINE : STEP;
  const more = { '+': 1, '-': -1 }[event.key] ?? (kind === 'rim' && ahead ? ahead[0] + ahead[1] : 0);
  if (more) pad.resize(id, more * step);
  else if (ahead) pad.nudge_ring(id, ahead, step);
  else if (event.key === 'Delete' || event.key === 'Backspace') pad.remove_ring(id);
  else return false;
  return true;
}

function key_on_handle(pad, key, event) {
  const [kind, ...rest] = key.split(' ');
  const ahead = AHEAD[event.key];
  if (event.key === ' ' || event.key === 'Enter') pad.press(key);
  else if (kind === 'crossing') return false;
  else if (kind === 'ring' || kind === 'rim') return key_on_ring(pad, kind, Number(rest[0]), event);
  else if (ahead) pad.nudge(Number(rest[0]), ahead, event.shiftKey ? FINE : STEP);
  else if (event.key === 'Delete' || event.key === 'Backspace') pad.remove(Number(rest[0]));
  else if (event.key === 'Insert' || event.key === 'i') pad.insert(Number(rest[0]));
  else return false;
  return true;
}

function key_on_sheet(pad, event) {
  const ahead = AHEAD[event.key];
  if (ahead) pad.move_cursor(ahead, event.shiftKey ? FINE : STEP);
  else if (event.key === ' ') pad.put(pad.cursor);
  else if (event.key === 'Enter') pad.end_line();
  else if (event.key === 'Backspace' || event.key === 'Delete') pad.remove_last();
  else return false;
  return true;
}

export function listen_to_keys(pad, svg) {
  svg.addEventListener('keydown', (event) => {
    if (event.altKey) return;
    if (event.ctrlKey || event.metaKey) {
      if (event.key !== 'z') return;
      event.preventDefault();
      pad.undo();
      return;
    }
    const key = event.target.closest('[data-key]')?.dataset.key;
    if (event.key === 'Escape') {
      event.preventDefault();
      pad.leave();
    } else if (key ? key_on_handle(pad, key, event) : key_on_sheet(pad, event)) {
      event.preventDefault();
    }
  });
  svg.addEventListener('focusin', (event) => pad.focused(event.target.closest('[data-key]')?.dataset.key ?? null));
  svg.addEventListener('focusout', () => pad.focused(undefined));
}
