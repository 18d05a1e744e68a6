/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The inverse of M where the factor has numbers, from the last column to the first (Takahashi,
 * Fagan and Chin 1973; Erisman and Tinney 1975): with the rows R below the columns J of a
 * supernode and V = L_RJ L_JJ^-1,
 *     S_RJ = -S_RR V,   S_JJ = (L_JJ L_JJ')^-1 - V' S_RJ,
 * where S_RR is known and lies in the pattern. */
#include "stats/mixed/inside.h"

#include <assert.h>

static double dot(const double *a, const double *b, size_t count)
{
  double sum[4] = {0, 0, 0, 0};
  size_t i = 0;
  for (; i + 4 <= count; i += 4)
    for (size_t k = 0; k < 4; k++) sum[k] += a[i + k] * b[i + k];
  for (; i < count; i++) sum[0] += a[i] * b[i];
  return (sum[0] + sum[1]) + (sum[2] + sum[3]);
}

/* The first of rows[from..count) that is row; it is there. */
static size_t find_row(const uint32_t *rows, size_t from, size_t count, uint32_t row)
{
  size_t low = from, high = count;
  while (low < high) {
    size_t middle = low + (high - low) / 2;
    if (rows[middle] < row) low = middle + 1;
    else high = middle;
  }
  assert(low < count && rows[low] == row);
  return low;
}

struct part {
  const struct be_super *super;
  const uint32_t *rows; /* below its own columns */
  size_t count;         /* of these, without y and what is left out */
  const double *values; /* of the factor */
  double *inverse;
  double *v; /* count x width, column by column */
};

static void fill_v(const struct part *part)
{
  size_t width = part->super->width, stride = part->super->rows;
  for (size_t j = width; j-- > 0;) {
    double *v = part->v + j * part->count;
    const double *column = part->values + j * stride;
    for (size_t i = 0; i < part->count; i++) v[i] = column[width + i];
    for (size_t k = j + 1; k < width; k++)
      for (size_t i = 0; i < part->count; i++) v[i] -= column[k] * part->v[k * part->count + i];
    for (size_t i = 0; i < part->count; i++) v[i] /= column[j];
  }
}

/* S_RJ = -S_RR V, S_RR read column by column. */
static void multiply(const struct be_factor *factor, const struct part *part, double *inverse,
                     uint32_t *found)
{
  size_t width = part->super->width, stride = part->super->rows, count = part->count;
  const struct be_super *owner = NULL;
  for (size_t c = 0; c < count; c++) {
    const struct be_super *here = &factor->supers[factor->super_of[part->rows[c]]];
    const uint32_t *rows = factor->rows + here->rows_at;
    for (size_t r = c, from = 0; r < count && here != owner; r++)
      from = found[r] = (uint32_t)find_row(rows, from, here->rows, part->rows[r]);
    owner = here;
    const double *s =
        inverse + here->values_at + (size_t)(part->rows[c] - here->scalar) * here->rows;
    for (size_t j = 0; j < width; j++) {
      const double *v = part->v + j * count;
      double *to = part->inverse + j * stride + width, sum = s[found[c]] * v[c];
      for (size_t r = c + 1; r < count; r++) {
        double value = s[found[r]];
        to[r] -= value * v[c];
        sum += value * v[r];
      }
      to[c] -= sum;
    }
  }
}

/* L_JJ^-1 into `own`, column by column; then S_JJ, lower. */
static void fill_diagonal(const struct part *part, double *own)
{
  size_t width = part->super->width, stride = part->super->rows;
  for (size_t j = 0; j < width; j++) {
    double *x = own + j * width;
    for (size_t r = 0; r < width; r++) x[r] = r == j;
    for (size_t c = j; c < width; c++) {
      const double *column = part->values + c * stride;
      x[c] /= column[c];
      for (size_t r = c + 1; r < width; r++) x[r] -= column[r] * x[c];
    }
  }
  for (size_t b = 0; b < width; b++)
    for (size_t a = b; a < width; a++)
      part->inverse[b * stride + a] =
          dot(own + a * width + a, own + b * width + a, width - a) -
          dot(part->v + a * part->count, part->inverse + b * stride + width, part->count);
}

/* A small column: where S_RR stands is where its products went. */
static void invert_small(const struct part *part, const uint32_t *at, const double *inverse)
{
  size_t rows = part->super->rows;
  double own = 1 / part->values[0], sum = 0, *v = part->v, *to = part->inverse;
  for (size_t a = 1; a <= part->count; a++) v[a] = part->values[a] * own;
  for (size_t a = 1; a <= part->count; at += rows - a, a++) {
    double mine = inverse[at[0]] * v[a];
    for (size_t b = a + 1; b <= part->count; b++) {
      double value = inverse[at[b - a]];
      to[b] -= value * v[a];
      mine += value * v[b];
    }
    to[a] -= mine;
  }
  for (size_t a = 1; a <= part->count; a++) sum += v[a] * to[a];
  to[0] = own * own - sum;
}

size_t be_factor_inverse_room(const struct be_factor *factor)
{
  size_t most = 0;
  for (size_t s = 0; s < factor->super_count; s++) {
    const struct be_super *super = &factor->supers[s];
    size_t room = (size_t)super->rows * super->width;
    if (room > most) most = room;
  }
  return most;
}

void be_factor_inverse(struct be_factor *factor, bool with_fixed, double *inverse, double *block)
{
  uint32_t end = (uint32_t)(factor->columns - (with_fixed ? 0 : factor->fixed));
  for (size_t s = factor->super_count; s-- > 0;) {
    const struct be_super *super = &factor->supers[s];
    if (super->scalar >= end) continue;
    struct part part = {.super = super,
                        .rows = factor->rows + super->rows_at + super->width,
                        .count = super->rows - super->width - 1,
                        .values = factor->values + super->values_at,
                        .inverse = inverse + super->values_at,
                        .v = block};
    while (part.count > 0 && part.rows[part.count - 1] >= end) part.count--;
    for (size_t i = 0; i < (size_t)super->rows * super->width; i++) part.inverse[i] = 0;
    if (factor->spread_at[s] != BE_NOBODY) {
      invert_small(&part, factor->spread + factor->spread_at[s], inverse);
      continue;
    }
    fill_v(&part);
    multiply(factor, &part, inverse, factor->local);
    fill_diagonal(&part, block + part.count * super->width);
  }
}

double be_factor_at(const struct be_factor *factor, const double *values, uint32_t row,
                    uint32_t column)
{
  if (row < column) {
    uint32_t other = row;
    row = column;
    column = other;
  }
  const struct be_super *super = &factor->supers[factor->super_of[column]];
  size_t at = find_row(factor->rows + super->rows_at, 0, super->rows, row);
  return values[super->values_at + (size_t)(column - super->scalar) * super->rows + at];
}

/* ---- the fixed part alone ---- */

/* L by rows, its inverse W by columns, then W'W. */
void be_factor_fixed_inverse(const struct be_factor *factor, double *inverse, double *scratch)
{
  size_t p = factor->fixed, begin = factor->columns - p;
  double *lower = scratch, *w = scratch + p * p;
  for (size_t i = 0; i < 2 * p * p; i++) scratch[i] = 0;
  for (size_t s = factor->super_count; s-- > 0 && factor->supers[s].scalar >= begin;) {
    const struct be_super *super = &factor->supers[s];
    for (size_t j = 0; j < super->width; j++)
      for (size_t i = j; i + 1 < super->rows; i++)
        lower[(factor->rows[super->rows_at + i] - begin) * p + super->scalar + j - begin] =
            factor->values[super->values_at + j * super->rows + i];
  }
  for (size_t j = 0; j < p; j++) {
    double *x = w + j * p;
    x[j] = 1 / lower[j * p + j];
    for (size_t r = j + 1; r < p; r++)
      x[r] = -dot(lower + r * p + j, x + j, r - j) / lower[r * p + r];
  }
  for (size_t a = 0; a < p; a++)
    for (size_t b = 0; b <= a; b++)
      inverse[a * p + b] = inverse[b * p + a] = dot(w + a * p + a, w + b * p + a, p - a);
}
