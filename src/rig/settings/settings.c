/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rig/settings/settings.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { NAME_MAX_SHOWN = 40 };

struct word {
  const char *name;
  size_t name_size;
  struct be_setting_text value;
};

static int hex_digit(char c)
{
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

/* One byte of a value, written as itself or with a backslash; null when it is neither. */
static const char *read_byte(const char *text, char *byte)
{
  static const char names[] = "rnt\\\"0", bytes[] = "\r\n\t\\\"";
  *byte = *text;
  if (*text != '\\') return text + 1;
  const char *name = text[1] ? strchr(names, text[1]) : NULL;
  if (name) {
    *byte = bytes[name - names];
    return text + 2;
  }
  int high = text[1] == 'x' ? hex_digit(text[2]) : -1, low = high < 0 ? -1 : hex_digit(text[3]);
  if (low < 0) return NULL;
  *byte = (char)(16 * high + low);
  return text + 4;
}

/* Reads one word; returns what follows it, null when it is badly written. */
static const char *read_word(const char *text, struct word *word)
{
  word->name = text;
  word->name_size = strcspn(text, "= ");
  word->value.size = 0;
  text += word->name_size;
  if (*text != '=' || word->name_size == 0) return NULL;
  bool quoted = *++text == '"';
  text += quoted;
  while (*text && *text != (quoted ? '"' : ' ')) {
    char byte;
    text = read_byte(text, &byte);
    if (!text || word->value.size == BE_SETTING_TEXT_MAX) return NULL;
    word->value.bytes[word->value.size++] = byte;
  }
  word->value.bytes[word->value.size] = '\0';
  if (!quoted) return text;
  return *text == '"' && (text[1] == ' ' || !text[1]) ? text + 1 : NULL;
}

static bool word_index(const char *words, const struct be_setting_text *value, int *index)
{
  for (*index = 0; *words; ++*index) {
    size_t length = strcspn(words, " ");
    if (length == value->size && memcmp(words, value->bytes, length) == 0) return true;
    words += length + (words[length] == ' ');
  }
  return false;
}

static bool put(const struct be_setting *setting, const struct be_setting_text *value, void *into)
{
  char *place = (char *)into + setting->offset, *end;
  double number = 0;
  int whole = 0;
  switch (setting->type) {
  case BE_SETTING_TEXT: memcpy(place, value, sizeof *value); return true;
  case BE_SETTING_WORD:
    if (!word_index(setting->words, value, &whole)) return false;
    memcpy(place, &whole, sizeof whole);
    return true;
  case BE_SETTING_NUMBER:
  case BE_SETTING_WHOLE: break;
  }
  number = strtod(value->bytes, &end);
  if (end == value->bytes || end != value->bytes + value->size) return false;
  if (!(number >= setting->least && number <= setting->most)) return false;
  if (setting->type == BE_SETTING_NUMBER) {
    memcpy(place, &number, sizeof number);
    return true;
  }
  whole = (int)number;
  memcpy(place, &whole, sizeof whole);
  return floor(number) >= number;
}

static enum be_status wrong(struct be_err *err, const char *start, size_t size, const char *why,
                            const char *help)
{
  if (size > NAME_MAX_SHOWN) size = NAME_MAX_SHOWN;
  be_fail(err, BE_WRONG_USE, "\"%.*s\" %s", (int)size, start, why);
  be_fail_remedy(err, "%s", help);
  return BE_WRONG_USE;
}

static enum be_status say_range(const struct be_setting *setting, struct be_err *err)
{
  if (setting->type == BE_SETTING_WORD)
    be_fail(err, BE_WRONG_USE, "%s is one of: %s", setting->name, setting->words);
  else
    be_fail(err, BE_WRONG_USE, "%s is a %snumber from %g to %g", setting->name,
            setting->type == BE_SETTING_WHOLE ? "whole " : "", setting->least, setting->most);
  return BE_WRONG_USE;
}

enum be_status be_settings_read(const char *text, const struct be_setting *table, size_t count,
                                void *into, const char *help, struct be_err *err)
{
  struct word word;
  while (*(text += strspn(text, " "))) {
    const char *start = text;
    text = read_word(start, &word);
    if (!text)
      return wrong(err, start, strcspn(start, " "),
                   "is not written as name=value, with \"...\" around blanks", help);
    size_t i = 0;
    while (i < count && (strlen(table[i].name) != word.name_size ||
                         memcmp(table[i].name, word.name, word.name_size) != 0))
      i++;
    if (i == count) return wrong(err, start, word.name_size, "is not a setting of this", help);
    if (!put(&table[i], &word.value, into)) {
      say_range(&table[i], err);
      be_fail_remedy(err, "%s", help);
      return BE_WRONG_USE;
    }
  }
  return BE_OK;
}

void be_setting_write(struct be_buf *out, const char *bytes, size_t size)
{
  be_buf_char(out, '"');
  for (size_t i = 0; i < size; i++) {
    unsigned char c = (unsigned char)bytes[i];
    if (c == '"' || c == '\\') be_buf_format(out, "\\%c", c);
    else if (c < 0x20 || c == 0x7F) be_buf_format(out, "\\x%02x", c);
    else be_buf_char(out, (char)c);
  }
  be_buf_char(out, '"');
}
