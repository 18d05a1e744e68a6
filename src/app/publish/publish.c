/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The command: works the record out once, and has each part that is wanted written from it. */
#include "app/cards/cards.h"
#include "app/clips/clips.h"
#include "app/figures/gallery.h"
#include "app/package/package.h"
#include "app/publish/stood.h"
#include "app/report/report.h"
#include "app/sheets/sheets.h"

#include <string.h>

static const struct be_column columns[] = {{"what", "what", BE_COLUMN_TEXT, false},
                                           {"file", "file", BE_COLUMN_TEXT, false}};
enum { COLUMNS = sizeof columns / sizeof columns[0] };

static void say_written(struct be_table *files, const char *what, const char *path)
{
  be_table_text(files, "%s", what);
  be_table_text(files, "%s", path);
}

static enum be_status write_figures(struct survey *survey, const struct figures_asked *figures,
                                    struct be_doc *doc, struct be_table *files, struct be_err *err)
{
  size_t count = 0, written = 0;
  enum be_status status = be_figures_write(survey, figures, doc, &count, &written, err);
  const char *what = be_arena_format(survey->arena, "%zu figure%s, %zu file%s", count,
                                     count == 1 ? "" : "s", written, written == 1 ? "" : "s");
  if (status == BE_OK) say_written(files, what ? what : "figures", figures->folder);
  return status;
}

static struct figures_asked figures_of(const struct be_publishing *asked)
{
  return (struct figures_asked){asked->figures_path, asked->size, asked->ground};
}

/* Its documents are made once for both its editions. */
static enum be_status write_report(struct survey *survey, const struct be_publishing *asked,
                                   struct be_table *files, struct be_err *err)
{
  const char *const paths[] = {asked->report_path, asked->pdf_path};
  enum be_status status = BE_OK;
  for (int pdf = 0; pdf < 2 && status == BE_OK; pdf++)
    if (paths[pdf]) status = be_report_may(survey->own_path, pdf, paths[pdf], err);
  if (status != BE_OK) return status;
  struct be_report report;
  status = be_report_docs(survey, &report, err);
  for (int pdf = 0; pdf < 2 && status == BE_OK; pdf++) {
    if (!paths[pdf]) continue;
    status = be_report_write(&report, survey->own_path, pdf, paths[pdf], err);
    say_written(files, pdf ? "report, pages" : "report", paths[pdf]);
  }
  be_report_free(&report);
  return status;
}

static enum be_status write_all(struct survey *survey, const struct be_publishing *asked,
                                struct be_doc *doc, struct be_err *err)
{
  enum be_status status = BE_OK;
  const struct be_record *record = &survey->record;
  be_doc_sentence(doc, "Written from %zu pull%s of %zu knot%s on %zu spool%s of line.",
                  record->pulls_count, be_plural(record->pulls_count), record->knots_count,
                  be_plural(record->knots_count), record->lines_count,
                  be_plural(record->lines_count));
  struct be_table *files = be_doc_table(doc, "files", NULL, columns, COLUMNS);
  if (asked->report_path || asked->pdf_path) status = write_report(survey, asked, files, err);
  if (status == BE_OK && asked->tables_path) {
    size_t count = 0;
    status = be_tables_write(survey, asked->tables_path, &count, err);
    be_table_text(files, "tables, %zu files", count);
    be_table_text(files, "%s", asked->tables_path);
  }
  if (status == BE_OK && asked->sheets_path)
    status = be_sheets_write(survey, asked->sheets_path, files, err);
  const struct figures_asked figures = figures_of(asked);
  if (status == BE_OK && figures.folder) status = write_figures(survey, &figures, doc, files, err);
  if (status == BE_OK && asked->package_path)
    status = be_package_write(survey, asked, doc, files, err);
  if (status == BE_OK && asked->cards_path) {
    size_t count = 0;
    status = be_cards_write(survey, asked, &count, err);
    be_table_text(files, "%zu cards", count);
    be_table_text(files, "%s", asked->cards_path);
  }
  if (status == BE_OK) status = be_clips_write(survey, asked, doc, files, err);
  if (survey->record.last.file)
    be_doc_fact(doc, "as_of", "The record as of", "%s, when %s was entered",
                survey->record.last.entered_at, survey->record.last.file);
  be_doc_fact(doc, "seed", "Seed", "%llu", (unsigned long long)survey->how.seed);
  return status;
}

static enum be_status publish(const char *book_path, const struct be_publishing *asked,
                              const struct be_answering *how, const char *own_path,
                              struct be_arena *arena, struct be_doc **doc, struct be_err *err)
{
  struct survey survey;
  enum be_status status = be_survey_read(book_path, how, arena, &survey, err);
  if (status != BE_OK) return status;
  survey.own_path = own_path;
  struct be_doc *made = be_doc_create("publish", "Published");
  status = made ? write_all(&survey, asked, made, err) : be_no_memory(err);
  return be_answer_done(&survey, made, status, doc, err);
}

/* Both are looked up in the whole book: in the one as it stood a later file was never entered. */
static enum be_status check_since(const char *book_path, const char *since, const char *as_of,
                                  const struct be_moment *last, struct be_arena *arena,
                                  struct be_err *err)
{
  struct be_book *book = NULL;
  struct be_moment moment;
  enum be_status status = be_book_open(book_path, false, &book, err);
  if (status == BE_OK) status = be_book_moment(book, since, arena, &moment, err);
  be_book_close(book);
  if (status != BE_OK || !moment.file || moment.id <= last->id) return status;
  be_fail(err, BE_WRONG_USE,
          "%.80s came at %.40s, after the book as of %.80s, which ends with %.80s: nothing "
          "can have moved in between",
          moment.file, moment.entered_at, as_of, last->file);
  be_fail_at(err, book_path, 0, 0);
  be_fail_remedy(err, "give --since a moment before that of --as-of");
  return BE_WRONG_USE;
}

enum be_status be_app_publish(const char *book_path, const struct be_publishing *asked,
                              const struct be_answering *how, struct be_doc **doc,
                              struct be_err *err)
{
  struct stood stood = {.lock = -1};
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_no_memory(err);
  const struct figures_asked figures = figures_of(asked);
  const char *const paths[] = {asked->report_path, asked->pdf_path,     asked->tables_path,
                               asked->sheets_path, asked->figures_path, asked->package_path,
                               asked->cards_path,  asked->clip_path};
  for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++)
    if (paths[i] && !*paths[i]) {
      be_arena_free(arena);
      return be_fail(err, BE_WRONG_USE, "an empty name is no file and no folder to write to");
    }
  enum be_status status = figures.folder ? be_figures_check(&figures, err) : BE_OK;
  if (status == BE_OK) status = be_cards_check(asked, err);
  if (status == BE_OK) status = be_clips_check(asked, err);
  if (status == BE_OK && asked->as_of && asked->package_path) {
    be_fail(err, BE_WRONG_USE, "a package is of the whole record, which --as-of is not");
    status = BE_WRONG_USE;
  }
  if (status == BE_OK && asked->as_of)
    status = be_stood_make(&stood, book_path, asked->as_of, arena, err);
  if (status == BE_OK && asked->as_of && how->since)
    status = check_since(book_path, how->since, asked->as_of, &stood.last, arena, err);
  if (status == BE_OK)
    status = publish(asked->as_of ? stood.path : book_path, asked, how, book_path, arena, doc, err);
  if (*stood.path && status != BE_OK && err && strcmp(err->file, stood.path) == 0)
    be_fail_at(err, book_path, err->line, err->column);
  if (*stood.path) be_stood_remove(&stood);
  be_arena_free(arena);
  return status;
}
