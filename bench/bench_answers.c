/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Times the answers: the program's start, the demonstration book, and a made
 * book of 100,000 typed pulls, each as the median of several runs. */
#define _POSIX_C_SOURCE 200809L
#include "app/app.h"

#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

enum { RUNS_MAX = 21 };

static int by_value(const void *a, const void *b)
{
  double first = *(const double *)a, second = *(const double *)b;
  return first < second ? -1 : first > second;
}

static void row(const char *what, double *seconds, int runs, const char *limit)
{
  qsort(seconds, (size_t)runs, sizeof *seconds, by_value);
  printf("%-52s %9.1f ms  (%.1f to %.1f, %d runs)  limit %s\n", what, 1e3 * seconds[runs / 2],
         1e3 * seconds[0], 1e3 * seconds[runs - 1], runs, limit);
  fflush(stdout);
}

static void must(enum be_status status, const struct be_err *err)
{
  if (status == BE_OK) return;
  fprintf(stderr, "bench: %s %s\n", err->file, err->what);
  exit(1);
}

/* ---- a book of 100,000 pulls: 40 knots, 60 combinations ---- */

static void write_sheet(struct be_buf *sheet)
{
  struct be_random random;
  be_random_init(&random, 20260401, 0);
  be_buf_text(sheet, "specimen,knot,line A,spool A,soak,load (N),what,where\n");
  for (int i = 0; i < 100000; i++) {
    int line = i % 60, knot = i / 60 % 41;
    double load = (20 + 3 * line) * (1 + 0.06 * be_random_normal(&random));
    if (knot) load *= 0.6 + 0.008 * knot;
    be_buf_format(sheet, "P%06d,", i);
    if (knot) be_buf_format(sheet, "knot %d", knot);
    else be_buf_text(sheet, "none");
    be_buf_format(sheet, ",nylon %d lb,S%d,dry,%.2f,%s,in the knot\n", line + 4, i / 2460 % 2, load,
                  i % 29 ? "broke" : "slipped out");
  }
}

static double enter_large(const char *path)
{
  struct be_buf sheet;
  struct be_err err = {0};
  struct be_book *book = NULL;
  struct be_entered entered;
  struct be_entering how = {0};
  struct be_arena *arena = be_arena_create();
  be_buf_init(&sheet, 64 * 1024 * 1024);
  write_sheet(&sheet);
  must(be_file_remove(path, &err), &err);
  must(be_book_create(path, &err), &err);
  must(be_book_open(path, true, &book, &err), &err);
  double start = be_clock_s();
  must(be_book_enter(book, "made.csv", sheet.data, sheet.size, &how, arena, &entered, &err), &err);
  double seconds = be_clock_s() - start;
  be_book_close(book);
  be_arena_free(arena);
  be_buf_free(&sheet);
  return seconds;
}

static void time_answer(const char *what, const char *book, int runs, const char *limit,
                        enum be_status (*answer)(const char *book_path,
                                                 const struct be_answering *how,
                                                 struct be_doc **doc, struct be_err *err))
{
  double seconds[RUNS_MAX];
  struct be_answering how = {0};
  for (int i = 0; i < runs; i++) {
    struct be_err err = {0};
    struct be_doc *doc = NULL;
    double start = be_clock_s();
    must(answer(book, &how, &doc, &err), &err);
    seconds[i] = be_clock_s() - start;
    be_doc_free(doc);
  }
  row(what, seconds, runs, limit);
}

static void time_start(const char *program)
{
  double seconds[RUNS_MAX];
  char *const argv[] = {(char *)(uintptr_t)program, (char *)(uintptr_t) "--version", NULL};
  char *const environment[] = {NULL};
  for (int i = 0; i < RUNS_MAX; i++) {
    pid_t child;
    int status;
    posix_spawn_file_actions_t quiet;
    posix_spawn_file_actions_init(&quiet);
    posix_spawn_file_actions_addopen(&quiet, 1, "/dev/null", 1, 0);
    double start = be_clock_s();
    if (posix_spawn(&child, program, &quiet, NULL, argv, environment) != 0) exit(1);
    waitpid(child, &status, 0);
    seconds[i] = be_clock_s() - start;
    posix_spawn_file_actions_destroy(&quiet);
  }
  row("program start (--version)", seconds, RUNS_MAX, "20 ms");
}

int main(int argc, char **argv)
{
  const char *build = argc > 1 ? argv[1] : "build";
  char path[1024], bench[1024];
  bool made;
  struct be_err err = {0};
  snprintf(path, sizeof path, "%s/src/cli/bitterend", build);
  time_start(path);
  snprintf(path, sizeof path, "%s/bench/demo.book", build);
  snprintf(bench, sizeof bench, "%s/bench/demo-bench", build);
  must(be_app_demo(path, bench, &made, &err), &err);
  time_answer("standings, demonstration book (514 pulls)", path, RUNS_MAX, "300 ms",
              be_app_standings);
  time_answer("strength, demonstration book", path, RUNS_MAX, "-", be_app_strength);
  snprintf(path, sizeof path, "%s/bench/made.book", build);
  double seconds[1] = {enter_large(path)};
  row("enter a sheet of 100,000 pulls", seconds, 1, "-");
  time_answer("standings, made book (100,000 pulls)", path, 5, "3000 ms", be_app_standings);
  time_answer("strength, made book", path, 5, "-", be_app_strength);
  return 0;
}
