/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The view with the fewest crossings: looked for on lines of few edges that run nearly the same,
 * then the best few are counted on the whole lines. */
#include "knot/crossing/inside.h"

enum { KEPT = 6, ROUNDS = 4, AROUND = 6, NUDGES = 20 };

struct seen {
  struct be_view view;
  size_t crossings;
};

/* ---- fewer edges ---- */

/* No point between two may be farther from their chord than this, over the length of all lines; so
 * it is of no matter how long the edges are. */
static const double off_chord = 3e-4;

struct thinning {
  const struct be_curve *from;
  struct be_curve *to;
  double allowed;
};

static bool runs_straight(const struct be_point *points, size_t first, size_t last, double allowed)
{
  struct be_point chord = minus(points[last], points[first]);
  double length = norm(chord);
  if (!(length > 0)) return false;
  for (size_t i = first + 1; i < last; i++) {
    struct be_point to = minus(points[i], points[first]);
    double along = dot(to, chord);
    if (!(along >= 0 && along <= length * length)) return false;
    if (!(norm(cross(to, chord)) <= allowed * length)) return false;
  }
  return true;
}

/* Halves until each part runs straight; takes the first point of each. As deep as the points are
 * many twice over. */
static void take_points(struct thinning *thinning, size_t first, size_t last)
{
  if (runs_straight(thinning->from->points, first, last, thinning->allowed)) {
    thinning->to->points[thinning->to->count++] = thinning->from->points[first];
    return;
  }
  size_t middle = first + (last - first) / 2;
  take_points(thinning, first, middle);
  take_points(thinning, middle, last);
}

static enum be_status thin(const struct be_lines *lines, struct be_arena *arena,
                           struct be_lines *thinned, struct be_err *err)
{
  double length = 0;
  for (size_t l = 0; l < lines->count; l++) {
    enum be_status status = be_curve_check(&lines->line[l], err);
    if (status != BE_OK) return status;
    length += be_curve_length(&lines->line[l]);
  }
  *thinned = *lines;
  for (size_t l = 0; l < lines->count; l++) {
    struct be_curve *to = &thinned->line[l];
    size_t n = to->count;
    if (n < 8) continue;
    to->count = 0;
    to->points = be_arena_alloc(arena, n * sizeof *to->points);
    if (!to->points) return be_fail(err, BE_NO_MEMORY, "no memory for the view");
    struct thinning thinning = {&lines->line[l], to, off_chord * length};
    take_points(&thinning, 0, n / 2); /* a closed line keeps three points */
    take_points(&thinning, n / 2, n - 1);
    to->points[to->count++] = lines->line[l].points[n - 1];
  }
  return BE_OK;
}

/* ---- looking ---- */

/* Counted no farther than `most`; SIZE_MAX for a view that is not generic, or lines that meet once
 * they are thin. */
static enum be_status count_in(struct flat *flat, struct seen *seen, size_t most,
                               struct be_err *err)
{
  enum be_status status = be_flat_look(flat, &seen->view, err);
  if (status != BE_OK) return status;
  status = be_flat_count(flat, most ? most : 1, &seen->crossings, err);
  if (status != BE_NO && status != BE_BAD_INPUT) return status;
  seen->crossings = SIZE_MAX;
  return BE_OK;
}

/* Keeps the best few, the earlier of equals first. */
static void keep(struct seen kept[KEPT], const struct seen *seen)
{
  struct seen in = *seen;
  for (int i = 0; i < KEPT; i++)
    if (in.crossings < kept[i].crossings) {
      struct seen out = kept[i];
      kept[i] = in;
      in = out;
    }
}

static enum be_status look_around(struct flat *thinned, size_t tries, uint64_t seed,
                                  struct seen kept[KEPT], struct be_err *err)
{
  static const double axes[6][2] = {{0, 0}, {0, 180}, {0, 90}, {90, 90}, {180, 90}, {270, 90}};
  struct be_random random;
  enum be_status status = BE_OK;
  be_random_init(&random, seed, 0);
  for (int i = 0; i < KEPT; i++) kept[i].crossings = SIZE_MAX;
  for (size_t i = 0; i < tries + 6 && status == BE_OK; i++) {
    struct seen seen = {.view =
                            i < 6 ? be_view_of(axes[i][0], axes[i][1]) : be_view_random(&random)};
    status = count_in(thinned, &seen, kept[KEPT - 1].crossings, err);
    keep(kept, &seen);
  }
  return status;
}

static enum be_status refine(struct flat *thinned, struct seen *best, struct be_err *err)
{
  enum be_status status = BE_OK;
  double angle = 16;
  for (int round = 0; round < ROUNDS && best->crossings < SIZE_MAX; round++, angle /= 2)
    for (int k = 0; k < AROUND && status == BE_OK; k++) {
      struct seen seen = {.view = be_view_tilted(&best->view, 360.0 * k / AROUND, angle)};
      status = count_in(thinned, &seen, best->crossings, err);
      if (seen.crossings < best->crossings) *best = seen;
    }
  return status;
}

/* On the whole lines; a view that is not generic is tilted until one is. */
static enum be_status count_whole(struct flat *whole, struct seen *seen, size_t most,
                                  struct be_err *err)
{
  struct be_view straight = seen->view;
  for (int i = 0; i < NUDGES; i++) {
    enum be_status status = count_in(whole, seen, most, err);
    if (status != BE_OK || seen->crossings < SIZE_MAX) return status;
    seen->view = be_view_tilted(&straight, 137.5 * i, 0.03 * (i + 1));
  }
  be_fail(err, BE_BAD_INPUT, "the lines meet in space");
  return be_fail_remedy(err, "move one of them aside where it crosses the other");
}

enum be_status be_view_fewest(const struct be_lines *lines, size_t tries, uint64_t seed,
                              struct be_arena *arena, struct be_view *view, size_t *crossings,
                              struct be_err *err)
{
  struct be_lines thin_lines;
  struct flat thinned, whole;
  struct seen kept[KEPT], best = {.view = be_view_top, .crossings = SIZE_MAX};
  enum be_status status = thin(lines, arena, &thin_lines, err);
  if (status == BE_OK) status = be_flat_make(&thin_lines, arena, &thinned, err);
  if (status == BE_OK) status = be_flat_make(lines, arena, &whole, err);
  if (status == BE_OK) status = look_around(&thinned, tries, seed, kept, err);
  for (int i = 0; i < KEPT && status == BE_OK; i++) {
    status = refine(&thinned, &kept[i], err);
    if (kept[i].crossings == SIZE_MAX) continue;
    if (status == BE_OK) status = count_whole(&whole, &kept[i], best.crossings, err);
    if (kept[i].crossings < best.crossings) best = kept[i];
  }
  if (status == BE_OK && best.crossings == SIZE_MAX)
    status = count_whole(&whole, &best, SIZE_MAX, err);
  *view = best.view;
  *crossings = best.crossings;
  return status;
}
