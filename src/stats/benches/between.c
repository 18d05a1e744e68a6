/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/benches/benches.h"

#include <assert.h>
#include <math.h>

/* ASTM E177: 1.96 sqrt 2, rounded. */
static const double LIMIT = 2.8;
/* The two-sided level of h and the level of k in E691. */
static const double DOUBT = 0.005;

/* The largest that one of p standardised means can be is (p - 1) / sqrt p; below that h is
 * Student's t of p - 2 degrees of freedom in disguise (E691, section 15). */
double be_h_critical(size_t benches, double alpha)
{
  assert(alpha > 0 && alpha < 1);
  if (benches < 2) return NAN;
  double p = (double)benches;
  if (benches == 2) return 1 / sqrt(2);
  double t = be_t_quantile(alpha / 2, p - 2), over = (p - 2) / t / t;
  return (p - 1) / sqrt(p * (1 + over));
}

/* k^2 = p F / (F + p - 1), F the bench's variance over that of the others. */
double be_k_critical(size_t benches, size_t n, double alpha)
{
  assert(alpha > 0 && alpha < 1);
  if (benches < 2 || n < 2) return NAN;
  double p = (double)benches, df = (double)(n - 1);
  double f = be_f_quantile(alpha, df, (p - 1) * df);
  return sqrt(p / (1 + (p - 1) / f));
}

/* What the benches that have 2 pulls or more add up to. */
struct sums {
  double benches, n, n_squared;
  double mean, weighted; /* of the cell means: plain, and by pulls */
  double within, df;     /* squares about the cell means */
  size_t fewest;
};

/* Means are taken as offsets from the first, so that a load that all share costs no digits. */
static struct sums add_up(const struct be_summary *benches, size_t count)
{
  struct sums sums = {.fewest = 0};
  double first = 0, plain = 0, weighted = 0;
  for (size_t i = 0; i < count; i++) {
    const struct be_summary *bench = &benches[i];
    if (bench->n < 2) continue;
    if (sums.benches == 0) first = bench->mean;
    double n = (double)bench->n;
    sums.benches++;
    sums.n += n;
    sums.n_squared += n * n;
    plain += bench->mean - first;
    weighted += n * (bench->mean - first);
    sums.df += n - 1;
    sums.within += (n - 1) * bench->sd * bench->sd;
    if (sums.fewest == 0 || bench->n < sums.fewest) sums.fewest = bench->n;
  }
  sums.mean = first + plain / sums.benches;
  sums.weighted = first + weighted / sums.n;
  return sums;
}

/* E691 for cells of equal n: s_R^2 = s_x^2 + s_r^2 (n - 1) / n. In general s_L^2 is what the
 * mean square between has over that within, divided by the n of cells that stands for all
 * (ISO 5725-2, 7.4.5; Searle, Biometrics 12, 1956); for equal n the two are the same. */
void be_precision_of(const struct be_summary *benches, size_t count, struct be_precision *precision,
                     double *h, double *k)
{
  const double unknown = NAN;
  for (size_t i = 0; i < count; i++) h[i] = k[i] = unknown;
  struct sums sums = add_up(benches, count);
  *precision = (struct be_precision){(size_t)sums.benches,
                                     unknown,
                                     unknown,
                                     unknown,
                                     unknown,
                                     unknown,
                                     unknown,
                                     unknown,
                                     unknown,
                                     unknown};
  if (sums.benches < 2) return;
  double apart = 0, between = 0, within = sums.within / sums.df, left = sums.benches - 1;
  for (size_t i = 0; i < count; i++) {
    if (benches[i].n < 2) continue;
    double off = benches[i].mean - sums.mean, off_weighted = benches[i].mean - sums.weighted;
    apart += off * off;
    between += (double)benches[i].n * off_weighted * off_weighted;
  }
  double n = (sums.n - sums.n_squared / sums.n) / left;
  double among = fmax(0, (between / left - within) / n);
  precision->mean = sums.mean;
  precision->cell_deviation = sqrt(apart / left);
  precision->repeatability = sqrt(within);
  precision->between = sqrt(among);
  precision->reproducibility = sqrt(among + within);
  precision->limit_r = LIMIT * precision->repeatability;
  precision->limit_R = LIMIT * precision->reproducibility;
  precision->h_critical = be_h_critical(precision->benches, DOUBT);
  precision->k_critical = be_k_critical(precision->benches, sums.fewest, DOUBT);
  for (size_t i = 0; i < count; i++) {
    if (benches[i].n < 2) continue;
    h[i] = (benches[i].mean - sums.mean) / precision->cell_deviation;
    k[i] = benches[i].sd / precision->repeatability;
  }
}
