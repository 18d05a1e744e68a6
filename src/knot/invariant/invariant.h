/* SPDX-License-Identifier: GPL-3.0-or-later */
/* invariant: what stays the same whatever is done to closed lines, and the table of what is known
 * by it. Integers, exact. */
#ifndef BE_KNOT_INVARIANT_H
#define BE_KNOT_INVARIANT_H

#include "knot/diagram/diagram.h"

enum { BE_POLYNOMIAL_MAX = 128 };

/* Coefficients from the lowest power; symmetric, its value at 1 is 1 for a knot; for links the
 * first that is not zero is positive... see the notes of be_alexander. */
struct be_polynomial {
  size_t count; /* 0: the polynomial is zero */
  int64_t coefficient[BE_POLYNOMIAL_MAX];
};

/* Alexander polynomial of closed strands, in one variable: one row a crossing, over arc 1 - t, the
 * two under arcs t and -1 by the crossing's sign (Fox), a row and column left out, the determinant
 * modulo several primes at enough t, put together by remainders (exact: bounded by Hadamard).
 * Powers of t stripped; of a knot normalised to 1 at t = 1. A strand of a link without crossings:
 * zero. BE_TOO_LARGE when a coefficient passes 63 bits. */
enum be_status be_alexander(const struct be_diagram *diagram, struct be_arena *arena,
                            struct be_polynomial *polynomial, struct be_err *err);
/* |value at -1|, by itself modulo primes. */
enum be_status be_determinant(const struct be_diagram *diagram, struct be_arena *arena,
                              uint64_t *determinant, struct be_err *err);
/* Of Goeritz's form with Gordon and Litherland's correction (1978); mirror images have the other
 * sign; by the rule that the right-handed trefoil has -2. */
enum be_status be_signature(const struct be_diagram *diagram, struct be_arena *arena,
                            int *signature, struct be_err *err);
/* Half the signs of the crossings between two closed strands. */
int be_diagram_linking(const struct be_diagram *diagram, size_t a, size_t b);

/* ---- what it is consistent with ---- */

struct be_named {
  const char *name;  /* "3_1"; of a sum "3_1 # 4_1" */
  const char *words; /* "trefoil"; null: it has none */
};
enum { BE_NAMED_MAX = 8 };
/* Knots of the table (primes to 10 crossings, sums of two or three to 10) whose Alexander
 * polynomial, determinant and |signature| are those; count 0: none. Never a proof: others may share
 * them. The unknot is said only of a drawing without crossings. */
void be_names_find(const struct be_polynomial *alexander, int signature,
                   struct be_named names[BE_NAMED_MAX], size_t *count);

#endif
