/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report: findings, standings and strength of one survey in one file. */
#include "app/report/report.h"

#include "app/written.h"
#include "assets/assets.h"

enum { PARTS = 4 };
enum { REPORT_MAX = 256 * 1024 * 1024 };

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

enum be_status be_report_write(struct survey *survey, const char *path, struct be_err *err)
{
  const struct be_ours ours = {.what = "report",
                               .holds = {"<meta name=\"generator\" content=\"bitterend"},
                               .spared = survey->book_path,
                               .spared_what = "book",
                               .option = "--report"};
  struct be_doc *docs[PARTS] = {NULL};
  enum be_status status = be_may_write(path, &ours, err);
  if (status == BE_OK) status = cover_doc(survey, &docs[0], err);
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
  if (status == BE_OK) status = be_write_ours(path, &ours, &page, err);
  be_buf_free(&page);
  for (int i = 0; i < PARTS; i++) be_doc_free(docs[i]);
  return status;
}
