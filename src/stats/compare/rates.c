/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two rates. */
#include "stats/number/number.h"
#include "stats/compare/compare.h"

#include <assert.h>
#include <math.h>

/* ka of na and kb of nb, with all sums held fixed: ka may be anything in [low, high]. */
struct margins {
  double ka, na, nb, all; /* all = ka + kb */
  double low, high;
};

/* How likely ka is less, as it is, or more, but for one constant; and the sum of
 * ka times its weight. */
struct weights {
  double below, at, above, moment;
};

static struct margins margins_of(size_t ka, size_t na, size_t kb, size_t nb)
{
  struct margins m = {(double)ka, (double)na, (double)nb, (double)(ka + kb), 0, 0};
  m.low = fmax(0, m.all - m.nb);
  m.high = fmin(m.all, m.na);
  return m;
}

/* P(x + 1) / P(x); falls with x. */
static double step_up(const struct margins *m, double x, double odds)
{
  return odds * ((m->na - x) / (x + 1)) * ((m->all - x) / (m->nb - m->all + x + 1));
}

static double likeliest(const struct margins *m, double odds)
{
  double low = m->low, high = m->high;
  while (low < high) {
    double x = floor(low + (high - low) / 2);
    if (step_up(m, x, odds) > 1) low = x + 1;
    else high = x;
  }
  return low;
}

/* Weights by steps outward from the likeliest, which has 1: no gamma function takes part,
 * nothing overflows, and what underflows to 0 no longer counts. */
static struct weights weigh(const struct margins *m, double odds)
{
  struct weights sum = {0, 0, 0, 0};
  double middle = likeliest(m, odds), weight = 1;
  for (double x = middle; x <= m->high && weight > 0; x++) {
    *(x < m->ka ? &sum.below : x > m->ka ? &sum.above : &sum.at) += weight;
    sum.moment += weight * x;
    weight *= step_up(m, x, odds);
  }
  weight = 1;
  for (double x = middle; x > m->low && weight > 0;) {
    weight /= step_up(m, --x, odds);
    *(x < m->ka ? &sum.below : x > m->ka ? &sum.above : &sum.at) += weight;
    sum.moment += weight * x;
  }
  return sum;
}

static double all_of(const struct weights *w)
{
  return w->below + w->at + w->above;
}

/* ---- Fisher ---- */

/* The sum of all that are not likelier than the seen one. Two weights that are equal may
 * differ by rounding; a relative 1e-7, as is usual, is far more than that and far less than any
 * true difference of tables of less than a thousand (R takes the same). */
static double fisher(const struct margins *m)
{
  struct weights sum = weigh(m, 1);
  double most = sum.at * (1 + 1e-7), middle = likeliest(m, 1), weight = 1, within = 0;
  for (double x = middle; x <= m->high && weight > 0; x++) {
    if (weight <= most) within += weight;
    weight *= step_up(m, x, 1);
  }
  weight = 1;
  for (double x = middle; x > m->low && weight > 0;) {
    weight /= step_up(m, --x, 1);
    if (weight <= most) within += weight;
  }
  return fmin(1, within / all_of(&sum));
}

/* ---- odds ratio ---- */

struct odds_search {
  const struct margins *margins;
  double tail;
};

static double mean_less_seen(double log_odds, const void *search_)
{
  const struct odds_search *search = search_;
  struct weights w = weigh(search->margins, exp(log_odds));
  return w.moment / all_of(&w) - search->margins->ka;
}

static double upper_less_tail(double log_odds, const void *search_)
{
  const struct odds_search *search = search_;
  struct weights w = weigh(search->margins, exp(log_odds));
  return (w.at + w.above) / all_of(&w) - search->tail;
}

static double tail_less_lower(double log_odds, const void *search_)
{
  const struct odds_search *search = search_;
  struct weights w = weigh(search->margins, exp(log_odds));
  return search->tail - (w.at + w.below) / all_of(&w);
}

/* All three rise with the odds. exp(+-690) is still a double; no table of less than 1e100
 * pulls has its root beyond. */
static double odds_where(double (*f)(double, const void *), const struct odds_search *search)
{
  return exp(be_root(f, search, -690, 690));
}

/* Conditional maximum likelihood: the odds at which the seen ka is the mean; the exact ends
 * are those of Cornfield (Proc. 3rd Berkeley Symp. 4, 1956). Where the fixed sums leave no choice,
 * the table says nothing. */
static struct be_measure odds_ratio(const struct margins *m, double level)
{
  struct be_measure odds = {NAN, {0, INFINITY, level}};
  if (m->low == m->high) return odds;
  const struct odds_search search = {m, (1 - level) / 2};
  odds.value = m->ka == m->low ? 0 : INFINITY;
  if (m->ka > m->low && m->ka < m->high) odds.value = odds_where(mean_less_seen, &search);
  if (m->ka > m->low) odds.interval.low = odds_where(upper_less_tail, &search);
  if (m->ka < m->high) odds.interval.high = odds_where(tail_less_lower, &search);
  return odds;
}

/* ---- both ---- */

/* Newcombe, Stat. Med. 17 (1998) 873, method 10, from Wilson's intervals. */
static struct be_measure difference(size_t ka, size_t na, size_t kb, size_t nb, double level)
{
  double a = (double)ka / (double)na, b = (double)kb / (double)nb;
  struct be_interval of_a = be_rate_wilson(ka, na, level, false);
  struct be_interval of_b = be_rate_wilson(kb, nb, level, false);
  double down = hypot(a - of_a.low, of_b.high - b), up = hypot(of_a.high - a, b - of_b.low);
  return (struct be_measure){a - b, {a - b - down, a - b + up, level}};
}

void be_rates_compare(size_t ka, size_t na, size_t kb, size_t nb, double level,
                      struct be_rates *rates)
{
  assert(ka <= na && kb <= nb && level > 0 && level < 1);
  if (na == 0 || nb == 0) {
    const struct be_measure unknown = {NAN, {NAN, NAN, level}};
    *rates = (struct be_rates){NAN, NAN, unknown, unknown};
    return;
  }
  const struct margins margins = margins_of(ka, na, kb, nb);
  rates->fisher_p = fisher(&margins);
  rates->barnard_p = be_barnard(ka, na, kb, nb);
  rates->difference = difference(ka, na, kb, nb, level);
  rates->odds_ratio = odds_ratio(&margins, level);
}
