/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A pull taken at the bench goes into the book as anybody's would: as a pull sheet of one row that
 * names its trace. */
#include "app/live/live.h"
#include "app/typed.h"

#include <stdio.h>
#include <string.h>

enum { SHEET_MAX = 64 * 1024 };

static void write_sheet(struct be_buf *sheet, const struct be_told *told)
{
  for (size_t i = 0; i < told->count; i++)
    be_typed_cell(sheet, told->name[i], i + 1 == told->count ? "\n" : ",");
  for (size_t i = 0; i < told->count; i++)
    be_typed_cell(sheet, told->value[i], i + 1 == told->count ? "\n" : ",");
}

struct traced {
  const struct be_buf *text;
};

static enum be_status fetch(void *traced, const char *name, struct be_buf *bytes,
                            struct be_err *err)
{
  (void)name;
  const struct be_buf *text = ((const struct traced *)traced)->text;
  be_buf_add(bytes, text->data, text->size);
  return be_buf_status(bytes, err);
}

/* What is said later replaces what was known before. */
static enum be_status join(const struct be_told *specimen, const struct be_told *answer,
                           const char *trace_name, struct be_told *all, struct be_err *err)
{
  enum be_status status = BE_OK;
  *all = *specimen;
  for (size_t i = 0; i < answer->count && status == BE_OK; i++)
    status = be_told_set(all, answer->name[i], answer->value[i], err);
  if (status == BE_OK && trace_name) status = be_told_set(all, "trace", trace_name, err);
  /* A pull sheet is told by its loads. */
  if (status == BE_OK && !trace_name && !be_told_value(all, "load"))
    status = be_told_set(all, "load", "", err);
  return status;
}

static enum be_status enter(const char *book_path, const char *name, const struct be_buf *sheet,
                            const struct be_buf *trace, int64_t corrects, struct be_err *err)
{
  struct traced traced = {trace};
  const struct be_entering how = {
      .decimal = '.', .corrects = corrects, .fetch = fetch, .fetch_context = &traced};
  return be_typed_enter(book_path, name, sheet, &how, NULL, err);
}

bool be_live_pulled(const char *book_path, const char *code)
{
  struct be_book *book = NULL;
  struct be_record record;
  bool pulled = false;
  struct be_arena *arena = be_arena_create();
  if (arena && be_book_open(book_path, false, &book, NULL) == BE_OK &&
      be_book_read(book, arena, &record, NULL) == BE_OK)
    for (size_t i = 0; i < record.pulls_count && !pulled; i++)
      pulled = strcmp(record.pulls[i].code, code) == 0;
  be_book_close(book);
  be_arena_free(arena);
  return pulled;
}

enum be_status be_live_enter(const char *book_path, const struct be_told *specimen,
                             const struct be_told *answer, const struct be_buf *trace,
                             const char *begun, struct be_err *err)
{
  const char *code = be_told_value(answer, "specimen");
  char name[128], trace_name[128];
  struct be_told all;
  if (!code) code = be_told_value(specimen, "specimen");
  if (!code || !*code) return be_fail(err, BE_BAD_INPUT, "a pull needs the code of its specimen");
  snprintf(name, sizeof name, "%.80s.sheet.csv", code);
  /* Without the time, a second pull of one code that is answered alike would be the same sheet as
   * the first, and so be taken for entered. */
  snprintf(trace_name, sizeof trace_name, "%.80s%s%.31s.csv", code, begun && *begun ? " " : "",
           begun ? begun : "");
  enum be_status status = join(specimen, answer, trace ? trace_name : NULL, &all, err);
  if (status == BE_OK) status = be_evening_settle(book_path, &all, err);
  if (status != BE_OK) return status;
  struct be_buf sheet;
  be_buf_init(&sheet, SHEET_MAX);
  write_sheet(&sheet, &all);
  status = enter(book_path, name, &sheet, trace, 0, err);
  be_buf_free(&sheet);
  return status;
}

/* The remark makes it another file than one that said the same of an older result. */
enum be_status be_live_correct(const char *book_path, const struct be_told *told, int64_t result,
                               struct be_err *err)
{
  static const struct be_told nothing;
  struct be_told all;
  char name[128];
  snprintf(name, sizeof name, "%.80s.correction.csv", be_told_value(told, "specimen"));
  enum be_status status = join(told, &nothing, NULL, &all, err);
  if (status != BE_OK) return status;
  struct be_buf sheet;
  be_buf_init(&sheet, SHEET_MAX);
  be_buf_format(&sheet, "# corrects result %lld\n", (long long)result);
  write_sheet(&sheet, &all);
  status = enter(book_path, name, &sheet, NULL, result, err);
  be_buf_free(&sheet);
  return status;
}
