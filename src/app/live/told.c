/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live/live.h"

#include <string.h>

bool be_told_read(char *text, struct be_told *told)
{
  told->count = 0;
  while (*text) {
    char *end = strchr(text, '\n'), *equals = strchr(text, '=');
    if (!equals || (end && equals > end) || told->count == BE_TOLD_MAX) return false;
    *equals = '\0';
    told->name[told->count] = text;
    told->value[told->count++] = equals + 1;
    if (!end) break;
    *end = '\0';
    text = end + 1;
  }
  return true;
}

const char *be_told_value(const struct be_told *told, const char *name)
{
  for (size_t i = 0; i < told->count; i++)
    if (strcmp(told->name[i], name) == 0) return told->value[i];
  return NULL;
}

enum be_status be_told_set(struct be_told *told, const char *name, const char *value,
                           struct be_err *err)
{
  if (strpbrk(value, "\r\n"))
    return be_fail(err, BE_BAD_INPUT, "what is told of \"%s\" must be one line", name);
  for (size_t i = 0; i < told->count; i++)
    if (strcmp(told->name[i], name) == 0) {
      told->value[i] = value;
      return BE_OK;
    }
  if (told->count == BE_TOLD_MAX) return be_fail(err, BE_BAD_INPUT, "too much is told of one pull");
  told->name[told->count] = name;
  told->value[told->count++] = value;
  return BE_OK;
}

void be_told_write(const struct be_told *told, struct be_buf *text)
{
  for (size_t i = 0; i < told->count; i++)
    be_buf_format(text, "%s=%s\n", told->name[i], told->value[i]);
}
