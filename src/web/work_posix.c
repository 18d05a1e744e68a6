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
  struct lane {
    struct be_job *first, **last;
  } ahead, usual; /* those that wait */
  bool ending;
  size_t count, at_usual; /* threads; those at work on what did not come ahead */
  pthread_t threads[CREW_MAX];
};

static struct be_job *take_from(struct lane *lane)
{
  struct be_job *job = lane->first;
  if (!job) return NULL;
  lane->first = job->next;
  if (!lane->first) lane->last = &lane->first;
  return job;
}

/* One thread, unless it is the only one, is always left for what comes ahead. */
static struct be_job *take(struct be_crew *crew, bool *usual)
{
  struct be_job *job = take_from(&crew->ahead);
  *usual = !job;
  if (job || (crew->at_usual + 1 >= crew->count && crew->count > 1 && !crew->ending)) return job;
  return take_from(&crew->usual);
}

static void *work(void *crew_)
{
  struct be_crew *crew = crew_;
  bool usual;
  pthread_mutex_lock(&crew->lock);
  for (;;) {
    struct be_job *job = take(crew, &usual);
    if (!job && crew->ending) break;
    if (!job) {
      pthread_cond_wait(&crew->wake, &crew->lock);
      continue;
    }
    bool ending = crew->ending;
    crew->at_usual += usual;
    pthread_mutex_unlock(&crew->lock);
    job->run(job, ending);
    pthread_mutex_lock(&crew->lock);
    crew->at_usual -= usual;
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
  crew->ahead.last = &crew->ahead.first;
  crew->usual.last = &crew->usual.first;
  pthread_mutex_lock(&crew->lock);
  while (crew->count < count && crew->count < CREW_MAX &&
         pthread_create(&crew->threads[crew->count], NULL, work, crew) == 0)
    crew->count++;
  pthread_mutex_unlock(&crew->lock);
  if (crew->count > 0) {
    *out = crew;
    return BE_OK;
  }
  be_crew_close(crew);
  be_fail(err, BE_FAILED, "no thread can be started to make pages");
  return be_fail_remedy(err, "end some programs and try again");
}

bool be_crew_add(struct be_crew *crew, struct be_job *job, bool ahead)
{
  struct lane *lane = ahead ? &crew->ahead : &crew->usual;
  job->next = NULL;
  pthread_mutex_lock(&crew->lock);
  bool taken = !crew->ending;
  if (taken) {
    *lane->last = job;
    lane->last = &job->next;
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
