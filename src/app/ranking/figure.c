/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/ranking/ranking.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { WORDS_MAX = 1 << 20 };

static bool is_other(const struct ranking *r, size_t knot, size_t row)
{
  return r->order[row] != knot && be_ranking_together(r, knot, r->order[row]);
}

const char *be_ranking_others(const struct survey *survey, const struct ranking *r, size_t knot)
{
  enum { RANK_MAX = 24 };
  size_t size = (r->block.knots + 1) * RANK_MAX, used = 0;
  char *ranks = be_arena_alloc(survey->arena, size);
  if (!ranks) return "?";
  for (size_t row = 0; row < r->block.knots; row++)
    if (is_other(r, knot, row))
      used += (size_t)snprintf(ranks + used, size - used, "%s%zu", used ? ", " : "", row + 1);
  return used ? ranks : "none";
}

/* The same for people: ranks that follow one another as "2 to 9". */
static void say_others(struct be_buf *words, const struct ranking *r, size_t knot)
{
  const char *between = ", not separated from ";
  for (size_t row = 0; row < r->block.knots; row++) {
    if (!is_other(r, knot, row)) continue;
    size_t from = row;
    while (row + 1 < r->block.knots && is_other(r, knot, row + 1)) row++;
    be_buf_format(words, "%s%zu", between, from + 1);
    if (row > from) be_buf_format(words, "%s%zu", row == from + 1 ? ", " : " to ", row + 1);
    between = ", ";
  }
}

static void draw_row(struct be_figure *figure, const struct survey *survey, const struct ranking *r,
                     size_t knot)
{
  char note[64], load[40];
  const struct rank *rank = &r->rank[knot];
  const struct be_interval *by = &r->efficiency_interval[knot];
  double low = (double)rank->low, high = (double)rank->high;
  if (r->bounds[knot])
    snprintf(note, sizeof note, "n = %zu + %zu at least", r->n[knot], r->bounds[knot]);
  else snprintf(note, sizeof note, "n = %zu", r->n[knot]);
  snprintf(load, sizeof load, "load_%s", survey->how.unit->name);
  double y = be_figure_row(figure, be_knot_name(survey, r->block.knot[knot]), note);
  be_figure_means(figure, NULL);
  be_figure_span(figure, low, high, y, true, BE_TONE_ACT);
  be_figure_means(figure, "rank");
  be_figure_tell_number(figure, "n", (double)r->n[knot]);
  be_figure_tell_number(figure, "lower_bounds", (double)r->bounds[knot]);
  be_figure_tell_number(figure, load, be_shown(survey, r->load[knot]));
  be_figure_tell_number(figure, "efficiency_percent", 100 * r->efficiency[knot]);
  be_figure_tell_number(figure, "efficiency_percent_low", 100 * by->low);
  be_figure_tell_number(figure, "efficiency_percent_high", 100 * by->high);
  be_figure_tell(figure, "cannot_separate_from", be_ranking_others(survey, r, knot));
  be_figure_mark(figure, (double)rank->rank, y, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_INK);
  be_figure_within(figure, true, &low, &high);
}

static void say_row(struct be_buf *words, const struct survey *survey, const struct ranking *r,
                    size_t knot)
{
  const struct rank *rank = &r->rank[knot];
  const struct be_interval *by = &r->efficiency_interval[knot], *of = &r->load_interval[knot];
  bool shares = !isnan(r->efficiency[knot]);
  be_buf_format(words, "%zu", rank->rank);
  if (rank->low < rank->high) be_buf_format(words, " (%zu to %zu)", rank->low, rank->high);
  be_buf_format(words, " %s: ", be_knot_name(survey, r->block.knot[knot]));
  if (!isnan(r->load[knot]))
    be_buf_format(words, "%.*f %s%s, ", survey->decimals + 1, be_shown(survey, r->load[knot]),
                  survey->how.unit->name,
                  shares ? ""
                         : be_interval_words(survey, be_shown(survey, of->low),
                                             be_shown(survey, of->high), survey->decimals + 1));
  if (shares)
    be_buf_format(words, "%.0f %% of the line%s, ", 100 * r->efficiency[knot],
                  be_interval_words(survey, 100 * by->low, 100 * by->high, 0));
  be_buf_format(words, "n = %zu", r->n[knot]);
  if (r->bounds[knot])
    be_buf_format(words, " and %zu lower bound%s", r->bounds[knot], be_plural(r->bounds[knot]));
  say_others(words, r, knot);
}

static const char *title_of(const struct survey *survey, const struct ranking *r)
{
  size_t others = be_ranking_followers(r);
  const char *first = be_knot_name(survey, r->block.knot[r->order[0]]);
  if (be_ranking_bare(r)) return "One pull of a knot tells nothing of scatter";
  if (others)
    return be_arena_format(survey->arena, "The first cannot be separated from %zu other%s", others,
                           be_plural(others));
  return be_arena_format(survey->arena, "The %s %s", first,
                         r->rival ? "has the highest mean" : "holds most");
}

/* Rows behind this one that cannot be separated from it and from one another, unbroken. */
static size_t last_together(const struct ranking *r, size_t row)
{
  size_t last = row;
  for (bool all = true; all && last + 1 < r->block.knots; last += all)
    for (size_t k = row; k <= last; k++)
      all &= be_ranking_together(r, r->order[k], r->order[last + 1]);
  return last;
}

static void draw_rows(struct be_figure *figure, const struct survey *survey,
                      const struct ranking *r, struct be_buf *words)
{
  size_t joined = 0; /* the last row that a bracket has reached */
  for (size_t row = 0; row < r->block.knots; row++) {
    size_t last = last_together(r, row);
    draw_row(figure, survey, r, r->order[row]);
    be_buf_text(words, row ? "; " : "From the strongest, with rank ranges: ");
    say_row(words, survey, r, r->order[row]);
    if (last > row && (row == 0 || last > joined))
      be_figure_bracket(figure, (double)row, (double)last);
    joined = last;
  }
}

struct be_figure *be_figure_of_ranking(const struct survey *survey, const struct ranking *r,
                                       const char *place)
{
  const char *title = title_of(survey, r);
  const char *subtitle =
      be_arena_format(survey->arena, "rank ranges at %g %%: %s", 100 * survey->how.level, place);
  struct be_figure *figure = title && subtitle ? be_figure_create(title, subtitle, 760, 0) : NULL;
  if (!figure) return NULL;
  struct be_buf words;
  be_buf_init(&words, WORDS_MAX);
  be_figure_x(figure, "rank (1 = strongest)", 0.5, (double)r->block.knots + 0.5, true);
  be_figure_columns(figure, "knot", NULL, NULL);
  be_figure_tell(figure, "place", place);
  draw_rows(figure, survey, r, &words);
  be_buf_format(&words,
                ". Whom a knot is not separated from is told by rank; brackets join them. Loads "
                "and shares of the line are means, in brackets the %g %% interval.",
                100 * survey->how.level);
  if (words.status == BE_OK) be_figure_twin(figure, "%s", words.data);
  bool lost = words.status == BE_NO_MEMORY;
  be_buf_free(&words);
  if (!lost) return figure;
  be_figure_free(figure);
  return NULL;
}
