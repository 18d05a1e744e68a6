/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/sample/sample.h"

#include <assert.h>
#include <math.h>

/* ---- Anderson and Darling ---- */

struct tails {
  double below, above; /* logarithms of P(X < x) and P(X > x) */
};

static struct tails tails_at(double x, enum be_family family, double location, double scale)
{
  double z = ((family == BE_FAMILY_NORMAL ? x : log(x)) - location) / scale;
  if (family != BE_FAMILY_WEIBULL)
    return (struct tails){be_normal_log_upper(-z), be_normal_log_upper(z)};
  double hazard = exp(z);
  double below = hazard < 0.7 ? log(-expm1(-hazard)) : log1p(-exp(-hazard));
  return (struct tails){below, -hazard};
}

/* CMH-17-1G: the significance from A* with parameters estimated, a logistic
 * curve in A* and its logarithm. For three pulls the normal's factor falls below 0. */
static double significance_of(double a2, double n, enum be_family family)
{
  if (family == BE_FAMILY_WEIBULL) {
    double adjusted = (1 + 0.2 / sqrt(n)) * a2;
    return 1 / (1 + exp(-0.10 + 1.24 * log(adjusted) + 4.48 * adjusted));
  }
  double adjusted = (1 + 4 / n - 25 / (n * n)) * a2;
  return adjusted > 0 ? 1 / (1 + exp(-0.48 + 0.78 * log(adjusted) + 4.58 * adjusted)) : NAN;
}

/* A^2 = -n - sum (2i - 1) / n (log F(x_i) + log(1 - F(x_(n+1-i)))) (Anderson and Darling,
 * J. Am. Stat. Assoc. 49, 1954), from logarithms of both tails, so that a pull far out
 * does not make it infinite. */
void be_anderson_darling(const double *sorted, size_t n, enum be_family family, double location,
                         double scale, struct be_fitness *fit)
{
  *fit = (struct be_fitness){NAN, NAN};
  if (n < 3 || !(scale > 0) || !isfinite(location)) return;
  if (family != BE_FAMILY_NORMAL && !(sorted[0] > 0)) return;
  double size = (double)n, sum = 0;
  for (size_t i = 0; i < n; i++) {
    double below = tails_at(sorted[i], family, location, scale).below;
    double above = tails_at(sorted[n - 1 - i], family, location, scale).above;
    sum += (2 * (double)i + 1) / size * (below + above);
  }
  fit->statistic = -size - sum;
  fit->significance = significance_of(fit->statistic, size, family);
}

/* ---- Shapiro and Wilk ---- */

static double polynomial(const double *c, int terms, double x)
{
  double value = c[terms - 1];
  for (int i = terms - 2; i >= 0; i--) value = value * x + c[i];
  return value;
}

/* Blom's score of the i-th highest of n, i from 0. */
static double blom_score(size_t i, size_t n)
{
  return be_normal_quantile(((double)i + 0.625) / ((double)n + 0.25));
}

/* Weights of the pulls at both ends by polynomials in 1 / sqrt(n), of the rest Blom's
 * scores over `divisor`. */
struct weights {
  size_t n;
  double last, next; /* next is used for n > 5 */
  double divisor;
};

/* Royston 1995, after Stat. Comput. 2 (1992), equations for a_n and a_(n-1). */
static struct weights weights_of(size_t n)
{
  static const double last[] = {0, 0.221157, -0.147981, -2.071190, 4.434685, -2.706056};
  static const double next[] = {0, 0.042981, -0.293762, -1.752461, 5.682633, -3.582633};
  if (n == 3) return (struct weights){n, sqrt(0.5), 0, 1};
  double squares = 0, root = 1 / sqrt((double)n);
  for (size_t i = 0; i < n; i++) squares += blom_score(i, n) * blom_score(i, n);
  double m0 = blom_score(0, n), m1 = blom_score(1, n), length = sqrt(squares);
  struct weights weights = {n, polynomial(last, 6, root) + m0 / length, 0, 1};
  double rest = squares - 2 * m0 * m0, free = 1 - 2 * weights.last * weights.last;
  if (n > 5) {
    weights.next = polynomial(next, 6, root) + m1 / length;
    rest -= 2 * m1 * m1;
    free -= 2 * weights.next * weights.next;
  }
  weights.divisor = sqrt(rest / free);
  return weights;
}

static double weight_at(const struct weights *weights, size_t i)
{
  if (i == 0) return weights->last;
  if (i == 1 && weights->n > 5) return weights->next;
  return blom_score(i, weights->n) / weights->divisor;
}

/* How far W is out: for 3 pulls exactly; else log(1 - W), for 11 or fewer once more
 * transformed, is near to normal with mean and deviation by polynomials. */
static double w_significance(double w, double n)
{
  static const double mean_few[] = {0.5440, -0.39978, 0.025054, -0.0006714};
  static const double sd_few[] = {1.3822, -0.77857, 0.062767, -0.0020322};
  static const double mean_many[] = {-1.5861, -0.31082, -0.083751, 0.0038915};
  static const double sd_many[] = {-0.4803, -0.082676, 0.0030302};
  if (n == 3) return fmax(0, 6 / acos(-1.0) * (asin(sqrt(fmin(w, 1))) - asin(sqrt(0.75))));
  if (w >= 1) return 1;
  double y = log1p(-w), logn = log(n);
  if (n > 11)
    return be_normal_upper((y - polynomial(mean_many, 4, logn)) /
                           exp(polynomial(sd_many, 3, logn)));
  double most = -2.273 + 0.459 * n;
  if (y >= most) return 0;
  return be_normal_upper((-log(most - y) - polynomial(mean_few, 4, n)) /
                         exp(polynomial(sd_few, 4, n)));
}

/* W is the squared correlation of pulls and weights, whose squares sum to 1. */
void be_shapiro_wilk(const double *sorted, size_t n, struct be_fitness *fit)
{
  *fit = (struct be_fitness){NAN, NAN};
  if (n < 3 || n > 5000 || !(sorted[n - 1] > sorted[0])) return;
  struct be_summary summary;
  be_summary_of(sorted, n, &summary);
  struct weights weights = weights_of(n);
  double sum = 0, squares = 0, length = 0;
  for (size_t i = 0; i < n / 2; i++) {
    double weight = weight_at(&weights, i);
    sum += weight * (sorted[n - 1 - i] - sorted[i]);
    length += 2 * weight * weight;
  }
  for (size_t i = 0; i < n; i++) squares += (sorted[i] - summary.mean) * (sorted[i] - summary.mean);
  fit->statistic = sum * sum / (squares * length);
  fit->significance = w_significance(fit->statistic, (double)n);
}

/* ---- probability plot ---- */

double be_plot_axis(double share, enum be_family family)
{
  return family == BE_FAMILY_WEIBULL ? log(-log1p(-share)) : -be_normal_quantile(share);
}

double be_plot_position(size_t i, size_t n, enum be_family family)
{
  assert(i >= 1 && i <= n);
  return be_plot_axis(((double)i - 0.3) / ((double)n + 0.4), family);
}
