/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A knot by its name or another of its names, or by as much of its name as is the only one. */
#include "app/survey/survey.h"

#include <stdio.h>
#include <string.h>

static bool contains_at(const char *text, const char *part)
{
  for (; *part; part++, text++)
    if ((*text | 0x20) != (*part | 0x20) || !*text) return false;
  return true;
}

static bool contains(const char *text, const char *part)
{
  do {
    if (contains_at(text, part)) return true;
  } while (*text++);
  return false;
}

/* Whether a name is one of "uni, duncan". */
static bool is_among(const char *aliases, const char *name)
{
  while (aliases && *aliases) {
    size_t length = strcspn(aliases, ","), own = length;
    while (own > 0 && aliases[own - 1] == ' ') own--;
    if (own == strlen(name) && contains_at(aliases, name)) return true;
    aliases += length + (aliases[length] == ',');
    aliases += strspn(aliases, " ");
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
    if (is_among(record->knots[i].aliases, name)) found = (int)i, matches++;
  bool named = matches > 0;
  for (size_t i = 0; !named && i < record->knots_count; i++)
    if (contains(record->knots[i].full, name)) found = (int)i, matches++;
  if (matches == 1) return found;
  char list[380] = "";
  size_t used = 0;
  for (size_t i = 0; i < record->knots_count; i++) {
    const struct be_knot *knot = &record->knots[i];
    if (matches && !contains(knot->full, name) && !is_among(knot->aliases, name)) continue;
    int put = snprintf(list + used, sizeof list - used, "%s\"%s\"", used ? ", " : "", knot->full);
    if (put < 0 || (size_t)put >= sizeof list - used) break;
    used += (size_t)put;
  }
  be_fail(err, BE_WRONG_USE,
          matches ? "\"%s\" could be more than one knot" : "there is no knot \"%s\"", name);
  if (record->knots_count) be_fail_remedy(err, "the book has %s", list);
  else be_fail_remedy(err, "the book has no knots yet");
  return -1;
}
