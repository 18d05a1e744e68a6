/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "book/book_test.h"

static const char *const sheet = "specimen,knot,line,load (N),what,trace\n"
                                 "T1,reef,nylon,,broke,t1.csv\n"
                                 "T2,reef,nylon,141.5,broke,runs/t2.csv\n"
                                 "T3,reef,nylon,93.25,broke,\n";

struct folder {
  char t1[TRACE_SIZE], t2[TRACE_SIZE];
  struct made_file files[3];
};

/* t1 breaks at 147.3 N over a zero of 2.4 N; t2 at 140 N over 0.3 N. */
static struct be_entering fetching(struct folder *folder)
{
  make_trace(folder->t1, 2.4, 147.3, 0);
  make_trace(folder->t2, 0.3, 140, 0);
  folder->files[0] = (struct made_file){"t1.csv", folder->t1};
  folder->files[1] = (struct made_file){"runs/t2.csv", folder->t2};
  folder->files[2] = (struct made_file){NULL, NULL};
  return (struct be_entering){.fetch = fetch_made, .fetch_context = folder->files};
}

static void a_named_trace_gives_the_load(void **state)
{
  struct shelf *shelf = *state;
  struct folder folder;
  struct be_entering how = fetching(&folder);
  enter_with(shelf, "day.csv", sheet, &how);
  assert_int_equal(shelf->entered.traces, 2);
  const struct be_pull *pull = pull_of(shelf, "T1");
  assert_int_equal(pull->kind, BE_KIND_EVENT);
  assert_near(pull->trace_peak_N, 147.3, 1e-9);
  assert_near(pull->trace_zero_N, 2.4, 1e-9);
  assert_near(pull->load_N, 147.3 - pull->trace_zero_N, 1e-9);
  assert_null(pull->load_text);
  assert_null(pull->load_unit);
  assert_true(isnan(pull->first_slip_N));
  struct be_buf bytes;
  be_buf_init(&bytes, BE_BOOK_FILE_MAX);
  assert_int_equal(be_book_file(shelf->book, pull->trace, &bytes, NULL), BE_OK);
  assert_string_equal(bytes.data, folder.t1);
  be_buf_free(&bytes);
  /* The typed load is used where there is one, and a great difference is said. */
  pull = pull_of(shelf, "T2");
  assert_near(pull->load_N, 141.5, 0);
  assert_near(pull->trace_peak_N, 140, 1e-9);
  assert_int_equal(pull_of(shelf, "T3")->trace, 0);
  assert_int_equal(shelf->entered.notes_count, 2);
  assert_sound(shelf);
}

static void typed_and_traced_loads_are_compared(void **state)
{
  struct shelf *shelf = *state;
  struct folder folder;
  struct be_entering how = fetching(&folder);
  enter_with(shelf, "day.csv", "knot,line,load (N),trace\nreef,nylon,160,t1.csv\n", &how);
  assert_note(shelf, "line 2: the trace shows 9 % less than the load typed");
  enter_with(shelf, "two.csv", "knot,line,load (N),trace\nreef,nylon,100,runs/t2.csv\n", &how);
  assert_note(shelf, "line 2: the trace shows 40 % more than the load typed");
}

static void a_flat_top_is_a_lower_bound(void **state)
{
  struct shelf *shelf = *state;
  struct folder folder;
  struct be_entering how = fetching(&folder);
  make_trace(folder.t1, 2.4, 200, 60);
  make_trace(folder.t2, 2.4, 200, 61);
  enter_with(shelf, "day.csv",
             "specimen,knot,line,trace,result\nS1,reef,nylon,t1.csv,\n"
             "S2,reef,nylon,runs/t2.csv,event\n",
             &how);
  assert_int_equal(pull_of(shelf, "S1")->kind, BE_KIND_BOUND);
  assert_near(pull_of(shelf, "S1")->load_N, 200 - pull_of(shelf, "S1")->trace_zero_N, 1e-9);
  assert_note(shelf, "line 2: taken as a lower bound: the trace is flagged zero-off saturated");
  assert_int_equal(pull_of(shelf, "S2")->kind, BE_KIND_EVENT);
}

static void a_trace_alone_finds_its_specimen(void **state)
{
  struct shelf *shelf = *state;
  char trace[TRACE_SIZE];
  make_trace(trace, 1.7, 88.9, 0);
  enter_text(shelf, "day.csv",
             "specimen,knot,line,load (N)\nT1,reef,nylon,85.5\n"
             "T2,reef,nylon,86.5\n");
  struct be_err err = refuse_with(shelf, "runs/T9.csv", trace, NULL, BE_BAD_INPUT,
                                  "no specimen has the code \"T9\"");
  assert_part(err.remedy, "--specimen CODE");
  enter_text(shelf, "runs/t1.csv", trace);
  assert_string_equal(shelf->entered.kind, "trace");
  assert_int_equal(shelf->entered.traces, 1);
  assert_near(pull_of(shelf, "T1")->trace_peak_N, 88.9, 1e-9);
  assert_near(pull_of(shelf, "T1")->load_N, 85.5, 0);
  enter_text(shelf, "T2.csv", trace);
  assert_true(shelf->entered.already);
  assert_int_equal(pull_of(shelf, "T2")->trace, 0);
  make_trace(trace, 1.7, 91.2, 0);
  struct be_entering how = {.specimen = "T1"};
  refuse_with(shelf, "x.csv", trace, &how, BE_BAD_INPUT, "specimen \"T1\" has a trace already");
  how.specimen = "T2";
  enter_with(shelf, "x.csv", trace, &how);
  assert_near(pull_of(shelf, "T2")->trace_peak_N, 91.2, 1e-9);
  assert_sound(shelf);
}

static void bad_traces_refuse_their_sheet(void **state)
{
  struct shelf *shelf = *state;
  struct folder folder;
  struct be_entering how = fetching(&folder);
  struct be_err err =
      refuse_text(shelf, sheet, "the sheet names a trace, and there is no folder to look in");
  assert_place(&err, 2, 6);
  folder.files[1].name = "elsewhere";
  err = refuse_with(shelf, "day.csv", sheet, &how, BE_BAD_INPUT,
                    "trace \"runs/t2.csv\": there is no file \"runs/t2.csv\"");
  assert_place(&err, 3, 6);
  folder.files[1].name = "runs/t2.csv";
  folder.files[1].text = folder.t1;
  err = refuse_with(shelf, "day.csv", sheet, &how, BE_BAD_INPUT,
                    "the trace \"runs/t2.csv\" was entered before, for another specimen");
  assert_place(&err, 3, 0);
  folder.files[1].text = "time (s),force (N)\n0,1\n1,much\n2,3\n";
  err = refuse_with(shelf, "day.csv", sheet, &how, BE_BAD_INPUT, "trace \"runs/t2.csv\": ");
  assert_place(&err, 3, 6);
  folder.files[1].text = "time (s),force (N),force (N)\n0,1,2\n1,5,9\n2,3,4\n";
  err = refuse_with(shelf, "day.csv", sheet, &how, BE_BAD_INPUT, "trace \"runs/t2.csv\": ");
  assert_int_equal(read_shelf(shelf)->pulls_count, 0);
}

/* A correction may bring the trace that the first sheet lacked, and need not
 * bring it again. */
static void corrections_and_traces_agree(void **state)
{
  struct shelf *shelf = *state;
  struct folder folder;
  struct be_entering how = fetching(&folder);
  enter_with(shelf, "day.csv", sheet, &how);
  enter_with(shelf, "fix.csv",
             "specimen,knot,line,load (N),what,where,trace,correction\n"
             "T1,reef,nylon,,broke,at its entry,t1.csv,seen on film\n",
             &how);
  assert_int_equal(pull_of(shelf, "T1")->where, BE_WHERE_ENTRY);
  assert_near(pull_of(shelf, "T1")->trace_peak_N, 147.3, 1e-9);
  assert_int_equal(shelf->entered.traces, 0);
  make_trace(folder.t2, 2.4, 95.5, 0);
  enter_with(shelf, "more.csv",
             "specimen,knot,line,trace,correction\nT3,reef,nylon,runs/t2.csv,found its trace\n",
             &how);
  assert_int_equal(shelf->entered.traces, 1);
  const struct be_pull *pull = pull_of(shelf, "T3");
  assert_near(pull->load_N, 95.5 - pull->trace_zero_N, 1e-9);
  assert_int_equal(pull->corrections, 1);
  assert_sound(shelf);
}

static void files_that_are_not_there_are_refused(void **state)
{
  struct shelf *shelf = *state;
  struct be_buf bytes;
  struct be_err err = {0};
  be_buf_init(&bytes, BE_BOOK_FILE_MAX);
  assert_int_equal(be_book_file(shelf->book, 77, &bytes, &err), BE_BAD_INPUT);
  assert_part(err.what, "no such file");
  be_buf_free(&bytes);
  enter_text(shelf, "a.csv", "knot,line,load (N)\nreef,nylon,7.5\n");
  be_buf_init(&bytes, 9);
  assert_int_equal(be_book_file(shelf->book, 1, &bytes, &err), BE_TOO_LARGE);
  be_buf_free(&bytes);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(a_named_trace_gives_the_load),
      on_a_shelf(typed_and_traced_loads_are_compared),
      on_a_shelf(a_flat_top_is_a_lower_bound),
      on_a_shelf(a_trace_alone_finds_its_specimen),
      on_a_shelf(bad_traces_refuse_their_sheet),
      on_a_shelf(corrections_and_traces_agree),
      on_a_shelf(files_that_are_not_there_are_refused),
  };
  return be_tests("book: traces", tests);
}
