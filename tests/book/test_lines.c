/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sheets of lines and knots, and how the rows of a pull sheet find them. */
#include "book/book_test.h"

static const double pound_N = 9.80665 * 0.45359237;

static void a_line_sheet_is_kept(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "lines.csv",
             "line,spool,material,label (lb),size,diameter (mm),lot\n"
             "nylon 12 lb,s1,,12,,0.331,L-9\n"
             "nylon 12 lb,s2,nylon,\"6,5 kg\",,,\n"
             "superbraid,,,,PE 1.5,0.008 in,\n");
  assert_string_equal(shelf->entered.kind, "line sheet");
  assert_int_equal(shelf->entered.lines, 3);
  const struct be_record *record = read_shelf(shelf);
  assert_int_equal(record->lines_count, 3);
  const struct be_line *line = record->lines;
  assert_string_equal(line[0].name, "nylon 12 lb");
  assert_string_equal(line[0].spool, "s1");
  assert_string_equal(line[0].material, "nylon");
  assert_string_equal(line[0].label, "12 lb");
  assert_near(line[0].label_N, 12 * pound_N, 1e-12);
  assert_near(line[0].diameter_m, 0.000331, 1e-18);
  assert_string_equal(line[0].lot, "L-9");
  assert_null(line[0].size);
  assert_string_equal(line[1].label, "6,5 kg");
  assert_near(line[1].label_N, 6.5 * 9.80665, 1e-12);
  assert_true(isnan(line[1].diameter_m));
  assert_null(line[1].lot);
  assert_string_equal(line[2].material, "braid");
  assert_string_equal(line[2].size, "PE 1.5");
  assert_null(line[2].spool);
  assert_null(line[2].label);
  assert_near(line[2].diameter_m, 0.008 * 0.0254, 1e-15);
  assert_sound(shelf);
}

static void a_knot_sheet_is_kept(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "knots.csv",
             "knot;version;kind;turns;doubled;also called\n"
             "uni;;hitch;5;no;grinner, half moon\n"
             "uni;;hitch;1;;\n"
             "dropper loop;by its loop;loop;;none;\n");
  assert_string_equal(shelf->entered.kind, "knot sheet");
  assert_int_equal(shelf->entered.knots, 3);
  const struct be_record *record = read_shelf(shelf);
  assert_string_equal(record->knots[0].full, "uni, 5 turns");
  assert_string_equal(record->knots[0].kind, "hitch");
  assert_string_equal(record->knots[0].doubled, "no");
  assert_string_equal(record->knots[0].aliases, "grinner, half moon");
  assert_string_equal(record->knots[1].full, "uni, 1 turn");
  assert_null(record->knots[1].doubled);
  assert_string_equal(record->knots[2].full, "dropper loop (by its loop)");
  assert_true(isnan(record->knots[2].turns));
  assert_string_equal(record->knots[2].doubled, "none");
}

static void a_drawing_of_a_knot_is_kept(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "knots.csv",
             "knot,kind,crossings A,crossings B,overlap (mm)\n"
             "reef,bend,4,5.5,13.7\noverhand,stopper,3,None,0\nuni,hitch,,0,0.5 in\nbow,loop,,,\n"
             "twin,bend,none,,none\n");
  enter_text(shelf, "day.csv", "knot,line,load (N)\nsquare,nylon,7.5\n");
  const struct be_knot *knot = read_shelf(shelf)->knots;
  assert_near(knot[0].crossings_a, 4, 0);
  assert_near(knot[0].crossings_b, 5.5, 0);
  assert_near(knot[0].overlap_m, 0.0137, 1e-17);
  assert_near(knot[1].crossings_a, 3, 0);
  assert_near(knot[1].crossings_b, 0, 0);
  assert_near(knot[1].overlap_m, 0, 0);
  assert_true(isnan(knot[2].crossings_a));
  assert_near(knot[2].crossings_b, 0, 0);
  assert_near(knot[2].overlap_m, 0.0127, 1e-17);
  assert_near(knot[4].crossings_a + knot[4].overlap_m, 0, 0);
  assert_true(isnan(knot[4].crossings_b));
  for (int i = 3; i < 6; i += 2)
    assert_true(isnan(knot[i].crossings_a) && isnan(knot[i].crossings_b) &&
                isnan(knot[i].overlap_m));
  assert_sound(shelf);
}

static void a_tie_is_kept_as_it_is_written(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "knots.csv",
             "knot,tie\nclinch,clinch turns=7\n"
             "own,\"tie own\nline A\n  0,0 o 5,0 \"\"x\"\"\"\nbow,\n");
  enter_text(shelf, "more.csv", "knot,tie\nBow,none\n");
  const struct be_knot *knot = read_shelf(shelf)->knots;
  assert_string_equal(knot[0].tie, "clinch turns=7");
  assert_string_equal(knot[1].tie, "tie own\nline A\n  0,0 o 5,0 \"x\"");
  assert_string_equal(knot[2].tie, "none");
  struct be_err err = refuse_text(shelf, "knot,tie\nclinch,clinch turns=5\n", "with other tie");
  assert_place(&err, 2, 2);
  assert_sound(shelf);
}

static void a_drawing_may_be_told_later_but_not_changed(void **state)
{
  struct shelf *shelf = *state;
  const char *head = "knot,crossings A,crossings B,overlap (mm)";
  enter_text(shelf, "day.csv", "knot,line,load (N)\nreef,nylon,7.5\n");
  enter_text(shelf, "knots.csv", "knot,crossings A\nreef,0\n");
  assert_int_equal(shelf->entered.known, 1);
  enter_text(shelf, "more.csv", "knot,crossings A,crossings B,overlap\nReef,,5,1.37 cm\n");
  assert_int_equal(shelf->entered.known, 1);
  const struct be_knot *knot = read_shelf(shelf)->knots;
  assert_near(knot[0].crossings_a, 0, 0);
  assert_near(knot[0].crossings_b, 5, 0);
  assert_near(knot[0].overlap_m, 0.0137, 1e-17);
  static const struct {
    const char *row, *what;
    size_t column;
  } cases[] = {
      {"reef,1,5,13.7", "with other crossings A", 2},
      {"reef,0,6,13.7", "with other crossings B", 3},
      {"reef,,,13.8", "with other overlap", 4},
      {"bow,-1,,", "\"-1\" is below zero", 2},
      {"bow,,4 mm,", "\"4 mm\" is not a number", 3},
      {"bow,,,4 N", "\"N\" is not a unit of length", 4},
      {"bow,,,-4", "\"-4\" is below zero", 4},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char text[200];
    snprintf(text, sizeof text, "%s\n%s\n", head, cases[i].row);
    struct be_err err = refuse_text(shelf, text, cases[i].what);
    assert_place(&err, 2, cases[i].column);
    assert_true(err.remedy[0]);
  }
  refuse_text(shelf, "knot,overlap\nbow,4\n", "\"4\" has no unit");
  assert_int_equal(read_shelf(shelf)->knots_count, 1);
  assert_sound(shelf);
}

static void bad_rows_of_either_are_refused(void **state)
{
  struct shelf *shelf = *state;
  struct be_err err = refuse_text(shelf, "line,material\nnylon,nylon\n,braid\n", "has no name");
  assert_place(&err, 3, 1);
  err = refuse_text(shelf, "knot,kind\n,bend\n", "has no name");
  assert_place(&err, 2, 1);
  err = refuse_text(shelf, "line,spool,material\nnylon,a,\nbraid,a,\nNylon,a,braid\n",
                    "the line \"Nylon\", spool a is in the book already, with another material");
  assert_place(&err, 4, 3);
  assert_part(err.remedy, "what is in the book stays");
  err = refuse_text(shelf, "knot,turns,kind\nuni,5,hitch\nUNI,5,loop\n",
                    "in the book already: \"UNI\", with other kind");
  assert_place(&err, 3, 3);
  assert_part(err.remedy, "what is in the book stays");
  err = refuse_text(shelf, "line,label\nnylon,12\n", "column \"label\"");
  assert_place(&err, 2, 2);
  err = refuse_text(shelf, "line,diameter (mm)\nnylon,3 lb\n", "column \"diameter (mm)\"");
  assert_place(&err, 2, 2);
  err = refuse_text(shelf, "line,label,diameter (mm)\nnylon,3 lb,-0.3\n", "below zero");
  assert_place(&err, 2, 3);
  err = refuse_text(shelf, "knot,turns,kind\nuni,five,\n",
                    "column \"turns\": \"five\" is not a number");
  assert_place(&err, 2, 2);
  assert_part(err.remedy, "in digits");
  refuse_text(shelf, "knot,turns,kind\nuni,5 lb,\n", "\"5 lb\" is not a number");
  err = refuse_text(shelf, "knot,turns,kind\nuni,100.5,\n", "100.5 is more turns than a knot has");
  assert_part(err.remedy, "between 0 and 100");
  refuse_text(shelf, "knot,turns,kind\nuni,-1,\n", "below zero");
  refuse_text(shelf, "knot,turns,line,load (N)\nuni,200,nylon,7.5\n", "200 is more turns");
  assert_int_equal(read_shelf(shelf)->lines_count + shelf->record.knots_count, 0);
}

/* A name that the book does not know tells material and label. */
static void new_lines_are_made_from_their_name(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *name, *material;
    double label_N;
  } cases[] = {
      {"copolymer 40 lb", "nylon", 40 * pound_N},   {"PE 20lb", "braid", 20 * pound_N},
      {"fluoro 0.9 kg clear", "fluorocarbon", NAN}, {"polyesterlike cord", NULL, NAN},
      {"mono, 3 kg", "nylon", 3 * 9.80665},         {"red 8", NULL, NAN},
  };
  enum { CASES = sizeof cases / sizeof cases[0] };
  char text[1024] = "knot,line,load (N)\n";
  for (size_t i = 0; i < CASES; i++)
    snprintf(text + strlen(text), sizeof text - strlen(text), "reef,\"%s\",7.5\n", cases[i].name);
  enter_text(shelf, "new.csv", text);
  const struct be_record *record = read_shelf(shelf);
  assert_int_equal(record->lines_count, CASES);
  for (size_t i = 0; i < CASES; i++) {
    assert_string_equal(record->lines[i].name, cases[i].name);
    if (cases[i].material) assert_string_equal(record->lines[i].material, cases[i].material);
    else assert_null(record->lines[i].material);
    assert_near(record->lines[i].label_N, cases[i].label_N, 1e-12);
  }
}

static void rows_find_the_lines_of_the_book(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "lines.csv",
             "line,spool,material,label\nalpha,s1,nylon,9 lb\n"
             "beta,s2,braid,\ngamma,s2,braid,\n");
  enter_text(shelf, "a.csv",
             "specimen,knot,line,spool,load (N)\n"
             "A,reef,ALPHA,,7.5\n" /* its only spool */
             "B,reef,alpha,S1,7.5\n"
             "C,reef,,s1,7.5\n"        /* the spool alone */
             "D,reef,alpha,s7,7.5\n"); /* a new spool of a known line */
  assert_int_equal(shelf->entered.lines, 1);
  const struct be_record *record = read_shelf(shelf);
  assert_int_equal(record->lines_count, 4);
  for (int i = 0; i < 3; i++) assert_int_equal(record->pulls[i].line_a, 0);
  assert_int_equal(record->pulls[3].line_a, 3);
  assert_string_equal(record->lines[3].material, "nylon");
  assert_string_equal(record->lines[3].label, "9 lb");
  assert_near(record->lines[3].label_N, 9 * pound_N, 1e-12);
  /* Several spools, and which is not said: one of its own. */
  enter_text(shelf, "b.csv", "specimen,knot,line,load (N)\nE,reef,alpha,7.5\nF,reef,alpha,7.5\n");
  assert_int_equal(shelf->entered.lines, 1);
  assert_null(read_shelf(shelf)->lines[pull_of(shelf, "F")->line_a].spool);
  struct be_err err =
      refuse_text(shelf, "knot,spool,load (N)\nreef,s2,7.5\n", "more than one line has a spool");
  assert_place(&err, 2, 2);
  assert_part(err.remedy, "name the line too");
  err = refuse_text(shelf, "knot,spool,load (N)\nreef,s8,7.5\n", "there is no spool \"s8\"");
  assert_place(&err, 2, 2);
  err = refuse_text(shelf, "knot,line,load (N)\nreef,none,7.5\n", "the line is not named");
  assert_place(&err, 2, 2);
}

static void rows_find_the_knots_of_the_book(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "knots.csv",
             "knot,version,turns,kind,aliases\nuni,,5,hitch,\"grinner, g 5\"\n"
             "uni,,7,hitch,\nreef,wet,,bend,\n");
  enter_text(shelf, "a.csv",
             "specimen,knot,version,turns,line,load (N)\n"
             "A,Uni,,5,nylon,7.5\nB,GRINNER,,,nylon,7.5\nC,g 5,,,nylon,7.5\n"
             "D,uni,,7,nylon,7.5\nE,reef,WET,,nylon,7.5\n"
             "F,reef,,,nylon,7.5\nG,grinner,,6,nylon,7.5\nH,grin,,,nylon,7.5\n");
  const struct be_record *record = read_shelf(shelf);
  static const int knots[] = {0, 0, 0, 1, 2, 3, 4, 5};
  for (size_t i = 0; i < 8; i++) assert_int_equal(record->pulls[i].knot, knots[i]);
  assert_string_equal(record->knots[3].full, "reef");
  assert_string_equal(record->knots[4].full, "grinner, 6 turns");
  struct be_err err =
      refuse_text(shelf, "knot,line,load (N)\nuni,nylon,7.5\n", "more than one knot in the book");
  assert_place(&err, 2, 1);
  assert_part(err.remedy, "add the column \"turns\"");
  err = refuse_text(shelf, "knot,turns,line,load (N)\nuni,,nylon,7.5\n", "more than one knot");
  assert_part(err.remedy, "fill in the column \"turns\"");
}

static void rows_that_the_book_has_are_passed_over(void **state)
{
  struct shelf *shelf = *state;
  const char *lines = "line,spool,material,label,diameter (mm),lot\n"
                      "nylon 12 lb,s1,,12 lb,0.331,L-9\nbraid,,,,,\n";
  enter_text(shelf, "lines.csv", lines);
  char more[512];
  snprintf(more, sizeof more, "%sbraid,s7,,,,\nBRAID,,,,,\n", lines);
  enter_text(shelf, "more.csv", more);
  assert_int_equal(shelf->entered.lines, 1);
  assert_int_equal(shelf->entered.known, 3);
  static const struct {
    const char *row, *other;
    size_t column;
  } cases[] = {
      {"nylon 12 lb,s1,nylon,13 lb,0.331,L-9", "with another label", 4},
      {"nylon 12 lb,s1,nylon,12 lb,0.3311,L-9", "with another diameter", 5},
      {"nylon 12 lb,s1,nylon,12 lb,0.331,L-10", "with another lot", 6},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char text[256];
    snprintf(text, sizeof text, "line,spool,material,label,diameter (mm),lot\n%s\n", cases[i].row);
    struct be_err err = refuse_text(shelf, text, cases[i].other);
    assert_place(&err, 2, cases[i].column);
  }
  enter_text(shelf, "knots.csv", "knot,version,turns,kind,aliases\nuni,wet,5,hitch,grinner\n");
  enter_text(shelf, "again.csv",
             "knot,version,turns,kind,aliases\nUni,Wet,5,hitch,grinner\n"
             "uni,,5,hitch,grinner\n");
  assert_int_equal(shelf->entered.known, 1);
  assert_int_equal(shelf->entered.knots, 1);
  refuse_text(shelf, "knot,version,turns,kind,aliases\nuni,wet,5,bend,\n", "with other kind");
  assert_sound(shelf);
}

/* A pull sheet made the line and the knot; what it could not say comes later. */
static void what_was_not_recorded_may_be_told_later(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "pulls.csv",
             "specimen,knot,line A,spool A,load (N)\na1,uni,tan 12 lb,s1,50.5\n");
  enter_text(shelf, "lines.csv", "line,spool,material,lot\ntan 12 lb,s1,nylon,L-7\n");
  enter_text(shelf, "knots.csv", "knot,kind,aliases\nuni,hitch,grinner\n");
  assert_int_equal(shelf->entered.known, 1);
  assert_int_equal(shelf->entered.knots, 0);
  assert_int_equal(be_book_read(shelf->book, shelf->arena, &shelf->record, NULL), BE_OK);
  assert_int_equal(shelf->record.lines_count, 1);
  assert_string_equal(shelf->record.lines[0].material, "nylon");
  assert_string_equal(shelf->record.lines[0].lot, "L-7");
  assert_string_equal(shelf->record.lines[0].label, "12 lb");
  assert_int_equal(shelf->record.knots_count, 1);
  assert_string_equal(shelf->record.knots[0].kind, "hitch");
  refuse_text(shelf, "line,spool,material,lot\ntan 12 lb,s1,braid,L-7\n", "with another material");
  assert_sound(shelf);
}

static void a_name_leads_to_one_knot(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "knots.csv",
             "knot,turns,kind,aliases\nuni,5,hitch,\"grinner, half moon\"\n"
             "uni,7,hitch,\"Grinner ,uni\"\nreef,,bend,\n");
  struct be_err err = refuse_text(shelf, "knot,kind,aliases\nbow,loop,\"b, Reef\"\n",
                                  "\"Reef\" is already a name of the knot \"reef\"");
  assert_place(&err, 2, 3);
  assert_part(err.remedy, "names of its own");
  refuse_text(shelf, "knot,kind,aliases\nbow,loop,HALF MOON\n",
              "\"HALF MOON\" is already a name of the knot \"uni\"");
  err = refuse_text(shelf, "knot,kind,aliases\ngrinner,loop,\n",
                    "\"grinner\" is already a name of the knot \"uni\"");
  assert_place(&err, 2, 1);
  refuse_text(shelf, "knot,kind,aliases\nbow,loop,twin\nsquare,bend,twin\n",
              "\"twin\" is already a name of the knot \"bow\"");
}

static void an_only_spool_is_taken_and_said_once(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "lines.csv", "line,spool,material\nnylon 12 lb,S1,\nbraid,,\nplain,a,\n");
  enter_text(shelf, "a.csv",
             "knot,line,line B,load (N)\nreef,Nylon 12 lb,,7.5\n"
             "reef,nylon 12 lb,,8.5\nreef,braid,plain,9.5\n");
  assert_note(shelf, "line 2: line A \"Nylon 12 lb\" was taken for its only known spool S1");
  assert_note(shelf, "line 4: line B \"plain\" was taken for its only known spool a");
  assert_int_equal(shelf->entered.notes_count, 3); /* and the new knot */
  enter_text(shelf, "b.csv", "knot,line,spool,load (N)\nreef,nylon 12 lb,s1,6.5\n");
  assert_int_equal(shelf->entered.notes_count, 0);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(a_line_sheet_is_kept),
      on_a_shelf(a_knot_sheet_is_kept),
      on_a_shelf(a_drawing_of_a_knot_is_kept),
      on_a_shelf(a_tie_is_kept_as_it_is_written),
      on_a_shelf(a_drawing_may_be_told_later_but_not_changed),
      on_a_shelf(bad_rows_of_either_are_refused),
      on_a_shelf(new_lines_are_made_from_their_name),
      on_a_shelf(rows_find_the_lines_of_the_book),
      on_a_shelf(rows_find_the_knots_of_the_book),
      on_a_shelf(rows_that_the_book_has_are_passed_over),
      on_a_shelf(what_was_not_recorded_may_be_told_later),
      on_a_shelf(a_name_leads_to_one_knot),
      on_a_shelf(an_only_spool_is_taken_and_said_once),
  };
  return be_tests("book: lines and knots", tests);
}
