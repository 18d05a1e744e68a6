/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How many specimens: as told, or for an interval so narrow, or for a difference so small. */
#include "app/plan/plan.h"
#include "app/scatter.h"

#include <math.h>
#include <string.h>

enum { EACH_MAX = 1000, PLAIN_LEAST = 5 };
/* Where the book knows nothing: common practice, no source. */
static const double CV_USUAL = 0.08, PLAIN_CV_USUAL = 0.04;

/* ---- what the book knows ---- */

static bool same_hardware(const char *a, const char *b)
{
  return a == b || (a && b && be_text_same(a, b));
}

/* Cells of the record go by names of lines, whatever the spool. */
static bool is_like(const struct survey *survey, const struct plan_cell *asked,
                    const struct cell *cell)
{
  const struct combination *where = &survey->combinations[cell->combination];
  int b = asked->line_b < 0 ? -1 : survey->name_of_line[asked->line_b];
  return cell->knot == asked->knot && cell->knot_b == asked->knot_b && where->line_b == b &&
         where->line_a == survey->name_of_line[asked->line_a] && where->soak == asked->soak &&
         where->design == asked->design && same_hardware(where->hardware, asked->hardware);
}

static bool is_asked(const struct survey *survey, const struct plan_grid *grid,
                     const struct cell *cell)
{
  for (size_t i = 0; i < grid->count; i++)
    if (is_like(survey, &grid->cells[i], cell)) return true;
  return false;
}

static struct be_summary summary_of(const struct scatter_pool *pool)
{
  return (struct be_summary){.n = pool->df > 0 ? (size_t)pool->df + 1 : 0,
                             .sd = sqrt(pool->squares / pool->df)};
}

/* Of the cells asked about, drawn to that of all knots of the book. */
static void find_scatter(const struct survey *survey, const struct plan_grid *grid,
                         struct plan_number *number)
{
  struct scatter_pool own = {0, 0}, all = {0, 0};
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->n == 0 || be_is_plain(&survey->combinations[cell->combination])) continue;
    struct be_summary scatter = be_cell_scatter(cell, cell->log_share.terms != NULL);
    be_pool_add(&all, &scatter);
    if (!is_asked(survey, grid, cell)) continue;
    be_pool_add(&own, &scatter);
    double share = cell->efficiency.value;
    if (!isnan(share) && !(share <= number->share)) number->share = share;
  }
  if (all.df == 0) return;
  struct be_summary of_own = summary_of(&own);
  number->knotted.n = (size_t)(own.df > 0 ? own.df : all.df);
  number->knotted.cv = be_next_deviation(&of_own, sqrt(all.squares / all.df));
  number->knotted.words =
      own.df > 0 ? "as these knots scatter on these lines in the book, drawn to all its knots"
                 : "as all knots of the book scatter, for these were not pulled twice on these "
                   "lines, dry or soaked as planned";
}

static void find_plain_scatter(const struct survey *survey, const struct plan_grid *grid,
                               struct plan_scatter *plain)
{
  double squares = 0, df = 0;
  for (size_t i = 0; i < survey->families_count; i++) {
    const struct plain_family *family = &survey->families[i];
    bool asked = false;
    for (size_t k = 0; k < grid->count; k++)
      asked = asked || (be_plan_is_plain(&grid->cells[k]) && grid->cells[k].soak == family->soak &&
                        survey->name_of_line[grid->cells[k].line_a] == family->name);
    if (!asked || !(family->df > 0) || !(family->cv2 > 0)) continue;
    squares += family->df * family->cv2;
    df += family->df;
  }
  if (df > 0)
    *plain =
        (struct plan_scatter){sqrt(squares / df), (size_t)df, "as these lines scatter in the book"};
}

static void know(const struct survey *survey, const struct be_planning *asked,
                 const struct plan_grid *grid, struct plan_number *number)
{
  *number = (struct plan_number){.share = NAN, .reached = NAN};
  number->knotted = (struct plan_scatter){CV_USUAL, 0,
                                          "taken as usual, for the book knows none: "
                                          "common practice, no source"};
  number->plain = (struct plan_scatter){PLAIN_CV_USUAL, 0,
                                        "taken as usual, for the book knows "
                                        "none: common practice, no source"};
  find_scatter(survey, grid, number);
  find_plain_scatter(survey, grid, &number->plain);
  if (asked->cv > 0) number->knotted = (struct plan_scatter){asked->cv, 0, "as told"};
}

/* ---- plain lines ---- */

/* The variance of the log of a ratio is cv^2 / n + plain_cv^2 / p, and `cells` knots share p: it is
 * least for a given cells * n + p where p / n = plain_cv / cv * sqrt(cells). */
size_t be_plain_count(size_t each, size_t cells, double cv, double plain_cv)
{
  double best = (double)each * plain_cv / cv * sqrt((double)cells);
  if (!(best > PLAIN_LEAST)) return PLAIN_LEAST;
  return best < EACH_MAX ? (size_t)ceil(best - 1e-9) : EACH_MAX;
}

static size_t cells_on(const struct plan_grid *grid, int line)
{
  size_t count = 0;
  for (size_t i = 0; i < grid->count; i++)
    count += !be_plan_is_plain(&grid->cells[i]) && be_plan_uses(&grid->cells[i], line);
  return count;
}

static size_t plain_of(const struct be_planning *asked, const struct plan_number *number,
                       size_t each, size_t cells)
{
  return asked->plain_told ? asked->plain
                           : be_plain_count(each, cells, number->knotted.cv, number->plain.cv);
}

/* ---- how many knots ---- */

/* Half the interval of one efficiency, in points, as the strength document would print it. */
static double half_width(const struct survey *survey, const struct be_planning *asked,
                         const struct plan_number *number, size_t each, size_t cells)
{
  double share = number->share, cv = number->knotted.cv, plain_cv = number->plain.cv;
  size_t plain = plain_of(asked, number, each, cells);
  struct be_ratio ratio;
  struct be_estimate knot = {share, share * share * cv * cv / (double)each, (double)each - 1, each};
  struct be_estimate line = {1, plain_cv * plain_cv / (double)plain, (double)plain - 1, plain};
  be_ratio_log(&knot, &line, survey->how.level, &ratio);
  return 100 * (ratio.interval.high - ratio.interval.low) / 2;
}

/* The worst served plain line sets the number. */
static size_t fewest_cells(const struct plan_grid *grid)
{
  size_t fewest = 0;
  for (size_t i = 0; i < grid->count; i++) {
    if (!be_plan_is_plain(&grid->cells[i])) continue;
    size_t cells = cells_on(grid, grid->cells[i].line_a);
    if (fewest == 0 || cells < fewest) fewest = cells;
  }
  return fewest;
}

static const char *share_words(const struct survey *survey, const struct plan_number *number)
{
  return be_arena_format(survey->arena, "an efficiency of %.0f %%, a scatter of %.2g %%",
                         100 * number->share, 100 * number->knotted.cv);
}

static enum be_status for_precision(const struct survey *survey, const struct be_planning *asked,
                                    const struct plan_grid *grid, struct plan_number *number,
                                    struct be_err *err)
{
  size_t cells = fewest_cells(grid), n = 2;
  if (asked->plain_told && asked->plain < 2)
    return be_fail(err, BE_WRONG_USE,
                   "an efficiency within %g points needs two plain pulls of "
                   "each line at least",
                   asked->within);
  while (n <= EACH_MAX && !(half_width(survey, asked, number, n, cells) <= asked->within)) n++;
  if (n > EACH_MAX) {
    be_fail(err, BE_TOO_LARGE, "even %d specimens a cell do not give %g points either way",
            EACH_MAX, asked->within);
    be_fail_remedy(err, asked->plain_told ? "ask for more plain lines, or for less precision"
                                          : "ask for less precision with --within");
    return BE_TOO_LARGE;
  }
  number->each = n;
  number->reached = half_width(survey, asked, number, n, cells);
  number->reached_words = "Expected half-width (points)";
  number->why =
      be_arena_format(survey->arena, "for an interval of %g points either way at %g %% (%s)",
                      asked->within, 100 * survey->how.level, share_words(survey, number));
  return BE_OK;
}

/* Of all pairs of a combination, by Bonferroni, which Holm only betters. */
static enum be_status for_difference(const struct survey *survey, const struct be_planning *asked,
                                     const struct plan_grid *grid, struct plan_number *number,
                                     struct be_err *err)
{
  double share = number->share, points = asked->difference / 100;
  size_t pairs = grid->knots * (grid->knots - 1) / 2;
  if (pairs == 0) return be_fail(err, BE_WRONG_USE, "a difference takes two knots at least");
  if (!(points < share))
    return be_fail(err, BE_WRONG_USE,
                   "a difference of %g points is no less than the efficiency "
                   "itself, %.0f %%",
                   asked->difference, 100 * share);
  double shift = log(share / (share - points)) / number->knotted.cv;
  double alpha = (1 - survey->how.level) / (double)pairs;
  double n = ceil(be_power_two_n(shift, alpha, survey->how.power) - 1e-9);
  if (!(n <= EACH_MAX)) {
    be_fail(err, BE_TOO_LARGE, "%g points would take more than %d specimens a cell",
            asked->difference, EACH_MAX);
    be_fail_remedy(err, "ask for a greater --difference, or for less --power");
    return BE_TOO_LARGE;
  }
  number->each = (size_t)n;
  number->reached = be_power_two(shift, n, alpha);
  number->reached_words = "Expected power (share)";
  const char *shared =
      pairs > 1 ? be_arena_format(survey->arena, ", shared out over %zu pairs by Bonferroni", pairs)
                : "";
  number->why = be_arena_format(
      survey->arena,
      "for %g points between two knots with a power of %g %%: two-sample t test at %g %%%s (%s)",
      asked->difference, 100 * survey->how.power, 100 * survey->how.level, shared ? shared : "",
      share_words(survey, number));
  return BE_OK;
}

enum be_status be_plan_count(const struct survey *survey, const struct be_planning *asked,
                             struct plan_grid *grid, struct plan_number *number, struct be_err *err)
{
  enum be_status status = BE_OK;
  know(survey, asked, grid, number);
  bool reckoned = asked->within > 0 || asked->difference > 0;
  if (reckoned && isnan(number->share)) number->share = 1;
  if (asked->within > 0) status = for_precision(survey, asked, grid, number, err);
  else if (asked->difference > 0) status = for_difference(survey, asked, grid, number, err);
  else {
    number->each = asked->specimens;
    number->why = "asked for";
  }
  if (status != BE_OK) return status;
  if (!number->why) return be_no_memory(err);
  grid->knotted = grid->plain = 0;
  for (size_t i = 0; i < grid->count; i++) {
    struct plan_cell *cell = &grid->cells[i];
    bool plain = be_plan_is_plain(cell);
    cell->n =
        plain ? plain_of(asked, number, number->each, cells_on(grid, cell->line_a)) : number->each;
    *(plain ? &grid->plain : &grid->knotted) += cell->n;
  }
  return BE_OK;
}
