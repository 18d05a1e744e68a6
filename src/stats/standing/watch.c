/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The t test that may be looked at after every pull.
 *
 * Under invariance to location and scale (right Haar priors on what does not matter) and an
 * effect of N(0, g) deviations, the ratio of marginal densities of n_e effective pulls with
 * nu degrees of freedom and t is
 *
 *     e = r^(1/2) ((1 + q) / (1 + r q))^((nu + 1) / 2),  q = t^2 / nu,  r = 1 / (1 + n_e g)
 *
 * (Gonen, Johnson, Lu and Westfall, Am. Stat. 59, 2005, for two samples). It is the likelihood
 * ratio of the maximal invariant, so under no difference a martingale of mean 1 whatever the
 * deviation (Lai, Ann. Stat. 4, 1976; Wang and Ramdas, "Anytime-valid t-tests and confidence
 * sequences for Gaussian means with unknown variance", arXiv 2310.03722, 2023), and
 * by Ville's inequality it passes 1 / alpha, ever, with chance alpha at most: exact
 * at small n, where Robbins' normal mixture with the deviation put in is not. A proper mixture is
 * chosen over Lai's flat one because its evidence starts at 1, without a first sample set apart.
 * e < 1 / alpha is q (1 - K r) < K - 1 with K = (r^(-1/2) / alpha)^(2 / (nu + 1)). */
#include "stats/number/number.h"
#include "stats/standing/inside.h"

#include <assert.h>
#include <math.h>

static bool can_be(const struct be_watch *watch)
{
  return watch->level > 0 && watch->level < 1 && watch->effect > 0 && isfinite(watch->effect);
}

/* One pull's variance with nu degrees of freedom, n_e effective pulls behind the difference. */
static void look(double difference, double variance, double nu, double n_e,
                 const struct be_watch *watch, struct be_watched *watched)
{
  *watched = (struct be_watched){0, difference, {-INFINITY, INFINITY, watch->level}, false};
  if (!(nu > 0) || !(n_e > 0)) return;
  double root = 1 + n_e * watch->effect * watch->effect, r = 1 / root;
  double sum = variance * nu;
  /* q = n_e d^2 / (nu s^2). Without any scatter the rig's resolution hides it: no evidence. */
  if (!(sum > 0)) return;
  double q = n_e * difference * difference / sum;
  watched->log_e = (nu + 1) / 2 * (log1p(q) - log1p(r * q)) - log(root) / 2;
  double log_k = 2 / (nu + 1) * (log(root) / 2 - log1p(-watch->level));
  double k_less_1 = expm1(log_k), rest = 1 - r * (1 + k_less_1);
  if (rest > 0) {
    double half = sqrt(k_less_1 / rest * sum / n_e);
    watched->interval.low = difference - half;
    watched->interval.high = difference + half;
  }
  watched->apart = watched->log_e >= -log1p(-watch->level);
}

void be_watch_paired(const struct be_summary *differences, const struct be_watch *watch,
                     struct be_watched *watched)
{
  assert(can_be(watch));
  double n = (double)differences->n;
  look(differences->n ? differences->mean : NAN, differences->sd * differences->sd, n - 1, n, watch,
       watched);
}

/* Sum of squares about the mean; 0 for one pull or none. */
static double squares(const struct be_summary *knot)
{
  return knot->n < 2 ? 0 : knot->sd * knot->sd * (double)(knot->n - 1);
}

static double degrees(const struct be_summary *knot)
{
  return knot->n < 2 ? 0 : (double)(knot->n - 1);
}

static void look_at_two(const struct be_summary *a, const struct be_summary *b, double sum,
                        double nu, const struct be_watch *watch, struct be_watched *watched)
{
  double na = (double)a->n, nb = (double)b->n;
  bool both = a->n && b->n;
  look(both ? a->mean - b->mean : NAN, nu > 0 ? sum / nu : 0, nu, both ? na * nb / (na + nb) : 0,
       watch, watched);
}

void be_watch_two(const struct be_summary *a, const struct be_summary *b,
                  const struct be_watch *watch, struct be_watched *watched)
{
  assert(can_be(watch));
  look_at_two(a, b, squares(a) + squares(b), degrees(a) + degrees(b), watch, watched);
}

/* ---- all pairs ---- */

void be_watch_start(size_t count, struct be_watched_pair *pairs)
{
  for (size_t a = 0; a < count; a++)
    for (size_t b = a + 1; b < count; b++)
      *pairs++ =
          (struct be_watched_pair){a, b, {0, NAN, {-INFINITY, INFINITY, NAN}, false}, 0, 1, false};
}

/* Holm's steps on p = exp(-most). Were a true pair ever found, the p of one of the true ones
 * would have passed alpha over their number, each of which happens with that chance at most: so the
 * level holds over all pairs and all looks at once. */
static void adjust(struct be_watched_pair *pairs, size_t count, double alpha, const double *key,
                   const size_t *order)
{
  double largest = 0;
  for (size_t i = 0; i < count; i++) {
    struct be_watched_pair *pair = &pairs[order[i]];
    largest = fmax(largest, fmin(1, (double)(count - i) * exp(key[order[i]])));
    pair->p = largest;
    /* The hair is rounding's: a level of 0.95 leaves 0.05 and a little. */
    pair->apart = pair->p <= alpha * (1 + 1e-12);
  }
}

enum be_status be_watch_look(const struct be_summary *knots, size_t count, enum be_scatter scatter,
                             const struct be_watch *watch, struct be_watched_pair *pairs,
                             struct be_err *err)
{
  return be_watch_pulled(knots, count, SIZE_MAX, scatter, watch, pairs, err);
}

enum be_status be_watch_pulled(const struct be_summary *knots, size_t count, size_t pulled,
                               enum be_scatter scatter, const struct be_watch *watch,
                               struct be_watched_pair *pairs, struct be_err *err)
{
  if (!can_be(watch)) {
    be_fail(err, BE_WRONG_USE, "an effect of %g at level %g cannot be looked for", watch->effect,
            watch->level);
    return be_fail_remedy(err, "give an effect above 0 and a level between 0 and 1");
  }
  if (count > BE_KNOTS_MAX)
    return be_fail(err, BE_TOO_LARGE, "at most %d knots can stand side by side", BE_KNOTS_MAX);
  if (count < 2) return BE_OK;
  size_t places = count * (count - 1) / 2;
  enum be_status status = BE_OK;
  double *key = be_alloc_array(places, sizeof *key);
  size_t *order = be_alloc_array(places, sizeof *order);
  if (!key || !order) {
    status = be_fail(err, BE_NO_MEMORY, "no memory to look at %zu knots", count);
    goto done;
  }
  double sum = 0, nu = 0;
  for (size_t i = 0; i < count; i++) sum += squares(&knots[i]), nu += degrees(&knots[i]);
  const struct be_watch each = {watch->effect, 1 - (1 - watch->level) / (double)places};
  for (size_t i = 0; i < places; i++) {
    struct be_watched_pair *pair = &pairs[i];
    const struct be_summary *a = &knots[pair->a], *b = &knots[pair->b];
    bool same = pulled < count && pulled != pair->a && pulled != pair->b;
    if (scatter == BE_SCATTER_ALL) look_at_two(a, b, sum, nu, &each, &pair->now);
    else if (same) /* as it was */
      ;
    else if (scatter == BE_SCATTER_UNLIKE) be_watch_unlike(a, b, &each, &pair->now);
    else be_watch_two(a, b, &each, &pair->now);
    pair->most = fmax(pair->most, pair->now.log_e);
    key[i] = -pair->most;
  }
  be_order(key, places, order);
  adjust(pairs, places, 1 - watch->level, key, order);
done:
  be_free(order);
  be_free(key);
  return status;
}
