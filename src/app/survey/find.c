/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A knot by its name or another of its names, or by as much of its name as is the only one; a pull
 * by its code. */
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

/* ---- a pull by its code ---- */

enum { CODE_MAX = 64, NEAR_SHOWN = 5 };

static unsigned char small(char c)
{
  return (unsigned char)(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
}

/* How many bytes are to be put in, taken out or changed (Levenshtein 1966); of the first 64. */
static size_t away(const char *a, const char *b)
{
  size_t row[CODE_MAX + 1], wide = strlen(b), high = strlen(a);
  if (wide > CODE_MAX) wide = CODE_MAX;
  if (high > CODE_MAX) high = CODE_MAX;
  for (size_t k = 0; k <= wide; k++) row[k] = k;
  for (size_t i = 1; i <= high; i++) {
    size_t corner = row[0];
    row[0] = i;
    for (size_t k = 1; k <= wide; k++) {
      size_t least = corner + (small(a[i - 1]) != small(b[k - 1]));
      if (row[k] + 1 < least) least = row[k] + 1;
      if (row[k - 1] + 1 < least) least = row[k - 1] + 1;
      corner = row[k];
      row[k] = least;
    }
  }
  return row[wide];
}

/* The nearest first; none that half of the code would have to be changed for. */
static void say_near(const struct be_record *record, const char *code, struct be_err *err)
{
  char list[380] = "";
  size_t used = 0, shown = 0, most = (strlen(code) + 1) / 2;
  for (size_t off = 0; off <= most && off <= CODE_MAX && shown < NEAR_SHOWN; off++)
    for (size_t i = 0; i < record->pulls_count && shown < NEAR_SHOWN; i++) {
      const char *other = record->pulls[i].code;
      if (away(code, other) != off) continue;
      int put = snprintf(list + used, sizeof list - used, "%s%.60s", used ? ", " : "", other);
      if (put < 0 || (size_t)put >= sizeof list - used) break;
      used += (size_t)put;
      shown++;
    }
  if (shown) be_fail_remedy(err, "near it: %s", list);
  else if (record->pulls_count)
    be_fail_remedy(err, "give a code as it stands in the book, such as %.60s",
                   record->pulls[0].code);
  else be_fail_remedy(err, "the book has no pulls yet");
}

const struct be_pull *be_pull_find(const struct survey *survey, const char *code,
                                   struct be_err *err)
{
  const struct be_record *record = &survey->record;
  for (size_t i = 0; i < record->pulls_count; i++)
    if (strcmp(record->pulls[i].code, code) == 0) return &record->pulls[i];
  for (size_t i = 0; i < record->pulls_count; i++)
    if (be_text_same(record->pulls[i].code, code)) return &record->pulls[i];
  be_fail(err, BE_WRONG_USE, "no pull has the code \"%.60s\"", code);
  say_near(record, code, err);
  return NULL;
}
