/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two books brought together: by a person's answers, with nothing overwritten. */
#include "odd_book.h"

/* ---- two benches ---- */

static char here[512], there[512], same[512];

static void open_book(char book[512], const char *name)
{
  test_path(book, name);
  be_file_remove(book, NULL);
  assert_int_equal(be_book_create(book, NULL), BE_OK);
}

static void two_books(void)
{
  open_book(here, "merge-here.book");
  odd_sheet(here, "merge-lines.csv",
            "line,spool,material,label,diameter (mm),lot,source\n"
            "nylon 12 lb,s1,nylon,12 lb,0.33,,bought\n",
            NULL);
  odd_sheet(here, "merge-knots.csv",
            "knot,version,turns,aliases,kind\nuni,,5,\"grinner, gallows\",hitch\n", NULL);
  odd_sheet(here, "merge-pulls.csv",
            "specimen,knot,turns,line A,spool A,load (lb),what,where,bench\n"
            "A1,none,,nylon 12 lb,s1,14.2,broke,clear of it,shed\n"
            "W1,uni,5,nylon 12 lb,s1,12.1,broke,in the knot,shed\n"
            "W2,uni,5,nylon 12 lb,s1,12.6,broke,in the knot,shed\n",
            NULL);
  open_book(there, "merge-there.book");
  odd_sheet(there, "merge-lines-2.csv",
            "line,spool,material,label,diameter (mm),lot,source,opened\n"
            "Nylon 12 lb,s1,nylon,12 lb,0.34,L7,given,2025-06\n",
            NULL);
  odd_sheet(there, "merge-knots-2.csv",
            "knot,version,turns,aliases,kind\ngrinner,,5,\"two turn\",bend\n", NULL);
  odd_sheet(there, "merge-pulls-2.csv",
            "specimen,knot,turns,line A,spool A,load (kg),what,where,bench,trace,temperature,grips,"
            "seating load\n"
            "B1,none,,Nylon 12 lb,s1,6.2,broke,clear of it,shed,,17.5 C,\"drums, 5 wraps\",none\n"
            "B2,grinner,5,Nylon 12 lb,s1,5.2,broke,in the knot,shed,,,,3 lb\n"
            "B3,palomar,,Nylon 12 lb,s9,5.9,broke,in the knot,shed,,,,\n"
            "W1,grinner,5,Nylon 12 lb,s1,12.1 lb,broke,in the knot,shed,,,,\n"
            "W2,grinner,5,Nylon 12 lb,s1,12.7 lb,broke,in the knot,shed,,,,\n",
            NULL);
  odd_sheet(there, "merge-mend-2.csv",
            "specimen,correction,load (kg),what,where\nB2,read wrongly,5.3,broke,at its entry\n",
            NULL);
  test_path(same, "merge-same.csv");
  be_file_remove(same, NULL);
}

static enum be_status merge(const char *table, struct be_doc **doc, struct be_err *err)
{
  *doc = NULL;
  return be_app_merge(here, there, table, doc, err);
}

static void merged(const char *answers, struct be_doc **doc)
{
  struct be_err err = {0};
  test_write(same, answers);
  enum be_status status = merge(same, doc, &err);
  if (status != BE_OK) fail_msg("%s line %zu: %s", err.file, err.line, err.what);
}

static void holds(size_t pulls, struct be_record *record, struct be_arena **arena)
{
  struct be_book *book = NULL;
  struct be_doc *doc = NULL;
  *arena = be_arena_create();
  assert_int_equal(be_book_open(here, false, &book, NULL), BE_OK);
  assert_int_equal(be_book_read(book, *arena, record, NULL), BE_OK);
  be_book_close(book);
  assert_int_equal(record->pulls_count, pulls);
  assert_int_equal(be_app_check(here, &doc, NULL), BE_OK);
  be_doc_free(doc);
}

static const struct be_pull *pull_of(const struct be_record *record, const char *code)
{
  for (size_t i = 0; i < record->pulls_count; i++)
    if (strcmp(record->pulls[i].code, code) == 0) return &record->pulls[i];
  fail_msg("no pull %s", code);
  return NULL;
}

#define HEAD "kind,here,there,same\n"
#define OURS "# what is the same in two books, written by bitterend merge\n"
#define LINES                                                                                      \
  "line,nylon 12 lb,Nylon 12 lb,yes\n\"spool\",\"nylon 12 lb, spool s1\",\"Nylon 12 lb, spool "    \
  "s1\",yes\n"
#define KNOTS "knot,uni,grinner,yes\n"

/* ---- the table ---- */

static void nothing_comes_in_before_it_is_confirmed(void **state)
{
  (void)state;
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  struct be_record record;
  struct be_arena *arena = NULL;
  struct be_buf text;
  two_books();
  assert_int_equal(merge(same, &doc, &err), BE_NO);
  assert_true(says(doc, "Nothing was merged"));
  be_doc_free(doc);
  assert_non_null(strstr(err.file, "merge-same.csv"));
  read_whole(same, &text);
  static const char *const rows[] = {
      "kind,here,there,same,why\r\n",
      "line,nylon 12 lb,Nylon 12 lb,,\"same name, material and label; diameters near\"\r\n",
      "spool,\"nylon 12 lb, spool s1\",\"Nylon 12 lb, spool s1\",,",
      "knot,uni,grinner,,one is another name of the other\r\n",
      "knot,,palomar,no,nothing here is like it",
      "bench,shed,shed,,same name\r\n"};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
    if (!strstr(text.data, rows[i])) fail_msg("no row %s in\n%s", rows[i], text.data);
  be_buf_free(&text);
  assert_int_equal(merge(same, &doc, &err), BE_NO); /* as it was written: still open */
  be_doc_free(doc);
  holds(3, &record, &arena);
  be_arena_free(arena);
}

static void what_is_confirmed_is_one_and_contradictions_are_listed(void **state)
{
  (void)state;
  struct be_doc *doc = NULL;
  struct be_record record;
  struct be_arena *arena = NULL;
  two_books();
  merged(HEAD LINES KNOTS "bench,shed,shed,yes\nspecimen,W2,W2,no\n", &doc);
  assert_true(says(doc, "pulls 4, corrections 1, "));
  assert_true(says(doc, "Specimens there: 5; of these in this book already: 1."));
  assert_true(says(doc, "Contradictions: 4. Nothing was overwritten."));
  assert_true(says(doc, "given"));
  assert_true(says(doc, "0.00034"));
  assert_true(says(doc, "this book's stays"));
  be_doc_free(doc);
  holds(7, &record, &arena);
  assert_string_equal(record.lines[0].source, "bought");
  assert_string_equal(record.lines[0].opened, "2025-06");
  const struct be_handled *b1 = pull_of(&record, "B1")->handling;
  assert_near(b1[BE_HANDLED_TEMPERATURE].number, 290.65, 0);
  assert_string_equal(b1[BE_HANDLED_GRIPS].text, "drums, 5 wraps");
  assert_near(b1[BE_HANDLED_SEATING].number, 0, 0);
  assert_true(isnan(b1[BE_HANDLED_HUMIDITY].number));
  const struct be_pull *b2 = pull_of(&record, "B2"), *w2 = pull_of(&record, "W2 (merge-there)");
  assert_string_equal(record.knots[b2->knot].full, "uni, 5 turns");
  assert_string_equal(record.lines[b2->line_a].name, "nylon 12 lb");
  assert_int_equal(b2->corrections, 1);
  assert_near(b2->load_N, 5.3 * 9.80665, 1e-12);
  assert_near(w2->load_N, 12.7 * 4.4482216152605, 1e-12);
  assert_near(pull_of(&record, "W2")->load_N, 12.6 * 4.4482216152605, 1e-12);
  assert_int_equal(b2->bench, pull_of(&record, "A1")->bench);
  const struct be_line *line = &record.lines[b2->line_a];
  assert_near(line->diameter_m, 0.00033, 1e-18);
  assert_string_equal(line->lot, "L7"); /* not recorded here before */
  assert_string_equal(record.knots[b2->knot].kind, "hitch");
  assert_string_equal(record.lines[pull_of(&record, "B3")->line_a].spool, "s9");
  be_arena_free(arena);
}

static void what_is_not_the_same_is_told_apart(void **state)
{
  (void)state;
  struct be_doc *doc = NULL;
  struct be_record record;
  struct be_arena *arena = NULL;
  two_books();
  merged(HEAD "line,nylon 12 lb,Nylon 12 lb,no\nknot,uni,grinner,no\nbench,shed,shed,no\n"
              "specimen,W1,W1,no\nspecimen,W2,W2,yes\n",
         &doc);
  assert_true(says(doc, "new, told apart"));
  be_doc_free(doc);
  holds(7, &record, &arena);
  const struct be_pull *b2 = pull_of(&record, "B2");
  assert_string_equal(record.lines[b2->line_a].name, "Nylon 12 lb (merge-there)");
  assert_string_equal(record.lines[b2->line_a].spool, "s1");
  assert_string_equal(record.knots[b2->knot].name, "grinner (merge-there)");
  assert_string_equal(record.benches[b2->bench].name, "shed (merge-there)");
  assert_near(pull_of(&record, "W2")->load_N, 12.6 * 4.4482216152605, 1e-12);
  pull_of(&record, "W1 (merge-there)");
  be_arena_free(arena);
}

static void two_pulls_of_one_code_are_asked(void **state)
{
  (void)state;
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  two_books();
  test_write(same, OURS HEAD LINES KNOTS "bench,shed,shed,yes\n");
  assert_int_equal(merge(same, &doc, &err), BE_NO);
  assert_true(says(doc, "one code, but load (N): 56.04"));
  be_doc_free(doc);
}

static void a_book_comes_in_once_and_what_grew_comes_after(void **state)
{
  (void)state;
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  struct be_record record;
  struct be_arena *arena = NULL;
  static const char answers[] =
      HEAD LINES KNOTS "bench,shed,shed,no\nspecimen,W1,W1,yes\nspecimen,W2,W2,no\n"
                       "bench,shed (merge-there),shed,yes\nknot,palomar,palomar,yes\n"
                       "spool,\"nylon 12 lb, spool s9\",\"Nylon 12 lb, spool s9\",yes\n";
  two_books();
  merged(OURS HEAD LINES KNOTS "bench,shed,shed,no\nspecimen,W1,W1,yes\nspecimen,W2,W2,no\n", &doc);
  be_doc_free(doc);
  assert_int_equal(merge(same, &doc, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "came in before"));
  odd_sheet(there, "merge-more.csv",
            "specimen,knot,turns,line A,spool A,load (kg),bench\nB9,grinner,5,Nylon 12 lb,s1,5.37,"
            "shed\n",
            NULL);
  assert_int_equal(merge(same, &doc, &err), BE_NO); /* the bench told apart may be that one */
  assert_true(says(doc, "was told apart when that book came in before"));
  be_doc_free(doc);
  merged(answers, &doc);
  assert_true(says(doc, "pulls 1, corrections 0, "));
  be_doc_free(doc);
  holds(8, &record, &arena);
  be_arena_free(arena);
}

/* ---- traces, calibrations, trials, pictures ---- */

static void all_of_a_hard_book_comes_in(void **state)
{
  (void)state;
  struct be_doc *doc = NULL;
  struct be_record record, other;
  struct be_arena *arena = NULL, *others = be_arena_create();
  struct be_book *book = NULL;
  open_book(here, "merge-empty.book");
  odd_book(there, "merge-odd.book");
  test_path(same, "merge-same.csv");
  merged(HEAD, &doc);
  assert_true(says(doc, "pictures 1."));
  be_doc_free(doc);
  assert_int_equal(be_book_open(there, false, &book, NULL), BE_OK);
  assert_int_equal(be_book_read(book, others, &other, NULL), BE_OK);
  be_book_close(book);
  holds(other.pulls_count, &record, &arena);
  for (size_t i = 0; i < other.pulls_count; i++) {
    const struct be_pull *a = &record.pulls[i], *b = &other.pulls[i];
    assert_string_equal(a->code, b->code);
    assert_true(a->load_N == b->load_N);
    assert_true(a->kind == b->kind && a->what == b->what && a->corrections == b->corrections);
    assert_true((a->trace != 0) == (b->trace != 0));
    assert_int_equal(a->evidence_count, b->evidence_count);
    assert_int_equal(a->trial, b->trial);
  }
  for (size_t i = 0; i < other.lines_count; i++) {
    const struct be_line *a = &record.lines[i], *b = &other.lines[i];
    assert_string_equal(a->name, b->name);
    assert_near(a->label_N, b->label_N, 1e-12);
    assert_near(a->diameter_m, b->diameter_m, 0);
  }
  assert_near(record.lines[3].label_N, 1.25 * 9.80665, 1e-12);
  assert_int_equal(record.calibrations_count, 1);
  assert_int_equal(record.weights_count, 1);
  assert_int_equal(record.trials[0].planned_count, 2);
  assert_string_equal(record.trials[0].rule[BE_RULE_GRIP], "lower bound");
  assert_true(record.knots[1].picture != 0);
  be_arena_free(arena);
  be_arena_free(others);
}

/* The same trace under another code, and the same trial planned in both. */
static void a_trace_is_of_one_pull_and_a_trial_of_one_plan(void **state)
{
  (void)state;
  struct be_doc *doc = NULL;
  struct be_record record;
  struct be_arena *arena = NULL;
  char path[512];
  static const char plan[] = "trial,specimen,order,knot,line A\nfrost,F1,1,palomar,nylon 12 lb\n"
                             "frost,F2,2,palomar,nylon 12 lb\n";
  static const char rules[] = "trial,rule,value\nfrost,slips out,event\n";
  test_path(path, "merge-trace.csv");
  test_write(path, ODD_TRACE("67.3"));
  open_book(here, "merge-plan.book");
  odd_sheet(here, "merge-rules.csv", rules, NULL);
  odd_sheet(here, "merge-plan.csv", plan, NULL);
  odd_sheet(here, "merge-f1.csv", "specimen,trace\nF1,merge-trace.csv\n", NULL);
  open_book(there, "merge-plan-2.book");
  odd_sheet(there, "merge-rules-2.csv", "trial,rule,value\nfrost,slips out,void\n", NULL);
  odd_sheet(there, "merge-plan.csv", plan, NULL);
  odd_sheet(
      there, "merge-f2.csv",
      "specimen,knot,line A,trace,load (lb)\nF2,,,,9.7\nX1,palomar,nylon 12 lb,merge-trace.csv,"
      "\n",
      NULL);
  merged(HEAD "line,nylon 12 lb,nylon 12 lb,yes\nknot,palomar,palomar,yes\ntrial,frost,frost,yes\n",
         &doc);
  assert_true(says(doc, "specimens planned 0"));
  assert_true(says(doc, "left out: a trace is of one pull"));
  assert_true(says(doc, "slips out"));
  be_doc_free(doc);
  holds(2, &record, &arena);
  assert_int_equal(pull_of(&record, "F2")->trial, 0);
  assert_string_equal(record.trials[0].rule[BE_RULE_SLIP], "event");
  be_arena_free(arena);
}

/* What a person says is the same pull does not come in a second time. */
static void a_pull_of_another_code_here_stays_as_it_is(void **state)
{
  (void)state;
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  struct be_record record;
  struct be_arena *arena = NULL;
  two_books();
  odd_sheet(there, "merge-many.csv",
            "specimen,knot,turns,line A,spool A,load (kg)\nM1,grinner,5,Nylon 12 lb,s1,5.2\n"
            "M2,grinner,5,Nylon 12 lb,s1,5.3\nM3,grinner,5,Nylon 12 lb,s1,5.1\n",
            NULL);
  merged(HEAD LINES KNOTS "bench,shed,shed,yes\nspecimen,A1,B1,yes\nspecimen,W2,W2,yes\n", &doc);
  assert_true(says(doc, "is B1 there; "));
  be_doc_free(doc);
  holds(8, &record, &arena);
  assert_near(pull_of(&record, "A1")->load_N, 14.2 * 4.4482216152605, 1e-9);
  assert_string_equal(record.unit, "lb"); /* as typed here, though newtons came in */
  be_arena_free(arena);
  two_books();
  odd_sheet(here, "merge-plan.csv",
            "trial,specimen,order,block,knot,turns,line A,spool A\nt,P1,1,1,uni,5,nylon 12 lb,s1\n",
            NULL);
  test_write(same, HEAD LINES KNOTS "bench,shed,shed,yes\nspecimen,P1,B1,yes\nspecimen,W2,W2,no\n");
  assert_int_equal(merge(same, &doc, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "\"P1\" here and \"B1\" there are not both pulled"));
  holds(3, &record, &arena);
  be_arena_free(arena);
}

/* ---- wrong answers ---- */

static void a_table_that_is_none_is_refused(void **state)
{
  (void)state;
  static const struct {
    const char *table, *what;
    size_t line;
  } bad[] = {
      {"kind,here,there\nline,a,b\n", "needs the columns", 1},
      {HEAD "string,a,b,yes\n", "the kind is", 2},
      {HEAD "line,a,b,perhaps\n", "takes yes or no", 2},
      {HEAD "line,,Nylon 12 lb,yes\n", "the same as what", 2},
      {HEAD "line,a,,no\n", "names nothing there", 2},
      {HEAD "line,hemp,Nylon 12 lb,yes\n", "this book has no line \"hemp\"", 2},
      {HEAD LINES "knot,hemp,grinner,no\n", "this book has no knot \"hemp\"", 4},
      {HEAD "line,nylon 12 lb,Nylno 12 lb,yes\n", "other book has no line \"Nylno 12 lb\"", 2},
      {HEAD LINES "specimen,,W7,yes\n", "the same as what", 4},
      {HEAD LINES "specimen,W7,W7,yes\n", "other book has no specimen \"W7\"", 4},
      {HEAD LINES "bench,shed,shed,yes\nbench,shed,shed,no\n", "both yes and no", 5},
      {HEAD "knot,uni,grinner,yes\nknot,uni,grinner,yes\n", "yes is answered twice", 3},
      {HEAD "line,nylon 12 lb,Nylon 12 lb,no\nspool,\"nylon 12 lb, spool s1\",\"Nylon 12 lb, spool "
            "s1\",yes\n",
       "but its line is", 3},
      {HEAD LINES KNOTS "bench,shed,shed,yes\nspecimen,A1,B1,yes\nspecimen,W1,B1,no\n"
                        "specimen,W2,B1,yes\n",
       "yes is answered twice", 8}};
  struct be_doc *doc = NULL;
  struct be_record record;
  struct be_arena *arena = NULL;
  two_books();
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    struct be_err err = {0};
    test_write(same, bad[i].table);
    if (merge(same, &doc, &err) != BE_BAD_INPUT || !strstr(err.what, bad[i].what) ||
        err.line != bad[i].line)
      fail_msg("%zu: line %zu: %s", i, err.line, err.what);
    assert_true(*err.remedy);
    assert_null(doc);
  }
  holds(3, &record, &arena);
  be_arena_free(arena);
}

static void a_table_of_others_is_not_written_over(void **state)
{
  (void)state;
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  two_books();
  test_write(same, HEAD "line,nylon 12 lb,Nylon 12 lb,\n");
  assert_int_equal(merge(same, &doc, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.file, "merge-same.csv"));
  assert_non_null(strstr(err.what, "open questions: "));
  assert_int_equal(be_app_merge(here, here, same, &doc, &err), BE_WRONG_USE);
  assert_int_equal(be_app_merge(here, "no.book", same, &doc, &err), BE_BAD_INPUT);
}

/* ---- tables of hands and programs ---- */

/* With a mark before it, semicolons, and the comma of our first line for the end of a cell. */
static void a_table_that_a_spreadsheet_saved_is_ours_still(void **state)
{
  (void)state;
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  struct be_buf text;
  two_books();
  test_write(same, "\xEF\xBB\xBF# what is the same in two books; written by bitterend merge;;;\r\n"
                   "kind;here;there;same;why\r\nline;nylon 12 lb;Nylon 12 lb;YES;looked\r\n"
                   "knot;uni;grinner;;\r\n");
  assert_int_equal(merge(same, &doc, &err), BE_NO);
  be_doc_free(doc);
  read_whole(same, &text);
  assert_non_null(strstr(text.data, "line,nylon 12 lb,Nylon 12 lb,yes,looked\r\n"));
  assert_non_null(strstr(text.data, "bench,shed,shed,,same name\r\n"));
  be_buf_free(&text);
}

/* What is B there is A here, and what is C there is B here: C is not A. */
static void a_chain_of_names_is_followed_once(void **state)
{
  (void)state;
  struct be_doc *doc = NULL;
  struct be_record record;
  struct be_arena *arena = NULL;
  open_book(here, "merge-chain.book");
  odd_sheet(here, "merge-chain-1.csv",
            "specimen,knot,line A,load (lb)\nF1,uni,cord A,9.5\nF2,uni,cord B,9.25\n", NULL);
  open_book(there, "merge-chain-there.book");
  odd_sheet(there, "merge-chain-2.csv",
            "specimen,knot,line A,load (lb)\nG1,uni,cord B,9.75\nG2,uni,cord C,9.125 lb\n", NULL);
  test_path(same, "merge-chain-same.csv");
  merged(HEAD "line,cord A,cord B,yes\nline,cord B,cord C,yes\nline,cord B,cord B,no\n"
              "knot,uni,uni,yes\n",
         &doc);
  be_doc_free(doc);
  holds(4, &record, &arena);
  assert_int_equal(pull_of(&record, "G1")->line_a, pull_of(&record, "F1")->line_a);
  assert_int_equal(pull_of(&record, "G2")->line_a, pull_of(&record, "F2")->line_a);
  assert_int_equal(record.lines_count, 2);
  be_arena_free(arena);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(nothing_comes_in_before_it_is_confirmed),
      cmocka_unit_test(what_is_confirmed_is_one_and_contradictions_are_listed),
      cmocka_unit_test(what_is_not_the_same_is_told_apart),
      cmocka_unit_test(two_pulls_of_one_code_are_asked),
      cmocka_unit_test(a_book_comes_in_once_and_what_grew_comes_after),
      cmocka_unit_test(all_of_a_hard_book_comes_in),
      cmocka_unit_test(a_trace_is_of_one_pull_and_a_trial_of_one_plan),
      cmocka_unit_test(a_pull_of_another_code_here_stays_as_it_is),
      cmocka_unit_test(a_table_that_is_none_is_refused),
      cmocka_unit_test(a_table_of_others_is_not_written_over),
      cmocka_unit_test(a_table_that_a_spreadsheet_saved_is_ours_still),
      cmocka_unit_test(a_chain_of_names_is_followed_once),
  };
  return be_tests("app: two books brought together", tests);
}
