/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Could the two be the same? That they cannot be separated does not show it: sameness within
 * a margin has a test of its own. */
#include "app/versus/versus.h"

#include <math.h>

/* Two one-sided tests need a level above a half. */
static double alpha_of(const struct survey *survey)
{
  return fmin(1 - survey->how.level, 0.45);
}

/* By points of the line where both have them; else by the logs of the loads, so that the
 * margin is relative. */
static void test_same(const struct survey *survey, const struct pair *pair,
                      struct be_sameness *same, double *margin)
{
  struct be_estimate estimate =
      pair->has_points ? be_form_estimate(survey, &pair->points) : pair->ratio;
  struct be_difference difference = {.value = estimate.value, .df = estimate.df};
  *margin = pair->has_points ? survey->how.within : log1p(survey->how.within);
  be_same_within(&difference, estimate.variance, *margin, alpha_of(survey), same);
}

/* The n of each that would show sameness, were they the same, in the combination with the most
 * pulls of both. */
static double find_needed(const struct survey *survey, const struct pair *pair, double margin)
{
  double least = INFINITY;
  for (size_t i = 0; i < pair->count; i++) {
    const struct matched *m = &pair->list[i];
    double scatter = 0;
    for (int k = 0; k < 2; k++) {
      const struct cell *cell = k ? m->b : m->a;
      const struct be_estimate *mean = be_matched_by_share(m) ? &cell->share : &cell->pooled;
      double of_one = (double)cell->n * mean->variance;
      if (!pair->has_points) of_one /= mean->value * mean->value;
      scatter += of_one / 2;
    }
    double needed = be_power_same_n(margin / sqrt(scatter), alpha_of(survey), survey->how.power);
    least = fmin(least, ceil(needed));
  }
  return least;
}

void be_say_same(struct be_doc *doc, const struct survey *survey, const struct pair *pair,
                 bool apart)
{
  struct be_sameness same;
  double margin;
  test_same(survey, pair, &same, &margin);
  if (isnan(same.p) || (apart && !same.same && !survey->margin_asked)) return;
  double low = same.interval.low, high = same.interval.high;
  if (!pair->has_points) low = expm1(low), high = expm1(high);
  const char *kind = pair->has_points ? "points of the line" : "per cent relative";
  if (same.same)
    be_doc_sentence(doc,
                    "They are the same within %g %s: the %g %% interval of the difference%s lies "
                    "inside.",
                    100 * survey->how.within, kind, 100 * same.interval.level,
                    be_interval_words(survey, 100 * low, 100 * high, 1));
  else {
    double needed = find_needed(survey, pair, margin);
    be_doc_sentence(doc,
                    "That they are the same within %g %s is not shown: the %g %% interval of the "
                    "difference is%s.",
                    100 * survey->how.within, kind, 100 * same.interval.level,
                    be_interval_words(survey, 100 * low, 100 * high, 1));
    if (needed < 10000)
      be_doc_note(doc,
                  "Were they the same, about %.0f pulls of each in one combination would show "
                  "it at %g %% power.",
                  needed, 100 * survey->how.power);
  }
}

static bool has_slips(const struct pair *pair)
{
  return pair->told_a && pair->told_b && pair->slips_a + pair->slips_b > 0;
}

void be_say_slip_rates(struct be_doc *doc, const struct survey *survey, const struct pair *pair)
{
  if (!has_slips(pair)) return;
  struct be_rates rates;
  be_rates_compare(pair->slips_a, pair->told_a, pair->slips_b, pair->told_b, survey->how.level,
                   &rates);
  be_doc_note(doc,
              "Slip rates, first less second: %.0f pts%s; exact p %.3f by Fisher, %.3f by Barnard; "
              "over the combinations compared, taken as one.",
              100 * rates.difference.value,
              be_interval_words(survey, 100 * rates.difference.interval.low,
                                100 * rates.difference.interval.high, 0),
              rates.fisher_p, rates.barnard_p);
}

void be_pair_facts(struct be_doc *doc, const struct survey *survey, const struct pair *pair)
{
  struct be_sameness same;
  double margin;
  test_same(survey, pair, &same, &margin);
  if (has_slips(pair)) {
    struct be_rates rates;
    be_rates_compare(pair->slips_a, pair->told_a, pair->slips_b, pair->told_b, survey->how.level,
                     &rates);
    be_doc_fact(doc, "slips_fisher_p", "Slips, Fisher's p", "%.4g", rates.fisher_p);
    be_doc_fact(doc, "slips_barnard_p", "Slips, Barnard's p", "%.4g", rates.barnard_p);
  }
  if (isnan(same.p) || be_pair_divided(pair)) return;
  be_doc_fact(doc, "same_within", "Same within", "%g %s: %s", 100 * survey->how.within,
              pair->has_points ? "points of the line" : "per cent relative",
              same.same ? "yes" : "not shown");
  be_doc_fact(doc, "same_p", "p of sameness", "%.4g", same.p);
}
