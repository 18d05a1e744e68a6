/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/sample/sample.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum { DIXON_MIN = 3, DIXON_MAX = 30 };

/* ---- the distribution of Dixon's ratios ---- */

/* R = (x_n - x_(n-near)) / (x_n - x_far), near 1 or 2, far 1 to 3, for n normal pulls in
 * order. Of the joint density of x_far = z - t and x_n = z, and of the m = n - 1 - far
 * pulls between them, which are independent and alike, is left (McBane, J. Stat. Softw.
 * 16(3), 2006, does all three orders by quadrature):
 *
 *   P(R > r) = n! / ((far - 1)! m!) int int phi(z) phi(z - t) Phi(z - t)^(far - 1) M dt dz
 *   M = E^m (near 1), E^m + m E^(m-1) (D - E) (near 2)
 *   D = Phi(z) - Phi(z - t),  E = Phi(z - r t) - Phi(z - t).
 *
 * Both integrals by the trapezoidal rule, which converges geometrically for what is
 * smooth and falls to 0 at both ends; t = log(1 + e^s) does that for t > 0. */
static const double STEP = 0.25;                    /* halving it changes no result by 1e-10 */
static const double NORMAL_MOST = 7.5, S_MOST = 14; /* beyond lies less than 1e-12 */
/* Both integrands fall to e^-NOTHING: as t^(m + 1) for small t, and Phi(z)^n below. */
static const double NOTHING = 36;

struct dixon {
  size_t n;
  unsigned near, far;
  double upper;
};

static double power_of(double x, size_t power)
{
  double value = 1;
  for (; power > 0; power /= 2, x *= x)
    if (power % 2) value *= x;
  return value;
}

static double between_top(double z, double r, const struct dixon *dixon)
{
  size_t m = dixon->n - 1 - dixon->far;
  double above = be_normal_upper(z), sum = 0;
  double least = -ceil(NOTHING / (double)(m + 1) / STEP) * STEP;
  for (double s = least; s <= S_MOST; s += STEP) {
    double grown = exp(s), t = log1p(grown), x = z - t;
    if (x < -NORMAL_MOST) break;
    double q = be_normal_upper(x);
    double e = q - be_normal_upper(z - r * t);
    double mass = power_of(e, m);
    if (dixon->near == 2) mass += (double)m * power_of(e, m - 1) * (q - above - e);
    sum += mass * power_of(1 - q, dixon->far - 1) * exp(-x * x / 2) * grown / (1 + grown);
  }
  return sum * exp(-z * z / 2);
}

static double dixon_upper(double r, const struct dixon *dixon)
{
  double sum = 0, ways = 1;
  /* Phi(-a) is below exp(-a^2 / 2). */
  double least = -ceil(sqrt(2 * NOTHING / (double)dixon->n) / STEP) * STEP;
  for (double z = least; z <= NORMAL_MOST; z += STEP) sum += between_top(z, r, dixon);
  for (size_t i = dixon->n - dixon->far; i <= dixon->n; i++) ways *= (double)i;
  for (unsigned i = 2; i < dixon->far; i++) ways /= i;
  return ways * sum * STEP * STEP / (2 * acos(-1.0));
}

static double dixon_over(double r, const void *dixon_)
{
  const struct dixon *dixon = dixon_;
  return dixon_upper(r, dixon) - dixon->upper;
}

double be_dixon_upper(double r, size_t n, unsigned near, unsigned far)
{
  assert(n <= DIXON_MAX && near >= 1 && near <= 2 && far >= 1 && far <= 3 && n > near + far);
  const struct dixon dixon = {n, near, far, 0};
  return dixon_upper(r, &dixon);
}

double be_dixon_critical(size_t n, unsigned near, unsigned far, double upper)
{
  assert(n <= DIXON_MAX && near >= 1 && near <= 2 && far >= 1 && far <= 3 && n > near + far);
  const struct dixon dixon = {n, near, far, upper};
  return be_root(dixon_over, &dixon, 0, 1);
}

/* ---- Dixon's test ---- */

enum { ENDS = 3 };

/* The three lowest and the three highest pulls by index, from the end inward. */
static void find_ends(const double *x, size_t n, size_t low[ENDS], size_t high[ENDS])
{
  for (size_t rank = 0; rank < ENDS; rank++) {
    low[rank] = high[rank] = n;
    for (size_t i = 0; i < n; i++) {
      bool in_low = false, in_high = false;
      for (size_t k = 0; k < rank; k++) {
        in_low = in_low || low[k] == i;
        in_high = in_high || high[k] == i;
      }
      if (!in_low && (low[rank] == n || x[i] < x[low[rank]])) low[rank] = i;
      if (!in_high && (high[rank] == n || x[i] > x[high[rank]])) high[rank] = i;
    }
  }
}

/* The greater of the ratios at both ends against the upper alpha / 2 point of one: both
 * at once are so rare that nothing is lost. */
void be_dixon(const double *x, size_t n, double alpha, struct be_alarm *alarm)
{
  assert(alpha > 0 && alpha < 1);
  *alarm = (struct be_alarm){false, 0, NAN, NAN};
  if (n < DIXON_MIN || n > DIXON_MAX) return;
  unsigned near = n <= 10 ? 1 : 2, far = n <= 7 ? 1 : n <= 13 ? 2 : 3;
  size_t low[ENDS], high[ENDS];
  find_ends(x, n, low, high);
  double top = (x[high[0]] - x[high[near]]) / (x[high[0]] - x[low[far - 1]]);
  double bottom = (x[low[near]] - x[low[0]]) / (x[high[far - 1]] - x[low[0]]);
  alarm->critical = be_dixon_critical(n, near, far, alpha / 2);
  /* All alike but a few: a ratio of 0 to 0 says nothing. */
  if (isnan(top) && isnan(bottom)) return;
  alarm->statistic = fmax(top, bottom);
  alarm->index = top >= bottom || isnan(bottom) ? high[0] : low[0];
  alarm->raised = alarm->statistic > alarm->critical;
}

/* ---- generalized ESD ---- */

/* Where this value stands in x, past those that were taken before. */
static size_t find_untaken(const double *x, size_t n, double value, const struct be_alarm *taken,
                           size_t count)
{
  for (size_t i = 0; i < n; i++) {
    bool free = x[i] == value;
    for (size_t k = 0; k < count; k++) free = free && taken[k].index != i;
    if (free) return i;
  }
  return n;
}

/* Rosner's lambda_i is Grubbs' critical value for the n - i + 1 pulls that are left, so
 * each step is Grubbs' test; the outliers are all up to the last that exceeds it. */
void be_esd(const double *x, size_t n, size_t most, double alpha, double *scratch,
            struct be_alarm *alarms, size_t *raised)
{
  size_t left = n;
  *raised = 0;
  if (n > 0) memcpy(scratch, x, n * sizeof *x);
  for (size_t i = 0; i < most; i++) {
    be_grubbs(scratch, left, alpha, &alarms[i]);
    if (alarms[i].raised) *raised = i + 1;
    if (left == 0) continue;
    size_t taken = alarms[i].index;
    alarms[i].index = find_untaken(x, n, scratch[taken], alarms, i);
    left--;
    memmove(scratch + taken, scratch + taken + 1, (left - taken) * sizeof *scratch);
  }
  for (size_t i = 0; i < most; i++) alarms[i].raised = i < *raised;
}
