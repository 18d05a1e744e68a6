/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Barnard's unconditional exact test of two rates.
 *
 * A table (i of na, j of nb) is as far out as the seen one when its score statistic is no
 * smaller. For each i these are the j below `from[i]` and those from `to[i]` on, since the
 * statistic rises on both sides of equal rates. So the chance of all of them, at one common
 * rate, costs a walk over i and a walk over j.
 */
#include "stats/compare/compare.h"

#include <assert.h>
#include <math.h>

enum { SIDE = BE_BARNARD_MAX + 1, GRID_MAX = 4000 };
/* Steps of the grid to the scatter of all pulls together, and at least so many in all. */
enum { STEPS_A_WIDTH = 24, STEPS_LEAST = 48 };
/* What is rarer than that is 0: no product of two then comes near the smallest double,
 * where arithmetic is slow. */
static const double RAREST = 1e-140;

struct region {
  size_t na, nb;
  size_t from[SIDE], to[SIDE];
};

/* z^2 is D^2 / (K (na + nb - K)) times a constant, D = i nb - j na, K = i + j. Held against
 * the seen one by whole numbers, which for 1000 a side stay below 1e18: so equal is equal. */
struct score {
  uint64_t squared, spread;
};

static struct score score_of(uint64_t i, uint64_t na, uint64_t j, uint64_t nb)
{
  uint64_t a = i * nb, b = j * na, apart = a > b ? a - b : b - a;
  return (struct score){apart * apart, (i + j) * (na + nb - i - j)};
}

static bool as_far(struct score a, struct score seen)
{
  return a.squared > 0 && a.squared * seen.spread >= seen.squared * a.spread;
}

static void fill_region(struct region *region, struct score seen)
{
  size_t na = region->na, nb = region->nb;
  for (size_t i = 0; i <= na; i++) {
    size_t j = 0, k = nb + 1;
    while (j <= nb && j * na < i * nb && as_far(score_of(i, na, j, nb), seen)) j++;
    while (k > j && (k - 1) * na > i * nb && as_far(score_of(i, na, k - 1, nb), seen)) k--;
    region->from[i] = j;
    region->to[i] = k;
  }
}

/* share[k] = P(k of n), by steps outward from the likeliest; rate within (0, 1). */
static void fill_binomial(double *share, size_t n, double rate)
{
  double odds = rate / (1 - rate), sum = 0;
  size_t middle = (size_t)fmin((double)n, floor((double)(n + 1) * rate));
  for (size_t k = 0; k <= n; k++) share[k] = 0;
  share[middle] = 1;
  for (size_t k = middle; k < n && share[k] > RAREST; k++)
    share[k + 1] = share[k] * odds * (double)(n - k) / (double)(k + 1);
  for (size_t k = middle; k > 0 && share[k] > RAREST; k--)
    share[k - 1] = share[k] / odds * (double)k / (double)(n - k + 1);
  for (size_t k = 0; k <= n; k++) sum += share[k];
  for (size_t k = 0; k <= n; k++) share[k] /= sum;
}

/* P(a table of the region) when both rates are sin^2(angle). */
static double chance(const struct region *region, double angle)
{
  double a[SIDE], below[SIDE + 1], beyond[SIDE + 1], sum = 0;
  double rate = sin(angle) * sin(angle);
  if (!(rate > 0 && rate < 1)) return 0; /* the tables 0, 0 and all, all are never far out */
  size_t nb = region->nb;
  fill_binomial(beyond, nb, rate);
  below[0] = 0;
  for (size_t j = 0; j <= nb; j++) below[j + 1] = below[j] + beyond[j];
  beyond[nb + 1] = 0;
  for (size_t j = nb + 1; j-- > 0;) beyond[j] += beyond[j + 1];
  fill_binomial(a, region->na, rate);
  for (size_t i = 0; i <= region->na; i++)
    sum += a[i] * (below[region->from[i]] + beyond[region->to[i]]);
  return sum;
}

/* Golden sections of [low, high], two steps of the grid, until the rest no longer matters:
 * near a maximum 1e-4 of it changes the chance by (1e-4 / 12)^2 of itself. */
static double refine(const struct region *region, double low, double high)
{
  const double part = 0.38196601125010515;
  double tolerance = 1e-4 * (high - low);
  double x = low + part * (high - low), y = high - part * (high - low);
  double at_x = chance(region, x), at_y = chance(region, y);
  while (high - low > tolerance) {
    if (at_x >= at_y) {
      high = y;
      y = x;
      at_y = at_x;
      x = low + part * (high - low);
      at_x = chance(region, x);
    } else {
      low = x;
      x = y;
      at_x = at_y;
      y = high - part * (high - low);
      at_y = chance(region, y);
    }
  }
  return fmax(at_x, at_y);
}

/* On the scale of angle = asin(sqrt(rate)) the counts scatter alike everywhere, by
 * 1 / (2 sqrt n), and nothing in the chance is narrower. With 24 steps to that width a
 * maximum between two of them is at most about 24^-2 / 8 = 2e-4 of itself higher, so only
 * those of the grid that come within 1e-3 of the greatest are refined. */
double be_barnard(size_t ka, size_t na, size_t kb, size_t nb)
{
  assert(ka <= na && kb <= nb);
  if (na == 0 || nb == 0 || na > BE_BARNARD_MAX || nb > BE_BARNARD_MAX) return NAN;
  struct score seen = score_of(ka, na, kb, nb);
  if (seen.squared == 0) return 1;
  struct region region = {.na = na, .nb = nb};
  fill_region(&region, seen);
  const double quarter = acos(0);
  double widths = quarter * 2 * sqrt((double)(na + nb));
  size_t steps = STEPS_LEAST + (size_t)ceil(widths * STEPS_A_WIDTH);
  assert(steps < GRID_MAX);
  double width = quarter / (double)steps, greatest = 0, grid[GRID_MAX];
  for (size_t i = 0; i <= steps; i++) {
    grid[i] = chance(&region, width * (double)i);
    greatest = fmax(greatest, grid[i]);
  }
  /* On a plateau of rounding every step would be a maximum; there is no more to find. */
  if (greatest > 1 - 1e-9) return 1;
  double enough = greatest * (1 - 1e-3);
  for (size_t i = 1; i < steps; i++) {
    if (grid[i] < enough || grid[i] <= grid[i - 1] || grid[i] < grid[i + 1]) continue;
    double low = width * (double)(i - 1), high = width * (double)(i + 1);
    greatest = fmax(greatest, refine(&region, low, high));
  }
  return greatest;
}
