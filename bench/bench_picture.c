/* SPDX-License-Identifier: GPL-3.0-or-later */
/* bench_picture [BUILD [RUNS]]: how long the picture of a knot of 4,000 edges takes: its spans in
 * painter's order, places for its numbers, and its SVG; medians, and the slowest. Aim: 30 ms. */
#include "app/anatomy/picture.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { EDGES = 4000, RUNS_MAX = 1000 };
static const double aim_ms = 30, turn = 6.283185307179586;

/* Wraps round a straight line, and the torus knot that winds 3 times round and 7 times through. */
static void make_wraps(struct be_point *points, struct be_lines *lines)
{
  const size_t count = EDGES / 2 + 1;
  for (size_t i = 0; i < count; i++) {
    double u = (double)i / (double)(count - 1), t = turn * 12 * u;
    points[i] = (struct be_point){12.72 * (u - 0.5), 1.04 * sin(t), 1.04 * cos(t)};
    points[count + i] = (struct be_point){26 * (u - 0.5), 0.01 * sin(3 * u), 0};
  }
  *lines = (struct be_lines){2, {{points, count, false}, {points + count, count, false}}, {1, 1}};
}

static void make_torus(struct be_point *points, struct be_lines *lines)
{
  for (size_t i = 0; i < EDGES; i++) {
    double t = turn * (double)i / EDGES, r = 6 + 1.6 * cos(7 * t);
    points[i] = (struct be_point){r * cos(3 * t), r * sin(3 * t), 1.6 * sin(7 * t)};
  }
  *lines = (struct be_lines){1, {{points, EDGES, true}}, {1}};
}

static void must(enum be_status status, const struct be_err *err)
{
  if (status == BE_OK) return;
  fprintf(stderr, "bench_picture: %s\n", err->what);
  exit(1);
}

static int by_size(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return x < y ? -1 : x > y;
}

static void say(const char *knot, const char *what, double *ms, size_t runs)
{
  qsort(ms, runs, sizeof *ms, by_size);
  printf("| %s | %s | %.2f | %.2f | %s |\n", knot, what, ms[runs / 2], ms[runs - 1],
         ms[runs / 2] < aim_ms ? "yes" : "NO");
}

static void measure(const char *knot, const struct be_lines *lines, const struct be_view *view,
                    size_t runs)
{
  static double ms[3][RUNS_MAX];
  struct be_err err = {0};
  for (size_t run = 0; run < runs; run++) {
    struct be_arena *arena = be_arena_create();
    struct be_crossing *crossings;
    size_t count;
    must(be_crossings_find(lines, view, arena, &crossings, &count, &err), &err);
    const struct be_picture_asked wanted = {.whole = false};
    struct be_picture picture;
    struct be_number_place *numbers;
    double start = be_clock_s();
    must(be_picture_make(lines, view, crossings, count, &wanted, arena, &picture, &err), &err);
    ms[0][run] = 1e3 * (be_clock_s() - start);
    start = be_clock_s();
    must(be_picture_numbers(&picture, crossings, count, 0.8, 0.6, arena, &numbers, &err), &err);
    ms[1][run] = 1e3 * (be_clock_s() - start);
    be_arena_free(arena);
    const struct be_anatomy_asked asked = {.title = "A knot", .numbered = true};
    struct be_buf svg;
    be_buf_init(&svg, 1 << 24);
    start = be_clock_s();
    must(be_anatomy_svg(lines, view, &asked, &svg, &err), &err);
    ms[2][run] = 1e3 * (be_clock_s() - start);
    be_buf_free(&svg);
  }
  say(knot, "spans", ms[0], runs);
  say(knot, "places for numbers", ms[1], runs);
  say(knot, "crossings and all of the SVG", ms[2], runs);
}

int main(int argc, char **argv)
{
  static struct be_point points[EDGES + 2];
  long runs = argc > 2 ? strtol(argv[2], NULL, 10) : 51;
  struct be_lines lines;
  const struct be_view aslant = be_view_of(10, 25);
  if (runs < 1 || runs > RUNS_MAX) return 2;
  printf("%d edges, %ld runs, ms\n| knot | what | median | slowest | within %.0f ms |\n"
         "|---|---|---|---|---|\n",
         EDGES, runs, aim_ms);
  make_wraps(points, &lines);
  measure("12 wraps round a line", &lines, &aslant, (size_t)runs);
  make_torus(points, &lines);
  measure("torus knot", &lines, &aslant, (size_t)runs);
  return 0;
}
