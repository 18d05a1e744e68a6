/* SPDX-License-Identifier: GPL-3.0-or-later */
/* web: an HTTP server for pages on this machine. Parses, hands the request to
 * one function, answers. Knows no domain word. It listens on the loopback
 * address unless told otherwise, checks Host, limits everything. */
#ifndef BE_WEB_H
#define BE_WEB_H

#include "base/base.h"

struct be_request {
  const char *method; /* "GET" or "HEAD"; others are refused before the handler */
  const char *path;   /* decoded, starts with '/' */
  void *inner;
};

/* A query value, decoded, or null; the first of several, "" for a name alone. Valid
 * UTF-8, until the handler returns. */
const char *be_request_query(const struct be_request *request, const char *name);

struct be_reply {
  int status;         /* 200 unless changed */
  const char *type;   /* a literal: "text/html; charset=utf-8" unless changed */
  struct be_buf body; /* empty, ready to append to; the server frees it. One that failed is a 500 */
  char location[256]; /* for 303; no line breaks */
  bool cacheable;     /* style sheets and fonts; everything else is no-store */
};

/* Fills in the reply. Called from several threads at once. */
typedef void be_handler(void *context, const struct be_request *request, struct be_reply *reply);

struct be_server_options {
  const char *address; /* in figures, of IPv4 or IPv6; null: 127.0.0.1 */
  uint16_t port;       /* 0: any free one */
};

struct be_server;
/* BE_FAILED with a remedy when the port is taken, BE_WRONG_USE for an address that is none. */
enum be_status be_server_open(const struct be_server_options *options, be_handler *handler,
                              void *context, struct be_server **server, struct be_err *err);
uint16_t be_server_port(const struct be_server *server);
void be_server_close(struct be_server *server); /* waits for handlers at work; null does nothing */

#endif
