/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cards say what is so: the material that speaks, what a range is of, where an interval ends. */
#define _POSIX_C_SOURCE 200809L
#include "app/cards/tell.h"
#include "app_test.h"

#include <cairo.h>

/* ---- the material that speaks ---- */

static const char joints[] =
    "specimen,knot,line A,line B,load (lb),what,where\n"
    "p1,none,braid 20 lb,,21.3,broke,clear\np2,none,braid 20 lb,,20.7,broke,clear\n"
    "p3,none,fluoro 8 lb,,8.7,broke,clear\np4,none,fluoro 8 lb,,8.3,broke,clear\n"
    "a1,grinner,braid 20 lb,fluoro 8 lb,7.1,broke,in the knot\na2,grinner,braid 20 lb,fluoro 8 "
    "lb,7.3,broke,in the knot\n"
    "b1,blood,braid 20 lb,fluoro 8 lb,6.1,broke,in the knot\nb2,blood,braid 20 lb,fluoro 8 "
    "lb,6.3,broke,in the knot\n"
    /* never pulled plain: by their labels */
    "c1,grinner,braid 30 lb,nylon 10 lb,9.1,broke,in the knot\nc2,blood,braid 30 lb,nylon 10 "
    "lb,8.3,broke,in the knot\n"
    "c3,grinner,braid 30 lb,nylon 10 lb,9.4,broke,in the knot\nc4,blood,braid 30 lb,nylon 10 "
    "lb,8.1,broke,in the knot\n";

static void the_weaker_line_speaks(void **state)
{
  (void)state;
  struct survey survey;
  struct card card;
  struct place *places;
  size_t count, seen = 0;
  struct be_arena *arena = test_survey("cards-tone", joints, &survey);
  assert_int_equal(be_places(&survey, &places, &count, NULL), BE_OK);
  for (size_t i = 0; i < count; i++) {
    bool fluoro = strstr(places[i].name, "fluoro") != NULL;
    if (!be_place_ranked(&places[i])) continue;
    assert_int_equal(be_place_rank(&survey, &places[i], NULL), BE_OK);
    assert_int_equal(be_card_of_place(&survey, &places[i], &card, NULL), BE_OK);
    for (size_t k = 0; k < card.items_count; k++, seen++)
      assert_int_equal(card.items[k].bar.tone, fluoro ? BE_TONE_FLUOROCARBON : BE_TONE_NYLON);
  }
  assert_true(seen >= 4);
  for (size_t i = 0; i < survey.record.pulls_count; i++) {
    const struct be_pull *pull = &survey.record.pulls[i];
    const char *b = pull->line_b < 0 ? NULL : survey.record.lines[pull->line_b].name;
    if (b)
      assert_int_equal(be_look_of_pull(&survey, pull).tone,
                       strstr(b, "nylon") ? BE_TONE_NYLON : BE_TONE_FLUOROCARBON);
  }
  be_arena_free(arena);
}

/* ---- ranges and intervals ---- */

static const char loads[] =
    "specimen,knot,line A,load (lb),result,what,where,reason\n"
    "p1,none,nylon 12 lb,13.2,,broke,clear,\np2,none,nylon 12 lb,13.6,,broke,clear,\n"
    "a1,palomar,nylon 12 lb,11.3,,broke,in the knot,\na2,palomar,nylon 12 lb,12.7,,broke,in the "
    "knot,\n"
    "a3,palomar,nylon 12 lb,13.9,lower bound,broke,clear of it,\n"
    "a4,palomar,nylon 12 lb,10.1,lower bound,nothing,,\na5,palomar,nylon 12 lb,,void,,,wet\n"
    "b1,uni,nylon 12 lb,4.1,,broke,in the knot,\nb2,uni,nylon 12 lb,12.9,,broke,in the knot,\n"
    "c1,reef,nylon 12 lb,9.1,lower bound,nothing,,\nd1,granny,nylon 12 lb,,void,,,lost\n";

static const struct cell *cell_named(const struct survey *survey, const char *knot)
{
  for (size_t i = 0; i < survey->cells_count; i++)
    if (strcmp(be_cell_name(survey, &survey->cells[i]), knot) == 0) return &survey->cells[i];
  fail_msg("no cell of %s", knot);
  return NULL;
}

static const char *foot_with(const struct card *card, const char *words)
{
  for (size_t i = 0; i < card->feet; i++)
    if (strstr(card->foot[i].text, words)) return card->foot[i].text;
  return NULL;
}

static void a_range_tells_events_and_bounds_apart(void **state)
{
  (void)state;
  struct survey survey;
  struct card card;
  struct be_arena *arena = test_survey("cards-range", loads, &survey);
  assert_int_equal(be_card_of_result(&survey, cell_named(&survey, "palomar"), &card, NULL), BE_OK);
  assert_string_equal(card.items[0].text, "Every pull but 1 void");
  assert_string_equal(card.items[0].value,
                      "let go at 11.3 to 12.7 lb; held at least 10.1 to 13.9 lb");
  assert_int_equal(be_card_of_result(&survey, cell_named(&survey, "reef"), &card, NULL), BE_OK);
  assert_string_equal(card.items[0].value, "held at least 9.1 lb");
  assert_non_null(foot_with(&card, "Bars: pulls (arrow: held at least), 0 to"));
  be_arena_free(arena);
}

static void brackets_are_explained_where_there_are_any(void **state)
{
  (void)state;
  struct survey survey;
  struct card card;
  struct be_arena *arena = test_survey("cards-brackets", loads, &survey);
  assert_int_equal(be_card_of_result(&survey, cell_named(&survey, "palomar"), &card, NULL), BE_OK);
  assert_non_null(foot_with(&card, "95 % sure, by how far pulls differ; errors of the rig"));
  assert_non_null(foot_with(&card, "For angling only"));
  assert_int_equal(be_card_of_result(&survey, cell_named(&survey, "granny"), &card, NULL), BE_OK);
  assert_null(foot_with(&card, "Brackets"));
  assert_non_null(foot_with(&card, "For angling only"));
  be_arena_free(arena);
}

static size_t count_of(const char *text, const char *what)
{
  size_t count = 0;
  for (; (text = strstr(text, what)) != NULL; text += strlen(what)) count++;
  return count;
}

/* Two pulls of 4.1 and 12.9 lb tell next to nothing of their mean: t(0.975; 1) = 12.7. */
static void an_interval_past_the_end_has_an_arrow(void **state)
{
  (void)state;
  struct survey survey;
  struct card card;
  struct be_arena *arena = test_survey("cards-past", loads, &survey);
  size_t strokes[2];
  for (int shorter = 0; shorter < 2; shorter++) {
    struct be_drawing *drawing = NULL;
    struct be_buf svg;
    size_t count;
    assert_int_equal(be_card_of_result(&survey, cell_named(&survey, "uni"), &card, NULL), BE_OK);
    struct bar *bar = &card.items[0].bar;
    assert_true(bar->high > bar->end);
    assert_non_null(foot_with(&card, "(arrow: it goes on)"));
    if (shorter) bar->high = bar->value + 1;
    be_buf_init(&svg, 1 << 24);
    assert_int_equal(be_card_draw(&card, &be_card_sizes[0], 0, &count, &drawing, NULL), BE_OK);
    assert_int_equal(be_drawing_clear_svg(drawing, false, &svg, NULL), BE_OK);
    strokes[shorter] = count_of(svg.data, "<path");
    be_buf_free(&svg);
    be_drawing_free(drawing);
  }
  assert_true(strokes[0] > strokes[1]); /* its head */
  assert_int_equal(be_card_of_result(&survey, cell_named(&survey, "palomar"), &card, NULL), BE_OK);
  be_arena_free(arena);
}

/* ---- which are written ---- */

static enum be_status publish(const char *book, const char *folder, const char *of,
                              const char *ground, struct be_err *err)
{
  const struct be_publishing asked = {.cards_path = folder, .of = of, .ground = ground};
  const struct be_answering how = {.resamples = 20};
  struct be_doc *doc = NULL;
  enum be_status status = be_app_publish(book, &asked, &how, &doc, err);
  be_doc_free(doc);
  return status;
}

static bool is_there(const char *folder, const char *name)
{
  char path[700];
  snprintf(path, sizeof path, "%.500s/%s", folder, name);
  return be_file_exists(path);
}

static void a_ground_that_is_told_is_the_only_one(void **state)
{
  (void)state;
  char book[512], folder[512];
  struct be_err err = {0};
  test_book(book, "cards-ground", joints, NULL);
  test_path(folder, "cards-ground-dark");
  assert_int_equal(publish(book, folder, "a1", "dark", &err), BE_OK);
  assert_true(is_there(folder, "specimen-a1-wide-dark.png"));
  assert_false(is_there(folder, "specimen-a1-wide.png"));
  test_path(folder, "cards-ground-light");
  assert_int_equal(publish(book, folder, "a1", "light", &err), BE_OK);
  assert_false(is_there(folder, "specimen-a1-wide-dark.png"));
  assert_true(is_there(folder, "specimen-a1-wide.png"));
  test_path(folder, "cards-ground-clear");
  assert_int_equal(publish(book, folder, "a1", "clear", &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "light or dark, not \"clear\""));
  assert_false(is_there(folder, "specimen-a1.txt"));
}

static void a_code_is_found_in_capitals_and_its_neighbours_are_named(void **state)
{
  (void)state;
  char book[512], folder[512];
  struct be_err err = {0};
  test_book(book, "cards-codes", joints, NULL);
  test_path(folder, "cards-codes-folder");
  assert_int_equal(publish(book, folder, "A1", "light", &err), BE_OK);
  assert_true(is_there(folder, "specimen-a1-wide.png"));
  assert_int_equal(publish(book, folder, "d1", NULL, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "no pull has the code \"d1\""));
  assert_string_equal(err.remedy, "near it: p1, a1, b1, c1");
  assert_int_equal(publish(book, folder, "quite-another", NULL, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.remedy, "such as p1"));
}

/* Pictures and texts of other people, however alike their first bytes are. */
static void what_others_drew_and_wrote_stays(void **state)
{
  (void)state;
  char book[512], folder[512], path[700];
  struct be_err err = {0};
  test_book(book, "cards-others", joints, NULL);
  test_path(folder, "cards-others-folder");
  assert_int_equal(be_dir_create(folder, NULL), BE_OK);
  snprintf(path, sizeof path, "%.500s/specimen-a1-wide.png", folder);
  cairo_surface_t *holiday = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, 7, 5);
  assert_int_equal(cairo_surface_write_to_png(holiday, path), CAIRO_STATUS_SUCCESS);
  cairo_surface_destroy(holiday);
  assert_int_equal(publish(book, folder, "a1", NULL, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "no picture of this program"));
  assert_int_equal(be_file_remove(path, NULL), BE_OK);
  snprintf(path, sizeof path, "%.500s/specimen-a1.txt", folder);
  assert_int_equal(be_file_remove(path, NULL), BE_OK);
  test_write(path, "Card: happy birthday\n");
  assert_int_equal(publish(book, folder, "a1", NULL, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "no card of this program"));
  assert_int_equal(be_file_remove(path, NULL), BE_OK);
  assert_int_equal(publish(book, folder, "a1", NULL, &err), BE_OK);
  assert_int_equal(publish(book, folder, "a1", NULL, &err), BE_OK); /* over its own */
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_weaker_line_speaks),
      cmocka_unit_test(a_range_tells_events_and_bounds_apart),
      cmocka_unit_test(brackets_are_explained_where_there_are_any),
      cmocka_unit_test(an_interval_past_the_end_has_an_arrow),
      cmocka_unit_test(a_ground_that_is_told_is_the_only_one),
      cmocka_unit_test(a_code_is_found_in_capitals_and_its_neighbours_are_named),
      cmocka_unit_test(what_others_drew_and_wrote_stays),
  };
  return be_tests("app: cards that are true", tests);
}
