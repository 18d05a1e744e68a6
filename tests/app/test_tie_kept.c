/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What pages have of a tie, and how one comes into a book; and memory that fails on the way. */
#include "anatomy_test.h"
#include "fault/failing.h"

#include <sqlite3.h>

/* Quotes, commas, blanks at both ends, and lines of its own. */
static const char text[] = "tie thumb, or \"wind\" knot\n"
                           "  # drawn on the deck; \"as is\", 7,5\n"
                           "line A\n\n"
                           "  -12,0 -6,0 ou 4,0 6,3 o 2,6 0,3\n"
                           "  u -1,-3 2,-4 3,-1 o 3,2 u 3,9\n"
                           "pulled A first, A last  \n";

/* ---- for pages ---- */

static const char *page_json(const char *tie)
{
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  struct be_arena *arena = be_arena_create();
  if (be_tie_doc(tie, arena, &doc, &err) != BE_OK) fail_msg("%s: %s", tie, err.what);
  be_arena_free(arena);
  return doc_json(doc);
}

static void a_page_says_what_the_command_says(void **state)
{
  (void)state;
  static const char *const ties[] = {"clinch turns=3", "reef", "dowker 4 6 8 2", text};
  for (size_t i = 0; i < sizeof ties / sizeof ties[0]; i++) {
    struct be_buf page;
    be_buf_init(&page, 1 << 24);
    be_buf_text(&page, page_json(ties[i]));
    assert_string_equal(page.data,
                        asked_json(&(const struct be_anatomy){.words = &ties[i], .count = 1}));
    be_buf_free(&page);
  }
}

static void an_address_holds_any_text(void **state)
{
  (void)state;
  struct be_arena *arena = be_arena_create();
  assert_string_equal(be_tie_address(arena, "/tie", "clinch turns=7"),
                      "/tie?tie=clinch%20turns%3D7");
  assert_string_equal(be_tie_address(arena, "/tie.svg", "a&b?#\"\n\xC3\xA9%<-0.5,3"),
                      "/tie.svg?tie=a%26b%3F%23%22%0A%C3%A9%25%3C-0.5,3");
  be_arena_free(arena);
}

static void lines_in_space_are_those_of_the_tie(void **state)
{
  (void)state;
  struct be_tie tie;
  struct be_buf json;
  struct be_arena *arena = be_arena_create();
  be_buf_init(&json, 1 << 24);
  assert_int_equal(be_tie_lines("clinch turns=3", arena, &json, NULL), BE_OK);
  assert_int_equal(be_tie_named("clinch turns=3", arena, &tie, NULL), BE_OK);
  in_json(json.data, "{\"format\":1,\"name\":\"clinch\",\n\"view\":{\"right\":[");
  in_json(json.data, "\"name\":\"A\",\"tone\":\"nylon\",\"diameter\":1,\"closed\":false,"
                     "\"hardware\":false,\"loaded\":[");
  in_json(json.data, "\"name\":\"R\",\"tone\":\"muted\",\"diameter\":");
  in_json(json.data, "\"hardware\":true,\"loaded\":[false,false]");
  const struct be_point *first = &tie.lines.line[0].points[0];
  in_json(json.data, "\"points\":[[%.4f,%.4f,%.4f],", first->x, first->y, first->z);
  size_t points = 0, all = 0;
  for (const char *at = strstr(json.data, "\"lines\""); (at = strpbrk(at, "[")); at++)
    points += at[1] == '-' || (at[1] >= '0' && at[1] <= '9');
  for (size_t i = 0; i < tie.lines.count; i++) all += tie.lines.line[i].count;
  assert_int_equal(points, all);
  assert_string_equal(json.data + json.size - 5, "]}]}\n");
  be_buf_free(&json);
  be_arena_free(arena);
}

static void a_tie_that_cannot_be_read_has_neither_lines_nor_picture(void **state)
{
  (void)state;
  static const struct {
    const char *text, *what;
    enum be_status status;
  } all[] = {{"", "it is empty", BE_BAD_INPUT},
             {"clynch", "no tie is called", BE_NO},
             {"gauss 1 2", "not met once over", BE_BAD_INPUT},
             {"tie x", "there is no line in it", BE_BAD_INPUT}};
  for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
    struct be_arena *arena = be_arena_create();
    struct be_buf out;
    struct be_doc *doc = NULL;
    struct be_err err = {0};
    be_buf_init(&out, 1 << 20);
    assert_int_equal(be_tie_lines(all[i].text, arena, &out, &err), all[i].status);
    assert_non_null(strstr(err.what, all[i].what));
    err = (struct be_err){0};
    assert_int_equal(be_tie_svg(all[i].text, arena, &out, &err), all[i].status);
    assert_non_null(strstr(err.what, all[i].what));
    err = (struct be_err){0};
    assert_int_equal(be_tie_doc(all[i].text, arena, &doc, &err), all[i].status);
    assert_non_null(strstr(err.what, all[i].what));
    assert_null(doc);
    be_buf_free(&out);
    be_arena_free(arena);
  }
}

/* ---- into a book ---- */

static void new_book(char book[512], const char *name)
{
  test_book(book, name, "knot,line A,load (N)\nuni,nylon 12 lb,43.5\n", NULL);
}

static void assert_sound(const char *book)
{
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  if (be_app_check(book, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  be_doc_free(doc);
}

/* full: as the knot is printed; tie: null if it has none. */
static void assert_tie(const char *book, const char *full, const char *tie)
{
  struct survey survey;
  struct be_arena *arena = be_arena_create();
  const struct be_knot *found = NULL;
  assert_int_equal(be_survey_read(book, &(const struct be_answering){0}, arena, &survey, NULL),
                   BE_OK);
  for (size_t i = 0; i < survey.record.knots_count; i++)
    if (strcmp(survey.record.knots[i].full, full) == 0) found = &survey.record.knots[i];
  if (!found) fail_msg("no knot %s", full);
  if (tie) assert_string_equal(found->tie, tie);
  else assert_null(found->tie);
  be_arena_free(arena);
}

static void keep(const char *book, const struct be_tie_kept *kept, enum be_status status,
                 const char *what)
{
  struct be_err err = {0};
  enum be_status got = be_tie_keep(book, kept, &err);
  if (got != status || !strstr(err.what, what))
    fail_msg("%s, %s: %d, %s", kept->knot, kept->text, (int)got, err.what);
}

static void a_text_comes_back_byte_for_byte(void **state)
{
  (void)state;
  char book[512];
  new_book(book, "kept-tie.book");
  keep(book, &(const struct be_tie_kept){.knot = "uni", .text = text}, BE_OK, "");
  assert_tie(book, "uni", text);
  assert_sound(book);
  keep(book, &(const struct be_tie_kept){.knot = "uni", .text = text}, BE_OK, ""); /* again */
  keep(book,
       &(const struct be_tie_kept){
           .knot = "loop, \"new\"", .version = "well tied", .turns = "7", .text = "clinch turns=7"},
       BE_OK, "");
  keep(book, &(const struct be_tie_kept){.knot = "code", .text = "gauss 1 -2 3 -1 2 -3"}, BE_OK,
       "");
  assert_tie(book, "code", "gauss 1 -2 3 -1 2 -3");
  assert_tie(book, "uni", text);
  assert_sound(book);
}

static void another_is_refused_and_the_first_stays(void **state)
{
  (void)state;
  char book[512];
  new_book(book, "other-tie.book");
  keep(book, &(const struct be_tie_kept){.knot = "uni", .text = "uni"}, BE_OK, "");
  keep(book, &(const struct be_tie_kept){.knot = "uni", .text = "uni turns=3"}, BE_BAD_INPUT,
       "tie");
  assert_tie(book, "uni", "uni");
  assert_sound(book);
}

static void what_cannot_be_kept_is_said(void **state)
{
  (void)state;
  static const char long_name[] = "0123456789 0123456789 0123456789 0123456789 0123456789 123456";
  static const struct {
    struct be_tie_kept kept;
    enum be_status status;
    const char *what;
  } all[] = {
      {{.knot = NULL, .text = "reef"}, BE_BAD_INPUT, "does not say whose tie it is"},
      {{.knot = "", .text = "reef"}, BE_BAD_INPUT, "does not say whose tie it is"},
      {{.knot = long_name, .text = "reef"}, BE_BAD_INPUT, "the knot takes 60 bytes at most"},
      {{.knot = "uni", .version = long_name, .text = "reef"}, BE_BAD_INPUT, "its version takes 60"},
      {{.knot = "uni", .turns = long_name, .text = "reef"}, BE_BAD_INPUT, "its turns takes 60"},
      {{.knot = "two\nlines", .text = "reef"}, BE_BAD_INPUT, "the knot is on one line"},
      {{.knot = "a\ttab", .text = "reef"}, BE_BAD_INPUT, "the knot is on one line, without tabs"},
      {{.knot = "uni", .turns = "many", .text = "reef"}, BE_BAD_INPUT, "\"many\""},
      {{.knot = "uni", .text = ""}, BE_BAD_INPUT, "it is empty"},
      {{.knot = "uni", .text = "clynch"}, BE_NO, "no tie is called \"clynch\""},
      {{.knot = "uni", .text = "gauss 1 2"}, BE_BAD_INPUT, "not met once over and once under"},
      {{.knot = "none", .text = "reef"}, BE_BAD_INPUT, "a line without a knot"},
  };
  char book[512];
  new_book(book, "refused-tie.book");
  for (size_t i = 0; i < sizeof all / sizeof all[0]; i++)
    keep(book, &all[i].kept, all[i].status, all[i].what);
  assert_tie(book, "uni", NULL);
  assert_sound(book);
  test_path(book, "no-such.book");
  be_file_remove(book, NULL);
  keep(book, &(const struct be_tie_kept){.knot = "uni", .text = "reef"}, BE_BAD_INPUT,
       "there is no such book");
}

/* ---- memory ---- */

struct trial {
  struct be_anatomy asked;
  struct be_buf *whole; /* what is said when memory is plenty; null: write it to text */
  struct be_buf text;
};

static enum be_status ask(void *context, struct be_err *err)
{
  struct trial *trial = context;
  struct be_doc *doc = NULL;
  be_buf_init(&trial->text, 1 << 22);
  enum be_status status = be_app_anatomy(&trial->asked, &doc, err);
  if (status == BE_OK) status = be_doc_text(doc, 0, &trial->text, err);
  if (status == BE_OK && trial->whole && strcmp(trial->text.data, trial->whole->data) != 0)
    status = be_fail(err, BE_BAD_INPUT, "an answer that is not whole");
  be_doc_free(doc);
  if (trial->whole) be_buf_free(&trial->text);
  return status;
}

static void try_asking(const struct be_anatomy *asked, size_t known)
{
  struct trial plenty = {.asked = *asked};
  assert_int_equal(ask(&plenty, NULL), BE_OK);
  struct trial trial = {*asked, &plenty.text, {0}};
  be_fail_loop_apart(ask, &trial, known);
  be_buf_free(&plenty.text);
}

static void no_answer_is_half_an_answer(void **state)
{
  (void)state;
  static const char *const one[] = {"clinch turns=2"}, *const code[] = {"dowker 4 6 2"},
                           *const two[] = {"reef", "thief"};
  try_asking(&(const struct be_anatomy){0}, 10);
  try_asking(&(const struct be_anatomy){.words = one, .count = 1}, 100);
  try_asking(&(const struct be_anatomy){.words = code, .count = 1}, 100);
  try_asking(&(const struct be_anatomy){.words = two, .count = 2, .compares = true}, 100);
}

static enum be_status ask_lines(void *context, struct be_err *err)
{
  struct be_buf json, svg;
  struct be_arena *arena = be_arena_create();
  be_buf_init(&json, 1 << 22);
  be_buf_init(&svg, 1 << 22);
  enum be_status status = arena ? be_tie_lines(context, arena, &json, err) : be_no_memory(err);
  if (status == BE_OK) status = be_tie_svg(context, arena, &svg, err);
  if (status == BE_OK) status = be_buf_status(&svg, err);
  if (status == BE_OK && (strcmp(json.data + json.size - 5, "]}]}\n") != 0 ||
                          !strstr(svg.data + svg.size - 8, "</svg>")))
    status = be_fail(err, BE_BAD_INPUT, "lines or a picture that are not whole");
  be_buf_free(&json);
  be_buf_free(&svg);
  be_arena_free(arena);
  return status;
}

static void lines_and_pictures_are_whole(void **state)
{
  (void)state;
  char words[] = "overhand";
  be_fail_loop_apart(ask_lines, words, 50);
}

/* At some of the points, for each is an entering. */
static void a_tie_is_kept_or_it_is_not(void **state)
{
  (void)state;
  char book[512];
  const struct be_tie_kept kept = {.knot = "uni", .text = text};
  size_t failed = 0;
  new_book(book, "scant-tie.book");
  for (size_t at = 1;; at += at / 9 + 1) {
    struct be_failing failing = {0};
    struct be_err err = {0};
    assert_true(at < BE_FAIL_POINTS_MAX);
    sqlite3_shutdown();
    be_failing_start(&failing, at, true);
    enum be_status status = be_tie_keep(book, &kept, &err);
    sqlite3_shutdown();
    be_failing_stop();
    assert_int_equal(failing.blocks, 0);
    assert_int_equal(failing.broken, 0);
    if (status == BE_OK) break;
    if (status != BE_NO_MEMORY) fail_msg("at %zu: %s", at, err.what);
    assert_tie(book, "uni", NULL);
    failed++;
  }
  assert_true(failed > 30);
  assert_tie(book, "uni", text);
  assert_sound(book);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_page_says_what_the_command_says),
      cmocka_unit_test(an_address_holds_any_text),
      cmocka_unit_test(lines_in_space_are_those_of_the_tie),
      cmocka_unit_test(a_tie_that_cannot_be_read_has_neither_lines_nor_picture),
      cmocka_unit_test(a_text_comes_back_byte_for_byte),
      cmocka_unit_test(another_is_refused_and_the_first_stays),
      cmocka_unit_test(what_cannot_be_kept_is_said),
      cmocka_unit_test(no_answer_is_half_an_answer),
      cmocka_unit_test(lines_and_pictures_are_whole),
      cmocka_unit_test(a_tie_is_kept_or_it_is_not),
  };
  return be_tests("app: ties kept", tests);
}
