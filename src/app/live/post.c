/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the forms of the bench page send: the step that was seen, what is to be done, and fields by
 * the columns of a pull sheet. Empty fields say nothing. */
#include "app/live/live.h"

#include <stdlib.h>
#include <string.h>

static const char *const specimen_fields[] = {
    "specimen", "knot", "version",     "turns", "line A", "spool A",   "line B", "spool B",
    "hardware", "soak", "free length", "speed", "tyer",   "lubricant", "bench"};
static const char *const answer_fields[] = {"load",  "result", "reason", "what",
                                            "where", "which",  "note",   "specimen"};

static enum be_status take_fields(const struct be_request *request, const char *const *fields,
                                  size_t count, struct be_told *told, struct be_err *err)
{
  enum be_status status = BE_OK;
  told->count = 0;
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    const char *value = be_request_form(request, fields[i]);
    if (value && *value) status = be_told_set(told, fields[i], value, err);
  }
  return status;
}

#define TAKE(fields, told)                                                                         \
  take_fields(request, fields, sizeof(fields) / sizeof *(fields), (told), err)

enum be_status be_live_post(struct be_session *session, const struct be_request *request,
                            struct be_err *err)
{
  const char *what = be_request_form(request, "do"), *step = be_request_form(request, "step");
  struct be_told told;
  uint64_t number = step ? strtoull(step, NULL, 10) : 0;
  if (!what) return be_fail(err, BE_WRONG_USE, "the form does not say what is to be done");
  if (strcmp(what, "guard") == 0) return be_session_guard(session, number, err);
  if (strcmp(what, "stop") == 0) return be_session_stop(session, number, err);
  if (strcmp(what, "leave") == 0) return be_session_leave(session, number, err);
  if (strcmp(what, "choose") == 0) {
    enum be_status status = TAKE(specimen_fields, &told);
    return status == BE_OK ? be_session_choose(session, number, &told, err) : status;
  }
  if (strcmp(what, "answer") != 0 && strcmp(what, "again") != 0)
    return be_fail(err, BE_WRONG_USE, "the bench does not know how to do \"%.40s\"", what);
  enum be_status status = TAKE(answer_fields, &told);
  if (status != BE_OK) return status;
  return strcmp(what, "again") == 0 ? be_session_again(session, &told, err)
                                    : be_session_answer(session, number, &told, err);
}
