/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One made book of unbalanced pulls, fitted in R 4.2.2 by lme4 1.1-31 and by dense equations of our
 * own there. */
#include "published/mixed_fits.h"
#include "stats/number/number.h"

/* Derived: made unbalanced pulls, knot x group with an empty cell, and four crossed and nested
 * terms. Degrees of freedom by fourth-order differences of lme4's own deviance and covariance, in
 * R, good to about 1e-5 of themselves. */
static void fill_made(size_t terms)
{
  static double tyer[ROWS_MOST];
  size_t n = read_file("mixed_made.csv", 5, table);
  read_numbers("mixed_made.csv", 5, tyer, ROWS_MOST);
  read_numbers("mixed_made.csv", 6, table[5], ROWS_MOST);
  rows_init(&rows, 15);
  rows_term(&rows, 0, "line", 11);
  rows_term(&rows, 1, "spool", 30);
  rows_term(&rows, 2, "tyer", 4);
  if (terms > 3) rows_term(&rows, 3, "knot x line", 77);
  for (size_t i = 0; i < n; i++) {
    size_t knot = (size_t)table[1][i];
    bool second = table[2][i] == 1;
    rows_add(&rows, table[0][i]);
    rows_factor(&rows, knot);
    if (second) rows_fixed(&rows, 7, 1);
    rows_fixed(&rows, 8, table[5][i]);
    if (second && knot > 0) rows_fixed(&rows, 8 + knot, 1);
    rows_level(&rows, 0, table[3][i]);
    rows_level(&rows, 1, table[4][i]);
    rows_level(&rows, 2, tyer[i]);
    if (terms > 3) rows_level(&rows, 3, 11 * table[1][i] + table[3][i]);
  }
}

struct made {
  double criterion, sigma, deviation[4], beta[14], se[14];
};

static void agrees_with_made(const struct be_mixed *fit, const struct made *want)
{
  fit_is_settled(fit);
  assert_near(be_mixed_summary(fit)->criterion, want->criterion, 1e-9);
  assert_near(be_mixed_summary(fit)->sigma, want->sigma, 1e-8 * want->sigma);
  for (size_t t = 0; t < 4; t++)
    assert_near(rows_deviation(fit, t), want->deviation[t], 1e-7 * want->deviation[t]);
  for (size_t j = 0; j < 14; j++) {
    assert_near(be_mixed_beta(fit)[j], want->beta[j], 1e-9);
    assert_near(rows_coefficient(fit, j).se, want->se[j], 1e-7 * want->se[j]);
  }
  assert_true(be_mixed_dropped(fit, 14));
  assert_int_equal(be_mixed_summary(fit)->rank, 14);
}

static void made_by_reml(void **state)
{
  (void)state;
  fill_made(4);
  assert_int_equal(rows.data.n, 228);
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  static const struct made want = {
      -262.77450737765,
      0.09227302222131,
      {0.28724837560413, 0.070219271888853, 0.01215760847899, 0.073233094097068},
      {4.5946260790849, 0.2032818358834, -0.19992966350044, 0.065353554536205, 0.38678903167299,
       -0.12856802025018, 0.2296010815343, 0.12842644554062, 0.018883298037325, 0.051123865015306,
       0.098896339730983, -0.062047334861679, -0.14156621341555, 0.061736481709821},
      {0.12550534785623, 0.048310284487285, 0.047832176859223, 0.04953501289113, 0.049339349026336,
       0.057011644160399, 0.061449306533881, 0.18602962113963, 0.0039666984660032,
       0.093861566590876, 0.084012809493035, 0.087600803362405, 0.14839135198465,
       0.10683669900916}};
  agrees_with_made(fit, &want);
  static const double df[] = {10.54333191, 24.11256282, 23.37358005, 25.55649219,  26.35101508,
                              34.97251905, 37.01654602, 10.50593622, 184.31387315, 34.82118204,
                              37.04764591, 40.98752489, 70.68594463, 55.72049466};
  for (size_t j = 0; j < 14; j++) assert_near(rows_coefficient(fit, j).df, df[j], 1e-4 * df[j]);
  /* Conditional modes and variances, at where lme4's search stopped. */
  static const double mode[] = {-0.0912934107529, 0.0330035471327, 0.0609402562896};
  static const double variance[] = {0.00264173179237, 0.00283124260199, 0.00292543082187};
  for (size_t l = 0; l < 3; l++) {
    assert_near(be_mixed_mode(fit, 0, l, 0).value, mode[l], 1e-6);
    assert_near(be_mixed_mode(fit, 0, l, 0).variance, variance[l], 1e-4 * variance[l]);
  }
  be_mixed_free(fit);
}

/* Derived in R 4.2.2: eigenvectors of the covariance, t of each, df by differences of a dense
 * deviance and covariance at lme4's parameters. */
static void made_several_at_once(void **state)
{
  (void)state;
  fill_made(4);
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  static const struct {
    size_t from, to;
    double F, df2, p;
  } want[] = {{9, 13, 1.02083148874, 51.48003156, 0.41517023},
              {1, 6, 31.4919117827, 29.62177984, 1.4124961e-11}};
  for (size_t i = 0; i < 2; i++) {
    double weights[6 * 15] = {0};
    size_t count = want[i].to - want[i].from + 1;
    for (size_t k = 0; k < count; k++) weights[k * 15 + want[i].from + k] = 1;
    struct be_mixed_joint joint;
    assert_int_equal(be_mixed_joint(fit, weights, count, &joint, NULL), BE_OK);
    assert_int_equal(joint.df1, count);
    assert_near(joint.F, want[i].F, 1e-6 * want[i].F);
    assert_near(joint.df2, want[i].df2, 1e-4 * want[i].df2);
    assert_near(joint.p, want[i].p, 1e-3 * want[i].p);
  }
  be_mixed_free(fit);
}

/* Derived in R 4.2.2: Henderson's equations set up and solved densely at lme4's parameters, df by
 * differences of that variance. A cell with its line, its spools averaged, and its own effect; a
 * gap, whose own effect is new; a knot on no line in particular. */
static void made_on_these_very_lines(void **state)
{
  (void)state;
  fill_made(4);
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  const double third = 1. / 3, weights[] = {1, 1, 4.5};
  const struct be_mixed_part tied[] = {
      {0, 3, 0, 1}, {1, 9, 0, third}, {1, 10, 0, third}, {1, 11, 0, third}, {3, 25, 0, 1}};
  const struct be_mixed_part gap[] = {{0, 2, 0, 1}, {3, BE_MIXED_NEW, 0, 1}};
  const struct {
    uint32_t column[3];
    const struct be_mixed_part *parts;
    size_t count;
    double value, se, df;
  } want[] = {{{0, 2, 8}, tied, 5, 4.85506869785, 0.0369527020693, 173.834261},
              {{0, 6, 8}, gap, 2, 4.97014225916, 0.105678861524, 28.0274184},
              {{0, 6, 8}, NULL, 0, 4.90920200179, 0.12951817944, 11.9175297}};
  for (size_t i = 0; i < 3; i++) {
    struct be_mixed_contrast got;
    assert_int_equal(be_mixed_predict(fit, want[i].column, weights, 3, want[i].parts, want[i].count,
                                      0.9, &got, NULL),
                     BE_OK);
    assert_true(got.estimable);
    assert_near(got.value, want[i].value, 1e-7);
    assert_near(got.se, want[i].se, 1e-6 * want[i].se);
    assert_near(got.df, want[i].df, 1e-4 * want[i].df);
    assert_near(got.interval.high - got.value, got.se * be_t_quantile(0.05, got.df), 1e-12);
  }
  be_mixed_free(fit);
}

static void made_by_ml(void **state)
{
  (void)state;
  fill_made(4);
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_ML);
  static const struct made want = {
      -320.34760435098,
      0.091664345463239,
      {0.25868666652532, 0.070685072327642, 0.012344124999263, 0.059851591561664},
      {4.5918752384762, 0.20246114492947, -0.2016642975077, 0.063856858976244, 0.38531465229444,
       -0.12870991826494, 0.22782188254712, 0.13133947951357, 0.019599887760269, 0.043404308803211,
       0.097893345662631, -0.065214089206031, -0.14418267047609, 0.056009578693247},
      {0.1133049703458, 0.041551565545789, 0.041044580866516, 0.042776469769037, 0.042739995202709,
       0.05033739968558, 0.054502915066164, 0.16758564460459, 0.0038987903310406, 0.082834233966143,
       0.07449790788386, 0.078128821082443, 0.13640149258887, 0.096980483853091}};
  agrees_with_made(fit, &want);
  be_mixed_free(fit);
}

static void made_without_cells(void **state)
{
  (void)state;
  fill_made(3);
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  fit_is_settled(fit);
  static const double df[] = {9.891969718,   191.389307833, 190.408849224, 184.916953282,
                              186.958444135, 187.531460650, 186.830311217, 9.580289031,
                              197.410834742, 203.853459322, 194.817366744, 202.908903211,
                              200.061734173, 202.256123131};
  for (size_t j = 0; j < 14; j++) assert_near(rows_coefficient(fit, j).df, df[j], 1e-4 * df[j]);
  be_mixed_free(fit);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(made_by_reml),
      cmocka_unit_test(made_several_at_once),
      cmocka_unit_test(made_on_these_very_lines),
      cmocka_unit_test(made_by_ml),
      cmocka_unit_test(made_without_cells),
  };
  return be_tests("published: mixed models of a made book", tests);
}
