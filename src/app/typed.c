/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/typed.h"

#include "app/survey/survey.h"

#include <string.h>

enum { TEXT_MAX = 60 };

void be_typed_cell(struct be_buf *sheet, const char *text, const char *after)
{
  be_buf_char(sheet, '"');
  for (; text && *text; text++) {
    if (*text == '"') be_buf_char(sheet, '"');
    be_buf_char(sheet, *text);
  }
  be_buf_format(sheet, "\"%s", after);
}

enum be_status be_typed_check(const char *what, const char *text, struct be_err *err)
{
  if (text && strlen(text) > TEXT_MAX)
    return be_fail(err, BE_BAD_INPUT, "%s takes %d bytes at most", what, TEXT_MAX);
  for (; text && *text; text++)
    if ((unsigned char)*text < ' ')
      return be_fail(err, BE_BAD_INPUT, "%s is on one line, without tabs", what);
  return BE_OK;
}

enum be_status be_typed_enter(const char *book_path, const char *name, const struct be_buf *sheet,
                              const struct be_entering *how, bool *already, struct be_err *err)
{
  static const struct be_entering usual;
  struct be_book *book = NULL;
  struct be_entered entered = {0};
  enum be_status status = be_buf_status(sheet, err);
  if (status == BE_OK) status = be_book_open(book_path, true, &book, err);
  if (status != BE_OK) return status;
  struct be_arena *arena = be_arena_create();
  if (!arena) status = be_no_memory(err);
  else
    status = be_book_enter(book, name, sheet->data, sheet->size, how ? how : &usual, arena,
                           &entered, err);
  if (already) *already = entered.already;
  be_arena_free(arena);
  be_book_close(book);
  return status;
}
