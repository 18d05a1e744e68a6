/* SPDX-License-Identifier: GPL-3.0-or-later */
/* enter_trial: what the memory and the disk loops both do: enter one sheet
 * that touches every table, and look at what became of the book. */
#ifndef BE_ENTER_TRIAL_H
#define BE_ENTER_TRIAL_H

#include "book/book.h"
#include "book/book_test.h"

/* Which sheet is entered: one of pulls (two traces, a correction, a planned specimen, a new knot,
 * a new spool, a saved mapping), or one of what surrounds them. */
enum trial_sheet {
  TRIAL_PULLS,
  TRIAL_RULES,
  TRIAL_PLAN,
  TRIAL_LINES,
  TRIAL_CALIBRATIONS,
  TRIAL_WEIGHTS,
  TRIAL_KNOTS,
  TRIAL_EVIDENCE
};

/* Whether the book holds what it did before the sheet, or after it. */
enum trial_state { TRIAL_BEFORE, TRIAL_AFTER, TRIAL_NEITHER, TRIAL_STATES };

struct image {
  char *bytes;
  size_t size;
};

/* A book in a folder of its own, with a line, a knot, a calibration, a planned trial and a pull in
 * it. */
struct trial {
  enum trial_sheet which;
  char folder[32], path[64];
  struct be_buf before_bytes;      /* of the file, before the sheet */
  struct be_buf before, after;     /* what is read, told as text */
  struct image seen[TRIAL_STATES]; /* files last looked at that were in this state */
  struct be_entered entered;       /* counts of the sheet when all goes well */
  char traces[2][TRACE_SIZE];
  struct made_file files[4];
};

void trial_start(struct trial *trial, enum trial_sheet which);
void trial_stop(struct trial *trial);
/* Makes the file what it was before the sheet. Takes no memory of base. */
void trial_restore(const struct trial *trial);

/* Enters the sheet. */
enum be_status trial_enter(struct trial *trial, struct be_book *book, struct be_arena *arena,
                           struct be_entered *entered, struct be_err *err);
/* Tells everything that can be read of a book as text. */
enum be_status trial_tell(struct be_book *book, struct be_arena *arena, struct be_buf *text,
                          struct be_err *err);

enum trial_state trial_state(const struct trial *trial, struct be_book *book);
/* The same of the file, opened anew, for reading alone, and checked; or told by its bytes, when a
 * file of the same bytes was looked at so before. */
enum trial_state trial_state_of_file(struct trial *trial);

#endif
