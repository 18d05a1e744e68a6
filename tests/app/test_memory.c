/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory fails at each point of a document, once and for ever: all of it stands or an error, and
 * nothing leaks. The books were read before, so that only the document is tried; small ones, one
 * for a few sections each, since every point is a document anew. That reading a book bears it too
 * is asked in tests/fault. */
#include "fault/failing.h"
#include "figures.h"

struct trial {
  const struct survey *survey;
  bool versus;
  struct be_buf whole; /* what the document says when memory is plenty */
};

/* The survey is as it was: what a document takes stands in an arena of its own. Threads may be
 * done without; words may not. */
static enum be_status attempt(void *context, struct be_err *err)
{
  struct trial *trial = context;
  struct survey survey = *trial->survey;
  struct be_doc *doc = NULL;
  struct be_buf text;
  be_buf_init(&text, 1 << 20);
  survey.arena = be_arena_create();
  if (!survey.arena) return be_no_memory(err);
  enum be_status status =
      trial->versus ? be_versus_doc(&survey, 0, 1, &doc, err) : be_strength_doc(&survey, &doc, err);
  if (status == BE_OK) status = be_doc_text(doc, 0, &text, err);
  if (status == BE_OK && strcmp(text.data, trial->whole.data) != 0)
    status = be_fail(err, BE_BAD_INPUT, "a document that is not whole");
  be_doc_free(doc);
  be_buf_free(&text);
  be_arena_free(survey.arena);
  return status;
}

static void try_all(const struct answers *answers, bool versus, size_t known)
{
  struct trial trial = {.survey = &answers->survey, .versus = versus};
  struct be_doc *doc = NULL;
  be_buf_init(&trial.whole, 1 << 20);
  enum be_status status = versus ? be_versus_doc(trial.survey, 0, 1, &doc, NULL)
                                 : be_strength_doc(trial.survey, &doc, NULL);
  assert_int_equal(status, BE_OK);
  assert_int_equal(be_doc_text(doc, 0, &trial.whole, NULL), BE_OK);
  be_doc_free(doc);
  be_fail_loop_bearing(attempt, &trial, known);
  be_buf_free(&trial.whole);
}

static void try_book(const char *name, struct sheet *sheet, const char *before,
                     const char *relative_to, const char *const *tables)
{
  const struct be_answering how = {.resamples = 20, .relative_to = relative_to};
  struct answers answers;
  answers_open(&answers, name, sheet, before, &how);
  answers_strength(&answers);
  for (; *tables; tables++)
    if (!find_table(&answers, *tables)) fail_msg("the book has no %s to try", *tables);
  try_all(&answers, false, 100);
  answers_close(&answers);
}

static void knots_side_by_side(void **state)
{
  (void)state;
  static const char *const tables[] = {"differ", "pairs", "against", "relative", "of_label", NULL};
  struct sheet sheet = sheet_begin("knot,line A,soak,what,where,load (N)");
  for (int i = 0; i < 2; i++) {
    sheet_row(&sheet, "uni,nylon 12 lb,dry,B,K,%d", 41 + i);
    sheet_row(&sheet, "palomar,nylon 12 lb,dry,B,K,%d", 47 + i);
    sheet_row(&sheet, "clinch,nylon 12 lb,dry,B,K,%d", 44 + i);
  }
  try_book("memory-knots", &sheet, NULL, "uni", tables);
}

static void causes_sides_and_shapes(void **state)
{
  (void)state;
  static const char *const tables[] = {"causes", "sides", "families", "lower_bounds", NULL};
  struct sheet sheet = sheet_begin("knot,line A,line B,soak,what,where,which,load (N)");
  sheet_row(&sheet, "join,nylon 12 lb,braid 20 lb,dry,B,K,line A,41");
  sheet_row(&sheet, "join,nylon 12 lb,braid 20 lb,dry,S,,,39.5");
  sheet_row(&sheet, "join,nylon 12 lb,braid 20 lb,dry,B,K,line A,44.2");
  sheet_row(&sheet, "join,nylon 12 lb,braid 20 lb,dry,B,G,,43");
  try_book("memory-causes", &sheet, NULL, NULL, tables);
}

static void chains_of_links(void **state)
{
  (void)state;
  static const char *const tables[] = {"two_same", "length", "location", "spread", NULL};
  struct sheet sheet = sheet_begin("knot,design,line A,soak,free length (mm),load (N)");
  for (int i = 0; i < 3; i++) sheet_row(&sheet, "uni,two same,nylon 12 lb,dry,,%d", 40 + i * i);
  for (int i = 0; i < 2; i++) {
    sheet_row(&sheet, "none,,nylon 12 lb,dry,100,%d", 58 + i);
    sheet_row(&sheet, "none,,nylon 12 lb,dry,400,%d", 55 + i);
  }
  try_book("memory-chains", &sheet, NULL, NULL, tables);
}

static void benches_budget_and_alarms(void **state)
{
  (void)state;
  static const char *const tables[] = {"precision", "benches", "budget", "alarms", "drift", NULL};
  struct sheet sheet = sheet_begin("knot,line A,soak,bench,load (N)");
  for (int i = 0; i < 7; i++)
    sheet_row(&sheet, "uni,nylon 12 lb,dry,%s,%.1f", i % 2 ? "east" : "west",
              i == 6 ? 61 : 40 + i * 0.3);
  try_book("memory-benches", &sheet, "bench,calibration\neast,0.5 %\n", NULL, tables);
}

static void two_knots(void **state)
{
  (void)state;
  struct answers answers;
  const struct be_answering how = {.resamples = 20};
  struct sheet sheet = sheet_begin("knot,line A,soak,what,load (N)");
  for (int i = 0; i < 3; i++) {
    sheet_row(&sheet, "uni,nylon 12 lb,dry,%s,%d", i ? "B" : "S", 41 + i);
    sheet_row(&sheet, "palomar,nylon 12 lb,dry,B,%d", 43 + i);
    sheet_row(&sheet, "none,nylon 12 lb,dry,B,%d", 60 + i);
  }
  answers_open(&answers, "memory-versus", &sheet, NULL, &how);
  answers_versus(&answers, "uni", "palomar");
  assert_non_null(find_table(&answers, "tests"));
  assert_told(&answers, "Slip rates");
  try_all(&answers, true, 50);
  answers_close(&answers);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(knots_side_by_side), cmocka_unit_test(causes_sides_and_shapes),
      cmocka_unit_test(chains_of_links),    cmocka_unit_test(benches_budget_and_alarms),
      cmocka_unit_test(two_knots),
  };
  return be_tests("app: memory", tests);
}
