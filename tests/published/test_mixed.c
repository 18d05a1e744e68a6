/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Mixed models held against published fits. "Memory, verified": the published digits were
 * recalled and then reproduced with lme4 1.1-31 in R 4.2.2, whose own digits stand beside them;
 * sources are Bates, Maechler, Bolker and Walker (2015) and Bates' book draft (Dyestuff,
 * Penicillin, Pastes, sleepstudy), Pinheiro and Bates (2000) (ergoStool, Machines). "Derived":
 * lme4 alone gave the value. lme4's search stops some 1e-5 short in Penicillin and sleepstudy
 * (variances 3.7311 for 3.7309, 612.100 for 612.090), so there its own deviance was followed
 * further by Newton's steps in R, until its slope was below 1e-8. */
#include "published/mixed_fits.h"
#include "stats/number/number.h"

/* got to half the last digit of printed, and to 1e-6 of what lme4 gave: its 10 digits are about
 * as good as its search. */
#define assert_both(got, printed, half, recomputed)                                                \
  do {                                                                                             \
    assert_near((got), (printed), (half));                                                         \
    assert_near((got), (recomputed), 1e-6 * fabs(recomputed));                                     \
  } while (0)

/* Of six levels that are known equally well. */
static void modes_are(const struct be_mixed *fit, size_t term, const double *mode, double variance)
{
  for (size_t l = 0; l < 6; l++) {
    assert_near(be_mixed_mode(fit, term, l, 0).value, mode[l], 1e-6);
    assert_near(be_mixed_mode(fit, term, l, 0).variance, variance, 1e-7 * variance);
  }
}

static void fill_dyestuff(void)
{
  size_t n = read_file("mixed_dyestuff.csv", 2, table);
  assert_int_equal(n, 30);
  rows_init(&rows, 1);
  rows_term(&rows, 0, "batch", 6);
  for (size_t i = 0; i < n; i++) {
    rows_add(&rows, table[0][i]);
    rows_fixed(&rows, 0, 1);
    rows_level(&rows, 0, table[1][i]);
  }
}

/* Memory, verified; the modes derived. */
static void dyestuff(void **state)
{
  (void)state;
  fill_dyestuff();
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  const struct be_mixed_summary *summary = be_mixed_summary(fit);
  fit_is_settled(fit);
  assert_both(summary->criterion, 319.6543, 5e-5, 319.6542768);
  /* Balanced: the analysis of variance gives them exactly. */
  assert_near(pow(rows_deviation(fit, 0), 2), 1764.05, 1e-6);
  assert_near(summary->sigma * summary->sigma, 2451.25, 1e-6);
  assert_near(be_mixed_beta(fit)[0], 1527.5, 1e-9);
  struct be_mixed_contrast mean = rows_coefficient(fit, 0);
  assert_both(mean.se, 19.38, 5e-3, 19.38341218);
  assert_near(mean.df, 5, 1e-4);
  static const double mode[] = {-17.60685135, 0.3912633634, 28.56222552,
                                -23.08453844, 56.73318769,  -44.99528679};
  modes_are(fit, 0, mode, 383.6337278);
  be_mixed_free(fit);
}

static void fill_penicillin(const char *name)
{
  size_t n = read_file(name, 3, table);
  rows_init(&rows, 1);
  rows_term(&rows, 0, "plate", 24);
  rows_term(&rows, 1, "sample", 6);
  for (size_t i = 0; i < n; i++) {
    rows_add(&rows, table[0][i]);
    rows_fixed(&rows, 0, 1);
    rows_level(&rows, 0, table[1][i]);
    rows_level(&rows, 1, table[2][i]);
  }
}

/* Memory, verified. */
static void penicillin(void **state)
{
  (void)state;
  fill_penicillin("mixed_penicillin.csv");
  assert_int_equal(rows.data.n, 144);
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  fit_is_settled(fit);
  assert_both(be_mixed_summary(fit)->criterion, 330.8606, 5e-5, 330.860589);
  assert_both(rows_deviation(fit, 0), 0.8467, 5e-5, 0.8467043242);
  assert_both(rows_deviation(fit, 1), 1.9316, 5e-5, 1.931558406);
  assert_both(be_mixed_summary(fit)->sigma, 0.5499, 5e-5, 0.5499231391);
  assert_both(be_mixed_beta(fit)[0], 22.9722, 5e-5, 22.97222222);
  assert_both(rows_coefficient(fit, 0).se, 0.8086, 5e-5, 0.8085733910);
  /* Derived. */
  static const double mode[] = {2.187057967,   -1.010476149,  1.937899465,
                                -0.0968949732, -0.0138421390, -3.003744170};
  modes_are(fit, 1, mode, 0.04087303483);
  be_mixed_free(fit);
}

/* Derived, at tight tolerance. */
static void penicillin_with_gaps(void **state)
{
  (void)state;
  fill_penicillin("mixed_penicillin_drop7.csv");
  assert_int_equal(rows.data.n, 124);
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  fit_is_settled(fit);
  assert_near(be_mixed_summary(fit)->criterion, 283.0974491, 1e-7);
  assert_near(pow(rows_deviation(fit, 0), 2), 0.6660536328, 1e-7);
  assert_near(pow(rows_deviation(fit, 1), 2), 3.651657035, 1e-6);
  assert_near(pow(be_mixed_summary(fit)->sigma, 2), 0.2756682695, 1e-7);
  assert_near(be_mixed_beta(fit)[0], 23.00848843, 1e-8);
  assert_near(rows_coefficient(fit, 0).se, 0.7991218740, 1e-7);
  be_mixed_free(fit);
}

static void fill_pastes(void)
{
  size_t n = read_file("mixed_pastes.csv", 3, table);
  assert_int_equal(n, 60);
  rows_init(&rows, 1);
  rows_term(&rows, 0, "batch", 10);
  rows_term(&rows, 1, "cask", 30);
  for (size_t i = 0; i < n; i++) {
    rows_add(&rows, table[0][i]);
    rows_fixed(&rows, 0, 1);
    rows_level(&rows, 0, table[1][i]);
    rows_level(&rows, 1, table[2][i]);
  }
}

/* Memory, verified: criterion, sigma, standard error, deviations of the terms. */
static void single_effects(void **state)
{
  (void)state;
  static const struct {
    enum be_mixed_method method;
    double half, printed[5], exactly[5];
  } want[] = {{BE_MIXED_ML,
               5e-3,
               {327.3271, 49.51, 17.69, 37.26},
               {327.3270598811, 49.510099978, 17.6945534645, 37.260345327}},
              {BE_MIXED_ML,
               5e-5,
               {332.1883, 0.5499, 0.7446, 0.8456, 1.7706},
               {332.1883486685, 0.549932196627, 0.744595792844, 0.845572188870, 1.770646273956}},
              {BE_MIXED_ML,
               5e-4,
               {247.9945, 0.823, 0.642, 1.095, 2.904},
               {247.9944658624, 0.823407554197, 0.642135326701, 1.095059613818, 2.904077591994}},
              {BE_MIXED_REML,
               5e-5,
               {246.9907, 0.8234, 0.6769, 1.2874, 2.9041},
               {246.9907459, 0.8234075234, 0.6768702151, 1.287365000, 2.904077593}}};
  for (size_t i = 0; i < 4; i++) {
    if (i == 0) fill_dyestuff();
    else if (i == 1) fill_penicillin("mixed_penicillin.csv");
    else fill_pastes();
    struct be_mixed *fit = rows_fit(&rows, want[i].method);
    fit_is_settled(fit);
    const double got[] = {be_mixed_summary(fit)->criterion, be_mixed_summary(fit)->sigma,
                          rows_coefficient(fit, 0).se, rows_deviation(fit, 0),
                          rows.data.term_count > 1 ? rows_deviation(fit, 1) : 0};
    for (size_t k = 0; k < 3 + rows.data.term_count; k++)
      assert_both(got[k], want[i].printed[k], k ? want[i].half : 5e-5, want[i].exactly[k]);
    be_mixed_free(fit);
  }
}

/* Level and slope of a subject together, or apart. */
static void fill_sleepstudy(bool apart)
{
  size_t n = read_file("mixed_sleepstudy.csv", 3, table);
  assert_int_equal(n, 180);
  rows_init(&rows, 2);
  rows_term(&rows, 0, "subject", 18);
  if (apart) rows_term(&rows, 1, "days of subject", 18);
  else rows.term[0].width = 2;
  rows.term[apart].z[apart ? 0 : 1] = rows.number;
  for (size_t i = 0; i < n; i++) {
    rows_add(&rows, table[0][i]);
    rows_fixed(&rows, 0, 1);
    rows_fixed(&rows, 1, table[1][i]);
    rows.number[i] = table[1][i];
    rows_level(&rows, 0, table[2][i]);
    rows_level(&rows, 1, table[2][i]);
  }
}

/* Memory, verified; degrees of freedom 17: 18 subjects of equal days (exact); modes derived. */
static void sleepstudy(void **state)
{
  (void)state;
  fill_sleepstudy(false);
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  fit_is_settled(fit);
  assert_both(be_mixed_summary(fit)->criterion, 1743.6283, 5e-5, 1743.628272);
  double covariance[9];
  be_mixed_term_covariance(fit, 0, covariance);
  assert_both(covariance[0], 612.10, 1.1e-2, 612.0899387);
  assert_both(covariance[3], 35.07, 5e-3, 35.07166050);
  assert_near(covariance[1], 9.604333307, 1e-5);
  assert_true(covariance[1] == covariance[2]);
  assert_both(pow(be_mixed_summary(fit)->sigma, 2), 654.94, 5e-3, 654.9410270);
  assert_both(be_mixed_beta(fit)[0], 251.405, 5e-4, 251.4051048);
  assert_both(be_mixed_beta(fit)[1], 10.467, 5e-4, 10.46728596);
  struct be_mixed_contrast intercept = rows_coefficient(fit, 0), slope = rows_coefficient(fit, 1);
  assert_both(intercept.se, 6.825, 5e-4, 6.824556532);
  assert_both(slope.se, 1.546, 5e-4, 1.545788896);
  assert_near(intercept.df, 17, 1e-4);
  assert_near(slope.df, 17, 1e-4);
  struct be_estimate level = be_mixed_mode(fit, 0, 0, 0), turn = be_mixed_mode(fit, 0, 0, 1);
  assert_near(level.value, 2.258565559, 1e-5);
  assert_near(turn.value, 9.198971878, 1e-6);
  assert_near(level.variance, 145.7051036, 1e-4);
  assert_near(turn.variance, 5.312273666, 1e-5);
  be_mixed_free(fit);
}

/* Memory, verified. */
static void sleepstudy_by_ml(void **state)
{
  (void)state;
  fill_sleepstudy(false);
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_ML);
  fit_is_settled(fit);
  double covariance[9];
  be_mixed_term_covariance(fit, 0, covariance);
  assert_both(be_mixed_summary(fit)->criterion, 1751.9393, 5e-5, 1751.939344463);
  assert_both(covariance[0], 565.52, 5e-3, 565.5153668070);
  assert_both(covariance[3], 32.68, 5e-3, 32.6821971625);
  assert_near(covariance[1], 11.0554290447, 1e-4);
  assert_both(pow(be_mixed_summary(fit)->sigma, 2), 654.94, 5e-3, 654.9410271159);
  assert_both(rows_coefficient(fit, 0).se, 6.632, 5e-4, 6.6322768071);
  assert_both(rows_coefficient(fit, 1).se, 1.502, 5e-4, 1.50223678188);
  be_mixed_free(fit);
}

/* Memory, verified. */
static void sleepstudy_with_slopes_apart(void **state)
{
  (void)state;
  fill_sleepstudy(true);
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  fit_is_settled(fit);
  assert_both(be_mixed_summary(fit)->criterion, 1743.669, 5e-4, 1743.669293581);
  assert_both(pow(rows_deviation(fit, 0), 2), 627.57, 5e-3, 627.5690605400);
  assert_both(pow(rows_deviation(fit, 1), 2), 35.86, 5e-3, 35.8581987153);
  assert_both(pow(be_mixed_summary(fit)->sigma, 2), 653.58, 5e-3, 653.5838153191);
  assert_both(rows_coefficient(fit, 0).se, 6.885, 5e-4, 6.88538129493);
  assert_both(rows_coefficient(fit, 1).se, 1.560, 5e-4, 1.55956594353);
  be_mixed_free(fit);
}

/* Memory, verified; 24 degrees of freedom between types: 8 x 3 of the balanced blocks (exact). */
static void ergo_stool(void **state)
{
  (void)state;
  size_t n = read_file("mixed_ergostool.csv", 3, table);
  assert_int_equal(n, 36);
  rows_init(&rows, 4);
  rows_term(&rows, 0, "subject", 9);
  for (size_t i = 0; i < n; i++) {
    rows_add(&rows, table[0][i]);
    rows_factor(&rows, (size_t)table[1][i]);
    rows_level(&rows, 0, table[2][i]);
  }
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  fit_is_settled(fit);
  assert_both(rows_deviation(fit, 0), 1.332465, 5e-7, 1.332464996);
  assert_both(be_mixed_summary(fit)->sigma, 1.100295, 5e-7, 1.100294573);
  assert_near(-be_mixed_summary(fit)->criterion / 2, -60.56539, 5e-6);
  const double beta[] = {8.555555556, 3.888888889, 2.222222222, 0.6666666667};
  for (size_t j = 0; j < 4; j++) assert_near(be_mixed_beta(fit)[j], beta[j], 1e-9);
  struct be_mixed_contrast t2 = rows_coefficient(fit, 1);
  assert_both(t2.se, 0.5186838, 5e-8, 0.518683836);
  for (size_t j = 1; j < 4; j++) assert_near(rows_coefficient(fit, j).df, 24, 1e-4);
  /* T2 less T3, known from the blocks alone. */
  const uint32_t column[] = {1, 2};
  const double weights[] = {1, -1};
  struct be_mixed_contrast contrast;
  be_mixed_contrast(fit, column, weights, 2, 0.95, &contrast);
  assert_near(contrast.value, 5. / 3, 1e-9);
  assert_near(contrast.se, 0.518683836, 1e-8);
  assert_near(contrast.df, 24, 1e-4);
  /* t of 24 degrees at 0.975 is 2.0638986 (any table). */
  assert_near(contrast.interval.high - contrast.interval.low, 2 * 2.0638986 * 0.518683836, 1e-6);
  be_mixed_free(fit);
}

/* Memory, verified. */
static void machines(void **state)
{
  (void)state;
  size_t n = read_file("mixed_machines.csv", 3, table);
  assert_int_equal(n, 54);
  rows_init(&rows, 3);
  rows_term(&rows, 0, "worker", 6);
  rows_term(&rows, 1, "machine in worker", 18);
  for (size_t i = 0; i < n; i++) {
    rows_add(&rows, table[0][i]);
    rows_factor(&rows, (size_t)table[2][i]);
    rows_level(&rows, 0, table[1][i]);
    rows_level(&rows, 1, 3 * table[1][i] + table[2][i]);
  }
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  fit_is_settled(fit);
  /* Printed by nlme, whose own search stopped in the sixth digit. */
  assert_both(rows_deviation(fit, 0), 4.781049, 5e-6, 4.781050564);
  assert_both(rows_deviation(fit, 1), 3.729536, 5e-6, 3.729538426);
  assert_both(be_mixed_summary(fit)->sigma, 0.9615768, 5e-7, 0.9615766364);
  assert_both(be_mixed_beta(fit)[2], 13.916667, 5e-7, 13.91666667);
  assert_near(-be_mixed_summary(fit)->criterion / 2, -107.8438, 5e-5);
  /* Balanced: F is the ratio of mean squares of machines and of machines by workers, with 2 and
   * 10 df, by anova(lm()); the same twice over, for one row adds nothing to the other two. */
  const double differ[] = {0, 1, 0, 0, 0, 1, 0, 1, -1};
  for (size_t count = 2; count <= 3; count++) {
    struct be_mixed_joint joint;
    assert_int_equal(be_mixed_joint(fit, differ, count, &joint, NULL), BE_OK);
    assert_true(joint.estimable);
    assert_int_equal(joint.df1, 2);
    assert_near(joint.F, 20.5760829641, 1e-4);
    assert_near(joint.df2, 10, 1e-4);
    assert_near(joint.p, be_f_upper(joint.F, 2, joint.df2), 0);
  }
  be_mixed_free(fit);
}

/* Box and Tiao (1973), table 5.1.4: batches that differ less than their samples; as in lme4,
 * derived. */
static void no_batches_in_dyestuff2(void **state)
{
  (void)state;
  const double yield[] = {7.298, 3.846,  2.434,  9.566, 7.99,  5.22,  6.556, 0.608, 11.788, -0.892,
                          0.11,  10.386, 13.434, 5.51,  8.166, 2.212, 4.852, 7.092, 9.288,  4.98,
                          0.282, 9.014,  4.458,  9.446, 7.198, 1.722, 4.782, 8.106, 0.758,  3.758};
  rows_init(&rows, 1);
  rows_term(&rows, 0, "batch", 6);
  for (size_t i = 0; i < 30; i++) {
    rows_add(&rows, yield[i]);
    rows_fixed(&rows, 0, 1);
    rows_level(&rows, 0, (double)(i / 5));
  }
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  fit_is_settled(fit);
  assert_true(rows_deviation(fit, 0) == 0);
  assert_int_equal(be_mixed_summary(fit)->zeros, 1);
  assert_true(be_mixed_mode(fit, 0, 3, 0).value == 0);
  assert_near(be_mixed_summary(fit)->criterion, 161.828277812, 1e-7);
  assert_near(be_mixed_summary(fit)->sigma, 3.71568427448, 1e-8);
  /* Nothing but 30 independent samples: 29 degrees of freedom. */
  assert_near(rows_coefficient(fit, 0).df, 29, 1e-6);
  be_mixed_free(fit);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(dyestuff),
      cmocka_unit_test(penicillin),
      cmocka_unit_test(penicillin_with_gaps),
      cmocka_unit_test(single_effects),
      cmocka_unit_test(sleepstudy),
      cmocka_unit_test(sleepstudy_by_ml),
      cmocka_unit_test(sleepstudy_with_slopes_apart),
      cmocka_unit_test(ergo_stool),
      cmocka_unit_test(machines),
      cmocka_unit_test(no_batches_in_dyestuff2),
  };
  return be_tests("published: mixed models", tests);
}
