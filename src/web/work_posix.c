/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Threads that make pages, so that those that move bytes wait for none: a page of a large book
 * takes seconds, and news shall reach everybody meanwhile. */
#define _POSIX_C_SOURCE 200809L
#include "web/inside.h"

#include <pthread.h>

enum { CREW_MAX = 16 };

struct be_crew {
  pthread_mutex_t lock;
  pthread_cond_t wake;
  struct be_job *first, **last; /* those that wait */
  bool ending;
  size_t count;
  pthread_t threads[CREW_MAX];
};

static void *work(void *crew_)
{
  struct be_crew *crew = crew_;
  pthread_mutex_lock(&crew->lock);
  while (crew->first || !crew->ending) {
    struct be_job *job = crew->first;
    if (!job) {
      pthread_cond_wait(&crew->wake, &crew->lock);
      continue;
    }
    crew->first = job->next;
    if (!crew->first) crew->last = &crew->first;
    pthread_mutex_unlock(&crew->lock);
    job->run(job);
    pthread_mutex_lock(&crew->lock);
  }
  pthread_mutex_unlock(&crew->lock);
  return NULL;
}

enum be_status be_crew_open(size_t count, struct be_crew **out, struct be_err *err)
{
  struct be_crew *crew = be_alloc_array(1, sizeof *crew);
  if (!crew) return be_fail(err, BE_NO_MEMORY, "no memory for the server");
  pthread_mutex_init(&crew->lock, NULL);
  pthread_cond_init(&crew->wake, NULL);
  crew->last = &crew->first;
  while (crew->count < count && crew->count < CREW_MAX &&
         pthread_create(&crew->threads[crew->count], NULL, work, crew) == 0)
    crew->count++;
  if (crew->count > 0) {
    *out = crew;
    return BE_OK;
  }
  be_crew_close(crew);
  be_fail(err, BE_FAILED, "no thread can be started to make pages");
  return be_fail_remedy(err, "end some programs and try again");
}

bool be_crew_add(struct be_crew *crew, struct be_job *job)
{
  job->next = NULL;
  pthread_mutex_lock(&crew->lock);
  bool taken = !crew->ending;
  if (taken) {
    *crew->last = job;
    crew->last = &job->next;
    pthread_cond_signal(&crew->wake);
  }
  pthread_mutex_unlock(&crew->lock);
  return taken;
}

void be_crew_end(struct be_crew *crew)
{
  pthread_mutex_lock(&crew->lock);
  crew->ending = true;
  pthread_cond_broadcast(&crew->wake);
  pthread_mutex_unlock(&crew->lock);
  for (size_t i = 0; i < crew->count; i++) pthread_join(crew->threads[i], NULL);
  crew->count = 0;
}

void be_crew_close(struct be_crew *crew)
{
  if (!crew) return;
  be_crew_end(crew);
  pthread_cond_destroy(&crew->wake);
  pthread_mutex_destroy(&crew->lock);
  be_free(crew);
}
