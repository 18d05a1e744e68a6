/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers of a finished page in the reader's style. A number is digits that stand alone, perhaps
 * with a sign, brackets or a unit behind a blank: "T1.12" and "pull-1.5.csv" are names. */
#include "press/inside.h"

#include <string.h>

static bool is_digit(char c)
{
  return c >= '0' && c <= '9';
}

/* What may stand before a number and behind it. */
static bool opens(const char *at, const char *start)
{
  if (at == start) return true;
  if (strchr(" \n\t>([{/+-<=", at[-1])) return true;
  /* A dash or a sign of several bytes. */
  return (unsigned char)at[-1] >= 0x80;
}

static bool closes(const char *at, const char *end)
{
  return at == end || strchr(" \n\t<)]},;:%/", *at) || (unsigned char)*at >= 0x80 ||
         (*at == '.' && (at + 1 == end || strchr(" \n\t<", at[1])));
}

/* Whether digits[,ddd]...[.digits] stand here: at most one mark of each kind counts. */
static size_t number_at(const char *at, const char *end, bool *styled)
{
  const char *p = at;
  *styled = false;
  while (p < end && is_digit(*p)) p++;
  size_t first = (size_t)(p - at);
  if (first == 0) return 0;
  while (first <= 3 && end - p >= 4 && *p == ',' && is_digit(p[1]) && is_digit(p[2]) &&
         is_digit(p[3]) && (end - p == 4 || !is_digit(p[4]))) {
    p += 4;
    *styled = true;
  }
  if (end - p >= 2 && *p == '.' && is_digit(p[1])) {
    for (p++; p < end && is_digit(*p);) p++;
    *styled = true;
  }
  return (size_t)(p - at);
}

/* Groups of three are parted by a narrow blank, which is neither mark. */
static void put_styled(struct be_buf *out, const char *number, size_t size)
{
  for (size_t i = 0; i < size; i++) {
    if (number[i] == ',') be_buf_text(out, "\xE2\x80\xAF");
    else be_buf_char(out, number[i] == '.' ? ',' : number[i]);
  }
}

/* "72.1, 88.0": what parts numbers may not look like their mark. */
static bool parts_numbers(const char *at, const char *end)
{
  if (end - at < 3 || at[0] != ',' || at[1] != ' ') return false;
  return is_digit(at[2]) || (at[2] == '-' && end - at > 3 && is_digit(at[3]));
}

static void style_text(struct be_buf *out, const char *text, const char *end)
{
  for (const char *at = text; at < end;) {
    bool styled = false;
    size_t size = is_digit(*at) && opens(at, text) ? number_at(at, end, &styled) : 0;
    bool alone = size > 0 && closes(at + size, end);
    if (size == 0) size = 1;
    if (alone && styled) put_styled(out, at, size);
    else be_buf_add(out, at, size);
    at += size;
    if (alone && parts_numbers(at, end)) be_buf_char(out, ';'), at++;
  }
}

/* The end of a tag, of which `<` is the first byte; quoted values may hold `>`. */
static const char *after_tag(const char *at, const char *end)
{
  char quote = 0;
  for (; at < end; at++) {
    if (quote) {
      if (*at == quote) quote = 0;
    } else if (*at == '"' || *at == '\'') quote = *at;
    else if (*at == '>') return at + 1;
  }
  return end;
}

void be_html_comma(const char *page, size_t size, struct be_buf *out)
{
  const char *at = page, *end = page + size;
  while (at < end) {
    const char *tag = memchr(at, '<', (size_t)(end - at));
    if (!tag) tag = end;
    style_text(out, at, tag);
    at = tag < end ? after_tag(tag, end) : end;
    be_buf_add(out, tag, (size_t)(at - tag));
  }
}
