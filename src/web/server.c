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
};

static const struct be_refusal wrong_method = {
    405, "Pages here are only read. Open the address in a browser.\n"};
static const struct be_refusal no_memory = {
    500, "There is no memory left for this page. Close other programs and load it again.\n"};
static const struct be_refusal page_too_large = {
    500, "This page came out larger than the limit. Ask for less of it at once.\n"};
static const struct be_refusal bad_reply = {
    500, "This page could not be sent. Go back and try another way to it.\n"};

static const char *const safety[][2] = {
    {"Content-Security-Policy",
     "default-src 'none'; style-src 'self'; img-src 'self' data:; script-src 'self'; "
     "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"},
    {"X-Content-Type-Options", "nosniff"},
    {"Referrer-Policy", "no-referrer"},
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
      (refusal != &wrong_method || add_header(response, "Allow", "GET, HEAD")))
    result = MHD_queue_response(connection, (unsigned)refusal->status, response);
  MHD_destroy_response(response);
  return result;
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
  /* From here the response owns the body. */
  struct MHD_Response *response =
      MHD_create_response_from_buffer_with_free_callback(reply.body.size, reply.body.data, be_free);
  if (!response) {
    be_buf_free(&reply.body);
    return refuse(connection, &no_memory);
  }
  bool whole = add_headers(response, reply.type, reply.cacheable) &&
               (!reply.location[0] || add_header(response, "Location", reply.location));
  enum MHD_Result result =
      whole ? MHD_queue_response(connection, (unsigned)reply.status, response) : MHD_NO;
  MHD_destroy_response(response);
  return whole ? result : refuse(connection, &bad_reply);
}

static enum MHD_Result on_header(void *headers, enum MHD_ValueKind kind, const char *name,
                                 size_t name_size, const char *value, size_t value_size)
{
  (void)kind;
  be_headers_add(headers, name, name_size, value, value_size);
  return MHD_YES;
}

struct reading {
  struct be_target target;
  const struct be_refusal *refusal;
};

static enum MHD_Result on_pair(void *reading_, enum MHD_ValueKind kind, const char *name,
                               size_t name_size, const char *value, size_t value_size)
{
  (void)kind;
  struct reading *reading = reading_;
  reading->refusal = be_target_pair(&reading->target, name, name_size, value, value_size);
  return reading->refusal ? MHD_NO : MHD_YES;
}

/* The request is whole: judge it, then have it answered. */
static enum MHD_Result on_whole(struct be_server *server, struct MHD_Connection *connection,
                                const struct be_headers *headers, const char *method,
                                const char *raw_path)
{
  bool head = strcmp(method, "HEAD") == 0;
  if (!head && strcmp(method, "GET") != 0) return refuse(connection, &wrong_method);
  char local[WEB_NAME_MAX];
  be_local_name(MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD)->connect_fd,
                local);
  const struct be_refusal *refusal = be_headers_check_host(headers, local, server->port);
  if (refusal) return refuse(connection, refusal);
  struct reading reading;
  reading.target.used = reading.target.count = 0;
  reading.refusal = be_target_path(&reading.target, raw_path);
  if (!reading.refusal)
    MHD_get_connection_values_n(connection, MHD_GET_ARGUMENT_KIND, on_pair, &reading);
  if (reading.refusal) return refuse(connection, reading.refusal);
  struct be_request request = {head ? "HEAD" : "GET", reading.target.path, &reading.target};
  return answer(server, connection, &request);
}

static enum MHD_Result on_request(void *server, struct MHD_Connection *connection, const char *path,
                                  const char *method, const char *version, const char *body,
                                  size_t *body_size, void **progress)
{
  (void)version;
  (void)body;
  uintptr_t taken = (uintptr_t)*progress; /* 0 at the first call, then 1 + bytes of body */
  if (*body_size > 0) {
    if (*body_size > WEB_BODY_MAX || taken > WEB_BODY_MAX) return MHD_NO;
    *progress = (void *)(taken + *body_size);
    *body_size = 0;
    return MHD_YES;
  }
  struct be_headers headers = {0};
  MHD_get_connection_values_n(connection, MHD_HEADER_KIND, on_header, &headers);
  if (taken > 0) return on_whole(server, connection, &headers, method, path);
  *progress = (void *)(uintptr_t)1;
  const struct be_refusal *refusal = be_headers_check_body(&headers);
  return refusal ? refuse(connection, refusal) : MHD_YES;
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
  int fd = -1;
  enum be_status status = be_listen(options, &fd, &opened->port, err);
  if (status == BE_OK) {
    /* The library owns the socket from here on, also when it cannot start. */
    opened->daemon = MHD_start_daemon(
        MHD_USE_EPOLL_INTERNAL_THREAD, 0, NULL, NULL, on_request, opened, MHD_OPTION_LISTEN_SOCKET,
        fd, MHD_OPTION_THREAD_POOL_SIZE, (unsigned)THREADS, MHD_OPTION_CONNECTION_LIMIT,
        (unsigned)CONNECTIONS_MAX, MHD_OPTION_PER_IP_CONNECTION_LIMIT,
        (unsigned)CONNECTIONS_EACH_MAX, MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)IDLE_MAX_S,
        MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)CONNECTION_BYTES, MHD_OPTION_UNESCAPE_CALLBACK,
        keep_escapes, NULL, MHD_OPTION_END);
    if (!opened->daemon) {
      status = be_fail(err, BE_FAILED, "the server's threads cannot be started");
      be_fail_remedy(err, "end some programs and try again");
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
