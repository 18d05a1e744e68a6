// SPDX-License-Identifier: GPL-3.0-or-later
// Tubes round centre-lines, and what of a tie is worth looking at. Points are [x, y, z]; nothing here
// knows a screen.
const AROUND = 16; // corners of a section
const NEAR = 2.5; // diameters: nearer strands belong to the knot
const APART = 8; // along a line: nearer points are the same strand

const less = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const times = (a, by) => [a[0] * by, a[1] * by, a[2] * by];
const length = (a) => Math.sqrt(dot(a, a));
const unit = (a) => times(a, 1 / (length(a) || 1));
const across = (a, b) => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];

function distances(points) {
  const along = [0];
  for (let i = 1; i < points.length; i += 1)
    along.push(along[i - 1] + length(less(points[i], points[i - 1])));
  return along;
}

// ---- what is looked at ----

function cells_of(lines) {
  const cells = new Map();
  lines.forEach((line, number) => {
    const along = distances(line.points);
    line.points.forEach((point, i) => {
      const cell = point.map((value) => Math.floor(value / NEAR)).join();
      if (!cells.has(cell)) cells.set(cell, []);
      cells.get(cell).push({ point, number, along: along[i], whole: line.closed ? along[along.length - 1] : Infinity });
    });
  });
  return cells;
}

function near_another(one, cells) {
  const [x, y, z] = one.point.map((value) => Math.floor(value / NEAR));
  for (let i = 0; i < 27; i += 1) {
    const cell = cells.get([x - 1 + (i % 3), y - 1 + (Math.floor(i / 3) % 3), z - 1 + Math.floor(i / 9)].join());
    for (const other of cell ?? []) {
      const way = Math.abs(one.along - other.along);
      if (other.number === one.number && Math.min(way, one.whole - way) < APART) continue;
      if (length(less(one.point, other.point)) < NEAR) return true;
    }
  }
  return false;
}

function ball_round(points) {
  const low = [0, 1, 2].map((axis) => points.reduce((least, point) => Math.min(least, point[axis]), Infinity));
  const high = [0, 1, 2].map((axis) => points.reduce((most, point) => Math.max(most, point[axis]), -Infinity));
  const middle = [0, 1, 2].map((axis) => (low[axis] + high[axis]) / 2);
  return { middle, radius: points.reduce((most, point) => Math.max(most, length(less(point, middle))), 1) };
}

// A ball round the places where strands lie beside or across one another, with some room; round
// everything where there are none.
export function ball_of(lines) {
  const cells = cells_of(lines);
  const within = [...cells.values()].flat().filter((one) => near_another(one, cells));
  const whole = ball_round(lines.flatMap((line) => line.points));
  if (!within.length) return whole;
  const ball = ball_round(within.map((one) => one.point));
  return ball.radius * 1.5 + 2 < whole.radius ? { middle: ball.middle, radius: ball.radius * 1.5 + 2 } : whole;
}

// The line without what hangs out of the ball at its ends.
export function trimmed(line, ball) {
  if (line.closed) return line.points;
  const out = (point) => length(less(point, ball.middle)) > ball.radius;
  let [first, last] = [0, line.points.length - 1];
  while (first < last - 2 && out(line.points[first + 1])) first += 1;
  while (last > first + 2 && out(line.points[last - 1])) last -= 1;
  return line.points.slice(first, last + 1);
}

// ---- tubes ----

// Two directions across the line at each point, carried along without twist; of a closed line what is
// missing at its end is spread over all of it.
function frames(points, closed) {
  const count = points.length;
  const at = (i) => points[closed ? (i + count) % count : Math.min(Math.max(i, 0), count - 1)];
  const ahead = points.map((_, i) => unit(less(at(i + 1), at(i - 1))));
  const least = ahead[0].map(Math.abs).indexOf(Math.min(...ahead[0].map(Math.abs)));
  let side = [0, 0, 0];
  side[least] = 1;
  const carried = (from, on) => unit(less(from, times(on, dot(from, on))));
  const sides = ahead.map((on) => (side = carried(side, on)));
  let turn = 0;
  if (closed) {
    const back = carried(sides[count - 1], ahead[0]);
    turn = Math.atan2(dot(across(back, sides[0]), ahead[0]), dot(back, sides[0]));
  }
  return sides.map((one, i) => {
    const angle = (turn * i) / count;
    const up = across(ahead[i], one);
    const turned = one.map((value, k) => value * Math.cos(angle) + up[k] * Math.sin(angle));
    return { ahead: ahead[i], side: turned, up: across(ahead[i], turned) };
  });
}

class Mesh {
  position = [];
  normal = [];
  uv = []; // diameters along the line, turns round it
  index = [];

  corner(point, normal, uv) {
    this.position.push(...point);
    this.normal.push(...normal);
    this.uv.push(...uv);
  }

  ring(middle, radius, frame, lean, along) {
    for (let k = 0; k <= AROUND; k += 1) {
      const angle = (2 * Math.PI * k) / AROUND;
      const out = frame.side.map((value, axis) => value * Math.cos(angle) + frame.up[axis] * Math.sin(angle));
      const normal = unit(out.map((value, axis) => value + frame.ahead[axis] * lean));
      this.corner(middle.map((value, axis) => value + out[axis] * radius), normal, [along, k / AROUND]);
    }
  }

  // The last two rings, joined.
  join() {
    const next = this.position.length / 3 - AROUND - 1;
    for (let k = 0; k < AROUND; k += 1) {
      const [a, b] = [next - AROUND - 1 + k, next + k];
      this.index.push(a, a + 1, b, b, a + 1, b + 1);
    }
  }

  // Round, half a ball: way 1 at the end, -1 at the beginning.
  cap(middle, radius, frame, way, along) {
    const STEPS = 4;
    for (let i = 0; i <= STEPS; i += 1) {
      const angle = ((way > 0 ? i : STEPS - i) / STEPS) * (Math.PI / 2);
      const lean = way * Math.min(Math.tan(angle), 1e6);
      const at = middle.map((value, axis) => value + way * frame.ahead[axis] * radius * Math.sin(angle));
      this.ring(at, radius * Math.cos(angle), frame, lean, along);
      if (i > 0) this.join();
    }
  }
}

export function tube(points, diameter, closed) {
  const mesh = new Mesh();
  const radius = diameter / 2;
  const along = distances(points);
  const at = frames(points, closed);
  if (!closed) mesh.cap(points[0], radius, at[0], -1, 0);
  points.forEach((point, i) => {
    mesh.ring(point, radius, at[i], 0, along[i] / diameter);
    if (i > 0) mesh.join();
  });
  const last = points.length - 1;
  const end = along[last] / diameter;
  if (closed) {
    mesh.ring(points[0], radius, at[0], 0, end + length(less(points[0], points[last])) / diameter);
    mesh.join();
  } else {
    mesh.cap(points[last], radius, at[last], 1, end);
  }
  return mesh;
}

// The head of an arrow on the end of a line, away from it.
export function arrow(points, first, diameter) {
  const [end, before] = first ? [points[0], points[Math.min(2, points.length - 1)]] : [points.at(-1), points.at(-3) ?? points[0]];
  const ahead = unit(less(end, before));
  const side = unit(across(ahead, Math.abs(ahead[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0]));
  const frame = { ahead, side, up: across(ahead, side) };
  const on = (way) => end.map((value, axis) => value + ahead[axis] * way * diameter);
  const mesh = new Mesh();
  mesh.ring(on(0), 0.01 * diameter, frame, -1e6, 0);
  mesh.ring(on(0), 1.1 * diameter, frame, -1e6, 0);
  mesh.join();
  mesh.ring(on(0), 1.1 * diameter, frame, 0.4, 0);
  mesh.ring(on(2.6), 0.01 * diameter, frame, 0.4, 0);
  mesh.join();
  return { mesh, tip: on(3.4) };
}
