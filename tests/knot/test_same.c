/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "codes.h"
#include "fault/failing.h"
#include "knot/measure/measure.h"
#include "shapes.h"

static struct be_canonical code_of(const struct be_diagram *diagram, const struct be_marks *marks)
{
  struct be_canonical code;
  assert_int_equal(be_diagram_canonical(diagram, marks, arena, &code, NULL), BE_OK);
  return code;
}

static const char *const primes[] = {"4 6 2",
                                     "4 6 8 2",
                                     "6 8 10 2 4",
                                     "4 8 10 2 6",
                                     "4 8 12 10 2 6",
                                     "4 8 10 12 2 6",
                                     "4 8 10 2 12 6",
                                     "8 10 12 14 2 4 6",
                                     "4 10 14 12 2 8 6",
                                     "6 10 12 14 4 2 8",
                                     "4 8 -12 2 -14 -16 -6 -10"};
enum { PRIMES = sizeof primes / sizeof primes[0] };

/* The same drawing begun elsewhere, the other way, its crossings numbered anew. */
static struct be_diagram written_otherwise(const struct be_diagram *diagram,
                                           struct be_random *random)
{
  struct be_diagram made;
  unsigned short number[64];
  assert_int_equal(be_diagram_copy(diagram, arena, &made, NULL), BE_OK);
  for (size_t s = 0; s < made.strands; s++)
    if (be_random_below(random, 2)) be_diagram_reverse(&made, s);
  for (size_t s = made.strands; s-- > 1;) {
    size_t other = be_random_below(random, s + 1);
    struct be_pass *pass = made.strand[s].pass;
    size_t count = made.strand[s].count;
    bool closed = made.strand[s].closed;
    made.strand[s] = made.strand[other];
    made.strand[other].pass = pass;
    made.strand[other].count = count;
    made.strand[other].closed = closed;
  }
  for (unsigned short c = 0; c < made.crossings; c++) number[c] = c;
  for (size_t c = made.crossings; c-- > 1;) {
    size_t other = be_random_below(random, c + 1);
    unsigned short swap = number[c];
    number[c] = number[other];
    number[other] = swap;
  }
  signed char signs[64];
  for (size_t c = 0; c < made.crossings; c++) signs[number[c]] = made.sign[c];
  memcpy(made.sign, signs, made.crossings);
  for (size_t s = 0; s < made.strands; s++) {
    size_t n = made.strand[s].count,
           turn = n && made.strand[s].closed ? be_random_below(random, n) : 0;
    struct be_pass *pass = be_arena_alloc(arena, (n + 1) * sizeof *pass);
    for (size_t k = 0; k < n; k++) {
      pass[k] = made.strand[s].pass[(k + turn) % n];
      pass[k].crossing = number[pass[k].crossing];
    }
    made.strand[s].pass = pass;
  }
  assert_int_equal(be_diagram_check(&made, NULL), BE_OK);
  return made;
}

static const char *const links[] = {"O1+U2+;U1+O2+", "O1+U2+O3+U4+;U1+O2+U3+O4+"};
enum { LINKS = sizeof links / sizeof links[0] };

static void one_code_for_all_ways(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 7, 1);
  for (size_t i = 0; i < PRIMES + LINKS; i++) {
    struct be_diagram diagram = i < PRIMES ? dt(primes[i]) : gauss(links[i - PRIMES]);
    struct be_canonical code = code_of(&diagram, NULL);
    for (int k = 0; k < 20; k++) {
      struct be_diagram other = written_otherwise(&diagram, &random);
      struct be_canonical again = code_of(&other, NULL);
      assert_true(be_canonical_same(&code, &again));
    }
    for (size_t k = 0; k < PRIMES; k++) {
      struct be_diagram other = dt(primes[k]);
      struct be_canonical others = code_of(&other, NULL);
      assert_int_equal(be_canonical_same(&code, &others), i == k);
    }
  }
}

/* A trefoil and its mirror image have two codes, a figure of eight one. */
static void mirror_images(void **state)
{
  (void)state;
  for (size_t i = 0; i < 2; i++) {
    struct be_diagram one = dt(primes[i]), other = dt(primes[i]);
    be_diagram_mirror(&other);
    struct be_canonical a = code_of(&one, NULL), b = code_of(&other, NULL);
    assert_int_equal(be_canonical_same(&a, &b), i == 1);
  }
}

/* Open strands begin at their ends; marks tell which end is which. */
static void marks_tell_strands_apart(void **state)
{
  (void)state;
  struct be_diagram half = gauss("O1+U2+;U1+O2+"), trefoil = dt("4 6 2");
  struct be_marks forward = {{0}, {1}}, backward = {{0}, {-1}}, hard = {{1}, {0}},
                  soft = {{0, 1}, {0}};
  half.strand[0].closed = half.strand[1].closed = trefoil.strand[0].closed = false;
  struct be_canonical a = code_of(&trefoil, &forward), b = code_of(&trefoil, &backward);
  struct be_same same;
  assert_false(be_canonical_same(&a, &b)); /* it begins over and ends under */
  assert_int_equal(be_diagrams_same(&trefoil, &forward, &trefoil, &backward, 0, NULL, &same, NULL),
                   BE_OK);
  assert_true(same.verdict == BE_SAME && same.marked); /* from behind it is the other way round */
  struct be_diagram kinked = gauss("1 -1 2 -3 4 -2 3 -4");
  kinked.strand[0].closed = false;
  a = code_of(&kinked, &forward), b = code_of(&kinked, &backward);
  assert_false(be_canonical_same(&a, &b));
  be_diagram_reverse(&kinked, 0);
  b = code_of(&kinked, &backward);
  assert_true(be_canonical_same(&a, &b));
  a = code_of(&half, &hard), b = code_of(&half, &soft);
  struct be_canonical none = code_of(&half, NULL);
  assert_true(be_canonical_same(&a, &b)); /* the two may change places */
  assert_false(be_canonical_same(&a, &none));
}

static struct be_same compare(const struct be_diagram *a, const struct be_diagram *b)
{
  struct be_same same;
  assert_int_equal(be_diagrams_same(a, NULL, b, NULL, 30, NULL, &same, NULL), BE_OK);
  return same;
}

static struct be_diagram moved(const struct be_diagram *diagram, uint64_t stream, int moves)
{
  struct be_diagram made;
  struct be_random random;
  be_random_init(&random, 8, stream);
  assert_int_equal(be_diagram_copy(diagram, arena, &made, NULL), BE_OK);
  for (int m = 0; m < moves; m++) be_diagram_move(&made, &random, made.crossings < 24, arena, NULL);
  return made;
}

static void moved_knots_are_found_again(void **state)
{
  (void)state;
  size_t again = 0;
  for (size_t i = 0; i < PRIMES; i++) {
    struct be_diagram knot = dt(primes[i]), other = moved(&knot, i, 60), mirror;
    assert_true(other.crossings > knot.crossings + 8);
    struct be_same same = compare(&knot, &other);
    assert_true(same.verdict == BE_SAME || same.verdict == BE_NOT_DECIDED);
    again += same.verdict == BE_SAME;
    assert_int_equal(be_diagram_copy(&other, arena, &mirror, NULL), BE_OK);
    be_diagram_mirror(&mirror);
    same = compare(&knot, &mirror);
    int signature;
    assert_int_equal(be_signature(&knot, arena, &signature, NULL), BE_OK);
    if (signature) assert_true(same.verdict == BE_MIRROR && same.mirror_too);
    else assert_true(same.verdict == BE_SAME || same.verdict == BE_MIRROR);
  }
  assert_int_equal(again, PRIMES);
}

/* What separates them is said. */
static void what_differs_is_said(void **state)
{
  (void)state;
  static const struct {
    const char *a, *b, *words;
  } pairs[] = {
      {"O1+U2+;U1+O2+", "O1+O2-;U1+U2-", "linking number 1 against 0"},
      {"1 -2 3 -1 2 -3", "1 -2 3 -4 5 -1 2 -3 4 -5", "determinant 3 against 5"},
      {"O1+U2+;U1+O2+", "1 -2 3 -1 2 -3", "2 closed lines against 1"},
      /* A granny and a reef. */
      {"O1+U2+O3+U1+O2+U3+O4+U5+O6+U4+O5+U6+", "O1+U2+O3+U1+O2+U3+U4-O5-U6-O4-U5-O6-",
       "signature -4 against 0"},
  };
  for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
    struct be_diagram a = gauss(pairs[i].a), b = gauss(pairs[i].b);
    struct be_same same = compare(&a, &b);
    assert_int_equal(same.verdict, BE_APART);
    assert_true(same.mirror_too);
    if (!strstr(same.words, pairs[i].words)) fail_msg("%s", same.words);
  }
  /* 8_20 has the reef's polynomial and signature. */
  struct be_diagram reef = gauss(pairs[3].b), other;
  size_t count;
  const struct be_prime *prime = be_primes(&count);
  for (size_t i = 0; i < count; i++)
    if (strcmp(prime[i].name, "8_20") == 0) other = dt(prime[i].dt);
  struct be_same same = compare(&reef, &other);
  assert_int_equal(same.verdict, BE_NOT_DECIDED);
  assert_non_null(strstr(same.words, "nothing that was compared differs"));
}

/* No two primes of one table are ever the same, whatever is compared. */
static void primes_are_never_the_same(void **state)
{
  (void)state;
  size_t count, apart = 0, pairs = 0;
  const struct be_prime *prime = be_primes(&count);
  for (size_t i = 0; i < 35; i++)
    for (size_t k = 0; k < i; k++, pairs++) {
      struct be_diagram a = dt(prime[i].dt), b = dt(prime[k].dt);
      struct be_same same;
      assert_int_equal(be_diagrams_same(&a, NULL, &b, NULL, 1, NULL, &same, NULL), BE_OK);
      assert_true(same.verdict == BE_APART || same.verdict == BE_NOT_DECIDED);
      apart += same.verdict == BE_APART;
    }
  assert_int_equal(apart,
                   pairs); /* Rolfsen: to eight crossings polynomial and signature tell all */
}

static struct be_compared compare_ties(const struct be_tied *a, const struct be_tied *b,
                                       enum be_closure closure, struct be_buf *certificate)
{
  struct be_compared compared;
  struct be_err err = {0};
  if (be_ties_compare(a, b, closure, arena, certificate, &compared, &err) != BE_OK)
    fail_msg("%s", err.what);
  return compared;
}

/* The reef and the thief knot are one drawing, with other ends pulled; the granny is another. */
static void reef_thief_granny(void **state)
{
  (void)state;
  struct be_lines reef = half_knots(1, -1, arena), granny = half_knots(1, 1, arena);
  struct be_ends same_side = {{{true, false}, {true, false}}, {false}};
  struct be_ends upper = {{{false, true}, {false, true}}, {false}};
  struct be_ends across = {{{true, false}, {false, true}}, {false}};
  struct be_view view = be_view_of(2.3, 4.1), back = be_view_of(184, -3);
  struct be_tied a = {&reef, &same_side, &view}, b = {&reef, &across, &back};
  struct be_tied c = {&granny, &same_side, &view}, d = {&reef, &upper, &view};
  struct be_buf certificate;
  be_buf_init(&certificate, 1 << 16);
  struct be_compared compared = compare_ties(&a, &b, BE_CLOSE_ENDS, &certificate);
  assert_int_equal(compared.held.verdict, BE_SAME);
  assert_true(compared.other_ends);
  assert_true(compared.counted[0] && compared.counted[1]);
  assert_near(compared.counts[0].gamma, 4, 1e-12);
  assert_near(compared.counts[1].gamma, 1, 1e-12);
  assert_non_null(strstr(certificate.data, "With the ends held: the first: nothing to take out"));
  assert_non_null(strstr(certificate.data, "Closed (the first ends"));
  compared = compare_ties(&a, &d, BE_CLOSE_ENDS, NULL);
  assert_int_equal(compared.held.verdict, BE_MIRROR); /* upside down its halves have other hands */
  assert_false(compared.other_ends);
  compared = compare_ties(&a, &c, BE_CLOSE_ENDS, NULL);
  assert_int_equal(compared.held.verdict, BE_NOT_DECIDED);
  assert_int_equal(compared.closed.verdict, BE_APART);
  assert_non_null(strstr(compared.closed.words, "signature"));
  compared = compare_ties(&a, &c, BE_CLOSE_EACH, NULL);
  assert_int_equal(compared.closed.verdict, BE_APART);
  assert_non_null(strstr(compared.closed.words, "linking number 0 against 3"));
  be_buf_free(&certificate);
}

/* The overhand of n turns drawn side by side, and wrapped as a barrel: one knot. */
static void two_forms_of_one_knot(void **state)
{
  (void)state;
  struct be_ends ends = {{{true, false}}, {false}};
  for (int n = 1; n <= 5; n++) {
    struct be_lines side = {1, {multiple_overhand(n, -1, arena)}, {1}};
    struct be_lines wrapped = {1, {barrel(n, 1, 1.5, arena)}, {1}};
    struct be_view view = be_view_of(31, 17);
    struct be_tied a = {&side, &ends, &view}, b = {&wrapped, &ends, &view};
    struct be_compared compared = compare_ties(&a, &b, BE_CLOSE_EACH, NULL);
    assert_int_equal(compared.closed.verdict, BE_SAME);
    assert_int_equal(compared.closed.crossings[0], 2 * n + 1);
    assert_false(compared.other_ends);
    assert_false(compared.counted[0]);
  }
}

static enum be_status attempt(void *context, struct be_err *err)
{
  struct be_compared compared;
  struct be_arena *own = be_arena_create();
  if (!own) return be_fail(err, BE_NO_MEMORY, "no memory for the test");
  enum be_status status =
      be_ties_compare(context, context, BE_CLOSE_ENDS, own, NULL, &compared, err);
  be_arena_free(own);
  return status;
}

static void memory_runs_out(void **state)
{
  (void)state;
  struct be_lines reef = half_knots(1, -1, arena);
  struct be_ends ends = {{{true, false}, {true, false}}, {false}};
  struct be_tied tie = {&reef, &ends, &be_view_top};
  be_fail_loop(attempt, &tie, 15);
}

int main(void)
{
#define drawn(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      drawn(one_code_for_all_ways),    drawn(mirror_images),
      drawn(marks_tell_strands_apart), drawn(moved_knots_are_found_again),
      drawn(what_differs_is_said),     drawn(primes_are_never_the_same),
      drawn(reef_thief_granny),        drawn(two_forms_of_one_knot),
      drawn(memory_runs_out),
  };
  return be_tests("knot: same", tests);
}
