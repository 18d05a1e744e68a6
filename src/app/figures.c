/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The figures of the answers, built from the chart room's parts. */
#include "app/survey/survey.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const double figure_width = 760;

static int by_mean(const void *a_, const void *b_)
{
  const struct cell *const *a = a_, *const *b = b_;
  double first = (*a)->n ? (*a)->load.value : 0, second = (*b)->n ? (*b)->load.value : 0;
  if (first != second) return first > second ? -1 : 1;
  return (*a)->knot < (*b)->knot ? -1 : 1;
}

static double largest_load(const struct survey *survey, const struct combination *where)
{
  double largest = 0;
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->plain.match) largest = fmax(largest, cell->plain.estimate.value);
    for (size_t k = 0; k < cell->count; k++)
      if (!isnan(cell->pulls[k]->load_N)) largest = fmax(largest, cell->pulls[k]->load_N);
  }
  return be_shown(survey, largest);
}

static struct be_interval shown_interval(const struct survey *survey,
                                         const struct be_estimate *load)
{
  struct be_interval mean = be_load_interval(load, survey->how.level);
  return (struct be_interval){be_shown(survey, mean.low), be_shown(survey, mean.high)};
}

void be_tell_cell(struct be_figure *figure, const struct survey *survey, const struct cell *cell,
                  bool n)
{
  be_figure_tell(figure, "knot", be_cell_name(survey, cell));
  be_figure_tell(figure, "combination", survey->combinations[cell->combination].name);
  be_figure_tell(figure, "specimen", NULL);
  be_figure_tell_number(figure, "n", n ? (double)cell->n : NAN);
  be_figure_tell_number(figure, "lower_bounds", n ? (double)cell->bounds : NAN);
}

static void draw_cell(struct be_figure *figure, const struct survey *survey,
                      const struct cell *cell)
{
  static const enum be_fill fills[] = {[BE_KIND_UNKNOWN] = BE_FILL_SOLID,
                                       [BE_KIND_EVENT] = BE_FILL_SOLID,
                                       [BE_KIND_BOUND] = BE_FILL_OPEN,
                                       [BE_KIND_VOID] = BE_FILL_CROSS};
  char note[64];
  struct cell_look look = be_look_of_cell(survey, cell);
  if (cell->bounds) snprintf(note, sizeof note, "n = %zu + %zu at least", cell->n, cell->bounds);
  else snprintf(note, sizeof note, "n = %zu", cell->n);
  double y = be_figure_row(figure, be_cell_name(survey, cell), note);
  be_tell_cell(figure, survey, cell, false);
  for (size_t k = 0; k < cell->count; k++) {
    const struct be_pull *pull = cell->pulls[k];
    if (isnan(pull->load_N)) continue;
    be_figure_means(figure, "%s", be_kind_word(pull->kind));
    be_figure_tell(figure, "specimen", pull->code);
    be_figure_mark(figure, be_shown(survey, pull->load_N), y, look.shape, fills[pull->kind],
                   look.tone);
  }
  if (cell->n == 0) return;
  struct be_interval mean = shown_interval(survey, &cell->load);
  be_tell_cell(figure, survey, cell, true);
  be_figure_means(figure, "mean");
  be_figure_bar(figure, be_shown(survey, cell->load.value), y, BE_TONE_INK);
  be_figure_within(figure, true, &mean.low, &mean.high);
  be_figure_means(figure, NULL);
  if (!isnan(mean.low)) be_figure_span(figure, mean.low, mean.high, y, false, BE_TONE_INK);
}

/* What all are divided by, where that is one. */
static void draw_line_itself(struct be_figure *figure, const struct survey *survey,
                             const struct combination *where, const struct denominator *plain)
{
  struct be_interval mean = shown_interval(survey, &plain->estimate);
  if (!plain->match) return;
  be_figure_tell(figure, "combination", where->name);
  be_figure_tell_number(figure, "n", (double)plain->estimate.n);
  be_figure_rule_x(figure, be_shown(survey, plain->estimate.value), "the line itself");
  be_figure_within(figure, true, &mean.low, &mean.high);
}

static const struct cell **sorted_cells(const struct survey *survey,
                                        const struct combination *where)
{
  const struct cell **cells = be_arena_alloc(survey->arena, where->cells_count * sizeof *cells);
  if (!cells) return NULL;
  for (size_t i = 0; i < where->cells_count; i++) cells[i] = &survey->cells[where->first_cell + i];
  qsort(cells, where->cells_count, sizeof *cells, by_mean);
  return cells;
}

/* The text twin and every name in it whole, however long. */
enum { WORDS_MAX = 1 << 20 };

/* Null, which a document takes for lost memory, when the words could not be had. */
static struct be_figure *with_twin(struct be_figure *figure, struct be_buf *words)
{
  enum be_status status = words->status;
  if (status == BE_OK) be_figure_twin(figure, "%s", words->data);
  be_buf_free(words);
  if (status != BE_NO_MEMORY) return figure;
  be_figure_free(figure);
  return NULL;
}

/* "12.3 lb [11.9, 12.7]" */
static const char *load_words(const struct survey *survey, const struct be_estimate *load)
{
  struct be_interval mean = shown_interval(survey, load);
  int decimals = survey->decimals + 1;
  const char *words = be_arena_format(survey->arena, "%.*f %s%s", decimals,
                                      be_shown(survey, load->value), survey->how.unit->name,
                                      be_interval_words(survey, mean.low, mean.high, decimals));
  return words ? words : "";
}

static void say_cell(struct be_buf *words, const struct survey *survey, const struct cell *cell)
{
  double low = INFINITY, high = -INFINITY;
  size_t voids = 0;
  for (size_t k = 0; k < cell->count; k++) {
    const struct be_pull *pull = cell->pulls[k];
    voids += pull->kind == BE_KIND_VOID;
    if (pull->kind == BE_KIND_VOID || isnan(pull->load_N)) continue;
    low = fmin(low, be_shown(survey, pull->load_N));
    high = fmax(high, be_shown(survey, pull->load_N));
  }
  be_buf_format(words, "%s ", be_cell_name(survey, cell));
  if (cell->n) be_buf_format(words, "%s, ", load_words(survey, &cell->load));
  be_buf_format(words, "n = %zu", cell->n);
  if (cell->bounds)
    be_buf_format(words, " and %zu lower bound%s", cell->bounds, be_plural(cell->bounds));
  if (cell->n == 1 && low < high) be_buf_format(words, ", one pull tells nothing of scatter");
  if (low < high)
    be_buf_format(words, ", pulls from %.*f to %.*f", survey->decimals, low, survey->decimals,
                  high);
  else if (cell->n == 0 && low <= high)
    be_buf_format(words, ", at least %.*f %s", survey->decimals, low, survey->how.unit->name);
  if (voids) be_buf_format(words, ", %zu void", voids);
}

/* From the highest mean to the lowest, then the line itself. */
static void say_pulls(struct be_buf *words, const struct survey *survey,
                      const struct combination *where, const struct cell *const *cells)
{
  const struct denominator *plain = &cells[0]->plain;
  for (size_t i = 0; i < where->cells_count; i++) {
    be_buf_text(words, i ? "; " : where->cells_count > 1 ? "Means, from the highest: " : "Mean: ");
    say_cell(words, survey, cells[i]);
  }
  be_buf_format(words, ". Brackets hold the %g %% interval of a mean.", 100 * survey->how.level);
  if (plain->match)
    be_buf_format(words, " The line itself, without a knot: %s, n = %zu.",
                  load_words(survey, &plain->estimate), plain->estimate.n);
  be_buf_text(words, " Filled marks are events, open ones with an arrow lower bounds, crossed ones "
                     "voids.");
}

static const char *pulls_title(const struct survey *survey, const struct combination *where,
                               const struct cell *top)
{
  const char *name = be_cell_name(survey, top), *title = NULL;
  if (top->n == 0) title = be_arena_format(survey->arena, "The %s gave lower bounds alone", name);
  else
    title = be_arena_format(survey->arena, "The %s %s %s%s", name,
                            top->n == 1              ? "held"
                            : where->cells_count > 1 ? "has the highest mean,"
                                                     : "holds",
                            load_words(survey, &top->load),
                            top->n == 1 ? ": one pull tells nothing of scatter" : "");
  return title ? title : name;
}

struct be_figure *be_figure_of_pulls(const struct survey *survey, const struct combination *where)
{
  const struct cell **cells = sorted_cells(survey, where);
  if (!cells) return NULL;
  const struct cell *top = cells[0];
  const char *subtitle =
      be_arena_format(survey->arena, "%s: every pull, mean and its %g %% interval", where->name,
                      100 * survey->how.level);
  struct be_figure *figure = be_figure_create(pulls_title(survey, where, top),
                                              subtitle ? subtitle : where->name, figure_width, 0);
  if (!figure) return NULL;
  char axis[64];
  snprintf(axis, sizeof axis, "load (%s)", survey->how.unit->name);
  be_figure_x(figure, axis, 0, 1.05 * largest_load(survey, where), false);
  be_figure_columns(figure, "knot", NULL, NULL);
  draw_line_itself(figure, survey, where, &top->plain);
  for (size_t i = 0; i < where->cells_count; i++) draw_cell(figure, survey, cells[i]);
  struct be_buf words;
  be_buf_init(&words, WORDS_MAX);
  say_pulls(&words, survey, where, cells);
  return with_twin(figure, &words);
}
