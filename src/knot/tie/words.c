/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/tie/inside.h"

#include <stdarg.h>
#include <stdio.h>

enum be_status be_tie_wrong(struct be_err *err, struct place place, const char *format, ...)
{
  char what[300];
  va_list list;
  va_start(list, format);
  vsnprintf(what, sizeof what, format, list);
  va_end(list);
  be_fail(err, BE_BAD_INPUT, "%s", what);
  be_fail_at(err, NULL, place.line, place.column);
  return BE_BAD_INPUT;
}

enum be_status be_tie_no_memory(struct be_err *err)
{
  return be_fail(err, BE_NO_MEMORY, "no memory for the tie");
}

enum be_status be_list_failed(const struct list *list, struct be_err *err)
{
  if (list->count < ITEMS_MAX) return be_tie_no_memory(err);
  return be_fail(err, BE_TOO_LARGE, "there is too much to draw: more than %d pieces", ITEMS_MAX);
}

void *be_list_add(struct list *list, size_t size, struct be_arena *arena)
{
  if (list->count == list->capacity) {
    if (list->count >= ITEMS_MAX) return NULL;
    size_t capacity = list->capacity ? 2 * list->capacity : 16;
    void *items = be_arena_alloc(arena, capacity * size);
    if (!items) return NULL;
    if (list->count) memcpy(items, list->items, list->count * size);
    list->items = items;
    list->capacity = capacity;
  }
  return (char *)list->items + size * list->count++;
}

bool be_word_is(const struct word *word, const char *text)
{
  return strlen(text) == word->length && memcmp(word->at, text, word->length) == 0;
}

static bool is_blank(char c)
{
  return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

/* Ends at a blank outside brackets, at a remark, and at the end of its text line. */
static size_t word_length(const char *at, const char *end)
{
  const char *p = at;
  for (int depth = 0; p < end && *p != '\n' && *p != '#'; p++) {
    if (is_blank(*p) && depth <= 0) break;
    depth += (*p == '(') - (*p == ')');
  }
  while (p > at && is_blank(p[-1])) p--;
  return (size_t)(p - at);
}

enum be_status be_tie_words(const char *text, size_t size, struct be_arena *arena,
                            struct words *words, struct be_err *err)
{
  if (size > BE_TIE_TEXT_MAX)
    return be_fail(err, BE_TOO_LARGE, "a tie is a text of at most %d bytes, and this has %zu",
                   BE_TIE_TEXT_MAX, size);
  words->list = be_arena_alloc(arena, (size / 2 + 2) * sizeof *words->list);
  if (!words->list) return be_tie_no_memory(err);
  const char *end = text + size, *line_at = text;
  unsigned line = 1;
  bool first = true;
  words->count = 0;
  for (const char *p = text; p < end;) {
    if (*p == '\n') {
      line++;
      line_at = p + 1;
      first = true;
    }
    if (is_blank(*p)) {
      p++;
    } else if (*p == '#') {
      while (p < end && *p != '\n') p++;
    } else {
      struct place place = {line, (unsigned)(p - line_at) + 1};
      size_t length = word_length(p, end);
      words->list[words->count++] = (struct word){p, length, place, first};
      p += length;
      first = false;
    }
  }
  words->list[words->count] = (struct word){end, 0, {line, (unsigned)(end - line_at) + 1}, true};
  return BE_OK;
}
