/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/inside.h"
#include "stats/number/number.h"

#include <assert.h>
#include <math.h>

/* The range of a thousand normals is above this with a chance of 1e-15. */
static const double WIDEST = 13.5;
/* phi(8.7) = 1e-17: nothing lies beyond. */
static const double FURTHEST = 8.7;
static const double NORMAL_DENSITY_0 = 0.39894228040143267794;
enum { NODES_MAX = 400 };

struct grid {
  size_t groups, count;
  double z[NODES_MAX], below[NODES_MAX], above[NODES_MAX], weight[NODES_MAX];
};

/* The integrand is entire; how wide a step still leaves 1e-13 was tried for 2 to
 * 1000 groups. */
double be_range_step(size_t groups)
{
  double k = (double)groups;
  return 1 / sqrt(fmin(k + 2, 12 * log(k) + 4));
}

/* Nodes of the trapezoidal rule, from where even the largest normal is with a
 * chance below 1e-17. */
static void lay_grid(size_t groups, struct grid *grid)
{
  double k = (double)groups, step = be_range_step(groups);
  grid->groups = groups;
  double z = -be_normal_quantile(exp(log(1e-17) / k));
  for (grid->count = 0; z < FURTHEST && grid->count < NODES_MAX; z += step) {
    size_t i = grid->count++;
    grid->z[i] = z;
    grid->below[i] = be_normal_upper(-z);
    grid->above[i] = be_normal_upper(z);
    grid->weight[i] = k * step * NORMAL_DENSITY_0 * exp(-z * z / 2);
  }
}

static double whole_power(double x, size_t n)
{
  double product = 1;
  for (; n > 0; n /= 2, x *= x)
    if (n % 2) product *= x;
  return product;
}

/* P(range <= w) = k int phi(z) (Phi(z) - Phi(z - w))^(k-1) dz, z the largest (H. O.
 * Hartley, Biometrika 32, 1942). */
static double within(double w, const struct grid *grid)
{
  double sum = 0;
  for (size_t i = 0; i < grid->count; i++) {
    double z = grid->z[i];
    double share =
        z > w ? be_normal_upper(z - w) - grid->above[i] : grid->below[i] - be_normal_upper(w - z);
    if (share > 0) sum += grid->weight[i] * whole_power(share, grid->groups - 1);
  }
  return sum;
}

static double beyond(double w, const void *context)
{
  return 1 - within(w, context);
}

void be_range_init(struct be_tail *tail, size_t groups)
{
  assert(groups >= 2);
  struct grid grid;
  lay_grid(groups, &grid);
  tail->normals = groups;
  tail->low = 0;
  tail->high = WIDEST;
  be_tail_fill(tail, beyond, &grid);
}
