/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A report read by a strict reader: its parts say the same, and every number what it is of. */
#include "app/report/recorded.h"
#include "report_told.h"

static struct trial_book book;
static struct told_report report;

static void read_book(const char *name, const char *const *sheets, size_t count)
{
  trial_begin(&book, name);
  for (size_t i = 0; i < count; i++) trial_enter(&book, sheets[i]);
  trial_read(&book);
  tell(&report, &book.answers.survey);
}

static void done(void)
{
  forget(&report);
  trial_close(&book);
}

/* The document as a program reads it. */
static const char *row_in(struct answers *answers, int part, const char *table, const char *words)
{
  be_buf_init(&answers->json, 1 << 24);
  assert_int_equal(be_doc_json(report.report.docs[part], &answers->json, NULL), BE_OK);
  return row_of(answers, table, words, NULL);
}

/* ---- what is recorded ---- */

static const char handled[] = "specimen,knot,line A,soak,water,tyer,what,where,load (N)\n"
                              "a1,uni,nylon 12 lb,soaked,salt,Wren,broke,in the knot,41\n"
                              "a2,uni,nylon 12 lb,soaked,,Wren,broke,in the knot,42\n"
                              "p1,none,nylon 12 lb,soaked,salt,,broke,clear of it,51\n"
                              "p2,none,nylon 12 lb,soaked,salt,,broke,clear of it,52\n";

static void what_is_not_recorded_is_one_list(void **state)
{
  (void)state;
  read_book("words-untold", (const char *const[]){handled}, 1);
  const char *list = strstr(report.text[SUMMARY].data, "Not recorded of any: ");
  assert_non_null(list);
  size_t named = 1;
  for (const char *at = list; *at && *at != '\n'; at++) named += at[0] == ',' && at[1] == ' ';
  struct be_untold *untold;
  size_t count;
  assert_int_equal(be_untold_of(&book.answers.survey, &untold, &count, NULL), BE_OK);
  for (size_t i = 0; i < count; i++) {
    says_in(&report, SUMMARY, untold[i].what);
    says_in(&report, METHOD, untold[i].what);
    assert_true(*untold[i].why);
  }
  /* One of them, who paid, has a comma of its own. */
  assert_int_equal(named, count + 1);
  says_in(&report, METHOD, "who said what let go");
  done();
}

static void fields_are_counted_by_whom_they_are_of(void **state)
{
  (void)state;
  read_book("words-complete", (const char *const[]){handled}, 1);
  /* Of every pull: soak, load, what. Of kinds: who tied it, where it let go. */
  struct answers answers = {0};
  row_in(&answers, METHOD, "recorded", "dry or soaked");
  assert_non_null(strstr(answers.json.data, "\"complete\":\"3 of "));
  assert_non_null(strstr(answers.json.data, "\"complete_of_kinds\":\"2 of "));
  be_buf_free(&answers.json);
  done();
}

static void brackets_stand_in_no_brackets(void **state)
{
  (void)state;
  read_book("words-brackets", (const char *const[]){handled}, 1);
  for (size_t part = 0; part < PARTS; part++) {
    int depth = 0;
    for (const char *at = report.text[part].data; *at; at++) {
      depth += (*at == '(') - (*at == ')');
      if (depth > 1) fail_msg("%s: %.60s", report_order[part], at - 30);
    }
  }
  done();
}

/* ---- how sure ---- */

static const char by_load[] = "specimen,knot,line A,hardware,soak,what,where,load (N)\n"
                              "a1,uni,nylon 12 lb,ring,dry,broke,in the knot,41\n"
                              "a2,uni,nylon 12 lb,ring,dry,broke,at its entry,42.5\n"
                              "a3,uni,nylon 20 lb,ring,dry,broke,in the knot,71\n"
                              "a4,uni,nylon 20 lb,ring,dry,broke,in the knot,73\n"
                              "b1,snell,nylon 12 lb,ring,dry,broke,in the knot,31\n"
                              "b2,snell,nylon 12 lb,ring,dry,broke,in the knot,32.5\n"
                              "b3,snell,nylon 20 lb,ring,dry,broke,in the knot,51\n"
                              "b4,snell,nylon 20 lb,ring,dry,broke,in the knot,53\n";

/* By hand: the mean of logs over the two combinations, its variance a quarter of the sum of theirs:
 * exp((ln 41.75 + ln 72) / 2) = 54.83. */
static void a_group_by_load_has_its_interval(void **state)
{
  (void)state;
  read_book("words-group", (const char *const[]){by_load}, 1);
  says_in(&report, SUMMARY,
          "nylon to ring, dry: the uni, apart from every other, geometric mean 54.83 N [");
  struct answers answers = {0};
  const char *row = row_in(&answers, STANDINGS, "summary", "nylon to ring, dry (2 shared");
  double low = log(figure(row, "load_low")), high = log(figure(row, "load_high"));
  assert_near(0.5 * (low + high), 0.5 * (log(41.75) + log(72)), 1e-9);
  assert_true(high > low);
  be_buf_free(&answers.json);
  says_in(&report, STANDINGS, "ranges: 1 uni: 54.83 N [");
  silent_in(&report, STANDINGS, "1 to 1");
  says_in(&report, TABLES, "broke in the knot or broke at its entry, 1 of 2 each");
  done();
}

static void three_ways_of_telling_are_explained_once(void **state)
{
  (void)state;
  static const char words[] = "One knot on one line is told of in up to three ways";
  read_book("words-ways", (const char *const[]){by_load}, 1);
  says_in(&report, SUMMARY, words);
  for (int part = SUMMARY + 1; part < PARTS; part++) silent_in(&report, part, words);
  done();
  read_book("words-one-way", (const char *const[]){handled}, 1);
  silent_in(&report, SUMMARY, words);
  done();
}

static void one_plain_pull_gives_no_interval(void **state)
{
  (void)state;
  static const char sheet[] = "specimen,knot,line A,load (lb)\n"
                              "a1,uni,mono A,12.1\na2,uni,mono A,12.6\na3,uni,mono A,11.8\n"
                              "b1,snell,mono A,9.1\nb2,snell,mono A,9.9\nb3,snell,mono A,10.4\n"
                              "p1,none,mono A,14.1\n";
  read_book("words-one-plain", (const char *const[]){sheet}, 1);
  says_in(&report, SUMMARY,
          "apart from every other, mean 12.17 lb [11.16, 13.17], 86 % of the line (too few pulls "
          "for an interval of that), n = 3.");
  says_in(&report, TABLES, "mono A, as measured, soak not recorded: 14.10 lb, n = 1");
  done();
}

static void chances_are_among_those_that_have_any(void **state)
{
  (void)state;
  static const char sheet[] = "specimen,knot,line A,soak,load (N)\n"
                              "a1,uni,nylon 12 lb,dry,52.1\na2,uni,nylon 12 lb,dry,54.7\n"
                              "b1,snell,nylon 12 lb,dry,41.9\nb2,snell,nylon 12 lb,dry,44.2\n"
                              "c1,clinch,nylon 12 lb,dry,49.5\n";
  read_book("words-chances", (const char *const[]){sheet}, 1);
  says_in(&report, STANDINGS, "The chances of being first are among 2 of these 3 knots alone");
  done();
}

/* Specimens of two knots are events of knots too; which of the two slips most they do not tell. */
static void slips_are_counted_of_all_events_of_knots(void **state)
{
  (void)state;
  static const char sheet[] =
      "specimen,design,knot,knot B,line A,soak,what,where,load (N)\n"
      "a1,single knot,uni,,nylon 12 lb,dry,slipped out,in the knot,31\n"
      "a2,single knot,uni,,nylon 12 lb,dry,broke,in the knot,32\n"
      "b1,two different,uni,snell,nylon 12 lb,dry,slipped out,in the knot,33\n"
      "b2,two different,uni,snell,nylon 12 lb,dry,broke,in the knot,34\n"
      "b3,two different,uni,snell,nylon 12 lb,dry,broke,in the knot,35\n"
      "p1,plain line,none,,nylon 12 lb,dry,broke,clear of it,51\n";
  read_book("words-slips", (const char *const[]){sheet}, 1);
  says_in(&report, SUMMARY, "Slipped out: 2 of 5 events of knots where what let go is recorded");
  says_in(&report, SUMMARY, "Most often: the uni, 1 of 2");
  done();
}

/* ---- traces beside sheets ---- */

/* Up to 33.7 N in 4 s; then down as fast by hand, or at once. */
static void write_trace(const char *name, bool let_down)
{
  static char text[1 << 16];
  char path[512];
  size_t used = (size_t)snprintf(text, sizeof text, "time (s),load (N)\n");
  for (int i = 0; i < 480; i++) {
    double part = i < 30     ? 0
                  : i < 230  ? (i - 29) / 200.0
                  : let_down ? fmax(0, 1 - (i - 229) / 200.0)
                             : 0;
    used += (size_t)snprintf(text + used, sizeof text - used, "%.2f,%.2f\n", 0.02 * i, 33.7 * part);
  }
  test_path(path, name);
  test_write(path, text);
}

static void a_trace_does_not_deny_the_sheet_unexplained(void **state)
{
  (void)state;
  static const char sheet[] =
      "specimen,knot,line A,hardware,soak,what,where,load (N),trace\n"
      "a1,uni,nylon 12 lb,ring,dry,slipped out,in the knot,33.7,words-down.csv\n"
      "a2,uni,nylon 12 lb,ring,dry,broke,in the knot,33.2,words-broke.csv\n";
  write_trace("words-down.csv", true);
  write_trace("words-broke.csv", false);
  read_book("words-traces", (const char *const[]){sheet}, 1);
  says_in(&report, FIGURES,
          "a1: peak 33.7 N, slips before it 0, let down as slowly as it was pulled: nothing let "
          "go; but the sheet says \"slipped out\", which counts: an eye knows better");
  says_in(&report, FIGURES, "a2: peak 33.7 N, typed 33.2, slips before it 0, fell to near zero");
  says_in(&report, FIGURES, "A load that was typed counts");
  says_in(&report, FIGURES, "A slip on the way up is a fall that the load climbs back from");
  done();
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_is_not_recorded_is_one_list),
      cmocka_unit_test(fields_are_counted_by_whom_they_are_of),
      cmocka_unit_test(brackets_stand_in_no_brackets),
      cmocka_unit_test(a_group_by_load_has_its_interval),
      cmocka_unit_test(three_ways_of_telling_are_explained_once),
      cmocka_unit_test(one_plain_pull_gives_no_interval),
      cmocka_unit_test(chances_are_among_those_that_have_any),
      cmocka_unit_test(slips_are_counted_of_all_events_of_knots),
      cmocka_unit_test(a_trace_does_not_deny_the_sheet_unexplained),
  };
  return be_tests("app: report, its words", tests);
}
