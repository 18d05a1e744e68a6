/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is asked of one knot, and how long each answer takes of one core (processor time): a bend of
 * two lines of 2,000 edges each, in which each line lies round the other in four turns. Then how
 * the time grows with the number of edges.
 *
 *   bench_knot [BUILD [ROUNDS]]          the table; ROUNDS of each, 9 unless told */
#define _POSIX_C_SOURCE 200809L
#include "knot/crossing/crossing.h"
#include "knot/invariant/invariant.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { ROUNDS_MOST = 99, TURNS = 4, WAYPOINTS_MOST = 400, EDGES = 2000, TRIES = 60 };
static const double pi = 3.14159265358979323846, aim_ms = 50;

/* ---- the knot ---- */

struct waypoints {
  struct be_point list[WAYPOINTS_MOST];
  size_t count;
};

static void go_to(struct waypoints *way, double x, double y, double z)
{
  if (way->count == WAYPOINTS_MOST) exit(4);
  way->list[way->count++] = (struct be_point){x, y, z};
}

/* Straight through the other line's turns and past where its own will lie, back round both lines,
 * and out through its own turns. */
static void run_line(struct waypoints *way)
{
  enum { PER_TURN = 12 };
  const double radius = 2.1, first = 1.5, pitch = 1.3, last = first + pitch * TURNS;
  for (double x = -14; x < last + 1; x += 1) go_to(way, x, 0.55, 0);
  go_to(way, last + 1.2, 1.2, 0.2);
  for (int i = 0; i <= TURNS * PER_TURN; i++) {
    double angle = pi / 2 + 2 * pi * i / PER_TURN;
    go_to(way, last - pitch * i / PER_TURN, radius * cos(angle + pi / 2),
          radius * sin(angle + pi / 2));
  }
  go_to(way, first - 1, -1, -0.9);
  for (double x = first; x < last + 4; x += 1) go_to(way, x, 0, -1);
}

/* The second is the first turned half round the axis of looking. */
static struct be_lines make_knot(size_t edges, struct be_arena *arena)
{
  struct waypoints way = {.count = 0};
  struct be_lines lines = {2, {{0}}, {1, 1}};
  run_line(&way);
  struct be_curve rough = {way.list, way.count, false}, fine;
  if (be_curve_through(&rough, 0.01, arena, &fine, NULL) != BE_OK) exit(4);
  double step = be_curve_length(&fine) / (double)edges;
  for (size_t l = 0; l < 2; l++)
    if (be_curve_resample(&fine, step, arena, &lines.line[l], NULL) != BE_OK) exit(4);
  for (size_t i = 0; i < lines.line[1].count; i++) {
    struct be_point *p = &lines.line[1].points[i];
    *p = (struct be_point){-p->x, -p->y, p->z};
  }
  return lines;
}

/* Each line closed far out on its own side, which is what its polynomial then belongs to. */
static struct be_lines close_knot(const struct be_lines *lines, struct be_arena *arena)
{
  struct be_lines closed = *lines;
  for (size_t l = 0; l < lines->count; l++) {
    struct be_curve *to = &closed.line[l];
    size_t n = to->count;
    double y = l == 0 ? 20 : -20;
    to->points = be_arena_alloc(arena, (n + 2) * sizeof *to->points);
    if (!to->points) exit(4);
    for (size_t i = 0; i < n; i++) to->points[i] = lines->line[l].points[i];
    to->points[n] = (struct be_point){to->points[n - 1].x, y, to->points[n - 1].z};
    to->points[n + 1] = (struct be_point){to->points[0].x, y, to->points[0].z};
    to->count = n + 2;
    to->closed = true;
  }
  return closed;
}

/* ---- what is asked ---- */

struct asked {
  struct be_lines open, closed;
  struct be_view view;
  struct be_crossing *crossings;
  size_t crossings_count, fewest, moves;
  struct be_diagram diagram, simple, alone;
  struct be_polynomial polynomial;
  uint64_t determinant;
  int signature, linking;
  double integral, writhe[2], average[3];
  struct be_named names[BE_NAMED_MAX];
  size_t names_count;
};

static void must(enum be_status status)
{
  if (status == BE_OK) return;
  fprintf(stderr, "bench_knot: status %d\n", (int)status);
  exit(4);
}

static void one_view(struct asked *a, struct be_arena *arena)
{
  must(be_crossings_find(&a->open, &a->view, arena, &a->crossings, &a->crossings_count, NULL));
}

static void fewest(struct asked *a, struct be_arena *arena)
{
  struct be_view view;
  must(be_view_fewest(&a->open, TRIES, 1, arena, &view, &a->fewest, NULL));
}

static void drawing(struct asked *a, struct be_arena *arena)
{
  struct be_crossing *list;
  size_t count;
  must(be_crossings_find(&a->closed, &a->view, arena, &list, &count, NULL));
  must(be_crossings_diagram(&a->closed, list, count, arena, &a->diagram, NULL));
}

static void writhes(struct asked *a, struct be_arena *arena)
{
  for (size_t l = 0; l < 2; l++) must(be_writhe(&a->open.line[l], arena, &a->writhe[l], NULL));
}

static void averages(struct asked *a, struct be_arena *arena)
{
  for (size_t l = 0; l < 2; l++)
    must(be_writhe_all_pairs(&a->open.line[l], arena, NULL, &a->average[l], NULL));
}

static void average_between(struct asked *a, struct be_arena *arena)
{
  must(be_average_between(&a->open.line[0], &a->open.line[1], arena, NULL, &a->average[2], NULL));
}

static void linking(struct asked *a, struct be_arena *arena)
{
  must(be_linking(&a->closed, 0, 1, arena, &a->linking, NULL));
}

static void integral(struct asked *a, struct be_arena *arena)
{
  must(be_linking_integral(&a->closed.line[0], &a->closed.line[1], arena, &a->integral, NULL));
}

static void alexander(struct asked *a, struct be_arena *arena)
{
  must(be_alexander(&a->diagram, arena, &a->polynomial, NULL));
}

static void determinant(struct asked *a, struct be_arena *arena)
{
  must(be_determinant(&a->diagram, arena, &a->determinant, NULL));
}

static void signature(struct asked *a, struct be_arena *arena)
{
  must(be_signature(&a->diagram, arena, &a->signature, NULL));
}

static void simplify(struct asked *a, struct be_arena *arena)
{
  must(be_diagram_copy(&a->diagram, arena, &a->simple, NULL));
  must(be_diagram_simplify(&a->simple, arena, NULL, &a->moves, NULL));
}

/* Of the first line by itself. */
static void names(struct asked *a, struct be_arena *arena)
{
  struct be_lines one = {1, {a->closed.line[0]}, {1}};
  struct be_crossing *list;
  struct be_polynomial polynomial;
  size_t count;
  int own;
  must(be_crossings_find(&one, &a->view, arena, &list, &count, NULL));
  must(be_crossings_diagram(&one, list, count, arena, &a->alone, NULL));
  must(be_alexander(&a->alone, arena, &polynomial, NULL));
  must(be_signature(&a->alone, arena, &own, NULL));
  be_names_find(&polynomial, own, a->names, &a->names_count);
}

static const struct question {
  const char *name;
  void (*ask)(struct asked *asked, struct be_arena *arena);
} questions[] = {
    {"crossings of one view", one_view},
    {"the view with the fewest crossings", fewest},
    {"drawing of the lines, closed", drawing},
    {"writhe of each line", writhes},
    {"average crossings of each line", averages},
    {"average crossings between them", average_between},
    {"linking by crossings", linking},
    {"linking by Gauss's integral", integral},
    {"Alexander polynomial", alexander},
    {"determinant", determinant},
    {"signature", signature},
    {"simplification", simplify},
    {"names of the first line", names},
};

/* ---- timing ---- */

struct times {
  double median, least, most;
};

static double processor_ms(void)
{
  struct timespec now;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return 1e3 * (double)now.tv_sec + 1e-6 * (double)now.tv_nsec;
}

static int ascending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

/* What the last round finds stays, for the answers that need it. */
static struct times time_it(const struct question *question, struct asked *asked, int rounds,
                            struct be_arena *lasting)
{
  double took[ROUNDS_MOST];
  for (int i = 0; i < rounds; i++) {
    struct be_arena *arena = i + 1 < rounds ? be_arena_create() : lasting;
    if (!arena) exit(4);
    double start = processor_ms();
    question->ask(asked, arena);
    took[i] = processor_ms() - start;
    if (arena != lasting) be_arena_free(arena);
  }
  qsort(took, (size_t)rounds, sizeof *took, ascending);
  return (struct times){took[rounds / 2], took[0], took[rounds - 1]};
}

static void print_answers(const struct asked *a)
{
  printf("  %zu crossings in one view, %zu in the best; closed %zu, simplified to %zu;\n"
         "  writhe %.6f and %.6f, average crossings %.6f, %.6f and %.6f between;\n"
         "  linking %d and %.9f; determinant %llu, signature %d, %zu terms; first line %s\n",
         a->crossings_count, a->fewest, a->diagram.crossings, a->simple.crossings, a->writhe[0],
         a->writhe[1], a->average[0], a->average[1], a->average[2], a->linking, a->integral,
         (unsigned long long)a->determinant, a->signature, a->polynomial.count,
         a->names_count ? a->names[0].name : "not in the table");
}

static void ask_everything(int rounds)
{
  static struct asked asked;
  struct be_arena *arena = be_arena_create();
  struct times sum = {0};
  asked.open = make_knot(EDGES, arena);
  asked.closed = close_knot(&asked.open, arena);
  asked.view = be_view_of(11, 23);
  printf("knot: a bend of two lines, %d turns each, 2 x %d edges; processor time, median of %d\n",
         TURNS, EDGES, rounds);
  for (size_t i = 0; i < sizeof questions / sizeof questions[0]; i++) {
    struct times times = time_it(&questions[i], &asked, rounds, arena);
    printf("  %-36s %8.2f ms  (%.2f to %.2f)\n", questions[i].name, times.median, times.least,
           times.most);
    sum.median += times.median;
    sum.least += times.least;
    sum.most += times.most;
  }
  printf("  %-36s %8.2f ms  (%.2f to %.2f)  aim %.0f ms\n", "all of it", sum.median, sum.least,
         sum.most, aim_ms);
  print_answers(&asked);
  be_arena_free(arena);
}

/* ---- growth ---- */

static double least_ms(void (*ask)(struct asked *asked, struct be_arena *arena), size_t edges)
{
  enum { TIMES = 5 };
  static struct asked asked;
  double least = INFINITY;
  struct be_arena *knot = be_arena_create();
  asked.open = make_knot(edges / 2, knot);
  asked.closed = close_knot(&asked.open, knot);
  asked.view = be_view_of(11, 23);
  for (int i = 0; i < TIMES; i++) {
    struct be_arena *arena = be_arena_create();
    double start = processor_ms();
    ask(&asked, arena);
    least = fmin(least, processor_ms() - start);
    be_arena_free(arena);
  }
  be_arena_free(knot);
  return least;
}

static void show_growth(void)
{
  static const struct question growing[] = {
      {"crossings of one view", one_view},
      {"writhe of each line", writhes},
      {"average crossings of each line", averages},
      {"linking by Gauss's integral", integral},
  };
  printf("growth with the edges of both lines; least of 5, and the power between the ends\n");
  for (size_t i = 0; i < sizeof growing / sizeof growing[0]; i++) {
    double first = 0, last = 0;
    printf("  %-32s", growing[i].name);
    for (size_t edges = 1000; edges <= 64000; edges *= 4) {
      last = least_ms(growing[i].ask, edges);
      if (edges == 1000) first = last;
      printf("  %zuk %.2f ms", edges / 1000, last);
    }
    printf("  power %.2f\n", log(last / first) / log(64));
  }
}

int main(int argc, char **argv)
{
  int rounds = argc > 2 ? atoi(argv[2]) : 9;
  ask_everything(rounds < 1 ? 1 : rounds > ROUNDS_MOST ? ROUNDS_MOST : rounds);
  show_growth();
  return 0;
}
