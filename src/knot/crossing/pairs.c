/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Gauss's integral over all pairs of edges, exact for polygons (Klenin and Langowski 2000, method
 * 1a).
 *
 * A pair counts the solid angle of the directions from one edge to the other: a quadrilateral with
 * the corners a, b, c, d. Each of its two triangles has the angle 2 arg(1 + ab + bc + ca + i [abc])
 * (Van Oosterom and Strackee 1983), and arguments of a product add, so one arctangent does for
 * both. All directions from one point are worked out once, and serve the two edges that meet there.
 */
#include "knot/crossing/inside.h"

static const double pi = 3.14159265358979323846;

/* Unit directions from one point to all of a curve, and the cosine between each and the next. */
struct row {
  double *x, *y, *z, *next;
};

static bool make_row(struct row *row, size_t n, struct be_arena *arena)
{
  double *block = be_arena_alloc(arena, 4 * (n + 1) * sizeof *block);
  *row = (struct row){block, block + (n + 1), block + 2 * (n + 1), block + 3 * (n + 1)};
  return block;
}

/* To the points from `from` on to before n. */
static void look_from(const struct be_point *p, const struct be_point *restrict to, size_t from,
                      size_t n, const struct row *row)
{
  double *restrict x = row->x, *restrict y = row->y, *restrict z = row->z;
  double *restrict next = row->next;
  for (size_t j = from; j < n; j++) {
    double dx = to[j].x - p->x, dy = to[j].y - p->y, dz = to[j].z - p->z;
    double scale = 1 / sqrt(dx * dx + dy * dy + dz * dz);
    x[j] = dx * scale;
    y[j] = dy * scale;
    z[j] = dz * scale;
  }
  for (size_t j = from; j + 1 < n; j++)
    next[j] = x[j] * x[j + 1] + y[j] * y[j + 1] + z[j] * z[j + 1];
}

/* The product of both triangles' numbers, of edges j from `from` to before `to`. */
static void multiply(const struct row *a, const struct row *d, size_t from, size_t to,
                     double *restrict real, double *restrict imaginary)
{
  const double *restrict ax = a->x, *restrict ay = a->y, *restrict az = a->z;
  const double *restrict dx = d->x, *restrict dy = d->y, *restrict dz = d->z;
  const double *restrict ab = a->next, *restrict cd = d->next;
  for (size_t j = from; j < to; j++) {
    double ux = ax[j], uy = ay[j], uz = az[j], vx = dx[j + 1], vy = dy[j + 1], vz = dz[j + 1];
    double wx = uy * vz - uz * vy, wy = uz * vx - ux * vz, wz = ux * vy - uy * vx; /* a x c */
    double ac = 1 + (ux * vx + uy * vy + uz * vz);
    double bc = ax[j + 1] * vx + ay[j + 1] * vy + az[j + 1] * vz;
    double da = dx[j] * ux + dy[j] * uy + dz[j] * uz;
    double re1 = ac + ab[j] + bc, im1 = -(ax[j + 1] * wx + ay[j + 1] * wy + az[j + 1] * wz);
    double re2 = ac + cd[j] + da, im2 = dx[j] * wx + dy[j] * wy + dz[j] * wz;
    real[j] = re1 * re2 - im1 * im2;
    imaginary[j] = re1 * im2 + im1 * re2;
  }
}

/* Angles of the products in place of `imaginary`. Of far edges they are small, and the series ends
 * within a rounding: its next term is below 2e-16 of it at a tangent of 1/64. */
static void take_angles(const double *restrict real, double *restrict imaginary,
                        double *restrict angle, size_t from, size_t to)
{
  const double small = 1.0 / 4096;
  for (size_t j = from; j < to; j++) {
    double t = imaginary[j] / real[j], s = t * t;
    angle[j] = 2 * t * (1 - s * (1.0 / 3 - s * (0.2 - s * (1.0 / 7 - s / 9))));
  }
  for (size_t j = from; j < to; j++)
    if (!(real[j] > 0 && imaginary[j] * imaginary[j] < small * (real[j] * real[j])))
      angle[j] = 2 * atan2(imaginary[j], real[j]);
}

struct sums {
  double signed_, unsigned_;
};

/* Four sums side by side, always the same ones. */
static void add_up(const double *angle, size_t from, size_t to, struct sums *sums)
{
  double plain[4] = {0}, absolute[4] = {0};
  size_t j = from;
  for (; j + 4 <= to; j += 4)
    for (int k = 0; k < 4; k++) {
      plain[k] += angle[j + (size_t)k];
      absolute[k] += fabs(angle[j + (size_t)k]);
    }
  for (; j < to; j++) {
    plain[0] += angle[j];
    absolute[0] += fabs(angle[j]);
  }
  sums->signed_ -= plain[0] + plain[1] + plain[2] + plain[3];
  sums->unsigned_ += absolute[0] + absolute[1] + absolute[2] + absolute[3];
}

/* Rows of three are kept: of the point before, of this one, and room for the products. */
static enum be_status sum_pairs(const struct be_curve *a, const struct be_curve *b,
                                struct be_arena *arena, struct sums *sums, struct be_err *err)
{
  bool same = a == b;
  size_t n = b->count + b->closed, edges = be_curve_edges(a);
  struct row row[3];
  struct be_point *to = be_arena_alloc(arena, n * sizeof *to);
  if (!to || !make_row(&row[0], n, arena) || !make_row(&row[1], n, arena) ||
      !make_row(&row[2], n, arena))
    return be_fail(err, BE_NO_MEMORY, "no memory for the pairs of edges");
  for (size_t j = 0; j < n; j++) to[j] = b->points[j % b->count];
  *sums = (struct sums){0};
  look_from(&a->points[0], to, same ? 2 : 0, n, &row[0]);
  for (size_t i = 0; i < edges; i++) {
    const struct row *p = &row[i % 2], *q = &row[(i + 1) % 2];
    size_t from = same ? i + 2 : 0, end = n - 1 - (same && i == 0 && a->closed);
    look_from(&a->points[(i + 1) % a->count], to, from, n, q);
    multiply(p, q, from, end, row[2].x, row[2].y);
    take_angles(row[2].x, row[2].y, row[2].z, from, end);
    add_up(row[2].z, from, end, sums);
  }
  return BE_OK;
}

enum be_status be_writhe_all_pairs(const struct be_curve *curve, struct be_arena *arena,
                                   double *writhe, double *average_crossings, struct be_err *err)
{
  struct sums sums;
  enum be_status status = be_curve_check(curve, err);
  if (status == BE_OK) status = sum_pairs(curve, curve, arena, &sums, err);
  if (status == BE_OK && writhe) *writhe = sums.signed_ / (2 * pi);
  if (status == BE_OK && average_crossings) *average_crossings = sums.unsigned_ / (2 * pi);
  return status;
}

enum be_status be_linking_integral(const struct be_curve *a, const struct be_curve *b,
                                   struct be_arena *arena, double *linking, struct be_err *err)
{
  struct sums sums;
  enum be_status status = be_curve_check(a, err);
  if (status == BE_OK) status = be_curve_check(b, err);
  if (status == BE_OK) status = sum_pairs(a, b, arena, &sums, err);
  if (status == BE_OK) *linking = sums.signed_ / (4 * pi);
  return status;
}
