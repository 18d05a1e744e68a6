/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two rates in several strata. */
#include "stats/compare/compare.h"

#include <assert.h>
#include <math.h>

/* Chances of ka = low, low + 1, ... with the sums of one table held fixed, from the likeliest
 * outward; returns how many there are. Sizes as in Fisher's test (rates.c). */
static size_t fill_table(const struct be_two_rates *t, double *chance, size_t *low)
{
  size_t all = t->ka + t->kb, high = all < t->na ? all : t->na;
  *low = all > t->nb ? all - t->nb : 0;
  size_t count = high - *low + 1, top = 0;
  double sum = 0;
  chance[0] = 1;
  for (size_t i = 1; i < count; i++) {
    double x = (double)(*low + i - 1);
    double up =
        ((double)t->na - x) * ((double)all - x) / ((x + 1) * ((double)t->nb - (double)all + x + 1));
    if (up >= 1) top = i;
    chance[i] = up;
  }
  /* chance[i] is the step up to i: turn steps into weights, 1 at the top. */
  double weight = 1;
  for (size_t i = top + 1; i < count; i++) chance[i] = weight *= chance[i];
  weight = 1;
  for (size_t i = top; i > 0; i--) {
    double step = chance[i];
    chance[i] = weight;
    weight /= step;
  }
  chance[0] = weight;
  for (size_t i = 0; i < count; i++) sum += chance[i];
  for (size_t i = 0; i < count; i++) chance[i] /= sum;
  return count;
}

/* The chances of the sum of ka over all tables; room holds as many again. */
static size_t fill_sum(const struct be_two_rates *list, size_t count, double *sum, double *room,
                       double *table, size_t *seen)
{
  size_t reached = 1;
  *seen = 0;
  sum[0] = 1;
  for (size_t t = 0; t < count; t++) {
    size_t low, more = fill_table(&list[t], table, &low);
    *seen += list[t].ka - low;
    for (size_t i = 0; i < reached + more - 1; i++) room[i] = 0;
    for (size_t i = 0; i < reached; i++)
      for (size_t k = 0; k < more; k++) room[i + k] += sum[i] * table[k];
    reached += more - 1;
    for (size_t i = 0; i < reached; i++) sum[i] = room[i];
  }
  return reached;
}

/* Weights of Mantel and Haenszel; ends by Zou and Donner (Stat. Med. 27, 2008) from Wilson's of
 * each rate, so that one stratum gives Newcombe's. */
static struct be_measure difference(const struct be_two_rates *list, size_t count, double level)
{
  double weights = 0, value = 0, down = 0, up = 0;
  for (size_t t = 0; t < count; t++) {
    double na = (double)list[t].na, nb = (double)list[t].nb;
    weights += na * nb / (na + nb);
  }
  for (size_t t = 0; t < count; t++) {
    const struct be_two_rates *of = &list[t];
    double na = (double)of->na, nb = (double)of->nb, weight = na * nb / (na + nb) / weights;
    double a = (double)of->ka / na, b = (double)of->kb / nb;
    struct be_interval of_a = be_rate_wilson(of->ka, of->na, level, false);
    struct be_interval of_b = be_rate_wilson(of->kb, of->nb, level, false);
    value += weight * (a - b);
    down += weight * weight * ((a - of_a.low) * (a - of_a.low) + (of_b.high - b) * (of_b.high - b));
    up += weight * weight * ((of_a.high - a) * (of_a.high - a) + (b - of_b.low) * (b - of_b.low));
  }
  return (struct be_measure){value, {value - sqrt(down), value + sqrt(up), level}};
}

enum be_status be_rates_strata(const struct be_two_rates *list, size_t count, double level,
                               struct be_strata *strata, struct be_err *err)
{
  assert(level > 0 && level < 1);
  *strata = (struct be_strata){NAN, NAN, {NAN, {NAN, NAN, level}}};
  size_t most = 1, largest = 1;
  for (size_t t = 0; t < count; t++) {
    assert(list[t].na > 0 && list[t].nb > 0 && list[t].ka <= list[t].na &&
           list[t].kb <= list[t].nb);
    most += list[t].na;
    if (list[t].na + 1 > largest) largest = list[t].na + 1;
  }
  if (count == 0) return BE_OK;
  double *sum = be_alloc_array(most, sizeof *sum), *room = be_alloc_array(most, sizeof *room);
  double *table = be_alloc_array(largest, sizeof *table);
  enum be_status status = BE_OK;
  if (sum && room && table) {
    size_t seen, reached = fill_sum(list, count, sum, room, table, &seen);
    /* Equal but for rounding counts as equal, as in Fisher's test. */
    double limit = sum[seen] * (1 + 1e-7), within = 0;
    double least = fmin(sum[0], sum[reached - 1]);
    for (size_t i = 0; i < reached; i++)
      if (sum[i] <= limit) within += sum[i];
    strata->p = fmin(1, within);
    strata->least_p = 0;
    for (size_t i = 0; i < reached; i++)
      if (sum[i] <= least * (1 + 1e-7)) strata->least_p += sum[i];
    strata->least_p = fmin(1, strata->least_p);
    strata->difference = difference(list, count, level);
  } else {
    status = be_fail(err, BE_NO_MEMORY, "no memory to compare %zu tables", count);
  }
  be_free(table);
  be_free(room);
  be_free(sum);
  return status;
}
