/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pulls of which some only held, chains, and what let go. */
#include "peers.h"

static const double LEVEL = 0.95;

static size_t view_of(const struct pulls *pulls, size_t g, struct be_held *held)
{
  for (size_t i = 0; i < pulls->n[g]; i++)
    held[i] = (struct be_held){pulls->x[g][i], pulls->bound[g][i], pulls->links[g][i]};
  return pulls->n[g];
}

static void tell_fit(const struct peers *peers, const char *family, const struct be_fit *fit)
{
  const double values[] = {fit->mu,
                           fit->sigma,
                           fit->se_mu,
                           fit->se_sigma,
                           fit->covariance / (fit->se_mu * fit->se_sigma),
                           fit->log_likelihood};
  static const char *const names[] = {"mu",       "sigma",       "se mu",
                                      "se sigma", "correlation", "log-likelihood"};
  char figure[60];
  for (size_t i = 0; i < sizeof values / sizeof *values; i++) {
    snprintf(figure, sizeof figure, "%s %s", family, names[i]);
    tell(peers, ESTIMATE, figure, values[i]);
  }
}

static void tell_wanted(const struct peers *peers, const char *family, const struct be_fit *fit,
                        const struct be_held *held, size_t n)
{
  static const char *const names[] = {"shape", "scale", "mean", "quantile"};
  char figure[60];
  for (int wanted = BE_WANTED_SHAPE; wanted <= BE_WANTED_QUANTILE; wanted++) {
    struct be_measure measure;
    be_fit_profile(fit, held, n, (enum be_wanted)wanted, 0.07, LEVEL, &measure);
    snprintf(figure, sizeof figure, "%s %s", family, names[wanted]);
    tell(peers, ESTIMATE, figure, measure.value);
    snprintf(figure, sizeof figure, "%s %s profile low", family, names[wanted]);
    tell(peers, QUANTILE, figure, measure.interval.low);
    snprintf(figure, sizeof figure, "%s %s profile high", family, names[wanted]);
    tell(peers, QUANTILE, figure, measure.interval.high);
    if (fit->family != BE_FAMILY_WEIBULL || wanted == BE_WANTED_MEAN) continue;
    be_fit_conditional(fit, held, n, (enum be_wanted)wanted, 0.07, LEVEL, &measure);
    snprintf(figure, sizeof figure, "%s %s conditional low", family, names[wanted]);
    tell(peers, QUANTILE, figure, measure.interval.low);
    snprintf(figure, sizeof figure, "%s %s conditional high", family, names[wanted]);
    tell(peers, QUANTILE, figure, measure.interval.high);
  }
}

static void fits(const struct peers *peers, const struct be_held *held, size_t n)
{
  static const char *const families[] = {"Weibull", "lognormal", "normal"};
  for (int family = BE_FAMILY_WEIBULL; family <= BE_FAMILY_NORMAL; family++) {
    struct be_fit fit;
    char figure[60];
    be_fit_censored((enum be_family)family, held, n, &fit);
    if (!fit.converged) continue;
    tell_fit(peers, families[family], &fit);
    tell_wanted(peers, families[family], &fit, held, n);
    snprintf(figure, sizeof figure, "%s low quantile", families[family]);
    tell(peers, ESTIMATE, figure, be_fit_quantile(&fit, 0.0013));
    snprintf(figure, sizeof figure, "%s survival", families[family]);
    tell(peers, ESTIMATE, figure, be_fit_survival(&fit, 12.9));
    snprintf(figure, sizeof figure, "%s deviation", families[family]);
    tell(peers, ESTIMATE, figure, be_fit_deviation(&fit));
    snprintf(figure, sizeof figure, "%s lower bound", families[family]);
    tell(peers, QUANTILE, figure, be_fit_lower(&fit, held, n, 0.9, 0.95));
  }
}

static void survival(const struct peers *peers, const struct be_held *held, size_t n)
{
  struct be_step steps[PULLS_MAX];
  size_t count = be_kaplan_meier(held, n, LEVEL, steps);
  for (size_t i = 0; i < count; i++) {
    tell_at(peers, ESTIMATE, "survival", (double)i, steps[i].survival);
    tell_at(peers, ESTIMATE, "survival se", (double)i, steps[i].se);
    tell_at(peers, QUANTILE, "survival low", (double)i, steps[i].interval.low);
    tell_at(peers, QUANTILE, "survival high", (double)i, steps[i].interval.high);
  }
  struct be_measure load;
  be_kaplan_meier_quantile(steps, count, 0.37, &load);
  tell(peers, ESTIMATE, "survival quantile", load.value);
  tell(peers, ESTIMATE, "survival quantile low", load.interval.low);
  tell(peers, ESTIMATE, "survival quantile high", load.interval.high);
  struct be_estimate mean = be_kaplan_meier_mean(steps, count, 13.3);
  tell(peers, ESTIMATE, "restricted mean", mean.value);
  tell(peers, ESTIMATE, "restricted mean se", sqrt(mean.variance));
}

void held_sets(const struct peers *peers, const struct pulls *pulls)
{
  struct be_held held[2][PULLS_MAX];
  size_t n = view_of(pulls, 0, held[0]), n2 = view_of(pulls, 1, held[1]);
  fits(peers, held[0], n);
  survival(peers, held[0], n);
  double chi2, p;
  be_log_rank(held[0], n, held[1], n2, &chi2, &p);
  tell(peers, ESTIMATE, "log rank", chi2);
  tell(peers, CHANCE, "log rank p", p);
}

void chained_sets(const struct peers *peers, const struct pulls *pulls)
{
  static const char *const families[] = {"chain Weibull", "chain lognormal", "chain normal"};
  struct be_held held[PULLS_MAX];
  size_t n = view_of(pulls, 0, held);
  for (int family = BE_FAMILY_WEIBULL; family <= BE_FAMILY_NORMAL; family++) {
    struct be_fit fit;
    be_fit_censored((enum be_family)family, held, n, &fit);
    if (fit.converged) tell_fit(peers, families[family], &fit);
  }
  struct be_length_fit fit;
  be_length_of(held, n, &fit);
  tell(peers, ESTIMATE, "length slope", fit.slope);
  tell(peers, ESTIMATE, "length slope se", fit.slope_se);
  tell(peers, ESTIMATE, "length sigma", fit.sigma);
  tell(peers, ESTIMATE, "length scale", fit.scale_linear);
  tell(peers, ESTIMATE, "length log-likelihood linear", fit.log_likelihood[1]);
  tell(peers, ESTIMATE, "length log-likelihood separate", fit.log_likelihood[2]);
  tell(peers, CHANCE, "length p strict", fit.p_strict);
}

void caused_set(const struct peers *peers, const struct pulls *pulls)
{
  enum { CAUSES = 3 };
  struct be_caused rows[PULLS_MAX];
  size_t n = pulls->n[0];
  static const double loads[] = {12.1, 13.4, 14.6};
  for (size_t i = 0; i < n; i++) rows[i] = (struct be_caused){pulls->x[0][i], pulls->cause[0][i]};
  for (size_t j = 0; j < sizeof loads / sizeof *loads; j++) {
    struct be_measure incidence[CAUSES];
    double intact;
    be_incidence(rows, n, loads[j], CAUSES, LEVEL, incidence, &intact);
    tell_at(peers, ESTIMATE, "intact", loads[j], intact);
    for (int c = 0; c < CAUSES; c++) {
      double at = 100 * (c + 1) + loads[j];
      tell_at(peers, ESTIMATE, "incidence", at, incidence[c].value);
      tell_at(peers, QUANTILE, "incidence low", at, incidence[c].interval.low);
      tell_at(peers, QUANTILE, "incidence high", at, incidence[c].interval.high);
    }
  }
}
