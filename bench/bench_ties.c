/* SPDX-License-Identifier: GPL-3.0-or-later */
/* bench_ties [BUILD [RUNS]]: how long it takes to build all ties of the library at their usual
 * settings, and to work out all that is said of some; processor time, medians and ranges. Aim: the
 * library in 2 s. */
#define _POSIX_C_SOURCE 200809L
#include "app/anatomy/anatomy.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { RUNS_MAX = 1000 };

static double processor_ms(void)
{
  struct timespec now;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return 1e3 * (double)now.tv_sec + 1e-6 * (double)now.tv_nsec;
}

static void must(enum be_status status, const struct be_err *err)
{
  if (status == BE_OK) return;
  fprintf(stderr, "bench_ties: %s\n", err->what);
  exit(1);
}

static void library(const char *unused)
{
  struct be_err err = {0};
  size_t count;
  const struct be_tie_entry *entries = be_tie_library(&count);
  (void)unused;
  for (size_t i = 0; i < count; i++) {
    struct be_arena *arena = be_arena_create();
    struct be_tie tie;
    must(be_tie_read(entries[i].text, entries[i].size, NULL, arena, &tie, &err), &err);
    be_arena_free(arena);
  }
}

static void anatomy(const char *words)
{
  struct be_err err = {0};
  struct be_arena *arena = be_arena_create();
  struct be_tie tie;
  struct anatomy worked;
  must(be_tie_named(words, arena, &tie, &err), &err);
  must(be_anatomy_work(&tie, BE_LOOKED_USUAL, 0, 0, arena, &worked, &err), &err);
  be_arena_free(arena);
}

static int by_size(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static void measure(const char *name, void (*work)(const char *words), const char *words,
                    size_t runs)
{
  static double ms[RUNS_MAX];
  for (size_t run = 0; run < runs; run++) {
    double start = processor_ms();
    work(words);
    ms[run] = processor_ms() - start;
  }
  qsort(ms, runs, sizeof *ms, by_size);
  printf("| %s | %.0f | %.0f to %.0f |\n", name, ms[runs / 2], ms[0], ms[runs - 1]);
}

int main(int argc, char **argv)
{
  static const char *const ties[] = {"clinch",        "improved clinch", "palomar",
                                     "uni",           "blood knot",      "surgeon's join",
                                     "albright",      "spider hitch",    "long twist",
                                     "crossed wraps", "barrel bend",     "barrel bend turns=10"};
  long runs = argc > 2 ? strtol(argv[2], NULL, 10) : 11;
  size_t count;
  if (runs < 1 || runs > RUNS_MAX) return 2;
  be_tie_library(&count);
  printf("%ld runs, ms of one core\n| what | median | range |\n|---|---|---|\n", runs);
  char name[60];
  snprintf(name, sizeof name, "all %zu ties of the library, built", count);
  measure(name, library, NULL, (size_t)runs);
  for (size_t i = 0; i < sizeof ties / sizeof ties[0]; i++)
    measure(ties[i], anatomy, ties[i], (size_t)runs);
  return 0;
}
