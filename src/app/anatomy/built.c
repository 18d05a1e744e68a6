/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What findings ask of how a knot is built, counted as a knot sheet tells it: in the view with the
 * fewest crossings, over the length of a line, without those over hardware. */
#include "app/anatomy/anatomy.h"
#include "app/survey/survey.h"

#include <math.h>
#include <string.h>

static size_t line_of(const struct be_tie *tie, char letter)
{
  size_t line = 0;
  while (line < tie->lines.count && (tie->hardware[line] || tie->letter[line] != letter)) line++;
  return line;
}

static double crossings_of(const struct be_tie *tie, const struct be_crossing_counts *counts,
                           size_t line)
{
  if (line == tie->lines.count) return NAN;
  size_t all = counts->own[line];
  for (size_t other = 0; other < tie->lines.count; other++)
    if (other != line && !tie->hardware[other]) all += counts->between[line][other];
  return (double)all;
}

/* Of a single line, what of it lies on itself. */
static double overlap_of(const struct be_tie *tie, const struct be_overlap *overlaps, size_t line)
{
  size_t lines = tie->lines.count, others = 0;
  double on = 0;
  if (line == lines) return NAN;
  for (size_t other = 0; other < lines; other++) {
    if (other == line || tie->hardware[other]) continue;
    on += overlaps[line * lines + other].on.length;
    others++;
  }
  return others ? on : overlaps[line * lines + line].on.length;
}

static enum be_status count_wraps(const struct be_tie *tie, struct be_arena *arena, double *turns,
                                  struct be_err *err)
{
  struct be_wrap *wraps;
  size_t count;
  enum be_status status = be_wraps(&tie->lines, 0, 0, arena, &wraps, &count, err);
  if (status != BE_OK) return status;
  *turns = 0;
  for (size_t i = 0; i < count; i++)
    if (!tie->hardware[wraps[i].line] && !tie->hardware[wraps[i].other])
      *turns += fabs(wraps[i].turns);
  return BE_OK;
}

static enum be_status count(const struct be_tie *tie, struct be_arena *arena,
                            struct be_built *built, struct be_err *err)
{
  struct be_view view;
  struct be_crossing *crossings;
  struct be_crossing_counts counts;
  struct be_overlap *overlaps = be_arena_alloc(arena, BE_OVERLAPS_MAX * sizeof *overlaps);
  size_t fewest, all;
  if (!overlaps) return be_no_memory(err);
  enum be_status status =
      be_view_fewest(&tie->lines, BE_VIEWS_TRIED, BE_VIEWS_SEED, arena, &view, &fewest, err);
  if (status == BE_OK) status = be_crossings_find(&tie->lines, &view, arena, &crossings, &all, err);
  if (status == BE_OK)
    status = be_overlaps(&tie->lines, &view, be_touch_tolerance, arena, overlaps, err);
  if (status != BE_OK) return status;
  be_crossings_count(crossings, all, &counts);
  size_t a = line_of(tie, 'A');
  built->crossings_a = crossings_of(tie, &counts, a);
  built->crossings_b = crossings_of(tie, &counts, line_of(tie, 'B'));
  built->overlap = overlap_of(tie, overlaps, a);
  return BE_OK;
}

enum be_status be_tie_built(const char *text, struct be_built *built, struct be_err *err)
{
  struct be_tie tie;
  *built = (struct be_built){NAN, NAN, NAN, NAN};
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_no_memory(err);
  enum be_status status = be_tie_given(text, strlen(text), NULL, arena, &tie, err);
  if (status == BE_OK) status = be_anatomy_check(&tie, err);
  if (status == BE_OK) status = count(&tie, arena, built, err);
  if (status == BE_OK) status = count_wraps(&tie, arena, &built->wraps, err);
  be_arena_free(arena);
  return status;
}
