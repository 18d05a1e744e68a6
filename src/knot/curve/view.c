/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/curve/vector.h"

const struct be_view be_view_top = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};

struct be_view be_view_of(double turn_deg, double tilt_deg)
{
  const double degree = 3.14159265358979323846 / 180;
  double c = cos(turn_deg * degree), s = sin(turn_deg * degree);
  double d = cos(tilt_deg * degree), t = sin(tilt_deg * degree);
  return (struct be_view){{c, s, 0}, {-s * d, c * d, t}, {s * t, -c * t, d}};
}

/* A rotation by a unit quaternion of four normal numbers (Muller 1959). */
struct be_view be_view_random(struct be_random *random)
{
  double q[4], sum = 0;
  for (int i = 0; i < 4; i++) {
    q[i] = be_random_normal(random);
    sum += q[i] * q[i];
  }
  if (!(sum > 1e-12)) return be_view_top;
  for (int i = 0; i < 4; i++) q[i] /= sqrt(sum);
  double w = q[0], x = q[1], y = q[2], z = q[3];
  return (struct be_view){
      {1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)},
      {2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)},
      {2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)},
  };
}

/* The rows of one rotation seen through another. */
static struct be_view turned(const struct be_view *view, const struct be_view *by)
{
  const double *rows[3] = {by->right, by->up, by->eye};
  struct be_view to;
  double *out[3] = {to.right, to.up, to.eye};
  for (int r = 0; r < 3; r++)
    for (int k = 0; k < 3; k++)
      out[r][k] =
          rows[r][0] * view->right[k] + rows[r][1] * view->up[k] + rows[r][2] * view->eye[k];
  return to;
}

struct be_view be_view_tilted(const struct be_view *view, double towards_deg, double angle_deg)
{
  const double degree = 3.14159265358979323846 / 180;
  double c = cos(towards_deg * degree), s = sin(towards_deg * degree), d = cos(angle_deg * degree),
         t = sin(angle_deg * degree);
  /* About the axis (-s, c, 0) (Rodrigues). */
  struct be_view by = {{d + s * s * (1 - d), -s * c * (1 - d), c * t},
                       {-s * c * (1 - d), d + c * c * (1 - d), s * t},
                       {-c * t, -s * t, d}};
  return turned(view, &by);
}

struct be_point be_view_point(const struct be_view *v, const struct be_point *p)
{
  return (struct be_point){
      v->right[0] * p->x + v->right[1] * p->y + v->right[2] * p->z,
      v->up[0] * p->x + v->up[1] * p->y + v->up[2] * p->z,
      v->eye[0] * p->x + v->eye[1] * p->y + v->eye[2] * p->z,
  };
}
