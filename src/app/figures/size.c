/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Efficiency against how strong a line is labelled, and how thick it was measured: a figure for
 * each group, a line for each knot. The slope is that of cells, each knot with a level of its own:
 * so it carries what differs from one line to another, plain lines included. */
#include "app/figures/gallery.h"
#include "app/strength/strength.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { KNOTS_SHOWN = 8 };

struct size {
  const char *axis, *each, *needs;
  const char *column;                                                 /* of the data */
  const char *unit;                                                   /* of what `at` gives */
  double (*at)(const struct survey *survey, const struct cell *cell); /* as shown */
};

static double label_at(const struct survey *survey, const struct cell *cell)
{
  return be_shown(survey, be_label_of(survey, cell));
}

static double diameter_at(const struct survey *survey, const struct cell *cell)
{
  int row = cell->plain.match ? cell->plain.line_row : cell->pulls[0]->line_a;
  return row < 0 ? NAN : 1000 * survey->record.lines[row].diameter_m;
}

struct point {
  const struct cell *cell;
  double x;
};

static int by_knot(const void *a_, const void *b_)
{
  const struct point *a = a_, *b = b_;
  if (a->cell->knot != b->cell->knot) return a->cell->knot < b->cell->knot ? -1 : 1;
  if (a->x != b->x) return a->x < b->x ? -1 : 1;
  return a->cell < b->cell ? -1 : a->cell > b->cell;
}

/* Cells of the group that have an efficiency and a size, by knot and size. */
static size_t gather(const struct survey *survey, const char *group, const struct size *size,
                     struct point *points)
{
  size_t count = 0;
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    const struct combination *where = &survey->combinations[cell->combination];
    if (strcmp(where->group, group) != 0 || cell->knot < 0 || cell->knot_b >= 0 || !cell->shares ||
        isnan(cell->efficiency.value))
      continue;
    double x = size->at(survey, cell);
    if (x > 0) points[count++] = (struct point){cell, x};
  }
  if (count) qsort(points, count, sizeof *points, by_knot);
  return count;
}

static enum be_status slope_of(const struct survey *survey, const struct point *points,
                               size_t count, struct be_estimate *slope, struct be_err *err)
{
  double *x = be_arena_alloc(survey->arena, count * sizeof *x);
  double *y = be_arena_alloc(survey->arena, count * sizeof *y);
  size_t *stratum = be_arena_alloc(survey->arena, count * sizeof *stratum), strata;
  if (!x || !y || !stratum) return be_no_memory(err);
  for (size_t i = 0; i < count; i++) {
    x[i] = log2(points[i].x);
    y[i] = 100 * points[i].cell->efficiency.value;
    stratum[i] = (size_t)points[i].cell->knot;
  }
  *slope = be_within(x, y, stratum, count, &strata);
  return BE_OK;
}

static size_t same_knot(const struct point *points, size_t count)
{
  size_t n = 1;
  while (n < count && points[n].cell->knot == points[0].cell->knot) n++;
  return n;
}

static void draw_knot(struct be_figure *figure, const struct survey *survey,
                      const struct point *points, size_t count, const char *unit, double aside,
                      struct be_buf *words)
{
  static const enum be_stroke strokes[] = {BE_STROKE_SOLID, BE_STROKE_DASH};
  double x[100], y[100];
  const char *name = be_knot_name(survey, points[0].cell->knot);
  size_t n = 0, pulls = 0;
  for (; n < count && n < 100; n++) {
    x[n] = points[n].x;
    y[n] = 100 * points[n].cell->efficiency.value;
    pulls += points[n].cell->n;
    be_buf_format(words, "%s at %.3g %s %.0f %%%s, n = %zu", n ? ";" : name, points[n].x, unit,
                  y[n],
                  be_interval_words(survey, 100 * points[n].cell->efficiency.interval.low,
                                    100 * points[n].cell->efficiency.interval.high, 0),
                  points[n].cell->n);
  }
  be_figure_aside(figure, aside);
  be_figure_means(figure, NULL);
  be_figure_line(figure, x, y, n, BE_TONE_MUTED, strokes[points[0].cell->knot % 2]);
  for (size_t i = 0; i < n; i++)
    be_draw_efficiency(figure, survey, points[i].cell, x[i],
                       be_look_of_cell(survey, points[i].cell));
  const char *label = be_arena_format(survey->arena, "%s, " ONE_WORD("n", "%zu"), name, pulls);
  be_figure_label(figure, x[n - 1], y[n - 1], label ? label : name, BE_TONE_INK);
}

static struct be_figure *draw(const struct survey *survey, const char *group,
                              const struct size *size, const struct point *points, size_t count,
                              const struct be_estimate *slope)
{
  const char *subtitle =
      be_arena_format(survey->arena, "%s: every knot, with its %g %% interval; slope of %zu means",
                      group, 100 * survey->how.level, count);
  struct be_figure *figure =
      be_figure_create(be_slope_words(survey, slope, size->each), subtitle ? subtitle : group,
                       FIGURE_WIDTH, FIGURE_HEIGHT);
  double low = INFINITY, high = 0;
  for (size_t i = 0; i < count; i++) {
    low = fmin(low, points[i].x);
    high = fmax(high, points[i].x);
  }
  be_figure_x(figure, size->axis, low / 1.1, high * 1.1, false);
  be_figure_y(figure, "efficiency (% of the line)", 0, 110);
  be_figure_columns(figure, NULL, size->column, NULL);
  be_figure_scaling(figure, BE_SCALING_LOG, BE_SCALING_EVEN);
  be_figure_rule_y(figure, 100, "the line itself");
  struct be_buf words;
  be_buf_init(&words, 1 << 20);
  size_t shown = 0, knots = 0;
  be_buf_text(&words, "Means in % of the line. ");
  for (size_t i = 0, n; i < count; i += n, knots++) {
    n = same_knot(points + i, count - i);
    if (shown == KNOTS_SHOWN || points[i].x == points[i + n - 1].x) continue;
    draw_knot(figure, survey, points + i, n, size->unit, 8 * (double)shown, &words);
    be_buf_text(&words, ". ");
    shown++;
  }
  be_figure_aside(figure, 0);
  be_buf_format(&words, "Brackets hold the %g %% interval.", 100 * survey->how.level);
  const char *left =
      be_arena_format(survey->arena, "%zu more knot%s: on one size alone, or beyond the first %d.",
                      knots - shown, be_plural(knots - shown), KNOTS_SHOWN);
  if (left && shown < knots) {
    be_figure_foot(figure, "%s", left);
    be_buf_format(&words, " Not shown: %s", left);
  }
  return be_with_twin(figure, &words);
}

static bool has_slope(const struct point *points, size_t count)
{
  for (size_t i = 1; i < count; i++)
    if (points[i].cell->knot == points[i - 1].cell->knot && points[i].x > points[i - 1].x)
      return true;
  return false;
}

static enum be_status show_size(struct gallery *gallery, const struct size *size,
                                struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  struct point *points = be_arena_alloc(survey->arena, (survey->cells_count + 1) * sizeof *points);
  enum be_status status = points ? BE_OK : be_no_memory(err);
  gallery->why = size->needs;
  for (size_t i = 0; i < survey->combinations_count && status == BE_OK; i++) {
    const char *group = survey->combinations[i].group;
    if (i > 0 && strcmp(survey->combinations[i - 1].group, group) == 0) continue;
    size_t count = gather(survey, group, size, points);
    struct be_estimate slope;
    if (!has_slope(points, count)) continue;
    status = slope_of(survey, points, count, &slope, err);
    if (status == BE_OK)
      status =
          be_gallery_add(gallery, group, draw(survey, group, size, points, count, &slope), err);
  }
  return status;
}

enum be_status be_show_labels(struct gallery *gallery, struct be_err *err)
{
  const struct size size = {
      .axis = be_head(gallery->survey, "label strength of the weaker line"),
      .each = "each doubling of label strength",
      .column = "label_strength",
      .unit = gallery->survey->how.unit->name,
      .needs = "no knot with a measured plain line was tied on lines of two label strengths",
      .at = label_at};
  return show_size(gallery, &size, err);
}

enum be_status be_show_diameters(struct gallery *gallery, struct be_err *err)
{
  static const struct size size = {
      .axis = "measured diameter (mm)",
      .each = "each doubling of diameter",
      .column = "diameter",
      .unit = "mm",
      .needs = "no knot with a measured plain line was tied on lines of two measured diameters",
      .at = diameter_at};
  return show_size(gallery, &size, err);
}
