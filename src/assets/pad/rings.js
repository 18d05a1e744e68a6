// SPDX-License-Identifier: GPL-3.0-or-later
// Rings that lie in the page: where a straight piece meets the rim, and the rim as one sees it.
const CORNERS = 72; // of a rim that is drawn

// Where a piece comes in over the rim, and where it goes out, as far as it does.
export function meet_rim(ring, from, to) {
  const [dx, dy, x, y] = [to.x - from.x, to.y - from.y, from.x - ring.x, from.y - ring.y];
  const square = dx * dx + dy * dy;
  const half = (x * dx + y * dy) / (square || 1);
  const under = half * half - (x * x + y * y - ring.radius * ring.radius) / (square || 1);
  if (!square || under <= 0) return [];
  const places = [];
  for (const [way, t] of [['in', -half - Math.sqrt(under)], ['out', -half + Math.sqrt(under)]]) {
    if (t <= 0 || t >= 1) continue;
    const across = { x: x + t * dx, y: y + t * dy };
    const turn = (Math.atan2(across.y, across.x) / (2 * Math.PI) + 1) % 1;
    const sine = Math.abs(across.x * dx + across.y * dy) / (ring.radius * Math.sqrt(square));
    places.push({ way, at: [t, turn], x: ring.x + across.x, y: ring.y + across.y, sine });
  }
  return places;
}

// The rim as a piece at that place, so that a crossing of it is one of two pieces.
export function rim_piece(ring, { x, y }) {
  const [dx, dy] = [ring.y - y, x - ring.x];
  return { id: ring.id, letter: ring.letter, thick: ring.thick, rim: true, from: { x: x - dx, y: y - dy }, to: { x: x + dx, y: y + dy } };
}

// { points, passes } of a closed line, as sheet.js draws one.
export function rim_line(ring, crossings) {
  const points = Array.from({ length: CORNERS + 1 }, (_, i) => {
    const angle = (2 * Math.PI * i) / CORNERS;
    return { x: ring.x + ring.radius * Math.cos(angle), y: ring.y + ring.radius * Math.sin(angle) };
  });
  const passes = points.map(() => []);
  for (const crossing of crossings) {
    if (crossing.piece[1].id !== ring.id) continue;
    const place = crossing.at[1] * CORNERS;
    const i = Math.min(Math.floor(place), CORNERS - 1);
    passes[i].push({ crossing, t: place - i, letter: crossing.over === 1 ? 'o' : 'u', thick: crossing.piece[0].thick });
  }
  return { points, passes };
}

// What is near the rim of a ring, not to be told from being on it.
export const off_rim = (ring, { x, y }) => Math.abs(Math.hypot(x - ring.x, y - ring.y) - ring.radius);

// How far two rings are from touching; negative: they overlap. One may lie inside the other.
export function between_rims(a, b) {
  const apart = Math.hypot(a.x - b.x, a.y - b.y);
  const thick = (a.thick + b.thick) / 2;
  return Math.max(apart - a.radius - b.radius, Math.abs(a.radius - b.radius) - apart) - thick;
}
