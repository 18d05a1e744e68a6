/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How fast a mixed model is fitted: log load on knot, with line, spool (in its line) and knot x
 * line as random terms, on made unbalanced pulls. By this program and by lmer of R's package
 * lme4, both timed inside their own process in one run, on the same numbers, lmer as it is
 * called, formula and all. Then a million pulls, which lme4 is not asked for.
 *
 *   bench_mixed BUILD */
#define _POSIX_C_SOURCE 200809L
#include "stats/mixed/mixed.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

struct size {
  size_t pulls, knots, lines, spools;
  int repeats; /* of this program; lme4's are fewer */
  bool beside; /* lme4 is asked too */
  double stop; /* what holds more is a lower bound there */
};

struct trial {
  struct size size;
  double *y;
  uint32_t *knot, *level[3];
  size_t *start;
  uint32_t *column;
  bool *bound;
  size_t bounds;
};

static void *take(size_t count, size_t size)
{
  void *block = calloc(count, size);
  if (!block) exit(4);
  return block;
}

/* Some knots and lines are pulled far more often than others. */
static uint32_t seldom(struct be_random *random, size_t count)
{
  double unit = be_random_unit(random);
  return (uint32_t)((double)count * pow(unit, 1.5));
}

static void draw(const struct size *size, struct trial *trial)
{
  struct be_random random;
  be_random_init(&random, 20260301, size->pulls);
  trial->size = *size;
  trial->bound = take(size->pulls, sizeof(bool));
  trial->bounds = 0;
  trial->y = take(size->pulls, sizeof(double));
  trial->knot = take(size->pulls, sizeof(uint32_t));
  trial->start = take(size->pulls + 1, sizeof(size_t));
  trial->column = take(2 * size->pulls, sizeof(uint32_t));
  for (size_t t = 0; t < 3; t++) trial->level[t] = take(size->pulls, sizeof(uint32_t));
  size_t cells = size->knots * size->lines;
  double *effect = take(size->knots + size->lines + size->spools + cells, sizeof(double));
  double *line = effect + size->knots, *spool = line + size->lines, *cell = spool + size->spools;
  for (size_t i = 0; i < size->knots; i++) effect[i] = 0.15 * be_random_normal(&random);
  for (size_t i = 0; i < size->lines; i++) line[i] = 0.3 * be_random_normal(&random);
  for (size_t i = 0; i < size->spools; i++) spool[i] = 0.05 * be_random_normal(&random);
  for (size_t i = 0; i < cells; i++) cell[i] = 0.08 * be_random_normal(&random);
  size_t at = 0;
  for (size_t i = 0; i < size->pulls; i++) {
    uint32_t k = seldom(&random, size->knots), s = seldom(&random, size->spools);
    uint32_t l = (uint32_t)(s % size->lines);
    trial->knot[i] = k;
    trial->level[0][i] = l;
    trial->level[1][i] = s;
    trial->level[2][i] = (uint32_t)(k * size->lines + l);
    trial->y[i] = 4.6 + effect[k] + line[l] + spool[s] + cell[k * size->lines + l] +
                  0.1 * be_random_normal(&random);
    trial->bound[i] = trial->y[i] > size->stop;
    trial->bounds += trial->bound[i];
    if (trial->bound[i]) trial->y[i] = size->stop;
    trial->column[at++] = 0;
    if (k > 0) trial->column[at++] = k;
    trial->start[i + 1] = at;
  }
  free(effect);
}

static void release(struct trial *trial)
{
  for (size_t t = 0; t < 3; t++) free(trial->level[t]);
  free(trial->bound);
  free(trial->column);
  free(trial->start);
  free(trial->knot);
  free(trial->y);
}

struct answer {
  double median, least, most; /* seconds */
  double sigma, deviation[3], beta[2], criterion;
  bool converged;
  size_t evaluations, factor_size;
};

static int ascending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static void time_ours(const struct trial *trial, struct answer *answer)
{
  const struct size *size = &trial->size;
  const size_t levels[] = {size->lines, size->spools, size->knots * size->lines};
  struct be_mixed_term terms[3];
  for (size_t t = 0; t < 3; t++)
    terms[t] = (struct be_mixed_term){NULL, trial->level[t], levels[t], 1, {NULL, NULL, NULL}};
  const struct be_mixed_data data = {size->pulls,
                                     trial->y,
                                     trial->bounds > 0 ? trial->bound : NULL,
                                     {size->knots, trial->start, trial->column, NULL},
                                     terms,
                                     3};
  double seconds[99];
  for (int r = 0; r < size->repeats; r++) {
    struct be_mixed *fit;
    struct be_err err;
    double began = be_clock_s();
    if (be_mixed_fit(&data, BE_MIXED_REML, &fit, &err) != BE_OK) {
      fprintf(stderr, "bench_mixed: %s\n", err.what);
      exit(1);
    }
    seconds[r] = be_clock_s() - began;
    const struct be_mixed_summary *summary = be_mixed_summary(fit);
    answer->sigma = summary->sigma;
    answer->criterion = summary->criterion;
    answer->converged = summary->converged;
    answer->evaluations = summary->evaluations;
    answer->factor_size = summary->factor_size;
    for (size_t t = 0; t < 3; t++) {
      double covariance[BE_MIXED_WIDTH_MAX * BE_MIXED_WIDTH_MAX];
      be_mixed_term_covariance(fit, t, covariance);
      answer->deviation[t] = sqrt(covariance[0]);
    }
    for (size_t j = 0; j < 2; j++) answer->beta[j] = be_mixed_beta(fit)[j];
    be_mixed_free(fit);
  }
  qsort(seconds, (size_t)size->repeats, sizeof *seconds, ascending);
  answer->median = seconds[size->repeats / 2];
  answer->least = seconds[0];
  answer->most = seconds[size->repeats - 1];
}

static void write_pulls(const struct trial *trial, const char *path)
{
  FILE *file = fopen(path, "w");
  if (!file) exit(4);
  fputs("y,knot,line,spool,cell\n", file);
  for (size_t i = 0; i < trial->size.pulls; i++)
    fprintf(file, "%.17g,%u,%u,%u,%u\n", trial->y[i], (unsigned)trial->knot[i],
            (unsigned)trial->level[0][i], (unsigned)trial->level[1][i],
            (unsigned)trial->level[2][i]);
  if (fclose(file) != 0) exit(4);
}

/* False without R and lme4. Its search is followed further outside the time, for the answer. */
static bool time_r(const struct trial *trial, const char *path, struct answer *answer)
{
  char command[2000];
  snprintf(command, sizeof command,
           "Rscript -e 'suppressMessages(library(lme4)); d <- read.csv(\"%s\");"
           " for (f in c(\"knot\", \"line\", \"spool\", \"cell\")) d[[f]] <- factor(d[[f]]);"
           " ts <- sapply(1:%d, function(i) system.time(m <<- lmer(y ~ knot + (1|line) +"
           " (1|spool) + (1|cell), d, control = lmerControl(calc.derivs = FALSE)))[[3]]);"
           " %s"
           " v <- as.data.frame(VarCorr(m)); sd <- setNames(v$sdcor, v$grp);"
           " cat(sprintf(\"%%.12g\", c(median(ts), min(ts), max(ts), sigma(m), sd[[\"line\"]],"
           " sd[[\"spool\"]], sd[[\"cell\"]], fixef(m)[[1]], fixef(m)[[2]], REMLcrit(m))))'"
           " 2>/dev/null",
           path, trial->size.pulls > 10000 ? 1 : 9,
           "m <- update(m, start = getME(m, \"theta\"), control = lmerControl(calc.derivs = FALSE,"
           " optimizer = \"bobyqa\", optCtrl = list(rhobeg = 2e-3, rhoend = 1e-8)));");
  FILE *r = popen(command, "r");
  if (!r) return false;
  int got = fscanf(r, "%lf %lf %lf %lf %lf %lf %lf %lf %lf %lf", &answer->median, &answer->least,
                   &answer->most, &answer->sigma, &answer->deviation[0], &answer->deviation[1],
                   &answer->deviation[2], &answer->beta[0], &answer->beta[1], &answer->criterion);
  return pclose(r) == 0 && got == 10;
}

static double differs(const struct answer *ours, const struct answer *theirs)
{
  double most = fabs(ours->sigma / theirs->sigma - 1);
  for (size_t t = 0; t < 3; t++)
    most = fmax(most, fabs(ours->deviation[t] / theirs->deviation[t] - 1));
  for (size_t j = 0; j < 2; j++) most = fmax(most, fabs(ours->beta[j] / theirs->beta[j] - 1));
  return most;
}

static void print_row(const char *name, const struct answer *answer)
{
  printf("  %-12s %10.4f s  (%.4f to %.4f)   criterion %.6f\n", name, answer->median, answer->least,
         answer->most, answer->criterion);
}

static void bench(const struct size *size, const char *path)
{
  struct trial trial;
  struct answer ours = {0}, theirs = {0};
  draw(size, &trial);
  printf("mixed: %zu pulls, %zu of them bounds, %zu knots, %zu lines, %zu spools; median fit (least"
         " to most)\n",
         size->pulls, trial.bounds, size->knots, size->lines, size->spools);
  time_ours(&trial, &ours);
  print_row("bitterend", &ours);
  struct rusage usage;
  getrusage(RUSAGE_SELF, &usage);
  printf("    %s, %zu evaluations, %zu numbers in the factor; most memory so far %ld MiB\n",
         ours.converged ? "converged" : "did not converge", ours.evaluations, ours.factor_size,
         usage.ru_maxrss / 1024);
  if (size->beside) {
    write_pulls(&trial, path);
    if (time_r(&trial, path, &theirs)) {
      print_row("lmer", &theirs);
      printf("    lmer takes %.0f times as long (least against least %.0f); estimates differ by"
             " %.1e of themselves at most, the criterion by %.1e\n",
             theirs.median / ours.median, theirs.least / ours.least, differs(&ours, &theirs),
             fabs(ours.criterion - theirs.criterion));
    } else {
      printf("  R with lme4 is not there: nothing beside it\n");
    }
    remove(path);
  }
  release(&trial);
}

int main(int argc, char **argv)
{
  static const struct size sizes[] = {
      {600, 20, 12, 30, 51, true, INFINITY},        {600, 20, 12, 30, 11, false, 4.9},
      {100000, 200, 300, 1000, 3, true, INFINITY},  {100000, 200, 300, 1000, 1, false, 4.9},
      {250000, 200, 300, 1000, 1, false, INFINITY}, {1000000, 200, 300, 1000, 1, false, INFINITY},
  };
  char path[400];
  snprintf(path, sizeof path, "%s/bench-mixed.csv", argc > 1 ? argv[1] : "build");
  size_t most = argc > 2 ? (size_t)atoi(argv[2]) : sizeof sizes / sizeof sizes[0];
  for (size_t i = 0; i < most; i++) bench(&sizes[i], path);
  return 0;
}
