/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a page sends: forms as application/x-www-form-urlencoded (WHATWG URL, section 5), and the
 * cookie (RFC 6265, section 4.2). */
#include "web/inside.h"

#include <string.h>

static const struct be_refusal bad_form = {
    400, "What was sent cannot be read. Load the page again and send it from there.\n"};
static const struct be_refusal form_too_long = {
    400, "The form carries too many values. Send fewer at once.\n"};

static int hex_digit(char c)
{
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  return -1;
}

bool be_percent_decode(const char *raw, size_t size, bool plus_is_space, char *out, size_t *length)
{
  size_t used = 0;
  for (size_t i = 0; i < size; i++) {
    int c = raw[i];
    if (c == '+' && plus_is_space) c = ' ';
    if (c == '%') {
      int high = size - i < 3 ? -1 : hex_digit(raw[i + 1]);
      int low = size - i < 3 ? -1 : hex_digit(raw[i + 2]);
      if (high < 0 || low < 0) return false;
      c = high * 16 + low;
      i += 2;
    }
    if (c == 0) return false;
    out[used++] = (char)c;
  }
  out[used] = '\0';
  *length = used;
  return be_utf8_valid(out, used);
}

const struct be_refusal *be_form_read(char *body, size_t size, struct be_pairs *pairs)
{
  char *end = body + size;
  pairs->count = 0;
  for (char *at = body; at < end;) {
    char *next = memchr(at, '&', (size_t)(end - at));
    if (!next) next = end;
    char *equals = memchr(at, '=', (size_t)(next - at));
    char *name_end = equals ? equals : next;
    char *value = equals ? equals + 1 : next;
    size_t length = 0;
    if (next > at && pairs->count == WEB_FORM_MAX) return &form_too_long;
    /* The value first: the NUL behind the name may fall on its "=", that behind the value on "&".
     */
    if (!be_percent_decode(value, (size_t)(next - value), true, value, &length) ||
        !be_percent_decode(at, (size_t)(name_end - at), true, at, &length))
      return &bad_form;
    if (next > at) {
      pairs->name[pairs->count] = at;
      pairs->value[pairs->count++] = equals ? value : "";
    }
    at = next + 1;
  }
  return NULL;
}

const char *be_request_form(const struct be_request *request, const char *name)
{
  const struct be_inner *inner = request->inner;
  for (size_t i = 0; i < inner->form.count; i++)
    if (strcmp(inner->form.name[i], name) == 0) return inner->form.value[i];
  return NULL;
}

const char *be_request_named(const struct be_request *request, size_t i)
{
  const struct be_inner *inner = request->inner;
  return i < inner->form.count ? inner->form.name[i] : NULL;
}

const char *be_request_cookie(const struct be_request *request, const char *name)
{
  struct be_inner *inner = request->inner;
  const char *at = inner->cookie;
  size_t name_size = strlen(name);
  while (at && *at) {
    at += strspn(at, " ;");
    size_t size = strcspn(at, ";");
    if (size > name_size && memcmp(at, name, name_size) == 0 && at[name_size] == '=') {
      size_t value_size = size - name_size - 1;
      if (value_size >= sizeof inner->cookie_value) return NULL;
      memcpy(inner->cookie_value, at + name_size + 1, value_size);
      inner->cookie_value[value_size] = '\0';
      return inner->cookie_value;
    }
    at += size;
  }
  return NULL;
}
