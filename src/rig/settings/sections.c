/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rig/settings/settings.h"

#include <string.h>

static bool is_blank(char c)
{
  return c == ' ' || c == '\t' || c == '\r';
}

static void trim(const char **text, size_t *size)
{
  while (*size && is_blank(**text)) ++*text, --*size;
  while (*size && is_blank((*text)[*size - 1])) --*size;
}

static void read_line(const char *text, size_t size, struct be_section_line *line)
{
  const char *equals = memchr(text, '=', size);
  if (text[0] == '[' && text[size - 1] == ']' && size > 2) {
    line->name = text + 1;
    line->name_size = size - 2;
  } else if (equals && equals > text) {
    line->key = text;
    line->key_size = (size_t)(equals - text);
    line->value = equals + 1;
    line->value_size = size - line->key_size - 1;
    trim(&line->key, &line->key_size);
    trim(&line->value, &line->value_size);
  }
}

bool be_section_next(const char *text, size_t size, size_t *at, struct be_section_line *line)
{
  *line = (struct be_section_line){.number = line->number};
  while (*at < size) {
    const char *start = text + *at, *end = memchr(start, '\n', size - *at);
    size_t length = end ? (size_t)(end - start) : size - *at;
    *at += length + (end != NULL);
    line->number++;
    trim(&start, &length);
    if (length == 0 || start[0] == '#') continue;
    read_line(start, length, line);
    return true;
  }
  return false;
}

bool be_section_key(const struct be_section_line *line, const char *key)
{
  return line->key && line->key_size == strlen(key) && memcmp(line->key, key, line->key_size) == 0;
}

bool be_section_copy(const struct be_section_line *line, char *text, size_t room)
{
  if (line->value_size >= room || memchr(line->value, '\0', line->value_size)) return false;
  memcpy(text, line->value, line->value_size);
  text[line->value_size] = '\0';
  return true;
}

bool be_section_is(const struct be_section_line *line, const char *name)
{
  if (!line->name || !name) return line->name != NULL;
  return line->name_size == strlen(name) && memcmp(line->name, name, line->name_size) == 0;
}
