/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "base/base.h"

#include <pthread.h>
#include <stdatomic.h>
#include <unistd.h>

enum { THREADS_MAX = 64 };

struct crew {
  atomic_size_t next;
  size_t count;
  void (*work)(void *context, size_t i);
  void *context;
};

static void *run(void *crew_)
{
  struct crew *crew = crew_;
  for (;;) {
    size_t i = atomic_fetch_add(&crew->next, 1);
    if (i >= crew->count) return NULL;
    crew->work(crew->context, i);
  }
}

unsigned be_processors(void)
{
  long count = sysconf(_SC_NPROCESSORS_ONLN);
  return count < 1 ? 1 : count > THREADS_MAX ? THREADS_MAX : (unsigned)count;
}

void be_parallel(size_t count, unsigned threads, void (*work)(void *context, size_t i),
                 void *context)
{
  struct crew crew = {.count = count, .work = work, .context = context};
  atomic_init(&crew.next, 0);
  if (threads == 0) threads = be_processors();
  if (threads > THREADS_MAX) threads = THREADS_MAX;
  pthread_t helpers[THREADS_MAX];
  size_t started = 0;
  while (started + 1 < threads && started + 1 < count &&
         pthread_create(&helpers[started], NULL, run, &crew) == 0)
    started++;
  run(&crew);
  for (size_t i = 0; i < started; i++) pthread_join(helpers[i], NULL);
}
