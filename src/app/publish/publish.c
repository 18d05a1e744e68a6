/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The command: works the record out once, and has each part that is wanted written from it. */
#include "app/cards/cards.h"
#include "app/clips/clips.h"
#include "app/report/report.h"

static const struct be_column columns[] = {{"what", "what", BE_COLUMN_TEXT, false},
                                           {"file", "file", BE_COLUMN_TEXT, false}};
enum { COLUMNS = sizeof columns / sizeof columns[0] };

static void say_written(struct be_table *files, const char *what, const char *path)
{
  be_table_text(files, "%s", what);
  be_table_text(files, "%s", path);
}

static enum be_status write_all(struct survey *survey, const struct be_publishing *asked,
                                struct be_doc *doc, struct be_err *err)
{
  enum be_status status = BE_OK;
  be_doc_sentence(doc, "Written from %zu pulls of %zu knots on %zu spools of line.",
                  survey->record.pulls_count, survey->record.knots_count,
                  survey->record.lines_count);
  struct be_table *files = be_doc_table(doc, "files", NULL, columns, COLUMNS);
  if (asked->report_path) {
    status = be_report_write(survey, asked->report_path, err);
    say_written(files, "report", asked->report_path);
  }
  if (status == BE_OK && asked->cards_path) {
    size_t count = 0;
    status = be_cards_write(survey, asked, &count, err);
    be_table_text(files, "%zu cards", count);
    be_table_text(files, "%s", asked->cards_path);
  }
  if (status == BE_OK) status = be_clips_write(survey, asked, doc, files, err);
  be_doc_fact(doc, "seed", "Seed", "%llu", (unsigned long long)survey->how.seed);
  return status;
}

enum be_status be_app_publish(const char *book_path, const struct be_publishing *asked,
                              const struct be_answering *how, struct be_doc **doc,
                              struct be_err *err)
{
  struct survey survey;
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_no_memory(err);
  enum be_status status = be_cards_check(asked, err);
  if (status == BE_OK) status = be_clips_check(asked, err);
  if (status == BE_OK) status = be_survey_read(book_path, how, arena, &survey, err);
  if (status == BE_OK) {
    struct be_doc *made = be_doc_create("publish", "Published");
    status = made ? write_all(&survey, asked, made, err) : be_no_memory(err);
    status = be_answer_done(&survey, made, status, doc, err);
  }
  be_arena_free(arena);
  return status;
}
