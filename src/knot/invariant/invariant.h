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

/* The 249 prime knots to 10 crossings, fewest crossings first. */
struct be_prime {
  const char *name;                                /* "3_1": Rolfsen's */
  const char *words;                               /* "trefoil"; null: it has none */
  unsigned char crossings, determinant, signature; /* fewest; |signature| */
  signed char half[5]; /* Alexander polynomial from its middle coefficient outwards */
  const char *dt;      /* a code with the fewest crossings, of either mirror image */
};
const struct be_prime *be_primes(size_t *count);

/* What a drawing is consistent with; either mirror image of it all. */
struct be_named {
  char name[32];     /* "3_1"; of a sum "3_1 # mirror 3_1": mirror where signatures oppose */
  const char *words; /* "trefoil", "granny"; null: it has none */
  int crossings;     /* fewest; of a sum those of its parts added, fewest that are known */
  int parts;         /* prime knots in it: 1, of a sum 2 or 3, of the unknot 0 */
};
enum { BE_NAMED_MAX = 8 };
/* Knots of the table and sums of two or three of them, all to 10 crossings, whose Alexander
 * polynomial (so determinant) and |signature| are those: fewest crossings first, primes before
 * sums; count 0: none. Never a proof of any of them: knots of more crossings may share them, and
 * knots apart may share all that is compared (8_20 and 10_140). "0_1", the unknot, comes of
 * polynomial 1 and signature 0, and its words say that others share these: none to 10 crossings. */
void be_names_find(const struct be_polynomial *alexander, int signature,
                   struct be_named names[BE_NAMED_MAX], size_t *count);

/* ---- are two the same? ---- */

enum be_verdict {
  BE_SAME,   /* moves take one to the other */
  BE_MIRROR, /* moves take one to the other's mirror image (and none that keep the marks to it) */
  BE_APART,  /* what no move changes differs */
  BE_NOT_DECIDED /* nothing compared differs, and no moves were found */
};
struct be_same {
  enum be_verdict verdict;
  bool marked;     /* of BE_SAME and BE_MIRROR: with the marks of both in the same places */
  bool mirror_too; /* BE_SAME: to its mirror image too; BE_APART: from it too; BE_MIRROR: the two
                      themselves are surely apart */
  size_t crossings[2]; /* left after simplification */
  size_t moves[2];     /* made on each */
  char words[240];     /* why: "signature -2 against 2", "4 moves and 0 moves lead to one code" */
};
/* Strands may be reversed and change places (within their kind where the marks agree). Simplifies
 * both and compares their codes, seen from before and from behind; where these differ, asks linking
 * numbers, determinants, Alexander polynomials (of all, of each strand) and signatures, each for
 * all directions of the strands; where these agree, moves about by a seeded stream, `tries` times.
 * The certificate, which may be null, lists the moves of both. Strands may be open, their ends
 * held: then there are no numbers to tell them apart. Marks may be null. */
enum be_status be_diagrams_same(const struct be_diagram *a, const struct be_marks *of_a,
                                const struct be_diagram *b, const struct be_marks *of_b,
                                size_t tries, struct be_buf *certificate, struct be_same *same,
                                struct be_err *err);

#endif
