/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ties that nobody drew: each is told within moments why it cannot be had, or is had. */
#include "app/anatomy/anatomy.h"

#include "test.h"
#include "web/web.h"

enum { TEXT_MAX = 256 * 1024 };

struct tried {
  struct be_arena *arena;
  struct be_buf text, json;
  struct be_err err;
  enum be_status status;
};

static struct tried begin(void)
{
  struct tried tried = {.arena = be_arena_create()};
  assert_non_null(tried.arena);
  be_buf_init(&tried.text, TEXT_MAX);
  be_buf_init(&tried.json, TEXT_MAX);
  return tried;
}

/* As a page asks. */
static void try(struct tried *tried)
{
  struct be_doc *doc = NULL;
  assert_int_equal(be_buf_status(&tried->text, NULL), BE_OK);
  tried->status = be_tie_doc(tried->text.data, tried->arena, &doc, &tried->err);
  if (tried->status == BE_OK) assert_int_equal(be_doc_json(doc, &tried->json, NULL), BE_OK);
  be_doc_free(doc);
}

static void end(struct tried *tried)
{
  be_arena_free(tried->arena);
  be_buf_free(&tried->text);
  be_buf_free(&tried->json);
}

static void try_refused(struct tried *tried, enum be_status status, const char *words)
{
  try(tried);
  assert_int_equal(tried->status, status);
  if (!strstr(tried->err.what, words)) fail_msg("%s", tried->err.what);
  end(tried);
}

static void a_line_that_crosses_nothing_is_a_tie(void **state)
{
  (void)state;
  struct tried tried = begin();
  be_buf_text(&tried.text, "0,0,0\n7,0,0\n9,3,1\n");
  try(&tried);
  assert_int_equal(tried.status, BE_OK);
  assert_non_null(strstr(tried.json.data, "has 0 crossings"));
  assert_null(strstr(tried.json.data, "Of the crossings"));
  end(&tried);
}

static void one_crossing_is_no_plural(void **state)
{
  (void)state;
  struct tried tried = begin();
  be_buf_text(&tried.text, "tie <b>\nline A\n-4,0 u 5,0 5,3 2,3 o 2,-4\npulled A first\n");
  try(&tried);
  assert_int_equal(tried.status, BE_OK);
  assert_non_null(strstr(tried.json.data, "of one line, has 1 crossing as"));
  end(&tried);
}

static void a_table_may_have_a_head(void **state)
{
  (void)state;
  struct tried tried = begin();
  be_buf_text(&tried.text, "x,y,z\n0,0,0\n7,0,0\n9,3,1\n");
  try(&tried);
  assert_int_equal(tried.status, BE_OK);
  end(&tried);
  tried = begin();
  be_buf_text(&tried.text, "x,y\n0,0,0\n7,0,0\n9,3,1\n");
  try_refused(&tried, BE_BAD_INPUT, "neither a number nor");
}

static void a_tangle_of_many_crossings_is_too_large(void **state)
{
  (void)state;
  struct tried tried = begin();
  struct be_random stream;
  be_random_init(&stream, 11, 0);
  for (int i = 0; i < 300; i++)
    for (int axis = 0; axis < 3; axis++)
      be_buf_format(&tried.text, "%.4f%c", 9 * be_random_unit(&stream), axis < 2 ? ',' : '\n');
  try_refused(&tried, BE_TOO_LARGE, "a tie may have 400 crossings");
}

static void so_are_many_points(void **state)
{
  (void)state;
  struct tried tried = begin();
  for (int i = 0; i < 8001; i++) be_buf_format(&tried.text, "%d 0 0\n", i % 7);
  try_refused(&tried, BE_TOO_LARGE, "a tie may have 8000 points, and this has 8001");
}

static void a_code_of_many_crossings_is_too_large(void **state)
{
  (void)state;
  struct tried tried = begin();
  be_buf_text(&tried.text, "gauss");
  for (int i = 0; i < 2 * 501; i++)
    be_buf_format(&tried.text, " %d", (i % 501 + 1) * (i % 2 ? 1 : -1));
  try_refused(&tried, BE_TOO_LARGE, "a code may have 80 crossings, and this has 501");
}

static void blocks_in_blocks_are_too_much(void **state)
{
  (void)state;
  struct tried tried = begin();
  be_buf_text(&tried.text, "tie nest\nline A\n0,0\n");
  for (int i = 0; i < 4; i++) be_buf_text(&tried.text, "repeat 1000\n");
  be_buf_text(&tried.text, "i,0 0,i\n");
  for (int i = 0; i < 4; i++) be_buf_text(&tried.text, "end\n");
  try_refused(&tried, BE_TOO_LARGE, "too much to draw");
}

static void a_long_text_is_no_name(void **state)
{
  (void)state;
  struct tried tried = begin();
  for (int i = 0; i < 9000; i++) be_buf_text(&tried.text, "knot, ");
  try_refused(&tried, BE_NO, "no name of a tie");
  tried = begin();
  be_buf_text(&tried.text, "nan,0,0\n1,2,3\n");
  try_refused(&tried, BE_NO, "no name of a tie");
  tried = begin();
  be_buf_text(&tried.text, " \n");
  try_refused(&tried, BE_BAD_INPUT, "empty");
}

static void a_page_takes_no_more_than_notation(void **state)
{
  (void)state;
  struct tried tried = begin();
  while (tried.text.size <= BE_TIE_TEXT_MAX) be_buf_text(&tried.text, "# nothing\n");
  be_buf_text(&tried.text, "0,0,0\n1,2,3\n");
  try_refused(&tried, BE_TOO_LARGE, "at most 65536 bytes");
}

/* Ends that lie one behind the other cannot be led out straight: the rest is told all the same. */
static void joins_that_meet_are_left_out(void **state)
{
  (void)state;
  struct tried tried = begin();
  be_buf_text(&tried.text, "-9,0,0\n0,1,1\n9,0,0\n\nline B\n-18,0,0\n-12,-6,0\n0,-6,0\n2,6,0\n"
                           "12,6,0\n18,0,0\n");
  try(&tried);
  assert_int_equal(tried.status, BE_OK);
  assert_non_null(strstr(tried.json.data, "A closure is left out, \\\""));
  assert_non_null(strstr(tried.json.data, "\"name\":\"crossings\""));
  end(&tried);
}

static void a_long_tie_has_no_picture(void **state)
{
  (void)state;
  struct tried tried = begin();
  while (tried.text.size <= BE_ADDRESS_MAX) be_buf_text(&tried.text, "# nothing\n");
  be_buf_text(&tried.text, "0,0,0\n7,0,0\n9,3,1\n");
  try(&tried);
  assert_int_equal(tried.status, BE_OK);
  assert_non_null(strstr(tried.json.data, "too long for a picture"));
  end(&tried);
}

static void a_picture_says_no_more_than_the_page(void **state)
{
  (void)state;
  struct tried tried = begin();
  assert_int_equal(be_tie_svg("reef", tried.arena, &tried.json, &tried.err), BE_OK);
  assert_non_null(strstr(tried.json.data, "6 crossings as it is usually drawn"));
  end(&tried);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_line_that_crosses_nothing_is_a_tie),
      cmocka_unit_test(one_crossing_is_no_plural),
      cmocka_unit_test(a_table_may_have_a_head),
      cmocka_unit_test(a_tangle_of_many_crossings_is_too_large),
      cmocka_unit_test(so_are_many_points),
      cmocka_unit_test(a_code_of_many_crossings_is_too_large),
      cmocka_unit_test(blocks_in_blocks_are_too_much),
      cmocka_unit_test(a_long_text_is_no_name),
      cmocka_unit_test(a_page_takes_no_more_than_notation),
      cmocka_unit_test(joins_that_meet_are_left_out),
      cmocka_unit_test(a_long_tie_has_no_picture),
      cmocka_unit_test(a_picture_says_no_more_than_the_page),
  };
  return be_tests("app: hard ties", tests);
}
