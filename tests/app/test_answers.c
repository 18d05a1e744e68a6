/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rules of an honest answer, each on a small sheet of its own. */
#include "app_test.h"

/* 30 lb on the label, 48.5 lb as measured: 45 lb is 150 % of the one and 93 %
 * of the other (an angling magazine, August 2010; single pulls not printed, so
 * five that have its mean, lowest and highest stand in for them). */
static void the_label_is_never_the_denominator(void **state)
{
  (void)state;
  struct survey survey;
  struct be_arena *arena = test_survey(
      "label.book",
      "specimen,knot,line A,soak,load (lb)\n"
      "p1,none,braid 30 lb,dry,44.5\np2,none,braid 30 lb,dry,46\np3,none,braid 30 lb,dry,48\n"
      "p4,none,braid 30 lb,dry,50\np5,none,braid 30 lb,dry,54\n"
      "k1,twist,braid 30 lb,dry,44\nk2,twist,braid 30 lb,dry,46\nk3,twist,braid 30 lb,dry,45\n",
      &survey);
  const struct cell *cell = test_cell(&survey, "braid 30 lb, dry", "twist");
  assert_near(be_shown(&survey, cell->plain.estimate.value), 48.5, 1e-9);
  assert_near(cell->efficiency.value, 45 / 48.5, 1e-12);
  assert_near(cell->summary.mean / survey.record.lines[cell->pulls[0]->line_a].label_N, 1.5, 1e-12);
  be_arena_free(arena);
}

static void soak_and_spool_must_match(void **state)
{
  (void)state;
  char sheet[2048];
  struct survey survey;
  snprintf(sheet, sizeof sheet, "%s%s", TEST_HEAD,
           "p1,none,nylon 12 lb,S1,,dry,200,60,,,,\np2,none,nylon 12 lb,S1,,dry,200,62,,,,\n"
           "p3,none,nylon 12 lb,S2,,dry,200,50,,,,\np4,none,nylon 12 lb,S2,,dry,200,52,,,,\n"
           "k1,uni,nylon 12 lb,S1,,dry,200,48,,,,\nk2,uni,nylon 12 lb,S1,,dry,200,50,,,,\n"
           "k3,uni,nylon 12 lb,S2,,dry,200,41,,,,\n"
           "w1,uni,nylon 12 lb,S1,,soaked,200,44,,,,\nw2,uni,nylon 12 lb,S1,,soaked,200,45,,,,\n"
           "f1,blood,nylon 12 lb,S1,,dry,400,45,,,,\nf2,blood,nylon 12 lb,S1,,dry,400,46,,,,\n"
           "o1,clinch,nylon 12 lb,S9,,dry,200,40,,,,\no2,clinch,nylon 12 lb,S9,,dry,200,42,,,,\n");
  struct be_arena *arena = test_survey("match.book", sheet, &survey);
  const struct cell *cell = test_cell(&survey, "nylon 12 lb, dry", "uni");
  assert_int_equal(cell->plain.match, MATCH_ALL);
  /* Each pull over the plain line of its own spool, S1 (61) or S2 (51). */
  assert_near(cell->efficiency.value, (48 / 61.0 + 50 / 61.0 + 41 / 51.0) / 3, 1e-12);
  assert_int_equal(test_cell(&survey, "nylon 12 lb, soaked", "uni")->plain.match, MATCH_NONE);
  assert_int_equal(test_cell(&survey, "nylon 12 lb, dry", "blood")->plain.match, MATCH_SPOOL);
  const struct cell *other = test_cell(&survey, "nylon 12 lb, dry", "clinch");
  assert_int_equal(other->plain.match, MATCH_LINE);
  assert_near(other->plain.estimate.value, 56, 1e-9);
  be_arena_free(arena);
}

static void a_bend_is_divided_by_its_weaker_line(void **state)
{
  (void)state;
  char sheet[2048];
  struct survey survey;
  snprintf(
      sheet, sizeof sheet, "%s%s", TEST_HEAD,
      "p1,none,braid 20 lb,,,dry,,130,,,,\np2,none,braid 20 lb,,,dry,,126,,,,\n"
      "p3,none,fluorocarbon 15 lb,,,dry,,70,,,,\np4,none,fluorocarbon 15 lb,,,dry,,72,,,,\n"
      "k1,join,braid 20 lb,,fluorocarbon 15 lb,dry,,55,,,,\n"
      "k2,join,braid 20 lb,,fluorocarbon 15 lb,dry,,58,,,,\n"
      "u1,join,braid 20 lb,,nylon 9 lb,dry,,40,,,,\nu2,join,braid 20 lb,,nylon 9 lb,dry,,42,,,,\n");
  struct be_arena *arena = test_survey("weaker.book", sheet, &survey);
  const struct cell *cell = test_cell(&survey, "braid 20 lb to fluorocarbon 15 lb, dry", "join");
  assert_string_equal(survey.line_names[cell->plain.line], "fluorocarbon 15 lb");
  assert_near(cell->efficiency.value, 56.5 / 71, 1e-12);
  /* The other line was never pulled plain, so which is weaker is not known. */
  const struct cell *unknown = test_cell(&survey, "braid 20 lb to nylon 9 lb, dry", "join");
  assert_true(unknown->other_missing);
  assert_true(isnan(unknown->efficiency.value));
  be_arena_free(arena);
}

static void bounds_slips_and_voids_stay_apart(void **state)
{
  (void)state;
  char sheet[2048];
  struct survey survey;
  snprintf(
      sheet, sizeof sheet, "%s%s", TEST_HEAD,
      "k1,uni,nylon 12 lb,,,dry,,50,broke,at its entry,,\nk2,uni,nylon 12 lb,,,dry,,52,B,K,,\n"
      "k3,uni,nylon 12 lb,,,dry,,30,slipped out,,,\nk4,uni,nylon 12 lb,,,dry,,58,broke,grip,,\n"
      "k5,uni,nylon 12 lb,,,dry,,57,broke,clear of it,,\n"
      "k6,uni,nylon 12 lb,,,dry,,20,broke,in the knot,void,not tied as drawn\n"
      "k7,uni,nylon 12 lb,,,dry,,59,H,A,,\nk8,uni,nylon 12 lb,,,dry,,56,N,,,\n");
  struct be_arena *arena = test_survey("apart.book", sheet, &survey);
  const struct cell *cell = test_cell(&survey, "nylon 12 lb, dry", "uni");
  assert_int_equal(cell->n, 3);
  assert_int_equal(cell->slips, 1);
  assert_int_equal(cell->bounds, 4);
  assert_int_equal(cell->voids, 1);
  assert_near(cell->summary.mean, 44, 1e-12);
  assert_near(cell->held.mean, 51, 1e-12);
  struct be_doc *doc = NULL;
  assert_int_equal(be_strength_doc(&survey, &doc, NULL), BE_OK);
  assert_true(says(doc, "not tied as drawn"));
  assert_true(says(doc, "at least half of its pulls are lower bounds"));
  be_doc_free(doc);
  be_arena_free(arena);
}

static void points_and_relative_per_cent_are_two_things(void **state)
{
  (void)state;
  char sheet[4096];
  struct survey survey;
  /* 80 % and 84 % of a line of 100: 4 points, 5 % relative. */
  snprintf(sheet, sizeof sheet, "%s%s", TEST_HEAD,
           "p1,none,nylon 20 lb,,,dry,,99,,,,\np2,none,nylon 20 lb,,,dry,,101,,,,\n"
           "a1,alpha,nylon 20 lb,,,dry,,83,,,,\na2,alpha,nylon 20 lb,,,dry,,85,,,,\n"
           "b1,beta,nylon 20 lb,,,dry,,79,,,,\nb2,beta,nylon 20 lb,,,dry,,81,,,,\n");
  struct be_arena *arena = test_survey("points.book", sheet, &survey);
  struct be_doc *doc = NULL;
  int a = be_knot_find(&survey, "alpha", NULL), b = be_knot_find(&survey, "beta", NULL);
  assert_int_equal(be_versus_doc(&survey, a, b, &doc, NULL), BE_OK);
  struct be_buf json;
  be_buf_init(&json, 1 << 20);
  assert_int_equal(be_doc_json(doc, &json, NULL), BE_OK);
  const char *points = strstr(json.data, "\"points\":"),
             *relative = strstr(json.data, "\"relative_percent\":");
  assert_non_null(points);
  assert_non_null(relative);
  assert_near(strtod(points + 9, NULL), 4, 1e-9);
  assert_near(strtod(relative + 19, NULL), 5, 1e-9);
  be_buf_free(&json);
  be_doc_free(doc);
  be_arena_free(arena);
}

static void a_group_is_ranked_over_what_is_shared(void **state)
{
  (void)state;
  char sheet[8192];
  struct survey survey;
  size_t used = (size_t)snprintf(sheet, sizeof sheet, "%s", TEST_HEAD);
  /* alpha and beta share two lines; gamma was only tied in a strong third one,
   * where its loads beat all: it must not win the group by that. */
  static const struct {
    const char *knot, *line;
    double mean;
  } cells[] = {{"alpha", "nylon 6 lb", 25},
               {"alpha", "nylon 12 lb", 50},
               {"beta", "nylon 6 lb", 20},
               {"beta", "nylon 12 lb", 42},
               {"gamma", "nylon 40 lb", 160}};
  for (size_t i = 0; i < 5; i++)
    for (int k = 0; k < 5; k++)
      used +=
          (size_t)snprintf(sheet + used, sizeof sheet - used, "%zu-%d,%s,%s,,,dry,,%.1f,,,,\n", i,
                           k, cells[i].knot, cells[i].line, cells[i].mean * (0.98 + 0.01 * k));
  struct be_arena *arena = test_survey("group.book", sheet, &survey);
  struct be_doc *doc = NULL;
  assert_int_equal(be_standings_doc(&survey, &doc, NULL), BE_OK);
  assert_true(says(doc, "The alpha held most in nylon, dry (2 shared combinations), n = 10"));
  assert_true(says(doc, "In 2 of 2 combinations where two knots or more are ranked the strongest "
                        "stands apart from every other: "
                        "alpha in 2."));
  assert_true(says(doc, "Left out of the group: nylon 40 lb, dry"));
  assert_true(says(doc, "Left out of the group: gamma, without an event in"));
  be_doc_free(doc);
  be_arena_free(arena);
}

static void one_pull_cannot_be_ranked(void **state)
{
  (void)state;
  char sheet[2048];
  struct survey survey;
  snprintf(sheet, sizeof sheet, "%s%s", TEST_HEAD,
           "a1,alpha,nylon 6 lb,,,dry,,25,,,,\nb1,beta,nylon 6 lb,,,dry,,20,,,,\n"
           "b2,beta,nylon 6 lb,,,dry,,21,,,,\n");
  struct be_arena *arena = test_survey("single.book", sheet, &survey);
  struct be_doc *doc = NULL;
  assert_int_equal(be_standings_doc(&survey, &doc, NULL), BE_OK);
  assert_true(says(doc,
                   "Which is the strongest in nylon 6 lb, dry is not known: one pull of a knot "
                   "tells nothing of scatter: alpha and beta."));
  assert_true(says(doc, "nothing is said of which is the stronger in nylon 6 lb, dry"));
  assert_true(says(doc, "1 to 2"));
  be_doc_free(doc);
  be_arena_free(arena);
}

/* Five lines with a strongest knot each, four knots among them: three are named. */
static void the_strongest_are_named_first(void **state)
{
  (void)state;
  static const char *const strongest[] = {"delta", "gamma", "delta", "alpha", "beta", NULL};
  char sheet[8192];
  struct survey survey;
  size_t used = (size_t)snprintf(sheet, sizeof sheet, "%s", TEST_HEAD);
  for (int line = 0; line < 6; line++)
    for (int k = 0; k < 4; k++) {
      const char *strong = strongest[line] ? strongest[line] : "omega";
      used += (size_t)snprintf(sheet + used, sizeof sheet - used,
                               "s%d-%d,%s,nylon %d lb,,,dry,,%d.7,,,,\n"
                               "w%d-%d,omicron,nylon %d lb,,,dry,,%d.3,,,,\n",
                               line, k, strong, line + 5, (strongest[line] ? 90 : 61) + k, line, k,
                               line + 5, 60 + k);
    }
  struct be_arena *arena = test_survey("first.book", sheet, &survey);
  struct be_doc *doc = NULL;
  assert_int_equal(be_standings_doc(&survey, &doc, NULL), BE_OK);
  assert_true(says(doc, "In 5 of 6 combinations where two knots or more are ranked the strongest "
                        "stands apart from every other: "
                        "delta in 2, "));
  assert_true(says(doc, " in 1, others in 1; in the rest it does not."));
  be_doc_free(doc);
  be_arena_free(arena);
}

static void an_empty_book_says_so(void **state)
{
  (void)state;
  char book[512];
  struct be_doc *doc = NULL;
  struct be_answering how = {0};
  test_path(book, "empty.book");
  be_file_remove(book, NULL);
  assert_int_equal(be_book_create(book, NULL), BE_OK);
  assert_int_equal(be_app_strength(book, &how, &doc, NULL), BE_OK);
  assert_true(says(doc, "The book holds no pulls yet."));
  be_doc_free(doc);
  assert_int_equal(be_app_standings(book, &how, &doc, NULL), BE_OK);
  assert_true(says(doc, "nothing to rank yet"));
  be_doc_free(doc);
}

static void knots_are_found_by_enough_of_their_name(void **state)
{
  (void)state;
  char sheet[1024];
  struct survey survey;
  struct be_err err = {0};
  snprintf(sheet, sizeof sheet, "%s%s", TEST_HEAD,
           "a1,double uni,nylon 6 lb,,,dry,,25,,,,\nb1,uni,nylon 6 lb,,,dry,,20,,,,\n");
  struct be_arena *arena = test_survey("names.book", sheet, &survey);
  assert_string_equal(be_knot_name(&survey, be_knot_find(&survey, "UNI", NULL)), "uni");
  assert_string_equal(be_knot_name(&survey, be_knot_find(&survey, "double", NULL)), "double uni");
  assert_int_equal(be_knot_find(&survey, "un", &err), -1);
  assert_non_null(strstr(err.what, "could be more than one knot"));
  assert_int_equal(be_knot_find(&survey, "palomar", &err), -1);
  assert_non_null(strstr(err.remedy, "double uni"));
  /* Its other names are as good, whole. */
  survey.record.knots[0].aliases = "grinner , Duncan, uni 2";
  int first = be_knot_find(&survey, survey.record.knots[0].full, NULL);
  assert_int_equal(be_knot_find(&survey, "grinner", NULL), first);
  assert_int_equal(be_knot_find(&survey, "duncan", NULL), first);
  assert_int_equal(be_knot_find(&survey, "UNI 2", NULL), first);
  assert_int_equal(be_knot_find(&survey, "duncan, uni 2", NULL), -1);
  assert_int_equal(be_knot_find(&survey, "grin", NULL), -1);
  survey.record.knots[1].aliases = "duncan";
  assert_int_equal(be_knot_find(&survey, "duncan", &err), -1);
  assert_non_null(strstr(err.what, "could be more than one knot"));
  assert_non_null(strstr(err.remedy, "double uni"));
  be_arena_free(arena);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_label_is_never_the_denominator),
      cmocka_unit_test(soak_and_spool_must_match),
      cmocka_unit_test(a_bend_is_divided_by_its_weaker_line),
      cmocka_unit_test(bounds_slips_and_voids_stay_apart),
      cmocka_unit_test(points_and_relative_per_cent_are_two_things),
      cmocka_unit_test(a_group_is_ranked_over_what_is_shared),
      cmocka_unit_test(one_pull_cannot_be_ranked),
      cmocka_unit_test(the_strongest_are_named_first),
      cmocka_unit_test(an_empty_book_says_so),
      cmocka_unit_test(knots_are_found_by_enough_of_their_name),
  };
  return be_tests("app: honest answers", tests);
}
