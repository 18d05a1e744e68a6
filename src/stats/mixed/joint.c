/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Several sums at once: turned so that they are uncorrelated, each is a contrast of its own. */
#include "stats/mixed/inside.h"
#include "stats/number/number.h"

#include <assert.h>
#include <math.h>

struct rows {
  const struct be_mixed *fit;
  size_t count, columns;
  const double *weights;
  double *matrix, *vectors; /* count x count: covariance of the sums; its eigenvectors, by rows */
  double *turned;           /* a row of weights */
  uint32_t *column;         /* 0, 1, 2, ... */
};

/* a' B b over what is kept, over sigma^2. */
static double product(const struct be_mixed *fit, const double *a, const double *b)
{
  const struct be_least *least = &fit->least;
  double sum = 0;
  for (size_t i = 0; i < least->kept; i++) {
    double of_a = a[least->column[i]], row = 0;
    if (of_a == 0) continue;
    for (size_t j = 0; j < least->kept; j++)
      row += fit->base[i * least->kept + j] * b[least->column[j]];
    sum += of_a * row;
  }
  return sum;
}

/* ---- eigenvectors by Jacobi's rotations (Golub and Van Loan, Matrix Computations, 8.5) ---- */

static void rotate(double *a, double *v, size_t n, size_t p, size_t q)
{
  double spread = (a[q * n + q] - a[p * n + p]) / (2 * a[p * n + q]);
  double t = (spread < 0 ? -1 : 1) / (fabs(spread) + sqrt(1 + spread * spread));
  double c = 1 / sqrt(1 + t * t), s = t * c;
  for (size_t i = 0; i < n; i++) {
    double one = a[i * n + p], two = a[i * n + q];
    a[i * n + p] = c * one - s * two;
    a[i * n + q] = s * one + c * two;
  }
  for (size_t i = 0; i < n; i++) {
    double one = a[p * n + i], two = a[q * n + i];
    a[p * n + i] = c * one - s * two;
    a[q * n + i] = s * one + c * two;
    one = v[p * n + i];
    two = v[q * n + i];
    v[p * n + i] = c * one - s * two;
    v[q * n + i] = s * one + c * two;
  }
}

/* 1e-15 of the diagonal is a few roundings of it. It converges quadratically: ten sweeps are more
 * than enough, thirty cannot be reached. */
static void find_vectors(double *a, double *v, size_t n)
{
  enum { SWEEPS = 30 };
  for (size_t i = 0; i < n * n; i++) v[i] = i / n == i % n;
  bool turned = true;
  for (int sweep = 0; sweep < SWEEPS && turned; sweep++) {
    turned = false;
    for (size_t p = 0; p < n; p++)
      for (size_t q = p + 1; q < n; q++) {
        double size = sqrt(fabs(a[p * n + p] * a[q * n + q]));
        if (fabs(a[p * n + q]) <= 1e-15 * size || a[p * n + q] == 0) continue;
        rotate(a, v, n, p, q);
        turned = true;
      }
  }
}

/* ---- the test ---- */

/* Fai and Cornelius (1996), section 2; with equal df they are these themselves. */
static double denominator(double sum, double least, double most, size_t df1)
{
  if (isnan(sum)) return NAN;
  if (most - least <= 1e-8 * most) return least;
  if (least <= 2) return 2;
  return 2 * sum / (sum - (double)df1);
}

/* Of rows that hang together the eigenvalues are 0 but for rounding. */
static void test(const struct rows *rows, struct be_mixed_joint *joint)
{
  size_t n = rows->count;
  double largest = 0, squares = 0, sum = 0, least = INFINITY, most = 0;
  for (size_t i = 0; i < n; i++) largest = fmax(largest, rows->matrix[i * n + i]);
  joint->df1 = 0;
  for (size_t i = 0; i < n; i++) {
    if (!(rows->matrix[i * n + i] > 1e-10 * largest)) continue;
    for (size_t j = 0; j < rows->columns; j++) {
      rows->turned[j] = 0;
      for (size_t k = 0; k < n; k++)
        rows->turned[j] += rows->vectors[i * n + k] * rows->weights[k * rows->columns + j];
    }
    struct be_mixed_contrast one;
    be_mixed_contrast(rows->fit, rows->column, rows->turned, rows->columns, 0.95, &one);
    joint->df1++;
    squares += one.t * one.t;
    sum += one.df > 2 ? one.df / (one.df - 2) : isnan(one.df) ? NAN : 0;
    least = fmin(least, one.df);
    most = fmax(most, one.df);
  }
  if (joint->df1 == 0) return;
  joint->df2 = denominator(sum, least, most, joint->df1);
  joint->F = squares / (double)joint->df1;
  if (joint->df2 > 0) joint->p = be_f_upper(joint->F, (double)joint->df1, joint->df2);
}

enum be_status be_mixed_joint(const struct be_mixed *fit, const double *weights, size_t count,
                              struct be_mixed_joint *joint, struct be_err *err)
{
  assert(count > 0 && count <= BE_MIXED_JOINT_MAX);
  size_t columns = fit->columns;
  *joint = (struct be_mixed_joint){true, 0, NAN, NAN, NAN};
  struct rows rows = {fit, count, columns, weights, NULL, NULL, NULL, NULL};
  rows.matrix = be_alloc_array(count * count, sizeof *rows.matrix);
  rows.vectors = be_alloc_array(count * count, sizeof *rows.vectors);
  rows.turned = be_alloc_array(columns, sizeof *rows.turned);
  rows.column = be_alloc_array(columns, sizeof *rows.column);
  enum be_status status = BE_OK;
  if (!rows.matrix || !rows.vectors || !rows.turned || !rows.column) {
    status = be_fail(err, BE_NO_MEMORY, "no memory to test several contrasts at once");
    goto done;
  }
  for (size_t j = 0; j < columns; j++) rows.column[j] = (uint32_t)j;
  for (size_t i = 0; i < count; i++)
    joint->estimable &= be_estimable(fit, rows.column, weights + i * columns, columns);
  if (!joint->estimable) goto done;
  for (size_t a = 0; a < count; a++)
    for (size_t b = 0; b <= a; b++)
      rows.matrix[a * count + b] = rows.matrix[b * count + a] =
          product(fit, weights + a * columns, weights + b * columns);
  find_vectors(rows.matrix, rows.vectors, count);
  test(&rows, joint);
done:
  be_free(rows.matrix);
  be_free(rows.vectors);
  be_free(rows.turned);
  be_free(rows.column);
  return status;
}
