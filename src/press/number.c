/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "press/inside.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Of the numbers of digits that can be needed (IEEE 754 binary64: 15 to 17),
 * the least that reads back the same. */
void be_number_full(char text[32], double value)
{
  for (int digits = 15; digits <= 17; digits++) {
    snprintf(text, 32, "%.*g", digits, value);
    if (strtod(text, NULL) == value) return;
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
