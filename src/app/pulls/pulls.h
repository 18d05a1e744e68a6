/* SPDX-License-Identifier: GPL-3.0-or-later */
/* pulls: those that are asked for, as rows that lead to their pages.
 *
 *   asked.c      what can be asked, and which pulls fit
 *   evidence.c   their photos and clips, and what is missing of them
 *   pulls.c      the rows, and the page */
#ifndef BE_APP_PULLS_H
#define BE_APP_PULLS_H

#include "app/survey/survey.h"

/* What pulls can be asked by. */
enum be_pulls_by {
  BE_PULLS_CODE,
  BE_PULLS_KNOT,
  BE_PULLS_LINE,
  BE_PULLS_WHAT,
  BE_PULLS_WHERE,
  BE_PULLS_RESULT,
  BE_PULLS_TRIAL,
  BE_PULLS_BENCH,
  BE_PULLS_SESSION,
  BE_PULLS_TYER,
  BE_PULLS_FLAGS,
  BE_PULLS_CORRECTED,
  BE_PULLS_TRACE,
  BE_PULLS_PHOTO,
  BE_PULLS_BY
};
const char *be_pulls_by_name(enum be_pulls_by by);  /* in an address: "what" */
const char *be_pulls_by_label(enum be_pulls_by by); /* in a form: "what let go" */
/* The words that it takes, one after another until null; null for any text or a name. */
const char *be_pulls_by_word(enum be_pulls_by by, int at);

/* As typed; null or "": any. A knot is told by its place in the record or by its name; a session as
 * it is written, by its date, or from..to. */
struct be_pulls_asked {
  const char *text[BE_PULLS_BY];
};

/* Those that fit, in the order entered, in the survey's arena. BE_WRONG_USE for what cannot be
 * asked, BE_NO for a knot that is not there. said: "the uni, without a trace"; "" for all. */
struct be_pulls_found {
  const struct be_pull **pulls;
  size_t count;
  const char *said, *address; /* address: "/pulls?knot=3&", up to its "from=" */
};
enum be_status be_pulls_find(const struct survey *survey, const struct be_pulls_asked *asked,
                             struct be_pulls_found *found, struct be_err *err);

/* From one on; BE_NO when there are not so many. */
enum be_status be_pulls_doc(const struct survey *survey, const struct be_pulls_asked *asked,
                            size_t from, struct be_doc **out, struct be_err *err);

/* How many photos, or clips, are named; "none" is not counted. */
size_t be_evidence_of(const struct be_pull *pull, bool clip);
/* Of these, how many name neither, though another pull of their session does, and do not say that
 * there is none. */
enum be_status be_evidence_missing(const struct survey *survey, const struct be_pulls_found *found,
                                   size_t *missing, struct be_err *err);

#endif
