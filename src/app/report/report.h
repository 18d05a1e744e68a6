/* SPDX-License-Identifier: GPL-3.0-or-later */
/* report: findings, standings and strength of one survey in one file. */
#ifndef BE_APP_REPORT_H
#define BE_APP_REPORT_H

#include "app/survey/survey.h"

/* One file of HTML with everything inside. BE_WRONG_USE for a path that holds the book, or what is
 * no report. */
enum be_status be_report_write(struct survey *survey, const char *path, struct be_err *err);

#endif
