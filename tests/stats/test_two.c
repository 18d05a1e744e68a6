/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two sets of pulls: Student, pairs, ranks, sameness. */
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

static const double unknown = NAN;
static const double one[] = {31.27, 28.93, 34.08, 30.11, 29.64, 33.35, 27.72};
static const double other[] = {26.45, 30.02, 25.18, 28.37, 24.91};
static double scratch[61 * 61];

static void fill(double *x, size_t n, double mean, double deviation, uint64_t stream)
{
  struct be_random random;
  be_random_init(&random, 20260411, stream);
  for (size_t i = 0; i < n; i++) x[i] = mean + deviation * be_random_normal(&random);
}

/* ---- Student and pairs ---- */

static void check_difference(const struct be_difference *d, const double want[5])
{
  assert_near(d->t, want[0], 1e-12);
  assert_near(d->df, want[1], 1e-12);
  assert_near(d->p, want[2], 1e-13);
  assert_near(d->interval.low, want[3], 1e-11);
  assert_near(d->interval.high, want[4], 1e-11);
}

/* Derived with R 4.2.2. */
static void student_and_pairs_agree_with_r(void **state)
{
  (void)state;
  struct be_summary a, b;
  struct be_difference d;
  be_summary_of(one, 7, &a);
  be_summary_of(other, 5, &b);
  be_student(&a, &b, 0.9, &d);
  static const double student[] = {2.82390185907405, 10, 0.0180395818298136, 1.34048185458896,
                                   6.14466100255389};
  check_difference(&d, student);
  const double x[] = {31.2, 36.9, 28.4, 33.3, 35.1}, y[] = {29.7, 27.3, 32.6, 26.8, 30.4};
  be_paired(x, y, 5, 0.99, &d);
  static const double paired[] = {1.53751889549578, 4, 0.198984301758624, -7.22007714188948,
                                  14.4600771418895};
  check_difference(&d, paired);
  assert_near(d.value, 3.62, 1e-14);
}

/* A load of a million that all share. */
static void pairs_keep_their_digits(void **state)
{
  (void)state;
  double x[9], y[9], far_x[9], far_y[9];
  fill(x, 9, 0, 1.7, 1);
  fill(y, 9, 0.4, 1.7, 2);
  for (size_t i = 0; i < 9; i++) {
    x[i] = floor(x[i] * 64) / 64; /* so that adding the million is exact */
    y[i] = floor(y[i] * 64) / 64;
    far_x[i] = x[i] + 1000000;
    far_y[i] = y[i] + 1000000;
  }
  struct be_difference d, far;
  be_paired(x, y, 9, 0.95, &d);
  be_paired(far_x, far_y, 9, 0.95, &far);
  assert_true(d.t == far.t && d.p == far.p && d.interval.low == far.interval.low);
}

static void no_scatter_and_no_pulls(void **state)
{
  (void)state;
  struct be_difference d;
  const double x[] = {32.1, 31.9, 30.3}, y[] = {31.8, 31.6, 30.0};
  be_paired(x, y, 3, 0.95, &d); /* 0.3 each but for rounding */
  assert_near(d.value, 0.3, 1e-14);
  assert_true(isnan(d.t) && isnan(d.df) && isnan(d.p) && isnan(d.interval.low));
  be_paired(x, y, 1, 0.95, &d);
  assert_near(d.value, 0.3, 1e-14);
  assert_true(isnan(d.p));
  be_paired(x, y, 0, 0.95, &d);
  assert_true(isnan(d.value) && isnan(d.p));
  struct be_summary a, b, single;
  be_summary_of(one, 7, &a);
  be_summary_of(x, 1, &single);
  b = single;
  b.mean = 30.5;
  be_student(&single, &b, 0.95, &d);
  assert_near(d.value, 1.6, 1e-14);
  assert_true(isnan(d.t) && isnan(d.df));
  be_student(&a, &single, 0.95, &d); /* the scatter of a serves both */
  assert_near(d.df, 6, 0);
  assert_near(d.t, (a.mean - 32.1) / (a.sd * sqrt(1.0 / 7 + 1)), 1e-13);
}

/* The pooled set by its definition: no ratio in it is rejected by the pooled t test. */
static void fieller_pooled_is_what_is_not_rejected(void **state)
{
  (void)state;
  static const double shifts[] = {0, -24.9, -30.1, -60};
  size_t shapes[4] = {0};
  for (size_t s = 0; s < 4; s++)
    for (size_t r = 0; r < 4; r++) {
      double x[7], y[5];
      for (size_t i = 0; i < 7; i++) x[i] = one[i] + shifts[r];
      for (size_t i = 0; i < 5; i++) y[i] = other[i] + shifts[s];
      struct be_summary a, b;
      be_summary_of(x, 7, &a);
      be_summary_of(y, 5, &b);
      double variance = (6 * a.sd * a.sd + 4 * b.sd * b.sd) / 10, t = be_t_quantile(0.025, 10);
      struct be_ratio ratio;
      be_ratio_fieller_pooled(&a, &b, 0.95, &ratio);
      shapes[ratio.shape]++;
      assert_near(ratio.df, 10, 0);
      assert_near(ratio.value, a.mean / b.mean, 1e-13 * fabs(ratio.value));
      for (double q = -30; q < 30; q += 0.0973) {
        double apart = a.mean - q * b.mean;
        bool kept = apart * apart <= t * t * variance * (1.0 / 7 + q * q / 5);
        bool within = q >= ratio.interval.low && q <= ratio.interval.high;
        assert_int_equal(kept, ratio.shape == BE_RATIO_OUTSIDE ? !within : within);
      }
    }
  assert_true(shapes[BE_RATIO_PIECE] >= 4 && shapes[BE_RATIO_OUTSIDE] >= 2);
  assert_true(shapes[BE_RATIO_ALL] >= 1);
  struct be_summary a, b;
  const double flat[] = {30.5, 30.5, 30.5};
  be_summary_of(flat, 3, &a);
  struct be_ratio ratio;
  be_ratio_fieller_pooled(&a, &a, 0.95, &ratio);
  assert_int_equal(ratio.shape, BE_RATIO_UNKNOWN);
  be_summary_of(flat, 1, &b);
  be_ratio_fieller_pooled(&b, &b, 0.95, &ratio);
  assert_int_equal(ratio.shape, BE_RATIO_UNKNOWN);
}

/* ---- Mann and Whitney ---- */

/* Derived with R 4.2.2 (wilcox.test, pwilcox for the level). */
static void mann_whitney_agrees_with_r(void **state)
{
  (void)state;
  struct be_rank_test test;
  be_mann_whitney(one, 7, other, 5, 0.95, scratch, &test);
  assert_true(test.exact);
  assert_near(test.u, 31, 0);
  assert_near(test.superior, 31.0 / 35, 1e-15);
  assert_near(test.p, 0.0303030303030303, 1e-15);
  assert_near(test.shift.value, 3.75, 1e-13);
  assert_near(test.shift.interval.low, 0.56, 1e-13);
  assert_near(test.shift.interval.high, 6.9, 1e-13);
  assert_near(test.shift.interval.level, 0.952020202020202, 1e-14);
  double a[50], b[47];
  for (size_t i = 0; i < 50; i++) a[i] = 20 + (double)((i + 1) * 37 % 101) / 7;
  for (size_t i = 0; i < 47; i++) b[i] = 19.3 + (double)((i + 1) * 53 % 103) / 6.1 + 0.001;
  be_mann_whitney(a, 50, b, 47, 0.95, scratch, &test);
  assert_true(test.exact);
  assert_near(test.u, 1217, 0);
  assert_near(test.p, 0.765544629903311, 1e-13);
  assert_near(test.shift.value, 0.374644028103043, 1e-13);
  assert_near(test.shift.interval.low, -1.605449648711947, 1e-13);
  assert_near(test.shift.interval.high, 2.289163934426227, 1e-13);
  assert_near(test.shift.interval.level, 0.950287387841372, 1e-13);
  for (size_t i = 0; i < 47; i++) b[i] += 3.7;
  be_mann_whitney(a, 50, b, 47, 0.95, scratch, &test);
  assert_near(test.u, 717, 0);
  assert_near(test.p, 8.20304065510043e-4, 1e-16);
}

/* Ties: normal, corrected; the interval still by counting. Derived with R 4.2.2. */
static void mann_whitney_with_ties(void **state)
{
  (void)state;
  const double a[] = {24.5, 23.5, 24.5, 28, 24, 22, 14, 22.5, 24, 25.5};
  const double b[] = {21, 26.5, 22, 22.5, 19.5, 16.5, 15, 13.5, 16, 23.5};
  struct be_rank_test test;
  be_mann_whitney(a, 10, b, 10, 0.95, scratch, &test);
  assert_false(test.exact);
  assert_near(test.u, 78.5, 0);
  assert_near(test.p, 0.0339562466732981, 1e-14);
  assert_near(test.shift.value, 3.5, 0);
  assert_near(test.shift.interval.low, 0.5, 0);
  assert_near(test.shift.interval.high, 8, 0);
  assert_near(test.shift.interval.level, 0.956742947455022, 1e-13);
  const double flat[] = {30.5, 30.5, 30.5};
  be_mann_whitney(flat, 3, flat, 2, 0.95, scratch, &test);
  assert_true(test.p == 1 && test.superior == 0.5 && test.shift.value == 0 && !test.exact);
}

/* All choices of which of n pulls are a's, by the bits of a number. */
static double p_by_all_orders(const double *pool, size_t na, size_t n, double u)
{
  size_t all = 0, far = 0;
  double middle = (double)(na * (n - na)) / 2;
  for (unsigned bits = 0; bits < 1u << n; bits++) {
    double other_u = 0;
    size_t chosen = 0;
    for (size_t i = 0; i < n; i++) {
      if (!(bits >> i & 1)) continue;
      chosen++;
      for (size_t j = 0; j < n; j++) other_u += !(bits >> j & 1) && pool[i] > pool[j];
    }
    if (chosen != na) continue;
    all++;
    far += fabs(other_u - middle) >= fabs(u - middle);
  }
  return (double)far / (double)all;
}

static void mann_whitney_counts_all_orders(void **state)
{
  (void)state;
  for (size_t na = 1; na <= 6; na++)
    for (size_t nb = 1; nb <= 6; nb++)
      for (uint64_t seed = 0; seed < 4; seed++) {
        double pool[12];
        fill(pool, na + nb, 30.3, 4.1, 100 * na + 10 * nb + seed);
        struct be_rank_test test;
        be_mann_whitney(pool, na, pool + na, nb, 0.9, scratch, &test);
        assert_true(test.exact);
        assert_near(test.p, p_by_all_orders(pool, na, na + nb, test.u), 1e-14);
        assert_true(test.shift.interval.low <= test.shift.value);
        assert_true(test.shift.interval.high >= test.shift.value);
      }
}

/* With 50 a side U is normal enough; 51 are not counted out. */
static void mann_whitney_exact_and_normal_meet(void **state)
{
  (void)state;
  static double a[60], b[60];
  for (uint64_t seed = 0; seed < 12; seed++) {
    fill(a, 51, 30.3, 4.1, 2 * seed);
    fill(b, 50, 29.1, 4.6, 2 * seed + 1);
    struct be_rank_test exact, normal;
    be_mann_whitney(a, 50, b, 50, 0.95, scratch, &exact);
    be_mann_whitney(a, 51, b, 50, 0.95, scratch, &normal);
    assert_true(exact.exact && !normal.exact);
    double z = (fabs(exact.u - 1250) - 0.5) / sqrt(2500.0 * 101 / 12);
    assert_near(2 * be_normal_upper(z), exact.p, 2e-3); /* the first neglected term, 1 / n */
    z = (fabs(normal.u - 1275) - 0.5) / sqrt(2550.0 * 102 / 12);
    assert_near(normal.p, 2 * be_normal_upper(fmax(0, z)), 1e-14);
    assert_near(normal.shift.interval.level, exact.shift.interval.level, 2e-3);
    assert_true(normal.shift.interval.level >= 0.95 && exact.shift.interval.level >= 0.95);
  }
}

/* The least level the interval must reach, and where it cannot. */
static void mann_whitney_says_the_level_it_reaches(void **state)
{
  (void)state;
  struct be_rank_test test;
  be_mann_whitney(one, 3, other, 3, 0.95, scratch, &test);
  assert_near(test.shift.interval.level, 1 - 2.0 / 20, 1e-14); /* 1 of C(6, 3) at each end */
  assert_near(test.shift.interval.low, 28.93 - 30.02, 1e-13);
  assert_near(test.shift.interval.high, 34.08 - 25.18, 1e-13);
  be_mann_whitney(one, 3, other, 3, 0.9, scratch, &test);
  assert_near(test.shift.interval.level, 0.9, 1e-14);
  be_mann_whitney(one, 3, other, 3, 0.7, scratch, &test);
  assert_near(test.shift.interval.level, 0.8, 1e-14); /* 1 and 1 of 20 */
  be_mann_whitney(one, 1, other, 1, 0.7, scratch, &test);
  assert_true(test.p == 1 && fabs(test.shift.interval.level) < 1e-15);
  be_mann_whitney(one, 0, other, 1, 0.7, scratch, &test);
  assert_true(isnan(test.p) && isnan(test.u) && isnan(test.shift.value) && isnan(test.superior));
  be_mann_whitney(one, 2001, other, 2000, 0.7, scratch, &test); /* more than it takes */
  assert_true(isnan(test.p) && !test.exact);
}

/* Neither the unit nor which set comes first changes what is found. */
static void two_sets_in_any_unit_and_order(void **state)
{
  (void)state;
  for (uint64_t seed = 0; seed < 20; seed++) {
    double a[17], b[11], c[17], d[11];
    fill(a, 17, 30.3, 4.1, 3 * seed);
    fill(b, 11, 28.1, 3.6, 3 * seed + 1);
    if (seed % 2)
      for (size_t i = 0; i < 11; i++) a[i] = floor(a[i]), b[i] = floor(b[i]);
    for (size_t i = 0; i < 17; i++) c[16 - i] = 4 * a[i]; /* no digit is lost */
    for (size_t i = 0; i < 11; i++) d[10 - i] = 4 * b[i];
    struct be_rank_test x, y;
    be_mann_whitney(a, 17, b, 11, 0.95, scratch, &x);
    be_mann_whitney(d, 11, c, 17, 0.95, scratch, &y);
    assert_true(x.p == y.p && x.exact == y.exact);
    assert_true(x.u == 187 - y.u && 4 * x.shift.value == -y.shift.value);
    assert_true(4 * x.shift.interval.low == -y.shift.interval.high);
    assert_near(x.superior, 1 - y.superior, 1e-15);
    struct be_summary of_a, of_b, of_c, of_d;
    be_summary_of(a, 17, &of_a);
    be_summary_of(b, 11, &of_b);
    be_summary_of(c, 17, &of_c);
    be_summary_of(d, 11, &of_d);
    struct be_difference forth, back;
    be_student(&of_a, &of_b, 0.95, &forth);
    be_student(&of_d, &of_c, 0.95, &back);
    assert_near(forth.t, -back.t, 1e-12);
    assert_near(forth.p, back.p, 1e-13);
    assert_near(4 * forth.interval.low, -back.interval.high, 1e-11);
  }
}

/* ---- signed ranks ---- */

/* Derived with R 4.2.2 (wilcox.test; with ties by all 256 signs). */
static void signed_ranks_agree_with_r(void **state)
{
  (void)state;
  const double plain[] = {1.83, -0.62, 2.41, 0.37, 3.05, -1.19, 0.94, 2.77, 0.08};
  double v, greater, p;
  be_signed_rank(plain, 9, &v, &greater, &p);
  assert_near(v, 37, 0);
  assert_near(p, 0.09765625, 1e-15);
  assert_near(greater, 0.048828125, 1e-15);
  const double tied[] = {1.5, -0.5, 0.5, 2, 1.5, -1, 0.5, 0, 2.5};
  be_signed_rank(tied, 9, &v, &greater, &p);
  assert_near(v, 30, 0);
  assert_near(greater, 0.0546875, 1e-15);
  assert_near(p, 0.109375, 1e-15);
  double many[60]; /* no ties; then one 0 and 24 ties */
  for (size_t i = 0; i < 60; i++) many[i] = (double)((i + 1) * 29 % 61) / 3.7 - 6.3;
  be_signed_rank(many, 60, &v, &greater, &p);
  assert_near(v, 1301, 0);
  assert_near(p, 4.54116980292597e-3, 1e-15);
  assert_near(greater, 2.27058490146298e-3, 1e-15);
  for (size_t i = 0; i < 60; i++) many[i] = (double)((i + 1) * 29 % 61) / 4 - 6.25;
  be_signed_rank(many, 60, &v, &greater, &p);
  assert_near(v, 1182, 0);
  assert_near(p, 2.52102219387146e-2, 1e-14);
  assert_near(greater, 1.26051109693573e-2, 1e-14);
}

static void signed_ranks_by_all_signs(void **state)
{
  (void)state;
  for (size_t n = 1; n <= 10; n++)
    for (uint64_t seed = 0; seed < 6; seed++) {
      double x[10], v, greater, p, rank[10];
      fill(x, n, 0.7, 1.9, 10 * n + seed);
      for (size_t i = 0; seed % 2 && i < n; i++) x[i] = floor(2 * x[i]) / 2; /* ties, zeros */
      be_signed_rank(x, n, &v, &greater, &p);
      size_t used = 0, above = 0, below = 0;
      for (size_t i = 0; i < n; i++) {
        if (x[i] == 0) continue;
        rank[used] = 0.5;
        for (size_t j = 0; j < n; j++)
          if (x[j] != 0) rank[used] += (fabs(x[j]) < fabs(x[i])) + 0.5 * (fabs(x[j]) == fabs(x[i]));
        used++;
      }
      for (unsigned bits = 0; bits < 1u << used; bits++) {
        double w = 0;
        for (size_t i = 0; i < used; i++) w += bits >> i & 1 ? rank[i] : 0;
        above += w >= v;
        below += w <= v;
      }
      double all = (double)(1u << used);
      assert_near(greater, (double)above / all, 1e-14);
      assert_near(p, fmin(1, 2 * (double)(above < below ? above : below) / all), 1e-14);
    }
  const double zeros[] = {0, 0, 0};
  double v, greater, p;
  be_signed_rank(zeros, 3, &v, &greater, &p);
  assert_true(v == 0 && greater == 1 && p == 1);
  be_signed_rank(zeros, 0, &v, &greater, &p);
  assert_true(isnan(v) && isnan(greater) && isnan(p));
}

/* ---- sameness ---- */

/* Derived with R 4.2.2. */
static void sameness_agrees_with_r(void **state)
{
  (void)state;
  struct be_summary a, b;
  be_summary_of(one, 7, &a);
  be_summary_of(other, 5, &b);
  struct be_estimate mean_a = be_estimate_mean(&a), mean_b = be_estimate_mean(&b);
  struct be_difference d;
  be_welch(&mean_a, &mean_b, 0.95, &d);
  struct be_sameness same;
  be_same_within(&d, mean_a.variance + mean_b.variance, 6.5, 0.05, &same);
  assert_near(same.p, 0.0321345840157205, 1e-13);
  assert_true(same.same);
  assert_near(same.interval.low, 1.34408810122076, 1e-11);
  assert_near(same.interval.high, 6.14105475592209, 1e-11);
  assert_near(same.interval.level, 0.9, 1e-15);
}

/* "Same" is that the interval lies within the margin, and the p is that of both tests. */
static void sameness_is_an_interval_within(void **state)
{
  (void)state;
  size_t same_ones = 0;
  for (uint64_t seed = 0; seed < 300; seed++) {
    double a[9], b[7];
    fill(a, 9, 30.3, 2.1, 2 * seed);
    fill(b, 7, 29.6, 1.6, 2 * seed + 1);
    struct be_summary of_a, of_b;
    be_summary_of(a, 9, &of_a);
    be_summary_of(b, 7, &of_b);
    struct be_estimate x = be_estimate_mean(&of_a), y = be_estimate_mean(&of_b);
    struct be_difference d;
    be_welch(&x, &y, 0.95, &d);
    struct be_sameness same;
    double margin = 2.4, deviation = sqrt(x.variance + y.variance);
    be_same_within(&d, x.variance + y.variance, margin, 0.05, &same);
    bool within = same.interval.low >= -margin && same.interval.high <= margin;
    assert_int_equal(same.same, within);
    double low = be_t_upper((d.value + margin) / deviation, d.df);
    double high = be_t_upper((margin - d.value) / deviation, d.df);
    assert_near(same.p, fmax(low, high), 1e-14);
    same_ones += same.same;
  }
  assert_true(same_ones > 30 && same_ones < 270);
  const struct be_difference nothing = {0.2, unknown, unknown, unknown, {unknown, unknown, 0.9}};
  struct be_sameness same;
  be_same_within(&nothing, 0, 3, 0.05, &same);
  assert_true(isnan(same.p) && !same.same && isnan(same.interval.low));
  be_same_within(&nothing, unknown, 3, 0.05, &same);
  assert_true(isnan(same.p) && !same.same);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(student_and_pairs_agree_with_r),
      cmocka_unit_test(pairs_keep_their_digits),
      cmocka_unit_test(no_scatter_and_no_pulls),
      cmocka_unit_test(fieller_pooled_is_what_is_not_rejected),
      cmocka_unit_test(mann_whitney_agrees_with_r),
      cmocka_unit_test(mann_whitney_with_ties),
      cmocka_unit_test(mann_whitney_counts_all_orders),
      cmocka_unit_test(mann_whitney_exact_and_normal_meet),
      cmocka_unit_test(mann_whitney_says_the_level_it_reaches),
      cmocka_unit_test(two_sets_in_any_unit_and_order),
      cmocka_unit_test(signed_ranks_agree_with_r),
      cmocka_unit_test(signed_ranks_by_all_signs),
      cmocka_unit_test(sameness_agrees_with_r),
      cmocka_unit_test(sameness_is_an_interval_within),
  };
  return be_tests("stats: two sets", tests);
}
