/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Can the rig be trusted: what the document says, the page of a pull, and the form that logs a
 * check weight. Published figures for curves, classes and charts are in tests/rig. */
#define _POSIX_C_SOURCE 200809L
#include "app/live/live.h"
#include "app/rig/trust.h"
#include "trial_book.h"
#include "web/client.h"

#include <limits.h>

/* reading = 1 + 2 N, without a residual. A step of 0.02 N is 0.5 % of 4 N, so that this load keeps
 * class 1 alone; the others keep class 0.5. */
#define WINTER                                                                                     \
  "bench,calibration,certificate,date,months,load applied (N),reading,reference,resolution\n"      \
  "shed,winter,K-7,2026-01-15,3,4,9,0.1 %,0.02 N\nshed,winter,,,,8,17,,\nshed,winter,,,,20,41,,\n" \
  "shed,winter,,,,50,101,,\n"

#define PULLS                                                                                      \
  "specimen,knot,line A,load (N),bench,session,zero before (N),zero after (N)\n"                   \
  "inside,uni,nylon,20,shed,2026-02-01,0.10,0.13\noutside,uni,nylon,51,shed,2026-02-01,,\n"        \
  "overdue,uni,nylon,31,shed,2026-04-20,,\nbefore,uni,nylon,31,shed,2026-01-14,,\n"                \
  "nowhere,uni,nylon,31,,2026-02-01,,\nboth,uni,nylon,3,shed,2026-04-16,,\n"

/* Forces 20, 20.1, 19.9, 20, 20.1, 19.9 N: mean 20, mean moving range 0.14, so that the limits are
 * 20 -+ 2.66 * 0.14 N (NIST e-Handbook 6.3.2.2). */
#define LOG                                                                                        \
  "bench,date,weight (N),reading,note\nshed,2026-02-01,20,41,\nshed,2026-02-02,20,41.2,\n"         \
  "shed,2026-02-03,20,40.8,\nshed,2026-02-04,20,41,\nshed,2026-02-05,20,41.2,\n"                   \
  "shed,2026-02-06,20,40.8,\n"

static long day_of(const char *date)
{
  long day = 0;
  assert_int_equal(be_date_read(date, strlen(date), &day, NULL), BE_OK);
  return day;
}

static struct trial_book shed;

static void open_shed(const char *log)
{
  trial_begin(&shed, "rig");
  trial_enter(&shed, WINTER);
  trial_enter(&shed, PULLS);
  if (log) trial_enter(&shed, log);
  trial_read(&shed);
}

static struct be_doc *look(const char *date)
{
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  enum be_status status = be_rig_doc(&shed.answers.survey, day_of(date), &doc, &err);
  if (status != BE_OK) fail_msg("%s", err.what);
  return doc;
}

static void rig_says(const char *date, const char *words)
{
  struct be_doc *doc = look(date);
  assert_true(says(doc, words));
  be_doc_free(doc);
}

/* ---- the answer ---- */

static void the_first_sentence_answers(void **state)
{
  (void)state;
  static const struct {
    const char *last, *date, *words;
  } cases[] = {
      {LOG "shed,2026-03-08,20,41.3,\n", "2026-03-09",
       "shed can be trusted: calibration winter is in date for 37 days; class 1 from 4.0 to 50.0 "
       "N; "
       "its last check weight, of 2026-03-08, is inside the limits."},
      {LOG "shed,2026-03-08,20,41.74,\n", "2026-03-09",
       "is inside the limits, but far from the one before."},
      {LOG "shed,2026-03-08,20,41.76,\n", "2026-03-09",
       "shed cannot be trusted: calibration winter is in date for 37 days; class 1 from 4.0 to "
       "50.0 "
       "N; its last check weight, of 2026-03-08, is outside the limits."},
      {LOG, "2026-04-15", "shed can be trusted: calibration winter is in date for 0 days;"},
      {LOG, "2026-04-16", "shed cannot be trusted: calibration winter is overdue by 1 day;"},
      {NULL, "2026-03-09", "class 1 from 4.0 to 50.0 N; no check weight was read since."},
      {"bench,date,weight (N),reading\nshed,2026-02-01,20,41.5\n", "2026-03-09",
       "its check weight, last read 2026-02-01, has no limits yet (error 1.25 %)."},
      {LOG, "2026-01-14",
       "Whether shed can be trusted is not known: no calibration of it is in force."},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    open_shed(cases[i].last);
    rig_says(cases[i].date, cases[i].words);
    trial_close(&shed);
  }
}

static void several_benches_are_answered_together(void **state)
{
  (void)state;
  open_shed(NULL);
  trial_close(&shed);
  trial_enter(&shed, "bench,calibration,date,load applied (N),reading\n"
                     "boat,spring,2026-03-01,10,10\nboat,spring,,40,49\nboat,spring,,90,90\n");
  trial_enter(&shed, "bench,calibration\nattic,1 %\n");
  trial_read(&shed);
  rig_says("2026-03-09", "On 2026-03-09 1 of 3 benches can be trusted: shed.");
  rig_says("2026-03-09", "boat cannot be trusted: when calibration spring is due is not told; no "
                         "two loads in a row keep a class;");
  rig_says("2026-03-09", "Whether attic can be trusted is not known");
  rig_says("2026-06-09", "On 2026-06-09 none of 3 benches can be trusted.");
  trial_close(&shed);
}

static void a_book_without_a_bench_says_so(void **state)
{
  (void)state;
  trial_begin(&shed, "rig-none");
  trial_read(&shed);
  rig_says("2026-03-09", "the book has no bench");
  trial_close(&shed);
}

/* ---- what is behind it ---- */

static void pulls_are_counted_by_calibration(void **state)
{
  (void)state;
  open_shed(NULL);
  struct worked *worked = NULL;
  size_t unknown = 0;
  assert_int_equal(be_rig_work_out(&shed.answers.survey, &worked, &unknown, NULL), BE_OK);
  assert_int_equal(worked[0].pulls, 4);
  assert_int_equal(worked[0].outside, 2);
  assert_int_equal(worked[0].overdue, 2);
  assert_int_equal(unknown, 2);
  assert_int_equal(worked[0].force_class, 1);
  assert_int_equal(worked[0].range.steps, 4);
  rig_says("2026-03-09",
           "Pulls: 6; with a load outside the verified range of their calibration: 2; "
           "taken when it was overdue: 2; whose calibration is not known: 2.");
  rig_says("2026-03-09", "outside the verified range, overdue");
  trial_close(&shed);
}

static void a_chart_begins_anew_with_a_calibration(void **state)
{
  (void)state;
  open_shed(LOG "shed,2026-03-08,20,44,blew\nshed,2026-03-20,20,20.1,\nshed,2026-03-21,35,35,\n");
  trial_close(&shed);
  trial_enter(&shed, "bench,calibration,date,load applied (N),reading\n"
                     "shed,spring,2026-03-15,10,10\nshed,spring,,40,40\n");
  trial_read(&shed);
  const struct survey *survey = &shed.answers.survey;
  struct worked *worked = NULL;
  struct checks *checks = NULL;
  size_t unknown = 0, count = 0;
  assert_int_equal(be_rig_work_out(survey, &worked, &unknown, NULL), BE_OK);
  assert_int_equal(be_rig_checks(survey, &(const struct weighed){0, LONG_MAX, &worked[0]}, &checks,
                                 &count, NULL),
                   BE_OK);
  assert_int_equal(count, 1);
  assert_int_equal(checks[0].n, 7);
  assert_near(checks[0].forces_N[6], 21.5, 1e-9);
  assert_near(checks[0].chart.upper, 20 + 2.66 * 0.14, 0.001);
  assert_int_equal(checks[0].marks[6], BE_CHART_BEYOND);
  assert_int_equal(be_rig_checks(survey, &(const struct weighed){0, LONG_MAX, &worked[1]}, &checks,
                                 &count, NULL),
                   BE_OK);
  assert_int_equal(count, 2);
  assert_int_equal(checks[0].n, 1);
  assert_false(checks[0].charted);
  assert_near(checks[1].weight_N, 35, 1e-12);
  assert_near(checks[1].forces_N[0], 35, 1e-9);
  rig_says("2026-03-09", "Of 7 readings 1 lies outside the limits");
  rig_says("2026-03-07", "All 6 readings lie inside the limits"); /* it was not known then */
  rig_says("2026-03-25",
           "Whether shed can be trusted is not known: when calibration spring is due "
           "is not told; it has no more readings than its curve needs, which verifies "
           "no load; its check weight, last read 2026-03-21");
  trial_close(&shed);
}

/* Readings that never moved set no limits: one more digit would lie outside. */
static void readings_that_never_moved_set_no_limits(void **state)
{
  (void)state;
  open_shed("bench,date,weight (N),reading\nshed,2026-02-01,20,41\nshed,2026-02-02,20,41\n"
            "shed,2026-02-03,20,41\nshed,2026-02-04,20,41.02\n");
  rig_says("2026-03-09", "has no limits yet (error 0.05 %)");
  trial_close(&shed);
}

/* Without a calibration a reading is a force where its unit is one. */
static void a_check_weight_before_any_calibration(void **state)
{
  (void)state;
  trial_begin(&shed, "rig-bare");
  trial_enter(&shed,
              "bench,date,weight (kg),reading\nshed,2026-02-01,5,5.01 kg\n"
              "shed,2026-02-02,5,4.99 kg\nshed,2026-02-03,5,5.02 kg\nshed,2026-02-04,5,77\n");
  trial_read(&shed);
  struct checks *checks = NULL;
  size_t count = 0;
  assert_int_equal(be_rig_checks(&shed.answers.survey, &(const struct weighed){0, LONG_MAX, NULL},
                                 &checks, &count, NULL),
                   BE_OK);
  assert_int_equal(count, 1);
  assert_int_equal(checks[0].n, 3); /* 77 of what */
  assert_near(checks[0].forces_N[1], 4.99 * 9.80665, 1e-9);
  rig_says("2026-03-09", "All 3 readings lie inside the limits");
  trial_close(&shed);
}

/* ---- the page of a pull ---- */

static void pull_says(const char *code, const char *const *words, size_t count)
{
  const struct survey *survey = &shed.answers.survey;
  for (size_t i = 0; i < survey->record.pulls_count; i++) {
    if (strcmp(survey->record.pulls[i].code, code) != 0) continue;
    struct be_doc *doc = be_doc_create("pull", "Pull");
    assert_int_equal(be_say_calibration(doc, survey, &survey->record.pulls[i], NULL), BE_OK);
    for (size_t k = 0; k < count; k++) assert_true(says(doc, words[k]));
    be_doc_free(doc);
    return;
  }
  fail_msg("no pull %s", code);
}

/* At 20 N: 0.1 % of reference is u = 0.01 N, two rectangles of 0.02 N are u = 0.00816 N, together
 * 0.0129 N, twice which is 0.026 N or 0.13 % (GUM). Zero wanders by 0.03 N of 50 N: 0.06 %. */
static void a_pull_says_what_it_was_measured_by(void **state)
{
  (void)state;
  static const char *const inside[] = {"winter, in force on its bench that day",
                                       "K-7",
                                       "2026-01-15",
                                       "2026-04-15, 73 days after",
                                       "the load is inside",
                                       "0.026 N, 0.13 % (k = 2.00",
                                       "0.100 N",
                                       "0.130 N",
                                       "0.030 N, 0.06 % of the greatest load applied: class 1"};
  static const char *const outside[] = {"the load is outside",
                                        "The load is outside the verified range"};
  static const char *const overdue[] = {"2026-04-15, 5 days before the pull",
                                        "overdue by 5 days when this was pulled"};
  static const char *const before[] = {"none was in force on its bench that day"};
  static const char *const both[] = {"overdue by 1 day when", "outside the verified range"};
  open_shed(NULL);
  pull_says("inside", inside, 9);
  pull_says("outside", outside, 2);
  pull_says("overdue", overdue, 2);
  pull_says("before", before, 1);
  pull_says("nowhere", before, 1);
  pull_says("both", both, 2);
  trial_close(&shed);
}

static void one_that_tells_a_calibration_unknown(void **state)
{
  (void)state;
  static const char *const words[] = {"summer, which the book does not have", "change of zero"};
  trial_begin(&shed, "rig-unknown");
  trial_enter(&shed, "specimen,knot,line A,load (N),calibration,zero before (N),zero after (N)\n"
                     "odd,uni,nylon,20,summer,-0.1,0.2\n");
  trial_read(&shed);
  pull_says("odd", words, 2);
  trial_close(&shed);
}

/* ---- by name ---- */

static void it_is_asked_by_day(void **state)
{
  (void)state;
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  const struct be_answering how = {0};
  open_shed(NULL);
  assert_int_equal(be_app_rig(shed.path, "2026-03-09", &how, &doc, &err), BE_OK);
  assert_true(says(doc, "shed can be trusted"));
  be_doc_free(doc);
  assert_int_equal(be_app_rig(shed.path, "yesterday", &how, &doc, &err), BE_WRONG_USE);
  assert_int_equal(err.status, BE_WRONG_USE);
  assert_non_null(strstr(err.what, "\"yesterday\" is not a date"));
  assert_int_equal(be_app_rig(shed.path, NULL, &how, &doc, &err), BE_OK);
  be_doc_free(doc);
  trial_close(&shed);
}

/* ---- the page ---- */

static struct be_site *site;

static void answers(const char *method, const char *form, int status, const char *words)
{
  struct got got = send_body(be_app_serve_port(site), method, "/rig", FORM_TYPE, form);
  assert_says(got, form, status, words);
}

static void a_check_weight_is_logged_on_the_page(void **state)
{
  (void)state;
  const struct be_answering how = {0};
  open_shed(NULL);
  trial_close(&shed);
  assert_int_equal(be_app_serve(shed.path, NULL, &how, &site, NULL), BE_OK);
  answers("GET", "", 200, "<input type=\"hidden\" name=\"do\" value=\"log\">");
  answers("GET", "", 200, "no check weight was read since");
  answers("POST", "bench=shed&date=2026-02-01T18:05&weight=20+N&reading=41.3&note=a,\"b\"", 303,
          "Location: /rig");
  answers("GET", "", 200, "last read 2026-02-01T18:05, has no limits yet (error 0.75 %)");
  answers("GET", "", 200, "a,&quot;b&quot;");
  answers("POST", "bench=shed&date=2026-02-01T18:05&weight=20+N&reading=41.3&note=a,\"b\"", 400,
          "Not done: this very reading was logged before");
  answers("POST", "bench=shed&date=2026-02-01&weight=20&reading=41.3", 400, "Not done: ");
  answers("POST", "bench=+&date=&weight=&reading=", 400, "the bench has no name");
  answers("POST", "date=2026-02-01&weight=20+N&reading=41.3", 400, "the bench has no name");
  answers("POST", "bench=shed&weight=nothing&reading=41.3&note=%3Cseen%3E", 400,
          "value=\"&lt;seen&gt;\"");
  be_app_serve_end(site);
  trial_read(&shed);
  assert_int_equal(shed.answers.survey.record.weights_count, 1);
  trial_close(&shed);
  struct be_doc *doc = NULL;
  assert_int_equal(be_app_check(shed.path, &doc, NULL), BE_OK);
  be_doc_free(doc);
}

/* Beyond this machine nothing is taken, and no form pretends it is. */
/* ---- the rig's file ---- */

static void write_rig(char path[512], const char *name, const char *calibration)
{
  char text[600];
  test_path(path, "rig-file.txt");
  snprintf(text, sizeof text,
           "[%s]\nsource = simulated\nsource settings = seed=3\nframes = timed-s\n"
           "calibration = %s\n\n[own cell]\nunit = N\npoint = 10 N 10.2\npoint = 40 N 40.9\n",
           name, calibration);
  test_write(path, text);
}

static enum be_status reckon(const char *name, const char *calibration, struct be_live_rig *rig,
                             struct be_err *err)
{
  char path[512];
  struct be_buf text;
  write_rig(path, name, calibration);
  be_buf_init(&text, 4096);
  assert_int_equal(be_file_read(path, &text, NULL), BE_OK);
  memset(rig, 0, sizeof *rig);
  assert_int_equal(be_rig_setup_parse(text.data, text.size, name, &rig->setup, NULL), BE_OK);
  enum be_status status = be_live_reckon(shed.path, text.data, text.size, rig, err);
  be_buf_free(&text);
  return status;
}

static void a_rig_finds_its_calibration(void **state)
{
  (void)state;
  struct be_live_rig rig;
  struct be_err err = {0};
  open_shed(NULL);
  trial_close(&shed);
  trial_enter(&shed, "bench,calibration\nboat,1 %\n");
  assert_int_equal(reckon("SHED", "winter", &rig, &err), BE_OK);
  assert_true(rig.reckoning.known);
  assert_int_equal(rig.reckoning.by.points_count, 4);
  assert_string_equal(rig.bench, "shed");
  assert_int_equal(reckon("some rig", "Winter", &rig, &err), BE_OK);
  assert_string_equal(rig.bench, "shed"); /* that of its calibration */
  assert_int_equal(reckon("boat", "own cell", &rig, &err), BE_OK);
  assert_int_equal(rig.reckoning.by.points_count, 2);
  assert_string_equal(rig.bench, "boat");
  assert_int_equal(reckon("boat", "winter", &rig, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "which is of bench \"shed\""));
  err = (struct be_err){0};
  assert_int_equal(reckon("boat", "lost", &rig, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "neither the book nor the rig's file"));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_first_sentence_answers),
      cmocka_unit_test(several_benches_are_answered_together),
      cmocka_unit_test(a_book_without_a_bench_says_so),
      cmocka_unit_test(pulls_are_counted_by_calibration),
      cmocka_unit_test(a_chart_begins_anew_with_a_calibration),
      cmocka_unit_test(readings_that_never_moved_set_no_limits),
      cmocka_unit_test(a_check_weight_before_any_calibration),
      cmocka_unit_test(a_pull_says_what_it_was_measured_by),
      cmocka_unit_test(one_that_tells_a_calibration_unknown),
      cmocka_unit_test(it_is_asked_by_day),
      cmocka_unit_test(a_check_weight_is_logged_on_the_page),
      cmocka_unit_test(a_rig_finds_its_calibration),
  };
  return be_tests("app: rig", tests);
}
