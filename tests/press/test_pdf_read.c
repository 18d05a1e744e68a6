/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How pages are read: aloud, by their elements (ISO 32000-1, 14.7 and 14.8), as pdfinfo tells them;
 * and by eye: pages are full, and no letters too small. */
#define _POSIX_C_SOURCE 200809L
#include "sample.h"

#include <unistd.h>

#include "pages.h"

static const struct be_edition edition = {.site = "The site", .foot = "Stand clear of it."};

static void print_pages(const struct be_doc *const *docs, size_t count, struct be_buf *pdf)
{
  be_buf_init(pdf, 1 << 26);
  assert_int_equal(be_doc_pdf(docs, count, &edition, pdf, NULL), BE_OK);
}

/* Prints the document, which is freed. */
static void print_one(struct be_doc *doc, struct be_buf *pdf)
{
  const struct be_doc *list = doc;
  print_pages(&list, 1, pdf);
  be_doc_free(doc);
}

static size_t pages_of(const struct be_buf *pdf)
{
  struct be_buf text;
  size_t count = 0;
  pages_read(pdf, "-raw", &text);
  for (const char *at = text.data; (at = strchr(at, '\f')) != NULL; at++) count++;
  be_buf_free(&text);
  return count;
}

static const char *find_in_order(const char *at, const char *const *order, size_t count)
{
  for (size_t i = 0; i < count; i++) {
    const char *found = strstr(at, order[i]);
    if (!found) print_error("not there: %s\nbehind: %.300s\n", order[i], at);
    assert_non_null(found);
    at = found + strlen(order[i]);
  }
  return at;
}

/* ---- aloud ---- */

static void what_is_told_has_its_elements(void **state)
{
  (void)state;
  struct be_buf pdf, text;
  struct be_doc *parts[2] = {sample(), be_doc_create("other", "Other part")};
  const struct be_doc *const docs[2] = {parts[0], parts[1]};
  pages_need_reader();
  for (int i = 0; i < 9; i++) be_doc_heading(parts[1], "Heading %d", i);
  print_pages(docs, 2, &pdf);
  for (int i = 0; i < 2; i++) be_doc_free(parts[i]);
  pages_ask(&pdf, "pdfinfo", "", &text);
  assert_non_null(strstr(text.data, "Tagged:          yes"));
  be_buf_free(&text);
  pages_ask(&pdf, "pdfinfo -struct-text", "", &text);
  pages_squeeze(text.data);
  static const char *const order[] = {
      "Document Sect P (block) \"The site\" H1 (block) \"How strong & how sure?\" P (block) \"The "
      "knot "
      "kept 87 % of the line, <between> 83 and 91.\" P (block) \"CAUTION\" P (block) \"A stretched",
      "L (block) LI (block) Lbl (block) \"seed\" LBody (block) \"20260301\" LI",
      "\"25.3 lb & more\" H2 (block) \"Contents\" TOC TOCI Link",
      "Other part",
      "H2 (block) \"Strength of all\" Table (block) Caption \"Strength\" TR",
      "TH \"knot\" TH \"mean (lb)\" TH \"95 % interval\" TH \"slipped\" TR TD \"F & G, \"19\" "
      "wraps\" TD "
      "\"17.30\" TD \"[15.9, 18.8]\" TD \"3 of 10\" TR TD \"Zo",
      "P (block) \"Divided by the weaker line.\"",
      "Caption \"Holds & slips\"",
      "Figure",
      "One knot, <one> pull at 37 %",
      "Sect H2 (block) \"Other part\" H3 (block) \"Heading 0\"",
  };
  const char *at = find_in_order(text.data, order, sizeof order / sizeof order[0]);
  assert_null(strstr(text.data, "Stand clear")); /* a foot is of no part */
  assert_non_null(strstr(at, "Heading 8"));
  be_buf_free(&text);
  be_buf_free(&pdf);
}

/* A sentence of three lines, and one that goes on overleaf, are told whole, their spaces too. */
static void no_line_of_it_is_lost(void **state)
{
  (void)state;
  enum { WORDS = 3000 };
  struct be_buf pdf, text, words;
  struct be_doc *doc = be_doc_create("long", "A title that is long enough to need two lines of a "
                                             "page of its own, or even three of them");
  pages_need_reader();
  be_buf_init(&words, 1 << 20);
  for (int i = 0; i < WORDS; i++) be_buf_format(&words, "%sw%d", i ? " " : "", i);
  be_doc_sentence(doc, "%s", words.data);
  print_one(doc, &pdf);
  assert_true(pages_of(&pdf) > 1);
  pages_ask(&pdf, "pdfinfo -struct-text", "", &text);
  pages_squeeze(text.data);
  assert_non_null(strstr(text.data, "lines of a page of its own, or even three of them\""));
  for (int i = 0; i + 1 < WORDS; i++) {
    char two[40], parted[80];
    snprintf(two, sizeof two, "w%d w%d", i, i + 1);
    snprintf(parted, sizeof parted, "w%d \" Span (inline) \"w%d", i, i + 1);
    if (!strstr(text.data, two) && !strstr(text.data, parted)) print_error("%s\n", two);
    assert_true(strstr(text.data, two) || strstr(text.data, parted));
  }
  be_buf_free(&words);
  be_buf_free(&text);
  be_buf_free(&pdf);
}

static void no_line_parts_a_number_from_what_it_means(void **state)
{
  (void)state;
  struct be_buf pdf, text, words;
  struct be_doc *doc = be_doc_create("numbers", "Numbers");
  pages_need_reader();
  be_buf_init(&words, 1 << 20);
  for (int i = 0; i < 200; i++)
    be_buf_format(&words, "%.*s n = %d of 83 %% ", 1 + i % 7, "palomar", i);
  be_doc_sentence(doc, "%s", words.data);
  print_one(doc, &pdf);
  pages_ask(&pdf, "pdftotext", "-", &text);
  assert_non_null(strstr(text.data, "n = 199 of 83 %"));
  assert_null(strstr(text.data, "\n="));
  assert_null(strstr(text.data, "\n%"));
  assert_null(strstr(text.data, "=\n"));
  be_buf_free(&words);
  be_buf_free(&text);
  be_buf_free(&pdf);
}

/* ---- by eye ---- */

static struct be_figure *tall_figure(double height, size_t words)
{
  struct be_figure *figure = be_figure_create("A figure", "one of several", 760, height);
  struct be_buf told;
  be_buf_init(&told, 1 << 16);
  for (size_t i = 0; i < words; i++) be_buf_format(&told, "%sword%zu", i ? " " : "", i);
  be_figure_x(figure, "load (lb)", 0, 17, false);
  be_figure_y(figure, "sag (mm)", 0, 23);
  be_figure_mark(figure, 3.7, 5.9, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_NYLON);
  be_figure_twin(figure, "%s", told.data);
  be_buf_free(&told);
  return figure;
}

static void figures_share_a_page(void **state)
{
  (void)state;
  static const struct {
    size_t figures, words, pages;
  } cases[] = {{1, 30, 1}, {2, 20, 1}, {4, 60, 3}, {12, 90, 9}};
  pages_need_reader();
  for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++) {
    struct be_doc *doc = be_doc_create("figures", "F");
    struct be_buf pdf;
    be_doc_sentence(doc, "F.");
    for (size_t i = 0; i < cases[c].figures; i++)
      be_doc_figure(doc, tall_figure(480, cases[c].words));
    print_one(doc, &pdf);
    size_t pages = pages_of(&pdf);
    if (pages > cases[c].pages) print_error("%zu figures: %zu pages\n", cases[c].figures, pages);
    assert_true(pages <= cases[c].pages);
    assert_true(pages_smallest(&pdf) >= 6.99);
    be_buf_free(&pdf);
  }
}

/* Rows that would have to be drawn too small go on overleaf. */
static void a_figure_higher_than_a_page_is_parted(void **state)
{
  (void)state;
  enum { ROWS = 57 };
  struct be_figure *figure = be_figure_create("Rows", "all of them", 760, 0);
  struct be_doc *doc = be_doc_create("figures", "F");
  struct be_buf pdf, text;
  pages_need_reader();
  for (int i = 0; i < ROWS; i++) {
    char name[20];
    snprintf(name, sizeof name, "row%d!", i);
    double row = be_figure_row(figure, name, "n = 3");
    be_figure_mark(figure, 0.37 * i, row, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_NYLON);
  }
  be_figure_twin(figure, "What is told of it.");
  be_doc_figure(doc, figure);
  print_one(doc, &pdf);
  assert_true(pages_smallest(&pdf) >= 6.99);
  pages_read(&pdf, "-raw", &text);
  const char *at = text.data;
  for (int i = 0; i < ROWS; i++) {
    char name[20];
    snprintf(name, sizeof name, "row%d!", i);
    at = strstr(at, name);
    assert_non_null(at);
  }
  assert_non_null(strstr(text.data, "Part 1 of "));
  assert_non_null(strstr(at, "What is told of it."));
  be_buf_free(&text);
  be_buf_free(&pdf);
}

/* No row comes alone, at the foot or overleaf, wherever the table begins. */
static void no_row_stands_alone(void **state)
{
  (void)state;
  static const struct be_column one[] = {{"a", "head", BE_COLUMN_TEXT, false}};
  pages_need_reader();
  for (int lines = 30; lines < 60; lines++) {
    struct be_doc *doc = be_doc_create("rows", "F");
    struct be_buf pdf, text;
    for (int i = 0; i < lines; i++) be_doc_sentence(doc, "Above.");
    struct be_table *table = be_doc_table(doc, "rows", "Rows", one, 1);
    for (int i = 0; i < 47; i++) be_table_text(table, "row%d!", i);
    print_one(doc, &pdf);
    pages_read(&pdf, "-raw", &text);
    for (char *page = text.data, *end; (end = strchr(page, '\f')) != NULL; page = end + 1) {
      *end = '\0';
      const char *first = strstr(page, "row"), *second = first ? strchr(first, '!') : NULL;
      assert_true(!first || (second && strstr(second, "row")));
    }
    be_buf_free(&text);
    be_buf_free(&pdf);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_is_told_has_its_elements),
      cmocka_unit_test(no_line_of_it_is_lost),
      cmocka_unit_test(no_line_parts_a_number_from_what_it_means),
      cmocka_unit_test(figures_share_a_page),
      cmocka_unit_test(a_figure_higher_than_a_page_is_parted),
      cmocka_unit_test(no_row_stands_alone),
  };
  return be_tests("press: pages read", tests);
}
