/* SPDX-License-Identifier: GPL-3.0-or-later */
/* libmicrohttpd calls on_request once when the headers are in, once for each
 * piece of a body, and once more at the end; then the connection is suspended until one of the crew
 * has made the reply, and on_request is called again, to send it. What is refused is so at once, at
 * the first call when the length of the body is in doubt. By itself the library
 * accepts a request without Host, with two lengths, or with a body of any size, and
 * would undo percent signs so that %00 cuts the text: that is ours to refuse.
 * Out of our reach: a NUL byte on the wire cuts its line before we see it, and what
 * the library refuses before the first call (headers past CONNECTION_BYTES, a
 * broken request line, a negative length) gets a fixed page of its own, without the
 * headers below. */
#include "web/inside.h"

#include <assert.h>
#include <math.h>
#include <microhttpd.h>
#include <stdio.h>
#include <string.h>

enum {
  THREADS = 4, /* with fewer, one thread tends to accept most connections */
  CREW = 5,    /* four pages at once, and what is sent here besides */
  CONNECTIONS_MAX = 512,
  CONNECTIONS_OTHERS = 384,   /* that leave the rest to this machine */
  CONNECTIONS_EACH_MAX = 256, /* from one address; this machine is one address */
  IDLE_MAX_S = 10,
  REQUEST_MAX_S = 30,
  LEAST_BYTES_S =
      16 * 1024, /* the slowest a reply may be taken: a weak radio link does ten times it */
  LISTENING_MAX_S = 1800,       /* who is switched off says no goodbye */
  CONNECTION_BYTES = 32 * 1024, /* request line and headers */
  REPLY_MAX = 64 * 1024 * 1024,
  UNSENT_MAX = REPLY_MAX,
};

struct be_server {
  struct MHD_Daemon *daemon;
  struct be_crew *crew;
  be_handler *handler;
  void *context;
  uint16_t port;
  struct be_server_options options; /* without zero fields; the texts of TLS are not kept */
  struct be_deadlines *deadlines;
  bool tls;
  struct be_unsent unsent;
};

/* A request that is whole, and its reply. */
struct visit {
  struct be_job job;
  struct be_server *server;
  struct MHD_Connection *connection;
  struct be_inner inner;
  const struct be_refusal *refusal;
  char type[64], local[WEB_NAME_MAX], peer[WEB_NAME_MAX];
  struct be_request request;
  struct be_reply reply;
};

/* A request on its way in. */
struct incoming {
  size_t taken; /* bytes of a body, kept or passed over */
  bool kept;
  struct be_buf body;
  struct visit *visit; /* once it is whole, until it is answered */
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
static const struct be_refusal too_much = {
    503, "Too much is being sent at once. Load this page again in a moment.\n"};
static const struct be_refusal bad_reply = {
    500, "This page could not be sent. Go back and try another way to it.\n"};

static const char *const safety[][2] = {
    {"Content-Security-Policy",
     "default-src 'none'; style-src 'self'; img-src 'self' data:; script-src 'self'; "
     "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"},
    {"X-Content-Type-Options", "nosniff"},
    /* Not "no-referrer": browsers would then send what our own pages post with Origin: null. */
    {"Referrer-Policy", "same-origin"},
    {"Cross-Origin-Opener-Policy", "same-origin"},
    {"Cross-Origin-Resource-Policy", "same-origin"},
    {"Permissions-Policy", "camera=(), display-capture=(), geolocation=(), microphone=(), midi=(), "
                           "payment=(), usb=()"},
    /* No Strict-Transport-Security: it binds every port of a name, and with it whatever else the
     * machine serves; and no plain port stands beside this one that a browser could be led to. */
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

/* The moment by which what comes next must be done. */
static void allow(const struct be_server *server, struct MHD_Connection *connection, double time_s,
                  struct be_news *news)
{
  struct be_deadline *deadline =
      MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT)->socket_context;
  if (deadline) be_deadline_set(server->deadlines, deadline, time_s, news);
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

static void write_cookie(const struct be_server *server, const struct be_reply *reply, char *cookie,
                         size_t size)
{
  int used = snprintf(cookie, size, "%s; Path=/; HttpOnly; SameSite=Strict%s", reply->cookie,
                      server->tls ? "; Secure" : "");
  if (reply->cookie_s > 0)
    snprintf(cookie + used, size - (size_t)used, "; Max-Age=%ld", reply->cookie_s);
}

/* Queues the response, which is then the library's; null when there was no memory for one. */
static enum MHD_Result send_reply(const struct be_server *server, struct MHD_Connection *connection,
                                  const struct be_reply *reply, struct MHD_Response *response)
{
  if (!response) return refuse(connection, reply->news ? &too_many : &no_memory);
  char cookie[sizeof reply->cookie + 100];
  write_cookie(server, reply, cookie, sizeof cookie);
  char again[16];
  snprintf(again, sizeof again, "%u", reply->again_s);
  bool whole =
      add_headers(response, reply->news ? "text/event-stream" : reply->type, reply->cacheable) &&
      (!reply->location[0] || add_header(response, "Location", reply->location)) &&
      (reply->status != wrong_method.status || add_header(response, "Allow", "GET, HEAD")) &&
      (!reply->cookie[0] || add_header(response, "Set-Cookie", cookie)) &&
      (!reply->again_s ||
       (add_header(response, "Retry-After", again) && add_header(response, "Refresh", again)));
  enum MHD_Result result =
      whole ? MHD_queue_response(connection, (unsigned)reply->status, response) : MHD_NO;
  MHD_destroy_response(response);
  return whole ? result : refuse(connection, &bad_reply);
}

static void make_reply(struct be_job *job, bool ending)
{
  struct visit *v = (struct visit *)job; /* its first member */
  if (ending) v->reply.status = 503;
  else v->server->handler(v->server->context, &v->request, &v->reply);
  assert(v->reply.status >= 200 && v->reply.status < 600 && v->reply.type);
  MHD_resume_connection(v->connection);
}

static enum MHD_Result answer(struct be_server *server, struct MHD_Connection *connection,
                              struct be_reply *reply)
{
  double to_take_s =
      server->options.request_s + (double)reply->body.size / server->options.least_B_s;
  allow(server, connection, reply->news ? server->options.listening_s : to_take_s, reply->news);
  if (reply->body.status != BE_OK) {
    enum be_status status = reply->body.status;
    be_buf_free(&reply->body);
    return refuse(connection, status == BE_TOO_LARGE ? &page_too_large : &no_memory);
  }
  if (reply->news)
    return send_reply(server, connection, reply,
                      be_news_response(reply->news, connection, &reply->body, reply->news_since,
                                       reply->news_who));
  bool full = false;
  struct MHD_Response *response = be_unsent_response(&server->unsent, &reply->body, &full);
  return full ? refuse(connection, &too_much) : send_reply(server, connection, reply, response);
}

static enum MHD_Result on_header(void *headers, enum MHD_ValueKind kind, const char *name,
                                 size_t name_size, const char *value, size_t value_size)
{
  (void)kind;
  be_headers_add(headers, name, name_size, value, value_size);
  return MHD_YES;
}

static enum MHD_Result on_pair(void *visit, enum MHD_ValueKind kind, const char *name,
                               size_t name_size, const char *value, size_t value_size)
{
  (void)kind;
  struct visit *v = visit;
  v->refusal = be_target_pair(&v->inner.target, name, name_size, value, value_size);
  return v->refusal ? MHD_NO : MHD_YES;
}

/* "GET", "HEAD" or "POST"; null for what is not taken here. */
static const char *method_taken(const struct be_server *server, const char *method)
{
  static const char *const methods[] = {"GET", "HEAD", "POST"};
  for (size_t i = 0; i < (server->options.body_most ? 3 : 2); i++)
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
                                      const struct be_headers *headers, const char *local,
                                      bool post)
{
  const struct be_refusal *refusal = be_headers_check_host(
      headers, local, server->port, server->options.names, server->options.names_count);
  return refusal || !post ? refusal : be_headers_check_origin(headers, server->tls);
}

/* Fills in what is asked for; or says why it is refused. */
static const struct be_refusal *read_visit(struct visit *v, const struct be_headers *headers,
                                           const char *method, const char *raw_path,
                                           struct be_buf *body)
{
  bool post = strcmp(method, "POST") == 0;
  be_end_names(
      MHD_get_connection_info(v->connection, MHD_CONNECTION_INFO_CONNECTION_FD)->connect_fd,
      v->local, v->peer);
  v->inner.cookie = headers->cookie;
  v->inner.body = body->data;
  v->refusal = judge(v->server, headers, v->local, post);
  if (!v->refusal) v->refusal = be_target_path(&v->inner.target, raw_path);
  if (!v->refusal) MHD_get_connection_values_n(v->connection, MHD_GET_ARGUMENT_KIND, on_pair, v);
  if (body->status != BE_OK) return &no_memory;
  name_type(headers->type, v->type, sizeof v->type);
  v->request = (struct be_request){.method = method,
                                   .path = v->inner.target.path,
                                   .type = v->type,
                                   .body = body->size ? body->data : "",
                                   .body_size = body->size,
                                   .local = v->local,
                                   .peer = v->peer,
                                   .relayed = headers->relayed,
                                   .inner = &v->inner};
  if (!v->refusal && body->size > 0 && be_text_same(v->type, "application/x-www-form-urlencoded"))
    v->refusal = be_form_read(body->data, body->size, &v->inner.form);
  return v->refusal;
}

/* The request is whole: judge it, then have its reply made. */
static enum MHD_Result on_whole(struct be_server *server, struct MHD_Connection *connection,
                                const struct be_headers *headers, const char *method,
                                const char *raw_path, struct incoming *incoming)
{
  method = method_taken(server, method);
  if (!method)
    return refuse(connection, server->options.body_most ? &no_such_method : &wrong_method);
  struct visit *v = be_alloc_array(1, sizeof *v);
  if (!v) return refuse(connection, &no_memory);
  *v = (struct visit){.job = {.run = make_reply},
                      .server = server,
                      .connection = connection,
                      .reply = {.status = 200, .type = "text/html; charset=utf-8"}};
  be_buf_init(&v->reply.body, REPLY_MAX);
  const struct be_refusal *refusal = read_visit(v, headers, method, raw_path, &incoming->body);
  if (refusal) {
    be_free(v);
    return refuse(connection, refusal);
  }
  incoming->visit = v;
  allow(server, connection, INFINITY, NULL); /* our own work */
  MHD_suspend_connection(connection);
  if (be_crew_add(server->crew, &v->job, strcmp(method, "POST") == 0)) return MHD_YES;
  MHD_resume_connection(connection); /* the server ends */
  v->reply.status = 503;
  return MHD_YES;
}

/* The reply is there. */
static enum MHD_Result on_made(struct be_server *server, struct MHD_Connection *connection,
                               struct incoming *incoming)
{
  struct visit *v = incoming->visit;
  incoming->visit = NULL;
  enum MHD_Result result = answer(server, connection, &v->reply);
  be_free(v);
  return result;
}

static size_t body_most(const struct be_server *server, bool post)
{
  return post && server->options.body_most > 0 ? server->options.body_most : WEB_BODY_MAX;
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
  if (!MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT)->socket_context)
    return refuse(connection, &no_memory);
  if (incoming && incoming->visit) return on_made(server, connection, incoming);
  struct be_headers headers = {0};
  MHD_get_connection_values_n(connection, MHD_HEADER_KIND, on_header, &headers);
  if (incoming) return on_whole(server, connection, &headers, method, path, incoming);
  *progress = incoming = be_alloc_array(1, sizeof *incoming);
  if (!incoming) return refuse(connection, &no_memory);
  be_buf_init(&incoming->body, body_most(server, true));
  incoming->kept = post && server->options.body_most > 0;
  const struct be_refusal *refusal = be_headers_check_body(&headers, body_most(server, post));
  return refusal ? refuse(connection, refusal) : MHD_YES;
}

static void on_done(void *server_, struct MHD_Connection *connection, void **progress,
                    enum MHD_RequestTerminationCode how)
{
  (void)how;
  const struct be_server *server = server_;
  allow(server, connection, server->options.request_s, NULL);
  struct incoming *incoming = *progress;
  if (!incoming) return;
  be_buf_free(&incoming->body);
  if (incoming->visit) be_buf_free(&incoming->visit->reply.body);
  be_free(incoming->visit);
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

/* However many connections others hold, some are left for this machine itself. */
static enum MHD_Result on_accept(void *server_, const struct sockaddr *from, socklen_t size)
{
  const struct be_server *server = server_;
  (void)size; /* that of its family */
  return be_is_this_machine(from) || be_deadlines_count(server->deadlines) < server->options.others
             ? MHD_YES
             : MHD_NO;
}

/* A connection without a deadline, for want of memory, is not taken up. */
static void on_connection(void *server_, struct MHD_Connection *connection, void **deadline,
                          enum MHD_ConnectionNotificationCode what)
{
  const struct be_server *server = server_;
  if (what == MHD_CONNECTION_NOTIFY_CLOSED) {
    be_deadline_remove(server->deadlines, *deadline);
    return;
  }
  *deadline = be_deadline_add(
      server->deadlines, connection,
      MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD)->connect_fd);
  if (*deadline) be_deadline_set(server->deadlines, *deadline, server->options.request_s, NULL);
}

static void take_options(struct be_server *server, const struct be_server_options *options)
{
  struct be_server_options *own = &server->options;
  *own = *options;
  server->tls = options->certificate && options->key;
  own->certificate = own->key = NULL;
  if (!own->each) own->each = CONNECTIONS_EACH_MAX;
  if (!own->others) own->others = CONNECTIONS_OTHERS;
  if (!own->idle_s) own->idle_s = IDLE_MAX_S;
  if (!(own->request_s > 0)) own->request_s = REQUEST_MAX_S;
  if (!(own->least_B_s > 0)) own->least_B_s = LEAST_BYTES_S;
  server->unsent.most = own->unsent_B ? own->unsent_B : UNSENT_MAX;
  if (!(own->listening_s > 0)) own->listening_s = LISTENING_MAX_S;
}

static enum be_status check_names(const struct be_server_options *options, struct be_err *err)
{
  static const char letters[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-.";
  for (size_t i = 0; i < options->names_count; i++) {
    size_t size = strlen(options->names[i]);
    if (size > 0 && size < WEB_NAME_MAX && strspn(options->names[i], letters) == size) continue;
    be_fail(err, BE_WRONG_USE, "\"%.80s\" is not the name of a machine", options->names[i]);
    be_fail_remedy(err, "write it as it stands in an address, without port, such as bench.local");
    return BE_WRONG_USE;
  }
  return BE_OK;
}

static enum be_status start(struct be_server *server, const struct be_server_options *options,
                            int fd, struct be_err *err)
{
  /* The library owns the socket from here on, also when it cannot start. */
  const struct MHD_OptionItem tls[] = {
      {MHD_OPTION_HTTPS_MEM_CERT, 0, (void *)(uintptr_t)options->certificate},
      {MHD_OPTION_HTTPS_MEM_KEY, 0, (void *)(uintptr_t)options->key},
      {MHD_OPTION_HTTPS_PRIORITIES, 0, (void *)(uintptr_t) "NORMAL:-VERS-TLS1.0:-VERS-TLS1.1"},
      {MHD_OPTION_END, 0, NULL}};
  server->daemon = MHD_start_daemon(
      MHD_USE_EPOLL_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME |
          (server->tls ? (unsigned)MHD_USE_TLS : 0U),
      0, on_accept, server, on_request, server, MHD_OPTION_ARRAY, server->tls ? tls : tls + 3,
      MHD_OPTION_NOTIFY_COMPLETED, on_done, server, MHD_OPTION_NOTIFY_CONNECTION, on_connection,
      server, MHD_OPTION_LISTEN_SOCKET, fd, MHD_OPTION_THREAD_POOL_SIZE, (unsigned)THREADS,
      MHD_OPTION_CONNECTION_LIMIT, (unsigned)CONNECTIONS_MAX, MHD_OPTION_PER_IP_CONNECTION_LIMIT,
      server->options.each, MHD_OPTION_CONNECTION_TIMEOUT, server->options.idle_s,
      MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)CONNECTION_BYTES, MHD_OPTION_UNESCAPE_CALLBACK,
      keep_escapes, NULL, MHD_OPTION_END);
  if (server->daemon) return BE_OK;
  if (server->tls) {
    be_fail(err, BE_BAD_INPUT, "the server cannot be started with this certificate and its key");
    be_fail_remedy(err, "check that both are PEM and belong together");
    return BE_BAD_INPUT;
  }
  be_fail(err, BE_FAILED, "the server cannot be started");
  be_fail_remedy(err, "end some programs and try again");
  return BE_FAILED;
}

enum be_status be_server_open(const struct be_server_options *options, be_handler *handler,
                              void *context, struct be_server **server, struct be_err *err)
{
  assert(options && handler && server);
  *server = NULL;
  enum be_status status = check_names(options, err);
  if (status != BE_OK) return status;
  struct be_server *opened = be_alloc_array(1, sizeof *opened);
  if (!opened) return be_fail(err, BE_NO_MEMORY, "no memory for the server");
  be_json_prepare();
  opened->handler = handler;
  opened->context = context;
  take_options(opened, options);
  int fd = -1;
  status = be_deadlines_open(opened->options.idle_s, &opened->deadlines, err);
  if (status == BE_OK) status = be_crew_open(CREW, &opened->crew, err);
  if (status == BE_OK) status = be_listen(options, &fd, &opened->port, err);
  if (status == BE_OK) status = start(opened, options, fd, err);
  if (status == BE_OK) {
    *server = opened;
    return BE_OK;
  }
  be_crew_close(opened->crew);
  be_deadlines_close(opened->deadlines);
  be_free(opened);
  return status;
}

uint16_t be_server_port(const struct be_server *server)
{
  return server->port;
}

void be_server_close(struct be_server *server)
{
  if (!server) return;
  be_crew_end(server->crew); /* none may be suspended when the library stops */
  MHD_stop_daemon(server->daemon);
  be_deadlines_close(server->deadlines);
  be_crew_close(server->crew);
  be_free(server);
}
