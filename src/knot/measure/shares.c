/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A line closed towards many directions. Seen from there its two leads are almost points, and the
 * join passes over all that lies between its ends. */
#include "knot/measure/inside.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { NAME_SIZE = sizeof((struct be_share *)0)->name };
static const char *const others = "other";

static enum be_status close_towards(const struct be_curve *line, const struct be_view *view,
                                    struct be_arena *arena, struct be_curve *closed,
                                    struct be_err *err)
{
  size_t n = line->count;
  struct be_point a = line->points[0], b = line->points[n - 1], far = blend(a, b, 0.5);
  double size = 0;
  for (size_t i = 0; i < n; i++) size = fmax(size, distance(a, line->points[i]));
  /* Far enough that leads do not lean: what they sweep over is a hundredth of a hundredth. */
  double out = 1e4 * size;
  far = (struct be_point){far.x + out * view->eye[0], far.y + out * view->eye[1],
                          far.z + out * view->eye[2]};
  *closed = (struct be_curve){be_arena_alloc(arena, (n + 1) * sizeof far), n + 1, true};
  if (!closed->points) return be_fail(err, BE_NO_MEMORY, "no memory for the closed line");
  memcpy(closed->points, line->points, n * sizeof far);
  closed->points[n] = far;
  return BE_OK;
}

static enum be_status name_of(const struct be_lines *closed, const struct be_view *view,
                              struct be_arena *arena, const char **name, struct be_err *err)
{
  struct be_crossing *crossings;
  struct be_diagram diagram;
  struct be_polynomial *alexander = be_arena_alloc(arena, sizeof *alexander);
  struct be_named *names = be_arena_alloc(arena, BE_NAMED_MAX * sizeof *names);
  size_t count;
  int signature = 0;
  *name = others;
  if (!alexander || !names) return be_fail(err, BE_NO_MEMORY, "no memory for the name");
  enum be_status status = be_crossings_find(closed, view, arena, &crossings, &count, err);
  if (status == BE_OK)
    status = be_crossings_diagram(closed, crossings, count, arena, &diagram, err);
  if (status == BE_OK) status = be_diagram_simplify(&diagram, arena, NULL, NULL, err);
  if (status == BE_OK) status = be_alexander(&diagram, arena, alexander, err);
  if (status == BE_OK) status = be_signature(&diagram, arena, &signature, err);
  if (status == BE_TOO_LARGE) return BE_OK;
  if (status != BE_OK) return status;
  be_names_find(alexander, signature, names, &count);
  if (count > 0) *name = names[0].name;
  return BE_OK;
}

static size_t place_of(const struct be_shares *shares, const char *name)
{
  size_t i = 0;
  while (i < shares->count && strcmp(shares->share[i].name, name) != 0) i++;
  return i;
}

static void count_name(struct be_shares *shares, const char *name)
{
  size_t i = place_of(shares, name);
  if (i == shares->count && i >= BE_SHARES_MAX - 1) i = place_of(shares, name = others);
  if (i == shares->count) snprintf(shares->share[shares->count++].name, NAME_SIZE, "%s", name);
  shares->share[i].count++;
}

static int most_first(const void *a, const void *b)
{
  const struct be_share *x = a, *y = b;
  if (x->count != y->count) return x->count > y->count ? -1 : 1;
  return strcmp(x->name, y->name);
}

enum be_status be_closure_shares(const struct be_curve *line, size_t directions, uint64_t seed,
                                 struct be_shares *shares, struct be_err *err)
{
  struct be_random random;
  enum be_status status = be_curve_check(line, err);
  *shares = (struct be_shares){0};
  if (status == BE_OK && line->closed)
    status = be_fail(err, BE_WRONG_USE, "the line is closed already");
  be_random_init(&random, seed, 0);
  /* Views that are not generic are passed over; there are hardly any. */
  for (size_t i = 0; i < 2 * directions && shares->directions < directions && status == BE_OK;
       i++) {
    struct be_arena *arena = be_arena_create();
    struct be_view view = be_view_random(&random);
    struct be_lines closed = {1, {{0}}, {1}};
    const char *name;
    if (!arena) return be_fail(err, BE_NO_MEMORY, "no memory for the closures");
    status = close_towards(line, &view, arena, &closed.line[0], err);
    if (status == BE_OK) status = name_of(&closed, &view, arena, &name, err);
    if (status == BE_OK) {
      count_name(shares, name);
      shares->directions++;
    } else if (status == BE_NO) status = BE_OK;
    be_arena_free(arena);
  }
  qsort(shares->share, shares->count, sizeof *shares->share, most_first);
  return status;
}
