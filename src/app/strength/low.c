/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How low a pull may go: what a user of the line meets, not the mean. */
#include "app/strength/strength.h"

#include <math.h>

/* What the bounds are of: a load that 90 % of pulls reach, with 95 % confidence. The
 * pair is that of a B-basis value (CMH-17-1G, 8.3). */
static const double above = 0.90, confidence = 0.95;

static bool has(const struct cell *cell)
{
  return cell->n >= 2;
}

/* fmax takes what is not known for the lesser. */
static double not_below_0(double load)
{
  return load < 0 ? 0 : load;
}

struct be_measure be_tenth_of(const struct survey *survey, const struct be_fit *weibull,
                              const struct be_held *held, size_t count)
{
  struct be_measure b10 = {NAN, {NAN, NAN, survey->how.level}};
  be_fit_conditional(weibull, held, count, BE_WANTED_QUANTILE, 0.1, survey->how.level, &b10);
  return b10;
}

static void tolerance_row(struct be_table *table, const struct survey *survey,
                          const struct cell *cell, const struct be_held *held, const double *sorted)
{
  size_t count = cell->n + cell->lower_count;
  struct be_fit normal, weibull;
  be_fit_censored(BE_FAMILY_NORMAL, held, count, &normal);
  be_fit_censored(BE_FAMILY_WEIBULL, held, count, &weibull);
  double by_normal = be_fit_lower(&normal, held, count, above, confidence);
  double by_weibull = be_fit_lower(&weibull, held, count, above, confidence);
  int decimals = survey->decimals + 1;
  be_table_number(table, be_shown(survey, not_below_0(by_normal)), decimals);
  be_table_number(table, be_shown(survey, by_weibull), decimals);
  /* A lower bound may hide a load below the worst event only where it is lower itself;
   * so ranks are taken where there are none. */
  size_t rank = cell->lower_count ? 0 : be_tolerance_rank(cell->n, above, confidence);
  if (rank) be_table_number(table, be_shown(survey, sorted[rank - 1]), survey->decimals + 1);
  else be_table_text(table, "-");
  struct be_measure b10 = be_tenth_of(survey, &weibull, held, count);
  be_table_measure(table, survey, &b10, decimals);
}

static enum be_status row(struct be_table *table, const struct survey *survey,
                          const struct cell *cell, const void *context, struct be_err *err)
{
  (void)context;
  const double *sorted = be_sorted_loads(survey, cell);
  const struct be_held *held = be_held_of(survey, cell);
  if (!sorted || !held) return be_no_memory(err);
  /* Readings that do not scatter at all were read too coarsely for s to be known. */
  double s = cell->summary.sd > 0 ? cell->summary.sd : NAN;
  double three = not_below_0(cell->summary.mean - 3 * s);
  be_table_number(table, (double)cell->n, 0);
  be_table_number(table, (double)cell->lower_count, 0);
  be_table_number(table, be_shown(survey, cell->summary.min), survey->decimals + 1);
  be_table_number(table, be_shown(survey, three), survey->decimals + 1);
  tolerance_row(table, survey, cell, held, sorted);
  return BE_OK;
}

enum be_status be_say_low(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  const struct be_column columns[] = {
      SECTION_COLUMNS,
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"lower_bounds", "at least", BE_COLUMN_NUMBER, false},
      {"worst", be_head(survey, "worst"), BE_COLUMN_NUMBER, false},
      {"mean_less_3_sd", "mean - 3 s", BE_COLUMN_NUMBER, false},
      {"tolerance_normal", "normal", BE_COLUMN_NUMBER, false},
      {"tolerance_weibull", "Weibull", BE_COLUMN_NUMBER, false},
      {"tolerance_free", "any shape", BE_COLUMN_NUMBER, false},
      {"b10", "B10", BE_COLUMN_NUMBER, false},
      {"b10", "interval", BE_COLUMN_INTERVAL, false},
  };
  const struct section section = {.heading = "Low end",
                                  .name = "low_end",
                                  .title = "How low a pull may go",
                                  .columns = columns,
                                  .columns_count = sizeof columns / sizeof columns[0],
                                  .has = has,
                                  .row = row};
  bool any = false;
  enum be_status status = be_say_section(doc, survey, &section, &any, err);
  if (!any) return status;
  be_doc_note(doc,
              "Under normal, Weibull and any shape stands the load that %.0f %% of such pulls hold "
              "with %.0f %% confidence, if loads have that shape; for any shape it takes %zu pulls "
              "or more without lower bounds. The Weibull's keeps its word for normal and "
              "lognormal loads too, being low for them; the normal's promises too much where "
              "loads lean to the low side. B10 is the load that one pull in ten does not "
              "reach, by the Weibull. A specimen of two knots counts as one pull. Mean - 3 s is "
              "rope custom: it looks at no n, so with few "
              "pulls it promises more than they show.",
              100 * above, 100 * confidence, be_tolerance_least(above, confidence));
  return status;
}
