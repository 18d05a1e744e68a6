/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What tests of findings share: the document, and its rows by the words of their sentences. */
#ifndef BE_APP_FINDINGS_TEST_H
#define BE_APP_FINDINGS_TEST_H

#include "figures.h"

static inline void ask(struct answers *answers)
{
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  if (be_findings_doc(&answers->survey, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  answers_print(answers, doc);
}

static inline void open_and_ask(struct answers *answers, const char *name, struct sheet *sheet,
                                const char *before)
{
  answers_open(answers, name, sheet, before, NULL);
  ask(answers);
}

/* A finding, supported or open, of this kind whose sentence has these words. */
static inline const char *said(const struct answers *answers, const char *words)
{
  return row_of(answers, "findings", words, NULL);
}

static inline const char *unsaid(const struct answers *answers, const char *words)
{
  return row_of(answers, "open", words, NULL);
}

static inline double fact(const struct answers *answers, const char *key)
{
  char name[60];
  snprintf(name, sizeof name, "\"%s\":\"", key);
  const char *facts = strstr(answers->json.data, "\"facts\":");
  const char *at = facts ? strstr(facts, name) : NULL;
  if (!at) fail_msg("no fact %s", key);
  return strtod(at + strlen(name), NULL);
}

#endif
