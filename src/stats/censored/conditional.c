/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Weibull intervals conditional on the ancillaries (Lawless, Technometrics 17, 1975; his book
 * of 1982, section 4.1.2), with w for chains of links.
 *
 * Let z_i be the residuals of the fit, v = fitted sigma / sigma and
 * s = (fitted mu - mu) / sigma. Given the z_i the density of the pivots is
 *   k(v) times that of s, with exp(s) A(v) a gamma variable of r = events,
 *   k(v) ~ v^(r-2) exp(v sum of z over events) A(v)^-r,  A(v) = sum of w exp(v z) over all.
 * For complete samples (and those stopped at the r-th event) the intervals are exact at any
 * size. With other bounds this is the same function of the data, which is also the posterior
 * of the prior d mu d sigma / sigma, and close.
 *
 * mu + q sigma lies at or below fitted mu + c fitted sigma where s >= q - v c, so that
 *   P(c) = integral of k(v) Q(r, A(v) exp(q - v c)),
 * Q the upper incomplete gamma ratio. The mean is exp(mu) Gamma(1 + sigma): its q is
 * log Gamma(1 + sigma) / sigma and moves with v; then P is the distribution of a generalised
 * pivot (Weerahandi, J. Am. Stat. Assoc. 88, 1993), not exact but close at any size.
 *
 * In t = log v the integrand is analytic and falls to nothing at both sides, where the
 * trapezoid rule errs by less than rounding from a few points a deviation on. */
#include "stats/censored/inside.h"
#include "stats/number/number.h"

#include <assert.h>
#include <math.h>

enum { FEW = 20 };
enum { LEFT_MAX = 4096, RIGHT_MAX = 1024, NODES_MAX = LEFT_MAX + RIGHT_MAX };

struct pivot {
  const struct be_view *view;
  double sigma, mu; /* of the fit; mu less the top */
  double r, event_sum;
  double mode, width, peak; /* of log k in t */
  double step;              /* of t from node to node */
  enum be_wanted wanted;
  double q, target;
  size_t count;
  double total;
  double v[NODES_MAX], at[NODES_MAX], share[NODES_MAX]; /* at: log A(v) + q */
};

/* log A(v), and the mean and variance of z by its weights; y <= 0 keeps powers in range. */
static double log_sum_of(const struct pivot *pivot, double v, double *mean, double *variance)
{
  const struct be_view *view = pivot->view;
  double sums[3] = {0}, power = v / pivot->sigma;
  for (size_t i = 0; i < view->n; i++) {
    double y = be_view_y(view, i), weight = be_view_links(view, i) * exp(power * y);
    sums[0] += weight;
    sums[1] += weight * y;
    sums[2] += weight * y * y;
  }
  double m = sums[1] / sums[0];
  if (mean) *mean = (m - pivot->mu) / pivot->sigma;
  if (variance) *variance = fmax(sums[2] / sums[0] - m * m, 0) / (pivot->sigma * pivot->sigma);
  return log(sums[0]) - power * pivot->mu;
}

/* log k as a density of t. */
static double log_density(const struct pivot *pivot, double t, double *log_sum)
{
  double v = exp(t);
  *log_sum = log_sum_of(pivot, v, NULL, NULL);
  return (pivot->r - 1) * t + v * pivot->event_sum - pivot->r * *log_sum;
}

/* Falls in t: through 0 at the mode. */
static double slope_of(double t, const void *context)
{
  const struct pivot *pivot = context;
  double v = exp(t), mean;
  log_sum_of(pivot, v, &mean, NULL);
  return pivot->r - 1 + v * (pivot->event_sum - pivot->r * mean);
}

static double q_of(const struct pivot *pivot, double v)
{
  if (pivot->wanted != BE_WANTED_MEAN) return pivot->q;
  return v / pivot->sigma * be_log_gamma_1p(pivot->sigma / v);
}

/* 40 below the peak is 4e-18 of it. The left side falls as exp((r - 1) t). */
static void place_side(struct pivot *pivot, int side, size_t most)
{
  for (size_t j = side < 0 ? 0 : 1; j < most; j++) {
    double t = pivot->mode + side * (double)j * pivot->step, log_sum;
    double fall = log_density(pivot, t, &log_sum) - pivot->peak;
    if (fall < -40) break;
    pivot->v[pivot->count] = exp(t);
    pivot->at[pivot->count] = log_sum + q_of(pivot, exp(t));
    pivot->total += pivot->share[pivot->count++] = exp(fall);
  }
}

/* Eight steps a deviation are enough for k; Q turns from 0 to 1 the faster in t the larger q
 * is. Steps of half the length change no end by more than 1e-11 of itself (two events and
 * more, p from 1e-6 on). */
static void place_nodes(struct pivot *pivot)
{
  double variance, low = -1, high = 1;
  while (slope_of(low, pivot) < 0) low *= 2;
  while (slope_of(high, pivot) > 0) high *= 2;
  pivot->mode = be_root(slope_of, pivot, low, high);
  double v = exp(pivot->mode);
  log_sum_of(pivot, v, NULL, &variance);
  pivot->width = 1 / sqrt(pivot->r - 1 + v * v * pivot->r * variance);
  pivot->peak = log_density(pivot, pivot->mode, &low);
  double range = 40 / (pivot->r - 1) + 10 * pivot->width;
  pivot->step = fmin(pivot->width / 8, 0.1 / fabs(q_of(pivot, v)));
  pivot->step = fmax(pivot->step, range / (LEFT_MAX - 1));
  pivot->count = 0;
  pivot->total = 0;
  place_side(pivot, -1, LEFT_MAX);
  place_side(pivot, 1, RIGHT_MAX);
}

/* Q(r, x) is the chance of fewer than r events of a Poisson with mean x: for few events that
 * sum, of positive terms, is several times faster than a series or fraction for any r. */
static double few_upper(int r, double x)
{
  double sum = 1;
  for (int k = r - 1; k > 0; k--) sum = 1 + sum * x / k;
  return exp(-x) * sum;
}

static double below(double c, const void *context)
{
  const struct pivot *pivot = context;
  double sum = 0;
  bool few = pivot->r <= FEW;
  for (size_t j = 0; j < pivot->count; j++) {
    double log_x = pivot->at[j] - pivot->v[j] * c;
    /* Beyond, Q is 0: of few events x is 1097; else r is never near 1e300. */
    if (log_x > (few ? 7 : 690)) continue;
    double x = exp(log_x);
    sum += pivot->share[j] * (few ? few_upper((int)pivot->r, x) : be_gamma_upper(pivot->r, x));
  }
  return sum / pivot->total - pivot->target;
}

/* The share of v between exp(left) and exp(right). Here the integrand ends in a step, for which
 * the trapezoid rule is no good: Gauss-Legendre with 8 points on panels one deviation wide. */
static double panel(const struct pivot *pivot, double left, double right)
{
  static const double x[] = {0.18343464249564980, 0.52553240991632899, 0.79666647741362674,
                             0.96028985649753623};
  static const double w[] = {0.36268378337836198, 0.31370664587788729, 0.22238103445337447,
                             0.10122853629037626};
  double sum = 0, half = (right - left) / 2, log_sum;
  for (int i = 0; i < 8; i++) {
    double at = left + half * (1 + (i < 4 ? -x[3 - i] : x[i - 4]));
    sum += w[i < 4 ? 3 - i : i - 4] * exp(log_density(pivot, at, &log_sum) - pivot->peak);
  }
  return sum * half / (pivot->total * pivot->step);
}

/* A panel's right end, and what is still to be found left of it. */
struct piece {
  const struct pivot *pivot;
  double right, wanted;
};

static double piece_excess(double left, const void *context)
{
  const struct piece *piece = context;
  return panel(piece->pivot, left, piece->right) - piece->wanted;
}

/* Where the share of the pivot's distribution is `target`; infinite when beyond `most`. */
static double pivot_end(struct pivot *pivot, double target, double most)
{
  pivot->target = target;
  double start = below(0, pivot), near = 0, side = start < 0 ? 1 : -1;
  if (start == 0) return 0;
  for (double step = 0.5; step <= most; step *= 2) {
    double far = side * step;
    if (side * below(far, pivot) >= 0)
      return be_root(below, pivot, fmin(near, far), fmax(near, far));
    near = far;
  }
  return side * INFINITY;
}

/* Panels are taken from the far right, where 46 below the peak is 1e-20 of it, until the share
 * above is 1 - target; only the last is looked into. */
static double shape_end(const struct pivot *pivot, double target)
{
  double width = pivot->width, log_sum;
  struct piece piece = {pivot, pivot->mode, 1 - target};
  while (log_density(pivot, piece.right, &log_sum) - pivot->peak > -46) piece.right += width;
  for (;;) {
    double share = panel(pivot, piece.right - width, piece.right);
    if (share >= piece.wanted || share == 0) break; /* 0: a level within rounding of 1 */
    piece.wanted -= share;
    piece.right -= width;
  }
  return exp(be_root(piece_excess, &piece, piece.right - width, piece.right)) / pivot->sigma;
}

static void begin(struct pivot *pivot, struct be_view *view, const struct be_fit *fit)
{
  be_view_look(view);
  pivot->view = view;
  pivot->sigma = fit->sigma;
  pivot->mu = fit->mu - view->top;
  pivot->r = (double)view->events;
  pivot->event_sum = pivot->r * (view->event_mean - pivot->mu) / fit->sigma;
  place_nodes(pivot);
}

static double load_end(struct pivot *pivot, const struct be_fit *fit, double target)
{
  return exp(fit->mu + fit->sigma * pivot_end(pivot, target, 1500 / fit->sigma));
}

void be_fit_conditional(const struct be_fit *fit, const struct be_held *held, size_t n,
                        enum be_wanted wanted, double p, double level, struct be_measure *measure)
{
  assert(fit->family == BE_FAMILY_WEIBULL && level > 0 && level < 1);
  const double unknown = NAN, tail = (1 - level) / 2;
  *measure = (struct be_measure){unknown, {unknown, unknown, level}};
  if (!fit->converged) return;
  struct be_view view = {.family = fit->family, .held = held, .n = n};
  struct pivot pivot = {.wanted = wanted};
  if (wanted == BE_WANTED_QUANTILE) pivot.q = log(-log1p(-p));
  begin(&pivot, &view, fit);
  measure->value = be_fit_figure(fit, wanted, p);
  bool shape = wanted == BE_WANTED_SHAPE;
  measure->interval.low = shape ? shape_end(&pivot, tail) : load_end(&pivot, fit, tail);
  measure->interval.high = shape ? shape_end(&pivot, 1 - tail) : load_end(&pivot, fit, 1 - tail);
}

/* ---- one-sided lower bounds ---- */

static bool is_complete(const struct be_held *held, size_t n)
{
  for (size_t i = 0; i < n; i++)
    if (held[i].bound || held[i].links != 1) return false;
  return true;
}

/* Of normal loads or logs without bounds: mean - k s with k sqrt(n) a quantile of the
 * noncentral t (Owen, 1963), exact. s divides by n - 1, the fit's sigma by n. */
static double lower_normal(const struct be_fit *fit, double above, double confidence)
{
  double n = (double)fit->n, df = n - 1;
  double shift = sqrt(n) * be_normal_quantile(1 - above);
  double t = be_noncentral_t_quantile(1 - confidence, df, shift);
  double end = fit->mu - t * fit->sigma / sqrt(df);
  return fit->family == BE_FAMILY_NORMAL ? end : exp(end);
}

double be_fit_lower(const struct be_fit *fit, const struct be_held *held, size_t n, double above,
                    double confidence)
{
  assert(above > 0 && above < 1 && confidence > 0 && confidence < 1);
  if (!fit->converged) return NAN;
  if (fit->family == BE_FAMILY_WEIBULL) {
    struct be_view view = {.family = fit->family, .held = held, .n = n};
    struct pivot pivot = {.wanted = BE_WANTED_QUANTILE, .q = log(-log(above))};
    begin(&pivot, &view, fit);
    return load_end(&pivot, fit, 1 - confidence);
  }
  if (is_complete(held, n)) return lower_normal(fit, above, confidence);
  return be_profile_end(fit, held, n, BE_WANTED_QUANTILE, 1 - above,
                        -be_normal_quantile(1 - confidence));
}
