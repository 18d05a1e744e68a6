/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sheets that are no plain table of a row a pull: blocks with titles, two rows of header, several
 * loads a row, days in an order of their own. */
#include "book/book_test.h"
#include "book/sheet.h"

#define LB 4.4482216152605

static void titles_of_blocks_tell_a_field(void **state)
{
  struct shelf *shelf = *state;
  static const char sheet[] = "On nylon,,\nKnot,Load (lb),Broke\nnylon 3,,\nuni,7.25,broke\n"
                              "reef,7.5,broke\nKnot,Load (lb),Broke\nFLUORO 4,,\nreef,8.5,broke\n"
                              ",,\nnone,9.5,broke\n";
  struct be_entering how = {.mapping = "titles = line A\nline A: FLUORO 4 = fluoro 4\n"
                                       "what = Broke\nas above = Broke"};
  enter_with(shelf, "blocks.csv", sheet, &how);
  assert_note(shelf, "headers that stand there again, passed over: 1");
  assert_note(shelf, "rows of one cell are titles of what is below: 3, telling line A");
  const struct be_record *record = read_shelf(shelf);
  static const char *const lines[] = {"nylon 3", "nylon 3", "fluoro 4", "fluoro 4"};
  assert_int_equal(record->pulls_count, 4);
  for (size_t i = 0; i < 4; i++)
    assert_string_equal(record->lines[record->pulls[i].line_a].name, lines[i]);
  assert_near(record->pulls[2].load_N, 8.5 * LB, 1e-12);
  assert_sound(shelf);
  static const char *const other = sheet + sizeof "On nylon,,";
  how.mapping = "ignore = Broke";
  struct be_err err =
      refuse_with(shelf, "untold.csv", other, &how, BE_BAD_INPUT, "a row of one cell, \"nylon 3\"");
  assert_part(err.remedy, "--titles 'line A'");
  assert_int_equal(err.line, 2);
  how.mapping = "titles = lien A\nignore = Broke";
  err = refuse_with(shelf, "c.csv", other, &how, BE_WRONG_USE, "names a field that does not exist");
  assert_part(err.remedy, "write \"line A\"");
}

static void a_title_above_the_header_is_that_of_the_first_block(void **state)
{
  struct shelf *shelf = *state;
  const struct be_entering how = {.mapping = "titles = knot"};
  enter_with(shelf, "first.csv",
             "Uni,,\nline,load (lb),note\nnylon 3,7.25,\nReef,,\nnylon 3,7.5,\n", &how);
  const struct be_record *record = read_shelf(shelf);
  assert_string_equal(record->knots[record->pulls[0].knot].name, "Uni");
  assert_string_equal(record->knots[record->pulls[1].knot].name, "Reef");
  assert_sound(shelf);
}

static void the_lower_of_two_headers_holds(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "two.csv",
             "Tied,,,Pulled,\nspecimen,knot,line,load,what\n,,,lb,\nD1,uni,nylon 3,7.25,broke\n");
  assert_note(shelf, "line 2: taken for the header");
  assert_near(pull_of(shelf, "D1")->load_N, 7.25 * LB, 1e-12);
  assert_sound(shelf);
  refuse_text(shelf, "specimen,,knot,line,load (lb)\nD2,x,uni,nylon 3,7.25\n",
              "column \"\" is not");
}

/* ---- several loads a row ---- */

static void a_row_of_loads_is_as_many_pulls(void **state)
{
  struct shelf *shelf = *state;
  static const char sheet[] =
      "no,knot,line,Pull 1,Pull 2,Pull 3,mean\n7,uni,nylon 3,7.25,,7.75,7.5\n"
      "8,none,nylon 3,9.5,DNF,9 lb,9.25\n";
  struct be_entering how = {.mapping =
                                "specimen = no\nload (kg) = Pull 1 .. Pull 3\nignore = mean\n"
                                "load: DNF = not recorded",
                            .save_as = "wide"};
  enter_with(shelf, "wide.csv", sheet, &how);
  assert_note(shelf, "a pull for each load: 4; cells without one: 2");
  assert_int_equal(read_shelf(shelf)->pulls_count, 4);
  assert_near(pull_of(shelf, "7-3")->load_N, 7.75 * 9.80665, 1e-12);
  assert_near(pull_of(shelf, "8-1")->load_N, 9.5 * 9.80665, 1e-12);
  assert_near(pull_of(shelf, "8-3")->load_N, 9 * LB, 1e-12);
  assert_int_equal(pull_of(shelf, "8-3")->design, BE_DESIGN_PLAIN);
  assert_sound(shelf);
  how = (struct be_entering){.mapping_of = "wide"};
  struct be_err err = refuse_with(
      shelf, "wide-2.csv", "no,knot,line,Pull 1,Pull 2,Pull 3,mean\n9,uni,nylon 3,7,slip,7,7\n",
      &how, BE_BAD_INPUT, "column \"Pull 2\": \"slip\" is not a force");
  assert_place(&err, 2, 5);
  how.mapping = "as above = line";
  enter_with(shelf, "wide-3.csv",
             "no,knot,line,Pull 1,Pull 2,Pull 3,mean\n,uni,nylon 3,7,8,,7\n,reef,,7,,9,7\n", &how);
  assert_near(pull_of(shelf, "wide-3.csv:3-3")->load_N, 9 * 9.80665, 1e-12);
}

static void columns_that_are_no_loads_are_not_run_over(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *heads, *rule, *what;
  } cases[] = {
      {"a,b,average", "load (lb) = a .. average", "a column of means"},
      {"a,speed,b", "load (lb) = a .. b", "another field"},
      {"a (kg),b (lb),c (kg)", "load = a (kg) .. c (kg)", "different units"},
      {"a,b,c", "load (lb) = a .. c\ntyer = b", "taken for tyer too"},
      {"a,b,c", "tyer = b\nload (lb) = a .. c", "taken for tyer too"},
      {"a,b,c", "tyer = a .. b", "only \"load\" may"},
      {"a,b,c", "load (lb) = a .. d", "does not have"},
      {"a,b,c", "load (lb) = c .. a", "the last one first"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char sheet[120];
    const struct be_entering how = {.mapping = cases[i].rule, .rules_bind = true};
    snprintf(sheet, sizeof sheet, "knot,line,%s\nuni,nylon 3,1,2,3\n", cases[i].heads);
    refuse_with(shelf, "bad.csv", sheet, &how, BE_WRONG_USE, cases[i].what);
  }
  const struct be_entering how = {.mapping = "load = a .. b"};
  enter_with(shelf, "dots.csv", "specimen,knot,line,a .. b\nV1,uni,nylon 3,7 lb\n", &how);
  enter_with(shelf, "units.csv", "specimen,knot,line,a,b\n,,,kg,kg\nV2,uni,nylon 3,7,8\n", &how);
  assert_near(pull_of(shelf, "V2-2")->load_N, 8 * 9.80665, 1e-12);
  assert_sound(shelf);
}

/* ---- days ---- */

static void days_have_the_order_that_is_said(void **state)
{
  struct shelf *shelf = *state;
  static const char sheet[] =
      "specimen,knot,line,load (lb),Day,Tied\nY1,uni,nylon 3,7,3/4/25,2.4.25\n"
      "Y2,uni,nylon 3,7,13/04/1999,2025-04-02\n";
  struct be_entering how = {.mapping = "session (d/m/y) = Day\ntied (d/m/y) = Tied"};
  enter_with(shelf, "days.csv", sheet, &how);
  assert_string_equal(pull_of(shelf, "Y1")->session, "2025-04-03");
  assert_string_equal(pull_of(shelf, "Y2")->session, "1999-04-13");
  assert_sound(shelf);
  static const char other[] = "specimen,knot,line,load (lb),Day\nY3,uni,nylon 3,7,13/04/1999\n";
  how.mapping = "session (m/d/y) = Day";
  refuse_with(shelf, "other.csv", other, &how, BE_BAD_INPUT,
              "\"13/04/1999\" is no day in the order");
  how.mapping = "knot (d/m/y) = knot";
  refuse_with(shelf, "knot.csv", other, &how, BE_WRONG_USE, "a unit that is not known");
}

static void a_session_that_may_be_two_days_is_said_to_be_a_name(void **state)
{
  struct shelf *shelf = *state;
  enter_text(
      shelf, "name.csv",
      "specimen,knot,line,load (lb),date\nN1,uni,nylon 3,7,3/4/25\nN2,uni,nylon 3,7,3/4/25\n");
  assert_note(shelf, "line 2: the session \"3/4/25\" is kept as a name");
  assert_note(shelf, "--column 'session (d/m/y) = date'");
  assert_string_equal(pull_of(shelf, "N1")->session, "3/4/25");
  enter_text(shelf, "head.csv",
             "specimen,knot,line,load (lb),date [m/d/y]\nN3,uni,nylon 3,7,3/14/25\n");
  assert_string_equal(pull_of(shelf, "N3")->session, "2025-03-14");
  assert_sound(shelf);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(titles_of_blocks_tell_a_field),
      on_a_shelf(a_title_above_the_header_is_that_of_the_first_block),
      on_a_shelf(the_lower_of_two_headers_holds),
      on_a_shelf(a_row_of_loads_is_as_many_pulls),
      on_a_shelf(columns_that_are_no_loads_are_not_run_over),
      on_a_shelf(days_have_the_order_that_is_said),
      on_a_shelf(a_session_that_may_be_two_days_is_said_to_be_a_name),
  };
  return be_tests("book: sheets of other shapes", tests);
}
