/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "rig/line/line.h"

#include <errno.h>
#include <poll.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

/* ---- clock ---- */

static int64_t now_ns(void *host)
{
  struct timespec now;
  (void)host;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (int64_t)now.tv_sec * 1000000000 + now.tv_nsec;
}

static void sleep_until(void *host, int64_t ns)
{
  const struct timespec until = {.tv_sec = (time_t)(ns / 1000000000), .tv_nsec = ns % 1000000000};
  (void)host;
  if (ns <= 0) return;
  while (clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &until, NULL) == EINTR) continue;
}

const struct be_rig_clock be_rig_clock_system = {now_ns, sleep_until, NULL};

/* ---- descriptors ---- */

static bool is_passing(int code)
{
  return code == EAGAIN || code == EWOULDBLOCK || code == EINTR;
}

enum be_status be_line_read(int fd, const struct be_rig_clock *clock, char *bytes, size_t room,
                            int64_t wait_ns, struct be_rig_got *got, struct be_err *err)
{
  struct pollfd poller = {.fd = fd, .events = POLLIN};
  /* Rounded up, or a wait below a millisecond would spin. */
  int ready = poll(&poller, 1, (int)((wait_ns + 999999) / 1000000));
  *got = (struct be_rig_got){.host_ns = clock->now_ns(clock->host)};
  if (ready <= 0) return BE_OK;
  ssize_t n = read(fd, bytes, room);
  if (n > 0) got->size = (size_t)n;
  else if (n == 0) got->ended = true;
  else if (!is_passing(errno)) {
    be_fail(err, BE_FAILED, "the line was lost: %s", strerror(errno));
    be_fail_remedy(err, "look at the cable and that the instrument is on");
    got->ended = true;
    return BE_FAILED;
  } else if (poller.revents & (POLLHUP | POLLERR | POLLNVAL)) {
    got->ended = true;
  }
  return BE_OK;
}

enum be_status be_line_write(int fd, bool socket, const char *bytes, size_t size,
                             struct be_err *err)
{
  enum { PATIENCE_ms = 1000 };
  while (size) {
    /* Without the signal that would end the program when the other side has closed. */
    ssize_t n = socket ? send(fd, bytes, size, MSG_NOSIGNAL) : write(fd, bytes, size);
    if (n > 0) {
      bytes += n;
      size -= (size_t)n;
      continue;
    }
    struct pollfd poller = {.fd = fd, .events = POLLOUT};
    int code = n < 0 ? errno : EIO;
    if (code == EINTR) continue;
    if (is_passing(code) && poll(&poller, 1, PATIENCE_ms) > 0) continue;
    be_fail(err, BE_FAILED, "the instrument takes no request: %s",
            is_passing(code) ? "it does not read" : strerror(code));
    be_fail_remedy(err, "look at the cable and that the instrument is on");
    return BE_FAILED;
  }
  return BE_OK;
}
