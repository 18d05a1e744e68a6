/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is told on a page goes into the book as anybody's would: as a sheet of a row or two. */
#ifndef BE_APP_TYPED_H
#define BE_APP_TYPED_H

#include "app/app.h"

/* A cell in quotes and what comes behind it, "," or "\n". text null: an empty one. */
void be_typed_cell(struct be_buf *sheet, const char *text, const char *after);
/* Text of a cell that is to be short and on one line; null is. what: "the knot". BE_BAD_INPUT. */
enum be_status be_typed_check(const char *what, const char *text, struct be_err *err);
/* Enters it under a name; frees nothing. how: null as usual. already: was entered before; or null.
 */
enum be_status be_typed_enter(const char *book_path, const char *name, const struct be_buf *sheet,
                              const struct be_entering *how, bool *already, struct be_err *err);

#endif
