/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests of the server share: the site they serve, and a client that
 * speaks byte by byte. Define _POSIX_C_SOURCE before including it. */
#ifndef BE_WEB_CLIENT_H
#define BE_WEB_CLIENT_H

#include "test.h"
#include "web/web.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <stdatomic.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

enum { GOT_MAX = 4 * 1024 * 1024, BIG_LINES = 300000, WIDE_MIB = 24 };

static atomic_int handler_calls;
static struct be_news *handler_news; /* of the page /news; null: none */
static struct be_gate *handler_gate; /* what the page /held waits for */
static atomic_bool starving;

static inline void *resize(void *host, void *block, size_t old_size, size_t new_size)
{
  (void)host;
  (void)old_size;
  if (new_size == 0) {
    free(block);
    return NULL;
  }
  return atomic_load(&starving) ? NULL : realloc(block, new_size);
}

static inline void handler(void *context, const struct be_request *request, struct be_reply *reply)
{
  atomic_fetch_add((atomic_int *)context, 1);
  const char *q = be_request_query(request, "q");
  if (strcmp(request->path, "/big") == 0) {
    for (int i = 0; i < BIG_LINES; i++) be_buf_format(&reply->body, "%06d\n", i);
  } else if (strcmp(request->path, "/huge") == 0 || strcmp(request->path, "/wide") == 0) {
    static const char block[1024 * 1024];
    for (int i = request->path[1] == 'h' ? 65 : WIDE_MIB; i > 0; i--)
      be_buf_add(&reply->body, block, sizeof block);
  } else if (strcmp(request->path, "/style.css") == 0) {
    reply->type = "text/css";
    reply->cacheable = true;
    be_buf_text(&reply->body, "p{margin:7px}");
  } else if (strcmp(request->path, "/later") == 0) {
    reply->again_s = 7;
    reply->status = q ? 203 : 202;
    be_buf_text(&reply->body, "not yet");
  } else if (strcmp(request->path, "/copy") == 0) {
    struct be_request *copy = be_request_copy(request);
    const char *other = copy ? be_request_query(copy, "a b") : NULL;
    be_buf_format(&reply->body, "%s %s %s:", copy ? copy->method : "", copy ? copy->path : "",
                  other ? other : "none");
    be_request_address(copy ? copy : request, &reply->body);
    be_request_free(copy);
  } else if (strcmp(request->path, "/away") == 0) {
    reply->status = 303;
    snprintf(reply->location, sizeof reply->location, "%s", q ? q : "");
  } else if (strcmp(request->path, "/read-only") == 0) {
    reply->status = 405;
  } else if (strcmp(request->path, "/ends") == 0) {
    be_buf_format(&reply->body, "%s to %s%s", request->peer, request->local,
                  request->relayed ? ", relayed" : "");
  } else if (strcmp(request->path, "/news") == 0) {
    reply->news = handler_news;
    reply->news_since = be_news_said(handler_news);
    snprintf(reply->news_who, sizeof reply->news_who, "%s", q ? q : "");
    be_news_event(&reply->body, "state", q ? q : "");
  } else if (strcmp(request->path, "/held") == 0) {
    be_gate_wait(handler_gate, 1);
    be_buf_text(&reply->body, "held");
  } else if (strcmp(request->path, "/form") == 0) {
    const char *load = be_request_form(request, "load"), *note = be_request_form(request, "note");
    const char *key = be_request_cookie(request, "key");
    be_buf_format(&reply->body, "%s %s %zu load=%s note=%s key=%s", request->method, request->type,
                  request->body_size, load ? load : "none", note ? note : "none",
                  key ? key : "none");
    if (load) snprintf(reply->cookie, sizeof reply->cookie, "key=%s", load);
    reply->cookie_s = note && strcmp(note, "kept") == 0 ? 41 : 0;
  } else if (strcmp(request->path, "/empty") != 0) {
    if (request->path[1]) reply->status = 404;
    be_buf_format(&reply->body, "%s %s q=%s", request->method, request->path, q ? q : "none");
  }
}

/* ---- the other end ---- */

struct got {
  char *text; /* NUL after size bytes */
  size_t size;
  int status;
  const char *body;
};

/* A connection from `from`, or null, to 127.0.0.1 or `address`; -1 if none. The limit on waiting
 * only keeps a broken server from hanging the test. */
static inline int dial_from(const char *from, const char *address, uint16_t port)
{
  struct sockaddr_in to = {.sin_family = AF_INET, .sin_port = htons(port)};
  struct sockaddr_in own = {.sin_family = AF_INET};
  const struct timeval patience = {.tv_sec = 30};
  inet_pton(AF_INET, address ? address : "127.0.0.1", &to.sin_addr);
  int fd = socket(AF_INET, SOCK_STREAM, 0);
  if (fd < 0) return -1;
  if (from && (inet_pton(AF_INET, from, &own.sin_addr) != 1 ||
               bind(fd, (struct sockaddr *)&own, sizeof own) != 0)) {
    close(fd);
    return -1;
  }
  setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
  if (connect(fd, (struct sockaddr *)&to, sizeof to) == 0) return fd;
  close(fd);
  return -1;
}

static inline int dial(const char *address, uint16_t port)
{
  return dial_from(NULL, address, port);
}

/* Sends and reads until the server closes; status 0 when nothing came. Asserts
 * nothing, since it also runs on other threads. */
static inline struct got ask_by(int fd, const char *request, size_t size)
{
  struct got got = {.text = calloc(1, GOT_MAX)};
  if (fd < 0) return got;
  for (size_t sent = 0; sent < size;) {
    ssize_t n = send(fd, request + sent, size - sent, MSG_NOSIGNAL);
    if (n <= 0) break;
    sent += (size_t)n;
  }
  ssize_t n;
  while ((n = recv(fd, got.text + got.size, GOT_MAX - 1 - got.size, 0)) > 0) got.size += (size_t)n;
  close(fd);
  if (strncmp(got.text, "HTTP/1.1 ", 9) == 0) got.status = atoi(got.text + 9);
  char *end = strstr(got.text, "\r\n\r\n");
  got.body = end ? end + 4 : "";
  return got;
}

/* The same of a page that may have to be asked for again until it is done. */
static inline struct got ask_at(const char *address, uint16_t port, const char *request,
                                size_t size)
{
  struct got got = ask_by(dial(address, port), request, size);
  while (got.status == 202) {
    free(got.text);
    got = ask_by(dial(address, port), request, size);
  }
  return got;
}

static inline struct got ask(const struct be_server *server, const char *request)
{
  return ask_at(NULL, be_server_port(server), request, strlen(request));
}

static inline struct got get(const struct be_server *server, const char *method, const char *target)
{
  static const char form[] = "%s %s HTTP/1.1\r\nHost: localhost:%u\r\nConnection: close\r\n\r\n";
  size_t room = sizeof form + strlen(target) + 32;
  char *request = malloc(room);
  snprintf(request, room, form, method, target, (unsigned)be_server_port(server));
  struct got got = ask(server, request);
  free(request);
  return got;
}

#define FORM_TYPE "Content-Type: application/x-www-form-urlencoded\r\n"
#define JSON_TYPE "Content-Type: application/json\r\n"

/* Sends a body, with lines of the head that end in \r\n, to this machine. */
static inline struct got send_body(uint16_t port, const char *method, const char *address,
                                   const char *lines, const char *body)
{
  static const char form[] = "%s %s HTTP/1.1\r\nHost: localhost:%u\r\nConnection: close\r\n"
                             "%sContent-Length: %zu\r\n\r\n%s";
  size_t room = sizeof form + strlen(address) + strlen(lines) + strlen(body) + 64;
  char *request = malloc(room);
  int size =
      snprintf(request, room, form, method, address, (unsigned)port, lines, strlen(body), body);
  struct got got = ask_at(NULL, port, request, (size_t)size);
  free(request);
  return got;
}

static inline void assert_header(const struct got *got, const char *line)
{
  char whole[400];
  snprintf(whole, sizeof whole, "\r\n%s\r\n", line);
  const char *at = strstr(got->text, whole);
  if (!at) print_error("no header \"%s\" in:\n%.600s\n", line, got->text);
  assert_true(at && at < got->body);
}

static inline void assert_safe(const struct got *got)
{
  assert_header(got, "Content-Security-Policy: default-src 'none'; style-src 'self'; "
                     "img-src 'self' data:; script-src 'self'; connect-src 'self'; "
                     "form-action 'self'; "
                     "base-uri 'none'; frame-ancestors 'none'");
  assert_header(got, "X-Content-Type-Options: nosniff");
  assert_header(got, "Referrer-Policy: same-origin");
  assert_header(got, "Cross-Origin-Opener-Policy: same-origin");
  assert_header(got, "Cross-Origin-Resource-Policy: same-origin");
  assert_header(got, "Permissions-Policy: camera=(), display-capture=(), geolocation=(), "
                     "microphone=(), midi=(), payment=(), usb=()");
  assert_null(strstr(got->text, "\r\nServer:"));
  assert_null(strstr(got->text, "\r\nStrict-Transport-Security:"));
}

/* The reply to what was asked has that status, and these words in `where` of it. */
static inline void assert_says_in(struct got got, const char *where, const char *asked, int status,
                                  const char *words)
{
  bool says = strstr(where, words) != NULL;
  if (got.status != status || !says)
    print_error("%s: %d, without \"%s\":\n%.3000s\n", asked, got.status, words, got.text);
  assert_int_equal(got.status, status);
  assert_true(says);
  free(got.text);
}

/* Of a page, in its head or body. */
static inline void assert_says(struct got got, const char *asked, int status, const char *words)
{
  assert_says_in(got, got.text, asked, status, words);
}

static inline void assert_says_json(struct got got, const char *asked, int status,
                                    const char *words)
{
  assert_header(&got, "Content-Type: application/json");
  assert_safe(&got);
  assert_says_in(got, got.body, asked, status, words);
}

/* The reply refuses with a sentence, closes, and the handler never saw the request. */
static inline void assert_refused(struct got got, int status)
{
  if (got.status != status) print_error("want %d, got:\n%.600s\n", status, got.text);
  assert_int_equal(got.status, status);
  assert_safe(&got);
  assert_header(&got, "Cache-Control: no-store");
  assert_header(&got, "Content-Type: text/plain; charset=utf-8");
  assert_header(&got, "Connection: close");
  assert_true(strlen(got.body) > 20);
  assert_int_equal(atomic_load(&handler_calls), 0);
  free(got.text);
}

static inline int open_site(void **state)
{
  const struct be_server_options options = {0};
  struct be_err err = {0};
  atomic_store(&handler_calls, 0);
  return be_server_open(&options, handler, &handler_calls, (struct be_server **)state, &err);
}

static inline int close_site(void **state)
{
  be_server_close(*state);
  return 0;
}

/* A test that is given a server of its own. */
#define served(test) cmocka_unit_test_setup_teardown(test, open_site, close_site)

#endif
