/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How often the stopping rule of `versus` and `next` finds a difference where there is none, over
 * all looks, where its assumptions hold, where they bend and where they break; and how many pairs
 * it takes to find one. Two knots in four combinations, their pulls paired as src/app/watch.c
 * does, to 50 pairs in each.
 *
 *   bench_looks BUILD [RUNS] */
#include "app/watch.h"
#include "stats/stats.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { CELLS = 4, EACH = 50, LEAST = 2, RUNS = 10000, BLOCKS = 64 };

enum turn {
  IN_TURN,  /* a pair in each combination, and again */
  ONE_LINE, /* all pairs of a combination before the next */
  BY_GAIN,  /* whatever takes most from the variance of the difference, as `next` would */
  BY_LUCK   /* the second of a pair is pulled where the first held most: not allowed */
};
static const char *const turn_words[] = {"in turn", "line after line", "as `next` says",
                                         "chosen by the first half"};

struct setting {
  double shift, second, last; /* in deviations of the first knot; of the second, of the last line */
  double slips;               /* share of pulls that slip out at half the load */
  enum turn turn;
};
struct tally {
  size_t found, wrongly, pairs;
};
struct study {
  struct setting setting;
  size_t runs;
  struct tally tallies[BLOCKS];
};

/* A record that grows pull by pull. */
struct record {
  struct survey survey;
  struct be_pull pulls[2 * CELLS * EACH];
  size_t count;
  const struct be_pull *events[2][CELLS][EACH];
  double loads[2][CELLS][EACH];
  struct cell cells[2][CELLS];
  struct facing facing[CELLS];
  struct be_random random;
};

static void begin(struct record *record, size_t run)
{
  memset(record, 0, sizeof *record);
  be_random_init(&record->random, 20260519, run);
  record->survey.how.level = 0.95;
  for (size_t c = 0; c < CELLS; c++) {
    for (size_t k = 0; k < 2; k++)
      record->cells[k][c] =
          (struct cell){.events = record->events[k][c], .loads = record->loads[k][c]};
    record->facing[c] = (struct facing){&record->cells[0][c], &record->cells[1][c]};
  }
}

static void pull(struct record *record, const struct setting *setting, size_t knot, size_t c)
{
  static const double cv = 0.06;
  struct cell *cell = &record->cells[knot][c];
  double deviation =
      cv * (knot ? setting->second : 1) *
      (c + 1 < CELLS ? 1 + (setting->last - 1) * (double)c / (CELLS - 1) : setting->last);
  double load = 3 + 0.5 * (double)c + (knot ? 0 : setting->shift * cv) +
                deviation * be_random_normal(&record->random);
  if (be_random_unit(&record->random) < setting->slips) load -= log(2);
  record->events[knot][c][cell->n] = &record->pulls[record->count++];
  record->loads[knot][c][cell->n++] = exp(load);
}

/* What another pull takes from the variance of the difference. */
static void pull_by_gain(struct record *record, const struct setting *setting)
{
  size_t knot = 0, at = 0;
  double most = -1;
  for (size_t k = 0; k < 2; k++)
    for (size_t c = 0; c < CELLS; c++) {
      const struct cell *cell = &record->cells[k][c];
      struct be_summary summary;
      be_summary_of(cell->loads, cell->n, &summary);
      double n = (double)cell->n, gain = summary.sd / summary.mean / sqrt(n * (n + 1));
      if (cell->n < EACH && gain > most) most = gain, knot = k, at = c;
    }
  pull(record, setting, knot, at);
}

/* One pull of the first knot waits in each combination; the best of them gets its partner. */
static void pull_by_luck(struct record *record, const struct setting *setting)
{
  size_t best = CELLS;
  double most = -INFINITY;
  for (size_t c = 0; c < CELLS; c++) {
    const struct cell *cell = &record->cells[0][c];
    if (cell->n == 0) {
      pull(record, setting, 0, c);
      return;
    }
    double high = log(cell->loads[cell->n - 1]) - 0.5 * (double)c;
    if (cell->n < EACH && high > most) most = high, best = c;
  }
  if (best == CELLS) return;
  pull(record, setting, 1, best);
  pull(record, setting, 0, best);
}

static void fill(struct record *record, const struct setting *setting)
{
  for (size_t i = 0; i < CELLS * EACH; i++) {
    size_t c = setting->turn == ONE_LINE ? i / EACH : i % CELLS;
    if (setting->turn == BY_LUCK) {
      pull_by_luck(record, setting);
    } else if (setting->turn == BY_GAIN && i >= CELLS * LEAST) {
      pull_by_gain(record, setting);
      pull_by_gain(record, setting);
    } else {
      pull(record, setting, 0, c);
      pull(record, setting, 1, c);
    }
  }
}

static void run_block(void *study_, size_t block)
{
  struct study *study = study_;
  static _Thread_local struct record record;
  struct tally *tally = &study->tallies[block];
  for (size_t run = block; run < study->runs; run += BLOCKS) {
    struct watching watching;
    begin(&record, run);
    fill(&record, &study->setting);
    if (be_watch_facing(&record.survey, record.facing, CELLS, 1, &watching, NULL) != BE_OK) exit(4);
    tally->found += watching.reached > 0;
    tally->wrongly += watching.reached && !watching.a_stronger;
    tally->pairs += watching.reached ? watching.reached : watching.pairs;
  }
}

static void print_setting(struct study *study)
{
  struct tally sum = {0};
  memset(study->tallies, 0, sizeof study->tallies);
  be_parallel(BLOCKS, 0, run_block, study);
  for (size_t b = 0; b < BLOCKS; b++) {
    sum.found += study->tallies[b].found;
    sum.wrongly += study->tallies[b].wrongly;
    sum.pairs += study->tallies[b].pairs;
  }
  const struct setting *s = &study->setting;
  double runs = (double)study->runs;
  printf("| %s | %.1f | %.1f | %.1f | %.0f %% | %.4f | %.4f | ", turn_words[s->turn], s->shift,
         s->second, s->last, 100 * s->slips, (double)sum.found / runs, (double)sum.wrongly / runs);
  if (s->shift == 0) printf("- | - |\n");
  else
    printf("%.1f | %.0f |\n", (double)sum.pairs / runs,
           ceil(be_power_two_n(s->shift / sqrt((1 + s->second * s->second) / 2), 0.05, 0.8)));
}

int main(int argc, char **argv)
{
  static struct study study;
  static const struct setting settings[] = {
      {0, 1, 1, 0, IN_TURN},   {0, 2, 1, 0, IN_TURN},   {0, 1, 1, 0, BY_GAIN},
      {0, 2, 1, 0, BY_GAIN},   {0, 3, 1, 0, BY_GAIN},   {0, 1, 4, 0, IN_TURN},
      {0, 1, 4, 0, ONE_LINE},  {0, 2, 4, 0, BY_GAIN},   {0, 1, 1, 0.1, IN_TURN},
      {0, 2, 1, 0.1, BY_GAIN}, {0, 1, 1, 0, BY_LUCK},   {0.5, 1, 1, 0, IN_TURN},
      {1, 1, 1, 0, IN_TURN},   {1.5, 1, 1, 0, IN_TURN}, {2, 1, 1, 0, IN_TURN},
      {1, 2, 1, 0, IN_TURN},   {1, 2, 1, 0, BY_GAIN},   {1, 1, 1, 0.1, IN_TURN},
  };
  long runs = argc > 2 ? strtol(argv[2], NULL, 10) : RUNS;
  if (runs < 1) return 2;
  printf(
      "looks: %ld runs, a look after every pair, to %d pairs, level 0.95; one standard deviation "
      "of 0.05 is %.4f\n",
      runs, CELLS * EACH, sqrt(0.05 * 0.95 / (double)runs));
  printf(
      "| pulled | shift | second's deviation | last line's | slips | found | wrongly | mean pairs "
      "until found | pairs of a fixed test, 80 %% |\n"
      "|---|---:|---:|---:|---:|---:|---:|---:|---:|\n");
  study.runs = (size_t)runs;
  for (size_t i = 0; i < sizeof settings / sizeof settings[0]; i++) {
    study.setting = settings[i];
    print_setting(&study);
  }
  return 0;
}
