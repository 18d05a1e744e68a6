/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a mixed model leaves out, what it refuses, and memory that fails. */
#include "fault/failing.h"
#include "mixed_rows.h"

static struct rows rows;

/* ---- what is left out ---- */

/* Knot x group columns with an empty cell, and a column that is the sum of two. */
static void sums_of_columns_are_left_out(void **state)
{
  (void)state;
  rows_made(&rows, 140, 1, 9);
  rows.data.fixed.columns = 8;
  static uint32_t column[ROWS_MOST * ROW_ENTRIES];
  static double value[ROWS_MOST * ROW_ENTRIES];
  static size_t start[ROWS_MOST + 1];
  struct be_mixed *plain = rows_fit(&rows, BE_MIXED_REML);
  size_t at = 0;
  for (size_t i = 0; i < rows.data.n; i++) {
    double sum = 0;
    for (size_t k = rows.start[i]; k < rows.start[i + 1]; k++) {
      column[at] = rows.column[k];
      value[at++] = rows.value[k];
      if (rows.column[k] == 0 || rows.column[k] == 2) sum += 2.5 * rows.value[k];
    }
    column[at] = 6;
    value[at++] = sum;
    start[i + 1] = at;
  }
  rows.data.fixed = (struct be_mixed_design){8, start, column, value};
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  assert_int_equal(be_mixed_summary(fit)->rank, 6);
  for (size_t j = 0; j < 8; j++) assert_true(be_mixed_dropped(fit, j) == (j > 5));
  assert_true(isnan(be_mixed_beta(fit)[6]) && isnan(be_mixed_beta(fit)[7]));
  assert_true(isnan(be_mixed_covariance(fit, 6, 1)));
  for (size_t j = 0; j < 6; j++) assert_near(be_mixed_beta(fit)[j], be_mixed_beta(plain)[j], 1e-12);
  /* Column 2 alone cannot be told from column 6; 3 less 4 can; 2 with 2.5 of 6 can. */
  struct be_mixed_contrast contrast = rows_coefficient(fit, 2);
  assert_false(contrast.estimable);
  assert_true(isnan(contrast.value) && isnan(contrast.interval.low));
  const uint32_t columns[] = {3, 4}, both[] = {2, 6};
  const double weights[] = {1, -1}, summed[] = {1, 2.5};
  be_mixed_contrast(fit, columns, weights, 2, 0.95, &contrast);
  assert_true(contrast.estimable);
  assert_near(contrast.value, be_mixed_beta(plain)[3] - be_mixed_beta(plain)[4], 1e-12);
  be_mixed_contrast(fit, both, summed, 2, 0.95, &contrast);
  assert_true(contrast.estimable);
  assert_near(contrast.value, be_mixed_beta(plain)[2], 1e-12);
  be_mixed_free(fit);
  be_mixed_free(plain);
}

static void levels_without_rows_change_nothing(void **state)
{
  (void)state;
  rows_made(&rows, 120, 2, 5);
  struct be_mixed *plain = rows_fit(&rows, BE_MIXED_REML);
  for (size_t t = 0; t < 3; t++) rows.term[t].levels += 4;
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  assert_near(be_mixed_summary(fit)->criterion, be_mixed_summary(plain)->criterion, 1e-10);
  assert_true(be_mixed_mode(fit, 1, 23, 0).value == 0);
  double covariance[BE_MIXED_WIDTH_MAX * BE_MIXED_WIDTH_MAX];
  be_mixed_term_covariance(fit, 1, covariance);
  assert_near(be_mixed_mode(fit, 1, 23, 0).variance, covariance[0], 1e-12);
  be_mixed_free(fit);
  be_mixed_free(plain);
}

/* ---- what is refused ---- */

static void refused(enum be_status status, const char *words)
{
  struct be_mixed *fit;
  struct be_err err = {0};
  assert_int_equal(be_mixed_fit(&rows.data, BE_MIXED_REML, &fit, &err), status);
  assert_null(fit);
  if (!strstr(err.what, words)) fail_msg("\"%s\" says nothing of \"%s\"", err.what, words);
}

static void bad_input_is_refused(void **state)
{
  (void)state;
  rows_made(&rows, 60, 2, 2);
  rows.y[17] = NAN;
  refused(BE_BAD_INPUT, "row 18");
  rows_made(&rows, 60, 2, 2);
  rows.value[3] = INFINITY;
  refused(BE_BAD_INPUT, "fixed column");
  rows_made(&rows, 60, 2, 2);
  rows.number[41] = NAN;
  refused(BE_BAD_INPUT, "row 42: a number of the random term line");
  rows_made(&rows, 60, 1, 2);
  for (size_t i = 0; i < 60; i++) rows.level[1][i] = 4;
  refused(BE_BAD_INPUT, "spool has one level");
  rows_made(&rows, 21, 1, 2);
  for (size_t i = 0; i < 21; i++) rows.level[1][i] = (uint32_t)i;
  rows.term[1].name = NULL;
  refused(BE_BAD_INPUT, "2 has a level for each of the 21 rows");
  rows_made(&rows, 60, 1, 2);
  rows.data.bound = rows.bound;
  for (size_t i = 1; i < 60; i++) rows.bound[i] = true;
  refused(BE_BAD_INPUT, "1 of 60 rows");
  rows_made(&rows, 60, 1, 2);
  for (size_t i = 0; i < 60; i++) rows.y[i] = 7.3;
  refused(BE_BAD_INPUT, "nothing scatters");
  rows_made(&rows, 6, 1, 2);
  rows.data.term_count = 0;
  rows_init(&rows, 6);
  for (size_t i = 0; i < 6; i++) {
    rows_add(&rows, (double)(i * i));
    rows_fixed(&rows, i, 1);
  }
  refused(BE_BAD_INPUT, "6 pulls are too few");
  rows_made(&rows, 60, 1, 2);
  for (size_t k = 0; k < rows.start[60]; k++) rows.value[k] = 0;
  refused(BE_BAD_INPUT, "0 throughout");
}

static void too_much_is_refused(void **state)
{
  (void)state;
  rows_made(&rows, 60, 1, 2);
  rows.data.fixed.columns = 0;
  refused(BE_BAD_INPUT, "at least one fixed column");
  rows.data.fixed.columns = BE_MIXED_FIXED_MAX + 1;
  refused(BE_TOO_LARGE, "fixed columns");
  rows.data.fixed.columns = 6;
  rows.data.term_count = BE_MIXED_TERMS_MAX + 1;
  refused(BE_TOO_LARGE, "random terms");
  rows.data.term_count = 3;
  rows.term[1].levels = SIZE_MAX / 2;
  refused(BE_TOO_LARGE, "levels");
  rows_made(&rows, 60, 1, 2);
  rows.data.n = SIZE_MAX / 4;
  refused(BE_TOO_LARGE, "pulls");
}

/* Pulls of a line all alike: nothing is left over beside the lines, and the fit says so. */
static void nothing_left_is_no_convergence(void **state)
{
  (void)state;
  rows_init(&rows, 1);
  rows_term(&rows, 0, "line", 4);
  const double load[] = {31.7, 44.1, 38.6, 52.3};
  for (size_t i = 0; i < 20; i++) {
    rows_add(&rows, load[i / 5]);
    rows_fixed(&rows, 0, 1);
    rows_level(&rows, 0, (double)(i / 5));
  }
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  assert_false(be_mixed_summary(fit)->converged);
  assert_non_null(be_mixed_summary(fit)->why);
  assert_true(isnan(rows_coefficient(fit, 0).df));
  be_mixed_free(fit);
}

/* ---- sums that mean nothing ---- */

/* Column 3 is the sum of 1 and 2: alone it hangs on which of them is left out. */
static void what_is_not_estimable_has_no_figures(void **state)
{
  (void)state;
  rows_init(&rows, 4);
  rows_term(&rows, 0, "line", 7);
  for (size_t i = 0; i < 70; i++) {
    rows_add(&rows, 4.37 + 0.11 * (double)(i * i % 13) + 0.23 * (double)(i % 7));
    rows_fixed(&rows, 0, 1);
    if (i % 3) rows_fixed(&rows, i % 3, 1);
    if (i % 3) rows_fixed(&rows, 3, 1);
    rows_level(&rows, 0, (double)(i % 7));
  }
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  assert_true(be_mixed_dropped(fit, 3));
  const double weights[] = {0, 0, 0, 1, 0, 1, -1, 0};
  const uint32_t alone = 3;
  const struct be_mixed_part part = {0, 4, 0, 1};
  struct be_mixed_joint joint;
  struct be_mixed_contrast got;
  assert_int_equal(be_mixed_joint(fit, weights, 2, &joint, NULL), BE_OK);
  assert_false(joint.estimable);
  assert_true(isnan(joint.F) && isnan(joint.p) && isnan(joint.df2));
  assert_int_equal(be_mixed_joint(fit, weights + 4, 1, &joint, NULL), BE_OK);
  assert_true(joint.estimable && joint.df1 == 1 && joint.p > 0 && joint.p < 1);
  assert_int_equal(be_mixed_predict(fit, &alone, weights + 3, 1, &part, 1, 0.95, &got, NULL),
                   BE_OK);
  assert_false(got.estimable);
  assert_true(isnan(got.value) && isnan(got.se) && isnan(got.interval.low));
  be_mixed_free(fit);
}

/* ---- memory ---- */

/* A fit, and what takes heap of it. */
static enum be_status fit_once(void *context, struct be_err *err)
{
  (void)context;
  struct be_mixed *fit;
  const double weights[6] = {0, 1, -1};
  const uint32_t column = 1;
  const struct be_mixed_part part = {0, 4, 1, 1};
  struct be_mixed_joint joint;
  struct be_mixed_contrast got;
  enum be_status status = be_mixed_fit(&rows.data, BE_MIXED_REML, &fit, err);
  if (status == BE_OK) status = be_mixed_joint(fit, weights, 1, &joint, err);
  if (status == BE_OK)
    status = be_mixed_predict(fit, &column, weights + 1, 1, &part, 1, 0.95, &got, err);
  be_mixed_free(fit);
  return status;
}

static void memory_may_fail_anywhere(void **state)
{
  (void)state;
  rows_made(&rows, 70, 2, 11);
  rows.data.bound = rows.bound;
  rows.bound[7] = rows.bound[23] = true;
  be_fail_loop(fit_once, NULL, 40);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(sums_of_columns_are_left_out),
      cmocka_unit_test(levels_without_rows_change_nothing),
      cmocka_unit_test(bad_input_is_refused),
      cmocka_unit_test(too_much_is_refused),
      cmocka_unit_test(nothing_left_is_no_convergence),
      cmocka_unit_test(what_is_not_estimable_has_no_figures),
      cmocka_unit_test(memory_may_fail_anywhere),
  };
  return be_tests("stats: mixed models, what they are given", tests);
}
