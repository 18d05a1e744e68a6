/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The directions from one edge to another fill a quadrilateral of the sphere, with the corners a,
 * b, c, d. Each of its two triangles has the angle 2 arg(1 + ab + bc + ca + i [abc]) (Van Oosterom
 * and Strackee 1983), and arguments of a product add, so one arctangent does for both. */
#include "knot/crossing/angles.h"

void be_sight(struct be_point eye, const struct chain *chain, size_t from, size_t to,
              struct sight *sight)
{
  const double *restrict px = chain->x + from, *restrict py = chain->y + from,
                         *restrict pz = chain->z + from;
  double *restrict x = sight->x, *restrict y = sight->y, *restrict z = sight->z;
  double *restrict next = sight->next;
  size_t count = to - from;
  for (size_t j = 0; j <= count; j++) {
    double dx = px[j] - eye.x, dy = py[j] - eye.y, dz = pz[j] - eye.z;
    double scale = 1 / sqrt(dx * dx + dy * dy + dz * dz);
    x[j] = dx * scale;
    y[j] = dy * scale;
    z[j] = dz * scale;
  }
  for (size_t j = 0; j < count; j++) next[j] = x[j] * x[j + 1] + y[j] * y[j + 1] + z[j] * z[j + 1];
}

/* Arguments, twice. Of far edges they are small, and the series ends within a rounding: its next
 * term is below 1e-19 of it at a tangent of 1/64. */
static void take_angles(struct angles *angles, size_t from, size_t to)
{
  const double small = 1.0 / 4096;
  const double *restrict real = angles->real, *restrict imaginary = angles->imaginary;
  double *restrict angle = angles->angle, *restrict under = angles->under;
  for (size_t j = from; j < to; j++) {
    double t = imaginary[j] / real[j], s = t * t;
    angle[j] = 2 * t * (1 - s * (1.0 / 3 - s * (0.2 - s * (1.0 / 7 - s * (1.0 / 9)))));
    under[j] = small * (real[j] * fabs(real[j])) - imaginary[j] * imaginary[j];
  }
  for (size_t j = from; j < to; j++)
    if (!(under[j] > 0)) angle[j] = 2 * atan2(imaginary[j], real[j]);
}

/* By edge the two factors' product. Nothing written is read here, which compilers believe of
 * arguments alone, and only then work several edges at a time; nor do they count from but 0. */
static void multiply(const struct sight *restrict a, const struct sight *restrict d, size_t from,
                     size_t count, double *restrict real, double *restrict imaginary)
{
  const double *ax = a->x + from, *ay = a->y + from, *az = a->z + from, *ab = a->next + from;
  const double *dx = d->x + from, *dy = d->y + from, *dz = d->z + from, *cd = d->next + from;
  for (size_t j = 0; j < count; j++) {
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

void be_angles_between(struct angles *angles, const struct sight *a, const struct sight *d,
                       size_t from, size_t to)
{
  multiply(a, d, from, to - from, angles->real + from, angles->imaginary + from);
  take_angles(angles, from, to);
}

double be_angle_of_fan(struct angles *angles, struct be_point eye, const struct chain *chain,
                       size_t from, size_t to)
{
  struct sight *sight = &angles->sight[0];
  be_sight(eye, chain, from, to, sight);
  const double *restrict x = sight->x, *restrict y = sight->y, *restrict z = sight->z;
  const double *restrict next = sight->next;
  double *restrict real = angles->real, *restrict imaginary = angles->imaginary;
  double sum = 0, ax = x[0], ay = y[0], az = z[0];
  size_t count = to - from;
  for (size_t j = 0; j < count; j++) {
    double wx = y[j] * z[j + 1] - z[j] * y[j + 1], wy = z[j] * x[j + 1] - x[j] * z[j + 1];
    double wz = x[j] * y[j + 1] - y[j] * x[j + 1];
    real[j] = 1 + next[j] + (ax * x[j] + ay * y[j] + az * z[j]) +
              (ax * x[j + 1] + ay * y[j + 1] + az * z[j + 1]);
    imaginary[j] = ax * wx + ay * wy + az * wz;
  }
  take_angles(angles, 0, count);
  for (size_t j = 0; j < count; j++) sum += angles->angle[j];
  return sum;
}
