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

#endif
