/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is said of ties: numbers that are known from elsewhere, two ties compared, and what is
 * refused. Torus knots, codes and the reef and granny closed: D. Rolfsen, Knots and Links (1976),
 * table C, and the arithmetic of T(2, 2n + 1). */
#include "anatomy_test.h"

static const char *one_of(const char *word)
{
  return asked_json(&(const struct be_anatomy){.words = &word, .count = 1});
}

static const char *two_of(const char *a, const char *b)
{
  const char *words[] = {a, b};
  return asked_json(&(const struct be_anatomy){.words = words, .count = 2, .compares = true});
}

/* ---- known numbers ---- */

static void overhands_of_n_turns_are_torus_knots(void **state)
{
  (void)state;
  static const char *const dowker[] = {"4 6 2", "6 8 10 2 4", "8 10 12 14 2 4 6"};
  static const char *const alexander[] = {"1 - t + t^2", "1 - t + t^2 - t^3 + t^4",
                                          "1 - t + t^2 - t^3 + t^4 - t^5 + t^6"};
  for (int hand = 0; hand < 2; hand++)
    for (int n = 1; n <= 4; n++) {
      char tie[60];
      snprintf(tie, sizeof tie, "overhand turns=%d hand=%s", n, hand ? "left" : "right");
      const char *json = one_of(tie);
      in_json(json, "\"own_crossings\":%d,\"own_crossings_fewest\":%d", 2 * n + 1, 2 * n + 1);
      in_json(json, "\"determinant\":%d,\"signature\":%s%d,", 2 * n + 1, hand ? "" : "-", 2 * n);
      in_json(json, "\"signs\":%s%d}", hand ? "-" : "", 2 * n + 1);
      in_json(json, "\"consistent_with\":\"%d_1", 2 * n + 1);
      if (n > 3) continue;
      in_json(json, "\"dowker\":\"%s\"", dowker[n - 1]);
      in_json(json, "\"alexander\":\"%s\"", alexander[n - 1]);
    }
}

static void barrel_form_is_the_same_knot_of_the_other_hand(void **state)
{
  (void)state;
  for (int n = 1; n <= 3; n++) {
    char tie[60];
    snprintf(tie, sizeof tie, "barrel overhand turns=%d", n);
    in_json(one_of(tie), "\"determinant\":%d,\"signature\":%d,", 2 * n + 1, 2 * n);
  }
}

static void a_lead_over_the_drawing_is_told(void **state)
{
  (void)state;
  const char *json = one_of("bowline");
  in_json(json, "by the way out that is told below");
  in_json(json, "another way out may make another knot");
  json = one_of("overhand");
  assert_null(strstr(json, "way out"));
}

static void closures_tell_reef_from_granny(void **state)
{
  (void)state;
  const char *json = one_of("reef");
  in_json(json, "\"title\":\"reef\"");
  in_json(json, "\"closure\":\"each\",\"strand\":\"all\",\"drawn\":6,\"left\":0,"
                "\"alexander\":\"0\",\"determinant\":0,\"signature\":0,\"linking\":\"0\"");
  in_json(json, "\"closure\":\"ends\",\"strand\":\"the one\",\"drawn\":6,\"left\":6,"
                "\"alexander\":\"1 - 2 t + 3 t^2 - 2 t^3 + t^4\",\"determinant\":9,"
                "\"signature\":0,");
  in_json(json, "\"line\":\"A\",\"other\":\"B\",\"crossings\":6,");
  in_json(json, "\"crossings\":6,\"signs\":0,");
  json = one_of("granny");
  in_json(json, "\"closure\":\"each\",\"strand\":\"all\",\"drawn\":6,\"left\":6,");
  in_json(json, "\"determinant\":6,");
  in_json(json, "\"linking\":\"3\",\"linking_integral\":\"3.000\"");
  in_json(json, "\"alexander\":\"1 - 2 t + 3 t^2 - 2 t^3 + t^4\",\"determinant\":9,"
                "\"signature\":4,");
  in_json(json, "\"consistent_with\":\"3_1 # 3_1");
}

/* The same ends pulled on the same side, or on both. */
static void the_counts_of_a_bend_follow_its_pulled_ends(void **state)
{
  (void)state;
  in_json(one_of("reef"), "\"crossings\":6,\"signs\":0,\"twist_fluctuation\":1,\"circulation\":4");
  in_json(one_of("thief"), "\"crossings\":6,\"signs\":0,\"twist_fluctuation\":1,\"circulation\":1");
  in_json(one_of("granny"), "\"crossings\":6,\"signs\":6,\"twist_fluctuation\":0,");
  assert_null(strstr(one_of("clinch"), "\"name\":\"bend\""));
}

/* ---- codes in and out ---- */

static const char *fact(const char *json, const char *key, char out[200])
{
  char name[40];
  snprintf(name, sizeof name, "\"%s\":\"", key);
  const char *at = strstr(json, name);
  if (!at) fail_msg("no %s", key);
  snprintf(out, 200, "%.*s", (int)strcspn(at + strlen(name), "\""), at + strlen(name));
  return out;
}

static void codes_are_read_and_written(void **state)
{
  (void)state;
  static const struct {
    const char *code, *knot;
    int determinant, crossings;
  } all[] = {
      {"gauss 1 -2 3 -1 2 -3", "3_1", 3, 3},   {"gauss 1 -2 3 -4 5 -1 2 -3 4 -5", "5_1", 5, 5},
      {"dowker 4 6 8 2", "4_1", 5, 4},         {"dowker: 4 8 10 2 6", "5_2", 7, 5},
      {"dowker\n4 8 10 2 12 6", "6_3", 13, 6}, {"pd X[1,5,2,4] X[3,1,4,6] X[5,3,6,2]", "3_1", 3, 3},
  };
  for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
    char code[200], again[220];
    const char *json = one_of(all[i].code);
    in_json(json, "\"drawn\":%d,\"left\":%d,", all[i].crossings, all[i].crossings);
    in_json(json, "\"determinant\":%d,", all[i].determinant);
    in_json(json, "\"consistent_with\":\"%s", all[i].knot);
    in_json(json, "\"ends\":\"closed\"");
    in_json(json, "\"over_place\":\"no load\",\"under_place\":\"no load\"");
    assert_null(strstr(json, "Of the crossings, "));
    static const char *const kinds[] = {"gauss", "dowker", "pd"};
    for (int k = 0; k < 3; k++) {
      snprintf(again, sizeof again, "%s %s", kinds[k], fact(one_of(all[i].code), kinds[k], code));
      in_json(one_of(again), "\"consistent_with\":\"%s", all[i].knot);
    }
  }
}

/* A figure eight whose code is taken from how it is tied, open. */
static void a_tie_and_its_code_are_one_knot(void **state)
{
  (void)state;
  char code[200], again[220];
  const char *json = one_of("figure eight");
  in_json(json, "\"dowker\":\"6 8 2 4\""); /* 4 6 8 2, begun a crossing earlier */
  in_json(json, "\"alexander\":\"-1 + 3 t - t^2\",\"determinant\":5,\"signature\":0,");
  snprintf(again, sizeof again, "gauss %s", fact(json, "gauss", code));
  in_json(two_of("figure eight", again), "\"verdict\":\"same\"");
}

static void links_and_lines_that_cross_nothing_have_answers(void **state)
{
  (void)state;
  const char *json = one_of("gauss O1+U2+; U1+O2+");
  in_json(json, "of two lines, has 2 crossings");
  in_json(json, "\"closure\":\"each\",\"strand\":\"all\",\"drawn\":2,\"left\":2,");
  in_json(json, "\"determinant\":2,");
  in_json(json, "\"linking\":\"1\"");
  json = one_of("gauss O1-U2-; U1-O2-");
  in_json(json, "\"linking\":\"-1\"");
  json = one_of("-7.25 0 0\n3 0.125 0\n8.5 0 0");
  in_json(json, "has 0 crossings");
  in_json(json, "consistent with 0_1, the unknot");
  in_json(json, "\"gauss\":\"none\"");
  json = one_of("line\n0 0 0\n9 0 0\n9 7 0\n0 7 1\nclosed\nline\n4 3 -5\n4 3.5 6\n");
  in_json(json, "\"ends\":\"closed\"");
  in_json(json, "\"ends\":\"first end pulled\"");
  in_json(one_of("gauss 1 -1"), "has 1 crossing as it is usually drawn, and 0 in the view");
}

static void views_are_named(void **state)
{
  (void)state;
  const char *word = "reef";
  struct be_anatomy asked = {.words = &word, .count = 1, .fewest = true};
  const char *json = asked_json(&asked);
  in_json(json, "crossings in the view with the fewest found.");
  assert_null(strstr(json, "\"view\":\"as it is usually drawn\""));
  asked = (struct be_anatomy){
      .words = &word, .count = 1, .turned = true, .turn_deg = 31.5, .tilt_deg = -7};
  in_json(asked_json(&asked), "turned by 31.5 and tilted by -7 degrees");
}

static void settings_are_told_beside_the_name(void **state)
{
  (void)state;
  const char *words[] = {"clinch", "turns=7", "hand=left"};
  const char *json = asked_json(&(const struct be_anatomy){.words = words, .count = 3});
  in_json(json, "\"title\":\"clinch, turns 7, hand left\"");
  in_json(json, "\"setting\":\"turns\",\"value\":\"7\"");
  in_json(json, "of one line on hardware");
}

static void what_is_known_is_listed(void **state)
{
  (void)state;
  const char *json = asked_json(&(const struct be_anatomy){0});
  size_t count;
  const struct be_tie_entry *ties = be_tie_library(&count);
  assert_true(count >= 40);
  in_json(json, "The program knows how to tie %zu knots", count);
  for (size_t i = 0; i < count; i++)
    in_json(json, "{\"name\":\"%s\",\"also\":\"%s\",\"kind\":\"%s\"}", ties[i].name, ties[i].also,
            ties[i].kind);
}

/* ---- two of them ---- */

static void two_are_compared(void **state)
{
  (void)state;
  static const struct {
    const char *a, *b, *words;
  } all[] = {
      {"overhand", "OVERHAND", "The overhand and the overhand are the same: "},
      {"reef", "granny", "The reef and the granny are two knots: linking number 0 against 3"},
      {"reef", "thief", "but other ends are pulled: under load they are two knots ("},
      {"granny", "grief", "but other ends are pulled: under load they are two knots ("},
      {"overhand", "overhand hand=left", "The overhand is the overhand, hand left in a mirror"},
      {"figure eight", "overhand", "are two knots: "},
      {"dowker 4 6 2", "gauss -1 2 -3 1 -2 3", "are the same"},
      {"overhand turns=2", "dowker 6 8 10 2 4", "the drawing of this code"},
  };
  for (size_t i = 0; i < sizeof all / sizeof all[0]; i++)
    in_json(two_of(all[i].a, all[i].b), "%s", all[i].words);
  in_json(two_of("reef", "granny"), "\"verdict\":\"apart\"");
  in_json(two_of("reef", "thief"), "\"twist_fluctuation\":1,\"circulation\":1}");
  in_json(two_of("reef", "reef"), "\"name\":\"certificate\"");
}

/* ---- what is refused ---- */

static void what_is_wrong_is_said_with_its_place(void **state)
{
  (void)state;
  static const struct {
    const char *text;
    enum be_status status;
    size_t line, column;
    const char *what, *remedy;
  } all[] = {
      {"", BE_BAD_INPUT, 0, 0, "there is no tie in it: it is empty", "give a name such as"},
      {" \t\r\n ", BE_BAD_INPUT, 0, 0, "it is empty", "give a name"},
      {"clynch", BE_WRONG_USE, 0, 0, "no tie is called \"clynch\"", "near to it: clinch"},
      {"gauss", BE_WRONG_USE, 0, 0, "no tie is called \"gauss\"", ""},
      {"clinch turns=99", BE_BAD_INPUT, 0, 0, "turns is a whole number from 1 to 10, not \"99\"",
       ""},
      {"clinch turns=2.5", BE_BAD_INPUT, 0, 0, "turns is a whole number from 1 to 10", ""},
      {"clinch hand=middle", BE_BAD_INPUT, 0, 0, "\"middle\"", ""},
      {"clinch colour=red", BE_BAD_INPUT, 0, 0, "no setting \"colour\"; it has these: turns", ""},
      {"gauss 1 2", BE_BAD_INPUT, 0, 0, "not met once over and once under", ""},
      {"gauss 1 -2 1 -2", BE_BAD_INPUT, 0, 0, "crossing 1 is not met once over", ""},
      {"gauss 1 -1; 2 -2", BE_BAD_INPUT, 1, 11, "needs the signs of crossings", ""},
      {"dowker 4 6 3", BE_BAD_INPUT, 1, 6, "of even numbers", ""},
      {"pd X[1,2]", BE_BAD_INPUT, 0, 0, "each crossing has four arcs", ""},
      {"pd X[1,5,2,4] X[3,1,4,6]", BE_BAD_INPUT, 0, 0, "each arc has two ends", ""},
      {"1,2,3", BE_BAD_INPUT, 1, 1, "a line needs at least 2 points, and has 1", ""},
      {"1 2 3\n1 2 x", BE_BAD_INPUT, 2, 5, "this is no number", ""},
      {"tie x", BE_BAD_INPUT, 1, 1, "there is no line in it", ""},
      {"tie a\n\nline A\n  0,0 q 5,0 9,0\n", BE_BAD_INPUT, 4, 7, "\"q\" is not known here", ""},
  };
  for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
    struct be_err err = {0};
    struct be_doc *doc = NULL;
    const struct be_anatomy asked = {.words = &all[i].text, .count = 1};
    if (be_app_anatomy(&asked, &doc, &err) != all[i].status || err.status != all[i].status)
      fail_msg("\"%s\": %d, %s", all[i].text, (int)err.status, err.what);
    assert_null(doc);
    if (!strstr(err.what, all[i].what)) fail_msg("\"%s\": %s", all[i].text, err.what);
    if (!strstr(err.remedy, all[i].remedy)) fail_msg("\"%s\": %s", all[i].text, err.remedy);
    if (err.line != all[i].line || err.column != all[i].column)
      fail_msg("\"%s\": %zu:%zu", all[i].text, err.line, err.column);
  }
}

/* Either of two that are compared. */
static void a_comparison_needs_both(void **state)
{
  (void)state;
  const char *pairs[][2] = {{"reef", "no such thing"}, {"no such thing", "reef"}};
  for (int i = 0; i < 2; i++) {
    struct be_err err = {0};
    struct be_doc *doc = NULL;
    const struct be_anatomy asked = {.words = pairs[i], .count = 2, .compares = true};
    assert_int_equal(be_app_anatomy(&asked, &doc, &err), BE_WRONG_USE);
    assert_non_null(strstr(err.what, "\"no such thing\""));
    assert_null(doc);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(overhands_of_n_turns_are_torus_knots),
      cmocka_unit_test(barrel_form_is_the_same_knot_of_the_other_hand),
      cmocka_unit_test(a_lead_over_the_drawing_is_told),
      cmocka_unit_test(closures_tell_reef_from_granny),
      cmocka_unit_test(the_counts_of_a_bend_follow_its_pulled_ends),
      cmocka_unit_test(codes_are_read_and_written),
      cmocka_unit_test(a_tie_and_its_code_are_one_knot),
      cmocka_unit_test(links_and_lines_that_cross_nothing_have_answers),
      cmocka_unit_test(views_are_named),
      cmocka_unit_test(settings_are_told_beside_the_name),
      cmocka_unit_test(what_is_known_is_listed),
      cmocka_unit_test(two_are_compared),
      cmocka_unit_test(what_is_wrong_is_said_with_its_place),
      cmocka_unit_test(a_comparison_needs_both),
  };
  return be_tests("app: anatomy", tests);
}
