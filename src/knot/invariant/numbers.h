/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What no move changes of closed strands, whichever way each runs and whatever their order. */
#ifndef BE_KNOT_INVARIANT_NUMBERS_H
#define BE_KNOT_INVARIANT_NUMBERS_H

#include "knot/invariant/invariant.h"

enum {
  NUMBERS_STRANDS = 4, /* more are not asked for all their directions */
  NUMBERS_WAYS = 1 << (NUMBERS_STRANDS - 1),
  NUMBERS_PAIRS = BE_STRANDS_MAX * (BE_STRANDS_MAX - 1) / 2
};

/* Lists are sorted; polynomials have their first coefficient positive. */
struct numbers {
  size_t strands, pairs, ways;
  int linking[NUMBERS_PAIRS]; /* without signs */
  uint64_t determinant;
  uint64_t alone_determinant[BE_STRANDS_MAX];
  struct be_polynomial alone[BE_STRANDS_MAX], whole[NUMBERS_WAYS];
  int signature[NUMBERS_WAYS];
  bool polynomials, signatures; /* known: the drawing was not too large */
};

enum be_status be_numbers_find(const struct be_diagram *diagram, struct be_arena *arena,
                               struct numbers *numbers, struct be_err *err);
/* Whether one differs, of the mirror image of b where that is asked; then words say which. */
bool be_numbers_differ(const struct numbers *a, const struct numbers *b, bool mirror, char *words,
                       size_t size);

#endif
