/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sample.h"

static char page[1 << 20];

static void print_page(const struct be_doc *const *docs, size_t count,
                       const struct be_edition *edition)
{
  struct be_buf out;
  be_buf_init(&out, sizeof page - 1);
  assert_int_equal(be_doc_html(docs, count, edition, &out, NULL), BE_OK);
  memcpy(page, out.data, out.size + 1);
  be_buf_free(&out);
}

static size_t count_of(const char *what)
{
  size_t count = 0;
  for (const char *at = page; (at = strstr(at, what)); at += strlen(what)) count++;
  return count;
}

/* Elements are closed in order; those that HTML leaves open are known. */
static void assert_nested(void)
{
  static char open[64][24];
  size_t depth = 0;
  for (const char *c = page; (c = strchr(c, '<')); c++) {
    if (strncmp(c, "<!DOCTYPE", 9) == 0 || strncmp(c, "<meta", 5) == 0 ||
        strncmp(c, "<link", 5) == 0 || strncmp(c, "<input", 6) == 0)
      continue;
    bool closing = c[1] == '/';
    const char *name = c + 1 + closing;
    size_t length = strcspn(name, " >\n/");
    assert_in_range(length, 1, 20);
    const char *end = strchr(c, '>');
    if (closing) {
      assert_true(depth > 0);
      depth--;
      assert_int_equal(strlen(open[depth]), length);
      assert_memory_equal(open[depth], name, length);
    } else if (end[-1] != '/') {
      assert_true(depth < 64);
      snprintf(open[depth++], sizeof open[0], "%.*s", (int)length, name);
    }
  }
  assert_int_equal(depth, 0);
}

static const struct be_place places[] = {{"/", "Bench"}, {"/book?a=1&b=2", "Book <1>"}};

static void a_page(void **state)
{
  (void)state;
  struct be_doc *doc = sample();
  const struct be_doc *docs[] = {doc};
  const struct be_edition edition = {.sheet_link = "/style.css?\"",
                                     .site = "Bitter & End",
                                     .places = places,
                                     .places_count = 2,
                                     .here = "/book?a=1&b=2",
                                     .foot = "For <angling> only."};
  print_page(docs, 1, &edition);
  assert_nested();
  static const char *const once[] = {
      "<!DOCTYPE html>\n<html lang=\"en\">",
      "<meta charset=\"utf-8\">",
      "name=\"viewport\"",
      "<title>How strong &amp; how sure? - Bitter &amp; End</title>",
      "<link rel=\"stylesheet\" href=\"/style.css?&quot;\">",
      "<a class=\"skip\" href=\"#main\">",
      "<main id=\"main\"",
      "<li><a href=\"/\">Bench</a></li>",
      "<li><a href=\"/book?a=1&amp;b=2\" aria-current=\"page\">Book &lt;1&gt;</a></li>",
      "<h1>How strong &amp; how sure?</h1>\n<p>The knot kept 87 % of the line, &lt;between&gt;",
      "<p class=\"caution\" role=\"note\"><strong>CAUTION</strong> A stretched line",
      "<dl>\n<div><dt>seed</dt><dd>20260301</dd></div>\n<div><dt>plain line</dt>",
      "<h2 id=\"section-1\">Strength of all</h2>",
      "<div class=\"table\" role=\"region\" tabindex=\"0\" aria-label=\"Table 1: "
      "Strength\">\n<table>\n"
      "<caption>Strength</caption>",
      "<th scope=\"col\">knot</th><th scope=\"col\" class=\"number\">mean (lb)</th>",
      "<th scope=\"row\"><a href=\"/knots/37?a=1&amp;b=&quot;2&quot;\">F &amp; G, "
      "&quot;19&quot; wraps</a></th>",
      "<td class=\"number\">17.30</td><td class=\"interval\">[15.9, 18.8]</td>"
      "<td class=\"count\">3 of 10</td></tr>",
      "<td class=\"number\">107\xE2\x80\x88\xE2\x80\x87\xE2\x80\x87</td>", /* padded to a point */
      "<p class=\"note\">Divided by the weaker line.</p>",
      "<p class=\"title\" id=\"figure-2-name\">Holds &amp; slips</p>",
      "<figcaption><details><summary>In words</summary><p>One knot, &lt;one&gt; pull",
      "<footer><p>For &lt;angling&gt; only.</p></footer>",
  };
  for (size_t i = 0; i < sizeof once / sizeof once[0]; i++) {
    if (count_of(once[i]) != 1) print_error("%zu times: %s\n", count_of(once[i]), once[i]);
    assert_int_equal(count_of(once[i]), 1);
  }
  static const char *const never[] = {" style=",   "<style", "<script", "K&lt;1&gt;",
                                      "code</th>", "\xFF",   "\a",      " onclick"};
  for (size_t i = 0; i < sizeof never / sizeof never[0]; i++)
    assert_int_equal(count_of(never[i]), 0);
  assert_int_equal(count_of("<svg "), 2); /* wide and narrow */
  assert_true(be_utf8_valid(page, strlen(page)));
  be_doc_free(doc);
}

/* Labels are a list of cards to people with a page, and a table to all others. */
static void labels(void **state)
{
  (void)state;
  static const struct be_column columns[] = {{"code", "", BE_COLUMN_TEXT, false},
                                             {"block", "block", BE_COLUMN_NUMBER, false},
                                             {"secret", "", BE_COLUMN_TEXT, true}};
  struct be_doc *doc = be_doc_create("labels", "Labels");
  struct be_table *table = be_doc_table(doc, "cards", "Cards", columns, 3);
  be_table_labels(table);
  be_table_text(table, "K<7>");
  be_table_number(table, 13, 0);
  be_table_text(table, "palomar");
  const struct be_doc *const docs[] = {doc};
  const struct be_edition edition = {.foot = ""};
  print_page(docs, 1, &edition);
  assert_nested();
  assert_int_equal(count_of("<ul class=\"labels\" aria-label=\"Cards\">\n<li><strong>K&lt;7&gt;"
                            "</strong><span>block: 13</span></li>\n</ul>"),
                   1);
  assert_int_equal(count_of("palomar"), 0);
  assert_int_equal(count_of("<table"), 0);
  struct be_buf text;
  be_buf_init(&text, 1 << 20);
  assert_int_equal(be_doc_csv(doc, &text, NULL), BE_OK);
  assert_string_equal(text.data, "code,block,secret\r\nK<7>,13,palomar\r\n");
  be_buf_free(&text);
  be_doc_free(doc);
}

/* Eight sections make a long page: it opens with the ways to them, after the answer. */
static void a_long_page(void **state)
{
  (void)state;
  for (int sections = 7; sections <= 8; sections++) {
    struct be_doc *doc = be_doc_create("long", "Long");
    be_doc_sentence(doc, "The answer.");
    for (int i = 1; i <= sections; i++) be_doc_heading(doc, "Part <%d>", i);
    const struct be_doc *const docs[] = {doc};
    const struct be_edition edition = {.foot = ""};
    print_page(docs, 1, &edition);
    assert_nested();
    assert_int_equal(count_of("<p>The answer.</p>\n<nav class=\"contents\""), sections == 8);
    assert_int_equal(count_of("<a href=\"#section-7\">Part &lt;7&gt;</a>"), sections == 8);
    assert_int_equal(count_of("<h2 id=\"section-7\">Part &lt;7&gt;</h2>"), 1);
    be_doc_free(doc);
  }
}

/* Sections one after another; ids stay unique; the sheet is inside. */
static void a_report(void **state)
{
  (void)state;
  struct be_doc *docs[] = {sample(), sample(), be_doc_create("last", "Last & least")};
  const struct be_doc *const read_only[] = {docs[0], docs[1], docs[2]};
  const struct be_edition edition = {.sheet = "body{margin:0}\n"};
  print_page(read_only, 3, &edition);
  assert_nested();
  assert_int_equal(count_of("<h1>"), 1);
  assert_int_equal(count_of("<h2 id=\"part-1\">How strong &amp; how sure?</h2>"), 1);
  assert_int_equal(count_of("<h2 id=\"part-2\">Last &amp; least</h2>"), 1);
  assert_int_equal(count_of("<h3 id=\"section-2\">Strength of all</h3>"), 1);
  assert_int_equal(count_of("<header>") + count_of("<nav") + count_of("<footer>"), 0);
  assert_int_equal(count_of("body{margin:0}\n</style>"), 1);
  assert_int_equal(count_of(".figure .fill-nylon{"), 1);
  /* The addresses of pages lead nowhere in a file. */
  assert_int_equal(count_of("<a "), 1);
  assert_int_equal(count_of("<a class=\"skip\" href=\"#main\">"), 1);
  assert_int_equal(count_of("<th scope=\"row\">F &amp; G,"), 2);
  for (int i = 1; i <= 4; i++) {
    char id[40];
    snprintf(id, sizeof id, " id=\"figure-%d-title\"", i);
    assert_int_equal(count_of(id), 1);
  }
  for (size_t i = 0; i < 3; i++) be_doc_free(docs[i]);
}

/* From five documents on there is a way to each; ways to sections are told apart by name. */
static void a_long_report(void **state)
{
  (void)state;
  for (size_t count = 4; count <= 5; count++) {
    struct be_doc *docs[5];
    for (size_t i = 0; i < count; i++) {
      char title[20];
      snprintf(title, sizeof title, "Part <%zu>", i);
      docs[i] = be_doc_create("part", title);
      for (int k = 0; k < 8; k++) be_doc_heading(docs[i], "Section");
    }
    const struct be_edition edition = {.sheet = ""};
    print_page((const struct be_doc *const *)docs, count, &edition);
    assert_nested();
    bool long_one = count == 5;
    assert_int_equal(count_of("<nav aria-label=\"In this report\">"), long_one);
    assert_int_equal(count_of("<a href=\"#part-3\">Part &lt;3&gt;</a>"), long_one);
    assert_int_equal(count_of("<a href=\"#part-0\">"), 0);
    assert_int_equal(count_of("<h2 id=\"part-3\">Part &lt;3&gt;</h2>"), 1);
    assert_int_equal(count_of("aria-label=\"On this page: Part &lt;2&gt;\""), 1);
    for (size_t i = 0; i < count; i++) be_doc_free(docs[i]);
  }
}

/* A folded table opens by its title, which then stands above it once. */
static void a_folded_table(void **state)
{
  (void)state;
  static const struct be_column columns[] = {{"knot", "knot", BE_COLUMN_TEXT, false}};
  struct be_doc *doc = be_doc_create("d", "T");
  struct be_table *table = be_doc_table(doc, "cells", "What was <tied>", columns, 1);
  be_table_text(table, "palomar");
  be_table_fold(table);
  be_table_fold(NULL);
  be_doc_table(doc, "open", "Open", columns, 1);
  const struct be_doc *docs[] = {doc};
  const struct be_edition edition = {0};
  print_page(docs, 1, &edition);
  assert_nested();
  assert_int_equal(count_of("<details><summary>What was &lt;tied&gt;</summary>\n<div class"), 1);
  assert_int_equal(count_of("</table>\n</div>\n</details>"), 1);
  assert_int_equal(count_of("<caption class=\"unseen\">What was"), 1);
  assert_int_equal(count_of("<details>"), 1);
  assert_int_equal(count_of("<caption>Open</caption>"), 1);
  be_doc_free(doc);
}

/* Twenty rows are read where they stand. */
static void a_long_table_is_folded(void **state)
{
  (void)state;
  static const struct be_column columns[] = {{"knot", "knot", BE_COLUMN_TEXT, false}};
  struct be_doc *doc = be_doc_create("d", "T");
  struct be_table *tables[] = {be_doc_table(doc, "20", "Twenty", columns, 1),
                               be_doc_table(doc, "21", "One more", columns, 1)};
  be_table_fold_long(NULL);
  for (int t = 0; t < 2; t++) {
    be_table_fold_long(tables[t]);
    for (int i = 0; i < 20 + t; i++) be_table_text(tables[t], "palomar %d", i);
  }
  const struct be_doc *docs[] = {doc};
  const struct be_edition edition = {0};
  print_page(docs, 1, &edition);
  assert_nested();
  assert_int_equal(count_of("<details>"), 1);
  assert_int_equal(count_of("<caption>Twenty</caption>"), 1);
  assert_int_equal(count_of("<details><summary>One more</summary>"), 1);
  be_doc_free(doc);
}

/* Short texts stay on their line, sentences get room, and heads are broken in one place. */
static void heads_and_widths(void **state)
{
  (void)state;
  static const struct be_column columns[] = {
      {"knot", "knot, or plain line", BE_COLUMN_TEXT, false},
      {"unit", "unit as written in it", BE_COLUMN_TEXT, false},
      {"why", "why", BE_COLUMN_TEXT, false},
      {"three", "in the first three (%)", BE_COLUMN_NUMBER, false},
      {"least", "at least", BE_COLUMN_NUMBER, false},
  };
  struct be_doc *doc = be_doc_create("d", "T");
  struct be_table *table = be_doc_table(doc, "heads", "Heads", columns, 5);
  be_table_text(table, "barrel knot, 5 tu");
  be_table_text(table, "%% relative, \xC3\xA9\xC3\xA9\xC3\xA9");
  be_table_text(table, "nothing real has changed: 2 new pulls of its own, and one other");
  be_table_number(table, 37, 0);
  be_table_none(table);
  const struct be_doc *docs[] = {doc};
  const struct be_edition edition = {0};
  print_page(docs, 1, &edition);
  assert_nested();
  static const char *const once[] = {
      "<th scope=\"col\">knot, or plain line</th>",
      "<th scope=\"row\">barrel knot, 5 tu</th>",
      "<th scope=\"col\" class=\"short\">unit as\nwritten in it</th>",
      "<td class=\"short\">% relative",
      "<td class=\"long\">nothing real",
      "<th scope=\"col\" class=\"number\">in the first\nthree (%)</th>",
      "<th scope=\"col\" class=\"number\">at least</th>",
  };
  for (size_t i = 0; i < sizeof once / sizeof once[0]; i++) {
    if (count_of(once[i]) != 1) print_error("%zu times: %s\n", count_of(once[i]), once[i]);
    assert_int_equal(count_of(once[i]), 1);
  }
  be_doc_free(doc);
}

static void little_documents(void **state)
{
  (void)state;
  struct be_doc *doc = be_doc_create("d", "T");
  be_doc_table(doc, "pulls<", NULL, sample_columns, 3);
  be_doc_table(doc, "hidden", "Hidden", sample_columns + 4, 1);
  be_doc_figure(doc, be_figure_create("Bare", NULL, 613, 299));
  const struct be_doc *docs[] = {doc};
  const struct be_edition edition = {0};
  print_page(docs, 1, &edition);
  assert_nested();
  assert_int_equal(count_of("aria-label=\"Table 1: pulls&lt;\""), 1);
  assert_int_equal(count_of("<tr><td colspan=\"3\">No rows</td></tr>"), 1);
  assert_int_equal(count_of("<caption>") + count_of("Hidden") + count_of("<figcaption>") +
                       count_of("class=\"subtitle\"") + count_of("stylesheet"),
                   0);
  be_doc_free(doc);
}

static void ways_and_a_form(void **state)
{
  (void)state;
  static const struct be_place knots[] = {{"", "-"}, {"a\"b", "A <bend>"}, {"c", "C"}};
  static const struct be_field fields[] = {{"top", "first & last", "3\">", NULL, 0},
                                           {"knot", "which", "a\"b", knots, 3},
                                           {"other", "or", NULL, knots, 3},
                                           {"free", "any", NULL, NULL, 0}};
  static const struct be_form form = {"Ask <again>", "Ask & see", "/n?\"", fields, 4};
  static const struct be_ways ways = {"By & by", places, 2, "/book?a=1&b=2"};
  struct be_doc *doc = be_doc_create("d", "T");
  const struct be_doc *docs[] = {doc};
  const struct be_edition edition = {
      .places = places, .places_count = 2, .ways = &ways, .form = &form, .asking = "unit=oz"};
  print_page(docs, 1, &edition);
  assert_nested();
  assert_int_equal(count_of("<nav class=\"ways\" aria-label=\"By &amp; by\"><p>By &amp; by</p>"),
                   1);
  assert_int_equal(count_of("<a href=\"/book?a=1&amp;b=2&amp;unit=oz\" aria-current=\"page\">"), 1);
  assert_true(strstr(page, "class=\"ways\"") < strstr(page, "<h1>T</h1>"));
  assert_int_equal(count_of("<h2 id=\"form-name\">Ask &lt;again&gt;</h2>"), 1);
  assert_int_equal(count_of("<form method=\"get\" action=\"/n?&quot;\">"), 1);
  assert_int_equal(count_of("<label for=\"field-1\">first &amp; last</label><input id=\"field-1\" "
                            "name=\"top\" autocomplete=\"off\" value=\"3&quot;&gt;\">"),
                   1);
  assert_int_equal(count_of("<option value=\"a&quot;b\" selected>A &lt;bend&gt;</option>"), 1);
  assert_int_equal(count_of(" selected>"), 1);
  assert_int_equal(count_of("<select id=\"field-3\" name=\"other\">"), 1);
  assert_int_equal(count_of("name=\"free\" autocomplete=\"off\" value=\"\">"), 1);
  assert_int_equal(count_of("<input type=\"hidden\" name=\"unit\" value=\"oz\">"), 1);
  assert_int_equal(count_of("<button>Ask &amp; see</button>"), 1);
  assert_true(strstr(page, "<form") > strstr(page, "<h1>T</h1>"));
  be_doc_free(doc);
}

static void a_form_that_is_posted(void **state)
{
  (void)state;
  static const struct be_place benches[] = {{"shed", ""}, {"a\"b", ""}};
  static const struct be_field fields[] = {{.name = "of", .value = "<7>"},
                                           {.name = "bench",
                                            .label = "Bench",
                                            .value = "shed",
                                            .choices = benches,
                                            .choices_count = 2,
                                            .proposed = true},
                                           {.name = "why", .label = "Why", .required = true}};
  const struct be_form form = {.title = "Log <it>",
                               .button = "Log",
                               .fields = fields,
                               .count = 3,
                               .does = "log",
                               .note = "Once & for all."};
  struct be_buf out;
  be_buf_init(&out, 4096);
  be_form_html(&out, &form, "unit=kg");
  assert_int_equal(be_buf_status(&out, NULL), BE_OK);
  assert_string_equal(
      out.data,
      "<section aria-labelledby=\"form-namelog\"><h2 id=\"form-namelog\">Log &lt;it&gt;</h2>\n"
      "<p class=\"note\">Once &amp; for all.</p>\n<form method=\"post\">\n"
      "<input type=\"hidden\" name=\"do\" value=\"log\">\n"
      "<input type=\"hidden\" name=\"of\" value=\"&lt;7&gt;\">\n"
      "<div><label for=\"field-log2\">Bench</label><input id=\"field-log2\" name=\"bench\" "
      "list=\"list-log2\" autocomplete=\"off\" value=\"shed\"><datalist id=\"list-log2\">\n"
      "<option value=\"shed\"></option>\n<option value=\"a&quot;b\"></option>\n"
      "</datalist></div>\n"
      "<div><label for=\"field-log3\">Why</label><input id=\"field-log3\" name=\"why\" "
      "autocomplete=\"off\" value=\"\" required></div>\n"
      "<button type=\"submit\">Log</button>\n</form></section>\n");
  be_buf_free(&out);
}

static void a_picture_stands_on_a_page_alone(void **state)
{
  (void)state;
  struct be_doc *doc = be_doc_create("d", "T");
  const struct be_doc *docs[] = {doc};
  const struct be_edition with = {.places = places, .places_count = 2}, without = {0};
  struct be_buf text;
  be_doc_sentence(doc, "First.");
  be_doc_picture(doc, "The <uni>", "/picture?of=%d&a=\"", 7);
  be_doc_picture(NULL, "Nothing", "/x");
  print_page(docs, 1, &with);
  assert_int_equal(count_of("<p class=\"picture\"><img src=\"/picture?of=7&amp;a=&quot;\" "
                            "alt=\"The &lt;uni&gt;\"></p>"),
                   1);
  print_page(docs, 1, &without);
  assert_int_equal(count_of("picture?of"), 0);
  be_buf_init(&text, 1 << 16);
  assert_int_equal(be_doc_text(doc, 0, &text, NULL), BE_OK);
  assert_null(strstr(text.data, "picture"));
  text.size = 0;
  assert_int_equal(be_doc_json(doc, &text, NULL), BE_OK);
  assert_null(strstr(text.data, "picture"));
  be_buf_free(&text);
  be_doc_free(doc);
}

static void a_folded_form_is_above(void **state)
{
  (void)state;
  static const struct be_field field = {"top", "first", NULL, NULL, 0};
  static const struct be_form form = {"Ask <again>", "Ask", "/n", &field, 1, true};
  struct be_doc *doc = be_doc_create("d", "T");
  const struct be_doc *docs[] = {doc};
  const struct be_edition edition = {.form = &form};
  print_page(docs, 1, &edition);
  assert_nested();
  assert_int_equal(count_of("<details><summary>Ask &lt;again&gt;</summary>\n<form "), 1);
  assert_int_equal(count_of("</form></details>"), 1);
  assert_int_equal(count_of("form-name"), 0);
  assert_true(strstr(page, "<form") < strstr(page, "<h1>T</h1>"));
  be_doc_free(doc);
}

/* All that a figure draws stands under it, unless that is more than one looks through. */
static void a_figure_in_numbers(void **state)
{
  (void)state;
  enum { FEW = 3, MANY = 301 };
  static const int counts[] = {FEW, MANY};
  for (int turn = 0; turn < 2; turn++) {
    struct be_doc *doc = be_doc_create("d", "T");
    struct be_figure *figure = be_figure_create("Holds", NULL, 613, 299);
    be_figure_x(figure, "turns", 1, 7, true);
    be_figure_y(figure, "load (lb)", 0, 70);
    be_figure_means(figure, "event <7>");
    for (int i = 0; i < counts[turn]; i++)
      be_figure_mark(figure, 1 + i % 7, 61.23456 + i % 3, BE_SHAPE_ROUND, BE_FILL_SOLID,
                     BE_TONE_INK);
    be_doc_figure(doc, figure);
    const struct be_doc *docs[] = {doc};
    const struct be_edition edition = {0};
    print_page(docs, 1, &edition);
    assert_nested();
    bool few = counts[turn] == FEW;
    assert_int_equal(count_of("<summary>In numbers</summary>"), few ? 1 : 0);
    assert_int_equal(count_of(">event &lt;7&gt;</th>"), few ? FEW : 0);
    assert_int_equal(count_of("<td class=\"number\">61.23</td>"), few ? 1 : 0);
    assert_int_equal(count_of("<td class=\"number\">2</td>"), few ? 1 : 0);
    be_doc_free(doc);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_page),
      cmocka_unit_test(labels),
      cmocka_unit_test(a_long_page),
      cmocka_unit_test(a_report),
      cmocka_unit_test(a_long_report),
      cmocka_unit_test(a_long_table_is_folded),
      cmocka_unit_test(heads_and_widths),
      cmocka_unit_test(little_documents),
      cmocka_unit_test(ways_and_a_form),
      cmocka_unit_test(a_form_that_is_posted),
      cmocka_unit_test(a_picture_stands_on_a_page_alone),
      cmocka_unit_test(a_folded_form_is_above),
      cmocka_unit_test(a_folded_table),
      cmocka_unit_test(a_figure_in_numbers),
  };
  return be_tests("press: html", tests);
}
