/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Spans in painter's order. Of two pieces that overlap the lower is painted first; others may come
 * in any order (Kahn 1962). "Lower" is an order of all pieces, so that they never wait for one
 * another in a circle: lines that overlap in one are painted in several spans.
 *
 * Where a span ends because what comes next has to wait, it ends a little earlier than it must. So
 * the gap beside the next one can start at the place that matters, and leave the joint whole. */
#include "knot/picture/inside.h"

#include <assert.h>
#include <stdint.h>

struct order {
  const struct be_lines *lines;
  const struct pieces *pieces;
  struct covers covers;
  bool *done;
  unsigned run;     /* the number of this span, from 1 */
  unsigned *over;   /* of each piece: the last span that painted something below it */
  uint8_t *settled; /* of each piece: joints with what was painted before it; BEFORE, AFTER */
};

enum { BEFORE = 1, AFTER = 2 };
/* How much earlier, in pieces. */
enum { EARLIER = 5 };

static const size_t none = SIZE_MAX;

static size_t beside(const struct order *order, size_t i, bool after)
{
  const struct pieces *pieces = order->pieces;
  unsigned line = pieces->list[i].line;
  size_t first = pieces->first[line], end = pieces->first[line + 1], next;
  if (after ? i + 1 < end : i > first) next = after ? i + 1 : i - 1;
  else if (order->lines->line[line].closed) next = after ? first : end - 1;
  else return none;
  return pieces->list[next].to_come == pieces->list[i].to_come ? next : none;
}

/* A span never covers itself. */
static bool is_ready(const struct order *order, size_t i)
{
  return i != none && !order->done[i] && order->covers.below[i] == 0 &&
         order->over[i] != order->run;
}

static void paint(struct order *order, size_t i)
{
  order->done[i] = true;
  for (size_t k = order->covers.first[i]; k < order->covers.first[i + 1]; k++) {
    order->covers.below[order->covers.above[k]]--;
    order->over[order->covers.above[k]] = order->run;
  }
}

static void take_back(struct order *order, size_t i)
{
  order->done[i] = false;
  for (size_t k = order->covers.first[i]; k < order->covers.first[i + 1]; k++)
    order->covers.below[order->covers.above[k]]++;
}

/* Pieces of a line that follow one another. */
struct run {
  size_t first, last, count;
};

/* The longest run of pieces that wait for nothing: so there are few spans, and few joints. */
static struct run longest(const struct order *order, bool to_come)
{
  struct run best = {none, none, 0};
  size_t length = 0;
  for (size_t i = 0; i < order->pieces->count; i++) {
    const struct piece *piece = &order->pieces->list[i];
    bool fits = is_ready(order, i) && piece->to_come == to_come;
    bool goes_on = length > 0 && piece[-1].line == piece->line;
    length = !fits ? 0 : goes_on ? length + 1 : 1;
    if (length > best.count) best = (struct run){i + 1 - length, i, length};
  }
  return best;
}

/* Takes in what it meets at its ends, as long as that waits for nothing. */
static void grow(struct order *order, struct run *run)
{
  for (bool grows = true; grows;) {
    size_t after = beside(order, run->last, true), before = beside(order, run->first, false);
    grows = true;
    if (is_ready(order, after)) run->last = after;
    else if (is_ready(order, before)) run->first = before;
    else grows = false;
    if (!grows) break;
    paint(order, run->last == after ? after : before);
    run->count++;
  }
}

/* Gives back some pieces at an end where the line has to wait. */
static void end_earlier(struct order *order, struct run *run, bool after)
{
  size_t *end = after ? &run->last : &run->first, next = beside(order, *end, after);
  if (next == none || order->done[next] || run->count <= 3 * EARLIER) return;
  for (int k = 0; k < EARLIER; k++) {
    take_back(order, *end);
    next = *end;
    *end = beside(order, *end, !after);
    run->count--;
  }
  order->settled[next] |= after ? BEFORE : AFTER;
}

/* Leaves out points that lie on the way between others, to a hair. */
static size_t thin_out(struct be_point *points, size_t count, double hair)
{
  size_t kept = 1, last = 0;
  for (size_t i = 2; i < count; i++) {
    bool straight = i - last < 40;
    for (size_t k = last + 1; k < i && straight; k++)
      straight = be_flat_square(points[k], points[last], points[i]) <= hair * hair;
    if (straight) continue;
    last = i - 1;
    points[kept++] = points[last];
  }
  points[kept++] = points[count - 1];
  return kept;
}

/* Where a line goes at an end of a piece, in the drawing: as the piece beside it sees it too, so
 * that two spans are cut across alike where they join. Length 1, or 0 along the line of sight. */
static struct be_point towards(const struct order *order, size_t i, bool after)
{
  const struct piece *piece = &order->pieces->list[i];
  size_t next = beside(order, i, after);
  struct be_point from = piece->from, to = piece->to;
  if (next != none && after) to = order->pieces->list[next].to;
  if (next != none && !after) from = order->pieces->list[next].from;
  double x = to.x - from.x, y = to.y - from.y, length = hypot(x, y);
  return length > 0 ? (struct be_point){x / length, y / length, 0} : (struct be_point){0};
}

/* The points of a run, with one more near each end, so that it ends across the line. */
static size_t points_of(const struct order *order, const struct run *run, struct be_point *points)
{
  const struct piece *list = order->pieces->list;
  double diameter = order->lines->diameter[list[run->first].line];
  size_t at = run->first;
  points[1] = list[at].from;
  for (size_t k = 0; k < run->count; k++, at = beside(order, at, true)) points[k + 2] = list[at].to;
  size_t count = thin_out(points + 1, run->count + 1, 0.003 * diameter);
  struct be_point first = points[1], last = points[count];
  struct be_point in = towards(order, run->first, false), out = towards(order, run->last, true);
  double in_step = fmin(0.01 * diameter, 0.3 * list[run->first].length);
  double out_step = fmin(0.01 * diameter, 0.3 * list[run->last].length);
  points[0] = first;
  points[1] = (struct be_point){first.x + in_step * in.x, first.y + in_step * in.y, first.z};
  points[count] = (struct be_point){last.x - out_step * out.x, last.y - out_step * out.y, last.z};
  points[count + 1] = last;
  return count + 2;
}

static enum be_status add_span(const struct order *order, const struct run *run,
                               struct be_arena *arena, struct be_picture *picture,
                               struct be_err *err)
{
  const struct piece *list = order->pieces->list, *first = &list[run->first];
  struct be_point *points = be_arena_alloc(arena, (run->count + 3) * sizeof *points);
  if (!points) return be_fail(err, BE_NO_MEMORY, "no memory for the picture");
  struct be_span span = {
      .line = first->line,
      .to_come = first->to_come,
      .along = {first->start, first->start},
      .drawn = first->drawn,
      .width = 2 * first->radius,
      .points = points,
  };
  size_t at = run->first;
  for (size_t k = 0; k < run->count; k++, at = beside(order, at, true)) {
    span.along.to += list[at].end - list[at].start;
    if (k < EARLIER && (order->settled[run->first] & BEFORE)) span.whole[0] += list[at].length;
    if (k + EARLIER >= run->count && (order->settled[run->last] & AFTER))
      span.whole[1] += list[at].length;
  }
  span.count = points_of(order, run, points);
  picture->spans[picture->spans_count++] = span;
  return BE_OK;
}

static enum be_status paint_all(struct order *order, struct be_arena *arena,
                                struct be_picture *picture, struct be_err *err)
{
  size_t painted = 0;
  enum be_status status = BE_OK;
  for (int round = 0; round < 2 && status == BE_OK; round++)
    for (struct run run; status == BE_OK; painted += run.count) {
      order->run++;
      run = longest(order, round == 0);
      if (run.count == 0) break;
      for (size_t i = run.first; i <= run.last; i++) paint(order, i);
      grow(order, &run);
      end_earlier(order, &run, true);
      end_earlier(order, &run, false);
      status = add_span(order, &run, arena, picture, err);
    }
  assert(status != BE_OK || painted == order->pieces->count);
  return status;
}

enum be_status be_spans_order(const struct be_lines *lines, const struct pieces *pieces,
                              struct be_arena *arena, struct be_picture *picture,
                              struct be_err *err)
{
  struct order order = {.lines = lines, .pieces = pieces};
  enum be_status status = be_covers_find(lines, pieces, arena, &order.covers, err);
  if (status != BE_OK) return status;
  order.done = be_arena_alloc(arena, pieces->count * sizeof *order.done);
  order.over = be_arena_alloc(arena, pieces->count * sizeof *order.over);
  order.settled = be_arena_alloc(arena, pieces->count * sizeof *order.settled);
  picture->spans = be_arena_alloc(arena, pieces->count * sizeof *picture->spans);
  if (!order.done || !order.over || !order.settled || !picture->spans)
    return be_fail(err, BE_NO_MEMORY, "no memory for the picture");
  return paint_all(&order, arena, picture, err);
}
