/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A picture against the slow way: at places all over the drawing, the tube that is highest there
 * among spheres strung densely along all lines. */
#include "fault/failing.h"
#include "knot/curve/vector.h"
#include "knot/knot.h"
#include "picture_lines.h"
#include "test.h"

/* What is seen at a place. */
struct seen {
  enum { PAPER, GAP, TUBE } what;
  size_t line;
  double drawn;  /* length in the drawing from the start of the line */
  double height; /* of the middle of the tube there */
};

/* ---- painted ---- */

/* A stroke ends across its path at its first and last point, and is round at those between. */
static bool strokes(const struct be_span *span, double x, double y, double reach, double from,
                    double to, double *drawn_to)
{
  double walked = 0, all = 0, share = 0;
  bool hit = false;
  for (size_t i = 0; i + 1 < span->count; i++)
    all +=
        hypot(span->points[i + 1].x - span->points[i].x, span->points[i + 1].y - span->points[i].y);
  for (size_t i = 0; i + 1 < span->count; i++) {
    struct be_point a = span->points[i], b = span->points[i + 1];
    double ux = b.x - a.x, uy = b.y - a.y, length = hypot(ux, uy);
    double at = ((x - a.x) * ux + (y - a.y) * uy) / (length * length);
    double near = fmin(1, fmax(0, at)), distance = hypot(x - a.x - near * ux, y - a.y - near * uy);
    bool past_end = (i == 0 && at < 0) || (i + 2 == span->count && at > 1);
    double drawn = walked + near * length;
    if (!past_end && distance <= reach && drawn >= from && drawn <= all - to) {
      hit = true;
      share = drawn;
    }
    walked += length;
  }
  *drawn_to = span->drawn + share;
  return hit;
}

static struct seen painted(const struct be_picture *picture, double x, double y)
{
  struct seen seen = {PAPER, 0, 0, 0};
  for (size_t i = picture->spans_count; i-- > 0;) {
    const struct be_span *span = &picture->spans[i];
    double gap = span->width / BE_PICTURE_TUBE * BE_PICTURE_GAP;
    seen = (struct seen){TUBE, span->line, 0, 0};
    if (strokes(span, x, y, span->width / 2, 0, 0, &seen.drawn)) return seen;
    seen.what = GAP;
    if (strokes(span, x, y, span->width / 2 + gap, span->whole[0], span->whole[1], &seen.drawn))
      return seen;
  }
  return (struct seen){PAPER, 0, 0, 0};
}

/* ---- the truth ---- */

enum { BEADS = 40000 };
struct beads {
  size_t count;
  double drawn[BE_LINES_MAX];
  struct bead {
    double x, y, z, drawn, radius;
    size_t line;
  } list[BEADS];
};

static void string_beads(const struct be_lines *lines, const struct be_view *view,
                         struct be_arena *arena, struct beads *beads)
{
  beads->count = 0;
  for (size_t l = 0; l < lines->count; l++) {
    struct be_curve fine;
    assert_int_equal(be_curve_resample(&lines->line[l], 0.02, arena, &fine, NULL), BE_OK);
    double drawn = 0;
    for (size_t i = 0; i < fine.count; i++) {
      struct be_point p = be_view_point(view, &fine.points[i]);
      assert_true(beads->count < BEADS);
      if (i > 0)
        drawn +=
            hypot(p.x - beads->list[beads->count - 1].x, p.y - beads->list[beads->count - 1].y);
      beads->list[beads->count++] =
          (struct bead){p.x, p.y, p.z, drawn, lines->diameter[l] * BE_PICTURE_TUBE / 2, l};
    }
    beads->drawn[l] = drawn;
  }
}

static struct seen highest(const struct beads *beads, double x, double y)
{
  struct seen seen = {PAPER, 0, 0, 0};
  double top = -INFINITY;
  for (size_t i = 0; i < beads->count; i++) {
    const struct bead *bead = &beads->list[i];
    double rest =
        bead->radius * bead->radius - (bead->x - x) * (bead->x - x) - (bead->y - y) * (bead->y - y);
    if (rest < 0 || bead->z + sqrt(rest) <= top) continue;
    top = bead->z + sqrt(rest);
    seen = (struct seen){TUBE, bead->line, bead->drawn, bead->z};
  }
  return seen;
}

static double way_between(const struct beads *beads, const struct be_lines *lines, size_t line,
                          double a, double b)
{
  double way = fabs(a - b);
  return lines->line[line].closed ? fabs(remainder(way, beads->drawn[line])) : way;
}

static double height_at(const struct beads *beads, const struct be_lines *lines,
                        const struct seen *seen)
{
  double least = INFINITY, height = 0;
  for (size_t i = 0; i < beads->count; i++) {
    const struct bead *bead = &beads->list[i];
    if (bead->line != seen->line) continue;
    double way = way_between(beads, lines, bead->line, bead->drawn, seen->drawn);
    if (way >= least) continue;
    least = way;
    height = bead->z;
  }
  return height;
}

static bool same_place(const struct beads *beads, const struct be_lines *lines,
                       const struct seen *a, const struct seen *b)
{
  return a->line == b->line &&
         way_between(beads, lines, a->line, a->drawn, b->drawn) <= 1.8 * lines->diameter[a->line];
}

/* Looks at places all over. What shows a tube must show the highest, and paper there must be where
 * there is no tube, or beside one that is higher than what it hides. Where a line turns back close
 * over itself the gap may crease the turn itself: that is counted, and must be little. */
static void compare(const struct be_lines *lines, const struct be_view *view,
                    struct be_arena *arena)
{
  static struct beads beads;
  const struct be_picture_asked asked = {.whole = true};
  struct be_picture picture;
  struct be_crossing *crossings;
  size_t count, tubes = 0, gaps = 0, wrong = 0, creased = 0;
  struct be_random random;
  be_random_init(&random, 20261126, 3);
  assert_true(be_lines_clearance(lines, 2) >= 0.999);
  assert_int_equal(be_crossings_find(lines, view, arena, &crossings, &count, NULL), BE_OK);
  assert_int_equal(be_picture_make(lines, view, crossings, count, &asked, arena, &picture, NULL),
                   BE_OK);
  string_beads(lines, view, arena, &beads);
  double left = fmax(-8, picture.left), bottom = fmax(-8, picture.bottom);
  for (int i = 0; i < 1500; i++) {
    double x = left + be_random_unit(&random) * (fmin(8, picture.right) - left);
    double y = bottom + be_random_unit(&random) * (fmin(8, picture.top) - bottom);
    struct seen a = painted(&picture, x, y), b = highest(&beads, x, y);
    /* On an outline the two may differ by a hair. */
    struct seen c = highest(&beads, x + 0.013, y), d = highest(&beads, x - 0.013, y);
    struct seen e = highest(&beads, x, y + 0.013), f = highest(&beads, x, y - 0.013);
    const struct seen *const near[] = {&c, &d, &e, &f};
    bool outline = false;
    for (int k = 0; k < 4; k++)
      outline =
          outline || near[k]->what != b.what || (b.what && !same_place(&beads, lines, &b, near[k]));
    if (outline) continue;
    tubes += a.what == TUBE;
    gaps += a.what == GAP && b.what == TUBE;
    if (a.what == TUBE) wrong += b.what != TUBE || !same_place(&beads, lines, &a, &b);
    else if (a.what == PAPER) wrong += b.what != PAPER;
    else if (b.what == TUBE && same_place(&beads, lines, &a, &b)) creased++;
    else wrong += b.what == TUBE && height_at(&beads, lines, &a) < b.height;
  }
  assert_int_equal(wrong, 0);
  assert_true(20 * creased <= 2 * tubes);
  assert_true(tubes > 100);
  assert_true(count == 0 || gaps > 0);
}

static void what_shows_is_highest(void **state)
{
  (void)state;
  struct be_arena *arena = be_arena_create();
  struct be_random random;
  be_random_init(&random, 417, 0);
  for (int shape = 0; shape < SHAPES; shape++) {
    struct be_lines lines;
    make_lines(shape, arena, &lines);
    compare(&lines, &shapes[shape].view, arena);
    for (int i = 0; i < 6; i++) {
      struct be_view view = be_view_random(&random);
      compare(&lines, &view, arena);
    }
  }
  be_arena_free(arena);
}

/* ---- a circle of three ---- */

static void three_in_a_circle_are_cut(void **state)
{
  (void)state;
  struct be_arena *arena = be_arena_create();
  struct be_lines lines = {.count = 3, .diameter = {1, 1, 1}};
  static struct be_point ends[3][2];
  for (int l = 0; l < 3; l++) {
    double a = 2.0943951023931953 * l, c = cos(a), s = sin(a);
    /* Each rises, so that its start lies under one and its end over the other. */
    const struct be_point from = {-5.3, -1.9, -0.83}, to = {5.3, -1.9, 0.83};
    ends[l][0] = (struct be_point){c * from.x - s * from.y, s * from.x + c * from.y, from.z};
    ends[l][1] = (struct be_point){c * to.x - s * to.y, s * to.x + c * to.y, to.z};
    lines.line[l] = (struct be_curve){ends[l], 2, false};
  }
  struct be_crossing *crossings;
  size_t count, over[3] = {0};
  struct be_picture picture;
  const struct be_picture_asked asked = {.whole = true};
  assert_int_equal(be_crossings_find(&lines, &be_view_top, arena, &crossings, &count, NULL), BE_OK);
  assert_int_equal(count, 3);
  assert_int_equal(
      be_picture_make(&lines, &be_view_top, crossings, count, &asked, arena, &picture, NULL),
      BE_OK);
  for (size_t i = 0; i < count; i++) {
    over[crossings[i].line[0]]++;
    struct seen seen = painted(&picture, crossings[i].x, crossings[i].y);
    assert_int_equal(seen.what, TUBE);
    assert_int_equal(seen.line, crossings[i].line[0]);
  }
  for (int l = 0; l < 3; l++) assert_int_equal(over[l], 1);
  assert_int_equal(picture.spans_count, 4);
  be_arena_free(arena);
}

/* ---- gaps ---- */

static void paper_shows_beside_what_passes_over(void **state)
{
  (void)state;
  struct be_arena *arena = be_arena_create();
  struct be_point across[] = {{-7.1, 0.1, 1.3}, {7.3, 0.3, 1.3}},
                  up[] = {{0.2, -6, 0}, {0.3, 6, 0}};
  struct be_lines lines = {2, {{across, 2, false}, {up, 2, false}}, {1, 1.7}};
  struct be_crossing *crossings;
  size_t count;
  struct be_picture picture;
  const struct be_picture_asked asked = {.whole = true};
  assert_int_equal(be_crossings_find(&lines, &be_view_top, arena, &crossings, &count, NULL), BE_OK);
  assert_int_equal(
      be_picture_make(&lines, &be_view_top, crossings, count, &asked, arena, &picture, NULL),
      BE_OK);
  assert_int_equal(picture.spans_count, 2);
  assert_near(picture.spans[0].width, 1.7 * BE_PICTURE_TUBE, 1e-12);
  static const struct {
    double y;
    int what;
    size_t line;
  } places[] = {{0, TUBE, 0},    {0.42, TUBE, 0}, {0.46, GAP, 0},   {0.52, GAP, 0},
                {0.56, TUBE, 1}, {-0.46, GAP, 0}, {-0.56, TUBE, 1}, {5.9, TUBE, 1}};
  for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
    struct seen seen = painted(&picture, crossings[0].x, crossings[0].y + places[i].y);
    assert_int_equal(seen.what, places[i].what);
    assert_int_equal(seen.line, places[i].line);
  }
  be_arena_free(arena);
}

/* ---- ends ---- */

static void long_ends_are_cut_off(void **state)
{
  (void)state;
  struct be_arena *arena = be_arena_create();
  struct be_lines lines;
  struct be_crossing *crossings;
  size_t count;
  struct be_picture picture;
  struct be_picture_asked asked = {.loaded = {{true, false}, {true, false}}};
  make_lines(REEF, arena, &lines);
  assert_int_equal(be_crossings_find(&lines, &be_view_top, arena, &crossings, &count, NULL), BE_OK);
  assert_int_equal(count, 6);
  assert_int_equal(
      be_picture_make(&lines, &be_view_top, crossings, count, &asked, arena, &picture, NULL),
      BE_OK);
  assert_int_equal(picture.ends_count, 4);
  for (size_t e = 0; e < 4; e++) {
    const struct be_end *end = &picture.ends[e];
    assert_int_equal(end->kind, end->which == 0 ? BE_END_LOADED : BE_END_TAG);
    assert_near(hypot(end->outward.x, end->outward.y), 1, 1e-12);
    assert_true((end->line == 0 ? -1 : 1) * end->outward.x > 0.99);
    /* The standing parts are 40 long. */
    if (end->which == 0) assert_true(end->cut && fabs(end->at.x) < 7);
  }
  assert_true(picture.right - picture.left < 14);
  asked.whole = true;
  asked.hardware[1] = true;
  assert_int_equal(
      be_picture_make(&lines, &be_view_top, crossings, count, &asked, arena, &picture, NULL),
      BE_OK);
  assert_true(picture.right - picture.left > 79);
  assert_int_equal(picture.ends_count, 2);
  assert_false(picture.ends[0].cut || picture.ends[1].cut);
  be_arena_free(arena);
}

/* ---- numbers ---- */

static void numbers_stand_apart(void **state)
{
  (void)state;
  struct be_arena *arena = be_arena_create();
  for (int shape = 0; shape < SHAPES; shape++) {
    struct be_lines lines;
    struct be_crossing *crossings;
    size_t count;
    struct be_picture picture;
    const struct be_picture_asked asked = {.whole = false};
    struct be_number_place *numbers;
    make_lines(shape, arena, &lines);
    const struct be_view *view = &shapes[shape].view;
    assert_int_equal(be_crossings_find(&lines, view, arena, &crossings, &count, NULL), BE_OK);
    assert_int_equal(be_picture_make(&lines, view, crossings, count, &asked, arena, &picture, NULL),
                     BE_OK);
    assert_int_equal(
        be_picture_numbers(&picture, crossings, count, 0.91, 0.63, arena, &numbers, NULL), BE_OK);
    size_t on_paper = 0;
    for (size_t i = 0; i < count; i++) {
      const struct be_number_place *a = &numbers[i];
      on_paper += painted(&picture, a->x, a->y).what != TUBE;
      double away = hypot(a->x - crossings[i].x, a->y - crossings[i].y);
      assert_true(away > 0.4 && away < 6);
      for (size_t k = 0; k < i; k++) {
        const struct be_number_place *b = &numbers[k];
        assert_true(fabs(a->x - b->x) >= 0.91 || fabs(a->y - b->y) >= 0.63);
      }
    }
    assert_true(3 * on_paper >= 2 * count);
  }
  be_arena_free(arena);
}

/* ---- steps ---- */

static void a_knot_is_tied_step_by_step(void **state)
{
  (void)state;
  enum { STEPS = 5 };
  struct be_arena *arena = be_arena_create();
  struct be_lines lines;
  struct be_crossing *crossings;
  size_t count;
  struct be_stretch *laid;
  struct be_picture_asked asked = {.loaded = {{true, false}, {false, true}}};
  make_lines(REEF, arena, &lines);
  assert_int_equal(be_crossings_find(&lines, &be_view_top, arena, &crossings, &count, NULL), BE_OK);
  assert_int_equal(be_picture_steps(&lines, crossings, count, &asked, STEPS, arena, &laid, NULL),
                   BE_OK);
  double whole[2] = {be_curve_length(&lines.line[0]), be_curve_length(&lines.line[1])};
  for (size_t s = 0; s < STEPS; s++) {
    const struct be_stretch *now = &laid[2 * s];
    assert_true(now[0].from == 0 && now[1].to == whole[1]);
    if (s > 0) assert_true(now[0].to >= now[-2].to && now[1].from <= now[-1].from);
    if (s > 0) assert_true(now[0].to > now[-2].to || now[1].from < now[-1].from);
    /* The second begins when the first is done. */
    if (now[1].from < whole[1]) assert_true(now[0].to == whole[0]);
    struct be_picture picture;
    asked.laid = now;
    assert_int_equal(
        be_picture_make(&lines, &be_view_top, crossings, count, &asked, arena, &picture, NULL),
        BE_OK);
    bool solid = false;
    for (size_t i = 0; i < picture.spans_count; i++) {
      solid = solid || !picture.spans[i].to_come;
      assert_true(!solid || !picture.spans[i].to_come);
    }
    assert_true(solid && picture.spans[0].to_come == (s + 1 < STEPS));
  }
  assert_true(laid[8].to == whole[0] && laid[9].from == 0);
  asked.hardware[0] = true;
  assert_int_equal(be_picture_steps(&lines, crossings, count, &asked, 3, arena, &laid, NULL),
                   BE_OK);
  assert_true(laid[0].to == whole[0] && laid[1].from > 0);
  asked.hardware[0] = false;
  asked.loaded[0][1] = true;
  assert_int_equal(be_picture_steps(&lines, crossings, count, &asked, 3, arena, &laid, NULL),
                   BE_OK);
  assert_true(laid[0].to == whole[0] && laid[1].from > 0);
  asked.loaded[1][0] = true;
  assert_int_equal(be_picture_steps(&lines, crossings, count, &asked, 3, arena, &laid, NULL),
                   BE_OK);
  assert_true(laid[0].to < whole[0] && laid[1].to == 0);
  be_arena_free(arena);
}

/* ---- errors ---- */

static enum be_status make_all(void *context, struct be_err *err)
{
  (void)context;
  struct be_point across[] = {{-7.1, 0.1, 1.3}, {7.3, 0.3, 1.3}},
                  up[] = {{0.2, -6, 0}, {0.3, 6, 0}};
  const struct be_lines lines = {2, {{across, 2, false}, {up, 2, false}}, {1, 1.7}};
  const struct be_crossing crossing = {
      .line = {0, 1}, .along = {7.3, 6.1}, .x = 0.25, .y = 0.2, .gap = 1.3};
  const struct be_picture_asked asked = {.loaded = {{true, true}}};
  struct be_number_place *numbers;
  struct be_picture picture;
  struct be_stretch *laid;
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_fail(err, BE_NO_MEMORY, "no memory");
  enum be_status status =
      be_picture_make(&lines, &be_view_top, &crossing, 1, &asked, arena, &picture, err);
  if (status == BE_OK)
    status = be_picture_numbers(&picture, &crossing, 1, 1, 0.7, arena, &numbers, err);
  if (status == BE_OK)
    status = be_picture_steps(&lines, &crossing, 1, &asked, 3, arena, &laid, err);
  be_arena_free(arena);
  return status;
}

static void memory_may_fail_anywhere(void **state)
{
  (void)state;
  be_fail_loop(make_all, NULL, 4);
}

static void what_cannot_be_drawn_is_refused(void **state)
{
  (void)state;
  struct be_arena *arena = be_arena_create();
  struct be_point points[] = {{0, 0, 0}, {3, 1, 0}};
  struct be_lines lines = {1, {{points, 2, false}}, {0}};
  const struct be_picture_asked asked = {.whole = true};
  struct be_picture picture;
  struct be_stretch *laid;
  struct be_err err;
  assert_int_equal(be_picture_make(&lines, &be_view_top, NULL, 0, &asked, arena, &picture, &err),
                   BE_BAD_INPUT);
  assert_string_equal(err.what, "line 1 has no thickness");
  lines.diameter[0] = 1;
  assert_int_equal(be_picture_make(&lines, &be_view_top, NULL, 0, &asked, arena, &picture, &err),
                   BE_OK);
  points[1] = points[0];
  assert_int_equal(be_picture_make(&lines, &be_view_top, NULL, 0, &asked, arena, &picture, &err),
                   BE_BAD_INPUT);
  lines.count = 0;
  assert_int_equal(be_picture_make(&lines, &be_view_top, NULL, 0, &asked, arena, &picture, &err),
                   BE_BAD_INPUT);
  assert_int_equal(be_picture_steps(&lines, NULL, 0, &asked, 0, arena, &laid, &err), BE_WRONG_USE);
  be_arena_free(arena);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_shows_is_highest),
      cmocka_unit_test(three_in_a_circle_are_cut),
      cmocka_unit_test(paper_shows_beside_what_passes_over),
      cmocka_unit_test(long_ends_are_cut_off),
      cmocka_unit_test(numbers_stand_apart),
      cmocka_unit_test(a_knot_is_tied_step_by_step),
      cmocka_unit_test(memory_may_fail_anywhere),
      cmocka_unit_test(what_cannot_be_drawn_is_refused),
  };
  return be_tests("knot: picture", tests);
}
