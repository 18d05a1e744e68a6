/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sheets: paper for the bench. What is written on by hand tells no knot, as labels do not.
 *
 *   pull_sheet.c  a trial's specimens in order, with room for what is read and seen
 *   tie_cards.c   how each knot is tied, step by step
 *   sheets.c      the files */
#ifndef BE_APP_SHEETS_H
#define BE_APP_SHEETS_H

#include "app/survey/survey.h"

/* Specimens of the trial that are not pulled yet, block by block; trial null: empty rows. */
enum be_status be_pull_sheet_doc(const struct survey *survey, const struct be_trial *trial,
                                 struct be_doc **doc, struct be_err *err);

/* Of every knot whose tie is recorded, and whose trial this is if one is given; the others are
 * named. */
enum be_status be_tie_cards_doc(const struct survey *survey, const struct be_trial *trial,
                                struct be_doc **doc, struct be_err *err);

/* Into a folder, which is made: of each trial its pull sheet, labels, plan and tie cards; of a book
 * without trials empty pull sheets and the tie cards of all knots. A row of files each. */
enum be_status be_sheets_write(const struct survey *survey, const char *folder,
                               struct be_table *files, struct be_err *err);

#endif
