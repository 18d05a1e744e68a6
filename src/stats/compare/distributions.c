/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/compare/compare.h"

#include <math.h>

enum { LEVELS = 7 };

struct pooled {
  size_t sets, n;
  const size_t *sizes;
  double *x;       /* all pulls, set after set */
  size_t *set;     /* of each pull */
  size_t *order;   /* of rising pulls */
  double *among;   /* how many of each set stand at the load looked at */
  double *reached; /* and how many at or below it */
};

static enum be_status gather(const double *const *x, struct pooled *pooled, struct be_err *err)
{
  size_t next = 0;
  for (size_t g = 0; g < pooled->sets; g++)
    for (size_t i = 0; i < pooled->sizes[g]; i++) {
      if (!isfinite(x[g][i]))
        return be_fail(err, BE_BAD_INPUT, "pull %zu of set %zu is not a number", i + 1, g + 1);
      pooled->set[next] = g;
      pooled->x[next++] = x[g][i];
    }
  be_order(pooled->x, pooled->n, pooled->order);
  return BE_OK;
}

/* Scholz and Stephens 1987, equations 6 (right-continuous) and 7 (midranks). */
static void sum_squares(const struct pooled *pooled, struct be_many_ad *result)
{
  double n = (double)pooled->n, plain = 0, midrank = 0;
  for (size_t g = 0; g < pooled->sets; g++) pooled->reached[g] = 0;
  for (size_t begin = 0, end; begin < pooled->n; begin = end) {
    double at = pooled->x[pooled->order[begin]];
    for (size_t g = 0; g < pooled->sets; g++) pooled->among[g] = 0;
    for (end = begin; end < pooled->n && pooled->x[pooled->order[end]] == at; end++)
      pooled->among[pooled->set[pooled->order[end]]]++;
    double ties = (double)(end - begin), below = (double)end, middle = below - ties / 2;
    double squares = 0, squares_middle = 0;
    for (size_t g = 0; g < pooled->sets; g++) {
      double size = (double)pooled->sizes[g];
      pooled->reached[g] += pooled->among[g];
      double off = n * pooled->reached[g] - size * below;
      double off_middle = n * (pooled->reached[g] - pooled->among[g] / 2) - size * middle;
      squares += off * off / size;
      squares_middle += off_middle * off_middle / size;
    }
    if (end < pooled->n) plain += ties / n * squares / (below * (n - below));
    midrank += ties / n * squares_middle / (middle * (n - middle) - n * ties / 4);
  }
  result->a2 = plain;
  result->a2_midrank = midrank * (n - 1) / n;
}

/* Variance of the statistic without ties (equation 4). */
static double deviation(const struct pooled *pooled)
{
  double n = (double)pooled->n, k = (double)pooled->sets, inverse = 0, h = 0, g = 0;
  for (size_t i = 0; i < pooled->sets; i++) inverse += 1 / (double)pooled->sizes[i];
  /* g is the sum over i < j of 1 / ((n - i) j): from the end, h holds the sum over j > i. */
  for (size_t i = pooled->n - 1; i > 0; i--) {
    g += h / (n - (double)i);
    h += 1 / (double)i;
  }
  double a = (4 * g - 6) * (k - 1) + (10 - 6 * g) * inverse;
  double b = (2 * g - 4) * k * k + 8 * h * k + (2 * g - 14 * h - 4) * inverse - 8 * h + 4 * g - 6;
  double c = (6 * h + 2 * g - 2) * k * k + (4 * h - 4 * g + 6) * k + (2 * h - 6) * inverse + 4 * h;
  double d = (2 * h + 6) * k * k - 4 * h * k;
  return sqrt((((a * n + b) * n + c) * n + d) / ((n - 1) * (n - 2) * (n - 3)));
}

static double log_odds(double p)
{
  return log(p / (1 - p));
}

/* Their table 1 gives the statistic at seven levels for m = k - 1 as b0 + b1 /
 * sqrt(m) + b2 / m; between two levels the logarithm of the odds is nearly
 * straight. */
static double significance(double t, size_t sets)
{
  static const double level[LEVELS] = {0.25, 0.1, 0.05, 0.025, 0.01, 0.005, 0.001};
  static const double b0[LEVELS] = {0.675, 1.281, 1.645, 1.96, 2.326, 2.573, 3.085};
  static const double b1[LEVELS] = {-0.245, 0.25, 0.678, 1.149, 1.822, 2.364, 3.615};
  static const double b2[LEVELS] = {-0.105, -0.305, -0.362, -0.391, -0.396, -0.345, -0.154};
  double m = (double)sets - 1, before = 0;
  for (size_t i = 0; i < LEVELS; i++) {
    double here = b0[i] + b1[i] / sqrt(m) + b2[i] / m;
    if (t <= here && i == 0) return level[0];
    if (t <= here) {
      double share = (t - before) / (here - before);
      double odds = (1 - share) * log_odds(level[i - 1]) + share * log_odds(level[i]);
      return 1 / (1 + exp(-odds));
    }
    before = here;
  }
  return level[LEVELS - 1];
}

enum be_status be_many_anderson_darling(const double *const *x, const size_t *n, size_t sets,
                                        struct be_many_ad *result, struct be_err *err)
{
  const double unknown = NAN;
  *result = (struct be_many_ad){unknown, unknown, unknown, unknown, unknown, unknown};
  struct pooled pooled = {.sets = sets, .sizes = n};
  for (size_t g = 0; g < sets; g++) {
    if (n[g] == 0) return be_fail(err, BE_BAD_INPUT, "set %zu of %zu is empty", g + 1, sets);
    pooled.n += n[g];
  }
  if (sets < 2 || pooled.n < 4) return BE_OK;
  pooled.x = be_alloc_array(pooled.n, sizeof *pooled.x);
  pooled.set = be_alloc_array(pooled.n, sizeof *pooled.set);
  pooled.order = be_alloc_array(pooled.n, sizeof *pooled.order);
  pooled.among = be_alloc_array(sets, sizeof *pooled.among);
  pooled.reached = be_alloc_array(sets, sizeof *pooled.reached);
  enum be_status status = BE_OK;
  if (!pooled.x || !pooled.set || !pooled.order || !pooled.among || !pooled.reached) {
    status = be_fail(err, BE_NO_MEMORY, "no memory to compare %zu pulls", pooled.n);
    goto done;
  }
  status = gather(x, &pooled, err);
  if (status != BE_OK) goto done;
  if (pooled.x[pooled.order[0]] == pooled.x[pooled.order[pooled.n - 1]]) goto done;
  sum_squares(&pooled, result);
  result->sigma = deviation(&pooled);
  result->t = (result->a2 - ((double)sets - 1)) / result->sigma;
  result->t_midrank = (result->a2_midrank - ((double)sets - 1)) / result->sigma;
  result->p = significance(result->t_midrank, sets);
done:
  be_free(pooled.reached);
  be_free(pooled.among);
  be_free(pooled.order);
  be_free(pooled.set);
  be_free(pooled.x);
  return status;
}
