/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What to tie next: a group of the record as cells and weights (plan.c), whether it is settled
 * (stop.c), the line there is for it (stock.c), and what is said of it (next.c). */
#ifndef BE_APP_NEXT_H
#define BE_APP_NEXT_H

#include "app/survey/grid.h"
#include "app/watch.h"

/* What may be pulled: a knot in a combination, or the plain line of a spool. */
struct spot {
  const struct cell *cell;     /* null for a plain line */
  const struct plain_set *set; /* null for a knot */
  size_t tied, first;          /* so many of the list; the place of the first, from 1 */
};

/* What is left of each line of the record; infinity where it was never counted. */
struct stock {
  double metres_each; /* as asked; 0: by the free length */
  double *left_m;
  int *taken;    /* specimens of each */
  size_t closed; /* cells for which there is no line any more */
};

/* Whether the record settles the question, looked at after every pull. */
struct stop {
  bool settled;
  bool turned;           /* one that stands first now was found weaker once */
  size_t asked;          /* pairs of knots that can be wrong */
  bool *out;             /* of the block's knots */
  size_t left;           /* knots not out of it */
  int stronger, weaker;  /* a first one and another not found weaker, of least evidence; or -1 */
  struct watching least; /* theirs */
};

/* One question, of one block. Arrays are in the survey's arena. */
struct plan {
  const char *place;      /* the group, or the two knots */
  struct grid all, block; /* all: of the group; of a pair the same as block */
  struct be_question question;
  struct be_next_state state;
  struct spot *spots;  /* state.cells */
  size_t *order;       /* knots, strongest first */
  bool known;          /* false: no scatter anywhere, and no figures */
  bool borrowed;       /* the scatter is that of the whole book */
  bool mixed;          /* some knots were not tied or pulled alike, without plain lines */
  double wrong, after; /* chance of a wrong answer now, and after the list */
  struct be_next *list;
  size_t count;
  double minutes; /* of the list */
  struct stop stop;
  struct stock stock; /* after the list */
};

struct plans {
  struct plan *list; /* greatest chance of a wrong answer first */
  size_t count;
  size_t passed;      /* combinations in which a pair is not comparable */
  size_t small;       /* groups of too few knots for the first places asked for */
  size_t small_knots; /* of the largest of these */
  bool named;         /* a group's name held the part that was asked for */
};

/* The usual values filled in; BE_WRONG_USE for what cannot be asked. */
enum be_status be_next_usual(struct be_tying *asked, struct be_err *err);
/* a, b: a pair of knots, or -1. */
enum be_status be_plans_make(const struct survey *survey, const struct be_tying *asked, int a,
                             int b, struct plans *plans, struct be_err *err);
/* Bench minutes of a plain line. */
double be_plain_minutes(const struct be_tying *asked);

/* stock.c */
enum be_status be_stock_begin(const struct survey *survey, const struct be_tying *asked,
                              struct stock *stock, struct be_err *err);
/* Whether there is line for one more specimen; and takes it, or says that there is not. */
bool be_stock_bears(const struct stock *stock, const struct spot *spot);
bool be_stock_take(struct stock *stock, const struct spot *spot);
void be_say_stock(struct be_doc *doc, const struct survey *survey, const struct plan *plan);

/* stop.c: fills in plan->stop; its sentence, first where it is settled, its notes and its facts. */
enum be_status be_stop_look(const struct survey *survey, struct plan *plan, struct be_err *err);
void be_say_settled(struct be_doc *doc, const struct survey *survey, const struct plan *plan);
void be_say_stop(struct be_doc *doc, const struct survey *survey, const struct plan *plan);
void be_say_stop_method(struct be_doc *doc, const struct survey *survey, const struct plan *plan);
void be_stop_facts(struct be_doc *doc, const struct survey *survey, const struct plan *plan);

#endif
