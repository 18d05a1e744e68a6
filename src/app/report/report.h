/* SPDX-License-Identifier: GPL-3.0-or-later */
/* report: what is published of one survey, as a list of documents that any edition can print. */
#ifndef BE_APP_REPORT_H
#define BE_APP_REPORT_H

#include "app/survey/survey.h"

enum { BE_REPORT_DOCS_MAX = 24 };
struct be_report {
  struct be_doc *docs[BE_REPORT_DOCS_MAX]; /* the first is titled as the whole */
  size_t count;
  const char *moment; /* that the record is of; null: it is empty */
};

/* Which documents, in which order: the one place that says so. After any status the report is the
 * caller's to free. */
enum be_status be_report_docs(const struct survey *survey, struct be_report *report,
                              struct be_err *err);
void be_report_free(struct be_report *report);

/* One file of HTML with everything inside, or of PDF with the same. BE_WRONG_USE for a path that
 * holds the book, or what is no report; be_report_may says so before anything is worked out. */
enum be_status be_report_may(const char *book_path, bool pdf, const char *path, struct be_err *err);
enum be_status be_report_write(const struct be_report *report, const char *book_path, bool pdf,
                               const char *path, struct be_err *err);

/* A folder of tables, each as CSV and as Markdown: of every combination, and "all" of all of them;
 * with a list of them, by which what an earlier run wrote and this does not is removed, unless it
 * was changed. *count: the files written. BE_WRONG_USE for a file in the way that is no table of ours; then
 * nothing is written. */
enum be_status be_tables_write(const struct survey *survey, const char *path, size_t *count,
                               struct be_err *err);

/* ---- documents of the report ---- */

/* summary.c, titled as the whole: which knot is best where, and how sure. */
enum be_status be_summary_doc(const struct survey *survey, struct be_doc **doc, struct be_err *err);
/* method.c: how it was done, from the records, with what was not recorded. */
enum be_status be_method_doc(const struct survey *survey, struct be_doc **doc, struct be_err *err);
/* questions.c: what readers ask, answered from the record. */
enum be_status be_questions_doc(const struct survey *survey, struct be_doc **doc,
                                struct be_err *err);
/* voids.c */
enum be_status be_voids_doc(const struct survey *survey, struct be_doc **doc, struct be_err *err);
/* parts.c; the rig as of the last day that the record speaks of. */
enum be_status be_departures_doc(const struct survey *survey, struct be_doc **doc,
                                 struct be_err *err);
enum be_status be_rig_part_doc(const struct survey *survey, struct be_doc **doc,
                               struct be_err *err);
enum be_status be_budget_doc(const struct survey *survey, struct be_doc **doc, struct be_err *err);
enum be_status be_cautions_doc(const struct survey *survey, struct be_doc **doc,
                               struct be_err *err);
/* combinations.c: strengths by combination; of one of them; of all in one table. */
enum be_status be_tables_doc(const struct survey *survey, struct be_doc **doc, struct be_err *err);
enum be_status be_combination_doc(const struct survey *survey, const struct combination *where,
                                  struct be_doc **doc, struct be_err *err);
enum be_status be_all_strengths_doc(const struct survey *survey, struct be_doc **doc,
                                    struct be_err *err);
/* tables.c: their table, in lb, kg and N, the rows of each by mean. */
enum be_status be_say_strengths(struct be_doc *doc, const struct survey *survey,
                                const struct combination *const *where, size_t count,
                                const char *title, struct be_err *err);

#endif
