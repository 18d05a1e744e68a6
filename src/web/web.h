/* SPDX-License-Identifier: GPL-3.0-or-later */
/* web: an HTTP server for pages on this machine. Parses, hands the request to
 * one function, answers, and tells those who listen. Knows no domain word. It listens on the
 * loopback address unless told otherwise, checks Host, limits everything. */
#ifndef BE_WEB_H
#define BE_WEB_H

#include "base/base.h"

struct be_request {
  const char *method; /* "GET", "HEAD", or "POST" where the server takes it; others never come */
  const char *path;   /* decoded, starts with '/' */
  const char *type;   /* of the body, without parameters: "application/json"; "" for none */
  const char *body;   /* of a POST, with a NUL behind it; "" for none */
  size_t body_size;
  void *inner;
};

/* A query value, decoded, or null; the first of several, "" for a name alone. Valid
 * UTF-8, until the handler returns. */
const char *be_request_query(const struct be_request *request, const char *name);
/* The same of a form that was posted, and of a cookie (as sent, not decoded). */
const char *be_request_form(const struct be_request *request, const char *name);
const char *be_request_cookie(const struct be_request *request, const char *name);

/* The address in one spelling: the decoded path and each name and value as they came, each with a
 * NUL behind it. Two requests with the same one ask the same. */
void be_request_address(const struct be_request *request, struct be_buf *address);
/* Its method, path and query, to be answered after the handler returned: HEAD as GET. Null when
 * memory is out. A request whose inner is null has no query, and may be made by anybody. */
struct be_request *be_request_copy(const struct be_request *request);
void be_request_free(struct be_request *request); /* of a copy; null does nothing */

struct be_news;
struct be_reply {
  int status;         /* 200 unless changed */
  const char *type;   /* a literal: "text/html; charset=utf-8" unless changed */
  struct be_buf body; /* empty, ready to append to; the server frees it. One that failed is a 500 */
  char location[256]; /* for 303; no line breaks */
  char cookie[256];   /* "name=value", kept by the browser for this site alone; "" for none */
  bool cacheable;     /* style sheets and fonts; everything else is no-store */
  int again_s; /* a page that is not done: browsers ask again after so long; 0: they do not */
  /* A reply that goes on: its body is sent, then the events said since news_since, which
   * be_news_said gave before the body was made. The type is then text/event-stream. */
  struct be_news *news;
  uint64_t news_since;
};

/* Fills in the reply. Called from several threads at once. */
typedef void be_handler(void *context, const struct be_request *request, struct be_reply *reply);

struct be_server_options {
  const char *address; /* in figures, of IPv4 or IPv6; null: 127.0.0.1 */
  uint16_t port;       /* 0: any free one */
  /* Whether a page may send something: bytes of a body at most, 0 refuses POST. One that names
   * another Origin than this server is refused, whatever it sends. */
  size_t body_most;
  const char *certificate, *key; /* PEM texts: speaks TLS; null: plain */
};

/* News: server-sent events (WHATWG HTML, section 9.2): what is said goes to everyone who
 * listens at that moment. Saying never waits: who falls 64 events behind is dropped, and will
 * connect again by itself. */
struct be_news;
enum { BE_NEWS_LISTENERS_MAX = 240 };
enum be_status be_news_open(struct be_news **news, struct be_err *err);
/* event: one word; data: text, of which every line is sent. BE_NO_MEMORY: nobody was told. */
enum be_status be_news_say(struct be_news *news, const char *event, const char *data);
uint64_t be_news_said(struct be_news *news); /* how many, so far */
size_t be_news_listeners(struct be_news *news);
void be_news_end(struct be_news *news);   /* before be_server_close: sends everyone away */
void be_news_close(struct be_news *news); /* after it; null does nothing */
/* One event as it stands on the wire: for the body that goes before news. */
void be_news_event(struct be_buf *buf, const char *event, const char *data);

struct be_server;
/* BE_FAILED with a remedy when the port is taken, BE_WRONG_USE for an address that is none. */
enum be_status be_server_open(const struct be_server_options *options, be_handler *handler,
                              void *context, struct be_server **server, struct be_err *err);
uint16_t be_server_port(const struct be_server *server);
void be_server_close(struct be_server *server); /* waits for handlers at work; null does nothing */

#endif
