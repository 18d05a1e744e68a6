/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two knots that scatter unlike, looked at after every pull.
 *
 * Each side has the evidence e(m) of watch.c against a mean of m, exact whatever its deviation.
 * Under no difference both have one mean, and the product of the two is a martingale of mean 1
 * at that mean, in whatever turn the sides are pulled; so its least over all means is no greater,
 * and passes 1 / alpha with chance alpha at most. (Ville 1939; the least over what does not
 * matter as Wasserman, Ramdas and Balakrishnan, PNAS 117, 2020.) The least lies between the
 * two means: h = u + v is how far they are apart, u from the one, v from the other. */
#include "stats/number/number.h"
#include "stats/standing/inside.h"

#include <assert.h>
#include <math.h>

/* Halvings towards either end at which the least is looked for: the sides' scales differ
 * by less than 2^30 in any case that matters. */
enum { HALVINGS = 30, GOLDEN_STEPS = 40 };
static const double GOLDEN = 0.61803398874989484820;

struct side {
  double n, nu, sum, root; /* pulls, n - 1, squares about the mean, 1 + n g */
};
struct sides {
  struct side a, b;
  double h, wanted;
};

/* log e against a mean u away. */
static double evidence(const struct side *side, double u)
{
  double q = side->n * u * u / side->sum;
  return (side->nu + 1) / 2 * (log1p(q) - log1p(q / side->root)) - log(side->root) / 2;
}

static double both(const struct sides *sides, double u)
{
  return evidence(&sides->a, u) + evidence(&sides->b, sides->h - u);
}

/* Between neighbours of the least of some places: golden section. */
static double narrow(const struct sides *sides, double low, double high, double least)
{
  double x = high - GOLDEN * (high - low), y = low + GOLDEN * (high - low);
  double at_x = both(sides, x), at_y = both(sides, y);
  for (int i = 0; i < GOLDEN_STEPS; i++) {
    if (at_x < at_y) {
      high = y, y = x, at_y = at_x;
      x = high - GOLDEN * (high - low);
      at_x = both(sides, x);
    } else {
      low = x, x = y, at_x = at_y;
      y = low + GOLDEN * (high - low);
      at_y = both(sides, y);
    }
  }
  return fmin(least, fmin(at_x, at_y));
}

/* Place i of 2 HALVINGS + 1, from 0 to h: 0, h 2^-29, ... h / 2, ... h - h 2^-29, h. */
static double place(double h, int i)
{
  if (i == 0) return 0;
  if (i <= HALVINGS) return ldexp(h, i - HALVINGS - 1);
  return i == 2 * HALVINGS ? h : h - ldexp(h, HALVINGS - 1 - i);
}

static double least_of(const struct sides *sides)
{
  int best = 0;
  double least = INFINITY;
  for (int i = 0; i <= 2 * HALVINGS; i++) {
    double at = both(sides, place(sides->h, i));
    if (at < least) least = at, best = i;
  }
  int before = best > 0 ? best - 1 : 0, after = best < 2 * HALVINGS ? best + 1 : best;
  return narrow(sides, place(sides->h, before), place(sides->h, after), least);
}

static double over_wanted(double log_h, const void *context)
{
  struct sides sides = *(const struct sides *)context;
  sides.h = exp(log_h);
  return least_of(&sides) - sides.wanted;
}

/* How far apart the means must be for the evidence wanted, which rises with it; infinity where it
 * never gets there. */
static double half_width(const struct sides *sides)
{
  const struct side *a = &sides->a, *b = &sides->b;
  double far_a = a->nu / 2 * log(a->root), far_b = b->nu / 2 * log(b->root);
  if (fmin(far_a + evidence(b, 0), far_b + evidence(a, 0)) <= sides->wanted) return INFINITY;
  double scale = log(sqrt(a->sum / a->n) + sqrt(b->sum / b->n)), low = scale, high = scale;
  /* Powers of e, at most the range of a double. */
  while (low > -700 && over_wanted(low, sides) > 0) low -= 2;
  while (high < 700 && over_wanted(high, sides) < 0) high += 2;
  return high < 700 ? exp(be_root(over_wanted, sides, low, high)) : INFINITY;
}

static struct side side_of(const struct be_summary *knot, double effect)
{
  double n = (double)knot->n, nu = n - 1;
  return (struct side){n, nu, knot->sd * knot->sd * nu, 1 + n * effect * effect};
}

void be_watch_unlike(const struct be_summary *a, const struct be_summary *b,
                     const struct be_watch *watch, struct be_watched *watched)
{
  assert(watch->level > 0 && watch->level < 1 && watch->effect > 0 && isfinite(watch->effect));
  double value = a->n && b->n ? a->mean - b->mean : NAN;
  *watched = (struct be_watched){0, value, {-INFINITY, INFINITY, watch->level}, false};
  if (a->n < 2 || b->n < 2 || !(a->sd > 0) || !(b->sd > 0)) return;
  const struct sides sides = {side_of(a, watch->effect), side_of(b, watch->effect), fabs(value),
                              -log1p(-watch->level)};
  watched->log_e = least_of(&sides);
  watched->apart = watched->log_e >= sides.wanted;
  double half = half_width(&sides);
  watched->interval.low = value - half;
  watched->interval.high = value + half;
}
