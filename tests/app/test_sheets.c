/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Paper for the bench: what stands on it, and what must not. */
#define _POSIX_C_SOURCE 200809L
#include "app/sheets/sheets.h"
#include "app/written.h"
#include "fault/failing.h"
#include "trial_book.h"

#include <math.h>
#include <unistd.h>

#include "pages.h"

static struct be_buf read_page(const char *folder, const char *name)
{
  char path[700];
  struct be_buf page;
  snprintf(path, sizeof path, "%s/%s", folder, name);
  be_buf_init(&page, 1 << 26);
  assert_int_equal(be_file_read(path, &page, NULL), BE_OK);
  return page;
}

static enum be_status publish(const char *book, const char *folder, struct be_err *err)
{
  const struct be_publishing asked = {.sheets_path = folder};
  struct be_doc *doc = NULL;
  enum be_status status =
      be_app_publish(book, &asked, &(const struct be_answering){.resamples = 50}, &doc, err);
  be_doc_free(doc);
  return status;
}

static void begin(struct trial_book *book, const char *name)
{
  trial_begin(book, name);
  trial_enter(book, "knot,tie\npalomar,palomar\nuni,\n");
  trial_enter(book, TRIAL_OF_NINE);
  trial_enter(book, "specimen,load (lb),what\na1,11.2,broke\nb1,9.7,slipped out\n");
}

/* Whoever judges what let go does not know the knot; whoever ties does. */
static void a_pull_sheet_tells_codes_and_lines_but_no_knot(void **state)
{
  (void)state;
  struct trial_book book;
  char folder[512];
  begin(&book, "sheets");
  test_path(folder, "sheets-out");
  assert_int_equal(publish(book.path, folder, NULL), BE_OK);
  struct be_buf page = read_page(folder, "pull-sheet-spring.html");
  assert_non_null(strstr(page.data, "7 of 9 specimens of the trial spring are still to be pulled"));
  assert_non_null(strstr(page.data, "blocks left: 3"));
  const char *p1 = strstr(page.data, ">p1<"), *b2 = strstr(page.data, ">b2<"),
             *b3 = strstr(page.data, ">b3<");
  assert_true(p1 && b2 && b3 && p1 < b2 && b2 < b3);
  assert_null(strstr(page.data, ">a1<")); /* pulled */
  assert_null(strstr(page.data, "palomar"));
  assert_null(strstr(page.data, "uni<"));
  assert_non_null(strstr(page.data, "<table class=\"by-hand\">"));
  assert_non_null(strstr(page.data, "nylon 12 lb (S1)"));
  assert_non_null(strstr(page.data, "slips out: event"));
  assert_non_null(strstr(page.data, "CAUTION"));
  be_buf_free(&page);
  page = read_page(folder, "tie-cards-spring.html");
  assert_non_null(strstr(page.data, "1 of 2 knots of the trial spring, wrap by wrap."));
  assert_non_null(strstr(page.data, "uni: how it runs is not recorded."));
  assert_non_null(strstr(page.data, "<svg "));
  be_buf_free(&page);
  page = read_page(folder, "labels-spring.html");
  assert_non_null(strstr(page.data, "9 labels"));
  be_buf_free(&page);
  page = read_page(folder, "plan-spring.html");
  assert_non_null(strstr(page.data, "spring"));
  be_buf_free(&page);
}

static void a_book_without_trials_has_empty_rows(void **state)
{
  (void)state;
  struct trial_book book;
  char folder[512];
  trial_begin(&book, "sheets-none");
  trial_enter(&book, "knot,tie\nreef,\"tie no such thing\n\"\ngranny,granny\n");
  test_path(folder, "sheets-none-out");
  assert_int_equal(publish(book.path, folder, NULL), BE_OK);
  struct be_buf page = read_page(folder, "pull-sheet.html");
  assert_non_null(strstr(page.data, "For 24 pulls that no trial plans."));
  assert_non_null(strstr(page.data, ">24<"));
  assert_null(strstr(page.data, ">25<"));
  be_buf_free(&page);
  page = read_page(folder, "tie-cards.html");
  assert_non_null(strstr(page.data, "1 of 2 knots of the book"));
  assert_non_null(strstr(page.data, "reef: its tie cannot be drawn: "));
  be_buf_free(&page);
}

static void notes_of_a_person_stay(void **state)
{
  (void)state;
  struct trial_book book;
  struct be_err err = {0};
  char folder[512], path[700];
  begin(&book, "sheets-notes");
  test_path(folder, "sheets-notes-out");
  assert_int_equal(be_dir_create(folder, NULL), BE_OK);
  snprintf(path, sizeof path, "%s/pull-sheet-spring.html", folder);
  test_write(path, "<html>what I saw");
  assert_int_equal(publish(book.path, folder, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "it is no sheet of this program"));
  assert_non_null(strstr(err.remedy, "--sheets"));
  struct be_buf page = read_page(folder, "pull-sheet-spring.html");
  assert_string_equal(page.data, "<html>what I saw");
  be_buf_free(&page);
  assert_int_equal(be_file_remove(path, NULL), BE_OK);
  assert_int_equal(publish(book.path, folder, NULL), BE_OK);
  assert_int_equal(publish(book.path, folder, NULL), BE_OK); /* over its own */
}

static void names_of_files_are_plain_and_apart(void **state)
{
  (void)state;
  struct be_file_names names = {.arena = be_arena_create()};
  static const char *const texts[][2] = {
      {"Palomar, 3 turns (well/tied)", "palomar-3-turns-well-tied"},
      {"palomar 3 turns well tied", "palomar-3-turns-well-tied-2"},
      {"PALOMAR--3 turns well tied ", "palomar-3-turns-well-tied-3"},
      {"../..", "no-name"},
      {"\xD1\x83\xD0\xB7\xD0\xB5\xD0\xBB", "no-name-2"},
      {"", "no-name-3"},
  };
  for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
    assert_string_equal(be_file_name(&names, texts[i][0]), texts[i][1]);
  char text[20];
  for (int i = 0; i < 100; i++) {
    snprintf(text, sizeof text, "knot %d", i);
    assert_non_null(be_file_name(&names, text));
  }
  assert_string_equal(be_file_name(&names, "knot 57"), "knot-57-2");
  char long_text[300];
  memset(long_text, 'q', sizeof long_text - 1);
  long_text[sizeof long_text - 1] = '\0';
  assert_true(strlen(be_file_name(&names, long_text)) < 100);
  be_arena_free(names.arena);
}

/* ---- on pages ---- */

static size_t count_of(const char *text, const char *what)
{
  size_t count = 0;
  for (; (text = strstr(text, what)) != NULL; text += strlen(what)) count++;
  return count;
}

/* The same on pages of A4, lying on their side where they are written on; what must not be told is
 * not told there either. */
static void every_sheet_has_its_pages(void **state)
{
  (void)state;
  struct trial_book book;
  char folder[512];
  pages_need_reader();
  begin(&book, "sheets-pages");
  test_path(folder, "sheets-pages-out");
  assert_int_equal(publish(book.path, folder, NULL), BE_OK);
  static const struct {
    const char *name, *box, *says[4];
    size_t pages;
  } sheets[] = {
      {"pull-sheet-spring.pdf",
       "[ 0 0 841.889764 595.275591 ]",
       {"7 of 9 specimens", "spring, block 3", "Check weight and its reading", "b3"},
       4}, /* its words, then a block each */
      {"labels-spring.pdf",
       "[ 0 0 595.275591 841.889764 ]",
       {"9 labels", "63.5 mm by 33.9 mm", "block 3, pull 9", "What to tie"},
       3},
      {"plan-spring.pdf", "[ 0 0 595.275591 841.889764 ]", {"spring", "palomar"}, 0},
      {"tie-cards-spring.pdf",
       "[ 0 0 595.275591 841.889764 ]",
       {"wrap by wrap", "uni: how it runs is not recorded", "tied as palomar, in 6 steps"},
       1}};
  for (size_t i = 0; i < sizeof sheets / sizeof sheets[0]; i++) {
    struct be_buf pdf = read_page(folder, sheets[i].name), text;
    size_t boxes = 0;
    for (size_t k = 0; k + strlen(sheets[i].box) <= pdf.size; k++)
      boxes += memcmp(pdf.data + k, sheets[i].box, strlen(sheets[i].box)) == 0;
    pages_read(&pdf, "-layout", &text);
    size_t pages = count_of(text.data, "\f");
    pages_squeeze(text.data);
    for (size_t k = 0; k < 4 && sheets[i].says[k]; k++)
      if (!strstr(text.data, sheets[i].says[k]))
        fail_msg("%s: \"%s\" is not in: %s", sheets[i].name, sheets[i].says[k], text.data);
    if (sheets[i].pages) assert_int_equal(pages, sheets[i].pages);
    assert_true(boxes >= pages);
    if (i == 0) assert_null(strstr(text.data, "palomar"));
    be_buf_free(&pdf);
    be_buf_free(&text);
  }
}

/* 63.5 mm by 33.9 mm, three beside one another with 2.5 mm between them: where each code stands. */
static void labels_stand_where_sheets_of_24_have_them(void **state)
{
  (void)state;
  static const char *const codes[] = {"a1", "b1", "p1", "b2", "p2", "a2", "p3", "a3", "b3"};
  const double mm = 72 / 25.4;
  struct trial_book book;
  char folder[512], word[20];
  double x0 = 0, y0 = 0;
  pages_need_reader();
  begin(&book, "sheets-grid");
  test_path(folder, "sheets-grid-out");
  assert_int_equal(publish(book.path, folder, NULL), BE_OK);
  struct be_buf pdf = read_page(folder, "labels-spring.pdf"), text;
  pages_read(&pdf, "-bbox -f 2 -l 2", &text);
  for (size_t i = 0; i < sizeof codes / sizeof codes[0]; i++) {
    snprintf(word, sizeof word, ">%s</word>", codes[i]);
    const char *at = strstr(text.data, word);
    assert_non_null(at);
    while (strncmp(at, "xMin=", 5) != 0) at--;
    double x = strtod(at + 6, NULL), y = strtod(strstr(at, "yMin=") + 6, NULL);
    if (i == 0) x0 = x, y0 = y;
    assert_true(fabs(x - x0 - (double)(i % 3) * 66 * mm) < 0.5);
    assert_true(fabs(y - y0 - (double)(i / 3) * 33.9 * mm) < 0.5);
  }
  assert_true(x0 > 7.25 * mm && x0 < 12 * mm && y0 > 12.9 * mm && y0 < 18 * mm);
  be_buf_free(&pdf);
  be_buf_free(&text);
}

/* Pages of somebody else's stay, and the same book gives the same bytes. */
static void pages_of_a_person_stay(void **state)
{
  (void)state;
  struct trial_book book;
  struct be_err err = {0};
  char folder[512], path[700];
  begin(&book, "sheets-own");
  test_path(folder, "sheets-own-out");
  assert_int_equal(be_dir_create(folder, NULL), BE_OK);
  snprintf(path, sizeof path, "%s/labels-spring.pdf", folder);
  test_write(path, "%PDF-1.4\n/Creator (somebody else)\n");
  assert_int_equal(publish(book.path, folder, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "it is no sheet of this program"));
  assert_int_equal(be_file_remove(path, NULL), BE_OK);
  assert_int_equal(publish(book.path, folder, NULL), BE_OK);
  struct be_buf first = read_page(folder, "labels-spring.pdf");
  assert_int_equal(publish(book.path, folder, NULL), BE_OK);
  struct be_buf second = read_page(folder, "labels-spring.pdf");
  assert_int_equal(first.size, second.size);
  assert_memory_equal(first.data, second.data, first.size);
  be_buf_free(&first);
  be_buf_free(&second);
}

/* ---- when memory runs out ---- */

struct wanted {
  const struct survey *survey;
  bool cards;
};

static enum be_status make(void *context, struct be_err *err)
{
  const struct wanted *wanted = context;
  struct survey survey = *wanted->survey;
  const struct be_trial *trial = &survey.record.trials[0];
  struct be_doc *doc = NULL;
  struct be_buf text;
  be_buf_init(&text, 1 << 22);
  survey.arena = be_arena_create();
  if (!survey.arena) return be_no_memory(err);
  enum be_status status = wanted->cards ? be_tie_cards_doc(&survey, trial, &doc, err)
                                        : be_pull_sheet_doc(&survey, trial, &doc, err);
  if (status == BE_OK) status = be_doc_text(doc, 0, &text, err);
  if (status == BE_OK && !strstr(text.data, wanted->cards ? "wrap by wrap" : "b3"))
    status = be_fail(err, BE_BAD_INPUT, "a sheet that is not whole");
  be_doc_free(doc);
  be_buf_free(&text);
  be_arena_free(survey.arena);
  return status;
}

static void a_sheet_is_whole_or_none(void **state)
{
  (void)state;
  struct trial_book book;
  begin(&book, "sheets-memory");
  trial_read(&book);
  struct wanted wanted = {&book.answers.survey, false};
  be_fail_loop_apart(make, &wanted, 10);
  wanted.cards = true;
  be_fail_loop_apart(make, &wanted, 10);
  trial_close(&book);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_pull_sheet_tells_codes_and_lines_but_no_knot),
      cmocka_unit_test(a_book_without_trials_has_empty_rows),
      cmocka_unit_test(notes_of_a_person_stay),
      cmocka_unit_test(every_sheet_has_its_pages),
      cmocka_unit_test(labels_stand_where_sheets_of_24_have_them),
      cmocka_unit_test(pages_of_a_person_stay),
      cmocka_unit_test(names_of_files_are_plain_and_apart),
      cmocka_unit_test(a_sheet_is_whole_or_none),
  };
  return be_tests("app: sheets to print", tests);
}
