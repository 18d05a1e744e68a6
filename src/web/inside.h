/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of this room share; no other room includes it. request.c judges
 * a request, listen_posix.c owns the sockets, news_posix.c those who listen, work_posix.c the
 * threads that make pages, unsent.c the replies on their way, deadline_posix.c cuts the slow,
 * server.c joins them to libmicrohttpd.
 * Judging allocates nothing. */
#ifndef BE_WEB_INSIDE_H
#define BE_WEB_INSIDE_H

#include "web/web.h"

#include <stdatomic.h>

enum {
  WEB_QUERY_MAX = 64,       /* name=value pairs */
  WEB_BODY_MAX = 64 * 1024, /* bytes of a body passed over before the line is cut */
  WEB_FORM_MAX = 256,       /* name=value pairs */
  WEB_NAME_MAX = 64,        /* an address as text: "[fe80::1]" */
  WEB_COOKIE_MAX = 256,     /* bytes of a cookie's value */
};

/* A reply that is fixed: its status and a sentence saying what to do. */
struct be_refusal {
  int status;
  const char *text;
};

/* The headers that decide whether a request is read at all. Start from zeroes,
 * add every header, then ask. */
struct be_headers {
  /* The last of each, owned by the caller. */
  const char *host, *length, *encoding, *origin, *site, *type, *cookie;
  unsigned hosts, lengths, encodings, origins, types;
  bool malformed, relayed;
};

void be_headers_add(struct be_headers *headers, const char *name, size_t name_size,
                    const char *value, size_t value_size);
/* Both return null when all is well. The length of the body must be beyond doubt;
 * Host must be a name of this machine: `local` is the address the client reached, as text, and
 * `names` are those it was given. A page elsewhere whose name was made to point here is thus
 * refused. */
const struct be_refusal *be_headers_check_body(const struct be_headers *headers, size_t most);
const struct be_refusal *be_headers_check_host(const struct be_headers *headers, const char *local,
                                               uint16_t port, const char *const *names,
                                               size_t names_count);
/* Of a POST, after the host: where a browser says which page sent it, it must be one of ours. */
const struct be_refusal *be_headers_check_origin(const struct be_headers *headers, bool tls);

/* The decoded target of a request; be_request.inner points here. Start with
 * used = count = 0. Both readers return null when all is well. */
struct be_target {
  const char *path;
  struct {
    const char *name, *value;
  } query[WEB_QUERY_MAX];
  size_t count;
  size_t used;
  char text[BE_ADDRESS_MAX];
};

const struct be_refusal *be_target_path(struct be_target *target, const char *raw);
/* value may be null: a name alone has the value "". */
const struct be_refusal *be_target_pair(struct be_target *target, const char *name,
                                        size_t name_size, const char *value, size_t value_size);

/* ---- form.c ---- */

struct be_pairs {
  const char *name[WEB_FORM_MAX], *value[WEB_FORM_MAX];
  size_t count;
};
/* A posted form, decoded in place: body has a NUL behind size bytes. */
const struct be_refusal *be_form_read(char *body, size_t size, struct be_pairs *pairs);
/* Undoes percent signs into out, of size + 1 bytes, which may be raw itself, and sets *length
 * without the NUL behind it; false for one that cannot be, a NUL, or what is no UTF-8. */
bool be_percent_decode(const char *raw, size_t size, bool plus_is_space, char *out, size_t *length);

/* What be_request.inner points at. */
struct be_inner {
  struct be_target target;
  struct be_pairs form;
  char *body;         /* that of the request, which is decoded in place */
  const char *cookie; /* the header; may be null */
  char cookie_value[WEB_COOKIE_MAX];
};

/* ---- json.c ---- */

void be_json_prepare(void); /* before any is read: it then takes its memory from base */

/* ---- work_posix.c ---- */

/* Something to be done by one of a few threads; part of what it works on. */
struct be_job {
  void (*run)(struct be_job *job, bool ending); /* ending: let it be */
  struct be_job *next;
};
struct be_crew;
enum be_status be_crew_open(size_t count, struct be_crew **crew, struct be_err *err);
/* In turn, those ahead before the others: of several threads one works at nothing else, so that
 * they wait for no other. False once the crew has ended: the job is then nobody's. Never waits for
 * work. */
bool be_crew_add(struct be_crew *crew, struct be_job *job, bool ahead);
/* When what was begun is done; what was not is run as one that is to be let be. */
void be_crew_end(struct be_crew *crew);
void be_crew_close(struct be_crew *crew);

/* ---- news_posix.c ---- */

struct MHD_Connection;
struct MHD_Response;
/* The response that sends first (taken over, also on failure) and then what was said since. Null
 * when there are too many listeners or no memory. */
struct MHD_Response *be_news_response(struct be_news *news, struct MHD_Connection *connection,
                                      struct be_buf *first, uint64_t since, const char *who);
/* Sends one listener away, if it still listens. */
void be_news_leave(struct be_news *news, const struct MHD_Connection *connection);

/* ---- unsent.c ---- */

/* Large replies that are on their way, in bytes. */
struct be_unsent {
  atomic_size_t bytes;
  size_t most;
};
/* The response that takes over the body, also on failure: null when memory is out, or when *full,
 * too much being on its way. */
struct MHD_Response *be_unsent_response(struct be_unsent *unsent, struct be_buf *body, bool *full);

/* ---- deadline_posix.c ---- */

struct be_deadlines;
/* look_s: how often it is looked whether those who listen are still there. */
enum be_status be_deadlines_open(double look_s, struct be_deadlines **deadlines,
                                 struct be_err *err);
size_t be_deadlines_count(struct be_deadlines *deadlines); /* of connections */
void be_deadlines_close(struct be_deadlines *deadlines);   /* no connection is left; null is fine */
struct be_deadline;
/* Null when there is no memory. Starts without a deadline. */
struct be_deadline *be_deadline_add(struct be_deadlines *deadlines,
                                    struct MHD_Connection *connection, int fd);
void be_deadline_remove(struct be_deadlines *deadlines, struct be_deadline *deadline);
/* The connection is shut when so much time has gone, unless another is set; INFINITY: never. news:
 * what it listens to, or null. */
void be_deadline_set(struct be_deadlines *deadlines, struct be_deadline *deadline,
                     double from_now_s, struct be_news *news);

/* A socket that listens, and the port it got. The caller owns *fd. BE_WRONG_USE
 * for an address that is none, BE_FAILED with a remedy when it is not to be had. */
enum be_status be_listen(const struct be_server_options *options, int *fd, uint16_t *port,
                         struct be_err *err);
struct sockaddr;
bool be_is_this_machine(const struct sockaddr *address);
/* So many bytes, about, may be on their way over a connection; the system would take megabytes. */
void be_limit_unsent(int fd, int bytes);
/* Both ends of a connection, as they stand in a Host header: this machine's and the other; "" if
 * unknown. */
void be_end_names(int fd, char local[WEB_NAME_MAX], char peer[WEB_NAME_MAX]);

#endif
