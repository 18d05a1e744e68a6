// SPDX-License-Identifier: GPL-3.0-or-later
// The drawing as SVG, in its own unit with y downwards: lines with a gap where another runs over them, a
// handle on each waypoint, ring and crossing. Elements are kept by key, so that one that has the focus keeps it.
import { name_of } from './drawing.js';
import { rim_line } from './rings.js';

const NS = 'http://www.w3.org/2000/svg';
const ROOM = 3; // round what is drawn
const WIDTH = 0.6; // of a line, in its thickness
const GAP = 0.2; // beside the line above
const DOT_px = 6;
const RING_px = 14;
const TOUCH_px = 28;
export const LEAST_RADIUS = 1;
export const MOST_RADIUS = 50;
const BESIDE_px = 17; // a crossing stands its number

const round = (value) => Number(value.toFixed(3));
const at = ({ x, y }) => `${round(x)} ${round(-y)}`;

function put(element, properties) {
  for (const [name, value] of Object.entries(properties)) {
    if (value === null) element.removeAttribute(name);
    else if (element.getAttribute(name) !== String(value)) element.setAttribute(name, value);
  }
  return element;
}

const capital = (words) => words[0].toUpperCase() + words.slice(1);

const made = (name, properties = {}) => put(document.createElementNS(NS, name), properties);

// The children of a group, by key, in the order in which they are asked for.
class Keyed {
  constructor(group) {
    this.group = group;
    this.known = new Map();
  }

  begin() {
    this.left = new Set(this.known.keys());
    this.cursor = this.group.firstChild;
  }

  get(key, make) {
    if (!this.known.has(key)) this.known.set(key, make());
    const element = this.known.get(key);
    this.left.delete(key);
    if (element === this.cursor) this.cursor = element.nextSibling;
    else this.group.insertBefore(element, this.cursor);
    return element;
  }

  end() {
    for (const key of this.left) {
      this.known.get(key).remove();
      this.known.delete(key);
    }
  }
}

// The parts of a line, as paths, between the gaps where it runs under. One that is closed ends where it begins.
function parts_of(points, passes, closed = false) {
  const gaps = [];
  let along = 0;
  const starts = points.map((point, i) => {
    if (i > 0) along += Math.hypot(point.x - points[i - 1].x, point.y - points[i - 1].y);
    return along;
  });
  passes.forEach((here, i) =>
    here.forEach(({ crossing, t, letter, thick }) => {
      if (letter === 'o') return;
      const middle = starts[i] + t * (starts[i + 1] - starts[i]);
      const half = Math.min((thick * WIDTH * 0.5 + GAP) / Math.max(crossing.sine, 0.25), 2.5);
      gaps.push([middle - half, middle + half]);
    }),
  );
  if (closed) gaps.push(...gaps.flatMap(([a, b]) => [[a - along, b - along], [a + along, b + along]]).filter(([a, b]) => a < along && b > 0));
  gaps.sort((a, b) => a[0] - b[0]);
  const point_at = (s) => {
    let i = 1;
    while (i < points.length - 1 && starts[i] < s) i += 1;
    const t = (s - starts[i - 1]) / (starts[i] - starts[i - 1] || 1);
    return { x: points[i - 1].x + t * (points[i].x - points[i - 1].x), y: points[i - 1].y + t * (points[i].y - points[i - 1].y) };
  };
  const parts = [];
  let from = 0;
  for (const [gap, to] of [...gaps, [along, along]]) {
    if (gap > from) {
      const between = points.filter((_, i) => starts[i] > from && starts[i] < gap);
      parts.push(`M${[point_at(from), ...between, point_at(gap)].map(at).join('L')}`);
    }
    from = Math.max(from, to);
  }
  return parts.join('');
}

// Where at a crossing there is most room between its runs, upwards.
function between({ piece }) {
  const [a, b] = piece.map(({ from, to }) => Math.atan2(to.y - from.y, to.x - from.x));
  const wide = Math.cos(a - b) > 0 ? Math.PI / 2 : 0;
  const angle = (a + b) / 2 + wide;
  const way = Math.sin(angle) < -1e-9 ? -1 : 1;
  return [way * Math.cos(angle), way * Math.sin(angle)];
}

export class Sheet {
  constructor(svg) {
    this.svg = svg;
    this.grid = svg.appendChild(made('path', { class: 'grid' }));
    this.runs = new Keyed(svg.appendChild(made('g')));
    this.way = svg.appendChild(made('path', { class: 'way' }));
    this.handles = new Keyed(svg.appendChild(made('g')));
    this.cursor = svg.appendChild(made('path', { class: 'cursor' }));
  }

  // What of the plane is shown: at least so much about the middle, all that is drawn, and what was shown
  // before, unless it is another drawing.
  frame(drawing, width, height, { anew = false, also = [] } = {}) {
    const rims = drawing.rings.flatMap(({ x, y, radius }) => [{ x: x - radius, y: y - radius }, { x: x + radius, y: y + radius }]);
    const points = [...drawing.lines.flatMap((line) => line.points), ...rims, ...also];
    const before = (!anew && this.box) || { left: 0, right: 0, top: 0, bottom: 0 };
    const reach = (axis, way, least) =>
      points.reduce((most, point) => Math.max(most, way * point[axis] + ROOM), least);
    this.box = {
      left: -reach('x', -1, Math.max(width / 2, -before.left)),
      right: reach('x', 1, Math.max(width / 2, before.right)),
      top: reach('y', 1, Math.max(height / 2, before.top)),
      bottom: -reach('y', -1, Math.max(height / 2, -before.bottom)),
    };
    const { left, right, top, bottom } = this.box;
    put(this.svg, { viewBox: `${left} ${-top} ${right - left} ${top - bottom}` });
    let grid = '';
    for (let x = Math.ceil(left / 2) * 2; x <= right; x += 2) grid += `M${x} ${-top}V${-bottom}`;
    for (let y = Math.ceil(bottom / 2) * 2; y <= top; y += 2) grid += `M${left} ${-y}H${right}`;
    put(this.grid, { d: grid });
  }

  bound({ x, y }) {
    const { left, right, top, bottom } = this.box;
    return { x: Math.min(Math.max(x, left), right), y: Math.min(Math.max(y, bottom), top) };
  }

  // Units to a pixel.
  get unit() {
    return (this.box.right - this.box.left) / (this.svg.clientWidth || 1);
  }

  place_of(event) {
    const seen = this.svg.getBoundingClientRect();
    return this.bound({
      x: this.box.left + (event.clientX - seen.left) * this.unit,
      y: this.box.top - (event.clientY - seen.top) * this.unit,
    });
  }

  show(drawing, { chosen, drawn, pointer, cursor, numbers }) {
    const crossings = drawing.crossings();
    const passes = drawing.passes(crossings);
    this.runs.begin();
    for (const ring of drawing.rings) this.show_rim(ring, crossings);
    drawing.lines.forEach((line, i) => this.show_line(line, passes[i]));
    this.runs.end();
    this.handles.begin();
    for (const ring of drawing.rings) this.show_ring(ring, chosen);
    drawing.lines.forEach((line, i) =>
      line.points.forEach((point, k) => this.show_point(line, k, { chosen: chosen === `point ${point.id}`, drawn: drawn === i })),
    );
    crossings.forEach((crossing, i) => this.show_crossing(crossing, i, numbers));
    this.handles.end();
    const last = drawn === null ? null : drawing.lines[drawn].points.at(-1);
    put(this.way, { d: last && pointer ? `M${at(last)}L${at(pointer)}` : '' });
    const arm = 10 * this.unit;
    put(this.cursor, {
      d: cursor ? `M${round(cursor.x - arm)} ${round(-cursor.y)}h${round(2 * arm)}M${at({ x: cursor.x, y: cursor.y + arm })}v${round(2 * arm)}` : '',
    });
    return crossings;
  }

  // Its texture lies on it, so that tone is not alone.
  show_line(line, passes) {
    const d = line.points.length > 1 ? parts_of(line.points, passes) : '';
    for (const part of ['run', 'texture'])
      put(this.runs.get(`${line.letter} ${part}`, () => made('path')), {
        d,
        class: `${part} ${line.rod ? 'hardware' : line.letter}`,
        'stroke-width': WIDTH * line.thick * (part === 'run' ? 1 : 0.99),
      });
  }

  show_rim(ring, crossings) {
    const { points, passes } = rim_line(ring, crossings);
    put(this.runs.get(`${ring.letter} run`, () => made('path')), {
      d: parts_of(points, passes, true),
      class: 'run hardware',
      'stroke-width': WIDTH * ring.thick,
    });
  }

  // It is held by its middle, and its rim on the right.
  show_ring({ id, letter, x, y, radius }, chosen) {
    const middle = this.handle(`ring ${id}`, `Ring ${letter}, its middle, at ${round(x)}, ${round(y)}, radius ${round(radius)}`, null);
    put(middle, { class: `hold${chosen === `ring ${id}` ? ' chosen' : ''}` });
    this.move(middle, x, y, DOT_px * 1.5);
    this.say(middle, letter, -22, -10);
    const rim = this.handle(`rim ${id}`, `Radius of ring ${letter}`, null);
    put(rim, {
      class: `hold rim${chosen === `rim ${id}` ? ' chosen' : ''}`,
      role: 'slider',
      'aria-valuenow': round(radius),
      'aria-valuemin': LEAST_RADIUS,
      'aria-valuemax': MOST_RADIUS,
      'aria-valuetext': `${round(radius)} line diameters`,
    });
    this.move(rim, x + radius, y, DOT_px);
  }

  handle(key, label, pressed) {
    const group = this.handles.get(key, () => {
      const one = made('g', { role: 'button', tabindex: 0, 'data-key': key });
      for (const name of ['touch', 'ring', 'dot', 'arrow']) one.append(made(name === 'arrow' ? 'path' : 'circle', { class: name }));
      one.append(made('text'));
      return one;
    });
    return put(group, { 'aria-label': label, 'aria-pressed': pressed });
  }

  move(group, x, y, dot_px) {
    const [touch, ring, dot] = group.children;
    put(group, { transform: `translate(${round(x)} ${round(-y)})` });
    put(touch, { r: round(TOUCH_px * this.unit) });
    put(ring, { r: round(RING_px * this.unit) });
    put(dot, { r: round(dot_px * this.unit) });
  }

  say(group, words, dx_px, dy_px) {
    const text = group.lastChild;
    if (text.textContent !== words) text.textContent = words;
    put(text, { x: round(dx_px * this.unit), y: round(dy_px * this.unit), 'font-size': round(14 * this.unit) });
  }

  show_point(line, k, { chosen, drawn }) {
    const { id, x, y } = line.points[k];
    const last = line.points.length - 1;
    const end = k === 0 ? 0 : k === last ? 1 : -1;
    const loaded = end >= 0 && line.loaded[end];
    const which = end < 0 ? `point ${k + 1} of ${last + 1}` : `its ${end ? 'last' : 'first'} point`;
    const pulls = end >= 0 && !line.rod;
    const who = capital(name_of(line));
    const group = this.handle(`point ${id}`, `${who}, ${which}, at ${round(x)}, ${round(y)}${!pulls ? '' : loaded ? ', pulled' : ', not pulled'}`, pulls ? loaded : null);
    put(group, { class: `point${end < 0 ? '' : ' end'}${chosen ? ' chosen' : ''}${loaded ? ' loaded' : ''}` });
    this.move(group, x, y, drawn && k === last ? DOT_px * 1.5 : DOT_px);
    this.point_arrow(group.children[3], loaded && last > 0 ? line.points[end ? last - 1 : 1] : null, line.points[k]);
    this.say(group, k === 0 ? line.letter : '', -22, -10);
  }

  point_arrow(arrow, before, point) {
    if (!before) {
      put(arrow, { d: '' });
      return;
    }
    const size = 12 * this.unit;
    const angle = (Math.atan2(-(point.y - before.y), point.x - before.x) * 180) / Math.PI;
    put(arrow, { d: `M0 ${round(-size)}L${round(2 * size)} 0L0 ${round(size)}Z`, transform: `rotate(${round(angle)})` });
  }

  show_crossing(crossing, i, numbers) {
    const [above, below] = [crossing.piece[crossing.over], crossing.piece[1 - crossing.over]];
    const pass = above.number > below.number ? 'later' : 'earlier';
    const who = above.letter === below.letter ? `the ${pass} pass of ${name_of(above)} runs over` : `${name_of(above)} runs over ${name_of(below)}`;
    const group = this.handle(`crossing ${crossing.key}`, `Crossing ${i + 1}, at ${crossing.x.toFixed(1)}, ${crossing.y.toFixed(1)}: ${who}`, null);
    put(group, { class: 'crossing' });
    this.move(group, crossing.x, crossing.y, 0);
    const [right, up] = between(crossing);
    this.say(group, numbers ? String(i + 1) : '', BESIDE_px * right - 4, 5 - BESIDE_px * up);
  }
}
