/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Markdown: whole documents, and texts that would mark something if they could. */
#include "sample.h"

static void assert_markdown(const struct be_doc *doc, const char *want)
{
  struct be_buf out;
  be_buf_init(&out, 1 << 16);
  assert_printed(be_doc_markdown(doc, &out, NULL), &out, want);
  be_buf_free(&out);
}

static void the_whole_document(void **state)
{
  (void)state;
  struct be_doc *doc = sample();
  assert_markdown(doc, "# How strong & how sure?\n"
                       "\n"
                       "The knot kept 87 % of the line, &lt;between&gt; 83 and 91.\n"
                       "\n"
                       "> **CAUTION** A stretched line whips back: \"stand clear\".\n"
                       "\n"
                       "- seed: 20260301\n"
                       "- plain line: 25.3 lb & more\n"
                       "\n"
                       "## Strength of all\n"
                       "\n"
                       "**Strength**\n"
                       "\n"
                       "| knot              | mean (lb) | 95 % interval |  slipped |\n"
                       "| ----------------- | --------: | ------------: | -------: |\n"
                       "| F & G, \"19\" wraps |     17.30 |  [15.9, 18.8] |  3 of 10 |\n"
                       "| Zoë's loop        |    107    |       [-∞, -] |          |\n"
                       "| bad � byte        |      -    |             - | not seen |\n"
                       "\n"
                       "Divided by the weaker line.\n"
                       "\n"
                       "**Figure: Holds & slips**\n"
                       "\n"
                       "One knot, &lt;one&gt; pull at 37 % and � bell.\n");
  be_doc_free(doc);
}

static void texts_mark_nothing(void **state)
{
  (void)state;
  static const struct {
    const char *text, *want;
  } cases[] = {
      {"a|b", "a\\|b"},
      {"*two* _bars_ `code` ~~gone~~ $x$",
       "\\*two\\* \\_bars\\_ \\`code\\` \\~\\~gone\\~\\~ \\$x\\$"},
      {"back\\slash", "back\\\\slash"},
      {"<b>&amp; &#64; R & D", "&lt;b&gt;&amp;amp; &amp;#64; R & D"},
      {"77 % [72, 82]", "77 % [72, 82]"},
      {"[a](b) [a][b] [a]: b", "[a\\](b) [a\\][b] [a\\]: b"},
      {"17. of March", "17\\. of March"},
      {"17) more", "17\\) more"},
      {"17 pulls", "17 pulls"},
      {"- 3 lb", "\\- 3 lb"},
      {"# one", "\\# one"},
      {"===", "\\==="},
      {"    indented\n\nlines\tof", "indented  lines of"},
      {"Zoë \xE2\x80\x94 \xF0\x9F\xA7\xB5", "Zoë \xE2\x80\x94 \xF0\x9F\xA7\xB5"},
      {"", ""},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char want[200];
    struct be_doc *doc = be_doc_create("d", "T");
    be_doc_sentence(doc, "%s", cases[i].text);
    snprintf(want, sizeof want, "# T\n\n%s\n", cases[i].want);
    assert_markdown(doc, want);
    be_doc_free(doc);
  }
}

static void cells_stay_in_their_table(void **state)
{
  (void)state;
  static const struct be_column columns[] = {{"a", "a | b", BE_COLUMN_TEXT, false},
                                             {"hidden", "hidden", BE_COLUMN_TEXT, true},
                                             {"n", "n", BE_COLUMN_NUMBER, false}};
  struct be_doc *doc = be_doc_create("d", "T");
  be_doc_heading(doc, "Named above");
  struct be_table *table = be_doc_table(doc, "t", "Named above", columns, 3);
  be_table_text(table, "x | y\nz \\");
  be_table_text(table, "never seen");
  be_table_number(table, 37.25, 2);
  be_doc_table(doc, "none", "Nothing", columns, 3);
  be_doc_table(doc, "programs", "Hidden", &columns[1], 1);
  be_doc_picture(doc, "a knot", "/tie.svg");
  assert_markdown(doc, "# T\n"
                       "\n"
                       "## Named above\n"
                       "\n"
                       "| a \\| b      |     n |\n"
                       "| ----------- | ----: |\n"
                       "| x \\| y z \\\\ | 37.25 |\n"
                       "\n"
                       "**Nothing**\n"
                       "\n"
                       "| a \\| b |   n |\n"
                       "| ------ | --: |\n"
                       "\n"
                       "(no rows)\n");
  be_doc_free(doc);
}

static void a_document_that_failed_says_so(void **state)
{
  (void)state;
  struct be_buf out;
  struct be_err err = {0};
  be_buf_init(&out, 1 << 16);
  assert_int_equal(be_doc_markdown(NULL, &out, &err), BE_NO_MEMORY);
  assert_non_null(strstr(err.what, "document"));
  be_buf_free(&out);
  struct be_doc *doc = sample();
  be_buf_init(&out, 100);
  assert_int_equal(be_doc_markdown(doc, &out, NULL), BE_TOO_LARGE);
  be_buf_free(&out);
  be_doc_free(doc);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_whole_document),
      cmocka_unit_test(texts_mark_nothing),
      cmocka_unit_test(cells_stay_in_their_table),
      cmocka_unit_test(a_document_that_failed_says_so),
  };
  return be_tests("press: Markdown", tests);
}
