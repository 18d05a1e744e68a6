/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "book/inside.h"
#include "book/book_test.h"

static struct be_arena *arena;

static int start(void **state)
{
  (void)state;
  arena = be_arena_create();
  return arena ? 0 : 1;
}

static int stop(void **state)
{
  (void)state;
  be_arena_free(arena);
  return 0;
}

static struct sheet sheet_of(const char *bytes, size_t size)
{
  struct sheet sheet;
  struct be_err err = {0};
  enum be_status status = be_sheet_read(bytes, size, arena, &sheet, &err);
  if (status != BE_OK) print_error("line %zu: %s\n", err.line, err.what);
  assert_int_equal(status, BE_OK);
  return sheet;
}

static struct sheet sheet_text(const char *text)
{
  return sheet_of(text, strlen(text));
}

static struct be_err sheet_fails(const char *text, enum be_status want, const char *what)
{
  struct sheet sheet;
  struct be_err err = {0};
  assert_int_equal(be_sheet_read(text, strlen(text), arena, &sheet, &err), want);
  assert_part(err.what, what);
  return err;
}

static void assert_cell(const struct sheet *sheet, size_t row, size_t column, const char *want)
{
  assert_string_equal(be_sheet_cell(sheet, row, column), want);
}

static void each_delimiter_is_found(void **state)
{
  (void)state;
  static const struct {
    const char *text;
    char delimiter;
  } cases[] = {
      {"knot,load\nreef,7\n", ','},
      {"knot;line;load, peak\nreef;nylon;7\n", ';'},
      {"knot\tload; peak\tall, now\nreef\t8\t7\n", '\t'},
      {"\"a;b;c\",load\nreef,7\n", ','},
      {"\n\nknot;load\nreef;7\n", ';'},
      {"# tied by hand, slowly, on a cold day\nknot;load\nreef;7\n", ';'},
      {"# one\n# two, three\nknot\tload\nreef\t7\n", '\t'},
      {"knot\nreef\n", ','},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct sheet sheet = sheet_text(cases[i].text);
    assert_int_equal(sheet.delimiter, cases[i].delimiter);
    assert_int_equal(sheet.rows, 1);
    if (sheet.columns > 1) assert_cell(&sheet, 1, sheet.columns - 1, "7");
  }
}

static void quoted_cells_keep_what_they_hold(void **state)
{
  (void)state;
  struct sheet sheet = sheet_text("knot,note\n"
                                  " \"reef, doubled\" ,\"said \"\"slips\"\"\"\n"
                                  "\"two\nlines\",\" kept \"\n"
                                  "granny,  bare cells are trimmed \t\n");
  assert_int_equal(sheet.columns, 2);
  assert_int_equal(sheet.rows, 3);
  assert_cell(&sheet, 1, 0, "reef, doubled");
  assert_cell(&sheet, 1, 1, "said \"slips\"");
  assert_cell(&sheet, 2, 0, "two\nlines");
  assert_cell(&sheet, 3, 1, "bare cells are trimmed");
  assert_int_equal(sheet.lines[2], 3);
  assert_int_equal(sheet.lines[3], 5);
}

/* Remarks, empty rows and rows of empty cells are passed over, and counted. */
static void lines_are_those_of_the_file(void **state)
{
  (void)state;
  struct sheet sheet =
      sheet_text("# first\n\n# second\nknot,load\n\n,\nreef,7\r\n ,\n\n#9,8\nbow,6");
  assert_int_equal(sheet.rows, 3);
  assert_int_equal(sheet.lines[0], 4);
  assert_int_equal(sheet.lines[1], 7);
  assert_int_equal(sheet.lines[2], 10);
  assert_int_equal(sheet.lines[3], 11);
  assert_cell(&sheet, 1, 1, "7");
  assert_cell(&sheet, 2, 0, "#9");
  assert_cell(&sheet, 3, 1, "6");
}

/* A carriage return alone never swallows the letter after it. */
static void carriage_returns_end_rows(void **state)
{
  (void)state;
  struct sheet sheet = sheet_text("\"a\",\"b\"\r\"1\",\"2\"\r\n\"3\",\"4\"\r\r\n\"5\",\"6\"");
  assert_int_equal(sheet.rows, 3);
  assert_cell(&sheet, 0, 1, "b");
  assert_cell(&sheet, 1, 0, "1");
  assert_cell(&sheet, 1, 1, "2");
  assert_cell(&sheet, 2, 0, "3");
  assert_cell(&sheet, 3, 1, "6");
}

static void each_coding_becomes_utf8(void **state)
{
  (void)state;
  static const char mark[] = "\xEF\xBB\xBFknot;load\nn\xC5\x93ud;7\n";
  struct sheet sheet = sheet_of(mark, sizeof mark - 1);
  assert_cell(&sheet, 0, 0, "knot");
  assert_cell(&sheet, 1, 0, "n\xC5\x93ud");
  static const char latin[] = "knot;load\nH\xE4lbschlag \xBD;7\n";
  sheet = sheet_of(latin, sizeof latin - 1);
  assert_cell(&sheet, 1, 0, "H\xC3\xA4lbschlag \xC2\xBD");
  assert_cell(&sheet, 1, 1, "7");
}

/* RFC 2781; the pair D83E DEA2 is U+1FAA2, a knot. */
static void utf16_is_read_either_way_round(void **state)
{
  (void)state;
  static const unsigned units[] = {0xFEFF, 'k',    ';',  0xE4,   '\n', 0xD83E, 0xDEA2,
                                   ';',    0x2026, '\n', 0xDEA2, ';',  0xD83E, '7'};
  enum { UNITS = sizeof units / sizeof units[0] };
  for (int big = 0; big < 2; big++) {
    char bytes[2 * UNITS];
    for (size_t i = 0; i < UNITS; i++) {
      bytes[2 * i + (size_t)!big] = (char)(units[i] >> 8);
      bytes[2 * i + (size_t)big] = (char)(units[i] & 0xFF);
    }
    struct sheet sheet = sheet_of(bytes, sizeof bytes);
    assert_int_equal(sheet.rows, 2);
    assert_cell(&sheet, 0, 0, "k");
    assert_cell(&sheet, 0, 1, "\xC3\xA4");
    assert_cell(&sheet, 1, 0, "\xF0\x9F\xAA\xA2");
    assert_cell(&sheet, 1, 1, "\xE2\x80\xA6");
    assert_cell(&sheet, 2, 0, "\xEF\xBF\xBD");
    assert_cell(&sheet, 2, 1,
                "\xEF\xBF\xBD"
                "7");
  }
}

static void what_spreadsheets_write_is_read(void **state)
{
  (void)state;
  /* Cells after the last filled one are left out, or written empty. */
  struct sheet sheet = sheet_text("knot,load,note,,\nreef,7,,,\nbow,8\nuni,9,wet,,,,\n");
  assert_int_equal(sheet.columns, 3);
  assert_int_equal(sheet.rows, 3);
  assert_cell(&sheet, 1, 1, "7");
  assert_cell(&sheet, 2, 0, "bow");
  assert_cell(&sheet, 2, 2, "");
  assert_cell(&sheet, 3, 2, "wet");
  sheet = sheet_text("sep=;\r\nknot;load, of all\r\nreef;7\r\n");
  assert_int_equal(sheet.delimiter, ';');
  assert_int_equal(sheet.lines[0], 2);
  assert_cell(&sheet, 1, 1, "7");
  sheet = sheet_text("sep=\t\nknot\tload, a, b\nreef\t7\n");
  assert_cell(&sheet, 1, 1, "7");
  sheet = sheet_text("knot,load\rreef,7\rbow,8");
  assert_int_equal(sheet.rows, 2);
  assert_int_equal(sheet.lines[2], 3);
  assert_cell(&sheet, 2, 1, "8");
}

static void the_usual_decimal_mark_is_voted(void **state)
{
  (void)state;
  static const struct {
    const char *text;
    char usual;
  } cases[] = {
      {"load;x\n3.5;\n4.25;\n5,75;\n", '.'},
      {"load;x\n3,5;1\n4,25 lb;1\n5.75;1\n", ','},
      {"load;x\n3.5;\n4,5;\n", 0},
      {"load;x\n1,234;1\n2,345;1\n", 0},
      {"load\n7\n8\n", 0},
      {"load;x\n1,234,567;\n2.5;\n", '.'},
      {"3.5;4.5\nnone;\n3.5x;\n12:30.5;\n", 0},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct sheet sheet = sheet_text(cases[i].text);
    if (sheet.usual != cases[i].usual) print_error("%s", cases[i].text);
    assert_int_equal(sheet.usual, cases[i].usual);
  }
}

static void bad_sheets_are_refused_with_their_line(void **state)
{
  (void)state;
  struct be_err err =
      sheet_fails("a,b\n1,2\n\"x\ny\",2,3\n", BE_BAD_INPUT, "has 3 cells; the header has 2");
  assert_int_equal(err.line, 3);
  assert_part(err.remedy, "quotation marks");
  err = sheet_fails("a,\n1,7\n", BE_BAD_INPUT, "has 2 cells; the header has 1");
  assert_int_equal(err.line, 2);
  err = sheet_fails("a,b\n1,2\n3,\"4\n5,6\n", BE_BAD_INPUT, "not closed");
  assert_int_equal(err.line, 3);
  assert_part(err.remedy, "close it");
  err = sheet_fails("a,b\n\"x\n\n\"y,2\n", BE_BAD_INPUT, "follows a closed quotation mark");
  assert_int_equal(err.line, 4);
  sheet_fails("", BE_BAD_INPUT, "empty");
  sheet_fails("# a remark\n\n , \n", BE_BAD_INPUT, "empty");
  struct sheet sheet;
  assert_int_equal(be_sheet_read("a,b\n1\0,2\n", 9, arena, &sheet, &err), BE_BAD_INPUT);
  assert_part(err.what, "not text");
}

static void too_many_columns_are_refused(void **state)
{
  (void)state;
  char text[2 * SHEET_COLUMNS_MAX + 8];
  for (int i = 0; i <= SHEET_COLUMNS_MAX; i++) memcpy(text + 2 * i, "c,", 3);
  text[2 * SHEET_COLUMNS_MAX + 1] = '\0';
  text[2 * SHEET_COLUMNS_MAX + 1] = 'c';
  text[2 * SHEET_COLUMNS_MAX + 2] = '\0';
  struct be_err err = sheet_fails(text, BE_TOO_LARGE, "more than 200 columns");
  assert_int_equal(err.line, 1);
  assert_part(err.remedy, "take out");
  text[2 * SHEET_COLUMNS_MAX - 1] = '\0';
  assert_int_equal(sheet_text(text).columns, SHEET_COLUMNS_MAX);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(each_delimiter_is_found, start, stop),
      cmocka_unit_test_setup_teardown(quoted_cells_keep_what_they_hold, start, stop),
      cmocka_unit_test_setup_teardown(lines_are_those_of_the_file, start, stop),
      cmocka_unit_test_setup_teardown(carriage_returns_end_rows, start, stop),
      cmocka_unit_test_setup_teardown(each_coding_becomes_utf8, start, stop),
      cmocka_unit_test_setup_teardown(utf16_is_read_either_way_round, start, stop),
      cmocka_unit_test_setup_teardown(what_spreadsheets_write_is_read, start, stop),
      cmocka_unit_test_setup_teardown(the_usual_decimal_mark_is_voted, start, stop),
      cmocka_unit_test_setup_teardown(bad_sheets_are_refused_with_their_line, start, stop),
      cmocka_unit_test_setup_teardown(too_many_columns_are_refused, start, stop),
  };
  return be_tests("book: sheets", tests);
}
