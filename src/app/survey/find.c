/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A knot by its name, or by as much of it as is the only one. */
#include "app/survey/survey.h"

#include <stdio.h>
#include <string.h>

static bool contains(const char *text, const char *part)
{
  size_t length = strlen(part);
  for (; strlen(text) >= length; text++) {
    size_t same = 0;
    while (same < length && (text[same] | 0x20) == (part[same] | 0x20)) same++;
    if (same == length) return true;
    if (!*text) break;
  }
  return false;
}

int be_knot_find(const struct survey *survey, const char *name, struct be_err *err)
{
  const struct be_record *record = &survey->record;
  int found = -1;
  size_t matches = 0;
  for (size_t i = 0; i < record->knots_count; i++)
    if (be_text_same(record->knots[i].full, name)) return (int)i;
  for (size_t i = 0; i < record->knots_count; i++)
    if (contains(record->knots[i].full, name)) found = (int)i, matches++;
  if (matches == 1) return found;
  char list[380] = "";
  size_t used = 0;
  for (size_t i = 0; i < record->knots_count; i++) {
    if (matches && !contains(record->knots[i].full, name)) continue;
    int put = snprintf(list + used, sizeof list - used, "%s\"%s\"", used ? ", " : "",
                       record->knots[i].full);
    if (put < 0 || (size_t)put >= sizeof list - used) break;
    used += (size_t)put;
  }
  be_fail(err, BE_WRONG_USE,
          matches ? "\"%s\" could be more than one knot" : "there is no knot \"%s\"", name);
  if (record->knots_count) be_fail_remedy(err, "the book has %s", list);
  else be_fail_remedy(err, "the book has no knots yet");
  return -1;
}
