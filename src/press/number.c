/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "press/inside.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Values typed in one unit, kept in SI and shown in a unit again are rounded twice
 * or more: 26.521 comes back as 26.521000000000004. So 15 digits, which hold every
 * decimal that was typed, are taken when they are less than 4 units in the last
 * place away. That is below one part in 10^15, and no load is known to one in 10^6.
 * What is further away was never so short: then the fewest digits that read back
 * the same (IEEE 754 binary64: 17 always do). */
void be_number_full(char text[32], double value)
{
  double ulp = fabs(value) - nextafter(fabs(value), 0);
  for (int digits = 15; digits <= 17; digits++) {
    snprintf(text, 32, "%.*g", digits, value);
    double back = strtod(text, NULL);
    if (back == value || (digits == 15 && fabs(back - value) < 4 * ulp)) return;
  }
}

void be_text_clean(struct be_buf *out, const char *text)
{
  size_t size = strlen(text), plain = 0, i = 0;
  be_buf_add(out, "", 0);
  while (i < size) {
    uint32_t code;
    size_t length = be_utf8_next(text + i, size - i, &code);
    bool control = (code < 0x20 && code != '\n' && code != '\t') || (code >= 0x7F && code < 0xA0);
    bool bad = length == 0 || control;
    if (length == 0) length = 1;
    if (bad) {
      be_buf_add(out, text + plain, i - plain);
      be_buf_text(out, "\xEF\xBF\xBD");
      plain = i + length;
    }
    i += length;
  }
  be_buf_add(out, text + plain, size - plain);
}
