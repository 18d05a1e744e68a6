/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/invariant/numbers.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int by_int(const void *a, const void *b)
{
  int x = *(const int *)a, y = *(const int *)b;
  return x < y ? -1 : x > y;
}

static int by_size(const void *a, const void *b)
{
  uint64_t x = *(const uint64_t *)a, y = *(const uint64_t *)b;
  return x < y ? -1 : x > y;
}

static int by_coefficients(const void *a, const void *b)
{
  const struct be_polynomial *x = a, *y = b;
  if (x->count != y->count) return x->count < y->count ? -1 : 1;
  for (size_t i = 0; i < x->count; i++)
    if (x->coefficient[i] != y->coefficient[i])
      return x->coefficient[i] < y->coefficient[i] ? -1 : 1;
  return 0;
}

static void make_first_positive(struct be_polynomial *polynomial)
{
  if (polynomial->count == 0 || polynomial->coefficient[0] > 0) return;
  for (size_t i = 0; i < polynomial->count; i++)
    polynomial->coefficient[i] = -polynomial->coefficient[i];
}

/* BE_TOO_LARGE only makes it unknown. */
static enum be_status unless_large(enum be_status status, bool *known)
{
  if (status != BE_TOO_LARGE) return status;
  *known = false;
  return BE_OK;
}

static enum be_status of_all(struct be_diagram *diagram, struct be_arena *arena, size_t way,
                             struct numbers *numbers, struct be_err *err)
{
  struct be_polynomial *whole = &numbers->whole[way];
  enum be_status status =
      unless_large(be_alexander(diagram, arena, whole, err), &numbers->polynomials);
  make_first_positive(whole);
  if (status != BE_OK) return status;
  return unless_large(be_signature(diagram, arena, &numbers->signature[way], err),
                      &numbers->signatures);
}

/* The first strand stays as it is: turning all round changes nothing. */
static enum be_status all_ways(const struct be_diagram *diagram, struct be_arena *arena,
                               struct numbers *numbers, struct be_err *err)
{
  numbers->ways = diagram->strands > NUMBERS_STRANDS ? 0 : (size_t)1 << (diagram->strands - 1);
  enum be_status status = BE_OK;
  for (size_t way = 0; way < numbers->ways && status == BE_OK; way++) {
    struct be_diagram turned;
    status = be_diagram_copy(diagram, arena, &turned, err);
    for (size_t s = 1; s < diagram->strands && status == BE_OK; s++)
      if (way >> (s - 1) & 1) be_diagram_reverse(&turned, s);
    if (status == BE_OK) status = of_all(&turned, arena, way, numbers, err);
  }
  qsort(numbers->signature, numbers->ways, sizeof *numbers->signature, by_int);
  qsort(numbers->whole, numbers->ways, sizeof *numbers->whole, by_coefficients);
  return status;
}

static enum be_status each_alone(const struct be_diagram *diagram, struct be_arena *arena,
                                 struct numbers *numbers, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (size_t s = 0; s < diagram->strands && status == BE_OK; s++) {
    struct be_diagram alone;
    status = be_diagram_alone(diagram, s, arena, &alone, err);
    if (status == BE_OK)
      status =
          unless_large(be_alexander(&alone, arena, &numbers->alone[s], err), &numbers->polynomials);
    if (status == BE_OK)
      status = unless_large(be_determinant(&alone, arena, &numbers->alone_determinant[s], err),
                            &numbers->polynomials);
    make_first_positive(&numbers->alone[s]);
  }
  qsort(numbers->alone, numbers->strands, sizeof *numbers->alone, by_coefficients);
  qsort(numbers->alone_determinant, numbers->strands, sizeof *numbers->alone_determinant, by_size);
  return status;
}

enum be_status be_numbers_find(const struct be_diagram *diagram, struct be_arena *arena,
                               struct numbers *numbers, struct be_err *err)
{
  *numbers = (struct numbers){.strands = diagram->strands, .polynomials = true, .signatures = true};
  for (size_t a = 0; a < diagram->strands; a++)
    for (size_t b = 0; b < a; b++)
      numbers->linking[numbers->pairs++] = abs(be_diagram_linking(diagram, a, b));
  qsort(numbers->linking, numbers->pairs, sizeof *numbers->linking, by_int);
  enum be_status status = unless_large(be_determinant(diagram, arena, &numbers->determinant, err),
                                       &numbers->polynomials);
  if (status == BE_OK) status = each_alone(diagram, arena, numbers, err);
  if (status == BE_OK) status = all_ways(diagram, arena, numbers, err);
  return status;
}

/* ---- compared ---- */

static bool polynomials_differ(const struct be_polynomial *a, const struct be_polynomial *b,
                               size_t count)
{
  for (size_t i = 0; i < count; i++)
    if (by_coefficients(&a[i], &b[i]) != 0) return true;
  return false;
}

static bool signatures_differ(const struct numbers *a, const struct numbers *b, bool mirror,
                              char *words, size_t size)
{
  for (size_t i = 0; i < a->ways; i++) {
    int other = mirror ? -b->signature[b->ways - 1 - i] : b->signature[i];
    if (a->signature[i] == other) continue;
    snprintf(words, size, "signature %d against %d", a->signature[i], other);
    return true;
  }
  return false;
}

bool be_numbers_differ(const struct numbers *a, const struct numbers *b, bool mirror, char *words,
                       size_t size)
{
  if (a->strands != b->strands) {
    snprintf(words, size, "%zu closed lines against %zu", a->strands, b->strands);
    return true;
  }
  for (size_t i = 0; i < a->pairs; i++)
    if (a->linking[i] != b->linking[i]) {
      snprintf(words, size, "linking number %d against %d, without signs", a->linking[i],
               b->linking[i]);
      return true;
    }
  bool known = a->polynomials && b->polynomials;
  if (known && a->determinant != b->determinant) {
    snprintf(words, size, "determinant %llu against %llu", (unsigned long long)a->determinant,
             (unsigned long long)b->determinant);
    return true;
  }
  for (size_t i = 0; known && i < a->strands; i++)
    if (a->alone_determinant[i] != b->alone_determinant[i]) {
      snprintf(words, size, "determinant of a line alone, %llu against %llu",
               (unsigned long long)a->alone_determinant[i],
               (unsigned long long)b->alone_determinant[i]);
      return true;
    }
  if (known && polynomials_differ(a->alone, b->alone, a->strands)) {
    snprintf(words, size, "Alexander polynomial of a line alone");
    return true;
  }
  if (known && polynomials_differ(a->whole, b->whole, a->ways)) {
    snprintf(words, size, "Alexander polynomial");
    return true;
  }
  return a->signatures && b->signatures && signatures_differ(a, b, mirror, words, size);
}
