/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan from the command to its pulls: files, fixing, labels, progress, and when to stop. */
#include "trial_book.h"

#include "stats/standing/standing.h"

static const char pulled_before[] =
    "specimen,knot,line A,spool A,line B,spool B,soak,free length (mm),load (lb)\n"
    "o1,uni,nylon 12 lb,N2,,,dry,300,10.5\no2,uni,nylon 12 lb,N2,,,dry,300,11.3\n"
    "o3,palomar,nylon 12 lb,N2,,,dry,300,12.5\no4,palomar,nylon 12 lb,N2,,,dry,300,12.1\n"
    "o5,none,nylon 12 lb,N2,,,dry,300,13.4\no6,none,nylon 12 lb,N2,,,dry,300,13.9\n"
    "o7,uni,nylon 12 lb,N2,braid 20 lb,B1,dry,300,11.9\n";

static const struct be_planning usual = {.trial = "sum, \"mer\"",
                                         .knots = "uni; palomar",
                                         .on = "N2; N2 + B1; N2 + ring",
                                         .specimens = 3,
                                         .per_evening = 11,
                                         .tyers = "Wren; Sorrel"};

static enum be_status plan(struct trial_book *book, const struct be_planning *asked,
                           struct be_err *err)
{
  struct be_doc *doc = NULL;
  enum be_status status =
      be_app_plan(book->path, asked, &(const struct be_answering){.seed = 5}, &doc, err);
  if (status == BE_OK) {
    memset(&book->answers, 0, sizeof book->answers);
    be_buf_init(&book->answers.json, 64 * 1024 * 1024);
    be_buf_init(&book->answers.text, 64 * 1024 * 1024);
    answers_print(&book->answers, doc);
  }
  return status;
}

static void planned(struct trial_book *book, const struct be_planning *asked)
{
  struct be_err err = {0};
  if (plan(book, asked, &err) != BE_OK) fail_msg("%s: %s", err.file, err.what);
}

static void told_off(struct trial_book *book, const struct be_planning *asked, const char *words)
{
  struct be_err err = {0};
  assert_int_equal(plan(book, asked, &err), BE_WRONG_USE);
  if (!strstr(err.what, words)) fail_msg("not said of \"%s\": %s", err.what, words);
}

static void begin(struct trial_book *book, const char *name)
{
  trial_begin(book, name);
  trial_enter(book, pulled_before);
}

/* ---- fixing ---- */

/* The book of a plan: every planned specimen is that of the document's order. */
static void fixed_once_it_stands(void **state)
{
  (void)state;
  struct trial_book book;
  struct be_planning asked = usual;
  begin(&book, "trial-fixed");
  planned(&book, &asked);
  assert_told(&book.answers, "The book is as it was; --fix enters the plan.");
  trial_close(&book);
  trial_read(&book);
  assert_true(book.answers.survey.record.trials_count == 0);
  trial_close(&book);
  asked.fix = true;
  planned(&book, &asked);
  assert_told(&book.answers, "28 specimens: 2 knots in 3 combinations, 3 each, and 10 plain lines");
  assert_told(&book.answers, "over 3 evenings");
  assert_told(&book.answers, "It is fixed: both sheets are entered.");
  struct be_buf order = book.answers.json, text = book.answers.text;
  trial_read(&book);
  const struct be_trial *trial = be_trial_find(&book.answers.survey, usual.trial);
  assert_non_null(trial);
  assert_true(trial->planned_count == 28);
  for (size_t i = 0; i < 28; i++) {
    char words[100];
    const struct be_planned *at = &trial->planned[i];
    snprintf(words, sizeof words, "\"order\":%zu,\"block\":%g,\"specimen\":\"%s\"", i + 1,
             at->block, at->code);
    assert_non_null(strstr(order.data, words));
  }
  assert_string_equal(trial->rule[BE_RULE_SEED], "5");
  assert_string_equal(trial->rule[BE_RULE_METRES], "1.3"); /* the free length and a metre */
  trial_close(&book);
  be_buf_free(&order);
  be_buf_free(&text);
  size_t size = be_file_size(book.path);
  planned(&book, &asked);
  assert_told(&book.answers, "It was fixed before.");
  trial_close(&book);
  assert_true(be_file_size(book.path) == size);
  asked.rule[BE_RULE_STOP] = "as soon as apart";
  told_off(&book, &asked, "with the rule \"stops\" as \"when all are pulled\"");
  asked.rule[BE_RULE_STOP] = "when all are pulled";
  trial_enter(&book,
              "trial,rule,value,reason\n\"Sum, \"\"mer\"\"\",slips out,void,it was always so\n");
  planned(&book, &asked);
  assert_told(&book.answers, "It was fixed before.");
  assert_non_null(strstr(row_of(&book.answers, "rules", "slips out", NULL), "void"));
  trial_close(&book);
  const char *tyers = asked.tyers, *on = asked.on;
  asked.tyers = "Sorrel; Wren; Ash";
  told_off(&book, &asked, "is fixed already, and not as this plan");
  asked.tyers = tyers;
  asked.on = "N2; N2 + swivel; N2 + B1";
  told_off(&book, &asked, "is fixed already, and not as this plan");
  asked.on = on;
  asked.specimens = 4;
  told_off(&book, &asked, "is fixed already, and not as this plan");
  asked.fix = false;
  told_off(&book, &asked, "is fixed already, and not as this plan");
}

/* Stopped between the two sheets, the same command goes on: rules are there, specimens are not. */
static void stopped_half_way_the_same_command_goes_on(void **state)
{
  (void)state;
  struct trial_book book;
  struct be_planning asked = usual;
  struct be_doc *doc = NULL;
  char sheet[512], rules[512];
  test_path(sheet, "trial-half-sheet.csv");
  test_path(rules, "trial-half-sheet-rules.csv");
  be_file_remove(sheet, NULL);
  be_file_remove(rules, NULL);
  begin(&book, "trial-half");
  asked.sheet_path = sheet;
  planned(&book, &asked);
  trial_close(&book);
  const char *const paths[] = {rules};
  assert_int_equal(be_app_enter(book.path, paths, 1, &(const struct be_entering){0}, &doc, NULL),
                   BE_OK);
  be_doc_free(doc);
  trial_look(&book);
  assert_told(&book.answers, "has rules, and no specimens yet");
  trial_close(&book);
  asked.fix = true;
  planned(&book, &asked);
  assert_told(&book.answers, "It is fixed: both sheets are entered.");
  trial_close(&book);
  trial_look(&book);
  assert_told(&book.answers, "0 of 28 specimens of the trial");
  assert_true(book.answers.survey.record.trials_count == 1);
  trial_close(&book);
}

/* ---- files ---- */

static void what_is_not_ours_is_not_written_over(void **state)
{
  (void)state;
  struct trial_book book;
  struct be_planning asked = usual;
  char path[512], rules[512];
  begin(&book, "trial-files");
  test_path(path, "trial-files-sheet.csv");
  test_path(rules, "trial-files-sheet-rules.csv");
  be_file_remove(path, NULL);
  test_write(rules, "trial,rule,value\nspring,seed,3\n");
  asked.sheet_path = path;
  told_off(&book, &asked, "it is no sheet of this trial");
  assert_false(be_file_exists(path));
  be_file_remove(rules, NULL);
  planned(&book, &asked);
  trial_close(&book);
  planned(&book, &asked); /* over its own */
  trial_close(&book);
  asked.trial = "winter";
  told_off(&book, &asked, "it is no sheet of this trial"); /* another trial's */
  asked = usual;
  asked.sheet_path = book.path;
  told_off(&book, &asked, "over the book");
  asked = usual;
  asked.labels_path = book.path;
  told_off(&book, &asked, "over the book");
  asked.labels_path = path;
  told_off(&book, &asked, "it is no sheet of labels");
  asked.sheet_path = asked.labels_path = "/nowhere/at all.csv";
  told_off(&book, &asked, "cannot be the same file");
}

/* Labels are printed to the grid of sheets to peel off, which nothing else is printed on. */
static void assert_labels_have_sheets_of_their_own(const char *page)
{
  const char *rule = strstr(page, "columns: repeat(3, 63.5mm)"),
             *end = rule ? strchr(rule, '}') : NULL;
  assert_non_null(end);
  assert_non_null(strstr(page, "page: of-labels;\n    break-before: page;"));
  assert_non_null(strstr(page, ".labels strong + span {\n  overflow: hidden;"));
  assert_non_null(strstr(end, ".labels ~ h2 {\n    break-before: page;"));
}

static void no_label_tells_the_knot(void **state)
{
  (void)state;
  struct trial_book book;
  struct be_planning asked = usual;
  struct be_buf page;
  char path[512];
  begin(&book, "trial-labels");
  test_path(path, "trial-labels.html");
  be_file_remove(path, NULL);
  asked.labels_path = path;
  asked.fix = true;
  planned(&book, &asked);
  trial_close(&book);
  be_buf_init(&page, 64 * 1024 * 1024);
  assert_int_equal(be_file_read(path, &page, NULL), BE_OK);
  assert_labels_have_sheets_of_their_own(page.data);
  char *labels = strstr(page.data, "<ul class=\"labels\"");
  char *end = labels ? strstr(labels, "</ul>") : NULL;
  assert_non_null(end);
  const char *list = strstr(end, "What to tie");
  assert_non_null(list);
  *end = '\0';
  static const char *const secrets[] = {"uni",  "palomar", "nylon", "braid", "N2",
                                        "B1",   "ring",    "plain", "dry",   "Wren",
                                        "tyer", "knot",    "single"};
  for (size_t i = 0; i < sizeof secrets / sizeof secrets[0]; i++)
    if (strstr(labels, secrets[i])) fail_msg("a label says %s", secrets[i]);
  size_t count = 0;
  for (const char *at = labels; (at = strstr(at, "<li>")) != NULL; at++) count++;
  assert_true(count == 28);
  trial_read(&book);
  const struct be_trial *trial = be_trial_find(&book.answers.survey, usual.trial);
  for (size_t i = 0; i < 28; i++) {
    char code[60];
    snprintf(code, sizeof code, "<strong>%s</strong>", trial->planned[i].code);
    assert_non_null(strstr(labels, code));
    assert_non_null(strstr(end + 1, trial->planned[i].code));
  }
  assert_non_null(strstr(end + 1, "Sorrel"));
  trial_close(&book);
  be_buf_free(&page);
  /* Later they are printed from the book, and the same. */
  struct be_buf again;
  be_buf_init(&page, 64 * 1024 * 1024);
  be_buf_init(&again, 64 * 1024 * 1024);
  assert_int_equal(be_file_read(path, &page, NULL), BE_OK);
  planned(&book, &(const struct be_planning){.trial = "Sum, \"mer\"", .labels_path = path});
  assert_int_equal(be_file_read(path, &again, NULL), BE_OK);
  assert_string_equal(page.data, again.data);
  be_buf_free(&page);
  be_buf_free(&again);
  assert_told(&book.answers, "0 of 28 specimens");
  trial_close(&book);
}

static void a_trial_is_named_as_it_is(void **state)
{
  (void)state;
  struct trial_book book;
  begin(&book, "trial-names");
  struct be_planning asked = {.trial = "spring"};
  told_off(&book, &asked, "the book has no trial \"spring\"");
  asked = (struct be_planning){.fix = true};
  told_off(&book, &asked, "a trial has a name");
  asked = usual;
  asked.trial = "";
  told_off(&book, &asked, "is not empty");
  asked.trial = "spring\nagain";
  told_off(&book, &asked, "on one line");
  planned(&book, &(const struct be_planning){0});
  assert_told(&book.answers, "The book has no trial yet");
  assert_true(count_rows(&book.answers, "knots") == 2);
  trial_close(&book);
  trial_enter(&book, TRIAL_OF_NINE);
  planned(&book, &(const struct be_planning){0});
  assert_told(&book.answers, "Trials in the book: 1; not pulled to the end yet: 1.");
  trial_close(&book);
  asked = (struct be_planning){.trial = "summer"};
  told_off(&book, &asked, "the book has no trial \"summer\"");
  asked = (struct be_planning){.trial = "spring", .fix = true};
  told_off(&book, &asked, "only its labels");
}

/* ---- line and progress ---- */

static void line_is_needed_for_what_is_not_pulled_yet(void **state)
{
  (void)state;
  struct trial_book book;
  trial_begin(&book, "trial-stock");
  trial_enter(&book, TRIAL_OF_NINE);
  trial_enter(&book, "trial,rule,value\nspring,metres a specimen,1.7\n"
                     "spring,minutes a specimen,6\n");
  trial_enter(&book, "specimen,load (lb),result,reason\nb1,11.2,,\na1,,void,not tied as drawn\n");
  trial_enter(&book, "line,spool,material,on hand (m),counted\nnylon 12 lb,S1,nylon,11.3,may 3\n");
  trial_look(&book);
  const char *row = row_of(&book.answers, "stock", "S1", NULL);
  assert_near(figure(row, "specimens"), 7, 0);
  assert_near(figure(row, "needed_m"), 7 * 1.7, 1e-12);
  assert_near(figure(row, "short_m"), 7 * 1.7 - 11.3, 1e-12);
  assert_told(&book.answers, "2 of 9 specimens of the trial spring are pulled, 1 of them void; 7 "
                             "are left, in 3 blocks: 35 min, 11.9 m of line; nylon 12 lb (S1) is "
                             "0.6 m short.");
  row = row_of(&book.answers, "progress", "palomar", NULL);
  assert_near(figure(row, "pulled_k"), 1, 0);
  assert_near(figure(row, "pulled_n"), 3, 0);
  assert_near(figure(row, "voids"), 1, 0);
  assert_near(figure(row, "events"), 0, 0);
  assert_not_told(&book.answers, "other trials of the book");
  /* Next comes p1; nothing there tells what it is. */
  const char *next = find_table(&book.answers, "next");
  assert_non_null(next);
  assert_true(count_rows(&book.answers, "next") == 7);
  assert_non_null(
      strstr(row_of(&book.answers, "next", "\"order\":3", NULL), "\"specimen\":\"p1\""));
  trial_close(&book);
  /* A second trial on the same spool, of which one specimen of three is pulled. */
  trial_enter(&book, "trial,rule,value\nsummer,metres a specimen,2.3\n");
  trial_enter(&book, "trial,specimen,block,order,knot,line A,spool A,soak\n"
                     "summer,s1,1,1,uni,nylon 12 lb,S1,dry\nsummer,s2,1,2,uni,nylon 12 lb,S1,dry\n"
                     "summer,s3,1,3,uni,nylon 12 lb,S1,dry\n");
  trial_enter(&book, "specimen,load (lb)\ns2,11.1\n");
  trial_look(&book);
  assert_told(&book.answers,
              "Of nylon 12 lb (S1) other trials of the book, not pulled to their end, "
              "still need 4.6 m");
  trial_close(&book);
}

/* ---- stopping ---- */

static const double weak[] = {10.1, 10.3, 9.9, 10.2, 10.0, 10.15},
                    strong[] = {12.9, 13.2, 12.8, 13.1, 13.0, 12.95};

/* By hand, with the function of the library, pull by pull of two knots in turn: how many it takes.
 */
static size_t looks_until_apart(double level, struct be_watched_pair *pair)
{
  struct be_summary now[2];
  double logs[2][6];
  size_t apart_at = 0;
  be_watch_start(2, pair);
  be_summary_of(NULL, 0, &now[0]);
  be_summary_of(NULL, 0, &now[1]);
  for (size_t i = 0; i < 12; i++) {
    logs[i % 2][i / 2] = log((i % 2 ? strong : weak)[i / 2]);
    be_summary_of(logs[i % 2], i / 2 + 1, &now[i % 2]);
    const struct be_watch watch = {1, level};
    assert_int_equal(be_watch_look(now, 2, BE_SCATTER_UNLIKE, &watch, pair, NULL), BE_OK);
    if (pair->apart && !apart_at) apart_at = i + 1;
  }
  return apart_at;
}

/* The same two knots in one line or two, line after line; a level of 0.9 is shared out. */
static void it_may_stop_when_the_evidence_says_so(void **state)
{
  (void)state;
  for (size_t lines = 1; lines <= 2; lines++) {
    struct trial_book book;
    struct be_watched_pair pair[1];
    size_t apart_at = looks_until_apart(1 - 0.1 / (double)lines, pair);
    struct be_buf plan, pulls;
    assert_true(apart_at > 4 && apart_at <= 12);
    trial_begin(&book, lines == 1 ? "trial-watched" : "trial-watched-two");
    be_buf_init(&plan, 10000);
    be_buf_init(&pulls, 10000);
    be_buf_text(&plan, "trial,specimen,block,order,knot,line A,spool A,soak\n");
    be_buf_text(&pulls, "specimen,load (N),session\n");
    for (size_t i = 0; i < 12 * lines; i++) {
      be_buf_format(&plan, "spring,c%zu,1,%zu,%s,nylon 12 lb,S%zu,dry\n", i, i + 1,
                    i % 2 ? "palomar" : "uni", i / 12 + 1);
      be_buf_format(&pulls, "c%zu,%g,may 1\n", i, (i % 2 ? strong : weak)[i % 12 / 2]);
    }
    trial_enter(&book, plan.data);
    trial_enter(&book, "trial,rule,value\nspring,stops,as soon as apart\nspring,level,0.9\n");
    trial_look(&book);
    assert_told(&book.answers, lines == 1 ? "It may not stop yet: 0 of 1 pairs"
                                          : "It may not stop yet: 0 of 2 pairs");
    trial_close(&book);
    trial_enter(&book, pulls.data);
    trial_enter(&book, "trial,specimen,block,order,design,knot,line A,spool A,soak\n"
                       "spring,p1,2,99,plain line,none,nylon 12 lb,S1,dry\n");
    trial_enter(&book, "specimen,knot,line A,spool A,session,load (N)\n"
                       "x1,none,nylon 12 lb,S1,june 1,13\n");
    trial_look(&book);
    assert_not_told(&book.answers, "though its knots are not apart");
    assert_told(&book.answers, lines == 1 ? "It may stop now: the two knots are apart."
                                          : "It may stop now: every pair of knots is apart.");
    for (size_t line = 0; line < lines; line++) {
      const char *row = row_of(&book.answers, "watched", line ? "(S2)" : "(S1)", NULL);
      double difference = fabs(100 * (exp(pair->now.value) - 1));
      assert_near(figure(row, "apart_after"), (double)(12 * line + apart_at), 0);
      assert_near(figure(row, "p"), pair->p, 1e-12);
      assert_near(fabs(figure(row, "difference_percent")), difference, 1e-9);
    }
    trial_close(&book);
    be_buf_free(&plan);
    be_buf_free(&pulls);
  }
}

static void at_its_end_it_cannot_go_on(void **state)
{
  (void)state;
  struct trial_book book;
  trial_begin(&book, "trial-end");
  trial_enter(&book, TRIAL_OF_NINE);
  trial_enter(&book, "trial,rule,value\nspring,stops,as soon as apart\n");
  trial_enter(&book, "specimen,load (lb)\na1,12.1\nb1,12.2\np1,13\nb2,12.3\np2,13.1\na2,12.2\n"
                     "p3,13.2\na3,12\nb3,12.1\n");
  trial_look(&book);
  assert_told(&book.answers,
              "It is at its end, with 0 of 1 pairs of knots apart: it separates none.");
  assert_not_told(&book.answers, "may not stop");
  trial_close(&book);
}

/* What was tied otherwise, or only gave a lower bound, is no evidence for what was planned. */
static void only_what_was_planned_is_evidence(void **state)
{
  (void)state;
  struct trial_book book;
  trial_begin(&book, "trial-other");
  trial_enter(&book, TRIAL_OF_NINE);
  trial_enter(&book, "trial,rule,value\nspring,stops,as soon as apart\n");
  trial_enter(&book, "specimen,knot,load (lb),what,where,result\na1,snell,12.1,broke,,\n"
                     "b1,,10.4,broke,,\na2,,11.5,broke,grip,\n");
  trial_look(&book);
  const char *row = row_of(&book.answers, "watched", "palomar", NULL);
  assert_near(figure(row, "first_n") + figure(row, "second_n"), 1, 0);
  assert_told(&book.answers, "1 pull was otherwise than planned: not in it.");
  row = row_of(&book.answers, "progress", "palomar", NULL);
  assert_near(figure(row, "pulled_k"), 2, 0);
  assert_near(figure(row, "events"), 0, 0);
  assert_near(figure(row, "bounds"), 1, 0);
  assert_near(figure(row, "otherwise"), 1, 0);
  assert_told(&book.answers, "1 lower bound is not in it");
  trial_close(&book);
}

/* A trial that is to be pulled to its end is not looked at on the way. */
static void else_nobody_looks(void **state)
{
  (void)state;
  struct trial_book book;
  trial_begin(&book, "trial-unwatched");
  trial_enter(&book, TRIAL_OF_NINE);
  trial_look(&book);
  assert_null(find_table(&book.answers, "watched"));
  assert_not_told(&book.answers, "may stop");
  assert_not_told(&book.answers, "may not stop");
  trial_close(&book);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(fixed_once_it_stands),
      cmocka_unit_test(stopped_half_way_the_same_command_goes_on),
      cmocka_unit_test(what_is_not_ours_is_not_written_over),
      cmocka_unit_test(no_label_tells_the_knot),
      cmocka_unit_test(a_trial_is_named_as_it_is),
      cmocka_unit_test(line_is_needed_for_what_is_not_pulled_yet),
      cmocka_unit_test(it_may_stop_when_the_evidence_says_so),
      cmocka_unit_test(at_its_end_it_cannot_go_on),
      cmocka_unit_test(only_what_was_planned_is_evidence),
      cmocka_unit_test(else_nobody_looks),
  };
  return be_tests("app: trials", tests);
}
