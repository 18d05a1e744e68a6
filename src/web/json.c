/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a program sends: one flat object (RFC 8259), taken as the pairs of a form. */
#include "web/inside.h"

#include <jansson.h>
#include <stdio.h>
#include <string.h>

/* The library tells a lack of memory no better than other failures. */
static _Thread_local bool ran_out;

static void *take(size_t size)
{
  void *block = be_alloc(size);
  if (!block) ran_out = true;
  return block;
}

void be_json_prepare(void)
{
  json_set_alloc_funcs(take, be_free);
}

/* The texts go over the body they came from: a member is longer there, by its quotes at least. */
static const char *keep(char **at, const char *text, size_t size)
{
  char *kept = *at;
  memcpy(kept, text, size);
  kept[size] = '\0';
  *at += size + 1;
  return kept;
}

static enum be_status take_member(void *member, const char *whole, char **at,
                                  struct be_pairs *pairs, struct be_err *err)
{
  const char *name = json_object_iter_key(member);
  const json_t *value = json_object_iter_value(member);
  char digits[32] = "";
  bool counts = strcmp(name, whole) == 0;
  if (counts && json_is_integer(value) && json_integer_value(value) >= 0)
    snprintf(digits, sizeof digits, "%lld", (long long)json_integer_value(value));
  if (counts && !*digits)
    return be_fail(err, BE_BAD_INPUT, "\"%.60s\" takes a whole number from 0", name);
  if (!counts && !json_is_string(value))
    return be_fail(err, BE_BAD_INPUT, "\"%.60s\" takes a string", name);
  if (pairs->count == WEB_FORM_MAX)
    return be_fail(err, BE_BAD_INPUT, "more than %d members were sent", (int)WEB_FORM_MAX);
  pairs->name[pairs->count] = keep(at, name, strlen(name));
  pairs->value[pairs->count++] =
      counts ? keep(at, digits, strlen(digits))
             : keep(at, json_string_value(value), json_string_length(value));
  return BE_OK;
}

static enum be_status take_members(json_t *root, const char *whole, struct be_inner *inner,
                                   struct be_err *err)
{
  char *at = inner->body;
  enum be_status status = BE_OK;
  if (!json_is_object(root))
    return be_fail(err, BE_BAD_INPUT, "what was sent is a list, not an object");
  for (void *i = json_object_iter(root); i && status == BE_OK; i = json_object_iter_next(root, i))
    status = take_member(i, whole, &at, &inner->form, err);
  return status;
}

enum be_status be_request_json(const struct be_request *request, const char *whole,
                               struct be_err *err)
{
  struct be_inner *inner = request->inner;
  json_error_t wrong = {0};
  inner->form.count = 0;
  ran_out = false;
  json_t *root = json_loadb(request->body, request->body_size, JSON_REJECT_DUPLICATES, &wrong);
  enum be_status status = BE_OK;
  if (root) status = take_members(root, whole, inner, err);
  else if (ran_out) status = be_fail(err, BE_NO_MEMORY, "no memory for what was sent");
  else {
    status = be_fail(err, BE_BAD_INPUT, "what was sent is not JSON: %s", wrong.text);
    be_fail_at(err, NULL, wrong.line > 0 ? (size_t)wrong.line : 0,
               wrong.column > 0 ? (size_t)wrong.column : 0);
  }
  json_decref(root);
  if (status != BE_OK) inner->form.count = 0;
  return status;
}
