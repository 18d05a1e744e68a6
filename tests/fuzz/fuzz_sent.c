/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Feeds any bytes to what reads a program's JSON: what it takes are texts one after another in the
 * body, of names that differ. Build with clang -fsanitize=fuzzer,address,undefined. */
#include "web/inside.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void look(const struct be_inner *inner, size_t size)
{
  const char *end = inner->body;
  for (size_t i = 0; i < inner->form.count; i++) {
    const char *name = inner->form.name[i], *value = inner->form.value[i];
    assert(name == end && value == name + strlen(name) + 1);
    end = value + strlen(value) + 1;
    assert(be_utf8_valid(name, strlen(name)) && be_utf8_valid(value, strlen(value)));
    for (size_t k = 0; k < i; k++) assert(strcmp(inner->form.name[k], name) != 0);
  }
  assert(end <= inner->body + size);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  static struct be_inner inner;
  struct be_err err = {0};
  char *body = malloc(size + !size);
  if (!body) return 0;
  if (size > 0) memcpy(body, data, size);
  inner.body = body;
  const struct be_request request = {.body = body, .body_size = size, .inner = &inner};
  be_json_prepare();
  enum be_status status = be_request_json(&request, "step", &err);
  assert(status == BE_OK || (status == BE_BAD_INPUT && *err.what && inner.form.count == 0));
  if (status == BE_OK) look(&inner, size);
  free(body);
  return 0;
}
