/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What moved, and why: books entered in several sheets, with consequences known beforehand. */
#include "moved_books.h"

/* ---- knots ---- */

static void a_new_knot_pushes_the_others_down(void **state)
{
  (void)state;
  struct answers answers;
  char book[512];
  new_book(book, "moved-new");
  enter_first(book);
  struct one_sheet sheet = one_sheet("snell.csv");
  add_pulls(&sheet, "c", "snell", NYLON, LOADS(59.7, 60.2, 59.9, 60.1));
  enter_sheet(book, &sheet);
  ask_since(&answers, book, NULL);
  assert_told(&answers, "Since snell.csv (4 pulls): the snell came in at rank 1 of 3 in " PLACE
                        "; all others keep their order.");
  const char *row = moved_row(&answers, "moved", PLACE, "snell");
  assert_in(row, "\"rank_then\":null,\"rank\":1,");
  assert_in(row, "\"moved\":\"new\"");
  assert_in(row, "4 of its 4 pulls are new");
  assert_true(isnan(figure(row, "change")));
  row = moved_row(&answers, "moved", PLACE, "palomar");
  assert_in(row, "\"rank_then\":1,\"rank\":2,\"rank_range_then\":\"1\",\"rank_range\":\"2\"");
  assert_in(row, "\"moved\":\"by who came or left\"");
  assert_in(row, "the snell came in above it");
  assert_near(figure(row, "change"), 0, 1e-12);
  row = moved_row(&answers, "moved", PLACE, "uni");
  assert_in(row, "\"rank_then\":2,\"rank\":3,");
  answers_close(&answers);
}

static void a_knot_leaves_when_its_pulls_are_void(void **state)
{
  (void)state;
  struct answers answers;
  char book[512];
  new_book(book, "moved-left");
  enter_first(book);
  struct one_sheet sheet = one_sheet("snell.csv");
  add_pulls(&sheet, "c", "snell", NYLON, LOADS(59.7, 60.2));
  enter_sheet(book, &sheet);
  sheet = one_sheet("voids.csv");
  add_void(&sheet, "c1", "snell", NYLON, true);
  add_void(&sheet, "c2", "snell", NYLON, true);
  enter_sheet(book, &sheet);
  ask_since(&answers, book, NULL);
  assert_told(&answers,
              "Since voids.csv (0 pulls, 2 corrections): the snell is no longer ranked in " PLACE
              "; all others keep their order.");
  const char *row = moved_row(&answers, "moved", PLACE, "snell");
  assert_in(row, "\"rank_then\":1,\"rank\":null,");
  assert_in(row, "\"moved\":\"left\"");
  assert_in(row, "no event of it is left here; 2 corrections of its own\"");
  row = moved_row(&answers, "moved", PLACE, "palomar");
  assert_in(row, "the snell left from above it");
  answers_close(&answers);
}

/* By hand: the fourth pull of the palomar reads 4.4 N less, of a plain line of 61.3 N. */
static void a_correction_lowers_one(void **state)
{
  (void)state;
  struct answers answers;
  char book[512];
  new_book(book, "moved-correction");
  enter_first(book);
  struct one_sheet sheet = one_sheet("corrected.csv");
  add_correction(&sheet, "a4", "palomar", NYLON, 51.8);
  enter_sheet(book, &sheet);
  ask_since(&answers, book, NULL);
  assert_told(&answers, "Since corrected.csv (0 pulls, 1 correction): nobody changed places; 1 "
                        "figure moved, by 1.8 pts at most.");
  assert_null(find_table(&answers, "moved"));
  assert_int_equal(count_rows(&answers, "moved_figures"), 1);
  const char *row = moved_row(&answers, "moved_figures", PLACE, "palomar");
  assert_near(figure(row, "change"), -100 * 4.4 / 4 / 61.3, 1e-9);
  assert_near(figure(row, "by_corrections"), -100 * 4.4 / 4 / 61.3, 1e-9);
  assert_near(figure(row, "by_pulls"), 0, 1e-9);
  assert_near(figure(row, "by_plain_lines"), 0, 1e-9);
  assert_near(figure(row, "strength_then"), 100 * 55.625 / 61.3, 1e-9);
  assert_in(row, "\"why\":\"1 correction of its own (-1.8 pts)\"");
  assert_in(row, "\"moved\":\"within its range: nothing real has changed\"");
  assert_told(&answers, "nothing real has changed");
  answers_close(&answers);
}

/* Two knots that scatter so that they cannot be separated change places. */
static void passing_within_the_ranges(void **state)
{
  (void)state;
  struct answers answers;
  char book[512];
  new_book(book, "moved-passing");
  struct one_sheet sheet = one_sheet("first.csv");
  add_pulls(&sheet, "p", "none", NYLON, LOADS(60.9, 61.3, 61.7));
  add_pulls(&sheet, "a", "barrel", NYLON, LOADS(51.3, 44.9, 48.7));
  add_pulls(&sheet, "b", "grinner", NYLON, LOADS(50.1, 43.7, 47.9));
  enter_sheet(book, &sheet);
  sheet = one_sheet("week-2.csv");
  add_pulls(&sheet, "c", "grinner", NYLON, LOADS(51.9, 52.7));
  enter_sheet(book, &sheet);
  ask_since(&answers, book, NULL);
  assert_told(&answers, "Since week-2.csv (2 pulls): the grinner passed the barrel in " PLACE
                        ", within what their ranges allow; nobody else changed places.");
  const char *row = moved_row(&answers, "moved", PLACE, "grinner");
  assert_in(row, "\"rank_words\":\"2 \xE2\x86\x92 1\",\"rank_range_words\":\"1 to 2\"");
  assert_in(row, "within its range: nothing real has changed: 2 new pulls of its own (+");
  assert_in(row, "; passed the barrel\"");
  assert_near(figure(row, "n_then"), 3, 0);
  assert_near(figure(row, "n"), 5, 0);
  row = moved_row(&answers, "moved", PLACE, "barrel");
  assert_in(row, "within its range: nothing real has changed: passed by the grinner\"");
  answers_close(&answers);
}

static void a_verdict_that_changes_is_in_earnest(void **state)
{
  (void)state;
  struct answers answers;
  char book[512];
  new_book(book, "moved-earnest");
  struct one_sheet sheet = one_sheet("first.csv");
  add_pulls(&sheet, "a", "palomar", NYLON, LOADS(55.1, 50.9));
  add_pulls(&sheet, "b", "uni", NYLON, LOADS(46.6, 48.3));
  enter_sheet(book, &sheet);
  sheet = one_sheet("more.csv");
  add_pulls(&sheet, "c", "palomar", NYLON, LOADS(54.1, 53.3, 53.8, 53.1, 54.4));
  add_pulls(&sheet, "d", "uni", NYLON, LOADS(47.1, 47.9, 47.4, 46.9, 47.7));
  enter_sheet(book, &sheet);
  ask_since(&answers, book, NULL);
  assert_told(&answers,
              "the palomar is now apart from the uni in " PLACE "; nobody else changed places.");
  const char *row = moved_row(&answers, "moved", PLACE, "palomar");
  assert_in(row, "\"rank_range_words\":\"1 to 2 \xE2\x86\x92 1\"");
  assert_in(row, "in earnest: 5 new pulls of its own (+");
  assert_in(row, "now apart from the uni\"");
  /* Without a plain line the figure is a load. By hand: 53.0 N, then 374.7 N over 7. */
  assert_in(row, "\"unit\":\"N\"");
  assert_near(figure(row, "change"), 374.7 / 7 - 53.0, 1e-9);
  assert_near(figure(row, "by_pulls"), 374.7 / 7 - 53.0, 1e-9);
  /* And back: the pulls that told them apart turn out to be none. */
  sheet = one_sheet("taken-back.csv");
  for (int i = 1; i <= 5; i++) {
    char code[8];
    snprintf(code, sizeof code, "c%d", i);
    add_void(&sheet, code, "palomar", NYLON, true);
    snprintf(code, sizeof code, "d%d", i);
    add_void(&sheet, code, "uni", NYLON, true);
  }
  answers_close(&answers);
  enter_sheet(book, &sheet);
  ask_since(&answers, book, "taken-back.csv");
  assert_told(&answers, "the palomar is no longer apart from the uni in " PLACE);
  assert_in(moved_row(&answers, "moved", PLACE, "uni"), "no longer apart from the palomar");
  answers_close(&answers);
}

/* ---- plain lines ---- */

/* By hand: the plain mean goes from 61.3 to (183.9 + 2 x 63.8) / 5 = 62.3 N, by 1.63 %. */
static void new_plain_pulls_move_all_alike(void **state)
{
  (void)state;
  struct answers answers;
  char book[512];
  new_book(book, "moved-plain");
  enter_first(book);
  struct one_sheet sheet = one_sheet("plain.csv");
  add_pulls(&sheet, "q", "none", NYLON, LOADS(63.1, 64.5));
  enter_sheet(book, &sheet);
  /* Plain pulls rank nothing, and before the first file there was nothing. */
  ask_since(&answers, book, NULL);
  assert_not_told(&answers, "Since");
  assert_not_told(&answers, "What moved");
  answers_close(&answers);
  ask_since(&answers, book, "plain.csv");
  assert_told(&answers, "Since plain.csv (2 pulls): nobody changed places; 2 figures moved, by ");
  assert_null(find_table(&answers, "moved"));
  static const char *const knots[] = {"palomar", "uni"};
  for (int i = 0; i < 2; i++) {
    const char *row = moved_row(&answers, "moved_figures", PLACE, knots[i]);
    assert_near(figure(row, "strength") / figure(row, "strength_then"), 61.3 / 62.3, 1e-12);
    assert_near(figure(row, "by_plain_lines"), figure(row, "change"), 1e-12);
    assert_in(row, "\"why\":\"the plain line nylon 12 lb moved by +1.6 %, 2 new plain pulls (-");
  }
  answers_close(&answers);
}

static void plain_pulls_corrected_and_a_closer_match(void **state)
{
  (void)state;
  struct answers answers;
  char book[512];
  new_book(book, "moved-match");
  struct one_sheet sheet = one_sheet("first.csv");
  be_buf_text(&sheet.text,
              "p1,none," NYLON ",S2,,dry,60.9,,,\np2,none," NYLON ",S2,,dry,61.7,,,\n");
  add_pulls(&sheet, "a", "palomar", NYLON, LOADS(55.1, 55.9));
  add_pulls(&sheet, "b", "uni", NYLON, LOADS(44.6, 45.3));
  enter_sheet(book, &sheet);
  sheet = one_sheet("plain.csv");
  add_pulls(&sheet, "q", "none", NYLON, LOADS(63.1, 64.5));
  be_buf_text(&sheet.text, "p1,none," NYLON ",S2,,dry,60.2,,,gauge read again\n");
  enter_sheet(book, &sheet);
  ask_since(&answers, book, "plain.csv");
  const char *row = moved_row(&answers, "moved_figures", PLACE, "uni");
  assert_in(row,
            "moved by +4.1 %, 2 new plain pulls, 1 plain pull corrected, matched more closely");
  answers_close(&answers);
}

static void a_line_without_plain_pulls_gets_some(void **state)
{
  (void)state;
  struct answers answers;
  char book[512];
  new_book(book, "moved-first-plain");
  struct one_sheet sheet = one_sheet("first.csv");
  add_pulls(&sheet, "a", "palomar", NYLON, LOADS(55.1, 55.9, 55.3));
  add_pulls(&sheet, "b", "uni", NYLON, LOADS(54.6, 55.3, 54.1));
  enter_sheet(book, &sheet);
  sheet = one_sheet("second.csv");
  add_pulls(&sheet, "p", "none", NYLON, LOADS(60.9, 61.7));
  add_pulls(&sheet, "c", "uni", NYLON, LOADS(58.3));
  enter_sheet(book, &sheet);
  ask_since(&answers, book, NULL);
  const char *row = moved_row(&answers, "moved", PLACE, "uni");
  assert_in(row, "\"unit\":\"N\"");
  assert_in(row, "1 new pull of its own (+0.91 N); there was no plain line to divide by then");
  answers_close(&answers);
}

/* Pulls of a spool that has no plain line yet cannot be set against the old ones. */
static void what_cannot_be_split_is_not(void **state)
{
  (void)state;
  struct answers answers;
  char book[512];
  new_book(book, "moved-unsplit");
  struct one_sheet sheet = one_sheet("first.csv");
  add_pulls(&sheet, "p", "none", NYLON, LOADS(60.9, 61.3));
  add_pulls(&sheet, "a", "palomar", NYLON, LOADS(55.1, 55.9));
  add_pulls(&sheet, "b", "uni", NYLON, LOADS(44.6, 45.3));
  enter_sheet(book, &sheet);
  sheet = one_sheet("voids.csv");
  add_void(&sheet, "b1", "uni", NYLON, true);
  add_void(&sheet, "b2", "uni", NYLON, true);
  add_pulls(&sheet, "c", "uni", NYLON, LOADS(46.1, 47.3));
  add_pulls(&sheet, "q", "none", NYLON, LOADS(62.3));
  enter_sheet(book, &sheet);
  ask_since(&answers, book, NULL);
  const char *row = moved_row(&answers, "moved_figures", PLACE, "uni");
  assert_true(isnan(figure(row, "by_corrections")));
  assert_true(isnan(figure(row, "by_pulls")));
  assert_false(isnan(figure(row, "by_plain_lines")));
  assert_in(row, "2 corrections of its own; 2 new pulls of its own; the plain line nylon 12 lb");
  answers_close(&answers);
}

/* ---- groups ---- */

static void enter_two_lines(const char *book)
{
  struct one_sheet sheet = one_sheet("first.csv");
  be_buf_free(&sheet.text);
  be_buf_init(&sheet.text, 1 << 20);
  be_buf_text(&sheet.text, "line,spool,material\nnylon 6 lb,S1,nylon\nnylon 12 lb,S1,nylon\n"
                           "nylon 20 lb,S1,nylon\n");
  sheet.name = "lines.csv";
  enter_sheet(book, &sheet);
  sheet = one_sheet("first.csv");
  add_pulls(&sheet, "p", "none", "nylon 6 lb", LOADS(31.1, 31.9));
  add_pulls(&sheet, "q", "none", "nylon 12 lb", LOADS(60.9, 61.7));
  add_pulls(&sheet, "r", "none", "nylon 20 lb", LOADS(97.3, 98.1));
  add_pulls(&sheet, "a", "palomar", "nylon 6 lb", LOADS(28.1, 28.7));
  add_pulls(&sheet, "b", "uni", "nylon 6 lb", LOADS(25.1, 25.4));
  add_pulls(&sheet, "c", "palomar", "nylon 12 lb", LOADS(55.1, 55.9));
  add_pulls(&sheet, "d", "uni", "nylon 12 lb", LOADS(49.1, 49.7));
  enter_sheet(book, &sheet);
}

static void a_combination_that_comes_in_changes_the_block(void **state)
{
  (void)state;
  struct answers answers;
  char book[512];
  new_book(book, "moved-block");
  enter_two_lines(book);
  struct one_sheet sheet = one_sheet("twenty.csv");
  add_pulls(&sheet, "e", "palomar", "nylon 20 lb", LOADS(83.1, 84.9));
  add_pulls(&sheet, "f", "uni", "nylon 20 lb", LOADS(80.1, 79.7));
  enter_sheet(book, &sheet);
  ask_since(&answers, book, NULL);
  assert_told(&answers,
              "Since twenty.csv (4 pulls): nylon 20 lb, dry is ranked for the first time, "
              "2 knots; all others keep their order.");
  const char *row = moved_row(&answers, "moved_figures", "nylon, dry", "palomar");
  assert_in(row, "ranked over more: nylon 20 lb, dry (-");
  /* Shares by hand: 28.4/31.5, 55.5/61.3; then 84.0/97.7 as well. */
  double before = (28.4 / 31.5 + 55.5 / 61.3) / 2;
  assert_near(figure(row, "strength_then"), 100 * before, 1e-9);
  assert_near(figure(row, "change"), 100 * ((2 * before + 84.0 / 97.7) / 3 - before), 1e-9);
  assert_near(figure(row, "by_combinations"), figure(row, "change"), 1e-9);
  assert_near(figure(row, "by_pulls"), 0, 1e-9);
  /* A place that is new has no rows: its own table tells all. */
  assert_null(strstr(find_table(&answers, "moved_figures"), "{\"place\":\"nylon 20 lb, dry\",\"knot"
                                                            "\":\"palomar\",\"rank_words"));
  answers_close(&answers);
}

/* A third knot on two lines alone makes these the block. */
static void a_combination_that_goes_out_of_the_block(void **state)
{
  (void)state;
  struct answers answers;
  char book[512];
  new_book(book, "moved-block-less");
  enter_two_lines(book);
  struct one_sheet sheet = one_sheet("twenty.csv");
  add_pulls(&sheet, "e", "palomar", "nylon 20 lb", LOADS(83.1, 84.9));
  add_pulls(&sheet, "f", "uni", "nylon 20 lb", LOADS(80.1, 79.7));
  enter_sheet(book, &sheet);
  sheet = one_sheet("more-knots.csv");
  add_pulls(&sheet, "g", "snell", "nylon 6 lb", LOADS(22.1, 22.7));
  add_pulls(&sheet, "h", "snell", "nylon 12 lb", LOADS(42.1, 42.9));
  add_pulls(&sheet, "i", "clinch", "nylon 6 lb", LOADS(19.1, 19.7));
  add_pulls(&sheet, "j", "clinch", "nylon 12 lb", LOADS(36.1, 36.9));
  enter_sheet(book, &sheet);
  ask_since(&answers, book, NULL);
  const char *row = moved_row(&answers, "moved_figures", "nylon, dry", "palomar");
  assert_in(row, "no longer ranked over nylon 20 lb, dry (+");
  assert_near(figure(row, "by_combinations"), figure(row, "change"), 1e-9);
  row = moved_row(&answers, "moved", "nylon, dry", "snell");
  assert_in(row, "new: 4 of its 4 pulls are new; no longer ranked over nylon 20 lb, dry\"");
  assert_told(&answers,
              "the snell came in at rank 3 of 4 in nylon, dry; the clinch came in at rank "
              "4 of 4 in nylon, dry; ");
  /* The knots that came ask more of every pair: Holm's step, of six and no longer of one. */
  row = moved_row(&answers, "moved", "nylon 6 lb, dry", "palomar");
  assert_near(figure(row, "change"), 0, 1e-12);
  assert_in(row, "in earnest: the snell and clinch came in below it; no longer apart from the uni "
                 "(6 pairs judged at once now, 1 then)");
  answers_close(&answers);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_new_knot_pushes_the_others_down),
      cmocka_unit_test(a_knot_leaves_when_its_pulls_are_void),
      cmocka_unit_test(a_correction_lowers_one),
      cmocka_unit_test(passing_within_the_ranges),
      cmocka_unit_test(a_verdict_that_changes_is_in_earnest),
      cmocka_unit_test(new_plain_pulls_move_all_alike),
      cmocka_unit_test(plain_pulls_corrected_and_a_closer_match),
      cmocka_unit_test(a_line_without_plain_pulls_gets_some),
      cmocka_unit_test(what_cannot_be_split_is_not),
      cmocka_unit_test(a_combination_that_comes_in_changes_the_block),
      cmocka_unit_test(a_combination_that_goes_out_of_the_block),
  };
  return be_tests("app: moved", tests);
}
