/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ties in the book's own work: what findings count of them, what the pages of knots say, and the
 * picture at the bench. */
#include "app/anatomy/anatomy.h"
#include "app/knots/knots.h"
#include "app/live/live.h"
#include "fault/failing.h"
#include "findings.h"
#include "web/web.h"

/* ---- counted ---- */

/* Drawn with the fewest crossings: reef and granny 6, all between the two lines, as drawn in any
 * book of knots; overhand with n tucks 2n + 1, that of the torus knot T(2, 2n + 1). */
static void crossings_are_those_of_each_line(void **state)
{
  (void)state;
  static const struct {
    const char *tie;
    double a, b;
  } known[] = {
      {"reef", 6, 6}, {"granny", 6, 6}, {"overhand turns=1", 3, NAN}, {"overhand turns=4", 9, NAN}};
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
    struct be_built built;
    assert_int_equal(be_tie_built(known[i].tie, &built, NULL), BE_OK);
    assert_near(built.crossings_a, known[i].a, 0);
    assert_true(isnan(known[i].b) ? isnan(built.crossings_b) : built.crossings_b == known[i].b);
    assert_true(built.overlap > 1);
  }
}

/* The ring is no line: what crosses it is left out, and A lies on itself. Of two lines A lies on
 * B. */
static void hardware_is_left_out(void **state)
{
  (void)state;
  static const char *const ties[] = {"clinch turns=3", "sheet bend"};
  for (size_t i = 0; i < 2; i++) {
    struct be_arena *arena = be_arena_create();
    struct be_tie tie;
    struct be_built built;
    struct anatomy *anatomy = be_arena_alloc(arena, sizeof *anatomy);
    assert_int_equal(be_tie_given(ties[i], strlen(ties[i]), NULL, arena, &tie, NULL), BE_OK);
    assert_int_equal(be_anatomy_work(&tie, BE_LOOKED_FEWEST, 0, 0, arena, anatomy, NULL), BE_OK);
    assert_int_equal(be_tie_built(ties[i], &built, NULL), BE_OK);
    const struct be_crossing_counts *counts = &anatomy->fewest.counts;
    assert_true(tie.hardware[1] == (i == 0));
    assert_true(counts->between[0][1] > 0);
    assert_near(built.crossings_a, (double)(counts->own[0] + (i ? counts->between[0][1] : 0)), 0);
    assert_near(built.overlap, anatomy->overlaps[i].on.length, 0);
    be_arena_free(arena);
  }
}

/* A turn more is a turn of wrap more, to the sixteenth that each end of a wrap is told to, on
 * either side; of a blood knot both sides count; a reef knot winds round nothing. */
static void turns_of_wrap_are_those_that_are_tied(void **state)
{
  (void)state;
  struct be_built three, six, blood, longer, reef;
  assert_int_equal(be_tie_built("clinch turns=3", &three, NULL), BE_OK);
  assert_int_equal(be_tie_built("clinch turns=6", &six, NULL), BE_OK);
  assert_int_equal(be_tie_built("blood knot turns=4", &blood, NULL), BE_OK);
  assert_int_equal(be_tie_built("blood knot turns=6", &longer, NULL), BE_OK);
  assert_int_equal(be_tie_built("reef", &reef, NULL), BE_OK);
  assert_near(six.wraps - three.wraps, 3, 4 / 16.0);
  assert_near(longer.wraps - blood.wraps, 4, 8 / 16.0);
  assert_near(reef.wraps, 0, 0);
}

static void what_cannot_be_read_is_not_counted(void **state)
{
  (void)state;
  struct be_built built;
  struct be_err err = {0};
  assert_int_equal(be_tie_built("no such knot at all", &built, &err), BE_NO);
  assert_non_null(strstr(err.what, "no such knot at all"));
  assert_true(isnan(built.crossings_a) && isnan(built.crossings_b) && isnan(built.overlap));
}

/* A line of so many points would keep all findings waiting. */
static void what_is_too_large_is_not_counted(void **state)
{
  (void)state;
  struct be_built built;
  struct be_buf points;
  be_buf_init(&points, 1 << 22);
  for (int i = 0; i < 60000; i++)
    be_buf_format(&points, "%d,%.3f,%.3f\n", i, 0.3 * sin(i), 0.2 * cos(i));
  assert_int_equal(be_buf_status(&points, NULL), BE_OK);
  assert_int_equal(be_tie_built(points.data, &built, NULL), BE_TOO_LARGE);
  assert_true(isnan(built.crossings_a) && isnan(built.overlap));
  be_buf_free(&points);
}

/* ---- in findings ---- */

static const double held[] = {60.2, 57.1, 55.3, 50.8, 46.9, 41.4};

static struct sheet pulls_of(int knots)
{
  struct sheet sheet = sheet_begin("knot,line A,line B,soak,load (N)");
  for (int k = 0; k < knots; k++)
    for (int i = 0; i < 3; i++)
      sheet_row(&sheet, "k%d,nylon 12 lb,nylon 20 lb,dry,%.10g", k + 1, held[k] * (1 + 0.01 * i));
  return sheet;
}

static double median_slope(const double *x, size_t count)
{
  double slope[15];
  size_t slopes = 0;
  for (size_t i = 0; i < count; i++)
    for (size_t k = i + 1; k < count; k++) slope[slopes++] = log(held[k] / held[i]) / (x[k] - x[i]);
  for (size_t i = 0; i < slopes; i++)
    for (size_t k = i + 1; k < slopes; k++)
      if (slope[k] < slope[i]) {
        double swap = slope[i];
        slope[i] = slope[k];
        slope[k] = swap;
      }
  return (slope[(slopes - 1) / 2] + slope[slopes / 2]) / 2;
}

/* Crossings 3, 5, 7, 9, 11, 13: two of them of ties. What is recorded stands, whatever the tie. Of
 * 720 orders two are as far out. */
static void a_tie_stands_in_for_crossings(void **state)
{
  (void)state;
  static const char knots[] = "knot,crossings A,tie\n"
                              "k1,,overhand turns=1\nk2,5,overhand turns=7\nk3,7,\n"
                              "k4,,overhand turns=4\nk5,11,none\nk6,13,a riddle\n";
  static const double crossings[] = {3, 5, 7, 9, 11, 13};
  struct answers answers;
  struct sheet sheet = pulls_of(6);
  open_and_ask(&answers, "ties-crossings", &sheet, knots);
  const char *row = said(&answers, "More crossings went with less strength");
  assert_near(figure(row, "p"), 2 / 720.0, 1e-15);
  assert_near(log1p(figure(row, "value") / 100), median_slope(crossings, 6), 1e-12);
  assert_told(
      &answers,
      "for a crossing more, over 6 knots; by chance alone they would stand in an order as clear as "
      "this 1 time in 360 (rho -1.00, exact p 0.0028); worked out from the tie of k1, and "
      "of k4, in the view with the fewest crossings found; n = 18.");
  answers_close(&answers);
}

/* Two tell millimetres, and a drawing has none: ties are asked alone. */
static void overlap_by_ties_is_in_diameters(void **state)
{
  (void)state;
  static const char knots[] = "knot,overlap (mm),tie\n"
                              "k1,31.5,overhand turns=1\nk2,7.25,overhand turns=2\n"
                              "k3,,overhand turns=3\nk4,,overhand turns=4\nk5,,a riddle\n";
  double overlap[4];
  struct answers answers;
  struct sheet sheet = pulls_of(5);
  for (int i = 0; i < 4; i++) {
    char tie[40];
    struct be_built built;
    snprintf(tie, sizeof tie, "overhand turns=%d", i + 1);
    assert_int_equal(be_tie_built(tie, &built, NULL), BE_OK);
    overlap[i] = built.overlap;
  }
  open_and_ask(&answers, "ties-overlap", &sheet, knots);
  const char *row = unsaid(&answers, "whether more overlap of the lines goes");
  assert_near(figure(row, "p"), 2 / 24.0, 1e-15);
  assert_near(log1p(figure(row, "value") / 100), median_slope(overlap, 4), 1e-12);
  assert_told(&answers,
              "1 time in 12 (rho -1.00, exact p 0.083); worked out from their ties, in the "
              "view with the fewest crossings found; n = 12; the clearest that so few");
  answers_close(&answers);
}

/* Asked of ties alone, for no sheet tells it; no view is named, for none matters. */
static void turns_of_wrap_are_asked(void **state)
{
  (void)state;
  static const char knots[] = "knot,turns,tie\n"
                              "k1,,overhand turns=1\nk2,,overhand turns=2\nk3,9,overhand turns=3\n"
                              "k4,,overhand turns=4\nk5,7,\n";
  double wraps[4];
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,turns,line A,line B,soak,load (N)");
  static const char *const turns[] = {"", "", "9", "", "7"};
  for (int k = 0; k < 5; k++)
    for (int i = 0; i < 3; i++)
      sheet_row(&sheet, "k%d,%s,nylon 12 lb,nylon 20 lb,dry,%.10g", k + 1, turns[k],
                held[k] * (1 + 0.01 * i));
  for (int i = 0; i < 4; i++) {
    char tie[40];
    struct be_built built;
    snprintf(tie, sizeof tie, "overhand turns=%d", i + 1);
    assert_int_equal(be_tie_built(tie, &built, NULL), BE_OK);
    wraps[i] = built.wraps;
  }
  open_and_ask(&answers, "ties-wraps", &sheet, knots);
  const char *row = unsaid(&answers, "whether more turns of wrap go");
  assert_near(figure(row, "p"), 2 / 24.0, 1e-15);
  assert_near(log1p(figure(row, "value") / 100), median_slope(wraps, 4), 1e-12);
  assert_told(&answers, "1 time in 12 (rho -1.00, exact p 0.083); worked out from their ties; n = "
                        "12; the clearest that so few");
  answers_close(&answers);
}

static void millimetres_and_diameters_are_not_mixed(void **state)
{
  (void)state;
  static const char knots[] = "knot,crossings A,overlap (mm),tie\n"
                              "k1,4,11.5,\nk2,4,9,\nk3,4,13,\nk4,4,,overhand turns=4\n";
  struct answers answers;
  struct sheet sheet = pulls_of(4);
  open_and_ask(&answers, "ties-unmixed", &sheet, knots);
  assert_told(
      &answers,
      "for a millimetre more, over 3 knots; by chance alone they would stand in an order as "
      "clear as this every time (rho -0.50, exact p 1)");
  assert_not_told(&answers, "worked out");
  answers_close(&answers);
}

/* ---- in memory that fails ---- */

static enum be_status ask_again(void *context, struct be_err *err)
{
  const struct survey *whole = context;
  struct survey survey = *whole;
  struct be_doc *doc = NULL;
  survey.arena = be_arena_create();
  if (!survey.arena) return be_no_memory(err);
  enum be_status status = be_findings_doc(&survey, &doc, err);
  be_doc_free(doc);
  be_arena_free(survey.arena);
  return status;
}

static void findings_of_ties_bear_it(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = pulls_of(3);
  open_and_ask(&answers, "ties-memory", &sheet,
               "knot,crossings A,overlap (mm),tie\nk1,4,9,\nk2,7,8,\nk3,,5,overhand\n");
  assert_told(&answers, "worked out from the tie of k3, in");
  be_fail_loop_apart(ask_again, &answers.survey, 10);
  answers_close(&answers);
}

/* ---- on pages ---- */

static const char book_knots[] =
    "knot,version,kind,turns,aliases,tie\n"
    "my clinch,,hitch,7,\"lace, half blood knot\",\n"
    "uni,well & done,hitch,,,none\n"
    "lace end,,stopper,,,\n"
    "drawn,,stopper,2,,\"tie a name that is far too long for a line \xC3\xA9 and on\n"
    "kind stopper\nline A\n  -12,0 -6,0 ou 4,0 6,3 o 2,6 0,3\n  u -1,-3 2,-4 3,-1 o 3,2 u 3,9\n"
    "pulled A first, A last\"\n"
    "riddle,,bend,,,a riddle\n"
    "clinch,,hitch,5,,clinch turns=5\n";

static struct answers open_knots(const char *name)
{
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,load (N)");
  sheet_row(&sheet, "drawn,nylon 12 lb,41.5");
  answers_open(&answers, name, &sheet, book_knots, NULL);
  return answers;
}

static int knot_of(const struct answers *answers, const char *name)
{
  int found = -1;
  for (size_t i = 0; i < answers->survey.record.knots_count; i++)
    if (strcmp(answers->survey.record.knots[i].name, name) == 0) found = (int)i;
  assert_true(found >= 0);
  return found;
}

/* Its page as HTML, kept in `page`; its words are in `answers` too. */
static void ask_page(struct answers *answers, const char *name, struct be_buf *page)
{
  static const struct be_place places[] = {{"/knots", "Knots"}};
  const struct be_edition edition = {
      .sheet_link = "/style.css", .places = places, .places_count = 1, .here = "/knots"};
  size_t knot = (size_t)knot_of(answers, name);
  struct be_doc *doc = NULL;
  assert_int_equal(be_knot_doc(&answers->survey, knot, 0, &doc, NULL), BE_OK);
  const struct be_doc *docs[] = {doc};
  page->size = 0;
  assert_int_equal(be_doc_html(docs, 1, &edition, page, NULL), BE_OK);
  answers_print(answers, doc);
}

static void a_page_shows_its_tie_as_text(void **state)
{
  (void)state;
  struct answers answers = open_knots("ties-page");
  struct be_buf page;
  be_buf_init(&page, 1 << 22);
  ask_page(&answers, "drawn", &page);
  assert_int_equal(count_rows(&answers, "tie"), 6);
  row_of(&answers, "tie", "\"  -12,0 -6,0 ou 4,0 6,3 o 2,6 0,3\"", NULL);
  row_of(&answers, "knot", "\"tie\"", "\"a name that is far too long for a line ... (");
  assert_non_null(strstr(page.data, "Its tie as text</summary>"));
  assert_non_null(strstr(page.data, "A%20last&amp;knot=drawn&amp;turns=2\">"));
  assert_told(&answers, "How it runs");
  assert_true(count_rows(&answers, "crossings") > 0);
  row_of(&answers, "knot", "\"missing\"", "\"never compared, no picture\"");
  be_buf_free(&page);
  answers_close(&answers);
}

static void the_library_is_offered_by_name(void **state)
{
  (void)state;
  struct answers answers = open_knots("ties-offered");
  struct be_buf page;
  be_buf_init(&page, 1 << 22);
  ask_page(&answers, "my clinch", &page);
  row_of(&answers, "knot", "\"tie\"", "the library has one of its name, clinch turns=7:");
  assert_non_null(
      strstr(page.data, "href=\"/tie?tie=clinch%20turns%3D7&amp;knot=my%20clinch&amp;turns=7\">"));
  assert_told(&answers, "How it runs is not recorded");
  assert_int_equal(count_rows(&answers, "tie") + count_rows(&answers, "crossings"), 0);
  row_of(&answers, "knot", "\"missing\"", "no tie");
  ask_page(&answers, "uni", &page);
  assert_non_null(
      strstr(page.data, "href=\"/tie?tie=uni&amp;knot=uni&amp;version=well%20%26%20done\">"));
  row_of(&answers, "knot", "\"missing\"", "no tie");
  ask_page(&answers, "lace end", &page);
  row_of(&answers, "knot", "\"tie\"", "\"not recorded\"");
  be_buf_free(&page);
  answers_close(&answers);
}

static void the_list_names_ties(void **state)
{
  (void)state;
  struct answers answers = open_knots("ties-list");
  struct be_doc *doc = NULL;
  assert_int_equal(be_knots_doc(&answers.survey, &doc, NULL), BE_OK);
  answers_print(&answers, doc);
  row_of(&answers, "knots", "\"riddle\"", "\"tie\":\"a riddle\"");
  row_of(&answers, "knots", "\"uni\"", "\"tie\":\"\"");
  row_of(&answers, "knots", "\"clinch\"", "\"tie\":\"clinch turns=5\"");
  answers_close(&answers);
}

/* With its links, or not at all. */
static enum be_status list_again(void *context, struct be_err *err)
{
  static const struct be_place places[] = {{"/knots", "Knots"}};
  const struct be_edition edition = {
      .sheet_link = "/style.css", .places = places, .places_count = 1, .here = "/knots"};
  const struct survey *whole = context;
  struct survey survey = *whole;
  struct be_doc *doc = NULL;
  struct be_buf page;
  be_buf_init(&page, 1 << 22);
  survey.arena = be_arena_create();
  if (!survey.arena) return be_no_memory(err);
  enum be_status status = be_knots_doc(&survey, &doc, err);
  const struct be_doc *docs[] = {doc};
  if (status == BE_OK) status = be_doc_html(docs, 1, &edition, &page, err);
  if (status == BE_OK && !strstr(page.data, "href=\"/tie?tie=clinch%20turns%3D5&amp;knot=clinch"))
    status = be_fail(err, BE_BAD_INPUT, "a link is lost");
  be_buf_free(&page);
  be_doc_free(doc);
  be_arena_free(survey.arena);
  return status;
}

static void no_link_is_lost_without_a_word(void **state)
{
  (void)state;
  struct answers answers = open_knots("ties-links");
  be_fail_loop_apart(list_again, &answers.survey, 10);
  answers_close(&answers);
}

/* What cannot be read is what the book was given, so the book is sound; its page says it. */
static void an_unreadable_tie_leaves_the_book_sound(void **state)
{
  (void)state;
  struct answers answers = open_knots("ties-riddle");
  struct be_doc *doc = NULL;
  struct be_buf page;
  be_buf_init(&page, 1 << 22);
  ask_page(&answers, "riddle", &page);
  assert_told(&answers, "Its tie cannot be read: no tie is called \"a riddle\"");
  row_of(&answers, "tie", "\"a riddle\"", NULL);
  assert_int_equal(be_tie_doc("a riddle", answers.arena, &doc, NULL), BE_NO);
  assert_null(doc);
  assert_int_equal(be_app_check(answers.survey.book_path, &doc, NULL), BE_OK);
  answers_print(&answers, doc);
  assert_told(&answers, "Everything is right.");
  be_buf_free(&page);
  answers_close(&answers);
}

/* ---- at the bench ---- */

static void which_knot(struct answers *answers, const char *name, struct be_buf *html)
{
  const struct be_subject subject = {.knot = knot_of(answers, name), .line_a = -1, .line_b = -1};
  html->size = 0;
  be_write_which_knot(html, &answers->survey, &subject);
  assert_int_equal(be_buf_status(html, NULL), BE_OK);
}

static void the_bench_shows_the_tie(void **state)
{
  (void)state;
  struct answers answers = open_knots("ties-bench");
  struct be_buf html;
  be_buf_init(&html, 1 << 20);
  which_knot(&answers, "clinch", &html);
  assert_non_null(strstr(html.data,
                         "<img loading=\"lazy\" src=\"/tie.svg?tie=clinch%20turns%3D5\" alt=\"The "
                         "clinch, 5 turns, as its tie is drawn\">"));
  which_knot(&answers, "uni", &html);
  assert_null(strstr(html.data, "<img"));
  which_knot(&answers, "my clinch", &html);
  assert_null(strstr(html.data, "<img"));
  be_buf_free(&html);
  answers_close(&answers);
}

/* A picture of its own is the knot's picture, and no request is as long as the longest tie. */
static void the_bench_keeps_to_pictures_and_short_addresses(void **state)
{
  (void)state;
  struct answers answers = open_knots("ties-long");
  struct be_knot *clinch = &answers.survey.record.knots[knot_of(&answers, "clinch")];
  char *endless = be_arena_alloc(answers.arena, BE_ADDRESS_MAX);
  struct be_buf html;
  be_buf_init(&html, 1 << 20);
  memset(endless, '#', BE_ADDRESS_MAX - 1);
  clinch->tie = endless;
  which_knot(&answers, "clinch", &html);
  assert_null(strstr(html.data, "<img"));
  assert_string_equal(be_knot_tie_way(&answers.survey, clinch, endless), "");
  clinch->tie = "clinch";
  clinch->picture = 7;
  which_knot(&answers, "clinch", &html);
  assert_non_null(strstr(html.data, "/picture?of=7"));
  assert_null(strstr(html.data, "/tie.svg"));
  be_buf_free(&html);
  answers_close(&answers);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(crossings_are_those_of_each_line),
      cmocka_unit_test(hardware_is_left_out),
      cmocka_unit_test(turns_of_wrap_are_those_that_are_tied),
      cmocka_unit_test(what_cannot_be_read_is_not_counted),
      cmocka_unit_test(what_is_too_large_is_not_counted),
      cmocka_unit_test(a_tie_stands_in_for_crossings),
      cmocka_unit_test(overlap_by_ties_is_in_diameters),
      cmocka_unit_test(turns_of_wrap_are_asked),
      cmocka_unit_test(millimetres_and_diameters_are_not_mixed),
      cmocka_unit_test(findings_of_ties_bear_it),
      cmocka_unit_test(a_page_shows_its_tie_as_text),
      cmocka_unit_test(the_library_is_offered_by_name),
      cmocka_unit_test(the_list_names_ties),
      cmocka_unit_test(no_link_is_lost_without_a_word),
      cmocka_unit_test(an_unreadable_tie_leaves_the_book_sound),
      cmocka_unit_test(the_bench_shows_the_tie),
      cmocka_unit_test(the_bench_keeps_to_pictures_and_short_addresses),
  };
  return be_tests("app: ties in the book's own work", tests);
}
