/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which pulls are asked for: each thing by itself, several together, and what cannot be asked. */
#include "app/pulls/pulls.h"
#include "app_test.h"

static const char sheet[] =
    "specimen,knot,line A,spool A,line B,load (N),what,where,which,result,reason,session,tyer,"
    "bench,trace,photo,clip\n"
    "K01,palomar,nylon 12 lb,S1,,51.5,broke,in the knot,line A,,,2026-03-01,Wren,east,,K01.jpg,\n"
    "K02,palomar,nylon 12 lb,S2,,52.5,broke,grip,,,,2026-03-01 late,wren,west,,,\n"
    "k13,clinch,nylon 12 lb,S1,braid 20 lb,43.5,slipped out,,tag,,,2026-03-09,Tern,east,,,k13.mp4\n"
    "x1,clinch,braid 20 lb,B1,,,,,,void,hook slid,evening,Tern,,,none,\n"
    "x2,none,nylon 12 lb,S1,,71.5,broke,clear of it,,,,2026-04-02,,east,%s,,\n"
    "K99,uni & co,nylon 12 lb,S2,,49.5,broke,in the knot,,,,,Wren,west,,,\n";

static struct survey survey;
static struct be_arena *arena;

static int start(void **state)
{
  (void)state;
  char text[2000], path[512], trace[4096], book[512];
  struct be_answering how = {0};
  struct be_entering entering = {0};
  struct be_doc *doc = NULL;
  size_t used = (size_t)snprintf(trace, sizeof trace, "time (s),load (N)\n");
  /* A flat top at 70 N: a flag. */
  for (int i = 0; i <= 90; i++)
    used += (size_t)snprintf(trace + used, sizeof trace - used, "%d.0,%.2f\n", i,
                             i < 10 || i >= 88 ? 0.25
                             : i < 60          ? 70.25 * (i - 9) / 50
                                               : 70.25);
  test_path(path, "pulls-x2.csv");
  test_write(path, trace);
  snprintf(text, sizeof text, sheet, "pulls-x2.csv");
  test_book(book, "pulls.book", text, NULL);
  char fix[512], plan[512];
  test_path(fix, "pulls-fix.csv");
  test_write(fix, "specimen,load (N),what,where,correction\nK02,53.5,broke,grip,misread\n");
  test_path(plan, "pulls-plan.csv");
  test_write(plan, "trial,specimen,order,knot,line A,spool A\nmay 2,T1,1,palomar,nylon 12 lb,S1\n");
  char planned[512];
  test_path(planned, "pulls-planned.csv");
  test_write(planned, "specimen,load (N),what\nT1,50.25,broke\n");
  const char *const paths[] = {fix, plan, planned};
  if (be_app_enter(book, paths, 3, &entering, &doc, NULL) != BE_OK) return 1;
  be_doc_free(doc);
  arena = be_arena_create();
  return be_survey_read(book, &how, arena, &survey, NULL) == BE_OK ? 0 : 1;
}

static int end(void **state)
{
  (void)state;
  be_arena_free(arena);
  return 0;
}

/* The codes of those that fit, with a space behind each. */
static void finds(const struct be_pulls_asked *asked, const char *codes, const char *said)
{
  struct be_pulls_found found;
  struct be_err err = {0};
  char got[200] = "";
  enum be_status status = be_pulls_find(&survey, asked, &found, &err);
  if (status != BE_OK) print_error("%s\n", err.what);
  assert_int_equal(status, BE_OK);
  for (size_t i = 0; i < found.count; i++) {
    strcat(got, found.pulls[i]->code);
    strcat(got, " ");
  }
  assert_string_equal(got, codes);
  assert_string_equal(found.said, said);
}

#define BY(by, value) (&(const struct be_pulls_asked){.text = {[by] = (value)}})

static void each_thing_is_asked_by_itself(void **state)
{
  (void)state;
  finds(&(const struct be_pulls_asked){{0}}, "K01 K02 k13 x1 x2 K99 T1 ", "");
  finds(BY(BE_PULLS_CODE, "k"), "K01 K02 k13 K99 ", "code with \"k\"");
  finds(BY(BE_PULLS_CODE, "01"), "K01 ", "code with \"01\"");
  finds(BY(BE_PULLS_CODE, "K011"), "", "code with \"K011\"");
  finds(BY(BE_PULLS_KNOT, "1"), "k13 x1 ", "the clinch");
  finds(BY(BE_PULLS_KNOT, "PALOMAR"), "K01 K02 T1 ", "the palomar");
  finds(BY(BE_PULLS_LINE, "braid 20 lb"), "k13 x1 ", "on braid 20 lb");
  finds(BY(BE_PULLS_LINE, "s1"), "K01 k13 x2 T1 ", "on s1");
  finds(BY(BE_PULLS_WHAT, "broke"), "K01 K02 x2 K99 T1 ", "what let go: broke");
  finds(BY(BE_PULLS_WHAT, "not recorded"), "x1 ", "what let go: not recorded");
  finds(BY(BE_PULLS_WHERE, "In The Knot"), "K01 K99 ", "where: In The Knot");
  finds(BY(BE_PULLS_WHERE, "clear of it"), "x2 ", "where: clear of it");
  finds(BY(BE_PULLS_RESULT, "void"), "x1 ", "result: void");
  finds(BY(BE_PULLS_RESULT, "lower bound"), "K02 x2 ", "result: lower bound");
  finds(BY(BE_PULLS_RESULT, "event"), "K01 k13 K99 T1 ", "result: event");
  finds(BY(BE_PULLS_TRIAL, "MAY 2"), "T1 ", "trial MAY 2");
  finds(BY(BE_PULLS_BENCH, "east"), "K01 k13 x2 ", "bench east");
  finds(BY(BE_PULLS_TYER, "wren"), "K01 K02 K99 ", "tied by wren");
  finds(BY(BE_PULLS_TYER, "W"), "", "tied by W");
  finds(BY(BE_PULLS_FLAGS, "with"), "x2 ", "with flags");
  finds(BY(BE_PULLS_FLAGS, "without"), "K01 K02 k13 x1 K99 T1 ", "without flags");
  finds(BY(BE_PULLS_CORRECTED, "with"), "K02 ", "with corrections");
  finds(BY(BE_PULLS_CORRECTED, "without"), "K01 k13 x1 x2 K99 T1 ", "without corrections");
  finds(BY(BE_PULLS_TRACE, "with"), "x2 ", "with a trace");
  finds(BY(BE_PULLS_TRACE, "without"), "K01 K02 k13 x1 K99 T1 ", "without a trace");
  finds(BY(BE_PULLS_PHOTO, "with"), "K01 ", "with a photo");
  finds(BY(BE_PULLS_PHOTO, "without"), "K02 k13 x1 x2 K99 T1 ", "without a photo");
}

static void a_session_is_a_text_a_date_or_a_time(void **state)
{
  (void)state;
  finds(BY(BE_PULLS_SESSION, "EVENING"), "x1 ", "session EVENING");
  finds(BY(BE_PULLS_SESSION, "even"), "", "session even");
  finds(BY(BE_PULLS_SESSION, "2026-03-01"), "K01 K02 ", "session 2026-03-01");
  finds(BY(BE_PULLS_SESSION, "2026-03-01 late"), "K02 ", "session 2026-03-01 late");
  finds(BY(BE_PULLS_SESSION, "2026-03-01..2026-03-09"), "K01 K02 k13 ",
        "session 2026-03-01..2026-03-09");
  finds(BY(BE_PULLS_SESSION, "2026-03-02.."), "k13 x2 ", "session 2026-03-02..");
  finds(BY(BE_PULLS_SESSION, "..2026-03-08"), "K01 K02 ", "session ..2026-03-08");
  finds(BY(BE_PULLS_SESSION, "2026-05-01..2026-05-01"), "", "session 2026-05-01..2026-05-01");
}

static void several_are_asked_together(void **state)
{
  (void)state;
  struct be_pulls_asked asked = {.text = {[BE_PULLS_CODE] = "k",
                                          [BE_PULLS_LINE] = "S1",
                                          [BE_PULLS_WHAT] = "",
                                          [BE_PULLS_TRACE] = "without"}};
  finds(&asked, "K01 k13 ", "code with \"k\"; on S1; without a trace");
  asked.text[BE_PULLS_WHAT] = "broke";
  asked.text[BE_PULLS_TYER] = "Wren";
  finds(&asked, "K01 ",
        "code with \"k\"; on S1; what let go: broke; tied by Wren; without a trace");
  asked.text[BE_PULLS_RESULT] = "void";
  finds(&asked, "",
        "code with \"k\"; on S1; what let go: broke; result: void; tied by Wren; without a trace");
}

static void the_address_keeps_what_is_asked(void **state)
{
  (void)state;
  struct be_pulls_found found;
  assert_int_equal(be_pulls_find(&survey, BY(BE_PULLS_KNOT, "uni & co"), &found, NULL), BE_OK);
  assert_string_equal(found.address, "/pulls?knot=uni%20%26%20co&");
  const struct be_pulls_asked asked = {
      .text = {[BE_PULLS_CODE] = "\xC3\xA9=\"<x>\"", [BE_PULLS_SESSION] = "a+b%2F.-_~Z9"}};
  assert_int_equal(be_pulls_find(&survey, &asked, &found, NULL), BE_OK);
  assert_string_equal(found.address,
                      "/pulls?code=%C3%A9%3D%22%3Cx%3E%22&session=a%2Bb%252F.-_~Z9&");
}

static void cannot(enum be_pulls_by by, const char *value, enum be_status want, const char *what,
                   const char *remedy)
{
  struct be_pulls_found found;
  struct be_pulls_asked asked = {{0}};
  struct be_err err = {0};
  asked.text[by] = value;
  assert_int_equal(be_pulls_find(&survey, &asked, &found, &err), want);
  if (!strstr(err.what, what) || !strstr(err.remedy, remedy))
    print_error("%s: %s; %s\n", value, err.what, err.remedy);
  assert_non_null(strstr(err.what, what));
  assert_non_null(strstr(err.remedy, remedy));
}

static void what_cannot_be_asked_is_told(void **state)
{
  (void)state;
  char endless[5000];
  memset(endless, '9', sizeof endless);
  endless[sizeof endless - 1] = '\0';
  cannot(BE_PULLS_KNOT, "4711", BE_NO, "does not hold so many", "");
  cannot(BE_PULLS_KNOT, endless, BE_NO, "does not hold so many", "");
  cannot(BE_PULLS_KNOT, "-1", BE_WRONG_USE, "there is no knot \"-1\"", "palomar");
  cannot(BE_PULLS_LINE, "S", BE_WRONG_USE, "no line or spool \"S\"", "choose one");
  cannot(BE_PULLS_WHAT, "exploded", BE_WRONG_USE, "what does not take \"exploded\"",
         "it takes not recorded, broke, slipped out,");
  cannot(BE_PULLS_WHERE, "%s%n", BE_WRONG_USE, "where does not take \"%s%n\"", "grip, eye");
  cannot(BE_PULLS_RESULT, "not recorded", BE_WRONG_USE, "result does not take",
         "it takes event, lower bound, void");
  cannot(BE_PULLS_TRIAL, "june", BE_WRONG_USE, "no trial \"june\"", "choose one");
  cannot(BE_PULLS_BENCH, endless, BE_WRONG_USE, "no bench \"9999", "choose one");
  cannot(BE_PULLS_FLAGS, "1", BE_WRONG_USE, "flags does not take \"1\"", "with, without");
  cannot(BE_PULLS_CORRECTED, "yes", BE_WRONG_USE, "corrections does not take", "with, without");
  cannot(BE_PULLS_TRACE, "no", BE_WRONG_USE, "trace does not take \"no\"", "with, without");
  cannot(BE_PULLS_PHOTO, endless, BE_WRONG_USE, "photo does not take \"9999", "with, without");
  static const char *const times[] = {"..",
                                      "2026-03-01..soon",
                                      "2026-13-01..",
                                      "2026-00-10..",
                                      "..2026-03-32",
                                      "..2026-03-00",
                                      "2026-3-1..",
                                      "a..b",
                                      "2026-03-01...2026-03-09",
                                      "2026-03-01 late.."};
  for (size_t i = 0; i < sizeof times / sizeof times[0]; i++)
    cannot(BE_PULLS_SESSION, times[i], BE_WRONG_USE, "is not from one date to another",
           "2026-03-01..2026-03-31");
  cannot(BE_PULLS_SESSION, "2026-03-09..2026-03-01", BE_WRONG_USE, "ends before it begins", "");
}

static struct be_doc *ask(const struct be_pulls_asked *asked)
{
  struct be_doc *doc = NULL;
  assert_int_equal(be_pulls_doc(&survey, asked, 0, &doc, NULL), BE_OK);
  return doc;
}

static void the_page_counts_and_says_what_is_missing(void **state)
{
  (void)state;
  struct be_doc *doc = ask(&(const struct be_pulls_asked){{0}});
  assert_true(says(doc, "The book holds 7 pulls; these are 1 to 7, in the order entered."));
  /* Sessions are what is written: "2026-03-01 late" is another. */
  assert_false(says(doc, "Missing evidence"));
  assert_true(says(doc, "kept by name alone"));
  assert_true(says(doc, "corrected"));
  assert_true(says(doc, "slipped out, tag"));
  assert_true(says(doc, "broke, in the knot, line A"));
  be_doc_free(doc);
  doc = ask(BY(BE_PULLS_TYER, "Tern"));
  assert_true(says(doc, "2 of the 7 pulls of the book match (tied by Tern); these are 1 to 2, in"));
  be_doc_free(doc);
  doc = ask(BY(BE_PULLS_CODE, "zz"));
  assert_true(says(doc, "None of the 7 pulls of the book match (code with \"zz\")."));
  be_doc_free(doc);
  assert_int_equal(be_pulls_doc(&survey, BY(BE_PULLS_TYER, "Tern"), 2, &doc, NULL), BE_NO);
}

static void evidence_is_missing_beside_that_of_others(void **state)
{
  (void)state;
  struct survey other;
  struct be_pulls_found found;
  size_t missing = 99;
  struct be_arena *own = test_survey(
      "pulls-missing.book",
      "specimen,knot,line A,load (N),session,photo,clip\n"
      "a1,uni,nylon,5.5,one,a1.jpg,\na2,uni,nylon,5.5,two,,\na3,uni,nylon,5.5,one,,\n"
      "a4,uni,nylon,5.5,one,none,\na5,uni,nylon,5.5,one,,a5.mp4\na6,uni,nylon,5.5,,,\n"
      "a7,uni,nylon,5.5,two,none,\nb1,clinch,nylon,5.5,one,,\nb2,clinch,nylon,5.5,,b2.jpg,\n",
      &other);
  assert_int_equal(be_pulls_find(&other, &(const struct be_pulls_asked){{0}}, &found, NULL), BE_OK);
  assert_int_equal(be_evidence_missing(&other, &found, &missing, NULL), BE_OK);
  assert_int_equal(missing, 2); /* a3 and b1: of "two" nobody took any, and a6 has no session */
  assert_int_equal(be_pulls_find(&other, BY(BE_PULLS_KNOT, "uni"), &found, NULL), BE_OK);
  assert_int_equal(be_evidence_missing(&other, &found, &missing, NULL), BE_OK);
  assert_int_equal(missing, 1);
  struct be_doc *doc = NULL;
  assert_int_equal(be_pulls_doc(&other, BY(BE_PULLS_KNOT, "uni"), 0, &doc, NULL), BE_OK);
  assert_true(says(doc, "Missing evidence: 1 of these 7 name neither a photo nor a clip"));
  be_doc_free(doc);
  be_arena_free(own);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_thing_is_asked_by_itself),
      cmocka_unit_test(a_session_is_a_text_a_date_or_a_time),
      cmocka_unit_test(several_are_asked_together),
      cmocka_unit_test(the_address_keeps_what_is_asked),
      cmocka_unit_test(what_cannot_be_asked_is_told),
      cmocka_unit_test(the_page_counts_and_says_what_is_missing),
      cmocka_unit_test(evidence_is_missing_beside_that_of_others),
  };
  cmocka_set_message_output(CM_OUTPUT_TAP);
  return cmocka_run_group_tests_name("app: which pulls", tests, start, end);
}
