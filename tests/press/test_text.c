/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sample.h"

static void assert_text(const struct be_doc *doc, size_t width, const char *want)
{
  struct be_buf out;
  be_buf_init(&out, 1 << 16);
  assert_printed(be_doc_text(doc, width, &out, NULL), &out, want);
  be_buf_free(&out);
}

static void the_whole_document(void **state)
{
  (void)state;
  struct be_doc *doc = sample();
  assert_text(doc, 44,
              "How strong & how sure?\n"
              "══════════════════════\n"
              "\n"
              "The knot kept 87 % of the line, <between> 83\n"
              "and 91.\n"
              "\n"
              "CAUTION  A stretched line whips back: \"stand\n"
              "         clear\".\n"
              "\n"
              "seed        20260301\n"
              "plain line  25.3 lb & more\n"
              "\n"
              "Strength of all\n"
              "───────────────\n"
              "\n"
              "Strength\n"
              "                     mean          95 %\n"
              "knot                 (lb)      interval   slipped\n"
              "─────────────────  ──────  ────────────  ────────\n"
              "F & G, \"19\" wraps   17.30  [15.9, 18.8]   3 of 10\n"
              "Zoë's loop         107          [-∞, -]\n"
              "bad � byte           -                -  not seen\n"
              "\n"
              "  Divided by the weaker line.\n"
              "\n"
              "Figure: Holds & slips\n"
              "  One knot, <one> pull at 37 % and � bell.\n");
  be_doc_free(doc);
}

static void narrow_prose_wraps_by_width_not_by_bytes(void **state)
{
  (void)state;
  struct be_doc *doc = be_doc_create("d", "T");
  be_doc_sentence(doc, "ŽŽŽŽ ŽŽŽŽ ŽŽŽŽ ŽŽŽŽ ŽŽŽŽ  wide\nline and averyveryverylongwordindeed");
  assert_text(doc, 7, /* taken as the least width, 20 */
              "T\n═\n\nŽŽŽŽ ŽŽŽŽ ŽŽŽŽ ŽŽŽŽ\nŽŽŽŽ wide line and\naveryveryverylongwordindeed\n");
  be_doc_free(doc);
  doc = be_doc_create("d", "T");
  be_doc_note(doc, "%s",
              "123456789 123456789 123456789 123456789 123456789 123456789 123456789 "
              "12345 x");
  assert_text(doc, 0, /* 78 */
              "T\n═\n\n  123456789 123456789 123456789 123456789 123456789 123456789 123456789 "
              "12345\n  x\n");
  be_doc_free(doc);
}

static void points_line_up(void **state)
{
  (void)state;
  static const struct be_column columns[] = {{"v", "v", BE_COLUMN_NUMBER, false},
                                             {"t", "t", BE_COLUMN_TEXT, false}};
  struct be_doc *doc = be_doc_create("d", "T");
  struct be_table *table = be_doc_table(doc, "n", NULL, columns, 2);
  be_table_unlike_units(table);
  static const double values[] = {3.14159, -271.8, 42, NAN, -0.0004, INFINITY};
  static const int decimals[] = {3, 1, 0, 2, 2, 1};
  for (int i = 0; i < 6; i++) {
    be_table_number(table, values[i], decimals[i]);
    be_table_text(table, i == 0 ? "a\nb" : "c");
  }
  assert_text(doc, 0,
              "T\n═\n\n"
              "       v  t\n"
              "────────  ───\n"
              "   3.142  a b\n"
              "-271.8    c\n"
              "  42      c\n"
              "   -      c\n"
              "   0.00   c\n"
              "   ∞      c\n");
  be_doc_free(doc);
}

/* Four decimals, and never a 0 that would say impossible; programs get all of it. */
/* Each column by itself; a probability and what is not known have none to give. */
static void a_column_has_one_number_of_decimals(void **state)
{
  (void)state;
  static const struct be_column columns[] = {{"v", "v", BE_COLUMN_NUMBER, false},
                                             {"i", "i", BE_COLUMN_INTERVAL, false},
                                             {"p", "p", BE_COLUMN_NUMBER, false}};
  struct be_doc *doc = be_doc_create("d", "T");
  struct be_table *table = be_doc_table(doc, "n", NULL, columns, 3);
  be_table_number(table, 91, 0);
  be_table_interval(table, 89, 93, 0);
  be_table_probability(table, 0.00001);
  be_table_number(table, 99.37, 1);
  be_table_interval(table, -INFINITY, 99.81, 1);
  be_table_number(table, 0.3, 2);
  be_table_number(table, NAN, 3);
  be_table_interval(table, NAN, NAN, 3);
  be_table_none(table);
  be_table_number(table, 7, 0);
  be_table_interval(table, 6, 8, 0);
  be_table_none(table);
  assert_text(doc, 0,
              "T\n═\n\n"
              "   v             i        p\n"
              "────  ────────────  ───────\n"
              "91.0  [89.0, 93.0]  <0.0001\n"
              "99.4    [-∞, 99.8]   0.30\n"
              " -               -\n"
              " 7.0    [6.0, 8.0]\n");
  be_doc_free(doc);
}

static void probabilities(void **state)
{
  (void)state;
  static const struct be_column column = {"p", "p", BE_COLUMN_NUMBER, false};
  static const double p[] = {0.0372149, 9.13e-7, 0.00004999, 0.00005001, 0, 1, NAN, 0.99996};
  struct be_doc *doc = be_doc_create("d", "T");
  struct be_table *table = be_doc_table(doc, "n", NULL, &column, 1);
  for (int i = 0; i < 8; i++) be_table_probability(table, p[i]);
  be_table_probability(NULL, 0.5);
  assert_text(doc, 0,
              "T\n═\n\n"
              "      p\n"
              "───────\n"
              " 0.0372\n"
              "<0.0001\n"
              "<0.0001\n"
              " 0.0001\n"
              "<0.0001\n"
              " 1.0000\n"
              " -\n"
              " 1.0000\n");
  struct be_buf json;
  be_buf_init(&json, 1 << 16);
  assert_int_equal(be_doc_json(doc, &json, NULL), BE_OK);
  assert_non_null(strstr(json.data, "{\"p\":9.13e-07}"));
  assert_non_null(strstr(json.data, "{\"p\":0.0372149}"));
  be_buf_free(&json);
  be_doc_free(doc);
}

static void empty_tables(void **state)
{
  (void)state;
  struct be_doc *doc = be_doc_create("d", "T");
  be_doc_table(doc, "n", "Nothing", sample_columns, 2);
  be_doc_table(doc, "hidden", "Hidden", sample_columns + 4, 1); /* for programs only */
  assert_text(doc, 0, "T\n═\n\nNothing\n      mean\nknot  (lb)\n────  ────\n(no rows)\n");
  be_doc_free(doc);
  doc = be_doc_create("d", "T");
  assert_text(doc, 0, "T\n═\n");
  be_doc_free(doc);
}

static void a_null_document_takes_nothing(void **state)
{
  (void)state;
  be_doc_sentence(NULL, "x");
  be_doc_heading(NULL, "x");
  be_doc_note(NULL, "x");
  be_doc_caution(NULL, "x");
  be_doc_fact(NULL, "k", "l", "x");
  be_doc_figure(NULL, sample_figure()); /* freed all the same */
  be_doc_figure(NULL, NULL);
  struct be_table *table = be_doc_table(NULL, "n", "t", sample_columns, 5);
  assert_null(table);
  be_table_text(table, "x");
  be_table_number(table, 1.5, 1);
  be_table_interval(table, 1, 2, 1);
  be_table_count(table, 1, 2);
  be_table_none(table);
  be_table_link(table, "x");
  be_doc_free(NULL);
  struct be_buf out;
  be_buf_init(&out, 999);
  struct be_err err;
  const struct be_doc *none = NULL;
  const struct be_edition edition = {.site = "s"};
  assert_int_equal(be_doc_text(NULL, 0, &out, &err), BE_NO_MEMORY);
  assert_int_equal(err.status, BE_NO_MEMORY);
  assert_int_equal(be_doc_csv(NULL, &out, NULL), BE_NO_MEMORY);
  assert_int_equal(be_doc_json(NULL, &out, NULL), BE_NO_MEMORY);
  assert_int_equal(be_doc_html(&none, 1, &edition, &out, NULL), BE_NO_MEMORY);
  assert_int_equal(out.size, 0);
}

/* A figure that could not be made spoils the document: it is not left out. */
static void a_missing_figure_is_told(void **state)
{
  (void)state;
  struct be_doc *doc = be_doc_create("d", "Title 37");
  be_doc_figure(doc, NULL);
  struct be_buf out;
  be_buf_init(&out, 999);
  struct be_err err;
  assert_int_equal(be_doc_text(doc, 0, &out, &err), BE_NO_MEMORY);
  assert_non_null(strstr(err.what, "Title 37"));
  be_doc_free(doc);
}

static void ceilings_hold(void **state)
{
  (void)state;
  struct be_doc *doc = sample();
  const struct be_doc *docs[] = {doc};
  const struct be_edition edition = {.site = "s"};
  struct be_err err;
  struct be_buf out;
  be_buf_init(&out, 37);
  assert_int_equal(be_doc_text(doc, 0, &out, &err), BE_TOO_LARGE);
  assert_int_equal(err.status, BE_TOO_LARGE);
  be_buf_free(&out);
  assert_int_equal(be_doc_csv(doc, &out, NULL), BE_TOO_LARGE);
  be_buf_free(&out);
  assert_int_equal(be_doc_json(doc, &out, NULL), BE_TOO_LARGE);
  be_buf_free(&out);
  assert_int_equal(be_doc_html(docs, 1, &edition, &out, NULL), BE_TOO_LARGE);
  be_buf_free(&out);
  be_doc_free(doc);

  char *much = malloc((1 << 20) + 2);
  memset(much, 'x', (1 << 20) + 1);
  much[(1 << 20) + 1] = '\0';
  doc = be_doc_create("d", "T");
  be_doc_sentence(doc, "%s", much);
  be_buf_init(&out, 1 << 22);
  assert_int_equal(be_doc_text(doc, 0, &out, &err), BE_TOO_LARGE);
  be_doc_free(doc);
  free(much);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_whole_document),
      cmocka_unit_test(narrow_prose_wraps_by_width_not_by_bytes),
      cmocka_unit_test(points_line_up),
      cmocka_unit_test(a_column_has_one_number_of_decimals),
      cmocka_unit_test(probabilities),
      cmocka_unit_test(empty_tables),
      cmocka_unit_test(a_null_document_takes_nothing),
      cmocka_unit_test(a_missing_figure_is_told),
      cmocka_unit_test(ceilings_hold),
  };
  return be_tests("press: text", tests);
}
