/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Statements that stand outside the drawing of a line; see read.c. */
#ifndef BE_KNOT_TIE_STATEMENTS_H
#define BE_KNOT_TIE_STATEMENTS_H

#include "knot/tie/inside.h"

/* How much of a word an error shows. */
int be_word_size(const struct word *word);
/* NAME VALUE, or NAME from VALUE of a number: whether it holds. */
enum be_status be_read_held(struct reading *r, bool *held);

enum be_status be_read_tie(struct reading *r, const struct word *word);
enum be_status be_read_also(struct reading *r, const struct word *word);
enum be_status be_read_kind(struct reading *r, const struct word *word);
enum be_status be_read_set(struct reading *r, const struct word *word);
enum be_status be_read_pulled(struct reading *r, const struct word *word);
/* Of the setting of that name. */
bool be_is_choice(const struct reading *r, const struct word *name, const struct word *choice);
/* line, ring or rod. */
enum be_status be_read_line(struct reading *r, const struct word *word);
/* What can be seen only at the end of the text. */
enum be_status be_read_finish(struct reading *r);

enum be_status be_sketch_letters(struct reading *r, const struct word *word);
/* From here to a dot that is there. */
enum be_status be_sketch_leg(struct reading *r, size_t to, struct place place);

#endif
