// SPDX-License-Identifier: GPL-3.0-or-later
// What is drawn: lines and rods through waypoints, rings, and which of two pieces that cross runs over. A piece
// is known by its first waypoint, so that a crossing keeps its answer while its ends are moved. Knows no screen.
import { Unread, many, read, shown, write } from './notation.js';
import { between_rims, meet_rim, off_rim, rim_piece } from './rings.js';

const LETTERS = ['A', 'B', 'C'];
const HARDWARE = ['R', 'S', 'T'];
const MOST = 4; // lines, rods and rings together
const ROD_THICK = 2;
const TOO_NEAR = 0.05; // a waypoint to a piece that is not its own

export const name_of = ({ letter, rod, rim }) => `${rim ? 'ring' : rod ? 'rod' : 'line'} ${letter}`;

const key_of = (a, b) => (a < b ? `${a} ${b}` : `${b} ${a}`);

function meet(p, q, r, s) {
  const [ax, ay, bx, by] = [q.x - p.x, q.y - p.y, s.x - r.x, s.y - r.y];
  const area = ax * by - ay * bx;
  if (Math.abs(area) < 1e-9) return null;
  const t = ((r.x - p.x) * by - (r.y - p.y) * bx) / area;
  const u = ((r.x - p.x) * ay - (r.y - p.y) * ax) / area;
  if (t <= 0 || t >= 1 || u <= 0 || u >= 1) return null;
  const sine = Math.abs(area) / (Math.hypot(ax, ay) * Math.hypot(bx, by));
  return { at: [t, u], x: p.x + t * ax, y: p.y + t * ay, sine };
}

// Where on the piece from a to b it is nearest to x, y.
export function nearest_on(a, b, x, y) {
  const [dx, dy] = [b.x - a.x, b.y - a.y];
  const t = Math.min(Math.max(((x - a.x) * dx + (y - a.y) * dy) / (dx * dx + dy * dy || 1), 0), 1);
  return { x: a.x + t * dx, y: a.y + t * dy, apart: Math.hypot(a.x + t * dx - x, a.y + t * dy - y) };
}

export class Drawing {
  head = [];
  tail = [];
  lines = []; // rods too
  rings = [];
  over = {}; // of two pieces that cross, the one above
  next = 1;

  static of_text(text) {
    const drawing = new Drawing();
    const { head, rings, lines, tail } = read(text);
    Object.assign(drawing, { head, tail });
    drawing.rings = rings.map((ring) => ({ ...ring, id: drawing.next++ }));
    for (const { letter, thick, rod, points, loaded } of lines)
      drawing.lines.push({ letter, thick, rod, loaded, points: points.map((point) => ({ ...point, id: drawing.next++ })) });
    drawing.take_told(lines);
    return drawing;
  }

  copy() {
    return Object.assign(new Drawing(), structuredClone({ ...this }));
  }

  // ---- crossings ----

  pieces() {
    return this.lines.flatMap(({ letter, thick, rod, points }, i) =>
      points.slice(1).map((to, k) => ({ line: i, number: k, from: points[k], to, id: points[k].id, letter, thick, rod })),
    );
  }

  // In the order in which they are met. `piece` has the two that cross, `over` says which is above.
  crossings() {
    const pieces = this.pieces();
    const found = [];
    pieces.forEach((a, i) => {
      for (let k = i + 1; k < pieces.length; k += 1) {
        const b = pieces[k];
        if ((a.line === b.line && b.number - a.number < 2) || (a.rod && b.rod)) continue;
        const place = meet(a.from, a.to, b.from, b.to);
        if (!place) continue;
        const key = key_of(a.id, b.id);
        found.push({ ...place, key, piece: [a, b], over: this.over[key] === a.id ? 0 : 1, told: key in this.over });
      }
      if (!a.rod) found.push(...this.rings.flatMap((ring) => this.rim_crossings(ring, a)));
    });
    const first = ({ piece, at }) => [piece[0].line, piece[0].number + at[0]];
    return found.sort((a, b) => first(a)[0] - first(b)[0] || first(a)[1] - first(b)[1]);
  }

  // Until it is told, a line goes through a ring: in over its rim, and out under it.
  rim_crossings(ring, piece) {
    return meet_rim(ring, piece.from, piece.to).map(({ way, ...place }) => {
      const key = `${key_of(piece.id, ring.id)} ${way}`;
      const told = key in this.over;
      const over = told ? Number(this.over[key] === ring.id) : Number(way === 'out');
      return { ...place, key, piece: [piece, rim_piece(ring, place)], over, told };
    });
  }

  // For each line, for each piece, its passes in order: { crossing, side, t, letter }.
  passes(crossings = this.crossings()) {
    const all = this.lines.map((line) => line.points.map(() => []));
    for (const crossing of crossings)
      crossing.piece.forEach((piece, side) => {
        if (piece.rim) return;
        const thick = crossing.piece[1 - side].thick;
        all[piece.line][piece.number].push({ crossing, side, t: crossing.at[side], letter: crossing.over === side ? 'o' : 'u', thick });
      });
    for (const of_piece of all.flat()) of_piece.sort((a, b) => a.t - b.t);
    return all;
  }

  // What cannot be drawn so, in words; empty when all is well.
  trouble() {
    const pieces = this.pieces();
    for (const line of this.lines)
      for (const [k, point] of line.points.entries())
        for (const piece of pieces) {
          if (piece.from === point || piece.to === point) continue;
          if (nearest_on(piece.from, piece.to, point.x, point.y).apart >= TOO_NEAR) continue;
          return `Point ${k + 1} of ${name_of(line)} lies on ${name_of(piece)}: move it a little.`;
        }
    return this.rim_trouble(pieces) || this.rod_trouble(pieces);
  }

  rim_trouble(pieces) {
    for (const [i, ring] of this.rings.entries()) {
      const other = this.rings.slice(i + 1).find((one) => between_rims(ring, one) < 0);
      if (other) return `Rings ${ring.letter} and ${other.letter} lie on one another: move one of them.`;
      for (const { from, to, letter, rod } of pieces) {
        const near = nearest_on(from, to, ring.x, ring.y);
        const who = name_of({ letter, rod });
        if ([from, to, near].some((point) => off_rim(ring, point) < TOO_NEAR)) return `${who[0].toUpperCase()}${who.slice(1)} touches the rim of ring ${ring.letter}: move it a little.`;
        if (rod && meet_rim(ring, from, to).length) return `Rod ${letter} and ring ${ring.letter} lie on one another: move one of them.`;
      }
    }
    return '';
  }

  rod_trouble(pieces) {
    const rods = pieces.filter(({ rod }) => rod);
    for (const [i, a] of rods.entries())
      for (const b of rods.slice(i + 1))
        if ((a.line !== b.line || b.number - a.number > 1) && meet(a.from, a.to, b.from, b.to))
          return a.line === b.line ? `Rod ${a.letter} runs over itself: move a point of it.` : `Rods ${a.letter} and ${b.letter} lie on one another: move one of them.`;
    return '';
  }

  take_told(lines) {
    const passes = this.passes();
    passes.forEach((of_line, i) =>
      of_line.forEach((here, k) => {
        const { letters, row, column } = lines[i].told[k];
        if (!letters.length) return;
        if (letters.length !== here.length)
          throw new Unread(
            `behind ${shown(lines[i].points[k].x)},${shown(lines[i].points[k].y)} ${name_of(lines[i])} meets ` +
              `${many(here.length, 'crossing')}, and ${letters.length} ${letters.length === 1 ? 'is' : 'are'} told.`, row, column);
        here.forEach((pass, n) => this.tell(pass, letters[n], row, column));
      }),
    );
  }

  tell({ crossing, side }, letter, row, column) {
    if (letter === '.') return;
    const above = crossing.piece[letter === 'o' ? side : 1 - side].id;
    if ((this.over[crossing.key] ?? above) !== above)
      throw new Unread(`near ${shown(crossing.x)},${shown(crossing.y)} both runs are told as ${letter === 'o' ? 'over' : 'under'}.`, row, column);
    this.over[crossing.key] = above;
  }

  text() {
    const passes = this.passes();
    const lines = this.lines.map((line, i) => ({ ...line, told: passes[i].map((here) => here.map((pass) => pass.letter)) }));
    return write({ head: this.head, rings: this.rings, lines, tail: this.tail });
  }

  // ---- what is done ----

  // A letter that nothing has yet, or undefined.
  free(letters) {
    return letters.find((one) => ![...this.lines, ...this.rings].some(({ letter }) => letter === one));
  }

  // The number of a new line or rod.
  begin(rod = false) {
    const letter = this.free(rod ? HARDWARE : LETTERS);
    return this.lines.push({ letter, thick: rod ? ROD_THICK : 1, rod, points: [], loaded: [false, false] }) - 1;
  }

  // One place is left for a line.
  full(hardware) {
    const others = this.lines.some(({ rod }) => !rod) || !hardware ? 0 : 1;
    return this.lines.length + this.rings.length + others >= MOST || !this.free(hardware ? HARDWARE : LETTERS);
  }

  put_ring(x, y, radius) {
    const ring = { id: this.next++, letter: this.free(HARDWARE), x, y, radius, thick: 1 };
    this.rings.push(ring);
    return ring;
  }

  ring(id) {
    return this.rings.find((one) => one.id === id);
  }

  remove_ring(id) {
    this.rings = this.rings.filter((one) => one.id !== id);
  }

  put(line, x, y) {
    const point = { id: this.next++, x, y };
    this.lines[line].points.push(point);
    return point;
  }

  find(id) {
    for (const [line, { points }] of this.lines.entries()) {
      const number = points.findIndex((point) => point.id === id);
      if (number >= 0) return { line, number, point: points[number], last: points.length - 1 };
    }
    return null;
  }

  // What is known of crossings of the piece goes to its other half as well.
  split(id, x, y) {
    const { line, number } = this.find(id);
    const point = { id: this.next++, x, y };
    this.lines[line].points.splice(number + 1, 0, point);
    this.copy_told(id, point.id);
    return point;
  }

  copy_told(from, to) {
    for (const [key, above] of Object.entries(this.over)) {
      const [a, b, ...way] = key.split(' ');
      if (Number(a) !== from && Number(b) !== from) continue;
      const other = Number(Number(a) === from ? b : a);
      this.over[[key_of(to, other), ...way].join(' ')] ??= above === from ? to : above;
    }
  }

  // A line needs two points.
  remove(id) {
    const { line, number } = this.find(id);
    const { points } = this.lines[line];
    if (number > 0) this.copy_told(id, points[number - 1].id);
    points.splice(number, 1);
  }

  drop_short() {
    this.lines = this.lines.filter((line) => line.points.length > 1);
  }

  toggle(crossing) {
    this.over[crossing.key] = crossing.piece[1 - crossing.over].id;
  }

  // A crossing that was never told is told as it is shown, so that it stays so.
  settle() {
    for (const { key, piece, over, told } of this.crossings()) if (!told) this.over[key] = piece[over].id;
  }
}
