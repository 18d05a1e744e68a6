/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

static const struct be_held chains[] = {{31.7, false, 1},  {28.4, false, 2}, {35.9, true, 1},
                                        {22.6, false, 2},  {30.3, false, 1}, {27.7, false, 1},
                                        {35.9, true, 0.5}, {24.1, false, 3}};
/* Lieblein and Zelen (1956). */
static const struct be_held bearings[] = {
    {17.88, false, 1},  {28.92, false, 1},  {33, false, 1},     {41.52, false, 1},
    {42.12, false, 1},  {45.6, false, 1},   {48.4, false, 1},   {51.84, false, 1},
    {51.96, false, 1},  {54.12, false, 1},  {55.56, false, 1},  {67.8, false, 1},
    {68.64, false, 1},  {68.64, false, 1},  {68.88, false, 1},  {84.12, false, 1},
    {93.12, false, 1},  {98.64, false, 1},  {105.12, false, 1}, {105.84, false, 1},
    {127.92, false, 1}, {128.04, false, 1}, {173.4, false, 1}};
/* Meeker and Escobar (1998), table C.2. */
static const struct be_held shock[] = {
    {6700, false, 1},  {6950, true, 1},   {7820, true, 1},   {8790, true, 1},   {9120, false, 1},
    {9660, true, 1},   {9820, true, 1},   {11310, true, 1},  {11690, true, 1},  {11850, true, 1},
    {11880, true, 1},  {12140, true, 1},  {12200, false, 1}, {12870, true, 1},  {13150, false, 1},
    {13330, true, 1},  {13470, true, 1},  {14040, true, 1},  {14300, false, 1}, {17520, false, 1},
    {17540, true, 1},  {17890, true, 1},  {18450, true, 1},  {18960, true, 1},  {18980, true, 1},
    {19410, true, 1},  {20100, false, 1}, {20100, true, 1},  {20150, true, 1},  {20320, true, 1},
    {20900, false, 1}, {22700, false, 1}, {23490, true, 1},  {26510, false, 1}, {27410, true, 1},
    {27490, false, 1}, {27890, true, 1},  {28100, true, 1}};
enum { CHAINS = 8, BEARINGS = 23, SHOCKS = 38 };

/* Derived with R 4.2.2: optimize inside uniroot, good to about 1e-9. */
static void profiles_of_r(void **state)
{
  (void)state;
  static const double of_shock[3][4][2] = {{{1.898532170006, 4.77139078064},
                                            {23330.06611333, 37961.91083583},
                                            {20924.47623206, 33619.83190383},
                                            {9371.202394059, 17291.23793562}},
                                           {{0.3669523838684, 0.8576367328933},
                                            {20150.55018794, 37523.61108396},
                                            {22219.69613464, 51514.58214549},
                                            {9401.67175897, 16281.41681539}},
                                           {{5820.942100292, 13424.67033338},
                                            {20873.55701264, 30621.36180877},
                                            {20873.55701264, 30621.36180877},
                                            {8893.433972369, 17551.49224365}}};
  static const double of_bearings[3][4][2] = {{{1.593756948574, 2.67433069909},
                                               {68.25263479163, 97.39005643064},
                                               {60.62508447378, 86.25000932052},
                                               {18.0746656156, 38.68538346703}},
                                              {{0.4168247982332, 0.6791776415895},
                                               {52.77638182757, 76.30218691125},
                                               {60.71860370622, 90.21085083561},
                                               {24.41479572546, 40.18507339891}},
                                              {{29.29668199312, 47.73624666006},
                                               {59.2659480725, 85.17579105793},
                                               {59.2659480725, 85.17579105793},
                                               {5.084758281705, 40.1083962734}}};
  for (int family = 0; family < 3; family++)
    for (int wanted = 0; wanted < 4; wanted++) {
      struct be_fit fit;
      struct be_measure measure;
      be_fit_censored((enum be_family)family, shock, SHOCKS, &fit);
      be_fit_profile(&fit, shock, SHOCKS, (enum be_wanted)wanted, 0.1, 0.95, &measure);
      assert_near(measure.interval.low / of_shock[family][wanted][0], 1, 2e-8);
      assert_near(measure.interval.high / of_shock[family][wanted][1], 1, 2e-8);
      be_fit_censored((enum be_family)family, bearings, BEARINGS, &fit);
      be_fit_profile(&fit, bearings, BEARINGS, (enum be_wanted)wanted, 0.1, 0.9, &measure);
      assert_near(measure.interval.low / of_bearings[family][wanted][0], 1, 2e-8);
      assert_near(measure.interval.high / of_bearings[family][wanted][1], 1, 2e-8);
      assert_true(measure.interval.level == 0.9);
    }
}

/* ---- the profile by its definition ---- */

static double log_likelihood(enum be_family family, double mu, double sigma)
{
  double sum = 0;
  for (size_t i = 0; i < CHAINS; i++) {
    double x = chains[i].load, w = chains[i].links;
    double z = ((family == BE_FAMILY_NORMAL ? x : log(x)) - mu) / sigma;
    double tail = family == BE_FAMILY_WEIBULL ? -exp(z) : be_normal_log_upper(z);
    double density = family == BE_FAMILY_WEIBULL ? z - exp(z) : -z * z / 2 - 0.91893853320467274178;
    if (family != BE_FAMILY_NORMAL) density -= log(x);
    sum += chains[i].bound ? w * tail : log(w) + density - log(sigma) + (w - 1) * tail;
  }
  return sum;
}

/* The log-likelihood where the figure has the value and the other parameter is u. */
static double pinned(const struct be_fit *fit, enum be_wanted wanted, double p, double value,
                     double u)
{
  enum be_family family = fit->family;
  double at = family == BE_FAMILY_NORMAL ? value : log(value), s = exp(u);
  double q = family == BE_FAMILY_WEIBULL ? log(-log1p(-p)) : -be_normal_quantile(p);
  switch (wanted) {
  case BE_WANTED_SHAPE:
    return log_likelihood(family, u, family == BE_FAMILY_WEIBULL ? 1 / value : value);
  case BE_WANTED_SCALE: return log_likelihood(family, at, s);
  case BE_WANTED_QUANTILE: return log_likelihood(family, at - s * q, s);
  case BE_WANTED_MEAN: break;
  }
  double shift =
      family == BE_FAMILY_WEIBULL ? lgamma(1 + s) : (family == BE_FAMILY_LOGNORMAL ? s * s / 2 : 0);
  return log_likelihood(family, at - shift, s);
}

/* Twice the loss at a value, with the other parameter found by ever finer grids. */
static double slow_loss(const struct be_fit *fit, enum be_wanted wanted, double p, double value)
{
  bool shape = wanted == BE_WANTED_SHAPE;
  double u = shape ? fit->mu : log(fit->sigma), best = -INFINITY;
  double width = shape ? 6 * fit->sigma : 3;
  for (int round = 0; round < 12; round++, width /= 8) {
    double centre = u;
    for (int i = -20; i <= 20; i++) {
      double other = centre + width * i / 20, l = pinned(fit, wanted, p, value, other);
      if (l > best) best = l, u = other;
    }
  }
  return 2 * (fit->log_likelihood - best);
}

static void the_ends_lose_half_a_chi_square(void **state)
{
  (void)state;
  static const double levels[] = {0.68, 0.95, 0.997};
  for (int family = 0; family < 3; family++) {
    struct be_fit fit;
    be_fit_censored((enum be_family)family, chains, CHAINS, &fit);
    for (int wanted = 0; wanted < 4; wanted++)
      for (size_t k = 0; k < 3; k++) {
        struct be_measure measure;
        double loss = be_chi2_quantile(1 - levels[k], 1), p = 0.037;
        be_fit_profile(&fit, chains, CHAINS, (enum be_wanted)wanted, p, levels[k], &measure);
        assert_true(measure.interval.low < measure.value);
        assert_true(measure.value < measure.interval.high);
        assert_near(slow_loss(&fit, (enum be_wanted)wanted, p, measure.value), 0, 1e-10);
        assert_near(slow_loss(&fit, (enum be_wanted)wanted, p, measure.interval.low), loss, 1e-9);
        assert_near(slow_loss(&fit, (enum be_wanted)wanted, p, measure.interval.high), loss, 1e-9);
      }
  }
}

/* Two events among a thousand bounds: the mean's end lies beyond the largest double. */
static void ends_that_the_data_do_not_bound(void **state)
{
  (void)state;
  static struct be_held held[1000];
  for (size_t i = 0; i < 1000; i++) held[i] = (struct be_held){41.7, true, 1};
  held[3].load = 0.0121;
  held[9].load = 17.3;
  held[3].bound = held[9].bound = false;
  struct be_fit fit;
  struct be_measure measure;
  be_fit_censored(BE_FAMILY_WEIBULL, held, 1000, &fit);
  be_fit_profile(&fit, held, 1000, BE_WANTED_MEAN, 0, 0.9999, &measure);
  assert_true(isinf(measure.interval.high) && measure.interval.low > 0);
  be_fit_profile(&fit, held, 1000, BE_WANTED_QUANTILE, 1e-9, 0.9999, &measure);
  assert_true(measure.interval.low == 0 && measure.interval.high < 0.0121);
  be_fit_conditional(&fit, held, 1000, BE_WANTED_MEAN, 0, 0.95, &measure);
  assert_true(isinf(measure.interval.high) && measure.interval.low > 0);
}

/* ---- conditional ---- */

/* Derived with R 4.2.2: integrate over log sigma of the posterior with prior d mu d sigma /
 * sigma, in 160 pieces, and uniroot; good to about 1e-10. 95 %; shape, scale, mean, quantile. */
static void conditional_of_r(void **state)
{
  (void)state;
  static const double p[] = {0.1, 0.05, 0.1};
  static const size_t n[] = {BEARINGS, CHAINS, 3};
  static const struct be_held three[] = {{31.7, false, 1}, {28.4, false, 1}, {35.9, false, 1}};
  static const struct be_held *const sets[] = {bearings, chains, three};
  static const double want[3][4][2] = {{{1.4296039317, 2.7066642563},
                                        {65.467392893, 102.229286},
                                        {58.524117399, 90.937804419},
                                        {15.156565549, 39.891423543}},
                                       {{2.4048217936, 9.9513854672},
                                        {29.137912276, 43.305113643},
                                        {26.644630646, 39.029885705},
                                        {10.611379397, 25.161375814}},
                                       {{1.455160608, 20.145153865},
                                        {26.38865448, 47.275212019},
                                        {23.998241572, 43.611048105},
                                        {7.2570809831, 31.762075941}}};
  for (size_t k = 0; k < 3; k++) {
    struct be_fit fit;
    be_fit_censored(BE_FAMILY_WEIBULL, sets[k], n[k], &fit);
    for (int wanted = 0; wanted < 4; wanted++) {
      struct be_measure measure;
      be_fit_conditional(&fit, sets[k], n[k], (enum be_wanted)wanted, p[k], 0.95, &measure);
      assert_near(measure.interval.low / want[k][wanted][0], 1, 1e-9);
      assert_near(measure.interval.high / want[k][wanted][1], 1, 1e-9);
    }
    struct be_measure measure;
    be_fit_conditional(&fit, sets[k], n[k], BE_WANTED_QUANTILE, p[k], 0.95, &measure);
    double low = be_fit_lower(&fit, sets[k], n[k], 1 - p[k], 0.975);
    assert_near(low / measure.interval.low, 1, 1e-12);
  }
}

/* The same of two pulls and p = 0.001, where the integrand turns fastest; by the same route. */
static void a_low_quantile_of_two_pulls(void **state)
{
  (void)state;
  struct be_held two[] = {{31.7, false, 1}, {28.4, false, 1}};
  struct be_fit fit;
  struct be_measure measure;
  be_fit_censored(BE_FAMILY_WEIBULL, two, 2, &fit);
  be_fit_conditional(&fit, two, 2, BE_WANTED_QUANTILE, 0.001, 0.95, &measure);
  assert_near(measure.interval.low / 1.3862454072e-05, 1, 1e-9);
  assert_near(measure.interval.high / 26.520485691, 1, 1e-9);
}

/* Exact at any size: out of so many sets the truth lies outside a 90 % interval in a tenth, each
 * figure by itself, within 4 deviations of the binomial (for a seed that is fixed). The mean's
 * is not exact, but that close; so are those of sets stopped at the third of five events. */
static void conditional_intervals_cover(void **state)
{
  (void)state;
  enum { SETS = 150 };
  static const size_t sizes[] = {3, 5, 10, 5};
  const double eta = 47.3, beta = 6.1, p = 0.1;
  const double truth[] = {beta, eta, eta * tgamma(1 + 1 / beta), eta * pow(-log(0.9), 1 / beta)};
  struct be_random random;
  be_random_init(&random, 1975, 4);
  for (size_t k = 0; k < 4; k++) {
    size_t missed[4] = {0}, low = 0;
    for (size_t set = 0; set < SETS; set++) {
      struct be_held held[10];
      double loads[10];
      struct be_fit fit;
      for (size_t i = 0; i < sizes[k]; i++)
        loads[i] = eta * pow(-log1p(-be_random_unit(&random)), 1 / beta);
      be_sort(loads, sizes[k]);
      for (size_t i = 0; i < sizes[k]; i++) {
        bool stopped = k == 3 && i > 2;
        held[i] = (struct be_held){stopped ? loads[2] : loads[i], stopped, 1};
      }
      be_fit_censored(BE_FAMILY_WEIBULL, held, sizes[k], &fit);
      for (int wanted = 0; wanted < 4; wanted++) {
        struct be_measure measure;
        be_fit_conditional(&fit, held, sizes[k], (enum be_wanted)wanted, p, 0.9, &measure);
        missed[wanted] +=
            measure.interval.low > truth[wanted] || measure.interval.high < truth[wanted];
        if (wanted == BE_WANTED_QUANTILE) low += measure.interval.low > truth[wanted];
      }
    }
    for (size_t wanted = 0; wanted < 4; wanted++)
      assert_near((double)missed[wanted], 0.1 * SETS, 4 * sqrt(0.1 * 0.9 * SETS));
    assert_near((double)low, 0.05 * SETS, 4 * sqrt(0.05 * 0.95 * SETS));
  }
}

/* Loads that are raised to a power and multiplied are Weibull again, and so must be all ends. */
static void intervals_follow_power_and_unit(void **state)
{
  (void)state;
  for (int conditional = 0; conditional < 2; conditional++)
    for (int wanted = 0; wanted < 4; wanted++) {
      struct be_held held[CHAINS];
      struct be_fit fit, raised;
      struct be_measure a, b;
      bool shape = wanted == BE_WANTED_SHAPE;
      double power = wanted == BE_WANTED_MEAN ? 1 : 3.3;
      for (size_t i = 0; i < CHAINS; i++) {
        held[i] = chains[i];
        held[i].load = 1e6 * pow(held[i].load, power);
      }
      be_fit_censored(BE_FAMILY_WEIBULL, chains, CHAINS, &fit);
      be_fit_censored(BE_FAMILY_WEIBULL, held, CHAINS, &raised);
      (conditional ? be_fit_conditional : be_fit_profile)(&fit, chains, CHAINS,
                                                          (enum be_wanted)wanted, 0.01, 0.95, &a);
      (conditional ? be_fit_conditional : be_fit_profile)(&raised, held, CHAINS,
                                                          (enum be_wanted)wanted, 0.01, 0.95, &b);
      if (shape) {
        assert_near(b.interval.low * power / a.interval.low, 1, 1e-10);
        assert_near(b.interval.high * power / a.interval.high, 1, 1e-10);
      } else {
        assert_near(b.interval.low / (1e6 * pow(a.interval.low, power)), 1, 1e-10);
        assert_near(b.interval.high / (1e6 * pow(a.interval.high, power)), 1, 1e-10);
      }
    }
}

/* ---- lower bounds ---- */

/* k of 90 and 95 % for n = 10, 2.35464013183, derived with SciPy: mean - k s without bounds. */
static void lower_bound_of_normal_loads(void **state)
{
  (void)state;
  struct be_held held[11], logs[11];
  double x[10];
  for (size_t i = 0; i < 10; i++) {
    x[i] = 24.7 + 0.31 * (double)(i * i % 7) + 0.05 * (double)i;
    held[i] = (struct be_held){x[i], false, 1};
    logs[i] = (struct be_held){exp(x[i] / 8), false, 1};
  }
  struct be_summary summary;
  struct be_fit fit;
  be_summary_of(x, 10, &summary);
  double want = summary.mean - 2.35464013182906 * summary.sd;
  be_fit_censored(BE_FAMILY_NORMAL, held, 10, &fit);
  assert_near(be_fit_lower(&fit, held, 10, 0.9, 0.95), want, 1e-10);
  be_fit_censored(BE_FAMILY_LOGNORMAL, logs, 10, &fit);
  assert_near(8 * log(be_fit_lower(&fit, logs, 10, 0.9, 0.95)), want, 1e-10);
  /* A bound far below changes nothing but the way: the profile's one-sided end. */
  held[10] = (struct be_held){1.3, true, 1};
  be_fit_censored(BE_FAMILY_NORMAL, held, 11, &fit);
  struct be_measure measure;
  be_fit_profile(&fit, held, 11, BE_WANTED_QUANTILE, 0.1, 0.9, &measure);
  assert_near(be_fit_lower(&fit, held, 11, 0.9, 0.95), measure.interval.low, 1e-10);
  assert_near(be_fit_lower(&fit, held, 11, 0.9, 0.05), measure.interval.high, 1e-10);
  assert_near(be_fit_lower(&fit, held, 11, 0.9, 0.5), be_fit_quantile(&fit, 0.1), 1e-10);
}

static void lower_bounds_fall(void **state)
{
  (void)state;
  for (int family = 0; family < 3; family++) {
    struct be_fit fit;
    be_fit_censored((enum be_family)family, chains, CHAINS, &fit);
    double last = INFINITY;
    for (double confidence = 0.05; confidence < 1; confidence += 0.1) {
      double low = be_fit_lower(&fit, chains, CHAINS, 0.9, confidence);
      assert_true(low < last && be_fit_lower(&fit, chains, CHAINS, 0.99, confidence) < low);
      last = low;
    }
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(profiles_of_r),
      cmocka_unit_test(the_ends_lose_half_a_chi_square),
      cmocka_unit_test(ends_that_the_data_do_not_bound),
      cmocka_unit_test(conditional_of_r),
      cmocka_unit_test(a_low_quantile_of_two_pulls),
      cmocka_unit_test(conditional_intervals_cover),
      cmocka_unit_test(intervals_follow_power_and_unit),
      cmocka_unit_test(lower_bound_of_normal_loads),
      cmocka_unit_test(lower_bounds_fall),
  };
  return be_tests("stats: intervals of censored fits", tests);
}
