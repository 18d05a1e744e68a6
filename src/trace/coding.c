/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text in UTF-8 from bytes in the codings that rigs write. Bytes that are
 * neither UTF-8 nor UTF-16 are read as Windows-1252, which holds Latin-1. */
#include "trace/inside.h"

#include <string.h>

/* Windows-1252 differs from Latin-1 in 0x80-0x9F only (WHATWG Encoding
 * Standard, index windows-1252). */
static const uint16_t windows_1252[32] = {
    0x20AC, 0x81,   0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021, 0x02C6, 0x2030, 0x0160,
    0x2039, 0x0152, 0x8D,   0x017D, 0x8F,   0x90,   0x2018, 0x2019, 0x201C, 0x201D, 0x2022,
    0x2013, 0x2014, 0x02DC, 0x2122, 0x0161, 0x203A, 0x9D,   0x017E, 0x0178};

static size_t put(char *out, uint32_t code)
{
  if (code < 0x80) {
    out[0] = (char)code;
    return 1;
  }
  if (code < 0x800) {
    out[0] = (char)(0xC0 | code >> 6);
    out[1] = (char)(0x80 | (code & 0x3F));
    return 2;
  }
  if (code < 0x10000) {
    out[0] = (char)(0xE0 | code >> 12);
    out[1] = (char)(0x80 | (code >> 6 & 0x3F));
    out[2] = (char)(0x80 | (code & 0x3F));
    return 3;
  }
  out[0] = (char)(0xF0 | code >> 18);
  out[1] = (char)(0x80 | (code >> 12 & 0x3F));
  out[2] = (char)(0x80 | (code >> 6 & 0x3F));
  out[3] = (char)(0x80 | (code & 0x3F));
  return 4;
}

/* ---- looking ---- */

/* Length of the front of bytes that is ASCII without NUL, eight at a time. */
static size_t plain_front(const char *bytes, size_t size)
{
  const uint64_t ones = UINT64_C(0x0101010101010101), highs = UINT64_C(0x8080808080808080);
  size_t i = 0;
  for (; size - i >= 8; i += 8) {
    uint64_t word;
    memcpy(&word, bytes + i, 8);
    if ((word | (word - ones)) & highs) break;
  }
  while (i < size && bytes[i] > 0) i++;
  return i;
}

static bool is_utf8(const char *bytes, size_t size)
{
  for (size_t i = 0; i < size;) {
    uint32_t code;
    i += plain_front(bytes + i, size - i);
    if (i == size) break;
    size_t length = be_utf8_next(bytes + i, size - i, &code);
    if (length == 0) return false;
    i += length;
  }
  return true;
}

/* UTF-16 without a mark: nearly every other byte of the front is NUL. */
static bool looks_utf16(const char *bytes, size_t size, size_t high)
{
  size_t front = size < 256 ? size : 256, zeros = 0, others = 0;
  if (size < 4) return false;
  for (size_t i = 0; i + 1 < front; i += 2) {
    zeros += bytes[i + high] == 0;
    others += bytes[i + 1 - high] == 0;
  }
  return zeros * 10 >= front / 2 * 9 && others == 0;
}

static size_t line_of(const char *bytes, size_t at)
{
  size_t line = 1;
  for (size_t i = 0; i < at; i++) line += bytes[i] == '\n';
  return line;
}

/* ---- turning ---- */

static uint32_t unit_16(const char *bytes, bool big)
{
  uint32_t a = (unsigned char)bytes[0], b = (unsigned char)bytes[1];
  return big ? a << 8 | b : b << 8 | a;
}

static enum be_status from_utf16(const char *bytes, size_t size, bool big, struct be_text *text,
                                 struct be_err *err)
{
  if (size > SIZE_MAX / 2) return be_fail(err, BE_TOO_LARGE, "the file is too large");
  /* Two bytes grow to three at the most, four to four. */
  text->owned = be_alloc(size / 2 * 3 + 4);
  if (!text->owned) return be_fail(err, BE_NO_MEMORY, "no memory to read the text");
  size_t length = 0;
  for (size_t i = 0; i + 1 < size; i += 2) {
    uint32_t code = unit_16(bytes + i, big);
    if (code >= 0xD800 && code < 0xDC00 && i + 3 < size) {
      uint32_t low = unit_16(bytes + i + 2, big);
      if (low >= 0xDC00 && low < 0xE000) {
        code = 0x10000 + ((code - 0xD800) << 10) + (low - 0xDC00);
        i += 2;
      }
    }
    if (code >= 0xD800 && code < 0xE000) code = 0xFFFD;
    length += put(text->owned + length, code);
  }
  text->data = text->owned;
  text->size = length;
  text->coding = big ? BE_UTF16_BE : BE_UTF16_LE;
  return BE_OK;
}

static enum be_status from_latin1(const char *bytes, size_t size, struct be_text *text,
                                  struct be_err *err)
{
  size_t length = 0;
  char four[4];
  for (int pass = 0; pass < 2; pass++) {
    size_t at = 0;
    for (size_t i = 0; i < size; i++) {
      uint32_t code = (unsigned char)bytes[i];
      if (code >= 0x80 && code < 0xA0) code = windows_1252[code - 0x80];
      at += put(pass == 0 ? four : text->owned + at, code);
    }
    if (pass == 1) break;
    length = at;
    text->owned = be_alloc(length + 1);
    if (!text->owned) return be_fail(err, BE_NO_MEMORY, "no memory to read the text");
  }
  text->data = text->owned;
  text->size = length;
  text->coding = BE_LATIN1;
  return BE_OK;
}

enum be_status be_text_decode(const char *bytes, size_t size, struct be_text *text,
                              struct be_err *err)
{
  enum be_status status = BE_OK;
  *text = (struct be_text){.data = bytes, .size = size, .eol = '\n', .coding = BE_UTF8};
  bool marked_le = size >= 2 && memcmp(bytes, "\xFF\xFE", 2) == 0;
  bool marked_be = size >= 2 && memcmp(bytes, "\xFE\xFF", 2) == 0;
  if (marked_le || marked_be) {
    status = from_utf16(bytes + 2, size - 2, marked_be, text, err);
  } else if (looks_utf16(bytes, size, 1) || looks_utf16(bytes, size, 0)) {
    status = from_utf16(bytes, size, looks_utf16(bytes, size, 0), text, err);
  } else if (size >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0) {
    text->data += 3;
    text->size -= 3;
    text->coding = BE_UTF8_BOM;
  } else if (!is_utf8(bytes, size)) {
    status = from_latin1(bytes, size, text, err);
  }
  if (status != BE_OK) return status;
  const char *nul = text->size ? memchr(text->data, '\0', text->size) : NULL;
  if (nul) {
    status = be_fail(err, BE_BAD_INPUT, "this is not a text file: byte %zu is 0",
                     (size_t)(nul - text->data) + 1);
    be_fail_at(err, NULL, line_of(text->data, (size_t)(nul - text->data)), 0);
    be_fail_remedy(err, "export the trace as text (CSV)");
    be_text_free(text);
    return status;
  }
  if (text->size && !memchr(text->data, '\n', text->size) && memchr(text->data, '\r', text->size))
    text->eol = '\r';
  return BE_OK;
}

void be_text_free(struct be_text *text)
{
  be_free(text->owned);
  *text = (struct be_text){.eol = '\n'};
}
