/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cholesky's factor, supernode by supernode, looking left (Ng and Peyton 1993): each supernode
 * is first M's part, then less what every supernode before it takes off, then a dense factor.
 * Only columns of a few numbers, which most of a cell's are, look right.
 * Own code instead of a library's numeric part, because that brings a BLAS whose last digits
 * depend on the machine, keeps its settings for the whole process, and has no inverse at
 * the places of the pattern. Four columns are taken at a time, which spares loads and stores. */
#include "stats/mixed/inside.h"

#include <math.h>
#include <string.h>

enum { FOUR = 4, W = BE_MIXED_WIDTH_MAX };

/* ---- M's part ---- */

/* T_r' B T_c for a block of `rows` x `columns`. */
static void scale_block(const double *block, const double *tri_r, const double *tri_c, size_t rows,
                        size_t columns, double *scaled)
{
  double half[W * W];
  for (size_t c = 0; c < columns; c++)
    for (size_t r = 0; r < rows; r++) {
      double sum = 0;
      for (size_t k = r; k < rows; k++) sum += tri_r[k * W + r] * block[c * rows + k];
      half[c * rows + r] = sum;
    }
  for (size_t c = 0; c < columns; c++)
    for (size_t r = 0; r < rows; r++) {
      double sum = 0;
      for (size_t k = c; k < columns; k++) sum += half[k * rows + r] * tri_c[k * W + c];
      scaled[c * rows + r] = sum;
    }
}

static void put_blocks(struct be_factor *factor, uint32_t k, size_t columns, size_t stride,
                       const struct be_lambda *lambda)
{
  const struct be_cross *cross = &factor->cross;
  const double *block = cross->value + cross->values[k];
  const double *tri_c = lambda->tri[factor->term[k]];
  for (size_t b = cross->start[k]; b < cross->start[k + 1]; b++) {
    uint32_t place = cross->row[b];
    size_t rows = factor->scalar[place + 1] - factor->scalar[place];
    double *to = factor->values + factor->block_at[b], scaled[W * W];
    const double *tri_r = lambda->tri[factor->term[place]];
    scale_block(block, tri_r, tri_c, rows, columns, scaled);
    for (size_t c = 0; c < columns; c++)
      for (size_t r = place == k ? c : 0; r < rows; r++) to[c * stride + r] = scaled[c * rows + r];
    block += rows * columns;
  }
}

/* The same where every block is one number. */
static void put_numbers(struct be_factor *factor, uint32_t k, const struct be_lambda *lambda)
{
  const struct be_cross *cross = &factor->cross;
  const double *value = cross->value + cross->values[k] - cross->start[k];
  const double theta = lambda->tri[factor->term[k]][0];
  for (size_t b = cross->start[k]; b < cross->start[k + 1]; b++)
    factor->values[factor->block_at[b]] =
        theta * lambda->tri[factor->term[cross->row[b]]][0] * value[b];
}

static void put_super(struct be_factor *factor, const struct be_super *super,
                      const struct be_lambda *lambda)
{
  double *values = factor->values + super->values_at;
  bool random = super->scalar < factor->columns - factor->fixed;
  for (uint32_t k = super->first; k < super->first + super->count; k++) {
    size_t columns = factor->scalar[k + 1] - factor->scalar[k];
    size_t at = factor->scalar[k] - super->scalar;
    const double *tri = lambda->tri[factor->term[k]], *theirs = factor->right + factor->scalar[k];
    if (factor->wide) put_blocks(factor, k, columns, super->rows, lambda);
    else put_numbers(factor, k, lambda);
    for (size_t c = 0; c < columns; c++) {
      double *column = values + (at + c) * super->rows, right = 0;
      if (random) column[at + c] += 1;
      for (size_t r = c; r < columns; r++) right += tri[r * W + c] * theirs[r];
      column[super->rows - 1] = right;
    }
  }
}

/* ---- what earlier supernodes take off ---- */

/* to[i] -= the sum over `width` columns of from[i] times the factor in that column. */
static void take_off(double *restrict to, const double *restrict from, size_t stride, size_t width,
                     const double *factors, size_t count)
{
  size_t k = 0;
  for (; k + FOUR <= width; k += FOUR) {
    const double *a = from + k * stride, *b = a + stride, *c = b + stride, *d = c + stride;
    const double fa = factors[k * stride], fb = factors[(k + 1) * stride],
                 fc = factors[(k + 2) * stride], fd = factors[(k + 3) * stride];
    for (size_t i = 0; i < count; i++) to[i] -= (fa * a[i] + fb * b[i]) + (fc * c[i] + fd * d[i]);
  }
  for (; k < width; k++) {
    const double *a = from + k * stride, fa = factors[k * stride];
    for (size_t i = 0; i < count; i++) to[i] -= fa * a[i];
  }
}

/* The same with the targets scattered: to[local[rows[i]]]. */
static void take_off_scattered(double *restrict to, const uint32_t *restrict local,
                               const uint32_t *restrict rows, const double *restrict from,
                               size_t stride, size_t width, const double *factors, size_t count)
{
  size_t k = 0;
  for (; k + FOUR <= width; k += FOUR) {
    const double *a = from + k * stride, *b = a + stride, *c = b + stride, *d = c + stride;
    const double fa = factors[k * stride], fb = factors[(k + 1) * stride],
                 fc = factors[(k + 2) * stride], fd = factors[(k + 3) * stride];
    for (size_t i = 0; i < count; i++)
      to[local[rows[i]]] -= (fa * a[i] + fb * b[i]) + (fc * c[i] + fd * d[i]);
  }
  if (k + 2 <= width) {
    const double *a = from + k * stride, *b = a + stride;
    const double fa = factors[k * stride], fb = factors[(k + 1) * stride];
    for (size_t i = 0; i < count; i++) to[local[rows[i]]] -= fa * a[i] + fb * b[i];
    k += 2;
  }
  if (k < width) {
    const double *a = from + k * stride, fa = factors[k * stride];
    for (size_t i = 0; i < count; i++) to[local[rows[i]]] -= fa * a[i];
  }
}

/* Takes d's part off super and says up to which of d's rows it went. */
static uint32_t take_super(struct be_factor *factor, const struct be_super *super, uint32_t d)
{
  const struct be_super *from = &factor->supers[d];
  const uint32_t *rows = factor->rows + from->rows_at;
  const double *values = factor->values + from->values_at;
  uint32_t a = factor->at[d], end = super->scalar + super->width;
  bool together =
      factor->local[rows[from->rows - 1]] - factor->local[rows[a]] == from->rows - 1 - a;
  for (; rows[a] < end; a++) {
    double *to =
        factor->values + super->values_at + (size_t)(rows[a] - super->scalar) * super->rows;
    if (together)
      take_off(to + factor->local[rows[a]], values + a, from->rows, from->width, values + a,
               from->rows - a);
    else
      take_off_scattered(to, factor->local, rows + a, values + a, from->rows, from->width,
                         values + a, from->rows - a);
  }
  return a;
}

static bool finish_super(struct be_factor *factor, const struct be_super *super)
{
  double *values = factor->values + super->values_at;
  size_t rows = super->rows;
  for (size_t j = 0; j < super->width; j++) {
    double *column = values + j * rows;
    take_off(column + j, values + j, rows, j, values + j, rows - j);
    if (!(column[j] > 0) || !isfinite(column[j])) return false;
    double root = sqrt(column[j]);
    column[j] = root;
    for (size_t i = j + 1; i < rows; i++) column[i] /= root;
  }
  return true;
}

/* The supernode waits for the one that its next row belongs to; y's row waits for nobody. */
static void hang(struct be_factor *factor, uint32_t s, uint32_t at)
{
  const struct be_super *super = &factor->supers[s];
  factor->at[s] = at;
  if (at + 1 >= super->rows) return;
  uint32_t owner = factor->super_of[factor->rows[super->rows_at + at]];
  factor->next[s] = factor->head[owner];
  factor->head[owner] = s;
}

/* A small column looks right: its products go straight where they belong. */
static bool finish_small(struct be_factor *factor, uint32_t s)
{
  const struct be_super *super = &factor->supers[s];
  double *column = factor->values + super->values_at;
  const uint32_t *to = factor->spread + factor->spread_at[s];
  if (!(column[0] > 0) || !isfinite(column[0])) return false;
  double root = sqrt(column[0]), inverse = 1 / root;
  column[0] = root;
  for (uint32_t i = 1; i < super->rows; i++) column[i] *= inverse;
  for (uint32_t a = 1; a + 1 < super->rows; a++)
    for (uint32_t b = a; b < super->rows; b++) factor->values[*to++] -= column[a] * column[b];
  return true;
}

static bool finish_large(struct be_factor *factor, uint32_t s)
{
  const struct be_super *super = &factor->supers[s];
  if (factor->head[s] != BE_NOBODY)
    for (uint32_t i = 0; i < super->rows; i++) factor->local[factor->rows[super->rows_at + i]] = i;
  for (uint32_t d = factor->head[s], next; d != BE_NOBODY; d = next) {
    next = factor->next[d];
    hang(factor, d, take_super(factor, super, d));
  }
  if (!finish_super(factor, super)) return false;
  hang(factor, s, super->width);
  return true;
}

/* A small column that a large one has something to take off looks left as well. */
bool be_factor_compute(struct be_factor *factor, const struct be_lambda *lambda)
{
  memset(factor->values, 0, factor->size * sizeof *factor->values);
  for (size_t s = 0; s < factor->super_count; s++) {
    factor->head[s] = BE_NOBODY;
    put_super(factor, &factor->supers[s], lambda);
  }
  for (uint32_t s = 0; s < factor->super_count; s++) {
    bool small = factor->spread_at[s] != BE_NOBODY && factor->head[s] == BE_NOBODY;
    if (small ? !finish_small(factor, s) : !finish_large(factor, s)) return false;
  }
  return true;
}

/* ---- what is read off it ---- */

/* The logarithm of a product, a factor at a time: log itself is called only where the product
 * would leave the range of doubles soon. */
struct product {
  double value, logs;
};

static void multiply_in(struct product *product, double factor)
{
  product->value *= factor;
  if (product->value > 1e-100 && product->value < 1e100) return;
  product->logs += log(product->value);
  product->value = 1;
}

void be_factor_pieces(const struct be_factor *factor, struct be_pieces *pieces)
{
  struct product random = {1, 0}, fixed = {1, 0};
  double squares = 0, lost = 0;
  for (size_t s = 0; s < factor->super_count; s++) {
    const struct be_super *super = &factor->supers[s];
    const double *values = factor->values + super->values_at;
    struct product *product = super->scalar < factor->columns - factor->fixed ? &random : &fixed;
    for (size_t j = 0; j < super->width; j++, values += super->rows) {
      multiply_in(product, values[j]);
      double y = values[super->rows - 1], term = y * y - lost;
      double sum = squares + term;
      lost = (sum - squares) - term;
      squares = sum;
    }
  }
  pieces->log_random = 2 * (random.logs + log(random.value));
  pieces->log_fixed = 2 * (fixed.logs + log(fixed.value));
  pieces->square = factor->square - squares;
}

void be_factor_solve(const struct be_factor *factor, double *solution)
{
  for (size_t s = factor->super_count; s-- > 0;) {
    const struct be_super *super = &factor->supers[s];
    const uint32_t *rows = factor->rows + super->rows_at;
    for (size_t j = super->width; j-- > 0;) {
      const double *column = factor->values + super->values_at + j * super->rows;
      double sum = column[super->rows - 1];
      for (size_t i = j + 1; i + 1 < super->rows; i++) sum -= column[i] * solution[rows[i]];
      solution[super->scalar + j] = sum / column[j];
    }
  }
}

void be_factor_forward(const struct be_factor *factor, double *x)
{
  for (size_t s = 0; s < factor->super_count; s++) {
    const struct be_super *super = &factor->supers[s];
    const uint32_t *rows = factor->rows + super->rows_at;
    for (size_t j = 0; j < super->width; j++) {
      const double *column = factor->values + super->values_at + j * super->rows;
      double own = x[super->scalar + j];
      if (own == 0) continue;
      x[super->scalar + j] = own /= column[j];
      for (size_t i = j + 1; i + 1 < super->rows; i++) x[rows[i]] -= column[i] * own;
    }
  }
}

void be_factor_back(const struct be_factor *factor, double *x)
{
  for (size_t s = factor->super_count; s-- > 0;) {
    const struct be_super *super = &factor->supers[s];
    const uint32_t *rows = factor->rows + super->rows_at;
    for (size_t j = super->width; j-- > 0;) {
      const double *column = factor->values + super->values_at + j * super->rows;
      double sum = x[super->scalar + j];
      for (size_t i = j + 1; i + 1 < super->rows; i++) sum -= column[i] * x[rows[i]];
      x[super->scalar + j] = sum / column[j];
    }
  }
}
