/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the forms of the bench page send: the step that was seen, what is to be done, and fields by
 * the columns of a pull sheet. Empty fields say nothing. */
#include "app/live/live.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A planned specimen is told of by its code alone, so that an answer tells it too. */
#define COLUMN(code, column, key, dimension) column,
#define HANDLING BE_HANDLING_LIST(COLUMN)

static const char *const specimen_fields[] = {
    "specimen", "knot", "version",     "turns", "line A", "spool A",   "line B", "spool B",
    "hardware", "soak", "free length", "speed", "tyer",   "lubricant", "bench",  HANDLING};
static const char *const answer_fields[] = {"load",  "result", "reason",    "what",
                                            "where", "which",  "judged by", "photo",
                                            "clip",  "note",   "specimen",  HANDLING};

#define COUNT(list) (sizeof(list) / sizeof *(list))
/* A bare number has the unit that its form told. */
static enum be_status take_unit(const struct be_request *request, struct be_told *told,
                                char room[64], struct be_err *err)
{
  const char *load = be_told_value(told, "load"), *unit = be_request_form(request, "unit");
  if (!load) return BE_OK;
  return be_told_set(told, "load", be_load_with_unit(load, unit, room), err);
}

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

static enum be_status take_evening(const struct be_request *request, struct be_evening *evening,
                                   struct be_err *err)
{
  *evening = (struct be_evening){.today = false};
  for (int i = 0; i < BE_EVENINGS; i++) {
    const char *value = be_request_form(request, be_evening_field(i));
    if (!value) continue;
    if (strlen(value) >= BE_EVENING_TEXT)
      return be_fail(err, BE_BAD_INPUT, "%s takes %d bytes at most", be_evening_field(i),
                     BE_EVENING_TEXT - 1);
    snprintf(evening->value[i], BE_EVENING_TEXT, "%s", value);
  }
  return BE_OK;
}

static bool is_evening(const char *name)
{
  for (int i = 0; i < BE_EVENINGS; i++)
    if (strcmp(name, be_evening_field(i)) == 0) return true;
  return false;
}

static bool is_one_of(const char *name, const char *const *names, size_t count)
{
  for (size_t i = 0; i < count; i++)
    if (strcmp(name, names[i]) == 0) return true;
  return false;
}

enum be_status be_live_check(const struct be_request *request, struct be_err *err)
{
  static const char *const all[] = {"do", "step"};
  static const char *const whats[] = {"choose", "evening", "guard", "stop",
                                      "leave",  "answer",  "again"};
  const char *what = be_request_form(request, "do"), *name;
  if (!what || !is_one_of(what, whats, COUNT(whats))) {
    if (what) be_fail(err, BE_BAD_INPUT, "the bench does not know how to do \"%.40s\"", what);
    else be_fail(err, BE_BAD_INPUT, "\"do\" is missing: what is to be done");
    be_fail_remedy(err, "\"do\" takes choose, evening, guard, stop, leave, answer or again");
    return BE_BAD_INPUT;
  }
  bool evening = strcmp(what, "evening") == 0;
  bool chooses = strcmp(what, "choose") == 0, again = strcmp(what, "again") == 0;
  const char *const *fields = chooses ? specimen_fields : answer_fields;
  size_t count = chooses                                ? COUNT(specimen_fields)
                 : again || strcmp(what, "answer") == 0 ? COUNT(answer_fields)
                                                        : 0;
  for (size_t i = 0; (name = be_request_named(request, i)) != NULL; i++)
    if (!is_one_of(name, all, COUNT(all)) && !is_one_of(name, fields, count) &&
        !(evening && is_evening(name)))
      return be_fail(err, BE_BAD_INPUT, "\"%.60s\" is nothing that \"%s\" takes", name, what);
  if (again || be_request_form(request, "step")) return BE_OK;
  return be_fail(err, BE_BAD_INPUT, "\"step\" is missing: the step that was seen");
}

#define TAKE(fields, told) take_fields(request, fields, COUNT(fields), (told), err)

enum be_status be_live_post(struct be_session *session, const struct be_request *request,
                            struct be_err *err)
{
  const char *what = be_request_form(request, "do"), *step = be_request_form(request, "step");
  struct be_told told;
  uint64_t number = step ? strtoull(step, NULL, 10) : 0;
  if (!what) return be_fail(err, BE_WRONG_USE, "the form does not say what is to be done");
  if (strcmp(what, "evening") == 0) {
    struct be_evening evening;
    enum be_status status = take_evening(request, &evening, err);
    return status == BE_OK ? be_session_evening(session, number, &evening, err) : status;
  }
  if (strcmp(what, "guard") == 0) return be_session_guard(session, number, err);
  if (strcmp(what, "stop") == 0) return be_session_stop(session, number, err);
  if (strcmp(what, "leave") == 0) return be_session_leave(session, number, err);
  if (strcmp(what, "choose") == 0) {
    enum be_status status = TAKE(specimen_fields, &told);
    return status == BE_OK ? be_session_choose(session, number, &told, err) : status;
  }
  if (strcmp(what, "answer") != 0 && strcmp(what, "again") != 0)
    return be_fail(err, BE_WRONG_USE, "the bench does not know how to do \"%.40s\"", what);
  char load[64];
  enum be_status status = TAKE(answer_fields, &told);
  if (status == BE_OK) status = take_unit(request, &told, load, err);
  if (status != BE_OK) return status;
  return strcmp(what, "again") == 0 ? be_session_again(session, &told, err)
                                    : be_session_answer(session, number, &told, err);
}
