/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Do the rank ranges of a table hold, all at once, at 95 %? Tables of knots are drawn from a known
 * truth and ranked: as the standings do it (Welch on log means for every pair, Holm over the
 * table), and by the rank sets of stats on the same estimates (Bonferroni; the greatest |t| of all
 * pairs; the same stepwise; stepwise with one scatter for all knots). First some tables are entered
 * like anybody's, and the ranges that the program prints must be those counted here.
 *
 *   bench_ranks BUILD [TABLES] */
#include "app/app.h"
#include "stats/number/number.h"
#include "stats/stats.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The standard error of 95 % of so many is 0.49 points. */
enum { TABLES = 2000, BLOCKS = 64, DRAWINGS = 1000, ENTERED = 20 };
enum { KNOTS_MAX = 20, N_MAX = 12, PLAIN = 5 };
enum { PAIRS_MAX = KNOTS_MAX * (KNOTS_MAX - 1) / 2 };
static const double level = 0.95, load = 80, alike_cv = 0.08, least_cv = 0.04, most_cv = 0.16;
static const double plain_cv = 0.04;
static const uint64_t seed = 20260422;

enum truth { ALIKE, SPACED_1, SPACED_3, CLUSTERS, WINNER, ALIKE_20, SPACED_20, TRUTHS };
static const char *const truth_names[TRUTHS] = {
    "ten alike",           "ten, 1 % apart", "ten, 3 % apart",   "five and five, 10 % apart",
    "one 15 % above nine", "twenty alike",   "twenty, 1 % apart"};
static const char *const family_names[] = {"Weibull", "lognormal", "normal"};
enum { UNEQUAL = 0 }; /* 3 to 12 */

enum way { HOLM, BONFERRONI, JOINT, STEPWISE, ONE_SCATTER, WAYS };

struct setting {
  enum truth truth;
  size_t n;
  bool unlike; /* scatters of 4 to 16 %, else 8 */
  enum be_family family;
  bool spools; /* every other knot is on a second spool; each has five plain pulls */
};

struct table {
  const struct setting *setting;
  size_t knots, n[KNOTS_MAX], spool[KNOTS_MAX];
  double mean[KNOTS_MAX], x[KNOTS_MAX][N_MAX], plain[2][PLAIN];
};

struct range {
  size_t low, high;
};
struct ranked {
  struct range range[KNOTS_MAX];
  signed char found[KNOTS_MAX][KNOTS_MAX]; /* 1: the first is the stronger; -1: the weaker */
};

static void must(enum be_status status, const struct be_err *err)
{
  if (status == BE_OK) return;
  fprintf(stderr, "bench_ranks: %s %s\n", err->file, err->what);
  exit(1);
}

/* ---- a table ------------------------------------------------------------------ */

static double true_mean(enum truth truth, size_t k)
{
  double by = 0;
  if (truth == SPACED_1 || truth == SPACED_20) by = 0.01 * (double)k;
  if (truth == SPACED_3) by = 0.03 * (double)k;
  if (truth == CLUSTERS) by = k < 5 ? 0 : 0.1;
  if (truth == WINNER) by = k == 0 ? 0.15 : 0;
  return load * exp(by);
}

static double weibull_excess(double sigma, const void *cv)
{
  double wanted = *(const double *)cv;
  return log1p(wanted * wanted) - (lgamma(1 + 2 * sigma) - 2 * lgamma(1 + sigma));
}

/* Loads of mean 1. sigma: of the logs of a Weibull with that scatter. */
static double draw(struct be_random *random, enum be_family family, double cv, double sigma)
{
  if (family == BE_FAMILY_WEIBULL)
    return exp(sigma * log(-log1p(-be_random_unit(random))) - lgamma(1 + sigma));
  double z = be_random_normal(random), s = sqrt(log1p(cv * cv));
  return family == BE_FAMILY_NORMAL ? 1 + cv * z : exp(s * z - s * s / 2);
}

static void shuffle(struct be_random *random, size_t *order, size_t count)
{
  for (size_t i = 0; i < count; i++) order[i] = i;
  for (size_t i = count; i > 1; i--) {
    size_t other = (size_t)be_random_below(random, i), kept = order[i - 1];
    order[i - 1] = order[other];
    order[other] = kept;
  }
}

/* Which knot has which number and which scatter has nothing to do with its strength. */
static void make_table(const struct setting *setting, struct be_random *random, struct table *table)
{
  size_t knots = setting->truth >= ALIKE_20 ? 20 : 10, number[KNOTS_MAX], scatter[KNOTS_MAX];
  *table = (struct table){.setting = setting, .knots = knots};
  shuffle(random, number, knots);
  shuffle(random, scatter, knots);
  for (size_t s = 0; s < 2; s++)
    for (size_t i = 0; i < PLAIN; i++)
      table->plain[s][i] = 100 * (1 + plain_cv * be_random_normal(random));
  for (size_t k = 0; k < knots; k++) {
    double step = (double)scatter[k] / (double)(knots - 1);
    double cv = setting->unlike ? least_cv + (most_cv - least_cv) * step : alike_cv, sigma = 0;
    if (setting->family == BE_FAMILY_WEIBULL) sigma = be_root(weibull_excess, &cv, 1e-4, 1);
    table->n[k] = setting->n == UNEQUAL ? 3 + number[k] % 10 : setting->n;
    table->spool[k] = setting->spools ? k % 2 : 0;
    table->mean[k] = true_mean(setting->truth, k);
    for (size_t i = 0; i < table->n[k]; i++)
      table->x[k][i] = table->mean[k] * draw(random, setting->family, cv, sigma);
  }
}

/* ---- what is known of it --------------------------------------------------------- */

/* Scores are logs of mean shares, or of mean loads where there is no plain line; variances by the
 * first order, the plain line's apart, for it cancels within a spool. */
struct known {
  struct be_estimate knot[KNOTS_MAX], plain;
  double one_scatter, one_df; /* of a pull, relative and squared, pooled over knots */
};

static void find_known(const struct table *table, struct known *known)
{
  double log_plain[2] = {0, 0}, cv2 = 0, squares = 0, df = 0;
  for (size_t s = 0; s < 2 && table->setting->spools; s++) {
    struct be_summary summary;
    be_summary_of(table->plain[s], PLAIN, &summary);
    log_plain[s] = log(summary.mean);
    cv2 += pow(summary.sd / summary.mean, 2) / 2;
  }
  known->plain = (struct be_estimate){0, cv2 / PLAIN, 2 * (PLAIN - 1), PLAIN};
  for (size_t k = 0; k < table->knots; k++) {
    struct be_summary summary;
    be_summary_of(table->x[k], table->n[k], &summary);
    struct be_estimate mean = be_estimate_mean(&summary);
    known->knot[k] =
        (struct be_estimate){log(summary.mean) - log_plain[table->spool[k]],
                             mean.variance / (summary.mean * summary.mean), mean.df, mean.n};
    squares += mean.df * pow(summary.sd / summary.mean, 2);
    df += mean.df;
  }
  known->one_scatter = squares / df;
  known->one_df = df;
}

/* Both spools share one scatter, so that their part has its degrees of freedom. */
static struct be_estimate apart_by(const struct table *table, const struct known *known, size_t a,
                                   size_t b)
{
  struct be_estimate spools = known->plain;
  spools.variance *= 2;
  const struct be_estimate parts[] = {known->knot[a], known->knot[b], spools};
  const double weights[] = {1, -1, 1};
  return be_estimate_combine(parts, weights, table->spool[a] == table->spool[b] ? 2 : 3);
}

/* ---- ranges ------------------------------------------------------------------------ */

/* As the standings do it (src/app/ranking.c). */
static void rank_by_holm(const struct table *table, const struct known *known,
                         struct ranked *ranked)
{
  const struct be_estimate nothing = {0, 0, INFINITY, 0};
  double p[PAIRS_MAX] = {0};
  size_t knots = table->knots, at = 0;
  struct be_err err = {0};
  for (size_t a = 0; a < knots; a++)
    for (size_t b = a + 1; b < knots; b++) {
      struct be_estimate apart = apart_by(table, known, a, b);
      struct be_difference difference;
      be_welch(&apart, &nothing, level, &difference);
      p[at++] = isnan(difference.p) ? 1 : difference.p;
    }
  must(be_holm(p, at, p, &err), &err);
  memset(ranked->found, 0, sizeof ranked->found);
  for (size_t k = 0; k < knots; k++) ranked->range[k] = (struct range){1, knots};
  at = 0;
  for (size_t a = 0; a < knots; a++)
    for (size_t b = a + 1; b < knots; b++) {
      if (p[at++] > 1 - level) continue;
      bool first = known->knot[a].value >= known->knot[b].value;
      size_t strong = first ? a : b, weak = first ? b : a;
      ranked->found[strong][weak] = 1;
      ranked->found[weak][strong] = -1;
      ranked->range[weak].low++;
      ranked->range[strong].high--;
    }
}

static void rank_by_sets(const struct table *table, const struct known *known, enum way way,
                         uint64_t drawn, struct ranked *ranked)
{
  static const enum be_separation how[WAYS] = {0, BE_SEPARATE_BONFERRONI, BE_SEPARATE_JOINT,
                                               BE_SEPARATE_STEPWISE, BE_SEPARATE_STEPWISE};
  size_t knots = table->knots;
  double value[KNOTS_MAX], covariance[KNOTS_MAX * KNOTS_MAX], df = INFINITY;
  struct be_rank_set sets[KNOTS_MAX];
  bool apart[KNOTS_MAX * KNOTS_MAX];
  struct be_err err = {0};
  for (size_t a = 0; a < knots; a++) {
    value[a] = known->knot[a].value;
    for (size_t b = 0; b < knots; b++) {
      bool same = table->setting->spools && table->spool[a] == table->spool[b];
      covariance[a * knots + b] = same ? known->plain.variance : 0;
      if (a != b) df = fmin(df, apart_by(table, known, a, b).df);
    }
    covariance[a * knots + a] +=
        way == ONE_SCATTER ? known->one_scatter / (double)table->n[a] : known->knot[a].variance;
  }
  if (way == ONE_SCATTER) df = known->one_df;
  const struct be_standing standing = {knots, value, covariance, df};
  const struct be_resampling by = {drawn, DRAWINGS, level, 1};
  must(be_rank_sets(&standing, how[way], true, &by, sets, apart, &err), &err);
  for (size_t a = 0; a < knots; a++) {
    ranked->range[a] = (struct range){sets[a].low, sets[a].high};
    for (size_t b = 0; b < knots; b++) {
      int sign = value[a] > value[b] ? 1 : -1;
      ranked->found[a][b] = (signed char)(apart[a * knots + b] ? sign : 0);
    }
  }
}

/* ---- what is counted ------------------------------------------------------------------ */

struct tally {
  size_t tables, held[WAYS], wrong[WAYS]; /* wrong: some verdict is */
  double width[WAYS];                     /* sum of mean numbers of ranks */
};

/* Of knots that are alike any rank of the tie counts. */
static void count(const struct table *table, const struct ranked *ranked, enum way way,
                  struct tally *tally)
{
  bool held = true, wrong = false;
  size_t knots = table->knots;
  double width = 0;
  for (size_t a = 0; a < knots; a++) {
    size_t better = 0, worse = 0;
    for (size_t b = 0; b < knots; b++) {
      double apart = table->mean[a] - table->mean[b];
      better += apart < 0;
      worse += apart > 0;
      int found = ranked->found[a][b];
      wrong |= found != 0 && !(found * apart > 0);
    }
    const struct range *range = &ranked->range[a];
    held &= range->low <= knots - worse && range->high >= 1 + better;
    width += (double)(range->high - range->low + 1) / (double)knots;
  }
  tally->held[way] += held;
  tally->wrong[way] += wrong;
  tally->width[way] += width;
}

struct study {
  const struct setting *setting;
  size_t number, tables;
  struct tally tallies[BLOCKS];
};

static void run_block(void *study_, size_t block)
{
  struct study *study = study_;
  struct tally *tally = &study->tallies[block];
  for (size_t t = block; t < study->tables; t += BLOCKS) {
    struct be_random random;
    struct table table;
    struct known known;
    struct ranked ranked;
    be_random_init(&random, seed + study->number, t);
    make_table(study->setting, &random, &table);
    find_known(&table, &known);
    uint64_t drawn = be_random_u64(&random);
    for (enum way way = HOLM; way < WAYS; way++) {
      if (way == HOLM) rank_by_holm(&table, &known, &ranked);
      else rank_by_sets(&table, &known, way, drawn, &ranked);
      count(&table, &ranked, way, tally);
    }
    tally->tables++;
  }
}

static void print_setting(struct study *study)
{
  const struct setting *s = study->setting;
  struct tally sum = {0};
  memset(study->tallies, 0, sizeof study->tallies);
  be_parallel(BLOCKS, 0, run_block, study);
  for (size_t b = 0; b < BLOCKS; b++)
    for (enum way way = HOLM; way < WAYS; way++) {
      sum.held[way] += study->tallies[b].held[way];
      sum.wrong[way] += study->tallies[b].wrong[way];
      sum.width[way] += study->tallies[b].width[way];
    }
  char n[30] = "3 to 12";
  if (s->n != UNEQUAL) snprintf(n, sizeof n, "%zu", s->n);
  printf("| %s%s | %s | %s | %s |", truth_names[s->truth], s->spools ? ", two spools" : "", n,
         s->unlike ? "4 to 16 %" : "8 %", family_names[s->family]);
  double percent = 100 / (double)study->tables;
  for (enum way way = HOLM; way < WAYS; way++)
    printf(" %.1f, %.1f, %.1f |", percent * (double)sum.held[way], percent * (double)sum.wrong[way],
           sum.width[way] / (double)study->tables);
  putchar('\n');
  fflush(stdout);
}

/* ---- the program's own ranges ------------------------------------------------------- */

static void write_sheet(const struct table *table, struct be_buf *sheet)
{
  int pulls = 0;
  be_buf_text(sheet, "specimen,knot,line A,spool A,soak,load (N),what,where\n");
  for (size_t s = 0; s < 2 && table->setting->spools; s++)
    for (size_t i = 0; i < PLAIN; i++)
      be_buf_format(sheet, "K%d,none,nylon,S%zu,dry,%.17g,broke,clear of it\n", pulls++, s,
                    table->plain[s][i]);
  for (size_t k = 0; k < table->knots; k++)
    for (size_t i = 0; i < table->n[k]; i++)
      be_buf_format(sheet, "K%d,knot %c,nylon,S%zu,dry,%.17g,broke,in the knot\n", pulls++,
                    (char)('a' + k), table->spool[k], table->x[k][i]);
}

/* The standings of the table as JSON. */
static void answer(const char *path, const struct table *table, struct be_buf *json)
{
  struct be_err err = {0};
  struct be_book *book = NULL;
  struct be_entered entered;
  struct be_entering entering = {0};
  const struct be_answering how = {.resamples = 200};
  struct be_doc *doc = NULL;
  struct be_buf sheet;
  struct be_arena *arena = be_arena_create();
  be_buf_init(&sheet, 1 << 20);
  write_sheet(table, &sheet);
  must(be_file_remove(path, &err), &err);
  must(be_book_create(path, &err), &err);
  must(be_book_open(path, true, &book, &err), &err);
  must(be_book_enter(book, "table.csv", sheet.data, sheet.size, &entering, arena, &entered, &err),
       &err);
  be_book_close(book);
  be_arena_free(arena);
  be_buf_free(&sheet);
  must(be_app_standings(path, &how, &doc, &err), &err);
  be_buf_init(json, 1 << 24);
  must(be_doc_json(doc, json, &err), &err);
  be_doc_free(doc);
}

/* "3" or "3 to 7", whatever stands between. */
static struct range read_range(const char *text)
{
  char *end;
  struct range range;
  range.low = range.high = strtoul(text, &end, 10);
  while (*end && *end != '"' && !(*end >= '0' && *end <= '9')) end++;
  if (*end != '"') range.high = strtoul(end, NULL, 10);
  return range;
}

static void check_program(const char *path)
{
  static const char key[] = "\"rank_range\":\"", name[] = "\"knot\":\"knot ";
  for (size_t t = 0; t < ENTERED; t++) {
    const struct setting setting = {t % 4 < 2 ? SPACED_3 : WINNER, t % 3 ? UNEQUAL : 5, t % 2,
                                    BE_FAMILY_NORMAL, t % 2};
    struct be_random random;
    struct table table;
    struct known known;
    struct ranked ranked;
    struct be_buf json;
    be_random_init(&random, seed - 1, t);
    make_table(&setting, &random, &table);
    find_known(&table, &known);
    rank_by_holm(&table, &known, &ranked);
    answer(path, &table, &json);
    size_t seen = 0;
    for (const char *at = json.data; (at = strstr(at, key)); seen++) {
      struct range printed = read_range(at + strlen(key));
      at = strstr(at, name);
      size_t knot = at ? (size_t)(at[strlen(name)] - 'a') : KNOTS_MAX;
      const struct range *counted = knot < table.knots ? &ranked.range[knot] : NULL;
      if (!counted || printed.low != counted->low || printed.high != counted->high) {
        fprintf(stderr, "bench_ranks: table %zu: the program ranks otherwise\n", t);
        exit(1);
      }
    }
    if (seen != table.knots) exit(1);
    be_buf_free(&json);
  }
  printf("ranks: %d tables entered: the standings print the same ranges\n", ENTERED);
}

int main(int argc, char **argv)
{
  static const size_t sizes[] = {3, 5, 10, UNEQUAL};
  static struct study study;
  char path[1024];
  long tables = argc > 2 ? strtol(argv[2], NULL, 10) : TABLES;
  if (tables < 1) return 2;
  study.tables = (size_t)tables;
  snprintf(path, sizeof path, "%s/bench/ranks.book", argc > 1 ? argv[1] : "build");
  check_program(path);
  printf("seeds from %llu on, %ld tables each, level 0.95, %d drawings; each cell: tables whose "
         "ranges all hold (%%), tables with a false verdict (%%), mean number of ranks\n",
         (unsigned long long)seed, tables, DRAWINGS);
  printf("| truth | n | scatter | loads | Holm and Welch | Bonferroni | greatest t | stepwise | "
         "stepwise, one scatter |\n|---|---|---|---|---|---|---|---|---|\n");
  for (int spools = 0; spools < 2; spools++)
    for (enum be_family family = BE_FAMILY_NORMAL + 1; family-- > BE_FAMILY_WEIBULL;)
      for (enum truth truth = ALIKE; truth < TRUTHS; truth++)
        for (size_t unlike = 0; unlike < 2; unlike++)
          for (size_t s = 0; s < 4; s++) {
            bool few = truth == ALIKE || truth == SPACED_3;
            if (family != BE_FAMILY_NORMAL && (spools || !(few || truth == WINNER))) continue;
            if (spools && !few) continue;
            const struct setting setting = {truth, sizes[s], unlike == 1, family, spools == 1};
            study.setting = &setting;
            study.number = study.number + 1;
            print_setting(&study);
          }
  return 0;
}
