/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of mixed share.
 *
 * 1. A node is a level of a random term, or a fixed column that is kept: nodes of term 0 first,
 *    then of term 1, ..., then fixed columns. It has as many columns as its term is wide, and
 *    these always stay together.
 * 2. Nodes are eliminated in the order of their places; fixed columns come last.
 * 3. Scalars are the columns in the order of places. y is one more row below them all, so that
 *    its row of the factor is the right side already solved.
 *
 *        | L' A L + I              |      A = Z'Z, L = Lambda(theta), U = (Z L, X):
 *    M = | X'Z L        X'X        |      M = U'U + I over Z, its factor is what
 *        | y'Z L        y'X    y'y |      Bates, Maechler, Bolker and Walker (2015, (18)) solve
 */
#ifndef BE_STATS_MIXED_INSIDE_H
#define BE_STATS_MIXED_INSIDE_H

#include "stats/mixed/mixed.h"

#define BE_NOBODY UINT32_MAX
enum { BE_SMALL_ROWS = 12 }; /* a column of so few numbers is small */

/* An array of the arena, zeroed; null when memory is out. */
void *be_arena_array(struct be_arena *arena, size_t count, size_t size);

/* ---- the data, seen as nodes (nodes.c) ---------------------------------- */

struct be_nodes {
  const struct be_mixed_data *data;
  uint32_t term_first[BE_MIXED_TERMS_MAX + 2]; /* first node of each term, of the fixed, the end */
  size_t count;                                /* nodes */
  size_t columns;                              /* scalars */
  size_t row_most;                             /* entries of the longest row */
  const uint32_t *kept;                        /* fixed column -> which of the kept, or BE_NOBODY */
};
/* One node's part of a row. */
struct be_entry {
  uint32_t node;
  uint32_t width;
  double value[BE_MIXED_WIDTH_MAX];
};
size_t be_nodes_term(const struct be_nodes *nodes, uint32_t node); /* term_count for the fixed */
size_t be_nodes_width(const struct be_nodes *nodes, uint32_t node);
size_t be_nodes_row(const struct be_nodes *nodes, size_t i, struct be_entry *entries);

/* ---- what was given (check.c, least.c) -------------------------------------- */

enum be_status be_mixed_check(const struct be_mixed_data *data, struct be_err *err);

/* Least squares without random terms: which columns are kept, and their coefficients. */
struct be_least {
  size_t kept;
  uint32_t *index;  /* column -> which of the kept, or BE_NOBODY */
  uint32_t *column; /* the other way */
  uint32_t *which;  /* column -> which of the dropped, or BE_NOBODY */
  double *beta;     /* of the kept */
  double *sums;     /* dropped column d is the sum of kept k times sums[d * kept + k] */
};
enum be_status be_least_squares(const struct be_mixed_data *data, struct be_arena *arena,
                                struct be_least *least, struct be_err *err);
/* Takes the fitted values away from y. */
void be_least_residuals(const struct be_mixed_data *data, const struct be_least *least,
                        const double *y, double *residuals);

/* ---- cross products (cross.c) -------------------------------------------- */

/* The lower triangle of U'U by blocks: column place k has blocks start[k] up to start[k + 1],
 * the diagonal first; a block of rows w and columns v is stored column by column. */
struct be_cross {
  size_t *start;
  uint32_t *row;  /* places */
  double *value;  /* null for the pattern alone */
  size_t *values; /* where the values of column place k begin */
};
/* place[node]; weights of rows may be null. like: one formed before from the same rows, in any
 * order; null: the pattern alone. */
enum be_status be_cross_form(const struct be_nodes *nodes, const uint32_t *place,
                             const double *weights, const struct be_cross *like,
                             struct be_arena *arena, struct be_cross *cross, struct be_err *err);

/* ---- order and factor (order.c, symbolic.c, factor.c) ---------------------- */

/* A fill-reducing order of the nodes by CAMD, fixed columns last. */
enum be_status be_order_nodes(const struct be_nodes *nodes, const struct be_cross *pattern,
                              uint32_t *place, struct be_err *err);

/* Supernodes: neighbours of one pattern, kept as dense columns of `rows` numbers each. */
struct be_super {
  uint32_t first, count;     /* places */
  uint32_t scalar, width;    /* its scalar columns */
  uint32_t rows;             /* scalar rows, own columns first, the row of y last */
  size_t rows_at, values_at; /* into rows and values */
};
struct be_factor {
  bool wide;                    /* some term has more than one column */
  size_t nodes, columns, fixed; /* fixed: scalars at the end that are fixed columns */
  uint32_t *node;               /* of each place */
  uint32_t *term;               /* of each place */
  uint32_t *scalar;             /* first scalar of each place, and one past the last */
  struct be_super *supers;
  size_t super_count;
  uint32_t *super_of; /* of each scalar */
  uint32_t *rows;
  double *values;
  size_t size;                        /* numbers in values */
  uint32_t *local, *head, *next, *at; /* scratch */
  uint32_t *block_at;  /* of each block of cross: where its first number stands in values */
  uint32_t *spread_at; /* of each supernode: where in spread its list begins, or BE_NOBODY */
  uint32_t *spread;    /* where in values the products of a small column go */
  struct be_cross cross;
  double *right; /* U'y by scalars, without Lambda */
  double square; /* y'y */
};
/* cross is in the order of places, and is from then on the factor's. */
enum be_status be_factor_plan(const struct be_nodes *nodes, const struct be_cross *cross,
                              const uint32_t *place, struct be_arena *arena,
                              struct be_factor *factor, struct be_err *err);

/* T of each term, lower triangular, rows first: tri[term][r * BE_MIXED_WIDTH_MAX + c]. */
struct be_lambda {
  double tri[BE_MIXED_TERMS_MAX + 1][BE_MIXED_WIDTH_MAX * BE_MIXED_WIDTH_MAX];
};
/* right and square from y, rows counted by weights (null: 1). */
void be_factor_load(struct be_factor *factor, const struct be_nodes *nodes, const uint32_t *place,
                    const double *y, const double *weights, struct be_entry *entries);
/* False when a pivot is not above 0. */
bool be_factor_compute(struct be_factor *factor, const struct be_lambda *lambda);
struct be_pieces {
  double log_random, log_fixed; /* log determinants of the two parts of M */
  double square;                /* penalised residual sum of squares */
};
void be_factor_pieces(const struct be_factor *factor, struct be_pieces *pieces);
/* u (and beta behind it) by scalars. */
void be_factor_solve(const struct be_factor *factor, double *solution);
/* x = L^-1 x, and x = L'^-1 x, by scalars: one after the other solve M x = v. */
void be_factor_forward(const struct be_factor *factor, double *x);
void be_factor_back(const struct be_factor *factor, double *x);
/* The inverse of the factor's fixed part times itself: (L L')^-1, p x p, by place order. */
void be_factor_fixed_inverse(const struct be_factor *factor, double *inverse, double *scratch);
/* The inverse of M (of its random part alone where with_fixed is false) into as many numbers as
 * values, at the places of the pattern; only the lower triangle. block has
 * be_factor_inverse_room numbers. */
size_t be_factor_inverse_room(const struct be_factor *factor);
void be_factor_inverse(struct be_factor *factor, bool with_fixed, double *inverse, double *block);
/* One number of it, at a place of the pattern. */
double be_factor_at(const struct be_factor *factor, const double *values, uint32_t row,
                    uint32_t column);

/* ---- the profiled deviance (profile.c, gradient.c) ---------------------------- */

struct be_profile {
  const struct be_mixed_data *data;
  bool restricted;
  double freedom; /* n - rank, or n for ML; what the weights leave where there are bounds */
  size_t parameters;
  struct be_parameter {
    uint8_t term, row, column;
  } where[BE_MIXED_THETA_MAX];
  struct be_factor factor;
  double *inverse, *block;              /* for the gradient */
  double *solution, *effects, *product; /* by scalars */
  size_t evaluations;
};
/* What the deviance is at theta, and after be_profile_slope how it changes with theta. */
struct be_point {
  struct be_pieces pieces;
  double sigma, criterion;
  double log_slope[BE_MIXED_THETA_MAX];    /* of the log determinants */
  double square_slope[BE_MIXED_THETA_MAX]; /* of the penalised sum of squares */
};
void be_profile_lambda(const struct be_profile *profile, const double *theta,
                       struct be_lambda *lambda);
/* The deviance does not change when a column of a T changes its sign, so nothing keeps theta from
 * crossing 0 in a search; afterwards every diagonal is made 0 or more. Says which parameters
 * change their sign, if anyone asks. */
void be_profile_turn(const struct be_profile *profile, double *theta, bool *turned);
/* Whether parameter i is a diagonal whose column is 0: an effect that does not scatter. */
bool be_profile_zero(const struct be_profile *profile, const double *theta, size_t i);
/* Puts columns that are all but 0 at 0 where the deviance does not rise by it. */
void be_profile_snap(const struct be_profile *profile, double *theta, double *least,
                     double (*deviance)(void *context, const double *theta), void *context);
/* False where there is no factor or nothing is left over. */
bool be_profile_at(struct be_profile *profile, const double *theta, struct be_point *point);
/* The same with the slopes. */
bool be_profile_slope(struct be_profile *profile, const double *theta, struct be_point *point);
/* The slope of the criterion itself. */
double be_point_slope(const struct be_profile *profile, const struct be_point *point, size_t i);
/* effects from the factor as it stands: Lambda u and beta behind it, by scalars; solution is u. */
void be_profile_effects(struct be_profile *profile, const struct be_lambda *lambda);
/* product = U'U x, by scalars. */
void be_cross_multiply(const struct be_factor *factor, const double *x, double *product);

/* Second derivatives, at sigma of the point, of the deviance over theta and sigma, which comes
 * last: (parameters + 1)^2 numbers. */
enum { BE_CURVATURE_MAX = (BE_MIXED_THETA_MAX + 1) * (BE_MIXED_THETA_MAX + 1) };
/* Looks at the profile a step below (side -1) and above (+1) theta in one parameter; null: nobody.
 */
struct be_visitor {
  void (*visit)(void *context, size_t parameter, int side, double step);
  void *context;
};
bool be_profile_curvature(struct be_profile *profile, const double *theta,
                          const struct be_point *point, const struct be_visitor *visitor,
                          double *curvature);

/* ---- the search (search.c, settle.c) ---------------------------------------------- */

struct be_search {
  double theta[BE_MIXED_THETA_MAX];
  bool frozen[BE_MIXED_THETA_MAX]; /* at 0, or nothing is known about it */
  struct be_point point;
  double curvature[BE_CURVATURE_MAX]; /* over theta, sigma profiled out; improved as steps are
                                       * taken; rows of parameters + 1 numbers */
  double gradient, decrement;
  const char *why; /* null: settled */
  bool indefinite; /* why: some direction does not curve up */
};
/* From several starts if need be. */
void be_search_find(struct be_profile *profile, struct be_search *search);
/* Newton's steps from where the search stands to where the deviance is flat; anew: the
 * curvature is worked out first. */
void be_search_settle(struct be_profile *profile, struct be_search *search, bool anew);
/* x = C^-1 g over what is not frozen (0 elsewhere), of the first `count` rows of a curvature of
 * `stride`; freezes what has no curvature of its own. False when C is not positive. */
bool be_search_solve(const double *c, size_t stride, size_t count, bool *frozen, const double *g,
                     double *x);

/* ---- a fit (fit.c, laplace.c, bounds.c) ----------------------------------------------------- */

struct be_mixed {
  struct be_arena *arena;
  struct be_mixed_summary summary;
  struct be_least least;
  size_t columns, term_count;
  double *beta;                       /* by column as given */
  double *base;                       /* inverse of the fixed part, by the kept, over sigma^2 */
  double *slopes[BE_MIXED_THETA_MAX]; /* how base changes with a parameter; null: frozen */
  double *spread; /* twice the inverse curvature, parameters + 1 by parameters + 1 */
  bool has_spread;
  double covariance[BE_MIXED_TERMS_MAX][BE_MIXED_WIDTH_MAX * BE_MIXED_WIDTH_MAX];
  size_t width[BE_MIXED_TERMS_MAX], levels[BE_MIXED_TERMS_MAX];
  double *mode[BE_MIXED_TERMS_MAX], *mode_variance[BE_MIXED_TERMS_MAX]; /* level by level */
  /* The factor at the end, for predictions: what be_factor_forward and _back look at. */
  struct be_factor factor;
  struct be_lambda lambda;
  uint32_t *scalar_of[BE_MIXED_TERMS_MAX + 1]; /* first scalar of each level, of each kept column */
};
/* Fills in the rest of a contrast whose value and standard error are known: t, p, interval. */
void be_contrast_finish(struct be_mixed_contrast *contrast, double df, double level);
/* df = 2 v^2 / (slope' A slope); slope over theta and sigma. */
double be_satterthwaite(const struct be_mixed *fit, const double *slope, double variance);
/* Whether a sum of coefficients means something whichever columns are left out. */
bool be_estimable(const struct be_mixed *fit, const uint32_t *column, const double *weights,
                  size_t count);

/* What a deviance with lower bounds is worked out from (laplace.c). y: what is left of it after
 * least squares; weights: what each row tells, 1 for an event. */
struct be_bounds {
  struct be_profile *profile;
  const struct be_nodes *nodes;
  const uint32_t *place;
  struct be_entry *entries;
  const double *y;
  double *weights;
  size_t count, *row;
  double *limit, *eta;       /* of each bound */
  size_t *pair_first, *pair; /* where the blocks of a bound's row stand in the cross products */
  double *value, *right;     /* of the events alone */
  double square;
};
enum be_status be_bounds_begin(struct be_bounds *bounds, struct be_arena *arena,
                               struct be_err *err);
/* Infinite where it cannot be had. */
double be_bounds_deviance(struct be_bounds *bounds, const double *theta, double sigma);
/* From the highest point to the mean, to first order: adds to the right side. */
void be_bounds_lean(struct be_bounds *bounds, const double *theta, double sigma);
/* From the search of a fit that takes bounds for events; afterwards its curvature is over theta
 * and sigma. */
void be_bounds_find(struct be_bounds *bounds, struct be_search *search);

/* What is kept of a search (outcome.c). */
struct be_outcome {
  struct be_mixed *fit;
  struct be_arena *arena;
  const struct be_nodes *nodes;
  const uint32_t *place;
  struct be_profile *profile;
  const struct be_search *search;
  struct be_bounds *bounds; /* null where there are none */
};
enum be_status be_outcome_keep(const struct be_outcome *outcome, struct be_err *err);

#endif
