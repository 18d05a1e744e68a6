/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Readings in the forms that instruments write: signs before, behind, or with
 * blanks between; either decimal mark; and words where a number cannot be. A
 * streamed reading has no thousands marks. */
#include "rig/frame/inside.h"

#include <math.h>
#include <string.h>

/* Common practice of weighing indicators and meters, no source; ^, * and _ fill
 * the field, dashes say only that there is no number. */
static const struct {
  const char *word; /* in capitals */
  unsigned flags;
} words[] = {
    {"OVERLOAD", BE_SAMPLE_OVER},   {"OVERRANGE", BE_SAMPLE_OVER},   {"OVERFLOW", BE_SAMPLE_OVER},
    {"OVER", BE_SAMPLE_OVER},       {"OVLD", BE_SAMPLE_OVER},        {"OVL", BE_SAMPLE_OVER},
    {"OFL", BE_SAMPLE_OVER},        {"O.L.", BE_SAMPLE_OVER},        {"O.L", BE_SAMPLE_OVER},
    {"OL", BE_SAMPLE_OVER},         {"INFINITY", BE_SAMPLE_OVER},    {"INF", BE_SAMPLE_OVER},
    {"UNDERLOAD", BE_SAMPLE_UNDER}, {"UNDERRANGE", BE_SAMPLE_UNDER}, {"UNDERFLOW", BE_SAMPLE_UNDER},
    {"UNDER", BE_SAMPLE_UNDER},     {"UFL", BE_SAMPLE_UNDER},        {"UL", BE_SAMPLE_UNDER},
    {"NAN", BE_SAMPLE_NO_VALUE},    {"N/A", BE_SAMPLE_NO_VALUE},     {"ERROR", BE_SAMPLE_ERROR},
    {"ERR", BE_SAMPLE_ERROR},
};

static bool is_digit(char c)
{
  return c >= '0' && c <= '9';
}

static char upper(char c)
{
  return c >= 'a' && c <= 'z' ? (char)(c - 'a' + 'A') : c;
}

static bool is_letter(char c)
{
  return upper(c) >= 'A' && upper(c) <= 'Z';
}

/* A run of two or more of one mark, or one ^. */
static size_t marks_scan(const char *text, size_t size, unsigned *flags)
{
  size_t n = 0;
  if (size == 0 || !memchr("^*_-", text[0], 4)) return 0;
  while (n < size && text[n] == text[0]) n++;
  if (n < 2 && text[0] != '^') return 0;
  if (n < size && (is_digit(text[n]) || text[n] == '.')) return 0;
  *flags = text[0] == '^' || text[0] == '*' ? BE_SAMPLE_OVER : BE_SAMPLE_NO_VALUE;
  return n;
}

static size_t word_scan(const char *text, size_t size, bool negative, unsigned *flags)
{
  size_t marks = marks_scan(text, size, flags);
  for (size_t i = 0; !marks && i < sizeof words / sizeof words[0]; i++) {
    size_t length = strlen(words[i].word), k = 0;
    while (k < length && k < size && upper(text[k]) == words[i].word[k]) k++;
    if (k < length || (k < size && is_letter(text[k]))) continue;
    *flags = words[i].flags;
    marks = length;
  }
  if (negative && *flags == BE_SAMPLE_OVER) *flags = BE_SAMPLE_UNDER;
  return marks;
}

/* The sign and the blanks behind it. */
static size_t sign_scan(const char *text, size_t size, bool *negative)
{
  static const char minus[] = "\u2212";
  size_t i = 0;
  *negative = false;
  if (size && (text[0] == '+' || text[0] == '-')) *negative = text[i++] == '-';
  else if (size >= strlen(minus) && memcmp(text, minus, strlen(minus)) == 0) {
    *negative = true;
    i = strlen(minus);
  }
  if (i)
    while (i < size && text[i] == ' ') i++;
  return i;
}

/* The decimal mark of the digits that start here. */
static char mark_of(const char *text, size_t size, enum decimal decimal)
{
  size_t i = 0;
  if (decimal == DECIMAL_POINT) return '.';
  if (decimal == DECIMAL_COMMA) return ',';
  while (i < size && is_digit(text[i])) i++;
  return i < size && text[i] == ',' && i + 1 < size && is_digit(text[i + 1]) ? ',' : '.';
}

/* Whether there is a mark among the digits, and whether all are nines. */
static void look_at_digits(const char *text, size_t size, char mark, struct reading *reading)
{
  enum { NINES_LEAST = 5 };
  size_t nines = 0, others = 0;
  reading->has_mark = false;
  for (size_t i = 0; i < size && (is_digit(text[i]) || text[i] == mark); i++) {
    if (text[i] == mark) reading->has_mark = true;
    else if (text[i] == '9') nines++;
    else others++;
  }
  if (nines >= NINES_LEAST && others == 0) reading->flags |= BE_SAMPLE_NINES;
}

size_t be_reading_scan(const char *text, size_t size, enum decimal decimal, struct reading *reading)
{
  bool negative;
  *reading = (struct reading){.value = NAN};
  /* A row of dashes is no sign. */
  size_t dashes = marks_scan(text, size, &reading->flags);
  if (dashes) return dashes;
  size_t sign = sign_scan(text, size, &negative), used;
  const char *digits = text + sign;
  char mark = mark_of(digits, size - sign, decimal);
  if (sign < size && (is_digit(*digits) || *digits == mark)) {
    used = be_number_scan(digits, size - sign, mark, &reading->value);
    if (!used) return 0;
    look_at_digits(digits, used, mark, reading);
    /* 1e999 is past any range, and no number of ours. */
    if (isinf(reading->value)) {
      reading->value = NAN;
      reading->flags |= negative ? BE_SAMPLE_UNDER : BE_SAMPLE_OVER;
    }
    /* The sign may stand behind the digits instead. */
    if (sign == 0 && used < size && (text[used] == '-' || text[used] == '+') &&
        (used + 1 == size || !is_digit(text[used + 1]))) {
      negative = text[used] == '-';
      used++;
    }
    if (negative) reading->value = -reading->value;
    return sign + used;
  }
  used = word_scan(digits, size - sign, negative, &reading->flags);
  return used ? sign + used : 0;
}
