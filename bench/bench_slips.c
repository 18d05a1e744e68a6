/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How surely slips are found, and how rarely noise makes one, over seeded made
 * pulls; and how long finding all events takes. A pull is slack for a twentieth
 * of the rows, a rise load = top * way^1.3, a break, and a twentieth with
 * nothing on the line. Every figure can be made again: the seeds are fixed. */
#include "trace/trace.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { ROWS_MAX = 1000000 };

static const double top = 100, power = 1.3;

struct trial {
  size_t rows;
  double noise;       /* deviation of a reading, as a share of the peak */
  double correlation; /* of neighbouring readings' noise */
  bool hold;          /* the rise takes a tenth of the rows, then it is held */
  double load, drop;  /* shares: where it slips, of the peak, and by how much of that */
};

static double *force, *seconds;

/* Rows of the made pull; *slip_row is where the drop is. */
static void make(const struct trial *trial, uint64_t seed, size_t *slip_row)
{
  size_t n = trial->rows, slack = n / 20, end = trial->hold ? n : n - n / 20;
  double rise = trial->hold ? (double)n / 10 : (double)(end - slack), lost = 0, noise = 0;
  bool slipped = !(trial->drop > 0);
  struct be_random random;
  be_random_init(&random, seed, n + (size_t)(1e6 * trial->load));
  double fresh = sqrt(1 - trial->correlation * trial->correlation);
  *slip_row = n;
  for (size_t i = 0; i < n; i++) {
    double way = i < slack ? 0 : ((double)(i - slack) - lost) / rise;
    double load = i >= end ? 0 : top * pow(fmin(way, 1), power);
    if (!slipped && load >= trial->load * top) {
      double kept = pow(load * (1 - trial->drop) / top, 1 / power);
      lost += (way - kept) * rise;
      load *= 1 - trial->drop;
      slipped = true;
      *slip_row = i;
    }
    noise = trial->correlation * noise + fresh * be_random_normal(&random);
    force[i] = load + trial->noise * top * noise;
  }
}

static void find(size_t n, bool timed, struct be_trace_events *events)
{
  struct be_trace trace = {
      .n = n, .force_N = force, .time_s = timed ? seconds : NULL, .time_decimals = 3};
  if (be_trace_find(&trace, events, NULL) != BE_OK) exit(1);
}

/* Traces in which any slip is reported though there was none. */
static void false_slips(const struct trial *trial, size_t trials)
{
  size_t fired = 0, slip_row;
  struct be_trace_events events;
  for (uint64_t seed = 1; seed <= trials; seed++) {
    make(trial, seed, &slip_row);
    find(trial->rows, false, &events);
    fired += events.slips_count + events.slips_after > 0;
  }
  printf(
      "slips: none, %7zu rows, %s, noise %.2f %%, correlation %.2f: false in %zu of %zu (%.2f in "
      "1,000)\n",
      trial->rows, trial->hold ? "held  " : "pulled", 100 * trial->noise, trial->correlation, fired,
      trials, 1e3 * (double)fired / (double)trials);
}

/* Found: a slip whose rows hold the drop, give or take a hundredth of the rows. */
static void true_slips(const struct trial *trial, size_t trials)
{
  size_t found = 0, slip_row, near = trial->rows / 100;
  struct be_trace_events events;
  for (uint64_t seed = 1; seed <= trials; seed++) {
    make(trial, seed, &slip_row);
    find(trial->rows, false, &events);
    bool hit = false;
    for (size_t i = 0; i < events.slips_count; i++)
      hit |=
          events.slips[i].from_row <= slip_row + near && events.slips[i].to_row + near >= slip_row;
    found += hit;
  }
  printf(" %5.1f", 100 * (double)found / (double)trials);
}

/* of_peak: the drop is a share of the peak, wherever it slips. */
static void detection(const struct trial *as, double drop, bool of_peak, size_t trials)
{
  static const double loads[] = {0.3, 0.5, 0.7, 0.9};
  printf("slips: %6zu rows, noise %.2f %%, correlation %.2f, drop %.0f %% of the %s, at 30 50 70 "
         "90 %% of the peak: found %%",
         as->rows, 100 * as->noise, as->correlation, 100 * drop, of_peak ? "peak" : "load");
  for (size_t l = 0; l < 4; l++) {
    struct trial trial = *as;
    trial.load = loads[l];
    trial.drop = of_peak ? drop / loads[l] : drop;
    true_slips(&trial, trials);
  }
  printf("\n");
}

/* A pull at one pace with so many slips of 10 % of the load, evenly over the loads. */
static void staircase(size_t rows, size_t slips, double noise, size_t trials)
{
  size_t slack = rows / 20, end = rows - rows / 20, found = 0;
  double travel = top;
  for (size_t k = 0; k < slips; k++)
    travel += 0.1 * top * (0.15 + 0.83 * ((double)k + 0.5) / (double)slips);
  for (uint64_t seed = 1; seed <= trials; seed++) {
    struct be_random random;
    struct be_trace_events events;
    double load = 0;
    size_t next = 0;
    be_random_init(&random, seed, slips);
    for (size_t i = 0; i < rows; i++) {
      double slips_at = top * (0.15 + 0.83 * ((double)next + 0.5) / (double)slips);
      if (i >= slack) load += travel / (double)(end - slack);
      if (next < slips && load >= slips_at) load = 0.9 * slips_at, next++;
      force[i] = (i < end ? load : 0) + noise * top * be_random_normal(&random);
    }
    find(rows, false, &events);
    found += events.slips_count;
  }
  printf(
      "slips: %6zu rows, noise %.2f %%, staircase of %zu slips of 10 %% of the load: %.1f found\n",
      rows, 100 * noise, slips, (double)found / (double)trials);
}

static int ascending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static void speed(size_t rows, bool hold)
{
  enum { ROUNDS = 21 };
  struct trial trial = {.rows = rows, .noise = 0.005, .hold = hold, .load = 0.6, .drop = 0.05};
  struct be_trace_events events;
  double took[ROUNDS];
  size_t slip_row;
  make(&trial, 7, &slip_row);
  for (size_t i = 0; i < rows; i++) seconds[i] = 0.001 * (double)i;
  for (int i = 0; i < ROUNDS; i++) {
    double start = be_clock_s();
    find(rows, true, &events);
    took[i] = 1e9 * (be_clock_s() - start) / (double)rows;
  }
  qsort(took, ROUNDS, sizeof took[0], ascending);
  printf("events: %7zu rows, %s: %.1f ns a row (%.1f to %.1f, %d runs)\n", rows,
         hold ? "held  " : "pulled", took[ROUNDS / 2], took[0], took[ROUNDS - 1], ROUNDS);
}

static void lasting_noise(size_t times)
{
  static const double correlations[] = {0.5, 0.9, 0.97, 0.99}, drops[] = {0.05, 0.1};
  static const size_t rows[] = {1000, 10000, 60000}, trials[] = {1000, 500, 50};
  for (int c = 0; c < 4; c++)
    for (int i = 0; i < 3; i++)
      for (int hold = 0; hold < 2; hold++) {
        struct trial trial = {
            .rows = rows[i], .noise = 0.005, .correlation = correlations[c], .hold = hold};
        false_slips(&trial, trials[i] * times);
      }
  for (int i = 0; i < 2; i++)
    for (int c = 0; c < 2; c++)
      for (int d = 0; d < 2; d++) {
        struct trial as = {.rows = rows[i], .noise = 0.005, .correlation = correlations[c]};
        detection(&as, drops[d], true, 100 * times);
      }
}

static void staircases(size_t trials)
{
  static const size_t rows[] = {1000, 10000}, slips[] = {10, 20, 40, 60};
  static const double noises[] = {0.001, 0.0025, 0.005};
  for (int i = 0; i < 2; i++)
    for (int k = 0; k < 3; k++)
      for (int s = 0; s < 4; s++) staircase(rows[i], slips[s], noises[k], trials);
}

/* The figures in docs/measured.md are those of 10 times the trials: bench_slips 10. */
int main(int count, char **words)
{
  static const size_t rows[] = {1000, 10000, 60000, ROWS_MAX}, trials[] = {2000, 500, 200, 10};
  /* `make bench` gives every bench the folder of the build, which is no number. */
  size_t times = count > 1 ? (size_t)strtoul(words[1], NULL, 10) : 1;
  if (times == 0) times = 1;
  force = be_alloc_array(ROWS_MAX, sizeof *force);
  seconds = be_alloc_array(ROWS_MAX, sizeof *seconds);
  if (!force || !seconds) return 1;
  for (int i = 0; i < 4; i++)
    for (int hold = 0; hold < 2; hold++) speed(rows[i], hold);
  for (int i = 0; i < 4; i++)
    for (int hold = 0; hold < 2; hold++) {
      struct trial trial = {.rows = rows[i], .noise = 0.005, .hold = hold};
      false_slips(&trial, times * trials[i]);
    }
  lasting_noise(times);
  staircases(10 * times);
  static const double noises[] = {0.0025, 0.005, 0.01}, drops[] = {0.05, 0.04, 0.03, 0.02};
  for (int i = 0; i < 2; i++)
    for (int k = 0; k < 3; k++) {
      struct trial as = {.rows = rows[i], .noise = noises[k]};
      detection(&as, 0.05, true, 100 * times);
      for (int d = 0; d < 4; d++) detection(&as, drops[d], false, 100 * times);
    }
  be_free(force);
  be_free(seconds);
  return 0;
}
