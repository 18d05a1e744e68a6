/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/inside.h"
#include "stats/number/number.h"

#include <assert.h>
#include <math.h>

/* phi(8.7) = 1e-17: nothing lies beyond, nor the greatest of a thousand beyond 9.2. */
static const double FURTHEST = 8.7;
static const double GREATEST = 9.2;
static const double NORMAL_DENSITY_0 = 0.39894228040143267794;

struct comparisons {
  const double *lambda;
  size_t count;
  bool one_sided;
  double step;
};

/* P(all within w) for a given z of the reference. A run of equal lambda is one
 * factor to a power. */
static double within_given(double w, double z, const struct comparisons *of)
{
  double product = 1, factor = 1;
  for (size_t i = 0; i < of->count && product > 0; i++) {
    double lambda = of->lambda[i];
    if (i == 0 || lambda != of->lambda[i - 1]) {
      double rest = sqrt((1 - lambda) * (1 + lambda));
      factor = be_normal_upper((-w - lambda * z) / rest);
      if (!of->one_sided) factor -= be_normal_upper((w - lambda * z) / rest);
    }
    product *= factor;
  }
  return product;
}

/* 1 - int phi(z) prod (Phi((lambda z + w) / r) - Phi((lambda z - w) / r)) dz with
 * r^2 = 1 - lambda^2 (C. W. Dunnett, J. Am. Stat. Assoc. 50, 1955); one-sided
 * without the second Phi. */
static double beyond(double w, const void *context)
{
  const struct comparisons *of = context;
  double sum = 0;
  for (double z = -FURTHEST; z < FURTHEST; z += of->step)
    sum += exp(-z * z / 2) * within_given(w, z, of);
  return 1 - sum * of->step * NORMAL_DENSITY_0;
}

/* The step that serves the range of count + 1 normals, which this is like for
 * equal sets, made finer as the steepest factor is steeper. */
void be_dunnett_init(struct be_tail *tail, const double *lambda, size_t count, bool one_sided)
{
  assert(count >= 1);
  double steepest = 1;
  for (size_t i = 0; i < count; i++) {
    assert(lambda[i] >= 0 && lambda[i] < 1);
    double rest = sqrt((1 - lambda[i]) * (1 + lambda[i]));
    if (lambda[i] > 0) steepest = fmin(steepest, rest / lambda[i]);
  }
  const struct comparisons of = {lambda, count, one_sided, steepest * be_range_step(count + 1)};
  tail->normals = count + 1;
  tail->low = one_sided ? -GREATEST : 0;
  tail->high = GREATEST;
  be_tail_fill(tail, beyond, &of);
}
