/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Newton's steps over theta with sigma profiled out, and whether the deviance is flat where they
 * end: convergence is what slope and curvature say, not what a search says of itself. */
#include "stats/mixed/inside.h"

#include <math.h>
#include <string.h>

enum { M = BE_MIXED_THETA_MAX, STEPS_MOST = 30, HALVINGS_MOST = 12, CURVATURES_MOST = 3 };

/* Where the criterion could fall by no more than `flat`, one step more gives all digits that
 * there are; a fit counts as converged where it could fall by no more than `enough`. */
static const double flat = 1e-11, enough = 1e-7;
/* A parameter with less than this share of its own curvature cannot be told from others. */
static const double own_share = 1e-8;
/* Less than none of it by more than this is no error of differences. */
static const double below_none = 1e-4;

bool be_search_solve(const double *c, size_t stride, size_t count, bool *frozen, const double *g,
                     double *x)
{
  double l[(M + 1) * (M + 1)];
  bool positive = true;
  for (size_t j = 0; j < count; j++) {
    double own = c[j * stride + j];
    x[j] = 0;
    for (size_t k = 0; k < j && !frozen[j]; k++) {
      if (frozen[k]) continue;
      double sum = c[j * stride + k];
      for (size_t i = 0; i < k; i++)
        if (!frozen[i]) sum -= l[j * (M + 1) + i] * l[k * (M + 1) + i];
      l[j * (M + 1) + k] = sum / l[k * (M + 1) + k];
      own -= l[j * (M + 1) + k] * l[j * (M + 1) + k];
    }
    if (frozen[j]) continue;
    if (own < -below_none * fabs(c[j * stride + j]) || isnan(own)) positive = false;
    if (!(own > own_share * fabs(c[j * stride + j]))) {
      frozen[j] = true;
      continue;
    }
    l[j * (M + 1) + j] = sqrt(own);
    x[j] = g[j];
    for (size_t i = 0; i < j; i++)
      if (!frozen[i]) x[j] -= l[j * (M + 1) + i] * x[i];
    x[j] /= l[j * (M + 1) + j];
  }
  for (size_t j = count; j-- > 0;) {
    if (frozen[j]) continue;
    for (size_t i = j + 1; i < count; i++)
      if (!frozen[i]) x[j] -= l[i * (M + 1) + j] * x[i];
    x[j] /= l[j * (M + 1) + j];
  }
  return positive;
}

/* Over theta alone, sigma profiled out. */
static void profile_curvature(const struct be_profile *profile, const double *full, double *c)
{
  size_t m = profile->parameters, stride = m + 1;
  for (size_t i = 0; i < m; i++)
    for (size_t j = 0; j < m; j++)
      c[i * stride + j] =
          full[i * stride + j] - full[i * stride + m] * full[m * stride + j] / full[m * stride + m];
}

/* One step, halved until the criterion does not rise by more than rounding. */
static bool advance(struct be_profile *profile, struct be_search *search, const double *step)
{
  double share = 1, hair = 1e-12 * fabs(search->point.criterion);
  for (int halving = 0; halving < HALVINGS_MOST; halving++, share /= 2) {
    double theta[M];
    struct be_point point;
    for (size_t i = 0; i < profile->parameters; i++) theta[i] = search->theta[i] - share * step[i];
    if (!be_profile_slope(profile, theta, &point)) continue;
    if (point.criterion > search->point.criterion + hair) continue;
    memcpy(search->theta, theta, profile->parameters * sizeof *theta);
    search->point = point;
    return true;
  }
  return false;
}

/* Slope, and what a step by the curvature would still gain. */
static bool look(struct be_profile *profile, struct be_search *search, double *step)
{
  double slope[M];
  size_t m = profile->parameters;
  search->gradient = search->decrement = 0;
  for (size_t i = 0; i < m; i++) slope[i] = be_point_slope(profile, &search->point, i);
  bool positive = be_search_solve(search->curvature, m + 1, m, search->frozen, slope, step);
  for (size_t i = 0; i < m; i++) {
    if (!be_profile_zero(profile, search->theta, i))
      search->gradient = fmax(search->gradient, fabs(slope[i]));
    search->decrement += slope[i] * step[i] / 2;
  }
  return positive;
}

/* The deviance is even in a diagonal alone in its column, so at 0 its slope says nothing: what
 * a little of it does has to be tried. */
static bool zeros_hold(struct be_profile *profile, const struct be_search *search)
{
  double theta[M];
  struct be_point point;
  memcpy(theta, search->theta, profile->parameters * sizeof *theta);
  for (size_t i = 0; i < profile->parameters; i++) {
    if (!be_profile_zero(profile, theta, i)) continue;
    theta[i] = 0.02;
    bool fine = !be_profile_at(profile, theta, &point) ||
                point.criterion >= search->point.criterion - enough;
    theta[i] = 0;
    if (!fine) return false;
  }
  return true;
}

static void freeze_zeros(const struct be_profile *profile, struct be_search *search)
{
  for (size_t i = 0; i < profile->parameters; i++)
    search->frozen[i] = be_profile_zero(profile, search->theta, i);
}

/* What the slopes on both ends of a step say of the curvature (Broyden, Fletcher, Goldfarb and
 * Shanno; Nocedal and Wright 2006, (6.19)): steps then gain as fast as with fresh curvatures. */
static void learn(const struct be_profile *profile, struct be_search *search, const double *theta,
                  const double *slope)
{
  size_t m = profile->parameters, stride = m + 1;
  double moved[M], turned[M], bent[M], along = 0, own = 0;
  for (size_t i = 0; i < m; i++) {
    moved[i] = search->frozen[i] ? 0 : search->theta[i] - theta[i];
    turned[i] = search->frozen[i] ? 0 : be_point_slope(profile, &search->point, i) - slope[i];
  }
  for (size_t i = 0; i < m; i++) {
    bent[i] = 0;
    for (size_t j = 0; j < m; j++) bent[i] += search->curvature[i * stride + j] * moved[j];
    if (search->frozen[i]) bent[i] = 0;
    along += turned[i] * moved[i];
    own += bent[i] * moved[i];
  }
  if (!(along > 0.1 * own) || !(own > 0)) return;
  for (size_t i = 0; i < m; i++)
    for (size_t j = 0; j < m; j++)
      search->curvature[i * stride + j] += turned[i] * turned[j] / along - bent[i] * bent[j] / own;
}

static bool curve_anew(struct be_profile *profile, struct be_search *search)
{
  double full[BE_CURVATURE_MAX];
  if (!be_profile_curvature(profile, search->theta, &search->point, NULL, full)) return false;
  profile_curvature(profile, full, search->curvature);
  freeze_zeros(profile, search);
  return true;
}

static void judge(struct be_profile *profile, struct be_search *search)
{
  for (size_t i = 0; i < profile->parameters; i++)
    if (fabs(search->theta[i]) > 5e4) search->why = "nothing is left over beside a random term";
  if (!search->why && search->decrement > enough)
    search->why = "the deviance still falls where the search ended";
  if (!search->why && !zeros_hold(profile, search))
    search->why = "a deviation put at zero would fit better above it";
}

void be_search_settle(struct be_profile *profile, struct be_search *search, bool anew)
{
  double step[M], slope[M], theta[M], last = HUGE_VAL;
  size_t m = profile->parameters;
  int curvatures = 0;
  bool last_step = false;
  search->why = "nothing is left over beside the fixed columns and the random terms";
  if (!be_profile_slope(profile, search->theta, &search->point)) return;
  for (int steps = 0; steps < STEPS_MOST; steps++) {
    if (anew && !curve_anew(profile, search)) return;
    curvatures += anew;
    bool positive = look(profile, search, step);
    search->indefinite = !positive;
    search->why = positive ? NULL : "the deviance has no least value near where the search ended";
    if (!positive || last_step || m == 0) break;
    last_step = search->decrement <= flat;
    /* Steps that no longer gain much ask for a curvature worked out anew. */
    anew = search->decrement > 0.5 * last && !last_step && curvatures < CURVATURES_MOST;
    last = search->decrement;
    if (anew) continue;
    for (size_t i = 0; i < m; i++) {
      theta[i] = search->theta[i];
      slope[i] = be_point_slope(profile, &search->point, i);
    }
    if (!advance(profile, search, step)) break;
    learn(profile, search, theta, slope);
  }
  judge(profile, search);
}
