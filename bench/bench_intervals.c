/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How often each interval holds what it is of. Sets are drawn from a known truth, three
 * families of loads by three scatters, and every interval of stats is asked whether the
 * truth lies in it. All means are 100. Seeded: the same figures on any number of threads.
 *
 *   bench_intervals [PER CENT OF THE TRIALS] */
#include "app/survey/survey.h"
#include "stats/number/number.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Of costly intervals fewer: the standard error of 95 % is 0.15 and 0.29 points. */
enum { BLOCK = 500, BLOCKS = 40, COSTLY_BLOCKS = 11 };
enum { SIZES = 3, FAMILIES = 3, SCATTERS = 3, COLUMNS = FAMILIES * SCATTERS, ONE_SCATTER = 1 };
enum { N_MAX = 10, PLAIN = 5, WALSH = N_MAX * (N_MAX + 1) / 2, GRID = 20000 };
static const size_t sizes[SIZES] = {3, 5, 10};
static const double scatters[SCATTERS] = {0.03, 0.08, 0.15}, plain_scatter = 0.04;
static const enum be_family families[FAMILIES] = {BE_FAMILY_NORMAL, BE_FAMILY_LOGNORMAL,
                                                  BE_FAMILY_WEIBULL};
static const double level = 0.95, apart = 7, cut = 0.2, of_pulls = 0.1;
static const double one_sided = 1e9; /* above every load */
static const uint64_t seed = 20260418;

/* ---- what is true -------------------------------------------------------- */

struct truth {
  enum be_family family;
  double place, scale; /* mean and sd; of logs; or log eta and 1 / beta */
  double sd, cv, median, pseudo_median, trimmed, b10;
  double weibull_b10; /* of the Weibull that fits the whole population best */
};

static double load_at(const struct truth *truth, double upper)
{
  double z = truth->family == BE_FAMILY_WEIBULL ? log(-log(upper)) : be_normal_quantile(upper);
  double y = truth->place + truth->scale * z;
  return truth->family == BE_FAMILY_NORMAL ? y : exp(y);
}

static double below(const struct truth *truth, double x)
{
  if (truth->family != BE_FAMILY_NORMAL && x <= 0) return 0;
  double y = truth->family == BE_FAMILY_NORMAL ? x : log(x);
  double z = (y - truth->place) / truth->scale;
  return truth->family == BE_FAMILY_WEIBULL ? -expm1(-exp(z)) : be_normal_upper(-z);
}

static double weibull_excess(double sigma, const void *cv)
{
  double wanted = *(const double *)cv;
  return log1p(wanted * wanted) - (lgamma(1 + 2 * sigma) - 2 * lgamma(1 + sigma));
}

/* P(X + Y <= 2 m) less a half. */
static double half_excess(double m, const void *context)
{
  const struct truth *truth = context;
  double sum = 0;
  for (int i = 0; i < GRID; i++) sum += below(truth, 2 * m - load_at(truth, (i + 0.5) / GRID));
  return sum / GRID - 0.5;
}

static void place(struct truth *truth, enum be_family family, double cv)
{
  *truth = (struct truth){.family = family, .sd = 100 * cv, .cv = cv};
  truth->place = 100;
  truth->scale = 100 * cv;
  if (family == BE_FAMILY_LOGNORMAL) {
    truth->scale = sqrt(log1p(cv * cv));
    truth->place = log(100) - truth->scale * truth->scale / 2;
  } else if (family == BE_FAMILY_WEIBULL) {
    truth->scale = be_root(weibull_excess, &cv, 1e-4, 1);
    truth->place = log(100) - lgamma(1 + truth->scale);
  }
}

/* Population figures by the midpoint rule over GRID loads of equal chance. */
static void find_truth(struct truth *truth, enum be_family family, double cv)
{
  static struct be_held held[GRID];
  place(truth, family, cv);
  truth->median = load_at(truth, 0.5);
  truth->b10 = load_at(truth, 1 - of_pulls);
  truth->pseudo_median = be_root(half_excess, truth, 80, 120);
  double sum = 0;
  int edge = (int)(cut * GRID);
  for (int i = 0; i < GRID; i++) {
    double load = load_at(truth, (i + 0.5) / GRID);
    held[i] = (struct be_held){load, false, 1};
    if (i >= edge && i < GRID - edge) sum += load;
  }
  truth->trimmed = sum / (GRID - 2 * edge);
  struct be_fit fit;
  be_fit_censored(BE_FAMILY_WEIBULL, held, GRID, &fit);
  truth->weibull_b10 = be_fit_quantile(&fit, of_pulls);
}

/* ---- what is counted ------------------------------------------------------ */

/* Each with its name. */
#define EACH_ROW(X)                                                                                \
  X(MEAN_T, "mean, t")                                                                             \
  X(MEAN_PERCENTILE, "mean, bootstrap percentile")                                                 \
  X(MEAN_BCA, "mean, bootstrap BCa")                                                               \
  X(MEDIAN, "median, order statistics")                                                            \
  X(HODGES_LEHMANN, "Hodges-Lehmann")                                                              \
  X(TRIMMED, "trimmed mean")                                                                       \
  X(SD, "sd, chi-square")                                                                          \
  X(CV, "CV, Vangel")                                                                              \
  X(RATIO_LOG, "ratio, logarithms")                                                                \
  X(RATIO_FIELLER, "ratio, Fieller")                                                               \
  X(WELCH, "difference, Welch")                                                                    \
  X(SHIFT, "difference, Hodges-Lehmann")                                                           \
  X(LOGNORMAL_B10, "B10, lognormal profile")                                                       \
  X(LOGNORMAL_MEAN, "mean, lognormal profile")                                                     \
  X(NORMAL_LOWER, "90 % hold, normal, one-sided")                                                  \
  X(WEIBULL_LOWER, "90 % hold, Weibull, one-sided")                                                \
  X(B10_PROFILE, "B10, Weibull profile")                                                           \
  X(B10_EXACT, "B10, Weibull conditional")                                                         \
  X(WMEAN_PROFILE, "mean, Weibull profile")                                                        \
  X(WMEAN_EXACT, "mean, Weibull conditional")                                                      \
  X(SCALE_PROFILE, "Weibull scale, profile")                                                       \
  X(SCALE_EXACT, "Weibull scale, conditional")                                                     \
  X(SHAPE_PROFILE, "Weibull shape, profile")                                                       \
  X(SHAPE_EXACT, "Weibull shape, conditional")                                                     \
  X(KM_MEDIAN, "median, Kaplan-Meier")                                                             \
  X(BOUND_MEAN, "30 % bounds: mean, counted in")                                                   \
  X(BOUND_EVENTS, "30 % bounds: mean of events, t")                                                \
  X(BOUND_KM, "30 % bounds: median, K.-M.")                                                        \
  X(BOUND_SCALE_PROFILE, "30 % bounds: scale, profile")                                            \
  X(BOUND_SCALE_EXACT, "30 % bounds: scale, conditional")                                          \
  X(BOUND_SHAPE_PROFILE, "30 % bounds: shape, profile")                                            \
  X(BOUND_SHAPE_EXACT, "30 % bounds: shape, conditional")                                          \
  X(BOUND_B10_EXACT, "30 % bounds: B10, conditional")
#define ROW(row, name) row,
#define NAME(row, name) name,
enum row { EACH_ROW(ROW) ROWS };
static const char *const names[ROWS] = {EACH_ROW(NAME)};

struct tally {
  uint32_t tried, had, covered, open; /* open: an end is infinite */
  double levels;                      /* sum of what each says of itself */
};

struct bench {
  struct truth truths[COLUMNS], plain[FAMILIES];
  size_t blocks, costly_blocks;
  struct tally (*tallies)[ROWS]; /* one a block */
};

struct trial {
  const struct truth *truth, *plain;
  bool of_logs; /* fits of log loads are wanted: they cover the same at every scatter */
  size_t n;
  double factor; /* of the normal tolerance bound */
  struct be_random random;
  struct tally *tally;
  double x[N_MAX], other[N_MAX], sorted[N_MAX];
};

static void count(struct trial *trial, enum row row, struct be_interval interval, double truth)
{
  struct tally *tally = &trial->tally[row];
  tally->tried++;
  if (isnan(interval.low) || isnan(interval.high)) return;
  tally->had++;
  tally->levels += interval.level;
  tally->covered += interval.low <= truth && truth <= interval.high;
  tally->open += isinf(interval.low) || isinf(interval.high);
}

static double draw(struct be_random *random, const struct truth *truth)
{
  if (truth->family == BE_FAMILY_WEIBULL) return load_at(truth, 1 - be_random_unit(random));
  double y = truth->place + truth->scale * be_random_normal(random);
  return truth->family == BE_FAMILY_NORMAL ? y : exp(y);
}

/* ---- one set ---------------------------------------------------------------- */

static void centre(struct trial *trial, const struct be_summary *summary)
{
  const struct truth *truth = trial->truth;
  double scratch[WALSH];
  struct be_measure measure;
  struct be_estimate mean = be_estimate_mean(summary);
  count(trial, MEAN_T, be_estimate_interval(&mean, level), 100);
  be_sample_median(trial->sorted, trial->n, level, &measure);
  count(trial, MEDIAN, measure.interval, truth->median);
  be_hodges_lehmann(trial->sorted, trial->n, level, scratch, &measure);
  count(trial, HODGES_LEHMANN, measure.interval, truth->pseudo_median);
  be_trimmed_mean(trial->sorted, trial->n, cut, level, &measure);
  count(trial, TRIMMED, measure.interval, truth->trimmed);
  be_deviation(summary, level, &measure);
  count(trial, SD, measure.interval, truth->sd);
  be_variation(summary, level, &measure);
  count(trial, CV, measure.interval, truth->cv);
  double low = summary->mean - trial->factor * summary->sd;
  count(trial, NORMAL_LOWER, (struct be_interval){low, one_sided, level}, truth->b10);
}

static void two(struct trial *trial, const struct be_summary *summary)
{
  double plain[PLAIN], scratch[(N_MAX + 1) * (N_MAX + 1)];
  struct be_summary of_plain, of_other;
  for (size_t i = 0; i < PLAIN; i++) plain[i] = draw(&trial->random, trial->plain);
  for (size_t i = 0; i < trial->n; i++)
    trial->other[i] = draw(&trial->random, trial->truth) - apart;
  be_summary_of(plain, PLAIN, &of_plain);
  be_summary_of(trial->other, trial->n, &of_other);
  const struct be_estimate a = be_estimate_mean(summary), b = be_estimate_mean(&of_plain),
                           c = be_estimate_mean(&of_other);
  struct be_ratio ratio;
  be_ratio_log(&a, &b, level, &ratio);
  count(trial, RATIO_LOG, ratio.interval, 1);
  be_ratio_fieller(&a, &b, level, &ratio);
  if (ratio.shape != BE_RATIO_PIECE) ratio.interval.low = NAN;
  count(trial, RATIO_FIELLER, ratio.interval, 1);
  struct be_difference difference;
  be_welch(&a, &c, level, &difference);
  count(trial, WELCH, difference.interval, apart);
  struct be_rank_test ranks;
  be_mann_whitney(trial->x, trial->n, trial->other, trial->n, level, scratch, &ranks);
  count(trial, SHIFT, ranks.shift.interval, apart);
}

static void bootstrap(struct trial *trial)
{
  const struct be_resampling how = {be_random_u64(&trial->random), 1000, level, 1};
  const double *x = trial->x;
  struct be_boot boot;
  if (be_bootstrap_means(&x, &trial->n, 1, &how, &boot, NULL) != BE_OK) exit(4);
  count(trial, MEAN_PERCENTILE, boot.percentile, 100);
  count(trial, MEAN_BCA, boot.bca, 100);
}

/* ---- fits ------------------------------------------------------------------- */

/* A profile interval and a conditional one of the same figure. A row of ROWS is none. */
static void both(struct trial *trial, const struct be_fit *fit, const struct be_held *held,
                 enum be_wanted wanted, double truth, enum row profile, enum row exact)
{
  struct be_measure measure;
  if (profile != ROWS) {
    be_fit_profile(fit, held, trial->n, wanted, of_pulls, level, &measure);
    count(trial, profile, measure.interval, truth);
  }
  be_fit_conditional(fit, held, trial->n, wanted, of_pulls, level, &measure);
  count(trial, exact, measure.interval, truth);
}

static void complete_fits(struct trial *trial, const struct be_held *held)
{
  const struct truth *truth = trial->truth;
  struct be_fit weibull, lognormal;
  struct be_measure measure;
  be_fit_censored(BE_FAMILY_LOGNORMAL, held, trial->n, &lognormal);
  be_fit_censored(BE_FAMILY_WEIBULL, held, trial->n, &weibull);
  be_fit_profile(&lognormal, held, trial->n, BE_WANTED_MEAN, 0, level, &measure);
  count(trial, LOGNORMAL_MEAN, measure.interval, 100);
  if (truth->family == BE_FAMILY_WEIBULL)
    both(trial, &weibull, held, BE_WANTED_MEAN, 100, WMEAN_PROFILE, WMEAN_EXACT);
  if (!trial->of_logs) return;
  be_fit_profile(&lognormal, held, trial->n, BE_WANTED_QUANTILE, of_pulls, level, &measure);
  count(trial, LOGNORMAL_B10, measure.interval, truth->b10);
  double low = be_fit_lower(&weibull, held, trial->n, 1 - of_pulls, level);
  count(trial, WEIBULL_LOWER, (struct be_interval){low, one_sided, level}, truth->b10);
  both(trial, &weibull, held, BE_WANTED_QUANTILE, truth->b10, B10_PROFILE, B10_EXACT);
  if (truth->family != BE_FAMILY_WEIBULL) return;
  both(trial, &weibull, held, BE_WANTED_SCALE, exp(truth->place), SCALE_PROFILE, SCALE_EXACT);
  both(trial, &weibull, held, BE_WANTED_SHAPE, 1 / truth->scale, SHAPE_PROFILE, SHAPE_EXACT);
}

static void bound_fits(struct trial *trial, const struct be_held *held)
{
  const struct truth *truth = trial->truth;
  struct be_fit weibull;
  if (!trial->of_logs) return;
  be_fit_censored(BE_FAMILY_WEIBULL, held, trial->n, &weibull);
  both(trial, &weibull, held, BE_WANTED_QUANTILE, truth->b10, ROWS, BOUND_B10_EXACT);
  if (truth->family != BE_FAMILY_WEIBULL) return;
  both(trial, &weibull, held, BE_WANTED_SCALE, exp(truth->place), BOUND_SCALE_PROFILE,
       BOUND_SCALE_EXACT);
  both(trial, &weibull, held, BE_WANTED_SHAPE, 1 / truth->scale, BOUND_SHAPE_PROFILE,
       BOUND_SHAPE_EXACT);
}

/* ---- lower bounds ------------------------------------------------------------- */

static void middle(struct trial *trial, const struct be_held *held, enum row row)
{
  struct be_step steps[N_MAX];
  struct be_measure measure;
  size_t steps_count = be_kaplan_meier(held, trial->n, level, steps);
  be_kaplan_meier_quantile(steps, steps_count, 0.5, &measure);
  count(trial, row, measure.interval, trial->truth->median);
}

static int by_load(const void *a_, const void *b_)
{
  const struct be_held *a = a_, *b = b_;
  return (a->load > b->load) - (a->load < b->load);
}

/* A pull stops at a load of its own, whose survival is that of loads to the power of 3/7:
 * then three in ten stop before they let go, whatever the family. */
static void stop(struct trial *trial, struct be_held *held)
{
  for (size_t i = 0; i < trial->n; i++) {
    double limit = load_at(trial->truth, pow(1 - be_random_unit(&trial->random), 7.0 / 3));
    bool bound = limit < trial->x[i];
    held[i] = (struct be_held){bound ? limit : trial->x[i], bound, 1};
  }
}

static void bounds(struct trial *trial, struct be_held *held)
{
  double events[N_MAX];
  size_t events_count = 0;
  for (size_t i = 0; i < trial->n; i++)
    if (!held[i].bound) events[events_count++] = held[i].load;
  struct be_summary summary;
  be_summary_of(events, events_count, &summary);
  struct be_estimate of_events = be_estimate_mean(&summary);
  count(trial, BOUND_EVENTS, be_estimate_interval(&of_events, level), 100);
  struct mean mean = be_mean_with_bounds(&summary, held, trial->n);
  count(trial, BOUND_MEAN, be_estimate_interval(&mean.estimate, level), 100);
  qsort(held, trial->n, sizeof *held, by_load);
  middle(trial, held, BOUND_KM);
}

/* ---- all of it ------------------------------------------------------------------ */

static void one_trial(struct trial *trial, bool costly)
{
  struct be_summary summary;
  struct be_held held[N_MAX], stopped[N_MAX];
  for (size_t i = 0; i < trial->n; i++) trial->x[i] = draw(&trial->random, trial->truth);
  memcpy(trial->sorted, trial->x, sizeof trial->sorted);
  be_sort(trial->sorted, trial->n);
  for (size_t i = 0; i < trial->n; i++) held[i] = (struct be_held){trial->sorted[i], false, 1};
  be_summary_of(trial->x, trial->n, &summary);
  centre(trial, &summary);
  two(trial, &summary);
  middle(trial, held, KM_MEDIAN);
  stop(trial, stopped);
  bounds(trial, stopped);
  if (!costly) return;
  bootstrap(trial);
  complete_fits(trial, held);
  bound_fits(trial, stopped);
}

static void one_block(void *context, size_t i)
{
  struct bench *bench = context;
  size_t block = i % bench->blocks, column = i / bench->blocks % COLUMNS;
  struct trial trial = {.truth = &bench->truths[column],
                        .plain = &bench->plain[column / SCATTERS],
                        .n = sizes[i / bench->blocks / COLUMNS],
                        .tally = bench->tallies[i]};
  trial.of_logs = trial.truth->family == BE_FAMILY_NORMAL || column % SCATTERS == ONE_SCATTER;
  trial.factor = be_tolerance_factor(trial.n, 1 - of_pulls, level);
  be_random_init(&trial.random, seed, i + 1);
  for (int k = 0; k < BLOCK; k++) one_trial(&trial, block < bench->costly_blocks);
}

/* ---- what is said ----------------------------------------------------------------- */

static struct tally sum_of(const struct bench *bench, size_t size, size_t column, size_t row)
{
  struct tally sum = {0};
  for (size_t k = 0; k < bench->blocks; k++) {
    const struct tally *tally = &bench->tallies[(size * COLUMNS + column) * bench->blocks + k][row];
    sum.tried += tally->tried;
    sum.had += tally->had;
    sum.covered += tally->covered;
    sum.open += tally->open;
    sum.levels += tally->levels;
  }
  return sum;
}

static void say_heads(void)
{
  static const char *const of[FAMILIES] = {"normal", "lognormal", "Weibull"};
  printf("%-32s %5s", "", "says");
  for (size_t c = 0; c < COLUMNS; c++) printf(" %6s", c % SCATTERS == 0 ? of[c / SCATTERS] : "");
  printf("   none  open\n%-32s %5s", "CV, %", "");
  for (size_t c = 0; c < COLUMNS; c++) printf(" %6.0f", 100 * scatters[c % SCATTERS]);
  printf("\n");
}

static void say_row(const struct bench *bench, size_t size, size_t row)
{
  struct tally sums[COLUMNS], all = {0};
  for (size_t c = 0; c < COLUMNS; c++) {
    sums[c] = sum_of(bench, size, c, row);
    all.tried += sums[c].tried;
    all.had += sums[c].had;
    all.open += sums[c].open;
    all.levels += sums[c].levels;
  }
  double says = 100 * all.levels / all.had;
  printf("%-32s %5.1f", names[row], says);
  for (size_t c = 0; c < COLUMNS; c++) {
    double share = 100.0 * sums[c].covered / sums[c].had;
    if (sums[c].had == 0) printf("      -");
    else printf(" %5.1f%c", share, fabs(share - says) > 1.5 ? '*' : ' ');
  }
  printf("  %5.1f %5.1f\n", 100 - 100.0 * all.had / all.tried, 100.0 * all.open / all.had);
}

/* Of rates nothing need be drawn: all outcomes are summed. */
static void say_rates(void)
{
  static const double rates[] = {0.01, 0.05, 0.1, 0.2, 0.3, 0.5};
  static const char *const of[] = {"Clopper-Pearson", "Wilson", "Jeffreys"};
  enum { RATES = sizeof rates / sizeof rates[0] };
  printf("\nk of n, per cent covered, summed over all k\n%-24s", "rate, %");
  for (size_t r = 0; r < RATES; r++) printf(" %6.0f", 100 * rates[r]);
  printf("\n");
  for (size_t s = 0; s < SIZES; s++)
    for (size_t m = 0; m < 3; m++) {
      printf("n = %2zu  %-16s", sizes[s], of[m]);
      for (size_t r = 0; r < RATES; r++) {
        double p = rates[r], chance = pow(1 - p, (double)sizes[s]), covered = 0;
        for (size_t k = 0; k <= sizes[s]; k++) {
          struct be_interval interval = m == 0   ? be_rate_exact(k, sizes[s], level)
                                        : m == 1 ? be_rate_wilson(k, sizes[s], level, false)
                                                 : be_rate_jeffreys(k, sizes[s], level);
          if (interval.low <= p && p <= interval.high) covered += chance;
          chance *= (double)(sizes[s] - k) / (double)(k + 1) * p / (1 - p);
        }
        printf(" %5.1f%c", 100 * covered, fabs(100 * covered - 95) > 1.5 ? '*' : ' ');
      }
      printf("\n");
    }
}

int main(int argc, char **argv)
{
  static struct bench bench;
  double share = argc > 1 ? atof(argv[1]) / 100 : 0;
  if (!(share > 0)) share = 1;
  bench.blocks = (size_t)fmax(1, BLOCKS * share);
  bench.costly_blocks = (size_t)fmax(1, COSTLY_BLOCKS * share);
  size_t blocks = SIZES * COLUMNS * bench.blocks;
  bench.tallies = calloc(blocks, sizeof *bench.tallies);
  if (!bench.tallies) return 4;
  for (size_t c = 0; c < COLUMNS; c++)
    find_truth(&bench.truths[c], families[c / SCATTERS], scatters[c % SCATTERS]);
  for (size_t f = 0; f < FAMILIES; f++) place(&bench.plain[f], families[f], plain_scatter);
  double start = be_clock_s();
  be_parallel(blocks, 0, one_block, &bench);
  printf("%zu trials, of bootstraps and fits %zu; seed %llu; %.0f s\n", BLOCK * bench.blocks,
         BLOCK * bench.costly_blocks, (unsigned long long)seed, be_clock_s() - start);
  printf("per cent covered, of the trials that had an interval; * more than 1.5 points from what "
         "it says;\nnone: per cent of trials without; open: of the rest, with an infinite end;\n"
         "-: not asked, or for fits of log loads the same as at 8 %%\n");
  for (size_t s = 0; s < SIZES; s++) {
    printf("\nn = %zu\n", sizes[s]);
    say_heads();
    for (size_t row = 0; row < ROWS; row++) say_row(&bench, s, row);
  }
  printf("\nhow far the Weibull is off\n");
  say_heads();
  printf("%-38s", "B10, true");
  for (size_t c = 0; c < COLUMNS; c++) printf(" %6.2f", bench.truths[c].b10);
  printf("\n%-38s", "B10 of the Weibull nearest");
  for (size_t c = 0; c < COLUMNS; c++) printf(" %6.2f", bench.truths[c].weibull_b10);
  printf("\n");
  say_rates();
  free(bench.tallies);
  return 0;
}
