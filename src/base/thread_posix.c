/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _XOPEN_SOURCE 700
#include "base/base.h"

#include <pthread.h>
#include <sys/resource.h>
#include <unistd.h>

enum { THREADS_MAX = 64, YIELDING = 10 };

static _Thread_local bool alone;

struct crew {
  atomic_size_t next;
  size_t count;
  void (*work)(void *context, size_t i);
  void *context;
  struct be_progress *progress;
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

static void *run_helper(void *crew_)
{
  struct crew *crew = crew_;
  be_progress_follow(crew->progress);
  return run(crew);
}

/* Linux gives each thread a priority of its own; one that cannot be had is done without. */
void be_thread_yields(void)
{
  alone = true;
  setpriority(PRIO_PROCESS, 0, YIELDING);
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
  be_progress_follow(crew.progress = be_progress_follow(NULL));
  if (threads == 0) threads = be_processors();
  if (alone) threads = 1;
  if (threads > THREADS_MAX) threads = THREADS_MAX;
  pthread_t helpers[THREADS_MAX];
  size_t started = 0;
  while (started + 1 < threads && started + 1 < count &&
         pthread_create(&helpers[started], NULL, run_helper, &crew) == 0)
    started++;
  run(&crew);
  for (size_t i = 0; i < started; i++) pthread_join(helpers[i], NULL);
}

/* ---- gate ---- */

struct be_gate {
  pthread_mutex_t mutex;
  pthread_cond_t changed;
  size_t next;
};

struct be_gate *be_gate_create(void)
{
  struct be_gate *gate = be_alloc_array(1, sizeof *gate);
  if (!gate) return NULL;
  pthread_mutex_init(&gate->mutex, NULL);
  pthread_cond_init(&gate->changed, NULL);
  return gate;
}

void be_gate_free(struct be_gate *gate)
{
  if (!gate) return;
  pthread_cond_destroy(&gate->changed);
  pthread_mutex_destroy(&gate->mutex);
  be_free(gate);
}

void be_gate_wait(struct be_gate *gate, size_t number)
{
  pthread_mutex_lock(&gate->mutex);
  while (gate->next != number) pthread_cond_wait(&gate->changed, &gate->mutex);
  pthread_mutex_unlock(&gate->mutex);
}

void be_gate_pass(struct be_gate *gate)
{
  pthread_mutex_lock(&gate->mutex);
  gate->next++;
  pthread_cond_broadcast(&gate->changed);
  pthread_mutex_unlock(&gate->mutex);
}
