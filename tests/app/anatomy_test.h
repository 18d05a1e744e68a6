/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests of anatomy share: an answer as JSON, and what must be in it. */
#ifndef BE_ANATOMY_TEST_H
#define BE_ANATOMY_TEST_H

#include "app/anatomy/anatomy.h"
#include "app_test.h"

/* Of the last that was asked. */
static inline const char *doc_json(struct be_doc *doc)
{
  static struct be_buf json;
  be_buf_free(&json);
  be_buf_init(&json, 1 << 24);
  assert_int_equal(be_doc_json(doc, &json, NULL), BE_OK);
  be_doc_free(doc);
  return json.data;
}

static inline const char *asked_json(const struct be_anatomy *asked)
{
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  if (be_app_anatomy(asked, &doc, &err) != BE_OK)
    fail_msg("%s: %s", asked->count ? asked->words[0] : "", err.what);
  return doc_json(doc);
}

static inline void BE_PRINTF(2, 3) in_json(const char *json, const char *format, ...)
{
  char words[600];
  va_list list;
  va_start(list, format);
  vsnprintf(words, sizeof words, format, list);
  va_end(list);
  if (!strstr(json, words)) fail_msg("nowhere \"%s\" in %s", words, json);
}

#endif
