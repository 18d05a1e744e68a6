// SPDX-License-Identifier: GPL-3.0-or-later
// A pad on which a tie is drawn, in an element of class pad with data-text, the id of the text area that
// holds the tie; data-name and data-kind begin a new one. What is drawn is written there, and what is
// typed there is read back. A photo may lie under it: it stays in the browser.
import { Drawing, name_of } from './drawing.js';
import { listen_to_keys, listen_to_pointers } from './hands.js';
import { Unread, many, shown } from './notation.js';
import { LEAST_RADIUS, MOST_RADIUS, Sheet } from './sheet.js';

const WIDE = [32, 20]; // units shown at least
const NARROW = [22, 26];
const NARROW_px = 600;
const KEPT = 200; // steps that can be undone
const RADIUS = 3; // of a new ring
const FAR = 200; // from the middle, no farther
const TYPED_ms = 400;
const PHOTO_px = 2000;

function made(name, properties, ...inside) {
  const element = Object.assign(document.createElement(name), properties);
  element.append(...inside);
  return element;
}

function moved({ x, y }, dx, dy) {
  const near = (value) => Number(Math.min(Math.max(value, -FAR), FAR).toFixed(2));
  return { x: near(x + dx), y: near(y + dy) };
}

const radius_near = (radius) => Number(Math.min(Math.max(radius, LEAST_RADIUS), MOST_RADIUS).toFixed(2));

class Pad {
  drawing = new Drawing();
  drawn = null; // the line that is being drawn
  chosen = null; // key of what was tapped or had the focus last
  pointer = null;
  cursor = { x: 0, y: 0 };
  keys = false; // the sheet itself has the focus
  steps = [];

  constructor(place, text) {
    this.place = place;
    this.text = text;
    this.build();
    this.sheet = new Sheet(this.svg);
    listen_to_pointers(this, this.svg);
    listen_to_keys(this, this.svg);
    this.text.addEventListener('input', () => {
      clearTimeout(this.typed);
      this.typed = setTimeout(() => this.read(), TYPED_ms);
    });
    new ResizeObserver(() => this.frame()).observe(this.svg);
    this.read();
  }

  // ---- what there is to press ----

  build() {
    const button = (words, act) => {
      const one = made('button', { type: 'button', textContent: words });
      one.addEventListener('click', act);
      return one;
    };
    this.buttons = {
      begin: button('New line', () => this.begin(false)),
      ring: button('Add a ring', () => this.add_ring()),
      rod: button('New rod', () => this.begin(true)),
      end: button('End the line', () => this.end_line()),
      remove: button('Delete the point', () => this.remove_chosen()),
      undo: button('Undo', () => this.undo()),
    };
    this.tools = made('div', { className: 'moves', role: 'group', ariaLabel: 'The pad' }, ...Object.values(this.buttons));
    this.canvas = made('canvas', {});
    this.canvas.setAttribute('aria-hidden', 'true');
    this.svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
    const id = `${this.text.id}-pad`;
    const says = { role: 'application', tabindex: 0, 'aria-label': 'Drawing pad', 'aria-describedby': id };
    for (const [name, value] of Object.entries(says)) this.svg.setAttribute(name, value);
    this.told = made('p', { className: 'told', role: 'status' });
    const help = made('details', {}, made('summary', { textContent: 'How the pad is used' }), made('ul', { id },
      made('li', { textContent: 'While a line is drawn, each tap puts a point; a second tap on the last one ends the line.' }),
      made('li', { textContent: 'After that, drag a point, or a run between two; tap a crossing and the other run goes over; tap an end and it is pulled, or not.' }),
      made('li', { textContent: 'Add a ring puts one, an eye or a hook: drag its middle to move it, its rim to make it wider. A line drawn through it goes in over its rim and out under it, until you tap a crossing. New rod draws a shank, point after point.' }),
      made('li', { textContent: 'By keys: arrows move the cross, Space puts a point, Enter ends the line. Tab goes to rings, points and crossings: arrows move a ring or a point (with Shift by a tenth), Space changes a crossing or an end, Insert and Delete put and take points; on a ring + and - change its radius, Delete takes it. Ctrl and Z undoes. Escape leaves the pad.' }),
    ));
    this.place.append(this.tools, made('div', { className: 'sheet' }, this.canvas, this.svg), this.told, help, this.photo_field());
  }

  photo_field() {
    const input = made('input', { type: 'file', accept: 'image/*', id: `${this.text.id}-photo` });
    const label = made('label', { htmlFor: input.id, textContent: 'A photo to draw over; it stays in this browser' });
    input.addEventListener('change', () => this.show_photo(input.files[0]));
    return made('div', { className: 'under' }, label, input);
  }

  async show_photo(file) {
    this.photo?.close();
    this.photo = null;
    try {
      if (file) this.photo = await createImageBitmap(file);
    } catch {
      this.say(`${file.name} could not be read as a picture.`);
    }
    this.draw_photo();
  }

  draw_photo() {
    const [width, height] = [this.svg.clientWidth, this.svg.clientHeight];
    const dense = this.photo ? Math.min(window.devicePixelRatio || 1, PHOTO_px / Math.max(width, 1)) : 0;
    this.canvas.width = width * dense;
    this.canvas.height = height * dense;
    if (!this.photo || !width) return;
    const scale = Math.min(this.canvas.width / this.photo.width, this.canvas.height / this.photo.height);
    const [w, h] = [this.photo.width * scale, this.photo.height * scale];
    this.canvas.getContext('2d').drawImage(this.photo, (this.canvas.width - w) / 2, (this.canvas.height - h) / 2, w, h);
  }

  // ---- text ----

  read() {
    const text = this.text.value;
    try {
      const drawing = text.trim() ? Drawing.of_text(text) : this.empty();
      if (this.said !== undefined) this.keep();
      this.drawing = drawing;
      this.drawn = drawing.lines.some(({ rod }) => !rod) ? null : drawing.begin();
      this.shut('');
      this.frame({ anew: true });
      const untold = drawing.crossings().filter((crossing) => !crossing.told).length;
      this.say(untold ? `It is not told which runs over at ${many(untold, 'crossing')}: the later run is shown so.` : '');
    } catch (error) {
      if (!(error instanceof Unread)) throw error;
      this.shut(`The pad cannot show this tie. ${error.message}`);
    }
  }

  empty() {
    const drawing = new Drawing();
    for (const name of ['name', 'kind'])
      if (this.place.dataset[name]) drawing.head.push(`${name === 'name' ? 'tie' : name} ${this.place.dataset[name]}`);
    return drawing;
  }

  shut(words) {
    this.place.classList.toggle('shut', words !== '');
    for (const one of [this.tools, this.svg]) one.toggleAttribute('inert', words !== '');
    if (words) this.say(words);
  }

  // ---- steps ----

  keep() {
    this.steps.push({ drawing: this.drawing.copy(), drawn: this.drawn });
    if (this.steps.length > KEPT) this.steps.shift();
  }

  undo() {
    const step = this.steps.pop();
    if (!step) return;
    Object.assign(this, step);
    this.shut('');
    this.changed('Undone.');
  }

  change(act, words) {
    this.keep();
    act();
    this.changed(words);
  }

  // Crossings that no text told yet are told from now on.
  changed(words) {
    this.drawing.settle();
    this.text.value = this.drawing.text();
    this.show();
    this.say(words);
  }

  say(words) {
    const points = this.drawing.lines.reduce((sum, line) => sum + line.points.length, 0);
    const rings = this.drawing.rings.length ? `, ${many(this.drawing.rings.length, 'ring')}` : '';
    const counts = `${many(points, 'point')}, ${many(this.crossings?.length ?? 0, 'crossing')}${rings}.`;
    const shut = this.place.classList.contains('shut');
    this.said = [words, shut ? '' : counts, shut ? '' : this.drawing.trouble()].filter(Boolean).join(' ');
    if (this.told.textContent !== this.said) this.told.textContent = this.said;
  }

  // What is taken away loses its focus on the way, and is not to be shown again for that.
  show() {
    if (this.showing) return;
    this.showing = true;
    this.crossings = this.sheet.show(this.drawing, {
      chosen: this.chosen,
      drawn: this.drawn,
      pointer: this.keys ? this.cursor : this.pointer,
      cursor: this.keys ? this.cursor : null,
      numbers: this.drawn === null,
    });
    this.showing = false;
    this.svg.classList.toggle('draws', this.drawn !== null);
    const { begin, end, ring, rod, remove, undo } = this.buttons;
    begin.disabled = this.drawn !== null || this.drawing.full(false);
    ring.disabled = this.drawing.full(true);
    rod.disabled = this.drawn_points() > 0 || this.drawing.full(true);
    end.disabled = this.drawn === null;
    const of_ring = this.chosen_ring() !== null;
    const words = of_ring ? 'Delete the ring' : 'Delete the point';
    if (remove.textContent !== words) remove.textContent = words;
    remove.disabled = !of_ring && this.chosen_point() === null;
    undo.disabled = !this.steps.length;
  }

  frame(how) {
    const least = this.svg.clientWidth && this.svg.clientWidth < NARROW_px ? NARROW : WIDE;
    this.sheet.frame(this.drawing, ...least, how);
    this.show();
    this.draw_photo();
  }

  // ---- lines ----

  // A line that has no point yet gives way to a rod.
  begin(rod) {
    this.change(() => {
      this.drawing.drop_short();
      this.drawn = this.drawing.begin(rod);
      this.chosen = null;
    }, `A new ${rod ? 'rod' : 'line'}: put its points.`);
    this.svg.focus({ preventScroll: true });
  }

  drawn_points() {
    return this.drawn === null ? 0 : this.drawing.lines[this.drawn].points.length;
  }

  end_line() {
    if (this.drawn === null) return;
    const name = name_of(this.drawing.lines[this.drawn]);
    this.change(() => {
      this.drawing.drop_short();
      this.drawn = null;
    }, `${name[0].toUpperCase()}${name.slice(1)} ends.`);
    this.frame();
  }

  put(place) {
    if (this.drawn === null && this.drawing.lines.length) {
      this.say('A new line begins with New line.');
      return;
    }
    const last = this.drawn === null ? null : this.drawing.lines[this.drawn].points.at(-1);
    if (last && last.x === place.x && last.y === place.y) return;
    this.change(() => {
      this.drawn ??= this.drawing.begin();
      this.drawing.put(this.drawn, place.x, place.y);
    }, `At ${shown(place.x)}, ${shown(place.y)}.`);
  }

  remove_last() {
    const last = this.drawn === null ? null : this.drawing.lines[this.drawn].points.at(-1);
    if (last) this.change(() => this.drawing.remove(last.id), 'The last point is gone.');
  }

  // ---- points and crossings ----

  chosen_point() {
    const [kind, id] = (this.chosen ?? '').split(' ');
    return kind === 'point' && this.drawing.find(Number(id)) ? Number(id) : null;
  }

  chosen_ring() {
    const [kind, id] = (this.chosen ?? '').split(' ');
    return (kind === 'ring' || kind === 'rim') && this.drawing.ring(Number(id)) ? Number(id) : null;
  }

  remove_chosen() {
    const [ring, point] = [this.chosen_ring(), this.chosen_point()];
    if (ring !== null) this.remove_ring(ring);
    else if (point !== null) this.remove(point);
  }

  // The focus goes to the point before.
  remove(id) {
    const { line, number } = this.drawing.find(id);
    const { points } = this.drawing.lines[line];
    const near = points[number - 1] ?? points[number + 1];
    this.change(() => {
      this.drawing.remove(id);
      if (this.drawn === null) this.drawing.drop_short();
      this.chosen = near ? `point ${near.id}` : null;
    }, 'The point is gone.');
    if (near) this.focus(`point ${near.id}`);
    else this.svg.focus({ preventScroll: true });
  }

  insert(id) {
    const { line, number, point, last } = this.drawing.find(id);
    if (number === last) return;
    const to = this.drawing.lines[line].points[number + 1];
    this.change(() => {
      const half = this.drawing.split(id, (point.x + to.x) / 2, (point.y + to.y) / 2);
      this.chosen = `point ${half.id}`;
    }, 'A point between.');
    this.focus(this.chosen);
  }

  nudge(id, [dx, dy], step) {
    const { point } = this.drawing.find(id);
    const to = moved(point, dx * step, dy * step);
    this.change(() => Object.assign(point, to), `At ${shown(to.x)}, ${shown(to.y)}.`);
    this.frame();
  }

  press(key) {
    const [kind, id] = key.split(' ');
    if (kind === 'crossing') {
      const crossing = this.crossings.find((one) => `crossing ${one.key}` === key);
      if (crossing) this.change(() => this.drawing.toggle(crossing), 'The other runs over.');
      return;
    }
    if (kind !== 'point') return;
    const { line, number, last } = this.drawing.find(Number(id));
    if (this.drawing.lines[line].rod) return;
    if (number !== 0 && number !== last) return;
    const end = number === 0 ? 0 : 1;
    const { loaded, letter } = this.drawing.lines[line];
    this.change(() => {
      loaded[end] = !loaded[end];
    }, `Line ${letter} is ${loaded[end] ? 'not pulled' : 'pulled'} at its ${end ? 'last' : 'first'} point.`);
  }

  // ---- rings ----

  // Right of what there is, at the same height.
  add_ring() {
    const points = this.drawing.lines.flatMap((line) => line.points);
    const most = Math.max(...points.map(({ x }) => x), ...this.drawing.rings.map(({ x, radius }) => x + radius));
    const place = moved({ x: Number.isFinite(most) ? Math.round(most) + RADIUS + 2 : 2 * RADIUS, y: 0 }, 0, 0);
    let id;
    this.change(() => {
      id = this.drawing.put_ring(place.x, place.y, RADIUS).id;
      this.chosen = `ring ${id}`;
    }, `A ring at ${shown(place.x)}, ${shown(place.y)}, radius ${RADIUS}.`);
    this.frame();
    this.focus(`ring ${id}`);
  }

  nudge_ring(id, [dx, dy], step) {
    const ring = this.drawing.ring(id);
    const to = moved(ring, dx * step, dy * step);
    this.change(() => Object.assign(ring, to), `At ${shown(to.x)}, ${shown(to.y)}.`);
    this.frame();
  }

  resize(id, more) {
    const ring = this.drawing.ring(id);
    const radius = radius_near(ring.radius + more);
    this.change(() => Object.assign(ring, { radius }), `Radius ${shown(radius)}.`);
    this.frame();
  }

  remove_ring(id) {
    this.change(() => {
      this.drawing.remove_ring(id);
      this.chosen = null;
    }, 'The ring is gone.');
    this.svg.focus({ preventScroll: true });
  }

  // ---- hands ----

  point_at(place) {
    if (this.drawn === null && !this.pointer) return;
    this.pointer = this.drawn === null ? null : place;
    this.show();
  }

  tap(on, place) {
    if (this.drawn !== null) {
      const last = this.drawing.lines[this.drawn].points.at(-1);
      if (on && on.id === last?.id && this.drawing.lines[this.drawn].points.length > 1) this.end_line();
      else this.put(place);
      this.svg.focus({ preventScroll: true, focusVisible: false });
      return;
    }
    if (!on || on.kind === 'run') {
      if (!on) this.put(place);
      return;
    }
    const key = on.kind === 'crossing' ? `crossing ${on.key}` : `${on.kind} ${on.id}`;
    this.chosen = key;
    this.press(key);
    this.focus(key, false);
    this.show();
  }

  // A run is bent by a new point in it.
  begin_drag(on) {
    if (!on || on.kind === 'crossing') return null;
    this.keep();
    if (on.kind !== 'run') return on;
    return { kind: 'point', id: this.drawing.split(on.id, on.x, on.y).id };
  }

  drag({ kind, id }, place) {
    if (kind === 'point') Object.assign(this.drawing.find(id).point, place);
    const ring = kind === 'point' ? null : this.drawing.ring(id);
    if (kind === 'ring') Object.assign(ring, place);
    if (kind === 'rim') ring.radius = radius_near(Math.round(10 * Math.hypot(place.x - ring.x, place.y - ring.y)) / 10);
    this.chosen = `${kind} ${id}`;
    this.changed('');
  }

  end_drag() {
    this.frame();
  }

  move_cursor([dx, dy], step) {
    this.cursor = moved(this.cursor, dx * step, dy * step);
    this.frame({ also: [this.cursor] });
    this.say(`The cross is at ${shown(this.cursor.x)}, ${shown(this.cursor.y)}.`);
  }

  focus(key, focusVisible = true) {
    this.svg.querySelector(`[data-key="${key}"]`)?.focus({ preventScroll: true, focusVisible });
  }

  // undefined: it left the sheet; null: it is on the sheet itself.
  focused(key) {
    this.keys = key === null && this.svg.matches(':focus-visible');
    if (key) this.chosen = key;
    this.show();
  }

  leave() {
    this.text.focus();
  }
}

export function open(place) {
  const text = document.getElementById(place.dataset.text);
  if (text) new Pad(place, text);
}
