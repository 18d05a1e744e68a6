/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How fast text becomes a trace: 100 MB of a three-column CSV held in memory,
 * beside a loop of strtod over the same bytes that keeps the same numbers. */
#include "trace/trace.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SIZE = 100 * 1000 * 1000, ROUNDS = 5 };

static size_t make_csv(char *text)
{
  struct be_random random;
  be_random_init(&random, 4711, 1);
  size_t length = (size_t)sprintf(text, "time (s),force (N),extension (mm)\n");
  for (size_t i = 0; length + 64 < SIZE; i++)
    length += (size_t)sprintf(text + length, "%.4f,%.3f,%.4f\n", 0.0005 * (double)i,
                              120 + 0.4 * be_random_normal(&random), 0.0001 * (double)i);
  return length;
}

static double mean(const double *x, size_t n)
{
  double sum = 0;
  for (size_t i = 0; i < n; i++) sum += x[i];
  return sum / (double)n;
}

static double read_once(const char *text, size_t size, double *check)
{
  struct be_trace_file *file;
  struct be_err err;
  double start = be_clock_s();
  if (be_trace_read_bytes(text, size, NULL, &file, &err) != BE_OK) {
    fprintf(stderr, "%s\n", err.what);
    exit(1);
  }
  double seconds = be_clock_s() - start;
  *check = mean(file->tests[0].force_N, file->tests[0].n);
  be_trace_file_free(file);
  return seconds;
}

static double strtod_once(const char *text, size_t rows, double *check)
{
  double start = be_clock_s();
  double *columns = be_alloc_array(3 * rows, sizeof *columns);
  if (!columns) exit(1);
  const char *p = strchr(text, '\n') + 1;
  size_t n = 0;
  for (; *p && n < rows; n++)
    for (size_t c = 0; c < 3; c++) {
      char *end;
      columns[c * rows + n] = strtod(p, &end);
      p = end + 1;
    }
  double seconds = be_clock_s() - start;
  *check = mean(columns + rows, n);
  be_free(columns);
  return seconds;
}

int main(void)
{
  char *text = be_alloc(SIZE + 1);
  if (!text) return 1;
  size_t size = make_csv(text), rows = 0;
  text[size] = '\0';
  for (size_t i = 0; i < size; i++) rows += text[i] == '\n';
  double best = 1e9, worst = 0, slow = 1e9, one = 0, two = 0;
  for (int i = 0; i < ROUNDS; i++) {
    double seconds = read_once(text, size, &one);
    if (seconds < best) best = seconds;
    if (seconds > worst) worst = seconds;
    seconds = strtod_once(text, rows, &two);
    if (seconds < slow) slow = seconds;
  }
  double mb = (double)size / 1e6;
  printf("trace: three-column CSV   %.0f MB/s  (strtod loop %.0f MB/s, ratio %.1f)\n", mb / best,
         mb / slow, slow / best);
  printf("  best of %d, worst %.0f MB/s; %zu rows; means %.6f and %.6f\n", ROUNDS, mb / worst,
         rows - 1, one, two);
  be_free(text);
  return one < two || one > two;
}
