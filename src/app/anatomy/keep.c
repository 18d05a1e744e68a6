/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A tie that is told on a page comes into the book: as a knot sheet of one row. */
#include "app/anatomy/anatomy.h"
#include "app/typed.h"
#include "app/survey/survey.h"

#include <stdio.h>
#include <string.h>

enum { SHEET_MAX = 256 * 1024 };

/* Browsers end lines with both characters. */
static const char *without_returns(const char *text, struct be_arena *arena)
{
  char *plain = be_arena_text(arena, text, strlen(text)), *to = plain;
  for (; plain && *text; text++)
    if (*text != '\r') *to++ = *text;
  if (plain) *to = '\0';
  return plain;
}

static enum be_status check(const struct be_tie_kept *kept, struct be_arena *arena,
                            struct be_err *err)
{
  struct be_tie tie;
  if (!kept->knot || !*kept->knot) {
    be_fail(err, BE_BAD_INPUT, "the form does not say whose tie it is");
    be_fail_remedy(err, "type the name of the knot");
    return BE_BAD_INPUT;
  }
  if (be_text_same(kept->knot, "none"))
    return be_fail(err, BE_BAD_INPUT, "\"none\" is a line without a knot, which runs straight");
  enum be_status status = be_typed_check("the knot", kept->knot, err);
  if (status == BE_OK) status = be_typed_check("its version", kept->version, err);
  if (status == BE_OK) status = be_typed_check("its turns", kept->turns, err);
  return status == BE_OK ? be_tie_told(kept->text, arena, &tie, err) : status;
}

/* The moment in the remark makes two like sheets two files. */
static enum be_status enter(const char *book_path, const struct be_tie_kept *kept, const char *text,
                            struct be_err *err)
{
  struct be_buf sheet;
  char name[80], now[32];
  be_now(now);
  be_buf_init(&sheet, SHEET_MAX);
  be_buf_format(&sheet, "# kept on the page, %s\nknot,version,turns,tie\n", now);
  be_typed_cell(&sheet, kept->knot, ",");
  be_typed_cell(&sheet, kept->version, ",");
  be_typed_cell(&sheet, kept->turns, ",");
  be_typed_cell(&sheet, text, "\n");
  snprintf(name, sizeof name, "%.60s-tie.csv", kept->knot);
  enum be_status status = be_typed_enter(book_path, name, &sheet, NULL, NULL, err);
  be_buf_free(&sheet);
  return status;
}

enum be_status be_tie_keep(const char *book_path, const struct be_tie_kept *kept,
                           struct be_err *err)
{
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_no_memory(err);
  enum be_status status = check(kept, arena, err);
  const char *text = status == BE_OK ? without_returns(kept->text, arena) : NULL;
  if (status == BE_OK) status = text ? enter(book_path, kept, text, err) : be_no_memory(err);
  be_arena_free(arena);
  return status;
}
