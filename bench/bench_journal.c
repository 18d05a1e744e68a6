/* SPDX-License-Identifier: GPL-3.0-or-later */
/* bench_journal [FOLDER [SECONDS]]: how long a sample takes from the instrument to the disk. An
 * instrument on a loopback line sends 1,000 numbered samples a second; a session at the bench takes
 * them as in any pull, with its journal in FOLDER. Of each sample: from its sending to the return
 * of the write that has it (from then on it outlives the program) and of the sync that covers that
 * write (from then on a loss of power). The linker puts __wrap_write between (meson.build). */
#define _POSIX_C_SOURCE 200809L
#include "app/live/live.h"

#include <arpa/inet.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

enum { RATE = 1000, SAMPLES_MAX = 600 * RATE, CHUNK_HEAD = 9, RECORD_HEAD = 13 };

static _Atomic double sent_s[SAMPLES_MAX];
static double written_ms[SAMPLES_MAX], settled_ms[SAMPLES_MAX];
static size_t written, settled; /* samples so far: they come in order */
static _Atomic size_t settled_shown;
static char cut[64]; /* a frame that the end of a record cut */
static size_t cut_size;

ssize_t __real_write(int, const void *, size_t);
ssize_t __wrap_write(int, const void *, size_t);
int __real_fdatasync(int);
int __wrap_fdatasync(int);

/* ---- between the session and the system ---- */

static void note_written(const char *bytes, size_t size, double now_s)
{
  for (size_t i = 0; i < size; i++) {
    if (bytes[i] != '\n') {
      if (cut_size + 1 < sizeof cut) cut[cut_size++] = bytes[i];
      continue;
    }
    cut[cut_size] = '\0';
    cut_size = 0;
    size_t number = strtoull(cut, NULL, 10);
    if (number == 0 || number >= SAMPLES_MAX) continue;
    if (written == 0) written = settled = number;
    if (number < written) continue;
    written = number + 1;
    written_ms[number] = 1e3 * (now_s - atomic_load(&sent_s[number]));
  }
}

ssize_t __wrap_write(int fd, const void *bytes, size_t size)
{
  ssize_t put = __real_write(fd, bytes, size);
  const char *record = bytes;
  bool chunk = size > RECORD_HEAD + CHUNK_HEAD && record[4] == BE_LIVE_CHUNK &&
               record[RECORD_HEAD] == BE_CHUNK_BYTES;
  if (put == (ssize_t)size && chunk)
    note_written(record + RECORD_HEAD + CHUNK_HEAD, size - RECORD_HEAD - CHUNK_HEAD, be_clock_s());
  return put;
}

int __wrap_fdatasync(int fd)
{
  int result = __real_fdatasync(fd);
  double now_s = be_clock_s();
  for (; settled < written; settled++)
    settled_ms[settled] = 1e3 * (now_s - atomic_load(&sent_s[settled]));
  atomic_store(&settled_shown, settled);
  return result;
}

/* ---- the instrument ---- */

static int listener;

static void *send_samples(void *count)
{
  int line = accept(listener, NULL, NULL);
  struct timespec next;
  clock_gettime(CLOCK_MONOTONIC, &next);
  for (size_t i = 1; line >= 0 && i < *(const size_t *)count; i++) {
    char text[32];
    int length = snprintf(text, sizeof text, "%zu N\r\n", i);
    atomic_store(&sent_s[i], be_clock_s());
    if (send(line, text, (size_t)length, MSG_NOSIGNAL) != length) break;
    next.tv_nsec += 1000000000 / RATE;
    if (next.tv_nsec >= 1000000000) {
      next.tv_nsec -= 1000000000;
      next.tv_sec++;
    }
    clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &next, NULL);
  }
  if (line >= 0) close(line);
  return NULL;
}

static int start_listening(void)
{
  struct sockaddr_in address = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
  socklen_t size = sizeof address;
  listener = socket(AF_INET, SOCK_STREAM, 0);
  if (listener < 0 || bind(listener, (struct sockaddr *)&address, size) != 0 ||
      listen(listener, 1) != 0 || getsockname(listener, (struct sockaddr *)&address, &size) != 0)
    return -1;
  return ntohs(address.sin_port);
}

/* ---- the figures ---- */

static int rising(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static void report(const char *what, double *ms, size_t from, size_t to)
{
  size_t n = to - from;
  qsort(ms + from, n, sizeof *ms, rising);
  printf("%-28s n = %zu, p50 %.1f ms, p99 %.1f ms, max %.1f ms\n", what, n, ms[from + n / 2],
         ms[from + n * 99 / 100], ms[to - 1]);
}

static struct be_session *open_session(const char *book, const char *line, struct be_err *err)
{
  const struct be_rig_options rig = {.source = be_rig_source_find("tcp"),
                                     .source_settings = line,
                                     .frames = "number",
                                     .frame_settings = "unit=N"};
  const struct be_session_options options = {.book_path = book, .rig = &rig};
  const struct be_told specimen = {.name = {"specimen"}, .value = {"K7Q4"}, .count = 1};
  struct be_session *session = NULL;
  enum be_status status = be_book_create(book, err);
  if (status == BE_OK) status = be_session_open(&options, NULL, &session, err);
  if (status == BE_OK) status = be_session_choose(session, 0, &specimen, err);
  if (status == BE_OK) status = be_session_guard(session, 1, err);
  if (status != BE_OK) fprintf(stderr, "bench_journal: %s\n", err->what);
  return session;
}

int main(int argc, char **argv)
{
  char book[400], journal[420], line[64];
  size_t seconds = argc > 2 ? strtoull(argv[2], NULL, 10) : 20;
  size_t count = (seconds + 1 < SAMPLES_MAX / RATE ? seconds + 1 : SAMPLES_MAX / RATE) * RATE;
  struct be_err err = {0};
  pthread_t instrument;
  int port = start_listening();
  snprintf(book, sizeof book, "%s/bench-journal.book", argc > 1 ? argv[1] : ".");
  snprintf(journal, sizeof journal, "%s.live", book);
  snprintf(line, sizeof line, "address=127.0.0.1 port=%d", port);
  be_file_remove(book, NULL);
  be_file_remove(journal, NULL);
  if (port < 0 || pthread_create(&instrument, NULL, send_samples, &count) != 0) return 4;
  struct be_session *session = open_session(book, line, &err);
  if (err.status == BE_OK) {
    pthread_join(instrument, NULL);
    const struct timespec rest = {.tv_nsec = 500000000};
    nanosleep(&rest, NULL);
    size_t to = atomic_load(&settled_shown), from = count - seconds * RATE;
    printf("journal in %s, %d samples a second for %zu s; %zu not settled at the end\n",
           argc > 1 ? argv[1] : ".", RATE, seconds, count - to);
    if (to > from) report("until it outlives the program", written_ms, from, to);
    if (to > from) report("until it outlives the power", settled_ms, from, to);
  }
  be_session_close(session);
  be_file_remove(journal, NULL);
  be_file_remove(book, NULL);
  return be_status_exit(err.status);
}
