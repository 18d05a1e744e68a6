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
      cmocka_unit_test(a_ground_that_is_told_is_the_only_one),
      cmocka_unit_test(a_code_is_found_in_capitals_and_its_neighbours_are_named),
      cmocka_unit_test(what_others_drew_and_wrote_stays),
  };
  return be_tests("app: cards that are true", tests);
}
