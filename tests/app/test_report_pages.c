/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report of the demonstration on pages: every sentence and every cell can be read back, in the
 * order in which they were written. */
#define _POSIX_C_SOURCE 200809L
#include "app/report/report.h"
#include "app_test.h"

#include <unistd.h>

/* Both rooms have a struct of this name; here the cell of a table is meant. */
#define cell press_cell
#include "press/inside.h"
#undef cell

#include "pages.h"

struct shelf {
  struct be_arena *arena;
  struct survey survey;
  struct be_report report;
  struct be_buf pdf;
};

static const struct be_edition edition = {
    .site = "Bitter End", .foot = be_notice, .moment = "2026-03-01T09:30:00Z"};

static int set_up(void **state)
{
  static struct shelf shelf;
  char book[512], bench[520];
  bool made = false;
  struct be_answering how = {0};
  test_path(book, "report-pages.book");
  snprintf(bench, sizeof bench, "%s-bench", book);
  assert_int_equal(be_app_demo(book, bench, &made, NULL), BE_OK);
  shelf.arena = be_arena_create();
  assert_int_equal(be_survey_read(book, &how, shelf.arena, &shelf.survey, NULL), BE_OK);
  assert_int_equal(be_report_docs(&shelf.survey, &shelf.report, NULL), BE_OK);
  be_buf_init(&shelf.pdf, 1 << 26);
  assert_int_equal(be_doc_pdf((const struct be_doc *const *)shelf.report.docs, shelf.report.count,
                              &edition, &shelf.pdf, NULL),
                   BE_OK);
  *state = &shelf;
  return 0;
}

static int tear_down(void **state)
{
  struct shelf *shelf = *state;
  be_buf_free(&shelf->pdf);
  be_report_free(&shelf->report);
  be_arena_free(shelf->arena);
  return 0;
}

/* ---- reading on ---- */

struct reader {
  const char *at;
  size_t found;
  bool dashes;
};

/* Looks for a text from where the last one ended. */
static bool found_next(struct reader *reader, const char *text)
{
  char wanted[1 << 14];
  assert_true(strlen(text) < sizeof wanted);
  snprintf(wanted, sizeof wanted, "%s", text);
  pages_bare(wanted, reader->dashes);
  const char *at = strstr(reader->at, wanted);
  if (!at) return false;
  reader->at = at + strlen(wanted);
  reader->found += *wanted != '\0';
  return true;
}

static void find_next(struct reader *reader, const char *text)
{
  bool found = found_next(reader, text);
  if (!found) print_error("not on the pages: %s\nbehind: %.300s\n", text, reader->at);
  assert_true(found);
}

static bool shown(const struct be_table *table, size_t column)
{
  return !table->columns[column].program_only;
}

static bool found_rows(struct reader *reader, const struct be_table *table)
{
  char room[CELL_ROOM];
  for (size_t c = 0; c < table->column_count; c++)
    if (shown(table, c) && !found_next(reader, table->columns[c].head)) return false;
  for (size_t row = 0; row < be_table_rows(table); row++)
    for (size_t c = 0; c < table->column_count; c++)
      if (shown(table, c) && !found_next(reader, be_cell_text(be_table_cell(table, row, c), room)))
        return false;
  return true;
}

/* Of a table whose columns are in parts each by itself. */
static void find_columns(struct reader *reader, const struct be_table *table)
{
  char room[CELL_ROOM];
  const char *from = reader->at, *past = from;
  for (size_t c = 0; c < table->column_count; c++) {
    if (!shown(table, c)) continue;
    reader->at = from;
    find_next(reader, table->columns[c].head);
    for (size_t row = 0; row < be_table_rows(table); row++)
      find_next(reader, be_cell_text(be_table_cell(table, row, c), room));
    past = reader->at > past ? reader->at : past;
  }
  reader->at = past;
}

/* In parts or not: whose rows end nearer to where they begin. */
static void find_table(struct reader *reader, const struct be_doc *doc, size_t i)
{
  const struct be_table *table = doc->blocks[i].table;
  bool any = false;
  for (size_t c = 0; c < table->column_count; c++) any |= shown(table, c);
  if (!any) return;
  if (!be_table_named_above(doc, i)) find_next(reader, table->title);
  struct reader rows = *reader, columns = *reader;
  bool whole = found_rows(&rows, table);
  find_columns(&columns, table);
  *reader = whole && rows.at <= columns.at + 200 ? rows : columns;
}

static void find_block(struct reader *reader, const struct be_doc *doc, size_t i)
{
  const struct block *block = &doc->blocks[i];
  switch (block->kind) {
  case BLOCK_CAUTION: find_next(reader, "CAUTION"); break;
  case BLOCK_FACT: find_next(reader, block->label); break;
  case BLOCK_FIGURE:
    find_next(reader, be_figure_title(block->figure));
    find_next(reader, be_figure_subtitle(block->figure));
    find_next(reader, be_figure_words(block->figure));
    return;
  case BLOCK_TABLE: find_table(reader, doc, i); return;
  case BLOCK_PICTURE: return;
  case BLOCK_SENTENCE:
  case BLOCK_HEADING:
  case BLOCK_NOTE: break;
  }
  find_next(reader, block->text);
}

static void all_is_there_in_its_order(void **state)
{
  struct shelf *shelf = *state;
  struct be_buf text;
  pages_need_reader();
  pages_read(&shelf->pdf, "-raw", &text);
  pages_squeeze(text.data);
  size_t pages = pages_cut_feet(text.data, be_notice);
  assert_true(pages > 40);
  pages_bare(text.data, true);
  struct reader reader = {.at = text.data, .dashes = true};
  for (size_t d = 0; d < shelf->report.count; d++) {
    const struct be_doc *doc = shelf->report.docs[d];
    find_next(&reader, doc->title);
    for (size_t i = 0; i < doc->block_count; i++) {
      const char *before = reader.at;
      find_block(&reader, doc, i);
      /* Nothing but page heads and contents is passed over. */
      assert_true(doc->blocks[i].kind == BLOCK_TABLE || reader.at - before < 30000);
    }
  }
  assert_true(reader.found > 9000);
  be_buf_free(&text);
}

/* As a reader's own program orders what stands beside one another. */
static void sentences_are_read_whole(void **state)
{
  struct shelf *shelf = *state;
  struct be_buf text;
  size_t count = 0;
  pages_need_reader();
  pages_read(&shelf->pdf, "", &text);
  pages_bare(text.data, false);
  for (size_t d = 0; d < shelf->report.count; d++)
    for (size_t i = 0; i < shelf->report.docs[d]->block_count; i++) {
      const struct block *block = &shelf->report.docs[d]->blocks[i];
      if (block->kind != BLOCK_SENTENCE && block->kind != BLOCK_NOTE) continue;
      struct reader reader = {.at = text.data};
      find_next(&reader, block->text);
      count++;
    }
  assert_true(count > 100);
  be_buf_free(&text);
}

static void the_same_bytes_again(void **state)
{
  struct shelf *shelf = *state;
  struct be_buf again;
  be_buf_init(&again, 1 << 26);
  assert_int_equal(be_doc_pdf((const struct be_doc *const *)shelf->report.docs, shelf->report.count,
                              &edition, &again, NULL),
                   BE_OK);
  assert_int_equal(again.size, shelf->pdf.size);
  assert_memory_equal(again.data, shelf->pdf.data, again.size);
  be_buf_free(&again);
}

/* A printed page is read from 30 cm away: 7 points are 28 minutes of arc there (from the
 * definition of the point; that no text be smaller is common practice). */
static void no_letter_is_too_small(void **state)
{
  struct shelf *shelf = *state;
  pages_need_reader();
  double smallest = pages_smallest(&shelf->pdf);
  if (smallest < 6.99) print_error("letters of %.2f points\n", smallest);
  assert_true(smallest >= 6.99);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(all_is_there_in_its_order),
      cmocka_unit_test(sentences_are_read_whole),
      cmocka_unit_test(the_same_bytes_again),
      cmocka_unit_test(no_letter_is_too_small),
  };
  cmocka_set_message_output(CM_OUTPUT_TAP);
  return cmocka_run_group_tests_name("app: the report on pages", tests, set_up, tear_down);
}
