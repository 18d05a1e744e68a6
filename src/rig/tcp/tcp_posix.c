/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The connection is begun on opening and finished while reading, so that neither
 * ever waits for long. Addresses are written in figures: to look up a name could. */
#define _POSIX_C_SOURCE 200809L
#include "rig/settings/settings.h"
#include "rig/tcp/tcp.h"

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

struct settings {
  struct be_setting_text address;
  int port;
  double timeout_s;
};

static const struct be_setting table[] = {
    {"address", BE_SETTING_TEXT, offsetof(struct settings, address)},
    {"port", BE_SETTING_WHOLE, offsetof(struct settings, port), 1, 65535},
    {"timeout_s", BE_SETTING_NUMBER, offsetof(struct settings, timeout_s), 0.01, 3600},
};

struct tcp {
  int fd;
  bool connected;
  int64_t give_up_ns; /* connecting */
  const struct be_rig_clock *clock;
};

union address {
  struct sockaddr any;
  struct sockaddr_in v4;
  struct sockaddr_in6 v6;
};

/* The size of the address; 0 when the text is none. */
static socklen_t read_address(const struct settings *settings, union address *address)
{
  const in_port_t port = htons((uint16_t)settings->port);
  memset(address, 0, sizeof *address);
  if (inet_pton(AF_INET, settings->address.bytes, &address->v4.sin_addr) == 1) {
    address->v4.sin_family = AF_INET;
    address->v4.sin_port = port;
    return sizeof address->v4;
  }
  if (inet_pton(AF_INET6, settings->address.bytes, &address->v6.sin6_addr) == 1) {
    address->v6.sin6_family = AF_INET6;
    address->v6.sin6_port = port;
    return sizeof address->v6;
  }
  return 0;
}

static enum be_status lost(struct be_err *err, int code)
{
  be_fail(err, BE_FAILED, "the instrument cannot be reached: %s", strerror(code));
  be_fail_remedy(err, "check that it is on, its address and port, and the network");
  return BE_FAILED;
}

static enum be_status start_connecting(struct tcp *tcp, const union address *address,
                                       socklen_t size, struct be_err *err)
{
  const int on = 1;
  tcp->fd = socket(address->any.sa_family, SOCK_STREAM, 0);
  if (tcp->fd < 0) return lost(err, errno);
  if (fcntl(tcp->fd, F_SETFD, FD_CLOEXEC) != 0 || fcntl(tcp->fd, F_SETFL, O_NONBLOCK) != 0)
    return lost(err, errno);
  /* A request is small and must not wait for the next. */
  setsockopt(tcp->fd, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
  /* An instrument that is switched off says nothing: then the system notices. */
  setsockopt(tcp->fd, SOL_SOCKET, SO_KEEPALIVE, &on, sizeof on);
  tcp->connected = connect(tcp->fd, &address->any, size) == 0;
  return tcp->connected || errno == EINPROGRESS ? BE_OK : lost(err, errno);
}

static void tcp_close(void *state)
{
  struct tcp *tcp = state;
  if (!tcp) return;
  if (tcp->fd >= 0) close(tcp->fd);
  be_free(tcp);
}

static enum be_status tcp_open(const char *text, const struct be_rig_clock *clock, void **state,
                               struct be_err *err)
{
  struct settings settings = {.timeout_s = 5};
  union address address;
  *state = NULL;
  enum be_status status = be_settings_read(text, table, sizeof table / sizeof table[0], &settings,
                                           be_rig_tcp.help, err);
  if (status != BE_OK) return status;
  socklen_t size = read_address(&settings, &address);
  if (size == 0 || settings.port == 0) {
    if (size) be_fail(err, BE_WRONG_USE, "the port is missing");
    else be_fail(err, BE_WRONG_USE, "\"%s\" is not an address in figures", settings.address.bytes);
    be_fail_remedy(err, "%s", be_rig_tcp.help);
    return BE_WRONG_USE;
  }
  struct tcp *tcp = be_alloc(sizeof *tcp);
  if (!tcp) return be_fail(err, BE_NO_MEMORY, "no memory for a connection");
  *tcp = (struct tcp){.fd = -1, .clock = clock};
  tcp->give_up_ns = clock->now_ns(clock->host) + (int64_t)(settings.timeout_s * 1e9);
  status = start_connecting(tcp, &address, size, err);
  if (status == BE_OK) *state = tcp;
  else tcp_close(tcp);
  return status;
}

/* Waits for the connection; true once it stands. */
static bool connected(struct tcp *tcp, int64_t wait_ns, struct be_rig_got *got, struct be_err *err)
{
  struct pollfd poller = {.fd = tcp->fd, .events = POLLOUT};
  int code = 0;
  socklen_t size = sizeof code;
  if (tcp->connected) return true;
  int ready = poll(&poller, 1, (int)((wait_ns + 999999) / 1000000));
  *got = (struct be_rig_got){.host_ns = tcp->clock->now_ns(tcp->clock->host)};
  if (ready > 0 && getsockopt(tcp->fd, SOL_SOCKET, SO_ERROR, &code, &size) != 0) code = errno;
  if (ready <= 0 && got->host_ns > tcp->give_up_ns) code = ETIMEDOUT;
  if (code) {
    got->ended = true;
    lost(err, code);
  }
  tcp->connected = ready > 0 && code == 0;
  got->connecting = !tcp->connected;
  return tcp->connected;
}

static enum be_status tcp_read(void *state, char *bytes, size_t room, int64_t wait_ns,
                               struct be_rig_got *got, struct be_err *err)
{
  struct tcp *tcp = state;
  if (!connected(tcp, wait_ns, got, err)) return got->ended ? BE_FAILED : BE_OK;
  return be_line_read(tcp->fd, tcp->clock, bytes, room, wait_ns, got, err);
}

static enum be_status tcp_write(void *state, const char *bytes, size_t size, struct be_err *err)
{
  return be_line_write(((struct tcp *)state)->fd, true, bytes, size, err);
}

const struct be_rig_source be_rig_tcp = {
    .name = "tcp",
    .help = "settings: address=127.0.0.1 (in figures), port=N, timeout_s=5",
    .comes_back = true,
    .open = tcp_open,
    .read = tcp_read,
    .write = tcp_write,
    .close = tcp_close,
};
