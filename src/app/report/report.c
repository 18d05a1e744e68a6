/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report: which documents, in which order. */
#include "app/report/report.h"

#include "app/written.h"
#include "assets/assets.h"

#include <assert.h>

enum { REPORT_MAX = 256 * 1024 * 1024 };

static enum be_status cover_doc(const struct survey *survey, struct be_doc **out,
                                struct be_err *err)
{
  struct be_doc *doc = be_doc_create("report", "Report");
  if (!doc) return be_no_memory(err);
  be_doc_sentence(doc,
                  "%zu pulls of %zu knots on %zu spools of line, worked out from the record by "
                  "bitterend %s.",
                  survey->record.pulls_count, survey->record.knots_count,
                  survey->record.lines_count, be_version);
  be_doc_caution(doc, "%s", be_notice);
  struct survey own = *survey;
  own.in_report = false;
  enum be_status status = be_say_departures(doc, &own, err);
  if (survey->record.last.file)
    be_doc_fact(doc, "as_of", "The record as of", "%s, when %s was entered",
                survey->record.last.entered_at, survey->record.last.file);
  be_doc_fact(doc, "seed", "Seed", "%llu", (unsigned long long)survey->how.seed);
  return be_answer_done(survey, doc, status, out, err);
}

typedef enum be_status part(const struct survey *survey, struct be_doc **doc, struct be_err *err);
static part *const parts[] = {cover_doc, be_moved_doc, be_findings_doc, be_standings_doc,
                              be_strength_doc};
enum { PARTS = sizeof parts / sizeof parts[0] };
static_assert((int)PARTS <= (int)BE_REPORT_DOCS_MAX, "a report has room for its parts");

enum be_status be_report_docs(const struct survey *survey, struct be_report *report,
                              struct be_err *err)
{
  struct survey own = *survey;
  own.in_report = true;
  *report = (struct be_report){.moment = survey->record.last.entered_at};
  for (size_t i = 0; i < PARTS; i++) {
    if (parts[i] == be_moved_doc && !survey->how.since) continue;
    enum be_status status = parts[i](&own, &report->docs[report->count], err);
    if (status != BE_OK) return status;
    report->count++;
  }
  return BE_OK;
}

void be_report_free(struct be_report *report)
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

enum be_status be_report_may(const char *book_path, bool pdf, const char *path, struct be_err *err)
{
  const struct be_ours ours = ours_as(pdf, book_path);
  return be_may_write(path, &ours, err);
}

enum be_status be_report_write(const struct be_report *report, const char *book_path, bool pdf,
                               const char *path, struct be_err *err)
{
  const struct be_ours ours = ours_as(pdf, book_path);
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
