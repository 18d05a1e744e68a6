/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Books with a trial, sheet by sheet. */
#ifndef BE_APP_TRIAL_BOOK_H
#define BE_APP_TRIAL_BOOK_H

#include "app/plan/plan.h"
#include "figures.h"

struct trial_book {
  char path[512], name[60];
  int sheets;
  struct answers answers;
};

/* Enters a sheet into the book. */
static inline void trial_enter(struct trial_book *book, const char *sheet)
{
  char path[512], file[120];
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  snprintf(file, sizeof file, "%s-%d.csv", book->name, ++book->sheets);
  test_path(path, file);
  test_write(path, sheet);
  const char *const paths[] = {path};
  enum be_status status =
      be_app_enter(book->path, paths, 1, &(const struct be_entering){0}, &doc, &err);
  be_doc_free(doc);
  if (status != BE_OK) fail_msg("%s line %zu: %s", err.file, err.line, err.what);
}

static inline void trial_begin(struct trial_book *book, const char *name)
{
  char file[120];
  memset(book, 0, sizeof *book);
  snprintf(book->name, sizeof book->name, "%s", name);
  snprintf(file, sizeof file, "%s.book", name);
  test_path(book->path, file);
  be_file_remove(book->path, NULL);
  assert_int_equal(be_book_create(book->path, NULL), BE_OK);
}

/* Two knots, three of each, and three plain lines, in one block after the other. */
#define TRIAL_OF_NINE                                                                              \
  "trial,specimen,block,order,design,knot,line A,spool A,soak\n"                                   \
  "spring,a1,1,1,single knot,palomar,nylon 12 lb,S1,dry\n"                                         \
  "spring,b1,1,2,single knot,uni,nylon 12 lb,S1,dry\n"                                             \
  "spring,p1,1,3,plain line,none,nylon 12 lb,S1,dry\n"                                             \
  "spring,b2,2,4,single knot,uni,nylon 12 lb,S1,dry\n"                                             \
  "spring,p2,2,5,plain line,none,nylon 12 lb,S1,dry\n"                                             \
  "spring,a2,2,6,single knot,palomar,nylon 12 lb,S1,dry\n"                                         \
  "spring,p3,3,7,plain line,none,nylon 12 lb,S1,dry\n"                                             \
  "spring,a3,3,8,single knot,palomar,nylon 12 lb,S1,dry\n"                                         \
  "spring,b3,3,9,single knot,uni,nylon 12 lb,S1,dry\n"

/* Reads the book anew; trial_close comes after each. */
static inline void trial_read(struct trial_book *book)
{
  memset(&book->answers, 0, sizeof book->answers);
  book->answers.arena = be_arena_create();
  be_buf_init(&book->answers.json, 64 * 1024 * 1024);
  be_buf_init(&book->answers.text, 64 * 1024 * 1024);
  assert_int_equal(be_survey_read(book->path, &(const struct be_answering){.resamples = 50},
                                  book->answers.arena, &book->answers.survey, NULL),
                   BE_OK);
}

/* Reads the book, and what is said of its first trial. */
static inline void trial_look(struct trial_book *book)
{
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  trial_read(book);
  assert_true(book->answers.survey.record.trials_count > 0);
  enum be_status status =
      be_trial_doc(&book->answers.survey, &book->answers.survey.record.trials[0], &doc, &err);
  if (status != BE_OK) fail_msg("%s", err.what);
  answers_print(&book->answers, doc);
}

static inline void trial_close(struct trial_book *book)
{
  answers_close(&book->answers);
}

#endif
