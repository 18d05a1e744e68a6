/* SPDX-License-Identifier: GPL-3.0-or-later */
/* peers: seeded pulls and every figure that src/stats has of them, written down for another
 * program to work out again (peers.R). Four files in one folder:
 *
 *   pulls.csv    case,kind,set,load,bound,cause,links    what was pulled
 *   points.csv   case,kind,a,b,c,d                       arguments of figures without pulls
 *   books.csv    book,terms,y,knot,turns,line,...        pulls of the mixed models
 *   figures.csv  case,figure,value,tolerance             what came out
 *
 * A figure's name may end in " @number" where a case has several of it. */
#ifndef BE_PEERS_H
#define BE_PEERS_H

#include "stats/number/number.h"
#include "stats/stats.h"

#include <math.h>
#include <stdio.h>

enum { SETS_MAX = 6, PULLS_MAX = 64 };

/* How near the peer must come. */
enum tolerance {
  ESTIMATE, /* 1e-6 of it */
  QUANTILE, /* 1e-4 of it: ends of intervals and inverse distributions */
  CHANCE,   /* p: 1e-6, or 1e-4 of it */
  FITTED,   /* 1e-5 of it, or what the peer says where it may be 0 */
  MARGIN    /* by chance on one side at least: what the peer says */
};

struct pulls {
  char name[40];
  const char *kind;
  size_t sets, n[SETS_MAX];
  double x[SETS_MAX][PULLS_MAX];
  bool bound[SETS_MAX][PULLS_MAX];
  int cause[SETS_MAX][PULLS_MAX];
  double links[SETS_MAX][PULLS_MAX];
};

struct peers {
  FILE *pulls, *points, *books, *figures;
  const char *name; /* of the case that is told of */
};

void tell(const struct peers *peers, enum tolerance tolerance, const char *figure, double value);
void tell_at(const struct peers *peers, enum tolerance tolerance, const char *figure, double at,
             double value);
/* A figure of its own by its arguments; those not used are 0. */
void tell_point(struct peers *peers, enum tolerance tolerance, const char *kind,
                const double argument[4], double value);

/* Makes every data set, writes it and hands it to the function of its kind. */
void each_case(struct peers *peers);

void one_set(const struct peers *peers, const struct pulls *pulls);
void resampled(const struct peers *peers, const struct pulls *pulls);
void two_sets(const struct peers *peers, const struct pulls *pulls);
void paired_sets(const struct peers *peers, const struct pulls *pulls);
void many_sets(const struct peers *peers, const struct pulls *pulls);
void several_benches(const struct peers *peers, const struct pulls *pulls);
void standing_sets(const struct peers *peers, const struct pulls *pulls);
void held_sets(const struct peers *peers, const struct pulls *pulls);
void chained_sets(const struct peers *peers, const struct pulls *pulls);
void caused_set(const struct peers *peers, const struct pulls *pulls);

/* What has no pulls. */
void number_room(struct peers *peers);
void rates_and_plans(struct peers *peers);

#endif
