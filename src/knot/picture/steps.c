/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/picture/inside.h"

#include <stdlib.h>

/* Where a line is passed, in the order in which it is tied, as distances from where one starts. */
struct passes {
  double *at;
  size_t count;
  double length;
  bool backwards; /* from its last point on */
};

static int by_size(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return x < y ? -1 : x > y;
}

/* Hardware, and a line that is pulled at both ends, have no working end: they are there from the
 * start, unless all are so. */
static bool is_there(const struct be_lines *lines, const struct be_picture_asked *asked, size_t l)
{
  bool works = false;
  for (size_t k = 0; k < lines->count; k++)
    works = works || (!asked->hardware[k] && !(asked->loaded[k][0] && asked->loaded[k][1]));
  return asked->hardware[l] || (works && asked->loaded[l][0] && asked->loaded[l][1]);
}

static bool find_passes(const struct be_lines *lines, size_t l, const struct be_crossing *crossings,
                        size_t count, const struct be_picture_asked *asked, struct be_arena *arena,
                        struct passes *passes)
{
  *passes = (struct passes){.length = be_curve_length(&lines->line[l]),
                            .backwards = asked->loaded[l][1] && !asked->loaded[l][0]};
  if (is_there(lines, asked, l)) return true;
  passes->at = be_arena_alloc(arena, (2 * count + 1) * sizeof *passes->at);
  if (!passes->at) return false;
  for (size_t i = 0; i < count; i++)
    for (int k = 0; k < 2; k++)
      if (crossings[i].line[k] == l)
        passes->at[passes->count++] =
            passes->backwards ? passes->length - crossings[i].along[k] : crossings[i].along[k];
  qsort(passes->at, passes->count, sizeof *passes->at, by_size);
  return true;
}

/* How far a line is laid that has been passed so often: a little beyond the last. */
static double laid_to(const struct passes *passes, size_t passed, double diameter)
{
  if (passed >= passes->count) return passes->length;
  if (passed == 0) return 0;
  double last = passes->at[passed - 1];
  return fmin(last + 1.4 * diameter, (last + passes->at[passed]) / 2);
}

enum be_status be_picture_steps(const struct be_lines *lines, const struct be_crossing *crossings,
                                size_t count, const struct be_picture_asked *asked, size_t steps,
                                struct be_arena *arena, struct be_stretch **laid,
                                struct be_err *err)
{
  struct passes passes[BE_LINES_MAX];
  size_t all = 0;
  bool had = true;
  if (steps == 0) return be_fail(err, BE_WRONG_USE, "a sequence has one step or more");
  struct be_stretch *made = be_arena_alloc(arena, steps * lines->count * sizeof *made);
  for (size_t l = 0; l < lines->count; l++) {
    had = had && find_passes(lines, l, crossings, count, asked, arena, &passes[l]);
    if (had) all += passes[l].count;
  }
  if (!made || !had) return be_fail(err, BE_NO_MEMORY, "no memory for the steps");
  for (size_t s = 0; s < steps; s++) {
    size_t passed = (all * (s + 1) + steps - 1) / steps;
    for (size_t l = 0; l < lines->count; l++) {
      size_t own = passed < passes[l].count ? passed : passes[l].count;
      passed -= own;
      /* A line that is passed nowhere is there when the one before it is done. */
      bool whole = is_there(lines, asked, l) || s + 1 == steps;
      double to = whole ? passes[l].length : laid_to(&passes[l], own, lines->diameter[l]);
      made[s * lines->count + l] =
          passes[l].backwards ? (struct be_stretch){passes[l].length - to, passes[l].length}
                              : (struct be_stretch){0, to};
    }
  }
  *laid = made;
  return BE_OK;
}
