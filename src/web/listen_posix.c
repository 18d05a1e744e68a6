/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "web/inside.h"

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

enum { BACKLOG = 128 };

union address {
  struct sockaddr any;
  struct sockaddr_in v4;
  struct sockaddr_in6 v6;
};

/* Returns the size of the address, 0 when the text is none. */
static socklen_t read_address(const char *text, uint16_t port, union address *address)
{
  memset(address, 0, sizeof *address);
  if (inet_pton(AF_INET, text, &address->v4.sin_addr) == 1) {
    address->v4.sin_family = AF_INET;
    address->v4.sin_port = htons(port);
    return sizeof address->v4;
  }
  if (inet_pton(AF_INET6, text, &address->v6.sin6_addr) == 1) {
    address->v6.sin6_family = AF_INET6;
    address->v6.sin6_port = htons(port);
    return sizeof address->v6;
  }
  return 0;
}

static enum be_status listen_failed(struct be_err *err, int code, const char *text, uint16_t port)
{
  be_fail(err, BE_FAILED, "cannot listen on %s, port %u: %s", text, (unsigned)port, strerror(code));
  if (code == EADDRINUSE && port == 0)
    return be_fail_remedy(err, "no port is free on %s; end some programs and try again", text);
  if (code == EADDRINUSE)
    return be_fail_remedy(err, "another program uses port %u; give another with --port",
                          (unsigned)port);
  if (code == EACCES || code == EPERM)
    return be_fail_remedy(err, "port %u is kept for the system; give one from 1024 with --port",
                          (unsigned)port);
  if (code == EADDRNOTAVAIL || code == EAFNOSUPPORT)
    return be_fail_remedy(err, "give an address that this machine has, such as 127.0.0.1");
  return be_fail_remedy(err, "end some programs and try again");
}

enum be_status be_listen(const struct be_server_options *options, int *fd, uint16_t *port,
                         struct be_err *err)
{
  const char *text = options->address ? options->address : "127.0.0.1";
  union address address;
  socklen_t size = read_address(text, options->port, &address);
  if (size == 0) {
    be_fail(err, BE_WRONG_USE, "\"%s\" is not an address", text);
    be_fail_remedy(err, "write it in figures, such as 127.0.0.1");
    return BE_WRONG_USE;
  }
  const int on = 1;
  int s = socket(address.any.sa_family, SOCK_STREAM, 0);
  bool fine = s >= 0 && fcntl(s, F_SETFD, FD_CLOEXEC) == 0;
  /* A port left a moment ago may be used again at once; one in use may not. */
  fine = fine && setsockopt(s, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on) == 0;
  if (address.any.sa_family == AF_INET6)
    fine = fine && setsockopt(s, IPPROTO_IPV6, IPV6_V6ONLY, &on, sizeof on) == 0;
  fine = fine && bind(s, &address.any, size) == 0 && listen(s, BACKLOG) == 0 &&
         getsockname(s, &address.any, &size) == 0;
  if (!fine) {
    int code = errno;
    if (s >= 0) close(s);
    return listen_failed(err, code, text, options->port);
  }
  *fd = s;
  *port = ntohs(address.any.sa_family == AF_INET ? address.v4.sin_port : address.v6.sin6_port);
  return BE_OK;
}

bool be_is_this_machine(const struct sockaddr *address)
{
  union address own;
  if (address->sa_family == AF_INET) {
    memcpy(&own.v4, address, sizeof own.v4);
    return own.v4.sin_addr.s_addr == htonl(INADDR_LOOPBACK);
  }
  memcpy(&own.v6, address, sizeof own.v6);
  return address->sa_family == AF_INET6 && IN6_IS_ADDR_LOOPBACK(&own.v6.sin6_addr);
}

void be_limit_unsent(int fd, int bytes)
{
  /* Where it cannot be set the system's own limit holds. */
  setsockopt(fd, SOL_SOCKET, SO_SNDBUF, &bytes, sizeof bytes);
}

static void write_name(const union address *address, char name[WEB_NAME_MAX])
{
  char text[INET6_ADDRSTRLEN];
  name[0] = '\0';
  if (address->any.sa_family == AF_INET) {
    inet_ntop(AF_INET, &address->v4.sin_addr, name, WEB_NAME_MAX);
  } else if (address->any.sa_family == AF_INET6 &&
             inet_ntop(AF_INET6, &address->v6.sin6_addr, text, sizeof text)) {
    snprintf(name, WEB_NAME_MAX, "[%s]", text);
  }
}

void be_end_names(int fd, char local[WEB_NAME_MAX], char peer[WEB_NAME_MAX])
{
  union address address = {.any.sa_family = AF_UNSPEC};
  socklen_t size = sizeof address;
  local[0] = peer[0] = '\0';
  if (getsockname(fd, &address.any, &size) == 0) write_name(&address, local);
  size = sizeof address;
  if (getpeername(fd, &address.any, &size) == 0) write_name(&address, peer);
}
