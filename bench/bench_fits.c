/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How fast censored loads are fitted. Sets of 30 pulls, some three in ten of them lower
 * bounds, by this program and by survreg of R's package survival, both timed inside their own
 * process in one run, on the same numbers; survreg as it is called, formula and all.
 *
 *   bench_fits BUILD */
#define _POSIX_C_SOURCE 200809L
#include "stats/stats.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { SETS = 51, PULLS = 30, REPEATS = 400 };

static struct be_held sets[SETS][PULLS];

static void draw(void)
{
  struct be_random random;
  be_random_init(&random, 4711, 1);
  for (size_t s = 0; s < SETS; s++) {
    double beta = 3 + 12 * be_random_unit(&random);
    double stop = 180 * pow(-log(0.3), 1 / beta);
    for (size_t i = 0; i < PULLS; i++) {
      double x = 180 * pow(-log1p(-be_random_unit(&random)), 1 / beta);
      sets[s][i] = (struct be_held){fmin(x, stop), x > stop, 1};
    }
  }
}

static void write_sets(const char *path)
{
  FILE *file = fopen(path, "w");
  if (!file) exit(4);
  fputs("set,load,event\n", file);
  for (size_t s = 0; s < SETS; s++)
    for (size_t i = 0; i < PULLS; i++)
      fprintf(file, "%zu,%.17g,%d\n", s, sets[s][i].load, !sets[s][i].bound);
  if (fclose(file) != 0) exit(4);
}

static int ascending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

struct times {
  double median, least, most, sigmas;
};

static struct times over_sets(double *seconds, double sigmas)
{
  qsort(seconds, SETS, sizeof *seconds, ascending);
  return (struct times){1e6 * seconds[SETS / 2], 1e6 * seconds[0], 1e6 * seconds[SETS - 1], sigmas};
}

static struct times time_fits(enum be_family family)
{
  double seconds[SETS], sigmas = 0;
  for (size_t s = 0; s < SETS; s++) {
    struct be_fit fit;
    double start = be_clock_s();
    for (int k = 0; k < REPEATS; k++) be_fit_censored(family, sets[s], PULLS, &fit);
    seconds[s] = (be_clock_s() - start) / REPEATS;
    sigmas += fit.sigma;
  }
  return over_sets(seconds, sigmas);
}

static struct times time_intervals(bool conditional)
{
  double seconds[SETS];
  for (size_t s = 0; s < SETS; s++) {
    struct be_fit fit;
    struct be_measure measure;
    be_fit_censored(BE_FAMILY_WEIBULL, sets[s], PULLS, &fit);
    double start = be_clock_s();
    for (int k = 0; k < 3; k++)
      (conditional ? be_fit_conditional : be_fit_profile)(&fit, sets[s], PULLS, BE_WANTED_QUANTILE,
                                                          0.1, 0.95, &measure);
    seconds[s] = (be_clock_s() - start) / 3;
  }
  return over_sets(seconds, 0);
}

/* False when there is no R, or no survival. */
static bool time_r(const char *path, const char *family, struct times *times)
{
  char command[1200];
  snprintf(command, sizeof command,
           "Rscript -e 'library(survival); d <- read.csv(\"%s\"); sigmas <- 0;"
           " us <- sapply(split(d, d$set), function(s) { k <- 10; m <- NULL;"
           " t <- system.time(for (i in 1:k)"
           " m <- survreg(Surv(load, event) ~ 1, data = s, dist = \"%s\"))[[3]];"
           " sigmas <<- sigmas + m$scale; 1e6 * t / k });"
           " cat(median(us), min(us), max(us), sprintf(\"%%.12f\", sigmas))' 2>/dev/null",
           path, family);
  FILE *r = popen(command, "r");
  if (!r) return false;
  int got =
      fscanf(r, "%lf %lf %lf %lf", &times->median, &times->least, &times->most, &times->sigmas);
  return pclose(r) == 0 && got == 4;
}

static void print_row(const char *name, const struct times *times)
{
  printf("  %-34s %9.2f us  (%.2f to %.2f)\n", name, times->median, times->least, times->most);
}

int main(int argc, char **argv)
{
  static const char *const names[] = {"weibull", "lognormal", "gaussian"};
  char path[400];
  snprintf(path, sizeof path, "%s/bench-fits.csv", argc > 1 ? argv[1] : "build");
  draw();
  write_sets(path);
  printf("fits: %d sets of %d pulls with bounds, median set (least to most)\n", SETS, PULLS);
  for (int family = 0; family < 3; family++) {
    char row[60];
    struct times ours = time_fits((enum be_family)family), theirs;
    snprintf(row, sizeof row, "bitterend, %s", names[family]);
    print_row(row, &ours);
    if (!time_r(path, names[family], &theirs)) {
      printf("  R with survival is not there: nothing beside it\n");
      continue;
    }
    snprintf(row, sizeof row, "survreg, %s", names[family]);
    print_row(row, &theirs);
    printf("    survreg takes %.0f times as long (least against least %.0f);"
           " mean sigma differs by %.1e of itself\n",
           theirs.median / ours.median, theirs.least / ours.least,
           fabs(theirs.sigmas / ours.sigmas - 1));
  }
  struct times interval = time_intervals(false);
  print_row("bitterend, profile interval", &interval);
  interval = time_intervals(true);
  print_row("bitterend, conditional interval", &interval);
  remove(path);
  return 0;
}
