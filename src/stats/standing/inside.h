/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of this folder share: the knots that are known, and draws about them. */
#ifndef BE_STATS_STANDING_INSIDE_H
#define BE_STATS_STANDING_INSIDE_H

#include "stats/standing/standing.h"

enum { BE_KNOTS_MAX = 1000 };

/* The sampling distribution of the knots that are known, in their order. */
struct be_cloud {
  size_t count;
  size_t *knot;     /* index of each in the standing */
  double *value;    /* count */
  double *variance; /* count x count */
  double *root;     /* count x count, lower: variance = root root' */
  double df;
};

/* Takes heap; be_cloud_free whatever the status. */
enum be_status be_cloud_make(const struct be_standing *standing, struct be_cloud *cloud,
                             struct be_err *err);
void be_cloud_free(struct be_cloud *cloud);
/* Whether there is drawing enough but not too much for these knots. */
enum be_status be_cloud_bear(const struct be_cloud *cloud, const struct be_resampling *by,
                             struct be_err *err);

/* Draw `stream` of multivariate t deviations (normal over one common scale) into count numbers. */
void be_cloud_draw(const struct be_cloud *cloud, uint64_t seed, uint64_t stream, double *drawn);

#endif
