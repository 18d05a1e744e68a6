// SPDX-License-Identifier: GPL-3.0-or-later
// What of the notation of ties can be drawn on a pad: lines and rods through waypoints x,y with o, u or . between
// them, rings that lie in the page, and the ends that are pulled. What stands above and below them is kept as
// it is; the rest, such as coils or heights, is for those who type.
const PLAIN = ['tie', 'also', 'kind', 'view'];
const POINT = /^(-?\d*\.?\d+),(-?\d*\.?\d+)$/;
const WIDE = 72; // of a row of waypoints

export class Unread extends Error {
  constructor(words, row, column) {
    super(`Line ${row + 1}, column ${column + 1}: ${words}`);
    this.row = row;
    this.column = column;
  }
}

function words_of(text) {
  return [...text.matchAll(/\S+/g)].map((match) => ({ word: match[0], column: match.index }));
}

const as_text = (word) => `"${word}" can be changed as text alone; the pad draws waypoints x,y, o and u, and rings.`;

function letter_of(words, row, { rings, lines }) {
  const [{ word: what }, letter] = words;
  if (!letter || !/^[A-Z]$/.test(letter.word)) throw new Unread(`a ${what} has a letter: "${what} ${what === 'line' ? 'A' : 'R'}".`, row, letter?.column ?? 0);
  if ([...rings, ...lines].some((one) => one.letter === letter.word))
    throw new Unread(`there is a line ${letter.word} already.`, row, letter.column);
  return letter.word;
}

// The thickness that stands at a place, and what follows it.
function read_thick(words, row) {
  if (words[0]?.word !== 'thick') return { thick: 1, rest: words };
  const thick = Number(words[1]?.word);
  if (!(thick > 0)) throw new Unread(as_text('thick'), row, words[0].column);
  return { thick, rest: words.slice(2) };
}

function read_line(words, row, all) {
  const letter = letter_of(words, row, all);
  const { thick, rest } = read_thick(words.slice(2), row);
  all.lines.push({ letter, thick, rod: words[0].word === 'rod', points: [], told: [], loaded: [false, false], row });
  read_points(rest, row, all.lines.at(-1));
}

// One that faces the reader, whose height is not told.
function read_ring(words, row, all) {
  const letter = letter_of(words, row, all);
  const [, , round, centre, of, size] = words;
  const place = POINT.exec(centre?.word);
  const radius = Number(size?.word);
  const { thick, rest } = read_thick(words.slice(6), row);
  if (round?.word !== 'round' || !place || of?.word !== 'radius' || !(radius > 0) || rest.length)
    throw new Unread(`the pad draws a ring that is told as "ring ${letter} round 3,0 radius 3"; another can be changed as text alone.`, row, words[0].column);
  all.rings.push({ letter, x: Number(place[1]), y: Number(place[2]), radius, thick });
}

// `told` has, for each piece between two waypoints, its letters and where they stand.
function read_points(words, row, line) {
  for (const { word, column } of words) {
    const point = POINT.exec(word);
    if (point) {
      line.points.push({ x: Number(point[1]), y: Number(point[2]) });
      line.told.push({ letters: [], row, column });
    } else if (/^[ou.]+$/.test(word)) {
      if (!line.points.length) throw new Unread('o and u stand between two waypoints.', row, column);
      line.told.at(-1).letters.push(...word);
    } else {
      throw new Unread(as_text(word), row, column);
    }
  }
}

function read_pulled(text, row, lines) {
  for (const part of text.replace(/^\s*pulled\s*/, '').split(',')) {
    const match = /^\s*([A-Z])\s+(first|last)\s*$/.exec(part);
    const line = match && lines.find((one) => one.letter === match[1]);
    if (!line || line.rod) throw new Unread(`"${part.trim()}" is no end of a line, such as "A first".`, row, text.indexOf(part.trim()));
    line.loaded[match[2] === 'first' ? 0 : 1] = true;
  }
}

function check_lines(lines) {
  for (const line of lines) {
    if (line.points.length < 2) throw new Unread(`${line.rod ? 'rod' : 'line'} ${line.letter} needs two waypoints.`, line.row, 0);
    const end = line.told.at(-1);
    if (end.letters.length) throw new Unread('o and u stand between two waypoints.', end.row, end.column);
  }
}

// { head, rings, lines, tail }: rows of text, what is drawn, rows of text. Throws an Unread.
export function read(text) {
  const all = { head: [], rings: [], lines: [], tail: [] };
  const { head, rings, lines, tail } = all;
  let open = false; // a line, for waypoints
  text.split(/\r?\n/).forEach((whole, row) => {
    const words = words_of(whole);
    const [first] = words;
    if (first?.word === 'line' || first?.word === 'rod') read_line(words, row, all);
    else if (first?.word === 'ring') read_ring(words, row, all);
    else if (first?.word === 'pulled') read_pulled(whole, row, lines);
    else if (!first || first.word.startsWith('#') || PLAIN.includes(first.word)) {
      if (first?.word.startsWith('#') && lines.length && !tail.length)
        throw new Unread('a remark among the waypoints can be kept as text alone.', row, first.column);
      if (first || !(lines.length || rings.length)) (lines.length ? tail : head).push(whole);
    } else if (open) read_points(words, row, lines.at(-1));
    else throw new Unread(as_text(first.word), row, first.column);
    if (['line', 'rod', 'ring'].includes(first?.word)) open = first.word !== 'ring';
  });
  check_lines(lines);
  while (head.length && !head.at(-1).trim()) head.pop();
  return all;
}

export const many = (count, one) => `${count} ${one}${count === 1 ? '' : 's'}`;

export const shown = (value) => String(Number(value.toFixed(2)) + 0);

function rows_of(line) {
  const rows = [''];
  line.points.forEach((point, i) => {
    const words = [`${shown(point.x)},${shown(point.y)}`, ...(line.told[i] ?? [])].join(' ');
    if (rows.at(-1).length + words.length > WIDE) rows.push('');
    rows.push(`${rows.pop()} ${words}`);
  });
  return rows.map((row) => ` ${row}`);
}

// The text of head, rings, lines with `told` as lists of letters, and tail.
export function write({ head, rings, lines, tail }) {
  const drawn = lines.filter((line) => line.points.length > 1);
  const pulled = drawn.flatMap((line) =>
    ['first', 'last'].filter((_, i) => line.loaded[i]).map((end) => `${line.letter} ${end}`),
  );
  const thickness = ({ thick }) => (thick === 1 ? '' : ` thick ${shown(thick)}`);
  const rows = [...head];
  for (const ring of rings)
    rows.push(`ring ${ring.letter} round ${shown(ring.x)},${shown(ring.y)} radius ${shown(ring.radius)}${thickness(ring)}`);
  for (const line of drawn) rows.push(`${line.rod ? 'rod' : 'line'} ${line.letter}${thickness(line)}`, ...rows_of(line));
  if (pulled.length) rows.push(`pulled ${pulled.join(', ')}`);
  return [...rows, ...tail].map((row) => `${row}\n`).join('');
}
