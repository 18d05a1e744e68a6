/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two knots are compared combination by combination, by each pull's share of the plain line of its
 * own spool (a plain line that both were divided by cancels), or by load where both were tied on
 * the same spools. */
#include "app/versus/versus.h"

#include <math.h>

/* ---- one combination ---- */

static struct be_interval percent_of_logs(const struct be_estimate *log_ratio, double level)
{
  struct be_interval logs = be_estimate_interval(log_ratio, level);
  return (struct be_interval){100 * (exp(logs.low) - 1), 100 * (exp(logs.high) - 1), level};
}

static struct be_interval points_of(const struct survey *survey, const struct form *points)
{
  struct be_estimate estimate = be_form_estimate(survey, points);
  struct be_interval interval = be_estimate_interval(&estimate, survey->how.level);
  return (struct be_interval){100 * interval.low, 100 * interval.high, interval.level};
}

/* Relative variance of one pull. */
static double scatter_of(const struct matched *m, const struct cell *cell)
{
  const struct be_estimate *mean = be_matched_by_share(m) ? &cell->share : &cell->pooled;
  return (double)cell->n * mean->variance / (mean->value * mean->value);
}

/* The n of each at which a t test would show this log ratio at the power wanted; and how many more
 * pairs would, to those there are. What plain lines that do not cancel leave unsure stays. */
static void find_needed(const struct survey *survey, struct matched *m)
{
  double a = scatter_of(m, m->a), b = scatter_of(m, m->b), na = (double)m->a->n,
         nb = (double)m->b->n;
  double shift = fabs(m->log_ratio.value) / sqrt((a + b) / 2);
  double needed = be_power_two_n(shift, 1 - survey->how.level, survey->how.power);
  m->needed = isfinite(shift) ? ceil(needed) : NAN;
  m->more = isfinite(shift) ? INFINITY : NAN;
  double lines = fmax(0, m->ratio.variance - a / na - b / nb);
  for (size_t k = 1; k <= BE_MORE_MAX && isinf(m->more); k++)
    if (a / (na + (double)k) + b / (nb + (double)k) + lines <= (a + b) / needed)
      m->more = (double)k;
  m->apart = m->relative.low > 0 || m->relative.high < 0;
}

bool be_matched_by_share(const struct matched *m)
{
  return m->a->shares && m->b->shares;
}

static enum be_status compare(const struct survey *survey, struct matched *m, struct be_err *err)
{
  bool by_share = be_matched_by_share(m);
  double e_a = m->a->efficiency.value, e_b = m->b->efficiency.value;
  enum be_status status =
      be_form_add(&m->log_ratio, by_share ? &m->a->log_share : &m->a->log_load, 1, err);
  if (status == BE_OK)
    status = be_form_add(&m->log_ratio, by_share ? &m->b->log_share : &m->b->log_load, -1, err);
  /* d e = e d log e: the plain line that both share cancels as far as it does. */
  if (status == BE_OK && by_share) status = be_form_add(&m->points, &m->a->log_share, e_a, err);
  if (status == BE_OK && by_share) status = be_form_add(&m->points, &m->b->log_share, -e_b, err);
  if (status != BE_OK) return status;
  m->points.value = by_share ? e_a - e_b : NAN;
  m->ratio = be_form_estimate(survey, &m->log_ratio);
  m->relative = percent_of_logs(&m->ratio, survey->how.level);
  m->points_interval = points_of(survey, &m->points);
  const struct be_interval unknown = {NAN, NAN, survey->how.level};
  m->load = (struct be_difference){NAN, NAN, NAN, NAN, unknown};
  if (m->same_mix) be_welch(&m->a->pooled, &m->b->pooled, survey->how.level, &m->load);
  find_needed(survey, m);
  return BE_OK;
}

/* ---- all of them together ---- */

/* Where each of the two is clearly the stronger: at the level over all combinations at once
 * (Bonferroni), so that many combinations do not divide two that are alike. */
static void find_sides(struct pair *pair, double level)
{
  double each = 1 - (1 - level) / (double)pair->count;
  for (size_t i = 0; i < pair->count; i++) {
    const struct matched *m = &pair->list[i];
    struct be_interval interval = be_estimate_interval(&m->ratio, each);
    double value = m->log_ratio.value;
    if (interval.low > 0 && (!pair->for_a || value > pair->for_a->log_ratio.value)) pair->for_a = m;
    if (interval.high < 0 && (!pair->for_b || value < pair->for_b->log_ratio.value))
      pair->for_b = m;
  }
}

static enum be_status put_together(const struct survey *survey, struct pair *pair,
                                   struct be_err *err)
{
  enum be_status status = BE_OK;
  double weight = 1.0 / (double)pair->count;
  pair->has_points = true;
  for (size_t i = 0; i < pair->count && status == BE_OK; i++) {
    const struct matched *m = &pair->list[i];
    pair->n_a += m->a->n;
    pair->n_b += m->b->n;
    pair->told_a += m->a->told;
    pair->told_b += m->b->told;
    pair->slips_a += m->a->slips;
    pair->slips_b += m->b->slips;
    pair->has_points &= m->points.count > 0;
    status = be_form_add(&pair->log_ratio, &m->log_ratio, weight, err);
    if (status == BE_OK) status = be_form_add(&pair->points, &m->points, weight, err);
  }
  if (status != BE_OK) return status;
  pair->ratio = be_form_estimate(survey, &pair->log_ratio);
  pair->relative = percent_of_logs(&pair->ratio, survey->how.level);
  pair->points_interval = points_of(survey, &pair->points);
  find_sides(pair, survey->how.level);
  return BE_OK;
}

bool be_pair_known(const struct pair *pair)
{
  return pair->count && !isnan(pair->relative.low);
}

/* Over combinations of unlike strength points and per cent may disagree; then
 * neither knot is called the stronger. */
bool be_pair_contrary(const struct pair *pair)
{
  return pair->has_points && pair->points.value * pair->log_ratio.value < 0;
}

/* Each is the stronger somewhere: the average then speaks of no combination. */
bool be_pair_divided(const struct pair *pair)
{
  return pair->for_a && pair->for_b;
}

bool be_pair_apart(const struct pair *pair)
{
  return be_pair_known(pair) && !be_pair_contrary(pair) && !be_pair_divided(pair) &&
         (pair->relative.low > 0 || pair->relative.high < 0);
}

/* Shared combinations are compared when both scatters are known and the loads
 * speak of the knots and not of the spools. */
enum be_status be_pair_fill(const struct survey *survey, struct pair *pair, struct be_err *err)
{
  size_t most = survey->combinations_count;
  enum be_status status = BE_OK;
  pair->list = be_arena_alloc(survey->arena, most * sizeof *pair->list);
  pair->passed = be_arena_alloc(survey->arena, most * sizeof *pair->passed);
  if (!pair->list || !pair->passed) return be_no_memory(err);
  for (size_t i = 0; i < most && status == BE_OK; i++) {
    const struct combination *where = &survey->combinations[i];
    struct matched m = {.where = where,
                        .a = be_cell_find(survey, where, pair->a),
                        .b = be_cell_find(survey, where, pair->b)};
    if (!m.a || !m.b) continue;
    m.same_mix = be_same_mix(m.a, m.b);
    if (m.a->n < 2 || m.b->n < 2 || !be_fair(m.a, m.b)) {
      pair->passed[pair->passed_count++] = where;
      continue;
    }
    status = compare(survey, &m, err);
    pair->list[pair->count++] = m;
  }
  return status == BE_OK && pair->count ? put_together(survey, pair, err) : status;
}

void be_pair_empty(struct pair *pair)
{
  for (size_t i = 0; i < pair->count; i++) {
    be_form_free(&pair->list[i].log_ratio);
    be_form_free(&pair->list[i].points);
  }
  be_form_free(&pair->log_ratio);
  be_form_free(&pair->points);
}
