/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the deviance is least. BOBYQA (Powell 2009) by NLopt goes roughly there: it needs no
 * slopes and seldom minds a bad start. Newton's steps
 * (settle.c) go the rest of the way. */
#include "stats/mixed/inside.h"

#include <math.h>
#include <nlopt.h>

/* A ratio of deviations above this says that nothing is left over beside a random term. */
static const double theta_most = 1e5;
/* Where BOBYQA hands over: Newton's steps square what is missing. Where they do not settle it
 * goes on by itself. */
struct tolerance {
  double step, fall;
};
static const struct tolerance rough = {1e-2, 1e-2}, close = {1e-6, 1e-10};
static const int evaluations_most = 4000;

static const double flat_enough = 1e-4;

static bool on_diagonal(const struct be_profile *profile, size_t i)
{
  return profile->where[i].row == profile->where[i].column;
}

static double deviance(unsigned count, const double *theta, double *slope, void *profile)
{
  (void)count;
  (void)slope;
  struct be_point point;
  return be_profile_at(profile, theta, &point) ? point.criterion : HUGE_VAL;
}

/* From theta to theta; the deviance there, or infinity. */
static double descend(struct be_profile *profile, const struct tolerance *tolerance, double *theta)
{
  unsigned m = (unsigned)profile->parameters;
  double low[BE_MIXED_THETA_MAX], high[BE_MIXED_THETA_MAX], least = HUGE_VAL;
  double step[BE_MIXED_THETA_MAX];
  for (size_t i = 0; i < m; i++) {
    low[i] = -theta_most;
    high[i] = theta_most;
    step[i] = 0.5 * fmax(fabs(theta[i]), 0.2);
  }
  nlopt_opt search = nlopt_create(NLOPT_LN_BOBYQA, m);
  if (!search) return HUGE_VAL;
  bool ready = nlopt_set_min_objective(search, deviance, profile) >= 0 &&
               nlopt_set_lower_bounds(search, low) >= 0 &&
               nlopt_set_upper_bounds(search, high) >= 0 &&
               nlopt_set_initial_step(search, step) >= 0 &&
               nlopt_set_xtol_abs1(search, tolerance->step) >= 0 &&
               nlopt_set_ftol_abs(search, tolerance->fall) >= 0 &&
               nlopt_set_maxeval(search, evaluations_most) >= 0;
  /* What it returns is not looked at: where it stopped is judged by slope and curvature. */
  if (ready) nlopt_optimize(search, theta, &least);
  nlopt_destroy(search);
  return least;
}

/* A deviation that the data put at zero is exactly zero: BOBYQA may stop beside it. */
static double at(void *profile, const double *theta)
{
  return deviance(0, theta, NULL, profile);
}

static bool at_boundary(const struct be_profile *profile, const double *theta)
{
  for (size_t i = 0; i < profile->parameters; i++)
    if (be_profile_zero(profile, theta, i) || fabs(theta[i]) > theta_most / 2) return true;
  return false;
}

static void begin(const struct be_profile *profile, double start, double *theta)
{
  for (size_t i = 0; i < profile->parameters; i++) theta[i] = on_diagonal(profile, i) ? start : 0;
}

/* What may stand in the way of Newton's steps: a deviation near zero, where the deviance, even in
 * it, may be at its highest. */
static void settle(struct be_profile *profile, struct be_search *search)
{
  be_search_settle(profile, search, true);
  if (!search->why || profile->parameters == 0) return;
  for (size_t i = 0; i < profile->parameters; i++)
    if (on_diagonal(profile, i) && fabs(search->theta[i]) < 0.1) search->theta[i] = 0.2;
  double least = descend(profile, &close, search->theta);
  be_profile_snap(profile, search->theta, &least, at, profile);
  be_search_settle(profile, search, true);
  /* A covariance all but of lower rank has directions so flat that their curvature has no sign;
   * a search over 0.1 of theta that finds nothing lower says as much as curvature can. */
  if (search->indefinite && fabs(search->decrement) < flat_enough &&
      search->point.criterion < least + 1e-7)
    search->why = NULL;
}

void be_search_find(struct be_profile *profile, struct be_search *search)
{
  static const double starts[] = {1, 0.2, 4};
  double least = HUGE_VAL, theta[BE_MIXED_THETA_MAX];
  begin(profile, 1, search->theta);
  for (size_t s = 0; s < sizeof starts / sizeof starts[0] && profile->parameters > 0; s++) {
    begin(profile, starts[s], theta);
    double found = descend(profile, &rough, theta);
    be_profile_snap(profile, theta, &found, at, profile);
    if (found < least) {
      least = found;
      for (size_t i = 0; i < profile->parameters; i++) search->theta[i] = theta[i];
    }
    if (isfinite(least) && !at_boundary(profile, search->theta)) break;
  }
  settle(profile, search);
  be_profile_turn(profile, search->theta, NULL);
}
