/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How fast text becomes a trace. Whole processes over files in the page cache,
 * each beside the others in one run: this program, a loop of strtod over the
 * mapped file, wc -l, and the readers of other languages where they are there.
 *
 *   bench_trace BUILD          the table
 *   bench_trace strtod FILE    one of its rows: the sums of three columns */
#define _POSIX_C_SOURCE 200809L
#include "trace/trace.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

enum { ROUNDS = 5, ROWS = 20 * 1000 * 1000, FEW_ROWS = 800 * 1000, PULL_ROWS = 60 * 1000 };
enum { PULLS = 100 };

/* ---- files ---- */

/* A pull of so many rows: it rises with noise and lets go near its end. */
static void write_pull(const char *path, size_t rows, uint64_t seed)
{
  FILE *file = fopen(path, "w");
  struct be_random random;
  be_random_init(&random, seed, 1);
  if (!file) exit(4);
  fputs("time (s),force (N),extension (mm)\n", file);
  for (size_t i = 0; i < rows; i++) {
    double part = (double)i / (double)rows;
    double force = (part < 0.9 ? 20 + 200 * part : 0.3) + 0.4 * be_random_normal(&random);
    fprintf(file, "%.4f,%.3f,%.4f\n", 0.001 * (double)i, force, 0.0001 * (double)i);
  }
  if (fclose(file) != 0) exit(4);
}

static double megabytes(const char *path)
{
  struct stat about;
  return stat(path, &about) == 0 ? (double)about.st_size / 1e6 : 0;
}

/* ---- the loop of strtod ---- */

static int sum_by_strtod(const char *path)
{
  int fd = open(path, O_RDONLY);
  size_t size = (size_t)(megabytes(path) * 1e6 + 0.5);
  const char *text = fd < 0 ? MAP_FAILED : mmap(NULL, size, PROT_READ, MAP_PRIVATE, fd, 0);
  double sum[3] = {0};
  if (text == MAP_FAILED) return 4;
  const char *p = memchr(text, '\n', size);
  while (p && p + 1 < text + size)
    for (int c = 0; c < 3; c++) {
      char *end;
      sum[c] += strtod(p + 1, &end);
      p = end;
    }
  printf("%.17g %.17g %.17g\n", sum[0], sum[1], sum[2]);
  return 0;
}

/* ---- timing ---- */

struct times {
  double median, least, most;
};

static int ascending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static struct times time_command(const char *command, int rounds)
{
  double seconds[ROUNDS];
  for (int i = 0; i < rounds; i++) {
    double start = be_clock_s();
    if (system(command) != 0) return (struct times){-1, -1, -1};
    seconds[i] = be_clock_s() - start;
  }
  qsort(seconds, (size_t)rounds, sizeof *seconds, ascending);
  return (struct times){seconds[rounds / 2], seconds[0], seconds[rounds - 1]};
}

static bool there(const char *program)
{
  char command[200];
  snprintf(command, sizeof command, "command -v %s >/dev/null 2>&1", program);
  return system(command) == 0;
}

/* ---- the table ---- */

/* The command finds this bench in $SELF, the program in $PROGRAM and the file in
 * $FILE. */
struct rival {
  const char *name, *needs, *command;
  bool slow; /* timed once, on the smaller file */
};

static void print_row(const char *name, double size_MB, const struct times *times,
                      double strtod_MBs)
{
  double speed = size_MB / times->median;
  printf("  %-34s %8.0f MB/s  (%.0f to %.0f)  %6.2f x strtod\n", name, speed, size_MB / times->most,
         size_MB / times->least, speed / strtod_MBs);
}

static void compare(const char *large, const char *small)
{
  static const struct rival rivals[] = {
      {"strtod over mmap", "true", "exec \"$SELF\" strtod \"$FILE\"", false},
      {"bitterend read, one core", "taskset", "exec taskset -c 0 \"$PROGRAM\" read \"$FILE\"",
       false},
      {"bitterend read, all cores", "true", "exec \"$PROGRAM\" read \"$FILE\"", false},
      {"wc -l", "wc", "exec wc -l \"$FILE\"", false},
      {"mawk, sum of a column", "mawk", "exec mawk -F, '{s += $2} END {print s}' \"$FILE\"", true},
      {"Python, csv and float", "python3",
       "exec python3 -c 'import csv, sys\nr = csv.reader(open(sys.argv[1])); next(r)\n"
       "print(sum(float(x[0]) + float(x[1]) + float(x[2]) for x in r))' \"$FILE\"",
       true},
      {"R, read.csv with classes", "Rscript",
       "exec Rscript -e 'f <- commandArgs(TRUE)' -e 'print(colSums(read.csv(f, colClasses = "
       "\"numeric\")))' \"$FILE\"",
       true},
  };
  double strtod_MBs = 0;
  for (size_t i = 0; i < sizeof rivals / sizeof rivals[0]; i++) {
    const struct rival *rival = &rivals[i];
    const char *file = rival->slow ? small : large;
    char command[1000];
    if (!there(rival->needs)) continue;
    setenv("FILE", file, 1);
    snprintf(command, sizeof command, "{ %s; } >/dev/null", rival->command);
    struct times times = time_command(command, rival->slow ? 1 : ROUNDS);
    if (times.median < 0) continue;
    if (i == 0) strtod_MBs = megabytes(file) / times.median;
    print_row(rival->name, megabytes(file), &times, strtod_MBs);
  }
}

/* ---- many pulls, and the cost of what happened ---- */

static void time_pulls(const char *folder)
{
  char command[1000], path[400];
  for (int i = 0; i < PULLS; i++) {
    snprintf(path, sizeof path, "%s/bench-pull-%02d.csv", folder, i);
    write_pull(path, PULL_ROWS, (uint64_t)i);
  }
  snprintf(command, sizeof command, "\"$PROGRAM\" read --csv %s/bench-pull-*.csv >/dev/null",
           folder);
  struct times times = time_command(command, ROUNDS);
  printf("traces: %d of 60 s at 1 kHz, file to result: %.3f s (%.3f to %.3f)\n", PULLS,
         times.median, times.least, times.most);
  for (int i = 1; i < PULLS; i++) {
    snprintf(path, sizeof path, "%s/bench-pull-%02d.csv", folder, i);
    remove(path);
  }
}

static void time_events(const char *path)
{
  double reading[ROUNDS], finding[ROUNDS];
  size_t rows = 0;
  for (int i = 0; i < ROUNDS; i++) {
    struct be_source *source;
    struct be_trace_file *file;
    struct be_trace_events events;
    struct be_trace_options options = {.threads = 1};
    double start = be_clock_s();
    if (be_source_open(path, &source, NULL) != BE_OK) exit(4);
    if (be_trace_read(source, &options, &file, NULL) != BE_OK) exit(4);
    be_source_close(source);
    reading[i] = be_clock_s() - start;
    start = be_clock_s();
    if (be_trace_find(&file->tests[0], &events, NULL) != BE_OK) exit(4);
    finding[i] = be_clock_s() - start;
    rows = file->tests[0].rows;
    be_trace_file_free(file);
  }
  qsort(reading, ROUNDS, sizeof *reading, ascending);
  qsort(finding, ROUNDS, sizeof *finding, ascending);
  double n = (double)rows, r = reading[ROUNDS / 2], f = finding[ROUNDS / 2];
  printf("events: %zu rows read in %.2f ms (%.1f ns a row), what happened found in %.2f ms"
         " (%.1f ns a row), ratio %.2f\n",
         rows, 1e3 * r, 1e9 * r / n, 1e3 * f, 1e9 * f / n, f / r);
}

int main(int argc, char **argv)
{
  char large[400], small[400], pull[400], program[400];
  if (argc == 3 && strcmp(argv[1], "strtod") == 0) return sum_by_strtod(argv[2]);
  const char *build = argc > 1 ? argv[1] : "build";
  snprintf(large, sizeof large, "%s/bench-large.csv", build);
  snprintf(small, sizeof small, "%s/bench-small.csv", build);
  snprintf(pull, sizeof pull, "%s/bench-pull-00.csv", build);
  write_pull(large, ROWS, 4711);
  write_pull(small, FEW_ROWS, 4711);
  printf("trace: three-column CSV, %.0f MB, whole process, page cache; median of %d\n",
         megabytes(large), ROUNDS);
  snprintf(program, sizeof program, "%s/bitterend", build);
  setenv("SELF", argv[0], 1);
  setenv("PROGRAM", program, 1);
  compare(large, small);
  time_pulls(build);
  time_events(pull);
  remove(large);
  remove(small);
  remove(pull);
  return 0;
}
