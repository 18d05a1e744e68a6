/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cards say what is so: the material that speaks, what a range is of, where an interval ends. */
#define _POSIX_C_SOURCE 200809L
#include "app/cards/tell.h"
#include "app_test.h"

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

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_weaker_line_speaks),
  };
  return be_tests("app: cards that are true", tests);
}
