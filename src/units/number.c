/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Exact decimal reading. A number whose digits fit 2^53 and whose power of ten is
 * at most 22 is one correctly rounded division or multiplication of two exact
 * doubles (Clinger, "How to read floating point numbers accurately", PLDI 1990).
 * Up to 19 digits are divided in long double, whose 64 bits hold them and powers
 * of ten to 27; that is rounded again to 53 bits, which can only go wrong at the
 * middle between two doubles. Everything else goes to strtod. */
#include "units/units.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double power_of_ten[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                      1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                      1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
enum { POWER_MAX = 22, DIGITS_MAX = 19, SLOW_MAX = 512, EXPONENT_MAX = 100000 };

static const long double long_power_of_ten[] = {1e0L,  1e1L,  1e2L,  1e3L,  1e4L,  1e5L,  1e6L,
                                                1e7L,  1e8L,  1e9L,  1e10L, 1e11L, 1e12L, 1e13L,
                                                1e14L, 1e15L, 1e16L, 1e17L, 1e18L, 1e19L, 1e20L,
                                                1e21L, 1e22L, 1e23L, 1e24L, 1e25L, 1e26L, 1e27L};
enum { LONG_POWER_MAX = 27, LONG_BITS = 64 };

bool be_number_ratio(uint64_t digits, int decimals, double *value)
{
  if (LDBL_MANT_DIG < LONG_BITS || decimals < 0 || decimals > LONG_POWER_MAX) return false;
  long double ratio = (long double)digits / long_power_of_ten[decimals];
  double near = (double)ratio;
  long double rest = ratio - near;
  /* In the middle between two doubles, what long double left out decides. */
  long double beyond = (long double)nextafter(near, rest > 0 ? INFINITY : 0) - ratio;
  bool middle = rest > 0 ? !(beyond > rest) : rest < 0 && !(beyond < rest);
  if (middle) return false;
  *value = near;
  return true;
}

static bool is_digit(char c)
{
  return c >= '0' && c <= '9';
}

/* The program never sets a numeric locale, so strtod reads a decimal point. */
static double read_slowly(const char *text, size_t size, char mark)
{
  char copy[SLOW_MAX];
  if (size >= sizeof copy) size = sizeof copy - 1;
  memcpy(copy, text, size);
  copy[size] = '\0';
  char *comma = mark == ',' ? memchr(copy, ',', size) : NULL;
  if (comma) *comma = '.';
  return strtod(copy, NULL);
}

/* Reads "e-5" at text; returns its length, 0 if it is no exponent. */
static size_t scan_exponent(const char *text, size_t size, int *exponent)
{
  size_t i = 1;
  bool negative = false;
  if (size < 2 || (text[0] != 'e' && text[0] != 'E')) return 0;
  if (text[i] == '+' || text[i] == '-') negative = text[i++] == '-';
  if (i >= size || !is_digit(text[i])) return 0;
  int value = 0;
  for (; i < size && is_digit(text[i]); i++)
    if (value < EXPONENT_MAX) value = value * 10 + (text[i] - '0');
  *exponent = negative ? -value : value;
  return i;
}

/* Digits at text[i...], added to *digits; counts those from the first that is not 0. */
static size_t scan_digits(const char *text, size_t size, size_t i, uint64_t *digits, size_t *count)
{
  for (; i < size && is_digit(text[i]); i++) {
    *digits = *digits * 10 + (uint64_t)(text[i] - '0');
    *count += *count > 0 || text[i] != '0';
  }
  return i;
}

size_t be_number_scan(const char *text, size_t size, char mark, double *value)
{
  size_t i = 0, count = 0;
  bool negative = false;
  if (i < size && (text[i] == '-' || text[i] == '+')) negative = text[i++] == '-';
  uint64_t digits = 0;
  size_t first = i, whole = scan_digits(text, size, i, &digits, &count);
  int scale = 0;
  bool any = whole > first;
  i = whole;
  if (i < size && text[i] == mark) {
    size_t after = i + 1, past = scan_digits(text, size, after, &digits, &count);
    if (any || past > after) {
      scale = -(int)(past - after);
      any = true;
      i = past;
    }
  }
  if (!any) return 0;
  int exponent = 0;
  if (i < size && (text[i] | 0x20) == 'e') {
    i += scan_exponent(text + i, size - i, &exponent);
    scale += exponent;
  }
  double exact = (double)digits;
  if (count <= DIGITS_MAX && digits < (UINT64_C(1) << 53) && scale >= -POWER_MAX &&
      scale <= POWER_MAX) {
    exact = scale < 0 ? exact / power_of_ten[-scale] : exact * power_of_ten[scale];
    *value = negative ? -exact : exact;
  } else if (count <= DIGITS_MAX && be_number_ratio(digits, -scale, &exact)) {
    *value = negative ? -exact : exact;
  } else {
    *value = read_slowly(text, i, mark);
  }
  return i;
}

/* ---- typed numbers ---- */

/* Bytes of a thousands space or apostrophe at text, 0 if there is none. */
static size_t group_mark(const char *text, size_t size)
{
  static const char *const marks[] = {" ", "'", "\u00A0", "\u202F", "\u2009", "\u2019"};
  for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++) {
    size_t length = strlen(marks[i]);
    if (size >= length && memcmp(text, marks[i], length) == 0) return length;
  }
  return 0;
}

static bool three_digits(const char *text, size_t size)
{
  return size >= 3 && is_digit(text[0]) && is_digit(text[1]) && is_digit(text[2]) &&
         (size == 3 || !is_digit(text[3]));
}

struct marks {
  size_t points, commas;
  size_t point_at, comma_at; /* of the last one */
  bool in_threes;            /* every mark stands before exactly three digits */
};

static struct marks count_marks(const char *text, size_t size)
{
  struct marks marks = {.in_threes = true};
  for (size_t i = 0; i < size; i++) {
    if (text[i] == '.') marks.points++, marks.point_at = i;
    if (text[i] == ',') marks.commas++, marks.comma_at = i;
    if ((text[i] == '.' || text[i] == ',') && !three_digits(text + i + 1, size - i - 1))
      marks.in_threes = false;
  }
  return marks;
}

/* Decides the decimal mark of a typed number; 0 when there is none. */
static enum be_status decide_mark(const struct marks *marks, char usual, char *mark,
                                  enum be_number_style *style)
{
  *style = BE_NUMBER_PLAIN;
  *mark = 0;
  if (marks->points + marks->commas == 0) return BE_OK;
  if (marks->points && marks->commas) {
    *mark = marks->point_at > marks->comma_at ? '.' : ',';
    *style = BE_NUMBER_THOUSANDS;
    return (*mark == '.' ? marks->points : marks->commas) == 1 ? BE_OK : BE_BAD_INPUT;
  }
  char only = marks->points ? '.' : ',';
  if (marks->points + marks->commas > 1) {
    *style = BE_NUMBER_THOUSANDS;
    return marks->in_threes ? BE_OK : BE_BAD_INPUT;
  }
  if (only != '.' && usual != ',' && marks->in_threes) return BE_ASK;
  if (only == '.' && usual == ',' && marks->in_threes) return BE_ASK;
  *mark = only;
  if (only == ',' && usual != ',') *style = BE_NUMBER_COMMA;
  if (only == '.' && usual == ',') *style = BE_NUMBER_POINT;
  return BE_OK;
}

enum be_status be_number_parse(const char *text, size_t size, char usual, double *value,
                               enum be_number_style *style, struct be_err *err)
{
  char plain[SLOW_MAX];
  while (size && (*text == ' ' || *text == '\t')) text++, size--;
  while (size && (text[size - 1] == ' ' || text[size - 1] == '\t')) size--;
  if (size == 0) return be_fail(err, BE_BAD_INPUT, "there is no number");
  if (size >= sizeof plain) return be_fail(err, BE_BAD_INPUT, "this is too long for a number");
  struct marks marks = count_marks(text, size);
  char mark = 0;
  enum be_status status = decide_mark(&marks, usual, &mark, style);
  if (status == BE_ASK) {
    be_fail(err, BE_ASK, "\"%.*s\" can be read with a decimal mark or with thousands", (int)size,
            text);
    return be_fail_remedy(err, "write it without the mark, or say --decimal point or comma");
  }
  size_t length = 0;
  bool groups = false;
  for (size_t i = 0; i < size && status == BE_OK;) {
    size_t skip = i > 0 && is_digit(text[i - 1]) && three_digits(text + i + 1, size - i - 1)
                      ? group_mark(text + i, size - i)
                      : 0;
    if (!skip && i > 0 && is_digit(text[i - 1])) {
      size_t wide = group_mark(text + i, size - i);
      if (wide > 1 && three_digits(text + i + wide, size - i - wide)) skip = wide;
    }
    if (skip) groups = true, i += skip;
    else if ((text[i] == '.' || text[i] == ',') && text[i] != mark) i++;
    else plain[length++] = text[i++];
  }
  if (groups) *style = BE_NUMBER_THOUSANDS;
  if (status != BE_OK || be_number_scan(plain, length, mark ? mark : '.', value) != length)
    return be_fail(err, BE_BAD_INPUT, "\"%.*s\" is not a number", (int)size, text);
  return BE_OK;
}
