/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests of next share: asking it, and finding what it said. */
#ifndef BE_NEXT_TEST_H
#define BE_NEXT_TEST_H

#include "figures.h"

#include <math.h>

#define HEAD "knot,line A,spool A,soak,load (N)"

static inline void ask(struct answers *answers, struct be_tying asked)
{
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  enum be_status status = be_next_doc(&answers->survey, &asked, &doc, &err);
  if (status != BE_OK) fail_msg("%s", err.what);
  answers_print(answers, doc);
}

static inline void refused(const struct answers *answers, struct be_tying asked, const char *words)
{
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  assert_int_equal(be_next_doc(&answers->survey, &asked, &doc, &err), BE_WRONG_USE);
  assert_null(doc);
  if (!strstr(err.what, words)) fail_msg("not said of \"%s\": %s", err.what, words);
}

static inline bool has_row(const struct answers *answers, const char *table, const char *words)
{
  const char *at = find_table(answers, table), *end = at ? strstr(at, "]}") : NULL;
  const char *found = at ? strstr(at, words) : NULL;
  return found && found < end;
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

/* Step 1, 2, ...: the row of that order. */
static inline const char *step(const struct answers *answers, int order)
{
  char words[40];
  snprintf(words, sizeof words, "\"order\":%d,", order);
  return row_of(answers, "steps", words, NULL);
}

/* Three knots in one combination: loads that all tests may ask about. */
static const double steady[] = {49.6, 50.3, 50.9, 49.1, 50.4};
static const double loose[] = {41.2, 52.7, 47.9, 44.4, 50.6};
static const double poor[] = {21.3, 22.1, 20.7, 21.9, 21.5};

static inline struct sheet sheet_of_three(void)
{
  struct sheet sheet = sheet_begin(HEAD);
  sheet_loads(&sheet, "steady,nylon 12 lb,S1,dry", steady, 5);
  sheet_loads(&sheet, "loose,nylon 12 lb,S1,dry", loose, 5);
  sheet_loads(&sheet, "poor,nylon 12 lb,S1,dry", poor, 5);
  return sheet;
}

#endif
