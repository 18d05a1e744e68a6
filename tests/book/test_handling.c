/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How specimens were handled: told with the pull, planned, or told later. */
#include "book/book_test.h"

static const double pound_N = 9.80665 * 0.45359237;

static const char first_day[] =
    "specimen,knot,line,session,seating load,seating held,tag end,glue,tied,water,grips,"
    "temperature,humidity,load (N)\n"
    "H1,reef,nylon,2026-03-02,3 lb,7.5 s,4 mm,none,2026-03-01 18:30,salt,\"bollards 50 mm, 4 "
    "wraps\",70 F,55 %,61.5\n"
    "H2,none,nylon,2026-03-02,None,none,none,,none,none,none,-3.5 C,\"48,5\",81.25\n"
    "H3,reef,nylon,2026-03-02,,,,,,,,,,60.25\n";

static double number_of(const struct be_pull *pull, enum be_handling handling)
{
  assert_null(pull->handling[handling].text);
  return pull->handling[handling].number;
}

static const char *text_of(const struct be_pull *pull, enum be_handling handling)
{
  assert_true(isnan(pull->handling[handling].number));
  return pull->handling[handling].text;
}

static void a_pull_sheet_tells_it(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv", first_day);
  const struct be_pull *pull = pull_of(shelf, "H1");
  assert_near(number_of(pull, BE_HANDLED_SEATING), 3 * pound_N, 1e-12);
  assert_near(number_of(pull, BE_HANDLED_HELD), 7.5, 0);
  assert_near(number_of(pull, BE_HANDLED_TAG), 0.004, 1e-18);
  assert_string_equal(text_of(pull, BE_HANDLED_GLUE), "none");
  assert_string_equal(text_of(pull, BE_HANDLED_TIED), "2026-03-01T18:30");
  assert_string_equal(text_of(pull, BE_HANDLED_WATER), "salt");
  assert_string_equal(text_of(pull, BE_HANDLED_GRIPS), "bollards 50 mm, 4 wraps");
  assert_near(number_of(pull, BE_HANDLED_TEMPERATURE), 273.15 + 190.0 / 9, 1e-10);
  assert_near(number_of(pull, BE_HANDLED_HUMIDITY), 0.55, 1e-15);
  pull = pull_of(shelf, "H2");
  assert_near(number_of(pull, BE_HANDLED_SEATING), 0, 0);
  assert_near(number_of(pull, BE_HANDLED_HELD), 0, 0);
  assert_near(number_of(pull, BE_HANDLED_TAG), 0, 0);
  assert_null(text_of(pull, BE_HANDLED_GLUE));
  assert_string_equal(text_of(pull, BE_HANDLED_TIED), "none");
  assert_near(number_of(pull, BE_HANDLED_TEMPERATURE), 269.65, 1e-10);
  assert_near(number_of(pull, BE_HANDLED_HUMIDITY), 0.485, 1e-15);
  pull = pull_of(shelf, "H3");
  for (int i = 0; i < BE_HANDLINGS; i++)
    assert_true(!pull->handling[i].text && isnan(pull->handling[i].number));
  assert_sound(shelf);
}

static void heads_have_units_and_other_names(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv",
             "specimen,knot,line,set load (kg),set load held (min),Tag length (in),adhesive,"
             "when tied,soaked in,gripped with,room temperature (degF),RH (1),load (N)\n"
             "H4,reef,nylon,0.5,0.25,0.5,PVA,2026-02-28,tap,capstan,41,0.62,61.5\n");
  const struct be_pull *pull = pull_of(shelf, "H4");
  assert_near(number_of(pull, BE_HANDLED_SEATING), 4.903325, 1e-12);
  assert_near(number_of(pull, BE_HANDLED_HELD), 15, 0);
  assert_near(number_of(pull, BE_HANDLED_TAG), 0.0127, 1e-15);
  assert_string_equal(text_of(pull, BE_HANDLED_GLUE), "PVA");
  assert_string_equal(text_of(pull, BE_HANDLED_TIED), "2026-02-28");
  assert_string_equal(text_of(pull, BE_HANDLED_WATER), "tap");
  assert_string_equal(text_of(pull, BE_HANDLED_GRIPS), "capstan");
  assert_near(number_of(pull, BE_HANDLED_TEMPERATURE), 278.15, 1e-10);
  assert_near(number_of(pull, BE_HANDLED_HUMIDITY), 0.62, 0);
  /* A sheet of one's own shape. */
  enter_with(shelf, "mine.csv", "who,held,air,load (N)\nH5,9.5,17,60.5\nH6,,19,61\n",
             &(struct be_entering){.mapping = "specimen = who\nseating load (N) = held\n"
                                              "temperature (C) = air\nknot := reef\nline := nylon\n"
                                              "grips := clamps\ntemperature: 19 = not recorded"});
  pull = pull_of(shelf, "H5");
  assert_near(number_of(pull, BE_HANDLED_SEATING), 9.5, 0);
  assert_near(number_of(pull, BE_HANDLED_TEMPERATURE), 290.15, 1e-10);
  assert_string_equal(text_of(pull, BE_HANDLED_GRIPS), "clamps");
  assert_true(isnan(number_of(pull_of(shelf, "H6"), BE_HANDLED_TEMPERATURE)));
  assert_sound(shelf);
}

static void a_plan_may_tell_it(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "plan.csv",
             "trial,specimen,order,knot,line,seating load (N),glue,grips,temperature (C)\n"
             "winter,P1,1,reef,nylon,12.5,none,bollards,20\nwinter,P2,2,reef,nylon,,,,\n");
  enter_text(shelf, "day.csv", "specimen,load (N),glue,humidity (%)\nP1,61.5,PVA,45\nP2,60,,\n");
  const struct be_pull *pull = pull_of(shelf, "P1");
  assert_near(number_of(pull, BE_HANDLED_SEATING), 12.5, 0);
  assert_string_equal(text_of(pull, BE_HANDLED_GLUE), "PVA");
  assert_string_equal(text_of(pull, BE_HANDLED_GRIPS), "bollards");
  assert_near(number_of(pull, BE_HANDLED_TEMPERATURE), 293.15, 1e-10);
  assert_near(number_of(pull, BE_HANDLED_HUMIDITY), 0.45, 1e-15);
  const struct be_planned *planned = shelf->record.trials[0].planned;
  assert_string_equal(planned[0].handling[BE_HANDLED_GLUE].text, "none");
  assert_true(isnan(planned[0].handling[BE_HANDLED_HUMIDITY].number));
  assert_null(pull_of(shelf, "P2")->handling[BE_HANDLED_GRIPS].text);
  assert_sound(shelf);
}

/* What was left unrecorded may be told; what was recorded stays. */
static void it_may_be_told_later(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv", first_day);
  enter_text(shelf, "more.csv",
             "specimen,temperature (C),grips,photo\nH3,18.5,bollards,\nh2,,,H2.jpg\n");
  assert_string_equal(shelf->entered.kind, "evidence sheet");
  assert_int_equal(shelf->entered.told, 1);
  assert_int_equal(shelf->entered.known, 0);
  const struct be_pull *pull = pull_of(shelf, "H3");
  assert_near(number_of(pull, BE_HANDLED_TEMPERATURE), 291.65, 1e-10);
  assert_string_equal(text_of(pull, BE_HANDLED_GRIPS), "bollards");
  assert_int_equal(pull->corrections, 0);
  enter_text(shelf, "again.csv", "specimen,temperature (C),grips\nH3,18.5,Bollards\n");
  assert_int_equal(shelf->entered.known, 1);
  assert_int_equal(shelf->entered.told, 0);
  struct be_err err = refuse_text(shelf, "specimen,grips,temperature (C)\nH3,bollards,18.6\n",
                                  "has another temperature in the book");
  assert_place(&err, 2, 3);
  refuse_text(shelf, "specimen,glue\nH1,PVA\n", "has another glue in the book");
  refuse_text(shelf, "specimen,glue\nH1,\n", "names no photo and no clip, and tells nothing else");
  refuse_text(shelf, "specimen,glue,note\nH3,PVA,thin\n", "the note belongs to no photo");
  refuse_text(shelf, "specimen,glue\nH9,PVA\n", "there is no pull of specimen \"H9\"");
  /* A correction may tell more too, and may not tell otherwise. */
  enter_text(shelf, "fix.csv", "specimen,correction,load (N),water\nH3,misread,60.75,fresh\n");
  pull = pull_of(shelf, "H3");
  assert_string_equal(text_of(pull, BE_HANDLED_WATER), "fresh");
  assert_near(pull->load_N, 60.75, 0);
  refuse_text(shelf, "specimen,correction,load (N),water\nH3,misread,60.5,salt\n",
              "has another water in the book");
  assert_sound(shelf);
}

/* What was recorded stays in its row; what goes before it is appended, with its reason. */
static void it_may_be_told_anew(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv",
             "specimen,knot,line,soak,speed,tyer,temperature (C),grips,load (N)\n"
             "A1,reef,nylon,dry,500,Wren,20.5,bollards,61.5\n"
             "A2,reef,nylon,,,,,,60\n");
  const char *anew = "specimen,temperature (C),soak,tyer,speed,humidity (%),reason,judged by\n"
                     "A1,17.25,90 min,Tern,500,47,the cold room,Plover\n"
                     "A2,17.25,90 min,Tern,250,,,\n";
  enter_text(shelf, "anew.csv", anew);
  assert_string_equal(shelf->entered.kind, "evidence sheet");
  assert_int_equal(shelf->entered.told, 2);
  const struct be_pull *pull = pull_of(shelf, "A1");
  assert_near(number_of(pull, BE_HANDLED_TEMPERATURE), 290.4, 1e-10);
  assert_near(number_of(pull, BE_HANDLED_HUMIDITY), 0.47, 1e-15);
  assert_string_equal(text_of(pull, BE_HANDLED_GRIPS), "bollards");
  assert_int_equal(pull->soak, BE_SOAK_SOAKED);
  assert_near(pull->soak_s, 5400, 0);
  assert_string_equal(pull->tyer, "Tern");
  assert_int_equal(pull->corrections, 0);
  pull = pull_of(shelf, "A2");
  assert_near(pull->soak_s, 5400, 0);
  assert_near(pull->speed_m_s * 60000, 250, 1e-9);
  assert_string_equal(pull->tyer, "Tern");

  /* Back again: a soak takes its time along. */
  enter_text(shelf, "back.csv", "specimen,soak,reason\na1,dry,it was dry\n");
  pull = pull_of(shelf, "A1");
  assert_int_equal(pull->soak, BE_SOAK_DRY);
  assert_true(isnan(pull->soak_s));
  assert_near(number_of(pull, BE_HANDLED_TEMPERATURE), 290.4, 1e-10);
  struct be_retold *list = NULL;
  size_t count = 0;
  assert_int_equal(be_book_retold(shelf->book, pull->id, shelf->arena, &list, &count, NULL), BE_OK);
  assert_int_equal(count, 4);
  assert_int_equal(list[0].made, BE_MADE_SOAK);
  assert_near(list[0].was.number, 5400, 0);
  assert_string_equal(list[0].is.text, "dry");
  assert_string_equal(list[0].why, "it was dry");
  assert_null(list[0].told_by);
  for (size_t i = 1; i < count; i++) {
    assert_string_equal(list[i].why, "the cold room");
    assert_string_equal(list[i].told_by, "Plover");
    if (list[i].made == BE_MADE_TYER) assert_string_equal(list[i].was.text, "Wren");
  }
  assert_sound(shelf);
}

static void what_is_told_anew_needs_its_reason(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv",
             "specimen,knot,line,soak,tyer,grips,load (N)\nA1,reef,nylon,120 min,Wren,clamps,61\n");
  struct be_err err =
      refuse_text(shelf, "specimen,tyer,soak\nA1,Wren,60 min\n", "has another soak in the book");
  assert_place(&err, 2, 3);
  assert_part(err.remedy, "\"specimen\", \"soak\" and \"reason\"");
  refuse_text(shelf, "specimen,soak,reason\nA1,damp,typed wrongly\n", "soak");
  refuse_text(shelf, "specimen,reason\nA1,typed wrongly\n", "load");
  enter_text(shelf, "same.csv", "specimen,soak,tyer,reason\nA1,soaked,wren,\n");
  assert_int_equal(shelf->entered.known, 1);
  assert_near(pull_of(shelf, "A1")->soak_s, 7200, 0);
  /* What a correction tells is held against what holds now. */
  enter_text(shelf, "anew.csv", "specimen,tyer,reason\nA1,Tern,typed wrongly\n");
  enter_text(shelf, "fix.csv", "specimen,correction,load (N),tyer\nA1,misread,60.75,Tern\n");
  refuse_text(shelf, "specimen,correction,load (N),tyer\nA1,misread,60.5,Wren\n",
              "has another tyer in the book");
  assert_sound(shelf);
}

static void what_cannot_be_is_refused(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *column, *cell, *what, *remedy;
  } cases[] = {
      {"temperature", "-273.16 C", "is below absolute zero", "check the number"},
      {"temperature (F)", "-460", "is below absolute zero", "check the number"},
      {"temperature (K)", "-0.5", "is below absolute zero", "check the number"},
      {"temperature", "2100 C", "is more than a line bears", "check the number"},
      {"temperature", "21", "\"21\" has no unit", "write \"21 C\" or \"70 F\""},
      {"temperature", "21 N", "\"N\" is not a unit of temperature", "write \"21 C\""},
      {"temperature", "warm", "is not a temperature", "write \"21 C\""},
      {"temperature (N)", "21", "\"N\" in column \"temperature (N)\" is not a unit of temperature",
       "temperature (C)"},
      {"humidity", "100.5", "is above 100 %", "from 0 to 100 %"},
      {"humidity (1)", "1.01", "is above 100 %", "from 0 to 100 %"},
      {"humidity", "-1 %", "is below zero", "from 0 to 100"},
      {"humidity", "damp", "is not a number", "such as \"55 %\""},
      {"humidity (mm)", "5", "is not a unit", "humidity (%)"},
      {"tied", "2026-02-29", "\"2026-02-29\" is not a date", "2026-03-01 18:30"},
      {"tied", "on Friday", "is not a date", "2026-03-01"},
      {"seating load", "12", "\"12\" has no unit", "after the number"},
      {"seating load", "-1 N", "is below zero", "check the number"},
      {"seating load", "2 MN", "not a load that a line can bear", "check the number"},
      {"seating held", "-3 s", "is below zero", "check the number"},
      {"tag end", "4 N", "not a unit of length", "unit"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char text[200];
    snprintf(text, sizeof text, "knot,line,load (N),%s\nreef,nylon,60.5,%s\n", cases[i].column,
             cases[i].cell);
    struct be_err err = refuse_text(shelf, text, cases[i].what);
    assert_part(err.remedy, cases[i].remedy);
  }
  assert_int_equal(count_of(shelf, "SELECT count(*) FROM specimen"), 0);
}

static void what_is_odd_is_said(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv",
             "specimen,knot,line,session,tied,humidity,load (N)\n"
             "H7,reef,nylon,2026-03-02,2026-03-03,0.55,60.5\n");
  assert_note(shelf, "line 2: tied 2026-03-03, which is after its session, 2026-03-02");
  assert_note(shelf, "\"0.55\" was taken for 0.55 %; a share has the head \"humidity (1)\"");
  assert_near(number_of(pull_of(shelf, "H7"), BE_HANDLED_HUMIDITY), 0.0055, 1e-15);
}

static void lines_and_knots_tell_more(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "lines.csv",
             "line,spool,source,opened,construction\n"
             "nylon,s1,given by its maker,2024-05,single filament\n"
             "nylon,s2,,none,\nbraid,,bought,,8 strands\n");
  assert_string_equal(shelf->entered.kind, "line sheet");
  enter_text(shelf, "knots.csv", "knot,time to tie (s),passes guides\nreef,42.5,yes\nbow,,none\n");
  assert_string_equal(shelf->entered.kind, "knot sheet");
  enter_text(shelf, "later.csv", "line,spool,opened,source\nnylon,s2,none,none\nbraid,,2019,\n");
  assert_int_equal(shelf->entered.known, 2);
  enter_text(shelf, "late.csv", "knot,time to tie\nbow,1.5 min\n");
  const struct be_record *record = read_shelf(shelf);
  const struct be_line *lines = record->lines;
  assert_string_equal(lines[0].source, "given by its maker");
  assert_string_equal(lines[0].opened, "2024-05");
  assert_string_equal(lines[0].construction, "single filament");
  assert_string_equal(lines[1].source, "none");
  assert_string_equal(lines[1].opened, "none");
  assert_null(lines[1].construction);
  assert_string_equal(lines[2].opened, "2019");
  assert_near(record->knots[0].tie_s, 42.5, 0);
  assert_string_equal(record->knots[0].guides, "yes");
  assert_near(record->knots[1].tie_s, 90, 0);
  assert_string_equal(record->knots[1].guides, "none");
  assert_sound(shelf);
  static const char *const no_dates[] = {"2026-13", "26", "soon", "1899", "2026-02-30", "2026-3"};
  for (size_t i = 0; i < sizeof no_dates / sizeof no_dates[0]; i++) {
    char text[100];
    snprintf(text, sizeof text, "line,opened\nfluoro,%s\n", no_dates[i]);
    struct be_err err = refuse_text(shelf, text, "is not a date");
    assert_place(&err, 2, 2);
  }
  refuse_text(shelf, "line,spool,source\nnylon,s1,bought\n", "with another source");
  refuse_text(shelf, "line,construction\nbraid,4 strands\n", "with another construction");
  refuse_text(shelf, "knot,time to tie\nreef,43 s\n", "with other time to tie");
  refuse_text(shelf, "knot,time to tie\nreef,-3 s\n", "is below zero");
}

/* What is changed behind the book's back is found. */
static void a_changed_field_is_found(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *sql, *what;
  } cases[] = {
      {"UPDATE specimen SET temperature_K = 290 WHERE code = 'H1'", "H1\": temperature is"},
      {"UPDATE specimen SET grips = NULL WHERE code = 'H1'", "specimen \"H1\": grips is"},
      {"UPDATE planned SET seating_N = 4 WHERE code = 'P1'", "\"P1\": seating load is"},
      {"UPDATE line SET source = 'bought'", "source is"},
      {"UPDATE knot SET tie_s = 3", "time to tie is"},
  };
  enter_text(shelf, "day.csv", first_day);
  enter_text(shelf, "plan.csv", "trial,specimen,order,knot,line\nwinter,P1,1,reef,nylon\n");
  struct be_buf sound = book_bytes(shelf);
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    be_book_close(shelf->book);
    shelf->book = NULL;
    tamper(shelf, cases[i].sql);
    assert_int_equal(be_book_open(shelf->path, false, &shelf->book, NULL), BE_OK);
    struct be_err err = {0};
    struct be_book_check checked;
    assert_int_equal(be_book_check(shelf->book, &checked, &err), BE_NO);
    assert_part(err.what, cases[i].what);
    be_book_close(shelf->book);
    shelf->book = NULL;
    assert_int_equal(be_file_write(shelf->path, sound.data, sound.size, NULL), BE_OK);
  }
  be_buf_free(&sound);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(a_pull_sheet_tells_it),     on_a_shelf(heads_have_units_and_other_names),
      on_a_shelf(a_plan_may_tell_it),        on_a_shelf(it_may_be_told_later),
      on_a_shelf(it_may_be_told_anew),       on_a_shelf(what_is_told_anew_needs_its_reason),
      on_a_shelf(what_cannot_be_is_refused), on_a_shelf(what_is_odd_is_said),
      on_a_shelf(lines_and_knots_tell_more), on_a_shelf(a_changed_field_is_found),
  };
  return be_tests("book: handling", tests);
}
