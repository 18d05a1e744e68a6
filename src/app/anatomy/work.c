/* SPDX-License-Identifier: GPL-3.0-or-later */
/* All that is worked out of one tie. */
#include "app/anatomy/anatomy.h"
#include "app/survey/survey.h"

#include <math.h>
#include <string.h>

enum { CODE_MAX = 1 << 20 };

/* What takes seconds is no tie that somebody drew, and pages are to come for others too. */
enum { POINTS_MAX = 8000, CROSSINGS_MAX = 400 };

enum be_status be_anatomy_check(const struct be_tie *tie, struct be_err *err)
{
  size_t points = 0;
  for (size_t i = 0; i < tie->lines.count; i++) points += tie->lines.line[i].count;
  if (points <= POINTS_MAX) return BE_OK;
  return be_fail(err, BE_TOO_LARGE, "a tie may have %d points, and this has %zu", POINTS_MAX,
                 points);
}

/* A view in which a line is seen end on has no crossings to be told: one a little aside has. */
static enum be_status see(const struct be_lines *lines, struct be_arena *arena, struct seen *seen,
                          struct be_err *err)
{
  enum be_status status =
      be_crossings_near(lines, &seen->view, arena, &seen->crossings, &seen->count, err);
  if (status == BE_OK) be_crossings_count(seen->crossings, seen->count, &seen->counts);
  return status;
}

const char *be_tie_full(const struct be_tie *tie, struct be_arena *arena)
{
  const char *full = tie->name;
  for (size_t i = 0; i < tie->settings && full; i++)
    if (strcmp(tie->setting[i].value, tie->setting[i].usual) != 0)
      full = be_arena_format(arena, "%s, %s %s", full, tie->setting[i].name, tie->setting[i].value);
  return full;
}

enum be_status be_anatomy_look(const struct be_tie *tie, enum be_looked looked, double turn_deg,
                               double tilt_deg, struct be_arena *arena, struct anatomy *anatomy,
                               struct be_err *err)
{
  *anatomy = (struct anatomy){.arena = arena, .tie = *tie, .full = be_tie_full(tie, arena)};
  enum be_status status = be_anatomy_check(tie, err);
  anatomy->seen.words = "as it is usually drawn";
  anatomy->seen.view = tie->view;
  if (looked == BE_LOOKED_TURNED) {
    anatomy->seen.view = be_view_of(turn_deg, tilt_deg);
    anatomy->seen.words = be_arena_format(anatomy->arena, "turned by %g and tilted by %g degrees",
                                          turn_deg, tilt_deg);
  }
  if (status == BE_OK) status = see(&tie->lines, arena, &anatomy->seen, err);
  if (status == BE_OK && anatomy->seen.count > CROSSINGS_MAX)
    return be_fail(err, BE_TOO_LARGE, "a tie may have %d crossings, and this has %zu %s",
                   CROSSINGS_MAX, anatomy->seen.count, anatomy->seen.words);
  return status;
}

static enum be_status look_for_fewest(struct anatomy *anatomy, bool asked, struct be_err *err)
{
  const struct be_tie *tie = &anatomy->tie;
  size_t fewest;
  anatomy->fewest.words = "in the view with the fewest found";
  enum be_status status = be_view_fewest(&tie->lines, BE_VIEWS_TRIED, BE_VIEWS_SEED, anatomy->arena,
                                         &anatomy->fewest.view, &fewest, err);
  if (status == BE_OK) status = see(&tie->lines, anatomy->arena, &anatomy->fewest, err);
  if (status == BE_OK && asked) anatomy->seen = anatomy->fewest;
  return status;
}

/* ---- what is on what, and in the load path ---- */

static enum be_status contacts(struct anatomy *anatomy, struct be_err *err)
{
  const struct be_lines *lines = &anatomy->tie.lines;
  struct seen *seen = &anatomy->seen;
  anatomy->overlaps = be_arena_alloc(anatomy->arena, BE_OVERLAPS_MAX * sizeof *anatomy->overlaps);
  anatomy->parts = be_arena_alloc(anatomy->arena, (seen->count + 1) * sizeof *anatomy->parts);
  if (!anatomy->overlaps || !anatomy->parts) return be_no_memory(err);
  enum be_status status =
      be_overlaps(lines, &seen->view, be_touch_tolerance, anatomy->arena, anatomy->overlaps, err);
  if (status == BE_OK)
    status = be_load_path(lines, &anatomy->ends, anatomy->overlaps, seen->crossings, seen->count,
                          &anatomy->load, anatomy->parts, err);
  anatomy->pulled = status == BE_OK;
  if (status == BE_NO) status = BE_OK; /* no end is pulled */
  if (status == BE_OK)
    status = be_wraps(lines, 0, 0, anatomy->arena, &anatomy->wraps, &anatomy->wraps_count, err);
  if (status != BE_OK) return status;
  status = be_bend_counts(lines, &anatomy->ends, seen->crossings, seen->count, anatomy->arena,
                          &anatomy->bend, err);
  anatomy->bend_counted = status == BE_OK;
  return status == BE_NO ? BE_OK : status;
}

/* ---- closed ---- */

static enum be_status work_part(const struct be_diagram *diagram, struct be_arena *arena,
                                struct part *part, struct be_err *err)
{
  enum be_status status = be_alexander(diagram, arena, &part->alexander, err);
  if (status == BE_OK) status = be_determinant(diagram, arena, &part->determinant, err);
  if (status == BE_OK) status = be_signature(diagram, arena, &part->signature, err);
  if (status == BE_OK && diagram->strands == 1)
    be_names_find(&part->alexander, part->signature, part->names, &part->names_count);
  return status;
}

/* The second way to the linking numbers: in space, without a drawing. */
static enum be_status work_integral(const struct anatomy *anatomy, struct closing *closing,
                                    struct be_err *err)
{
  const struct be_lines *lines = &closing->closed.lines;
  enum be_status status = BE_OK;
  closing->integral = "";
  for (size_t a = 0; a < lines->count; a++)
    for (size_t b = a + 1; b < lines->count && status == BE_OK; b++) {
      double linking = 0;
      status = be_linking_integral(&lines->line[a], &lines->line[b], anatomy->arena, &linking, err);
      if (closing->integral)
        closing->integral =
            be_arena_format(anatomy->arena, "%s%s%.3f", closing->integral,
                            *closing->integral ? ", " : "", fabs(linking) < 0.0005 ? 0.0 : linking);
      if (!closing->integral) return be_no_memory(err);
    }
  return status;
}

static enum be_status work_closing(struct anatomy *anatomy, struct closing *closing,
                                   struct be_err *err)
{
  struct be_arena *arena = anatomy->arena;
  struct seen seen = {.view = anatomy->seen.view};
  const struct be_lines *closed = &closing->closed.lines;
  size_t moves;
  enum be_status status = see(closed, arena, &seen, err);
  if (status == BE_OK)
    status =
        be_crossings_diagram(closed, seen.crossings, seen.count, arena, &closing->drawing, err);
  if (status == BE_OK) status = work_integral(anatomy, closing, err);
  if (status == BE_OK) status = be_diagram_copy(&closing->drawing, arena, &closing->diagram, err);
  if (status == BE_OK) status = be_diagram_simplify(&closing->diagram, arena, NULL, &moves, err);
  if (status == BE_OK) status = work_part(&closing->diagram, arena, &closing->part[0], err);
  for (size_t i = 0;
       status == BE_OK && closing->diagram.strands > 1 && i < closing->diagram.strands; i++) {
    struct be_diagram alone;
    status = be_diagram_alone(&closing->diagram, i, arena, &alone, err);
    if (status == BE_OK) status = work_part(&alone, arena, &closing->part[1 + i], err);
  }
  return status;
}

/* One that is too large to be reckoned with, or whose joins meet in space, is left out, and that is
 * said. */
static enum be_status closings(struct anatomy *anatomy, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (int rule = 0; rule < BE_CLOSURES && status == BE_OK; rule++) {
    struct closing *closing = &anatomy->closing[anatomy->closings];
    struct be_err why = {0};
    *closing = (struct closing){.rule = (enum be_closure)rule};
    status = be_close(&anatomy->tie.lines, &anatomy->ends, &anatomy->seen.view, closing->rule,
                      anatomy->arena, &closing->closed, &why);
    if (status == BE_OK) status = work_closing(anatomy, closing, &why);
    anatomy->closings += status == BE_OK;
    if (status == BE_TOO_LARGE || status == BE_BAD_INPUT)
      anatomy->left_out =
          be_arena_format(anatomy->arena, "\"%s\": %s", be_closures[rule].name, why.what);
    else if (status != BE_OK && status != BE_NO) {
      if (err) *err = why;
      return status;
    }
    status = BE_OK;
  }
  return status;
}

/* ---- codes, and in space ---- */

/* Nothing is written of what crosses nothing. */
static enum be_status keep_text(struct anatomy *anatomy, struct be_buf *text, const char **kept,
                                struct be_err *err)
{
  enum be_status status = be_buf_status(text, err);
  if (status == BE_OK && text->size) *kept = be_arena_text(anatomy->arena, text->data, text->size);
  be_buf_free(text);
  be_buf_init(text, CODE_MAX);
  return status;
}

/* Gauss's of the lines as they are drawn; the other two are of closed strands alone. */
static enum be_status codes(struct anatomy *anatomy, struct be_err *err)
{
  struct be_diagram open;
  const struct seen *seen = &anatomy->seen;
  const struct be_diagram *closed = anatomy->closings ? &anatomy->closing[0].drawing : NULL;
  struct be_buf text;
  be_buf_init(&text, CODE_MAX);
  enum be_status status = be_crossings_diagram(&anatomy->tie.lines, seen->crossings, seen->count,
                                               anatomy->arena, &open, err);
  if (status == BE_OK) be_gauss_write(&open, true, &text);
  if (status == BE_OK) status = keep_text(anatomy, &text, &anatomy->gauss, err);
  if (status == BE_OK && closed) status = be_pd_write(closed, &text, err);
  if (status == BE_OK) status = keep_text(anatomy, &text, &anatomy->pd, err);
  if (status == BE_OK && closed && closed->strands == 1 && closed->crossings)
    status = be_dt_write(closed, &text, err);
  if (status == BE_OK) status = keep_text(anatomy, &text, &anatomy->dowker, err);
  be_buf_free(&text);
  return status;
}

static enum be_status in_space(struct anatomy *anatomy, struct be_err *err)
{
  const struct be_lines *lines = &anatomy->tie.lines;
  enum be_status status = BE_OK;
  for (size_t i = 0; i < lines->count && status == BE_OK; i++) {
    struct line_in_space *space = &anatomy->space[i];
    struct be_ribbon ribbon;
    space->length = be_curve_length(&lines->line[i]);
    status = be_ribbon(&lines->line[i], &anatomy->seen.view, anatomy->arena, &ribbon, err);
    if (status == BE_OK)
      status = be_writhe_all_pairs(&lines->line[i], anatomy->arena, NULL, &space->average_crossings,
                                   err);
    space->writhe = ribbon.writhe;
    space->twist = ribbon.twist;
    space->sum = ribbon.sum;
  }
  return status;
}

enum be_status be_anatomy_work(const struct be_tie *tie, enum be_looked looked, double turn_deg,
                               double tilt_deg, struct be_arena *arena, struct anatomy *anatomy,
                               struct be_err *err)
{
  enum be_status status = be_anatomy_look(tie, looked, turn_deg, tilt_deg, arena, anatomy, err);
  memcpy(anatomy->ends.loaded, tie->loaded, sizeof tie->loaded);
  memcpy(anatomy->ends.hardware, tie->hardware, sizeof tie->hardware);
  if (status == BE_OK) status = look_for_fewest(anatomy, looked == BE_LOOKED_FEWEST, err);
  if (status == BE_OK) status = contacts(anatomy, err);
  if (status == BE_OK) status = closings(anatomy, err);
  if (status == BE_OK) status = codes(anatomy, err);
  if (status == BE_OK) status = in_space(anatomy, err);
  if (status == BE_OK && be_arena_ran_out(arena)) status = be_no_memory(err);
  return status;
}
