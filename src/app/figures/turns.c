/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One knot with several numbers of turns: efficiency against turns, a line for each combination.
 * The slope is that of pulls, each combination with a level of its own, so that its plain line
 * cancels. */
#include "app/figures/gallery.h"

#include <math.h>

enum { CELLS_MAX = 200 };

/* The cells of one name and version that have turns and an efficiency, by combination. */
struct family {
  const struct be_knot *knot;
  const struct cell *cell[CELLS_MAX];
  size_t count, pulls;
};

static const struct be_knot *knot_of(const struct survey *survey, const struct cell *cell)
{
  return &survey->record.knots[cell->knot];
}

static bool same_text(const char *a, const char *b)
{
  return a && b ? be_text_same(a, b) : a == b;
}

static bool is_kin(const struct be_knot *a, const struct be_knot *b)
{
  return be_text_same(a->name, b->name) && same_text(a->version, b->version);
}

static bool comes_before(const struct survey *survey, const struct cell *a, const struct cell *b)
{
  if (a->combination != b->combination) return a->combination < b->combination;
  return knot_of(survey, a)->turns < knot_of(survey, b)->turns;
}

static void gather(const struct survey *survey, struct family *family)
{
  family->count = family->pulls = 0;
  for (size_t i = 0; i < survey->cells_count && family->count < CELLS_MAX; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->knot < 0 || cell->knot_b >= 0 || !cell->shares || isnan(cell->efficiency.value) ||
        isnan(knot_of(survey, cell)->turns) || !is_kin(knot_of(survey, cell), family->knot))
      continue;
    size_t at = family->count++;
    for (; at > 0 && comes_before(survey, cell, family->cell[at - 1]); at--)
      family->cell[at] = family->cell[at - 1];
    family->cell[at] = cell;
    family->pulls += cell->n;
  }
}

static double turns_at(const struct survey *survey, const struct family *family, size_t i)
{
  return knot_of(survey, family->cell[i])->turns;
}

static bool has_slope(const struct survey *survey, const struct family *family)
{
  for (size_t i = 0; i < family->count; i++)
    for (size_t k = 0; k < i; k++)
      if (family->cell[i]->combination == family->cell[k]->combination &&
          turns_at(survey, family, i) != turns_at(survey, family, k))
        return true;
  return false;
}

static enum be_status slope_of(const struct survey *survey, const struct family *family,
                               struct be_estimate *slope, struct be_err *err)
{
  double *x = be_arena_alloc(survey->arena, family->pulls * sizeof *x);
  double *y = be_arena_alloc(survey->arena, family->pulls * sizeof *y);
  size_t *stratum = be_arena_alloc(survey->arena, family->pulls * sizeof *stratum), strata, n = 0;
  if (!x || !y || !stratum) return be_no_memory(err);
  for (size_t i = 0; i < family->count; i++)
    for (size_t k = 0; k < family->cell[i]->n; k++, n++) {
      x[n] = turns_at(survey, family, i);
      y[n] = 100 * family->cell[i]->shares[k];
      stratum[n] = family->cell[i]->combination;
    }
  *slope = be_within(x, y, stratum, n, &strata);
  return BE_OK;
}

/* Draws the cells of one combination, rising by turns, from place `from`; returns how many. */
static size_t draw_line(struct be_figure *figure, const struct survey *survey,
                        const struct family *family, size_t from, double aside,
                        struct be_buf *words)
{
  const struct combination *where = &survey->combinations[family->cell[from]->combination];
  double x[CELLS_MAX], y[CELLS_MAX];
  size_t n = 0, pulls = 0;
  for (; from + n < family->count &&
         &survey->combinations[family->cell[from + n]->combination] == where;
       n++) {
    const struct cell *cell = family->cell[from + n];
    x[n] = turns_at(survey, family, from + n);
    y[n] = 100 * cell->efficiency.value;
    pulls += cell->n;
    be_buf_format(words, "%s%s %g turns %.0f %%%s, n = %zu", n ? ";" : where->name, n ? "" : ":",
                  x[n], y[n],
                  be_interval_words(survey, 100 * cell->efficiency.interval.low,
                                    100 * cell->efficiency.interval.high, 0),
                  cell->n);
  }
  struct cell_look look = be_look_of_cell(survey, family->cell[from]);
  be_figure_aside(figure, aside);
  be_figure_means(figure, NULL);
  be_figure_line(figure, x, y, n, look.tone, look.stroke);
  for (size_t i = 0; i < n; i++)
    be_draw_efficiency(figure, survey, family->cell[from + i], x[i], look);
  const char *label =
      be_arena_format(survey->arena, "%s, " ONE_WORD("n", "%zu"), where->name, pulls);
  be_figure_label(figure, x[n - 1], y[n - 1], label ? label : where->name, look.tone);
  return n;
}

static struct be_figure *draw(const struct survey *survey, const struct family *family,
                              const char *name, const struct be_estimate *slope)
{
  const char *subtitle =
      be_arena_format(survey->arena, "%s: efficiency with its %g %% interval; slope of %zu pulls",
                      name, 100 * survey->how.level, family->pulls);
  struct be_figure *figure =
      be_figure_create(be_slope_words(survey, slope, "each turn more"), subtitle ? subtitle : name,
                       FIGURE_WIDTH, FIGURE_HEIGHT);
  double low = INFINITY, high = -INFINITY;
  for (size_t i = 0; i < family->count; i++) {
    low = fmin(low, turns_at(survey, family, i));
    high = fmax(high, turns_at(survey, family, i));
  }
  be_figure_x(figure, "turns", low - 0.3, high + 0.3, true);
  be_figure_y(figure, "efficiency (% of the line)", 0, 110);
  be_figure_rule_y(figure, 100, "the line itself");
  struct be_buf words;
  be_buf_init(&words, 1 << 20);
  be_buf_text(&words, "Means in % of the line. ");
  for (size_t i = 0, line = 0; i < family->count; line++) {
    i += draw_line(figure, survey, family, i, 8 * (double)line, &words);
    be_buf_text(&words, ". ");
  }
  be_figure_aside(figure, 0);
  be_buf_format(&words, "Brackets hold the %g %% interval.", 100 * survey->how.level);
  return be_with_twin(figure, &words);
}

enum be_status be_show_turns(struct gallery *gallery, struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  const struct be_knot *knots = survey->record.knots;
  struct family *family = be_arena_alloc(survey->arena, sizeof *family);
  enum be_status status = family ? BE_OK : be_no_memory(err);
  gallery->why =
      "no knot with a measured plain line was tied with two numbers of turns on one line";
  for (size_t i = 0; i < survey->record.knots_count && status == BE_OK; i++) {
    bool first = !isnan(knots[i].turns);
    for (size_t k = 0; k < i && first; k++)
      first = isnan(knots[k].turns) || !is_kin(&knots[i], &knots[k]);
    family->knot = &knots[i];
    if (!first) continue;
    gather(survey, family);
    if (!has_slope(survey, family)) continue;
    struct be_estimate slope;
    const char *name = knots[i].version ? be_arena_format(survey->arena, "%s (%s)", knots[i].name,
                                                          knots[i].version)
                                        : knots[i].name;
    status = slope_of(survey, family, &slope, err);
    if (status == BE_OK && !name) status = be_no_memory(err);
    if (status == BE_OK)
      status = be_gallery_add(gallery, name, draw(survey, family, name, &slope), err);
  }
  return status;
}
