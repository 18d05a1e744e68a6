/* SPDX-License-Identifier: GPL-3.0-or-later */
/* moved: what moved between two standings of one book, and why. compare.c compares the record as
 * it stood with the record as it is, parts.c splits the change of a figure, why.c puts reasons in
 * words, headline.c the most of it in one sentence, and moved.c finds the moment and says it. */
#ifndef BE_APP_MOVED_H
#define BE_APP_MOVED_H

#include "app/ranking/places.h"

/* "What moved", since how.since or the last file that brought pulls of ranked knots. Adds nothing
 * where nothing is older, or the survey is of no book on disk; one sentence where nothing moved. BE_WRONG_USE for a wrong moment. Places
 * are those of the survey; those that were not ranked yet are. */
enum be_status be_say_moved(struct be_doc *doc, const struct survey *survey, struct place *places,
                            size_t count, struct be_err *err);

/* ---- the comparison ---- */

/* What a move means. Verdicts are of ranking.h: apart and stronger, apart and weaker, or cannot
 * separate; "shared" knots are ranked at the place both times. */
#define MOVED_LIST(X)                                                                              \
  X(MOVED_NEW, "new")                                                                              \
  X(MOVED_LEFT, "left")                                                                            \
  /* A verdict with a shared knot that is or was the first or a neighbour is another one. */       \
  X(MOVED_EARNEST, "in earnest")                                                                   \
  /* Only by knots that came or left: among shared knots no order and no verdict changed. */       \
  X(MOVED_FIELD, "by who came or left")                                                            \
  /* The same verdicts with all shared knots, and one rank range holds the other. */               \
  X(MOVED_WITHIN, "within its range: nothing real has changed")                                    \
  X(MOVED_RANGE, "its range moved")

#define X(code, words) code,
enum moved_how { MOVED_LIST(X) };
#undef X

/* The change of a figure, swapped one thing at a time, in this order. */
enum moved_part {
  PART_CORRECTIONS, /* of the knot's own results, over the old plain lines */
  PART_PULLS,       /* the knot's new pulls, over the old plain lines */
  PART_PLAIN,       /* the new plain lines, and corrected ones */
  PART_BLOCK,       /* other combinations in the ranked block of a group */
  PARTS
};

enum { NOT_RANKED = -1 };

/* A knot of a place that was ranked both times. */
struct move {
  int knot;
  int then, now; /* its index in the ranking's block, or NOT_RANKED */
  enum moved_how how;
  bool by_load;       /* figures are mean loads, in N; else shares of the line */
  double was, is;     /* not-a-number when not ranked */
  double part[PARTS]; /* add up to is - was; not-a-number where a step cannot be taken */
  size_t n_was, n_is;
  size_t pulls, corrections; /* of its own that came since; voids that were never more are not */
};

struct moved_place {
  const char *name;
  bool group;
  const struct ranking *then, *now; /* null: nothing was ranked */
  struct move *moves;               /* those whose rank, range or figure changed, by rank */
  size_t count;
};

/* The record with one thing after another swapped: what the parts are differences of. */
enum { STEP_THEN, STEP_CORRECTED, STEP_PULLED, STEP_NOW, STEPS_MOVED };

struct moved {
  const struct survey *step[STEPS_MOVED];
  struct moved_place *places; /* that are ranked, or were */
  size_t count;
  size_t pulls, corrections; /* of the whole record, since */
};

/* Both are of one book, `then` as it stood earlier; places are those of `now`. Everything is in the
 * arena of `now`. */
enum be_status be_moved_compare(const struct survey *then, const struct survey *now,
                                struct place *places, size_t count, struct moved *moved,
                                struct be_err *err);

/* parts.c: the steps between, and a figure taken along them. */
enum be_status be_moved_steps(const struct survey *then, const struct survey *now,
                              struct moved *moved, struct be_err *err);
void be_moved_parts(const struct moved *moved, const struct moved_place *place, struct move *move);
/* Pulls of a record that were not in the older one, or whose result changed. */
bool be_moved_is_new(const struct moved *moved, const struct be_pull *pull);
bool be_moved_is_corrected(const struct moved *moved, const struct be_pull *pull);
/* The cell of a knot in the combination of that name, with events or without; or null. */
const struct cell *be_moved_cell(const struct survey *survey, const char *combination, int knot);

/* 1: a is apart and stronger; -1: apart and weaker; 0: cannot separate. */
int be_moved_verdict(const struct ranking *ranking, int a, int b);
/* The index of a knot in the ranking's block, or NOT_RANKED; also for a null ranking. */
int be_moved_index(const struct ranking *ranking, int knot);

/* ---- in words, in the arena; null when memory is out ---- */

const char *be_moved_why(const struct moved *moved, const struct moved_place *place,
                         const struct move *move); /* why.c */
/* All of it in one sentence that begins with `since`. */
const char *be_moved_headline(const struct moved *moved, const char *since); /* headline.c */

#endif
