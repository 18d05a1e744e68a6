/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/measure/inside.h"

const double be_touch_tolerance = 0.25;

enum be_status be_overlaps(const struct be_lines *lines, const struct be_view *view,
                           double tolerance, struct be_arena *arena,
                           struct be_overlap overlaps[BE_OVERLAPS_MAX], struct be_err *err)
{
  struct tree space[BE_LINES_MAX], flat[BE_LINES_MAX];
  enum be_status status = BE_OK;
  if (!(tolerance >= 0 && tolerance <= 0.5))
    return be_fail(err, BE_WRONG_USE, "the tolerance of a touch is 0 to 0.5");
  for (size_t l = 0; l < lines->count && status == BE_OK; l++) {
    status = be_curve_check(&lines->line[l], err);
    if (status == BE_OK) status = be_tree_make(&lines->line[l], NULL, arena, &space[l], err);
    if (status == BE_OK) status = be_tree_make(&lines->line[l], view, arena, &flat[l], err);
  }
  for (size_t i = 0; i < lines->count * lines->count && status == BE_OK; i++) {
    size_t a = i / lines->count, b = i % lines->count;
    struct be_overlap *overlap = &overlaps[i];
    struct be_stretches found[NEAR_KINDS];
    double mean = (lines->diameter[a] + lines->diameter[b]) / 2;
    double apart = a == b ? half_turn * lines->diameter[a] : -1;
    struct nearness near = {&space[a], &space[b], mean * (1 + tolerance), apart, false};
    *overlap = (struct be_overlap){.line = a, .other = b};
    status = be_near(&near, arena, found, err);
    if (status != BE_OK) break;
    overlap->touching = found[0];
    near = (struct nearness){&flat[a], &flat[b], mean, apart, true};
    status = be_near(&near, arena, found, err);
    if (status != BE_OK) break;
    overlap->over = found[NEAR_OVER];
    overlap->under = found[NEAR_UNDER];
    status = be_stretches_both(&overlap->touching, &overlap->over, arena, &overlap->on, err);
    if (status == BE_OK)
      status =
          be_stretches_both(&overlap->touching, &overlap->under, arena, &overlap->beneath, err);
  }
  return status;
}
