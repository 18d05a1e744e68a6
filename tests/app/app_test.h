/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests of app share: a folder of their own, books made from text. */
#ifndef BE_APP_TEST_H
#define BE_APP_TEST_H

#include "app/survey/survey.h"
#include "test.h"

/* A path in this test's folder under the build's; the folder is made. */
static inline void test_path(char path[512], const char *name)
{
  const char *build = getenv("BUILD_DIR");
  char folder[400];
  snprintf(folder, sizeof folder, "%.300s/tests/app/scratch", build ? build : "/tmp");
  if (be_dir_create(folder, NULL) != BE_OK) snprintf(folder, sizeof folder, "/tmp");
  snprintf(path, 512, "%.400s/%.100s", folder, name);
}

static inline void test_write(const char *path, const char *text)
{
  assert_int_equal(be_file_write(path, text, strlen(text), NULL), BE_OK);
}

/* A new book holding one sheet, entered with a mapping (or null). */
static inline void test_book(char book[512], const char *name, const char *sheet,
                             const char *mapping)
{
  char path[512], file[120];
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  struct be_entering how = {.mapping = mapping};
  snprintf(file, sizeof file, "%.100s.csv", name);
  test_path(path, file);
  test_path(book, name);
  test_write(path, sheet);
  be_file_remove(book, NULL);
  assert_int_equal(be_book_create(book, &err), BE_OK);
  const char *const paths[] = {path};
  enum be_status status = be_app_enter(book, paths, 1, &how, &doc, &err);
  if (status != BE_OK) print_error("%s line %zu: %s\n", err.file, err.line, err.what);
  assert_int_equal(status, BE_OK);
  be_doc_free(doc);
}

static inline bool says(const struct be_doc *doc, const char *words)
{
  struct be_buf text;
  be_buf_init(&text, 16 * 1024 * 1024);
  assert_int_equal(be_doc_text(doc, 100000, &text, NULL), BE_OK);
  bool found = strstr(text.data, words) != NULL;
  if (!found) print_error("nowhere said: %s\n", words);
  be_buf_free(&text);
  return found;
}

static inline const struct cell *test_cell(const struct survey *survey, const char *combination,
                                           const char *knot)
{
  for (size_t i = 0; i < survey->cells_count; i++)
    if (strcmp(survey->combinations[survey->cells[i].combination].name, combination) == 0 &&
        strcmp(be_knot_name(survey, survey->cells[i].knot), knot) == 0)
      return &survey->cells[i];
  print_error("no cell %s, %s\n", combination, knot);
  fail();
  return NULL;
}

/* The header of a small sheet. */
#define TEST_HEAD                                                                                  \
  "specimen,knot,line A,spool A,line B,soak,speed (mm/min),load (N),what,where,result,reason\n"

/* The survey of a book made from one sheet; its arena is the caller's to free. */
static inline struct be_arena *test_survey(const char *name, const char *sheet,
                                           struct survey *survey)
{
  char book[512];
  struct be_answering how = {0};
  struct be_err err = {0};
  struct be_arena *arena = be_arena_create();
  assert_non_null(arena);
  test_book(book, name, sheet, NULL);
  assert_int_equal(be_survey_read(book, &how, arena, survey, &err), BE_OK);
  return arena;
}

#endif
