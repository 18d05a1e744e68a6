/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which pieces overlap in the drawing, and which of two is the lower. Only those in the same square
 * of a grid, or in squares that touch, are compared. */
#include "knot/picture/inside.h"

enum { COVERS_MOST = 16000000 };

/* `above` hides some of `below`. */
struct cover {
  unsigned below, above;
};

struct search {
  const struct be_lines *lines;
  const struct pieces *pieces;
  double drawn[BE_LINES_MAX]; /* all of each line */
  struct cover *found;        /* on the heap */
  size_t count, capacity;
};

/* ---- which pieces overlap ---- */

static double side(struct be_point a, struct be_point b, struct be_point p)
{
  return (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x);
}

/* The square of how far two pieces are apart in the drawing; 0 where they cross. */
static double apart(const struct piece *a, const struct piece *b)
{
  if (side(a->from, a->to, b->from) * side(a->from, a->to, b->to) < 0 &&
      side(b->from, b->to, a->from) * side(b->from, b->to, a->to) < 0)
    return 0;
  return fmin(fmin(be_flat_square(a->from, b->from, b->to), be_flat_square(a->to, b->from, b->to)),
              fmin(be_flat_square(b->from, a->from, a->to), be_flat_square(b->to, a->from, a->to)));
}

static double with_gap(const struct piece *piece)
{
  return piece->radius * (1 + 2 * BE_PICTURE_GAP / BE_PICTURE_TUBE);
}

/* Pieces of one line between which so little of it is drawn are one tube, however it bends and
 * however steeply it comes towards the eye. */
static bool are_one_tube(const struct search *search, const struct piece *a, const struct piece *b)
{
  if (a->line != b->line) return false;
  double way = fabs(a->drawn - b->drawn);
  if (search->lines->line[a->line].closed) way = fmin(way, search->drawn[a->line] - way);
  return way < 1.5 * search->lines->diameter[a->line];
}

static bool is_lower(const struct piece *a, const struct piece *b)
{
  return a->z < b->z || (!(b->z < a->z) && a < b);
}

static enum be_status compare(struct search *search, size_t i, size_t j, struct be_err *err)
{
  const struct piece *a = &search->pieces->list[i], *b = &search->pieces->list[j];
  if (a->to_come != b->to_come) return BE_OK;
  bool a_lower = is_lower(a, b);
  double reach = a_lower ? a->radius + with_gap(b) : with_gap(a) + b->radius;
  double far = reach + (a->length + b->length) / 2;
  double dx = a->x - b->x, dy = a->y - b->y;
  if (dx * dx + dy * dy > far * far || are_one_tube(search, a, b) || apart(a, b) >= reach * reach)
    return BE_OK;
  void *list = search->found;
  enum be_status status =
      be_grow(&list, &search->capacity, sizeof *search->found, search->count + 1, COVERS_MOST, err);
  search->found = list;
  if (status != BE_OK) return status;
  search->found[search->count++] =
      a_lower ? (struct cover){(unsigned)i, (unsigned)j} : (struct cover){(unsigned)j, (unsigned)i};
  return BE_OK;
}

/* ---- squares ---- */

/* So wide that pieces which overlap lie in the same square or in two that touch. */
struct squares {
  double left, bottom, size;
  size_t columns, rows;
  size_t *start; /* of each square in `members` */
  unsigned *members;
};

static size_t square_of(const struct squares *s, const struct piece *piece)
{
  size_t column = (size_t)((piece->x - s->left) / s->size);
  return (size_t)((piece->y - s->bottom) / s->size) * s->columns + column;
}

static bool sort_squares(const struct pieces *pieces, struct be_arena *arena, struct squares *s)
{
  const struct piece *list = pieces->list;
  double right = list->x, top = list->y, reach = 0;
  *s = (struct squares){.left = list->x, .bottom = list->y};
  for (size_t i = 0; i < pieces->count; i++) {
    s->left = fmin(s->left, list[i].x);
    right = fmax(right, list[i].x);
    s->bottom = fmin(s->bottom, list[i].y);
    top = fmax(top, list[i].y);
    reach = fmax(reach, 2 * with_gap(&list[i]) + list[i].length);
  }
  /* No more squares than pieces. */
  s->size = fmax(reach, sqrt((right - s->left) * (top - s->bottom) / (double)pieces->count));
  s->size = fmax(s->size, (right - s->left + top - s->bottom) / (double)pieces->count);
  s->columns = (size_t)((right - s->left) / s->size) + 1;
  s->rows = (size_t)((top - s->bottom) / s->size) + 1;
  s->start = be_arena_alloc(arena, (s->columns * s->rows + 2) * sizeof *s->start);
  s->members = be_arena_alloc(arena, pieces->count * sizeof *s->members);
  if (!s->start || !s->members) return false;
  for (size_t i = 0; i < pieces->count; i++) s->start[square_of(s, &list[i]) + 2]++;
  for (size_t i = 2; i < s->columns * s->rows + 2; i++) s->start[i] += s->start[i - 1];
  for (size_t i = 0; i < pieces->count; i++)
    s->members[s->start[square_of(s, &list[i]) + 1]++] = (unsigned)i;
  return true;
}

/* A piece with those of a square that come after it. */
static enum be_status compare_with(struct search *search, const struct squares *s, size_t i,
                                   size_t square, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (size_t k = s->start[square]; k < s->start[square + 1] && status == BE_OK; k++)
    if (s->members[k] > i) status = compare(search, i, s->members[k], err);
  return status;
}

static enum be_status find_covers(struct search *search, struct be_arena *arena, struct be_err *err)
{
  struct squares s;
  if (!sort_squares(search->pieces, arena, &s))
    return be_fail(err, BE_NO_MEMORY, "no memory for the picture");
  enum be_status status = BE_OK;
  for (size_t i = 0; i < search->pieces->count; i++) {
    size_t square = square_of(&s, &search->pieces->list[i]);
    size_t column = square % s.columns, row = square / s.columns;
    for (size_t r = row ? row - 1 : 0; r <= row + 1 && r < s.rows; r++)
      for (size_t c = column ? column - 1 : 0; c <= column + 1 && c < s.columns; c++)
        if (status == BE_OK) status = compare_with(search, &s, i, r * s.columns + c, err);
  }
  return status;
}

/* By the piece below, by counting. */
static enum be_status sort_covers(const struct search *search, struct be_arena *arena,
                                  struct covers *covers, struct be_err *err)
{
  size_t count = search->pieces->count;
  covers->above = be_arena_alloc(arena, (search->count + 1) * sizeof *covers->above);
  covers->first = be_arena_alloc(arena, (count + 2) * sizeof *covers->first);
  covers->below = be_arena_alloc(arena, count * sizeof *covers->below);
  if (!covers->above || !covers->first || !covers->below)
    return be_fail(err, BE_NO_MEMORY, "no memory for the picture");
  for (size_t k = 0; k < search->count; k++) covers->first[search->found[k].below + 2]++;
  for (size_t i = 2; i < count + 2; i++) covers->first[i] += covers->first[i - 1];
  for (size_t k = 0; k < search->count; k++) {
    const struct cover *cover = &search->found[k];
    covers->above[covers->first[cover->below + 1]++] = cover->above;
    covers->below[cover->above]++;
  }
  return BE_OK;
}

enum be_status be_covers_find(const struct be_lines *lines, const struct pieces *pieces,
                              struct be_arena *arena, struct covers *covers, struct be_err *err)
{
  struct search search = {.lines = lines, .pieces = pieces};
  for (size_t l = 0; l < lines->count; l++) {
    const struct piece *last = &pieces->list[pieces->first[l + 1] - 1];
    search.drawn[l] = last->drawn + last->length;
  }
  enum be_status status = find_covers(&search, arena, err);
  if (status == BE_OK) status = sort_covers(&search, arena, covers, err);
  be_free(search.found);
  return status;
}
