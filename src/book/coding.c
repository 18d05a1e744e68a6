/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sheet's bytes as UTF-8 with line feeds. */
#include "book/inside.h"

#include <string.h>

static size_t put_utf8(char *out, uint32_t code)
{
  if (code < 0x80) return out[0] = (char)code, 1;
  size_t more = code < 0x800 ? 1 : code < 0x10000 ? 2 : 3;
  static const unsigned char first[] = {0, 0xC0, 0xE0, 0xF0};
  out[0] = (char)(first[more] | code >> 6 * more);
  for (size_t i = 1; i <= more; i++) out[i] = (char)(0x80 | (code >> 6 * (more - i) & 0x3F));
  return more + 1;
}

static uint32_t utf16_at(const char *bytes, size_t at, bool big)
{
  unsigned char a = (unsigned char)bytes[at], b = (unsigned char)bytes[at + 1];
  return big ? (uint32_t)(a << 8 | b) : (uint32_t)(b << 8 | a);
}

/* RFC 2781; half a pair becomes the replacement character. */
static char *from_utf16(const char *bytes, size_t size, bool big, struct be_arena *arena,
                        size_t *length)
{
  char *text = be_arena_alloc(arena, size / 2 * 3 + 1);
  *length = 0;
  for (size_t i = 0; text && i + 1 < size; i += 2) {
    uint32_t code = utf16_at(bytes, i, big);
    uint32_t next = i + 3 < size ? utf16_at(bytes, i + 2, big) : 0;
    if (code >= 0xD800 && code < 0xDC00 && next >= 0xDC00 && next < 0xE000) {
      code = 0x10000 + ((code - 0xD800) << 10) + (next - 0xDC00);
      i += 2;
    } else if (code >= 0xD800 && code < 0xE000) {
      code = 0xFFFD;
    }
    *length += put_utf8(text + *length, code);
  }
  return text;
}

static char *from_latin1(const char *bytes, size_t size, struct be_arena *arena, size_t *length)
{
  char *text = be_arena_alloc(arena, 2 * size + 1);
  *length = 0;
  for (size_t i = 0; text && i < size; i++)
    *length += put_utf8(text + *length, (unsigned char)bytes[i]);
  return text;
}

/* Where no line feed stands at all, carriage returns end the lines. */
static void end_lines(char *text, size_t size)
{
  if (memchr(text, '\n', size)) return;
  for (size_t i = 0; i < size; i++)
    if (text[i] == '\r') text[i] = '\n';
}

enum be_status be_sheet_text(const char *bytes, size_t size, struct be_arena *arena, char **text,
                             size_t *length, struct be_err *err)
{
  bool little = size >= 2 && memcmp(bytes, "\xFF\xFE", 2) == 0;
  bool big = size >= 2 && memcmp(bytes, "\xFE\xFF", 2) == 0;
  if (size >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0) bytes += 3, size -= 3;
  *length = size;
  if (little || big) *text = from_utf16(bytes + 2, size - 2, big, arena, length);
  else if (be_utf8_valid(bytes, size)) *text = be_arena_text(arena, bytes, size);
  else *text = from_latin1(bytes, size, arena, length);
  if (!*text) return be_fail(err, BE_NO_MEMORY, "no memory for the sheet");
  if (*length && memchr(*text, '\0', *length)) {
    be_fail(err, BE_BAD_INPUT, "the file holds bytes that are not text");
    be_fail_remedy(err, "save the sheet as text with commas, semicolons or tabs between columns");
    return BE_BAD_INPUT;
  }
  end_lines(*text, *length);
  return BE_OK;
}
