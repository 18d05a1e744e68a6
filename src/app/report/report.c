/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report: findings, standings and strength of one survey in one file. */
#include "app/report/report.h"

#include "app/written.h"
#include "assets/assets.h"

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

enum be_status be_report_make(struct survey *survey, struct report *report, struct be_err *err)
{
  static enum be_status (*const parts[])(const struct survey *survey, struct be_doc **doc,
                                         struct be_err *err) = {cover_doc, be_findings_doc,
                                                                be_standings_doc, be_strength_doc};
  enum be_status status = BE_OK;
  *report = (struct report){.spared = survey->book_path};
  for (size_t i = 0; i < sizeof parts / sizeof parts[0] && status == BE_OK; i++) {
    status = parts[i](survey, &report->docs[i], err);
    if (status == BE_OK) report->count++;
    survey->departures_told = true;
  }
  return status;
}

void be_report_free(struct report *report)
{
  for (size_t i = 0; i < report->count; i++) be_doc_free(report->docs[i]);
  report->count = 0;
}

static struct be_ours ours_as(bool pdf, const char *spared)
{
  struct be_ours ours = {.what = "report",
                         .spared = spared,
                         .spared_what = "book",
                         .option = pdf ? "--pdf" : "--report"};
  if (!pdf) ours.holds[0] = "<meta name=\"generator\" content=\"bitterend";
  else {
    ours.begins = "%PDF-";
    ours.anywhere = "/Creator (bitterend";
  }
  return ours;
}

enum be_status be_report_may(const struct survey *survey, bool pdf, const char *path,
                             struct be_err *err)
{
  const struct be_ours ours = ours_as(pdf, survey->book_path);
  return be_may_write(path, &ours, err);
}

enum be_status be_report_write(const struct report *report, bool pdf, const char *path,
                               struct be_err *err)
{
  const struct be_ours ours = ours_as(pdf, report->spared);
  const struct be_asset *sheet = be_asset_find("assets/style.css");
  const struct be_edition edition = {.sheet = sheet ? sheet->text : "",
                                     .site = "Bitter End",
                                     .foot = be_notice,
                                     .moment = report->moment};
  const struct be_doc *const *docs = (const struct be_doc *const *)report->docs;
  struct be_buf bytes;
  be_buf_init(&bytes, REPORT_MAX);
  enum be_status status = pdf ? be_doc_pdf(docs, report->count, &edition, &bytes, err)
                              : be_doc_html(docs, report->count, &edition, &bytes, err);
  if (status == BE_OK) status = be_write_ours(path, &ours, &bytes, err);
  be_buf_free(&bytes);
  return status;
}
