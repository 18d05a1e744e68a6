/* SPDX-License-Identifier: GPL-3.0-or-later */
/* settings: what is told of a source or of its frames, as "name=value" words with
 * blanks between. A value with blanks stands in double quotes; \r \n \t \\ \" \0
 * and \xHH stand for one byte each. */
#ifndef BE_RIG_SETTINGS_H
#define BE_RIG_SETTINGS_H

#include "base/base.h"

enum { BE_SETTING_TEXT_MAX = 200 };

/* Bytes, NUL among them too; one more follows them always. */
struct be_setting_text {
  char bytes[BE_SETTING_TEXT_MAX + 1];
  size_t size;
};

enum be_setting_type {
  BE_SETTING_NUMBER, /* double, from least to most */
  BE_SETTING_WHOLE,  /* int, from least to most */
  BE_SETTING_TEXT,   /* struct be_setting_text */
  BE_SETTING_WORD,   /* int: which of the words */
};

struct be_setting {
  const char *name;
  enum be_setting_type type;
  size_t offset; /* of its place in the struct that is filled */
  double least, most;
  const char *words; /* one blank between */
};

/* Fills the places of `into` that the text names, and leaves the others. `help`
 * is what an error advises. BE_WRONG_USE names the word. */
enum be_status be_settings_read(const char *text, const struct be_setting *table, size_t count,
                                void *into, const char *help, struct be_err *err);

/* Adds bytes as one value that be_settings_read gives back. */
void be_setting_write(struct be_buf *out, const char *bytes, size_t size);

/* ---- sections ---- */

/* Lines of "[name]" and "key = value"; empty lines and those that begin with # are
 * passed over. */
struct be_section_line {
  const char *name; /* of a section that begins here; null on other lines */
  size_t name_size;
  const char *key, *value; /* without the blanks around them; borrowed from the text */
  size_t key_size, value_size;
  size_t number; /* of the line, from 1 */
};
/* The next line at *at of text[0..size); false at the end. Start with *at = 0 and line
 * all zero. A line that is neither has neither name nor key. */
bool be_section_next(const char *text, size_t size, size_t *at, struct be_section_line *line);
bool be_section_key(const struct be_section_line *line, const char *key);
/* The value as a text of less than `room` bytes; false when it does not fit. */
bool be_section_copy(const struct be_section_line *line, char *text, size_t room);
/* Whether a section of that name begins here; any section when name is null. */
bool be_section_is(const struct be_section_line *line, const char *name);

#endif
