/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Does the analysis find the truth that the demonstration was drawn from. The
 * seed is fixed, so the counts below are exact; their limits are what the
 * stated level of the intervals allows. */
#include "app/demo/demo.h"
#include "app/plan/plan.h"
#include "app_test.h"

struct fixture {
  struct be_arena *arena;
  struct survey survey;
  struct recipe recipe;
};

static int make(void **state)
{
  struct fixture *fixture = calloc(1, sizeof *fixture);
  char book[512], bench[512];
  bool made;
  struct be_answering how = {0};
  struct be_err err = {0};
  test_path(book, "demo.book");
  test_path(bench, "demo-bench");
  be_file_remove(book, NULL);
  assert_int_equal(be_app_demo(book, bench, &made, &err), BE_OK);
  assert_true(made);
  fixture->arena = be_arena_create();
  assert_int_equal(be_survey_read(book, &how, fixture->arena, &fixture->survey, &err), BE_OK);
  assert_int_equal(be_recipe_read(&fixture->recipe, &err), BE_OK);
  *state = fixture;
  return 0;
}

static int done(void **state)
{
  struct fixture *fixture = *state;
  be_arena_free(fixture->arena);
  free(fixture);
  return 0;
}

static const struct knot_truth *truth_of(const struct fixture *fixture, const struct cell *cell)
{
  const struct be_knot *knot = &fixture->survey.record.knots[cell->knot];
  return be_recipe_knot(&fixture->recipe, knot->name, knot->version ? knot->version : "");
}

static enum material weaker_of(const struct fixture *fixture, const struct cell *cell)
{
  return be_spool_material(fixture->survey.record.lines[cell->plain.line_row].spool);
}

static bool is_single(const struct fixture *fixture, const struct cell *cell)
{
  return fixture->survey.combinations[cell->combination].design == BE_DESIGN_SINGLE;
}

static void plain_lines_hold_what_they_were_given(void **state)
{
  struct fixture *fixture = *state;
  size_t cells = 0, covered = 0;
  for (size_t i = 0; i < fixture->survey.record.lines_count; i++) {
    const struct be_line *line = &fixture->survey.record.lines[i];
    double loads[64];
    size_t n = 0;
    for (size_t k = 0; k < fixture->survey.plain_count; k++)
      if (fixture->survey.plain[k]->line_a == (int)i &&
          fixture->survey.plain[k]->soak == BE_SOAK_DRY)
        loads[n++] = fixture->survey.plain[k]->load_N;
    if (n < 3) continue;
    struct be_summary summary;
    be_summary_of(loads, n, &summary);
    struct be_estimate estimate = be_estimate_mean(&summary);
    struct be_interval interval = be_estimate_interval(&estimate, 0.95);
    double truth = be_recipe_spool(&fixture->recipe, line->spool)->mean_N;
    cells++;
    covered += interval.low <= truth && truth <= interval.high;
  }
  assert_int_equal(cells, 11); /* F15-2 has no plain pulls: a planted gap */
  assert_in_range(covered, 9, 11);
}

static void efficiencies_cover_the_truth(void **state)
{
  struct fixture *fixture = *state;
  size_t cells = 0, covered = 0;
  double error = 0;
  for (size_t i = 0; i < fixture->survey.cells_count; i++) {
    const struct cell *cell = &fixture->survey.cells[i];
    if (cell->efficiency.shape != BE_RATIO_PIECE || !is_single(fixture, cell)) continue;
    double truth = truth_of(fixture, cell)->efficiency[weaker_of(fixture, cell)];
    cells++;
    covered += cell->efficiency.interval.low <= truth && truth <= cell->efficiency.interval.high;
    error += cell->efficiency.value - truth;
  }
  print_message("# %zu of %zu efficiency intervals cover the truth\n", covered, cells);
  assert_int_equal(cells, 46);
  /* 95 % of 46 is 44; fewer than 39 would happen once in 540 such trials. */
  assert_in_range(covered, 39, 46);
  assert_near(error / (double)cells, 0, 0.015);
}

static void slip_rates_cover_the_truth(void **state)
{
  struct fixture *fixture = *state;
  size_t cells = 0, covered = 0;
  for (size_t i = 0; i < fixture->survey.cells_count; i++) {
    const struct cell *cell = &fixture->survey.cells[i];
    if (cell->efficiency.shape != BE_RATIO_PIECE || !is_single(fixture, cell)) continue;
    double truth = truth_of(fixture, cell)->slip[weaker_of(fixture, cell)];
    struct be_interval rate = be_rate_exact(cell->slips, cell->n, 0.95);
    cells++;
    covered += rate.low <= truth && truth <= rate.high;
  }
  /* Clopper and Pearson's interval covers at least its level; cells: 46, as above. */
  assert_in_range(covered, 43, cells);
}

static void standings_find_the_order_that_is_there(void **state)
{
  struct fixture *fixture = *state;
  struct be_doc *doc = NULL;
  assert_int_equal(be_standings_doc(&fixture->survey, &doc, NULL), BE_OK);
  /* Truth: palomar leads every ring group by 10 points or more. */
  assert_true(says(doc, "The palomar held most in fluorocarbon to ring, dry (3 shared"));
  assert_true(says(doc, "The palomar held most in braid to ring, dry (2 shared"));
  /* It does in nylon too, but on nylon 6 lb it was pulled at half the speed. */
  assert_true(says(doc, "Cannot separate the first from 1 other in nylon to ring, dry"));
  assert_true(says(doc, "The palomar held most in nylon 20 lb to ring, dry"));
  /* Truth: one point apart, with 10 pulls each. */
  assert_true(says(doc, "Cannot separate the first from 1 other in nylon 12 lb to nylon 12 lb, "
                        "dry: barrel knot, 5 turns (well tied) and grinner bend, 4 turns."));
  /* The gap in the grid is said. */
  assert_true(says(doc, "Left out of the group: surgeon's join, 2 turns, without an event in "
                        "braid 40 lb to fluorocarbon 25 lb, dry."));
  be_doc_free(doc);
}

static void well_and_badly_tied_are_told_apart(void **state)
{
  struct fixture *fixture = *state;
  struct be_doc *doc = NULL;
  int well = be_knot_find(&fixture->survey, "barrel knot, 5 turns (well tied)", NULL);
  int badly = be_knot_find(&fixture->survey, "badly", NULL);
  assert_true(well >= 0 && badly >= 0);
  assert_int_equal(be_versus_doc(&fixture->survey, badly, well, &doc, NULL), BE_OK);
  assert_true(says(doc, "The barrel knot, 5 turns (well tied) held more than the barrel knot, 5 "
                        "turns (badly tied) in every combination both were tied in: "));
  be_doc_free(doc);
}

/* The figure of a finding, by a part of its sentence: rows are printed one a line. */
static double of_finding(const struct be_buf *json, const char *words, const char *key)
{
  const char *tables = strstr(json->data, "\"tables\":");
  const char *at = tables ? strstr(tables, words) : NULL;
  if (!at) fail_msg("no finding says %s", words);
  while (at > json->data && at[-1] != '\n') at--;
  char name[40];
  snprintf(name, sizeof name, "\"%s\":", key);
  const char *value = strstr(at, name);
  assert_non_null(value);
  return strtod(value + strlen(name), NULL);
}

static void holds(const struct be_buf *json, const char *words, double truth)
{
  double low = of_finding(json, words, "interval_low"),
         high = of_finding(json, words, "interval_high");
  if (!(low <= truth && truth <= high))
    fail_msg("%s: %g is not in [%g, %g]", words, truth, low, high);
}

/* Truth: soaking leaves nylon 0.88; the half blood slips in 35 of 100 on braid, in 0 to 5 of 100
 * elsewhere; the badly tied keeps less and slips more; Wren ties 1 % better than the mean, Sorrel 1
 * % worse; nothing drifts and nobody learns. */
static void findings_are_the_truth(void **state)
{
  struct fixture *fixture = *state;
  struct be_doc *doc = NULL;
  struct be_buf json;
  be_buf_init(&json, 16 << 20);
  assert_int_equal(be_findings_doc(&fixture->survey, &doc, NULL), BE_OK);
  assert_int_equal(be_doc_json(doc, &json, NULL), BE_OK);
  be_doc_free(doc);
  holds(&json, "Where a joint of braid and fluorocarbon parted at the knot, the fluorocarbon", 100);
  holds(&json, "Plain nylon held less soaked than dry: -", -12);
  holds(&json, "Knots in nylon to nylon held less soaked than dry: -", -12);
  holds(&json, "Knots in nylon to ring held less soaked than dry: -", -12);
  holds(&json, "Cannot say whether knots in nylon to nylon keep as much of the soaked line", 0);
  holds(&json, "Cannot say whether knots in nylon to ring keep as much of the soaked line", 0);
  holds(&json, "Cannot say whether what Wren tied or what Sorrel tied holds more",
        100 * (1.01 / 0.99 - 1));
  holds(&json, "Cannot say whether what Wren tied or what Sorrel tied scatters more", 0);
  holds(&json, "Cannot say whether loads drift with the order of pulling in a session", 0);
  holds(&json, "Cannot say whether what Wren tied held more or less from session to session", 0);
  holds(&json, "Cannot say whether what Sorrel tied held more or less from session to session", 0);
  holds(&json, "The half blood, 5 turns slipped out more often in braid to ring than in the rest",
        35);
  /* Of three joints with fluorocarbon and two with nylon, by the logs. */
  const struct recipe *recipe = &fixture->recipe;
  const double *well = be_recipe_knot(recipe, "barrel knot", "well tied")->efficiency;
  const double *badly = be_recipe_knot(recipe, "barrel knot", "badly tied")->efficiency;
  double logs = (3 * log(well[MATERIAL_FLUOROCARBON] / badly[MATERIAL_FLUOROCARBON]) +
                 2 * log(well[MATERIAL_NYLON] / badly[MATERIAL_NYLON])) /
                5;
  holds(&json,
        "The barrel knot, 5 turns (well tied) held more than the barrel knot, 5 turns (badly",
        100 * expm1(logs));
  assert_non_null(
      strstr(json.data, "The barrel knot, 5 turns (well tied) slipped out less often than"));
  be_buf_free(&json);
}

static void troubles_are_seen(void **state)
{
  struct fixture *fixture = *state;
  size_t bounds = 0, voids = 0, alarms = 0, no_efficiency = 0, fallbacks = 0;
  for (size_t i = 0; i < fixture->survey.cells_count; i++) {
    const struct cell *cell = &fixture->survey.cells[i];
    bounds += cell->bounds;
    voids += cell->voids;
    alarms += cell->alarm.raised;
    fallbacks += cell->plain.match > MATCH_ALL;
    no_efficiency += cell->knot >= 0 && cell->n > 0 && cell->plain.match == MATCH_NONE;
  }
  assert_int_equal(fixture->survey.record.pulls_count, 514 + 34);
  assert_int_equal(voids, 5 + 4 + 3);
  /* 6 at the grip, 4 rings, 5 flat tops, 4 proof holds, and lines that parted first. */
  assert_in_range(bounds, 19, 60);
  assert_in_range(alarms, 1, 12);
  /* F15-2 has no plain line of its own; palomar on N6-1 was pulled at half speed. */
  assert_int_equal(fallbacks, 5);
  /* Nylon 20 lb was never pulled plain and soaked; two pulls lack their soak. */
  assert_in_range(no_efficiency, 2, 3);
}

static void flat_tops_are_lower_bounds(void **state)
{
  struct fixture *fixture = *state;
  struct made_pull *pulls = NULL;
  size_t count = 0, flat = 0;
  assert_int_equal(be_bench_draw(&fixture->recipe, &pulls, &count, NULL), BE_OK);
  for (size_t i = 0; i < count; i++) {
    if (strcmp(pulls[i].trouble, "saturated") != 0) continue;
    for (size_t k = 0; k < fixture->survey.record.pulls_count; k++) {
      const struct be_pull *pull = &fixture->survey.record.pulls[k];
      if (strcmp(pull->code, pulls[i].code) != 0) continue;
      assert_int_equal(pull->kind, BE_KIND_BOUND);
      assert_true(pull->load_N < pulls[i].load_N);
      flat++;
    }
  }
  assert_int_equal(flat, 5);
  be_free(pulls);
}

/* What a person saw let go, no trace of the demonstration denies. */
static void traces_end_as_the_sheets_say(void **state)
{
  struct fixture *fixture = *state;
  char path[512];
  struct be_book *book = NULL;
  size_t slips = 0, stopped = 0;
  test_path(path, "demo.book");
  assert_int_equal(be_book_open(path, false, &book, NULL), BE_OK);
  for (size_t i = 0; i < fixture->survey.record.pulls_count; i++) {
    const struct be_pull *pull = &fixture->survey.record.pulls[i];
    struct be_trace_file *file = NULL;
    struct be_trace_events events;
    if (!pull->trace) continue;
    assert_int_equal(be_book_trace(book, pull->trace, &file, NULL), BE_OK);
    assert_int_equal(be_trace_find(&file->tests[0], &events, NULL), BE_OK);
    bool none = events.ending == BE_ENDED_HELD || events.ending == BE_ENDED_LET_DOWN;
    if (none != (pull->what == BE_WHAT_NOTHING))
      fail_msg("%s: %s", pull->code, be_ending_words(events.ending));
    slips += pull->what == BE_WHAT_SLIPPED_OUT;
    stopped += pull->kind == BE_KIND_VOID && none;
    be_trace_file_free(file);
  }
  be_book_close(book);
  assert_true(slips > 10);
  assert_int_equal(stopped, 3);
}

/* Pulls of the book on a bench, of one design and free length. */
struct series {
  size_t n, first, second; /* of those that let go at a knot, at which */
  double mean_N;
};

static struct series series_of(const struct fixture *fixture, int bench, enum be_design design,
                               bool with_knot_b, double length_m)
{
  const struct be_record *record = &fixture->survey.record;
  struct series series = {0};
  for (size_t i = 0; i < record->pulls_count; i++) {
    const struct be_pull *pull = &record->pulls[i];
    bool here = pull->bench == bench && pull->design == design && pull->length_m == length_m;
    if (!here || (pull->knot_b != BE_NO_INDEX) != with_knot_b) continue;
    series.n++;
    series.first += pull->which == BE_WHICH_KNOT_A;
    series.second += pull->which == BE_WHICH_KNOT_B;
    series.mean_N += pull->load_N;
  }
  series.mean_N /= (double)series.n;
  return series;
}

static void the_benches_are_told_of(void **state)
{
  struct fixture *fixture = *state;
  const struct be_record *record = &fixture->survey.record;
  assert_int_equal(record->benches_count, 3);
  assert_string_equal(record->benches[0].name, "bench one");
  assert_near(record->benches[0].calibration, 0.005, 1e-18);
  assert_near(record->benches[0].resolution_N, 0.1, 0);
  assert_near(record->benches[1].drift_N, 0.5, 0);
  assert_null(record->benches[2].calibrated);
  assert_string_equal(record->benches[2].certificate, "none");
  assert_true(isnan(record->benches[2].missed));
  for (size_t i = 0; i < record->pulls_count; i++) assert_true(record->pulls[i].bench >= 0);
  for (int bench = 1; bench < 3; bench++) {
    struct series plain = series_of(fixture, bench, BE_DESIGN_PLAIN, false, 0.5);
    struct series knots = series_of(fixture, bench, BE_DESIGN_SINGLE, false, 0.5);
    double truth = be_recipe_spool(&fixture->recipe, "N12-1")->mean_N;
    truth *= 1 + be_recipe_bench(&fixture->recipe, record->benches[bench].name)->bias;
    assert_int_equal(plain.n, 5);
    assert_int_equal(knots.n, 5);
    /* Four deviations of a mean of five: 3.5 % of scatter, 5 % in the knot. */
    assert_near(plain.mean_N, truth, 4 * 0.035 * truth / sqrt(5));
    assert_near(knots.mean_N, 0.92 * truth, 4 * 0.05 * 0.92 * truth / sqrt(5));
  }
  assert_near(be_recipe_bench(&fixture->recipe, "bench three")->bias, -0.025, 1e-18);
  assert_null(be_recipe_bench(&fixture->recipe, "bench four"));
}

static void pairs_of_knots_let_go_at_either(void **state)
{
  struct fixture *fixture = *state;
  struct series different = series_of(fixture, 0, BE_DESIGN_TWO_DIFFERENT, true, 0.5);
  struct series same = series_of(fixture, 0, BE_DESIGN_TWO_SAME, true, 0.5);
  assert_int_equal(different.n, 10);
  /* Were the chances even, fewer than 2 at one of them would come in 1 of 47 trials. */
  assert_in_range(different.first, 2, 8);
  assert_in_range(different.second, 2, 8);
  assert_int_equal(same.n, 6);
  assert_true(same.first > 0 && same.second > 0);
}

/* The weakest of four normal pieces is 1.0294 deviations below their mean, itself
 * with a deviation of 0.7012 (derived with R 4.2.2, by quadrature). */
static void a_longer_line_holds_less(void **state)
{
  struct fixture *fixture = *state;
  struct series longer = series_of(fixture, 0, BE_DESIGN_PLAIN, false, 2);
  const struct spool_truth *spool = be_recipe_spool(&fixture->recipe, "N12-1");
  double want = spool->mean_N * (1 - 1.0294 * spool->cv);
  assert_int_equal(longer.n, 6);
  assert_near(longer.mean_N, want, 4 * 0.7012 * spool->cv * want / sqrt(6));
  assert_true(longer.mean_N < spool->mean_N);
}

/* 3 knots on 2 lines, 4 each, and 5 plain lines of each: pulled by codes alone in two evenings,
 * with two specimens exchanged and one rule changed. */
static void the_planned_trial_departs_twice(void **state)
{
  struct fixture *fixture = *state;
  const struct be_record *record = &fixture->survey.record;
  assert_int_equal(record->trials_count, 1);
  const struct be_trial *trial = &record->trials[0];
  assert_string_equal(trial->name, "leader joins");
  assert_int_equal(trial->planned_count, 34);
  assert_near(trial->planned[33].block, 2, 0);
  struct departures departures;
  assert_int_equal(be_departures_of(&fixture->survey, trial, &departures, NULL), BE_OK);
  assert_int_equal(departures.count, 2);
  assert_non_null(strstr(departures.list[0].what, "out of the planned order"));
  assert_int_equal(departures.list[0].count, 1);
  assert_non_null(strstr(departures.list[1].what, "\"void besides\" changed"));
  assert_non_null(strstr(departures.list[1].detail, "after 17 of 34 pulls: a wave"));
  for (size_t i = 0; i < 34; i++) {
    const struct be_pull *pull = &record->pulls[trial->planned[i].pull];
    assert_int_equal(pull->knot, trial->planned[i].knot);
    assert_int_equal(pull->line_a, trial->planned[i].line_a);
    assert_int_equal(pull->trial, 0);
  }
  struct be_doc *doc = NULL;
  assert_int_equal(be_standings_doc(&fixture->survey, &doc, NULL), BE_OK);
  assert_true(says(doc, "The trial leader joins departs from its plan in 2 ways"));
  be_doc_free(doc);
}

static void the_same_recipe_makes_the_same_book(void **state)
{
  (void)state;
  char book[512], bench[512];
  bool made = true;
  test_path(book, "demo.book");
  test_path(bench, "demo-bench");
  assert_int_equal(be_app_demo(book, bench, &made, NULL), BE_OK);
  assert_false(made);
  struct be_err err = {0};
  test_path(bench, "another-bench");
  assert_int_equal(be_app_demo(book, bench, &made, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "holds pulls of your own"));
  assert_non_null(strstr(err.remedy, "another name"));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(plain_lines_hold_what_they_were_given),
      cmocka_unit_test(efficiencies_cover_the_truth),
      cmocka_unit_test(slip_rates_cover_the_truth),
      cmocka_unit_test(standings_find_the_order_that_is_there),
      cmocka_unit_test(findings_are_the_truth),
      cmocka_unit_test(well_and_badly_tied_are_told_apart),
      cmocka_unit_test(troubles_are_seen),
      cmocka_unit_test(flat_tops_are_lower_bounds),
      cmocka_unit_test(traces_end_as_the_sheets_say),
      cmocka_unit_test(the_benches_are_told_of),
      cmocka_unit_test(pairs_of_knots_let_go_at_either),
      cmocka_unit_test(a_longer_line_holds_less),
      cmocka_unit_test(the_planned_trial_departs_twice),
      cmocka_unit_test(the_same_recipe_makes_the_same_book),
  };
  cmocka_set_message_output(CM_OUTPUT_TAP);
  return cmocka_run_group_tests_name("app: the demonstration's truth", tests, make, done);
}
