/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Texts and numbers of clips, of any length, script and size. */
#define _POSIX_C_SOURCE 200809L
#include "clips_test.h"

#include "app/clips/overlay.h"
#include "app/clips/paint.h"
#include "app/clips/reveal.h"

static void a_word_too_long_for_a_line_goes_on_in_the_next(void **state)
{
  static const char *const names[] = {
      ("\xE7\xB5\x90\xE3\x81\xB3\xE7\x9B\xAE\xE3\x81\xAE\xE5\x90\x8D\xE5\x89\x8D\xE3\x81\x8C"
       "\xE9\x95\xB7\xE3\x81\x84\xE7\xB5\x90\xE3\x81\xB3\xE7\x9B\xAE"),
      "doubleoverhandloopwithseventurns", "a doubleoverhandloopwithseventurns it is",
      "<script>alert(1)</script>&co"};
  cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, 1, 1);
  cairo_t *to = cairo_create(surface);
  const struct lettering how = {20, false, HOLD_LEFT};
  char lines[LINES_MAX][LINE_BYTES], all[200], name[200];
  (void)state;
  for (size_t i = 0; i < 4; i++) {
    size_t count = be_paint_lines(to, names[i], &how, 170, 4, lines);
    assert_in_range(count, 2, 4);
    all[0] = name[0] = '\0';
    for (size_t k = 0; k < count; k++) {
      assert_true(be_paint_wide(to, lines[k], &how) <= 170);
      assert_true(be_utf8_valid(lines[k], strlen(lines[k])));
      strcat(all, lines[k]);
    }
    for (const char *at = names[i]; *at; at++) strncat(name, *at == ' ' ? "" : at, 1);
    for (char *at = all; *at;)
      if (*at == ' ') memmove(at, at + 1, strlen(at));
      else at++;
    assert_string_equal(all, name);
    /* What finds no room ends in three points. */
    count = be_paint_lines(to, names[i], &how, 90, 2, lines);
    assert_int_equal(count, 2);
    assert_non_null(strstr(lines[1], "\xE2\x80\xA6"));
    assert_true(be_paint_wide(to, lines[1], &how) <= 90);
  }
  cairo_destroy(to);
  cairo_surface_destroy(surface);
}

/* Beside loads of kilonewtons a pull of grams has its figures. */
static void a_small_load_has_two_figures(void **state)
{
  struct survey survey;
  struct overlay overlay;
  struct be_err err = {0};
  char path[512], words[LOAD_BYTES];
  (void)state;
  test_book(path, "small.book",
            TEST_HEAD "p1,none,wire,S1,,dry,500,41300,broke,clear of it,,\n"
                      "p2,none,wire,S1,,dry,500,40700,broke,clear of it,,\n"
                      "Q7,palomar,hair,H1,,dry,500,0.213,broke,in the knot,,\n",
            NULL);
  write_trace(path, "Q7");
  struct be_arena *arena = be_arena_create();
  struct be_doc *doc = be_doc_create("t", "t");
  const struct be_answering how = {0};
  assert_int_equal(be_survey_read(path, &how, arena, &survey, &err), BE_OK);
  assert_int_equal(be_overlay_make(&survey, "Q7", 1920, 1080, doc, &overlay, &err), BE_OK);
  be_overlay_words(&overlay, overlay.peak_N, words);
  assert_string_equal(words, "0.21 N");
  be_doc_free(doc);
  be_arena_free(arena);
}

/* U+E123 is nobody's letter (The Unicode Standard, private use). */
static void letters_without_a_font_are_told(void **state)
{
  struct be_doc *doc = be_doc_create("t", "t");
  struct be_buf text;
  (void)state;
  be_paint_say_lacks("palomar \xCE\xB1 \xE2\x80\x93", doc);
  be_buf_init(&text, 1 << 16);
  assert_int_equal(be_doc_text(doc, 100, &text, NULL), BE_OK);
  assert_null(strstr(text.data, "boxes"));
  be_buf_free(&text);
  be_paint_say_lacks("knot \xEE\x84\xA3", doc);
  assert_true(says(doc, "Letters of \"knot \xEE\x84\xA3\" are in no font here"));
  be_doc_free(doc);
}

/* The longest rank keeps clear of the name beside it. */
static void ranks_of_any_length_have_room(void **state)
{
  struct reveal_row row = {.name = "palomar",
                           .rank = "100\xE2\x80\x93"
                                   "120"};
  struct reveal reveal = {.rows = &row, .count = 1};
  const struct lettering small = {36, false, HOLD_LEFT};
  cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, 1, 1);
  cairo_t *to = cairo_create(surface);
  (void)state;
  for (int tall = 0; tall < 2; tall++) {
    reveal.width = tall ? 1080 : 1920;
    reveal.height = tall ? 1920 : 1080;
    assert_int_equal(be_reveal_lay_out(&reveal, NULL), BE_OK);
    assert_true(reveal.rank_wide > be_paint_wide(to, row.rank, &small) * (tall ? 64 : 36) / 36);
  }
  cairo_destroy(to);
  cairo_surface_destroy(surface);
}

static void what_cannot_be_shown_says_what_to_do(void **state)
{
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  char path[512], sound[512];
  (void)state;
  test_book(book, "bounds.book",
            TEST_HEAD "b1,palomar,nylon 12 lb,S1,,dry,500,61.9,broke,clear of it,,\n"
                      "b2,half blood,nylon 12 lb,S1,,dry,500,62.9,broke,clear of it,,\n",
            NULL);
  test_path(path, "bounds.mp4");
  assert_int_equal(publish(&ASK(.reveal = "standings", .clip_path = path), &doc, &err),
                   BE_BAD_INPUT);
  assert_non_null(strstr(err.remedy, "let go"));
  /* Sound without frames, and a picture. */
  write_trace(book, "b1");
  test_path(sound, "sound.wav");
  char command[1200];
  snprintf(command, sizeof command, "ffmpeg -v error -y -f lavfi -i sine=d=2 '%s'", sound);
  assert_int_equal(system(command), 0);
  assert_int_equal(
      publish(&ASK(.overlay = "b1", .clip_path = path, .footage_path = sound), &doc, &err),
      BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "no frames"));
  assert_non_null(strstr(err.remedy, "film of the pull"));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_word_too_long_for_a_line_goes_on_in_the_next),
      cmocka_unit_test(a_small_load_has_two_figures),
      cmocka_unit_test(letters_without_a_font_are_told),
      cmocka_unit_test(what_cannot_be_shown_says_what_to_do),
      cmocka_unit_test(ranks_of_any_length_have_room),
  };
  return be_tests("app: words of clips", tests);
}
