/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Is the model of all pulls as sure as it says? Unbalanced books of eight knots on some lines, with
 * gaps, are drawn from a known truth and fitted as the standings do it: REML, rank sets that hold
 * at once (stepwise, by the fewest degrees of freedom of the differences), intervals of single
 * knots by Satterthwaite. First some books are entered like anybody's, and the ranges that the
 * program prints must be those counted here.
 *
 *   bench_model BUILD [BOOKS] */
#include "app/app.h"
#include "stats/number/number.h"
#include "stats/stats.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The standard error of 95 % of so many is 0.34 points. */
enum { BOOKS = 4000, BLOCKS = 64, DRAWINGS = 2000, ENTERED = 12 };
enum { KNOTS = 8, LINES_MAX = 12, CELLS_MAX = KNOTS * LINES_MAX, EACH = 5 };
enum { PULLS_MAX = CELLS_MAX * EACH };
static const double level = 0.95, line_deviation = 0.1, spool_deviation = 0.03, scatter = 0.08;
static const uint64_t seed = 20260424, drawn_by = 1;

enum truth { ALIKE, SPACED, WINNER };
static const char *const truth_names[] = {"alike", "3 % apart", "one 15 % above"};
enum loads { LOGNORMAL, UNLIKE, WEIBULL };
static const char *const loads_names[] = {"lognormal, 8 %", "lognormal, 4 to 16 %", "Weibull, 8 %"};

struct setting {
  enum truth truth;
  size_t lines;
  double gaps, cell; /* share of knots x lines nobody tied; deviation of the others */
  bool spools;       /* two of each line */
  enum loads loads;
};

struct book {
  const struct setting *setting;
  size_t n, cells;
  double knot[KNOTS], y[PULLS_MAX];
  uint32_t of_knot[PULLS_MAX], line[PULLS_MAX], spool[PULLS_MAX], cell[PULLS_MAX];
};

static void must(enum be_status status, const struct be_err *err)
{
  if (status == BE_OK) return;
  fprintf(stderr, "bench_model: %s %s\n", err->file, err->what);
  exit(1);
}

/* ---- a book ------------------------------------------------------------------- */

static double true_knot(enum truth truth, size_t k)
{
  if (truth == SPACED) return 0.03 * (double)k;
  return truth == WINNER && k == 0 ? 0.15 : 0;
}

/* Every knot is on two lines and every line has two knots at least, and all hang together. */
static bool hangs_together(const bool *gap, size_t lines)
{
  bool knot[KNOTS] = {true}, line[LINES_MAX] = {false};
  size_t of_knot[KNOTS] = {0}, of_line[LINES_MAX] = {0};
  for (size_t round = 0; round < KNOTS; round++)
    for (size_t c = 0; c < KNOTS * lines; c++) {
      size_t k = c / lines, l = c % lines;
      if (gap[c]) continue;
      knot[k] = line[l] = knot[k] || line[l];
      of_knot[k] += round == 0;
      of_line[l] += round == 0;
    }
  bool all = true;
  for (size_t k = 0; k < KNOTS; k++) all &= knot[k] && of_knot[k] > 1;
  for (size_t l = 0; l < lines; l++) all &= of_line[l] > 1;
  return all;
}

/* Of a log load. A Weibull's logs have the deviation sigma pi / sqrt 6, here that of an 8 % load;
 * their mean is the same for all knots, as the model takes it. */
static double draw(struct be_random *random, enum loads loads, size_t k)
{
  const double pi = 3.14159265358979324;
  if (loads == WEIBULL)
    return scatter * sqrt(6) / pi * (log(-log1p(-be_random_unit(random))) + 0.57721566490153286);
  double unlike = 0.04 + 0.12 * (double)(3 * k % KNOTS) / (KNOTS - 1);
  return (loads == UNLIKE ? unlike : scatter) * be_random_normal(random);
}

static void make_book(const struct setting *setting, struct be_random *random, struct book *book)
{
  size_t lines = setting->lines;
  bool gap[CELLS_MAX];
  double line[LINES_MAX], spool[2 * LINES_MAX];
  *book = (struct book){.setting = setting};
  do {
    for (size_t c = 0; c < KNOTS * lines; c++) gap[c] = be_random_unit(random) < setting->gaps;
  } while (!hangs_together(gap, lines));
  for (size_t l = 0; l < lines; l++) line[l] = line_deviation * be_random_normal(random);
  for (size_t s = 0; s < 2 * lines; s++)
    spool[s] = setting->spools ? spool_deviation * be_random_normal(random) : 0;
  for (size_t k = 0; k < KNOTS; k++) book->knot[k] = true_knot(setting->truth, k);
  for (size_t c = 0; c < KNOTS * lines; c++) {
    double own = setting->cell * be_random_normal(random);
    if (gap[c]) continue;
    size_t pulls = 3 + (size_t)be_random_below(random, EACH - 2), k = c / lines, l = c % lines;
    for (size_t i = 0; i < pulls; i++) {
      size_t s = 2 * l + (setting->spools ? be_random_below(random, 2) : 0), at = book->n++;
      book->y[at] =
          4.4 + book->knot[k] + line[l] + spool[s] + own + draw(random, setting->loads, k);
      book->of_knot[at] = (uint32_t)k;
      book->line[at] = (uint32_t)l;
      book->spool[at] = (uint32_t)s;
      book->cell[at] = (uint32_t)c;
    }
    book->cells++;
  }
}

/* ---- the model of it, as src/app/model_fit.c has it ------------------------------------ */

struct modelled {
  bool ranked;
  size_t zeros;
  double df, value[KNOTS];
  struct be_mixed_contrast mean[KNOTS], apart[KNOTS][KNOTS];
  struct be_rank_set set[KNOTS];
  bool separate[KNOTS * KNOTS];
};

static struct be_mixed *fit_book(const struct book *book)
{
  struct be_mixed_term terms[3] = {{"line", book->line, book->setting->lines, 1, {NULL}}};
  size_t start[PULLS_MAX + 1], count = 1;
  if (book->setting->spools)
    terms[count++] =
        (struct be_mixed_term){"spool", book->spool, 2 * book->setting->lines, 1, {NULL}};
  /* Else it cannot be told from knot and line. */
  if (book->cells >= KNOTS + book->setting->lines)
    terms[count++] = (struct be_mixed_term){"cell", book->cell, CELLS_MAX, 1, {NULL}};
  for (size_t i = 0; i <= book->n; i++) start[i] = i;
  const struct be_mixed_data data = {book->n, book->y, NULL, {KNOTS, start, book->of_knot, NULL},
                                     terms,   count};
  struct be_mixed *fit = NULL;
  struct be_err err = {0};
  must(be_mixed_fit(&data, BE_MIXED_REML, &fit, &err), &err);
  return fit;
}

static void find_contrasts(const struct be_mixed *fit, struct modelled *m)
{
  const double one = 1, weights[] = {1, -1};
  double least = INFINITY;
  for (uint32_t a = 0; a < KNOTS; a++) {
    be_mixed_contrast(fit, &a, &one, 1, level, &m->mean[a]);
    m->value[a] = m->mean[a].value;
    for (uint32_t b = a + 1; b < KNOTS; b++) {
      const uint32_t column[] = {a, b};
      be_mixed_contrast(fit, column, weights, 2, level, &m->apart[a][b]);
      if (m->apart[a][b].df < least) least = m->apart[a][b].df;
    }
  }
  m->df = isinf(least) ? NAN : least;
}

static void model(const struct book *book, struct modelled *m)
{
  struct be_mixed *fit = fit_book(book);
  struct be_err err = {0};
  double covariance[KNOTS * KNOTS];
  find_contrasts(fit, m);
  m->zeros = be_mixed_summary(fit)->zeros;
  m->ranked = be_mixed_summary(fit)->converged && !isnan(m->df);
  for (size_t a = 0; a < KNOTS; a++)
    for (size_t b = 0; b < KNOTS; b++) covariance[a * KNOTS + b] = be_mixed_covariance(fit, a, b);
  be_mixed_free(fit);
  if (!m->ranked) return;
  const struct be_standing standing = {KNOTS, m->value, covariance, m->df};
  const struct be_resampling by = {drawn_by, DRAWINGS, level, 1};
  must(be_rank_sets(&standing, BE_SEPARATE_STEPWISE, true, &by, m->set, m->separate, &err), &err);
}

/* ---- what is counted --------------------------------------------------------------------- */

struct tally {
  size_t ranked, held, wrong, knots, covered, pairs, pairs_covered, some_zero;
  double width, df; /* sums over ranked books */
};

static bool covers(const struct be_interval *interval, double truth)
{
  return interval->low <= truth && truth <= interval->high;
}

/* Of knots that are alike any rank of the tie counts. */
static void count(const struct book *book, const struct modelled *m, struct tally *tally)
{
  bool held = true, wrong = false;
  tally->some_zero += m->zeros > 0;
  if (!m->ranked) return;
  tally->ranked++;
  tally->df += m->df;
  for (size_t a = 0; a < KNOTS; a++) {
    size_t better = 0, worse = 0;
    for (size_t b = 0; b < KNOTS; b++) {
      double apart = book->knot[a] - book->knot[b], found = m->value[a] - m->value[b];
      better += apart < 0;
      worse += apart > 0;
      wrong |= m->separate[a * KNOTS + b] && !(found * apart > 0);
      if (b <= a || isnan(m->apart[a][b].df)) continue;
      tally->pairs++;
      tally->pairs_covered += covers(&m->apart[a][b].interval, apart);
    }
    held &= m->set[a].low <= KNOTS - worse && m->set[a].high >= 1 + better;
    tally->width += (double)(m->set[a].high - m->set[a].low + 1) / KNOTS;
    if (isnan(m->mean[a].df)) continue;
    tally->knots++;
    tally->covered += covers(&m->mean[a].interval, 4.4 + book->knot[a]);
  }
  tally->held += held;
  tally->wrong += wrong;
}

struct study {
  const struct setting *setting;
  size_t number, books;
  struct tally tallies[BLOCKS];
};

static void run_block(void *study_, size_t block)
{
  struct study *study = study_;
  for (size_t t = block; t < study->books; t += BLOCKS) {
    struct be_random random;
    struct book book;
    struct modelled m;
    be_random_init(&random, seed + study->number, t);
    make_book(study->setting, &random, &book);
    model(&book, &m);
    count(&book, &m, &study->tallies[block]);
  }
}

static void print_setting(struct study *study)
{
  const struct setting *s = study->setting;
  struct tally sum = {0};
  memset(study->tallies, 0, sizeof study->tallies);
  be_parallel(BLOCKS, 0, run_block, study);
  for (size_t b = 0; b < BLOCKS; b++) {
    const struct tally *part = &study->tallies[b];
    sum.ranked += part->ranked;
    sum.held += part->held;
    sum.wrong += part->wrong;
    sum.knots += part->knots;
    sum.covered += part->covered;
    sum.pairs += part->pairs;
    sum.pairs_covered += part->pairs_covered;
    sum.some_zero += part->some_zero;
    sum.width += part->width;
    sum.df += part->df;
  }
  double books = (double)study->books, ranked = (double)sum.ranked;
  printf("| %s | %zu%s | %.0f %% | %.0f %% | %s | %.1f | %.1f | %.2f | %.1f | %.1f | %.1f | %.1f | "
         "%.1f |\n",
         truth_names[s->truth], s->lines, s->spools ? ", two spools each" : "", 100 * s->gaps,
         100 * s->cell, loads_names[s->loads], 100 * (double)sum.held / ranked,
         100 * (double)sum.wrong / ranked, sum.width / ranked,
         100 * (double)sum.covered / (double)sum.knots,
         100 * (double)sum.pairs_covered / (double)sum.pairs, sum.df / ranked,
         100 * (double)sum.some_zero / books, 100 * (1 - ranked / books));
  fflush(stdout);
}

/* ---- the program's own ranges --------------------------------------------------------- */

static void write_sheet(const struct book *book, struct be_buf *sheet)
{
  be_buf_text(sheet, "specimen,knot,line A,spool A,soak,load (N),what,where\n");
  for (size_t i = 0; i < book->n; i++)
    be_buf_format(sheet, "K%zu,knot %c,nylon %u,S%u,dry,%.17g,broke,in the knot\n", i,
                  (char)('a' + book->of_knot[i]), (unsigned)book->line[i], (unsigned)book->spool[i],
                  exp(book->y[i]));
}

static void answer(const char *path, const struct book *book, struct be_buf *json)
{
  struct be_err err = {0};
  struct be_book *record = NULL;
  struct be_entered entered;
  struct be_entering entering = {0};
  const struct be_answering how = {.resamples = DRAWINGS, .seed = drawn_by};
  struct be_doc *doc = NULL;
  struct be_buf sheet;
  struct be_arena *arena = be_arena_create();
  be_buf_init(&sheet, 1 << 20);
  write_sheet(book, &sheet);
  must(be_file_remove(path, &err), &err);
  must(be_book_create(path, &err), &err);
  must(be_book_open(path, true, &record, &err), &err);
  must(be_book_enter(record, "book.csv", sheet.data, sheet.size, &entering, arena, &entered, &err),
       &err);
  be_book_close(record);
  be_arena_free(arena);
  be_buf_free(&sheet);
  must(be_app_standings(path, &how, &doc, &err), &err);
  be_buf_init(json, 1 << 24);
  must(be_doc_json(doc, json, &err), &err);
  be_doc_free(doc);
}

/* "3" or "3 to 7"; all knots of the table of the model. */
static bool is_printed(const char *json, const struct modelled *m)
{
  const char *at = strstr(json, "\"name\":\"model\"");
  for (size_t i = 0; i < KNOTS; i++) {
    static const char name[] = "\"knot\":\"knot ", key[] = "\"rank_range\":\"";
    at = at ? strstr(at, name) : NULL;
    size_t knot = at ? (size_t)(at[strlen(name)] - 'a') : KNOTS;
    at = at ? strstr(at, key) : NULL;
    if (!at || knot >= KNOTS) return false;
    char *end;
    size_t low = strtoul(at + strlen(key), &end, 10), high = low;
    while (*end && *end != '"' && !(*end >= '0' && *end <= '9')) end++;
    if (*end != '"') high = strtoul(end, NULL, 10);
    if (low != m->set[knot].low || high != m->set[knot].high) return false;
  }
  return true;
}

static void check_program(const char *path)
{
  for (size_t t = 0; t < ENTERED; t++) {
    const struct setting setting = {t % 3 ? SPACED : WINNER, 6,         0.25,
                                    t % 2 ? 0.02 : 0,        t % 4 > 1, LOGNORMAL};
    struct be_random random;
    struct book book;
    struct modelled m;
    struct be_buf json;
    be_random_init(&random, seed - 1, t);
    make_book(&setting, &random, &book);
    model(&book, &m);
    answer(path, &book, &json);
    if (!m.ranked || !is_printed(json.data, &m)) {
      fprintf(stderr, "bench_model: book %zu: the program ranks otherwise\n", t);
      exit(1);
    }
    be_buf_free(&json);
  }
  printf("model: %d books entered: the standings print the same ranges\n", ENTERED);
}

int main(int argc, char **argv)
{
  static const struct setting settings[] = {
      {ALIKE, 6, 0.25, 0},
      {ALIKE, 6, 0.25, 0.04},
      {ALIKE, 6, 0.25, 0.08},
      {SPACED, 6, 0.25, 0},
      {SPACED, 6, 0.25, 0.04},
      {SPACED, 6, 0.25, 0.08},
      {WINNER, 6, 0.25, 0},
      {WINNER, 6, 0.25, 0.04},
      {WINNER, 6, 0.25, 0.08},
      {ALIKE, 3, 0.1, 0},
      {ALIKE, 3, 0.1, 0.04},
      {ALIKE, 3, 0.1, 0.08},
      {ALIKE, 12, 0.25, 0},
      {ALIKE, 12, 0.25, 0.04},
      {ALIKE, 12, 0.25, 0.08},
      {ALIKE, 6, 0.5, 0.04},
      {ALIKE, 6, 0.5, 0.08},
      {ALIKE, 6, 0.25, 0.04, true},
      {SPACED, 6, 0.25, 0.04, true},
      {ALIKE, 6, 0.25, 0, false, UNLIKE},
      {ALIKE, 6, 0.25, 0.04, false, UNLIKE},
      {SPACED, 6, 0.25, 0.04, false, UNLIKE},
      {ALIKE, 6, 0.25, 0, false, WEIBULL},
      {ALIKE, 6, 0.25, 0.04, false, WEIBULL},
  };
  static struct study study;
  char path[1024];
  long books = argc > 2 ? strtol(argv[2], NULL, 10) : BOOKS;
  if (books < 1) return 2;
  study.books = (size_t)books;
  snprintf(path, sizeof path, "%s/bench/model.book", argc > 1 ? argv[1] : "build");
  check_program(path);
  printf("seeds from %llu on, %ld books each, eight knots, three to five pulls a cell, level 0.95, "
         "%d drawings\n",
         (unsigned long long)seed, books, DRAWINGS);
  printf(
      "| truth | lines | gaps | knot x line | loads | all ranges hold (%%) | a false verdict (%%) "
      "| ranks, mean | single knots covered (%%) | differences covered (%%) | fewest df, mean | "
      "some deviation 0 (%%) | not ranked (%%) |\n"
      "|---|---|---|---|---|---|---|---|---|---|---|---|---|\n");
  for (size_t i = 0; i < sizeof settings / sizeof settings[0]; i++) {
    study.setting = &settings[i];
    study.number = i;
    print_setting(&study);
  }
  return 0;
}
