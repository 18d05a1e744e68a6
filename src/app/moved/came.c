/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The document of a report: what moved since a moment, then what came in since, with the reason of
 * each correction. */
#include "app/moved/moved.h"

#include <math.h>
#include <string.h>

static void say_files(struct be_doc *doc, const struct be_came *came)
{
  static const struct be_column columns[] = {
      {"file", "file", BE_COLUMN_TEXT, false},
      {"kind", "what it is", BE_COLUMN_TEXT, false},
      {"entered_at", "entered (UTC)", BE_COLUMN_TEXT, false},
      {"pulls", "new pulls", BE_COLUMN_NUMBER, false},
      {"corrections", "corrections", BE_COLUMN_NUMBER, false},
  };
  if (came->files_count == 0) return;
  be_doc_heading(doc, "What was entered since");
  struct be_table *table =
      be_doc_table(doc, "entered_since", "Files, in the order entered", columns, 5);
  be_table_fold_long(table);
  for (size_t i = 0; i < came->files_count; i++) {
    const struct be_came_file *file = &came->files[i];
    be_table_text(table, "%s", file->name);
    be_table_text(table, "%s", file->kind);
    be_table_text(table, "%s", file->entered_at);
    be_table_number(table, (double)file->pulls, 0);
    be_table_number(table, (double)file->corrections, 0);
  }
}

/* "at least 12.3 lb, slipped out" */
static void put_said(struct be_table *table, const struct survey *survey,
                     const struct be_said *said)
{
  bool void_ = said->kind == BE_KIND_VOID, traced = isnan(said->load_N);
  const char *what = said->what == BE_WHAT_UNKNOWN ? NULL : be_what_word(said->what);
  const char *load = traced
                         ? "by its trace"
                         : be_arena_format(survey->arena, "%.*f %s", survey->decimals,
                                           be_shown(survey, said->load_N), survey->how.unit->name);
  be_table_text(table, "%s%s%s%s",
                void_                         ? "void"
                : said->kind == BE_KIND_BOUND ? "at least "
                                              : "",
                void_  ? ""
                : load ? load
                       : "?",
                what ? ", " : "", what ? what : "");
}

static void say_corrections(struct be_doc *doc, const struct survey *survey,
                            const struct be_came *came)
{
  static const struct be_column columns[] = {
      {"specimen", "specimen", BE_COLUMN_TEXT, false},
      {"was", "was", BE_COLUMN_TEXT, false},
      {"is", "is", BE_COLUMN_TEXT, false},
      {"why", "why", BE_COLUMN_TEXT, false},
      {"file", "file", BE_COLUMN_TEXT, false},
  };
  if (came->corrections_count == 0) return;
  struct be_table *table =
      be_doc_table(doc, "corrections_since", "Results that were corrected", columns, 5);
  be_table_fold_long(table);
  for (size_t i = 0; i < came->corrections_count; i++) {
    const struct be_correction *correction = &came->corrections[i];
    be_table_text(table, "%s", correction->code);
    put_said(table, survey, &correction->was);
    put_said(table, survey, &correction->is);
    be_table_text(table, "%s", correction->why);
    be_table_text(table, "%s", correction->file);
  }
}

static enum be_status read_since(const struct survey *survey, struct be_came *came,
                                 struct be_err *err)
{
  struct be_book *book = NULL;
  struct be_moment moment;
  enum be_status status = be_book_open(survey->book_path, false, &book, err);
  if (status == BE_OK) status = be_book_since(book, survey->how.since, survey->arena, &moment, err);
  if (status == BE_OK) status = be_book_came(book, moment.id, survey->arena, came, err);
  be_book_close(book);
  return status;
}

enum be_status be_moved_doc(const struct survey *survey, struct be_doc **out, struct be_err *err)
{
  struct be_came came;
  struct place *places;
  size_t count;
  enum be_status status = read_since(survey, &came, err);
  if (status != BE_OK) return status;
  const char *title = be_arena_format(survey->arena, "What moved since %s", survey->how.since);
  struct be_doc *doc = title ? be_doc_create("moved", title) : NULL;
  if (!doc) return be_no_memory(err);
  be_progress_step("looking for what moved", NULL, 0);
  status = be_places(survey, &places, &count, err);
  if (status == BE_OK) status = be_say_moved(doc, survey, places, count, err);
  say_files(doc, &came);
  say_corrections(doc, survey, &came);
  return be_answer_done(survey, doc, status, out, err);
}
