/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests of what moved share: books entered in several sheets. */
#ifndef BE_MOVED_BOOKS_H
#define BE_MOVED_BOOKS_H

#include "app/moved/moved.h"
#include "figures.h"

#define HEAD "specimen,knot,line A,spool A,line B,soak,load (N),result,reason,correction\n"

struct one_sheet {
  const char *name;
  struct be_buf text;
};

static inline struct one_sheet one_sheet(const char *name)
{
  struct one_sheet sheet = {.name = name};
  be_buf_init(&sheet.text, 1 << 20);
  be_buf_text(&sheet.text, HEAD);
  return sheet;
}

/* Specimens are code1, code2, ... on a spool of their line; the last load is 0. */
static inline void add_pulls(struct one_sheet *sheet, const char *code, const char *knot,
                             const char *line, const double *loads)
{
  for (int i = 0; loads[i] != 0; i++)
    be_buf_format(&sheet->text, "%s%d,%s,%s,S1,,dry,%.10g,,,\n", code, i + 1, knot, line, loads[i]);
}

#define LOADS(...) ((const double[]){__VA_ARGS__, 0})

static inline void add_correction(struct one_sheet *sheet, const char *specimen, const char *knot,
                                  const char *line, double load)
{
  be_buf_format(&sheet->text, "%s,%s,%s,S1,,dry,%.10g,,,gauge read again\n", specimen, knot, line,
                load);
}

static inline void add_void(struct one_sheet *sheet, const char *specimen, const char *knot,
                            const char *line, bool correction)
{
  be_buf_format(&sheet->text, "%s,%s,%s,S1,,dry,,void,grip slipped,%s\n", specimen, knot, line,
                correction ? "was no pull" : "");
}

/* A new book of no pulls; its name holds for the folder of tests. */
static inline void new_book(char book[512], const char *name)
{
  char file[120];
  snprintf(file, sizeof file, "%.90s.book", name);
  test_path(book, file);
  be_file_remove(book, NULL);
  assert_int_equal(be_book_create(book, NULL), BE_OK);
}

/* Enters one sheet and frees it. */
static inline void enter_sheet(const char *book, struct one_sheet *sheet)
{
  struct be_book *opened = NULL;
  struct be_entered entered;
  struct be_err err = {0};
  const struct be_entering how = {0};
  struct be_arena *arena = be_arena_create();
  assert_int_equal(be_book_open(book, true, &opened, NULL), BE_OK);
  enum be_status status = be_book_enter(opened, sheet->name, sheet->text.data, sheet->text.size,
                                        &how, arena, &entered, &err);
  if (status != BE_OK) print_error("%s line %zu: %s\n", err.file, err.line, err.what);
  assert_int_equal(status, BE_OK);
  be_book_close(opened);
  be_arena_free(arena);
  be_buf_free(&sheet->text);
}

/* Standings of the book, with what moved since; null: as it comes. */
static inline void ask_since(struct answers *answers, const char *book, const char *since)
{
  const struct be_answering how = {.since = since, .resamples = 100};
  struct be_err err = {0};
  memset(answers, 0, sizeof *answers);
  answers->arena = be_arena_create();
  be_buf_init(&answers->json, 64 * 1024 * 1024);
  be_buf_init(&answers->text, 64 * 1024 * 1024);
  assert_int_equal(be_survey_read(book, &how, answers->arena, &answers->survey, &err), BE_OK);
  answers_standings(answers);
}

static inline const char *moved_row(const struct answers *answers, const char *table,
                                    const char *place, const char *knot)
{
  char first[120], second[60];
  snprintf(first, sizeof first, "{\"place\":\"%s\"", place);
  snprintf(second, sizeof second, "\"knot\":\"%s\"", knot);
  return row_of(answers, table, first, second);
}

static inline void assert_in(const char *row, const char *words)
{
  if (!row || !strstr(row, words)) fail_msg("no %s in %s", words, row ? row : "no row");
}

#define NYLON "nylon 12 lb"
#define PLACE "nylon 12 lb, dry"

/* Plain line 61.3 N on the mean; palomar and uni apart. */
static inline void enter_first(const char *book)
{
  struct one_sheet sheet = one_sheet("first.csv");
  add_pulls(&sheet, "p", "none", NYLON, LOADS(60.9, 61.3, 61.7));
  add_pulls(&sheet, "a", "palomar", NYLON, LOADS(55.1, 55.9, 55.3, 56.2));
  add_pulls(&sheet, "b", "uni", NYLON, LOADS(44.6, 45.3, 44.1, 45.1));
  enter_sheet(book, &sheet);
}

#endif
