/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How many specimens `next` saves. Knots with known strengths are pulled in simulation: in equal
 * shares, or one at a time as be_next_list says after each pull. For each number of specimens,
 * how often the first places are right; and how many specimens `next` needs to be right as often
 * as equal shares. Then how many it takes until the first place is settled, as `next` says it, by
 * equal shares, by its list, and by pulling in turn what is still in it.
 *
 *   bench_next BUILD [RUNS] */
#include "stats/stats.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { KNOTS_MAX = 7, PULLS_MAX = 168, STOP_MAX = 900, START = 2, EVENING = 10 };
enum { BLOCKS = 64, RUNS = 2000, WAYS = 3 };
/* Beyond, too few answers are wrong to be counted. */
static const double SURE = 0.995;

/* Efficiencies and coefficients of variation of demo/truth-knots.csv; and two with seven knots,
 * made: a close second, and a close third and fourth. */
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
  double x[STOP_MAX];
  struct be_summary summary;
};

/* Equal shares, next one at a time, next an evening at a time. */
struct counts {
  uint32_t right[WAYS][PULLS_MAX + 1];
};
struct study {
  const struct truth *truth;
  size_t runs;
  struct counts *blocks;
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

/* Lists the next `most` in queue; returns how many. */
static size_t choose(const struct truth *truth, const struct knot *knots, size_t most,
                     struct be_next *queue)
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
    double deviation = be_next_deviation(&knots[i].summary, sqrt(squares / df));
    cells[i] = (struct be_next_cell){deviation, knots[i].n, 2, STOP_MAX, 1};
    value[i] = knots[i].summary.mean;
    weights[i * count + i] = 1;
  }
  const struct be_next_state state = {count, count, value, weights, cells, df};
  const struct be_question question = {BE_QUESTION_TOP, truth->top, 0, 0};
  size_t listed;
  if (be_next_list(&state, &question, INFINITY, most, queue, &listed, NULL) != BE_OK) exit(4);
  if (listed == 0) queue[listed++] = (struct be_next){.cell = 0};
  return listed;
}

static void start(const struct truth *truth, struct knot *knots, size_t run, uint64_t seed)
{
  for (size_t k = 0; k < truth->knots; k++) {
    knots[k].n = 0;
    be_random_init(&knots[k].random, seed, run * KNOTS_MAX + k);
  }
}

static void run_next(const struct truth *truth, struct knot *knots, size_t most, uint32_t *right)
{
  struct be_next queue[EVENING];
  size_t first = START * truth->knots, listed = 0, at = 0;
  for (size_t n = 0; n < PULLS_MAX; n++) {
    if (n < first) {
      pull(truth, knots, n % truth->knots);
    } else {
      if (at == listed) listed = choose(truth, knots, most, queue), at = 0;
      pull(truth, knots, queue[at++].cell);
    }
    if (n + 1 >= first) right[n + 1] += is_right(truth, knots);
  }
}

static void run_block(void *study_, size_t block)
{
  struct study *study = study_;
  const struct truth *truth = study->truth;
  struct counts *counts = &study->blocks[block];
  static _Thread_local struct knot knots[KNOTS_MAX];
  for (size_t run = block; run < study->runs; run += BLOCKS) {
    start(truth, knots, run, 20260301);
    for (size_t n = 1; n * truth->knots <= PULLS_MAX; n++) {
      for (size_t k = 0; k < truth->knots; k++) pull(truth, knots, k);
      counts->right[0][n * truth->knots] += is_right(truth, knots);
    }
    start(truth, knots, run, 4711);
    run_next(truth, knots, 1, counts->right[1]);
    start(truth, knots, run, 1893);
    run_next(truth, knots, EVENING, counts->right[2]);
  }
}

/* The first number of specimens from which `next` is right as often. */
static size_t needed(const double *right, double share)
{
  for (size_t n = 1; n <= PULLS_MAX; n++)
    if (right[n] >= share) return n;
  return PULLS_MAX;
}

static void print_truth(const struct study *study)
{
  static const size_t each[] = {3, 4, 5, 6, 8, 10, 12, 16, 20, 24, 28};
  static double right[WAYS][PULLS_MAX + 1];
  size_t knots = study->truth->knots;
  for (size_t way = 0; way < WAYS; way++)
    for (size_t n = 0; n <= PULLS_MAX; n++) {
      right[way][n] = 0;
      for (size_t b = 0; b < BLOCKS; b++)
        right[way][n] += study->blocks[b].right[way][n] / (double)study->runs;
    }
  for (size_t i = 0; i < sizeof each / sizeof each[0] && each[i] * knots <= PULLS_MAX; i++) {
    size_t n = each[i] * knots;
    if (right[0][n] > SURE) break;
    size_t one = needed(right[1], right[0][n]), ten = needed(right[2], right[0][n]);
    printf("| %s | %zu | %.3f | %.3f | %zu | %.2f | %zu | %.2f |\n", study->truth->name, n,
           right[0][n], right[1][n], one, (double)one / (double)n, ten, (double)ten / (double)n);
  }
}

/* ---- until the first is settled ---- */

struct stop {
  uint64_t pulls, settled, wrong;
};
struct stops {
  const struct truth *truth;
  size_t runs;
  struct stop way[BLOCKS][3];
};

/* As `next` says it: a knot is out of it once some other had, at some look, the evidence of
 * (knots - 1) / 0.05 to be stronger, from their pulls in pairs; out is kept from look to look. The
 * question is settled when one knot is left. */
static size_t look(const struct truth *truth, const struct knot *knots, size_t pulled, bool *out)
{
  const struct be_watch watch = {sqrt(0.5), 1 - 0.05 / (double)(truth->knots - 1)};
  double difference[STOP_MAX];
  size_t left = 0;
  for (size_t k = 0; k < truth->knots; k++) {
    const struct knot *a = &knots[pulled], *b = &knots[k];
    /* Without a new pair there is nothing new to see. */
    if (k == pulled || b->n < a->n) continue;
    struct be_summary summary;
    struct be_watched watched;
    for (size_t i = 0; i < a->n; i++) difference[i] = a->x[i] - b->x[i];
    be_summary_of(difference, a->n, &summary);
    be_watch_paired(&summary, &watch, &watched);
    if (watched.apart) out[watched.value > 0 ? k : pulled] = true;
  }
  for (size_t k = 0; k < truth->knots; k++) left += !out[k];
  return left;
}

enum way { EQUAL, BY_NEXT, BY_TURN, STOP_WAYS };

/* Of those still in it the one that was pulled least. */
static size_t whose_turn(const struct truth *truth, const struct knot *knots, const bool *out)
{
  size_t least = truth->knots;
  for (size_t k = 0; k < truth->knots; k++)
    if (!out[k] && (least == truth->knots || knots[k].n < knots[least].n)) least = k;
  return least;
}

static void stop_one(const struct truth *truth, struct knot *knots, enum way way, struct stop *stop)
{
  bool out[KNOTS_MAX] = {false};
  struct be_next queue[1];
  size_t best = 0, n = 0, left = truth->knots;
  for (size_t k = 1; k < truth->knots; k++)
    if (truth->efficiency[k] > truth->efficiency[best]) best = k;
  for (; n < STOP_MAX && left > 1; n++) {
    size_t k = n % truth->knots;
    if (n >= START * truth->knots && way == BY_TURN) k = whose_turn(truth, knots, out);
    if (n >= START * truth->knots && way == BY_NEXT) {
      choose(truth, knots, 1, queue);
      k = queue[0].cell;
    }
    pull(truth, knots, k);
    left = look(truth, knots, k, out);
  }
  stop->pulls += n;
  stop->settled += left <= 1;
  stop->wrong += left <= 1 && out[best];
}

static void stop_block(void *stops_, size_t block)
{
  struct stops *stops = stops_;
  static _Thread_local struct knot knots[KNOTS_MAX];
  for (size_t run = block; run < stops->runs; run += BLOCKS)
    for (enum way way = 0; way < STOP_WAYS; way++) {
      start(stops->truth, knots, run, 50021 + way);
      stop_one(stops->truth, knots, way, &stops->way[block][way]);
    }
}

static void print_stops(const struct stops *stops)
{
  struct stop sum[STOP_WAYS] = {{0}};
  for (size_t b = 0; b < BLOCKS; b++)
    for (size_t way = 0; way < STOP_WAYS; way++) {
      sum[way].pulls += stops->way[b][way].pulls;
      sum[way].settled += stops->way[b][way].settled;
      sum[way].wrong += stops->way[b][way].wrong;
    }
  double runs = (double)stops->runs;
  printf("| %s |", stops->truth->name);
  for (size_t way = 0; way < STOP_WAYS; way++)
    printf(" %.1f | %.3f | %.4f |", (double)sum[way].pulls / runs, (double)sum[way].settled / runs,
           (double)sum[way].wrong / runs);
  printf(" %.2f |\n", (double)sum[BY_TURN].pulls / (double)sum[EQUAL].pulls);
}

static void stop_all(size_t runs)
{
  static struct stops stops;
  printf("\nstop: %zu runs, at most %d specimens, settled at 0.95, looked at after every pull\n",
         runs, STOP_MAX);
  printf(
      "| question | equal: mean specimens | settled | wrongly | next: mean specimens | settled | "
      "wrongly | those left, in turn | settled | wrongly | ratio to equal |\n"
      "|---|---:|---:|---:|---:|---:|---:|---:|---:|---:|---:|\n");
  for (size_t i = 0; i < TRUTHS; i++) {
    if (truths[i].top > 1) continue;
    stops = (struct stops){.truth = &truths[i], .runs = runs};
    be_parallel(BLOCKS, 0, stop_block, &stops);
    print_stops(&stops);
  }
}

int main(int argc, char **argv)
{
  static struct counts blocks[BLOCKS];
  long runs = argc > 2 ? strtol(argv[2], NULL, 10) : RUNS;
  if (runs < 1) return 2;
  printf(
      "next: %ld runs, %d pulls of each knot first; one standard deviation of a share is at most "
      "%.3f\n",
      runs, START, 0.5 / sqrt((double)runs));
  printf(
      "| question | specimens | equal shares right | next right | next needs | ratio | needs, %d "
      "at a time | ratio |\n|---|---:|---:|---:|---:|---:|---:|---:|\n",
      EVENING);
  for (size_t i = 0; i < TRUTHS; i++) {
    struct study study = {&truths[i], (size_t)runs, blocks};
    memset(blocks, 0, sizeof blocks);
    be_parallel(BLOCKS, 0, run_block, &study);
    print_truth(&study);
  }
  stop_all((size_t)runs / 4 + 1);
  return 0;
}
