/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/censored/inside.h"
#include "stats/number/number.h"

#include <assert.h>
#include <math.h>

static void fit_none(struct be_fit *fit, const char *why)
{
  const double unknown = NAN;
  fit->converged = false;
  fit->why = why;
  fit->mu = fit->sigma = fit->se_mu = fit->se_sigma = unknown;
  fit->covariance = fit->log_likelihood = unknown;
}

/* ---- Weibull ---- */

/* Sums of w exp(y / sigma), as its logarithm, and the mean and variance of y by it. */
struct tilted {
  double log_sum, mean, variance;
};

static void tilt(const struct be_view *view, double sigma, struct tilted *tilted)
{
  double sums[3] = {0};
  for (size_t i = 0; i < view->n; i++) {
    if (!be_view_takes(view, i)) continue;
    double y = be_view_y(view, i), weight = be_view_links(view, i) * exp(y / sigma);
    sums[0] += weight;
    sums[1] += weight * y;
    sums[2] += weight * y * y;
  }
  tilted->log_sum = log(sums[0]);
  tilted->mean = sums[1] / sums[0];
  /* y is of the order of sigma under this weight, for it counts down from the top: nothing
   * is lost in the difference. */
  tilted->variance = fmax(sums[2] / sums[0] - tilted->mean * tilted->mean, 0);
}

/* d of the profile log-likelihood by 1 / sigma is 0 where
 *   G(sigma) = sigma - (tilted mean of y) + (mean of y over events)
 * is 0 (Lawless 1982, equation 4.1.9, with w for chains). G rises with a slope from 1 to
 * little more than 2, so Newton in sigma is nearly straight; a bracket keeps it from
 * leaving. Rises from below 0: at sigma = 0 the tilted mean is the highest y, which the
 * events' mean is below. */
static bool solve_sigma(const struct be_view *view, double *sigma, struct tilted *tilted,
                        int *steps)
{
  double low = 0, high = INFINITY, s = *sigma;
  for (*steps = 1; *steps <= 100; ++*steps) {
    tilt(view, s, tilted);
    double g = s - tilted->mean + view->event_mean;
    if (g < 0) low = s;
    else high = s;
    double next = s - g / (1 + tilted->variance / (s * s));
    if (!(next >= low && next <= high) || next == 0)
      next = isinf(high) ? 2 * s : 0.5 * (low + high);
    double change = fabs(next - s);
    s = next;
    /* Newton squares the error: from 1e-9 to less than a double shows. */
    if (change <= 1e-9 * s) {
      *sigma = s;
      tilt(view, s, tilted);
      return s > 0 && isfinite(s);
    }
  }
  return false;
}

static double events_constants(const struct be_view *view)
{
  double sum = 0;
  for (size_t i = 0; i < view->n; i++)
    if (be_view_takes(view, i) && !view->held[i].bound)
      sum += log(be_view_links(view, i)) - log(view->held[i].load);
  return sum;
}

/* With e = w exp(z): sum of e is r, and the observed information of (mu, sigma) is
 * (r, sum of z e; sum of z e, r + sum of z^2 e) / sigma^2, whose determinant
 * r^2 (1 + v) / sigma^4, v the tilted variance of z, has no difference in it. */
void be_fit_weibull(const struct be_view *view, struct be_fit *fit)
{
  struct tilted tilted;
  double r = (double)view->events, sigma = 0.78 * view->deviation; /* sqrt(6) / pi */
  if (!solve_sigma(view, &sigma, &tilted, &fit->steps)) {
    fit_none(fit, "the steps do not settle");
    return;
  }
  double mu = sigma * (tilted.log_sum - log(r));
  double mean = (tilted.mean - mu) / sigma, v = tilted.variance / (sigma * sigma);
  double unit = sigma * sigma / (r * (1 + v));
  fit->mu = mu + view->top;
  fit->sigma = sigma;
  fit->se_mu = sqrt(unit * (1 + v + mean * mean));
  fit->se_sigma = sqrt(unit);
  fit->covariance = -unit * mean;
  fit->log_likelihood =
      r * ((view->event_mean - mu) / sigma - log(sigma) - 1) + events_constants(view);
  fit->converged = true;
}

/* ---- normal and lognormal ---- */

static void fit_normal(const struct be_view *view, struct be_fit *fit)
{
  struct be_line line = {{1 / view->deviation, view->mean / view->deviation, 0}};
  double v[4];
  if (!be_line_climb(view, &line, 2, v, &fit->steps)) {
    fit_none(fit, "the steps do not settle");
    return;
  }
  /* mu = c / a, sigma = 1 / a. */
  double sigma = 1 / line.at[0], mu = line.at[1] * sigma;
  fit->mu = mu + view->top;
  fit->sigma = sigma;
  double of_mu[2] = {-mu * sigma, sigma}, of_sigma = -sigma * sigma;
  fit->se_mu = sqrt(of_mu[0] * of_mu[0] * v[0] + 2 * of_mu[0] * of_mu[1] * v[1] +
                    of_mu[1] * of_mu[1] * v[3]);
  fit->se_sigma = fabs(of_sigma) * sqrt(v[0]);
  fit->covariance = of_sigma * (of_mu[0] * v[0] + of_mu[1] * v[1]);
  fit->log_likelihood = be_line_log_likelihood(view, &line);
  fit->converged = true;
}

void be_fit_censored(enum be_family family, const struct be_held *held, size_t n,
                     struct be_fit *fit)
{
  assert(n >= 1);
  struct be_view view = {.family = family, .held = held, .n = n};
  be_view_look(&view);
  *fit = (struct be_fit){.family = family, .n = n, .events = view.events};
  const char *lack = be_view_lacks(&view);
  if (lack) fit_none(fit, lack);
  else if (family == BE_FAMILY_WEIBULL) be_fit_weibull(&view, fit);
  else fit_normal(&view, fit);
}

/* ---- what a fit says ---- */

double be_fit_quantile(const struct be_fit *fit, double p)
{
  assert(p > 0 && p < 1);
  switch (fit->family) {
  case BE_FAMILY_WEIBULL: return exp(fit->mu + fit->sigma * log(-log1p(-p)));
  case BE_FAMILY_LOGNORMAL: return exp(fit->mu - fit->sigma * be_normal_quantile(p));
  case BE_FAMILY_NORMAL: break;
  }
  return fit->mu - fit->sigma * be_normal_quantile(p);
}

double be_fit_mean(const struct be_fit *fit)
{
  switch (fit->family) {
  case BE_FAMILY_WEIBULL: return exp(fit->mu + be_log_gamma_1p(fit->sigma));
  case BE_FAMILY_LOGNORMAL: return exp(fit->mu + 0.5 * fit->sigma * fit->sigma);
  case BE_FAMILY_NORMAL: break;
  }
  return fit->mu;
}

double be_fit_deviation(const struct be_fit *fit)
{
  const double s = fit->sigma;
  switch (fit->family) {
  case BE_FAMILY_WEIBULL:
    return be_fit_mean(fit) * sqrt(expm1(be_log_gamma_1p(2 * s) - 2 * be_log_gamma_1p(s)));
  case BE_FAMILY_LOGNORMAL: return be_fit_mean(fit) * sqrt(expm1(s * s));
  case BE_FAMILY_NORMAL: break;
  }
  return s;
}

double be_fit_survival(const struct be_fit *fit, double x)
{
  if (isnan(fit->mu)) return fit->mu;
  if (fit->family == BE_FAMILY_NORMAL) return be_normal_upper((x - fit->mu) / fit->sigma);
  if (x <= 0) return 1;
  double z = (log(x) - fit->mu) / fit->sigma;
  return fit->family == BE_FAMILY_WEIBULL ? exp(-exp(z)) : be_normal_upper(z);
}
