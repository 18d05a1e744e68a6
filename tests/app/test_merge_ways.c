/* SPDX-License-Identifier: GPL-3.0-or-later */
/* It is all the same which of two books the other comes into: the same standings, and the same
 * figures but for the order in which sums are taken. */
#include "app/survey/survey.h"
#include "odd_book.h"

#include <math.h>

static void bench_of(char book[512], const char *name, const char *letter, double more)
{
  struct be_buf sheet;
  test_path(book, name);
  be_file_remove(book, NULL);
  assert_int_equal(be_book_create(book, NULL), BE_OK);
  be_buf_init(&sheet, 1 << 16);
  be_buf_text(&sheet, "specimen,knot,line A,load (lb),what,where\n");
  static const char *const knots[] = {"none", "palomar", "clinch", "uni"};
  for (int i = 0; i < 28; i++)
    be_buf_format(&sheet, "%s%d,%s,nylon 12 lb,%.2f,broke,%s\n", letter, i, knots[i % 4],
                  12.9 - 0.8 * (i % 4) + 0.13 * ((7 * i) % 11) + more,
                  i % 4 ? "in the knot" : "clear of it");
  char file[80];
  snprintf(file, sizeof file, "ways-%s.csv", letter);
  odd_sheet(book, file, sheet.data, NULL);
  be_buf_free(&sheet);
}

/* Rank and knot of each row, in order; the chance of being first is resampled in the order entered.
 */
static void ranks_of(const char *book, char ranks[400])
{
  const struct be_answering how = {.resamples = 400, .seed = 3};
  struct be_doc *doc = NULL;
  struct be_buf text;
  size_t used = 0, rows = 0;
  be_buf_init(&text, 1 << 20);
  assert_int_equal(be_app_standings(book, &how, &doc, NULL), BE_OK);
  assert_int_equal(be_doc_json(doc, &text, NULL), BE_OK);
  be_doc_free(doc);
  ranks[0] = '\0';
  for (const char *at = text.data; (at = strstr(at, "\"rank\":")) != NULL; at++, rows++) {
    const char *knot = strstr(at, "\"knot\":");
    if (!knot) break;
    int put = snprintf(ranks + used, 400 - used, "%.9s %.18s|", at, knot);
    if (put > 0 && used + (size_t)put < 400) used += (size_t)put;
  }
  assert_true(rows >= 3);
  be_buf_free(&text);
}

static const struct cell *cell_of(const struct survey *survey, const char *knot)
{
  for (size_t i = 0; i < survey->cells_count; i++)
    if (strcmp(be_cell_name(survey, &survey->cells[i]), knot) == 0) return &survey->cells[i];
  fail_msg("no %s", knot);
  return NULL;
}

static void it_is_all_the_same_which_book_the_other_comes_into(void **state)
{
  (void)state;
  static const char answers[] =
      "kind,here,there,same\nline,nylon 12 lb,nylon 12 lb,yes\nknot,palomar,palomar,yes\n"
      "knot,clinch,clinch,yes\nknot,uni,uni,yes\n";
  static const char *const knots[] = {"palomar", "clinch", "uni"};
  const struct be_answering how = {.seed = 3};
  char first[512], second[512], same[512], ranks[2][400];
  struct survey survey[2];
  struct be_arena *arena = be_arena_create();
  test_path(same, "ways-same.csv");
  test_write(same, answers);
  for (int i = 0; i < 2; i++) {
    struct be_doc *doc = NULL;
    bench_of(first, "ways-1.book", "A", 0);
    bench_of(second, "ways-2.book", "B", 0.11);
    assert_int_equal(be_app_merge(i ? second : first, i ? first : second, same, &doc, NULL), BE_OK);
    assert_true(says(doc, "pulls 28, corrections 0"));
    be_doc_free(doc);
    ranks_of(i ? second : first, ranks[i]);
    assert_int_equal(be_survey_read(i ? second : first, &how, arena, &survey[i], NULL), BE_OK);
  }
  assert_string_equal(ranks[0], ranks[1]);
  for (size_t i = 0; i < sizeof knots / sizeof knots[0]; i++) {
    const struct cell *a = cell_of(&survey[0], knots[i]), *b = cell_of(&survey[1], knots[i]);
    assert_int_equal(a->n, 14);
    assert_int_equal(b->n, 14);
    assert_near(a->load.value, b->load.value, 1e-12 * a->load.value);
    assert_near(a->efficiency.value, b->efficiency.value, 1e-12);
    assert_near(a->efficiency.interval.low, b->efficiency.interval.low, 1e-10);
  }
  be_arena_free(arena);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(it_is_all_the_same_which_book_the_other_comes_into),
  };
  return be_tests("app: two books, either way", tests);
}
