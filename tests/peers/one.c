/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One set of pulls. */
#include "peers.h"

#include <assert.h>
#include <string.h>

static const double LEVEL = 0.95;

static void tell_ends(const struct peers *peers, const char *low, const char *high,
                      const struct be_interval *interval)
{
  tell(peers, QUANTILE, low, interval->low);
  tell(peers, QUANTILE, high, interval->high);
}

static void location(const struct peers *peers, const double *sorted, size_t n)
{
  static const double shares[] = {0.037, 0.25, 0.5, 0.61, 0.9, 0.975};
  static double scratch[PULLS_MAX * (PULLS_MAX + 1) / 2];
  char name[40];
  for (int type = 1; type <= 9; type++)
    for (size_t i = 0; i < sizeof shares / sizeof *shares; i++) {
      snprintf(name, sizeof name, "quantile type %d", type);
      tell_at(peers, ESTIMATE, name, shares[i], be_quantile(sorted, n, shares[i], type));
    }
  struct be_measure measure;
  be_sample_median(sorted, n, LEVEL, &measure);
  tell(peers, ESTIMATE, "median level", measure.interval.level);
  tell_ends(peers, "median low", "median high", &measure.interval);
  be_hodges_lehmann(sorted, n, LEVEL, scratch, &measure);
  tell(peers, ESTIMATE, "Hodges-Lehmann", measure.value);
  tell(peers, ESTIMATE, "Hodges-Lehmann level", measure.interval.level);
  tell_ends(peers, "Hodges-Lehmann low", "Hodges-Lehmann high", &measure.interval);
  be_trimmed_mean(sorted, n, 0.17, LEVEL, &measure);
  tell(peers, ESTIMATE, "trimmed mean", measure.value);
  tell_ends(peers, "trimmed mean low", "trimmed mean high", &measure.interval);
  double scale;
  tell(peers, ESTIMATE, "mad", be_mad(sorted, n));
  tell(peers, ESTIMATE, "Huber", be_huber(sorted, n, 1.5, NULL));
  tell(peers, ESTIMATE, "Huber proposal 2", be_huber(sorted, n, 1.5, &scale));
  tell(peers, ESTIMATE, "Huber proposal 2 scale", scale);
}

static void spread(const struct peers *peers, const struct be_summary *summary)
{
  struct be_estimate mean = be_estimate_mean(summary);
  struct be_interval interval = be_estimate_interval(&mean, LEVEL);
  tell(peers, ESTIMATE, "mean", summary->mean);
  tell(peers, ESTIMATE, "sd", summary->sd);
  tell_ends(peers, "mean low", "mean high", &interval);
  struct be_measure measure;
  be_deviation(summary, LEVEL, &measure);
  tell_ends(peers, "sd low", "sd high", &measure.interval);
  be_variation(summary, LEVEL, &measure);
  tell_ends(peers, "cv low", "cv high", &measure.interval);
  tell(peers, QUANTILE, "tolerance bound", be_tolerance_normal(summary, 0.9, 0.95));
}

static void alarms(const struct peers *peers, const double *x, const double *sorted,
                   const struct be_summary *summary)
{
  enum { MOST = 2 };
  struct be_alarm alarm, esd[MOST];
  double scratch[PULLS_MAX];
  size_t n = summary->n, raised;
  be_grubbs(x, n, 0.05, &alarm);
  tell(peers, ESTIMATE, "Grubbs", alarm.statistic);
  tell(peers, QUANTILE, "Grubbs critical", alarm.critical);
  if (n >= 8) {
    be_esd(x, n, MOST, 0.05, scratch, esd, &raised);
    for (int i = 0; i < MOST; i++) {
      tell_at(peers, ESTIMATE, "ESD", i, esd[i].statistic);
      tell_at(peers, QUANTILE, "ESD critical", i, esd[i].critical);
    }
  }
  struct be_fitness fit;
  be_shapiro_wilk(sorted, n, &fit);
  tell(peers, ESTIMATE, "Shapiro-Wilk", fit.statistic);
  tell(peers, CHANCE, "Shapiro-Wilk p", fit.significance);
  be_anderson_darling(sorted, n, BE_FAMILY_NORMAL, summary->mean, summary->sd, &fit);
  tell(peers, ESTIMATE, "Anderson-Darling normal", fit.statistic);
  be_anderson_darling(sorted, n, BE_FAMILY_WEIBULL, log(summary->mean), 0.06, &fit);
  tell(peers, ESTIMATE, "Anderson-Darling Weibull", fit.statistic);
}

static void drift(const struct peers *peers, const double *x, size_t n)
{
  static double scratch[PULLS_MAX * (PULLS_MAX + 1) / 2];
  struct be_drift drift;
  be_drift_of(x, n, LEVEL, scratch, &drift);
  tell(peers, ESTIMATE, "autocorrelation", drift.lag1);
  tell(peers, ESTIMATE, "runs", (double)drift.runs);
  tell(peers, CHANCE, "runs p", drift.runs_p);
  tell(peers, ESTIMATE, "Theil-Sen", drift.slope);
  tell(peers, CHANCE, "Kendall p", drift.slope_p);
  tell_ends(peers, "Theil-Sen low", "Theil-Sen high", &drift.slope_interval);
}

void one_set(const struct peers *peers, const struct pulls *pulls)
{
  double sorted[PULLS_MAX];
  size_t n = pulls->n[0];
  memcpy(sorted, pulls->x[0], n * sizeof *sorted);
  be_sort(sorted, n);
  struct be_summary summary;
  be_summary_of(pulls->x[0], n, &summary);
  spread(peers, &summary);
  location(peers, sorted, n);
  alarms(peers, pulls->x[0], sorted, &summary);
  drift(peers, pulls->x[0], n);
}

/* ---- resampling ---- */

static double variation(const double *const *x, const size_t *n, size_t groups, const void *context)
{
  (void)groups;
  (void)context;
  struct be_summary summary;
  be_summary_of(x[0], n[0], &summary);
  return summary.sd / summary.mean;
}

static double ratio(const double *const *x, const size_t *n, size_t groups, const void *context)
{
  (void)groups;
  (void)context;
  return be_draw_mean(x, n, 1, NULL) / be_draw_mean(x + 1, n + 1, 1, NULL);
}

/* One of each statistic; the number in front of the figure tells which. */
void resampled(const struct peers *peers, const struct pulls *pulls)
{
  static be_statistic *const statistics[] = {be_draw_mean, variation, ratio};
  const double *const x[] = {pulls->x[0], pulls->x[1]};
  const struct be_resampling how = {1987, 200000, LEVEL, 0};
  for (int s = 0; s < 3; s++) {
    struct be_boot boot;
    enum be_status status =
        be_bootstrap(x, pulls->n, s == 2 ? 2 : 1, statistics[s], NULL, &how, &boot, NULL);
    assert(status == BE_OK && boot.how_bca == BE_BCA_DONE);
    (void)status;
    tell_at(peers, ESTIMATE, "bootstrap value", s, boot.value);
    tell_at(peers, ESTIMATE, "bootstrap acceleration", s, boot.acceleration);
    tell_at(peers, MARGIN, "bootstrap se", s, boot.se);
    tell_at(peers, MARGIN, "bootstrap z0", s, boot.z0);
    tell_at(peers, MARGIN, "bootstrap percentile low", s, boot.percentile.low);
    tell_at(peers, MARGIN, "bootstrap percentile high", s, boot.percentile.high);
    tell_at(peers, MARGIN, "bootstrap BCa low", s, boot.bca.low);
    tell_at(peers, MARGIN, "bootstrap BCa high", s, boot.bca.high);
  }
}
