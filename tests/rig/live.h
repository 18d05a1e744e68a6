/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests of real lines share. Define _XOPEN_SOURCE 700 before including it. */
#ifndef BE_RIG_LIVE_H
#define BE_RIG_LIVE_H

#include "rig/rig.h"
#include "test.h"

#include <pthread.h>
#include <sched.h>
#include <stdatomic.h>
#include <time.h>
#include <unistd.h>

/* The system's clock, with every sleep left out: pauses before opening again cost nothing. */
static _Atomic int64_t skipped_ns;

static inline int64_t quick_now(void *host)
{
  (void)host;
  return be_rig_clock_system.now_ns(NULL) + atomic_load(&skipped_ns);
}

static inline void quick_sleep(void *host, int64_t ns)
{
  int64_t left = ns - quick_now(host);
  if (left > 0) atomic_fetch_add(&skipped_ns, left);
  sched_yield();
}

static const struct be_rig_clock quick_clock = {quick_now, quick_sleep, NULL};

/* Lets others run; the limit only keeps a broken rig from hanging the test. */
static inline void breathe(double since_s)
{
  const struct timespec moment = {.tv_nsec = 200000};
  nanosleep(&moment, NULL);
  if (be_clock_s() - since_s > 60) fail_msg("the rig does not do what is waited for");
}

static inline struct be_rig_counts counts_of(struct be_rig *rig)
{
  struct be_rig_counts counts;
  be_rig_count(rig, &counts);
  return counts;
}

#define wait_until(condition)                                                                      \
  do {                                                                                             \
    double since_s = be_clock_s();                                                                 \
    while (!(condition)) breathe(since_s);                                                         \
  } while (0)

/* Takes exactly so many samples. */
static inline void take(struct be_rig *rig, struct be_rig_sample *samples, size_t count)
{
  size_t got = 0;
  double since_s = be_clock_s();
  while (got < count) {
    size_t more = be_rig_take_samples(rig, samples + got, count - got);
    got += more;
    if (!more) breathe(since_s);
  }
}

static inline struct be_rig *started(const char *source, const char *settings, const char *frames,
                                     const char *frame_settings)
{
  struct be_rig *rig = NULL;
  struct be_err err = {0};
  const struct be_rig_options options = {.source = be_rig_source_find(source),
                                         .source_settings = settings,
                                         .frames = frames,
                                         .frame_settings = frame_settings,
                                         .clock = &quick_clock};
  if (be_rig_start(&options, &rig, &err) != BE_OK) fail_msg("%s %s", err.what, err.file);
  return rig;
}

/* Writes all of it; asserts nothing, since it also runs on other threads. */
static inline bool put(int fd, const char *bytes, size_t size)
{
  while (size) {
    ssize_t n = write(fd, bytes, size);
    if (n < 0) return false;
    bytes += n;
    size -= (size_t)n;
  }
  return true;
}

#endif
