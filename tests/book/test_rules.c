/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rule sheets: what a trial fixes, how it is changed, and what it does to results. */
#include "book/book_test.h"

static const char *const rules_sheet =
    "trial,rule,value\n"
    "winter,question,\"Which bend, wet?\"\nwinter,Seed,00918273645546372819\n"
    "winter,specimens a cell,012\nwinter,why so many,8 pts at 0.8\n"
    "Winter,parts at a grip,VOID\nwinter,parts clear of the knot,Event\nwinter,slips out,void\n"
    "winter,void besides,the wrong spool\nwinter,voids are replaced,No\n"
    "winter,stops,as soon as apart\nwinter,level,90 %\nwinter,metres a specimen,135 cm\n"
    "winter,minutes a specimen,\"2,5\"\n"
    "winter,interests,the maker of W1 gave it; nobody paid\n";

static const struct be_trial *trial_of(struct shelf *shelf, size_t index)
{
  read_shelf(shelf);
  assert_true(index < shelf->record.trials_count);
  return &shelf->record.trials[index];
}

static void rules_are_kept_in_one_spelling(void **state)
{
  struct shelf *shelf = *state;
  static const char *const want[BE_RULES] = {
      [BE_RULE_QUESTION] = "Which bend, wet?",
      [BE_RULE_SEED] = "918273645546372819",
      [BE_RULE_NUMBER] = "12",
      [BE_RULE_WHY_NUMBER] = "8 pts at 0.8",
      [BE_RULE_GRIP] = "void",
      [BE_RULE_CLEAR] = "event",
      [BE_RULE_SLIP] = "void",
      [BE_RULE_VOID] = "the wrong spool",
      [BE_RULE_REPLACE] = "no",
      [BE_RULE_STOP] = "as soon as apart",
      [BE_RULE_LEVEL] = "0.9",
      [BE_RULE_METRES] = "1.35",
      [BE_RULE_MINUTES] = "2.5",
      [BE_RULE_INTERESTS] = "the maker of W1 gave it; nobody paid",
  };
  enter_text(shelf, "rules.csv", rules_sheet);
  assert_string_equal(shelf->entered.kind, "rule sheet");
  assert_int_equal(shelf->entered.rules, BE_RULES);
  assert_int_equal(shelf->entered.known, 0);
  assert_note(shelf, "line 2: new trial \"winter\"");
  const struct be_trial *trial = trial_of(shelf, 0);
  for (int i = 0; i < BE_RULES; i++) assert_string_equal(trial->rule[i], want[i]);
  assert_int_equal(trial->changes_count, 0);
  assert_int_equal(trial->planned_count, 0);
  assert_null(trial->fixed_at);
  assert_sound(shelf);
}

static void every_rule_has_its_word(void **state)
{
  (void)state;
  assert_string_equal(be_rule_word(BE_RULE_QUESTION), "question");
  assert_string_equal(be_rule_word(BE_RULE_CLEAR), "parts clear of the knot");
  assert_string_equal(be_rule_word(BE_RULE_MINUTES), "minutes a specimen");
  assert_string_equal(be_rule_word(BE_RULES), "not recorded");
  assert_string_equal(be_rule_word((enum be_rule)99), "not recorded");
}

static void bad_rules_are_refused(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *row, *what, *remedy;
    size_t column;
  } cases[] = {
      {",seed,7", "the trial has no name", "every row of a rule sheet", 1},
      {"w,,7", "\"\" is not a rule of a trial", "question, interests, seed, specimens a cell", 2},
      {"w,colour,7", "\"colour\" is not a rule of a trial", "minutes a specimen", 2},
      {"w,void,7", "\"void\" is not a rule of a trial", "", 2},
      {"w,seed,", "the rule \"seed\" has no value", "take the row out", 3},
      {"w,seed,7.5", "\"7.5\" is not a whole number", "digits alone", 3},
      {"w,seed,-7", "\"-7\" is not a whole number", "", 3},
      {"w,seed,99999999999999999999", "is not a whole number", "", 3},
      {"w,specimens a cell,0", "\"0\" is not a number of specimens", "1 or more", 3},
      {"w,specimens a cell,some", "\"some\" is not a whole number", "", 3},
      {"w,parts at a grip,event", "\"event\" is not a value of this rule",
       "write one of: lower bound, void", 3},
      {"w,slips out,none", "\"none\" is not a value", "event, void", 3},
      {"w,level,0.49", "\"0.49\" is not a level", "between 0.5 and 0.9999", 3},
      {"w,level,99.995 %", "is not a level", "", 3},
      {"w,level,none", "\"none\" is not a level", "", 3},
      {"w,level,high", "\"high\" is not a number", "", 3},
      {"w,metres a specimen,0", "\"0\" is not above zero", "", 3},
      {"w,metres a specimen,none", "\"none\" is not above zero", "", 3},
      {"w,metres a specimen,1 min", "\"min\" is not a unit of length", "", 3},
      {"w,minutes a specimen,-1", "\"-1\" is below zero", "", 3},
      {"w,minutes a specimen,0 s", "\"0 s\" is not above zero", "", 3},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char text[256];
    snprintf(text, sizeof text, "trial,rule,value\nw,level,0.9\n%s\n", cases[i].row);
    struct be_err err = refuse_text(shelf, text, cases[i].what);
    assert_place(&err, 3, cases[i].column);
    assert_part(err.remedy, cases[i].remedy);
    assert_true(err.remedy[0]);
  }
  refuse_text(shelf, "trial,rule,value (mm)\nw,seed,7\n", "\"mm\" in column \"value (mm)\"");
  struct be_err err = refuse_text(shelf, "trial,rule,value (%)\nw,level,95\n", "no unit in common");
  assert_place(&err, 2, 3);
  refuse_text(shelf, "trial,rule\nw,seed\n", "no column \"value\"");
  refuse_text(shelf, "rule,value,trial,order\n", "column \"order\" is not one that a rule sheet");
  assert_int_equal(read_shelf(shelf)->trials_count, 0);
}

static void a_rule_changes_with_a_reason(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "rules.csv", rules_sheet);
  enter_text(shelf, "again.csv",
             "trial,rule,value,reason\nwinter,level,0.90,\nwinter,slips out,Void,as before\n"
             "winter,metres a specimen,1.35 m,\n");
  assert_int_equal(shelf->entered.known, 3);
  assert_int_equal(shelf->entered.rules, 0);
  struct be_err err = refuse_text(shelf, "trial,rule,value\nwinter,level,0.95\n",
                                  "the rule \"level\" was told before, with another value");
  assert_place(&err, 2, 3);
  assert_part(err.remedy, "\"reason\"");
  err = refuse_text(shelf, "trial,rule,value,reason\nwinter,level,0.95,\n", "told before");
  assert_place(&err, 2, 4);
  enter_text(shelf, "plan.csv",
             "trial,specimen,order,knot,line\nwinter,A,1,reef,nylon\nwinter,B,2,reef,nylon\n");
  enter_text(shelf, "change.csv",
             "trial,rule,value,reason\nwinter,level,0.95,agreed\nwinter,seed,41,lost it\n");
  assert_int_equal(shelf->entered.rules, 2);
  enter_text(shelf, "day.csv", "specimen,load (N)\nB,7.5\n");
  enter_text(shelf, "back.csv", "trial,rule,value,reason\nWINTER,level,0.9,too few\n");
  const struct be_trial *trial = trial_of(shelf, 0);
  static const struct {
    enum be_rule rule;
    const char *from, *to, *reason;
    size_t pulled;
  } want[] = {
      {BE_RULE_LEVEL, "0.9", "0.95", "agreed", 0},
      {BE_RULE_SEED, "918273645546372819", "41", "lost it", 0},
      {BE_RULE_LEVEL, "0.95", "0.9", "too few", 1},
  };
  assert_int_equal(trial->changes_count, 3);
  for (size_t i = 0; i < 3; i++) {
    const struct be_rule_change *change = &trial->changes[i];
    assert_int_equal(change->rule, want[i].rule);
    assert_string_equal(change->from, want[i].from);
    assert_string_equal(change->to, want[i].to);
    assert_string_equal(change->reason, want[i].reason);
    assert_int_equal(change->pulled, want[i].pulled);
    assert_int_equal(strlen(change->changed_at), strlen(trial->fixed_at));
  }
  assert_string_equal(trial->rule[BE_RULE_LEVEL], "0.9");
  assert_string_equal(trial->rule[BE_RULE_SEED], "41");
  assert_sound(shelf);
}

/* What is first told when specimens were pulled was not fixed beforehand. */
static void a_late_rule_is_a_change(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "other.csv", "trial,rule,value\nspring,level,0.9\n");
  enter_text(shelf, "plan.csv", "trial,specimen,order,knot,line\nwinter,A,1,reef,nylon\n");
  enter_text(shelf, "day.csv", "specimen,load (N)\nA,7.5\n");
  struct be_err err = refuse_text(shelf, "trial,rule,value\nwinter,slips out,void\n",
                                  "\"slips out\" is told after 1 pull of the trial");
  assert_place(&err, 2, 3);
  enter_text(shelf, "late.csv",
             "trial,rule,value,reason\nwinter,slips out,void,forgotten\nwinter,seed,41,not noted\n"
             "winter,parts at a grip,lower bound,\nspring,level,0.8,whim\n");
  assert_int_equal(shelf->entered.rules, 4);
  const struct be_trial *trial = trial_of(shelf, 1);
  assert_string_equal(trial->name, "winter");
  assert_int_equal(trial->changes_count, 2);
  assert_int_equal(trial->changes[0].rule, BE_RULE_SLIP);
  assert_string_equal(trial->changes[0].from, "event");
  assert_string_equal(trial->changes[0].to, "void");
  assert_string_equal(trial->changes[0].reason, "forgotten");
  assert_int_equal(trial->changes[0].pulled, 1);
  assert_string_equal(trial->changes[1].from, "not told");
  assert_string_equal(trial->rule[BE_RULE_GRIP], "lower bound");
  trial = &shelf->record.trials[0];
  assert_int_equal(trial->changes_count, 1);
  assert_string_equal(trial->changes[0].from, "0.9");
  assert_int_equal(trial->changes[0].pulled, 0);
  assert_sound(shelf);
}

/* ---- what the rules do ---- */

struct outcome {
  const char *row; /* what, where, result, reason */
  enum be_kind kind;
  const char *reason;
};

/* Plans A to Z and pulls one for each row. */
static void assert_kinds(void **state, const char *rules, const struct outcome *cases, size_t count)
{
  struct shelf *shelf = *state;
  char text[4096] = "trial,specimen,order,knot,line\n";
  size_t used = strlen(text);
  for (size_t i = 0; i < count; i++)
    used += (size_t)snprintf(text + used, sizeof text - used, "w,%c,%zu,%s,nylon\n", (int)('A' + i),
                             i, cases[i].row[0] == '|' ? "none" : "reef");
  if (*rules) enter_text(shelf, "rules.csv", rules);
  enter_text(shelf, "plan.csv", text);
  used = (size_t)snprintf(text, sizeof text, "specimen,load (N),what,where,result,reason\n");
  for (size_t i = 0; i < count; i++)
    used += (size_t)snprintf(text + used, sizeof text - used, "%c,40.5,%s\n", (int)('A' + i),
                             cases[i].row + (cases[i].row[0] == '|'));
  enter_text(shelf, "day.csv", text);
  read_shelf(shelf);
  for (size_t i = 0; i < count; i++) {
    const struct be_pull *pull = &shelf->record.pulls[i];
    if (pull->kind != cases[i].kind) print_error("%s\n", cases[i].row);
    assert_int_equal(pull->kind, cases[i].kind);
    if (cases[i].reason) assert_string_equal(pull->reason, cases[i].reason);
    else assert_null(pull->reason);
  }
  assert_sound(shelf);
}

#define GRIP_VOID "parted at a grip: void by the trial's rules"
#define SLIP_VOID "slipped out: void by the trial's rules"

static void a_silent_trial_rules_as_usual(void **state)
{
  static const struct outcome cases[] = {
      {"broke,grip,,", BE_KIND_BOUND, NULL},   {"broke,clear,,", BE_KIND_BOUND, NULL},
      {"slipped out,,,", BE_KIND_EVENT, NULL}, {"broke,knot,,", BE_KIND_EVENT, NULL},
      {"|broke,clear,,", BE_KIND_EVENT, NULL}, {"|slipped out,,,", BE_KIND_BOUND, NULL},
  };
  assert_kinds(state, "", cases, sizeof cases / sizeof cases[0]);
}

static void the_rules_decide_what_the_sheet_leaves_open(void **state)
{
  static const struct outcome cases[] = {
      {"broke,grip,,", BE_KIND_VOID, GRIP_VOID},
      {"broke,grip,,spool slid", BE_KIND_VOID, "spool slid"},
      {"broke,grip,lower bound,", BE_KIND_BOUND, NULL},
      {"broke,grip,event,", BE_KIND_EVENT, NULL},
      {"slipped out,grip,,", BE_KIND_VOID, "slipped out at a grip: void by the trial's rules"},
      {"slipped out,knot,,", BE_KIND_VOID, SLIP_VOID},
      {"slipped out,,event,", BE_KIND_EVENT, NULL},
      {"slipped then broke,knot,,", BE_KIND_EVENT, NULL},
      {"broke,clear,,", BE_KIND_EVENT, NULL},
      {"broke,clear,lower bound,", BE_KIND_BOUND, NULL},
      {"broke,knot,,", BE_KIND_EVENT, NULL},
      {"nothing,,,", BE_KIND_BOUND, NULL},
      {"hardware,grip,,", BE_KIND_BOUND, NULL},
      {"|broke,grip,,", BE_KIND_VOID, GRIP_VOID},
      {"|broke,clear,,", BE_KIND_EVENT, NULL},
      {"|slipped out,,,", BE_KIND_BOUND, NULL},
      {"broke,knot,void,untidy", BE_KIND_VOID, "untidy"},
  };
  struct shelf *shelf = *state;
  assert_kinds(state,
               "trial,rule,value\nw,parts at a grip,void\nw,parts clear of the knot,event\n"
               "w,slips out,void\n",
               cases, sizeof cases / sizeof cases[0]);
  assert_note(shelf, "line 4: taken as a lower bound because the sheet says so; \"broke, grip\" is "
                     "void by the trial's rules");
  assert_note(shelf, "line 5: taken as an event because");
  assert_note(shelf, "line 8: taken as an event because");
  assert_int_equal(shelf->entered.notes_count, 3);
}

/* The rules are those of the specimen's own trial, in force when the row is entered. */
static void a_change_holds_from_then_on(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "rules.csv",
             "trial,rule,value\na,parts at a grip,void\nb,parts at a grip,lower bound\n");
  enter_text(shelf, "plan.csv",
             "trial,specimen,order,knot,line\na,A1,1,reef,nylon\na,A2,2,reef,nylon\n"
             "b,B1,1,reef,nylon\nb,B2,2,reef,nylon\n");
  enter_text(shelf, "one.csv",
             "specimen,knot,line,load (N),where\nA1,,,40.5,grip\nB1,,,41.5,grip\n"
             "C1,reef,nylon,42.5,grip\n");
  enter_text(shelf, "change.csv",
             "trial,rule,value,reason\na,parts at a grip,lower bound,too strict\n"
             "b,parts at a grip,void,too lax\n");
  enter_text(shelf, "two.csv", "specimen,load (N),where\nB2,41.25,grip\nA2,40.25,grip\n");
  static const struct {
    const char *code;
    enum be_kind kind;
  } cases[] = {{"A1", BE_KIND_VOID},
               {"B1", BE_KIND_BOUND},
               {"C1", BE_KIND_BOUND},
               {"A2", BE_KIND_BOUND},
               {"B2", BE_KIND_VOID}};
  for (size_t i = 0; i < 5; i++)
    assert_int_equal(pull_of(shelf, cases[i].code)->kind, cases[i].kind);
  /* A correction is judged by what is in force when it is entered. */
  enter_text(shelf, "fix.csv",
             "specimen,load (N),where,correction\nA1,40.75,grip,misread\nB1,41.75,grip,misread\n");
  assert_int_equal(pull_of(shelf, "A1")->kind, BE_KIND_BOUND);
  assert_int_equal(pull_of(shelf, "B1")->kind, BE_KIND_VOID);
  assert_string_equal(pull_of(shelf, "B1")->reason, GRIP_VOID);
  assert_sound(shelf);
}

/* A void by rule needs no load. */
static void a_void_by_rule_needs_no_load(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "rules.csv", "trial,rule,value\na,slips out,void\n");
  enter_text(shelf, "plan.csv", "trial,specimen,order,knot,line\na,A1,1,reef,nylon\n");
  enter_text(shelf, "day.csv", "specimen,load (N),what\nA1,,slipped out\n");
  assert_int_equal(pull_of(shelf, "A1")->kind, BE_KIND_VOID);
  assert_string_equal(pull_of(shelf, "A1")->reason, SLIP_VOID);
  assert_true(isnan(pull_of(shelf, "A1")->load_N));
  assert_sound(shelf);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(rules_are_kept_in_one_spelling),
      cmocka_unit_test(every_rule_has_its_word),
      on_a_shelf(bad_rules_are_refused),
      on_a_shelf(a_rule_changes_with_a_reason),
      on_a_shelf(a_late_rule_is_a_change),
      on_a_shelf(a_silent_trial_rules_as_usual),
      on_a_shelf(the_rules_decide_what_the_sheet_leaves_open),
      on_a_shelf(a_change_holds_from_then_on),
      on_a_shelf(a_void_by_rule_needs_no_load),
  };
  return be_tests("book: rules of trials", tests);
}
