/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report: which documents, in which order. */
#include "app/report/report.h"

#include "app/figures/gallery.h"
#include "app/written.h"
#include "assets/assets.h"

#include <assert.h>

enum { REPORT_MAX = 256 * 1024 * 1024 };

typedef enum be_status part(const struct survey *survey, struct be_doc **doc, struct be_err *err);
static part *const parts[] = {
    be_summary_doc,  be_moved_doc,    be_standings_doc, be_tables_doc,     be_figures_doc,
    be_strength_doc, be_findings_doc, be_method_doc,    be_departures_doc, be_voids_doc,
    be_rig_part_doc, be_budget_doc,   be_questions_doc, be_cautions_doc,
};
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

/* Its tables are wide: on paper it lies on its side. */
static const char wide_paper[] = "@page { size: A4 landscape; margin: 12mm; }\n"
                                 "@media print { table { font-size: 7pt; }\n"
                                 "th, td { padding-right: 0.5rem; }\n"
                                 "main > h2 { break-before: page; } }\n";

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
  const struct be_asset *style = be_asset_find("assets/style.css");
  struct be_buf bytes, sheet;
  be_buf_init(&bytes, REPORT_MAX);
  be_buf_init(&sheet, REPORT_MAX);
  be_buf_text(&sheet, style ? style->text : "");
  be_buf_text(&sheet, wide_paper);
  const struct be_edition edition = {
      .sheet = sheet.data, .site = "Bitter End", .foot = be_notice, .moment = report->moment};
  const struct be_doc *const *docs = (const struct be_doc *const *)report->docs;
  enum be_status status = be_buf_status(&sheet, err);
  if (status == BE_OK)
    status = pdf ? be_doc_pdf(docs, report->count, &edition, &bytes, err)
                 : be_doc_html(docs, report->count, &edition, &bytes, err);
  if (status == BE_OK) status = be_write_ours(path, &ours, &bytes, err);
  be_buf_free(&bytes);
  be_buf_free(&sheet);
  return status;
}
