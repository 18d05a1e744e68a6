/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "trace/inside.h"

#include <math.h>
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

/* ---- kinds ---- */

static bool is_digit(char c)
{
  return c >= '0' && c <= '9';
}

static bool is_missing(struct be_span cell)
{
  static const char *const words[] = {"nan", "-nan", "+nan", "n/a",  "na",  "#n/a",
                                      "#nv", "null", "none", "nil",  "ol",  "o.l.",
                                      "inf", "-inf", "+inf", "over", "ovld"};
  size_t marks = 0;
  while (marks < cell.size && (cell.text[marks] == '-' || cell.text[marks] == '^')) marks++;
  if (marks == cell.size) return true;
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
    if (be_span_is(cell, words[i])) return true;
  return false;
}

bool be_span_is_over(struct be_span cell)
{
  static const char *const words[] = {"ol", "o.l.", "over", "ovld", "inf", "+inf"};
  size_t marks = 0;
  while (marks < cell.size && cell.text[marks] == '^') marks++;
  if (marks && marks == cell.size) return true;
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
    if (be_span_is(cell, words[i])) return true;
  return false;
}

/* Two digits at most; returns the bytes read. */
static size_t scan_part(struct be_span cell, size_t at, double *value)
{
  size_t i = at;
  *value = 0;
  while (i < cell.size && i < at + 2 && is_digit(cell.text[i]))
    *value = *value * 10 + (cell.text[i++] - '0');
  return i - at;
}

/* [date] hours:minutes:seconds[.fraction], or minutes:seconds.fraction. */
static bool scan_clock(struct be_span cell, char decimal, double *seconds)
{
  const char *colon = memchr(cell.text, ':', cell.size);
  if (!colon) return false;
  size_t at = (size_t)(colon - cell.text);
  while (at > 0 && is_digit(cell.text[at - 1])) at--;
  /* What stands before must be a date: digits, - . / and one blank or T. */
  for (size_t i = 0; i < at; i++)
    if (!is_digit(cell.text[i]) && !strchr("-./ T", cell.text[i])) return false;
  double hours, minutes, rest;
  size_t size = scan_part(cell, at, &hours);
  if (size == 0 || at + size >= cell.size || cell.text[at + size] != ':') return false;
  at += size + 1;
  size = scan_part(cell, at, &minutes);
  if (size == 0) return false;
  at += size;
  bool three = at < cell.size && cell.text[at] == ':';
  if (three) {
    at++;
    size = be_number_scan(cell.text + at, cell.size - at, decimal, &rest);
    if (size == 0) size = be_number_scan(cell.text + at, cell.size - at, '.', &rest);
    *seconds = hours * 3600 + minutes * 60 + rest;
    return size > 0 && at + size == cell.size && rest >= 0 && rest < 61;
  }
  *seconds = hours * 60 + minutes;
  if (at == cell.size) return true;
  size = be_number_scan(cell.text + at, cell.size - at, cell.text[at], &rest);
  *seconds += rest;
  return size > 1 && at + size == cell.size && (cell.text[at] == '.' || cell.text[at] == ',');
}

/* Thousands in strict groups of three: "1,234.5", "1 234 567". One group before
 * a comma or a point alone is not told from decimals, and is refused. */
static bool is_grouped(struct be_span cell, char decimal)
{
  size_t i = cell.text[0] == '-' || cell.text[0] == '+', start = i, groups = 0;
  while (i < cell.size && i < start + 3 && is_digit(cell.text[i])) i++;
  char mark = i > start && i < cell.size ? cell.text[i] : '\0';
  if (mark == decimal || !mark || !strchr("., '", mark)) return false;
  for (; i < cell.size && cell.text[i] == mark; i += 4, groups++)
    for (size_t k = i + 1; k < i + 4; k++)
      if (k >= cell.size || !is_digit(cell.text[k])) return false;
  bool ends = i == cell.size && (groups > 1 || mark == ' ' || mark == '\'');
  bool decimals = i < cell.size && cell.text[i] == decimal;
  for (size_t k = i + 1; decimals && k < cell.size; k++) decimals = is_digit(cell.text[k]);
  return ends || decimals;
}

enum be_cell_kind be_cell_read(struct be_span cell, char decimal, double *value)
{
  if (cell.size == 0) return BE_CELL_EMPTY;
  size_t read = be_number_scan(cell.text, cell.size, decimal, value);
  /* A load past the largest double is no reading. */
  if (read == cell.size) return isfinite(*value) ? BE_CELL_NUMBER : BE_CELL_BROKEN;
  if (is_missing(cell)) return BE_CELL_MISSING;
  if (scan_clock(cell, decimal, value)) return BE_CELL_CLOCK;
  enum be_number_style style;
  if (read > 0 && is_grouped(cell, decimal) &&
      be_number_parse(cell.text, cell.size, decimal, value, &style, NULL) == BE_OK)
    return BE_CELL_NUMBER;
  char first = cell.text[0];
  bool marked = (first == '-' || first == '+' || first == '.' || first == ',') && cell.size > 1;
  return is_digit(first) || (marked && is_digit(cell.text[1])) ? BE_CELL_BROKEN : BE_CELL_TEXT;
}

int be_cell_decimals(struct be_span cell, char decimal)
{
  const char *mark = cell.size ? memchr(cell.text, decimal, cell.size) : NULL;
  int count = 0;
  if (!mark) return 0;
  for (const char *p = mark + 1; p < cell.text + cell.size && is_digit(*p); p++) count++;
  return count;
}
