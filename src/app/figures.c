/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The figures of the answers, built from the chart room's parts. */
#include "app/survey.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double figure_width = 760;

struct look {
  enum be_tone tone;
  enum be_shape shape;
};

/* Each material has its tone and its mark; the weaker line of a joint speaks. */
static struct look look_of(const struct survey *survey, const struct cell *cell)
{
  int row = cell->plain.match ? cell->plain.line_row : cell->pulls[0]->line_a;
  const char *material = survey->record.lines[row].material;
  if (material && strcmp(material, "braid") == 0)
    return (struct look){BE_TONE_BRAID, BE_SHAPE_SQUARE};
  if (material && strcmp(material, "fluorocarbon") == 0)
    return (struct look){BE_TONE_FLUOROCARBON, BE_SHAPE_TRIANGLE};
  return (struct look){BE_TONE_NYLON, BE_SHAPE_ROUND};
}

static int by_mean(const void *a_, const void *b_)
{
  const struct cell *const *a = a_, *const *b = b_;
  double first = (*a)->n ? (*a)->summary.mean : 0, second = (*b)->n ? (*b)->summary.mean : 0;
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
  struct look look = look_of(survey, cell);
  if (cell->bounds) snprintf(note, sizeof note, "n = %zu + %zu at least", cell->n, cell->bounds);
  else snprintf(note, sizeof note, "n = %zu", cell->n);
  double y = be_figure_row(figure, be_knot_name(survey, cell->knot), note);
  for (size_t k = 0; k < cell->count; k++) {
    const struct be_pull *pull = cell->pulls[k];
    if (isnan(pull->load_N)) continue;
    be_figure_mark(figure, be_shown(survey, pull->load_N), y, look.shape, fills[pull->kind],
                   look.tone);
  }
  if (cell->n == 0) return;
  struct be_interval mean = be_estimate_interval(&cell->estimate, survey->how.level);
  be_figure_bar(figure, be_shown(survey, cell->summary.mean), y, BE_TONE_INK);
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

static size_t say_cell(char *text, size_t size, const char *before, const struct survey *survey,
                       const struct cell *cell)
{
  int put = snprintf(text, size, "%s%.60s: mean %.*f %s, n = %zu", before,
                     be_knot_name(survey, cell->knot), be_load_decimals(survey) + 1,
                     be_shown(survey, cell->summary.mean), survey->how.unit->name, cell->n);
  if (cell->bounds && put > 0 && (size_t)put < size)
    put += snprintf(text + put, size - (size_t)put, ", %zu at least", cell->bounds);
  return put < 0 ? 0 : (size_t)put;
}

struct be_figure *be_figure_of_pulls(const struct survey *survey, const struct combination *where)
{
  const struct cell **cells = sorted_cells(survey, where);
  if (!cells) return NULL;
  char title[300], subtitle[300], axis[64];
  const struct cell *top = cells[0];
  if (where->cells_count > 1)
    snprintf(title, sizeof title, "The %.200s has the highest mean",
             be_knot_name(survey, top->knot));
  else snprintf(title, sizeof title, "The %.200s, pull by pull", be_knot_name(survey, top->knot));
  snprintf(subtitle, sizeof subtitle, "%.200s: every pull, mean and its %g %% interval",
           where->name, 100 * survey->how.level);
  snprintf(axis, sizeof axis, "load (%s)", survey->how.unit->name);
  struct be_figure *figure = be_figure_create(title, subtitle, figure_width, 0);
  if (!figure) return NULL;
  be_figure_x(figure, axis, 0, 1.05 * largest_load(survey, where), false);
  if (top->plain.match)
    be_figure_rule_x(figure, be_shown(survey, top->plain.estimate.value), "the line itself");
  for (size_t i = 0; i < where->cells_count; i++) draw_cell(figure, survey, cells[i]);
  char words[1024] = "";
  size_t used = 0;
  for (size_t i = 0; i < where->cells_count && used < sizeof words - 160; i++)
    used += say_cell(words + used, sizeof words - used, i ? "; " : "", survey, cells[i]);
  be_figure_twin(figure,
                 "%s. Filled marks are events, open ones with an arrow lower bounds, "
                 "crossed ones voids.",
                 words);
  return figure;
}

struct be_figure *be_figure_of_ranks(const struct survey *survey, const char *title,
                                     const char *subtitle, const struct rank_row *rows,
                                     size_t count)
{
  struct be_figure *figure = be_figure_create(title, subtitle, figure_width, 0);
  if (!figure) return NULL;
  be_figure_x(figure, "rank (1 = strongest)", 0.5, (double)count + 0.5, true);
  char words[1024] = "";
  size_t used = 0;
  for (size_t i = 0; i < count; i++) {
    char note[32];
    snprintf(note, sizeof note, "n = %zu", rows[i].n);
    double y = be_figure_row(figure, be_knot_name(survey, rows[i].knot), note);
    be_figure_span(figure, (double)rows[i].rank.low, (double)rows[i].rank.high, y, true,
                   BE_TONE_ACT);
    be_figure_mark(figure, (double)rows[i].rank.rank, y, BE_SHAPE_ROUND, BE_FILL_SOLID,
                   BE_TONE_INK);
    if (used < sizeof words - 120)
      used +=
          (size_t)snprintf(words + used, sizeof words - used, "%s%.60s: rank %zu, range %zu to %zu",
                           i ? "; " : "", be_knot_name(survey, rows[i].knot), rows[i].rank.rank,
                           rows[i].rank.low, rows[i].rank.high);
    bool inside = i > 0 && rows[i - 1].tied_last >= rows[i].tied_last;
    if (rows[i].tied_last > rows[i].tied_first && !inside)
      be_figure_bracket(figure, (double)rows[i].tied_first, (double)rows[i].tied_last);
  }
  be_figure_twin(figure, "%s. Brackets join knots that cannot be separated.", words);
  return figure;
}

/* Force against time, or against extension, or against the row. */
struct be_figure *be_figure_of_trace(const struct be_trace *trace,
                                     const struct be_trace_events *events, const char *title,
                                     const struct be_unit *unit)
{
  const struct be_unit *mm = be_unit_find_in(BE_LENGTH, "mm", 2);
  const double *across = trace->time_s ? trace->time_s : trace->extension_m;
  double scale = trace->time_s ? 1 : mm->factor;
  double *x = be_alloc_array(trace->n, sizeof *x), *y = be_alloc_array(trace->n, sizeof *y);
  char subtitle[128], axis[64];
  snprintf(subtitle, sizeof subtitle, "%zu rows; peak %.4g %s", trace->n,
           events->peak_N / unit->factor, unit->name);
  struct be_figure *figure = x && y ? be_figure_create(title, subtitle, figure_width, 320) : NULL;
  if (figure) {
    double low = 0, high = 0, left = INFINITY, right = -INFINITY;
    for (size_t i = 0; i < trace->n; i++) {
      x[i] = across ? across[i] / scale : (double)i;
      y[i] = trace->force_N[i] / unit->factor;
      low = fmin(low, y[i]), high = fmax(high, y[i]);
      left = fmin(left, x[i]), right = fmax(right, x[i]);
    }
    snprintf(axis, sizeof axis, "load (%s)", unit->name);
    be_figure_x(figure,
                trace->time_s ? "time (s)"
                : across      ? "extension (mm)"
                              : "row",
                left, right > left ? right : left + 1, false);
    be_figure_y(figure, axis, low, high > low ? 1.08 * high : 1);
    be_figure_line(figure, x, y, trace->n, BE_TONE_NYLON, BE_STROKE_SOLID);
    for (size_t i = 0; i < events->slips_count && i < BE_SLIPS_MAX; i++)
      be_figure_mark(figure, x[events->slips[i].from_row], y[events->slips[i].from_row],
                     BE_SHAPE_TRIANGLE, BE_FILL_OPEN, BE_TONE_STOP);
    be_figure_mark(figure, x[events->peak_row], y[events->peak_row], BE_SHAPE_ROUND, BE_FILL_SOLID,
                   BE_TONE_INK);
    be_figure_note(figure, x[events->peak_row], y[events->peak_row], "peak", BE_ANCHOR_END,
                   BE_TONE_INK);
    be_figure_twin(figure, "The load rises to %.4g %s; %zu slips before the peak; %s.",
                   events->peak_N / unit->factor, unit->name, events->slips_count,
                   be_ending_words(events->ending));
  }
  be_free(x);
  be_free(y);
  return figure;
}
