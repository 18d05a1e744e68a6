/* SPDX-License-Identifier: GPL-3.0-or-later */
/* libmicrohttpd calls on_request once when the headers are in, once for each
 * piece of a body, and once more at the end. The answer goes out at the end, or at
 * the first call when the length of the body is in doubt. By itself the library
 * accepts a request without Host, with two lengths, or with a body of any size, and
 * would undo percent signs so that %00 cuts the text: that is ours to refuse.
 * Out of our reach: a NUL byte on the wire cuts its line before we see it, and what
 * the library refuses before the first call (headers past CONNECTION_BYTES, a
 * broken request line, a negative length) gets a fixed page of its own, without the
 * headers below. */
#include "web/inside.h"

#include <assert.h>
#include <microhttpd.h>
#include <stdio.h>
#include <string.h>

enum {
  THREADS = 4, /* with fewer, one thread tends to accept most connections */
  CONNECTIONS_MAX = 512,
  CONNECTIONS_EACH_MAX = 256, /* from one address; this machine is one address */
  IDLE_MAX_S = 10,
  CONNECTION_BYTES = 32 * 1024, /* request line and headers */
  REPLY_MAX = 64 * 1024 * 1024,
};

struct be_server {
  struct MHD_Daemon *daemon;
  be_handler *handler;
  void *context;
  uint16_t port;
  size_t body_most; /* of a POST; 0: none is taken */
  bool tls;
};

/* A request on its way in. */
struct incoming {
  size_t taken; /* bytes of a body, kept or passed over */
  bool kept;
  struct be_buf body;
};

static const struct be_refusal wrong_method = {
    405, "Pages here are only read. Open the address in a browser.\n"};
static const struct be_refusal no_such_method = {
    405, "Pages here are read or sent to. Open the address in a browser.\n"};
static const struct be_refusal too_many = {
    503, "Too many are looking already. Close some of the pages and load this one again.\n"};
static const struct be_refusal no_memory = {
    500, "There is no memory left for this page. Close other programs and load it again.\n"};
static const struct be_refusal page_too_large = {
    500, "This page came out larger than the limit. Ask for less of it at once.\n"};
static const struct be_refusal bad_reply = {
    500, "This page could not be sent. Go back and try another way to it.\n"};

static const char *const safety[][2] = {
    {"Content-Security-Policy",
     "default-src 'none'; style-src 'self'; img-src 'self' data:; script-src 'self'; "
     "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"},
    {"X-Content-Type-Options", "nosniff"},
    /* Not "no-referrer": browsers would then send what our own pages post with Origin: null. */
    {"Referrer-Policy", "same-origin"},
};

static bool add_header(struct MHD_Response *response, const char *name, const char *value)
{
  return MHD_add_response_header(response, name, value) == MHD_YES;
}

static bool add_headers(struct MHD_Response *response, const char *type, bool cacheable)
{
  for (size_t i = 0; i < sizeof safety / sizeof safety[0]; i++)
    if (!add_header(response, safety[i][0], safety[i][1])) return false;
  return add_header(response, "Content-Type", type) &&
         add_header(response, "Cache-Control", cacheable ? "max-age=3600" : "no-store");
}

/* Closes the connection as well, so that nothing after a doubtful request is read
 * as a new one. Without memory for the headers nothing is sent at all. */
static enum MHD_Result refuse(struct MHD_Connection *connection, const struct be_refusal *refusal)
{
  const struct MHD_IoVec text = {refusal->text, strlen(refusal->text)};
  struct MHD_Response *response = MHD_create_response_from_iovec(&text, 1, NULL, NULL);
  if (!response) return MHD_NO;
  enum MHD_Result result = MHD_NO;
  if (add_headers(response, "text/plain; charset=utf-8", false) &&
      add_header(response, "Connection", "close") &&
      (refusal != &wrong_method || add_header(response, "Allow", "GET, HEAD")) &&
      (refusal != &no_such_method || add_header(response, "Allow", "GET, HEAD, POST")))
    result = MHD_queue_response(connection, (unsigned)refusal->status, response);
  MHD_destroy_response(response);
  return result;
}

/* Queues the response, which is then the library's; null when there was no memory for one. */
static enum MHD_Result send_reply(struct MHD_Connection *connection, const struct be_reply *reply,
                                  struct MHD_Response *response)
{
  if (!response) return refuse(connection, reply->news ? &too_many : &no_memory);
  char cookie[sizeof reply->cookie + 64], again[16];
  snprintf(again, sizeof again, "%d", reply->again_s);
  snprintf(cookie, sizeof cookie, "%s; Path=/; HttpOnly; SameSite=Strict", reply->cookie);
  bool whole =
      add_headers(response, reply->news ? "text/event-stream" : reply->type, reply->cacheable) &&
      (!reply->location[0] || add_header(response, "Location", reply->location)) &&
      (!reply->cookie[0] || add_header(response, "Set-Cookie", cookie)) &&
      (!reply->again_s ||
       (add_header(response, "Retry-After", again) && add_header(response, "Refresh", again)));
  enum MHD_Result result =
      whole ? MHD_queue_response(connection, (unsigned)reply->status, response) : MHD_NO;
  MHD_destroy_response(response);
  return whole ? result : refuse(connection, &bad_reply);
}

static enum MHD_Result answer(struct be_server *server, struct MHD_Connection *connection,
                              const struct be_request *request)
{
  struct be_reply reply = {.status = 200, .type = "text/html; charset=utf-8"};
  be_buf_init(&reply.body, REPLY_MAX);
  server->handler(server->context, request, &reply);
  assert(reply.status >= 200 && reply.status < 600 && reply.type);
  if (reply.body.status != BE_OK) {
    enum be_status status = reply.body.status;
    be_buf_free(&reply.body);
    return refuse(connection, status == BE_TOO_LARGE ? &page_too_large : &no_memory);
  }
  if (reply.news)
    return send_reply(connection, &reply,
                      be_news_response(reply.news, connection, &reply.body, reply.news_since));
  /* From here the response owns the body. */
  struct MHD_Response *response =
      MHD_create_response_from_buffer_with_free_callback(reply.body.size, reply.body.data, be_free);
  if (!response) be_buf_free(&reply.body);
  return send_reply(connection, &reply, response);
}

static enum MHD_Result on_header(void *headers, enum MHD_ValueKind kind, const char *name,
                                 size_t name_size, const char *value, size_t value_size)
{
  (void)kind;
  be_headers_add(headers, name, name_size, value, value_size);
  return MHD_YES;
}

struct reading {
  struct be_inner inner;
  const struct be_refusal *refusal;
};

static enum MHD_Result on_pair(void *reading_, enum MHD_ValueKind kind, const char *name,
                               size_t name_size, const char *value, size_t value_size)
{
  (void)kind;
  struct reading *reading = reading_;
  reading->refusal = be_target_pair(&reading->inner.target, name, name_size, value, value_size);
  return reading->refusal ? MHD_NO : MHD_YES;
}

/* "GET", "HEAD" or "POST"; null for what is not taken here. */
static const char *method_taken(const struct be_server *server, const char *method)
{
  static const char *const methods[] = {"GET", "HEAD", "POST"};
  for (size_t i = 0; i < (server->body_most ? 3 : 2); i++)
    if (strcmp(method, methods[i]) == 0) return methods[i];
  return NULL;
}

/* The media type alone: "text/plain" of "text/plain; charset=utf-8". */
static void name_type(const char *header, char *type, size_t size)
{
  size_t length = header ? strcspn(header, "; \t") : 0;
  if (length >= size) length = 0;
  memcpy(type, header ? header : "", length);
  type[length] = '\0';
}

/* Asks everything of a request that can be asked before its target is read. */
static const struct be_refusal *judge(const struct be_server *server,
                                      struct MHD_Connection *connection,
                                      const struct be_headers *headers, bool post)
{
  char local[WEB_NAME_MAX];
  be_local_name(MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD)->connect_fd,
                local);
  const struct be_refusal *refusal = be_headers_check_host(headers, local, server->port);
  return refusal || !post ? refusal : be_headers_check_origin(headers, server->tls);
}

/* The request is whole: judge it, then have it answered. */
static enum MHD_Result on_whole(struct be_server *server, struct MHD_Connection *connection,
                                const struct be_headers *headers, const char *method,
                                const char *raw_path, struct incoming *incoming)
{
  method = method_taken(server, method);
  if (!method) return refuse(connection, server->body_most ? &no_such_method : &wrong_method);
  bool post = strcmp(method, "POST") == 0;
  char type[64];
  name_type(headers->type, type, sizeof type);
  struct reading reading;
  reading.inner.target.used = reading.inner.target.count = reading.inner.form.count = 0;
  reading.inner.cookie = headers->cookie;
  reading.refusal = judge(server, connection, headers, post);
  if (!reading.refusal) reading.refusal = be_target_path(&reading.inner.target, raw_path);
  if (!reading.refusal)
    MHD_get_connection_values_n(connection, MHD_GET_ARGUMENT_KIND, on_pair, &reading);
  if (incoming->body.status != BE_OK) return refuse(connection, &no_memory);
  struct be_request request = {.method = method,
                               .path = reading.inner.target.path,
                               .type = type,
                               .body = incoming->body.size ? incoming->body.data : "",
                               .body_size = incoming->body.size,
                               .inner = &reading.inner};
  if (!reading.refusal && request.body_size > 0 &&
      be_text_same(type, "application/x-www-form-urlencoded"))
    reading.refusal = be_form_read(incoming->body.data, request.body_size, &reading.inner.form);
  return reading.refusal ? refuse(connection, reading.refusal)
                         : answer(server, connection, &request);
}

static size_t body_most(const struct be_server *server, bool post)
{
  return post && server->body_most > 0 ? server->body_most : WEB_BODY_MAX;
}

static enum MHD_Result on_body(const struct be_server *server, struct incoming *incoming,
                               const char *body, size_t *size)
{
  size_t most = body_most(server, incoming->kept);
  if (*size > most || incoming->taken > most - *size) return MHD_NO;
  incoming->taken += *size;
  if (incoming->kept) be_buf_add(&incoming->body, body, *size);
  *size = 0;
  return MHD_YES;
}

static enum MHD_Result on_request(void *server_, struct MHD_Connection *connection,
                                  const char *path, const char *method, const char *version,
                                  const char *body, size_t *body_size, void **progress)
{
  (void)version;
  struct be_server *server = server_;
  struct incoming *incoming = *progress;
  bool post = strcmp(method, "POST") == 0;
  if (*body_size > 0) return on_body(server, incoming, body, body_size);
  struct be_headers headers = {0};
  MHD_get_connection_values_n(connection, MHD_HEADER_KIND, on_header, &headers);
  if (incoming) return on_whole(server, connection, &headers, method, path, incoming);
  *progress = incoming = be_alloc_array(1, sizeof *incoming);
  if (!incoming) return refuse(connection, &no_memory);
  be_buf_init(&incoming->body, body_most(server, true));
  incoming->kept = post && server->body_most > 0;
  const struct be_refusal *refusal = be_headers_check_body(&headers, body_most(server, post));
  return refusal ? refuse(connection, refusal) : MHD_YES;
}

static void on_done(void *server, struct MHD_Connection *connection, void **progress,
                    enum MHD_RequestTerminationCode how)
{
  (void)server;
  (void)connection;
  (void)how;
  struct incoming *incoming = *progress;
  if (!incoming) return;
  be_buf_free(&incoming->body);
  be_free(incoming);
  *progress = NULL;
}

/* Keeps the percent signs: be_target_path and be_target_pair undo them. Plus signs
 * of the query are spaces already. */
static size_t keep_escapes(void *context, struct MHD_Connection *connection, char *text)
{
  (void)context;
  (void)connection;
  return strlen(text);
}

enum be_status be_server_open(const struct be_server_options *options, be_handler *handler,
                              void *context, struct be_server **server, struct be_err *err)
{
  assert(options && handler && server);
  *server = NULL;
  struct be_server *opened = be_alloc_array(1, sizeof *opened);
  if (!opened) return be_fail(err, BE_NO_MEMORY, "no memory for the server");
  opened->handler = handler;
  opened->context = context;
  opened->body_most = options->body_most;
  opened->tls = options->certificate && options->key;
  int fd = -1;
  enum be_status status = be_listen(options, &fd, &opened->port, err);
  if (status == BE_OK) {
    /* The library owns the socket from here on, also when it cannot start. */
    const struct MHD_OptionItem tls[] = {
        {MHD_OPTION_HTTPS_MEM_CERT, 0, (void *)(uintptr_t)options->certificate},
        {MHD_OPTION_HTTPS_MEM_KEY, 0, (void *)(uintptr_t)options->key},
        {MHD_OPTION_END, 0, NULL}};
    opened->daemon = MHD_start_daemon(
        MHD_USE_EPOLL_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME |
            (opened->tls ? (unsigned)MHD_USE_TLS : 0U),
        0, NULL, NULL, on_request, opened, MHD_OPTION_ARRAY, opened->tls ? tls : tls + 2,
        MHD_OPTION_NOTIFY_COMPLETED, on_done, NULL, MHD_OPTION_LISTEN_SOCKET, fd,
        MHD_OPTION_THREAD_POOL_SIZE, (unsigned)THREADS, MHD_OPTION_CONNECTION_LIMIT,
        (unsigned)CONNECTIONS_MAX, MHD_OPTION_PER_IP_CONNECTION_LIMIT,
        (unsigned)CONNECTIONS_EACH_MAX, MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)IDLE_MAX_S,
        MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)CONNECTION_BYTES, MHD_OPTION_UNESCAPE_CALLBACK,
        keep_escapes, NULL, MHD_OPTION_END);
    if (!opened->daemon) {
      status = be_fail(err, BE_FAILED, "the server cannot be started");
      be_fail_remedy(err, opened->tls ? "check that the certificate and its key are PEM and belong "
                                        "together"
                                      : "end some programs and try again");
    }
  }
  if (status == BE_OK) *server = opened;
  else be_free(opened);
  return status;
}

uint16_t be_server_port(const struct be_server *server)
{
  return server->port;
}

void be_server_close(struct be_server *server)
{
  if (!server) return;
  MHD_stop_daemon(server->daemon);
  be_free(server);
}
