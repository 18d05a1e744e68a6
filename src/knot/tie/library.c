/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/tie/inside.h"

#include <stdlib.h>

enum { NAMED_MAX = 80 };

/* ---- by name ---- */

static char small(char c)
{
  return (char)(c >= 'A' && c <= 'Z' ? c + 'a' - 'A' : c);
}

/* The next of names with ", " between them. */
static bool next_name(const char **at, char name[NAMED_MAX])
{
  const char *p = *at + strspn(*at, ", ");
  size_t length = strcspn(p, ",");
  *at = p + length;
  while (length && p[length - 1] == ' ') length--;
  if (length == 0) return false;
  if (length >= NAMED_MAX) length = NAMED_MAX - 1;
  memcpy(name, p, length);
  name[length] = 0;
  return true;
}

/* Letters to be put in, left out or changed (Levenshtein 1966), whatever their case. */
static size_t edits_between(const char *a, const char *b)
{
  size_t row[NAMED_MAX + 1], long_b = strlen(b);
  for (size_t j = 0; j <= long_b; j++) row[j] = j;
  for (size_t i = 0; a[i]; i++) {
    size_t before = row[0];
    row[0] = i + 1;
    for (size_t j = 1; j <= long_b; j++) {
      size_t changed = before + (small(a[i]) != small(b[j - 1]));
      size_t least = row[j] < row[j - 1] ? row[j] + 1 : row[j - 1] + 1;
      before = row[j];
      row[j] = changed < least ? changed : least;
    }
  }
  return row[long_b];
}

static bool holds(const char *name, const char *part)
{
  size_t length = strlen(part);
  for (; *name; name++) {
    size_t k = 0;
    while (k < length && name[k] && small(name[k]) == small(part[k])) k++;
    if (k == length) return length > 2;
  }
  return false;
}

static size_t farness(const struct be_tie_entry *entry, const char *wanted)
{
  char name[NAMED_MAX];
  size_t least = SIZE_MAX;
  const char *lists[] = {entry->name, entry->also};
  for (size_t i = 0; i < 2; i++)
    for (const char *at = lists[i]; next_name(&at, name);) {
      size_t edits = be_text_same(name, wanted) ? 0 : 1 + edits_between(wanted, name);
      if (edits > 1 && holds(name, wanted)) edits = 1;
      least = edits < least ? edits : least;
    }
  return least;
}

enum be_status be_tie_find(const char *name, const struct be_tie_entry **entry, struct be_err *err)
{
  enum { NEAREST = 4 };
  size_t count, found = 0;
  const struct be_tie_entry *list = be_tie_library(&count), *near[NEAREST + 1];
  size_t off[NEAREST + 1];
  if (!*name || strlen(name) >= NAMED_MAX || strpbrk(name, "\r\n")) {
    be_fail(err, BE_NO,
            *name ? "this is no name of a tie, nor does it begin as a tie does"
                  : "there is no tie in it");
    be_fail_remedy(err, "a tie is a name with its settings, lines of which the first begins with "
                        "the word tie, a code behind gauss, dowker or pd, or a table of x,y,z");
    return BE_NO;
  }
  for (size_t i = 0; i < count; i++) {
    size_t k = found, far = farness(&list[i], name);
    if (far == 0) {
      *entry = &list[i];
      return BE_OK;
    }
    for (; k > 0 && off[k - 1] > far; k--) {
      off[k] = off[k - 1];
      near[k] = near[k - 1];
    }
    off[k] = far;
    near[k] = &list[i];
    found = found < NEAREST ? found + 1 : NEAREST;
  }
  char names[300];
  size_t size = 0;
  names[0] = 0;
  for (size_t k = 0; k < found && size + NAMED_MAX + 4 < sizeof names; k++) {
    size_t length = strlen(near[k]->name);
    if (length > NAMED_MAX) length = NAMED_MAX;
    if (k) memcpy(names + size, ", ", 2), size += 2;
    memcpy(names + size, near[k]->name, length);
    names[size += length] = 0;
  }
  be_fail(err, BE_NO, "no tie is called \"%.60s\"", name);
  be_fail_remedy(err, "near to it: %s", names);
  return BE_NO;
}

/* ---- by words ---- */

/* Where the settings begin: at the first word with "=" in it. */
static size_t name_length(const char *words)
{
  const char *equals = strchr(words, '=');
  size_t length = equals ? (size_t)(equals - words) : strlen(words);
  while (equals && length && !strchr(" ,\t\n", words[length - 1])) length--;
  while (length && strchr(" ,\t\r\n", words[length - 1])) length--;
  return length;
}

static bool is_notation(const char *words)
{
  size_t at = strspn(words, " \t\r\n");
  return strncmp(words + at, "tie", 3) == 0 && words[at + 3] && strchr(" \t", words[at + 3]);
}

enum be_status be_tie_named(const char *words, struct be_arena *arena, struct be_tie *tie,
                            struct be_err *err)
{
  const struct be_tie_entry *entry;
  if (is_notation(words)) return be_tie_read(words, strlen(words), NULL, arena, tie, err);
  size_t at = strspn(words, " \t\r\n"), length = name_length(words + at);
  char *name = be_arena_text(arena, words + at, length);
  if (!name) return be_tie_no_memory(err);
  enum be_status status = be_tie_find(name, &entry, err);
  if (status != BE_OK) return status;
  return be_tie_read(entry->text, entry->size, words + at + length, arena, tie, err);
}
