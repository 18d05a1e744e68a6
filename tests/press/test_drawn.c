/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drawings in documents. */
#include "press/press.h"
#include "test.h"

static void a_drawing_is_shown_as_a_figure_is(void **state)
{
  (void)state;
  static const double x[] = {13, 97}, y[] = {7, 41};
  struct be_doc *doc = be_doc_create("d", "T");
  struct be_drawing *drawing = be_drawing_create("A & B", "how <it> runs", 110, 57);
  struct be_buf text, json;
  be_drawing_stroke(drawing, x, y, 2, 3, BE_TONE_INK, true);
  be_drawing_twin(drawing, "One line, from %s.", "left to right");
  be_doc_drawing(doc, drawing);
  be_doc_drawing(NULL, be_drawing_create("freed all the same", NULL, 3, 4));
  const struct be_doc *docs[] = {doc};
  const struct be_edition edition = {0};
  be_buf_init(&text, 1 << 20);
  assert_int_equal(be_doc_html(docs, 1, &edition, &text, NULL), BE_OK);
  const char *svg = strstr(text.data, "<svg ");
  assert_non_null(svg);
  assert_null(strstr(svg + 1, "<svg "));
  assert_non_null(strstr(text.data, "<p class=\"subtitle\">how &lt;it&gt; runs</p>"));
  assert_non_null(
      strstr(text.data, "<summary>In words</summary><p>One line, from left to right.</p>"));
  be_buf_free(&text);
  be_buf_init(&text, 1 << 16);
  be_buf_init(&json, 1 << 16);
  assert_int_equal(be_doc_text(doc, 0, &text, NULL), BE_OK);
  assert_non_null(strstr(text.data, "Figure: A & B\n  One line, from left to right."));
  assert_int_equal(be_doc_json(doc, &json, NULL), BE_OK);
  assert_non_null(strstr(json.data, "{\"title\":\"A & B\",\"subtitle\":\"how <it> runs\","
                                    "\"words\":\"One line, from left to right.\"}"));
  be_buf_free(&text);
  be_buf_free(&json);
  be_doc_free(doc);
  doc = be_doc_create("d", "T");
  be_doc_drawing(doc, NULL);
  be_buf_init(&text, 1 << 16);
  assert_int_equal(be_doc_text(doc, 0, &text, NULL), BE_NO_MEMORY);
  be_buf_free(&text);
  be_doc_free(doc);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_drawing_is_shown_as_a_figure_is),
  };
  return be_tests("press: drawings", tests);
}
