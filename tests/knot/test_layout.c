/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "codes.h"
#include "fault/failing.h"
#include "knot/crossing/crossing.h"
#include "knot/invariant/invariant.h"
#include "knot/layout/layout.h"
#include "test.h"

static struct be_diagram prime(size_t i)
{
  size_t count;
  const struct be_prime *primes = be_primes(&count);
  struct be_diagram diagram;
  assert_true(i < count);
  assert_int_equal(be_dt_read(primes[i].dt, strlen(primes[i].dt), arena, &diagram, NULL), BE_OK);
  return diagram;
}

/* The code, with its crossings numbered in the order met. */
static char *code_of(const struct be_diagram *diagram)
{
  struct be_buf text, again;
  struct be_diagram read;
  be_buf_init(&text, 1 << 20);
  be_buf_init(&again, 1 << 20);
  be_gauss_write(diagram, true, &text);
  assert_int_equal(be_gauss_read(text.data, text.size, arena, &read, NULL), BE_OK);
  be_gauss_write(&read, true, &again);
  char *code = be_arena_text(arena, again.size ? again.data : "", again.size);
  be_buf_free(&text);
  be_buf_free(&again);
  return code;
}

/* Lays it out and reads the view from above; returns the length of line a crossing. */
static double comes_back(const struct be_diagram *diagram)
{
  struct be_lines lines;
  struct be_crossing *crossings;
  struct be_diagram seen;
  struct be_err err = {0};
  size_t count;
  double length = 0;
  enum be_status status = be_diagram_layout(diagram, 0.17, arena, &lines, &err);
  if (status != BE_OK) print_error("%s: %s\n", code_of(diagram), err.what);
  assert_int_equal(status, BE_OK);
  assert_int_equal(lines.count, diagram->strands);
  assert_int_equal(be_crossings_find(&lines, &be_view_top, arena, &crossings, &count, NULL), BE_OK);
  assert_int_equal(be_crossings_diagram(&lines, crossings, count, arena, &seen, NULL), BE_OK);
  for (size_t s = 0; s < lines.count; s++) {
    assert_int_equal(lines.line[s].closed, diagram->strand[s].closed);
    assert_near(lines.diameter[s], 1, 0);
    length += be_curve_length(&lines.line[s]);
  }
  assert_string_equal(code_of(&seen), code_of(diagram));
  for (size_t a = 0; a < count; a++) {
    if (diagram->crossings <= 10) assert_near(crossings[a].gap, 1.2, 0.1);
    for (size_t b = 0; b < a; b++)
      assert_true(hypot(crossings[a].x - crossings[b].x, crossings[a].y - crossings[b].y) > 2.4);
  }
  return length / (double)(diagram->crossings + !diagram->crossings);
}

static void every_prime_knot_comes_back(void **state)
{
  (void)state;
  for (size_t i = 0; i < 249; i++) {
    struct be_diagram diagram = prime(i);
    /* Crossings 3 apart take at least 6 a crossing; even drawings not much more. */
    double length = comes_back(&diagram);
    if (length > 16) print_error("%s\n", code_of(&diagram));
    assert_true(length > 6 && length < 16);
  }
}

static void tangled(size_t crossings, size_t tries, bool cut)
{
  for (size_t i = 0; i < tries; i++) {
    struct be_diagram diagram = prime(i * 7 % 249);
    struct be_random random;
    be_random_init(&random, 20261126, i);
    for (int m = 0; m < 2000 && diagram.crossings < crossings; m++)
      be_diagram_move(&diagram, &random, true, arena, NULL);
    assert_true(diagram.crossings >= crossings);
    if (cut) diagram.strand[0].closed = false;
    comes_back(&diagram);
  }
}

static void tangled_drawings_come_back(void **state)
{
  (void)state;
  tangled(13, 12, false);
  tangled(30, 25, false);
  tangled(60, 2, false);
}

/* ---- many crossings ---- */

static struct be_diagram seen_from_above(struct be_point *points, size_t count)
{
  struct be_lines lines = {1, {{points, count, true}}, {1}};
  struct be_crossing *crossings;
  struct be_diagram diagram;
  size_t met;
  assert_int_equal(be_crossings_find(&lines, &be_view_top, arena, &crossings, &met, NULL), BE_OK);
  assert_int_equal(be_crossings_diagram(&lines, crossings, met, arena, &diagram, NULL), BE_OK);
  return diagram;
}

/* Of a polygon whose corners are anywhere in a cube. */
static struct be_diagram polygon(size_t corners, uint64_t seed)
{
  struct be_point *at = be_arena_alloc(arena, corners * sizeof *at);
  struct be_random random;
  be_random_init(&random, seed, corners);
  for (size_t i = 0; i < corners; i++) {
    at[i].x = be_random_unit(&random);
    at[i].y = be_random_unit(&random);
    at[i].z = be_random_unit(&random);
  }
  return seen_from_above(at, corners);
}

/* p times round the ring's axis, q times through the ring. */
static struct be_diagram torus(int p, int q)
{
  const double turn = 2 * 3.14159265358979323846;
  size_t count = 200 * (size_t)(p + q);
  struct be_point *at = be_arena_alloc(arena, count * sizeof *at);
  for (size_t i = 0; i < count; i++) {
    double t = turn * ((double)i + 0.37) / (double)count, wide = 3 + cos(q * t + 0.1);
    at[i] = (struct be_point){wide * cos(p * t), wide * sin(p * t), sin(q * t + 0.1)};
  }
  struct be_diagram diagram = seen_from_above(at, count);
  assert_int_equal(diagram.crossings, (p - 1) * q);
  return diagram;
}

/* Table knots one after the other along a line, or each tied somewhere in those before. */
static struct be_diagram sum(size_t crossings, bool nested)
{
  struct be_diagram all = {.strands = 1};
  struct be_random random;
  be_random_init(&random, 20261127, crossings);
  all.strand[0].closed = true;
  all.sign = be_arena_alloc(arena, crossings + 10);
  struct be_pass *pass = be_arena_alloc(arena, 2 * (crossings + 10) * sizeof *pass);
  for (size_t i = 0; all.crossings < crossings; i++) {
    struct be_diagram next = prime(i * 37 % 249);
    size_t had = all.strand[0].count, more = next.strand[0].count;
    size_t at = nested ? (size_t)((double)had * be_random_unit(&random)) : had;
    memmove(pass + at + more, pass + at, (had - at) * sizeof *pass);
    for (size_t k = 0; k < more; k++) {
      pass[at + k] = next.strand[0].pass[k];
      pass[at + k].crossing = (unsigned short)(pass[at + k].crossing + all.crossings);
    }
    memcpy(all.sign + all.crossings, next.sign, next.crossings);
    all.strand[0].count += more;
    all.crossings += next.crossings;
  }
  all.strand[0].pass = pass;
  return all;
}

static void many_crossings_come_back(void **state)
{
  (void)state;
  static const size_t corners[] = {16, 34, 59};
  static const int turns[][2] = {{2, 51}, {7, 33}};
  size_t most = 0;
  for (size_t i = 0; i < sizeof corners / sizeof corners[0]; i++) {
    struct be_diagram diagram = polygon(corners[i], 20261126);
    if (diagram.crossings > most) most = diagram.crossings;
    assert_true(comes_back(&diagram) < 20);
  }
  if (most <= 300 || most > 450) print_error("%zu\n", most);
  assert_in_range(most, 300, 450);
  for (size_t i = 0; i < sizeof turns / sizeof turns[0]; i++) {
    struct be_diagram diagram = torus(turns[i][0], turns[i][1]);
    assert_true(comes_back(&diagram) < 20);
  }
  for (int nested = 0; nested < 2; nested++) {
    struct be_diagram diagram = sum(nested ? 90 : 170, nested);
    comes_back(&diagram);
  }
  tangled(150, 1, false);
}

static void cut_drawings_come_back(void **state)
{
  (void)state;
  for (size_t i = 0; i < 84; i++) {
    struct be_diagram diagram = prime(i);
    diagram.strand[0].closed = false;
    comes_back(&diagram);
  }
  tangled(24, 12, true);
}

static void links_and_parts_come_back(void **state)
{
  (void)state;
  static const char *const codes[] = {
      "O1+U2+;U1+O2+", "1 -1", "1 -2 2 -1", "O1+U1+;O2-U2-;O3+O4-;U3+U4-", "O1+O2-;U1+U2-",
  };
  for (size_t i = 0; i < sizeof codes / sizeof codes[0]; i++) {
    struct be_diagram diagram = gauss(codes[i]);
    comes_back(&diagram);
    diagram.strand[0].closed = false;
    comes_back(&diagram);
  }
  struct be_diagram plain = {.strands = 3};
  plain.sign = (signed char[1]){0};
  plain.strand[0].closed = true;
  comes_back(&plain);
}

/* An open overhand's ends lie outside of all else. */
static void free_ends_are_led_out(void **state)
{
  (void)state;
  struct be_diagram diagram = gauss("1 -2 3 -1 2 -3");
  struct be_lines lines;
  struct be_crossing *crossings;
  size_t count;
  diagram.strand[0].closed = false;
  assert_int_equal(be_diagram_layout(&diagram, 0.13, arena, &lines, NULL), BE_OK);
  assert_int_equal(be_crossings_find(&lines, &be_view_top, arena, &crossings, &count, NULL), BE_OK);
  double x = 0, y = 0, far = 0;
  for (size_t c = 0; c < count; c++) {
    x += crossings[c].x / (double)count;
    y += crossings[c].y / (double)count;
  }
  const struct be_curve *line = &lines.line[0];
  for (size_t c = 0; c < count; c++) far = fmax(far, hypot(crossings[c].x - x, crossings[c].y - y));
  for (int e = 0; e < 2; e++) {
    struct be_point end_at = line->points[e ? line->count - 1 : 0];
    assert_true(hypot(end_at.x - x, end_at.y - y) > 2 * far);
  }
}

static void the_same_drawing_gives_the_same_lines(void **state)
{
  (void)state;
  struct be_diagram diagram = prime(41);
  struct be_lines a, b;
  assert_int_equal(be_diagram_layout(&diagram, 0.19, arena, &a, NULL), BE_OK);
  assert_int_equal(be_diagram_layout(&diagram, 0.19, arena, &b, NULL), BE_OK);
  assert_int_equal(a.line[0].count, b.line[0].count);
  assert_memory_equal(a.line[0].points, b.line[0].points,
                      a.line[0].count * sizeof *a.line[0].points);
}

static void what_cannot_be_laid_out_is_refused(void **state)
{
  (void)state;
  struct be_diagram diagram = prime(2);
  struct be_lines lines;
  assert_int_equal(be_diagram_layout(&diagram, 0, arena, &lines, NULL), BE_WRONG_USE);
  assert_int_equal(be_diagram_layout(&diagram, 0.51, arena, &lines, NULL), BE_WRONG_USE);
  assert_int_equal(be_diagram_layout(&diagram, NAN, arena, &lines, NULL), BE_WRONG_USE);
  diagram.sign[1] = (signed char)-diagram.sign[1];
  assert_int_equal(be_diagram_layout(&diagram, 0.2, arena, &lines, NULL), BE_BAD_INPUT);
  struct be_diagram many = {.strands = BE_LINES_MAX + 1};
  many.sign = (signed char[1]){0};
  assert_int_equal(be_diagram_layout(&many, 0.2, arena, &lines, NULL), BE_TOO_LARGE);
}

static void memory_may_run_out(void **state)
{
  (void)state;
  struct be_diagram diagram = prime(0);
  struct be_lines lines;
  struct be_failing failing;
  size_t failures = 0;
  enum be_status status = BE_NO_MEMORY;
  for (size_t at = 1; status != BE_OK; at++, failures++) {
    be_failing_start(&failing, at, false);
    struct be_arena *own = be_arena_create();
    status = own ? be_diagram_layout(&diagram, 0.3, own, &lines, NULL) : BE_NO_MEMORY;
    be_arena_free(own);
    be_failing_stop();
    assert_true(status == BE_OK || status == BE_NO_MEMORY);
  }
  assert_true(failures > 3);
}

int main(void)
{
#define drawn(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      drawn(every_prime_knot_comes_back),
      drawn(tangled_drawings_come_back),
      drawn(many_crossings_come_back),
      drawn(cut_drawings_come_back),
      drawn(links_and_parts_come_back),
      drawn(free_ends_are_led_out),
      drawn(the_same_drawing_gives_the_same_lines),
      drawn(what_cannot_be_laid_out_is_refused),
      drawn(memory_may_run_out),
  };
  return be_tests("knot: layout", tests);
}
