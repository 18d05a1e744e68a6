/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/base.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

static const struct {
  const char *words;
  int exits;
} status_list[] = {
#define X(code, words, exits) {words, exits},
    BE_STATUS_LIST(X)
#undef X
};

const char *be_status_words(enum be_status status)
{
  assert((size_t)status < sizeof status_list / sizeof status_list[0]);
  return status_list[status].words;
}

int be_status_exit(enum be_status status)
{
  assert((size_t)status < sizeof status_list / sizeof status_list[0]);
  return status_list[status].exits;
}

enum be_status be_fail(struct be_err *err, enum be_status status, const char *format, ...)
{
  assert(status != BE_OK);
  if (!err) return status;
  memset(err, 0, sizeof *err);
  err->status = status;
  va_list list;
  va_start(list, format);
  vsnprintf(err->what, sizeof err->what, format, list);
  va_end(list);
  return status;
}

enum be_status be_fail_at(struct be_err *err, const char *file, size_t line, size_t column)
{
  if (!err) return BE_FAILED;
  if (file) snprintf(err->file, sizeof err->file, "%s", file);
  if (line) err->line = line;
  if (column) err->column = column;
  return err->status;
}

enum be_status be_fail_remedy(struct be_err *err, const char *format, ...)
{
  if (!err) return BE_FAILED;
  va_list list;
  va_start(list, format);
  vsnprintf(err->remedy, sizeof err->remedy, format, list);
  va_end(list);
  return err->status;
}
