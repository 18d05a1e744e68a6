/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "codes.h"
#include "knot/invariant/invariant.h"
#include "test.h"

#include <string.h>

typedef enum be_status reader(const char *text, size_t size, struct be_arena *arena,
                              struct be_diagram *diagram, struct be_err *err);

static void refused(reader *read, const char *text, const char *words)
{
  struct be_diagram diagram;
  struct be_err err = {0};
  enum be_status status = read(text, strlen(text), arena, &diagram, &err);
  if (status != BE_BAD_INPUT) print_error("%s was read\n", text);
  assert_int_equal(status, BE_BAD_INPUT);
  if (!strstr(err.what, words)) print_error("%s: %s\n", text, err.what);
  assert_non_null(strstr(err.what, words));
}

static const char *const knots[] = {"4 6 2", "4 6 8 2", "4 8 10 2 6", "6 10 12 14 4 2 8",
                                    "4 8 -12 2 -14 -16 -6 -10"};
enum { KNOTS = sizeof knots / sizeof knots[0] };

/* Crossings are numbered anew in the order met: the signature tells whether it is the same knot,
 * and not its mirror image. */
static void codes_come_back(void **state)
{
  (void)state;
  for (size_t i = 0; i < KNOTS; i++) {
    struct be_diagram knot = dt(knots[i]), read[3];
    struct be_buf text;
    int signature, again;
    be_buf_init(&text, 10000);
    assert_int_equal(be_signature(&knot, arena, &signature, NULL), BE_OK);
    assert_int_equal(be_dt_write(&knot, &text, NULL), BE_OK);
    assert_string_equal(text.data, knots[i]);
    text.size = 0;
    be_gauss_write(&knot, true, &text);
    read[0] = gauss(text.data);
    text.size = 0;
    be_gauss_write(&knot, false, &text);
    read[1] = gauss(text.data);
    text.size = 0;
    assert_int_equal(be_pd_write(&knot, &text, NULL), BE_OK);
    assert_int_equal(be_pd_read(text.data, text.size, arena, &read[2], NULL), BE_OK);
    for (int k = 0; k < 3; k++) {
      assert_int_equal(read[k].crossings, knot.crossings);
      assert_int_equal(be_signature(&read[k], arena, &again, NULL), BE_OK);
      assert_int_equal(again, signature);
    }
    be_buf_free(&text);
  }
}

static void codes_that_are_none_are_refused(void **state)
{
  (void)state;
  refused(be_gauss_read, "1 -2 x", "no number");
  refused(be_gauss_read, "1 -2 2", "not met once over and once under");
  refused(be_gauss_read, "1 -2 -1 2 3 -3 -4", "not met");
  refused(be_gauss_read, "1 -2 3 -1", "not met");
  refused(be_gauss_read, "O1+U2+O2U1+", "some crossings have a sign");
  refused(be_gauss_read, "1 -2; -1 2", "needs the signs");
  refused(be_gauss_read, "1 -2 -1 2", "no drawing on a plane"); /* the virtual trefoil's order */
  refused(be_gauss_read, "O1+U2+O3+U1-O2+U3+", "no drawing on a plane");
  refused(be_dt_read, "4 6 3", "even numbers");
  refused(be_dt_read, "4 6 6", "stands once");
  refused(be_dt_read, "4 6 12", "stands once");
  refused(be_dt_read, "4 10 8 2 6", "no drawing on a plane"); /* found by trying orders of five */
  refused(be_pd_read, "X[1,5,2]", "four arcs");
  refused(be_pd_read, "X[1,5,2,4] X[3,1,4,6]", "two ends");
  refused(be_pd_read, "Y[1,2,3,4]", "a planar-diagram code is");
}

/* Faces of a closed drawing: two more than its crossings (Euler). */
static void faces_are_as_many_as_Euler_says(void **state)
{
  (void)state;
  for (size_t i = 0; i < KNOTS; i++) {
    struct be_diagram diagram = dt(knots[i]);
    struct be_face *faces;
    size_t count, edges = 0;
    assert_int_equal(be_faces_find(&diagram, arena, &faces, &count, NULL), BE_OK);
    assert_int_equal(count, diagram.crossings + 2);
    for (size_t f = 0; f < count; f++) edges += faces[f].edges;
    assert_int_equal(edges, 4 * diagram.crossings);
  }
}

struct known {
  struct be_polynomial alexander;
  uint64_t determinant;
  int signature;
};

static struct known known_of(const struct be_diagram *diagram)
{
  struct known known;
  memset(&known, 0, sizeof known);
  assert_int_equal(be_alexander(diagram, arena, &known.alexander, NULL), BE_OK);
  assert_int_equal(be_determinant(diagram, arena, &known.determinant, NULL), BE_OK);
  assert_int_equal(be_signature(diagram, arena, &known.signature, NULL), BE_OK);
  return known;
}

static void assert_same(const struct known *a, const struct known *b)
{
  assert_int_equal(a->alexander.count, b->alexander.count);
  assert_memory_equal(a->alexander.coefficient, b->alexander.coefficient,
                      a->alexander.count * sizeof *a->alexander.coefficient);
  assert_int_equal(a->determinant, b->determinant);
  assert_int_equal(a->signature, b->signature);
}

static void a_thousand_moves_change_nothing(void **state)
{
  (void)state;
  for (size_t i = 0; i < KNOTS; i++) {
    struct be_diagram diagram = dt(knots[i]);
    struct known before = known_of(&diagram), after;
    size_t fewest = diagram.crossings, moves;
    struct be_random random;
    be_random_init(&random, 20261126, i);
    for (int m = 0; m < 1000; m++) {
      enum be_status status =
          be_diagram_move(&diagram, &random, diagram.crossings < 44, arena, NULL);
      assert_true(status == BE_OK || status == BE_NO);
      if (m % 50 == 0) assert_int_equal(be_diagram_check(&diagram, NULL), BE_OK);
    }
    assert_true(diagram.crossings >= 44);
    after = known_of(&diagram);
    assert_same(&before, &after);
    assert_int_equal(be_diagram_simplify(&diagram, arena, NULL, &moves, NULL), BE_OK);
    assert_int_equal(be_diagram_check(&diagram, NULL), BE_OK);
    assert_int_equal(diagram.crossings, fewest);
    after = known_of(&diagram);
    assert_same(&before, &after);
  }
}

static void a_tangled_ring_comes_apart(void **state)
{
  (void)state;
  for (uint64_t i = 0; i < 12; i++) {
    struct be_diagram diagram = gauss("1 -1");
    struct be_random random;
    struct be_buf certificate;
    size_t moves;
    be_random_init(&random, 7, i);
    be_buf_init(&certificate, 1 << 20);
    for (int m = 0; m < 300; m++)
      be_diagram_move(&diagram, &random, diagram.crossings < 50, arena, NULL);
    assert_true(diagram.crossings >= 50);
    assert_int_equal(be_diagram_simplify(&diagram, arena, &certificate, &moves, NULL), BE_OK);
    assert_int_equal(diagram.crossings, 0);
    size_t told = 0;
    for (const char *at = certificate.data; (at = strchr(at, ';')); at++) told++;
    assert_int_equal(told, moves);
    be_buf_free(&certificate);
  }
}

static void mirrors_and_reversals(void **state)
{
  (void)state;
  for (size_t i = 0; i < KNOTS; i++) {
    struct be_diagram diagram = dt(knots[i]), copy;
    struct known before = known_of(&diagram), after;
    assert_int_equal(be_diagram_copy(&diagram, arena, &copy, NULL), BE_OK);
    be_diagram_reverse(&copy, 0);
    assert_int_equal(be_diagram_check(&copy, NULL), BE_OK);
    after = known_of(&copy);
    assert_same(&before, &after);
    be_diagram_mirror(&copy);
    assert_int_equal(be_diagram_check(&copy, NULL), BE_OK);
    after = known_of(&copy);
    after.signature = -after.signature;
    assert_same(&before, &after);
  }
  struct be_diagram hopf = gauss("O1+U2+;U1+O2+");
  assert_int_equal(be_diagram_linking(&hopf, 0, 1), 1);
  be_diagram_reverse(&hopf, 1);
  assert_int_equal(be_diagram_check(&hopf, NULL), BE_OK);
  assert_int_equal(be_diagram_linking(&hopf, 0, 1), -1);
}

/* Two rings that do not hang together, drawn over one another and apart. */
static void rings_that_fall_apart(void **state)
{
  (void)state;
  struct be_diagram rings = gauss("O1+O2-;U1+U2-");
  struct be_polynomial polynomial;
  uint64_t determinant;
  size_t moves;
  assert_int_equal(be_alexander(&rings, arena, &polynomial, NULL), BE_OK);
  assert_int_equal(polynomial.count, 0);
  assert_int_equal(be_determinant(&rings, arena, &determinant, NULL), BE_OK);
  assert_int_equal(determinant, 0);
  assert_int_equal(be_diagram_simplify(&rings, arena, NULL, &moves, NULL), BE_OK);
  assert_int_equal(rings.crossings, 0);
  assert_int_equal(rings.strands, 2);
  assert_int_equal(be_alexander(&rings, arena, &polynomial, NULL), BE_OK);
  assert_int_equal(polynomial.count, 0);
}

static void open_lines_have_no_polynomial(void **state)
{
  (void)state;
  struct be_diagram diagram = dt("4 6 2");
  struct be_polynomial polynomial;
  uint64_t determinant;
  int signature;
  diagram.strand[0].closed = false;
  assert_int_equal(be_diagram_check(&diagram, NULL), BE_OK);
  assert_int_equal(be_alexander(&diagram, arena, &polynomial, NULL), BE_WRONG_USE);
  assert_int_equal(be_determinant(&diagram, arena, &determinant, NULL), BE_WRONG_USE);
  assert_int_equal(be_signature(&diagram, arena, &signature, NULL), BE_WRONG_USE);
}

int main(void)
{
#define drawn(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      drawn(codes_come_back),
      drawn(codes_that_are_none_are_refused),
      drawn(faces_are_as_many_as_Euler_says),
      drawn(a_thousand_moves_change_nothing),
      drawn(a_tangled_ring_comes_apart),
      drawn(mirrors_and_reversals),
      drawn(rings_that_fall_apart),
      drawn(open_lines_have_no_polynomial),
  };
  return be_tests("knot: diagram", tests);
}
