/* SPDX-License-Identifier: GPL-3.0-or-later */
/* web: an HTTP server for pages on this machine. Parses, hands the request to
 * one function, answers, and tells those who listen. Knows no domain word. It listens on the
 * loopback address unless told otherwise, checks Host, limits everything. */
#ifndef BE_WEB_H
#define BE_WEB_H

#include "base/base.h"

/* Bytes of the path and query of a request; one that has so many or more is refused. */
enum { BE_ADDRESS_MAX = 8 * 1024 };

struct be_request {
  const char *method; /* "GET", "HEAD", or "POST" where the server takes it; others never come */
  const char *path;   /* decoded, starts with '/' */
  const char *type;   /* of the body, without parameters: "application/json"; "" for none */
  const char *body;   /* of a POST, with a NUL behind it; "" for none */
  size_t body_size;
  /* Both ends of the connection, as in a Host header: "192.0.2.7", "[fe80::1]". relayed: another
   * program says that it passes this on for somebody else. */
  const char *local, *peer;
  bool relayed;
  void *inner;
};

/* A query value, decoded, or null; the first of several, "" for a name alone. Valid
 * UTF-8, until the handler returns. */
const char *be_request_query(const struct be_request *request, const char *name);
/* The same of a form that was posted, and of a cookie (as sent, not decoded). */
const char *be_request_form(const struct be_request *request, const char *name);
const char *be_request_cookie(const struct be_request *request, const char *name);
/* Takes what a program posted as the pairs of a form: one JSON object of strings, and of a whole
 * number where the member is named `whole`. The body is used up. BE_BAD_INPUT for anything else,
 * with line and column where it is no JSON. */
enum be_status be_request_json(const struct be_request *request, const char *whole,
                               struct be_err *err);
/* The names of these pairs, in the order sent; null after the last. */
const char *be_request_named(const struct be_request *request, size_t i);

/* The address in one spelling: the decoded path and each name and value as they came, each with a
 * NUL behind it. Two requests with the same one ask the same. */
void be_request_address(const struct be_request *request, struct be_buf *address);
/* Its method, path and query, to be answered after the handler returned: HEAD as GET. Null when
 * memory is out. A request whose inner is null has no query, and may be made by anybody. */
struct be_request *be_request_copy(const struct be_request *request);
void be_request_free(struct be_request *request); /* of a copy; null does nothing */

struct be_news;
enum { BE_WHO_MAX = 24 };
struct be_reply {
  int status;         /* 200 unless changed; 405 says by itself what is allowed: to read */
  const char *type;   /* a literal: "text/html; charset=utf-8" unless changed */
  struct be_buf body; /* empty, ready to append to; the server frees it. One that failed is a 500 */
  char location[256]; /* for 303; no line breaks */
  char cookie[256];   /* "name=value", kept by the browser for this site alone; "" for none */
  unsigned again_s;   /* the browser is to ask again so soon; 0: not */
  long cookie_s;      /* how long; 0: until the browser is closed */
  bool cacheable;     /* style sheets and fonts; everything else is no-store */
  /* A reply that goes on: its body is sent, then the events said since news_since, which
   * be_news_said gave before the body was made. The type is then text/event-stream. */
  struct be_news *news;
  uint64_t news_since;
  char news_who[BE_WHO_MAX]; /* who listens: for be_news_send_away */
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
  /* Names of this machine that a Host header may have, beside its addresses; borrowed until the
   * server is closed. */
  const char *const *names;
  size_t names_count;
  /* Limits; zero fields take the usual value. */
  unsigned each;      /* connections from one address: 256 */
  unsigned others;    /* so many at once, and only this machine is taken up: 384 of 512 */
  unsigned idle_s;    /* without a byte coming or going: 10; a listener who left is seen so soon */
  double request_s;   /* from the opening, or the last reply, until a request is whole: 30 */
  double least_B_s;   /* a reply may take request_s and its size over this: 16384 */
  size_t unsent_B;    /* of large replies on their way together; one alone may be more: 64 MiB */
  double listening_s; /* a listener is sent away after so long, to come again: 1800 */
};

/* News: server-sent events (WHATWG HTML, section 9.2): what is said goes to everyone who
 * listens at that moment. Saying never waits: who falls 128 events behind is dropped, and will
 * connect again by itself. */
struct be_news;
enum { BE_NEWS_LISTENERS_MAX = 240 };
enum be_status be_news_open(struct be_news **news, struct be_err *err);
/* event: one word; data: text, of which every line is sent. BE_NO_MEMORY: nobody was told. */
enum be_status be_news_say(struct be_news *news, const char *event, const char *data);
uint64_t be_news_said(struct be_news *news); /* how many, so far */
size_t be_news_listeners(struct be_news *news);
/* Sends away whoever listens as `who`. */
void be_news_send_away(struct be_news *news, const char *who);
void be_news_end(struct be_news *news);   /* before be_server_close: sends everyone away */
void be_news_close(struct be_news *news); /* after it; null does nothing */
/* One event as it stands on the wire: for the body that goes before news. */
void be_news_event(struct be_buf *buf, const char *event, const char *data);

struct be_server;
/* BE_FAILED with a remedy when the port is taken, BE_WRONG_USE for an address or a name that is
 * none, BE_BAD_INPUT for a certificate and key that cannot be used. */
enum be_status be_server_open(const struct be_server_options *options, be_handler *handler,
                              void *context, struct be_server **server, struct be_err *err);
uint16_t be_server_port(const struct be_server *server);
/* Waits for handlers at work; none is begun any more. Null does nothing. */
void be_server_close(struct be_server *server);

#endif
