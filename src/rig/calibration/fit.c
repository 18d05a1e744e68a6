/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Least squares by orthogonal polynomials in x = load / scale (Forsythe, J. Soc. Indust.
 * Appl. Math. 5 (1957) 74): no matrix to invert, and the leverage of a load is a sum of
 * squares. With g = 1, or g = x through zero,
 *
 *   q0 = g,  q1 = (x - at1) q0,  q2 = (x - at2) q1 - back2 q0
 *   at_k = sum x q_(k-1)^2 / sum q_(k-1)^2,  back_2 = sum q1^2 / sum q0^2
 *   reading = sum term_k q_k,  term_k = sum q_k y / sum q_k^2
 *   leverage(x) = sum q_k(x)^2 / sum_k
 *
 * The terms are found twice, the second time from the residuals, which takes off what
 * rounding left. */
#include "rig/calibration/inside.h"

#include <math.h>
#include <string.h>

static size_t terms_of(enum be_calibration_curve curve)
{
  return curve == BE_CURVE_BENT ? 3 : curve == BE_CURVE_STRAIGHT ? 2 : 1;
}

static void basis(const struct be_calibration_fit *fit, double load_N, double q[BE_CURVE_TERMS])
{
  double x = load_N / fit->scale;
  q[0] = fit->curve == BE_CURVE_THROUGH_ZERO ? x : 1;
  q[1] = (x - fit->at[1]) * q[0];
  q[2] = (x - fit->at[2]) * q[1] - fit->back[2] * q[0];
}

double be_calibration_reading(const struct be_calibration_fit *fit, double load_N)
{
  double q[BE_CURVE_TERMS], sum = 0;
  basis(fit, load_N, q);
  for (size_t k = 0; k < terms_of(fit->curve); k++) sum += fit->term[k] * q[k];
  return sum;
}

double be_calibration_residual(const struct be_calibration_fit *fit,
                               const struct be_calibration_point *point)
{
  return point->reading - be_calibration_reading(fit, point->load_N);
}

static void make_basis(const struct be_calibration_point *points, size_t n,
                       struct be_calibration_fit *fit)
{
  for (size_t k = 0; k < terms_of(fit->curve); k++) {
    double weighted = 0, q[BE_CURVE_TERMS];
    fit->sum[k] = 0;
    for (size_t i = 0; i < n; i++) {
      basis(fit, points[i].load_N, q);
      fit->sum[k] += q[k] * q[k];
      weighted += points[i].load_N / fit->scale * q[k] * q[k];
    }
    if (k + 1 < BE_CURVE_TERMS) fit->at[k + 1] = weighted / fit->sum[k];
    if (k == 1) fit->back[2] = fit->sum[1] / fit->sum[0];
  }
}

static double add_terms(const struct be_calibration_point *points, size_t n,
                        struct be_calibration_fit *fit)
{
  double more[BE_CURVE_TERMS] = {0}, squares = 0, q[BE_CURVE_TERMS];
  for (size_t i = 0; i < n; i++) {
    double residual = be_calibration_residual(fit, &points[i]);
    basis(fit, points[i].load_N, q);
    squares += residual * residual;
    for (size_t k = 0; k < terms_of(fit->curve); k++) more[k] += q[k] * residual;
  }
  for (size_t k = 0; k < terms_of(fit->curve); k++) fit->term[k] += more[k] / fit->sum[k];
  return squares;
}

/* The terms multiplied out. */
static void make_powers(struct be_calibration_fit *fit)
{
  const double *t = fit->term, s = fit->scale;
  memset(fit->power, 0, sizeof fit->power);
  switch (fit->curve) {
  case BE_CURVE_THROUGH_ZERO: fit->power[1] = t[0] / s; return;
  case BE_CURVE_STRAIGHT:
    fit->power[0] = t[0] - t[1] * fit->at[1];
    fit->power[1] = t[1] / s;
    return;
  case BE_CURVE_BENT: break;
  }
  fit->power[0] = t[0] - t[1] * fit->at[1] + t[2] * (fit->at[2] * fit->at[1] - fit->back[2]);
  fit->power[1] = (t[1] - t[2] * (fit->at[1] + fit->at[2])) / s;
  fit->power[2] = t[2] / s / s;
}

double be_calibration_slope(const struct be_calibration_fit *fit, double load_N)
{
  return fit->power[1] + 2 * fit->power[2] * load_N;
}

static enum be_status look_at_points(const struct be_calibration_point *points, size_t n,
                                     struct be_calibration_fit *fit, struct be_err *err)
{
  fit->least_N = INFINITY;
  fit->most_N = -INFINITY;
  for (size_t i = 0; i < n; i++) {
    bool seen = false;
    if (!isfinite(points[i].load_N) || !isfinite(points[i].reading))
      return be_fail(err, BE_BAD_INPUT, "point %zu of the calibration is no number", i + 1);
    for (size_t k = 0; k < i && !seen; k++)
      seen = points[k].load_N >= points[i].load_N && points[k].load_N <= points[i].load_N;
    fit->loads += !seen && (fit->curve != BE_CURVE_THROUGH_ZERO || fabs(points[i].load_N) > 0);
    if (points[i].load_N < fit->least_N) fit->least_N = points[i].load_N;
    if (points[i].load_N > fit->most_N) fit->most_N = points[i].load_N;
  }
  fit->scale = fmax(fabs(fit->least_N), fabs(fit->most_N));
  if (n && fit->loads >= terms_of(fit->curve)) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "%zu different loads cannot give this curve; it needs %zu", fit->loads,
          terms_of(fit->curve));
  be_fail_remedy(err, "add points at other loads, or choose a simpler curve");
  return BE_BAD_INPUT;
}

enum be_status be_calibration_fit_points(const struct be_calibration_point *points, size_t n,
                                         enum be_calibration_curve curve,
                                         struct be_calibration_fit *fit, struct be_err *err)
{
  *fit = (struct be_calibration_fit){.curve = curve, .n = n, .residual_sd = NAN};
  enum be_status status = look_at_points(points, n, fit, err);
  if (status != BE_OK) return status;
  make_basis(points, n, fit);
  add_terms(points, n, fit);
  add_terms(points, n, fit);
  double squares = add_terms(points, n, fit);
  fit->df = n - terms_of(curve);
  if (fit->df) fit->residual_sd = sqrt(squares / (double)fit->df);
  make_powers(fit);
  double first = be_calibration_slope(fit, fit->least_N),
         last = be_calibration_slope(fit, fit->most_N);
  if ((first > 0 && last > 0) || (first < 0 && last < 0)) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "the readings do not rise with the load, so no force can be told");
  be_fail_remedy(err, "look for points that were mixed up, or choose a straight curve");
  return BE_BAD_INPUT;
}

double be_calibration_load(const struct be_calibration_fit *fit, double reading)
{
  const double *p = fit->power;
  double c = p[0] - reading;
  if (fit->curve != BE_CURVE_BENT || !(fabs(p[2]) > 0)) return -c / p[1];
  /* The root on the branch of the loads applied, in the form that loses no digits. */
  double root = p[1] * p[1] - 4 * p[2] * c;
  double rising = be_calibration_slope(fit, fit->most_N) > 0 ? 1 : -1;
  if (!(root >= 0)) return NAN;
  double other = p[1] + rising * sqrt(root);
  /* Where the two cancel, the plain form does not. */
  if (p[1] * rising > 0) return -2 * c / other;
  return (rising * sqrt(root) - p[1]) / (2 * p[2]);
}

double be_calibration_leverage(const struct be_calibration_fit *fit, double load_N)
{
  double q[BE_CURVE_TERMS], sum = 0;
  basis(fit, load_N, q);
  for (size_t k = 0; k < terms_of(fit->curve); k++) sum += q[k] * q[k] / fit->sum[k];
  return sum;
}
