/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How many specimens `next` saves. Knots with known strengths are pulled in simulation: in equal
 * shares, or one at a time as be_next_list says after each pull. For each number of specimens,
 * how often the first places are right; and how many specimens `next` needs to be right as often
 * as equal shares.
 *
 *   bench_next BUILD [RUNS] */
#include "stats/stats.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { KNOTS_MAX = 7, PULLS_MAX = 168, START = 3, BLOCKS = 64, RUNS = 4000 };
/* Pulls' worth of the pooled deviation that a knot's own is drawn towards. */
static const double PRIOR_PULLS = 4;

/* Efficiencies and coefficients of variation of demo/truth-knots.csv; the last row, made, has
 * seven close together. */
struct truth {
  const char *name;
  size_t knots, top;
  double efficiency[KNOTS_MAX], cv[KNOTS_MAX];
};
static const struct truth truths[] = {
    {"nylon, the best",
     6,
     1,
     {0.84, 0.66, 0.83, 0.76, 0.80, 0.92},
     {0.06, 0.12, 0.06, 0.07, 0.08, 0.05}},
    {"nylon, the first 3",
     6,
     3,
     {0.84, 0.66, 0.83, 0.76, 0.80, 0.92},
     {0.06, 0.12, 0.06, 0.07, 0.08, 0.05}},
    {"fluorocarbon, the best",
     6,
     1,
     {0.78, 0.58, 0.77, 0.70, 0.72, 0.86},
     {0.06, 0.12, 0.06, 0.07, 0.08, 0.05}},
    {"fluorocarbon, the first 3",
     6,
     3,
     {0.78, 0.58, 0.77, 0.70, 0.72, 0.86},
     {0.06, 0.12, 0.06, 0.07, 0.08, 0.05}},
    {"seven, the best",
     7,
     1,
     {0.93, 0.90, 0.84, 0.78, 0.70, 0.62, 0.55},
     {0.08, 0.08, 0.06, 0.07, 0.09, 0.12, 0.12}},
    {"seven, the first 3",
     7,
     3,
     {0.93, 0.90, 0.86, 0.82, 0.70, 0.62, 0.55},
     {0.08, 0.08, 0.06, 0.07, 0.09, 0.12, 0.12}},
};
enum { TRUTHS = sizeof truths / sizeof truths[0] };

struct knot {
  struct be_random random;
  size_t n;
  double x[PULLS_MAX];
  struct be_summary summary;
};

struct study {
  const struct truth *truth;
  size_t runs;
  uint32_t (*equal)[PULLS_MAX + 1], (*chosen)[PULLS_MAX + 1]; /* right answers, by block */
};

static void pull(const struct truth *truth, struct knot *knots, size_t k)
{
  struct knot *knot = &knots[k];
  double load = log(truth->efficiency[k]) + truth->cv[k] * be_random_normal(&knot->random);
  knot->x[knot->n++] = load;
  be_summary_of(knot->x, knot->n, &knot->summary);
}

static bool is_right(const struct truth *truth, const struct knot *knots)
{
  double least = INFINITY;
  for (size_t i = 0; i < truth->knots; i++) {
    size_t above = 0;
    for (size_t j = 0; j < truth->knots; j++) above += truth->efficiency[j] > truth->efficiency[i];
    if (above < truth->top) least = fmin(least, knots[i].summary.mean);
  }
  size_t reaching = 0;
  for (size_t i = 0; i < truth->knots; i++) reaching += knots[i].summary.mean >= least;
  return reaching == truth->top;
}

static size_t choose(const struct truth *truth, const struct knot *knots)
{
  double value[KNOTS_MAX], weights[KNOTS_MAX * KNOTS_MAX] = {0}, squares = 0, df = 0;
  struct be_next_cell cells[KNOTS_MAX];
  size_t count = truth->knots;
  for (size_t i = 0; i < count; i++) {
    double own = (double)(knots[i].n - 1);
    squares += own * knots[i].summary.sd * knots[i].summary.sd;
    df += own;
  }
  for (size_t i = 0; i < count; i++) {
    double own = (double)(knots[i].n - 1), sd = knots[i].summary.sd;
    double variance = (PRIOR_PULLS * squares / df + own * sd * sd) / (PRIOR_PULLS + own);
    cells[i] = (struct be_next_cell){sqrt(variance), knots[i].n, 2, PULLS_MAX, 1};
    value[i] = knots[i].summary.mean;
    weights[i * count + i] = 1;
  }
  const struct be_next_state state = {count, count, value, weights, cells, df};
  const struct be_question question = {BE_QUESTION_TOP, truth->top, 0, 0};
  struct be_next next;
  size_t listed;
  if (be_next_list(&state, &question, INFINITY, 1, &next, &listed, NULL) != BE_OK) exit(4);
  return listed ? next.cell : 0;
}

static void start(const struct truth *truth, struct knot *knots, size_t run, uint64_t seed)
{
  for (size_t k = 0; k < truth->knots; k++) {
    knots[k].n = 0;
    be_random_init(&knots[k].random, seed, run * KNOTS_MAX + k);
  }
}

static void run_block(void *study_, size_t block)
{
  struct study *study = study_;
  const struct truth *truth = study->truth;
  static _Thread_local struct knot knots[KNOTS_MAX];
  for (size_t run = block; run < study->runs; run += BLOCKS) {
    start(truth, knots, run, 20260301);
    for (size_t n = 1; n * truth->knots <= PULLS_MAX; n++) {
      for (size_t k = 0; k < truth->knots; k++) pull(truth, knots, k);
      study->equal[block][n * truth->knots] += is_right(truth, knots);
    }
    start(truth, knots, run, 4711);
    for (size_t n = 0; n < PULLS_MAX; n++) {
      size_t first = START * truth->knots;
      pull(truth, knots, n < first ? n % truth->knots : choose(truth, knots));
      if (n + 1 >= first) study->chosen[block][n + 1] += is_right(truth, knots);
    }
  }
}

/* The first number of specimens from which `next` is right as often. */
static size_t needed(const double *chosen, double share)
{
  for (size_t n = 1; n <= PULLS_MAX; n++)
    if (chosen[n] >= share) return n;
  return 0;
}

static void print_truth(struct study *study)
{
  static const size_t each[] = {3, 4, 5, 6, 8, 10, 12, 16, 20, 24, 28};
  double equal[PULLS_MAX + 1] = {0}, chosen[PULLS_MAX + 1] = {0};
  size_t knots = study->truth->knots;
  for (size_t n = 0; n <= PULLS_MAX; n++)
    for (size_t b = 0; b < BLOCKS; b++) {
      equal[n] += study->equal[b][n] / (double)study->runs;
      chosen[n] += study->chosen[b][n] / (double)study->runs;
    }
  for (size_t i = 0; i < sizeof each / sizeof each[0] && each[i] * knots <= PULLS_MAX; i++) {
    size_t n = each[i] * knots, less = needed(chosen, equal[n]);
    printf("| %-26s | %3zu | %.3f | %.3f | ", study->truth->name, n, equal[n], chosen[n]);
    if (less) printf("%3zu | %3.0f %% |\n", less, 100 - 100 * (double)less / (double)n);
    else printf("  - |     - |\n");
  }
}

int main(int argc, char **argv)
{
  static uint32_t equal[BLOCKS][PULLS_MAX + 1], chosen[BLOCKS][PULLS_MAX + 1];
  long runs = argc > 2 ? strtol(argv[2], NULL, 10) : RUNS;
  if (runs < 1) return 2;
  printf("next: %ld runs, %d pulls of each knot first; one standard deviation at most %.3f\n", runs,
         START, 0.5 / sqrt((double)runs));
  printf("| %-26s | specimens | equal shares right | next right | next needs | saved |\n",
         "question");
  printf("|---|---:|---:|---:|---:|---:|\n");
  for (size_t i = 0; i < TRUTHS; i++) {
    struct study study = {&truths[i], (size_t)runs, equal, chosen};
    memset(equal, 0, sizeof equal);
    memset(chosen, 0, sizeof chosen);
    be_parallel(BLOCKS, 0, run_block, &study);
    print_truth(&study);
  }
  return 0;
}
