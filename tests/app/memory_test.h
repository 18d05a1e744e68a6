/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory that fails at each point of a section or a document. */
#ifndef BE_APP_MEMORY_TEST_H
#define BE_APP_MEMORY_TEST_H

#include "fault/failing.h"
#include "figures.h"

typedef enum be_status writer(struct be_doc *, const struct survey *, struct be_err *);

typedef enum be_status asker(const struct survey *, struct be_doc **, struct be_err *);

struct trial {
  const struct survey *survey;
  writer *say; /* a section; null: a document */
  asker *ask;
  struct be_buf *whole; /* what is said when memory is plenty; null: write it to text */
  struct be_buf text;
};

static inline enum be_status write_section(const struct survey *survey, writer *say,
                                           struct be_doc **out, struct be_err *err)
{
  struct be_doc *doc = be_doc_create("section", "Section");
  if (!doc) return be_no_memory(err);
  return be_answer_done(survey, doc, say(doc, survey, err), out, err);
}

/* The survey is as it was: what a section takes stands in an arena of its own. Threads may be
 * done without; words may not. */
static inline enum be_status attempt(void *context, struct be_err *err)
{
  struct trial *trial = context;
  struct survey survey = *trial->survey;
  struct be_doc *doc = NULL;
  be_buf_init(&trial->text, 1 << 20);
  survey.arena = be_arena_create();
  if (!survey.arena) return be_no_memory(err);
  enum be_status status =
      trial->say ? write_section(&survey, trial->say, &doc, err) : trial->ask(&survey, &doc, err);
  if (status == BE_OK) status = be_doc_text(doc, 0, &trial->text, err);
  if (status == BE_OK && trial->whole && strcmp(trial->text.data, trial->whole->data) != 0)
    status = be_fail(err, BE_BAD_INPUT, "a section that is not whole");
  be_doc_free(doc);
  be_arena_free(survey.arena);
  if (trial->whole) be_buf_free(&trial->text);
  return status;
}

/* words: what only this section says, so that it is known to be reached. */
static inline void try_either(const struct answers *answers, writer *say, asker *ask,
                              const char *words)
{
  struct trial plenty = {.survey = &answers->survey, .say = say, .ask = ask};
  assert_int_equal(attempt(&plenty, NULL), BE_OK);
  if (!strstr(plenty.text.data, words)) fail_msg("the section does not say: %s", words);
  struct trial trial = {&answers->survey, say, ask, &plenty.text, {0}};
  be_fail_loop_apart(attempt, &trial, 10);
  be_buf_free(&plenty.text);
}

#endif
