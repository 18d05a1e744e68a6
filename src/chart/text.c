/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "chart/inside.h"

#include <string.h>

/* ---- escaping ---- */

static const char *replacement(uint32_t code)
{
  switch (code) {
  case '<': return "&lt;";
  case '>': return "&gt;";
  case '&': return "&amp;";
  case '"': return "&quot;";
  case '\'': return "&#39;";
  default: break;
  }
  bool control = (code < 0x20 && code != '\n' && code != '\t') || (code >= 0x7F && code < 0xA0);
  bool noncharacter = (code & 0xFFFE) == 0xFFFE || (code >= 0xFDD0 && code < 0xFDF0);
  return control || noncharacter ? "\xEF\xBF\xBD" : NULL;
}

void be_markup_text(struct be_buf *markup, const char *text)
{
  size_t size = strlen(text), plain = 0, i = 0;
  while (i < size) {
    uint32_t code;
    size_t length = be_utf8_next(text + i, size - i, &code);
    const char *instead = length == 0 ? "\xEF\xBF\xBD" : replacement(code);
    if (length == 0) length = 1;
    if (instead) {
      be_buf_add(markup, text + plain, i - plain);
      be_buf_text(markup, instead);
      plain = i + length;
    }
    i += length;
  }
  be_buf_add(markup, text + plain, size - plain);
}

/* ---- width ---- */

/* Widths in em, after a wide face (DejaVu Sans, measured to two figures), so
 * that narrower faces fit as well. */
static double character_width(uint32_t code)
{
  if (code >= 0x300 && code < 0x370) return 0;
  if ((code >= 0x1100 && code < 0x1160) || (code >= 0x2E80 && code < 0xA4D0) ||
      (code >= 0xAC00 && code < 0xD7A4) || (code >= 0xFF00 && code < 0xFF61) || code >= 0x1F000)
    return 1.05;
  if (code >= 0x80) return 0.75;
  if (strchr("ijl'|", (int)code)) return 0.3;
  if (strchr(" .,:;!()[]ft-/\\IrJ", (int)code)) return 0.41;
  if (strchr("mMW%@", (int)code)) return 0.99;
  if (strchr("w+<=>~#", (int)code)) return 0.84;
  return code >= 'A' && code <= 'Z' ? 0.74 : 0.64;
}

double be_text_width(const char *text, double size)
{
  size_t left = strlen(text);
  double width = 0;
  while (left > 0) {
    uint32_t code;
    size_t length = be_utf8_next(text, left, &code);
    if (length == 0) length = 1;
    width += character_width(code);
    text += length;
    left -= length;
  }
  return width * size;
}

enum { INTERVAL = 40 };

size_t be_text_line(const char *text, double size, double width, size_t *skip)
{
  size_t left = strlen(text), i = 0, word_end = 0, next_word = 0;
  double used = 0;
  bool inside = false; /* an interval is not parted */
  while (i < left) {
    uint32_t code;
    size_t length = be_utf8_next(text + i, left - i, &code);
    if (length == 0) length = 1;
    if (code == '[') inside = memchr(text + i, ']', left - i < INTERVAL ? left - i : INTERVAL);
    else if (code == ']') inside = false;
    if (code == ' ' && !inside && !be_space_binds(text, i)) {
      word_end = i;
      next_word = i + 1;
    }
    used += character_width(code) * size;
    if (used > width && i > 0 && code != ' ') break;
    i += length;
  }
  if (i == left || word_end == 0) {
    *skip = i;
    return i;
  }
  *skip = next_word;
  return word_end;
}

size_t be_text_lines(const char *text, double size, double width)
{
  size_t lines = 0;
  for (size_t skip; *text; text += skip, lines++) be_text_line(text, size, width, &skip);
  return lines;
}
