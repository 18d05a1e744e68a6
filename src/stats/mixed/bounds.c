/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where Laplace's deviance is least, over theta and log sigma, from where the fit stands that
 * takes bounds for events: BOBYQA, then Newton's steps by differences. */
#include "stats/mixed/inside.h"

#include <math.h>
#include <nlopt.h>
#include <string.h>

enum { K = BE_MIXED_THETA_MAX + 1, ROUNDS_MOST = 8, HALVINGS_MOST = 8 };

static const double flat = 1e-12, enough = 1e-7;

struct aim {
  struct be_bounds *bounds;
  size_t m, k; /* parameters of theta; with log sigma, which comes last */
};

static double deviance(unsigned count, const double *x, double *slope, void *aim_)
{
  (void)count;
  (void)slope;
  const struct aim *aim = aim_;
  return be_bounds_deviance(aim->bounds, x, exp(x[aim->m]));
}

static bool on_diagonal(const struct aim *aim, size_t i)
{
  const struct be_parameter *where = &aim->bounds->profile->where[i];
  return i < aim->m && where->row == where->column;
}

static double at(void *aim, const double *x)
{
  return deviance(0, x, NULL, aim);
}

static double descend(struct aim *aim, double *x)
{
  double low[K], high[K], step[K], least = HUGE_VAL;
  for (size_t i = 0; i < aim->k; i++) {
    low[i] = i == aim->m ? x[i] - 20 : -1e5;
    high[i] = i == aim->m ? x[i] + 20 : 1e5;
    step[i] = i == aim->m ? 0.2 : 0.3 * fmax(fabs(x[i]), 0.2);
  }
  nlopt_opt search = nlopt_create(NLOPT_LN_BOBYQA, (unsigned)aim->k);
  if (!search) return HUGE_VAL;
  bool ready =
      nlopt_set_min_objective(search, deviance, aim) >= 0 &&
      nlopt_set_lower_bounds(search, low) >= 0 && nlopt_set_upper_bounds(search, high) >= 0 &&
      nlopt_set_initial_step(search, step) >= 0 && nlopt_set_xtol_abs1(search, 1e-3) >= 0 &&
      nlopt_set_ftol_abs(search, 1e-4) >= 0 && nlopt_set_maxeval(search, 2000) >= 0;
  if (ready) nlopt_optimize(search, x, &least);
  nlopt_destroy(search);
  be_profile_snap(aim->bounds->profile, x, &least, at, aim);
  return least;
}

/* Slopes and curvatures by the five-point and the four-point formula: steps of 2e-3 leave some
 * 1e-11 and 1e-6 of them, rounding about as much. Slopes alone where curvature is null. */
static bool look(struct aim *aim, const double *at, double here, double *slope, double *curvature)
{
  double x[K], step[K];
  memcpy(x, at, aim->k * sizeof *x);
  for (size_t i = 0; i < aim->k; i++) {
    double f[5] = {0, 0, here, 0, 0};
    step[i] = 2e-3 * (i == aim->m ? 1 : fmax(fabs(at[i]), 0.1));
    for (int s = -2; s < 3; s++) {
      if (s == 0) continue;
      x[i] = at[i] + s * step[i];
      f[s + 2] = deviance(0, x, NULL, aim);
    }
    x[i] = at[i];
    slope[i] = (8 * (f[3] - f[1]) - (f[4] - f[0])) / (12 * step[i]);
    if (!isfinite(slope[i])) return false;
    if (curvature)
      curvature[i * aim->k + i] =
          (16 * (f[3] + f[1]) - (f[4] + f[0]) - 30 * f[2]) / (12 * step[i] * step[i]);
  }
  for (size_t i = 0; i < aim->k && curvature; i++)
    for (size_t j = 0; j < i; j++) {
      double sum = 0;
      for (int s = -1; s < 2; s += 2)
        for (int t = -1; t < 2; t += 2) {
          x[i] = at[i] + s * step[i];
          x[j] = at[j] + t * step[j];
          sum += s * t * deviance(0, x, NULL, aim);
        }
      x[i] = at[i];
      x[j] = at[j];
      curvature[i * aim->k + j] = curvature[j * aim->k + i] = sum / (4 * step[i] * step[j]);
    }
  return true;
}

static bool advance(struct aim *aim, double *x, double *here, const double *step)
{
  double share = 1, moved[K];
  for (int halving = 0; halving < HALVINGS_MOST; halving++, share /= 2) {
    for (size_t i = 0; i < aim->k; i++) moved[i] = x[i] - share * step[i];
    double there = deviance(0, moved, NULL, aim);
    if (!(there <= *here + 1e-12 * fabs(*here))) continue;
    memcpy(x, moved, aim->k * sizeof *x);
    *here = there;
    return true;
  }
  return false;
}

/* Newton's steps to where it is flat; says why not. */
static const char *settle(struct aim *aim, double *x, struct be_search *search)
{
  double slope[K], step[K], here = deviance(0, x, NULL, aim), last = HUGE_VAL;
  bool frozen[K] = {false}, anew = true, moved = false;
  for (size_t i = 0; i < aim->m; i++) frozen[i] = be_profile_zero(aim->bounds->profile, x, i);
  for (int round = 0; round < ROUNDS_MOST; round++) {
    if (!look(aim, x, here, slope, anew ? search->curvature : NULL))
      return "the lower bounds leave it open how strong or how scattered the pulls are";
    if (!be_search_solve(search->curvature, aim->k, aim->k, frozen, slope, step))
      return "the deviance has no least value near where the search ended";
    search->gradient = search->decrement = 0;
    for (size_t i = 0; i < aim->k; i++) {
      if (!frozen[i]) search->gradient = fmax(search->gradient, fabs(slope[i]));
      search->decrement += slope[i] * step[i] / 2;
    }
    moved = moved && !anew;
    if (search->decrement <= flat) break;
    anew = search->decrement > 0.1 * last;
    last = search->decrement;
    if (!advance(aim, x, &here, step)) break;
    moved = true;
  }
  if (moved && !look(aim, x, here, slope, search->curvature))
    return "the lower bounds leave it open how strong or how scattered the pulls are";
  for (size_t i = 0; i < aim->m; i++) search->frozen[i] = frozen[i];
  search->point.criterion = here;
  return search->decrement > enough ? "the deviance still falls where the search ended" : NULL;
}

/* A zero must not fit worse than a little more. */
static bool zeros_hold(struct aim *aim, double *x, double here)
{
  for (size_t i = 0; i < aim->m; i++) {
    if (!be_profile_zero(aim->bounds->profile, x, i)) continue;
    x[i] = 0.02;
    bool holds = deviance(0, x, NULL, aim) >= here - enough;
    x[i] = 0;
    if (!holds) return false;
  }
  return true;
}

void be_bounds_find(struct be_bounds *bounds, struct be_search *search)
{
  struct aim aim = {bounds, bounds->profile->parameters, bounds->profile->parameters + 1};
  double x[K];
  for (size_t i = 0; i < aim.m; i++)
    x[i] = on_diagonal(&aim, i) ? fmax(search->theta[i], 0.2) : search->theta[i];
  x[aim.m] = log(search->point.sigma);
  if (search->why) return;
  for (size_t b = 0; b < bounds->count; b++) bounds->eta[b] = bounds->limit[b];
  search->why = "the lower bounds leave it open how strong or how scattered the pulls are";
  if (!isfinite(descend(&aim, x))) return;
  search->why = settle(&aim, x, search);
  if (!search->why && !zeros_hold(&aim, x, search->point.criterion))
    search->why = "a deviation put at zero would fit better above it";
  double sigma = exp(x[aim.m]);
  bool turned[K] = {false};
  be_profile_turn(bounds->profile, x, turned);
  memcpy(search->theta, x, aim.m * sizeof *x);
  search->point.sigma = sigma;
  /* Over sigma, no longer its logarithm. */
  for (size_t i = 0; i < aim.k; i++)
    for (size_t j = 0; j < aim.k; j++)
      if (turned[i] != turned[j]) search->curvature[i * aim.k + j] *= -1;
  for (size_t i = 0; i < aim.k; i++) {
    search->curvature[i * aim.k + aim.m] /= sigma;
    search->curvature[aim.m * aim.k + i] /= sigma;
  }
  /* Leaves cross products and weights as they are there. */
  if (isfinite(be_bounds_deviance(bounds, search->theta, sigma)))
    be_bounds_lean(bounds, search->theta, sigma);
}
