/* SPDX-License-Identifier: GPL-3.0-or-later */
/* books: eleven made books of pulls, each fitted by one mixed model, by REML and by ML. The log
 * load of a pull is knot + turns + what the pull shares with others + the pull itself; knots are
 * not tied on every line, and some knots, lines, spools, tyers and days have far more pulls than
 * others. */
#ifndef BE_PEERS_BOOKS_H
#define BE_PEERS_BOOKS_H

#include "peers.h"

enum term { LINE, SPOOL, CELL, DAY, TYER, TERMS };

struct book_plan {
  size_t pulls, knots, lines, days, tyers;
  size_t spools;           /* of a line, at most */
  size_t second;           /* where that is 1, every so many-th line has two; 0: none */
  double gaps;             /* share of knots x lines nobody tied */
  double deviation[TERMS]; /* 0 in a book that does not ask for the term */
  double slope;            /* deviation of a turn's worth between lines; 0: not asked for */
  double scatter;          /* of a pull */
  bool same_tyers; /* their means of the scatter are taken away: the deviation is put at 0 */
};

struct book {
  const struct book_plan *plan;
  uint32_t *knot, *level[TERMS];
  double *turns, *y;
  size_t levels[TERMS];
};

/* Line and spool are one: what is known is how they vary together. */
bool is_one(const struct book_plan *plan);

/* Makes each book, writes it and tells of its two fits. */
void each_book(struct peers *peers);
/* The figures of a fit by the method. */
void fitted_book(const struct peers *peers, const struct book *book, enum be_mixed_method method);

extern const char *const term_names[TERMS];

#endif
