/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tight knots and other curves held to what is published of them. Digits without another source are
 * those of the project's sheet of checks (sections d and e), which had them from Gilbert's series
 * by programs of its own; they are met within half of their last. */
#include "arena.h"
#include "knot/crossing/crossing.h"
#include "knot/invariant/invariant.h"
#include "tight_series.h"

static const double turn = 6.283185307179586;

static const struct knot {
  const struct term *terms;
  const char *name, *words;
  double length; /* as published, of all terms, diameter 1 */
  size_t crossings;
  int determinant, signature, signs;
} knots[] = {{trefoil, "3_1", "trefoil", 16.371637, 3, 3, 2, -3},
             {figure_eight, "4_1", "figure-eight", 21.043322, 4, 5, 0, 0}};

static struct be_curve closed_of(size_t n)
{
  struct be_curve curve = {be_arena_alloc(arena, n * sizeof *curve.points), n, true};
  assert_non_null(curve.points);
  return curve;
}

static struct be_curve summed(const struct term *terms, size_t n)
{
  struct be_curve curve = closed_of(n);
  for (size_t i = 0; i < n; i++) {
    double at[3] = {0};
    for (int k = 1; k <= TERMS; k++) {
      double angle = turn * k * (double)i / (double)n;
      for (int d = 0; d < 3; d++)
        at[d] += 1e-6 * (terms[k - 1].of_cos[d] * cos(angle) + terms[k - 1].of_sin[d] * sin(angle));
    }
    curve.points[i] = (struct be_point){at[0], at[1], at[2]};
  }
  return curve;
}

/* Round a ring of radius 1 p times, and q times round its core. */
static struct be_curve torus(double p, double q, double thin, size_t n)
{
  struct be_curve curve = closed_of(n);
  for (size_t i = 0; i < n; i++) {
    double t = turn * (double)i / (double)n, w = 1 + thin * cos(q * t);
    curve.points[i] = (struct be_point){w * cos(p * t), w * sin(p * t), -thin * sin(q * t)};
  }
  return curve;
}

/* At a point, curvature over half of both edges: 2 sin(a / 2) where equal edges turn by a, so that
 * it is never more than the angles. */
static double total_curvature(const struct be_curve *curve)
{
  size_t n = curve->count;
  double *curvature = be_arena_alloc(arena, n * sizeof *curvature), sum = 0;
  double *along = be_arena_alloc(arena, (n + 1) * sizeof *along);
  assert_non_null(curvature);
  assert_non_null(along);
  be_curve_curvature(curve, curvature);
  be_curve_distances(curve, along);
  for (size_t i = 0; i < n; i++) {
    double before = i ? along[i] - along[i - 1] : along[n] - along[n - 1];
    sum += curvature[i] * (before + along[i + 1] - along[i]) / 2;
  }
  return sum;
}

/* All of its points apart by less than half a turn round a tube of diameter 1 are left out: these
 * may be nearer than 1. */
static double self_clearance(const struct be_curve *curve)
{
  struct be_lines lines = {1, {*curve}, {1}};
  return be_lines_clearance(&lines, turn / 4);
}

/* t runs evenly along the whole curve, whose speed is c = L / 2 pi, and the terms left out are
 * orthogonal to those that stay. Where the mean square of the speed that stays is P (Parseval),
 * Cauchy and Schwarz put its length between 2 pi P / c and 2 pi sqrt(P). */
static void lengths_are_those_of_their_terms(void **state)
{
  (void)state;
  for (size_t i = 0; i < sizeof knots / sizeof knots[0]; i++) {
    struct be_curve curve = summed(knots[i].terms, 12000);
    double length = be_curve_length(&curve), mean_square = 0, speed = knots[i].length / turn;
    for (int k = 1; k <= TERMS; k++)
      for (int d = 0; d < 3; d++)
        mean_square +=
            0.5e-12 * k * k *
            (pow(knots[i].terms[k - 1].of_cos[d], 2) + pow(knots[i].terms[k - 1].of_sin[d], 2));
    /* A polygon of 12,000 edges is 1e-6 shorter, where curvature is below 3. */
    assert_true(length > turn * mean_square / speed * (1 - 1e-6));
    assert_true(length < turn * sqrt(mean_square));
    assert_true(length < knots[i].length);
  }
  struct be_curve curve = summed(trefoil, 1200);
  assert_near(be_curve_length(&curve), 16.367, 0.5e-3);
}

/* 0.9927 is between points, which are farther apart than edges h long by h^2 / 4 at most. None is
 * tighter than the tightest known. */
static void they_are_as_thick_as_they_are_said_to_be(void **state)
{
  (void)state;
  struct be_curve curve = summed(trefoil, 1200);
  double h = be_curve_length(&curve) / 1200, clearance = self_clearance(&curve);
  assert_true(clearance > 0.99265 - h * h / 4 && clearance < 0.99275);
  for (size_t i = 0; i < sizeof knots / sizeof knots[0]; i++) {
    curve = summed(knots[i].terms, 600);
    assert_true(be_curve_length(&curve) / self_clearance(&curve) > knots[i].length);
  }
}

/* 3.41 of the ideal trefoil (Katritch and others, Nature 384, 142, 1996); Gilbert's is left-handed.
 * A figure eight is its own mirror image: 0, of whose digits as many are asked. */
static void their_writhe_is_as_published(void **state)
{
  (void)state;
  static const struct {
    const struct term *terms;
    size_t points;
    double writhe, within;
  } sheet[] = {{trefoil, 300, -3.4091, 0.5e-4},
               {trefoil, 1200, -3.4101, 0.5e-4},
               {trefoil, 4800, -3.41, 0.5e-2},
               {figure_eight, 1200, 0, 0.5e-2}};
  for (size_t i = 0; i < sizeof sheet / sizeof sheet[0]; i++) {
    struct be_curve curve = summed(sheet[i].terms, sheet[i].points);
    double one, pairs, average;
    assert_int_equal(be_writhe(&curve, arena, &one, NULL), BE_OK);
    assert_int_equal(be_writhe_all_pairs(&curve, arena, &pairs, &average, NULL), BE_OK);
    assert_near(one, sheet[i].writhe, sheet[i].within);
    assert_near(pairs, sheet[i].writhe, sheet[i].within);
    assert_true(average > (sheet[i].terms == trefoil ? 3 : 4)); /* fewest in any view */
  }
}

/* Nearly all views of the tight figure eight have 5 crossings or more: its drawing is simplified.
 * What is left alternates, so that its signs are those of every such drawing (Thistlethwaite 1988).
 */
static void they_are_the_knots_they_are_said_to_be(void **state)
{
  (void)state;
  for (size_t i = 0; i < sizeof knots / sizeof knots[0]; i++) {
    struct be_lines lines = {1, {summed(knots[i].terms, 1200)}, {1}};
    struct be_view view;
    struct be_crossing *crossings;
    struct be_diagram diagram;
    struct be_polynomial polynomial;
    struct be_named names[BE_NAMED_MAX];
    uint64_t determinant;
    size_t count, named;
    int signature, signs = 0;
    assert_int_equal(be_view_fewest(&lines, 60, 1, arena, &view, &count, NULL), BE_OK);
    assert_true(count >= knots[i].crossings);
    assert_int_equal(be_crossings_find(&lines, &view, arena, &crossings, &count, NULL), BE_OK);
    assert_int_equal(be_crossings_diagram(&lines, crossings, count, arena, &diagram, NULL), BE_OK);
    assert_int_equal(be_determinant(&diagram, arena, &determinant, NULL), BE_OK);
    assert_int_equal(determinant, knots[i].determinant);
    assert_int_equal(be_signature(&diagram, arena, &signature, NULL), BE_OK);
    assert_int_equal(signature, knots[i].signature); /* 2: of left hands */
    assert_int_equal(be_alexander(&diagram, arena, &polynomial, NULL), BE_OK);
    be_names_find(&polynomial, signature, names, &named);
    assert_true(named > 0);
    assert_string_equal(names[0].name, knots[i].name);
    assert_string_equal(names[0].words, knots[i].words);
    assert_int_equal(be_diagram_simplify(&diagram, arena, NULL, &count, NULL), BE_OK);
    assert_int_equal(diagram.crossings, knots[i].crossings);
    for (size_t c = 0; c < diagram.crossings; c++) signs += diagram.sign[c];
    assert_int_equal(signs, knots[i].signs);
  }
}

/* Two rings of radius 1 through each other's middle: 4 pi for a diameter of 1, which is the least
 * there is (Cantarella, Kusner and Sullivan, Invent. Math. 150, 257, 2002). Inscribed polygons of n
 * edges are shorter by (pi / n)^2 / 6, and as much nearer as they bend in, twice (pi / n)^2 / 2. */
static void tight_rings_are_a_hopf_link(void **state)
{
  (void)state;
  enum { EDGES = 720 };
  struct be_lines lines = {2, {closed_of(EDGES), closed_of(EDGES)}, {1, 1}};
  for (size_t i = 0; i < EDGES; i++) {
    double t = turn * ((double)i + 0.37) / EDGES;
    lines.line[0].points[i] = (struct be_point){cos(t), sin(t), 0};
    lines.line[1].points[i] = (struct be_point){1 + cos(t), 0, sin(t)};
  }
  double step = pow(turn / 2 / EDGES, 2), integral,
         clearance = be_lines_clearance(&lines, turn / 4);
  double length = be_curve_length(&lines.line[0]) + be_curve_length(&lines.line[1]);
  assert_true(clearance <= 1 && clearance > 1 - step);
  assert_near(length, 2 * turn, 2 * turn * step / 6);
  int linking;
  assert_int_equal(be_linking(&lines, 0, 1, arena, &linking, NULL), BE_OK);
  assert_int_equal(abs(linking), 1);
  assert_int_equal(be_linking_integral(&lines.line[0], &lines.line[1], arena, &integral, NULL),
                   BE_OK);
  assert_near(integral, linking, 1e-9);
  struct be_view view = be_view_of(11, 23);
  struct be_crossing *crossings;
  struct be_diagram diagram;
  uint64_t determinant;
  size_t count;
  assert_int_equal(be_crossings_near(&lines, &view, arena, &crossings, &count, NULL), BE_OK);
  assert_int_equal(be_crossings_diagram(&lines, crossings, count, arena, &diagram, NULL), BE_OK);
  assert_int_equal(be_diagram_linking(&diagram, 0, 1), linking);
  assert_int_equal(be_determinant(&diagram, arena, &determinant, NULL), BE_OK);
  assert_int_equal(determinant, 2);
  for (size_t l = 0; l < 2; l++)
    assert_near(total_curvature(&lines.line[l]), turn, turn * step / 6 * 1.01);
}

/* Of a knot more than 4 pi (Fary 1949; Milnor 1950). Sums of 2 sin(a / 2) fall short of angles a by
 * a^3 / 24 each: with 12,000 edges by less than 1e-5. */
static void knots_turn_by_more_than_twice_round(void **state)
{
  (void)state;
  struct be_curve tight = summed(trefoil, 1200), wide = torus(2, 3, 0.5, 12000), curve;
  assert_near(total_curvature(&tight), 16.97, 0.5e-2);
  /* ((cos 3t + 2) cos 2t, (cos 3t + 2) sin 2t, -sin 3t), at half its size. */
  assert_near(total_curvature(&wide), 17.8224, 0.5e-4);
  for (size_t i = 0; i < sizeof knots / sizeof knots[0]; i++) {
    curve = summed(knots[i].terms, 1200);
    assert_true(total_curvature(&curve) > 2 * turn);
  }
}

/* As thin as one likes, a torus knot comes as near to 2 pi times its bridges as one likes (Milnor
 * 1950), from above: tangents leave a great circle, run round p times, by r q / p q times, which
 * makes them longer by (pi / 2) r^2 q^2 (q^2 - p^2) / p^3, but for a part (r q)^2 of it. */
static void thin_torus_knots_turn_as_little_as_they_may(void **state)
{
  (void)state;
  static const int list[][2] = {{2, 3}, {2, 5}, {3, 4}};
  const double thin = 0.01;
  for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
    double p = list[i][0], q = list[i][1]; /* p bridges */
    struct be_curve curve = torus(p, q, thin, 40000);
    double over = total_curvature(&curve) - p * turn;
    double longer = turn / 4 * pow(thin * q, 2) * (q * q - p * p) / (p * p * p);
    assert_true(over > 0);
    assert_near(over / longer, 1, pow(thin * q, 2) + 1e-3); /* the rest is the polygon's */
  }
}

int main(void)
{
#define drawn(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      drawn(lengths_are_those_of_their_terms),
      drawn(they_are_as_thick_as_they_are_said_to_be),
      drawn(their_writhe_is_as_published),
      drawn(they_are_the_knots_they_are_said_to_be),
      drawn(tight_rings_are_a_hopf_link),
      drawn(knots_turn_by_more_than_twice_round),
      drawn(thin_torus_knots_turn_as_little_as_they_may),
  };
  return be_tests("knot: tight", tests);
}
