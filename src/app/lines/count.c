/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A count of what is on hand goes into the book as anybody's would: as a line sheet of one row. */
#include "app/lines/lines.h"
#include "app/typed.h"

#include <stdio.h>
#include <string.h>

/* The moment in the remark makes two like counts two files. */
static void write_sheet(struct be_buf *sheet, const struct be_line *line, const char *on_hand,
                        const char *counted)
{
  char now[32];
  be_now(now);
  be_buf_format(sheet, "# counted on the page, %s\nline,spool,on hand (m),counted\n", now);
  be_typed_cell(sheet, line->name, ",");
  be_typed_cell(sheet, line->spool, ",");
  be_typed_cell(sheet, on_hand, ",");
  be_typed_cell(sheet, counted, "\n");
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
  enum be_status status = be_typed_check("how much", on_hand, err);
  if (status == BE_OK) status = be_typed_check("when it was counted", counted, err);
  if (status != BE_OK) return status;
  snprintf(name, sizeof name, "%.60s-count.csv", line->spool ? line->spool : line->name);
  be_buf_init(&sheet, 64 * 1024);
  write_sheet(&sheet, line, on_hand, counted);
  status = be_typed_enter(book_path, name, &sheet, NULL, NULL, err);
  be_buf_free(&sheet);
  return status;
}
