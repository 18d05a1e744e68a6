/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report: which documents, in which order. */
#include "app/report/report.h"

#include "app/written.h"
#include "assets/assets.h"

#include <assert.h>

enum { REPORT_MAX = 256 * 1024 * 1024 };

typedef enum be_status part(const struct survey *survey, struct be_doc **doc, struct be_err *err);
static part *const parts[] = {
    be_summary_doc,  be_standings_doc, be_tables_doc,     be_strength_doc,
    be_findings_doc, be_method_doc,    be_departures_doc, be_voids_doc,
    be_rig_part_doc, be_budget_doc,    be_questions_doc,  be_cautions_doc,
};
enum { PARTS = sizeof parts / sizeof parts[0] };
static_assert((int)PARTS <= (int)BE_REPORT_DOCS_MAX, "a report has room for its parts");

enum be_status be_report_docs(const struct survey *survey, struct be_report *report,
                              struct be_err *err)
{
  struct survey own = *survey;
  own.in_report = true;
  *report = (struct be_report){0};
  for (size_t i = 0; i < PARTS; i++) {
    enum be_status status = parts[i](&own, &report->docs[i], err);
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

/* Its tables are wide: on paper it lies on its side. */
static const char wide_paper[] = "@page { size: A4 landscape; margin: 12mm; }\n"
                                 "@media print { table { font-size: 7pt; }\n"
                                 "th, td { padding-right: 0.5rem; }\n"
                                 "main > h2 { break-before: page; } }\n";

enum be_status be_report_write(const struct survey *survey, const char *path, struct be_err *err)
{
  const struct be_ours ours = {.what = "report",
                               .holds = {"<meta name=\"generator\" content=\"bitterend"},
                               .spared = survey->book_path,
                               .spared_what = "book",
                               .option = "--report"};
  struct be_report report = {0};
  enum be_status status = be_may_write(path, &ours, err);
  if (status == BE_OK) status = be_report_docs(survey, &report, err);
  struct be_buf page, sheet;
  be_buf_init(&page, REPORT_MAX);
  be_buf_init(&sheet, REPORT_MAX);
  const struct be_asset *style = be_asset_find("assets/style.css");
  be_buf_text(&sheet, style ? style->text : "");
  be_buf_text(&sheet, wide_paper);
  struct be_edition edition = {.sheet = sheet.data, .site = "Bitter End", .foot = be_notice};
  if (status == BE_OK) status = be_buf_status(&sheet, err);
  if (status == BE_OK)
    status =
        be_doc_html((const struct be_doc *const *)report.docs, report.count, &edition, &page, err);
  if (status == BE_OK) status = be_write_ours(path, &ours, &page, err);
  be_buf_free(&page);
  be_buf_free(&sheet);
  be_report_free(&report);
  return status;
}
