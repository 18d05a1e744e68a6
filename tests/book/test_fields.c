/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "book/inside.h"
#include "book/book_test.h"

static const struct fields *find(struct be_arena *arena, const char *text, const char *mapping,
                                 struct sheet *sheet)
{
  static struct fields fields;
  struct be_err err = {0};
  assert_int_equal(be_sheet_read(text, strlen(text), arena, sheet, NULL), BE_OK);
  enum be_status status = be_fields_find(sheet, mapping, arena, &fields, &err);
  if (status != BE_OK) print_error("%zu:%zu: %s\n", err.line, err.column, err.what);
  assert_int_equal(status, BE_OK);
  return &fields;
}

static struct be_err fails(const char *text, const char *what)
{
  struct be_arena *arena = be_arena_create();
  struct sheet sheet;
  struct fields fields;
  struct be_err err = {0};
  assert_int_equal(be_sheet_read(text, strlen(text), arena, &sheet, NULL), BE_OK);
  assert_int_equal(be_fields_find(&sheet, NULL, arena, &fields, &err), BE_BAD_INPUT);
  assert_part(err.what, what);
  be_arena_free(arena);
  return err;
}

/* Every documented name is found in its own sheet, and no other. */
static void every_documented_name_is_found(void **state)
{
  (void)state;
  static const struct {
    enum sheet_kind kind;
    enum field first, last;
    const char *head, *row;
    size_t columns; /* before the one tried */
  } cases[] = {
      {SHEET_PULLS, FIELD_HARDWARE, FIELD_CLIP, "knot,line A,trace", "x,y,z,w", 3},
      {SHEET_LINES, FIELD_MATERIAL, FIELD_COUNTED, "line", "x,y", 1},
      {SHEET_KNOTS, FIELD_KIND, FIELD_PICTURE, "knot", "x,y", 1},
      {SHEET_EVIDENCE, FIELD_HANDLING, FIELD_HANDLING_LAST, "specimen", "x,y", 1},
      {SHEET_PULLS, FIELD_KNOT_B, FIELD_TURNS_B, "knot,line A,trace", "x,y,z,w", 3},
      {SHEET_BENCHES, FIELD_CALIBRATION, FIELD_CALIBRATED, "bench", "x,y", 1},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
    for (int k = (int)cases[i].first; k <= (int)cases[i].last; k++) {
      if (k == FIELD_TRACE) continue;
      struct be_arena *arena = be_arena_create();
      struct sheet sheet;
      char text[200];
      snprintf(text, sizeof text, "%s, %s \n%s\n", cases[i].head, be_field_name((enum field)k),
               cases[i].row);
      const struct fields *fields = find(arena, text, NULL, &sheet);
      assert_int_equal(fields->kind, cases[i].kind);
      assert_int_equal(fields->column[k], cases[i].columns);
      be_arena_free(arena);
    }
}

static void other_spellings_mean_the_same(void **state)
{
  (void)state;
  static const struct {
    enum field field;
    const char *name;
  } cases[] = {
      {FIELD_SPECIMEN, "Specimen Code"},
      {FIELD_SPECIMEN, "code"},
      {FIELD_LINE_A, "MAINLINE"},
      {FIELD_LINE_A, "line_A"},
      {FIELD_LINE_B, "leader"},
      {FIELD_LENGTH, "gauge_length"},
      {FIELD_TYER, "tied by"},
      {FIELD_SESSION, "date"},
      {FIELD_TURNS, "wraps"},
      {FIELD_TURNS_B, "wraps_b"},
      {FIELD_BENCH, "Rig"},
      {FIELD_WHAT, "what let go"},
      {FIELD_NOTE, "Remark"},
      {FIELD_LENGTH, "free length  [in]"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_arena *arena = be_arena_create();
    struct sheet sheet;
    char text[200];
    snprintf(text, sizeof text, "Knot;Breaking Force (kgf);%s\nreef;8,5;x\n", cases[i].name);
    const struct fields *fields = find(arena, text, NULL, &sheet);
    assert_int_equal(fields->column[cases[i].field], 2);
    assert_int_equal(fields->column[FIELD_LOAD], 1);
    assert_string_equal(fields->unit[FIELD_LOAD]->name, be_unit_find("kgf", 3)->name);
    be_arena_free(arena);
  }
}

static void the_kind_is_told_by_the_header(void **state)
{
  (void)state;
  static const struct {
    const char *text, *mapping, *kind;
  } cases[] = {
      {"knot,line,load (lb)\nreef,nylon,7\n", NULL, "pull sheet"},
      {"specimen,line,knot,trace\nA,nylon,reef,a.csv\n", NULL, "pull sheet"},
      {"line,spool,material\nnylon,3,nylon\n", NULL, "line sheet"},
      {"line,label (lb)\nnylon,3\n", NULL, "line sheet"},
      {"knot,kind,turns\nreef,bend,2\n", NULL, "knot sheet"},
      {"knot,overlap (mm)\nreef,13.5\n", NULL, "knot sheet"},
      {"Crossings_A;Knot\n7;reef\n", NULL, "knot sheet"},
      {"time (s),force (N)\n0,1\n", NULL, "trace"},
      {"nudo,carga\nreef,7\n", NULL, "trace"},
      {"nudo,carga\nreef,7\n", "knot = nudo\nload (kg) = carga", "pull sheet"},
      {"nudo,tipo\nreef,bend\n", "knot = nudo\nkind = tipo", "knot sheet"},
      {"linea,material\nnylon,nylon\n", "line = linea", "line sheet"},
      {"nudo,kind\nreef,bend\n", "knot = nudo", "knot sheet"},
      {"knot,load,kind,date\nreef,7,x,y\n", "ignore = load\nignore = date", "knot sheet"},
      {"\0\1\2", NULL, "trace"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    const char *text = cases[i].text;
    const char *kind = be_book_kind(text, *text ? strlen(text) : 3, cases[i].mapping);
    if (strcmp(kind, cases[i].kind) != 0) print_error("%s", text);
    assert_string_equal(kind, cases[i].kind);
  }
}

/* "m" is a metre of line and a minute of soaking. */
static void a_unit_is_that_of_its_field(void **state)
{
  (void)state;
  struct be_arena *arena = be_arena_create();
  struct sheet sheet;
  const char *text = "knot,line,load (N),soak (m),free length (m),turns\na,b,7,20,2,5\n";
  const struct fields *fields = find(arena, text, NULL, &sheet);
  assert_near(fields->unit[FIELD_SOAK]->factor, 60, 0);
  assert_near(fields->unit[FIELD_LENGTH]->factor, 1, 0);
  assert_null(fields->unit[FIELD_TURNS]);
  be_arena_free(arena);
}

static void bad_headers_name_line_and_column(void **state)
{
  (void)state;
  struct be_err err = fails("# r\nknot,line,load (lb),weather\n", "column \"weather\" is not one "
                                                                  "that a pull sheet has");
  assert_place(&err, 2, 4);
  assert_part(err.remedy, "--ignore 'weather'");
  err = fails("line,material,knot\n", "column \"knot\" is not one that a line sheet has");
  assert_place(&err, 1, 3);
  err =
      fails("knot,line,load (lb),wraps,turns\n", "columns \"wraps\" and \"turns\" both mean turns");
  assert_place(&err, 1, 5);
  err = fails("knot,line,load (stone)\n", "\"stone\" in column \"load (stone)\" is not a unit");
  assert_part(err.remedy, "FIELD (UNIT) = COLUMN");
  fails("knot,line,load (mm)\n", "\"mm\" in column \"load (mm)\" is not a unit of force");
  fails("knot,line,load (N),speed (lb)\n",
        "\"lb\" in column \"speed (lb)\" is not a unit of speed");
  fails("knot,line,load (N),free length (min)\n", "is not a unit of length");
  fails("line,diameter (N)\n", "is not a unit of length");
  fails("knot,kind,turns (kg)\n", "\"kg\" in column \"turns (kg)\" is not a unit");
  assert_place(&err, 1, 3);
  err = fails("specimen,line,knot\n", "no column \"load\"");
  assert_int_equal(err.line, 1);
  err = fails("line,load\n", "no column \"knot\"");
  assert_int_equal(err.line, 1);
  err = fails("kind,aliases\n", "no column \"knot\"");
  err = fails("one,two\n", "not one of a pull, line, knot, bench, trial, rule, calibration");
  assert_part(err.remedy, "--column");
}

/* Words of each list are found, and an unknown one is none of them. */
static void words_are_found_by_any_spelling(void **state)
{
  (void)state;
  assert_int_equal(be_words_find(WORDS_WHAT, "SB"), BE_WHAT_SLIPPED_BROKE);
  assert_int_equal(be_words_find(WORDS_WHAT, "pulled out"), BE_WHAT_SLIPPED_OUT);
  assert_int_equal(be_words_find(WORDS_WHERE, "Clear of the knot"), BE_WHERE_CLEAR);
  assert_int_equal(be_words_find(WORDS_WHICH, "mainline"), BE_WHICH_A);
  assert_int_equal(be_words_find(WORDS_WHICH, "none"), BE_WHICH_NONE);
  assert_int_equal(be_words_find(WORDS_WHICH, "Upper"), BE_WHICH_KNOT_A);
  assert_int_equal(be_words_find(WORDS_WHICH, "second knot"), BE_WHICH_KNOT_B);
  assert_string_equal(be_which_word(BE_WHICH_KNOT_B), "knot B");
  assert_int_equal(be_words_find(WORDS_KIND, "at least"), BE_KIND_BOUND);
  assert_int_equal(be_words_find(WORDS_SOAK, "not recorded"), BE_SOAK_UNKNOWN);
  assert_int_equal(be_words_find(WORDS_DESIGN, "head-to-head"), BE_DESIGN_TWO_DIFFERENT);
  assert_int_equal(be_words_find(WORDS_DESIGN, "head"), -1);
  assert_int_equal(be_words_find(WORDS_DESIGN, "plain|straight"), -1);
  assert_string_equal(be_where_word(BE_WHERE_ENTRY), "at its entry");
  assert_string_equal(be_where_word((enum be_where)99), "not recorded");
  assert_string_equal(be_soak_word(BE_SOAK_SOAKED), "soaked");
  char text[30];
  be_words_list(WORDS_KIND, text, sizeof text);
  assert_string_equal(text, "event, lower bound, void");
  be_words_list(WORDS_KIND, text, 20);
  assert_string_equal(text, "event, lower bound");
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_documented_name_is_found),
      cmocka_unit_test(other_spellings_mean_the_same),
      cmocka_unit_test(the_kind_is_told_by_the_header),
      cmocka_unit_test(a_unit_is_that_of_its_field),
      cmocka_unit_test(bad_headers_name_line_and_column),
      cmocka_unit_test(words_are_found_by_any_spelling),
  };
  return be_tests("book: fields", tests);
}
