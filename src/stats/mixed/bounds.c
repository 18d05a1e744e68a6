/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The EM for lower bounds, as the header says it. With a = (t - eta) / sigma and
 * lambda = phi(a) / Q(a) of a bound t (Tobin 1958; Aitkin 1981):
 *   mean above t          eta + sigma lambda
 *   variance about it     sigma^2 (1 - lambda (lambda - a))
 *   what it tells         lambda (lambda - a), beside 1 of an event
 * A round maps (eta of the bounds, log sigma) to itself; plain rounds gain little when many are
 * bounds, so every two are extrapolated (SQUAREM, scheme S3 of Varadhan and Roland 2008). */
#include "stats/mixed/inside.h"
#include "stats/number/number.h"

#include <math.h>
#include <string.h>

enum { ROUNDS_MOST = 2000, AGAIN_MOST = 4 };

/* In deviations: leaves 8 digits of the estimates where a round takes off a tenth or more. */
static const double still = 1e-10;
static const double half_log_two_pi = 0.91893853320467274;

void be_completion_load(const struct be_completion *completion, struct be_profile *profile)
{
  struct be_factor *factor = &profile->factor;
  const struct be_nodes *nodes = completion->nodes;
  memset(factor->right, 0, factor->columns * sizeof *factor->right);
  double squares = 0, lost = 0;
  for (size_t i = 0; i < completion->data->n; i++) {
    double y = completion->y[i], term = y * y - lost, sum = squares + term;
    lost = (sum - squares) - term;
    squares = sum;
    size_t count = be_nodes_row(nodes, i, completion->entries);
    for (size_t e = 0; e < count; e++) {
      const struct be_entry *entry = &completion->entries[e];
      double *right = factor->right + factor->scalar[completion->place[entry->node]];
      for (size_t c = 0; c < entry->width; c++) right[c] += entry->value[c] * y;
    }
  }
  factor->square = squares + completion->extra;
}

/* bound: the rows; limit: their y; x: eta of each and log sigma; and two more such. */
struct rounds {
  struct be_completion *completion;
  struct be_profile *profile;
  struct be_search *search;
  size_t count, done;
  size_t *row;
  double *limit, *x, *first, *second;
};

static void complete(struct rounds *rounds, const double *x)
{
  double sigma = exp(x[rounds->count]), extra = 0;
  for (size_t b = 0; b < rounds->count; b++) {
    double a = (rounds->limit[b] - x[b]) / sigma;
    double lambda = exp(-a * a / 2 - half_log_two_pi - be_normal_log_upper(a));
    /* Far out lambda is a + 1/a - 2/a^3: the difference has no digits left. */
    double tells = a > 1e4 ? 1 - 1 / (a * a) : fmin(1, lambda * (lambda - a));
    rounds->completion->y[rounds->row[b]] = x[b] + sigma * lambda;
    rounds->completion->weights[rounds->row[b]] = tells;
    extra += sigma * sigma * (1 - tells);
  }
  rounds->completion->extra = extra;
  be_completion_load(rounds->completion, rounds->profile);
}

static void read_state(struct rounds *rounds, double *x)
{
  struct be_profile *profile = rounds->profile;
  const struct be_completion *completion = rounds->completion;
  struct be_lambda lambda;
  be_profile_lambda(profile, rounds->search->theta, &lambda);
  be_profile_effects(profile, &lambda);
  for (size_t b = 0; b < rounds->count; b++) {
    size_t count = be_nodes_row(completion->nodes, rounds->row[b], completion->entries);
    double eta = 0;
    for (size_t e = 0; e < count; e++) {
      const struct be_entry *entry = &completion->entries[e];
      const double *effects =
          profile->effects + profile->factor.scalar[completion->place[entry->node]];
      for (size_t c = 0; c < entry->width; c++) eta += entry->value[c] * effects[c];
    }
    x[b] = eta;
  }
  x[rounds->count] = log(rounds->search->point.sigma);
}

/* One round: from x to next. */
static bool round_once(struct rounds *rounds, const double *x, double *next)
{
  complete(rounds, x);
  rounds->done++;
  be_search_settle(rounds->profile, rounds->search, false);
  struct be_point point;
  if (!be_profile_at(rounds->profile, rounds->search->theta, &point)) return false;
  rounds->search->point.sigma = point.sigma;
  rounds->search->point.criterion = point.criterion;
  read_state(rounds, next);
  return true;
}

/* How far two states lie apart, in deviations. */
static double apart(const struct rounds *rounds, const double *a, const double *b)
{
  double most = fabs(a[rounds->count] - b[rounds->count]), sigma = exp(a[rounds->count]);
  for (size_t i = 0; i < rounds->count; i++) most = fmax(most, fabs(a[i] - b[i]) / sigma);
  return most;
}

/* From x, first = F(x), second = F(first) to x again. */
static void extrapolate(struct rounds *rounds)
{
  double steps = 0, bends = 0, sigma = exp(rounds->x[rounds->count]);
  for (size_t i = 0; i <= rounds->count; i++) {
    double unit = i < rounds->count ? sigma : 1;
    double r = (rounds->first[i] - rounds->x[i]) / unit;
    double v = (rounds->second[i] - rounds->first[i]) / unit - r;
    steps += r * r;
    bends += v * v;
  }
  double alpha = bends > 0 ? -sqrt(steps / bends) : -1;
  alpha = fmax(fmin(alpha, -1), -64);
  for (size_t i = 0; i <= rounds->count; i++) {
    double r = rounds->first[i] - rounds->x[i];
    double v = rounds->second[i] - rounds->first[i] - r;
    rounds->x[i] += -2 * alpha * r + alpha * alpha * v;
  }
}

static bool go_round(struct rounds *rounds)
{
  while (rounds->done < ROUNDS_MOST) {
    if (!round_once(rounds, rounds->x, rounds->first)) return false;
    bool settled = apart(rounds, rounds->first, rounds->x) < still;
    if (settled || !round_once(rounds, rounds->first, rounds->second)) return settled;
    extrapolate(rounds);
  }
  return false;
}

static bool run(struct rounds *rounds, double *before)
{
  struct be_search *search = rounds->search;
  struct be_point point;
  if (!be_profile_at(rounds->profile, search->theta, &point)) return false;
  read_state(rounds, rounds->x);
  for (int again = 0; again < AGAIN_MOST; again++) {
    if (!go_round(rounds)) return false;
    memcpy(before, search->theta, sizeof search->theta);
    /* A deviation that was at zero at first may not be with the bounds completed. */
    be_search_find(rounds->profile, search);
    double most = 0;
    for (size_t i = 0; i < rounds->profile->parameters; i++)
      most = fmax(most, fabs(search->theta[i] - before[i]));
    if (most < 1e-6) return true;
    if (!be_profile_at(rounds->profile, search->theta, &point)) return false;
    read_state(rounds, rounds->x);
  }
  return false;
}

enum be_status be_completion_run(struct be_completion *completion, struct be_profile *profile,
                                 struct be_search *search, struct be_mixed_summary *summary,
                                 struct be_err *err)
{
  struct rounds rounds = {completion, profile, search, summary->bounds, 0, NULL, NULL,
                          NULL,       NULL,    NULL};
  size_t count = summary->bounds;
  double before[BE_MIXED_THETA_MAX];
  enum be_status status = BE_NO_MEMORY;
  rounds.row = be_alloc_array(count, sizeof *rounds.row);
  rounds.limit = be_alloc_array(count, sizeof *rounds.limit);
  rounds.x = be_alloc_array(count + 1, sizeof *rounds.x);
  rounds.first = be_alloc_array(count + 1, sizeof *rounds.first);
  rounds.second = be_alloc_array(count + 1, sizeof *rounds.second);
  if (!rounds.row || !rounds.limit || !rounds.x || !rounds.first || !rounds.second) {
    be_fail(err, status, "no memory for %zu lower bounds", count);
    goto done;
  }
  for (size_t i = 0, b = 0; i < completion->data->n; i++) {
    if (!completion->data->bound[i]) continue;
    rounds.row[b] = i;
    rounds.limit[b++] = completion->y[i];
  }
  if (!search->why && !run(&rounds, before) && !search->why)
    search->why = "the lower bounds leave it open how strong or how scattered the pulls are";
  summary->rounds = rounds.done;
  status = BE_OK;
done:
  be_free(rounds.second);
  be_free(rounds.first);
  be_free(rounds.x);
  be_free(rounds.limit);
  be_free(rounds.row);
  return status;
}
