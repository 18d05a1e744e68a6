/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of bench_live share. All times are of CLOCK_MONOTONIC, which processes of one
 * machine share, and which stands beside every run of bytes in the journal of a pull. */
#ifndef BE_BENCH_LIVE_H
#define BE_BENCH_LIVE_H

#include "base/base.h"

#include <pthread.h>
#include <stdatomic.h>

int64_t bench_now_ns(void);
void bench_sleep_until(int64_t ns);

/* ---- delays.c: so many delays, in steps of 20 us ---- */

enum { DELAY_STEP_NS = 20000, DELAY_STEPS = 100000 };
struct delays {
  uint64_t counts[DELAY_STEPS], n, late; /* late: of 2 s or more */
  int64_t most_ns;
};
void delays_add(struct delays *delays, int64_t ns);
double delays_ms(const struct delays *delays, double share); /* a quantile */

/* ---- rig.c: a rig on a loopback line ---- */

/* It sends nothing on the line for a while, then jumps to START_N, and each sample after has STEP_N
 * more, so that a load tells its number. Bytes of a millisecond are written at once where there is
 * more than one sample in it. A stamp is taken just before the write. */
#define START_N 10.0
#define STEP_N 0.001
struct bench_rig {
  int listener;
  uint16_t port;
  size_t rate_Hz, count;  /* of the samples with a number */
  atomic_bool go, ending; /* go: the pull begins */
  atomic_size_t sent;
  int64_t *sent_ns;
  pthread_t thread;
};
bool rig_open(struct bench_rig *rig, size_t rate_Hz, size_t count);
void rig_close(struct bench_rig *rig);
/* The number of a load; count or more for one that has none. */
size_t rig_number(const struct bench_rig *rig, double force_N);

/* ---- serving.c: the program as a process of its own, and what is asked of it ---- */

struct serving {
  int pid, said; /* said: its standard output */
  uint16_t port;
};
bool serving_open(struct serving *serving, const char *program, const char *book, const char *rigs);
void serving_close(struct serving *serving);
double serving_cpu_s(const struct serving *serving);
double serving_memory_MB(const struct serving *serving, const char *name); /* of /proc/PID/status */
int serving_dial(const struct serving *serving, int receive_bytes);        /* 0: the usual */
/* Sends a request and reads the reply to its end; its status. */
int serving_ask(const struct serving *serving, const char *method, const char *path,
                const char *form);

/* ---- readers.c: those who listen, on one thread ---- */

enum { READERS_MAX = 240 };
struct reader {
  int fd;
  size_t chunk_left, line_size;
  bool in_body, ended;
  char line[1024], chunk[16];
  size_t chunk_size;
  size_t last;           /* number of the newest sample it has, plus 1 */
  uint64_t events, hash; /* of the events of numbered samples */
};
struct readers {
  const struct bench_rig *rig;
  struct reader *all;
  size_t count;
  int poller;
  struct delays delays; /* from a sample's write until a reader has it or a newer */
  atomic_bool ending, ready, trouble;
  pthread_t thread;
};
bool readers_open(struct readers *readers, const struct serving *serving,
                  const struct bench_rig *rig, size_t count);
void readers_close(struct readers *readers);

/* ---- sampled.c: what the journal of the pull has ---- */

struct sampled {
  size_t missing;       /* samples that were sent and are not there */
  struct delays delays; /* from a sample's write until its bytes were read */
};
bool sampled_read(const char *journal, const struct bench_rig *rig, struct sampled *sampled);

#endif
