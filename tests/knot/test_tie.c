/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The notation, and the lines that are built from it. The library: test_tie_library.c. */
#include "arena.h"
#include "fault/failing.h"
#include "knot/knot.h"
#include "test.h"

static struct be_tie read_with(const char *text, const char *settings)
{
  struct be_tie tie;
  struct be_err err = {0};
  if (be_tie_read(text, strlen(text), settings, arena, &tie, &err) != BE_OK)
    fail_msg("%zu:%zu: %s", err.line, err.column, err.what);
  return tie;
}

static size_t crossings_of(const struct be_tie *tie, struct be_crossing **crossings)
{
  size_t count;
  assert_int_equal(be_crossings_find(&tie->lines, &be_view_top, arena, crossings, &count, NULL),
                   BE_OK);
  return count;
}

/* The drawing by which all below is tried: a thumb knot that is not symmetric. */
#define THUMB "-12,0.5 -6,0 ou 4,0 6,3 o 2,6 0,3 u -1,-3 2,-4 3,-1 o 3,2 u 3,9\n"

/* ---- what is drawn is what is seen ---- */

static void letters_say_who_runs_over(void **state)
{
  (void)state;
  /* From the first point: over, under, over, under, over, under. */
  struct be_tie tie = read_with("tie thumb\nline A\n" THUMB "pulled A last", NULL);
  struct be_crossing *c;
  assert_int_equal(crossings_of(&tie, &c), 3);
  double first = INFINITY, last = 0;
  int signs = 0;
  for (size_t i = 0; i < 3; i++) {
    signs += c[i].sign;
    assert_true(c[i].gap > 0.9 && c[i].gap < 1.6);
    first = fmin(first, fmin(c[i].along[0], c[i].along[1]));
    last = fmax(last, fmax(c[i].along[0], c[i].along[1]));
  }
  assert_int_equal(abs(signs), 3);
  for (size_t i = 0; i < 3; i++) {
    assert_true(c[i].along[1] > first + 1e-9); /* the first pass is over */
    assert_true(c[i].along[0] < last - 1e-9);  /* the last one under */
  }
  assert_string_equal(tie.name, "thumb");
  assert_string_equal(tie.kind, "");
  assert_false(tie.loaded[0][0]);
  assert_true(tie.loaded[0][1]);
  assert_int_equal(tie.letter[0], 'A');
}

/* Said on one strand alone, by dots, and in words apart: the same lines. */
static void one_strand_may_say_it_alone(void **state)
{
  (void)state;
  static const char *const texts[] = {
      "tie thumb\nline A\n" THUMB,
      "tie thumb\nline A -12,0.5 -6,0 o u 4,0 6,3 o 2,6 0,3 -1,-3 2,-4 3,-1 3,2 3,9",
      "tie thumb # a remark, \xC3\xA9\nline A -12,0.5 -6,0 .. 4,0 6,3 . 2,6\t0,3 u -1,-3 2,-4\r\n"
      "3,-1 o 3,2 u 3,( 10 - 1 ) # another",
  };
  struct be_tie tie[3];
  for (size_t i = 0; i < 3; i++) {
    tie[i] = read_with(texts[i], NULL);
    assert_int_equal(tie[i].lines.line[0].count, tie[0].lines.line[0].count);
    assert_memory_equal(tie[i].lines.line[0].points, tie[0].lines.line[0].points,
                        tie[0].lines.line[0].count * sizeof(struct be_point));
  }
}

/* Three strands one over the other: the middle one lies between, and none touch. */
static void strands_are_stacked(void **state)
{
  (void)state;
  struct be_tie tie = read_with("tie stack\n"
                                "line A -9,-0.4 oo 9,-0.4\n"
                                "line B -7,-6 . o 6,7.5\n"
                                "line C -7.5,6 u u 7.5,-6.5\n",
                                NULL);
  struct be_crossing *c;
  assert_int_equal(crossings_of(&tie, &c), 3);
  for (size_t i = 0; i < 3; i++) assert_true(c[i].line[0] < c[i].line[1]);
  assert_true(be_lines_clearance(&tie.lines, 2) >= 0.97);
}

static void steps_are_even(void **state)
{
  (void)state;
  struct be_tie tie =
      read_with("tie two\nline A -9,0 9,1\nline B thick 0.4 -9,3 0,4.5 9,3.5\n", NULL);
  for (size_t l = 0; l < 2; l++) {
    const struct be_curve *curve = &tie.lines.line[l];
    double step = be_curve_length(curve) / (double)be_curve_edges(curve);
    assert_near(step, 0.25 * tie.lines.diameter[l], 0.01);
    for (size_t i = 0; i + 1 < curve->count; i++) {
      const struct be_point *p = &curve->points[i], *q = p + 1;
      assert_near(hypot(hypot(p->x - q->x, p->y - q->y), p->z - q->z), step, 0.05 * step);
    }
  }
  assert_near(tie.lines.diameter[1], 0.4, 0);
}

/* Overlapping by half, they come to lie side by side; ends stay. */
static void strands_are_pushed_apart(void **state)
{
  (void)state;
  struct be_tie tie = read_with(
      "tie two\nline A -9,2 -4,0.35 4,0.35 9,2\nline B -9,-2 -4,-0.35 4,-0.35 9,-2\n", NULL);
  assert_true(be_lines_clearance(&tie.lines, 2) >= 0.98);
  assert_near(tie.lines.line[1].points[0].y, -2, 0);
  struct be_crossing *c;
  assert_int_equal(crossings_of(&tie, &c), 0);
  assert_near(be_tie_clearance(&tie), be_lines_clearance(&tie.lines, 2), 1e-12);
  /* A thin line lies nearer. */
  tie = read_with("tie two\nline A -9,0.9 9,0.9\nline B thick 0.4 -9,0 9,0\n", NULL);
  assert_near(be_tie_clearance(&tie), 0.9 / 0.7, 1e-9);
}

/* A bend drawn as a corner is no sharper than a tube can be bent. */
static void corners_are_rounded(void **state)
{
  (void)state;
  struct be_tie tie = read_with("tie corner\nline A -9,0 0,0 0.1,0.4 0,0.9 -9,1.6\n", NULL);
  const struct be_curve *curve = &tie.lines.line[0];
  double *curvature = be_arena_alloc(arena, curve->count * sizeof *curvature);
  be_curve_curvature(curve, curvature);
  for (size_t i = 0; i < curve->count; i++) assert_true(curvature[i] < 2);
}

/* ---- shapes ---- */

static double turns_about_x(const struct be_curve *curve)
{
  double turns = 0;
  for (size_t i = 0; i + 1 < curve->count; i++) {
    const struct be_point *p = &curve->points[i], *q = p + 1;
    turns += atan2(p->y * q->z - p->z * q->y, p->y * q->y + p->z * q->z);
  }
  return turns / (2 * acos(-1));
}

static void coils_have_their_turns(void **state)
{
  (void)state;
  static const struct {
    const char *words;
    double turns, y, z; /* about x by the right hand; where it begins */
  } coils[] = {
      {"3.25 right along -4,0 to 4,0 at 1.75 from 0", 3.25, 1.75, 0},
      {"3.25 left along -4,0 to 4,0 at 1.75 from 90", -3.25, 0, 1.75},
      /* The other way along, a right-handed coil turns the other way. */
      {"2.5 right along 4,0 to -4,0 at 1.25 from 180", -2.5, -1.25, 0},
      {"2.5 left along 4,0 to -4,0 at 1.25 from 270", 2.5, 0, -1.25},
      {"2.5 left along 4,0 to -4,0 at 1.25", 2.5, 0, 1.25},
  };
  for (size_t i = 0; i < sizeof coils / sizeof coils[0]; i++) {
    char text[200];
    snprintf(text, sizeof text, "tie coil\nline A coil %s\n", coils[i].words);
    struct be_tie tie = read_with(text, NULL);
    const struct be_point *from = &tie.lines.line[0].points[0];
    assert_near(turns_about_x(&tie.lines.line[0]), coils[i].turns, 0.01);
    assert_near(from->y, coils[i].y, 1e-9);
    assert_near(from->z, coils[i].z, 1e-9);
  }
  /* It begins where the line comes from; along y, 0 degrees is to the right. */
  struct be_tie tie =
      read_with("tie coil\nline A -9,-3 coil 2 right along -4,0 to 4,0 at 1.5", NULL);
  double least = INFINITY;
  for (size_t i = 0; i < tie.lines.line[0].count; i++) {
    const struct be_point *p = &tie.lines.line[0].points[i];
    least = fmin(least, hypot(hypot(p->x + 4, p->y + 1.5), p->z));
  }
  assert_true(least < 0.15);
  tie = read_with("tie coil\nline A coil 2 right along 0,-4 to 0,4 at 1.5 from 0", NULL);
  assert_near(tie.lines.line[0].points[0].x, 1.5, 1e-9);
}

/* Turns that lie over one another from above are no error, and leave none behind; strands at one
 * height are, whether or not anybody asks why. */
static void heights_that_are_given_are_kept(void **state)
{
  (void)state;
  struct be_tie tie;
  struct be_err err = {0};
  static const char tower[] = "tie x\nline A coil 3 right along 0,0,0 to 0,0,6 at 1.5";
  static const char meeting[] = "tie x\nline A -9,0,1 9,0,1\nline B 0,-9,1 0,9,1";
  assert_int_equal(be_tie_read(tower, sizeof tower - 1, NULL, arena, &tie, &err), BE_OK);
  assert_int_equal(err.status, BE_OK);
  assert_string_equal(err.what, "");
  assert_near(tie.lines.line[0].points[tie.lines.line[0].count - 1].z, 6, 1e-9);
  assert_int_equal(be_tie_read(meeting, sizeof meeting - 1, NULL, arena, &tie, NULL), BE_BAD_INPUT);
}

static void hardware_stands_behind_the_lines(void **state)
{
  (void)state;
  struct be_tie tie = read_with("tie ring\nring R round 1,2,3 facing x radius 2.5 thick 0.5\n"
                                "rod S thick 2 -9,-9 9,-9\n"
                                "line B -9,0 9,0\nline A -9,7 9,7\npulled A first, A last, B first",
                                NULL);
  assert_int_equal(tie.lines.count, 4);
  assert_memory_equal(tie.letter, "BARS", 4);
  assert_false(tie.hardware[1]);
  assert_true(tie.hardware[2] && tie.hardware[3] && tie.lines.line[2].closed);
  assert_true(tie.loaded[0][0] && !tie.loaded[0][1] && tie.loaded[1][0] && tie.loaded[1][1]);
  assert_near(be_curve_length(&tie.lines.line[2]), 2 * acos(-1) * 2.5, 0.05);
  for (size_t i = 0; i < tie.lines.line[2].count; i++) {
    const struct be_point *p = &tie.lines.line[2].points[i];
    assert_near(p->x, 1, 1e-9);
    assert_near(hypot(p->y - 2, p->z - 3), 2.5, 0.02);
  }
}

/* Through a ring that is drawn, back under its rim and round itself: the rim crosses too, at each
 * of its corners alike, and is not moved by what runs over it. */
static void a_ring_that_is_drawn_is_crossed(void **state)
{
  (void)state;
  static const char rim[] = "ring R round %g,%g radius 3.5 thick 0.8\n";
  for (int turn = 0; turn < 16; turn++) {
    double angle = turn * acos(-1) / 8 + 0.001, c = cos(angle), s = sin(angle);
    char text[600];
    int used = snprintf(text, sizeof text, "tie hitch\n");
    used += snprintf(text + used, sizeof text - (size_t)used, rim, 9 * c, 9 * s);
    static const double at[][2] = {{-14, 1}, {7.5, 1}, {9, -0.5}, {7, -2}, {-2, -2}, {-3, 4}};
    static const char *const letters[] = {"", " uo", "", "", " u", "", ""};
    used += snprintf(text + used, sizeof text - (size_t)used, "line A");
    for (size_t i = 0; i < 6; i++)
      used += snprintf(text + used, sizeof text - (size_t)used, "%s %.6f,%.6f", letters[i],
                       at[i][0] * c - at[i][1] * s, at[i][0] * s + at[i][1] * c);
    struct be_tie tie = read_with(text, NULL);
    struct be_crossing *found;
    struct be_crossing_counts counts;
    be_crossings_count(found, crossings_of(&tie, &found), &counts);
    assert_int_equal(counts.own[0], 1);
    assert_int_equal(counts.between[0][1], 2);
    /* It comes in over the rim and leaves under it: once through the ring. */
    assert_int_equal(abs(counts.between_sign[0][1]), 2);
    for (size_t i = 0; i < tie.lines.line[1].count; i++)
      assert_near(tie.lines.line[1].points[i].z, 0, 1e-9);
  }
}

static void a_rod_that_is_drawn_is_crossed(void **state)
{
  (void)state;
  struct be_tie tie = read_with("tie over a rod\nrod S thick 2 0,-9 0,9\n"
                                "line A -9,1 o 9,1\nline B -9,-3 u 9,-4",
                                NULL);
  struct be_crossing *c;
  assert_int_equal(crossings_of(&tie, &c), 2);
  for (size_t i = 0; i < 2; i++) {
    assert_true(c[i].gap > 1.4);
    assert_int_equal(c[i].line[0], c[i].line[1] == 2 ? 0 : 2); /* A runs over S, and S over B */
  }
}

/* Whether line B is line A moved so, point by point. */
static void assert_moved(const char *how, double x, double y, double z, double off)
{
  char text[400];
  snprintf(text, sizeof text, "tie two\nline A\n%s line B A %s\n", THUMB, how);
  struct be_tie tie = read_with(text, NULL);
  const struct be_curve *a = &tie.lines.line[0], *b = &tie.lines.line[1];
  for (size_t i = 0; i < a->count; i += a->count - 1) {
    assert_near(b->points[i].x, x * a->points[i].x + off, 1e-9);
    assert_near(b->points[i].y, y * a->points[i].y, 1e-9);
  }
  /* The sum of the crossings' signs changes in a mirror alone. */
  struct be_crossing *c;
  struct be_crossing_counts counts;
  be_crossings_count(c, crossings_of(&tie, &c), &counts);
  int want = (int)(x * y * z) * counts.own_sign[0];
  assert_int_equal(counts.own_sign[1], want);
  assert_int_equal(counts.own[1], 3);
}

static void lines_are_made_from_lines(void **state)
{
  (void)state;
  assert_moved("turned at 20,0", -1, -1, 1, 40);
  assert_moved("turned about y at 20,0", -1, 1, -1, 40);
  assert_moved("mirrored at 20,0", -1, 1, 1, 40);
  assert_moved("mirrored across x at 20,0", -1, 1, 1, 40);
  struct be_tie tie = read_with("tie two\nline A -9,3 0,2.5 9,3\nline B A turned about x\n"
                                "line C A mirrored across y at 0,9",
                                NULL);
  assert_near(tie.lines.line[1].points[0].y, -3, 1e-9);
  assert_near(tie.lines.line[2].points[0].y, 15, 1e-9);
}

/* Four crossings where two lines that lie together cross themselves once. */
static void companions_keep_beside(void **state)
{
  (void)state;
  struct be_tie tie = read_with("tie pair\nline A\n" THUMB "line B A beside", NULL);
  struct be_crossing *c;
  struct be_crossing_counts counts;
  assert_int_equal(crossings_of(&tie, &c), 12);
  be_crossings_count(c, 12, &counts);
  assert_int_equal(counts.own[0], 3);
  assert_int_equal(counts.own[1], 3);
  assert_true(tie.lines.line[1].points[0].y > 1); /* to the left of where it runs */
  assert_true(be_lines_clearance(&tie.lines, 2) >= 0.95);
  tie = read_with("tie pair\nline A\n" THUMB "line B A beside 2 thick 0.5", NULL);
  assert_int_equal(crossings_of(&tie, &c), 12);
  assert_true(tie.lines.line[1].points[0].y < 0);
  assert_near(tie.lines.diameter[1], 0.5, 0);
}

static void what_is_doubled_comes_back(void **state)
{
  (void)state;
  struct be_tie tie =
      read_with("tie loop\nline A -20,3 doubled\n" THUMB "tip 2,12 3,14 4,12 end -20,-3", NULL);
  const struct be_curve *a = &tie.lines.line[0];
  struct be_crossing *c;
  assert_int_equal(crossings_of(&tie, &c), 12);
  assert_near(a->points[0].y, 3, 0);
  assert_near(a->points[a->count - 1].y, -3, 0);
  assert_true(be_lines_clearance(&tie.lines, 2) >= 0.95);
  /* Out on the right, and no tip: the ends lie the other way round. */
  tie = read_with("tie loop\nline A -9,-1 doubled right -6,0 6,0 end -9,1", NULL);
  assert_int_equal(crossings_of(&tie, &c), 0);
  tie = read_with("tie loop\nline A -9,1 doubled left -6,0 6,0 end -9,-1", NULL);
  assert_int_equal(crossings_of(&tie, &c), 0);
}

/* ---- settings and blocks ---- */

static double last_x(const char *body, const char *settings)
{
  char text[600];
  snprintf(text, sizeof text,
           "tie x\nset turns 5 from 1 to 10\nset slack 0.5 from 0 to 2\nset hand right or left or "
           "none\n%s\n",
           body);
  struct be_tie tie = read_with(text, settings);
  const struct be_curve *a = &tie.lines.line[0];
  return a->points[a->count - 1].x;
}

static void numbers_are_reckoned(void **state)
{
  (void)state;
  static const struct {
    const char *body, *settings;
    double x;
  } sums[] = {
      {"let far 2*turns\nline A -9,0 far,0", NULL, 10},
      {"line A -9,0 turns+slack*3-1/4,0", "turns=7, slack=0.25", 7.5},
      {"line A -9,0 -(turns - 8)*2/(1+slack)+.5,0", NULL, 4.5},
      {"line A -9,0 10*sin(30)+cos(60)+odd(turns),0", NULL, 6.5},
      {"line A -9,0 10*odd(turns),0", "turns=4", 0},
      {"line A -9,0 when hand left 3,0 else 4,0 end", "hand=left", 3},
      {"line A -9,0 when hand left 3,0 else 4,0 end", NULL, 4},
      {"line A -9,0 when hand right 3,0 when turns 4 9,0 else 8,0 end end", NULL, 8},
      {"line A -9,0 when turns 5 3,0 end 1,4", NULL, 1},
      {"line A -9,0 0,0 when turns from 6 3,0 end", "turns=6", 3},
      {"line A -9,0 0,0 when turns from 6 3,0 end", NULL, 0},
      {"line A -9,0 repeat turns i,odd(i) end", NULL, 5},
      {"line A -9,0 repeat 2 as k repeat 3 10*k+i,0 end end", NULL, 23},
      {"line A -9,0 1,0 repeat turns-5 2,0 end", NULL, 1},
  };
  for (size_t i = 0; i < sizeof sums / sizeof sums[0]; i++)
    assert_near(last_x(sums[i].body, sums[i].settings), sums[i].x, 1e-9);
}

static void settings_are_listed(void **state)
{
  (void)state;
  struct be_tie tie = read_with("tie x\nset turns 5 from 1 to 10\nset slack 0.5 from 0 to 2\n"
                                "set hand right or left\nline A 0,0 9,0\nview 30 40",
                                "slack=1.75 hand=left");
  const struct be_tie_setting *s = tie.setting;
  struct be_view view = be_view_of(30, 40);
  assert_int_equal(tie.settings, 3);
  assert_string_equal(s[0].name, "turns");
  assert_true(s[0].number && s[0].whole && s[0].least == 1 && s[0].most == 10);
  assert_string_equal(s[0].usual, "5");
  assert_string_equal(s[0].value, "5");
  assert_false(s[1].whole);
  assert_string_equal(s[1].usual, "0.5");
  assert_string_equal(s[1].value, "1.75");
  assert_string_equal(s[2].choices, "right, left");
  assert_string_equal(s[2].usual, "right");
  assert_string_equal(s[2].value, "left");
  assert_memory_equal(&tie.view, &view, sizeof view);
}

static void all_of_it_is_mirrored(void **state)
{
  (void)state;
  const char *text = "tie x\nset hand right or left\nmirror when hand left\nline A\n" THUMB;
  struct be_tie right = read_with(text, NULL), left = read_with(text, "hand=left");
  for (size_t i = 0; i < right.lines.line[0].count; i++) {
    assert_near(left.lines.line[0].points[i].x, right.lines.line[0].points[i].x, 0);
    assert_near(left.lines.line[0].points[i].z, -right.lines.line[0].points[i].z, 0);
  }
  struct be_tie twice = read_with("tie x mirror\nmirror mirror line A\n" THUMB, NULL);
  assert_near(twice.lines.line[0].points[50].z, right.lines.line[0].points[50].z, 0);
}

/* ---- memory ---- */

static enum be_status read_all_there_is(void *context, struct be_err *err)
{
  static const char text[] = "tie all\nalso every thing, each\nkind loop\nset hand right or "
                             "left\nset turns 2 from 1 to 4\n"
                             "ring R round 30,0,0 facing z radius 2\nline A -20,3 doubled\n" THUMB
                             "tip 2,12 3,14 4,12 end\n"
                             "-20,-3 line B -20,20 coil turns hand along 0,20 to 5,20 at 1.5 line "
                             "C B beside pulled A first";
  struct be_arena *own = be_arena_create();
  struct be_tie tie;
  (void)context;
  if (!own) return be_fail(err, BE_NO_MEMORY, "no memory for the test");
  enum be_status status = be_tie_read(text, sizeof text - 1, "turns=3", own, &tie, err);
  if (status == BE_OK && tie.lines.count != 4) status = be_fail(err, BE_BAD_INPUT, "not all there");
  be_arena_free(own);
  return status;
}

static enum be_status ask_by_name(void *context, struct be_err *err)
{
  struct be_arena *own = be_arena_create();
  struct be_tie tie;
  if (!own) return be_fail(err, BE_NO_MEMORY, "no memory for the test");
  enum be_status status = be_tie_named(context, own, &tie, err);
  be_arena_free(own);
  return status;
}

static void memory_may_fail_anywhere(void **state)
{
  (void)state;
  char words[] = "reef";
  be_fail_loop(read_all_there_is, NULL, 10);
  be_fail_loop(ask_by_name, words, 5);
}

int main(void)
{
#define with_arena(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      with_arena(letters_say_who_runs_over),
      with_arena(one_strand_may_say_it_alone),
      with_arena(strands_are_stacked),
      with_arena(steps_are_even),
      with_arena(strands_are_pushed_apart),
      with_arena(corners_are_rounded),
      with_arena(coils_have_their_turns),
      with_arena(heights_that_are_given_are_kept),
      with_arena(hardware_stands_behind_the_lines),
      with_arena(a_ring_that_is_drawn_is_crossed),
      with_arena(a_rod_that_is_drawn_is_crossed),
      with_arena(lines_are_made_from_lines),
      with_arena(companions_keep_beside),
      with_arena(what_is_doubled_comes_back),
      with_arena(numbers_are_reckoned),
      with_arena(settings_are_listed),
      with_arena(all_of_it_is_mirrored),
      cmocka_unit_test(memory_may_fail_anywhere),
  };
  return be_tests("knot: tie", tests);
}
