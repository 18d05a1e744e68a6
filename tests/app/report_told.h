/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What tests of reports share: every part as text. */
#ifndef BE_REPORT_TOLD_H
#define BE_REPORT_TOLD_H

#include "app/report/report.h"
#include "trial_book.h"

/* The report of a survey, each of its documents as text. */
struct told_report {
  struct be_report report;
  struct be_buf text[BE_REPORT_DOCS_MAX];
};

static const char *const report_order[] = {"Report",
                                           "Standings",
                                           "Tables, combination by combination",
                                           "Figures",
                                           "Strength",
                                           "Findings",
                                           "How it was done",
                                           "Departures from the plan",
                                           "Void pulls",
                                           "Rig",
                                           "Uncertainty budget",
                                           "What readers ask",
                                           "Cautions, version and seed"};
enum {
  SUMMARY,
  STANDINGS,
  TABLES,
  FIGURES,
  STRENGTH,
  FINDINGS,
  METHOD,
  DEPARTURES,
  VOIDS,
  RIG,
  BUDGET,
  QUESTIONS,
  CAUTIONS,
  PARTS
};

/* Every part is there, in its order, and opens with a sentence. */
static inline void tell(struct told_report *told, const struct survey *survey)
{
  struct be_err err = {0};
  enum be_status status = be_report_docs(survey, &told->report, &err);
  if (status != BE_OK) fail_msg("%s", err.what);
  assert_int_equal((int)told->report.count, PARTS);
  for (size_t i = 0; i < PARTS; i++) {
    be_buf_init(&told->text[i], 1 << 24);
    assert_int_equal(be_doc_text(told->report.docs[i], 100000, &told->text[i], NULL), BE_OK);
    const char *text = told->text[i].data;
    size_t title = strlen(report_order[i]);
    if (strncmp(text, report_order[i], title) != 0 || text[title] != '\n')
      fail_msg("part %zu is no %s", i, report_order[i]);
    const char *first = strstr(text, "\n\n");
    assert_non_null(first);
    const char *stop = strchr(first + 2, '\n');
    if (!stop || stop[-1] != '.')
      fail_msg("%s opens with no sentence: %.80s", report_order[i], first + 2);
  }
}

static inline void forget(struct told_report *told)
{
  for (size_t i = 0; i < told->report.count; i++) be_buf_free(&told->text[i]);
  be_report_free(&told->report);
}

static inline void says_in(const struct told_report *told, int part, const char *words)
{
  if (!strstr(told->text[part].data, words))
    fail_msg("%s does not say: %s\n%s", report_order[part], words, told->text[part].data);
}

static inline void silent_in(const struct told_report *told, int part, const char *words)
{
  if (strstr(told->text[part].data, words)) fail_msg("%s says: %s", report_order[part], words);
}

#endif
