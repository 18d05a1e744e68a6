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

#endif
