/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What cards say, each filled in from the survey; texts are in its arena. */
#ifndef BE_APP_CARDS_TELL_H
#define BE_APP_CARDS_TELL_H

#include "app/cards/lay.h"
#include "app/ranking/places.h"

/* ---- result.c ---- */

/* One knot in one combination. */
enum be_status be_card_of_result(const struct survey *survey, const struct cell *cell,
                                 struct card *card, struct be_err *err);
/* One specimen, beside the others of its knot and combination. cell: null for a plain line. */
enum be_status be_card_of_pull(const struct survey *survey, const struct cell *cell,
                               const struct be_pull *pull, struct card *card, struct be_err *err);

/* ---- table.c, standings.c, knot.c ---- */

enum be_status be_card_of_combination(const struct survey *survey, const struct combination *where,
                                      struct card *card, struct be_err *err);
enum be_status be_card_of_place(const struct survey *survey, const struct place *place,
                                struct card *card, struct be_err *err);
enum be_status be_card_of_knot(const struct survey *survey, int knot, struct card *card,
                               struct be_err *err);

/* ---- figures.c: what a cell holds, in words and as a bar ---- */

/* "78 %"; "at least 62.4 N"; "no result". */
const char *be_card_value(const struct survey *survey, const struct cell *cell);
/* "[72, 85], n = 10 + 2 at least". */
const char *be_card_note(const struct survey *survey, const struct cell *cell);
/* The mean load with its interval; null without events. */
const char *be_card_load(const struct survey *survey, const struct cell *cell);
/* "broke, in the knot 8; slipped out 2"; null without a pull that counts. */
const char *be_card_let_go(const struct survey *survey, const struct cell *cell);
/* What it was divided by; null where it was not. */
const char *be_card_divided(const struct survey *survey, const struct cell *cell);
/* By shares in %, or by loads in the unit shown; the end of the axis is found by be_bars_end. */
void be_card_bar(const struct survey *survey, const struct cell *cell, bool shares,
                 struct bar *bar);
/* Its row among others. BE_NO_MEMORY for a null text. */
enum be_status be_card_item(const struct survey *survey, const struct cell *cell, bool shares,
                            const char *text, struct piece *item, struct be_err *err);
bool be_has_shares(const struct cell *cell); /* in full, or there is nothing to divide */
/* One axis for all. */
void be_bars_end(struct piece *items, size_t count, bool shares);
/* What the bars show, and from where to where. */
const char *be_card_bars(const struct survey *survey, const struct piece *items, size_t count);
/* The last words: what brackets hold, and what they do not, if there are any; and the caution. */
void be_card_close(const struct survey *survey, struct card *card);

/* The tie of a knot, where it is recorded and can be read; lines: of the cell, -1 without. */
enum be_status be_card_tie(const struct survey *survey, int knot, int line_a, int line_b,
                           struct card *card, struct be_err *err);

#endif
