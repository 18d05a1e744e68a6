// SPDX-License-Identifier: GPL-3.0-or-later
// What is drawn: lines through waypoints, and which of two pieces that cross runs over. A piece is known by
// its first waypoint, so that a crossing keeps its answer while its ends are moved. Knows no screen.
import { Unread, many, read, shown, write } from './notation.js';

const LETTERS = ['A', 'B', 'C'];
const TOO_NEAR = 0.05; // a waypoint to a piece that is not its own

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
  lines = [];
  over = {}; // of two pieces that cross, the one above
  next = 1;

  static of_text(text) {
    const drawing = new Drawing();
    const { head, lines, tail } = read(text);
    Object.assign(drawing, { head, tail });
    for (const { letter, thick, points, loaded } of lines)
      drawing.lines.push({ letter, thick, loaded, points: points.map((point) => ({ ...point, id: drawing.next++ })) });
    drawing.take_told(lines);
    return drawing;
  }

  copy() {
    return Object.assign(new Drawing(), structuredClone({ ...this }));
  }

  // ---- crossings ----

  pieces() {
    return this.lines.flatMap((line, i) =>
      line.points.slice(1).map((to, k) => ({ line: i, number: k, from: line.points[k], to, id: line.points[k].id })),
    );
  }

  // In the order in which they are met. `piece` has the two that cross, `over` says which is above.
  crossings() {
    const pieces = this.pieces();
    const found = [];
    pieces.forEach((a, i) => {
      for (let k = i + 1; k < pieces.length; k += 1) {
        const b = pieces[k];
        if (a.line === b.line && b.number - a.number < 2) continue;
        const place = meet(a.from, a.to, b.from, b.to);
        if (!place) continue;
        const key = key_of(a.id, b.id);
        found.push({ ...place, key, piece: [a, b], over: this.over[key] === a.id ? 0 : 1, told: key in this.over });
      }
    });
    const first = ({ piece, at }) => [piece[0].line, piece[0].number + at[0]];
    return found.sort((a, b) => first(a)[0] - first(b)[0] || first(a)[1] - first(b)[1]);
  }

  // For each line, for each piece, its passes in order: { crossing, side, t, letter }.
  passes(crossings = this.crossings()) {
    const all = this.lines.map((line) => line.points.map(() => []));
    for (const crossing of crossings)
      crossing.piece.forEach((piece, side) =>
        all[piece.line][piece.number].push({ crossing, side, t: crossing.at[side], letter: crossing.over === side ? 'o' : 'u' }),
      );
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
          return `Point ${k + 1} of line ${line.letter} lies on line ${this.lines[piece.line].letter}: move it a little.`;
        }
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
            `behind ${shown(lines[i].points[k].x)},${shown(lines[i].points[k].y)} line ${lines[i].letter} meets ` +
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
    return write({ head: this.head, lines, tail: this.tail });
  }

  // ---- what is done ----

  // The number of a new line; -1 when there are enough.
  begin() {
    const letter = LETTERS.find((one) => !this.lines.some((line) => line.letter === one));
    if (!letter) return -1;
    return this.lines.push({ letter, thick: 1, points: [], loaded: [false, false] }) - 1;
  }

  full() {
    return this.lines.length >= LETTERS.length;
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
      const [a, b] = key.split(' ').map(Number);
      if (a !== from && b !== from) continue;
      const other = a === from ? b : a;
      this.over[key_of(to, other)] ??= above === from ? to : above;
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
