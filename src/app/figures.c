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
  for (size_t k = 0; k < cell->count; k++) {
    const struct be_pull *pull = cell->pulls[k];
    if (isnan(pull->load_N)) continue;
    be_figure_means(figure, "%s, specimen %s", be_kind_word(pull->kind), pull->code);
    be_figure_mark(figure, be_shown(survey, pull->load_N), y, look.shape, fills[pull->kind],
                   look.tone);
  }
  if (cell->n == 0) return;
  struct be_interval mean = be_load_interval(&cell->load, survey->how.level);
  be_figure_means(figure, "mean");
  be_figure_bar(figure, be_shown(survey, cell->load.value), y, BE_TONE_INK);
  be_figure_means(figure, "%g %% interval of the mean", 100 * survey->how.level);
  if (!isnan(mean.low))
    be_figure_span(figure, be_shown(survey, mean.low), be_shown(survey, mean.high), y, false,
                   BE_TONE_INK);
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
static struct be_figure *with_twin(struct be_figure *figure, struct be_buf *words, const char *end)
{
  be_buf_text(words, end);
  enum be_status status = words->status;
  if (status == BE_OK) be_figure_twin(figure, "%s", words->data);
  be_buf_free(words);
  if (status != BE_NO_MEMORY) return figure;
  be_figure_free(figure);
  return NULL;
}

static void say_cell(struct be_buf *words, const struct survey *survey, const struct cell *cell)
{
  be_buf_format(words, "%s%s: ", words->size ? "; " : "", be_cell_name(survey, cell));
  struct be_interval mean = be_load_interval(&cell->load, survey->how.level);
  if (cell->n)
    be_buf_format(words, "mean %.*f %s%s, ", survey->decimals + 1,
                  be_shown(survey, cell->load.value), survey->how.unit->name,
                  be_interval_words(survey, be_shown(survey, mean.low), be_shown(survey, mean.high),
                                    survey->decimals + 1));
  be_buf_format(words, "n = %zu", cell->n);
  if (cell->bounds) be_buf_format(words, ", %zu at least", cell->bounds);
}

static const char *pulls_title(const struct survey *survey, const struct combination *where,
                               const struct cell *top)
{
  const char *name = be_cell_name(survey, top), *title = NULL;
  struct be_interval mean = be_load_interval(&top->load, survey->how.level);
  if (top->n == 0) title = be_arena_format(survey->arena, "The %s gave lower bounds alone", name);
  else
    title = be_arena_format(
        survey->arena, "The %s %s %.*f %s%s", name,
        top->n == 1              ? "held"
        : where->cells_count > 1 ? "has the highest mean,"
                                 : "holds",
        survey->decimals + 1, be_shown(survey, top->load.value), survey->how.unit->name,
        top->n == 1 ? ": one pull tells nothing of scatter"
                    : be_interval_words(survey, be_shown(survey, mean.low),
                                        be_shown(survey, mean.high), survey->decimals + 1));
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
  if (top->plain.match)
    be_figure_rule_x(figure, be_shown(survey, top->plain.estimate.value), "the line itself");
  struct be_buf words;
  be_buf_init(&words, WORDS_MAX);
  for (size_t i = 0; i < where->cells_count; i++) {
    draw_cell(figure, survey, cells[i]);
    say_cell(&words, survey, cells[i]);
  }
  if (top->plain.match)
    be_buf_format(&words, ". The line itself: %.*f %s, n = %zu", survey->decimals + 1,
                  be_shown(survey, top->plain.estimate.value), survey->how.unit->name,
                  top->plain.estimate.n);
  return with_twin(
      figure, &words,
      ". Filled marks are events, open ones with an arrow lower bounds, crossed ones voids.");
}

struct be_figure *be_figure_of_ranks(const struct survey *survey, const char *title,
                                     const char *subtitle, const struct rank_row *rows,
                                     size_t count)
{
  struct be_figure *figure = be_figure_create(title, subtitle, figure_width, 0);
  if (!figure) return NULL;
  be_figure_x(figure, "rank (1 = strongest)", 0.5, (double)count + 0.5, true);
  struct be_buf words;
  be_buf_init(&words, WORDS_MAX);
  for (size_t i = 0; i < count; i++) {
    const struct rank_row *row = &rows[i];
    char note[64];
    if (row->bounds) snprintf(note, sizeof note, "n = %zu + %zu at least", row->n, row->bounds);
    else snprintf(note, sizeof note, "n = %zu", row->n);
    const char *name = be_knot_name(survey, row->knot);
    double y = be_figure_row(figure, name, note);
    be_figure_means(figure, "rank range");
    be_figure_span(figure, (double)row->rank.low, (double)row->rank.high, y, true, BE_TONE_ACT);
    be_figure_means(figure, "rank");
    be_figure_mark(figure, (double)row->rank.rank, y, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_INK);
    be_buf_format(&words, "%s%s: rank %zu", i ? "; " : "", name, row->rank.rank);
    if (row->rank.low == row->rank.high) be_buf_text(&words, " and no other");
    else be_buf_format(&words, ", may be any from %zu to %zu", row->rank.low, row->rank.high);
    bool inside = i > 0 && rows[i - 1].tied_last >= row->tied_last;
    if (row->tied_last > row->tied_first && !inside)
      be_figure_bracket(figure, (double)row->tied_first, (double)row->tied_last);
  }
  return with_twin(figure, &words, ". Brackets join knots that cannot be separated.");
}
