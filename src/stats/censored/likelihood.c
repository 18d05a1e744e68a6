/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The likelihood of censored pulls of a log-location-scale family.
 *
 * With z = (y - mu) / sigma an event of a chain of w links adds
 *   log w + log f(z) - log sigma + (w - 1) log S(z)      (less log load when y is its log)
 * and a bound adds w log S(z) (Lawless, Statistical Models and Methods for Lifetime Data,
 * 1982, section 1.4, for w = 1; the least of w alike loads has survival S^w). In a = 1 / sigma
 * and c = mu / sigma every z is linear, and each term is concave in z for these three
 * families, also with links (those below 1 too: z^2 / 2 outweighs them); so the whole is
 * concave, has one maximum, and Newton's steps with halving find it from anywhere
 * (Burridge, J. R. Stat. Soc. B 43, 1981, for w = 1). */
#include "stats/censored/inside.h"
#include "stats/number/number.h"

#include <assert.h>
#include <gsl/gsl_sf_gamma.h>
#include <math.h>

static const double half_log_2pi = 0.91893853320467274178;

double be_log_gamma_1p(double s)
{
  if (isnan(s) || s > 1e100) return s;
  return gsl_sf_lngamma(1 + s);
}

/* ---- pulls as a fit sees them ---- */

static double position(enum be_family family, double load)
{
  return family == BE_FAMILY_NORMAL ? load : log(load);
}

bool be_view_takes(const struct be_view *view, size_t i)
{
  return view->only == 0 || view->held[i].links == view->only;
}

double be_view_y(const struct be_view *view, size_t i)
{
  return position(view->family, view->held[i].load) - view->top;
}

double be_view_links(const struct be_view *view, size_t i)
{
  return view->only > 0 || view->lengths ? 1 : view->held[i].links;
}

void be_view_look(struct be_view *view)
{
  double sum = 0, event_sum = 0, squares = 0;
  view->taken = view->events = 0;
  view->low = INFINITY;
  view->top = view->high = -INFINITY;
  for (size_t i = 0; i < view->n; i++) {
    if (!be_view_takes(view, i)) continue;
    assert(view->held[i].links > 0 && isfinite(view->held[i].load));
    assert(view->held[i].load > 0 || view->family == BE_FAMILY_NORMAL);
    view->top = fmax(view->top, view->held[i].load);
  }
  view->top = view->top > -INFINITY ? position(view->family, view->top) : 0;
  for (size_t i = 0; i < view->n; i++) {
    if (!be_view_takes(view, i)) continue;
    double y = be_view_y(view, i);
    view->taken++;
    sum += y;
    if (view->held[i].bound) continue;
    view->events++;
    event_sum += y;
    view->low = fmin(view->low, y);
    view->high = fmax(view->high, y);
  }
  view->mean = sum / (double)view->taken;
  view->event_mean = event_sum / (double)view->events;
  for (size_t i = 0; i < view->n; i++)
    if (be_view_takes(view, i)) {
      double d = be_view_y(view, i) - view->mean;
      squares += d * d;
    }
  view->deviation = sqrt(squares / (double)view->taken);
}

/* One event below a bound has a maximum too, but nothing tells its scatter from chance. */
const char *be_view_lacks(const struct be_view *view)
{
  if (view->events == 0) return "no events, only lower bounds";
  if (view->events == 1) return "only one event";
  if (!(view->low < view->high)) return "fewer than 2 different events";
  return NULL;
}

/* ---- what a pull adds ---- */

/* exp(z) is held below where sums of it would be infinite and turn into not-a-number
 * against others; steps that go there are taken back. */
static struct be_term weibull_term(bool bound, double links, double z)
{
  double hazard = links * exp(fmin(z, 600)), event = bound ? 0 : 1;
  return (struct be_term){event * z - hazard, event - hazard, -hazard};
}

/* h - z of the hazard h = phi / S: far out by its series (Abramowitz and Stegun 26.2.12),
 * for the difference of two logs that grow as z^2 loses digits. At 100 both are good to 1e-12
 * of h. */
static double hazard_excess(double z, double log_density, double log_tail)
{
  if (z < 100) return exp(log_density - log_tail) - z;
  double y = 1 / (z * z);
  return (1 - y * (2 - 10 * y)) / z;
}

/* (log S)' = -h and (log S)'' = -h (h - z). */
static struct be_term normal_term(bool bound, double links, double z)
{
  double log_density = -0.5 * z * z - half_log_2pi;
  double tails = bound ? links : links - 1;
  struct be_term term = {0, 0, 0};
  if (!bound) term = (struct be_term){log_density, -z, -1};
  if (tails == 0) return term;
  double log_tail = be_normal_log_upper(z);
  double excess = hazard_excess(z, log_density, log_tail), h = z + excess;
  term.value += tails * log_tail;
  term.first -= tails * h;
  term.second -= tails * h * excess;
  return term;
}

struct be_term be_term_of(enum be_family family, bool bound, double links, double z)
{
  return family == BE_FAMILY_WEIBULL ? weibull_term(bound, links, z) : normal_term(bound, links, z);
}

/* ---- sums and steps ---- */

struct sums {
  double value;
  double gradient[BE_LINE_MAX];
  double curvature[BE_LINE_MAX][BE_LINE_MAX]; /* of minus the log-likelihood */
};

static void slopes_of(const struct be_view *view, size_t i, double *slope)
{
  slope[0] = be_view_y(view, i);
  slope[1] = -1;
  slope[2] = view->lengths ? -log(view->held[i].links) : 0;
}

/* Without the constants. */
static void add_up(const struct be_view *view, const struct be_line *line, size_t count,
                   struct sums *sums)
{
  const double a = line->at[0], events = (double)view->events;
  *sums = (struct sums){.value = events * log(a)};
  sums->gradient[0] = events / a;
  sums->curvature[0][0] = events / (a * a);
  for (size_t i = 0; i < view->n; i++) {
    if (!be_view_takes(view, i)) continue;
    double slope[BE_LINE_MAX], z = 0;
    slopes_of(view, i, slope);
    for (size_t j = 0; j < count; j++) z += slope[j] * line->at[j];
    struct be_term term = be_term_of(view->family, view->held[i].bound, be_view_links(view, i), z);
    sums->value += term.value;
    for (size_t j = 0; j < count; j++) {
      sums->gradient[j] += term.first * slope[j];
      for (size_t k = 0; k <= j; k++) sums->curvature[j][k] -= term.second * slope[j] * slope[k];
    }
  }
}

double be_line_log_likelihood(const struct be_view *view, const struct be_line *line)
{
  struct sums sums;
  double constants = 0;
  add_up(view, line, BE_LINE_MAX, &sums);
  for (size_t i = 0; i < view->n; i++) {
    if (!be_view_takes(view, i) || view->held[i].bound) continue;
    if (view->family != BE_FAMILY_NORMAL) constants -= log(view->held[i].load);
    constants += log(be_view_links(view, i));
  }
  return sums.value + constants;
}

/* Cholesky factor in the lower half, in place; false when not positive. */
static bool factor(double m[BE_LINE_MAX][BE_LINE_MAX], size_t count)
{
  for (size_t j = 0; j < count; j++)
    for (size_t i = j; i < count; i++) {
      double sum = m[i][j];
      for (size_t k = 0; k < j; k++) sum -= m[i][k] * m[j][k];
      if (i == j && !(sum > 0 && isfinite(sum))) return false;
      m[i][j] = i == j ? sqrt(sum) : sum / m[j][j];
    }
  return true;
}

static void solve(double m[BE_LINE_MAX][BE_LINE_MAX], size_t count, double *x)
{
  for (size_t i = 0; i < count; i++) {
    for (size_t k = 0; k < i; k++) x[i] -= m[i][k] * x[k];
    x[i] /= m[i][i];
  }
  for (size_t i = count; i-- > 0;) {
    for (size_t k = i + 1; k < count; k++) x[i] -= m[k][i] * x[k];
    x[i] /= m[i][i];
  }
}

/* Halves the step until it gains at least a little of what its slope promises. */
static bool take_step(const struct be_view *view, struct be_line *line, size_t count,
                      const double *step, double gain, struct sums *sums)
{
  const double before = sums->value;
  double share = 1;
  for (int halvings = 0; halvings < 60; halvings++, share /= 2) {
    struct be_line next = *line;
    for (size_t j = 0; j < count; j++) next.at[j] += share * step[j];
    if (!(next.at[0] > 0)) continue;
    add_up(view, &next, count, sums);
    /* Below 1e-8 the gain drowns in rounding, and so near the steps need no guard. */
    if (sums->value >= before + 1e-4 * share * gain || (gain < 1e-8 && share == 1)) {
      *line = next;
      return true;
    }
  }
  return false;
}

bool be_line_climb(const struct be_view *view, struct be_line *line, size_t count,
                   double *covariance, int *steps)
{
  struct sums sums;
  add_up(view, line, count, &sums);
  for (*steps = 0; *steps < 100; ++*steps) {
    double step[BE_LINE_MAX], gain = 0;
    if (!factor(sums.curvature, count)) return false;
    for (size_t j = 0; j < count; j++) step[j] = sums.gradient[j];
    solve(sums.curvature, count, step);
    for (size_t j = 0; j < count; j++) gain += step[j] * sums.gradient[j];
    /* The step is sqrt(gain) standard errors long: 1e-11 of one is beyond any use. */
    if (gain <= 1e-22) break;
    if (!take_step(view, line, count, step, gain, &sums)) return false;
  }
  if (*steps == 100) return false;
  for (size_t j = 0; j < count; j++) {
    double column[BE_LINE_MAX] = {0};
    column[j] = 1;
    solve(sums.curvature, count, column);
    for (size_t k = 0; k < count; k++) covariance[j * count + k] = column[k];
  }
  return true;
}
