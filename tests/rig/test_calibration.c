/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fits and uncertainties against NIST's and R's; classes, zero and chart. */
#include "rig/calibration/calibration.h"
#include "test.h"

/* Within so many of the digits given. */
static void assert_digits(double got, double want, double relative)
{
  assert_near(got, want, relative * fabs(want));
}

static struct be_calibration_fit fitted(const struct be_calibration_point *points, size_t n,
                                        enum be_calibration_curve curve)
{
  struct be_calibration_fit fit;
  struct be_err err = {0};
  if (be_calibration_fit_points(points, n, curve, &fit, &err) != BE_OK) fail_msg("%s", err.what);
  return fit;
}

/* NIST StRD, linear regression, Pontius: calibration of a load cell, deflection on load in
 * pounds; quadratic. Certified values. */
static void nist_load_cell(void **state)
{
  (void)state;
  static const double deflection[] = {
      .11019,  .21956,  .32949,  .43899,  .54803,  .65694,  .76562,  .87487,  .98292,  1.09146,
      1.20001, 1.30822, 1.41599, 1.52399, 1.63194, 1.73947, 1.84646, 1.95392, 2.06128, 2.16844,
      .11052,  .22018,  .32939,  .43886,  .54798,  .65739,  .76596,  .87474,  .98300,  1.09150,
      1.20004, 1.30818, 1.41613, 1.52408, 1.63159, 1.73965, 1.84696, 1.95445, 2.06177, 2.16829};
  struct be_calibration_point points[40];
  for (size_t i = 0; i < 40; i++)
    points[i] =
        (struct be_calibration_point){150000.0 * (double)(i % 20 + 1), deflection[i], false};
  struct be_calibration_fit fit = fitted(points, 40, BE_CURVE_BENT);
  assert_digits(fit.power[0], 0.673565789473684E-03, 2e-12);
  assert_digits(fit.power[1], 0.732059160401003E-06, 2e-14);
  assert_digits(fit.power[2], -0.316081871345029E-14, 2e-12);
  assert_digits(fit.residual_sd, 0.205177424076185E-03, 2e-13);
  assert_int_equal(fit.df, 37);
  assert_int_equal(fit.loads, 20);
  /* Back from a reading to its load. */
  for (double load = 0; load < 4e6; load += 137137)
    assert_near(be_calibration_load(&fit, be_calibration_reading(&fit, load)), load, 1e-7);
  /* Leverages 1/40 + those of poly(): derived with R 4.2.2, predict(lm(y ~ poly(x, 2))). */
  const double slope = 0.732059160401003E-06 - 2 * 0.316081871345029E-14 * 1234567;
  struct be_force_budget budget = be_calibration_budget(&fit, 1234567, 1, 0, 0);
  assert_digits(budget.fit_N, 0.205177424076185E-03 / slope * sqrt(1 + 0.05135976319327297), 1e-11);
  budget = be_calibration_budget(&fit, 3000000, 4, 0, 0);
  const double steep = 0.732059160401003E-06 - 2 * 0.316081871345029E-14 * 3000000;
  assert_digits(budget.fit_N, 0.205177424076185E-03 / steep * sqrt(0.25 + 0.18538961038961035),
                1e-11);
  assert_false(budget.outside);
  assert_true(be_calibration_budget(&fit, 3000001, 1, 0, 0).outside);
}

/* NIST StRD, NoInt1: a line through zero. */
static void nist_through_zero(void **state)
{
  (void)state;
  struct be_calibration_point points[11];
  for (int i = 0; i < 11; i++) points[i] = (struct be_calibration_point){60 + i, 130 + i, false};
  struct be_calibration_fit fit = fitted(points, 11, BE_CURVE_THROUGH_ZERO);
  assert_digits(fit.power[1], 2.07438016528926, 5e-15);
  assert_near(fit.power[0], 0, 0);
  assert_digits(fit.residual_sd, 3.56753034006338, 5e-15);
  /* Certified deviation of the slope: what one load of 1 adds, over the residual's. */
  struct be_force_budget budget = be_calibration_budget(&fit, 1, 1, 0, 0);
  double of_curve = sqrt(pow(budget.fit_N * fit.power[1], 2) - pow(fit.residual_sd, 2));
  assert_digits(of_curve, 0.165289256198347E-01, 1e-9);
  assert_int_equal(fit.df, 10);
}

/* Weights of 10 to 50 kg hung twice on an invented cell, in counts. */
static const struct be_calibration_point counts[] = {
    {0, 8431, false},         {98.0665, 21077, false}, {196.133, 33741, false},
    {294.1995, 46373, false}, {392.266, 59026, false}, {490.3325, 71668, false},
    {0, 8436, false},         {98.0665, 21083, false}, {196.133, 33733, false},
    {294.1995, 46380, false}, {392.266, 59019, false}, {490.3325, 71675, false}};

/* Derived with R 4.2.2: lm(R ~ L), and the equation of budget.c written out. */
static void straight_line(void **state)
{
  (void)state;
  struct be_calibration_fit fit = fitted(counts, 12, BE_CURVE_STRAIGHT);
  assert_digits(fit.power[0], 8435.1428571428496, 1e-14);
  assert_digits(fit.power[1], 128.9670056251917, 1e-14);
  assert_digits(fit.residual_sd, 5.156410711783606, 1e-11);
  assert_near(be_calibration_residual(&fit, &counts[2]), 11.17142857143088, 1e-9);
  assert_digits(be_calibration_load(&fit, 50000), 322.2906272915599, 1e-14);
  assert_digits(be_calibration_budget(&fit, 60, 1, 0, 0).fit_N, 0.04352752170475586, 1e-11);
  assert_digits(be_calibration_budget(&fit, 60, 5, 0, 0).fit_N, 0.02481473647103341, 1e-11);
  assert_digits(be_calibration_budget(&fit, 490, 1, 0, 0).fit_N, 0.04490543074060337, 1e-11);
  assert_digits(be_calibration_budget(&fit, 490, 5, 0, 0).fit_N, 0.02715922882498634, 1e-11);
  struct be_force_budget budget = be_calibration_budget(&fit, 245, 1, 0.1, 0.05);
  assert_digits(budget.fit_N, 0.04161500537586196, 1e-11);
  assert_digits(budget.reference_N, 0.1225, 1e-15);
  assert_digits(budget.resolution_N, 0.02041241452319315, 1e-15);
  assert_digits(budget.combined_N, 0.13097604872303822, 1e-11);
  assert_digits(budget.df, 981.22299599910297729, 1e-10);
  assert_near(budget.coverage_factor, 2.00255405729999092, 1e-3);
  assert_near(budget.expanded_N, 0.26228661777944151, 2e-4);
  assert_digits(budget.expanded_percent, 100 * budget.expanded_N / 245, 1e-15);
}

/* GUM (JCGM 100:2008), table G.2, 95.45 %: with the fit alone its df are those of the fit. */
static void coverage_factors(void **state)
{
  (void)state;
  static const struct {
    size_t df;
    double factor;
  } cases[] = {{1, 13.97}, {2, 4.53}, {3, 3.31}, {4, 2.87}, {5, 2.65}, {8, 2.37}, {10, 2.28}};
  for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
    struct be_calibration_point points[20];
    size_t n = cases[k].df + 2;
    for (size_t i = 0; i < n; i++)
      points[i] = (struct be_calibration_point){
          (double)i, 2.5 * (double)i + 0.01 * (double)(i * i % 3), false};
    struct be_calibration_fit fit = fitted(points, n, BE_CURVE_STRAIGHT);
    assert_int_equal(fit.df, cases[k].df);
    assert_near(be_calibration_budget(&fit, 1, 1, 0, 0).coverage_factor, cases[k].factor, 0.0051);
  }
  assert_near(be_calibration_budget(NULL, 100, 1, 0.5, 0.02).coverage_factor, 2, 0);
  assert_digits(be_calibration_budget(NULL, 100, 1, 0.5, 0).expanded_percent, 0.5, 1e-15);
}

/* Two points make a line, of which nothing tells how well it fits. */
static void two_points(void **state)
{
  (void)state;
  static const struct be_calibration_point two[] = {{0, -17, false}, {49.03325, 4983, false}};
  struct be_calibration_fit fit = fitted(two, 2, BE_CURVE_STRAIGHT);
  assert_digits(be_calibration_load(&fit, 2483), 24.516625, 1e-15);
  assert_int_equal(fit.df, 0);
  assert_true(isnan(fit.residual_sd));
  struct be_force_budget budget = be_calibration_budget(&fit, 20, 1, 0.1, 0.05);
  assert_true(isnan(budget.combined_N) && isnan(budget.expanded_N));
  assert_true(isnan(budget.coverage_factor));
  fit = fitted(two + 1, 1, BE_CURVE_THROUGH_ZERO);
  assert_digits(be_calibration_load(&fit, 2491.5), 24.516625, 1e-15);
}

/* A cell that pushes where it should pull, one that bends, and readings past the bend. */
static void falling_and_bent(void **state)
{
  (void)state;
  struct be_calibration_point points[9];
  for (int i = 0; i < 9; i++)
    points[i] = (struct be_calibration_point){
        11.5 * i, 300 - 2.25 * 11.5 * i + 0.004 * 11.5 * 11.5 * i * i, false};
  struct be_calibration_fit fit = fitted(points, 9, BE_CURVE_BENT);
  for (int i = 0; i < 9; i++)
    assert_near(be_calibration_load(&fit, points[i].reading), points[i].load_N, 1e-10);
  /* The lowest reading of the curve is 300 - 2.25^2 / (4 0.004) = -16.40625. */
  assert_true(isnan(be_calibration_load(&fit, -16.5)));
  assert_near(be_calibration_load(&fit, -16.4), 281.25 - sqrt(281.25 * 281.25 - 79100), 1e-6);
}

static void no_fit(void **state)
{
  (void)state;
  static const struct {
    struct be_calibration_point points[3];
    size_t n;
    enum be_calibration_curve curve;
    const char *says;
  } cases[] = {
      {{{1, 2, false}}, 0, BE_CURVE_STRAIGHT, "0 different loads"},
      {{{5, 2, false}, {5, 3, false}}, 2, BE_CURVE_STRAIGHT, "1 different loads"},
      {{{5, 2, false}, {7, 3, false}, {5, 2, false}}, 3, BE_CURVE_BENT, "2 different loads"},
      {{{0, 2, false}, {0, 3, false}}, 2, BE_CURVE_THROUGH_ZERO, "0 different loads"},
      {{{1, 2, false}, {2, NAN, false}}, 2, BE_CURVE_STRAIGHT, "point 2"},
      {{{1, 2, false}, {INFINITY, 3, false}}, 2, BE_CURVE_STRAIGHT, "point 2"},
      {{{1, 2, false}, {2, 2, false}}, 2, BE_CURVE_STRAIGHT, "do not rise with the load"},
      {{{0, 0, false}, {1, 5, false}, {2, 1, false}}, 3, BE_CURVE_BENT, "do not rise"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_calibration_fit fit;
    struct be_err err = {0};
    assert_int_equal(
        be_calibration_fit_points(cases[i].points, cases[i].n, cases[i].curve, &fit, &err),
        BE_BAD_INPUT);
    if (!strstr(err.what, cases[i].says)) print_error("%s\n", err.what);
    assert_non_null(strstr(err.what, cases[i].says));
  }
}

/* ---- classes ---- */

/* Worked by hand: at 50 N rising 50.2, 50.4 and 50.3, falling 50.9. */
static void steps_and_classes(void **state)
{
  (void)state;
  static const struct be_calibration_point points[] = {
      {200, 200.1, false}, {50, 50.2, false},   {50, 50.4, false},   {0, 0.4, true},
      {50, 50.3, false},   {50, 50.9, true},    {200, 200.3, false}, {500, 507, false},
      {500, 507.1, false}, {100, 100.3, false}, {100, 100.1, false}, {10, 10.25, false}};
  struct be_force_step steps[12];
  size_t count = be_force_steps(points, 12, NULL, 0.1, steps);
  assert_int_equal(count, 5);
  assert_near(steps[1].load_N, 50, 0);
  assert_int_equal(steps[1].rising, 3);
  assert_int_equal(steps[1].falling, 1);
  assert_near(steps[1].indicated_N, 50.3, 1e-12);
  assert_near(steps[1].accuracy_percent, 0.6, 1e-12);
  assert_near(steps[1].repeatability_percent, 0.4, 1e-12);
  assert_near(steps[1].reversibility_percent, 1.2, 1e-12);
  assert_near(steps[1].resolution_percent, 0.2, 1e-15);
  const char *const classes[] = {"3", "1", "0.5", "0.5", "2"};
  for (size_t i = 0; i < 5; i++)
    assert_string_equal(be_force_classes[steps[i].force_class].name, classes[i]);
  /* One reading has no repeatability; none falling, no reversibility. */
  assert_true(isnan(steps[0].repeatability_percent) && isnan(steps[0].reversibility_percent));
  struct be_force_range range = be_force_verified(steps, count, 1);
  assert_near(range.from_N, 50, 0);
  assert_near(range.to_N, 200, 0);
  assert_int_equal(range.steps, 3);
  range = be_force_verified(steps, count, 3);
  assert_near(range.from_N, 10, 0);
  assert_near(range.to_N, 500, 0);
  assert_int_equal(be_force_verified(steps, 1, 0).steps, 0);
  assert_true(isnan(be_force_verified(steps, 1, 0).from_N));
  /* The resolution alone may spoil a class: 0.3 N at 50 N is 0.6 %. */
  be_force_steps(points, 12, NULL, 0.3, steps);
  assert_string_equal(be_force_classes[steps[1].force_class].name, "2");
  /* And past every limit there is none. */
  static const struct be_calibration_point bad[] = {{-20, -21, false}, {30, 0, true}};
  assert_int_equal(be_force_steps(bad, 2, NULL, 0, steps), 2);
  assert_int_equal(steps[0].force_class, BE_FORCE_NO_CLASS);
  assert_near(steps[0].accuracy_percent, -5, 1e-12);
  assert_int_equal(steps[1].force_class, BE_FORCE_NO_CLASS);
}

/* Through a fit the readings are counts. */
static void steps_of_counts(void **state)
{
  (void)state;
  struct be_calibration_fit fit = fitted(counts, 12, BE_CURVE_STRAIGHT);
  struct be_force_step steps[12];
  assert_int_equal(be_force_steps(counts, 12, &fit, 0.05, steps), 5);
  double a = be_calibration_load(&fit, 33741), b = be_calibration_load(&fit, 33733);
  assert_near(steps[1].indicated_N, (a + b) / 2, 1e-12);
  assert_near(steps[1].repeatability_percent, 100 * (a - b) / 196.133, 1e-10);
  assert_int_equal(steps[1].force_class, 0);
}

/* 400, 200, 100 and 67 steps (trade practice from ISO 7500-1, from memory). */
static void lowest_forces(void **state)
{
  (void)state;
  assert_near(be_force_lowest_N(0, 0.05), 20, 1e-12);
  assert_near(be_force_lowest_N(1, 0.05), 10, 1e-12);
  assert_near(be_force_lowest_N(2, 0.05), 5, 1e-12);
  assert_near(be_force_lowest_N(3, 0.05), 10.0 / 3, 1e-12);
  assert_true(isnan(be_force_lowest_N(BE_FORCE_NO_CLASS, 0.05)));
}

static void zeros(void **state)
{
  (void)state;
  static const double first[] = {0.25, NAN, 0.75, 0.5, INFINITY}, second[] = {1, 1.5, 2};
  struct be_zero before = be_zero_of(first, 5), after = be_zero_of(second, 3);
  assert_int_equal(before.n, 3);
  assert_near(before.mean, 0.5, 1e-15);
  assert_near(before.sd, 0.25, 1e-15);
  struct be_zero_change change = be_zero_compare(&before, &after, 1000);
  assert_near(change.change, 1, 1e-15);
  assert_near(change.uncertainty, sqrt((0.0625 + 0.25) / 3), 1e-15);
  assert_near(change.percent, 0.1, 1e-15);
  assert_string_equal(be_force_classes[change.force_class].name, "1");
  assert_int_equal(be_zero_compare(&before, &after, 100).force_class, BE_FORCE_NO_CLASS);
  before = be_zero_of(first, 1);
  assert_true(isnan(before.sd));
  assert_near(before.mean, 0.25, 0);
  before = be_zero_of(NULL, 0);
  assert_true(isnan(before.mean));
  assert_int_equal(be_zero_compare(&before, &after, 100).force_class, BE_FORCE_NO_CLASS);
}

/* ---- chart ---- */

/* NIST/SEMATECH e-Handbook, 6.3.2.2: flow rates of ten batches. */
static void nist_chart(void **state)
{
  (void)state;
  static const double flow[] = {49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1};
  struct be_chart chart;
  enum be_chart_mark marks[10];
  struct be_err err = {0};
  assert_int_equal(be_chart_of(flow, 10, 0, &chart, marks, &err), BE_OK);
  assert_near(chart.centre, 50.81, 1e-12);
  assert_near(chart.range, 1.8778, 5e-5);
  assert_near(chart.upper, 55.8041, 5e-5);
  assert_near(chart.lower, 45.8159, 5e-5);
  /* 2.66 = 3 / 1.128. */
  assert_near((chart.upper - chart.centre) / chart.range, 2.66, 0.0005);
  assert_near(chart.range_upper / chart.range, 3.267, 1e-12);
  assert_int_equal(chart.marked, 0);
  for (int i = 0; i < 10; i++) assert_int_equal(marks[i], BE_CHART_FINE);
}

/* A check weight whose cell was dropped after the seventh check, and drifts at last. */
static void chart_marks(void **state)
{
  (void)state;
  static const double checks[] = {10.1, 9.9,  10.2, 9.8,  10.1, 9.9,  11.5, 9.75, 10.05,
                                  10.1, 10.1, 10.2, 10.1, 10.1, 10.3, 10.2, 10.1, 10};
  struct be_chart chart;
  enum be_chart_mark marks[18];
  struct be_err err = {0};
  assert_int_equal(be_chart_of(checks, 18, 6, &chart, marks, &err), BE_OK);
  assert_int_equal(chart.base, 6);
  assert_near(chart.centre, 10, 1e-12);
  assert_near(chart.range, 1.4 / 5, 1e-12);
  assert_int_equal(marks[6], BE_CHART_BEYOND);
  assert_int_equal(marks[7], BE_CHART_JUMP);
  for (int i = 8; i < 15; i++) assert_int_equal(marks[i], BE_CHART_FINE);
  assert_int_equal(marks[15], BE_CHART_RUN);
  assert_int_equal(marks[16], BE_CHART_RUN);
  assert_int_equal(marks[17], BE_CHART_FINE);
  assert_int_equal(chart.marked, 4);
  assert_string_equal(be_chart_mark_words(BE_CHART_RUN), "the eighth or later on one side");
  assert_int_equal(be_chart_of(checks, 1, 0, &chart, marks, &err), BE_BAD_INPUT);
  assert_int_equal(be_chart_of(checks, 9, 1, &chart, marks, &err), BE_BAD_INPUT);
  static const double gap[] = {1, 2, NAN};
  assert_int_equal(be_chart_of(gap, 3, 0, &chart, marks, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "check 3"));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(nist_load_cell),  cmocka_unit_test(nist_through_zero),
      cmocka_unit_test(straight_line),   cmocka_unit_test(coverage_factors),
      cmocka_unit_test(two_points),      cmocka_unit_test(falling_and_bent),
      cmocka_unit_test(no_fit),          cmocka_unit_test(steps_and_classes),
      cmocka_unit_test(steps_of_counts), cmocka_unit_test(lowest_forces),
      cmocka_unit_test(zeros),           cmocka_unit_test(nist_chart),
      cmocka_unit_test(chart_marks),
  };
  return be_tests("rig: calibration", tests);
}
