/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/benches/benches.h"

#include <assert.h>
#include <math.h>

double be_spread_deviation(enum be_spread_shape shape, double half)
{
  switch (shape) {
  case BE_SPREAD_RECTANGULAR: return half / sqrt(3);
  case BE_SPREAD_STEP: return half / sqrt(12);
  case BE_SPREAD_TRIANGULAR: return half / sqrt(6);
  case BE_SPREAD_NORMAL: break;
  }
  return half;
}

static double contribution(const struct be_source_of_doubt *source)
{
  return fabs(source->sensitivity) * be_spread_deviation(source->shape, source->half);
}

/* JCGM 100:2008, equations 10 (no correlations) and G.2b. Contributions are taken as parts
 * of the largest, so that no square leaves the doubles. */
void be_budget_of(const struct be_source_of_doubt *sources, size_t count, double level,
                  struct be_budget *budget, double *deviations, double *shares)
{
  assert(level > 0 && level < 1);
  double largest = 0, squares = 0, inverse = 0, least = INFINITY;
  for (size_t i = 0; i < count; i++) {
    assert(sources[i].half >= 0 && sources[i].df > 0);
    double deviation = contribution(&sources[i]);
    if (deviations) deviations[i] = deviation;
    largest = fmax(largest, deviation);
    least = fmin(least, sources[i].df);
  }
  for (size_t i = 0; i < count; i++) {
    double part = largest > 0 ? contribution(&sources[i]) / largest : 0;
    squares += part * part;
  }
  for (size_t i = 0; i < count; i++) {
    double part = contribution(&sources[i]) / largest;
    double share = part * part / squares; /* of nothing: not-a-number */
    if (shares) shares[i] = share;
    inverse += share * share / sources[i].df;
  }
  budget->combined = largest * sqrt(squares);
  budget->df = largest > 0 ? 1 / inverse : least;
  /* 1 / (1 / 49) is below 49 by rounding and must not be cut to 48. */
  double whole = floor(budget->df * (1 + 1e-12));
  budget->coverage = be_t_quantile((1 - level) / 2, whole >= 1 ? whole : budget->df);
  budget->expanded = budget->coverage * budget->combined;
  budget->level = level;
}
