/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fault/failing.h"
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

static const struct be_watch usual = {1, 0.95};

/* ---- against the definition ---- */

/* Density of the noncentral t, from its distribution function (Johnson, Kotz and Balakrishnan,
 * Continuous Univariate Distributions 2, section 31.5). */
static double density(double t, double df, double shift)
{
  double lower = 1 - be_noncentral_t_upper(t, df, shift);
  double wider = 1 - be_noncentral_t_upper(t * sqrt(1 + 2 / df), df + 2, shift);
  return df / t * (wider - lower);
}

/* The mean over effects of the likelihood ratio of t, by Simpson's rule. */
static double slow_evidence(double t, double df, double n_e, double effect)
{
  enum { STEPS = 4000 };
  double sum = 0, step = 16 * effect / STEPS;
  for (int i = 0; i <= STEPS; i++) {
    double d = -8 * effect + step * i, weight = i == 0 || i == STEPS ? 1 : i % 2 ? 4 : 2;
    double prior = exp(-d * d / (2 * effect * effect)) / (effect * sqrt(2 * acos(-1)));
    sum += weight * prior * density(t, df, d * sqrt(n_e));
  }
  return sum * step / 3 / density(t, df, 0);
}

static void evidence_is_a_mean_of_likelihood_ratios(void **state)
{
  (void)state;
  static const double effects[] = {0.4, 1, 2.3};
  static const struct be_summary a = {7, 4.713, 0.061, NAN, NAN}, b = {4, 4.622, 0.083, NAN, NAN};
  struct be_difference student;
  be_student(&a, &b, 0.95, &student);
  for (size_t i = 0; i < 3; i++) {
    const struct be_watch watch = {effects[i], 0.95};
    struct be_watched watched;
    be_watch_two(&a, &b, &watch, &watched);
    /* 1e-12 of the distribution function over a density of about 0.05, times df / t. */
    assert_near(watched.log_e, log(slow_evidence(student.t, 9, 28.0 / 11, effects[i])), 1e-8);
    const struct be_summary d = {6, 0.137, 0.171, NAN, NAN};
    be_watch_paired(&d, &watch, &watched);
    double t = 0.137 / 0.171 * sqrt(6);
    assert_near(watched.log_e, log(slow_evidence(t, 5, 6, effects[i])), 1e-8);
  }
}

/* Moved so that an end of the interval becomes 0, the evidence is just enough. */
static void an_end_of_the_interval_is_just_enough(void **state)
{
  (void)state;
  static const double levels[] = {0.8, 0.95, 0.999};
  for (size_t i = 0; i < 3; i++) {
    const struct be_watch watch = {0.7, levels[i]};
    struct be_summary a = {31, 3.17, 0.21, NAN, NAN};
    const struct be_summary b = {19, 2.98, 0.17, NAN, NAN};
    struct be_watched watched, moved;
    be_watch_two(&a, &b, &watch, &watched);
    assert_true(isfinite(watched.interval.low));
    double half = (watched.interval.high - watched.interval.low) / 2;
    assert_near(watched.value, a.mean - b.mean, 0);
    assert_near((watched.interval.high + watched.interval.low) / 2, watched.value, 1e-15);
    assert_int_equal(watched.apart, watched.interval.low > 0);
    a.mean = b.mean - half;
    be_watch_two(&a, &b, &watch, &moved);
    assert_near(moved.log_e, -log(1 - levels[i]), 1e-10);
    a.mean = b.mean - half * 1.0001;
    be_watch_two(&a, &b, &watch, &moved);
    assert_true(moved.apart && moved.interval.high < 0);
    a.mean = b.mean - half * 0.9999;
    be_watch_two(&a, &b, &watch, &moved);
    assert_false(moved.apart);
  }
}

static void too_few_pulls_say_nothing(void **state)
{
  (void)state;
  const struct be_summary none = {0, NAN, NAN, NAN, NAN}, one = {1, 2.9, NAN, 2.9, 2.9},
                          two = {2, 3.1, 0.2, 2.9, 3.3}, alike = {5, 3.3, 0, 3.3, 3.3};
  struct be_watched watched;
  be_watch_two(&none, &two, &usual, &watched);
  assert_true(isnan(watched.value) && watched.log_e == 0 && !watched.apart);
  be_watch_two(&one, &one, &usual, &watched);
  assert_true(watched.value == 0 && watched.log_e == 0 && watched.interval.high == INFINITY);
  /* Two pulls and one: there is evidence, but no bound to the difference. */
  be_watch_two(&two, &one, &usual, &watched);
  assert_true(watched.log_e != 0 && watched.interval.low == -INFINITY);
  be_watch_two(&alike, &alike, &usual, &watched);
  assert_true(watched.log_e == 0 && watched.interval.low == -INFINITY);
  be_watch_paired(&one, &usual, &watched);
  assert_true(watched.log_e == 0 && watched.interval.high == INFINITY);
  be_watch_paired(&none, &usual, &watched);
  assert_true(isnan(watched.value) && watched.log_e == 0);
}

/* Units and an offset change nothing; the sides change the sign. */
static void no_unit_and_no_side_matters(void **state)
{
  (void)state;
  const struct be_summary a = {9, 3.25, 0.25, NAN, NAN}, b = {6, 2.875, 0.375, NAN, NAN};
  const struct be_summary a8 = {9, 26 + 4, 2, NAN, NAN}, b8 = {6, 23 + 4, 3, NAN, NAN};
  struct be_watched one, other, turned;
  be_watch_two(&a, &b, &usual, &one);
  be_watch_two(&a8, &b8, &usual, &other);
  be_watch_two(&b, &a, &usual, &turned);
  assert_near(other.log_e, one.log_e, 0);
  assert_near(other.interval.low, 8 * one.interval.low, 0);
  assert_near(turned.log_e, one.log_e, 1e-14);
  assert_near(turned.interval.high, -one.interval.low, 1e-14);
}

/* ---- looked at after every pull ---- */

enum { KNOTS = 4, EACH = 120 };

struct knot {
  double x[2 * KNOTS * EACH];
  struct be_summary summary;
};

static void pull(struct knot *knot, double mean, struct be_random *random)
{
  knot->x[knot->summary.n] = mean + 0.08 * be_random_normal(random);
  be_summary_of(knot->x, knot->summary.n + 1, &knot->summary);
}

/* Where looks begin: two pulls each. */
static void begin(struct knot *a, struct knot *b, double shift, struct be_random *random)
{
  a->summary.n = b->summary.n = 0;
  for (int i = 0; i < 2; i++) {
    pull(a, 4.2 + shift, random);
    pull(b, 4.2, random);
  }
}

/* Sides in turn, or the one that now looks stronger: the order may depend on what was seen. */
static bool ever_apart(double shift, bool chasing, size_t pulls, struct be_random *random,
                       bool *by_student, size_t *at)
{
  static struct knot a, b;
  begin(&a, &b, shift, random);
  bool found = false;
  if (by_student) *by_student = false;
  for (size_t n = 4; n <= pulls; n++) {
    struct be_watched watched;
    be_watch_two(&a.summary, &b.summary, &usual, &watched);
    if (watched.apart && !found) found = true, *at = n;
    if (by_student && !*by_student) {
      struct be_difference student;
      be_student(&a.summary, &b.summary, 0.95, &student);
      *by_student = student.p <= 0.05;
    }
    bool first = chasing ? a.summary.mean > b.summary.mean : n % 2 == 0;
    pull(first ? &a : &b, first ? 4.2 + shift : 4.2, random);
  }
  return found;
}

/* 4 deviations of the binomial at alpha: 1 in 30000 by chance, for a seed that is fixed. */
static double limit(size_t runs, double alpha)
{
  return (double)runs * alpha + 4 * sqrt((double)runs * alpha * (1 - alpha));
}

static void peeking_keeps_the_level(void **state)
{
  (void)state;
  enum { RUNS = 2000, STUDENT_RUNS = 200 };
  for (int chasing = 0; chasing < 2; chasing++) {
    size_t wrong = 0, wrong_by_student = 0, at;
    for (size_t run = 0; run < RUNS; run++) {
      struct be_random random;
      bool by_student = false, too = !chasing && run < STUDENT_RUNS;
      be_random_init(&random, 20260301 + (uint64_t)chasing, run);
      wrong += ever_apart(0, chasing, 2 * EACH, &random, too ? &by_student : NULL, &at);
      wrong_by_student += by_student;
    }
    assert_true(wrong > 0);
    assert_true((double)wrong <= limit(RUNS, 0.05));
    /* The same looks with the test of a fixed number go wrong far more often. */
    if (!chasing) assert_true((double)wrong_by_student > limit(STUDENT_RUNS, 0.05));
  }
}

static void peeking_in_pairs_keeps_the_level(void **state)
{
  (void)state;
  enum { RUNS = 2000 };
  size_t wrong = 0, missed = 0;
  for (size_t run = 0; run < RUNS; run++) {
    struct be_random random;
    static struct knot d;
    be_random_init(&random, 97, run);
    d.summary.n = 0;
    bool found = false, left_out = false;
    for (size_t n = 1; n <= EACH; n++) {
      struct be_watched watched;
      pull(&d, 0, &random);
      be_watch_paired(&d.summary, &usual, &watched);
      found = found || watched.apart;
      left_out = left_out || watched.interval.low > 0 || watched.interval.high < 0;
    }
    wrong += found;
    missed += left_out;
  }
  assert_true(wrong > 0 && wrong == missed);
  assert_true((double)wrong <= limit(RUNS, 0.05));
}

/* A difference of one deviation, for which a test of a fixed number wants 17 each (power 0.8) or
 * 23 (0.9): found in 9 of 10 by 40 each, and on the whole after fewer than those. */
static void a_difference_is_found(void **state)
{
  (void)state;
  enum { RUNS = 1000 };
  assert_near(ceil(be_power_two_n(1, 0.05, 0.8)), 17, 0);
  size_t found = 0;
  double pulls = 0;
  for (size_t run = 0; run < RUNS; run++) {
    struct be_random random;
    size_t at = 80;
    be_random_init(&random, 8081, run);
    found += ever_apart(0.08, false, 80, &random, NULL, &at);
    pulls += (double)at / RUNS;
  }
  assert_true(found >= 900);
  assert_true(pulls / 2 < 23);
}

/* ---- all pairs ---- */

/* Pulled in turn, or every other pull of the knot that looks strongest. */
static bool any_found(struct knot *knots, enum be_scatter scatter, bool chasing,
                      struct be_random *random)
{
  struct be_watched_pair pairs[KNOTS * (KNOTS - 1) / 2];
  struct be_summary summaries[KNOTS];
  be_watch_start(KNOTS, pairs);
  bool found = false;
  for (size_t k = 0; k < KNOTS; k++) knots[k].summary.n = 0;
  for (size_t n = 0; n < 40 * KNOTS; n++) {
    size_t next = n % KNOTS;
    for (size_t k = 0; k < KNOTS && chasing && n >= 2 * KNOTS && n % 2; k++)
      if (knots[k].summary.mean > knots[next].summary.mean) next = k;
    pull(&knots[next], 3.9, random);
    if (n + 1 < 2 * KNOTS) continue;
    for (size_t k = 0; k < KNOTS; k++) summaries[k] = knots[k].summary;
    assert_int_equal(be_watch_look(summaries, KNOTS, scatter, &usual, pairs, NULL), BE_OK);
    for (size_t i = 0; i < KNOTS * (KNOTS - 1) / 2; i++) found = found || pairs[i].apart;
  }
  return found;
}

static void peeking_at_all_pairs_keeps_the_level(void **state)
{
  (void)state;
  enum { RUNS = 500 };
  static struct knot knots[KNOTS];
  for (int way = 0; way < 4; way++) {
    size_t wrong = 0;
    for (size_t run = 0; run < RUNS; run++) {
      struct be_random random;
      be_random_init(&random, 515 + (uint64_t)way, run);
      wrong += any_found(knots, way % 2 ? BE_SCATTER_ALL : BE_SCATTER_PAIR, way / 2, &random);
    }
    assert_true((double)wrong <= limit(RUNS, 0.05));
  }
}

/* One knot after another: the pairs of the others stand as they did. */
static void only_what_was_pulled_need_be_looked_at(void **state)
{
  (void)state;
  for (int scatter = 0; scatter < 3; scatter++) {
    static struct knot knots[KNOTS];
    struct be_watched_pair all[KNOTS * (KNOTS - 1) / 2], own[KNOTS * (KNOTS - 1) / 2];
    struct be_summary summaries[KNOTS] = {{0}};
    struct be_random random;
    be_random_init(&random, 77, (uint64_t)scatter);
    be_watch_start(KNOTS, all);
    be_watch_start(KNOTS, own);
    for (size_t k = 0; k < KNOTS; k++) knots[k].summary.n = 0;
    for (size_t n = 0; n < 9 * KNOTS; n++) {
      size_t next = (7 * n + n / 5) % KNOTS;
      pull(&knots[next], 3.9 + 0.2 * (double)next, &random);
      summaries[next] = knots[next].summary;
      assert_int_equal(be_watch_look(summaries, KNOTS, (enum be_scatter)scatter, &usual, all, NULL),
                       BE_OK);
      assert_int_equal(
          be_watch_pulled(summaries, KNOTS, next, (enum be_scatter)scatter, &usual, own, NULL),
          BE_OK);
      for (size_t i = 0; i < KNOTS * (KNOTS - 1) / 2; i++) {
        assert_true(own[i].p == all[i].p && own[i].apart == all[i].apart);
        assert_true(own[i].most == all[i].most && own[i].now.log_e == all[i].now.log_e);
        assert_true(own[i].now.interval.low == all[i].now.interval.low);
      }
    }
    assert_true(all[0].most > 0);
  }
}

static const struct be_summary five[] = {{12, 4.71, 0.06, NAN, NAN},
                                         {9, 4.68, 0.07, NAN, NAN},
                                         {1, 4.9, NAN, NAN, NAN},
                                         {11, 4.52, 0.05, NAN, NAN},
                                         {10, 4.31, 0.08, NAN, NAN}};

static void pairs_are_adjusted_as_holm_does(void **state)
{
  (void)state;
  for (int scatter = 0; scatter < 3; scatter++) {
    struct be_watched_pair pairs[10];
    double p[10], adjusted[10], squares = 0, df = 0;
    be_watch_start(5, pairs);
    assert_int_equal(be_watch_look(five, 5, (enum be_scatter)scatter, &usual, pairs, NULL), BE_OK);
    for (size_t i = 0; i < 5; i++)
      if (five[i].n > 1) {
        df += (double)(five[i].n - 1);
        squares += (double)(five[i].n - 1) * five[i].sd * five[i].sd;
      }
    size_t found = 0, at = 0;
    for (size_t a = 0; a < 5; a++)
      for (size_t b = a + 1; b < 5; b++, at++) {
        assert_true(pairs[at].a == a && pairs[at].b == b);
        struct be_watched alone;
        const struct be_watch each = {1, 1 - 0.05 / 10};
        (scatter == BE_SCATTER_UNLIKE ? be_watch_unlike : be_watch_two)(&five[a], &five[b], &each,
                                                                        &alone);
        double log_e = alone.log_e;
        if (scatter == BE_SCATTER_ALL) {
          double n_e = (double)(five[a].n * five[b].n) / (double)(five[a].n + five[b].n);
          double t = (five[a].mean - five[b].mean) / sqrt(squares / df / n_e);
          log_e = log(slow_evidence(t, df, n_e, 1));
          /* The integral loses digits where the evidence is overwhelming. */
          if (log_e > 12) log_e = pairs[at].now.log_e;
        }
        assert_near(pairs[at].now.log_e, log_e, 1e-6);
        p[at] = fmin(1, exp(-pairs[at].most));
        found += pairs[at].apart;
        assert_int_equal(pairs[at].apart, pairs[at].p <= 0.05);
      }
    assert_int_equal(be_holm(p, 10, adjusted, NULL), BE_OK);
    for (size_t i = 0; i < 10; i++) assert_near(pairs[i].p, adjusted[i], 1e-15);
    assert_true(found >= 3 && found < 10);
  }
}

/* What was found stays found, whatever a later look says. */
static void what_was_found_stays(void **state)
{
  (void)state;
  struct be_summary knots[2] = {{12, 4.71, 0.06, NAN, NAN}, {9, 4.48, 0.07, NAN, NAN}};
  struct be_watched_pair pair;
  be_watch_start(2, &pair);
  assert_true(pair.p == 1 && !pair.apart);
  assert_int_equal(be_watch_look(knots, 2, BE_SCATTER_PAIR, &usual, &pair, NULL), BE_OK);
  assert_true(pair.apart);
  double most = pair.most, p = pair.p;
  assert_near(pair.now.log_e, most, 0);
  assert_near(p, exp(-most), 1e-16);
  knots[1].mean = 4.7;
  assert_int_equal(be_watch_look(knots, 2, BE_SCATTER_PAIR, &usual, &pair, NULL), BE_OK);
  assert_true(pair.apart && pair.most == most && pair.p == p);
  assert_true(pair.now.log_e < 0 && !pair.now.apart);
}

static void what_cannot_be_watched_is_refused(void **state)
{
  (void)state;
  struct be_err err;
  struct be_watched_pair pairs[10];
  static const struct be_watch bad[] = {{0, 0.95}, {-1, 0.95}, {INFINITY, 0.95}, {NAN, 0.95},
                                        {1, 0},    {1, 1},     {1, NAN}};
  be_watch_start(5, pairs);
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
    assert_int_equal(be_watch_look(five, 5, BE_SCATTER_PAIR, &bad[i], pairs, &err), BE_WRONG_USE);
  assert_int_equal(be_watch_look(five, 1001, BE_SCATTER_PAIR, &usual, pairs, &err), BE_TOO_LARGE);
  assert_int_equal(be_watch_look(five, 1, BE_SCATTER_PAIR, &usual, pairs, NULL), BE_OK);
  assert_true(pairs[0].most == 0);
}

static enum be_status look_once(void *context, struct be_err *err)
{
  struct be_watched_pair pairs[10];
  (void)context;
  be_watch_start(5, pairs);
  enum be_status status = be_watch_look(five, 5, BE_SCATTER_ALL, &usual, pairs, err);
  if (status != BE_OK) assert_true(pairs[3].most == 0 && pairs[3].p == 1);
  return status;
}

static void without_memory(void **state)
{
  (void)state;
  be_fail_loop(look_once, NULL, 2);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(evidence_is_a_mean_of_likelihood_ratios),
      cmocka_unit_test(an_end_of_the_interval_is_just_enough),
      cmocka_unit_test(too_few_pulls_say_nothing),
      cmocka_unit_test(no_unit_and_no_side_matters),
      cmocka_unit_test(peeking_keeps_the_level),
      cmocka_unit_test(peeking_in_pairs_keeps_the_level),
      cmocka_unit_test(a_difference_is_found),
      cmocka_unit_test(peeking_at_all_pairs_keeps_the_level),
      cmocka_unit_test(only_what_was_pulled_need_be_looked_at),
      cmocka_unit_test(pairs_are_adjusted_as_holm_does),
      cmocka_unit_test(what_was_found_stays),
      cmocka_unit_test(what_cannot_be_watched_is_refused),
      cmocka_unit_test(without_memory),
  };
  return be_tests("stats: watching", tests);
}
