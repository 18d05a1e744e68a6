/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fox's matrix modulo primes below 2^31, at as many t as the degree asks, put together by
 * remainders. */
#include "knot/invariant/inside.h"

#include <stdlib.h>
#include <string.h>

/* Rows have three entries of sizes 2, 1, 1 at most on the unit circle, so that a determinant of n
 * rows is below 6^(n/2) (Hadamard), and so is each coefficient. A bit more than 1.3 n bits. */
enum { CROSSINGS_MOST = 160, PRIMES_MOST = 8 };
static const uint32_t primes[PRIMES_MOST] = {2147483647, 2147483629, 2147483587, 2147483579,
                                             2147483563, 2147483549, 2147483543, 2147483497};

/* The arcs that meet at each crossing, numbered from under to under. */
struct fox {
  size_t crossings, arcs;
  struct {
    unsigned short over, in, out;
    bool positive;
  } at[BE_CROSSINGS_MAX];
};

static enum be_status read_arcs(const struct be_diagram *diagram, struct fox *fox,
                                struct be_err *err)
{
  fox->crossings = diagram->crossings;
  fox->arcs = 0;
  for (size_t s = 0; s < diagram->strands; s++) {
    const struct be_pass *pass = diagram->strand[s].pass;
    size_t n = diagram->strand[s].count, unders = 0, first = fox->arcs;
    if (!diagram->strand[s].closed)
      return be_fail(err, BE_WRONG_USE, "the lines are not closed: say how they are");
    for (size_t k = 0; k < n; k++) unders += !pass[k].over;
    if (unders == 0) unders = 1; /* a ring over all others, or apart */
    size_t arc = 0;
    for (size_t k = 0; k < n; k++) {
      size_t c = pass[k].crossing;
      if (pass[k].over) fox->at[c].over = (unsigned short)(first + arc);
      else {
        fox->at[c].in = (unsigned short)(first + arc);
        arc = (arc + 1) % unders;
        fox->at[c].out = (unsigned short)(first + arc);
      }
      fox->at[c].positive = diagram->sign[c] > 0;
    }
    fox->arcs += unders;
  }
  return BE_OK;
}

/* ---- modulo a prime ---- */

static uint32_t times(uint32_t a, uint32_t b, uint32_t p)
{
  return (uint32_t)((uint64_t)a * b % p);
}

/* Of a number that is not 0 (Euclid). */
static uint32_t inverse(uint32_t a, uint32_t p)
{
  uint32_t left = p, right = a;
  int64_t of_left = 0, of_right = 1;
  while (right) {
    uint32_t whole = left / right, rest = left % right;
    int64_t of_rest = of_left - whole * of_right;
    left = right, right = rest;
    of_left = of_right, of_right = of_rest;
  }
  return (uint32_t)(of_left < 0 ? of_left + p : of_left);
}

static uint32_t less(uint32_t a, uint32_t b, uint32_t p)
{
  return a >= b ? a - b : a + (p - b);
}

static void add(uint32_t *to, uint32_t value, uint32_t p)
{
  *to = less(*to, less(0, value, p), p);
}

/* Rows' entries from `from` to n; to becomes to - factor row. With factor / p to 32 bits, rounded
 * down, a product's quotient by p is known but for one too few, and nothing is divided (Shoup). */
static void take_off(uint32_t *restrict to, const uint32_t *restrict row, uint32_t factor,
                     size_t from, size_t n, uint32_t p)
{
  const uint64_t share = ((uint64_t)factor << 32) / p;
  for (size_t j = from; j < n; j++) {
    uint32_t product = (uint32_t)((uint64_t)factor * row[j] - (share * row[j] >> 32) * p);
    uint32_t left = to[j] + p - (product < p ? product : product - p);
    to[j] = left < p ? left : left - p;
  }
}

/* Of the matrix without its last row and column, at t. Gauss, with the first pivot that is not 0.
 */
static uint32_t minor_at(const struct fox *fox, uint32_t t, uint32_t p, uint32_t *matrix)
{
  size_t n = fox->crossings - 1;
  memset(matrix, 0, n * n * sizeof *matrix);
  for (size_t c = 0; c < n; c++) {
    uint32_t *row = matrix + c * n;
    uint32_t t_part = t, minus = p - 1;
    if (fox->at[c].over < n) add(&row[fox->at[c].over], less(1, t, p), p);
    if (fox->at[c].in < n) add(&row[fox->at[c].in], fox->at[c].positive ? t_part : minus, p);
    if (fox->at[c].out < n) add(&row[fox->at[c].out], fox->at[c].positive ? minus : t_part, p);
  }
  uint32_t det = 1;
  for (size_t k = 0; k < n; k++) {
    size_t pivot = k;
    while (pivot < n && matrix[pivot * n + k] == 0) pivot++;
    if (pivot == n) return 0;
    if (pivot != k) {
      det = less(0, det, p);
      for (size_t j = k; j < n; j++) {
        uint32_t swap = matrix[k * n + j];
        matrix[k * n + j] = matrix[pivot * n + j];
        matrix[pivot * n + j] = swap;
      }
    }
    det = times(det, matrix[k * n + k], p);
    uint32_t of_pivot = inverse(matrix[k * n + k], p);
    for (size_t i = k + 1; i < n; i++) {
      if (matrix[i * n + k] == 0) continue;
      uint32_t factor = times(matrix[i * n + k], of_pivot, p);
      take_off(matrix + i * n, matrix + k * n, factor, k, n, p);
    }
  }
  return det;
}

/* Coefficients of the polynomial with these values at 1, 2, ... n + 1 (Newton). */
static void interpolate(uint32_t *value, size_t n, uint32_t p, uint32_t *coefficient)
{
  for (size_t k = 1; k <= n; k++) {
    uint32_t of_k = inverse((uint32_t)k, p);
    for (size_t i = n; i >= k; i--) value[i] = times(less(value[i], value[i - 1], p), of_k, p);
  }
  memset(coefficient, 0, (n + 1) * sizeof *coefficient);
  for (size_t k = n + 1; k-- > 0;) {
    /* coefficient = coefficient (t - (k + 1)) + value[k] */
    for (size_t i = n; i > 0; i--)
      coefficient[i] = less(coefficient[i - 1], times(coefficient[i], (uint32_t)(k + 1) % p, p), p);
    coefficient[0] = less(value[k], times(coefficient[0], (uint32_t)(k + 1) % p, p), p);
  }
}

/* ---- remainders put together (Garner 1959) ---- */

/* As a number between -half and half the product of the primes; false past 63 bits. */
static bool put_together(const uint32_t *remainder, size_t count, int64_t *value)
{
  uint32_t digit[PRIMES_MOST];
  for (size_t i = 0; i < count; i++) {
    uint32_t p = primes[i], so_far = 0, product = 1;
    for (size_t j = 0; j < i; j++) {
      so_far = (uint32_t)((so_far + (uint64_t)times(digit[j] % p, product, p)) % p);
      product = times(product, primes[j] % p, p);
    }
    digit[i] = times(less(remainder[i], so_far, p), inverse(product, p), p);
  }
  /* Negative numbers have a high last digit: then the complement is read. */
  bool negative = digit[count - 1] > primes[count - 1] / 2;
  uint64_t sum = 0, weight = 1;
  bool fits = true, weighs = true;
  for (size_t i = 0; i < count; i++) {
    uint64_t d = negative ? primes[i] - 1 - digit[i] : digit[i];
    if (d && (!weighs || d > (INT64_MAX - sum) / weight)) fits = false;
    else sum += d * (weighs ? weight : 0);
    weighs = weighs && weight <= INT64_MAX / primes[i];
    if (weighs) weight *= primes[i];
  }
  *value = negative ? -(int64_t)sum - 1 : (int64_t)sum;
  return fits;
}

static size_t primes_needed(size_t crossings)
{
  return (crossings * 13 / 10 + 2) / 30 + 1;
}

/* ---- answers ---- */

static enum be_status prepare(const struct be_diagram *diagram, struct be_arena *arena,
                              struct fox **fox, uint32_t **matrix, struct be_err *err)
{
  size_t n = diagram->crossings;
  if (n > CROSSINGS_MOST)
    return be_fail(err, BE_TOO_LARGE, "%zu crossings are more than the %d that are reckoned with",
                   n, CROSSINGS_MOST);
  *fox = be_arena_alloc(arena, sizeof **fox);
  *matrix = be_arena_alloc(arena, (n * n + 1) * sizeof **matrix);
  if (!*fox || !*matrix) return be_fail(err, BE_NO_MEMORY, "no memory for the polynomial");
  return read_arcs(diagram, *fox, err);
}

/* Strands that cross no other make zero; so does a ring apart, which has an arc too many. */
static bool falls_apart(const struct fox *fox)
{
  return fox->arcs != fox->crossings;
}

/* Powers of t at both ends taken off; at t = 1 a knot has 1, else the first is positive. */
static void normalise(int64_t *c, size_t count, struct be_polynomial *polynomial)
{
  size_t first = 0;
  while (first < count && c[first] == 0) first++;
  while (count > first && c[count - 1] == 0) count--;
  int64_t at_1 = 0;
  for (size_t i = first; i < count; i++) at_1 += c[i];
  bool turn = at_1 ? at_1 < 0 : first < count && c[first] < 0;
  polynomial->count = count - first;
  for (size_t i = first; i < count; i++) polynomial->coefficient[i - first] = turn ? -c[i] : c[i];
}

enum be_status be_alexander(const struct be_diagram *diagram, struct be_arena *arena,
                            struct be_polynomial *polynomial, struct be_err *err)
{
  struct fox *fox;
  uint32_t *matrix, value[CROSSINGS_MOST + 1], coefficient[PRIMES_MOST][CROSSINGS_MOST + 1];
  size_t n = diagram->crossings, needed = primes_needed(n);
  int64_t whole[CROSSINGS_MOST + 1];
  enum be_status status = prepare(diagram, arena, &fox, &matrix, err);
  *polynomial = (struct be_polynomial){.count = n == 0 && diagram->strands == 1};
  polynomial->coefficient[0] = (int64_t)polynomial->count;
  if (status != BE_OK || n == 0 || falls_apart(fox)) return status;
  for (size_t k = 0; k < needed; k++) {
    for (size_t i = 0; i < n; i++) value[i] = minor_at(fox, (uint32_t)(i + 1), primes[k], matrix);
    interpolate(value, n - 1, primes[k], coefficient[k]);
  }
  for (size_t i = 0; i < n; i++) {
    uint32_t remainder[PRIMES_MOST];
    for (size_t k = 0; k < needed; k++) remainder[k] = coefficient[k][i];
    if (!put_together(remainder, needed, &whole[i]))
      return be_fail(err, BE_TOO_LARGE, "a coefficient of the polynomial passes 63 bits");
  }
  struct be_polynomial made;
  normalise(whole, n, &made);
  if (made.count > BE_POLYNOMIAL_MAX)
    return be_fail(err, BE_TOO_LARGE, "the polynomial has %zu terms", made.count);
  *polynomial = made;
  return BE_OK;
}

enum be_status be_determinant(const struct be_diagram *diagram, struct be_arena *arena,
                              uint64_t *determinant, struct be_err *err)
{
  struct fox *fox;
  uint32_t *matrix, remainder[PRIMES_MOST];
  size_t n = diagram->crossings, needed = primes_needed(n);
  int64_t value = 0;
  enum be_status status = prepare(diagram, arena, &fox, &matrix, err);
  *determinant = n == 0 && diagram->strands == 1;
  if (status != BE_OK || n == 0 || falls_apart(fox)) return status;
  for (size_t k = 0; k < needed; k++)
    remainder[k] = minor_at(fox, primes[k] - 1, primes[k], matrix);
  if (!put_together(remainder, needed, &value))
    return be_fail(err, BE_TOO_LARGE, "the determinant passes 63 bits");
  *determinant = (uint64_t)(value < 0 ? -value : value);
  return BE_OK;
}

int be_diagram_linking(const struct be_diagram *diagram, size_t a, size_t b)
{
  int sum = 0;
  for (size_t k = 0; k < diagram->strand[a].count; k++) {
    struct be_pass one = diagram->strand[a].pass[k];
    for (size_t j = 0; j < diagram->strand[b].count; j++)
      if (diagram->strand[b].pass[j].crossing == one.crossing) sum += diagram->sign[one.crossing];
  }
  return sum / 2;
}
