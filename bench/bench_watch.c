/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What it costs to look after every pull. Two knots, pulled in turn and looked at after each pull
 * from two each on; beside it the test of a number fixed beforehand, by its formula. And how often
 * a difference is found where there is none, also where the two scatter unlike.
 *
 *   bench_watch BUILD [RUNS] */
#include "stats/stats.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { EACH_MAX = 200, RUNS = 4000, BLOCKS = 64 };

struct setting {
  double shift, effect, ratio; /* deviations of the first; ratio: the second's deviation */
  size_t often;
  bool unlike; /* be_watch_unlike; an eighth of the runs, since it is slower */
};
struct tally {
  size_t found[EACH_MAX + 1]; /* when both had so many, or one more of the first */
};
struct study {
  struct setting setting;
  size_t runs;
  struct tally tallies[BLOCKS];
};

/* The second is pulled after every `often` of the first. */
static size_t found_at(const struct setting *setting, struct be_random *random)
{
  const struct be_watch watch = {setting->effect, 0.95};
  double x[2][EACH_MAX];
  struct be_summary summary[2] = {{0}, {0}};
  for (size_t n = 1; n <= EACH_MAX; n++)
    for (size_t side = 0; side < 2; side++) {
      if (side && n % setting->often) continue;
      double z = be_random_normal(random);
      x[side][summary[side].n] = side ? setting->ratio * z : z + setting->shift;
      be_summary_of(x[side], summary[side].n + 1, &summary[side]);
      if (summary[0].n < 2 || summary[1].n < 2) continue;
      struct be_watched watched;
      (setting->unlike ? be_watch_unlike : be_watch_two)(&summary[0], &summary[1], &watch,
                                                         &watched);
      if (watched.apart) return n;
    }
  return 0;
}

static void run_block(void *study_, size_t block)
{
  struct study *study = study_;
  for (size_t run = block; run < study->runs; run += BLOCKS) {
    struct be_random random;
    be_random_init(&random, 20260301, run);
    study->tallies[block].found[found_at(&study->setting, &random)]++;
  }
}

/* How many each until a share is found; 0 when it never is. */
static size_t until(const size_t *found, size_t runs, double share)
{
  size_t sum = 0;
  for (size_t n = 1; n <= EACH_MAX; n++)
    if ((double)(sum += found[n]) >= share * (double)runs) return n;
  return 0;
}

static void print_setting(struct study *study)
{
  size_t found[EACH_MAX + 1] = {0};
  double pulls = 0;
  memset(study->tallies, 0, sizeof study->tallies);
  be_parallel(BLOCKS, 0, run_block, study);
  for (size_t n = 0; n <= EACH_MAX; n++) {
    for (size_t b = 0; b < BLOCKS; b++) found[n] += study->tallies[b].found[n];
    pulls += (double)(found[n] * (n ? n : EACH_MAX)) / (double)study->runs;
  }
  const struct setting *s = &study->setting;
  double share = 1 - (double)found[0] / (double)study->runs;
  printf("| %s | %.1f | %.1f | %.1f | %zu:1 | %.3f | ", s->unlike ? "own" : "one", s->shift,
         s->effect, s->ratio, s->often, share);
  if (s->shift == 0) {
    printf("- | - | - | - | - |\n");
    return;
  }
  printf("%.1f | %zu | %zu | %.0f | %.0f |\n", pulls, until(found, study->runs, 0.8),
         until(found, study->runs, 0.9), ceil(be_power_two_n(s->shift, 0.05, 0.8)),
         ceil(be_power_two_n(s->shift, 0.05, 0.9)));
}

int main(int argc, char **argv)
{
  static struct study study;
  static const struct setting settings[] = {
      {0, 0.5, 1, 1},       {0, 1, 1, 1},       {0, 2, 1, 1},         {0, 1, 2, 1},
      {0, 1, 1, 3},         {0, 1, 2, 3},       {0, 1, 0.5, 3},       {0.5, 0.5, 1, 1},
      {0.5, 1, 1, 1},       {0.5, 2, 1, 1},     {1, 0.5, 1, 1},       {1, 1, 1, 1},
      {1, 2, 1, 1},         {1.5, 0.5, 1, 1},   {1.5, 1, 1, 1},       {1.5, 2, 1, 1},
      {2, 0.5, 1, 1},       {2, 1, 1, 1},       {2, 2, 1, 1},         {0, 1, 2, 3, true},
      {0.5, 1, 1, 1, true}, {1, 1, 1, 1, true}, {1.5, 1, 1, 1, true}, {2, 1, 1, 1, true},
  };
  long runs = argc > 2 ? strtol(argv[2], NULL, 10) : RUNS;
  if (runs < 1) return 2;
  printf("watch: %ld runs, a look after every pull, from 2 to %d each, level 0.95\n", runs,
         EACH_MAX);
  printf("| deviation | shift | effect | second's deviation | pulls | found | mean each until "
         "found | each for "
         "80 %% | "
         "for 90 %% | fixed, 80 %% | fixed, 90 %% |\n"
         "|---|---:|---:|---:|---:|---:|---:|---:|---:|---:|---:|\n");
  for (size_t i = 0; i < sizeof settings / sizeof settings[0]; i++) {
    study.setting = settings[i];
    study.runs = settings[i].unlike ? (size_t)runs / 8 + 1 : (size_t)runs;
    print_setting(&study);
  }
  return 0;
}
