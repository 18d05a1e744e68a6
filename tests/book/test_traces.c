/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "book/book_test.h"
#include "trace/trace.h"

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

/* What sampling may have missed, and how far the zero went, come with the trace;
 * each is silent where it cannot be seen. */
static void what_a_trace_missed_and_drifted_is_kept(void **state)
{
  struct shelf *shelf = *state;
  struct folder folder;
  struct be_entering how = fetching(&folder);
  struct be_trace_file *file = NULL;
  struct be_trace_events events;
  /* The end of the first trace is 0.75 N above its start; the second has no end. */
  struct be_buf drifted;
  be_buf_init(&drifted, 1 << 20);
  be_buf_text(&drifted, folder.t1);
  for (int i = 0; i < 40; i++) be_buf_format(&drifted, "%.2f,3.15\n", 5 + 0.02 * i);
  make_trace_of(folder.t2, (struct made_rows){40, 180, 0, 0}, 0.3, 140);
  folder.files[0].text = drifted.data;
  enter_with(shelf, "day.csv", sheet, &how);
  assert_int_equal(
      be_trace_read_bytes(drifted.data, drifted.size, &(struct be_trace_options){0}, &file, NULL),
      BE_OK);
  assert_int_equal(be_trace_find(&file->tests[0], &events, NULL), BE_OK);
  const struct be_pull *pull = pull_of(shelf, "T1");
  assert_true(events.missed_N > 0);
  assert_near(pull->trace_missed_N, events.missed_N, 0);
  assert_false(isnan(events.zero_after_N));
  assert_near(pull->trace_drift_N, events.zero_after_N - events.zero_N, 0);
  assert_true(pull->trace_drift_N > 0.3 && pull->trace_drift_N <= 0.75 + 1e-9);
  assert_true(isnan(pull_of(shelf, "T2")->trace_drift_N));
  assert_near(pull_of(shelf, "T2")->trace_zero_N, 0.3, 1e-9);
  assert_true(isnan(pull_of(shelf, "T3")->trace_missed_N));
  assert_true(isnan(pull_of(shelf, "T3")->trace_drift_N));
  be_trace_file_free(file);
  be_buf_free(&drifted);
  assert_sound(shelf);
}

static void the_ending_of_a_packed_trace_is_no_part_of_its_code(void **state)
{
  struct shelf *shelf = *state;
  struct folder folder;
  fetching(&folder);
  enter_with(shelf, "day.csv", "specimen,knot,line,load (N),what\nT3,reef,nylon,147,broke\n",
             &(struct be_entering){0});
  enter_with(shelf, "runs/T3.csv.zst", folder.t1, &(struct be_entering){0});
  assert_near(pull_of(shelf, "T3")->trace_peak_N, 147.3, 1e-9);
  assert_sound(shelf);
}

/* A trace that says nothing of its columns is entered by a saved layout, and the
 * book goes on reading it so when the layout is forgotten. */
static void a_saved_layout_goes_into_the_book(void **state)
{
  struct shelf *shelf = *state;
  static const char mute[] = "k1;k2;k3\n0;1,5;7\n20;2,5;7,5\n40;3,5;7,25\n60;9,5;7\n80;0,5;7\n";
  static const char text[] = "[deck]\ndelimiter = semicolon\ndecimal = comma\ncolumn = k1\n"
                             "column = k2\ncolumn = k3\nforce = 2\ntime = 1\nunit = kg\n";
  struct be_trace_layouts *layouts;
  enter_with(shelf, "day.csv", "specimen,knot,line,load (N),what\nT3,reef,nylon,93.25,broke\n",
             &(struct be_entering){0});
  struct be_err err =
      refuse_with(shelf, "T3.csv", mute, &(struct be_entering){0}, BE_ASK, "can both be");
  assert_non_null(strstr(err.remedy, "--keep-layout"));
  assert_int_equal(be_trace_layouts_parse(text, sizeof text - 1, &layouts, NULL), BE_OK);
  enter_with(shelf, "T3.csv", mute, &(struct be_entering){.layouts = layouts});
  be_trace_layouts_free(layouts);
  const struct be_pull *pull = pull_of(shelf, "T3");
  assert_near(pull->trace_peak_N, 9.5 * 9.80665, 1e-12);
  struct be_trace_file *file = NULL;
  assert_int_equal(be_book_trace(shelf->book, pull->trace, &file, NULL), BE_OK);
  assert_string_equal(file->tests[0].layout->saved, "deck");
  be_trace_file_free(file);
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
  assert_note(shelf,
              "line 2: taken as a lower bound: flat top in the trace (flagged zero-off saturated)");
  assert_string_equal(pull_of(shelf, "S1")->reason, "flat top in the trace");
  assert_null(pull_of(shelf, "S2")->reason);
  assert_int_equal(pull_of(shelf, "S2")->kind, BE_KIND_EVENT);
}

/* Down as slowly as up: let down, or slipped out; an eye that saw it knows. */
static void what_was_seen_to_go_goes_before_the_trace(void **state)
{
  struct shelf *shelf = *state;
  struct folder folder;
  struct be_entering how = fetching(&folder);
  make_trace_of(folder.t1, (struct made_rows){40, 120, 0, 0}, 2.4, 147.3);
  size_t used = strlen(folder.t1);
  for (int i = 0; i < 150; i++) {
    double force = i < 120 ? 147.3 - 144.9 * (i + 1) / 120 : 2.4;
    used +=
        (size_t)snprintf(folder.t1 + used, TRACE_SIZE - used, "%.2f,%.2f\n", 3.2 + 0.02 * i, force);
    assert_true(used < TRACE_SIZE);
  }
  strcpy(folder.t2, folder.t1);
  strcat(folder.t2, "6.20,2.40\n");
  enter_with(shelf, "day.csv",
             "specimen,knot,line,trace,what\nS1,reef,nylon,t1.csv,\n"
             "S2,reef,nylon,runs/t2.csv,slipped out\n",
             &how);
  assert_int_equal(pull_of(shelf, "S1")->kind, BE_KIND_BOUND);
  assert_note(shelf, "line 2: taken as a lower bound: let down again in the trace");
  assert_int_equal(pull_of(shelf, "S2")->kind, BE_KIND_EVENT);
  assert_null(pull_of(shelf, "S2")->reason);
  assert_note(shelf, "but the sheet says \"slipped out\": taken as an event");
  assert_sound(shelf);
}

/* The record stops before anything let go, after a climb or at a flat top. */
static void no_fall_is_a_lower_bound(void **state)
{
  static const int flats[] = {0, 1, 2, 4, 9, 21, 60};
  for (size_t i = 0; i < sizeof flats / sizeof flats[0]; i++) {
    struct shelf *shelf = *state;
    struct folder folder;
    struct be_entering how = fetching(&folder);
    make_trace_of(folder.t1, (struct made_rows){40, 180, flats[i], 0}, 2.4, 147.3);
    enter_with(shelf, "day.csv", "specimen,knot,line,trace\nS1,reef,nylon,t1.csv\n", &how);
    const struct be_pull *pull = pull_of(shelf, "S1");
    if (pull->kind != BE_KIND_BOUND) print_error("flat for %d rows\n", flats[i]);
    assert_int_equal(pull->kind, BE_KIND_BOUND);
    assert_non_null(pull->reason);
    assert_sound(shelf);
    shelf_teardown(state);
    shelf_setup(state);
  }
}

/* The record stops a row or two after the peak: up, or perhaps falling. */
static void an_end_that_is_not_seen_is_said(void **state)
{
  struct shelf *shelf = *state;
  struct folder folder;
  struct be_entering how = fetching(&folder);
  make_trace_of(folder.t1, (struct made_rows){40, 180, 0, 0}, 2.4, 147.3);
  strcpy(folder.t2, folder.t1);
  strcat(folder.t1, "4.40,140.3\n4.42,140.3\n4.44,140.3\n4.46,140.3\n4.48,140.3\n");
  strcat(folder.t2, "4.40,125.5\n4.42,124.9\n4.44,124.1\n");
  const char *note = ": the end of the pull is not in the trace";
  enter_with(shelf, "a.csv",
             "specimen,knot,line,trace\nS1,reef,nylon,t1.csv\nS2,reef,nylon,runs/t2.csv\n", &how);
  assert_int_equal(pull_of(shelf, "S1")->kind, BE_KIND_BOUND);
  assert_string_equal(pull_of(shelf, "S1")->reason, "the trace ends at its highest load");
  assert_int_equal(pull_of(shelf, "S2")->kind, BE_KIND_EVENT);
  assert_note(shelf, note);
  assert_note(shelf, "line 3: the end of the pull");
  strcat(folder.t2, "4.46,123.9\n");
  enter_with(shelf, "b.csv", "specimen,knot,line,trace,result\nS3,reef,nylon,runs/t2.csv,event\n",
             &how);
  assert_int_equal(shelf->entered.notes_count, 0);
  assert_sound(shelf);
}

/* A correction that leaves the load to the trace is judged by it too, and keeps
 * what the tester wrote. */
static void a_correction_hears_the_trace(void **state)
{
  struct shelf *shelf = *state;
  struct folder folder;
  struct be_entering how = fetching(&folder);
  make_trace(folder.t1, 2.4, 200, 60);
  enter_with(shelf, "day.csv", "specimen,knot,line,trace\nS1,reef,nylon,t1.csv\n", &how);
  enter_text(shelf, "fix.csv",
             "specimen,what,where,reason,correction\nS1,b,e,\"rig too small\",film\n");
  const struct be_pull *pull = pull_of(shelf, "S1");
  assert_int_equal(pull->kind, BE_KIND_BOUND);
  assert_string_equal(pull->reason, "rig too small");
  assert_near(pull->load_N, 200 - pull->trace_zero_N, 1e-9);
  assert_int_equal(pull->corrections, 1);
  assert_sound(shelf);
}

static void drop_units(char *text)
{
  char *unit = strstr(text, "force (N)");
  assert_non_null(unit);
  memcpy(unit, "force    ", 9);
}

static void a_load_without_a_unit_is_not_guessed(void **state)
{
  struct shelf *shelf = *state;
  struct folder folder;
  struct be_entering how = fetching(&folder);
  drop_units(folder.t1);
  drop_units(folder.t2);
  const char *typed = "specimen,knot,line,load (lb),trace\nS1,reef,nylon,31,t1.csv\n",
             *none = "specimen,knot,line,load (lb),trace\nS2,reef,nylon,,runs/t2.csv\n";
  struct be_err err =
      refuse_with(shelf, "b.csv", none, &how, BE_BAD_INPUT, "the trace names no unit of force");
  assert_place(&err, 2, 5);
  assert_part(err.remedy, "\"load (N)\"");
  enter_with(shelf, "a.csv", typed, &how);
  assert_note(shelf, "line 2: the trace names no unit of force");
  enter_with(shelf, "c.csv", "specimen,knot,line,load (lb)\nt2,reef,nylon,30\n", NULL);
  enter_text(shelf, "t2.csv", folder.t2);
  assert_note(shelf, "the trace names no unit of force");
  assert_sound(shelf);
}

static void loads_that_no_rig_reads_are_refused(void **state)
{
  struct shelf *shelf = *state;
  struct folder folder;
  struct be_entering how = fetching(&folder);
  make_trace(folder.t1, 0, 2e6, 0);
  const char *text = "specimen,knot,line,trace\nS1,reef,nylon,t1.csv\n";
  struct be_err err = refuse_with(shelf, "a.csv", text, &how, BE_BAD_INPUT,
                                  "2e+06 N is not a load that a line can bear");
  assert_place(&err, 2, 4);
}

/* Noise of 5 N about 3 N: its peak is one of noise. */
static void a_faint_peak_is_said(void **state)
{
  struct shelf *shelf = *state;
  struct folder folder;
  struct be_entering how = fetching(&folder);
  struct be_random random;
  be_random_init(&random, 77, 3);
  size_t used = (size_t)snprintf(folder.t1, TRACE_SIZE, "time (s),force (N)\n");
  for (int i = 0; i < 200; i++)
    used += (size_t)snprintf(folder.t1 + used, TRACE_SIZE - used, "%.2f,%.2f\n", 0.02 * i,
                             20 + 5 * be_random_normal(&random));
  const char *text = "specimen,knot,line,trace,result\nS1,reef,nylon,t1.csv,\n";
  enter_with(shelf, "a.csv", text, &how);
  assert_note(shelf, "line 2: the highest load of the trace is less than 10 times its noise");
  assert_sound(shelf);
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
      on_a_shelf(a_saved_layout_goes_into_the_book),
      on_a_shelf(what_a_trace_missed_and_drifted_is_kept),
      on_a_shelf(the_ending_of_a_packed_trace_is_no_part_of_its_code),
      on_a_shelf(typed_and_traced_loads_are_compared),
      on_a_shelf(a_flat_top_is_a_lower_bound),
      on_a_shelf(what_was_seen_to_go_goes_before_the_trace),
      on_a_shelf(no_fall_is_a_lower_bound),
      on_a_shelf(an_end_that_is_not_seen_is_said),
      on_a_shelf(a_correction_hears_the_trace),
      on_a_shelf(a_load_without_a_unit_is_not_guessed),
      on_a_shelf(loads_that_no_rig_reads_are_refused),
      on_a_shelf(a_faint_peak_is_said),
      on_a_shelf(a_trace_alone_finds_its_specimen),
      on_a_shelf(bad_traces_refuse_their_sheet),
      on_a_shelf(corrections_and_traces_agree),
      on_a_shelf(files_that_are_not_there_are_refused),
  };
  return be_tests("book: traces", tests);
}
