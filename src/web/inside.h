/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of this room share; no other room includes it. request.c judges
 * a request, listen_posix.c owns the sockets, server.c joins them to
 * libmicrohttpd. Judging allocates nothing. */
#ifndef BE_WEB_INSIDE_H
#define BE_WEB_INSIDE_H

#include "web/web.h"

enum {
  WEB_TARGET_MAX = 8 * 1024, /* decoded path and query, bytes */
  WEB_QUERY_MAX = 64,        /* name=value pairs */
  WEB_BODY_MAX = 64 * 1024,  /* bytes of a body passed over before the line is cut */
  WEB_NAME_MAX = 64,         /* an address as text: "[fe80::1]" */
};

/* A reply that is fixed: its status and a sentence saying what to do. */
struct be_refusal {
  int status;
  const char *text;
};

/* The headers that decide whether a request is read at all. Start from zeroes,
 * add every header, then ask. */
struct be_headers {
  const char *host, *length, *encoding; /* the last of each, owned by the caller */
  unsigned hosts, lengths, encodings;
  bool malformed;
};

void be_headers_add(struct be_headers *headers, const char *name, size_t name_size,
                    const char *value, size_t value_size);
/* Both return null when all is well. The length of the body must be beyond doubt;
 * Host must be a name of this machine: `local` is the address the client reached,
 * as text. A page elsewhere whose name was made to point here is thus refused. */
const struct be_refusal *be_headers_check_body(const struct be_headers *headers);
const struct be_refusal *be_headers_check_host(const struct be_headers *headers, const char *local,
                                               uint16_t port);

/* The decoded target of a request; be_request.inner points here. Start with
 * used = count = 0. Both readers return null when all is well. */
struct be_target {
  const char *path;
  struct {
    const char *name, *value;
  } query[WEB_QUERY_MAX];
  size_t count;
  size_t used;
  char text[WEB_TARGET_MAX];
};

const struct be_refusal *be_target_path(struct be_target *target, const char *raw);
/* value may be null: a name alone has the value "". */
const struct be_refusal *be_target_pair(struct be_target *target, const char *name,
                                        size_t name_size, const char *value, size_t value_size);

/* A socket that listens, and the port it got. The caller owns *fd. BE_WRONG_USE
 * for an address that is none, BE_FAILED with a remedy when it is not to be had. */
enum be_status be_listen(const struct be_server_options *options, int *fd, uint16_t *port,
                         struct be_err *err);
/* This machine's end of a connection, as it stands in a Host header; "" if unknown. */
void be_local_name(int fd, char name[WEB_NAME_MAX]);

#endif
