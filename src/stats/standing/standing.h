/* SPDX-License-Identifier: GPL-3.0-or-later */
/* standing: which knots can be told apart, how sure the top places are, what to tie next,
 * and when to stop. It takes estimates as they are, whatever model they come from. */
#ifndef BE_STATS_STANDING_H
#define BE_STATS_STANDING_H

#include "stats/sample/sample.h"

/* Knots with their estimates. Shared plain lines make covariances. Strongest is greatest. */
struct be_standing {
  size_t count;        /* at most 1000 */
  const double *value; /* log strength; not-a-number where there is none */
  /* count x count. Where the diagonal is not-a-number the knot's variance is unknown, and its row
   * and column are not looked at. */
  const double *covariance;
  double df; /* of the scale that all variances share; the smallest where they have several;
                infinity when they are exact */
};

/* Whether the covariance can be one: symmetric, no correlation beyond 1, positive semi-definite
 * (rounding is borne: 1e-9 of the variances). BAD_INPUT names the pair. Takes heap. */
enum be_status be_standing_check(const struct be_standing *standing, struct be_err *err);

/* ---- rank sets (rank_sets.c) --------------------------------------------------------- */

/* Differences are taken as apart from 0 by |difference| > critical * its standard error. */
enum be_separation {
  BE_SEPARATE_BONFERRONI, /* t at the level shared out; needs no drawing */
  BE_SEPARATE_JOINT,      /* the greatest |t| of all, drawn from the multivariate t */
  BE_SEPARATE_STEPWISE    /* the same again for what is left, until nothing more is apart */
};

struct be_rank_set {
  size_t rank;      /* by value, 1 = strongest; 0 without a value */
  size_t low, high; /* the rank lies here, at the level */
  double critical;  /* of the last step; not-a-number without a known rival */
  bool known;       /* false: no value or no variance, so that the set is 1 to count */
};

/* Confidence sets for ranks (Mogstad, Romano, Shaikh and Wilhelm, Rev. Econ. Stud. 91, 2024).
 * together: at the level all sets hold at once; else each by itself. A knot that is not known
 * is told apart from none. A difference without variance tells nothing, and is not apart. apart is
 * count x count or null: [a * count + b] is whether a and b are apart for the set of a; symmetric,
 * and fit for be_letters, only when `together`. sets and apart are written on success only.
 * The same seed gives the same bits for any number of threads. Takes heap. Errors: WRONG_USE for a
 * level outside (0, 1) or too few drawings for it (at least level / (1 - level)); BAD_INPUT as
 * be_standing_check, or df that is not above 0; TOO_LARGE beyond 1000 knots or
 * BE_STANDING_DRAWS_MAX numbers drawn (knots x times); NO_MEMORY. */
enum { BE_STANDING_DRAWS_MAX = 32000000 };
enum be_status be_rank_sets(const struct be_standing *standing, enum be_separation how,
                            bool together, const struct be_resampling *by, struct be_rank_set *sets,
                            bool *apart, struct be_err *err);

/* ---- top places (chances.c) ------------------------------------------------------------ */

/* Chances over the sampling distribution about the estimates (a flat prior's posterior), among the
 * knots that are known; of the others not-a-number. error is one standard deviation of
 * the drawing, from (hits + 1) / (times + 2), so that it is never 0. */
struct be_chance {
  bool known;
  double best, best_error;
  double top, top_error; /* among the first `top` */
  double mean_rank;
};
/* Ties by index. The level of `by` is not looked at. Takes heap; errors as be_rank_sets, and
 * WRONG_USE for no drawing or no place. */
enum be_status be_chances(const struct be_standing *standing, size_t top,
                          const struct be_resampling *by, struct be_chance *chances,
                          struct be_err *err);

/* ---- what to tie next (next.c) ---------------------------------------------------------- */

/* Pulls of one kind: a knot in a combination, or the plain line of a spool. */
struct be_next_cell {
  double deviation; /* of the log load of one pull: see be_next_deviation; > 0 */
  size_t n;         /* pulled so far */
  size_t least;     /* pulled at least, before anything else; 2 if in doubt */
  size_t most;      /* never beyond (line on hand) */
  double cost;      /* bench minutes of one pull; > 0 */
};

/* A cell's deviation drawn towards that of all cells, which counts for BE_NEXT_DRAWN pulls: by
 * its own a cell of few pulls that happen to agree would look settled. pooled: the root of the mean
 * square within all cells; own may be of no pull, and is then not looked at. */
enum { BE_NEXT_DRAWN = 4 };
double be_next_deviation(const struct be_summary *own, double pooled);

/* A knot's figure is a weighted sum of cell means, so that a plain line may serve many knots,
 * with a negative weight, and cancels where two knots share it. */
struct be_next_state {
  size_t knots, cells;
  const double *value;             /* knots; not-a-number where a cell is still empty */
  const double *weights;           /* knots x cells */
  const struct be_next_cell *cell; /* cells */
  double df;                       /* of the deviations; infinity when known */
};

enum be_question_kind { BE_QUESTION_TOP, BE_QUESTION_PAIR };
struct be_question {
  enum be_question_kind kind;
  size_t top;  /* TOP: which are the first `top`, 0 < top < knots */
  size_t a, b; /* PAIR: which of two is stronger */
};

struct be_next {
  size_t cell;
  size_t n;     /* pulls of it when this is done */
  bool minimum; /* tied because the cell had fewer than its least: no gain can be told */
  double gain;  /* the fall of `wrong`; not-a-number for a minimum */
  double wrong; /* after it, as be_next_wrong */
};

/* Chance that the answer read off the values is wrong: of a pair the t tail beyond its
 * difference; of the first `top` what the pairs (one of them, one of the others) come to, which is
 * at most so much, but for knots that go against one another. A knot with an empty cell or no value
 * is left out; not-a-number when too few are left to answer. Takes heap; errors as be_next_list. */
enum be_status be_next_wrong(const struct be_next_state *state, const struct be_question *question,
                             double *wrong, struct be_err *err);

/* The specimens to tie next, one by one, each the greatest gain a minute; until `minutes` (may be
 * infinite) or `most` specimens are spent, or nothing is left to gain. Assumes that values and
 * deviations stay as they are: so pull some, enter them, and ask again. Cells that do
 * not bear on the question are never tied. Takes heap. *count is how many were listed; `list` holds
 * `most`. Errors: BAD_INPUT for a deviation, cost, weight or df that cannot be; WRONG_USE for a
 * question that is none; TOO_LARGE beyond 1000 knots, 100000 cells or 10^7 weights; NO_MEMORY. */
enum be_status be_next_list(const struct be_next_state *state, const struct be_question *question,
                            double minutes, size_t most, struct be_next *list, size_t *count,
                            struct be_err *err);

/* ---- looking after every pull (watch.c, unlike.c) ----------------------------------------- */

/* A test that may be looked at after every pull, as long as one likes. Loads (or their logs) are
 * normal. What is pulled next may depend on what was seen.
 * effect: the size of difference looked for, in deviations of one pull (1 if in doubt); it must
 * not depend on the pulls, and sets how soon, never how often wrongly, a difference is found. */
struct be_watch {
  double effect; /* > 0 */
  double level;  /* 0.95 */
};
struct be_watched {
  double log_e; /* log of the evidence against no difference, 0 before it can be had */
  double value; /* the difference */
  struct be_interval interval; /* holds at every look at once, at the level */
  bool apart;                  /* evidence of 1 / (1 - level) or more: the interval leaves 0 out */
};
/* Differences within pairs, blocks or lines, one knot less the other. */
void be_watch_paired(const struct be_summary *differences, const struct be_watch *watch,
                     struct be_watched *watched);
/* Two knots that share one deviation, a less b; a side may still be empty. Where the side that is
 * pulled less scatters more, differences are found wrongly too often (one in five at a third of
 * the pulls and twice the deviation, for a level of 0.95); the other way round, and for
 * as many pulls each, it holds. */
void be_watch_two(const struct be_summary *a, const struct be_summary *b,
                  const struct be_watch *watch, struct be_watched *watched);

/* Two knots, each with its own deviation; exact for any, and for any turn of pulls, but takes
 * a quarter to a half as many pulls again. Needs two pulls each. */
void be_watch_unlike(const struct be_summary *a, const struct be_summary *b,
                     const struct be_watch *watch, struct be_watched *watched);

/* Whose deviation a pair is held against. */
enum be_scatter {
  BE_SCATTER_PAIR,  /* be_watch_two */
  BE_SCATTER_ALL,   /* one of all knots, which must be alike in all */
  BE_SCATTER_UNLIKE /* be_watch_unlike */
};

/* All pairs of knots, in the order (0,1), (0,2), ... (1,2), ...; kept from look to look. */
struct be_watched_pair {
  size_t a, b;
  struct be_watched now; /* the interval at the level shared out over all pairs (Bonferroni) */
  double most;           /* the greatest log_e of all looks */
  double p;              /* by Holm over all pairs, from `most`: holds at every look */
  bool apart;            /* p <= 1 - level: once found, it stays */
};
/* Before the first look. pairs: count (count - 1) / 2. */
void be_watch_start(size_t count, struct be_watched_pair *pairs);
/* One look. Takes heap. Errors: WRONG_USE for a level or effect that cannot be;
 * TOO_LARGE beyond 1000 knots; NO_MEMORY: pairs are as before. */
enum be_status be_watch_look(const struct be_summary *knots, size_t count, enum be_scatter scatter,
                             const struct be_watch *watch, struct be_watched_pair *pairs,
                             struct be_err *err);
/* The same where only the knot `pulled` has changed since the last look, and `watch` has not:
 * sooner, for the other pairs stand as they did. */
enum be_status be_watch_pulled(const struct be_summary *knots, size_t count, size_t pulled,
                               enum be_scatter scatter, const struct be_watch *watch,
                               struct be_watched_pair *pairs, struct be_err *err);

#endif
