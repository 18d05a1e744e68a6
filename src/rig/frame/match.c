/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A frame held against a pattern, from left to right, without going back. */
#include "rig/frame/inside.h"

#include <math.h>
#include <string.h>

struct cursor {
  const struct pattern *pattern;
  const char *text;
  size_t size, at;
  enum decimal decimal;
  struct frame_said *said;
};

static bool is_blank(char c)
{
  return c == ' ' || c == '\t';
}

static bool is_digit(char c)
{
  return c >= '0' && c <= '9';
}

static size_t left(const struct cursor *cursor)
{
  return cursor->size - cursor->at;
}

static void pass_blanks(struct cursor *cursor)
{
  while (left(cursor) && is_blank(cursor->text[cursor->at])) cursor->at++;
}

static bool match_force(struct cursor *cursor, const struct piece *piece)
{
  static const double ten[] = {1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9};
  struct reading reading;
  size_t size = left(cursor), end = cursor->size;
  if (piece->width) {
    if (size < (size_t)piece->width) return false;
    size = (size_t)piece->width;
    end = cursor->at + size;
    while (size && is_blank(cursor->text[cursor->at])) cursor->at++, size--;
    while (size && is_blank(cursor->text[cursor->at + size - 1])) size--;
  }
  size_t used = be_reading_scan(cursor->text + cursor->at, size, cursor->decimal, &reading);
  if (used == 0 || (piece->width && used != size)) return false;
  cursor->at = piece->width ? end : cursor->at + used;
  cursor->said->value = reading.has_mark ? reading.value : reading.value / ten[piece->decimals];
  cursor->said->flags |= reading.flags;
  return true;
}

/* Digits, and for a time a point with decimals: a comma would be the next column. */
static bool match_digits(struct cursor *cursor, bool decimals, double *value)
{
  size_t start = cursor->at, i = start;
  while (i < cursor->size && is_digit(cursor->text[i])) i++;
  if (i == start) return false;
  if (decimals && i + 1 < cursor->size && cursor->text[i] == '.' && is_digit(cursor->text[i + 1]))
    for (i++; i < cursor->size && is_digit(cursor->text[i]);) i++;
  cursor->at = i;
  return be_number_scan(cursor->text + start, i - start, '.', value) == i - start;
}

static bool match_words(struct cursor *cursor, const struct piece *piece,
                        const struct piece_word **found)
{
  for (size_t i = 0; i < piece->words_count; i++) {
    const struct piece_word *word = &cursor->pattern->words[piece->first_word + i];
    if (left(cursor) < word->size || memcmp(cursor->text + cursor->at, word->text, word->size) != 0)
      continue;
    cursor->at += word->size;
    *found = word;
    return true;
  }
  return false;
}

/* Words right behind one another, that do not contradict themselves. */
static bool match_status(struct cursor *cursor, const struct piece *piece)
{
  enum { RUN_MAX = 4 };
  static const unsigned apart[] = {BE_SAMPLE_STABLE | BE_SAMPLE_MOVING,
                                   BE_SAMPLE_GROSS | BE_SAMPLE_NET,
                                   BE_SAMPLE_OVER | BE_SAMPLE_UNDER};
  const struct piece_word *word;
  int run = 0;
  unsigned flags = 0;
  while (run < RUN_MAX && match_words(cursor, piece, &word)) {
    flags |= word->flags;
    run++;
  }
  cursor->said->flags |= flags;
  for (size_t i = 0; i < sizeof apart / sizeof apart[0]; i++)
    if ((flags & apart[i]) == apart[i]) return false;
  return run > 0 || piece->optional;
}

static bool in_unit(char c)
{
  return !is_blank(c) && !is_digit(c) && !memchr(",;:|+-=", c, 7) && (unsigned char)c > 0x20;
}

/* The longest unit of force, or of voltage, that the text starts with. */
static bool match_unit(struct cursor *cursor, const struct piece *piece)
{
  enum { LONGEST = 16 };
  const char *text = cursor->text + cursor->at;
  size_t size = 0, most = left(cursor) < LONGEST ? left(cursor) : LONGEST;
  if (piece->words_count) {
    const struct piece_word *word;
    if (!match_words(cursor, piece, &word)) return piece->optional;
    cursor->said->unit = word->unit;
    return true;
  }
  while (size < most && in_unit(text[size])) size++;
  for (; size; size--) {
    const struct be_unit *unit = be_unit_find_in(BE_FORCE, text, size);
    if (!unit) unit = be_unit_find_in(BE_VOLTAGE, text, size);
    if (!unit) continue;
    cursor->said->unit = unit;
    cursor->at += size;
    return true;
  }
  return piece->optional;
}

/* Up to the literal that comes next, or to the end. */
static bool match_skip(struct cursor *cursor, const struct piece *piece, const struct piece *next)
{
  size_t skip = left(cursor);
  if (piece->width) {
    if (skip < (size_t)piece->width) return false;
    skip = (size_t)piece->width;
  } else if (next) {
    char stop = next->type == PIECE_LITERAL ? next->literal : ' ';
    const char *found = memchr(cursor->text + cursor->at, stop, skip);
    if (found) skip = (size_t)(found - cursor->text) - cursor->at;
  }
  cursor->at += skip;
  return true;
}

static bool match_piece(struct cursor *cursor, const struct piece *piece, const struct piece *next)
{
  size_t before = cursor->at;
  double *time_s = &cursor->said->time_s;
  if (piece->type != PIECE_SKIP && !piece->width) pass_blanks(cursor);
  switch (piece->type) {
  case PIECE_BLANK: return cursor->at > before;
  case PIECE_LITERAL:
    return left(cursor) && cursor->text[cursor->at] == piece->literal && ++cursor->at;
  case PIECE_FORCE: return match_force(cursor, piece);
  case PIECE_COUNT: return match_digits(cursor, false, &cursor->said->count);
  case PIECE_TIME:
    if (!match_digits(cursor, true, time_s)) return false;
    *time_s /= piece->scale;
    return true;
  case PIECE_UNIT: return match_unit(cursor, piece);
  case PIECE_STATUS: return match_status(cursor, piece);
  case PIECE_SKIP: break;
  }
  return match_skip(cursor, piece, next);
}

bool be_pattern_match(const struct pattern *pattern, enum decimal decimal, const char *text,
                      size_t size, struct frame_said *said)
{
  struct cursor cursor = {
      .pattern = pattern, .text = text, .size = size, .decimal = decimal, .said = said};
  *said = (struct frame_said){.value = NAN, .time_s = NAN, .count = NAN};
  for (size_t i = 0; i < pattern->count; i++)
    if (!match_piece(&cursor, &pattern->pieces[i],
                     i + 1 < pattern->count ? &pattern->pieces[i + 1] : NULL))
      return false;
  pass_blanks(&cursor);
  return cursor.at == cursor.size;
}
