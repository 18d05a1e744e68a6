/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What to tie next, on small books whose answers are known by reasoning. */
#include "next_test.h"
#include "stats/number/number.h"

static struct be_summary summary(const double *loads, size_t n)
{
  struct be_summary result;
  be_summary_of(loads, n, &result);
  return result;
}

/* The same by hand: relative scatter of each, drawn to the pooled, four pulls' worth. */
static double variance_by_hand(const struct be_summary *own, double pooled_square)
{
  double relative = own->sd / own->mean, df = (double)own->n - 1;
  return (4 * pooled_square + df * relative * relative) / (4 + df) / (double)own->n;
}

static double pooled_by_hand(const struct be_summary *sets, size_t count, double *df)
{
  double squares = 0;
  *df = 0;
  for (size_t i = 0; i < count; i++) {
    double relative = sets[i].sd / sets[i].mean;
    squares += (double)(sets[i].n - 1) * relative * relative;
    *df += (double)(sets[i].n - 1);
  }
  return squares / *df;
}

static void the_loose_rival_gets_most_and_the_loser_nothing(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_of_three();
  answers_open(&answers, "next-three", &sheet, NULL, NULL);
  ask(&answers, (struct be_tying){0});
  double first = figure(row_of(&answers, "next", "steady", NULL), "tie");
  double rival = figure(row_of(&answers, "next", "loose", NULL), "tie");
  assert_true(rival > first);
  assert_near(first + rival, 12, 0);
  assert_false(has_row(&answers, "next", "poor"));
  assert_true(count_rows(&answers, "steps") == 12);
  assert_told(&answers, "loose and ");
  assert_told(&answers, " steady in nylon 12 lb, dry; the chance of a wrong first place then");
  assert_told(&answers, "of 3 knots over 1 shared combination: now the steady.");
  assert_near(figure(row_of(&answers, "next", "loose", NULL), "n_then"), 5 + rival, 0);
  assert_near(figure(row_of(&answers, "next", "loose", NULL), "first"), 1, 0);
  assert_near(fact(&answers, "minutes"), 60, 0);
  /* Each step takes something away, and the last is what is promised. */
  double before = figure(row_of(&answers, "groups", "nylon, dry", NULL), "wrong_percent");
  for (int i = 1; i <= 12; i++) {
    double now = figure(step(&answers, i), "wrong_percent");
    assert_true(now < before);
    before = now;
  }
  assert_near(before, figure(row_of(&answers, "groups", "nylon, dry", NULL), "wrong_after_percent"),
              0);
  answers_close(&answers);
}

/* The first two are clear, who is first is not: so the question sets what is tied. */
static void other_places_are_another_question(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_of_three();
  answers_open(&answers, "next-places", &sheet, NULL, NULL);
  ask(&answers, (struct be_tying){.top = 2, .specimens = 3});
  assert_told(&answers, "chance of a wrong set of the first 2");
  assert_told(&answers, "now the steady and loose.");
  assert_told(&answers, "below 5 % already");
  assert_false(has_row(&answers, "next", "steady"));
  assert_near(fact(&answers, "top"), 2, 0);
  answers_close(&answers);
}

/* Two knots, one line without plain pulls: by logs of mean loads. 2e-9: the JSON has all digits,
 * the t tail 12 or so. */
static void the_chance_is_the_tail_beyond_the_gap(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  sheet_loads(&sheet, "steady,nylon 12 lb,S1,dry", steady, 5);
  sheet_loads(&sheet, "loose,nylon 12 lb,S1,dry", loose, 5);
  answers_open(&answers, "next-tail", &sheet, NULL, NULL);
  ask(&answers, (struct be_tying){.specimens = 1});
  struct be_summary sets[] = {summary(steady, 5), summary(loose, 5)};
  double df, pooled = pooled_by_hand(sets, 2, &df), gap = log(sets[0].mean / sets[1].mean);
  double v[] = {variance_by_hand(&sets[0], pooled), variance_by_hand(&sets[1], pooled)};
  const char *row = row_of(&answers, "groups", "nylon, dry", NULL);
  assert_near(figure(row, "wrong_percent"), 100 * be_t_upper(gap / sqrt(v[0] + v[1]), df), 2e-9);
  /* The loose one is tied: five pulls become six. */
  assert_near(figure(row, "wrong_after_percent"),
              100 * be_t_upper(gap / sqrt(v[0] + v[1] * 5 / 6), df), 2e-9);
  assert_near(fact(&answers, "df"), 8, 0);
  answers_close(&answers);
}

/* A plain line that both were divided by cancels, however few and scattered its pulls. */
static void a_plain_line_that_both_share_is_never_asked_for(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  sheet_row(&sheet, "none,nylon 12 lb,S1,dry,51.5");
  sheet_row(&sheet, "none,nylon 12 lb,S1,dry,68.5");
  sheet_loads(&sheet, "steady,nylon 12 lb,S1,dry", steady, 5);
  sheet_loads(&sheet, "loose,nylon 12 lb,S1,dry", loose, 5);
  answers_open(&answers, "next-shared", &sheet, NULL, NULL);
  ask(&answers, (struct be_tying){.specimens = 1});
  struct be_summary sets[] = {summary(steady, 5), summary(loose, 5)};
  double df, pooled = pooled_by_hand(sets, 2, &df), gap = log(sets[0].mean / sets[1].mean);
  double se = sqrt(variance_by_hand(&sets[0], pooled) + variance_by_hand(&sets[1], pooled));
  assert_near(figure(row_of(&answers, "groups", "nylon, dry", NULL), "wrong_percent"),
              100 * be_t_upper(gap / se, df), 2e-9);
  ask(&answers, (struct be_tying){.specimens = 200});
  assert_false(has_row(&answers, "next", "plain line"));
  answers_close(&answers);
}

/* Each on a spool of its own, whose plain line hardly was pulled: that is what is not known. */
static void a_plain_line_of_one_knot_alone_is_asked_for(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  double plain[][2] = {{51.5, 68.5}, {52.5, 67.5}};
  sheet_loads(&sheet, "none,nylon 12 lb,S1,dry", plain[0], 2);
  sheet_loads(&sheet, "none,nylon 12 lb,S2,dry", plain[1], 2);
  sheet_loads(&sheet, "steady,nylon 12 lb,S1,dry", steady, 5);
  sheet_loads(&sheet, "other,nylon 12 lb,S2,dry", (const double[]){49, 48.7, 49.8, 48.4, 49.6}, 5);
  answers_open(&answers, "next-spools", &sheet, NULL, NULL);
  ask(&answers, (struct be_tying){.specimens = 2, .minutes_each = 10});
  assert_true(count_rows(&answers, "next") == 2);
  assert_true(has_row(&answers, "next", "plain line, spool S1\""));
  assert_true(has_row(&answers, "next", "plain line, spool S2\""));
  assert_told(&answers, "in nylon 12 lb, dry");
  /* Three fifths of the time of a knot. */
  assert_near(figure(row_of(&answers, "next", "spool S1", NULL), "minutes"), 6, 1e-12);
  assert_near(figure(row_of(&answers, "next", "spool S2", NULL), "n_have"), 2, 0);
  /* By hand: the plain lines share one scatter of 2 df, drawn to that of the knots. */
  struct be_summary sets[] = {summary(steady, 5),
                              summary((const double[]){49, 48.7, 49.8, 48.4, 49.6}, 5)};
  struct be_summary lines[] = {summary(plain[0], 2), summary(plain[1], 2)};
  double df, line_df, pooled = pooled_by_hand(sets, 2, &df);
  double of_lines = pooled_by_hand(lines, 2, &line_df);
  double variance = variance_by_hand(&sets[0], pooled) + variance_by_hand(&sets[1], pooled) +
                    2 * (4 * pooled + 2 * of_lines) / 6 / 2;
  assert_near(figure(row_of(&answers, "groups", "nylon, dry", NULL), "wrong_percent"),
              100 * be_t_upper(log(sets[0].mean / sets[1].mean) / sqrt(variance), df), 2e-9);
  answers_close(&answers);
}

static void what_was_pulled_once_comes_first(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_of_three();
  sheet_row(&sheet, "single,nylon 12 lb,S1,dry,12.5");
  answers_open(&answers, "next-once", &sheet, NULL, NULL);
  ask(&answers, (struct be_tying){.specimens = 4});
  const char *first = step(&answers, 1);
  assert_non_null(strstr(first, "\"single\""));
  assert_non_null(strstr(first, "\"second pull\""));
  assert_near(figure(first, "n_then"), 2, 0);
  for (int i = 2; i <= 4; i++) assert_null(strstr(step(&answers, i), "\"single\""));
  assert_told(&answers, "What was pulled once comes first");
  answers_close(&answers);
}

/* Two lines, each knot in both: halves of the logs, and a third knot that one of them lacks. */
static struct sheet sheet_of_two_lines(void)
{
  struct sheet sheet = sheet_begin(HEAD);
  static const double half[] = {24.9, 25.4, 25.1, 24.6}, rough[] = {21.4, 26.9, 24.2, 25.3};
  sheet_loads(&sheet, "steady,nylon 6 lb,S6,dry", half, 4);
  sheet_loads(&sheet, "loose,nylon 6 lb,S6,dry", rough, 4);
  sheet_loads(&sheet, "steady,nylon 12 lb,S1,dry", steady, 5);
  sheet_loads(&sheet, "loose,nylon 12 lb,S1,dry", loose, 5);
  sheet_loads(&sheet, "poor,nylon 12 lb,S1,dry", poor, 5);
  sheet_loads(&sheet, "poor,braid 20 lb,B1,dry", (const double[]){90.5, 93.5, 99}, 3);
  sheet_loads(&sheet, "steady,braid 20 lb,B1,dry", (const double[]){70.5, 66.5, 61}, 3);
  return sheet;
}

static void several_lines_weigh_alike(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_of_two_lines();
  answers_open(&answers, "next-lines", &sheet, NULL, NULL);
  ask(&answers, (struct be_tying){.specimens = 8});
  static const double half[] = {24.9, 25.4, 25.1, 24.6}, rough[] = {21.4, 26.9, 24.2, 25.3};
  struct be_summary sets[] = {summary(steady, 5), summary(half, 4), summary(loose, 5),
                              summary(rough, 4)};
  double df, pooled = pooled_by_hand(sets, 4, &df), variance = 0;
  for (size_t i = 0; i < 4; i++) variance += variance_by_hand(&sets[i], pooled) / 4;
  double gap = log(sets[0].mean * sets[1].mean / (sets[2].mean * sets[3].mean)) / 2;
  assert_near(figure(row_of(&answers, "groups", "nylon, dry", NULL), "wrong_percent"),
              100 * be_t_upper(gap / sqrt(variance), df), 2e-9);
  assert_told(&answers, "Left out: the poor, without an event in nylon 6 lb, dry");
  assert_told(&answers, "Asked is who is first in nylon, dry, of 2 knots over 2 shared");
  answers_close(&answers);
}

/* The clear group comes last, and can be asked for by part of its name. */
static void the_least_certain_group_comes_first(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_of_two_lines();
  answers_open(&answers, "next-groups", &sheet, NULL, NULL);
  ask(&answers, (struct be_tying){0});
  assert_non_null(strstr(answers.json.data, "\"group\":\"nylon, dry\",\n   \"top\""));
  assert_true(count_rows(&answers, "groups") == 2);
  const char *nylon = row_of(&answers, "groups", "nylon, dry", "steady");
  const char *braid = row_of(&answers, "groups", "braid, dry", "poor");
  assert_true(strstr(answers.json.data, "{\"group\":\"nylon, dry\"") <
              strstr(answers.json.data, "{\"group\":\"braid, dry\""));
  assert_true(figure(nylon, "wrong_percent") > figure(braid, "wrong_percent"));
  assert_true(figure(braid, "wrong_after_percent") < figure(braid, "wrong_percent"));
  ask(&answers, (struct be_tying){.group = "BRAID"});
  assert_true(count_rows(&answers, "groups") == 1);
  assert_true(has_row(&answers, "next", "braid 20 lb, dry"));
  assert_false(has_row(&answers, "next", "nylon"));
  refused(&answers, (struct be_tying){.group = "wire"}, "no group of knots has \"wire\"");
  answers_close(&answers);
}

static void a_pair_feeds_only_itself(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_of_two_lines();
  answers_open(&answers, "next-pair", &sheet, NULL, NULL);
  /* They meet in nylon 12 lb and in braid, in two groups. */
  ask(&answers, (struct be_tying){.a = "stead", .b = "poor", .specimens = 40});
  assert_told(&answers, "the steady or the poor, over 2 shared combinations: now the steady.");
  assert_told(&answers, "a wrong choice between the two");
  assert_false(has_row(&answers, "next", "loose"));
  assert_false(has_row(&answers, "next", "nylon 6 lb"));
  assert_true(has_row(&answers, "next", "braid 20 lb, dry"));
  assert_true(count_rows(&answers, "groups") == 1);
  assert_non_null(strstr(answers.json.data, "\"between\":\"steady\""));
  ask(&answers, (struct be_tying){.a = "steady", .b = "poor", .group = "braid"});
  assert_told(&answers, "over 1 shared combination: now the poor.");
  ask(&answers, (struct be_tying){.a = "loose", .b = "poor", .group = "braid"});
  assert_told(&answers, "The two have no combination in which their events can be compared");
  refused(&answers, (struct be_tying){.a = "steady", .b = "uni"}, "no knot \"uni\"");
  refused(&answers, (struct be_tying){.a = "uni", .b = "steady"}, "no knot \"uni\"");
  refused(&answers, (struct be_tying){.a = "steady", .b = "STEADY"}, "the same knot");
  refused(&answers, (struct be_tying){.b = "steady"}, "two knots");
  refused(&answers, (struct be_tying){.a = "steady", .b = "poor", .top = 1}, "both be asked");
  answers_close(&answers);
}

/* On spools of their own without plain lines two knots are not compared, and knots of a group
 * are with a warning. */
static void unlike_spools_are_said(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  sheet_loads(&sheet, "steady,nylon 12 lb,S1,dry", steady, 5);
  sheet_loads(&sheet, "loose,nylon 12 lb,S2,dry", loose, 5);
  answers_open(&answers, "next-unlike", &sheet, NULL, NULL);
  ask(&answers, (struct be_tying){0});
  assert_told(&answers, "Some of these knots were tied on different spools");
  ask(&answers, (struct be_tying){.a = "steady", .b = "loose"});
  assert_told(&answers, "The two have no combination");
  assert_told(&answers, "Left out: 1 combination, where the two were tied on different spools");
  answers_close(&answers);
}

static void minutes_are_kept_to(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_of_three();
  answers_open(&answers, "next-minutes", &sheet, NULL, NULL);
  ask(&answers, (struct be_tying){.minutes = 24});
  assert_true(count_rows(&answers, "steps") == 4);
  assert_near(fact(&answers, "minutes"), 20, 0);
  ask(&answers, (struct be_tying){.minutes = 24, .minutes_each = 3.5});
  assert_true(count_rows(&answers, "steps") == 6);
  assert_near(fact(&answers, "minutes_each"), 3.5, 0);
  refused(&answers, (struct be_tying){.specimens = 7, .minutes = 24}, "cannot both be given");
  refused(&answers, (struct be_tying){.minutes = 4.5}, "4.5 minutes are not enough");
  refused(&answers, (struct be_tying){.minutes = NAN}, "are not enough");
  refused(&answers, (struct be_tying){.minutes = 4000}, "more than the 1000 specimens");
  refused(&answers, (struct be_tying){.minutes_each = -2}, "from 0.1 to 1440 minutes");
  refused(&answers, (struct be_tying){.specimens = 1001}, "at most 1000 specimens");
  refused(&answers, (struct be_tying){.top = 3}, "the largest group has 3 knots");
  answers_close(&answers);
}

static void a_scatter_that_is_not_known_is_borrowed_or_said(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  sheet_row(&sheet, "steady,nylon 12 lb,S1,dry,50.5");
  sheet_row(&sheet, "loose,nylon 12 lb,S1,dry,47.5");
  answers_open(&answers, "next-unknown", &sheet, NULL, NULL);
  ask(&answers, (struct be_tying){0});
  assert_told(&answers, "Pull each knot twice first");
  assert_null(find_table(&answers, "steps"));
  answers_close(&answers);
  sheet = sheet_begin(HEAD);
  for (int i = 0; i < 3; i++) {
    sheet_row(&sheet, "steady,nylon 12 lb,S1,dry,50.5");
    sheet_row(&sheet, "loose,nylon 12 lb,S1,dry,47.5");
  }
  answers_open(&answers, "next-alike", &sheet, NULL, NULL);
  ask(&answers, (struct be_tying){0});
  assert_told(&answers, "Pull each knot again, and read the load to a finer step, first");
  assert_true(isnan(figure(row_of(&answers, "groups", "nylon, dry", NULL), "wrong_percent")));
  answers_close(&answers);
  sheet = sheet_begin(HEAD);
  sheet_row(&sheet, "steady,nylon 12 lb,S1,dry,50.5");
  sheet_row(&sheet, "loose,nylon 12 lb,S1,dry,47.5");
  sheet_loads(&sheet, "poor,braid 20 lb,B1,dry", (const double[]){90.5, 93.5, 99}, 3);
  answers_open(&answers, "next-borrowed", &sheet, NULL, NULL);
  ask(&answers, (struct be_tying){.specimens = 2});
  assert_told(&answers, "the scatter is that of all knots of the book");
  double relative = summary((const double[]){90.5, 93.5, 99}, 3).sd / (283.0 / 3);
  assert_near(figure(row_of(&answers, "groups", "nylon, dry", NULL), "wrong_percent"),
              100 * be_t_upper(log(50.5 / 47.5) / (relative * sqrt(2)), 2), 2e-9);
  assert_true(count_rows(&answers, "next") == 2);
  answers_close(&answers);
}

static void lower_bounds_are_said_and_not_planned(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,spool A,soak,what,where,load (N)");
  sheet_loads(&sheet, "steady,nylon 12 lb,S1,dry,B,K", steady, 5);
  sheet_loads(&sheet, "loose,nylon 12 lb,S1,dry,B,K", loose, 5);
  sheet_row(&sheet, "held,nylon 12 lb,S1,dry,N,,55.5");
  answers_open(&answers, "next-bounds", &sheet, NULL, NULL);
  ask(&answers, (struct be_tying){0});
  assert_told(&answers, "Left out: the held gave only lower bounds in nylon 12 lb, dry");
  assert_false(has_row(&answers, "next", "held"));
  answers_close(&answers);
}

static void an_empty_book_says_so(void **state)
{
  (void)state;
  char book[512];
  struct be_doc *doc = NULL;
  const struct be_answering how = {0};
  test_path(book, "next-empty.book");
  be_file_remove(book, NULL);
  assert_int_equal(be_book_create(book, NULL), BE_OK);
  const struct be_tying usual = {0}, wanting = {.group = "nylon", .top = 3};
  assert_int_equal(be_app_next(book, &usual, &how, &doc, NULL), BE_OK);
  assert_true(says(doc, "No two knots have events in the same combination: tie two knots in"));
  be_doc_free(doc);
  assert_int_equal(be_app_next(book, &wanting, &how, &doc, NULL), BE_OK);
  be_doc_free(doc);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_loose_rival_gets_most_and_the_loser_nothing),
      cmocka_unit_test(other_places_are_another_question),
      cmocka_unit_test(the_chance_is_the_tail_beyond_the_gap),
      cmocka_unit_test(a_plain_line_that_both_share_is_never_asked_for),
      cmocka_unit_test(a_plain_line_of_one_knot_alone_is_asked_for),
      cmocka_unit_test(what_was_pulled_once_comes_first),
      cmocka_unit_test(several_lines_weigh_alike),
      cmocka_unit_test(the_least_certain_group_comes_first),
      cmocka_unit_test(a_pair_feeds_only_itself),
      cmocka_unit_test(unlike_spools_are_said),
      cmocka_unit_test(minutes_are_kept_to),
      cmocka_unit_test(a_scatter_that_is_not_known_is_borrowed_or_said),
      cmocka_unit_test(lower_bounds_are_said_and_not_planned),
      cmocka_unit_test(an_empty_book_says_so),
  };
  return be_tests("app: what to tie next", tests);
}
