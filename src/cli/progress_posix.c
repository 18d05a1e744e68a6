/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One line on a terminal that says how far a command is that takes over a second. */
#define _POSIX_C_SOURCE 200809L
#include "cli/cli.h"

#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <time.h>
#include <unistd.h>

enum { FIRST_MS = 1000, EACH_MS = 250 };

static struct be_progress progress;
static pthread_t watcher;
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static pthread_cond_t ended = PTHREAD_COND_INITIALIZER;
static bool watching, ending;

static void add(struct timespec *moment, long ms)
{
  moment->tv_nsec += ms % 1000 * 1000000L;
  moment->tv_sec += ms / 1000 + moment->tv_nsec / 1000000000L;
  moment->tv_nsec %= 1000000000L;
}

static void *watch(void *unused)
{
  (void)unused;
  bool stands = false;
  struct timespec moment;
  clock_gettime(CLOCK_REALTIME, &moment);
  add(&moment, FIRST_MS);
  pthread_mutex_lock(&lock);
  while (!ending) {
    if (pthread_cond_timedwait(&ended, &lock, &moment) == 0) continue;
    char words[BE_PROGRESS_WORDS];
    be_progress_words(&progress, words);
    if (*words || stands) fprintf(stderr, "\r\033[K%s", words);
    fflush(stderr);
    stands = *words != '\0';
    clock_gettime(CLOCK_REALTIME, &moment);
    add(&moment, EACH_MS);
  }
  if (stands) fprintf(stderr, "\r\033[K");
  fflush(stderr);
  pthread_mutex_unlock(&lock);
  return NULL;
}

void progress_begin(void)
{
  sigset_t all, before;
  if (!isatty(STDERR_FILENO)) return;
  /* Signals are for the threads that wait for them. */
  sigfillset(&all);
  pthread_sigmask(SIG_BLOCK, &all, &before);
  ending = false;
  watching = pthread_create(&watcher, NULL, watch, NULL) == 0;
  pthread_sigmask(SIG_SETMASK, &before, NULL);
  if (watching) be_progress_follow(&progress);
}

void progress_end(void)
{
  if (!watching) return;
  be_progress_follow(NULL);
  pthread_mutex_lock(&lock);
  ending = true;
  pthread_cond_signal(&ended);
  pthread_mutex_unlock(&lock);
  pthread_join(watcher, NULL);
  watching = false;
}
