/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The fixed columns by themselves. The mixed model then works on what least squares leaves of
 * y, so that a large mean common to all pulls costs no digits. */
#include "stats/mixed/inside.h"

#include <math.h>

/* A column counts as a sum of earlier ones when less than this share of its sum of squares is
 * its own: a sine of 1e-5. The squares of a column of 1e6 rows are summed to about 1e-13. */
static const double own_share = 1e-10;

struct normal {
  const struct be_mixed_data *data;
  struct be_least *least;
  size_t columns;
  double *gram;  /* X'X, columns x columns, lower */
  double *lower; /* its factor, row r of the kept at lower[r * columns] */
  double *right;
};

static double number(const struct be_mixed_design *fixed, size_t k)
{
  return fixed->value ? fixed->value[k] : 1;
}

static void form_gram(struct normal *normal)
{
  const struct be_mixed_design *fixed = &normal->data->fixed;
  for (size_t i = 0; i < normal->data->n; i++)
    for (size_t k = fixed->start[i]; k < fixed->start[i + 1]; k++) {
      double *row = normal->gram + fixed->column[k] * normal->columns;
      double value = number(fixed, k);
      for (size_t j = fixed->start[i]; j <= k; j++)
        row[fixed->column[j]] += value * number(fixed, j);
    }
}

/* x is L^-1 x or L'^-1 x, over the first `count` of the kept. */
static void solve_forward(const struct normal *normal, double *x, size_t count)
{
  for (size_t r = 0; r < count; r++) {
    const double *row = normal->lower + r * normal->columns;
    double sum = x[r];
    for (size_t c = 0; c < r; c++) sum -= row[c] * x[c];
    x[r] = sum / row[r];
  }
}

static void solve_back(const struct normal *normal, double *x, size_t count)
{
  for (size_t r = count; r-- > 0;) {
    const double *row = normal->lower + r * normal->columns;
    x[r] /= row[r];
    for (size_t c = 0; c < r; c++) x[c] -= row[c] * x[r];
  }
}

/* What column j is the sum of, into its row of gram. A part of less than 1e-7 of the column is
 * what rounding left of none. */
static void take_sum(struct normal *normal, size_t j, size_t kept)
{
  double *row = normal->lower + kept * normal->columns, *gram = normal->gram + j * normal->columns;
  double size = gram[j];
  solve_back(normal, row, kept);
  for (size_t k = 0; k < normal->columns; k++) gram[k] = 0;
  for (size_t k = 0; k < kept; k++) {
    size_t column = normal->least->column[k];
    double own = normal->gram[column * normal->columns + column];
    if (row[k] * row[k] * own > 1e-14 * size) gram[k] = row[k];
  }
}

/* Cholesky's factor by rows, in the order given: a row whose pivot is nothing belongs to a
 * column that earlier ones make up. Its coefficients take the place of its row of gram. */
static size_t factor_gram(struct normal *normal)
{
  struct be_least *least = normal->least;
  size_t kept = 0, dropped = 0;
  for (size_t j = 0; j < normal->columns; j++) {
    double *row = normal->lower + kept * normal->columns;
    double *gram = normal->gram + j * normal->columns, own = gram[j];
    for (size_t k = 0; k < kept; k++) row[k] = gram[least->column[k]];
    solve_forward(normal, row, kept);
    for (size_t k = 0; k < kept; k++) own -= row[k] * row[k];
    least->index[j] = least->which[j] = BE_NOBODY;
    if (own > own_share * gram[j]) {
      row[kept] = sqrt(own);
      least->column[kept] = (uint32_t)j;
      least->index[j] = (uint32_t)kept++;
    } else {
      take_sum(normal, j, kept);
      least->which[j] = (uint32_t)dropped++;
    }
  }
  return kept;
}

void be_least_residuals(const struct be_mixed_data *data, const struct be_least *least,
                        const double *y, double *residuals)
{
  const struct be_mixed_design *fixed = &data->fixed;
  for (size_t i = 0; i < data->n; i++) {
    double fitted = 0;
    for (size_t k = fixed->start[i]; k < fixed->start[i + 1]; k++) {
      uint32_t which = least->index[fixed->column[k]];
      if (which != BE_NOBODY) fitted += number(fixed, k) * least->beta[which];
    }
    residuals[i] = y[i] - fitted;
  }
}

/* Twice: the second time from what the first left, which gives back the digits that the normal
 * equations lose. */
static void solve_twice(struct normal *normal, double *residuals)
{
  const struct be_mixed_data *data = normal->data;
  struct be_least *least = normal->least;
  for (int time = 0; time < 2; time++) {
    be_least_residuals(data, least, data->y, residuals);
    for (size_t k = 0; k < least->kept; k++) normal->right[k] = 0;
    for (size_t i = 0; i < data->n; i++)
      for (size_t k = data->fixed.start[i]; k < data->fixed.start[i + 1]; k++) {
        uint32_t which = least->index[data->fixed.column[k]];
        if (which != BE_NOBODY) normal->right[which] += number(&data->fixed, k) * residuals[i];
      }
    solve_forward(normal, normal->right, least->kept);
    solve_back(normal, normal->right, least->kept);
    for (size_t k = 0; k < least->kept; k++) least->beta[k] += normal->right[k];
  }
}

static enum be_status keep_sums(const struct normal *normal, struct be_arena *arena,
                                struct be_err *err)
{
  struct be_least *least = normal->least;
  size_t dropped = normal->columns - least->kept;
  least->sums = be_arena_array(arena, dropped * least->kept, sizeof *least->sums);
  if (!least->sums) return be_fail(err, BE_NO_MEMORY, "no memory for the columns left out");
  for (size_t j = 0; j < normal->columns; j++)
    for (size_t k = 0; k < least->kept && least->which[j] != BE_NOBODY; k++)
      least->sums[least->which[j] * least->kept + k] = normal->gram[j * normal->columns + k];
  return BE_OK;
}

enum be_status be_least_squares(const struct be_mixed_data *data, struct be_arena *arena,
                                struct be_least *least, struct be_err *err)
{
  size_t p = data->fixed.columns;
  struct normal normal = {data, least, p, NULL, NULL, NULL};
  enum be_status status = BE_NO_MEMORY;
  double *residuals = be_alloc_array(data->n, sizeof *residuals);
  normal.gram = be_alloc_array(p * p, sizeof *normal.gram);
  normal.lower = be_alloc_array((p + 1) * p, sizeof *normal.lower);
  normal.right = be_alloc_array(p, sizeof *normal.right);
  least->index = be_arena_array(arena, p, sizeof *least->index);
  least->column = be_arena_array(arena, p, sizeof *least->column);
  least->which = be_arena_array(arena, p, sizeof *least->which);
  least->beta = be_arena_array(arena, p, sizeof *least->beta);
  if (!residuals || !normal.gram || !normal.lower || !normal.right || !least->index ||
      !least->column || !least->which || !least->beta) {
    be_fail(err, status, "no memory for %zu fixed columns", p);
    goto done;
  }
  form_gram(&normal);
  least->kept = factor_gram(&normal);
  solve_twice(&normal, residuals);
  status = keep_sums(&normal, arena, err);
done:
  be_free(normal.right);
  be_free(normal.lower);
  be_free(normal.gram);
  be_free(residuals);
  return status;
}
