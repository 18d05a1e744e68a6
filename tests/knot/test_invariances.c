/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sums over pairs of edges held to the plain way, and what should matter to no sum and no
 * invariant. */
#include "arena.h"
#include "knot/crossing/crossing.h"
#include "knot/curve/vector.h"
#include "knot/invariant/invariant.h"
#include "test.h"

/* ---- curves ---- */

static struct be_curve room(size_t n, bool closed)
{
  struct be_curve curve = {be_arena_alloc(arena, n * sizeof *curve.points), n, closed};
  assert_non_null(curve.points);
  return curve;
}

static struct be_curve random_polygon(struct be_random *random, size_t n, bool closed)
{
  struct be_curve curve = room(n, closed);
  for (size_t i = 0; i < n; i++)
    curve.points[i] = (struct be_point){be_random_normal(random), be_random_normal(random),
                                        be_random_normal(random)};
  return curve;
}

static struct be_curve torus(size_t n, double p, double q, double around)
{
  struct be_curve curve = room(n, true);
  for (size_t i = 0; i < n; i++) {
    double t = 2 * acos(-1) * (double)i / (double)n, w = 2 + around * cos(q * t);
    curve.points[i] = (struct be_point){w * cos(p * t), w * sin(p * t), around * sin(q * t)};
  }
  return curve;
}

/* A straight part and one that winds back round it. */
static struct be_curve winding(size_t n, double turns)
{
  struct be_curve curve = room(n, false);
  for (size_t i = 0; i < n; i++) {
    double t = 2 * (double)i / (double)(n - 1), angle = turns * 2 * acos(-1) * (t - 1);
    curve.points[i] =
        t < 1 ? (struct be_point){11 * t, 0, 0}
              : (struct be_point){11 - 7.3 * (t - 1), 1.1 * sin(angle), 1.1 - 1.1 * cos(angle) / 3};
  }
  return curve;
}

/* Turned as a view turns, made larger, mirrored, moved, with `parts` edges for each, and begun at
 * another point or run backwards. */
struct change {
  struct be_view view;
  double scale;
  bool mirrored, backwards;
  size_t parts, first;
};

static struct be_curve changed(const struct be_curve *curve, const struct change *change)
{
  size_t edges = be_curve_edges(curve), n = curve->count;
  struct be_curve to = room(edges * change->parts + !curve->closed, curve->closed);
  for (size_t i = 0; i < to.count; i++) {
    size_t k = i / change->parts + (curve->closed ? change->first : 0);
    struct be_point p = blend(curve->points[k % n], curve->points[(k + 1) % n],
                              (double)(i % change->parts) / (double)change->parts);
    p = be_view_point(&change->view, &p);
    if (change->mirrored) p.z = -p.z;
    to.points[change->backwards ? to.count - 1 - i : i] = (struct be_point){
        change->scale * p.x + 3.7, change->scale * p.y - 0.9, change->scale * p.z + 21};
  }
  return to;
}

static struct change some_change(struct be_random *random)
{
  return (struct change){.view = be_view_random(random),
                         .scale = 0.013 + 97 * be_random_unit(random),
                         .mirrored = be_random_below(random, 2),
                         .backwards = be_random_below(random, 2),
                         .parts = 1 + be_random_below(random, 3),
                         .first = be_random_below(random, 17)};
}

/* ---- the plain way ---- */

/* asin of the cosine between two normals; by an arctangent, for near a right angle an arcsine loses
 * half its digits. */
static double arcsine(struct be_point a, struct be_point b)
{
  return acos(-1) / 2 - atan2(norm(cross(a, b)), dot(a, b));
}

/* Klenin and Langowski (2000), method 1a: four arcsines a pair. Edges in one plane count nothing.
 */
static double pair_of(struct be_point p, struct be_point p2, struct be_point q, struct be_point q2)
{
  struct be_point r13 = minus(q, p), r14 = minus(q2, p), r23 = minus(q, p2), r24 = minus(q2, p2);
  struct be_point n1 = cross(r13, r14), n2 = cross(r14, r24), n3 = cross(r24, r23),
                  n4 = cross(r23, r13), e = minus(p2, p), f = minus(q2, q);
  double angle = arcsine(n1, n2) + arcsine(n2, n3) + arcsine(n3, n4) + arcsine(n4, n1);
  double side = dot(cross(f, e), r13);
  if (fabs(side) < 1e-14 * norm(e) * norm(f) * norm(r13)) return 0;
  return side > 0 ? angle : -angle;
}

static void plain_sums(const struct be_curve *a, const struct be_curve *b, double *writhe,
                       double *average)
{
  size_t n = be_curve_edges(a), m = be_curve_edges(b);
  double plain = 0, absolute = 0;
  for (size_t i = 0; i < n; i++)
    for (size_t j = a == b ? i + 2 : 0; j < m; j++) {
      if (a == b && a->closed && i == 0 && j + 1 == m) continue;
      double angle = pair_of(a->points[i], a->points[(i + 1) % a->count], b->points[j],
                             b->points[(j + 1) % b->count]);
      plain += angle;
      absolute += fabs(angle);
    }
  *writhe = plain / (2 * acos(-1));
  *average = absolute / (2 * acos(-1));
}

static void assert_sums(const struct be_curve *curve)
{
  double writhe, average, slow_writhe, slow_average, alone, one_view;
  plain_sums(curve, curve, &slow_writhe, &slow_average);
  assert_int_equal(be_writhe_all_pairs(curve, arena, &writhe, &average, NULL), BE_OK);
  assert_int_equal(be_writhe_all_pairs(curve, arena, &alone, NULL, NULL), BE_OK);
  assert_int_equal(be_writhe(curve, arena, &one_view, NULL), BE_OK);
  assert_near(average, slow_average, 1e-9 * slow_average + 1e-12);
  assert_near(writhe, slow_writhe, 1e-9 * slow_average + 1e-12);
  assert_near(alone, writhe, 1e-11 * slow_average + 1e-12);
  assert_near(one_view, writhe, 1e-11 * slow_average + 1e-12);
}

static void sums_are_those_of_the_plain_way(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 8, 1);
  for (int i = 0; i < 40; i++) {
    struct be_curve curve = random_polygon(&random, 20 + be_random_below(&random, 181), i % 2);
    assert_sums(&curve);
  }
  const struct be_curve curves[] = {torus(700, 2, 3, 1),   torus(401, 2, 9, 0.31),
                                    torus(617, 11, 13, 1), torus(1200, 3, 7, 0.05),
                                    winding(1501, 6.3),    winding(140, 2.7)};
  for (size_t i = 0; i < sizeof curves / sizeof curves[0]; i++) {
    struct be_curve moved = changed(&curves[i], &(struct change){be_view_of(31, 7), 1, .parts = 1});
    assert_sums(&curves[i]);
    assert_sums(&moved);
  }
}

static void edges_that_nearly_touch(void **state)
{
  (void)state;
  for (int k = 1; k <= 8; k++) {
    double gap = pow(10, -k);
    struct be_point points[] = {{-1.3, 0.1, 0},   {1.7, 0.2, 0},     {2, 2, 1},
                                {0.31, 1.9, gap}, {0.23, -2.1, gap}, {-3, -3, -1}};
    struct be_curve curve = {points, 6, k % 2};
    double writhe, average, slow_writhe, slow_average;
    plain_sums(&curve, &curve, &slow_writhe, &slow_average);
    assert_int_equal(be_writhe_all_pairs(&curve, arena, &writhe, &average, NULL), BE_OK);
    assert_near(average, slow_average, 1e-7);
    assert_near(writhe, slow_writhe, 1e-7);
    /* One pair fills nearly half the sphere. */
    if (k > 3) assert_true(average > 0.99);
  }
}

static void sums_between_lines(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 8, 2);
  for (int i = 0; i < 12; i++) {
    struct be_curve a = i < 6 ? random_polygon(&random, 20 + be_random_below(&random, 181), i % 2)
                              : winding(300 + (size_t)i, 1 + i),
                    b = i % 3 ? torus(311, 2, 5, 1.3)
                              : random_polygon(&random, 20 + be_random_below(&random, 99), false);
    const struct change aside = {be_view_of(41, 12), 1.1, .parts = 1};
    b = changed(&b, &aside);
    a = changed(&a, &(struct change){be_view_of(7, 71), 1, .parts = 1});
    double half, average, slow_signs, slow_average, alone;
    plain_sums(&a, &b, &slow_signs, &slow_average);
    assert_int_equal(be_average_between(&a, &b, arena, &half, &average, NULL), BE_OK);
    assert_int_equal(be_linking_integral(&a, &b, arena, &alone, NULL), BE_OK);
    assert_near(average, slow_average, 1e-9 * slow_average);
    assert_near(half, slow_signs / 2, 1e-9 * slow_average);
    assert_near(alone, half, 1e-11 * slow_average);
  }
  struct be_point one[] = {{0, 0, 0}}, two[] = {{1, 2, 3}, {1, 2, 4}};
  struct be_curve few = {one, 1, false}, whole = {two, 2, false};
  double average = -5;
  assert_int_equal(be_average_between(&few, &whole, arena, NULL, &average, NULL), BE_BAD_INPUT);
  assert_int_equal(be_average_between(&whole, &few, arena, NULL, &average, NULL), BE_BAD_INPUT);
  assert_near(average, -5, 0);
}

static void straight_lines_cross_nothing(void **state)
{
  (void)state;
  struct be_curve curve = room(777, false);
  for (size_t i = 0; i < curve.count; i++)
    curve.points[i] = (struct be_point){0.1 * (double)i, 0.3, 0.07 * (double)i};
  double writhe, average;
  assert_int_equal(be_writhe_all_pairs(&curve, arena, &writhe, &average, NULL), BE_OK);
  assert_near(writhe, 0, 1e-9);
  assert_near(average, 0, 1e-9);
}

/* ---- what should not matter ---- */

static void sums_stay(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 8, 3);
  for (int i = 0; i < 40; i++) {
    struct be_curve curve = random_polygon(&random, 20 + be_random_below(&random, 181), i % 2);
    struct change change = some_change(&random);
    struct be_curve other = changed(&curve, &change);
    double w, a, w_other, a_other, one, one_other;
    assert_int_equal(be_writhe_all_pairs(&curve, arena, &w, &a, NULL), BE_OK);
    assert_int_equal(be_writhe_all_pairs(&other, arena, &w_other, &a_other, NULL), BE_OK);
    assert_int_equal(be_writhe(&curve, arena, &one, NULL), BE_OK);
    assert_int_equal(be_writhe(&other, arena, &one_other, NULL), BE_OK);
    assert_near(a_other, a, 1e-10 * a);
    assert_near(w_other, change.mirrored ? -w : w, 1e-10 * a);
    assert_near(one_other, change.mirrored ? -one : one, 1e-10 * a);
  }
}

struct known {
  struct be_polynomial polynomial;
  uint64_t determinant;
  int signature, linking;
};

static struct known known_of(const struct be_diagram *diagram, struct be_arena *scratch)
{
  struct known known = {0};
  assert_int_equal(be_alexander(diagram, scratch, &known.polynomial, NULL), BE_OK);
  assert_int_equal(be_determinant(diagram, scratch, &known.determinant, NULL), BE_OK);
  assert_int_equal(be_signature(diagram, scratch, &known.signature, NULL), BE_OK);
  if (diagram->strands > 1) known.linking = be_diagram_linking(diagram, 0, 1);
  return known;
}

static struct known known_in(const struct be_lines *lines, const struct be_view *view)
{
  struct be_crossing *crossings;
  struct be_diagram diagram;
  size_t count;
  struct be_arena *scratch = be_arena_create();
  assert_int_equal(be_crossings_find(lines, view, scratch, &crossings, &count, NULL), BE_OK);
  assert_int_equal(be_crossings_diagram(lines, crossings, count, scratch, &diagram, NULL), BE_OK);
  struct known known = known_of(&diagram, scratch);
  be_arena_free(scratch);
  return known;
}

static void assert_same(const struct known *a, const struct known *b, bool mirrored)
{
  assert_int_equal(a->polynomial.count, b->polynomial.count);
  assert_memory_equal(a->polynomial.coefficient, b->polynomial.coefficient,
                      a->polynomial.count * sizeof a->polynomial.coefficient[0]);
  assert_int_equal(a->determinant, b->determinant);
  assert_int_equal(a->signature, mirrored ? -b->signature : b->signature);
  assert_int_equal(a->linking, mirrored ? -b->linking : b->linking);
}

/* Both lines changed alike, each with a beginning of its own; backwards together, so that they stay
 * the same link. */
static void invariants_stay(void **state)
{
  (void)state;
  struct be_random random;
  int knotted = 0, linked = 0;
  be_random_init(&random, 8, 4);
  for (int i = 0; i < 40; i++) {
    struct be_lines lines = {1 + (size_t)i % 2, {{0}}, {1, 1}}, other = lines;
    for (size_t l = 0; l < lines.count; l++)
      lines.line[l] = random_polygon(&random, i % 2 ? 10 : 20, true);
    struct change change = some_change(&random);
    for (size_t l = 0; l < lines.count; l++) {
      change.first = be_random_below(&random, 9);
      /* Renamed: the first line is the second. */
      other.line[lines.count - 1 - l] = changed(&lines.line[l], &change);
    }
    struct be_view view = be_view_random(&random);
    struct known known = known_in(&lines, &be_view_top), again = known_in(&other, &view);
    assert_same(&again, &known, change.mirrored);
    knotted += known.polynomial.count > 1;
    linked += known.linking != 0;
  }
  assert_true(knotted > 10 && linked > 5);
}

static void a_thousand_moves_change_nothing(void **state)
{
  (void)state;
  enum { MOVES = 1000, EACH = 50 };
  static const char *codes[] = {
      "O1+U2+O3+U1+O2+U3+",                   /* trefoil */
      "U1-O2-U3+O4+U2-O1-U4+O3+",             /* figure eight */
      "O1+U2+O3+U4+O5+U1+O2+U3+O4+U5+",       /* cinquefoil */
      "O1+U2+O3+U4+; U1+O2+U3+O4+",           /* two lines round each other twice */
      "O1+U2+O3+U1+O2+U3+U4-O5-U6-O4-U5-O6-", /* reef */
  };
  for (size_t i = 0; i < sizeof codes / sizeof codes[0]; i++) {
    struct be_random random;
    struct be_diagram diagram;
    size_t done = 0;
    be_random_init(&random, 8, 5 + i);
    assert_int_equal(be_gauss_read(codes[i], strlen(codes[i]), arena, &diagram, NULL), BE_OK);
    struct known known = known_of(&diagram, arena);
    assert_true(known.determinant > 1);
    for (int m = 1; done < MOVES; m++) {
      enum be_status status =
          be_diagram_move(&diagram, &random, diagram.crossings < 24, arena, NULL);
      assert_true(status == BE_OK || status == BE_NO);
      done += status == BE_OK;
      /* Large, or stuck: fewer crossings again, which changes nothing either. */
      if (status == BE_NO || m % 70 == 0)
        assert_int_equal(be_diagram_simplify(&diagram, arena, NULL, NULL, NULL), BE_OK);
      if (m % EACH) continue;
      struct known now = known_of(&diagram, arena);
      assert_int_equal(be_diagram_check(&diagram, NULL), BE_OK);
      assert_same(&now, &known, false);
    }
    struct known last = known_of(&diagram, arena);
    assert_same(&last, &known, false);
    be_diagram_mirror(&diagram);
    struct known mirrored = known_of(&diagram, arena);
    assert_same(&mirrored, &known, true);
  }
}

int main(void)
{
#define drawn(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      drawn(sums_are_those_of_the_plain_way),
      drawn(edges_that_nearly_touch),
      drawn(sums_between_lines),
      drawn(straight_lines_cross_nothing),
      drawn(sums_stay),
      drawn(invariants_stay),
      drawn(a_thousand_moves_change_nothing),
  };
  return be_tests("knot: invariances", tests);
}
