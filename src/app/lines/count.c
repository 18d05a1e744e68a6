/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A count of what is on hand goes into the book as anybody's would: as a line sheet of one row. */
#include "app/lines/lines.h"

#include <stdio.h>
#include <string.h>

enum { TEXT_MAX = 60 };

/* Of one line, short, and without what cannot be typed. */
static enum be_status check_text(const char *what, const char *text, struct be_err *err)
{
  if (strlen(text) > TEXT_MAX)
    return be_fail(err, BE_BAD_INPUT, "%s takes %d bytes at most", what, TEXT_MAX);
  for (; *text; text++)
    if ((unsigned char)*text < ' ')
      return be_fail(err, BE_BAD_INPUT, "%s is on one line, without tabs", what);
  return BE_OK;
}

static void cell(struct be_buf *sheet, const char *text, const char *after)
{
  be_buf_char(sheet, '"');
  for (; text && *text; text++) {
    if (*text == '"') be_buf_char(sheet, '"');
    be_buf_char(sheet, *text);
  }
  be_buf_format(sheet, "\"%s", after);
}

/* The moment in the remark makes two like counts two files. */
static void write_sheet(struct be_buf *sheet, const struct be_line *line, const char *on_hand,
                        const char *counted)
{
  char now[32];
  be_now(now);
  be_buf_format(sheet, "# counted on the page, %s\nline,spool,on hand (m),counted\n", now);
  cell(sheet, line->name, ",");
  cell(sheet, line->spool, ",");
  cell(sheet, on_hand, ",");
  cell(sheet, counted, "\n");
}

static enum be_status enter(const char *book_path, const char *name, const struct be_buf *sheet,
                            struct be_err *err)
{
  struct be_book *book = NULL;
  struct be_entered entered;
  const struct be_entering how = {0};
  enum be_status status = be_book_open(book_path, true, &book, err);
  if (status != BE_OK) return status;
  struct be_arena *arena = be_arena_create();
  if (!arena) status = be_no_memory(err);
  else status = be_book_enter(book, name, sheet->data, sheet->size, &how, arena, &entered, err);
  be_arena_free(arena);
  be_book_close(book);
  return status;
}

enum be_status be_line_count(const char *book_path, const struct be_line *line, const char *on_hand,
                             const char *counted, struct be_err *err)
{
  char name[128];
  struct be_buf sheet;
  if (!on_hand || !*on_hand) {
    be_fail(err, BE_BAD_INPUT, "the form does not say how much line there is");
    be_fail_remedy(err, "type metres, as 41.5, or a length with its unit; none is 0");
    return BE_BAD_INPUT;
  }
  enum be_status status = check_text("how much", on_hand, err);
  if (status == BE_OK && counted) status = check_text("when it was counted", counted, err);
  if (status != BE_OK) return status;
  snprintf(name, sizeof name, "%.60s-count.csv", line->spool ? line->spool : line->name);
  be_buf_init(&sheet, 64 * 1024);
  write_sheet(&sheet, line, on_hand, counted);
  status = be_buf_status(&sheet, err);
  if (status == BE_OK) status = enter(book_path, name, &sheet, err);
  be_buf_free(&sheet);
  return status;
}
