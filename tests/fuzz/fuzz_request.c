/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fuzz target: whatever bytes are called a request, it is judged without harm, and what passes is
 * what it says: a path without dots, pairs of UTF-8, a host and an origin that are ours. The first
 * line is the target, then a header a line, then, after an empty line, a form. Built with clang
 * -fsanitize=fuzzer,address,undefined. */
#include "web/inside.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

static void must(bool holds)
{
  if (!holds) abort();
}

static void check_pairs(const struct be_request *request, const struct be_inner *inner)
{
  for (size_t i = 0; i < inner->target.count; i++) {
    must(be_utf8_valid(inner->target.query[i].value, strlen(inner->target.query[i].value)));
    must(be_request_query(request, inner->target.query[i].name) != NULL);
  }
  for (size_t i = 0; i < inner->form.count; i++) {
    must(be_utf8_valid(inner->form.value[i], strlen(inner->form.value[i])));
    must(be_request_form(request, inner->form.name[i]) != NULL);
  }
  const char *key = be_request_cookie(request, "key");
  must(!key || strlen(key) < WEB_COOKIE_MAX);
  must(!key || !strchr(key, ';'));
}

/* As the library cuts it: at & and =. */
static bool read_query(struct be_target *target, char *query)
{
  for (char *at = query; at;) {
    char *next = strchr(at, '&');
    if (next) *next++ = '\0';
    char *equals = strchr(at, '=');
    size_t name = equals ? (size_t)(equals - at) : strlen(at);
    if (be_target_pair(target, at, name, equals ? equals + 1 : NULL,
                       equals ? strlen(equals + 1) : 0))
      return false;
    at = next;
  }
  return true;
}

static void judge_headers(const struct be_headers *headers)
{
  static const char *const names[] = {"bench.local"};
  bool host = !be_headers_check_host(headers, "192.0.2.7", 8765, names, 1);
  bool origin = host && !be_headers_check_origin(headers, false);
  bool length = !be_headers_check_body(headers, WEB_BODY_MAX);
  if (host) must(headers->hosts == 1 && strlen(headers->host) < WEB_NAME_MAX + 8);
  if (origin && headers->origins > 0) must(strncmp(headers->origin, "http://", 7) == 0);
  if (length) must(headers->lengths + headers->encodings <= 1 && !headers->malformed);
}

/* A line cut off from *at; null at the end. */
static char *next_line(char **at)
{
  char *line = *at;
  if (!line) return NULL;
  *at = strchr(line, '\n');
  if (*at) *(*at)++ = '\0';
  return line;
}

static void judge(char *text, size_t size)
{
  static struct be_inner inner;
  struct be_headers headers = {0};
  char *at = text, *end = text + size;
  char *target = next_line(&at), *line;
  memset(&inner, 0, sizeof inner);
  while ((line = next_line(&at)) != NULL && *line) {
    char *colon = strchr(line, ':');
    if (colon) *colon = '\0';
    char *value = colon ? colon + 1 + strspn(colon + 1, " ") : NULL;
    be_headers_add(&headers, line, strlen(line), value, value ? strlen(value) : 0);
  }
  judge_headers(&headers);
  inner.cookie = headers.cookie;
  struct be_request request = {.method = "POST", .path = "/", .inner = &inner};
  char *query = strchr(target, '?');
  if (query) *query++ = '\0';
  if (!be_target_path(&inner.target, target)) {
    must(inner.target.path[0] == '/' && !strstr(inner.target.path, "/../"));
    must(be_utf8_valid(inner.target.path, strlen(inner.target.path)));
    if (!query || read_query(&inner.target, query)) request.path = inner.target.path;
  }
  if (at && be_form_read(at, (size_t)(end - at), &inner.form)) inner.form.count = 0;
  check_pairs(&request, &inner);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
  char *text = malloc(size + 1);
  if (!text) return 0;
  if (size) memcpy(text, bytes, size);
  text[size] = '\0';
  judge(text, size);
  free(text);
  return 0;
}
