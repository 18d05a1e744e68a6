/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One knot in one combination, pull by pull: over the order of testing, and against the shapes
 * that loads may have. */
#include "app/strength/strength.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double figure_width = 760, figure_height = 420;
enum { PLOT_FROM = 3 };

/* ---- in the order of testing ---- */

static struct be_figure *figure_of_order(const struct survey *survey, const struct cell *cell,
                                         const struct be_pull *const *pulls)
{
  const char *title =
      be_arena_format(survey->arena, "%s over the order of testing", be_cell_name(survey, cell));
  struct be_figure *figure =
      be_figure_create(title ? title : "", survey->combinations[cell->combination].name,
                       figure_width, figure_height);
  double mean = cell->load.value, end = 0;
  for (size_t i = 0; i < cell->count; i++)
    if (pulls[i]->load_N > 0) end = fmax(end, fabs(pulls[i]->load_N / mean - 1));
  be_figure_x(figure, "pull", 0, (double)cell->count + 1, true);
  be_figure_y(figure, "off the mean (%)", -105 * end, 105 * end);
  for (size_t i = 0; i < cell->count; i++) {
    static const enum be_fill fills[] = {[BE_KIND_EVENT] = BE_FILL_SOLID,
                                         [BE_KIND_BOUND] = BE_FILL_OPEN,
                                         [BE_KIND_VOID] = BE_FILL_CROSS};
    be_figure_means(figure, "%s", be_kind_word(pulls[i]->kind));
    be_figure_tell(figure, "specimen", pulls[i]->code);
    be_figure_mark(figure, (double)(i + 1), 100 * (pulls[i]->load_N / mean - 1), BE_SHAPE_ROUND,
                   fills[pulls[i]->kind], BE_TONE_INK);
  }
  be_figure_tell_nothing(figure);
  be_figure_rule_y(figure, 0, "mean");
  be_figure_twin(figure, "%zu pulls in the order of testing, at most %.0f %% off their mean.",
                 cell->count, 100 * end);
  return figure;
}

/* ---- probability plots ---- */

/* A pull that held moves those above it up: half way down each step of the product limit.
 * Without such pulls, (i - 0.3) / (n + 0.4). */
static size_t place_events(const struct cell *cell, struct be_held *held, struct be_step *steps,
                           enum be_family family, double *x, double *y)
{
  size_t count = cell->n + cell->lower_count, placed = 0;
  be_sort_held(held, count);
  size_t steps_count = be_kaplan_meier(held, count, 0.95, steps);
  double before = 1;
  for (size_t i = 0; i < steps_count; i++)
    for (size_t k = 0; k < steps[i].events; k++) {
      double fall = (before - steps[i].survival) / (double)steps[i].events;
      double p = 1 - before + fall * ((double)k + 0.5);
      x[placed] = steps[i].load;
      y[placed] = cell->lower_count ? be_plot_axis(p, family)
                                    : be_plot_position(placed + 1, cell->n, family);
      placed++;
      if (k + 1 == steps[i].events) before = steps[i].survival;
    }
  return placed;
}

static const char *family_word(enum be_family family)
{
  return family == BE_FAMILY_WEIBULL  ? "Weibull"
         : family == BE_FAMILY_NORMAL ? "normal"
                                      : "lognormal";
}

static const char *shape_title(const struct survey *survey, const struct cell *cell,
                               enum be_family family, const struct be_fit *fit)
{
  const char *name = be_cell_name(survey, cell), *word = family_word(family);
  struct fitness fitness = {NAN, NAN, NAN};
  be_find_fitness(survey, cell, fit, 1, &fitness, NULL);
  double p = family == BE_FAMILY_WEIBULL ? fitness.weibull : fitness.normal;
  const char *title = isnan(p) ? be_arena_format(survey->arena, "The %s on a %s plot", name, word)
                      : p < BE_DOUBTFUL
                          ? be_arena_format(survey->arena, "The %s does not look %s", name, word)
                          : be_arena_format(survey->arena, "The %s may well be %s", name, word);
  return title ? title : "";
}

struct be_figure *be_figure_of_shape(const struct survey *survey, const struct cell *cell,
                                     enum be_family family)
{
  size_t count = cell->n + cell->lower_count;
  struct be_held *held = be_held_of(survey, cell);
  struct be_step *steps = be_arena_alloc(survey->arena, count * sizeof *steps);
  double *x = be_arena_alloc(survey->arena, cell->n * sizeof *x);
  double *y = be_arena_alloc(survey->arena, cell->n * sizeof *y);
  if (!held || !steps || !x || !y) return NULL;
  struct be_fit fit;
  be_fit_censored(family, held, count, &fit);
  size_t n = place_events(cell, held, steps, family, x, y);
  bool logs = family != BE_FAMILY_NORMAL;
  const char *title = shape_title(survey, cell, family, &fit);
  const char *label = be_head(survey, logs ? "ln of load" : "load");
  struct be_figure *figure = be_figure_create(title, survey->combinations[cell->combination].name,
                                              figure_width, figure_height);
  for (size_t i = 0; i < n; i++) x[i] = logs ? log(be_shown(survey, x[i])) : be_shown(survey, x[i]);
  be_figure_x(figure, label, x[0], x[n - 1], false);
  be_figure_y(figure, family == BE_FAMILY_WEIBULL ? "ln(-ln(1 - share))" : "normal deviate",
              be_plot_axis(0.05, family), be_plot_axis(0.95, family));
  if (fit.converged) {
    double scale = logs ? log(survey->how.unit->factor) : 0;
    double unit = logs ? 1 : survey->how.unit->factor;
    const double at[] = {be_plot_axis(0.02, family), be_plot_axis(0.98, family)};
    const double line[] = {(fit.mu + fit.sigma * at[0]) / unit - scale,
                           (fit.mu + fit.sigma * at[1]) / unit - scale};
    be_figure_means(figure, "%s fit", family_word(family));
    be_figure_line(figure, line, at, 2, BE_TONE_ACT, BE_STROKE_SOLID);
  }
  be_figure_means(figure, "event");
  for (size_t i = 0; i < n; i++)
    be_figure_mark(figure, x[i], y[i], BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_INK);
  be_figure_rule_y(figure, be_plot_axis(0.1, family), "10 %");
  be_figure_rule_y(figure, be_plot_axis(0.5, family), "50 %");
  be_figure_twin(
      figure,
      "A %s probability plot of %zu events; the line is the fitted %s distribution. Marks "
      "along the line fit it.",
      family_word(family), n, family_word(family));
  return figure;
}

/* ---- how many still hold ---- */

/* The product limit falls at each load where something let go: two points a step. */
static struct be_figure *figure_of_survival(const struct survey *survey, const struct cell *cell)
{
  size_t count = cell->n + cell->lower_count;
  struct be_held *held = be_held_of(survey, cell);
  struct be_step *steps = be_arena_alloc(survey->arena, count * sizeof *steps);
  double *x = be_arena_alloc(survey->arena, 2 * (count + 1) * sizeof *x);
  double *y = be_arena_alloc(survey->arena, 6 * (count + 1) * sizeof *y);
  if (!held || !steps || !x || !y) return NULL;
  double *low = y + 2 * (count + 1), *high = low + 2 * (count + 1);
  be_sort_held(held, count);
  size_t n = be_kaplan_meier(held, count, survey->how.level, steps), at = 0;
  x[at] = 0;
  y[at] = low[at] = high[at] = 100;
  for (size_t i = 0; i < n; i++) {
    at++;
    x[at] = x[at + 1] = be_shown(survey, steps[i].load);
    y[at] = y[at - 1], low[at] = low[at - 1], high[at] = high[at - 1];
    at++;
    bool known = !isnan(steps[i].interval.low);
    y[at] = 100 * steps[i].survival;
    low[at] = known ? 100 * steps[i].interval.low : 0;
    high[at] = known ? 100 * steps[i].interval.high : high[at - 1];
  }
  const char *title =
      be_arena_format(survey->arena, "How many %s still hold", be_cell_name(survey, cell));
  const char *subtitle =
      be_arena_format(survey->arena, "%s: Kaplan-Meier and its %g %% interval",
                      survey->combinations[cell->combination].name, 100 * survey->how.level);
  struct be_figure *figure =
      be_figure_create(title ? title : "", subtitle, figure_width, figure_height);
  be_figure_x(figure, be_head(survey, "load"), 0, x[at], false);
  be_figure_y(figure, "still holding (%)", 0, 100);
  be_figure_means(figure, NULL);
  be_figure_line(figure, x, low, at + 1, BE_TONE_MUTED, BE_STROKE_DASH);
  be_figure_line(figure, x, high, at + 1, BE_TONE_MUTED, BE_STROKE_DASH);
  be_figure_means(figure, "Kaplan-Meier");
  be_figure_line(figure, x, y, at + 1, BE_TONE_INK, BE_STROKE_SOLID);
  be_figure_within(figure, false, low, high);
  be_figure_twin(figure,
                 "The share of specimens that still hold falls from 100 %% to %.0f %% at "
                 "%.*f %s, in %zu steps.",
                 y[at], survey->decimals, x[at], survey->how.unit->name, n);
  return figure;
}

/* ---- the document ---- */

static void pull_rows(struct be_doc *doc, const struct survey *survey, const struct cell *cell,
                      const struct be_pull *const *pulls)
{
  const struct be_column columns[] = {
      {"order", "", BE_COLUMN_NUMBER, false},
      {"specimen", "specimen", BE_COLUMN_TEXT, false},
      {"result", "result", BE_COLUMN_TEXT, false},
      {"load", be_head(survey, "load"), BE_COLUMN_NUMBER, false},
      {"let_go", "what let go", BE_COLUMN_TEXT, false},
      {"which", "which", BE_COLUMN_TEXT, false},
      {"bench", "bench", BE_COLUMN_TEXT, false},
      {"session", "session", BE_COLUMN_TEXT, false},
  };
  struct be_table *table = be_doc_table(doc, "pulls", "Its pulls, in the order of testing", columns,
                                        sizeof columns / sizeof columns[0]);
  for (size_t i = 0; i < cell->count; i++) {
    const struct be_pull *pull = pulls[i];
    be_table_number(table, (double)(i + 1), 0);
    be_table_text(table, "%s", pull->code);
    be_table_link(table, "/pull/%lld", (long long)pull->id);
    be_table_text(table, "%s", be_kind_word(pull->kind));
    be_table_number(table, be_shown(survey, pull->load_N), survey->decimals);
    be_let_go_cell(table, pull->what, pull->where, BE_WHICH_UNKNOWN);
    be_table_text(table, "%s", be_which_word(pull->which));
    be_table_text(table, "%s",
                  pull->bench < 0 ? "not recorded" : survey->record.benches[pull->bench].name);
    be_table_text(table, "%s", pull->session ? pull->session : "not recorded");
  }
}

static void answer(struct be_doc *doc, const struct survey *survey, const struct cell *cell)
{
  const char *where = survey->combinations[cell->combination].name, *unit = survey->how.unit->name;
  struct be_interval load = be_load_interval(&cell->load, survey->how.level);
  struct be_interval kept = be_interval_percent(&cell->efficiency);
  if (cell->n == 0) {
    be_doc_sentence(doc, "The %s has no event in %s.", be_cell_name(survey, cell), where);
    return;
  }
  const char *held = be_interval_words(survey, be_shown(survey, load.low),
                                       be_shown(survey, load.high), survey->decimals + 1);
  if (isnan(cell->efficiency.value))
    be_doc_sentence(doc, "The %s held %.*f %s%s in %s, n = %zu.", be_cell_name(survey, cell),
                    survey->decimals + 1, be_shown(survey, cell->load.value), unit, held, where,
                    cell->n);
  else
    be_doc_sentence(doc, "The %s kept %.0f %%%s of the line in %s: %.*f %s%s, n = %zu.",
                    be_cell_name(survey, cell), 100 * cell->efficiency.value,
                    be_interval_words(survey, kept.low, kept.high, 0), where, survey->decimals + 1,
                    be_shown(survey, cell->load.value), unit, held, cell->n);
}

enum be_status be_cell_doc(const struct survey *survey, const struct cell *cell,
                           struct be_doc **out, struct be_err *err)
{
  const char *title =
      be_arena_format(survey->arena, "%s: %s", survey->combinations[cell->combination].name,
                      be_cell_name(survey, cell));
  const struct be_pull **pulls = be_arena_alloc(survey->arena, cell->count * sizeof *pulls);
  struct be_doc *doc = title && pulls ? be_doc_create("cell", title) : NULL;
  if (!doc) return be_no_memory(err);
  memcpy(pulls, cell->pulls, cell->count * sizeof *pulls);
  be_sort_by_order(pulls, cell->count);
  answer(doc, survey, cell);
  if (cell->n >= PLOT_FROM && cell->summary.sd > 0) {
    be_doc_figure(doc, figure_of_order(survey, cell, pulls));
    be_doc_figure(doc, figure_of_survival(survey, cell));
    be_doc_figure(doc, be_figure_of_shape(survey, cell, BE_FAMILY_NORMAL));
    be_doc_figure(doc, be_figure_of_shape(survey, cell, BE_FAMILY_WEIBULL));
  }
  pull_rows(doc, survey, cell, pulls);
  return be_doc_done(doc, BE_OK, out);
}
