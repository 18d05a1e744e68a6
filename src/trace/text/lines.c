/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "trace/text/text.h"

#include <string.h>

bool be_lines_next(struct be_lines *lines, struct be_span *line)
{
  if (lines->at == lines->end) return false;
  size_t left = (size_t)(lines->end - lines->at);
  const char *eol = memchr(lines->at, lines->eol, left);
  *line = (struct be_span){lines->at, eol ? (size_t)(eol - lines->at) : left};
  lines->at = eol ? eol + 1 : lines->end;
  lines->number++;
  while (line->size && line->text[line->size - 1] == '\r') line->size--;
  return true;
}

static bool is_blank(char c)
{
  return c == ' ' || c == '\t';
}

struct be_span be_span_trim(struct be_span span)
{
  while (span.size && is_blank(span.text[0])) span.text++, span.size--;
  while (span.size && is_blank(span.text[span.size - 1])) span.size--;
  return span;
}

static char lower(char c)
{
  return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

bool be_span_is(struct be_span span, const char *word)
{
  size_t i = 0;
  while (i < span.size && word[i] && lower(span.text[i]) == lower(word[i])) i++;
  return i == span.size && !word[i];
}

/* Cuts between characters, never inside one. */
void be_span_copy(struct be_span span, char *text, size_t size)
{
  size_t length = span.size < size ? span.size : size - 1;
  while (length < span.size && length > 0 && (span.text[length] & 0xC0) == 0x80) length--;
  if (length) memcpy(text, span.text, length);
  text[length] = '\0';
}

/* ---- cells ---- */

static void keep(struct be_cells *cells, const char *from, const char *to)
{
  if (cells->count < BE_TRACE_COLUMNS_MAX)
    cells->cell[cells->count] = be_span_trim((struct be_span){from, (size_t)(to - from)});
  cells->count++;
}

/* The closing quote of a cell that starts with one at `from`; null when it is
 * never closed, or when more follows before the delimiter. */
static const char *closing_quote(const char *from, const char *end, char delimiter)
{
  const char *p = from + 1;
  while (p < end && *p != '"') p++;
  while (p + 1 < end && p[1] == '"') {
    p += 2;
    while (p < end && *p != '"') p++;
  }
  if (p >= end) return NULL;
  const char *next = p + 1;
  while (next < end && *next == ' ' && delimiter != ' ') next++;
  return next == end || *next == delimiter ? p : NULL;
}

void be_cells_split(struct be_span line, char delimiter, struct be_cells *cells)
{
  const char *p = line.text, *end = p ? p + line.size : p;
  cells->count = 0;
  if (delimiter == ' ')
    while (end > p && is_blank(end[-1])) end--;
  while (p <= end) {
    while (p < end && (*p == ' ' || (*p == '\t' && delimiter != '\t'))) p++;
    const char *close = p < end && *p == '"' ? closing_quote(p, end, delimiter) : NULL;
    const char *from = close ? p + 1 : p;
    const char *stop = close ? close + 1 : p;
    if (stop < end) {
      const char *found = memchr(stop, delimiter, (size_t)(end - stop));
      stop = found ? found : end;
    }
    keep(cells, from, close ? close : stop);
    if (stop == end) break;
    p = stop + 1;
  }
}
