/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "fault/told_rig.h"

#include <math.h>
#include <pthread.h>
#include <sched.h>
#include <stdatomic.h>
#include <stdio.h>
#include <string.h>

static _Atomic int64_t now_ns;

static int64_t told_now(void *host)
{
  (void)host;
  return atomic_load(&now_ns);
}

/* Whoever waits for a time sees it once the test has come to it. */
static void told_sleep(void *host, int64_t ns)
{
  (void)host, (void)ns;
  sched_yield();
}

const struct be_rig_clock told_clock = {told_now, told_sleep, NULL};

void told_time(int64_t ns)
{
  atomic_store(&now_ns, ns);
}

/* ---- from the test to the rig's thread ---- */

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static pthread_cond_t changed = PTHREAD_COND_INITIALIZER;
static struct {
  const char *bytes; /* handed, and not yet taken; null: none */
  size_t size;
  bool waiting; /* the rig's thread is back, so that all before lies in the rings */
  bool unplugged, released;
} told;

void told_reset(void)
{
  pthread_mutex_lock(&lock);
  memset(&told, 0, sizeof told);
  pthread_mutex_unlock(&lock);
}

static void change(bool unplugged, bool released)
{
  pthread_mutex_lock(&lock);
  told.unplugged = unplugged;
  told.released = released;
  pthread_cond_broadcast(&changed);
  pthread_mutex_unlock(&lock);
}

void told_unplug(void)
{
  change(true, false);
}

void told_plug(void)
{
  change(false, false);
}

void told_release(void)
{
  change(false, true);
}

void told_hand(const char *bytes, size_t size)
{
  pthread_mutex_lock(&lock);
  told.bytes = bytes;
  told.size = size;
  told.waiting = false;
  pthread_cond_broadcast(&changed);
  while (told.bytes || !told.waiting) pthread_cond_wait(&changed, &lock);
  pthread_mutex_unlock(&lock);
}

static enum be_status told_open(const char *settings, const struct be_rig_clock *clock,
                                void **state, struct be_err *err)
{
  (void)settings, (void)clock;
  pthread_mutex_lock(&lock);
  bool unplugged = told.unplugged;
  pthread_mutex_unlock(&lock);
  *state = &told;
  if (!unplugged) return BE_OK;
  *state = NULL;
  be_fail(err, BE_FAILED, "there is no instrument on the line");
  be_fail_remedy(err, "look at the cable");
  return BE_FAILED;
}

static enum be_status told_read(void *state, char *bytes, size_t room, int64_t wait_ns,
                                struct be_rig_got *got, struct be_err *err)
{
  (void)state, (void)room, (void)err;
  *got = (struct be_rig_got){.host_ns = atomic_load(&now_ns)};
  pthread_mutex_lock(&lock);
  told.waiting = !told.bytes && wait_ns > 0;
  pthread_cond_broadcast(&changed);
  while (wait_ns > 0 && !told.bytes && !told.unplugged && !told.released)
    pthread_cond_wait(&changed, &lock);
  if (told.bytes) {
    memcpy(bytes, told.bytes, told.size);
    got->size = told.size;
    told.bytes = NULL;
  }
  got->host_ns = atomic_load(&now_ns);
  got->ended = told.unplugged;
  pthread_mutex_unlock(&lock);
  return BE_OK;
}

static void told_close(void *state)
{
  (void)state;
}

const struct be_rig_source told_rig = {
    .name = "told",
    .help = "",
    .comes_back = true,
    .whole = true,
    .open = told_open,
    .read = told_read,
    .close = told_close,
};

/* ---- the pull ---- */

void told_pull_make(struct told_pull *pull, uint64_t seed)
{
  static const double calm_s = 2.7, rise_s = 2, after_s = 1.5, break_N = 61.7;
  enum { RATE = 50 };
  const int64_t start_ns = INT64_C(7000000000);
  struct be_random random;
  size_t size = 0, frame = 0, run_end = 0;
  memset(pull, 0, sizeof *pull);
  be_random_init(&random, seed, 3);
  for (; frame < (size_t)((calm_s + rise_s + after_s) * RATE); frame++) {
    double time_s = (double)frame / RATE, up = (time_s - calm_s) / rise_s;
    double load_N = up > 0 && up < 1 ? break_N * up : 0;
    size += (size_t)snprintf(pull->bytes + size, sizeof pull->bytes - size, "%.6f,%.4f N\r\n",
                             time_s, load_N + 0.03 * be_random_normal(&random));
    if (size < run_end) continue;
    pull->at_ns[pull->count] = start_ns + (int64_t)(time_s * 1e9);
    size_t cut =
        size - (size_t)be_random_below(&random, 9); /* as a rule in the middle of a frame */
    pull->from[++pull->count] = cut;
    run_end = cut + 40 + (size_t)be_random_below(&random, 120);
  }
  pull->at_ns[pull->count] = start_ns + (int64_t)((double)frame / RATE * 1e9);
  pull->from[++pull->count] = size;
  pull->samples = frame;
}
