/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Line on hand: counted in line sheets, and used up by pulls. */
#include "book/book_test.h"

static const char *const lines_sheet =
    "line,spool,material,on hand (m),counted\nnylon,s1,nylon,41.5,2026-03-01\n"
    "nylon,s2,nylon,none,\nbraid,b1,braid,25 ft,spring\nfluoro,,,,\n";

static const struct be_line *line_at(struct shelf *shelf, size_t index)
{
  read_shelf(shelf);
  assert_true(index < shelf->record.lines_count);
  return &shelf->record.lines[index];
}

static void a_count_is_kept(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "lines.csv", lines_sheet);
  assert_string_equal(shelf->entered.kind, "line sheet");
  assert_int_equal(shelf->entered.lines, 4);
  const struct be_line *line = line_at(shelf, 0);
  assert_near(line[0].counted_m, 41.5, 0);
  assert_near(line[0].on_hand_m, 41.5, 0);
  assert_string_equal(line[0].counted, "2026-03-01");
  assert_int_equal(line[0].used_since, 0);
  assert_near(line[1].on_hand_m, 0, 0);
  assert_null(line[1].counted);
  assert_near(line[2].counted_m, 25 * 0.3048, 1e-15);
  assert_string_equal(line[2].counted, "spring");
  assert_true(isnan(line[3].counted_m) && isnan(line[3].on_hand_m));
  assert_null(line[3].counted);
  assert_sound(shelf);
}

static void a_line_is_counted_again(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "lines.csv", lines_sheet);
  enter_text(shelf, "again.csv",
             "line,spool,on hand,counted\nNylon,S1,38 m,May\nnylon,s2,,\nbraid,b1,3 ft,\n"
             "braid,b1,3.5 m,noon\n");
  assert_int_equal(shelf->entered.known, 4);
  assert_int_equal(shelf->entered.lines, 0);
  const struct be_line *line = line_at(shelf, 0);
  assert_near(line[0].counted_m, 38, 0);
  assert_string_equal(line[0].counted, "May");
  assert_near(line[1].counted_m, 0, 0);
  assert_near(line[2].counted_m, 3.5, 0);
  assert_string_equal(line[2].counted, "noon");
  enter_text(shelf, "third.csv", "line,spool,on hand (cm)\nnylon,s1,37\n");
  assert_near(line_at(shelf, 0)->counted_m, 0.37, 1e-16);
  assert_null(line_at(shelf, 0)->counted);
  assert_int_equal(count_of(shelf, "SELECT count(*) FROM stock"), 7);
  assert_sound(shelf);
}

static void bad_counts_are_refused(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *row, *what;
    size_t column;
  } cases[] = {
      {"nylon,s1,41,", "\"41\" has no unit", 3},
      {"nylon,s1,-2 m,", "\"-2 m\" is below zero", 3},
      {"nylon,s1,2 N,", "\"N\" is not a unit of length", 3},
      {"nylon,s1,some,", "\"some\" is not a length", 3},
      {"nylon,s1,,May", "the line was counted, but not how much", 4},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char text[200];
    snprintf(text, sizeof text, "line,spool,on hand,counted\nbraid,b1,7 m,\n%s\n", cases[i].row);
    struct be_err err = refuse_text(shelf, text, cases[i].what);
    assert_place(&err, 3, cases[i].column);
    assert_true(err.remedy[0]);
  }
  assert_int_equal(read_shelf(shelf)->lines_count, 0);
}

/* Only what is entered after the count was taken since; a correction takes no more. */
static void pulls_after_the_count_use_it_up(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "old.csv",
             "specimen,knot,line,spool,line B,spool B,load (N)\nO1,reef,nylon,s1,braid,b1,7.5\n");
  enter_text(shelf, "lines.csv", lines_sheet);
  enter_text(shelf, "day.csv",
             "specimen,knot,line,spool,line B,spool B,free length (mm),load (N),result,reason\n"
             "N1,reef,nylon,s1,braid,b1,350,8.5,,\n"       /* 1.35 of each */
             "N2,reef,nylon,s1,,,,9.5,,\n"                 /* 1.5 */
             "N3,reef,braid,b1,nylon,s1,1200,,void,lost\n" /* 2.2 of each, of the other side too */
             "N4,reef,nylon,s1,nylon,s1,500,6.5,,\n"       /* 1.5, of both ends of one spool */
             "N5,reef,nylon,s2,fluoro,,,5.5,,\n");         /* of none on hand, and never counted */
  enter_text(shelf, "fix.csv", "specimen,load (N),correction\nO1,7.25,misread\nN1,8.25,misread\n");
  const struct be_line *lines = read_shelf(shelf)->lines;
  assert_string_equal(lines[0].spool, "s1");
  assert_int_equal(lines[0].used_since, 4);
  assert_near(lines[0].on_hand_m, 41.5 - 1.35 - 1.5 - 2.2 - 1.5, 1e-13);
  assert_near(lines[0].counted_m, 41.5, 0);
  assert_string_equal(lines[1].spool, "b1");
  assert_int_equal(lines[1].used_since, 2);
  assert_near(lines[1].on_hand_m, 25 * 0.3048 - 1.35 - 2.2, 1e-13);
  assert_string_equal(lines[2].spool, "s2");
  assert_int_equal(lines[2].used_since, 1);
  assert_near(lines[2].on_hand_m, 0, 0);
  assert_int_equal(lines[3].used_since, 0);
  assert_true(isnan(lines[3].on_hand_m));
  enter_text(shelf, "count.csv", "line,spool,on hand (m)\nnylon,s1,30\n");
  lines = read_shelf(shelf)->lines;
  assert_int_equal(lines[0].used_since, 0);
  assert_near(lines[0].on_hand_m, 30, 0);
  assert_int_equal(lines[1].used_since, 2);
  assert_sound(shelf);
}

static void a_trial_tells_how_much_a_specimen_takes(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "lines.csv", lines_sheet);
  enter_text(shelf, "rules.csv", "trial,rule,value\nw,metres a specimen,270 cm\nv,seed,7\n");
  enter_text(shelf, "plan.csv",
             "trial,specimen,order,knot,line,spool,free length\nw,W1,1,reef,nylon,s1,350\n"
             "w,W2,2,reef,nylon,s1,350\nv,V1,1,reef,nylon,s1,250\n");
  assert_near(line_at(shelf, 0)->on_hand_m, 41.5, 0); /* planned, not pulled */
  enter_text(shelf, "day.csv", "specimen,load (N)\nW2,7.5\nV1,8.5\n");
  assert_int_equal(line_at(shelf, 0)->used_since, 2);
  assert_near(line_at(shelf, 0)->on_hand_m, 41.5 - 2.7 - 1.25, 1e-13);
  enter_text(shelf, "change.csv", "trial,rule,value,reason\nw,metres a specimen,50,long tails\n");
  assert_near(line_at(shelf, 0)->on_hand_m, 0, 0);
  assert_sound(shelf);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(a_count_is_kept),
      on_a_shelf(a_line_is_counted_again),
      on_a_shelf(bad_counts_are_refused),
      on_a_shelf(pulls_after_the_count_use_it_up),
      on_a_shelf(a_trial_tells_how_much_a_specimen_takes),
  };
  return be_tests("book: line on hand", tests);
}
