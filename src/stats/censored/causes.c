/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/censored/inside.h"

#include <assert.h>
#include <math.h>

struct tally {
  size_t at_risk, events, of[BE_CAUSES_MAX];
};

/* As next_load of survival.c, but by cause. */
static double next_rows(const struct be_caused *rows, size_t n, size_t causes, size_t *i,
                        struct tally *tally)
{
  double load = rows[*i].load;
  *tally = (struct tally){.at_risk = n - *i};
  for (; *i < n && rows[*i].load == load; ++*i) {
    int cause = rows[*i].cause;
    if (cause == BE_CAUSE_NONE) continue;
    assert(cause >= 0 && (size_t)cause < causes);
    assert(!(*i > 0 && rows[*i - 1].load == load && rows[*i - 1].cause == BE_CAUSE_NONE));
    tally->events++;
    tally->of[cause]++;
  }
  assert(*i == n || rows[*i].load > load);
  return load;
}

/* F_k = sum of S(before) d_k / m. */
static void sum_up(const struct be_caused *rows, size_t n, double load, size_t causes,
                   double *incidence, double *intact)
{
  *intact = 1;
  for (size_t k = 0; k < causes; k++) incidence[k] = 0;
  for (size_t i = 0; i < n && rows[i].load <= load;) {
    struct tally tally;
    next_rows(rows, n, causes, &i, &tally);
    double m = (double)tally.at_risk;
    for (size_t k = 0; k < causes; k++) incidence[k] += *intact * (double)tally.of[k] / m;
    *intact *= (double)(tally.at_risk - tally.events) / m;
  }
}

/* A load's shares d_k / m are multinomial and those of different loads uncorrelated. With
 * S the survival before, and R what F_k still gains after it,
 *   dF_k = S d(q_k) - R dq / (1 - q),  q = sum of q_k,
 * whose variance at one load is
 *   R^2 d / (m (m - d)) + S^2 d_k (m - d_k) / m^3 - 2 R S d_k / m^2. */
static void add_variances(const struct be_caused *rows, size_t n, double load, size_t causes,
                          const double *incidence, double *variance)
{
  double survival = 1, so_far[BE_CAUSES_MAX] = {0};
  for (size_t k = 0; k < causes; k++) variance[k] = 0;
  for (size_t i = 0; i < n && rows[i].load <= load;) {
    struct tally tally;
    next_rows(rows, n, causes, &i, &tally);
    double m = (double)tally.at_risk, d = (double)tally.events;
    for (size_t k = 0; k < causes; k++) {
      double of = (double)tally.of[k];
      so_far[k] += survival * of / m;
      /* When all let go nothing is gained after it. */
      double rest = tally.events == tally.at_risk ? 0 : incidence[k] - so_far[k];
      if (rest != 0) variance[k] += rest * rest * d / (m * (m - d));
      variance[k] += survival * survival * of * (m - of) / (m * m * m);
      variance[k] -= 2 * rest * survival * of / (m * m);
    }
    survival *= (m - d) / m;
  }
}

void be_incidence(const struct be_caused *rows, size_t n, double load, size_t causes, double level,
                  struct be_measure *incidence, double *intact)
{
  assert(causes >= 1 && causes <= BE_CAUSES_MAX && level > 0 && level < 1);
  double value[BE_CAUSES_MAX], variance[BE_CAUSES_MAX];
  sum_up(rows, n, load, causes, value, intact);
  add_variances(rows, n, load, causes, value, variance);
  for (size_t k = 0; k < causes; k++) {
    incidence[k].value = fmin(value[k], 1);
    incidence[k].interval = be_share_interval(value[k], sqrt(fmax(variance[k], 0)), level);
  }
}

void be_only_cause(const struct be_caused *rows, size_t n, int cause, struct be_held *held)
{
  assert(cause >= 0 && cause < BE_CAUSES_MAX);
  for (size_t i = 0; i < n; i++)
    held[i] = (struct be_held){rows[i].load, rows[i].cause != cause, 1};
}
