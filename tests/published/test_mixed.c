/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Mixed models held against published fits. "Memory, verified": the published digits were
 * recalled and then reproduced with lme4 1.1-31 in R 4.2.2, whose own digits stand beside them;
 * sources are Bates, Maechler, Bolker and Walker (2015) and Bates' book draft (Dyestuff,
 * Penicillin, Pastes, sleepstudy), Pinheiro and Bates (2000) (ergoStool, Machines). "Derived":
 * lme4 alone gave the value. lme4's search stops some 1e-5 short in Penicillin and sleepstudy
 * (variances 3.7311 for 3.7309, 612.100 for 612.090), so there its own deviance was followed
 * further by Newton's steps in R, until its slope was below 1e-8. */
#include "mixed_rows.h"
#include "published/data.h"
#include "stats/number/number.h"

static struct rows rows;

/* Columns 1, 2, ... of a file into x. */
static size_t read_file(const char *name, size_t columns, double x[][ROWS_MOST])
{
  size_t n = 0;
  for (size_t c = 0; c < columns; c++) n = read_numbers(name, c, x[c], ROWS_MOST);
  return n;
}

/* got to half the last digit of printed, and to 1e-6 of what lme4 gave: its 10 digits are about
 * as good as its search. */
#define assert_both(got, printed, half, recomputed)                                                \
  do {                                                                                             \
    assert_near((got), (printed), (half));                                                         \
    assert_near((got), (recomputed), 1e-6 * fabs(recomputed));                                     \
  } while (0)

static double table[8][ROWS_MOST];

static void fit_is_settled(const struct be_mixed *fit)
{
  const struct be_mixed_summary *summary = be_mixed_summary(fit);
  assert_true(summary->converged);
  assert_null(summary->why);
  assert_true(summary->decrement < 1e-7);
  assert_true(summary->evaluations > 5 || summary->parameters == 0);
}

/* Memory, verified. */
static void dyestuff(void **state)
{
  (void)state;
  size_t n = read_file("mixed_dyestuff.csv", 2, table);
  assert_int_equal(n, 30);
  rows_init(&rows, 1);
  rows_term(&rows, 0, "batch", 6);
  for (size_t i = 0; i < n; i++) {
    rows_add(&rows, table[0][i]);
    rows_fixed(&rows, 0, 1);
    rows_level(&rows, 0, table[1][i]);
  }
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

/* Memory, verified. */
static void pastes(void **state)
{
  (void)state;
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
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  fit_is_settled(fit);
  assert_both(be_mixed_summary(fit)->criterion, 246.9907, 5e-5, 246.9907459);
  assert_both(rows_deviation(fit, 1), 2.9041, 5e-5, 2.904077593);
  assert_both(rows_deviation(fit, 0), 1.2874, 5e-5, 1.287365000);
  assert_both(be_mixed_summary(fit)->sigma, 0.8234, 5e-5, 0.8234075234);
  assert_both(be_mixed_beta(fit)[0], 60.0533, 5e-5, 60.05333333);
  assert_both(rows_coefficient(fit, 0).se, 0.6769, 5e-5, 0.6768702151);
  be_mixed_free(fit);
}

/* Memory, verified; degrees of freedom 17: 18 subjects of equal days (exact). */
static void sleepstudy(void **state)
{
  (void)state;
  size_t n = read_file("mixed_sleepstudy.csv", 3, table);
  assert_int_equal(n, 180);
  rows_init(&rows, 2);
  rows_term(&rows, 0, "subject", 18);
  rows.term[0].width = 2;
  rows.term[0].z[1] = rows.number;
  for (size_t i = 0; i < n; i++) {
    rows_add(&rows, table[0][i]);
    rows_fixed(&rows, 0, 1);
    rows_fixed(&rows, 1, table[1][i]);
    rows.number[i] = table[1][i];
    rows_level(&rows, 0, table[2][i]);
  }
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
      cmocka_unit_test(dyestuff),
      cmocka_unit_test(penicillin),
      cmocka_unit_test(penicillin_with_gaps),
      cmocka_unit_test(pastes),
      cmocka_unit_test(sleepstudy),
      cmocka_unit_test(ergo_stool),
      cmocka_unit_test(machines),
      cmocka_unit_test(no_batches_in_dyestuff2),
      cmocka_unit_test(made_by_reml),
      cmocka_unit_test(made_several_at_once),
      cmocka_unit_test(made_on_these_very_lines),
      cmocka_unit_test(made_by_ml),
      cmocka_unit_test(made_without_cells),
  };
  return be_tests("published: mixed models", tests);
}
