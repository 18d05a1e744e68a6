/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How fast a whole book is resampled: 60 sets of 5 to 10 pulls, 10000 resamplings of each
 * mean, with percentile and BCa. Beside it R's package boot on some of the same sets,
 * timed inside one process that has started and read the pulls.
 *
 *   bench_bootstrap BUILD */
#define _POSIX_C_SOURCE 200809L
#include "stats/stats.h"

#include <stdio.h>
#include <stdlib.h>

enum { SETS = 60, PULLS_MAX = 10, ROUNDS = 7, PEER_SETS = 20 };
static const size_t TIMES = 10000;

struct pulls {
  double x[SETS][PULLS_MAX];
  const double *sets[SETS];
  size_t n[SETS];
};

static void fill(struct pulls *pulls)
{
  struct be_random random;
  be_random_init(&random, 60, 0);
  for (size_t g = 0; g < SETS; g++) {
    pulls->sets[g] = pulls->x[g];
    pulls->n[g] = 5 + g % 6;
    for (size_t i = 0; i < pulls->n[g]; i++)
      pulls->x[g][i] = 120 + (double)g + 9 * be_random_normal(&random);
  }
}

/* ---- ours ---- */

static int ascending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static double time_ours(const struct pulls *pulls, unsigned threads)
{
  static struct be_boot boots[SETS];
  const struct be_resampling how = {1987, TIMES, 0.95, threads};
  double seconds[ROUNDS];
  for (int i = 0; i < ROUNDS; i++) {
    double start = be_clock_s();
    if (be_bootstrap_means(pulls->sets, pulls->n, SETS, &how, boots, NULL) != BE_OK) exit(4);
    seconds[i] = be_clock_s() - start;
  }
  qsort(seconds, ROUNDS, sizeof *seconds, ascending);
  printf("  %u %s  %8.4f s  (%.4f to %.4f)  %7.1f million draws/s\n", threads,
         threads == 1 ? "thread: " : "threads:", seconds[ROUNDS / 2], seconds[0],
         seconds[ROUNDS - 1], SETS * 7.5 * (double)TIMES / seconds[ROUNDS / 2] / 1e6);
  return seconds[ROUNDS / 2];
}

/* ---- the peer ---- */

static void write_pulls(const char *path, const struct pulls *pulls)
{
  FILE *file = fopen(path, "w");
  if (!file) exit(4);
  for (size_t g = 0; g < PEER_SETS; g++)
    for (size_t i = 0; i < pulls->n[g]; i++) fprintf(file, "%zu,%.17g\n", g, pulls->x[g][i]);
  if (fclose(file) != 0) exit(4);
}

/* Seconds for PEER_SETS sets; below 0 when Rscript or its package is not there. */
static double time_peer(const char *path)
{
  static const char script[] =
      "if (!requireNamespace('boot', quietly = TRUE)) quit(status = 1); "
      "a <- commandArgs(TRUE); d <- read.csv(a[1], header = FALSE); s <- split(d[[2]], d[[1]]); "
      "set.seed(1987); n <- as.integer(a[2]); "
      "t <- system.time(for (x in s) boot::boot.ci(boot::boot(x, function(x, i) mean(x[i]), "
      "n), type = 'bca'))[['elapsed']]; cat(t)";
  char command[2000];
  double seconds = -1;
  snprintf(command, sizeof command, "Rscript -e \"%s\" \"%s\" %zu 2>/dev/null", script, path,
           TIMES);
  FILE *pipe = popen(command, "r");
  if (!pipe) return -1;
  if (fscanf(pipe, "%lf", &seconds) != 1) seconds = -1;
  return pclose(pipe) == 0 ? seconds : -1;
}

int main(int argc, char **argv)
{
  static struct pulls pulls;
  char path[400];
  snprintf(path, sizeof path, "%s/bench-bootstrap.csv", argc > 1 ? argv[1] : "build");
  fill(&pulls);
  printf("bootstrap: %d sets of 5 to 10 pulls, %zu resamplings each, BCa; median of %d\n", SETS,
         TIMES, ROUNDS);
  double one = time_ours(&pulls, 1), two = time_ours(&pulls, 2);
  write_pulls(path, &pulls);
  double peer = time_peer(path) * SETS / PEER_SETS;
  remove(path);
  if (peer < 0) {
    printf("  R's boot is not there to be held against\n");
    return 0;
  }
  printf("  R's boot:   %8.4f s  (%d sets, times %d)  ratio %.0f on 1 thread, %.0f on 2\n", peer,
         PEER_SETS, SETS / PEER_SETS, peer / one, peer / two);
  return 0;
}
