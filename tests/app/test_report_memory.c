/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory fails at each point of the parts of a report. */
#include "app/report/report.h"
#include "memory_test.h"

static void read_book(struct answers *answers, const char *name, struct sheet *sheet,
                      const char *before)
{
  const struct be_answering how = {.resamples = 20, .relative_to = "uni"};
  answers_open(answers, name, sheet, before, &how);
}

/* Its parts; those that other use cases say are tried there. */
static enum be_status write_tables(void *context, struct be_err *err)
{
  const struct trial *trial = context;
  struct survey survey = *trial->survey;
  char folder[512];
  size_t count;
  test_path(folder, "memory-tables");
  survey.arena = be_arena_create();
  if (!survey.arena) return be_no_memory(err);
  enum be_status status = be_tables_write(&survey, folder, &count, err);
  be_arena_free(survey.arena);
  return status;
}

static void the_report(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,hardware,soak,what,where,result,reason,load (N)");
  for (int i = 0; i < 2; i++) {
    sheet_row(&sheet, "uni,nylon 12 lb,ring,dry,B,K,,,%d", 41 + i);
    sheet_row(&sheet, "clinch,nylon 12 lb,ring,dry,S,K,,,%d", 31 + i);
    sheet_row(&sheet, "none,nylon 12 lb,,dry,B,L,,,%d", 51 + i);
  }
  sheet_row(&sheet, "uni,nylon 12 lb,ring,dry,B,K,void,slack,17");
  read_book(&answers, "memory-report", &sheet, NULL);
  answers.survey.in_report = true;
  try_either(&answers, NULL, be_summary_doc, "Slipped out:");
  try_either(&answers, NULL, be_tables_doc, "record class");
  try_either(&answers, NULL, be_all_strengths_doc, "plain line");
  try_either(&answers, NULL, be_method_doc, "7 of 7");
  try_either(&answers, NULL, be_voids_doc, "slack");
  try_either(&answers, NULL, be_departures_doc, "No trial was planned");
  try_either(&answers, NULL, be_budget_doc, "source by source");
  try_either(&answers, NULL, be_questions_doc, "Of 25 questions");
  try_either(&answers, NULL, be_cautions_doc, "Version");
  struct trial trial = {.survey = &answers.survey};
  be_fail_loop_apart(write_tables, &trial, 10);
  answers_close(&answers);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_report),
  };
  return be_tests("app: memory of a report", tests);
}
