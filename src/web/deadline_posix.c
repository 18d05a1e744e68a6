/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The library cuts who is silent; who sends or takes a byte now and then would hold his place for
 * ever. So each connection has a moment by which what it is about must be done, and one thread
 * shuts the sockets of those that missed theirs: the library then closes them as it does any.
 *
 * Who listens and closes his end is not seen by the library until something is said, which may be
 * half an hour: that too is looked for here, now and then.
 *
 * 1. A connection stands here from its opening until just before its socket is closed: a socket
 * that is shut under the lock is never somebody else's.
 * 2. No call of the library is made with the lock held. */
#define _GNU_SOURCE /* POLLRDHUP */
#include "web/inside.h"

#include <math.h>
#include <poll.h>
#include <pthread.h>
#include <sys/socket.h>

enum { AWAY_AT_ONCE = 32 };

struct be_deadline {
  struct MHD_Connection *connection;
  int fd;
  double at_s; /* by be_clock_s; INFINITY: none */
  struct be_news *news;
  struct be_deadline *before, *after;
};

struct be_deadlines {
  pthread_mutex_t lock;
  pthread_cond_t sooner;
  pthread_t thread;
  struct be_deadline *first;
  size_t count;
  double wakes_s, look_s, looks_s; /* look_s: how often; looks_s: when next */
  bool ended;
};

/* Those who listen are told by their news: their sockets are not looked at while they wait. */
struct away {
  struct be_news *news;
  struct MHD_Connection *connection;
};

static bool has_left(const struct be_deadline *d)
{
  struct pollfd look = {.fd = d->fd, .events = POLLRDHUP};
  return d->news && poll(&look, 1, 0) > 0;
}

/* With the lock held: shuts what is late, and finds when the next is. More listeners than there is
 * room for are found at the next turn, which is at once. */
static size_t cut_late(struct be_deadlines *all, struct away away[static AWAY_AT_ONCE])
{
  double now_s = be_clock_s();
  size_t count = 0;
  bool looking = now_s >= all->looks_s, listened = false;
  if (looking) all->looks_s = now_s + all->look_s;
  all->wakes_s = INFINITY;
  for (struct be_deadline *d = all->first; d; d = d->after) {
    if (looking && has_left(d)) d->at_s = now_s;
    if (d->at_s <= now_s && (!d->news || count < AWAY_AT_ONCE)) {
      shutdown(d->fd, SHUT_RDWR);
      if (d->news) away[count++] = (struct away){d->news, d->connection};
      d->at_s = INFINITY;
      d->news = NULL;
    }
    if (d->at_s < all->wakes_s) all->wakes_s = d->at_s;
    listened = listened || d->news;
  }
  if (listened && all->looks_s < all->wakes_s) all->wakes_s = all->looks_s;
  return count;
}

static void wait_for_next(struct be_deadlines *all)
{
  if (isinf(all->wakes_s)) {
    pthread_cond_wait(&all->sooner, &all->lock);
    return;
  }
  struct timespec until = {.tv_sec = (time_t)all->wakes_s};
  until.tv_nsec = (long)(1e9 * (all->wakes_s - (double)until.tv_sec));
  pthread_cond_timedwait(&all->sooner, &all->lock, &until);
}

static void *watch(void *deadlines)
{
  struct be_deadlines *all = deadlines;
  struct away away[AWAY_AT_ONCE];
  pthread_mutex_lock(&all->lock);
  while (!all->ended) {
    size_t count = cut_late(all, away);
    if (count == 0) {
      wait_for_next(all);
      continue;
    }
    pthread_mutex_unlock(&all->lock);
    for (size_t i = 0; i < count; i++) be_news_leave(away[i].news, away[i].connection);
    pthread_mutex_lock(&all->lock);
  }
  pthread_mutex_unlock(&all->lock);
  return NULL;
}

enum be_status be_deadlines_open(double look_s, struct be_deadlines **deadlines, struct be_err *err)
{
  struct be_deadlines *all = be_alloc_array(1, sizeof *all);
  if (!all) return be_fail(err, BE_NO_MEMORY, "no memory for the server");
  pthread_condattr_t steady;
  pthread_condattr_init(&steady);
  pthread_condattr_setclock(&steady, CLOCK_MONOTONIC);
  pthread_cond_init(&all->sooner, &steady);
  pthread_condattr_destroy(&steady);
  pthread_mutex_init(&all->lock, NULL);
  all->wakes_s = INFINITY;
  all->look_s = look_s;
  if (pthread_create(&all->thread, NULL, watch, all) != 0) {
    pthread_cond_destroy(&all->sooner);
    pthread_mutex_destroy(&all->lock);
    be_free(all);
    be_fail(err, BE_FAILED, "the server cannot start a thread");
    be_fail_remedy(err, "end some programs and try again");
    return BE_FAILED;
  }
  *deadlines = all;
  return BE_OK;
}

void be_deadlines_close(struct be_deadlines *all)
{
  if (!all) return;
  pthread_mutex_lock(&all->lock);
  all->ended = true;
  pthread_cond_signal(&all->sooner);
  pthread_mutex_unlock(&all->lock);
  pthread_join(all->thread, NULL);
  pthread_cond_destroy(&all->sooner);
  pthread_mutex_destroy(&all->lock);
  be_free(all);
}

struct be_deadline *be_deadline_add(struct be_deadlines *all, struct MHD_Connection *connection,
                                    int fd)
{
  struct be_deadline *d = be_alloc_array(1, sizeof *d);
  if (!d) return NULL;
  *d = (struct be_deadline){.connection = connection, .fd = fd, .at_s = INFINITY};
  pthread_mutex_lock(&all->lock);
  d->after = all->first;
  if (d->after) d->after->before = d;
  all->first = d;
  all->count++;
  pthread_mutex_unlock(&all->lock);
  return d;
}

size_t be_deadlines_count(struct be_deadlines *all)
{
  pthread_mutex_lock(&all->lock);
  size_t count = all->count;
  pthread_mutex_unlock(&all->lock);
  return count;
}

void be_deadline_remove(struct be_deadlines *all, struct be_deadline *d)
{
  if (!d) return;
  pthread_mutex_lock(&all->lock);
  if (d->before) d->before->after = d->after;
  else all->first = d->after;
  if (d->after) d->after->before = d->before;
  all->count--;
  pthread_mutex_unlock(&all->lock);
  be_free(d);
}

void be_deadline_set(struct be_deadlines *all, struct be_deadline *d, double from_now_s,
                     struct be_news *news)
{
  double now_s = be_clock_s(), at_s = now_s + from_now_s;
  pthread_mutex_lock(&all->lock);
  d->at_s = at_s;
  d->news = news;
  if (at_s < all->wakes_s || (news && now_s + all->look_s < all->wakes_s))
    pthread_cond_signal(&all->sooner);
  pthread_mutex_unlock(&all->lock);
}
