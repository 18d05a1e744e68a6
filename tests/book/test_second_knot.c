/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two knots pulled against each other: knot B, what it says of the design, and
 * which of the two let go. */
#include "book/book_test.h"

static void the_second_knot_is_kept(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv",
             "specimen,design,knot,turns,knot B,version B,turns B,line,load (N),which\n"
             "A,two different,uni,5,bow,well tied,3,nylon,61.5,knot B\n"
             "B,two same,uni,5,UNI,,5,nylon,62.5,knot A\n"
             "C,,uni,5,uni,,6,nylon,63.5,first knot\n"
             "D,single knot,uni,5,none,none,none,nylon,64.5,line A\n"
             "E,,uni,5,,,,nylon,65.5,\n");
  const struct be_record *record = read_shelf(shelf);
  assert_int_equal(record->knots_count, 3);
  static const int second[] = {1, 0, 2, BE_NO_INDEX, BE_NO_INDEX};
  static const enum be_which which[] = {BE_WHICH_KNOT_B, BE_WHICH_KNOT_A, BE_WHICH_KNOT_A,
                                        BE_WHICH_A, BE_WHICH_UNKNOWN};
  for (size_t i = 0; i < 5; i++) {
    assert_int_equal(record->pulls[i].knot, 0);
    assert_int_equal(record->pulls[i].knot_b, second[i]);
    assert_int_equal(record->pulls[i].which, which[i]);
  }
  assert_string_equal(record->knots[1].full, "bow, 3 turns (well tied)");
  assert_string_equal(record->knots[2].full, "uni, 6 turns");
  assert_note(shelf, "line 2: new knot \"bow\", version well tied");
  assert_int_equal(shelf->entered.knots, 3);
  assert_sound(shelf);
}

/* What is not stated follows from the two; proof and cyclic may have two knots. */
static void the_design_follows_from_the_knots(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *row;
    enum be_design design;
  } cases[] = {
      {",reef,bow", BE_DESIGN_TWO_DIFFERENT},
      {",reef,Reef", BE_DESIGN_TWO_SAME},
      {",reef,", BE_DESIGN_UNKNOWN},
      {",reef,none", BE_DESIGN_UNKNOWN},
      {"two same,reef,reef", BE_DESIGN_TWO_SAME},
      {"two same,reef,", BE_DESIGN_TWO_SAME},
      {"head-to-head,reef,bow", BE_DESIGN_TWO_DIFFERENT},
      {"proof hold,reef,bow", BE_DESIGN_PROOF},
      {"cyclic,reef,reef", BE_DESIGN_CYCLIC},
      {"single knot,reef,none", BE_DESIGN_SINGLE},
      {",none,none", BE_DESIGN_PLAIN},
  };
  enum { CASES = sizeof cases / sizeof cases[0] };
  char text[1024] = "design,knot,knot B,line,load (N)\n";
  for (size_t i = 0; i < CASES; i++)
    snprintf(text + strlen(text), sizeof text - strlen(text), "%s,nylon,%zu.5\n", cases[i].row,
             30 + i);
  enter_text(shelf, "day.csv", text);
  const struct be_record *record = read_shelf(shelf);
  for (size_t i = 0; i < CASES; i++) assert_int_equal(record->pulls[i].design, cases[i].design);
  assert_int_equal(shelf->entered.notes_count, 3); /* two knots and a line are new */
  assert_sound(shelf);
}

static void two_different_without_the_second_is_said(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv",
             "specimen,design,knot,line,load (N),which\nA,two different,reef,nylon,61.5,lower\n");
  assert_note(shelf, "line 2: of two different knots the second is not recorded");
  assert_int_equal(pull_of(shelf, "A")->knot_b, BE_NO_INDEX);
  assert_int_equal(pull_of(shelf, "A")->which, BE_WHICH_KNOT_B);
  enter_text(shelf, "fix.csv", "specimen,load (N),which,correction\nA,60.5,second knot,typo\n");
  assert_int_equal(shelf->entered.notes_count, 0);
  assert_sound(shelf);
}

static void contradictions_are_refused(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *row, *what, *remedy;
    size_t column;
  } cases[] = {
      {"single knot,reef,,bow,,,", "a single knot has no knot B, but \"bow\" is named",
       "leave out the design", 4},
      {"single knot,reef,,reef,,,", "a single knot has no knot B", "leave out the design", 4},
      {"plain line,none,,bow,,,", "a plain line has no knot B, but \"bow\" is named", "", 4},
      {",none,,bow,,,", "a plain line has no knot B", "", 4},
      {"two same,reef,,bow,,,", "the design is two same, but \"bow\" is another knot", "", 4},
      {"two same,reef,5,reef,,6,", "the design is two same, but \"reef\" is another knot", "", 4},
      {"two different,reef,,Reef,,,", "the design is two different, but \"Reef\" is the same knot",
       "", 4},
      {",reef,,,well tied,,", "\"well tied\" is given, but no knot B is named", "\"knot B\"", 5},
      {",reef,,none,,,knot B", "knot B let go, but the specimen has no knot B", "\"knot B\"", 7},
      {",reef,,,,4,", "\"4\" is given, but no knot B is named", "\"knot B\"", 6},
      {",reef,,bow,,five,", "\"five\" is not a number", "in digits", 6},
      {",reef,,bow,,101,", "101 is more turns than a knot has", "between 0 and 100", 6},
      {",reef,,twin,,,", "\"twin\" is the name of more than one knot", "column \"turns B\"", 4},
      {"single knot,reef,,,,,lower", "knot B let go, but the specimen has no knot B", "", 7},
      {"plain line,none,,,,,second knot", "knot B let go", "", 7},
  };
  enter_text(shelf, "knots.csv", "knot,turns,kind\ntwin,2,bend\ntwin,3,bend\n");
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char text[256];
    snprintf(text, sizeof text,
             "design,knot,turns,knot B,version B,turns B,which,line,load (N)\n%s,nylon,7.5\n",
             cases[i].row);
    struct be_err err = refuse_text(shelf, text, cases[i].what);
    assert_place(&err, 2, cases[i].column);
    assert_part(err.remedy, cases[i].remedy);
    assert_true(err.remedy[0]);
  }
  struct be_err err = refuse_text(shelf, "knot,knot B,line,load (N)\nreef,twin,nylon,7.5\n",
                                  "more than one knot in the book");
  assert_part(err.remedy, "add the column \"turns B\" or \"version B\"");
}

static void a_correction_keeps_to_both_knots(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv",
             "specimen,knot,knot B,version B,line,load (N),which\n"
             "A,reef,bow,wet,nylon,61.5,knot A\nS,reef,,,nylon,62.5,\n");
  static const struct {
    const char *text, *what;
    size_t column;
  } cases[] = {
      {"specimen,knot B,version B,load (N),correction\nA,bow,,7.5,typo\n",
       "specimen \"A\" has another knot B in the book", 2},
      {"specimen,knot B,version B,load (N),correction\nA,reef,,7.5,typo\n", "another knot B", 2},
      {"specimen,knot B,load (N),correction\nA,none,7.5,typo\n", "another knot B", 2},
      {"specimen,knot B,load (N),correction\nS,bow,7.5,typo\n", "another knot B", 2},
      {"specimen,design,load (N),correction\nA,two same,7.5,typo\n", "another design", 2},
      {"specimen,version B,load (N),correction\nA,dry,7.5,typo\n", "another version B", 2},
      {"specimen,turns B,load (N),correction\nA,4,7.5,typo\n", "another turns B", 2},
      {"specimen,which,load (N),correction\nS,knot B,7.5,typo\n", "the specimen has no knot B", 2},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_err err = refuse_text(shelf, cases[i].text, cases[i].what);
    assert_place(&err, 2, cases[i].column);
  }
  enter_text(shelf, "fix.csv",
             "specimen,design,knot B,version B,load (N),which,correction\n"
             "A,,,,60.5,knot B,seen on film\nA,two different,Bow,Wet,59.5,upper,once more\n");
  const struct be_pull *pull = pull_of(shelf, "A");
  assert_int_equal(pull->corrections, 2);
  assert_int_equal(pull->which, BE_WHICH_KNOT_A);
  assert_int_equal(pull->design, BE_DESIGN_TWO_DIFFERENT);
  assert_string_equal(shelf->record.knots[pull->knot_b].full, "bow (wet)");
  assert_sound(shelf);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(the_second_knot_is_kept),
      on_a_shelf(the_design_follows_from_the_knots),
      on_a_shelf(two_different_without_the_second_is_said),
      on_a_shelf(contradictions_are_refused),
      on_a_shelf(a_correction_keeps_to_both_knots),
  };
  return be_tests("book: two knots", tests);
}
