/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pages: what is told of the file stands in it as text (ISO 32000-1, 14.3.3 and 12.3.3); what
 * stands on its pages is read back by pdftotext, a form feed behind each page. */
#define _POSIX_C_SOURCE 200809L
#include "sample.h"

#include <unistd.h>

#include "pages.h"

static const struct be_edition edition = {
    .site = "The site", .foot = "Stand clear of it.", .moment = "2026-03-01T09:30:00Z"};

static void print_pages(const struct be_doc *doc, struct be_buf *pdf)
{
  be_buf_init(pdf, 1 << 26);
  assert_int_equal(be_doc_pdf(&doc, 1, &edition, pdf, NULL), BE_OK);
}

/* Prints the document, which is freed, and reads it back. */
static void read_back(struct be_doc *doc, const char *options, struct be_buf *text)
{
  struct be_buf pdf;
  print_pages(doc, &pdf);
  be_doc_free(doc);
  pages_read(&pdf, options, text);
  be_buf_free(&pdf);
}

static size_t count_of(const char *text, const char *what)
{
  size_t count = 0;
  for (; (text = strstr(text, what)) != NULL; text += strlen(what)) count++;
  return count;
}

static size_t held(const struct be_buf *buf, const char *text)
{
  size_t length = strlen(text), count = 0;
  for (size_t i = 0; i + length <= buf->size; i++)
    count += memcmp(buf->data + i, text, length) == 0;
  return count;
}

static void a_file_tells_what_it_is(void **state)
{
  (void)state;
  struct be_buf pdf[2];
  struct be_doc *doc = sample();
  for (int i = 0; i < 2; i++) print_pages(doc, &pdf[i]);
  be_doc_free(doc);
  assert_memory_equal(pdf[0].data, "%PDF-1.", 7);
  static const char *const told[] = {"/Title (How strong & how sure?)",
                                     "/Creator (bitterend ",
                                     "/Author (The site)",
                                     "/Subject (The knot kept 87 % of the line, <between> 83",
                                     "/Keywords (Strength of all)",
                                     "(20260301093000Z)",
                                     "/Title (Strength of all)", /* the outline */
                                     "/Outlines",
                                     "/ToUnicode",
                                     "[ 0 0 595.275591 841.889764 ]"};
  for (size_t i = 0; i < sizeof told / sizeof told[0]; i++) {
    if (!held(&pdf[0], told[i])) print_error("not told: %s\n", told[i]);
    assert_true(held(&pdf[0], told[i]) > 0);
  }
  assert_int_equal(pdf[0].size, pdf[1].size);
  assert_memory_equal(pdf[0].data, pdf[1].data, pdf[0].size);
  for (int i = 0; i < 2; i++) be_buf_free(&pdf[i]);
}

static void all_of_it_is_text_in_its_order(void **state)
{
  (void)state;
  struct be_buf text;
  pages_need_reader();
  read_back(sample(), "-raw", &text);
  pages_squeeze(text.data);
  static const char *const order[] = {"The site How strong & how sure? The knot kept 87 % of the "
                                      "line, <between> 83 and 91. CAUTION A stretched line whips "
                                      "back: \"stand clear\". seed 20260301 plain line 25.3 lb & "
                                      "more Strength of all Strength",
                                      "F & G, \"19\" wraps",
                                      "17.30 [15.9, 18.8] 3 of 10",
                                      "Zo\xC3\xAB's loop",
                                      "107 [-\xE2\x88\x9E, -]",
                                      "bad \xEF\xBF\xBD byte",
                                      "not seen",
                                      "Divided by the weaker line.",
                                      "Holds & slips 13 pulls",
                                      "F & G", /* in the drawing */
                                      "n = 13",
                                      "One knot, <one> pull at 37 %",
                                      "Page 1 of 1 Stand clear of it."};
  const char *at = text.data;
  for (size_t i = 0; i < sizeof order / sizeof order[0]; i++) {
    const char *found = strstr(at, order[i]);
    if (!found) print_error("not there: %s\nbehind: %.200s\n", order[i], at);
    assert_non_null(found);
    at = found + strlen(order[i]);
  }
  assert_null(strstr(text.data, "K<1>")); /* of a column for programs */
  be_buf_free(&text);
}

/* ---- long and wide ---- */

static const struct be_column two[] = {{"a", "what it is", BE_COLUMN_TEXT, false},
                                       {"b", "load (lb)", BE_COLUMN_NUMBER, false}};

static void a_long_table_has_its_head_on_every_page(void **state)
{
  (void)state;
  enum { ROWS = 173 };
  struct be_buf text;
  struct be_doc *doc = be_doc_create("long", "Long");
  pages_need_reader();
  be_doc_sentence(doc, "A sentence above it.");
  struct be_table *table = be_doc_table(doc, "rows", "Rows of it", two, 2);
  be_table_fold(table); /* is open all the same */
  for (int i = 1; i <= ROWS; i++) {
    be_table_text(table,
                  "begin%d of a row that runs over some lines, for it says much more about a pull "
                  "than fits into a line of a page of this width, and then some more end%d",
                  i, i);
    be_table_number(table, 1.25 * i, i % 3);
  }
  read_back(doc, "-raw", &text);
  size_t pages = count_of(text.data, "\f");
  assert_true(pages > 5);
  assert_int_equal(count_of(text.data, "what it is"), pages);
  assert_int_equal(count_of(text.data, "load"), pages);
  assert_int_equal(count_of(text.data, "continued"), pages - 1);
  assert_int_equal(count_of(text.data, "Stand clear of it."), pages);
  const char *at = text.data;
  for (int i = 1; i <= ROWS; i++) {
    char begin[20], end[20];
    snprintf(begin, sizeof begin, "begin%d ", i);
    snprintf(end, sizeof end, "end%d\n", i);
    const char *first = strstr(at, begin);
    const char *last = first ? strstr(first, end) : NULL;
    assert_true(first && last);
    assert_null(memchr(first, '\f', (size_t)(last - first))); /* not cut */
    at = last;
  }
  char last[40];
  snprintf(last, sizeof last, "Page %zu of %zu", pages, pages);
  assert_non_null(strstr(text.data, last));
  be_buf_free(&text);
}

static void wide_tables(struct be_doc *doc, size_t columns)
{
  struct be_column list[40] = {{"k", "which", BE_COLUMN_TEXT, false}};
  for (size_t i = 1; i < columns; i++)
    list[i] = (struct be_column){"k", "mean (lb)", BE_COLUMN_NUMBER, false};
  struct be_table *table = be_doc_table(doc, "wide", "Wide", list, columns);
  for (size_t row = 0; row < 3; row++) {
    be_table_text(table, "row %zu", row);
    for (size_t i = 1; i < columns; i++) be_table_number(table, 100.37 + (double)i, 2);
  }
}

/* In parts below one another, each with the column that names the rows; not on a page that lies on
 * its side, nor in letters too small to read. */
static void a_wide_table_is_parted(void **state)
{
  (void)state;
  static const struct {
    size_t columns, parts;
  } cases[] = {{7, 1}, {19, 2}, {40, 3}};
  pages_need_reader();
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_buf pdf, text;
    struct be_doc *doc = be_doc_create("wide", "Wide");
    wide_tables(doc, cases[i].columns);
    print_pages(doc, &pdf);
    be_doc_free(doc);
    assert_int_equal(held(&pdf, "[ 0 0 841.889764 595.275591 ]"), 0);
    assert_true(pages_smallest(&pdf) >= 6.99);
    pages_read(&pdf, "-raw", &text);
    assert_int_equal(count_of(text.data, "mean\n(lb)"), cases[i].columns - 1);
    assert_int_equal(count_of(text.data, "which"), cases[i].parts);
    assert_int_equal(count_of(text.data, "row 2"), cases[i].parts);
    be_buf_free(&text);
    be_buf_free(&pdf);
  }
}

/* What a column says and the interval behind it stay together. */
static void an_interval_stays_with_its_mean(void **state)
{
  (void)state;
  struct be_column list[15] = {{"k", "which", BE_COLUMN_TEXT, false}};
  struct be_buf text;
  struct be_doc *doc = be_doc_create("wide", "Wide");
  pages_need_reader();
  for (size_t i = 1; i < 15; i += 2) {
    list[i] = (struct be_column){"m", "mean", BE_COLUMN_NUMBER, false};
    list[i + 1] = (struct be_column){"i", "within", BE_COLUMN_INTERVAL, false};
  }
  struct be_table *table = be_doc_table(doc, "wide", "Wide", list, 15);
  be_table_text(table, "a row");
  for (size_t i = 1; i < 15; i += 2) {
    be_table_number(table, 1000.25 + (double)i, 2);
    be_table_interval(table, 900.5, 1100.75, 2);
  }
  read_back(doc, "-raw", &text);
  pages_squeeze(text.data);
  assert_true(count_of(text.data, "which mean within") > 1);
  assert_null(strstr(text.data, "which within"));
  be_buf_free(&text);
}

static void no_heading_stands_alone(void **state)
{
  (void)state;
  struct be_buf text;
  struct be_doc *doc = be_doc_create("many", "Many");
  pages_need_reader();
  for (int i = 0; i < 120; i++) {
    be_doc_heading(doc, "Heading %d", i);
    if (i % 3 == 0) be_doc_heading(doc, "Heading %d, lower", i);
    for (int k = 0; k < i % 4; k++)
      be_doc_sentence(doc,
                      "Sentence %d of %d, which may well run over more lines than one, for it "
                      "has that many words.",
                      k, i);
    if (i % 5 == 0) be_doc_figure(doc, sample_figure());
    else {
      struct be_table *table = be_doc_table(doc, "t", "", two, 2);
      for (int k = 0; k < 1 + i % 7; k++) {
        be_table_text(table, "row %d", k);
        be_table_number(table, k + 0.5, 1);
      }
    }
  }
  read_back(doc, "-raw", &text);
  size_t pages = 0;
  for (char *page = text.data; *page; pages++) {
    char *end = strchr(page, '\f'), *foot;
    assert_non_null(end);
    *end = '\0';
    foot = strstr(page, "\nPage ");
    assert_non_null(foot);
    *foot = '\0';
    char *last = strrchr(page, '\n');
    /* The contents, on the first pages, end in a number. */
    bool listed = last && strspn(last + strlen(last) - 1, "0123456789") && pages < 4;
    if (last && !listed) assert_int_not_equal(strncmp(last + 1, "Heading", 7), 0);
    page = end + 1;
  }
  assert_true(pages > 15);
  be_buf_free(&text);
}

static void what_is_larger_than_a_page_goes_on(void **state)
{
  (void)state;
  enum { WORDS = 4000 };
  struct be_buf text, words;
  struct be_doc *doc = be_doc_create("large", "Large");
  pages_need_reader();
  be_buf_init(&words, 1 << 20);
  for (int i = 0; i < WORDS; i++) be_buf_format(&words, "w%d ", i);
  be_doc_sentence(doc, "%s", words.data);
  struct be_table *table = be_doc_table(doc, "t", "T", two, 2);
  be_table_text(table, "%s", words.data);
  be_table_number(table, 7.5, 1);
  be_table_text(table, "%0400d", 7); /* one word, wider than a page */
  be_table_number(table, 8.5, 1);
  be_doc_heading(doc, "Under it");
  be_doc_table(doc, "none", "", two, 2);
  read_back(doc, "-raw", &text);
  const char *at = text.data;
  for (int twice = 0; twice < 2; twice++)
    for (int i = 0; i < WORDS; i++) {
      char word[20];
      snprintf(word, sizeof word, "w%d", i);
      at = strstr(at, word);
      assert_non_null(at);
      at += strlen(word);
    }
  size_t zeros = 0;
  for (at = strstr(at, "0000"); at && (*at == '0' || *at == '\n'); at++) zeros += *at == '0';
  assert_int_equal(zeros, 399);
  assert_non_null(strstr(text.data, "No rows"));
  be_buf_free(&words);
  be_buf_free(&text);
}

/* ---- refused ---- */

static void what_cannot_be_printed_is_said(void **state)
{
  (void)state;
  struct be_buf small;
  struct be_err err;
  const struct be_doc *none = NULL;
  be_buf_init(&small, 900);
  assert_int_equal(be_doc_pdf(&none, 1, &edition, &small, &err), BE_NO_MEMORY);
  be_buf_free(&small);
  struct be_doc *doc = sample();
  const struct be_doc *list = doc;
  be_buf_init(&small, 900);
  assert_int_equal(be_doc_pdf(&list, 1, &edition, &small, &err), BE_TOO_LARGE);
  be_buf_free(&small);
  be_doc_free(doc);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_file_tells_what_it_is),
      cmocka_unit_test(all_of_it_is_text_in_its_order),
      cmocka_unit_test(a_long_table_has_its_head_on_every_page),
      cmocka_unit_test(a_wide_table_is_parted),
      cmocka_unit_test(an_interval_stays_with_its_mean),
      cmocka_unit_test(no_heading_stands_alone),
      cmocka_unit_test(what_is_larger_than_a_page_goes_on),
      cmocka_unit_test(what_cannot_be_printed_is_said),
  };
  return be_tests("press: pages", tests);
}
