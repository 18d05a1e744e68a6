/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Angles that edges fill, seen from one another. Points stand by coordinate, so that loops over
 * them are worked several at a time. */
#ifndef BE_KNOT_CROSSING_ANGLES_H
#define BE_KNOT_CROSSING_ANGLES_H

#include "knot/curve/vector.h"

/* Points in a row; edge j goes from point j to the next. */
struct chain {
  double *x, *y, *z;
  size_t edges;
};

static inline struct be_point chain_point(const struct chain *chain, size_t i)
{
  return (struct be_point){chain->x[i], chain->y[i], chain->z[i]};
}

/* Room for what is seen of up to CHAIN_SEEN edges. */
enum { CHAIN_SEEN = 1024 };
struct sight {
  double x[CHAIN_SEEN + 1], y[CHAIN_SEEN + 1], z[CHAIN_SEEN + 1], next[CHAIN_SEEN + 1];
};
struct angles {
  struct sight sight[2];
  double real[CHAIN_SEEN], imaginary[CHAIN_SEEN], under[CHAIN_SEEN], angle[CHAIN_SEEN];
};

/* Unit directions from a point to the points from `from` to `to`, itself too, and the cosine
 * between each and the next. */
void be_sight(struct be_point eye, const struct chain *chain, size_t from, size_t to,
              struct sight *sight);
/* By edge of those seen, the solid angle of all directions to it from another edge, from whose ends
 * the sights are; in ->angle. */
void be_angles_between(struct angles *angles, const struct sight *first, const struct sight *last,
                       size_t from, size_t to);
/* The solid angle of the surface of triangles that have the first point of a piece of a chain as
 * their common corner. */
double be_angle_of_fan(struct angles *angles, struct be_point eye, const struct chain *chain,
                       size_t from, size_t to);

#endif
