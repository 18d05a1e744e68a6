/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Decimals less a decimal, exactly: digit by digit, as one does it on paper, and
 * rounded once, when the difference becomes a double. The digits of a difference
 * of texts are few; no number that needs more than DIGITS_MAX is taken. */
#include "units/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The doubles span 633 powers of ten; this leaves room for long texts. */
enum { DIGITS_MAX = 1000, TEXT_MAX = DIGITS_MAX + 40, SHOWN = 60, FURTHEST = 100000 };

/* digits[0..count) times 10^exponent; neither end is 0, count 0 is zero. */
struct decimal {
  bool negative;
  char digits[DIGITS_MAX];
  long count, exponent;
};

/* Takes a text that be_number_scan took whole apart. False when it has too many digits. */
static bool take_apart(const char *text, char mark, struct decimal *decimal)
{
  *decimal = (struct decimal){.negative = *text == '-'};
  long zeros = 0; /* between the last digit kept and here */
  bool after_mark = false;
  if (*text == '-' || *text == '+') text++;
  for (; *text && *text != 'e' && *text != 'E'; text++) {
    if (*text == mark) {
      after_mark = true;
      continue;
    }
    decimal->exponent -= after_mark;
    if (*text == '0') {
      zeros++;
      continue;
    }
    if (decimal->count == 0) zeros = 0;
    if (zeros >= DIGITS_MAX - decimal->count) return false;
    memset(decimal->digits + decimal->count, 0, (size_t)zeros);
    decimal->count += zeros;
    decimal->digits[decimal->count++] = (char)(*text - '0');
    zeros = 0;
  }
  decimal->exponent += zeros;
  long exponent = *text ? strtol(text + 1, NULL, 10) : 0;
  decimal->exponent += exponent > FURTHEST ? FURTHEST : exponent < -FURTHEST ? -FURTHEST : exponent;
  return true;
}

/* The digit of 10^power, 0 where there is none. */
static int digit_at(const struct decimal *decimal, long power)
{
  long place = decimal->exponent + decimal->count - 1 - power;
  return place >= 0 && place < decimal->count ? decimal->digits[place] : 0;
}

static long top(const struct decimal *decimal)
{
  return decimal->exponent + decimal->count;
}

/* Whether |a| < |b|, between the powers low and high. */
static bool is_less(const struct decimal *a, const struct decimal *b, long low, long high)
{
  for (long power = high; power-- > low;)
    if (digit_at(a, power) != digit_at(b, power)) return digit_at(a, power) < digit_at(b, power);
  return false;
}

/* a - b as a text for strtod. False when its digits are too many. */
static bool write_difference(const struct decimal *a, const struct decimal *b, char *text)
{
  const struct decimal *wide = a->count == 0 ? b : a, *other = b->count == 0 ? wide : b;
  long low = wide->exponent < other->exponent ? wide->exponent : other->exponent;
  long high = top(wide) > top(other) ? top(wide) : top(other);
  if (high - low >= DIGITS_MAX) return false;
  bool add = a->negative != b->negative;
  bool swap = !add && is_less(a, b, low, high);
  int carry = 0;
  char *end = text + 2 + (high - low);
  *text = a->negative != swap ? '-' : '+';
  for (long power = low; power <= high; power++) {
    int digit = add    ? digit_at(a, power) + digit_at(b, power) + carry
                : swap ? digit_at(b, power) - digit_at(a, power) - carry
                       : digit_at(a, power) - digit_at(b, power) - carry;
    carry = digit < 0 || digit > 9;
    text[1 + high - power] = (char)('0' + (digit + 10) % 10);
  }
  snprintf(end, TEXT_MAX - (size_t)(end - text), "e%ld", low);
  return true;
}

enum be_status be_number_offsets(const char *const *texts, size_t count, char mark, double *offsets,
                                 struct be_err *err)
{
  struct decimal first, decimal;
  for (size_t i = 0; i < count; i++) {
    size_t size = strlen(texts[i]);
    double value;
    if (size == 0 || be_number_scan(texts[i], size, mark, &value) != size)
      return be_fail(err, BE_BAD_INPUT, "text %zu, \"%.*s\", is not a number", i + 1, SHOWN,
                     texts[i]);
    char difference[TEXT_MAX];
    bool few = isfinite(value) && take_apart(texts[i], mark, i ? &decimal : &first) &&
               write_difference(i ? &decimal : &first, &first, difference);
    if (few) offsets[i] = strtod(difference, NULL) + 0.0; /* -0 becomes 0 */
    if (few && isfinite(offsets[i])) continue;
    be_fail(err, BE_TOO_LARGE,
            "text %zu, \"%.*s\", is too large, too small or too far from the first", i + 1, SHOWN,
            texts[i]);
    return be_fail_remedy(err, "at most %d digits lie between the first and the last of both",
                          DIGITS_MAX);
  }
  return BE_OK;
}
