/* SPDX-License-Identifier: GPL-3.0-or-later */
/* report: findings, standings and strength of one survey in one file. */
#ifndef BE_APP_REPORT_H
#define BE_APP_REPORT_H

#include "app/survey/survey.h"

/* What the report says, document after document; every edition is made of these. */
enum { BE_REPORT_DOCS_MAX = 40 };
struct report {
  const char *spared; /* the book that it is not written over */
  const char *moment; /* that the record is of */
  struct be_doc *docs[BE_REPORT_DOCS_MAX];
  size_t count;
};
enum be_status be_report_make(struct survey *survey, struct report *report, struct be_err *err);
void be_report_free(struct report *report);

/* One file of HTML with everything inside, or of PDF with the same. BE_WRONG_USE for a path that
 * holds the book, or what is no report; be_report_may says so before anything is worked out. */
enum be_status be_report_may(const struct survey *survey, bool pdf, const char *path,
                             struct be_err *err);
enum be_status be_report_write(const struct report *report, bool pdf, const char *path,
                               struct be_err *err);

#endif
