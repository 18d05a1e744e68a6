/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files from disk into a book. */
#include "app/survey.h"

#include <stdio.h>
#include <string.h>

/* Traces are looked for beside the sheet that names them. */
static enum be_status fetch_beside(void *context, const char *name, struct be_buf *bytes,
                                   struct be_err *err)
{
  const char *sheet = context;
  const char *slash = strrchr(sheet, '/');
  char path[2048];
  bool absolute = name[0] == '/' || !slash;
  int length =
      snprintf(path, sizeof path, "%.*s%s", absolute ? 0 : (int)(slash - sheet + 1), sheet, name);
  if (length < 0 || (size_t)length >= sizeof path)
    return be_fail(err, BE_BAD_INPUT, "the name of the trace is too long");
  return be_file_read(path, bytes, err);
}

static void say_entered(struct be_doc *doc, struct be_table *table, const char *name,
                        const struct be_entered *entered)
{
  if (entered->already) be_doc_sentence(doc, "%s was entered before; nothing was added.", name);
  else if (strcmp(entered->kind, "trace") == 0)
    be_doc_sentence(doc, "%s: a trace, added to its specimen.", name);
  else if (strcmp(entered->kind, "pull sheet") == 0)
    be_doc_sentence(
        doc, "%s: pulls %zu, corrections %zu, traces %zu, new lines %zu, new knots %zu.", name,
        entered->pulls, entered->corrections, entered->traces, entered->lines, entered->knots);
  else
    be_doc_sentence(doc, "%s: a %s of %zu rows, new lines %zu, new knots %zu.", name, entered->kind,
                    entered->rows, entered->lines, entered->knots);
  for (size_t i = 0; i < entered->notes_count; i++)
    be_doc_note(doc, "%s, %s", name, entered->notes[i]);
  if (entered->notes_dropped)
    be_doc_note(doc, "%s: and %zu more remarks like these.", name, entered->notes_dropped);
  be_table_text(table, "%s", name);
  be_table_text(table, "%s", entered->kind);
  be_table_text(table, "%s", entered->already ? "yes" : "no");
  be_table_number(table, (double)entered->pulls, 0);
  be_table_number(table, (double)entered->corrections, 0);
  be_table_number(table, (double)entered->traces, 0);
  be_table_number(table, (double)entered->lines, 0);
  be_table_number(table, (double)entered->knots, 0);
}

struct done {
  struct be_doc *doc;
  struct be_table *table;
  size_t files;
};

static enum be_status enter_one(struct be_book *book, const char *path, const char *bytes,
                                size_t size, const struct be_entering *how, struct done *done,
                                struct be_err *err)
{
  struct be_entered entered;
  struct be_entering with = *how;
  char sheet[2048];
  snprintf(sheet, sizeof sheet, "%s", path);
  if (!with.fetch) {
    with.fetch = fetch_beside;
    with.fetch_context = sheet;
  }
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_no_memory(err);
  const char *slash = strrchr(path, '/');
  const char *name = slash ? slash + 1 : path;
  enum be_status status = be_book_enter(book, name, bytes, size, &with, arena, &entered, err);
  if (status == BE_OK) say_entered(done->doc, done->table, name, &entered);
  done->files += status == BE_OK;
  be_arena_free(arena);
  return status;
}

enum pass { PASS_LINES, PASS_KNOTS, PASS_PULLS, PASS_TRACES, PASSES };

static enum pass pass_of(const char *kind)
{
  static const char *const kinds[] = {"line sheet", "knot sheet", "pull sheet"};
  for (int i = 0; i < 3; i++)
    if (strcmp(kind, kinds[i]) == 0) return (enum pass)i;
  return PASS_TRACES;
}

/* Each file is read once a pass it might belong to: the first pass finds the
 * kinds. */
static enum be_status enter_pass(struct be_book *book, const char *const *paths, size_t count,
                                 enum pass pass, enum pass *kinds, const struct be_entering *how,
                                 struct done *done, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    if (pass != PASS_LINES && kinds[i] != pass) continue;
    struct be_buf bytes;
    be_buf_init(&bytes, BE_BOOK_FILE_MAX);
    status = be_file_read(paths[i], &bytes, err);
    if (status == BE_OK && pass == PASS_LINES)
      kinds[i] = pass_of(be_book_kind(bytes.data, bytes.size, how->mapping));
    if (status == BE_OK && kinds[i] == pass)
      status = enter_one(book, paths[i], bytes.data, bytes.size, how, done, err);
    be_buf_free(&bytes);
  }
  return status;
}

enum be_status be_app_enter(const char *book_path, const char *const *paths, size_t count,
                            const struct be_entering *how, struct be_doc **out, struct be_err *err)
{
  static const struct be_column columns[] = {
      {"file", "file", BE_COLUMN_TEXT, true},
      {"kind", "kind", BE_COLUMN_TEXT, true},
      {"already", "already", BE_COLUMN_TEXT, true},
      {"pulls", "pulls", BE_COLUMN_NUMBER, true},
      {"corrections", "corrections", BE_COLUMN_NUMBER, true},
      {"traces", "traces", BE_COLUMN_NUMBER, true},
      {"lines", "lines", BE_COLUMN_NUMBER, true},
      {"knots", "knots", BE_COLUMN_NUMBER, true},
  };
  struct be_book *book = NULL;
  enum be_status status = be_book_open(book_path, true, &book, err);
  if (status != BE_OK) return status;
  struct done done = {.doc = be_doc_create("enter", "Entered")};
  enum pass *kinds = be_alloc_array(count, sizeof *kinds);
  if (!done.doc || !kinds) status = be_no_memory(err);
  else done.table = be_doc_table(done.doc, "files", "Files", columns, 8);
  for (int pass = 0; pass < PASSES && status == BE_OK; pass++)
    status = enter_pass(book, paths, count, (enum pass)pass, kinds, how, &done, err);
  be_free(kinds);
  be_book_close(book);
  if (status == BE_OK || done.files) *out = done.doc;
  else be_doc_free(done.doc);
  return status;
}
