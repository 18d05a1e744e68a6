/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A check weight logged on the page of the rig: a check weight sheet of one row, entered as
 * anybody's would be. */
#include "app/rig/trust.h"

#include <stdio.h>
#include <string.h>

enum { SHEET_MAX = 16 * 1024 };

const char *const be_rig_takes[] = {"bench", "date", "weight", "reading", "session", "note", NULL};
enum { FIELDS = sizeof be_rig_takes / sizeof *be_rig_takes - 1 };
static const char *const labels[FIELDS] = {"Bench",
                                           "When, as 2026-03-01 or 2026-03-01T18:30",
                                           "The check weight, with its unit, as 5 kg",
                                           "What the rig shows, with its unit",
                                           "Session",
                                           "Note"};

/* ---- the form ---- */

static void write_field(struct be_buf *html, size_t i, const char *value, const char *list)
{
  const char *name = be_rig_takes[i];
  be_buf_format(html,
                "<p class=\"field\"><label for=\"f-%s\">%s</label><input id=\"f-%s\" name=\"%s\" "
                "autocomplete=\"off\"%s%s%s value=\"",
                name, labels[i], name, name, list ? " list=\"" : "", list ? list : "",
                list ? "\"" : "");
  be_markup_text(html, value);
  be_buf_text(html, "\"></p>\n");
}

void be_rig_form(const struct survey *survey, struct be_buf *html)
{
  const struct be_record *record = &survey->record;
  char now[32];
  be_now(now);
  now[16] = '\0'; /* to the minute */
  be_buf_text(html, "<section class=\"bench\"><h2>Log a check weight</h2>\n<form method=\"post\" "
                    "action=\"/rig\">\n<datalist id=\"benches\">");
  for (size_t i = 0; i < record->benches_count; i++) {
    be_buf_text(html, "<option value=\"");
    be_markup_text(html, record->benches[i].name);
    be_buf_text(html, "\"></option>");
  }
  be_buf_text(html, "</datalist>\n");
  for (size_t i = 0; i < FIELDS; i++)
    write_field(html, i,
                i == 0   ? record->benches_count ? record->benches[0].name : ""
                : i == 1 ? now
                         : "",
                i == 0 ? "benches" : NULL);
  be_buf_text(html, "<button class=\"first\">Log it</button>\n</form></section>\n");
}

/* ---- what it sends ---- */

static void cell(struct be_buf *sheet, const char *text, bool last)
{
  be_buf_char(sheet, '"');
  for (; *text; text++) {
    if (*text == '"') be_buf_char(sheet, '"');
    be_buf_char(sheet, *text);
  }
  be_buf_text(sheet, last ? "\"\n" : "\",");
}

static enum be_status enter(const char *book_path, const char *name, const struct be_buf *sheet,
                            struct be_err *err)
{
  struct be_book *book = NULL;
  struct be_entered entered = {0};
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_no_memory(err);
  enum be_status status = be_book_open(book_path, true, &book, err);
  if (status == BE_OK)
    status = be_book_enter(book, name, sheet->data, sheet->size, &(const struct be_entering){0},
                           arena, &entered, err);
  if (status == BE_OK && entered.already) {
    status = be_fail(err, BE_BAD_INPUT, "this very reading was logged before");
    be_fail_remedy(err, "if it is another one, tell its time too");
  }
  be_book_close(book);
  be_arena_free(arena);
  return status;
}

enum be_status be_rig_post(const char *book_path, const struct be_request *request,
                           struct be_err *err)
{
  struct be_buf sheet;
  char name[64];
  const char *date = be_request_form(request, "date"), *bench = be_request_form(request, "bench");
  /* A row of nothing would pass for an empty sheet. */
  if (!bench || !bench[strspn(bench, " \t")])
    return be_fail(err, BE_BAD_INPUT, "the bench has no name");
  be_buf_init(&sheet, SHEET_MAX);
  for (size_t i = 0; i < FIELDS; i++) cell(&sheet, be_rig_takes[i], i + 1 == FIELDS);
  for (size_t i = 0; i < FIELDS; i++) {
    const char *value = be_request_form(request, be_rig_takes[i]);
    cell(&sheet, value ? value : "", i + 1 == FIELDS);
  }
  snprintf(name, sizeof name, "check weight %.20s.csv", date ? date : "");
  enum be_status status = be_buf_status(&sheet, err);
  if (status == BE_OK) status = enter(book_path, name, &sheet, err);
  be_buf_free(&sheet);
  return status;
}
