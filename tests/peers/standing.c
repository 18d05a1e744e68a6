/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ranks, chances of places, and tests that may be looked at after every pull. */
#include "peers.h"

#include <assert.h>
#include <stdlib.h>

static const double LEVEL = 0.95;
enum { PAIRS_MAX = SETS_MAX * (SETS_MAX - 1) / 2, DRAWINGS = 20000 };

static void tell_watched(const struct peers *peers, const char *name, double effect,
                         const struct be_watched *watched)
{
  char figure[60];
  snprintf(figure, sizeof figure, "watch %s log e", name);
  tell_at(peers, CHANCE, figure, effect, watched->log_e);
  snprintf(figure, sizeof figure, "watch %s low", name);
  tell_at(peers, QUANTILE, figure, effect, watched->interval.low);
  snprintf(figure, sizeof figure, "watch %s high", name);
  tell_at(peers, QUANTILE, figure, effect, watched->interval.high);
}

static void watch(const struct peers *peers, const struct pulls *pulls,
                  const struct be_summary *sets)
{
  static const double effects[] = {0.4, 1, 2.3};
  double apart[PULLS_MAX];
  size_t both = pulls->n[0] < pulls->n[1] ? pulls->n[0] : pulls->n[1];
  struct be_summary differences;
  for (size_t i = 0; i < both; i++) apart[i] = pulls->x[0][i] - pulls->x[1][i];
  be_summary_of(apart, both, &differences);
  for (size_t e = 0; e < 3; e++) {
    const struct be_watch how = {effects[e], LEVEL};
    struct be_watched watched;
    be_watch_paired(&differences, &how, &watched);
    tell_watched(peers, "paired", effects[e], &watched);
    be_watch_two(&sets[0], &sets[1], &how, &watched);
    tell_watched(peers, "two", effects[e], &watched);
    be_watch_unlike(&sets[0], &sets[1], &how, &watched);
    tell_watched(peers, "unlike", effects[e], &watched);
  }
}

/* One look at all pairs, with one deviation for all. */
static void watch_all(const struct peers *peers, const struct pulls *pulls,
                      const struct be_summary *sets)
{
  const struct be_watch how = {1, LEVEL};
  struct be_watched_pair pairs[PAIRS_MAX];
  size_t all = pulls->sets * (pulls->sets - 1) / 2;
  be_watch_start(pulls->sets, pairs);
  enum be_status status = be_watch_look(sets, pulls->sets, BE_SCATTER_ALL, &how, pairs, NULL);
  assert(status == BE_OK);
  (void)status;
  for (size_t i = 0; i < all; i++) {
    double at = 10 * (double)pairs[i].a + (double)pairs[i].b;
    tell_at(peers, CHANCE, "watch all p", at, pairs[i].p);
    tell_at(peers, QUANTILE, "watch all low", at, pairs[i].now.interval.low);
  }
}

static void rank_sets(const struct peers *peers, const struct be_standing *standing)
{
  const struct be_resampling by = {2027, DRAWINGS, LEVEL, 0};
  for (int together = 0; together < 2; together++) {
    struct be_rank_set sets[SETS_MAX];
    enum be_status status =
        be_rank_sets(standing, BE_SEPARATE_BONFERRONI, together, &by, sets, NULL, NULL);
    assert(status == BE_OK);
    for (size_t g = 0; g < standing->count; g++) {
      double at = 10 * together + (double)g;
      tell_at(peers, QUANTILE, "rank critical", at, sets[g].critical);
      tell_at(peers, ESTIMATE, "rank low", at, (double)sets[g].low);
      tell_at(peers, ESTIMATE, "rank high", at, (double)sets[g].high);
    }
    status = be_rank_sets(standing, BE_SEPARATE_JOINT, together, &by, sets, NULL, NULL);
    assert(status == BE_OK);
    (void)status;
    for (size_t g = 0; g < (together ? 1 : standing->count); g++)
      tell_at(peers, MARGIN, "rank critical drawn", 10 * together + (double)g, sets[g].critical);
  }
}

static void chances(const struct peers *peers, const struct be_standing *standing)
{
  const struct be_resampling by = {2028, DRAWINGS, LEVEL, 0};
  struct be_chance chances[SETS_MAX];
  enum be_status status = be_chances(standing, 1, &by, chances, NULL);
  assert(status == BE_OK);
  (void)status;
  for (size_t g = 0; g < standing->count; g++)
    tell_at(peers, MARGIN, "chance of the best", (double)g, chances[g].best);
}

/* Each knot has a cell of its own. */
static void next(const struct peers *peers, const struct be_standing *standing,
                 const struct be_summary *sets, double deviation)
{
  struct be_next_cell cells[SETS_MAX];
  double weights[SETS_MAX * SETS_MAX] = {0};
  size_t count = standing->count;
  for (size_t g = 0; g < count; g++) {
    cells[g] = (struct be_next_cell){deviation, sets[g].n, 2, 1000, 1};
    weights[g * count + g] = 1;
  }
  const struct be_next_state state = {count, count, standing->value, weights, cells, standing->df};
  for (size_t top = 1; top < 3; top++) {
    const struct be_question question = {BE_QUESTION_TOP, top, 0, 0};
    double wrong;
    enum be_status status = be_next_wrong(&state, &question, &wrong, NULL);
    assert(status == BE_OK);
    (void)status;
    tell_at(peers, CHANCE, "wrong first places", (double)top, wrong);
  }
  const struct be_question question = {BE_QUESTION_PAIR, 0, 0, 1};
  double wrong;
  enum be_status status = be_next_wrong(&state, &question, &wrong, NULL);
  assert(status == BE_OK);
  (void)status;
  tell(peers, CHANCE, "wrong of two", wrong);
}

/* Logs of means, one relative scatter, and a plain line under all of them that was pulled nine
 * times. */
void standing_sets(const struct peers *peers, const struct pulls *pulls)
{
  struct be_summary sets[SETS_MAX];
  double value[SETS_MAX], covariance[SETS_MAX * SETS_MAX], squares = 0, df = 0;
  size_t count = pulls->sets;
  for (size_t g = 0; g < count; g++) {
    be_summary_of(pulls->x[g], pulls->n[g], &sets[g]);
    value[g] = log(sets[g].mean);
    squares += (double)(sets[g].n - 1) * pow(sets[g].sd / sets[g].mean, 2);
    df += (double)(sets[g].n - 1);
  }
  for (size_t a = 0; a < count; a++)
    for (size_t b = 0; b < count; b++)
      covariance[a * count + b] = squares / df * (1. / 9 + (a == b ? 1 / (double)sets[a].n : 0));
  const struct be_standing standing = {count, value, covariance, df};
  watch(peers, pulls, sets);
  watch_all(peers, pulls, sets);
  rank_sets(peers, &standing);
  chances(peers, &standing);
  next(peers, &standing, sets, sqrt(squares / df));
}
