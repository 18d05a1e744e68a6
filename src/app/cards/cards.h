/* SPDX-License-Identifier: GPL-3.0-or-later */
/* cards: what was found, as pictures to lay over a film or to post, each with its text twin.
 *
 *   lay.h        pieces of a card -> drawings, and its text
 *   tell.h       what the cards say: result.c, table.c, standings.c, knot.c
 *   cards.c      which cards, their files */
#ifndef BE_APP_CARDS_H
#define BE_APP_CARDS_H

#include "app/survey/survey.h"

/* BE_WRONG_USE for options of cards that do not go together, and for a size that is none. */
enum be_status be_cards_check(const struct be_publishing *asked, struct be_err *err);
/* Every result (a knot in a combination), combination, place of the standings and knot of a book;
 * with `of`, the specimen of that code alone. Light and dark, or the one that asked->ground tells,
 * in asked->size ("wide", "tall", "square"; null: wide). *count: pictures written. BE_WRONG_USE for
 * a code that no pull has, or a file in the way that is none of ours. */
enum be_status be_cards_write(const struct survey *survey, const struct be_publishing *asked,
                              size_t *count, struct be_err *err);

#endif
