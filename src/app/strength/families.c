/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What shape the loads have, lower bounds counted in: Weibull and lognormal by maximum
 * likelihood, and the median that takes no shape for granted. */
#include "app/strength/strength.h"

#include <math.h>
#include <stdlib.h>

static bool has(const struct cell *cell)
{
  return cell->n >= 3;
}

static bool is_double(const struct survey *survey, const struct cell *cell)
{
  return survey->combinations[cell->combination].design == BE_DESIGN_TWO_SAME;
}

static void fit_columns(struct be_table *table, const struct be_fit *fit)
{
  be_table_number(table, fit->mu, 5);
  be_table_number(table, fit->se_mu, 5);
  be_table_number(table, fit->sigma, 5);
  be_table_number(table, fit->se_sigma, 5);
  be_table_number(table, fit->log_likelihood, 3);
}

enum be_status be_find_fitness(const struct survey *survey, const struct cell *cell,
                               const struct be_fit *weibull, double links, struct fitness *fitness,
                               struct be_err *err)
{
  *fitness = (struct fitness){NAN, NAN, NAN};
  if (cell->lower_count || !(cell->summary.sd > 0)) return BE_OK;
  const double *sorted = be_sorted_loads(survey, cell);
  double *logs = be_arena_alloc(survey->arena, cell->n * sizeof *logs);
  if (!sorted || !logs) return be_no_memory(err);
  struct be_summary of_logs;
  struct be_fitness fit;
  for (size_t i = 0; i < cell->n; i++) logs[i] = log(sorted[i]);
  be_summary_of(logs, cell->n, &of_logs);
  be_anderson_darling(sorted, cell->n, BE_FAMILY_NORMAL, cell->summary.mean, cell->summary.sd,
                      &fit);
  fitness->normal = fit.significance;
  be_anderson_darling(sorted, cell->n, BE_FAMILY_LOGNORMAL, of_logs.mean, of_logs.sd, &fit);
  fitness->lognormal = fit.significance;
  if (!weibull->converged) return BE_OK;
  be_anderson_darling(sorted, cell->n, BE_FAMILY_WEIBULL, weibull->mu - weibull->sigma * log(links),
                      weibull->sigma, &fit);
  fitness->weibull = fit.significance;
  return BE_OK;
}

/* By t on the logs: exact without lower bounds, where the profile's interval is too short of few
 * pulls. Likelihood divides by n, which is put right as in be_mean_with_bounds. */
static struct be_measure lognormal_median(const struct be_fit *fit, double level)
{
  double n = (double)fit->events;
  const struct be_estimate mu = {fit->mu, fit->se_mu * fit->se_mu * n / (n - 1), n - 1,
                                 fit->events};
  struct be_measure median = {NAN, {NAN, NAN, level}};
  if (!fit->converged) return median;
  median.value = exp(fit->mu);
  median.interval = be_estimate_interval(&mu, level);
  median.interval.low = exp(median.interval.low);
  median.interval.high = exp(median.interval.high);
  return median;
}

static enum be_status row(struct be_table *table, const struct survey *survey,
                          const struct cell *cell, const void *context, struct be_err *err)
{
  (void)context;
  size_t count = cell->n + cell->lower_count;
  double level = survey->how.level;
  struct be_held *held = be_held_of(survey, cell);
  struct be_step *steps = be_arena_alloc(survey->arena, count * sizeof *steps);
  if (!held || !steps) return be_no_memory(err);
  /* Two alike knots let go at the weaker: what is fitted is one of them. */
  double links = is_double(survey, cell) ? 2 : 1;
  for (size_t i = 0; i < count; i++) held[i].links = links;
  struct be_fit weibull, lognormal;
  struct be_measure scale, shape, middle;
  be_fit_censored(BE_FAMILY_WEIBULL, held, count, &weibull);
  be_fit_censored(BE_FAMILY_LOGNORMAL, held, count, &lognormal);
  struct be_measure median;
  be_fit_conditional(&weibull, held, count, BE_WANTED_SCALE, 0, level, &scale);
  be_fit_conditional(&weibull, held, count, BE_WANTED_SHAPE, 0, level, &shape);
  median = lognormal_median(&lognormal, level);
  struct fitness fitness;
  enum be_status status = be_find_fitness(survey, cell, &weibull, links, &fitness, err);
  if (status != BE_OK) return status;
  be_sort_held(held, count);
  size_t steps_count = be_kaplan_meier(held, count, level, steps);
  be_kaplan_meier_quantile(steps, steps_count, 0.5, &middle);
  be_table_number(table, (double)cell->n, 0);
  be_table_number(table, (double)cell->lower_count, 0);
  be_table_measure(table, survey, &scale, survey->decimals + 1);
  be_table_number(table, shape.value, 1);
  be_table_interval(table, shape.interval.low, shape.interval.high, 1);
  be_table_measure(table, survey, &median, survey->decimals + 1);
  be_table_number(table, 100 * lognormal.sigma, 1);
  be_table_measure(table, survey, &middle, survey->decimals + 1);
  be_table_number(table, fitness.normal, 2);
  be_table_number(table, fitness.lognormal, 2);
  be_table_number(table, fitness.weibull, 2);
  fit_columns(table, &weibull);
  fit_columns(table, &lognormal);
  return BE_OK;
}

/* Plots of the cells whose loads do not look like either shape: what the figures that lean on
 * it are worth. Fewer than six events look like anything. */
enum { PLOT_FROM = 6, PLOTS_MOST = 12 };

static enum be_status say_doubtful(struct be_doc *doc, const struct survey *survey,
                                   struct be_err *err)
{
  size_t plots = 0;
  for (size_t i = 0; i < survey->cells_count && plots < PLOTS_MOST; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->n < PLOT_FROM || cell->lower_count) continue;
    const struct be_held *held = be_held_of(survey, cell);
    struct be_fit weibull;
    struct fitness fitness;
    if (!held) return be_no_memory(err);
    be_fit_censored(BE_FAMILY_WEIBULL, held, cell->n, &weibull);
    enum be_status status = be_find_fitness(survey, cell, &weibull, 1, &fitness, err);
    if (status != BE_OK) return status;
    if (fitness.normal < BE_DOUBTFUL) {
      be_doc_figure(doc, be_figure_of_shape(survey, cell, BE_FAMILY_NORMAL));
      plots++;
    }
    if (fitness.weibull < BE_DOUBTFUL) {
      be_doc_figure(doc, be_figure_of_shape(survey, cell, BE_FAMILY_WEIBULL));
      plots++;
    }
  }
  return BE_OK;
}

enum be_status be_say_families(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  const struct be_column columns[] = {
      SECTION_COLUMNS,
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"lower_bounds", "at least", BE_COLUMN_NUMBER, false},
      {"weibull_scale", be_head(survey, "Weibull scale"), BE_COLUMN_NUMBER, false},
      {"weibull_scale", "interval", BE_COLUMN_INTERVAL, false},
      {"weibull_shape", "shape", BE_COLUMN_NUMBER, false},
      {"weibull_shape", "interval", BE_COLUMN_INTERVAL, false},
      {"lognormal_median", "lognormal median", BE_COLUMN_NUMBER, false},
      {"lognormal_median", "interval", BE_COLUMN_INTERVAL, false},
      {"lognormal_sd_percent", "sd of logs (%)", BE_COLUMN_NUMBER, false},
      {"kaplan_meier_median", "Kaplan-Meier median", BE_COLUMN_NUMBER, false},
      {"kaplan_meier_median", "interval", BE_COLUMN_INTERVAL, false},
      {"fits_normal", "fits: normal", BE_COLUMN_NUMBER, false},
      {"fits_lognormal", "lognormal", BE_COLUMN_NUMBER, false},
      {"fits_weibull", "Weibull", BE_COLUMN_NUMBER, false},
      {"weibull_mu", "", BE_COLUMN_NUMBER, true},
      {"weibull_mu_se", "", BE_COLUMN_NUMBER, true},
      {"weibull_sigma", "", BE_COLUMN_NUMBER, true},
      {"weibull_sigma_se", "", BE_COLUMN_NUMBER, true},
      {"weibull_log_likelihood", "", BE_COLUMN_NUMBER, true},
      {"lognormal_mu", "", BE_COLUMN_NUMBER, true},
      {"lognormal_mu_se", "", BE_COLUMN_NUMBER, true},
      {"lognormal_sigma", "", BE_COLUMN_NUMBER, true},
      {"lognormal_sigma_se", "", BE_COLUMN_NUMBER, true},
      {"lognormal_log_likelihood", "", BE_COLUMN_NUMBER, true},
  };
  const struct section section = {.heading = "Shape, lower bounds counted in",
                                  .name = "families",
                                  .title = "Weibull, lognormal, and no shape at all",
                                  .columns = columns,
                                  .columns_count = sizeof columns / sizeof columns[0],
                                  .has = has,
                                  .row = row};
  bool any = false;
  enum be_status status = be_say_section(doc, survey, &section, &any, err);
  if (!any) return status;
  be_doc_note(
      doc, "By maximum likelihood; a pull that held counts for what it held. Of two alike "
           "knots on a specimen, Weibull and lognormal are of one; the median without a shape, and "
           "how it fits, are of specimens. If loads are Weibull, its intervals are "
           "exact without lower bounds and nearly so with them; that of the Kaplan-Meier "
           "median holds 87 %% of the time with three pulls where it says 95 %%, and without "
           "lower bounds the median under \"Where the events lie\" tells what it reaches. "
           "Fits: the significance of Anderson and Darling's statistic; below 0.05 the loads "
           "do not look so. With few pulls every shape fits. Plots stand below for the first "
           "that do not; the page of each knot has its own.");
  return status == BE_OK ? say_doubtful(doc, survey, err) : status;
}
