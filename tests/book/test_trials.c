/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Trial sheets: specimens planned before they are pulled, and the rows that tell
 * their pulls. */
#include "book/book_test.h"

static const char *const lines_sheet = "line,spool,material\nnylon 12 lb,s1,nylon\n"
                                       "nylon 12 lb,s2,nylon\nbraid 20 lb,b1,braid\n";
static const char *const plan =
    "trial,specimen,order,block,design,knot,turns,knot B,line A,spool A,line B,spool B,hardware,"
    "soak,free length,speed,tyer,lubricant\n"
    "winter,W3,3,2,,uni,5,,nylon 12 lb,s2,,,ring,120 min,350,250,Ann,water\n"
    "Winter,W1,1,1,plain line,none,,,nylon 12 lb,s2,,,none,dry,,,,\n"
    "winter,W2,2,1,,reef,,bow,nylon 12 lb,s1,braid 20 lb,b1,,,,,,\n"
    "winter,W9,2.5,,two same,reef,,reef,nylon 12 lb,s1,,,,,,,,\n";

static void plan_a_trial(struct shelf *shelf)
{
  enter_text(shelf, "lines.csv", lines_sheet);
  enter_text(shelf, "plan.csv", plan);
}

static const struct be_trial *trial_of(struct shelf *shelf, const char *name)
{
  read_shelf(shelf);
  for (size_t i = 0; i < shelf->record.trials_count; i++)
    if (strcmp(shelf->record.trials[i].name, name) == 0) return &shelf->record.trials[i];
  print_error("no trial %s\n", name);
  assert_true(false);
  return NULL;
}

static void a_plan_is_kept_by_its_order(void **state)
{
  struct shelf *shelf = *state;
  plan_a_trial(shelf);
  assert_string_equal(shelf->entered.kind, "trial sheet");
  assert_int_equal(shelf->entered.rows, 4);
  assert_int_equal(shelf->entered.planned, 4);
  assert_int_equal(shelf->entered.knots, 3);
  assert_int_equal(shelf->entered.pulls + shelf->entered.lines + shelf->entered.known, 0);
  assert_note(shelf, "line 2: new trial \"winter\"");
  assert_note(shelf, "line 4: new knot \"bow\"");
  const struct be_trial *trial = trial_of(shelf, "winter");
  const struct be_record *record = &shelf->record;
  assert_int_equal(record->trials_count, 1);
  assert_int_equal(record->pulls_count, 0);
  assert_int_equal(trial->planned_count, 4);
  assert_int_equal(trial->changes_count, 0);
  assert_int_equal(strlen(trial->fixed_at), strlen("2026-01-01T00:00:00Z"));
  for (int i = 0; i < BE_RULES; i++) assert_null(trial->rule[i]);
  const struct be_planned *planned = trial->planned;
  assert_string_equal(planned[0].code, "W1");
  assert_int_equal(planned[0].design, BE_DESIGN_PLAIN);
  assert_int_equal(planned[0].knot, BE_NO_INDEX);
  assert_int_equal(planned[0].soak, BE_SOAK_DRY);
  assert_string_equal(planned[0].hardware, "none");
  assert_string_equal(planned[1].code, "W2");
  assert_int_equal(planned[1].design, BE_DESIGN_TWO_DIFFERENT);
  assert_string_equal(record->knots[planned[1].knot].full, "reef");
  assert_string_equal(record->knots[planned[1].knot_b].full, "bow");
  assert_string_equal(record->lines[planned[1].line_a].spool, "s1");
  assert_string_equal(record->lines[planned[1].line_b].name, "braid 20 lb");
  assert_null(planned[1].hardware);
  assert_string_equal(planned[2].code, "W9");
  assert_near(planned[2].order, 2.5, 0);
  assert_true(isnan(planned[2].block));
  assert_int_equal(planned[2].design, BE_DESIGN_TWO_SAME);
  assert_string_equal(planned[3].code, "W3");
  assert_near(planned[3].order, 3, 0);
  assert_near(planned[3].block, 2, 0);
  assert_int_equal(planned[3].soak, BE_SOAK_SOAKED);
  assert_string_equal(planned[3].hardware, "ring");
  assert_int_equal(planned[3].line_b, BE_NO_INDEX);
  for (int i = 0; i < 4; i++) assert_int_equal(planned[i].pull, BE_NO_INDEX);
  for (int i = 0; i < 4; i++) assert_int_equal(planned[i].pulled_before, 0);
  assert_sound(shelf);
}

static void bad_plans_are_refused(void **state)
{
  struct shelf *shelf = *state;
  plan_a_trial(shelf);
  enter_text(shelf, "old.csv", "specimen,knot,line,spool,load (N)\nOld,uni,nylon 12 lb,s1,7.5\n");
  static const struct {
    const char *row, *what, *remedy;
    size_t column;
  } cases[] = {
      {",V2,2,uni,nylon 12 lb", "the trial has no name", "every row of a trial sheet", 1},
      {"none,V2,2,uni,nylon 12 lb", "the trial has no name", "", 1},
      {"spring,,2,uni,nylon 12 lb", "the specimen has no code", "every row", 2},
      {"spring,None,2,uni,nylon 12 lb", "the specimen has no code", "every row", 2},
      {"spring,v1,2,uni,nylon 12 lb", "specimen \"v1\" is planned already", "a new code", 2},
      {"spring,w3,2,uni,nylon 12 lb", "specimen \"w3\" is planned already", "a new code", 2},
      {"spring,OLD,2,uni,nylon 12 lb", "specimen \"OLD\" was pulled already", "a new code", 2},
      {"spring,V2,,uni,nylon 12 lb", "the specimen has no order", "number the specimens", 3},
      {"spring,V2,one,uni,nylon 12 lb", "\"one\" is not a number", "", 3},
      {"spring,V2,-1,uni,nylon 12 lb", "\"-1\" is below zero", "", 3},
      {"SPRING,V2,1.0,uni,nylon 12 lb", "has the order 1", "each number once", 3},
      {"winter,V2,2.5,uni,nylon 12 lb", "has the order 2.5", "each number once", 3},
      {"spring,V2,2,,nylon 12 lb", "the knot is not named", "write \"none\"", 4},
      {"spring,V2,2,uni,", "the line is not named", "\"line A\"", 5},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char text[256];
    snprintf(text, sizeof text,
             "trial,specimen,order,knot,line A\nspring,V1,1,uni,nylon 12 lb\n%s\n", cases[i].row);
    struct be_err err = refuse_text(shelf, text, cases[i].what);
    assert_place(&err, 3, cases[i].column);
    assert_part(err.remedy, cases[i].remedy);
    assert_true(err.remedy[0]);
  }
  refuse_text(shelf, "trial,order,knot,line\n", "no column \"specimen\"");
  refuse_text(shelf, "trial,specimen,knot,line\n", "no column \"order\"");
  struct be_err err = refuse_text(shelf, "trial,specimen,order,knot,line,bench\n",
                                  "column \"bench\" is not one that a trial sheet has");
  assert_place(&err, 1, 6);
  assert_int_equal(trial_of(shelf, "winter")->planned_count, 4);
  assert_int_equal(shelf->record.trials_count, 1);
}

static void a_blind_row_takes_its_plan(void **state)
{
  struct shelf *shelf = *state;
  plan_a_trial(shelf);
  enter_text(shelf, "blind.csv",
             "specimen,load (N),what,where,which\nw3,41.5,broke,in the knot,\n"
             "W1,62.25,broke,clear of it,\nW2,39.5,broke,at its entry,knot B\n");
  assert_int_equal(shelf->entered.pulls, 3);
  assert_int_equal(shelf->entered.lines + shelf->entered.knots + shelf->entered.notes_count, 0);
  const struct be_pull *pull = pull_of(shelf, "w3");
  const struct be_record *record = &shelf->record;
  assert_string_equal(record->knots[pull->knot].full, "uni, 5 turns");
  assert_int_equal(pull->knot_b, BE_NO_INDEX);
  assert_string_equal(record->lines[pull->line_a].spool, "s2");
  assert_int_equal(pull->line_b, BE_NO_INDEX);
  assert_int_equal(pull->design, BE_DESIGN_UNKNOWN);
  assert_string_equal(pull->hardware, "ring");
  assert_int_equal(pull->soak, BE_SOAK_SOAKED);
  assert_near(pull->soak_s, 7200, 0);
  assert_near(pull->speed_m_s, 0.25 / 60, 1e-18);
  assert_near(pull->length_m, 0.35, 1e-16);
  assert_string_equal(pull->tyer, "Ann");
  assert_string_equal(pull->lubricant, "water");
  assert_true(isnan(pull->order));
  assert_int_equal(pull->kind, BE_KIND_EVENT);
  assert_int_equal(pull->trial, 0);
  pull = &record->pulls[1];
  assert_int_equal(pull->design, BE_DESIGN_PLAIN);
  assert_int_equal(pull->knot, BE_NO_INDEX);
  assert_string_equal(pull->hardware, "none");
  assert_int_equal(pull->soak, BE_SOAK_DRY);
  assert_true(isnan(pull->speed_m_s) && isnan(pull->length_m) && isnan(pull->soak_s));
  pull = &record->pulls[2];
  assert_int_equal(pull->design, BE_DESIGN_TWO_DIFFERENT);
  assert_string_equal(record->knots[pull->knot_b].full, "bow");
  assert_string_equal(record->lines[pull->line_b].spool, "b1");
  const struct be_planned *planned = record->trials[0].planned;
  assert_int_equal(planned[0].pull, 1);
  assert_int_equal(planned[1].pull, 2);
  assert_int_equal(planned[2].pull, BE_NO_INDEX);
  assert_int_equal(planned[3].pull, 0);
  assert_sound(shelf);
  refuse_text(shelf, "specimen,load (N)\nW1,60\n", "has its result already");
  struct be_err err = refuse_text(shelf, "specimen,load (N)\nW8,60\n", "the knot is not named");
  assert_int_equal(err.line, 2);
  assert_part(err.remedy, "look at its code, \"W8\", or enter its trial sheet first");
}

/* What was really pulled is what the row tells. */
static void the_row_goes_before_the_plan(void **state)
{
  struct shelf *shelf = *state;
  plan_a_trial(shelf);
  enter_text(shelf, "day.csv",
             "specimen,load (N),knot,turns,spool,hardware,soak,free length (m),speed,tyer,"
             "lubricant,order\nW3,41.5,uni,6,s1,none,none,0.4,300,Bo,none,17\n");
  const struct be_pull *pull = pull_of(shelf, "W3");
  const struct be_record *record = &shelf->record;
  assert_string_equal(record->knots[pull->knot].full, "uni, 6 turns");
  assert_string_equal(record->lines[pull->line_a].name, "nylon 12 lb");
  assert_string_equal(record->lines[pull->line_a].spool, "s1");
  assert_string_equal(pull->hardware, "none");
  assert_int_equal(pull->soak, BE_SOAK_DRY);
  assert_true(isnan(pull->soak_s));
  assert_near(pull->length_m, 0.4, 0);
  assert_near(pull->speed_m_s, 0.005, 0);
  assert_string_equal(pull->tyer, "Bo");
  assert_string_equal(pull->lubricant, "none");
  assert_near(pull->order, 17, 0);
  assert_int_equal(pull->trial, 0);
  const struct be_planned *planned = &record->trials[0].planned[3];
  assert_string_equal(record->knots[planned->knot].full, "uni, 5 turns");
  assert_string_equal(planned->hardware, "ring");
  assert_near(planned->order, 3, 0);
  /* A column whose cell is empty tells nothing. */
  enter_text(shelf, "more.csv",
             "specimen,load (N),hardware,tyer,lubricant,design,knot,line,spool,line B,soak\n"
             "W2,40.5,,,,,,,,,\n");
  pull = pull_of(shelf, "W2");
  assert_null(pull->hardware);
  assert_int_equal(pull->design, BE_DESIGN_TWO_DIFFERENT);
  assert_string_equal(shelf->record.lines[pull->line_b].spool, "b1");
  assert_sound(shelf);
}

/* Of knots and design: what the row tells, and of the plan what goes with it. */
static void design_and_knots_stay_together(void **state)
{
  static const struct {
    const char *head, *row;
    enum be_design design;
    const char *knot, *knot_b;
  } cases[] = {
      {"knot", "W2,40,bow", BE_DESIGN_TWO_SAME, "bow", "bow"},
      {"knot", "W2,40,uni", BE_DESIGN_TWO_DIFFERENT, "uni, 5 turns", "bow"},
      {"knot", "W2,40,none", BE_DESIGN_PLAIN, NULL, NULL},
      {"knot B", "W2,40,reef", BE_DESIGN_TWO_SAME, "reef", "reef"},
      {"knot B", "W2,40,none", BE_DESIGN_UNKNOWN, "reef", NULL},
      {"design", "W2,40,single knot", BE_DESIGN_SINGLE, "reef", NULL},
      {"design", "W2,40,plain line", BE_DESIGN_PLAIN, NULL, NULL},
      {"design", "W2,40,two same", BE_DESIGN_TWO_SAME, "reef", NULL},
      {"design", "W2,40,proof hold", BE_DESIGN_PROOF, "reef", "bow"},
      {"knot", "W9,40,bow", BE_DESIGN_TWO_SAME, "bow", "bow"},
      {"knot B", "W9,40,bow", BE_DESIGN_TWO_DIFFERENT, "reef", "bow"},
      {"design", "W9,40,two different", BE_DESIGN_TWO_DIFFERENT, "reef", NULL},
      {"knot", "W1,40,reef", BE_DESIGN_UNKNOWN, "reef", NULL},
      {"knot B", "W3,40,reef", BE_DESIGN_TWO_DIFFERENT, "uni, 5 turns", "reef"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct shelf *shelf = *state;
    char text[200], code[8];
    plan_a_trial(shelf);
    snprintf(text, sizeof text, "specimen,load (N),%s\n%s\n", cases[i].head, cases[i].row);
    enter_text(shelf, "day.csv", text);
    snprintf(code, sizeof code, "%.2s", cases[i].row);
    const struct be_pull *pull = pull_of(shelf, code);
    const struct be_knot *knots = shelf->record.knots;
    const char *knot = pull->knot >= 0 ? knots[pull->knot].full : "none";
    const char *knot_b = pull->knot_b >= 0 ? knots[pull->knot_b].full : "none";
    if (pull->design != cases[i].design)
      print_error("%s: %s\n", text, be_design_word(pull->design));
    assert_int_equal(pull->design, cases[i].design);
    assert_string_equal(knot, cases[i].knot ? cases[i].knot : "none");
    assert_string_equal(knot_b, cases[i].knot_b ? cases[i].knot_b : "none");
    assert_sound(shelf);
    shelf_teardown(state);
    shelf_setup(state);
  }
  struct shelf *shelf = *state;
  plan_a_trial(shelf);
  struct be_err err =
      refuse_text(shelf, "specimen,load (N),design\nW1,40,single\n", "the knot is not named");
  assert_int_equal(err.line, 2);
  err = refuse_text(shelf, "specimen,load (N),turns\nW3,40,6\n", "\"6\" is given, but no knot");
  assert_place(&err, 2, 3);
  err = refuse_text(shelf, "specimen,load (N),version B\nW2,40,wet\n", "no knot B is named");
  assert_place(&err, 2, 3);
  refuse_text(shelf, "specimen,load (N),design,knot\nW1,40,plain,uni\n",
              "a plain line has no knot");
}

/* A line told without its spool, or a spool without its line, is of the plan. */
static void lines_and_spools_stay_together(void **state)
{
  struct shelf *shelf = *state;
  plan_a_trial(shelf);
  enter_text(shelf, "twin.csv", "line,spool,material\nother,s1,nylon\n");
  refuse_text(shelf, "specimen,load (N),knot,spool\nX,40,uni,s1\n", "more than one line");
  enter_text(shelf, "day.csv",
             "specimen,load (N),line,spool,line B,spool B\nW3,40.5,Nylon 12 lb,,,\n"
             "W2,41.5,,s2,none,\nW1,42.5,other,,,\nW9,43.5,,s7,,\n");
  static const struct {
    const char *code, *name, *spool;
  } cases[] = {
      {"W3", "nylon 12 lb", "s2"},
      {"W2", "nylon 12 lb", "s2"},
      {"W1", "other", "s1"},
      {"W9", "nylon 12 lb", "s7"},
  };
  assert_int_equal(shelf->entered.lines, 1);
  assert_note(shelf, "line 5: new line \"nylon 12 lb\", spool s7");
  for (size_t i = 0; i < 4; i++) {
    const struct be_pull *pull = pull_of(shelf, cases[i].code);
    const struct be_line *line = &shelf->record.lines[pull->line_a];
    assert_string_equal(line->name, cases[i].name);
    assert_string_equal(line->spool, cases[i].spool);
    assert_int_equal(pull->line_b, BE_NO_INDEX);
  }
  assert_sound(shelf);
}

static void a_later_plan_is_said_and_kept_so(void **state)
{
  struct shelf *shelf = *state;
  plan_a_trial(shelf);
  enter_text(shelf, "day.csv", "specimen,load (N)\nW3,41.5\nW1,62.25\n");
  enter_text(shelf, "later.csv",
             "trial,specimen,order,knot,line,spool\nWINTER,L1,7,uni,nylon 12 lb,s1\n"
             "winter,L2,8,uni,nylon 12 lb,s1\nother,L3,1,uni,nylon 12 lb,s1\n"
             "winter,L4,9,uni,nylon 12 lb,s1\n");
  assert_int_equal(shelf->entered.planned, 4);
  assert_note(shelf, "line 2: specimens are added to trial \"WINTER\" after 2 pulls of it;");
  size_t said = 0;
  for (size_t i = 0; i < shelf->entered.notes_count; i++)
    said += strstr(shelf->entered.notes[i], "are added") != NULL;
  assert_int_equal(said, 1);
  const struct be_trial *trial = trial_of(shelf, "winter");
  assert_int_equal(trial->planned_count, 7);
  assert_int_equal(trial->planned[3].pulled_before, 0);
  assert_string_equal(trial->planned[6].code, "L4");
  for (int i = 4; i < 7; i++) assert_int_equal(trial->planned[i].pulled_before, 2);
  trial = trial_of(shelf, "other");
  assert_int_equal(trial->planned_count, 1);
  assert_int_equal(trial->planned[0].pulled_before, 0);
  assert_sound(shelf);
}

/* Two trials: each pull belongs to the one that planned it, or to none. */
static void pulls_know_their_trial(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "a.csv", "trial,specimen,order,knot,line\nfirst,A1,4,reef,nylon\n");
  enter_text(shelf, "free.csv", "specimen,knot,line,load (N)\nF,reef,nylon,7.5\n");
  enter_text(shelf, "b.csv",
             "trial,specimen,order,knot,line\nsecond,B1,4,reef,nylon\nsecond,B2,3,reef,nylon\n");
  enter_text(shelf, "day.csv",
             "specimen,load (N),what\nB2,8.5,broke\nA1,9.5,broke\nB1,6.5,broke\n");
  enter_text(shelf, "fix.csv", "specimen,load (N),correction\nA1,9.25,misread\n");
  assert_int_equal(pull_of(shelf, "F")->trial, BE_NO_INDEX);
  const struct be_record *record = &shelf->record;
  assert_int_equal(record->trials_count, 2);
  assert_int_equal(pull_of(shelf, "A1")->trial, 0);
  assert_near(pull_of(shelf, "A1")->load_N, 9.25, 0);
  assert_int_equal(pull_of(shelf, "B1")->trial, 1);
  assert_int_equal(pull_of(shelf, "B2")->trial, 1);
  assert_int_equal(record->trials[0].planned[0].pull, 2);
  assert_int_equal(record->trials[1].planned[0].pull, 1);
  assert_int_equal(record->trials[1].planned[1].pull, 3);
  assert_sound(shelf);
}

/* A trace alone makes no pull, planned or not. */
static void a_trace_waits_for_the_row_of_its_specimen(void **state)
{
  struct shelf *shelf = *state;
  static char trace[TRACE_SIZE];
  plan_a_trial(shelf);
  make_trace(trace, 2.4, 147.3, 0);
  refuse_with(shelf, "W3.csv", trace, NULL, BE_BAD_INPUT, "no specimen has the code \"W3\"");
  const struct made_file files[] = {{"t.csv", trace}, {NULL, NULL}};
  struct be_entering how = {.fetch = fetch_made, .fetch_context = (void *)(uintptr_t)files};
  enter_with(shelf, "day.csv", "specimen,trace\nW3,t.csv\n", &how);
  assert_near(pull_of(shelf, "W3")->load_N, 144.9, 0.2);
  assert_int_equal(pull_of(shelf, "W3")->trial, 0);
  assert_sound(shelf);
}

static void the_header_tells_a_plan_from_a_pull(void **state)
{
  (void)state;
  static const struct {
    const char *text, *mapping, *kind;
  } cases[] = {
      {"trial,specimen,order\nw,A,1\n", NULL, "trial sheet"},
      {"Order;CODE;Trial;line\n1;A;w;x\n", NULL, "trial sheet"},
      {"trial,rule,value\nw,seed,7\n", NULL, "rule sheet"},
      {"value,reason,rule,trial\n7,,seed,w\n", NULL, "rule sheet"},
      {"rule,value\nseed,7\n", "trial := w", "rule sheet"},
      {"specimen,order,knot\nA,1,reef\n", "trial := w", "trial sheet"},
      {"versuch,specimen,order\nw,A,1\n", "trial = versuch", "trial sheet"},
      {"specimen,load (N)\nA,7\n", NULL, "pull sheet"},
      {"specimen,trace\nA,a.csv\n", NULL, "pull sheet"},
      {"trial,specimen,load (N)\nw,A,7\n", "ignore = trial", "pull sheet"},
      {"trial,specimen,order,load (N)\nw,A,1,7\n", NULL, "trace"},
      {"rule,value\nseed,7\n", NULL, "trace"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    const char *kind = be_book_kind(cases[i].text, strlen(cases[i].text), cases[i].mapping);
    if (strcmp(kind, cases[i].kind) != 0) print_error("%s", cases[i].text);
    assert_string_equal(kind, cases[i].kind);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(a_plan_is_kept_by_its_order),
      on_a_shelf(bad_plans_are_refused),
      on_a_shelf(a_blind_row_takes_its_plan),
      on_a_shelf(the_row_goes_before_the_plan),
      on_a_shelf(design_and_knots_stay_together),
      on_a_shelf(lines_and_spools_stay_together),
      on_a_shelf(a_later_plan_is_said_and_kept_so),
      on_a_shelf(pulls_know_their_trial),
      on_a_shelf(a_trace_waits_for_the_row_of_its_specimen),
      cmocka_unit_test(the_header_tells_a_plan_from_a_pull),
  };
  return be_tests("book: trials", tests);
}
