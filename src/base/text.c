/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/base.h"

#include <string.h>

size_t be_utf8_next(const char *text, size_t size, uint32_t *code)
{
  static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
  const unsigned char *bytes = (const unsigned char *)text;
  *code = 0;
  if (size == 0) return 0;
  size_t length = bytes[0] < 0x80   ? 1
                  : bytes[0] < 0xC2 ? 0
                  : bytes[0] < 0xE0 ? 2
                  : bytes[0] < 0xF0 ? 3
                  : bytes[0] < 0xF5 ? 4
                                    : 0;
  *code = 0xFFFD;
  if (length == 0 || length > size) return 0;
  uint32_t value = length == 1 ? bytes[0] : bytes[0] & (0x7Fu >> length);
  for (size_t i = 1; i < length; i++) {
    if ((bytes[i] & 0xC0) != 0x80) return 0;
    value = value << 6 | (bytes[i] & 0x3F);
  }
  if (value < least[length] || value > 0x10FFFF || (value >= 0xD800 && value < 0xE000)) return 0;
  *code = value;
  return length;
}

bool be_utf8_valid(const char *text, size_t size)
{
  while (size > 0) {
    uint32_t code;
    size_t length = be_utf8_next(text, size, &code);
    if (length == 0) return false;
    text += length;
    size -= length;
  }
  return true;
}

size_t be_utf8_width(const char *text)
{
  size_t size = strlen(text), width = 0;
  while (size > 0) {
    uint32_t code;
    size_t length = be_utf8_next(text, size, &code);
    if (length == 0) length = 1;
    bool combining = code >= 0x300 && code < 0x370;
    bool wide = (code >= 0x1100 && code < 0x1160) || (code >= 0x2E80 && code < 0xA4D0) ||
                (code >= 0xAC00 && code < 0xD7A4) || (code >= 0xFF00 && code < 0xFF61);
    width += combining ? 0 : wide ? 2 : 1;
    text += length;
    size -= length;
  }
  return width;
}

bool be_space_binds(const char *text, size_t space)
{
  char before = space > 0 ? text[space - 1] : '\0', after = text[space + 1];
  return before == '=' || after == '=' || (after == '%' && before >= '0' && before <= '9');
}

static char lower(char c)
{
  return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

bool be_text_same(const char *a, const char *b)
{
  while (*a && lower(*a) == lower(*b)) a++, b++;
  return lower(*a) == lower(*b);
}
