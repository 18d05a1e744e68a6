/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory fails at each point of an answer, from opening the book to printing
 * it: the answer is whole or an error, and nothing leaks. */
#include "failing.h"
#include "app/app.h"
#include "test.h"

#include <sqlite3.h>

static const char sheet_of_two[] =
    "specimen,knot,line A,spool A,line B,soak,load (N),what,where\n"
    "p1,none,nylon 12 lb,S1,,dry,60,broke,clear of it\np2,none,nylon 12 lb,S1,,dry,61,broke,grip\n"
    "p3,none,nylon 12 lb,S1,,dry,62,broke,clear of it\na1,uni,nylon 12 lb,S1,,dry,48,B,K\n"
    "a2,uni,nylon 12 lb,S1,,dry,50,B,K\nb1,palomar,nylon 12 lb,S1,,dry,55,B,K\n"
    "b2,palomar,nylon 12 lb,S1,,dry,57,SB,\nb3,palomar,nylon 12 lb,S1,,dry,59,B,L\n"
    "c1,uni,nylon 6 lb,S2,,dry,25,B,K\nc2,uni,nylon 6 lb,S2,,dry,26,B,K\n"
    "d1,palomar,nylon 6 lb,S2,,dry,28,B,K\nd2,palomar,nylon 6 lb,S2,,dry,29,B,K\n";

/* Every section of a strength document is tried by itself in tests/app: here a small one. */
static const char short_sheet[] =
    "specimen,knot,line A,spool A,line B,soak,load (N),what,where\n"
    "p1,none,nylon 12 lb,S1,,dry,60,broke,clear of it\np2,none,nylon 12 lb,S1,,dry,61,broke,grip\n"
    "p3,none,nylon 12 lb,S1,,dry,62,broke,clear of it\na1,uni,nylon 12 lb,S1,,dry,48,B,K\n"
    "a2,uni,nylon 12 lb,S1,,dry,50,B,K\n";

struct question {
  const char *book;
  enum be_status (*ask)(const char *book, const struct be_answering *how, struct be_doc **doc,
                        struct be_err *err);
  const char *since;
};

static enum be_status ask_versus(const char *book, const struct be_answering *how,
                                 struct be_doc **doc, struct be_err *err)
{
  return be_app_versus(book, "uni", "palomar", how, doc, err);
}

static enum be_status ask_next(const char *book, const struct be_answering *how,
                               struct be_doc **doc, struct be_err *err)
{
  return be_app_next(book, &(const struct be_tying){0}, how, doc, err);
}

static enum be_status ask_rig(const char *book, const struct be_answering *how, struct be_doc **doc,
                              struct be_err *err)
{
  return be_app_rig(book, "2026-03-09", how, doc, err);
}

static enum be_status ask_plan(const char *book, const struct be_answering *how,
                               struct be_doc **doc, struct be_err *err)
{
  return be_app_plan(book,
                     &(const struct be_planning){
                         .trial = "spring", .knots = "uni", .on = "nylon 12 lb", .specimens = 2},
                     how, doc, err);
}

static enum be_status answer(void *context, struct be_err *err)
{
  const struct question *question = context;
  struct be_answering how = {.resamples = 100, .since = question->since};
  struct be_doc *doc = NULL;
  struct be_buf text;
  be_buf_init(&text, 1 << 20);
  enum be_status status = question->ask(question->book, &how, &doc, err);
  if (status == BE_OK) status = be_doc_text(doc, 0, &text, err);
  be_doc_free(doc);
  be_buf_free(&text);
  sqlite3_shutdown();
  return status;
}

/* Entered after the first: standings then say what moved. */
static const char later_sheet[] =
    "specimen,knot,line A,spool A,soak,load (N),correction\n"
    "p4,none,nylon 12 lb,S1,dry,63,\nb4,palomar,nylon 12 lb,S1,dry,44.3,\n"
    "a1,uni,nylon 12 lb,S1,dry,47.1,gauge read again\ne1,snell,nylon 12 lb,S1,dry,53.9,\n";

/* later: a second sheet, or null */
static void make_book(const char *path, const char *sheet, const char *later)
{
  struct be_book *book = NULL;
  struct be_entered entered;
  struct be_entering how = {0};
  struct be_arena *arena = be_arena_create();
  assert_int_equal(be_file_remove(path, NULL), BE_OK);
  assert_int_equal(be_book_create(path, NULL), BE_OK);
  assert_int_equal(be_book_open(path, true, &book, NULL), BE_OK);
  assert_int_equal(be_book_enter(book, "a.csv", sheet, strlen(sheet), &how, arena, &entered, NULL),
                   BE_OK);
  if (later)
    assert_int_equal(
        be_book_enter(book, "b.csv", later, strlen(later), &how, arena, &entered, NULL), BE_OK);
  be_book_close(book);
  be_arena_free(arena);
  sqlite3_shutdown();
}

static void every_answer_bears_a_full_machine(void **state)
{
  (void)state;
  const char *build = getenv("BUILD_DIR");
  char folder[400], path[512], short_path[512], grown_path[512];
  snprintf(folder, sizeof folder, "%.300s%s", build ? build : "/tmp", build ? "/tests/fault" : "");
  snprintf(path, sizeof path, "%s/answers.book", folder);
  snprintf(short_path, sizeof short_path, "%s/short-answers.book", folder);
  snprintf(grown_path, sizeof grown_path, "%s/grown-answers.book", folder);
  make_book(path, sheet_of_two, NULL);
  make_book(short_path, short_sheet, NULL);
  make_book(grown_path, sheet_of_two, later_sheet);
  struct question questions[] = {{short_path, be_app_strength, NULL},
                                 {grown_path, be_app_standings, "b.csv"},
                                 {path, ask_versus, NULL},
                                 {path, ask_next, NULL},
                                 {path, ask_plan, NULL},
                                 {path, ask_rig, NULL}};
  /* SQLite does without some of its caches. */
  for (size_t i = 0; i < 6; i++) be_fail_loop_bearing(answer, &questions[i], 300);
}

int main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(every_answer_bears_a_full_machine)};
  return be_tests("fault: answers", tests);
}
