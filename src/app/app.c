/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The use cases that read a book and answer. */
#include "app/rig/trust.h"

#include <string.h>

const char be_notice[] =
    "For angling only: never for climbing, lifting, towing or any line that a life hangs on. A "
    "stretched line stores energy and whips back: guard down, eyes covered, stand clear, hands off "
    "until the load reads zero. Follow the maker's limits, local rules and a qualified person's "
    "advice. Informed by textile and rope standards; no standard exists for testing an angler's "
    "knot.";

enum be_status be_doc_done(struct be_doc *doc, enum be_status status, struct be_doc **out)
{
  if (status == BE_OK) *out = doc;
  else be_doc_free(doc);
  return status;
}

enum be_status be_answer_done(const struct survey *survey, struct be_doc *doc,
                              enum be_status status, struct be_doc **out, struct be_err *err)
{
  if (status == BE_OK && be_arena_ran_out(survey->arena)) status = be_no_memory(err);
  return be_doc_done(doc, status, out);
}

typedef enum be_status answer_fn(const struct survey *survey, void *context, struct be_doc **doc,
                                 struct be_err *err);

static enum be_status answer(const char *book_path, const struct be_answering *how,
                             answer_fn *write, void *context, struct be_doc **doc,
                             struct be_err *err)
{
  struct survey survey;
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_no_memory(err);
  enum be_status status = be_survey_read(book_path, how, arena, &survey, err);
  if (status == BE_OK) status = write(&survey, context, doc, err);
  be_arena_free(arena);
  return status;
}

static enum be_status write_strength(const struct survey *survey, void *context,
                                     struct be_doc **doc, struct be_err *err)
{
  (void)context;
  return be_strength_doc(survey, doc, err);
}

enum be_status be_app_strength(const char *book_path, const struct be_answering *how,
                               struct be_doc **doc, struct be_err *err)
{
  return answer(book_path, how, write_strength, NULL, doc, err);
}

static enum be_status write_standings(const struct survey *survey, void *context,
                                      struct be_doc **doc, struct be_err *err)
{
  (void)context;
  return be_standings_doc(survey, doc, err);
}

enum be_status be_app_standings(const char *book_path, const struct be_answering *how,
                                struct be_doc **doc, struct be_err *err)
{
  return answer(book_path, how, write_standings, NULL, doc, err);
}

struct two_names {
  const char *a, *b;
};

static enum be_status write_two(const struct survey *survey, void *context, struct be_doc **doc,
                                struct be_err *err)
{
  const struct two_names *names = context;
  int a = be_knot_find(survey, names->a, err);
  int b = a < 0 ? -1 : be_knot_find(survey, names->b, err);
  if (b < 0) return BE_WRONG_USE;
  if (a == b) {
    be_fail(err, BE_WRONG_USE, "both names mean the same knot");
    be_fail_remedy(err, "name two different knots");
    return BE_WRONG_USE;
  }
  return be_versus_doc(survey, a, b, doc, err);
}

enum be_status be_app_versus(const char *book_path, const char *a, const char *b,
                             const struct be_answering *how, struct be_doc **doc,
                             struct be_err *err)
{
  struct two_names names = {a, b};
  return answer(book_path, how, write_two, &names, doc, err);
}

static enum be_status write_findings(const struct survey *survey, void *context,
                                     struct be_doc **doc, struct be_err *err)
{
  (void)context;
  return be_findings_doc(survey, doc, err);
}

enum be_status be_app_findings(const char *book_path, const struct be_answering *how,
                               struct be_doc **doc, struct be_err *err)
{
  return answer(book_path, how, write_findings, NULL, doc, err);
}

static enum be_status write_next(const struct survey *survey, void *context, struct be_doc **doc,
                                 struct be_err *err)
{
  return be_next_doc(survey, context, doc, err);
}

enum be_status be_app_next(const char *book_path, const struct be_tying *asked,
                           const struct be_answering *how, struct be_doc **doc, struct be_err *err)
{
  struct be_tying own = *asked;
  return answer(book_path, how, write_next, &own, doc, err);
}

static enum be_status write_rig(const struct survey *survey, void *context, struct be_doc **doc,
                                struct be_err *err)
{
  return be_rig_doc(survey, *(const long *)context, doc, err);
}

enum be_status be_app_rig(const char *book_path, const char *day, const struct be_answering *how,
                          struct be_doc **doc, struct be_err *err)
{
  long asked = be_rig_today();
  if (day && be_date_read(day, strlen(day), &asked, err) != BE_OK) {
    if (err) err->status = BE_WRONG_USE;
    return BE_WRONG_USE;
  }
  return answer(book_path, how, write_rig, &asked, doc, err);
}

/* A fault is an answer too: it is written for programs to read. */
static void say_fault(const struct be_err *fault, const char *book_path, struct be_doc *doc)
{
  be_doc_sentence(doc, "Not everything is right: %s.", fault->what);
  be_doc_fact(doc, "right", "Right", "no");
  be_doc_fact(doc, "fault", "Fault", "%s", fault->what);
  be_doc_fact(doc, "book", "Book", "%s", book_path);
}

enum be_status be_app_check(const char *book_path, struct be_doc **out, struct be_err *err)
{
  struct be_book *book = NULL;
  struct be_book_check checked;
  struct be_err own = {0};
  if (!err) err = &own;
  enum be_status status = be_book_open(book_path, false, &book, err);
  if (status != BE_OK) return status;
  status = be_book_check(book, &checked, err);
  be_book_close(book);
  if (status != BE_OK && status != BE_NO) return status;
  struct be_doc *doc = be_doc_create("check", "Check");
  if (!doc) return be_no_memory(err);
  *out = doc;
  if (status == BE_NO) {
    say_fault(err, book_path, doc);
    return status;
  }
  be_doc_sentence(
      doc,
      "Everything is right. Files with the bytes that were entered: %zu; pulls that keep "
      "the rules: %zu; traces whose figures are what their bytes give: %zu. Entered "
      "again, every file gives the same rows.",
      checked.files, checked.pulls, checked.derived);
  be_doc_fact(doc, "right", "Right", "yes");
  return BE_OK;
}
