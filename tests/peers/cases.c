/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The data sets: loads as knots have them, of three families at deviations of 3 to 15 %, plain,
 * with ties (told in whole steps) or on a far offset. */
#include "peers.h"

enum { FAMILIES = 3, SHAPES = 3 };
enum shape { PLAIN, TIED, FAR };

static double draw(struct be_random *random, int family, double mean, double cv)
{
  double z = be_random_normal(random);
  if (family == BE_FAMILY_NORMAL) return mean * (1 + cv * z);
  if (family == BE_FAMILY_LOGNORMAL) return mean * exp(cv * z);
  return mean * pow(-log(1 - be_random_unit(random)), cv / 1.2);
}

/* A step is the same for all sets, so that there are ties between them too. */
static double shaped(double load, enum shape shape)
{
  double step = load > 30 ? 2 : 0.25;
  if (shape == TIED) return round(load / step) * step;
  return shape == FAR ? load + 4e6 : load;
}

static void fill_set(struct pulls *pulls, struct be_random *random, int family, double mean,
                     double cv, enum shape shape, size_t n)
{
  size_t g = pulls->sets++;
  pulls->n[g] = n;
  for (size_t i = 0; i < n; i++) {
    pulls->x[g][i] = shaped(draw(random, family, mean, cv), shape);
    pulls->bound[g][i] = false;
    pulls->cause[g][i] = BE_CAUSE_NONE;
    pulls->links[g][i] = 1;
  }
}

/* Each case has a random stream of its own, so that a new one does not change the others. */
static struct be_random begin(struct pulls *pulls, const char *kind, int number)
{
  uint64_t stream = (uint64_t)number;
  for (const char *c = kind; *c; c++) stream = stream * 131 + (unsigned char)*c;
  struct be_random random;
  be_random_init(&random, 2027, stream);
  *pulls = (struct pulls){.kind = kind};
  snprintf(pulls->name, sizeof pulls->name, "%s %d", kind, number);
  return random;
}

static void hand_over(struct peers *peers, const struct pulls *pulls,
                      void (*figures)(const struct peers *, const struct pulls *))
{
  for (size_t g = 0; g < pulls->sets; g++)
    for (size_t i = 0; i < pulls->n[g]; i++)
      fprintf(peers->pulls, "%s,%s,%zu,%.17g,%d,%d,%.17g\n", pulls->name, pulls->kind, g,
              pulls->x[g][i], pulls->bound[g][i], pulls->cause[g][i], pulls->links[g][i]);
  peers->name = pulls->name;
  figures(peers, pulls);
}

static double cv_of(int number)
{
  return 0.03 + 0.12 * (number % 7) / 6;
}

static void each_one(struct peers *peers, struct pulls *pulls)
{
  static const size_t sizes[] = {3, 4, 5, 6, 7, 8, 11, 14, 18, 19, 25, 37, 50, 60};
  int number = 0;
  for (size_t s = 0; s < sizeof sizes / sizeof *sizes; s++)
    for (int family = 0; family < FAMILIES; family++)
      for (int shape = PLAIN; shape < SHAPES; shape++) {
        struct be_random random = begin(pulls, "one", number++);
        fill_set(pulls, &random, family, 13.7, cv_of(number), shape, sizes[s]);
        hand_over(peers, pulls, one_set);
      }
  for (number = 0; number < 3; number++) {
    struct be_random random = begin(pulls, "boot", number);
    fill_set(pulls, &random, number % FAMILIES, 21.3, cv_of(3 * number), PLAIN,
             13 + 9 * (size_t)number);
    fill_set(pulls, &random, number % FAMILIES, 26.9, cv_of(number), PLAIN,
             number % 2 ? 12 : pulls->n[0]);
    hand_over(peers, pulls, resampled);
  }
}

static void each_two(struct peers *peers, struct pulls *pulls)
{
  static const size_t sizes[][2] = {{3, 3},  {4, 7},   {5, 5},   {8, 12}, {9, 9},
                                    {3, 40}, {20, 13}, {30, 45}, {50, 9}, {60, 55}};
  int number = 0;
  for (size_t s = 0; s < sizeof sizes / sizeof *sizes; s++)
    for (int family = 0; family < FAMILIES; family++)
      for (int shape = PLAIN; shape < SHAPES; shape++) {
        struct be_random random = begin(pulls, "two", number++);
        double cv = cv_of(number);
        fill_set(pulls, &random, family, 13.7, cv, shape, sizes[s][0]);
        fill_set(pulls, &random, family, 13.7 * (1 + 0.5 * cv), cv, shape, sizes[s][1]);
        hand_over(peers, pulls, two_sets);
      }
  static const size_t pairs[] = {3, 5, 8, 11, 17, 30, 49, 60};
  number = 0;
  for (size_t s = 0; s < sizeof pairs / sizeof *pairs; s++)
    for (int shape = PLAIN; shape < SHAPES; shape++) {
      struct be_random random = begin(pulls, "paired", number++);
      fill_set(pulls, &random, number % FAMILIES, 48, 0.125, shape, pairs[s]);
      fill_set(pulls, &random, number % FAMILIES, 50, 0.12, shape, pairs[s]);
      hand_over(peers, pulls, paired_sets);
    }
}

static void each_many(struct peers *peers, struct pulls *pulls)
{
  static const size_t sizes[][SETS_MAX] = {
      {5, 5, 5}, {3, 3, 3, 3},   {10, 10, 10, 10, 10}, {8, 8, 8, 8, 8, 8},
      {4, 9, 6}, {3, 12, 7, 20}, {15, 4, 9, 30, 11, 6}};
  int number = 0;
  for (size_t s = 0; s < sizeof sizes / sizeof *sizes; s++)
    for (int family = 0; family < FAMILIES; family++)
      for (int shape = PLAIN; shape < SHAPES; shape++) {
        struct be_random random = begin(pulls, "many", number++);
        double cv = cv_of(number);
        for (size_t g = 0; g < SETS_MAX && sizes[s][g] > 0; g++)
          fill_set(pulls, &random, family, 13.7 * (1 + 0.4 * cv * (double)g),
                   cv * (g % 2 ? 1.4 : 1), shape, sizes[s][g]);
        hand_over(peers, pulls, many_sets);
      }
  for (number = 0; number < 8; number++) {
    struct be_random random = begin(pulls, "benches", number);
    for (size_t g = 0; g < 3 + (size_t)number % 4; g++)
      fill_set(pulls, &random, number % FAMILIES, 13.7 + 0.4 * (double)(g % 3) * (number % 3), 0.04,
               PLAIN, number < 4 ? 5 : 4 + 2 * g);
    hand_over(peers, pulls, several_benches);
  }
}

static void each_standing(struct peers *peers, struct pulls *pulls)
{
  for (int number = 0; number < 12; number++) {
    struct be_random random = begin(pulls, "standing", number);
    for (size_t g = 0; g < 3 + (size_t)number % 4; g++)
      fill_set(pulls, &random, number % FAMILIES, 13.7 * (1 + 0.05 * (double)(g * g % 5)),
               cv_of(number), PLAIN, number < 4 ? 6 : 3 + (5 * g + (size_t)number) % 13);
    hand_over(peers, pulls, standing_sets);
  }
}

/* ---- with lower bounds ---- */

/* Each pull may be stopped at a load of its own; the share that is rises with `stop`. */
static void hold_some(struct pulls *pulls, struct be_random *random, size_t g, double mean,
                      double cv, double stop)
{
  for (size_t i = 0; i < pulls->n[g] && stop > 0; i++) {
    double at = mean * (1 + cv * (1.5 - 3 * stop + be_random_normal(random)));
    pulls->bound[g][i] = at < pulls->x[g][i];
    pulls->x[g][i] = fmin(at, pulls->x[g][i]);
  }
}

/* Sorts a set by load, bounds after events of one load. */
static void sort_set(struct pulls *pulls, size_t g)
{
  size_t order[PULLS_MAX], n = pulls->n[g];
  struct pulls old = *pulls;
  be_order(old.x[g], n, order);
  size_t next = 0;
  for (size_t begin = 0, end; begin < n; begin = end) {
    for (end = begin; end < n && old.x[g][order[end]] == old.x[g][order[begin]];) end++;
    for (int bound = 0; bound < 2; bound++)
      for (size_t i = begin; i < end; i++) {
        if (old.bound[g][order[i]] != bound) continue;
        pulls->x[g][next] = old.x[g][order[i]];
        pulls->bound[g][next] = old.bound[g][order[i]];
        pulls->cause[g][next] = old.cause[g][order[i]];
        pulls->links[g][next++] = old.links[g][order[i]];
      }
  }
}

static void each_held(struct peers *peers, struct pulls *pulls)
{
  static const size_t sizes[] = {6, 9, 15, 28, 60};
  static const double stops[] = {0, 0.35, 0.55};
  int number = 0;
  for (size_t s = 0; s < sizeof sizes / sizeof *sizes; s++)
    for (size_t stop = 0; stop < 3; stop++)
      for (int family = 0; family < FAMILIES; family++)
        for (int shape = PLAIN; shape <= TIED; shape++) {
          struct be_random random = begin(pulls, "held", number++);
          for (size_t g = 0; g < 2; g++) {
            double mean = 13.7 + 0.6 * (double)g, cv = cv_of(number);
            fill_set(pulls, &random, family, mean, cv, PLAIN, sizes[s] + 3 * g);
            hold_some(pulls, &random, g, mean, cv, stops[stop]);
            for (size_t i = 0; i < pulls->n[g]; i++) pulls->x[g][i] = shaped(pulls->x[g][i], shape);
            sort_set(pulls, g);
          }
          hand_over(peers, pulls, held_sets);
        }
}

static void each_chain(struct peers *peers, struct pulls *pulls)
{
  for (int number = 0; number < 6; number++) {
    struct be_random random = begin(pulls, "chain", number);
    fill_set(pulls, &random, BE_FAMILY_WEIBULL, 13.7, cv_of(number + 2), PLAIN,
             21 + 6 * (size_t)number);
    hold_some(pulls, &random, 0, 14.5, 0.1, number % 2 ? 0.3 : 0);
    for (size_t i = 0; i < pulls->n[0]; i++) {
      pulls->links[0][i] = (double)(1 + i % 3 * (1 + i % 3)); /* 1, 3, 7 */
      pulls->x[0][i] *= pow(pulls->links[0][i], -cv_of(number + 2));
    }
    sort_set(pulls, 0);
    hand_over(peers, pulls, chained_sets);
  }
}

static void each_cause(struct peers *peers, struct pulls *pulls)
{
  for (int number = 0; number < 12; number++) {
    struct be_random random = begin(pulls, "cause", number);
    bool complete = number % 3 == 0;
    fill_set(pulls, &random, number % FAMILIES, 13.7, 0.1, PLAIN, 9 + 4 * (size_t)number);
    hold_some(pulls, &random, 0, 13.7, 0.1, complete ? 0 : 0.35);
    for (size_t i = 0; i < pulls->n[0]; i++) {
      pulls->x[0][i] = shaped(pulls->x[0][i], number % 2 ? TIED : PLAIN);
      if (!pulls->bound[0][i]) pulls->cause[0][i] = (int)be_random_below(&random, 3);
    }
    sort_set(pulls, 0);
    hand_over(peers, pulls, caused_set);
  }
}

void each_case(struct peers *peers)
{
  static struct pulls pulls;
  each_one(peers, &pulls);
  each_two(peers, &pulls);
  each_many(peers, &pulls);
  each_standing(peers, &pulls);
  each_held(peers, &pulls);
  each_chain(peers, &pulls);
  each_cause(peers, &pulls);
}
