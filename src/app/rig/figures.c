/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Figures of the rig: errors of a calibration with the limits of its class, and the control chart
 * of a check weight. */
#include "app/rig/trust.h"

#include <math.h>
#include <stdio.h>

static const double figure_width = 760, figure_height = 300;

/* ---- errors of the calibration ---- */

/* Of one reading, in per cent of its load; not-a-number at no load. */
static double error_of(const struct worked *worked, const struct be_calibration_point *point)
{
  if (!(fabs(point->load_N) > 0)) return NAN;
  return 100 * (be_calibration_load(&worked->fit, point->reading) - point->load_N) /
         fabs(point->load_N);
}

static double greatest_error(const struct worked *worked)
{
  double most = 0;
  for (size_t i = 0; i < worked->kept->is.points_count; i++) {
    double error = fabs(error_of(worked, &worked->kept->is.points[i]));
    if (error > most) most = error;
  }
  return most;
}

static void draw_errors(struct be_figure *figure, const struct survey *survey,
                        const struct worked *worked)
{
  double most = greatest_error(worked);
  double limit =
      worked->force_class < BE_FORCE_CLASSES ? be_force_classes[worked->force_class].accuracy : NAN;
  double reach = 1.15 * (limit > most ? limit : most > 0 ? most : 1);
  be_figure_x(figure, be_head(survey, "load applied"), 0,
              1.05 * be_shown(survey, worked->fit.most_N), false);
  be_figure_y(figure, "error of the reading (% of the load)", -reach, reach);
  be_figure_rule_y(figure, 0, "right");
  if (!isnan(limit)) {
    be_figure_rule_y(figure, limit, "limit");
    be_figure_rule_y(figure, -limit, "limit");
  }
  for (size_t i = 0; i < worked->kept->is.points_count; i++) {
    const struct be_calibration_point *point = &worked->kept->is.points[i];
    be_figure_means(figure, point->falling ? "unloading" : "loading");
    be_figure_mark(figure, be_shown(survey, point->load_N), error_of(worked, point),
                   point->falling ? BE_SHAPE_SQUARE : BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_NYLON);
  }
}

struct be_figure *be_figure_of_errors(const struct survey *survey, const struct worked *worked)
{
  char title[200], subtitle[200];
  double most = greatest_error(worked);
  snprintf(title, sizeof title, "Readings lie within %.2g %% of the load", most);
  snprintf(subtitle, sizeof subtitle,
           "calibration %s, %zu readings; squares: taken while unloading", worked->kept->is.name,
           worked->kept->is.points_count);
  struct be_figure *figure = be_figure_create(title, subtitle, figure_width, figure_height);
  draw_errors(figure, survey, worked);
  be_figure_twin(figure,
                 "Errors of %zu readings against the load applied: the greatest is %.2g %% of the "
                 "load; limits are those of %s.",
                 worked->kept->is.points_count, most, be_rig_class_words(worked->force_class));
  return figure;
}

/* ---- control chart ---- */

struct chart {
  const char *axis, *title, *subtitle;
  double centre, lower, upper; /* not-a-number: no such limit */
};

/* Values in their order; what is marked carries another mark and its tone. */
static struct be_figure *draw_chart(const struct survey *survey, const struct chart *chart,
                                    const double *values, const bool *marked, size_t n, size_t from)
{
  double low = chart->centre, high = chart->upper;
  struct be_figure *figure =
      be_figure_create(chart->title, chart->subtitle, figure_width, figure_height);
  double *x = be_arena_alloc(survey->arena, n * sizeof *x);
  if (!x) {
    be_figure_free(figure);
    return NULL;
  }
  if (chart->lower < low) low = chart->lower;
  for (size_t i = 0; i < n; i++) {
    x[i] = (double)(i + from);
    if (values[i] < low) low = values[i];
    if (values[i] > high) high = values[i];
  }
  double room = high > low ? 0.12 * (high - low) : 0.01 * fabs(high) + 1e-9;
  be_figure_x(figure, "reading of the check weight, in order", 1, (double)(n + from - 1), true);
  be_figure_y(figure, chart->axis, isnan(chart->lower) ? 0 : low - room, high + room);
  be_figure_columns(figure, NULL, "reading", NULL);
  be_figure_rule_y(figure, chart->upper, "limit");
  be_figure_rule_y(figure, chart->centre, "centre");
  if (!isnan(chart->lower)) be_figure_rule_y(figure, chart->lower, "limit");
  be_figure_means(figure, NULL);
  be_figure_line(figure, x, values, n, BE_TONE_MUTED, BE_STROKE_SOLID);
  for (size_t i = 0; i < n; i++) {
    be_figure_means(figure, marked[i] ? "marked" : "inside the limits");
    be_figure_mark(figure, x[i], values[i], marked[i] ? BE_SHAPE_TRIANGLE : BE_SHAPE_ROUND,
                   BE_FILL_SOLID, marked[i] ? BE_TONE_STOP : BE_TONE_NYLON);
  }
  return figure;
}

/* "number 7 with 4.62, number 9 with 4.71", or "none". */
static const char *marked_words(const struct survey *survey, const double *values,
                                const bool *marked, size_t n, size_t from)
{
  enum { ONE_MAX = 80 };
  size_t size = (n + 1) * ONE_MAX, used = 0;
  char *words = be_arena_alloc(survey->arena, size);
  if (!words) return "?";
  for (size_t i = 0; i < n; i++)
    if (marked[i])
      used += (size_t)snprintf(words + used, size - used, "%snumber %zu with %.*f",
                               used ? ", " : "", i + from, survey->decimals + 2, values[i]);
  return used ? words : "none";
}

struct be_figure *be_figure_of_checks(const struct survey *survey, const struct checks *checks)
{
  char title[200], subtitle[200];
  size_t beyond = 0, n = checks->n;
  double *values = be_arena_alloc(survey->arena, n * sizeof *values);
  bool *marked = be_arena_alloc(survey->arena, n * sizeof *marked);
  if (!values || !marked) return NULL;
  for (size_t i = 0; i < n; i++) {
    values[i] = be_shown(survey, checks->forces_N[i]);
    marked[i] = checks->marks[i] != BE_CHART_FINE;
    beyond += checks->marks[i] == BE_CHART_BEYOND;
  }
  if (beyond)
    snprintf(title, sizeof title, "Of %zu readings %zu %s outside the limits", n, beyond,
             beyond == 1 ? "lies" : "lie");
  else snprintf(title, sizeof title, "All %zu readings lie inside the limits", n);
  snprintf(subtitle, sizeof subtitle,
           "check weight %.*f %s; limits from the first %zu readings; triangles: marked",
           survey->decimals + 1, be_shown(survey, checks->weight_N), survey->how.unit->name,
           checks->chart.base);
  const struct chart chart = {be_head(survey, "force"),
                              title,
                              subtitle,
                              be_shown(survey, checks->chart.centre),
                              be_shown(survey, checks->chart.lower),
                              be_shown(survey, checks->chart.upper)};
  struct be_figure *figure = draw_chart(survey, &chart, values, marked, n, 1);
  be_figure_twin(
      figure,
      "Of %zu readings %zu outside the limits, marked in all: %s. Control chart of single "
      "values of a weight of %.*f %s: centre %.*f, limits %.*f and %.*f %s.",
      n, beyond, marked_words(survey, values, marked, n, 1), survey->decimals + 1,
      be_shown(survey, checks->weight_N), survey->how.unit->name, survey->decimals + 2,
      chart.centre, survey->decimals + 2, chart.lower, survey->decimals + 2, chart.upper,
      survey->how.unit->name);
  return figure;
}

struct be_figure *be_figure_of_ranges(const struct survey *survey, const struct checks *checks)
{
  size_t beyond = 0, n = checks->n - 1;
  double *values = be_arena_alloc(survey->arena, n * sizeof *values);
  bool *marked = be_arena_alloc(survey->arena, n * sizeof *marked);
  if (!values || !marked) return NULL;
  for (size_t i = 0; i < n; i++) {
    double range_N = fabs(checks->forces_N[i + 1] - checks->forces_N[i]);
    values[i] = be_shown(survey, range_N);
    marked[i] = range_N > checks->chart.range_upper;
    beyond += marked[i];
  }
  char title[200];
  snprintf(title, sizeof title, "From one reading to the next: %zu of %zu beyond the limit", beyond,
           n);
  const struct chart chart = {
      be_head(survey, "moving range"),
      title,
      "each reading less the one before, without sign; triangles: beyond the limit",
      be_shown(survey, checks->chart.range),
      NAN,
      be_shown(survey, checks->chart.range_upper)};
  struct be_figure *figure = draw_chart(survey, &chart, values, marked, n, 2);
  be_figure_twin(figure,
                 "Of %zu ranges, from one reading to the next, %zu beyond the limit: %s. Mean of "
                 "the ranges %.*f, limit %.*f %s.",
                 n, beyond, marked_words(survey, values, marked, n, 2), survey->decimals + 2,
                 chart.centre, survey->decimals + 2, chart.upper, survey->how.unit->name);
  return figure;
}
