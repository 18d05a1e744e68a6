/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Symbols against the standard's patterns, and what they cannot hold. That a reader reads them is
 * asked in tests/cli/test_labels.sh. */
#include "press/inside.h"
#include "test.h"

/* ISO/IEC 15417, table 1, from memory: patterns of eleven modules by value. */
static const struct {
  int value;
  const char *pattern;
} patterns[] = {
    {12, "10110011100"},  {13, "10011011100"}, {23, "11101101110"},  {34, "10001011000"},
    {41, "11000100010"},  {43, "10110001110"}, {46, "10111000110"},  {47, "10001110110"},
    {52, "11011100010"},  {69, "10110010000"}, {70, "10110000100"},  {73, "10000110100"},
    {82, "10010011110"},  {87, "11110010100"}, {100, "10111101110"}, {104, "11010010000"},
    {105, "11010011100"},
};

static const char *pattern_of(int value)
{
  for (size_t i = 0; i < sizeof patterns / sizeof patterns[0]; i++)
    if (patterns[i].value == value) return patterns[i].pattern;
  fail_msg("no pattern of %d", value);
  return NULL;
}

/* Start, values, the check sum of both, stop. */
static void expect(char modules[400], const int *values)
{
  int sum = values[0];
  strcpy(modules, pattern_of(values[0]));
  for (int i = 1; values[i] >= 0; i++) {
    strcat(modules, pattern_of(values[i]));
    sum += i * values[i];
  }
  strcat(modules, pattern_of(sum % 103));
  strcat(modules, "1100011101011");
}

static void bars_are_those_of_the_standard(void **state)
{
  (void)state;
  static const struct {
    const char *text;
    int values[12];
  } cases[] = {
      {"KNOT", {104, 43, 46, 47, 52, -1}},
      {"1234", {105, 12, 34, -1}},                   /* two digits a pattern */
      {"reef-7", {104, 82, 69, 69, 70, 13, 23, -1}}, /* lower case */
      {"\xC3\xA9", {104, 100, 73, -1}},              /* 0xE9: a shift, then 0x69 */
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_symbol symbol;
    char want[400], got[400];
    expect(want, cases[i].values);
    assert_int_equal(be_symbol_make(BE_SYMBOL_BARS, cases[i].text, &symbol, NULL), BE_OK);
    assert_int_equal(symbol.rows, 1);
    for (size_t k = 0; k < symbol.width; k++) got[k] = symbol.dark[k] ? '1' : '0';
    got[symbol.width] = '\0';
    assert_string_equal(got, want);
  }
}

/* A finder stands in three corners of a square: a ring round a block of nine (ISO/IEC 18004). */
static void assert_finder(const struct be_symbol *symbol, size_t top, size_t left)
{
  for (size_t y = 0; y < 7; y++)
    for (size_t x = 0; x < 7; x++) {
      bool ring = y == 0 || y == 6 || x == 0 || x == 6;
      bool block = y >= 2 && y <= 4 && x >= 2 && x <= 4;
      assert_int_equal(symbol->dark[(top + y) * symbol->width + left + x], ring || block);
    }
}

static void squares_have_their_corners(void **state)
{
  (void)state;
  char longest[201];
  memset(longest, 'm', 200);
  longest[200] = '\0';
  /* Sides: version 1 is 21 modules, each further one 4 more. At level M, version 1 holds 14 bytes;
   * at level L, version 9 holds 230 (ISO/IEC 18004, table 7, from memory). */
  const struct {
    const char *text;
    size_t side;
  } cases[] = {{"W-1", 21}, {"abcdefghijklmn", 21}, {"abcdefghijklmno", 25}, {longest, 53}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_symbol symbol;
    assert_int_equal(be_symbol_make(BE_SYMBOL_SQUARE, cases[i].text, &symbol, NULL), BE_OK);
    assert_int_equal(symbol.width, cases[i].side);
    assert_int_equal(symbol.rows, cases[i].side);
    assert_finder(&symbol, 0, 0);
    assert_finder(&symbol, 0, symbol.width - 7);
    assert_finder(&symbol, symbol.rows - 7, 0);
  }
}

static void refused(enum be_symbol_kind kind, const char *text, const char *why)
{
  struct be_symbol symbol;
  struct be_err err = {0};
  assert_int_equal(be_symbol_make(kind, text, &symbol, &err), BE_BAD_INPUT);
  if (!strstr(err.what, why)) print_error("%.40s: %s\n", text, err.what);
  assert_non_null(strstr(err.what, why));
}

static void what_does_not_fit_is_said(void **state)
{
  (void)state;
  char text[1200];
  memset(text, 'm', sizeof text);
  text[sizeof text - 1] = '\0';
  refused(BE_SYMBOL_BARS, text, "as bars: it is too long for a label");
  refused(BE_SYMBOL_SQUARE, text, "as a square: it is too long for a label");
  text[231] = '\0';
  refused(BE_SYMBOL_SQUARE, text, "too long for a label");
  text[200] = '\0';
  refused(BE_SYMBOL_BARS, text, "too long for a label");
  text[21] = '\0';
  refused(BE_SYMBOL_BARS, text, "too long for a label");
  text[20] = '\0';
  struct be_symbol symbol;
  assert_int_equal(be_symbol_make(BE_SYMBOL_BARS, text, &symbol, NULL), BE_OK);
  assert_int_equal(symbol.width, 11 * 22 + 13);
  memset(text, '7', 42);
  text[42] = '\0';
  refused(BE_SYMBOL_BARS, text, "too long for a label");
  text[40] = '\0'; /* two a pattern */
  assert_int_equal(be_symbol_make(BE_SYMBOL_BARS, text, &symbol, NULL), BE_OK);
  assert_int_equal(symbol.width, 11 * 22 + 13);
  for (int kind = 0; kind < 2; kind++) {
    refused((enum be_symbol_kind)kind, "", "it is empty");
    refused((enum be_symbol_kind)kind, "a\xFF", "it is not UTF-8");
  }
  refused(BE_SYMBOL_BARS, "\xE7\xB5\x90\xE3\x81\xB3", "not of Latin-1");
  assert_int_equal(be_symbol_make(BE_SYMBOL_SQUARE, "\xE7\xB5\x90\xE3\x81\xB3", &symbol, NULL),
                   BE_OK);
}

static void a_label_is_drawn_with_its_symbols(void **state)
{
  (void)state;
  static const struct be_column columns[] = {{"code", "", BE_COLUMN_TEXT, false},
                                             {"block", "", BE_COLUMN_TEXT, false}};
  struct be_symbol symbol;
  struct be_doc *doc = be_doc_create("labels", "Labels");
  struct be_table *table = be_doc_table(doc, "labels", "Labels", columns, 2);
  be_table_labels(table);
  be_table_text(table, "W1");
  assert_int_equal(be_symbol_make(BE_SYMBOL_BARS, "W1", &symbol, NULL), BE_OK);
  be_table_symbol(table, &symbol);
  assert_int_equal(be_symbol_make(BE_SYMBOL_SQUARE, "W1", &symbol, NULL), BE_OK);
  be_table_symbol(table, &symbol);
  be_table_text(table, "block 3");
  be_table_text(table, "a code of some length");
  be_table_text(table, "block 4");
  struct be_buf out;
  be_buf_init(&out, 1 << 20);
  const struct be_doc *docs[] = {doc};
  const struct be_edition edition = {.sheet_link = "/style.css"};
  assert_int_equal(be_doc_html(docs, 1, &edition, &out, NULL), BE_OK);
  const char *label = strstr(out.data, "<li><strong>W1</strong><span>block 3</span><svg");
  assert_non_null(label);
  /* 11 modules of the start, 22, 11 of the check and 13 of the stop, and 10 light ones each side.
   */
  assert_non_null(strstr(label, "class=\"bars\" viewBox=\"0 0 77 1\""));
  assert_non_null(strstr(label, "class=\"square\" viewBox=\"0 0 29 29\""));
  assert_non_null(strstr(label, " d=\"M10 0h2v1h-2z")); /* the start begins 110 */
  assert_non_null(strstr(label, "M4 4h7v1h-7z"));       /* the top of a finder */
  assert_non_null(strstr(label, "<strong class=\"small\">a code of some length</strong><span>block"
                                " 4</span></li>"));
  be_buf_free(&out);
  be_buf_init(&out, 1 << 20);
  assert_int_equal(be_doc_text(doc, 0, &out, NULL), BE_OK);
  assert_non_null(strstr(out.data, "W1"));
  assert_null(strstr(out.data, "svg"));
  be_buf_free(&out);
  be_doc_free(doc);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(bars_are_those_of_the_standard),
      cmocka_unit_test(squares_have_their_corners),
      cmocka_unit_test(what_does_not_fit_is_said),
      cmocka_unit_test(a_label_is_drawn_with_its_symbols),
  };
  return be_tests("press: symbols", tests);
}
