/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The differences: a bar and its interval for each combination, and one row for all of them. In
 * points of the line as the answer is; relative where some combination has no plain line. */
#include "app/versus/versus.h"

#include <math.h>
#include <stdio.h>

static const char *title_of(const struct survey *survey, const struct pair *pair)
{
  if (be_pair_divided(pair)) return "Which holds more depends on where";
  if (!be_pair_apart(pair)) return "The two cannot be separated";
  const char *title = be_arena_format(
      survey->arena, pair->has_points ? "The %s holds %.1f pts more" : "The %s holds %.1f %% more",
      be_knot_name(survey, pair->a),
      100 * (pair->has_points ? pair->points.value : expm1(pair->log_ratio.value)));
  return title ? title : "";
}

struct row {
  const char *name;
  size_t n_a, n_b;
  double value;
  struct be_interval interval;
};

static struct row row_of(const struct pair *pair, size_t i)
{
  bool points = pair->has_points;
  if (i == pair->count)
    return (struct row){"all of them", pair->n_a, pair->n_b,
                        100 * (points ? pair->points.value : expm1(pair->log_ratio.value)),
                        points ? pair->points_interval : pair->relative};
  const struct matched *m = &pair->list[i];
  return (struct row){m->where->name, m->a->n, m->b->n,
                      100 * (points ? m->points.value : expm1(m->log_ratio.value)),
                      points ? m->points_interval : m->relative};
}

static void draw_row(struct be_figure *figure, const struct row *row, bool all)
{
  char note[64];
  snprintf(note, sizeof note, "n = %zu, %zu", row->n_a, row->n_b);
  double y = be_figure_row(figure, row->name, note);
  be_figure_means(figure, NULL);
  if (!isnan(row->interval.low))
    be_figure_span(figure, row->interval.low, row->interval.high, y, all,
                   all ? BE_TONE_ACT : BE_TONE_INK);
  be_figure_means(figure, "difference");
  be_figure_tell_number(figure, "n", (double)row->n_a);
  be_figure_tell_number(figure, "n_of_second", (double)row->n_b);
  be_figure_bar(figure, row->value, y, BE_TONE_INK);
  be_figure_within(figure, true, &row->interval.low, &row->interval.high);
}

static void say_row(struct be_buf *words, const struct survey *survey, const struct row *row,
                    const char *unit)
{
  be_buf_format(words, "%s%s: %s %s%s, n = %zu and %zu", words->size ? "; " : "", row->name,
                be_number_words(survey, row->value, 1), unit,
                be_interval_words(survey, row->interval.low, row->interval.high, 1), row->n_a,
                row->n_b);
}

struct be_figure *be_figure_of_pair(const struct survey *survey, const struct pair *pair)
{
  const char *subtitle = be_arena_format(
      survey->arena, "%s less %s, %s: mean and its %g %% interval", be_knot_name(survey, pair->a),
      be_knot_name(survey, pair->b), pair->has_points ? "points of the line" : "relative per cent",
      100 * survey->how.level);
  struct be_figure *figure =
      be_figure_create(title_of(survey, pair), subtitle ? subtitle : "", 760, 0);
  if (!figure) return NULL;
  be_figure_x(figure, pair->has_points ? "difference (pts of the line)" : "relative difference (%)",
              -5, 5, false);
  be_figure_columns(figure, "combination", NULL, NULL);
  be_figure_rule_x(figure, 0, "no difference");
  struct be_buf words;
  be_buf_init(&words, 1 << 20);
  for (size_t i = 0; i <= pair->count; i++) {
    if (i == pair->count && pair->count == 1) break;
    struct row row = row_of(pair, i);
    draw_row(figure, &row, i == pair->count);
    say_row(&words, survey, &row, pair->has_points ? "pts" : "%");
  }
  bool whole = words.status == BE_OK;
  if (whole) be_figure_twin(figure, "%s.", words.data);
  be_buf_free(&words);
  if (whole) return figure;
  be_figure_free(figure);
  return NULL;
}
