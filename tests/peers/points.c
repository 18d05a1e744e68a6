/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Figures without pulls: distributions at odd points, rates, and plans. */
#include "peers.h"

static void point(struct peers *peers, enum tolerance tolerance, const char *kind, double a,
                  double b, double c, double d, double value)
{
  tell_point(peers, tolerance, kind, (const double[]){a, b, c, d}, value);
}

/* ---- distributions ---- */

static const double tails[] = {0.4999, 0.31, 0.1, 0.05, 0.025, 0.0013, 1e-6, 3e-11};
static const double freedoms[] = {1, 2.4, 3, 7.77, 19, 58.3, 411, 12345};
enum { TAILS = 8, FREEDOMS = 8 };

static void normals(struct peers *peers)
{
  static const double zs[] = {-9.1, -3.3, -0.4, 0.013, 0.77, 1.96, 4.4, 8.3, 21.7, 37};
  for (size_t i = 0; i < sizeof zs / sizeof *zs; i++) {
    point(peers, ESTIMATE, "normal upper", zs[i], 0, 0, 0, be_normal_upper(zs[i]));
    point(peers, ESTIMATE, "normal log upper", 4 * zs[i], 0, 0, 0, be_normal_log_upper(4 * zs[i]));
  }
  for (size_t i = 0; i < TAILS; i++) {
    point(peers, QUANTILE, "normal quantile", tails[i], 0, 0, 0, be_normal_quantile(tails[i]));
    point(peers, QUANTILE, "normal quantile", 1 - tails[i], 0, 0, 0,
          be_normal_quantile(1 - tails[i]));
  }
}

static void central(struct peers *peers)
{
  static const double xs[] = {0.03, 0.4, 0.98, 1.7, 4.2, 11.3};
  for (size_t j = 0; j < FREEDOMS; j++) {
    double df = freedoms[j], df2 = freedoms[(j + 3) % FREEDOMS];
    for (size_t i = 0; i < sizeof xs / sizeof *xs; i++) {
      double x = xs[i], share = x / (x + 1.3), rest = 1.3 / (x + 1.3);
      point(peers, ESTIMATE, "t upper", x, df, 0, 0, be_t_upper(x, df));
      point(peers, ESTIMATE, "F upper", x, df, df2, 0, be_f_upper(x, df, df2));
      point(peers, ESTIMATE, "beta lower", share, df / 2, df2 / 3, 0,
            be_beta_lower(share, rest, df / 2, df2 / 3));
      point(peers, ESTIMATE, "gamma lower", x * df / 2, df / 2, 0, 0,
            be_gamma_lower(df / 2, x * df / 2));
      point(peers, ESTIMATE, "chi-square upper", x * df, df, 0, 0, be_chi2_upper(x * df, df));
    }
    for (size_t i = 0; i < TAILS; i++) {
      double tail = tails[i];
      point(peers, QUANTILE, "t quantile", tail, df, 0, 0, be_t_quantile(tail, df));
      point(peers, QUANTILE, "F quantile", tail, df, df2, 0, be_f_quantile(tail, df, df2));
      point(peers, QUANTILE, "beta quantile", tail, df / 2, df2 / 3, 0,
            be_beta_quantile(tail, df / 2, df2 / 3));
      point(peers, QUANTILE, "chi-square quantile", tail, df, 0, 0, be_chi2_quantile(tail, df));
    }
  }
}

static void noncentral(struct peers *peers)
{
  static const double centres[] = {-2.2, 0.3, 1.9, 6.7, 24};
  for (size_t j = 0; j < FREEDOMS; j++)
    for (size_t i = 0; i < sizeof centres / sizeof *centres; i++) {
      double df = freedoms[j], centre = centres[i], f = 1 + fabs(centre) / 3;
      for (int step = -1; step <= 2; step++)
        point(peers, CHANCE, "noncentral t upper", centre + 1.1 * step, df, centre, 0,
              be_noncentral_t_upper(centre + 1.1 * step, df, centre));
      point(peers, CHANCE, "noncentral F upper", f, df, 7 + df, fabs(centre),
            be_noncentral_f_upper(f, df, 7 + df, fabs(centre)));
      for (size_t t = 1; t < 6 && df > 2; t++)
        point(peers, QUANTILE, "noncentral t quantile", tails[t], df, centre, 0,
              be_noncentral_t_quantile(tails[t], df, centre));
    }
}

/* Held against the peer's own function where that is good, and against the definition. */
static void studentized(struct peers *peers, const struct be_tail *range, double count, double df)
{
  for (int q = 1; q <= 4; q++) {
    double upper = be_tail_upper(range, 1.37 * q, df);
    point(peers, CHANCE, "range upper", 1.37 * q, count, df, 0, upper);
    point(peers, CHANCE, "range upper of ptukey", 1.37 * q, count, df, 0, upper);
  }
  static const double levels[] = {0.1, 0.05, 0.01};
  for (int i = 0; i < 3; i++) {
    double q = be_tail_quantile(range, levels[i], df);
    point(peers, QUANTILE, "range quantile", levels[i], count, df, 0, q);
    if (df > 4) point(peers, QUANTILE, "range quantile of qtukey", levels[i], count, df, 0, q);
  }
}

static void ranges(struct peers *peers)
{
  static const size_t groups[] = {2, 3, 4, 7, 13, 40};
  static const double dfs[] = {2, 4.4, 9, 21.5, 60, 300};
  for (size_t j = 0; j < 6; j++) {
    struct be_tail range, dunnett;
    double lambda[40];
    be_range_init(&range, groups[j]);
    for (size_t i = 0; i < 6; i++) studentized(peers, &range, (double)groups[j], dfs[i]);
    for (size_t i = 0; i < groups[j]; i++) lambda[i] = sqrt(0.5);
    for (int one_sided = 0; one_sided < 2 && j < 5; one_sided++) {
      be_dunnett_init(&dunnett, lambda, groups[j], one_sided);
      for (size_t i = 1; i < 6; i += 2)
        for (int q = 1; q <= 3; q++)
          point(peers, CHANCE, "greatest t upper", 1.13 * q, (double)groups[j], dfs[i], one_sided,
                be_tail_upper(&dunnett, 1.13 * q, dfs[i]));
    }
  }
}

void number_room(struct peers *peers)
{
  normals(peers);
  central(peers);
  noncentral(peers);
  ranges(peers);
}

/* ---- rates and plans ---- */

static void one_rate(struct peers *peers, size_t k, size_t n)
{
  static const double levels[] = {0.9, 0.95};
  for (size_t i = 0; i < 2; i++) {
    double kd = (double)k, nd = (double)n, level = levels[i];
    const struct be_interval intervals[] = {
        be_rate_exact(k, n, level), be_rate_wilson(k, n, level, false),
        be_rate_wilson(k, n, level, true), be_rate_jeffreys(k, n, level)};
    static const char *const lows[] = {"Clopper-Pearson low", "Wilson low", "Wilson corrected low",
                                       "Jeffreys low"};
    static const char *const highs[] = {"Clopper-Pearson high", "Wilson high",
                                        "Wilson corrected high", "Jeffreys high"};
    for (size_t j = 0; j < 4; j++) {
      point(peers, QUANTILE, lows[j], kd, nd, level, 0, intervals[j].low);
      point(peers, QUANTILE, highs[j], kd, nd, level, 0, intervals[j].high);
    }
    point(peers, QUANTILE, "rate upper", kd, nd, level, 0, be_rate_upper(k, n, level));
    point(peers, QUANTILE, "rate lower", kd, nd, level, 0, be_rate_lower(k, n, level));
  }
}

static void two_rates(struct peers *peers, size_t ka, size_t na, size_t kb, size_t nb)
{
  double a = (double)ka, b = (double)na, c = (double)kb, d = (double)nb;
  struct be_rates rates;
  be_rates_compare(ka, na, kb, nb, 0.95, &rates);
  point(peers, CHANCE, "Fisher p", a, b, c, d, rates.fisher_p);
  point(peers, CHANCE, "Barnard p", a, b, c, d, rates.barnard_p);
  point(peers, QUANTILE, "odds ratio", a, b, c, d, rates.odds_ratio.value);
  point(peers, QUANTILE, "odds ratio low", a, b, c, d, rates.odds_ratio.interval.low);
  point(peers, QUANTILE, "odds ratio high", a, b, c, d, rates.odds_ratio.interval.high);
  point(peers, QUANTILE, "odds ratio of fisher.test", a, b, c, d, rates.odds_ratio.value);
  point(peers, QUANTILE, "odds ratio low of fisher.test", a, b, c, d,
        rates.odds_ratio.interval.low);
  point(peers, QUANTILE, "rate difference low", a, b, c, d, rates.difference.interval.low);
  point(peers, QUANTILE, "rate difference high", a, b, c, d, rates.difference.interval.high);
}

static void rates(struct peers *peers)
{
  static const size_t one[][2] = {{0, 7},   {1, 9},  {3, 11},  {9, 10},   {12, 12},
                                  {17, 31}, {1, 60}, {59, 60}, {81, 263}, {400, 400}};
  static const size_t two[][4] = {{0, 8, 5, 9},     {1, 6, 4, 7},    {3, 11, 9, 13}, {7, 7, 2, 6},
                                  {12, 30, 21, 29}, {5, 40, 6, 17},  {8, 8, 0, 7},   {2, 25, 2, 60},
                                  {10, 20, 10, 20}, {33, 60, 18, 60}};
  for (size_t i = 0; i < sizeof one / sizeof *one; i++) one_rate(peers, one[i][0], one[i][1]);
  for (size_t i = 0; i < sizeof two / sizeof *two; i++)
    two_rates(peers, two[i][0], two[i][1], two[i][2], two[i][3]);
}

static void plans(struct peers *peers)
{
  static const double shifts[] = {0.3, 0.5, 0.81, 1, 1.7, 2.9};
  static const double sizes[] = {2, 3.7, 5, 12, 20, 61};
  for (size_t i = 0; i < 6; i++) {
    double shift = shifts[i], between = shift * shift / 4;
    for (size_t j = 0; j < 6; j++) {
      point(peers, CHANCE, "power", shift, sizes[j], 0.05, 0, be_power_two(shift, sizes[j], 0.05));
      point(peers, CHANCE, "power of anova", 3 + (double)j, between, sizes[j], 0.01,
            be_power_many(3 + j, between, 1, sizes[j], 0.01));
    }
    point(peers, ESTIMATE, "pulls for power", shift, 0.05, 0.8, 0,
          be_power_two_n(shift, 0.05, 0.8));
    point(peers, ESTIMATE, "pulls for anova", 4, between, 0.05, 0.9,
          be_power_many_n(4, between, 1, 0.05, 0.9));
    point(peers, ESTIMATE, "pulls for sameness", shift, 0.05, 0.8, 0,
          be_power_same_n(shift, 0.05, 0.8));
  }
}

static void low_bounds(struct peers *peers)
{
  static const size_t sizes[] = {2, 3, 5, 8, 13, 29, 60, 137, 300, 700};
  static const double above[] = {0.75, 0.9, 0.95, 0.99};
  for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++)
    for (size_t j = 0; j < 4; j++) {
      double n = (double)sizes[i], confidence = j % 2 ? 0.95 : 0.9;
      point(peers, QUANTILE, "tolerance factor", n, above[j], confidence, 0,
            be_tolerance_factor(sizes[i], above[j], confidence));
      point(peers, ESTIMATE, "tolerance rank", n, above[j], confidence, 0,
            (double)be_tolerance_rank(sizes[i], above[j], confidence));
      point(peers, ESTIMATE, "success run", above[j], 1 - 1 / (n + 1), 0, 0,
            (double)be_success_run(above[j], 1 - 1 / (n + 1)));
    }
  for (size_t n = 3; n <= 5; n++)
    for (int step = 1; step <= 3; step++)
      point(peers, CHANCE, "Dixon upper", 0.27 * step, (double)n, 0, 0,
            be_dixon_upper(0.27 * step, n, 1, 1));
}

void rates_and_plans(struct peers *peers)
{
  rates(peers);
  plans(peers);
  low_bounds(peers);
}
