/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Books that grow row by row, and the figures of their documents, found in the JSON edition:
 * a table by its name, a row by what it holds, a figure by its key. */
#ifndef BE_APP_FIGURES_H
#define BE_APP_FIGURES_H

#include "app_test.h"

/* ---- a book ---- */

struct sheet {
  struct be_buf text;
  int rows;
};

static inline struct sheet sheet_begin(const char *head)
{
  struct sheet sheet = {.rows = 0};
  be_buf_init(&sheet.text, 16 * 1024 * 1024);
  be_buf_format(&sheet.text, "specimen,%s\n", head);
  return sheet;
}

/* A row but for its specimen, which is a number. */
static inline void BE_PRINTF(2, 3) sheet_row(struct sheet *sheet, const char *format, ...)
{
  char row[500];
  va_list list;
  va_start(list, format);
  vsnprintf(row, sizeof row, format, list);
  va_end(list);
  be_buf_format(&sheet->text, "t%d,%s\n", ++sheet->rows, row);
}

/* Rows that differ by their load, the last column. */
static inline void sheet_loads(struct sheet *sheet, const char *row, const double *loads, size_t n)
{
  for (size_t i = 0; i < n; i++) sheet_row(sheet, "%s,%.10g", row, loads[i]);
}

/* ---- its documents ---- */

struct answers {
  struct be_arena *arena;
  struct survey survey;
  struct be_buf json, text; /* of the document last asked for */
};

static inline void answers_print(struct answers *answers, struct be_doc *doc)
{
  answers->json.size = answers->text.size = 0;
  assert_int_equal(be_doc_json(doc, &answers->json, NULL), BE_OK);
  assert_int_equal(be_doc_text(doc, 100000, &answers->text, NULL), BE_OK);
  be_doc_free(doc);
}

/* Enters the sheets, the first but one or both may be of benches or lines, and reads the book.
 * Frees the sheet. */
static inline void answers_open(struct answers *answers, const char *name, struct sheet *sheet,
                                const char *before, const struct be_answering *how)
{
  char book[512], paths_of[2][512], file[120];
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  struct be_entering entering = {0};
  const char *paths[2];
  size_t count = 0;
  memset(answers, 0, sizeof *answers);
  snprintf(file, sizeof file, "%.90s.book", name);
  test_path(book, file);
  be_file_remove(book, NULL);
  if (before) {
    snprintf(file, sizeof file, "%.90s-before.csv", name);
    test_path(paths_of[count], file);
    test_write(paths_of[count], before);
    paths[count] = paths_of[count];
    count++;
  }
  snprintf(file, sizeof file, "%.90s.csv", name);
  test_path(paths_of[count], file);
  test_write(paths_of[count], sheet->text.data);
  paths[count] = paths_of[count];
  count++;
  assert_int_equal(be_book_create(book, &err), BE_OK);
  enum be_status status = be_app_enter(book, paths, count, &entering, &doc, &err);
  if (status != BE_OK) print_error("%s line %zu: %s\n", err.file, err.line, err.what);
  assert_int_equal(status, BE_OK);
  be_doc_free(doc);
  be_buf_free(&sheet->text);
  const struct be_answering usual = {0};
  answers->arena = be_arena_create();
  assert_non_null(answers->arena);
  be_buf_init(&answers->json, 64 * 1024 * 1024);
  be_buf_init(&answers->text, 64 * 1024 * 1024);
  status = be_survey_read(book, how ? how : &usual, answers->arena, &answers->survey, &err);
  assert_int_equal(status, BE_OK);
}

static inline void answers_strength(struct answers *answers)
{
  struct be_doc *doc = NULL;
  assert_int_equal(be_strength_doc(&answers->survey, &doc, NULL), BE_OK);
  answers_print(answers, doc);
}

static inline void answers_standings(struct answers *answers)
{
  struct be_doc *doc = NULL;
  assert_int_equal(be_standings_doc(&answers->survey, &doc, NULL), BE_OK);
  answers_print(answers, doc);
}

static inline void answers_versus(struct answers *answers, const char *first, const char *second)
{
  struct be_doc *doc = NULL;
  int a = be_knot_find(&answers->survey, first, NULL);
  int b = be_knot_find(&answers->survey, second, NULL);
  assert_int_equal(be_versus_doc(&answers->survey, a, b, &doc, NULL), BE_OK);
  answers_print(answers, doc);
}

static inline void answers_close(struct answers *answers)
{
  be_buf_free(&answers->json);
  be_buf_free(&answers->text);
  be_arena_free(answers->arena);
}

/* ---- what they say ---- */

/* Whether people are told so. */
static inline bool told(const struct answers *answers, const char *words)
{
  return strstr(answers->text.data, words) != NULL;
}

static inline void assert_told(const struct answers *answers, const char *words)
{
  if (!told(answers, words)) fail_msg("nowhere said: %s", words);
}

static inline void assert_not_told(const struct answers *answers, const char *words)
{
  if (told(answers, words)) fail_msg("said: %s", words);
}

static inline const char *find_table(const struct answers *answers, const char *table)
{
  char name[100];
  snprintf(name, sizeof name, "{\"name\":\"%s\",", table);
  return strstr(answers->json.data, name);
}

/* The row of a table, or of several of one name, each on a line of its own, that holds both texts
 * (the second may be null); copied, and good until the next call but three. */
static inline const char *row_of(const struct answers *answers, const char *table,
                                 const char *first, const char *second)
{
  static char rows[4][8192];
  static size_t next = 0;
  char *row = rows[next++ % 4];
  char name[100];
  snprintf(name, sizeof name, "{\"name\":\"%s\",", table);
  for (const char *at = answers->json.data; (at = strstr(at, name)) != NULL; at++) {
    const char *end = strstr(at, "]}"), *line = strchr(at, '\n');
    for (; line && line < end; line = strchr(line + 1, '\n')) {
      snprintf(row, sizeof rows[0], "%.*s", (int)strcspn(line + 1, "\n"), line + 1);
      if (strstr(row, first) && (!second || strstr(row, second))) return row;
    }
  }
  fail_msg("no table %s has a row with %s, %s", table, first, second ? second : "");
  return NULL;
}

/* Of the first table of that name. */
static inline size_t count_rows(const struct answers *answers, const char *table)
{
  const char *at = find_table(answers, table);
  const char *end = at ? strstr(at, "]}") : NULL;
  size_t count = 0;
  for (at = at ? strchr(at, '\n') : NULL; at && at < end; at = strchr(at + 1, '\n')) count++;
  return count;
}

/* Not-a-number for null. */
static inline double figure(const char *row, const char *key)
{
  char name[100];
  snprintf(name, sizeof name, "\"%s\":", key);
  const char *at = strstr(row, name);
  if (!at) fail_msg("no figure %s in %s", key, row);
  at += strlen(name);
  if (strncmp(at, "null", 4) == 0) return NAN;
  char *end;
  double value = strtod(at, &end);
  if (end == at) fail_msg("%s is no number in %s", key, row);
  return value;
}

#endif
