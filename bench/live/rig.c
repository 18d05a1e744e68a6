/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "live/live.h"

#include <arpa/inet.h>
#include <math.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <unistd.h>

enum { BATCH_BYTES = 64 * 1024, SAMPLE_BYTES_MAX = 32 };

size_t rig_number(const struct bench_rig *rig, double force_N)
{
  if (!(force_N > START_N - STEP_N / 2)) return rig->count;
  return (size_t)llround((force_N - START_N) / STEP_N);
}

static bool send_all(int fd, const char *bytes, size_t size)
{
  for (size_t sent = 0; sent < size;) {
    ssize_t n = send(fd, bytes + sent, size - sent, MSG_NOSIGNAL);
    if (n <= 0) return false;
    sent += (size_t)n;
  }
  return true;
}

/* The samples of one write: of zero until the pull begins, numbered ones, and zero again. */
static bool send_batch(struct bench_rig *rig, int fd, size_t each, char *bytes)
{
  size_t size = 0, first = atomic_load(&rig->sent), next = first;
  bool pulls = atomic_load(&rig->go);
  for (size_t i = 0; i < each; i++) {
    bool numbered = pulls && next < rig->count;
    double force_N = numbered ? START_N + STEP_N * (double)next : 0;
    next += numbered;
    size += (size_t)snprintf(bytes + size, SAMPLE_BYTES_MAX, "%.3f N\r\n", force_N);
  }
  int64_t now = bench_now_ns();
  for (size_t i = first; i < next; i++) rig->sent_ns[i] = now;
  atomic_store(&rig->sent, next);
  return send_all(fd, bytes, size);
}

static void *run(void *rig_)
{
  struct bench_rig *rig = rig_;
  size_t each = rig->rate_Hz > 1000 ? rig->rate_Hz / 1000 : 1;
  int64_t every_ns = (int64_t)(1e9 * (double)each / (double)rig->rate_Hz);
  char *bytes = malloc(BATCH_BYTES);
  const int on = 1;
  int fd = accept(rig->listener, NULL, NULL);
  setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
  for (int64_t next = bench_now_ns(); !atomic_load(&rig->ending); next += every_ns) {
    bench_sleep_until(next);
    if (!send_batch(rig, fd, each, bytes)) break;
  }
  if (fd >= 0) close(fd);
  free(bytes);
  return NULL;
}

bool rig_open(struct bench_rig *rig, size_t rate_Hz, size_t count)
{
  struct sockaddr_in at = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
  socklen_t size = sizeof at;
  *rig = (struct bench_rig){.rate_Hz = rate_Hz, .count = count};
  rig->sent_ns = calloc(count, sizeof *rig->sent_ns);
  rig->listener = socket(AF_INET, SOCK_STREAM, 0);
  if (!rig->sent_ns || bind(rig->listener, (struct sockaddr *)&at, size) != 0 ||
      listen(rig->listener, 1) != 0 ||
      getsockname(rig->listener, (struct sockaddr *)&at, &size) != 0)
    return false;
  rig->port = ntohs(at.sin_port);
  return pthread_create(&rig->thread, NULL, run, rig) == 0;
}

void rig_close(struct bench_rig *rig)
{
  atomic_store(&rig->ending, true);
  shutdown(rig->listener, SHUT_RDWR); /* nobody may have come */
  pthread_join(rig->thread, NULL);
  close(rig->listener);
  free(rig->sent_ns);
}
