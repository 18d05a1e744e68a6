/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Comparisons of many sets held against published figures. "Memory, verified" means that the
 * published digits were recalled and then reproduced with R 4.2.2; "read" that a copy of the
 * source was seen; "derived" that R alone gave the value. */
#include "published/data.h"
#include "stats/number/number.h"
#include "stats/stats.h"
#include "units/units.h"

enum { SETS_MAX = 9, PULLS_MAX = 600 };

/* ---- NIST/ITL Statistical Reference Datasets, analysis of variance: certified, read ---- */

static const char *const sirstv[] = {"196.3052", "196.1240", "196.1890", "196.2569", "196.3403",
                                     "196.3042", "196.3825", "196.1669", "196.3257", "196.0422",
                                     "196.1303", "196.2005", "196.2889", "196.0343", "196.1811",
                                     "196.2795", "196.1748", "196.1494", "196.1485", "195.9885",
                                     "196.2119", "196.1051", "196.1850", "196.0052", "196.2090"};

static void check_anova(const double *data, size_t sets, size_t each, const double want[3],
                        double tolerance)
{
  const double *x[SETS_MAX];
  size_t n[SETS_MAX];
  for (size_t g = 0; g < sets; g++) {
    x[g] = data + g * each;
    n[g] = each;
  }
  struct be_anova anova;
  be_anova_of(x, n, sets, &anova);
  assert_near(anova.f / want[0], 1, tolerance);
  assert_near(anova.between / want[1], 1, tolerance);
  assert_near(anova.within / want[2], 1, tolerance);
}

static void nist_sirstv(void **state)
{
  (void)state;
  static const double want[] = {1.18046237440255, 5.11462616000000e-02, 2.16636560000000e-01};
  double x[25];
  for (size_t i = 0; i < 25; i++) x[i] = strtod(sirstv[i], NULL);
  check_anova(x, 5, 5, want, 2e-12); /* 196.3052 is a double to 1e-14, a deviation to 1e-13 */
  assert_int_equal(be_number_offsets(sirstv, 25, '.', x, NULL), BE_OK);
  check_anova(x, 5, 5, want, 5e-15 * 10); /* the 15 digits that are printed */
}

/* Simon and Lesage (Comput. Stat. Data Anal. 8, 1989): nine sets of 21, 201 or 2001 around
 * base + 0.3 to 0.5, by their rule; the bases are 1, a million and a million million. */
static void nist_simon_lesage(void **state)
{
  (void)state;
  static const char *const bases[] = {"1", "1000000", "1000000000000"};
  static const double want[][3] = {{21, 1.68, 1.8}, {201, 16.08, 18}, {2001, 160.08, 180}};
  static const size_t each[] = {21, 201, 2001};
  static char words[SETS_MAX * 2001][24];
  static const char *texts[SETS_MAX * 2001];
  static double x[SETS_MAX * 2001];
  for (size_t i = 0; i < SETS_MAX; i++) {
    const char *base = bases[i / 3];
    size_t r = each[i % 3], count = SETS_MAX * r;
    for (size_t j = 0; j < count; j++) {
      size_t set = j / r, place = j % r;
      int tenths = set == 0 ? 4 : set % 2 ? 3 : 5;
      if (place > 0) tenths += place % 2 ? -1 : 1;
      snprintf(words[j], sizeof words[j], "%.*s.%d", 13, base, tenths);
      texts[j] = words[j];
      x[j] = strtod(words[j], NULL);
    }
    /* As doubles, tenths near a million are good to 1e-10 of themselves; near a million
     * million the spacing is 1.2e-4, and only 2 to 4 digits are left. */
    static const double of_doubles[] = {2e-13, 3e-9, 5e-3};
    check_anova(x, SETS_MAX, r, want[i % 3], of_doubles[i / 3]);
    assert_int_equal(be_number_offsets(texts, count, '.', x, NULL), BE_OK);
    check_anova(x, SETS_MAX, r, want[i % 3], 1e-14);
  }
}

/* ---- the studentized range ---- */

/* 48 points in high precision, read. */
static void range_at_48_points(void **state)
{
  (void)state;
  double q[48], groups[48], df[48], cdf[48];
  assert_int_equal(read_numbers("range_cdf.csv", 0, q, 48), 48);
  assert_int_equal(read_numbers("range_cdf.csv", 1, groups, 48), 48);
  assert_int_equal(read_numbers("range_cdf.csv", 2, df, 48), 48);
  assert_int_equal(read_numbers("range_cdf.csv", 3, cdf, 48), 48);
  for (size_t i = 0; i < 48; i++) {
    struct be_tail range;
    be_range_init(&range, (size_t)groups[i]);
    assert_near(be_tail_upper(&range, q[i], df[i]), 1 - cdf[i], 2e-14);
  }
}

/* Harter (1960), Pearson and Hartley: two decimals, memory, verified; R's qtukey to 1e-4. */
static void range_quantiles(void **state)
{
  (void)state;
  static const struct {
    double upper;
    size_t groups;
    double df, printed, derived;
  } cases[] = {
      {0.05, 2, 5, 3.64, 3.635351421},  {0.05, 3, 5, 4.60, 4.601725446},
      {0.05, 5, 5, 5.67, 5.673124539},  {0.05, 2, 10, 3.15, 3.151064177},
      {0.05, 4, 10, 4.33, 4.326582116}, {0.05, 10, 10, 5.60, 5.598386462},
      {0.05, 3, 20, 3.58, 3.577934582}, {0.05, 5, 20, 4.23, 4.231856683},
      {0.05, 4, 60, 3.74, 3.737089227}, {0.05, 3, INFINITY, 3.31, 3.314493158},
      {0.01, 3, 10, 5.27, 5.270161537}, {0.01, 4, 20, 5.02, 5.018016124},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_tail range;
    be_range_init(&range, cases[i].groups);
    double q = be_tail_quantile(&range, cases[i].upper, cases[i].df);
    assert_near(q, cases[i].printed, 0.00501);
    assert_near(q, cases[i].derived, 1e-4);
  }
}

/* ---- pairs ---- */

/* Three sets of five in a listing of SAS, read by way of SciPy's tests; its limits carry 4e-5. */
static void sas_tukey(void **state)
{
  (void)state;
  static const double x[3][5] = {{24.5, 23.5, 26.4, 27.1, 29.9},
                                 {28.4, 34.2, 29.5, 32.2, 30.1},
                                 {26.1, 28.3, 24.3, 26.2, 27.8}};
  struct be_summary sets[3];
  struct be_pair pairs[3];
  for (size_t g = 0; g < 3; g++) be_summary_of(x[g], 5, &sets[g]);
  be_tukey_kramer(sets, 3, 0.95, pairs);
  assert_near(-pairs[0].interval.high, 0.9508830568, 1e-4); /* they give 2 less 1 */
  assert_near(-pairs[0].interval.low, 8.249116943, 1e-4);
  assert_near(-pairs[1].interval.high, -3.389116943, 1e-4);
  assert_near(-pairs[2].interval.high, -7.989116943, 1e-4);
}

/* Montgomery, Design and Analysis of Experiments, 5th ed., example 3-1: strength of cloth by
 * percent of cotton. Memory, verified. */
static const double cotton[5][5] = {{7, 7, 15, 11, 9},
                                    {12, 17, 12, 18, 18},
                                    {14, 18, 18, 19, 19},
                                    {19, 25, 22, 19, 23},
                                    {7, 10, 11, 15, 11}};

static void montgomery(void **state)
{
  (void)state;
  static const double want[] = {14.75682382, 475.76, 161.20};
  check_anova(&cotton[0][0], 5, 5, want, 1e-9);
  struct be_summary sets[5];
  struct be_pair pairs[10];
  double scratch[5];
  for (size_t g = 0; g < 5; g++) be_summary_of(cotton[g], 5, &sets[g]);
  be_tukey_kramer(sets, 5, 0.95, pairs);
  double hsd = (pairs[0].interval.high - pairs[0].interval.low) / 2;
  assert_near(hsd, 5.37, 0.005);
  assert_near(hsd, 5.372958301, 1e-4); /* derived, by R's qtukey */
  double se = pairs[0].difference / pairs[0].t;
  assert_near(se * be_t_quantile(0.025, 20), 3.75, 0.005);
  assert_near(se * be_t_quantile(0.025, 20), 3.745451782, 1e-9);
  /* Derived, by R's ptukey, good to 4.4e-6; pairs of 15, 20, 25, 30, 35 %. */
  static const double p[] = {0.03850242906,  0.002594799467, 1.900757533e-05, 0.9797708703,
                             0.737243767,    0.01889363808,  0.1162970383,    0.2101089244,
                             0.009064636017, 6.240694759e-05};
  for (size_t i = 0; i < 10; i++) assert_near(pairs[i].p, p[i], 4.4e-6);
  be_dunnett(sets, 5, 4, 0.95, scratch, pairs);
  double d = (pairs[0].interval.high - pairs[0].interval.low) / 2 / se;
  assert_near(d, 2.65, 0.005);
  assert_near(d, 2.651023182, 1e-4); /* derived by Monte Carlo */
}

/* The display that multcomp's cld gives: 15 a, 20 bc, 25 bd, 30 d, 35 ac, but for the names. */
static void montgomery_letters(void **state)
{
  (void)state;
  struct be_summary sets[5];
  struct be_pair pairs[10];
  bool apart[25] = {false};
  double means[5];
  uint64_t letters[5];
  for (size_t g = 0; g < 5; g++) {
    be_summary_of(cotton[g], 5, &sets[g]);
    means[g] = sets[g].mean;
  }
  be_tukey_kramer(sets, 5, 0.95, pairs);
  for (size_t i = 0; i < 10; i++)
    apart[pairs[i].a * 5 + pairs[i].b] = apart[pairs[i].b * 5 + pairs[i].a] = pairs[i].p < 0.05;
  assert_int_equal(be_letters(apart, means, 5, letters, NULL), BE_OK);
  /* Named from the strongest down: their d, b, c, a are a, b, c, d here. */
  static const char *const want[] = {"d", "bc", "ab", "a", "cd"};
  for (size_t g = 0; g < 5; g++) {
    char text[160];
    be_letters_text(letters[g], text, sizeof text);
    assert_string_equal(text, want[g]);
  }
}

/* Penguins by species; figures of a general statistics library's tests, read; p as JASP prints it.
 */
static void games_howell_penguins(void **state)
{
  (void)state;
  static double species[PULLS_MAX], mass[PULLS_MAX];
  size_t n = read_numbers("penguins.csv", 0, species, PULLS_MAX);
  assert_int_equal(n, 342);
  assert_int_equal(read_numbers("penguins.csv", 1, mass, PULLS_MAX), n);
  struct be_summary sets[3];
  for (size_t g = 0, begin = 0; g < 3; g++) {
    size_t end = begin;
    while (end < n && species[end] == (double)g) end++;
    be_summary_of(mass + begin, end - begin, &sets[g]);
    begin = end;
  }
  struct be_pair pairs[3];
  be_games_howell(sets, 3, 0.95, pairs);
  static const double difference[] = {-32.426, -1375.354, NAN}, t[] = {-0.5431, -23.3860, -20.6278};
  static const double df[] = {152.4548, 249.6426, 170.4044}, se[] = {59.7064, NAN, 65.1028};
  /* Derived with R 4.2.2; the limits by its qtukey. */
  static const double low[] = {-173.7408413, -1514.017188, -1496.855481};
  static const double high[] = {108.8888741, -1236.690829, -1189.000568};
  for (size_t i = 0; i < 3; i++) {
    if (!isnan(difference[i])) assert_near(pairs[i].difference, difference[i], 0.0005);
    if (!isnan(se[i])) assert_near(pairs[i].difference / pairs[i].t, se[i], 0.00005);
    assert_near(pairs[i].t, t[i], 0.00005);
    assert_near(pairs[i].df, df[i], 0.00005);
    assert_near(pairs[i].interval.low, low[i], 0.005);
    assert_near(pairs[i].interval.high, high[i], 0.005);
  }
  assert_near(pairs[0].p, 0.8502, 0.00006);
  assert_near(pairs[0].p, 0.850154024, 4.4e-6); /* derived, by R's ptukey */
  assert_near(pairs[1].p, 0, 1e-12);
  assert_near(pairs[2].p, 0, 1e-12);
}

/* Dunnett (J. Am. Stat. Assoc. 50, 1955; Biometrics 20, 1964): two decimals, memory, verified;
 * then by Monte Carlo, to 1e-4. */
static void dunnett_tables(void **state)
{
  (void)state;
  static const struct {
    bool one_sided;
    size_t count;
    double df, printed, derived;
  } cases[] = {
      {false, 1, 20, 2.09, 2.085963447}, {false, 3, 20, 2.54, 2.540345645},
      {false, 5, 20, 2.73, 2.734685273}, {false, 2, 10, 2.57, 2.568341343},
      {false, 4, 10, 2.89, 2.890472277}, {false, 4, INFINITY, 2.44, 2.441771534},
      {true, 2, 20, 2.03, 2.027316396},  {true, 4, 20, 2.30, 2.304425468},
  };
  const double half = sqrt(0.5), lambda[] = {half, half, half, half, half};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_tail tail;
    be_dunnett_init(&tail, lambda, cases[i].count, cases[i].one_sided);
    double d = be_tail_quantile(&tail, 0.05, cases[i].df);
    assert_near(d, cases[i].printed, 0.00501);
    assert_near(d, cases[i].derived, 1e-4);
  }
}

/* Dunnett's blood counts (1955): t read; p as R gives it, read. */
static void dunnett_blood_counts(void **state)
{
  (void)state;
  static const double control[] = {7.4, 8.5, 7.2, 8.24, 9.84, 8.32};
  static const double drug_a[] = {9.76, 8.8, 7.68, 9.36};
  static const double drug_b[] = {12.8, 9.68, 12.16, 9.2, 10.55};
  struct be_summary sets[3];
  struct be_pair pairs[2];
  double scratch[3];
  be_summary_of(control, 6, &sets[0]);
  be_summary_of(drug_a, 4, &sets[1]);
  be_summary_of(drug_b, 5, &sets[2]);
  be_dunnett(sets, 3, 0, 0.95, scratch, pairs);
  assert_near(pairs[0].t, 0.85703, 0.000005);
  assert_near(pairs[1].t, 3.69375, 0.000005);
  assert_near(pairs[0].p, 0.6201, 0.00005);
  assert_near(pairs[1].p, 0.0058, 0.00005);
  assert_near(pairs[0].p, 0.62010198, 1e-4); /* derived by Monte Carlo */
  assert_near(pairs[1].p, 0.005825360848, 1e-4);
}

/* Holm (Scand. J. Stat. 6, 1979): an example in numbers, memory, verified. */
static void holm_example(void **state)
{
  (void)state;
  double p[] = {0.01, 0.04, 0.03, 0.005};
  static const double want[] = {0.03, 0.06, 0.06, 0.02};
  assert_int_equal(be_holm(p, 4, p, NULL), BE_OK);
  for (size_t i = 0; i < 4; i++) assert_near(p[i], want[i], 1e-15);
}

/* ---- distributions and scatter ---- */

/* Scholz and Stephens (J. Am. Stat. Assoc. 82, 1987), smoothness of paper in four labs: read. */
static void four_labs(void **state)
{
  (void)state;
  static const double labs[4][8] = {{38.7, 41.5, 43.8, 44.5, 45.5, 46, 47.7, 58},
                                    {39.2, 39.3, 39.7, 41.4, 41.8, 42.9, 43.3, 45.8},
                                    {34, 35, 39, 40, 43, 43, 44, 45},
                                    {34, 34.8, 34.8, 35.4, 37.2, 37.8, 41.2, 42.8}};
  const double *const x[] = {labs[0], labs[1], labs[2], labs[3]};
  static const size_t n[] = {8, 8, 8, 8};
  struct be_many_ad result;
  assert_int_equal(be_many_anderson_darling(x, n, 4, &result, NULL), BE_OK);
  assert_near(result.a2_midrank, 8.3926, 0.00005);
  assert_near(result.sigma, 1.2038, 0.00005);
  assert_near(result.t, 4.449, 0.0005);
  assert_near(result.t_midrank, 4.480, 0.0005);
  /* Derived: equations 4, 6 and 7 in R. */
  assert_near(result.a2_midrank, 8.392609327, 1e-9);
  assert_near(result.sigma, 1.203766384, 1e-9);
  assert_near(result.t, 4.449262232, 1e-9);
  assert_near(result.t_midrank, 4.479780627, 1e-9);
  assert_near(result.p, 0.0022, 0.0002); /* the paper: 0.0023 and 0.0022, from memory */
}

/* Strengths of one condition, all batches or one; returns how many. */
static size_t strengths(double condition, double batch, double *x)
{
  static double batches[PULLS_MAX], values[PULLS_MAX], conditions[PULLS_MAX];
  size_t all = read_numbers("cmh17_strengths.csv", 0, batches, PULLS_MAX), n = 0;
  read_numbers("cmh17_strengths.csv", 1, values, PULLS_MAX);
  read_numbers("cmh17_strengths.csv", 2, conditions, PULLS_MAX);
  assert_int_equal(all, 102);
  for (size_t i = 0; i < all; i++)
    if (conditions[i] == condition && (batch == 0 || batches[i] == batch)) x[n++] = values[i];
  return n;
}

/* CMH-17-1G, 8.3.11.1.1, read by way of an open-source library's validation. The handbook prints
 * 0.58 for the scatter of CTD, RTD and ETD: the point has slipped, it is 0.058. */
static void cmh17_example(void **state)
{
  (void)state;
  static double data[3][PULLS_MAX];
  const double *const x[] = {data[0], data[1], data[2]};
  size_t n[3];
  for (size_t g = 0; g < 3; g++) n[g] = strengths(3, (double)g + 1, data[g]); /* ETW */
  struct be_many_ad result;
  assert_int_equal(be_many_anderson_darling(x, n, 3, &result, NULL), BE_OK);
  assert_near(result.a2_midrank / 2, 0.793, 0.0005);
  assert_near(result.a2_midrank / 2, 0.7928046249, 1e-9); /* derived */
  struct be_anova anova;
  for (size_t g = 0; g < 3; g++) n[g] = strengths(0, (double)g + 1, data[g]); /* CTD */
  assert_int_equal(be_levene(x, n, 3, &anova, NULL), BE_OK);
  assert_near(anova.f, 3.850, 0.0025);     /* its last digit is not right */
  assert_near(anova.f, 3.852032129, 1e-9); /* derived */
  for (size_t g = 0; g < 3; g++) n[g] = strengths((double)g, 0, data[g]);
  assert_int_equal(be_levene(x, n, 3, &anova, NULL), BE_OK);
  assert_near(anova.f, 0.058, 0.0005);
  assert_near(anova.f, 0.05811630929, 1e-10);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(nist_sirstv),        cmocka_unit_test(nist_simon_lesage),
      cmocka_unit_test(range_at_48_points), cmocka_unit_test(range_quantiles),
      cmocka_unit_test(sas_tukey),          cmocka_unit_test(montgomery),
      cmocka_unit_test(montgomery_letters), cmocka_unit_test(games_howell_penguins),
      cmocka_unit_test(dunnett_tables),     cmocka_unit_test(dunnett_blood_counts),
      cmocka_unit_test(holm_example),       cmocka_unit_test(four_labs),
      cmocka_unit_test(cmh17_example),
  };
  return be_tests("published: comparisons of many sets", tests);
}
