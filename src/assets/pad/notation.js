// SPDX-License-Identifier: GPL-3.0-or-later
// What of the notation of ties can be drawn on a pad: lines through waypoints x,y with o, u or . between
// them, and the ends that are pulled. What stands above and below them is kept as it is; the rest, such as
// coils or rings, is for those who type.
const PLAIN = ['tie', 'also', 'kind', 'view'];
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

const as_text = (word) => `"${word}" can be changed as text alone; the pad draws waypoints x,y, o and u.`;

function read_line(words, row, lines) {
  const [, letter, more, value, end] = words;
  if (!letter || !/^[A-Z]$/.test(letter.word)) throw new Unread('a line has a letter: "line A".', row, letter?.column ?? 0);
  if (lines.some((line) => line.letter === letter.word))
    throw new Unread(`there is a line ${letter.word} already.`, row, letter.column);
  const thick = more ? Number(value?.word) : 1;
  if (end || (more && more.word !== 'thick') || !(thick > 0)) throw new Unread(as_text(more.word), row, more.column);
  lines.push({ letter: letter.word, thick, points: [], told: [], loaded: [false, false], row });
}

// `told` has, for each piece between two waypoints, its letters and where they stand.
function read_points(words, row, line) {
  for (const { word, column } of words) {
    const point = /^(-?\d*\.?\d+),(-?\d*\.?\d+)$/.exec(word);
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
    if (!line) throw new Unread(`"${part.trim()}" is no end of a line, such as "A first".`, row, text.indexOf(part.trim()));
    line.loaded[match[2] === 'first' ? 0 : 1] = true;
  }
}

function check_lines(lines) {
  for (const line of lines) {
    if (line.points.length < 2) throw new Unread(`line ${line.letter} needs two waypoints.`, line.row, 0);
    const end = line.told.at(-1);
    if (end.letters.length) throw new Unread('o and u stand between two waypoints.', end.row, end.column);
  }
}

// { head, lines, tail }: rows of text, the lines, rows of text. Throws an Unread.
export function read(text) {
  const [head, lines, tail] = [[], [], []];
  text.split(/\r?\n/).forEach((whole, row) => {
    const words = words_of(whole);
    const [first] = words;
    if (first?.word === 'line') read_line(words, row, lines);
    else if (first?.word === 'pulled') read_pulled(whole, row, lines);
    else if (!first || first.word.startsWith('#') || PLAIN.includes(first.word)) {
      if (first?.word.startsWith('#') && lines.length && !tail.length)
        throw new Unread('a remark among the waypoints can be kept as text alone.', row, first.column);
      if (first || !lines.length) (lines.length ? tail : head).push(whole);
    } else if (lines.length) read_points(words, row, lines.at(-1));
    else throw new Unread(as_text(first.word), row, first.column);
  });
  check_lines(lines);
  while (head.length && !head.at(-1).trim()) head.pop();
  return { head, lines, tail };
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

// The text of head, lines with `told` as lists of letters, and tail.
export function write({ head, lines, tail }) {
  const drawn = lines.filter((line) => line.points.length > 1);
  const pulled = drawn.flatMap((line) =>
    ['first', 'last'].filter((_, i) => line.loaded[i]).map((end) => `${line.letter} ${end}`),
  );
  const rows = [...head];
  for (const line of drawn)
    rows.push(`line ${line.letter}${line.thick === 1 ? '' : ` thick ${shown(line.thick)}`}`, ...rows_of(line));
  if (pulled.length) rows.push(`pulled ${pulled.join(', ')}`);
  return [...rows, ...tail].map((row) => `${row}\n`).join('');
}
