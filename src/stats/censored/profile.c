/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Profile-likelihood intervals: all values of a figure at which the best likelihood of the
 * rest falls short of the best of all by no more than half a chi-square (Meeker and Escobar,
 * Statistical Methods for Reliability Data, 1998, section 8.3).
 *
 * The figure is pinned: location is psi less what sigma makes of it, so that
 *   z = a (y - psi) + K(a),  a = 1 / sigma,
 * with K = q for a quantile (q its standard quantile), a log Gamma(1 + 1/a) for the mean of a
 * Weibull, 1 / (2 a) of a lognormal, 0 of a normal; then only a is left to be found. For the
 * shape a is pinned and c = mu / sigma is found. */
#include "stats/censored/inside.h"
#include "stats/number/number.h"

#include <assert.h>
#include <math.h>

struct pinned {
  const struct be_view *view;
  enum be_wanted wanted;
  double q;
  double psi;        /* less the top; log sigma for the shape */
  double start;      /* log a of the fit, or c for the shape */
  double best, root; /* the greatest log-likelihood; the root of the chi-square */
};

static bool is_weibull_mean(const struct pinned *pinned)
{
  return pinned->wanted == BE_WANTED_MEAN && pinned->view->family == BE_FAMILY_WEIBULL;
}

/* K, and its slope. Of the slope only a maximum's place is made, whose error enters the
 * likelihood squared: 1e-10 by a difference of logs of gamma will do. */
static void offset(const struct pinned *pinned, double a, double *k, double *slope)
{
  *k = pinned->q;
  *slope = 0;
  if (pinned->wanted != BE_WANTED_MEAN) return;
  if (is_weibull_mean(pinned)) {
    double s = 1 / a, h = 1e-5 * fmin(1, s);
    double value = be_log_gamma_1p(s);
    double rise = (be_log_gamma_1p(s + h) - be_log_gamma_1p(s - h)) / (2 * h);
    *k = a * value;
    *slope = value - s * rise;
  } else if (pinned->view->family == BE_FAMILY_LOGNORMAL) {
    *k = 0.5 / a;
    *slope = -0.5 / (a * a);
  }
}

/* The log-likelihood without constants, and its slope by log a (by c for the shape). */
static double along(const struct pinned *pinned, double t, double *slope)
{
  const struct be_view *view = pinned->view;
  bool shape = pinned->wanted == BE_WANTED_SHAPE;
  double a = exp(shape ? -pinned->psi : t), k = -t, k_slope = 0;
  double value = (double)view->events * log(a), sum = 0;
  if (!shape) offset(pinned, a, &k, &k_slope);
  for (size_t i = 0; i < view->n; i++) {
    double y = be_view_y(view, i) - (shape ? 0 : pinned->psi);
    struct be_term term =
        be_term_of(view->family, view->held[i].bound, be_view_links(view, i), a * y + k);
    value += term.value;
    sum += shape ? -term.first : term.first * (y + k_slope);
  }
  *slope = shape ? sum : (double)view->events + a * sum;
  return value;
}

static double slope_along(double t, const void *context)
{
  double slope;
  along(context, t, &slope);
  return slope;
}

/* The best log-likelihood with the figure pinned. */
static double profile(const struct pinned *pinned)
{
  double near = pinned->start, slope, step = 0.25;
  double value = along(pinned, near, &slope);
  if (slope == 0) return value;
  double side = slope > 0 ? 1 : -1;
  for (int i = 0; i < 12; i++, step *= 2) {
    double far = near + side * step;
    value = along(pinned, far, &slope);
    if (side * slope <= 0) {
      double t = be_root(slope_along, pinned, fmin(near, far), fmax(near, far));
      return along(pinned, t, &slope);
    }
    near = far;
  }
  return value;
}

/* Root of twice what is lost: nearly straight in psi, which suits a root finder. */
static double lost(double psi, const void *context)
{
  struct pinned pinned = *(const struct pinned *)context;
  pinned.psi = psi;
  return sqrt(fmax(2 * (pinned.best - profile(&pinned)), 0)) - pinned.root;
}

/* Where the loss reaches the root, going from psi to one side; infinite when it does not
 * within what a double can say of a load. */
static double end_of(struct pinned *pinned, double side, double unit)
{
  double most = pinned->view->family == BE_FAMILY_NORMAL && pinned->wanted != BE_WANTED_SHAPE
                    ? 1e12 * unit
                    : 1500;
  double near = pinned->psi, centre = pinned->psi;
  for (double step = unit * pinned->root; step < most; step *= 2) {
    double far = centre + side * step;
    if (lost(far, pinned) >= 0) return be_root(lost, pinned, fmin(near, far), fmax(near, far));
    near = far;
  }
  return side * INFINITY;
}

static double standard_quantile(enum be_family family, double p)
{
  return family == BE_FAMILY_WEIBULL ? log(-log1p(-p)) : -be_normal_quantile(p);
}

double be_profile_end(const struct be_fit *fit, const struct be_held *held, size_t n,
                      enum be_wanted wanted, double p, double root)
{
  struct be_view view = {.family = fit->family, .held = held, .n = n};
  struct pinned pinned = {.view = &view, .wanted = wanted, .root = fabs(root)};
  bool shape = wanted == BE_WANTED_SHAPE, is_log = fit->family != BE_FAMILY_NORMAL;
  double k, slope, side = root < 0 ? -1 : 1;
  be_view_look(&view);
  if (wanted == BE_WANTED_QUANTILE) pinned.q = standard_quantile(fit->family, p);
  pinned.start = shape ? (fit->mu - view.top) / fit->sigma : -log(fit->sigma);
  offset(&pinned, 1 / fit->sigma, &k, &slope);
  pinned.psi = shape ? log(fit->sigma) : fit->mu - view.top + fit->sigma * k;
  pinned.best = along(&pinned, pinned.start, &slope);
  if (root == 0) return be_fit_figure(fit, wanted, p);
  double unit = sqrt((1 + k * k) / (double)view.events) * (shape ? 1 : fit->sigma);
  /* beta is 1 / sigma: its lower end is sigma's upper. */
  if (shape && fit->family == BE_FAMILY_WEIBULL) return exp(-end_of(&pinned, -side, unit));
  double end = end_of(&pinned, side, unit);
  if (shape) return exp(end);
  return is_log ? exp(end + view.top) : end + view.top;
}

double be_fit_figure(const struct be_fit *fit, enum be_wanted wanted, double p)
{
  switch (wanted) {
  case BE_WANTED_SHAPE: return fit->family == BE_FAMILY_WEIBULL ? 1 / fit->sigma : fit->sigma;
  case BE_WANTED_SCALE: return fit->family == BE_FAMILY_NORMAL ? fit->mu : exp(fit->mu);
  case BE_WANTED_MEAN: return be_fit_mean(fit);
  case BE_WANTED_QUANTILE: break;
  }
  return be_fit_quantile(fit, p);
}

void be_fit_profile(const struct be_fit *fit, const struct be_held *held, size_t n,
                    enum be_wanted wanted, double p, double level, struct be_measure *measure)
{
  assert(level > 0 && level < 1);
  const double unknown = NAN;
  *measure = (struct be_measure){unknown, {unknown, unknown, level}};
  if (!fit->converged) return;
  double root = sqrt(be_chi2_quantile(1 - level, 1));
  measure->value = be_fit_figure(fit, wanted, p);
  measure->interval.low = be_profile_end(fit, held, n, wanted, p, -root);
  measure->interval.high = be_profile_end(fit, held, n, wanted, p, root);
}
