/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/inside.h"

#include <stdio.h>
#include <string.h>

static const struct be_refusal bad_header = {
    400, "The request has a header that cannot be read. Try another browser.\n"};
static const struct be_refusal unclear_length = {
    400, "The request does not say clearly how long it is. Send one Content-Length or none.\n"};
static const struct be_refusal unknown_coding = {
    501, "The request is coded in a way this server does not know. Send it plain.\n"};
static const struct be_refusal body_too_long = {
    413, "The request carries more than is taken here. Send less at once.\n"};
static const struct be_refusal no_host = {400,
                                          "The request must name one Host. Try another browser.\n"};
static const struct be_refusal other_host = {
    421, "This server answers only to its own address. Open the one the program printed.\n"};
static const struct be_refusal other_origin = {
    403, "Another site asked for this. Open the page here and do it there.\n"};
static const struct be_refusal bad_address = {
    400, "This address is not well formed. Start again from the first page, /.\n"};
static const struct be_refusal address_too_long = {
    414, "This address is too long. Start again from the first page, /.\n"};
static const struct be_refusal too_many_values = {
    400, "This address carries too many values. Start again from the first page, /.\n"};

/* ---- headers ---- */

static bool is_plain_name(const char *name, size_t size)
{
  for (size_t i = 0; i < size; i++)
    if ((unsigned char)name[i] <= ' ' || (unsigned char)name[i] >= 0x7F) return false;
  return size > 0;
}

void be_headers_add(struct be_headers *headers, const char *name, size_t name_size,
                    const char *value, size_t value_size)
{
  if (!is_plain_name(name, name_size) || (value && strlen(value) != value_size))
    headers->malformed = true;
  if (be_text_same(name, "Host")) headers->hosts++, headers->host = value;
  if (be_text_same(name, "Content-Length")) headers->lengths++, headers->length = value;
  if (be_text_same(name, "Transfer-Encoding")) headers->encodings++, headers->encoding = value;
  if (be_text_same(name, "Origin")) headers->origins++, headers->origin = value;
  if (be_text_same(name, "Content-Type")) headers->types++, headers->type = value;
  if (be_text_same(name, "Sec-Fetch-Site")) headers->site = value;
  if (be_text_same(name, "Cookie")) headers->cookie = value;
  static const char *const relays[] = {"Forwarded", "Via", "X-Forwarded-For", "X-Real-IP"};
  for (size_t i = 0; i < sizeof relays / sizeof relays[0]; i++)
    if (be_text_same(name, relays[i])) headers->relayed = true;
}

const struct be_refusal *be_headers_check_body(const struct be_headers *headers, size_t most)
{
  if (headers->malformed) return &bad_header;
  if (headers->lengths + headers->encodings > 1 || headers->types > 1) return &unclear_length;
  if (headers->encodings && (!headers->encoding || !be_text_same(headers->encoding, "chunked")))
    return &unknown_coding;
  if (headers->lengths == 0) return NULL;
  const char *digit = headers->length;
  if (!digit || !*digit) return &unclear_length;
  size_t length = 0;
  for (; *digit; digit++) {
    if (*digit < '0' || *digit > '9') return &unclear_length;
    if (length <= most) length = length * 10 + (size_t)(*digit - '0');
  }
  return length > most ? &body_too_long : NULL;
}

static bool is_host(const char *host, const char *name, uint16_t port)
{
  char with_port[WEB_NAME_MAX + 8];
  snprintf(with_port, sizeof with_port, "%s:%u", name, (unsigned)port);
  return be_text_same(host, name) || be_text_same(host, with_port);
}

const struct be_refusal *be_headers_check_host(const struct be_headers *headers, const char *local,
                                               uint16_t port, const char *const *names,
                                               size_t names_count)
{
  if (headers->hosts != 1 || !headers->host || !*headers->host) return &no_host;
  const char *const own[] = {"127.0.0.1", "localhost", "[::1]", local};
  for (size_t i = 0; i < sizeof own / sizeof own[0]; i++)
    if (*own[i] && is_host(headers->host, own[i], port)) return NULL;
  for (size_t i = 0; i < names_count; i++)
    if (is_host(headers->host, names[i], port)) return NULL;
  return &other_host;
}

const struct be_refusal *be_headers_check_origin(const struct be_headers *headers, bool tls)
{
  const char *scheme = tls ? "https://" : "http://", *origin = headers->origin;
  if (headers->site && strcmp(headers->site, "same-origin") != 0 &&
      strcmp(headers->site, "none") != 0)
    return &other_origin;
  if (headers->origins == 0) return NULL;
  if (headers->origins > 1 || !origin || strncmp(origin, scheme, strlen(scheme)) != 0)
    return &other_origin;
  return be_text_same(origin + strlen(scheme), headers->host) ? NULL : &other_origin;
}

/* ---- target ---- */

/* Appends raw without its percent signs to target->text. */
static const struct be_refusal *decode(struct be_target *target, const char *raw, size_t size,
                                       const char **decoded)
{
  char *start = target->text + target->used;
  size_t length = 0;
  if (size >= sizeof target->text - target->used) return &address_too_long;
  if (!be_percent_decode(raw, size, false, start, &length)) return &bad_address;
  target->used += length + 1;
  *decoded = start;
  return NULL;
}

static bool has_control(const char *text)
{
  for (; *text; text++)
    if ((unsigned char)*text < ' ' || *text == 0x7F) return true;
  return false;
}

static bool has_dot_segment(const char *path)
{
  while (*path) {
    path++; /* over the slash */
    size_t length = strcspn(path, "/");
    if (length == 1 && path[0] == '.') return true;
    if (length == 2 && path[0] == '.' && path[1] == '.') return true;
    path += length;
  }
  return false;
}

const struct be_refusal *be_target_path(struct be_target *target, const char *raw)
{
  if (strchr(raw, ' ')) return &bad_address;
  const struct be_refusal *refusal = decode(target, raw, strlen(raw), &target->path);
  if (refusal) return refusal;
  if (target->path[0] != '/' || has_control(target->path)) return &bad_address;
  return has_dot_segment(target->path) ? &bad_address : NULL;
}

const struct be_refusal *be_target_pair(struct be_target *target, const char *name,
                                        size_t name_size, const char *value, size_t value_size)
{
  if (target->count == WEB_QUERY_MAX) return &too_many_values;
  const char *decoded_name, *decoded_value = "";
  const struct be_refusal *refusal = decode(target, name, name_size, &decoded_name);
  if (!refusal && value) refusal = decode(target, value, value_size, &decoded_value);
  if (refusal) return refusal;
  target->query[target->count].name = decoded_name;
  target->query[target->count++].value = decoded_value;
  return NULL;
}

const char *be_request_query(const struct be_request *request, const char *name)
{
  const struct be_inner *inner = request->inner;
  for (size_t i = 0; inner && i < inner->target.count; i++)
    if (strcmp(inner->target.query[i].name, name) == 0) return inner->target.query[i].value;
  return NULL;
}

void be_request_address(const struct be_request *request, struct be_buf *address)
{
  const struct be_inner *inner = request->inner;
  be_buf_add(address, request->path, strlen(request->path) + 1);
  for (size_t i = 0; inner && i < inner->target.count; i++) {
    be_buf_add(address, inner->target.query[i].name, strlen(inner->target.query[i].name) + 1);
    be_buf_add(address, inner->target.query[i].value, strlen(inner->target.query[i].value) + 1);
  }
}

/* A request and what it points at. */
struct copied {
  struct be_request request;
  struct be_inner inner;
};

/* Null when there is no room, which is only for an address with very many empty values. */
static const char *keep(struct be_target *target, const char *text)
{
  size_t size = strlen(text) + 1;
  if (size > sizeof target->text - target->used) return NULL;
  char *copy = target->text + target->used;
  memcpy(copy, text, size);
  target->used += size;
  return copy;
}

static bool copy_target(const struct be_request *request, struct be_target *target)
{
  const struct be_inner *inner = request->inner;
  target->path = keep(target, request->path);
  bool fits = target->path != NULL;
  for (size_t i = 0; fits && inner && i < inner->target.count; i++) {
    target->query[i].name = keep(target, inner->target.query[i].name);
    target->query[i].value = keep(target, inner->target.query[i].value);
    fits = target->query[i].name && target->query[i].value;
    target->count++;
  }
  return fits;
}

struct be_request *be_request_copy(const struct be_request *request)
{
  struct copied *copied = be_alloc_array(1, sizeof *copied);
  if (!copied) return NULL;
  if (!copy_target(request, &copied->inner.target)) {
    be_free(copied);
    return NULL;
  }
  copied->request = (struct be_request){.method = "GET",
                                        .path = copied->inner.target.path,
                                        .type = "",
                                        .body = "",
                                        .inner = &copied->inner};
  return &copied->request;
}

void be_request_free(struct be_request *request)
{
  be_free(request);
}
