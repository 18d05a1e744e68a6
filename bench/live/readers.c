/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "live/live.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/epoll.h>
#include <sys/socket.h>
#include <unistd.h>

/* ---- one event ---- */

/* From a sample's write until it or a newer one is here. */
static void take_load(struct readers *readers, struct reader *r, double force_N, int64_t now)
{
  const struct bench_rig *rig = readers->rig;
  size_t number = rig_number(rig, force_N), sent = atomic_load(&rig->sent);
  if (number >= rig->count || number >= sent) return;
  r->events++;
  r->hash = r->hash * 1099511628211U + number;
  for (; r->last <= number; r->last++) delays_add(&readers->delays, now - rig->sent_ns[r->last]);
}

static void take_line(struct readers *readers, struct reader *r, int64_t now)
{
  const char *load = strstr(r->line, "\"load_N\":"), *low = strstr(r->line, "\"low_N\":");
  if (strstr(r->line, "\"phase\":\"ready\"")) atomic_store(&readers->ready, true);
  if (strstr(r->line, "\"trouble\":\"") && !strstr(r->line, "\"trouble\":\"\""))
    atomic_store(&readers->trouble, true);
  if (load && low) take_load(readers, r, strtod(load + 9, NULL), now);
}

/* ---- chunks of a reply (RFC 9112, section 7.1) ---- */

static void take_byte(struct readers *readers, struct reader *r, char byte, int64_t now)
{
  if (byte == '\n') {
    r->line[r->line_size] = '\0';
    take_line(readers, r, now);
    r->line_size = 0;
  } else if (r->line_size < sizeof r->line - 1) {
    r->line[r->line_size++] = byte;
  }
}

static void take_bytes(struct readers *readers, struct reader *r, const char *bytes, size_t size)
{
  int64_t now = bench_now_ns();
  for (size_t i = 0; i < size; i++) {
    if (r->chunk_left > 2) take_byte(readers, r, bytes[i], now);
    if (r->chunk_left > 0) {
      r->chunk_left--; /* the last two are the line end behind the chunk */
      continue;
    }
    if (r->chunk_size < sizeof r->chunk - 1) r->chunk[r->chunk_size++] = bytes[i];
    if (bytes[i] != '\n') continue;
    r->chunk[r->chunk_size] = '\0';
    r->chunk_size = 0;
    if (r->in_body) r->chunk_left = strtoul(r->chunk, NULL, 16) + 2;
    else r->in_body = r->chunk[0] == '\r';
  }
}

static void *run(void *readers_)
{
  struct readers *readers = readers_;
  struct epoll_event events[64];
  char bytes[32768];
  while (!atomic_load(&readers->ending)) {
    int count = epoll_wait(readers->poller, events, 64, 50);
    for (int i = 0; i < count; i++) {
      struct reader *r = events[i].data.ptr;
      ssize_t n = recv(r->fd, bytes, sizeof bytes, MSG_DONTWAIT);
      if (n > 0) take_bytes(readers, r, bytes, (size_t)n);
      if (n != 0) continue;
      r->ended = true;
      epoll_ctl(readers->poller, EPOLL_CTL_DEL, r->fd, NULL);
    }
  }
  return NULL;
}

/* ---- coming and going ---- */

bool readers_open(struct readers *readers, const struct serving *serving,
                  const struct bench_rig *rig, size_t count)
{
  static const char request[] = "GET /bench/news HTTP/1.1\r\nHost: localhost:%u\r\n\r\n";
  char text[128];
  memset(readers, 0, sizeof *readers);
  readers->rig = rig;
  readers->poller = epoll_create1(0);
  readers->all = calloc(count, sizeof *readers->all);
  int size = snprintf(text, sizeof text, request, (unsigned)serving->port);
  for (; readers->all && readers->count < count; readers->count++) {
    struct reader *r = &readers->all[readers->count];
    struct epoll_event event = {.events = EPOLLIN, .data.ptr = r};
    r->fd = serving_dial(serving, 0);
    if (r->fd < 0 || send(r->fd, text, (size_t)size, MSG_NOSIGNAL) != size ||
        epoll_ctl(readers->poller, EPOLL_CTL_ADD, r->fd, &event) != 0)
      return false;
  }
  return readers->all && pthread_create(&readers->thread, NULL, run, readers) == 0;
}

void readers_close(struct readers *readers)
{
  atomic_store(&readers->ending, true);
  pthread_join(readers->thread, NULL);
  for (size_t i = 0; i < readers->count; i++) close(readers->all[i].fd);
  close(readers->poller);
  free(readers->all);
}
