/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Knots held to what is published of them: D. Rolfsen, Knots and Links (1976), appendix C (names,
 * Alexander polynomials, determinants), signatures up to sign; Dowker-Thistlethwaite codes and
 * Gauss codes from the project's sheet of checks, which verified them in two ways. */
#include "knot/crossing/crossing.h"
#include "knot/invariant/invariant.h"
#include "test.h"

#include <math.h>
#include <string.h>

static const struct {
  const char *name, *dt, *alexander;
  int determinant, signature;
} knots[] = {
    {"3_1", "4 6 2", "1 -1 1", 3, 2},
    {"4_1", "4 6 8 2", "-1 3 -1", 5, 0},
    {"5_1", "6 8 10 2 4", "1 -1 1 -1 1", 5, 4},
    {"5_2", "4 8 10 2 6", "2 -3 2", 7, 2},
    {"6_1", "4 8 12 10 2 6", "-2 5 -2", 9, 0},
    {"6_2", "4 8 10 12 2 6", "-1 3 -3 3 -1", 11, 2},
    {"6_3", "4 8 10 2 12 6", "1 -3 5 -3 1", 13, 0},
    {"7_1", "8 10 12 14 2 4 6", "1 -1 1 -1 1 -1 1", 7, 6},
    {"7_2", "4 10 14 12 2 8 6", "3 -5 3", 11, 2},
    {"7_4", "6 10 12 14 4 2 8", "4 -7 4", 15, 2},
    {"8_19", "4 8 -12 2 -14 -16 -6 -10", "1 -1 0 1 0 -1 1", 3, 6},
};

static void write_polynomial(const struct be_polynomial *polynomial, char *text, size_t size)
{
  size_t used = 0;
  text[0] = '\0';
  for (size_t i = 0; i < polynomial->count; i++)
    used += (size_t)snprintf(text + used, size - used, "%s%lld", i ? " " : "",
                             (long long)polynomial->coefficient[i]);
}

static void knots_have_their_numbers(void **state)
{
  (void)state;
  for (size_t i = 0; i < sizeof knots / sizeof knots[0]; i++) {
    struct be_arena *arena = be_arena_create();
    struct be_diagram diagram;
    struct be_polynomial polynomial;
    uint64_t determinant;
    int signature;
    char text[200];
    assert_int_equal(be_dt_read(knots[i].dt, strlen(knots[i].dt), arena, &diagram, NULL), BE_OK);
    assert_int_equal(be_alexander(&diagram, arena, &polynomial, NULL), BE_OK);
    assert_int_equal(be_determinant(&diagram, arena, &determinant, NULL), BE_OK);
    assert_int_equal(be_signature(&diagram, arena, &signature, NULL), BE_OK);
    write_polynomial(&polynomial, text, sizeof text);
    assert_string_equal(text, knots[i].alexander);
    assert_int_equal(determinant, knots[i].determinant);
    assert_int_equal(abs(signature), knots[i].signature);
    be_arena_free(arena);
  }
}

/* Wr of torus curves ((2 + cos qt) cos pt, (2 + cos qt) sin pt, sin qt) in N equal steps: the
 * sheet's digits, by Klenin and Langowski (2000). With the twist of the torus's normal it makes the
 * whole number -pq, up to 1 / N^2 (Calugareanu 1961). */
static void torus_curves_have_their_writhe(void **state)
{
  (void)state;
  static const struct {
    int p, q, n;
    double writhe;
  } curves[] = {
      {2, 3, 400, -3.51786}, {2, 3, 1600, -3.51822}, {2, 5, 400, -6.86618}, {2, 5, 1600, -6.86799}};
  for (size_t i = 0; i < sizeof curves / sizeof curves[0]; i++) {
    struct be_arena *arena = be_arena_create();
    size_t n = (size_t)curves[i].n;
    struct be_curve curve = {be_arena_alloc(arena, n * sizeof *curve.points), n, true};
    struct be_point *normal = be_arena_alloc(arena, n * sizeof *normal);
    for (size_t k = 0; k < n; k++) {
      double t = 2 * acos(-1) * (double)k / (double)n, u = curves[i].q * t, v = curves[i].p * t;
      normal[k] = (struct be_point){cos(u) * cos(v), cos(u) * sin(v), sin(u)};
      curve.points[k] = (struct be_point){(2 + cos(u)) * cos(v), (2 + cos(u)) * sin(v), sin(u)};
    }
    double one, pairs;
    assert_int_equal(be_writhe(&curve, arena, &one, NULL), BE_OK);
    assert_int_equal(be_writhe_all_pairs(&curve, arena, &pairs, NULL, NULL), BE_OK);
    assert_true(fabs(one - curves[i].writhe) < 0.6e-5);
    assert_true(fabs(pairs - curves[i].writhe) < 0.6e-5);
    double whole = one + be_twist(&curve, normal);
    assert_true(fabs(whole + curves[i].p * curves[i].q) < 80.0 / ((double)n * (double)n));
    be_arena_free(arena);
  }
}

/* The n-fold overhand: 2n + 1 crossings of one sign, its Gauss and Dowker-Thistlethwaite codes. */
static void multiple_overhands_have_their_codes(void **state)
{
  (void)state;
  static const char *const codes[][2] = {
      {"1 -2 3 -1 2 -3", "4 6 2"},
      {"1 -2 3 -4 5 -1 2 -3 4 -5", "6 8 10 2 4"},
      {"1 -2 3 -4 5 -6 7 -1 2 -3 4 -5 6 -7", "8 10 12 14 2 4 6"}};
  for (size_t i = 0; i < 3; i++) {
    struct be_arena *arena = be_arena_create();
    struct be_diagram diagram;
    struct be_buf text;
    int signature;
    be_buf_init(&text, 1000);
    assert_int_equal(be_gauss_read(codes[i][0], strlen(codes[i][0]), arena, &diagram, NULL), BE_OK);
    for (size_t c = 0; c < diagram.crossings; c++) assert_int_equal(diagram.sign[c], 1);
    assert_int_equal(be_dt_write(&diagram, &text, NULL), BE_OK);
    assert_string_equal(text.data, codes[i][1]);
    assert_int_equal(be_signature(&diagram, arena, &signature, NULL), BE_OK);
    assert_int_equal(signature, -2 * (int)(i + 1));
    be_buf_free(&text);
    be_arena_free(arena);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(knots_have_their_numbers),
      cmocka_unit_test(torus_curves_have_their_writhe),
      cmocka_unit_test(multiple_overhands_have_their_codes),
  };
  return be_tests("published: topology", tests);
}
