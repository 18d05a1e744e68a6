/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report: findings, standings and strength of one survey in one file. */
#include "app/survey/survey.h"

#include "assets/assets.h"

#include <stdio.h>
#include <string.h>

enum { PARTS = 4 };
enum { REPORT_MAX = 256 * 1024 * 1024, REPORT_START = 4096 };

static const char mark[] = "<meta name=\"generator\" content=\"bitterend";

static enum be_status cover_doc(const struct survey *survey, struct be_doc **out,
                                struct be_err *err)
{
  char now[32];
  struct be_doc *doc = be_doc_create("report", "Report");
  if (!doc) return be_no_memory(err);
  be_now(now);
  be_doc_sentence(doc,
                  "%zu pulls of %zu knots on %zu spools of line, worked out from the record by "
                  "bitterend %s.",
                  survey->record.pulls_count, survey->record.knots_count,
                  survey->record.lines_count, be_version);
  be_doc_caution(doc, "%s", be_notice);
  enum be_status status = be_say_departures(doc, survey, err);
  be_doc_fact(doc, "written", "Written", "%s", now);
  be_doc_fact(doc, "seed", "Seed", "%llu", (unsigned long long)survey->how.seed);
  return be_answer_done(survey, doc, status, out, err);
}

static enum be_status write_report(struct survey *survey, const char *path, struct be_err *err)
{
  struct be_doc *docs[PARTS] = {NULL};
  enum be_status status = cover_doc(survey, &docs[0], err);
  survey->departures_told = true;
  if (status == BE_OK) status = be_findings_doc(survey, &docs[1], err);
  if (status == BE_OK) status = be_standings_doc(survey, &docs[2], err);
  if (status == BE_OK) status = be_strength_doc(survey, &docs[3], err);
  struct be_buf page;
  be_buf_init(&page, REPORT_MAX);
  const struct be_asset *sheet = be_asset_find("assets/style.css");
  struct be_edition edition = {
      .sheet = sheet ? sheet->text : "", .site = "Bitter End", .foot = be_notice};
  const struct be_doc *const list[] = {docs[0], docs[1], docs[2], docs[3]};
  if (status == BE_OK) status = be_doc_html(list, PARTS, &edition, &page, err);
  if (status == BE_OK) status = be_file_write(path, page.data, page.size, err);
  be_buf_free(&page);
  for (int i = 0; i < PARTS; i++) be_doc_free(docs[i]);
  return status;
}

/* Nothing is replaced but reports of before: not the book, by whatever name, and
 * not a file that is not ours. An empty file holds nothing to lose. */
static enum be_status may_write(const char *book_path, const char *report_path,
                                struct be_arena *arena, struct be_err *err)
{
  char start[REPORT_START + 1];
  size_t got = 0;
  const char *beside = be_arena_format(arena, "%s.part", report_path);
  if (!beside) return be_no_memory(err);
  enum be_status status = BE_OK;
  if (be_file_same(book_path, report_path) || be_file_same(book_path, beside))
    status = be_fail(err, BE_WRONG_USE, "the report would be written over the book");
  else if (be_file_exists(report_path)) {
    status = be_file_start(report_path, start, REPORT_START, &got, err);
    start[got] = '\0';
    if (status != BE_OK || (got && !strstr(start, mark)))
      status = be_fail(err, BE_WRONG_USE, "the file exists, and it is no report of this program");
  }
  if (status == BE_OK) return BE_OK;
  be_fail_at(err, report_path, 0, 0);
  be_fail_remedy(err, "give another name with --report, or move the file away");
  return status;
}

enum be_status be_app_publish(const char *book_path, const char *report_path,
                              const struct be_answering *how, struct be_err *err)
{
  struct survey survey;
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_no_memory(err);
  enum be_status status = may_write(book_path, report_path, arena, err);
  if (status == BE_OK) status = be_survey_read(book_path, how, arena, &survey, err);
  if (status == BE_OK) status = write_report(&survey, report_path, err);
  be_arena_free(arena);
  return status;
}
