/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The editions for programs: CSV and JSON. */
#include "sample.h"

#include <ctype.h>

/* ---- a small reader that accepts exactly RFC 8259 ---- */

static const char *value(const char *c);

static const char *spaces(const char *c)
{
  while (c && (*c == ' ' || *c == '\n' || *c == '\t' || *c == '\r')) c++;
  return c;
}

static const char *string(const char *c)
{
  if (!c || *c++ != '"') return NULL;
  for (; *c != '"'; c++) {
    if ((unsigned char)*c < 0x20) return NULL;
    if (*c != '\\') continue;
    c++;
    if (*c == 'u') {
      for (int i = 0; i < 4; i++)
        if (!isxdigit((unsigned char)*++c)) return NULL;
    } else if (!*c || !strchr("\"\\/bfnrt", *c)) return NULL;
  }
  return c + 1;
}

static const char *number(const char *c)
{
  if (*c == '-') c++;
  if (!isdigit((unsigned char)*c)) return NULL;
  if (*c == '0' && isdigit((unsigned char)c[1])) return NULL;
  while (isdigit((unsigned char)*c)) c++;
  if (*c == '.') {
    if (!isdigit((unsigned char)*++c)) return NULL;
    while (isdigit((unsigned char)*c)) c++;
  }
  if (*c == 'e' || *c == 'E') {
    c++;
    if (*c == '-' || *c == '+') c++;
    if (!isdigit((unsigned char)*c)) return NULL;
    while (isdigit((unsigned char)*c)) c++;
  }
  return c;
}

static const char *members(const char *c, bool keys, char end)
{
  c = spaces(c + 1);
  if (*c == end) return c + 1;
  for (;;) {
    if (keys) {
      c = spaces(string(spaces(c)));
      if (!c || *c++ != ':') return NULL;
    }
    c = spaces(value(c));
    if (!c) return NULL;
    if (*c == end) return c + 1;
    if (*c++ != ',') return NULL;
  }
}

static const char *value(const char *c)
{
  c = spaces(c);
  if (*c == '"') return string(c);
  if (*c == '{') return members(c, true, '}');
  if (*c == '[') return members(c, false, ']');
  if (strncmp(c, "null", 4) == 0) return c + 4;
  return number(c);
}

static bool is_json(const char *text)
{
  const char *end = spaces(value(text));
  return end && *end == '\0' && be_utf8_valid(text, strlen(text));
}

static void the_reader_refuses(void **state)
{
  (void)state;
  static const char *const bad[] = {"{\"a\":}", "[1,]", "[01]",     "\"\n\"", "{\"a\" 1}", "[1 2]",
                                    "[nan]",    "[1",   "\"\\x\"", "[1.]",   "\"\xFF\"",  "[] x"};
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) assert_false(is_json(bad[i]));
  assert_true(is_json("{\"a\":[1.5e-3,null,\"\\u00e9\\\"\",{}],\"b\":-0.1}"));
}

/* ---- JSON ---- */

static void json_says_all(void **state)
{
  (void)state;
  struct be_doc *doc = sample();
  struct be_buf out;
  be_buf_init(&out, 1 << 16);
  char want[2000];
  snprintf(
      want, sizeof want,
      "{\n  \"program\":\"bitterend\",\n  \"version\":\"%s\",\n  \"format\":1,\n"
      "  \"document\":\"sample\",\n  \"title\":\"How strong & how sure?\",\n"
      "  \"sentences\":[\n   \"The knot kept 87 %% of the line, <between> 83 and 91.\"],\n"
      "  \"notes\":[\n   \"Divided by the weaker line.\"],\n"
      "  \"cautions\":[\n   \"A stretched line whips back: \\\"stand clear\\\".\"],\n"
      "  \"facts\":{\n   \"seed\":\"20260301\",\n   \"plain_line\":\"25.3 lb & more\"},\n"
      "  \"tables\":[\n   {\"name\":\"strength\",\"title\":\"Strength\",\"rows\":[\n"
      "    {\"knot\":\"F & G, \\\"19\\\" wraps\",\"mean_lb\":17.3,\"mean_ci_lb_low\":15.9,"
      "\"mean_ci_lb_high\":18.75,\"slipped_k\":3,\"slipped_n\":10,\"code\":\"K<1>\"},\n"
      "    {\"knot\":\"Zoë's loop\",\"mean_lb\":107,\"mean_ci_lb_low\":null,"
      "\"mean_ci_lb_high\":null,\"slipped_k\":null,\"slipped_n\":null,\"code\":null},\n"
      "    {\"knot\":\"bad � byte\",\"mean_lb\":null,\"mean_ci_lb_low\":null,"
      "\"mean_ci_lb_high\":null,\"slipped_k\":\"not seen\",\"slipped_n\":null,\"code\":\"\"}]}],\n"
      "  \"figures\":[\n   {\"title\":\"Holds & slips\",\"subtitle\":\"13 pulls\","
      "\"words\":\"One knot, <one> pull at 37 %% and � bell.\"}]\n}\n",
      be_version);
  assert_printed(be_doc_json(doc, &out, NULL), &out, want);
  assert_true(is_json(out.data));
  be_buf_free(&out);
  be_doc_free(doc);
}

static void json_of_little(void **state)
{
  (void)state;
  struct be_doc *doc = be_doc_create("d", "back\\slash \"quote\"\ttab\nline \x01\x1F end");
  be_doc_table(doc, "none", NULL, sample_columns, 5);
  struct be_buf out;
  be_buf_init(&out, 1 << 16);
  assert_int_equal(be_doc_json(doc, &out, NULL), BE_OK);
  assert_true(is_json(out.data));
  assert_non_null(strstr(out.data, "\"back\\\\slash \\\"quote\\\"\\ttab\\nline �� end\""));
  assert_non_null(strstr(out.data, "{\"name\":\"none\",\"title\":\"\",\"rows\":[]}"));
  assert_non_null(strstr(out.data, "\"figures\":[]"));
  be_buf_free(&out);
  be_doc_free(doc);
}

static const struct be_column one_column[] = {{"v", "v", BE_COLUMN_NUMBER, false}};

/* The last digits of 15 may be as far off as 4 units in the last place; no further. */
static void assert_reads_back(const char *text, double exact)
{
  double ulp = fabs(exact) - nextafter(fabs(exact), 0);
  assert_true(fabs(strtod(text, NULL) - exact) < 4 * ulp);
}

static void numbers_read_back_the_same(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 20260301, 3);
  for (int i = 0; i < 2000; i++) {
    double exact = be_random_normal(&random) * pow(10, (double)be_random_below(&random, 60) - 30);
    if (i == 0) exact = 0.1;
    if (i == 1) exact = 1.7976931348623157e308;
    if (i == 2) exact = 5e-324;
    struct be_doc *doc = be_doc_create("d", "T");
    be_table_number(be_doc_table(doc, "n", NULL, one_column, 1), exact, 1);
    struct be_buf out;
    be_buf_init(&out, 1 << 12);
    assert_int_equal(be_doc_json(doc, &out, NULL), BE_OK);
    assert_true(is_json(out.data));
    assert_reads_back(strstr(out.data, "{\"v\":") + 5, exact);
    out.size = 0;
    assert_int_equal(be_doc_csv(doc, &out, NULL), BE_OK);
    assert_reads_back(out.data + 3, exact);
    if (i == 0) assert_string_equal(out.data, "v\r\n0.1\r\n");
    be_buf_free(&out);
    be_doc_free(doc);
  }
}

/* 26.521 lb is 117.9718... N, and that many newtons 26.521000000000004 lb: what the
 * trip through a factor did must not be shown as if it had been typed. */
static void typed_decimals_come_back_as_typed(void **state)
{
  (void)state;
  const double factors[] = {4.4482216152605, 9.80665, 0.2780138509537812, 0.00980665};
  size_t rubbed = 0;
  for (int i = 1; i < 4000; i++) {
    double typed = i * 37 / 1000.0, factor = factors[i % 4];
    char want[40], full[40];
    snprintf(want, sizeof want, "v\r\n%.15g\r\n", typed);
    double shown = typed * factor / factor;
    snprintf(full, sizeof full, "v\r\n%.17g\r\n", shown);
    rubbed += shown != typed;
    struct be_doc *doc = be_doc_create("d", "T");
    be_table_number(be_doc_table(doc, "n", NULL, one_column, 1), shown, 3);
    struct be_buf out;
    be_buf_init(&out, 1 << 12);
    assert_printed(be_doc_csv(doc, &out, NULL), &out, want);
    be_buf_free(&out);
    be_doc_free(doc);
  }
  assert_in_range(rubbed, 100, 4000);
  /* A third is no decimal, and keeps all its digits; so does what is 4 units away. */
  struct be_doc *doc = be_doc_create("d", "T");
  struct be_table *table = be_doc_table(doc, "n", NULL, one_column, 1);
  be_table_number(table, 1.0 / 3, 3);
  be_table_number(table, 1 + 4 * 2.220446049250313e-16, 3);
  be_table_number(table, 1 + 3 * 2.220446049250313e-16, 3);
  struct be_buf out;
  be_buf_init(&out, 1 << 12);
  assert_printed(be_doc_csv(doc, &out, NULL), &out,
                 "v\r\n0.3333333333333333\r\n1.0000000000000009\r\n1\r\n");
  be_buf_free(&out);
  be_doc_free(doc);
}

/* ---- CSV ---- */

static void csv_follows_rfc_4180(void **state)
{
  (void)state;
  struct be_doc *doc = sample();
  struct be_table *second = be_doc_table(doc, "more", "More", sample_columns, 2);
  be_table_text(second, "two\nlines, one cell");
  be_table_number(second, -INFINITY, 0);
  be_doc_table(doc, "empty", "Empty", sample_columns, 3);
  struct be_buf out;
  be_buf_init(&out, 1 << 16);
  assert_printed(be_doc_csv(doc, &out, NULL), &out,
                 "knot,mean_lb,mean_ci_lb_low,mean_ci_lb_high,slipped_k,slipped_n,code\r\n"
                 "\"F & G, \"\"19\"\" wraps\",17.3,15.9,18.75,3,10,K<1>\r\n"
                 "Zoë's loop,107,-inf,,,,\r\n"
                 "bad � byte,,,,not seen,,\r\n"
                 "\r\n"
                 "knot,mean_lb\r\n"
                 "\"two\nlines, one cell\",-inf\r\n"
                 "\r\n"
                 "knot,mean_lb,mean_ci_lb_low,mean_ci_lb_high\r\n"
                 "\r\n"
                 "key,value\r\nseed,20260301\r\nplain_line,25.3 lb & more\r\n");
  be_buf_free(&out);
  be_doc_free(doc);
}

static void csv_without_tables_is_empty(void **state)
{
  (void)state;
  struct be_doc *doc = be_doc_create("d", "T");
  be_doc_sentence(doc, "No table here.");
  struct be_buf out;
  be_buf_init(&out, 99);
  assert_int_equal(be_doc_csv(doc, &out, NULL), BE_OK);
  assert_int_equal(out.size, 0);
  be_buf_free(&out);
  be_doc_free(doc);
}

static void csv_of_facts_alone(void **state)
{
  (void)state;
  struct be_doc *doc = be_doc_create("d", "T");
  be_doc_fact(doc, "unit", "Unit", "lb, kg");
  struct be_buf out;
  be_buf_init(&out, 99);
  assert_printed(be_doc_csv(doc, &out, NULL), &out, "key,value\r\nunit,\"lb, kg\"\r\n");
  be_buf_free(&out);
  be_doc_free(doc);
}

static void csv_leaves_out_what_only_explains(void **state)
{
  (void)state;
  struct be_doc *doc = be_doc_create("d", "T");
  struct be_table *explains = be_doc_table(doc, "why", "Why", one_column, 1);
  be_table_people_only(explains);
  be_table_people_only(NULL);
  be_table_number(explains, 31.5, 1);
  be_table_number(be_doc_table(doc, "n", NULL, one_column, 1), 61.5, 1);
  struct be_buf out;
  be_buf_init(&out, 1 << 12);
  assert_printed(be_doc_csv(doc, &out, NULL), &out, "v\r\n61.5\r\n");
  out.size = 0;
  assert_int_equal(be_doc_text(doc, 0, &out, NULL), BE_OK);
  assert_non_null(strstr(out.data, "31.5"));
  out.size = 0;
  assert_int_equal(be_doc_json(doc, &out, NULL), BE_OK);
  assert_non_null(strstr(out.data, "31.5"));
  be_buf_free(&out);
  be_doc_free(doc);
}

/* Columns and heads may be on the caller's stack. */
static void columns_are_copied(void **state)
{
  (void)state;
  char key[] = "mean_lb", head[] = "mean (lb)";
  struct be_column column = {key, head, BE_COLUMN_NUMBER, false};
  struct be_doc *doc = be_doc_create("d", "T");
  struct be_table *table = be_doc_table(doc, "n", NULL, &column, 1);
  be_table_number(table, 61.5, 1);
  memset(key, 'x', sizeof key - 1);
  memset(&column, 0, sizeof column);
  struct be_buf out;
  be_buf_init(&out, 99);
  assert_printed(be_doc_csv(doc, &out, NULL), &out, "mean_lb\r\n61.5\r\n");
  be_buf_free(&out);
  be_doc_free(doc);
}

/* 13.37 lb was kept in newtons; what was measured has no seventeen digits. */
static void figures_carry_sensible_digits(void **state)
{
  (void)state;
  struct be_buf out;
  struct be_figure *figure = be_figure_create("t", NULL, 613, 0);
  be_figure_x(figure, "load (lb)", 0, 20, false);
  be_figure_columns(figure, "knot", NULL, NULL);
  double y = be_figure_row(figure, "palomar, \"doubled\"", "n = 2");
  be_figure_means(figure, "event");
  be_figure_mark(figure, 13.37 * 4.4482216152605 / 4.4482216152605, y, BE_SHAPE_ROUND,
                 BE_FILL_SOLID, BE_TONE_NYLON);
  be_figure_mark(figure, 1234.5678, y, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_NYLON);
  be_figure_mark(figure, 40.0 / 3, y, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_NYLON);
  be_buf_init(&out, 9999);
  assert_printed(be_figure_csv(figure, &out, NULL), &out,
                 "what,knot,load_lb\r\nevent,\"palomar, \"\"doubled\"\"\",13.37\r\n"
                 "event,\"palomar, \"\"doubled\"\"\",1234.5678\r\n"
                 "event,\"palomar, \"\"doubled\"\"\",13.3333\r\n");
  be_buf_free(&out);
  be_figure_free(figure);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(figures_carry_sensible_digits),
      cmocka_unit_test(the_reader_refuses),
      cmocka_unit_test(json_says_all),
      cmocka_unit_test(json_of_little),
      cmocka_unit_test(numbers_read_back_the_same),
      cmocka_unit_test(csv_follows_rfc_4180),
      cmocka_unit_test(csv_without_tables_is_empty),
      cmocka_unit_test(typed_decimals_come_back_as_typed),
      cmocka_unit_test(csv_of_facts_alone),
      cmocka_unit_test(csv_leaves_out_what_only_explains),
      cmocka_unit_test(columns_are_copied),
  };
  return be_tests("press: data", tests);
}
