/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Server-sent events. The last EVENTS said are kept in a ring; a listener that has heard them all
 * is suspended until the next, and one that the ring has passed is sent away. Suspending happens
 * under the lock that saying takes, so that no event falls between. */
#define _POSIX_C_SOURCE 200809L
#include "web/inside.h"

#include <assert.h>
#include <microhttpd.h>
#include <pthread.h>
#include <stdio.h>
#include <string.h>

enum {
  EVENTS = 128,
  EVENT_MAX = 256 * 1024,
  BLOCK = 16 * 1024,
  UNSENT_MAX = 32 * 1024, /* some seconds of events: who is further behind is to begin anew */
};

struct event {
  char *text; /* shared by nobody: listeners copy from it under the lock */
  size_t size;
};

struct listener {
  struct be_news *news;
  struct MHD_Connection *connection;
  struct be_buf first; /* sent before any event */
  uint64_t next;       /* event to be sent, or first->size not yet passed */
  size_t sent;         /* bytes of it, or of first */
  bool waiting;        /* suspended */
  bool leaves;         /* is sent away at the next chance */
  char who[BE_WHO_MAX];
  struct listener *before, *after;
};

struct be_news {
  pthread_mutex_t lock;
  struct event ring[EVENTS];
  uint64_t said; /* events so far; event i stands at i % EVENTS */
  struct listener *listeners;
  size_t count;
  bool ended;
};

enum be_status be_news_open(struct be_news **news, struct be_err *err)
{
  struct be_news *opened = be_alloc_array(1, sizeof *opened);
  if (!opened) return be_fail(err, BE_NO_MEMORY, "no memory for news");
  if (pthread_mutex_init(&opened->lock, NULL) != 0) {
    be_free(opened);
    return be_fail(err, BE_FAILED, "a lock cannot be made");
  }
  *news = opened;
  return BE_OK;
}

void be_news_event(struct be_buf *buf, const char *event, const char *data)
{
  be_buf_format(buf, "event: %s\n", event);
  for (const char *at = data;;) {
    size_t size = strcspn(at, "\r\n");
    be_buf_text(buf, "data: ");
    be_buf_add(buf, at, size);
    be_buf_char(buf, '\n');
    at += size;
    if (!*at) break;
    at += at[0] == '\r' && at[1] == '\n' ? 2 : 1;
  }
  be_buf_char(buf, '\n');
}

/* With the lock held. */
static void wake_all(struct be_news *news)
{
  for (struct listener *l = news->listeners; l; l = l->after) {
    if (!l->waiting) continue;
    l->waiting = false;
    MHD_resume_connection(l->connection);
  }
}

enum be_status be_news_say(struct be_news *news, const char *event, const char *data)
{
  struct be_buf text;
  be_buf_init(&text, EVENT_MAX);
  be_news_event(&text, event, data);
  if (text.status != BE_OK) {
    enum be_status status = text.status;
    be_buf_free(&text);
    return status;
  }
  pthread_mutex_lock(&news->lock);
  struct event *place = &news->ring[news->said % EVENTS];
  be_free(place->text);
  *place = (struct event){text.data, text.size};
  news->said++;
  wake_all(news);
  pthread_mutex_unlock(&news->lock);
  return BE_OK;
}

uint64_t be_news_said(struct be_news *news)
{
  pthread_mutex_lock(&news->lock);
  uint64_t said = news->said;
  pthread_mutex_unlock(&news->lock);
  return said;
}

size_t be_news_listeners(struct be_news *news)
{
  pthread_mutex_lock(&news->lock);
  size_t count = news->count;
  pthread_mutex_unlock(&news->lock);
  return count;
}

/* With the lock held. */
static void send_away(struct listener *l)
{
  l->leaves = true;
  if (!l->waiting) return;
  l->waiting = false;
  MHD_resume_connection(l->connection);
}

void be_news_send_away(struct be_news *news, const char *who)
{
  pthread_mutex_lock(&news->lock);
  for (struct listener *l = news->listeners; l; l = l->after)
    if (strcmp(l->who, who) == 0) send_away(l);
  pthread_mutex_unlock(&news->lock);
}

void be_news_leave(struct be_news *news, const struct MHD_Connection *connection)
{
  pthread_mutex_lock(&news->lock);
  for (struct listener *l = news->listeners; l; l = l->after)
    if (l->connection == connection) send_away(l);
  pthread_mutex_unlock(&news->lock);
}

void be_news_end(struct be_news *news)
{
  pthread_mutex_lock(&news->lock);
  news->ended = true;
  wake_all(news);
  pthread_mutex_unlock(&news->lock);
}

void be_news_close(struct be_news *news)
{
  if (!news) return;
  assert(!news->listeners);
  for (size_t i = 0; i < EVENTS; i++) be_free(news->ring[i].text);
  pthread_mutex_destroy(&news->lock);
  be_free(news);
}

/* ---- listening ---- */

/* With the lock held: copies what the listener has not had, up to size bytes. */
static size_t copy_events(struct listener *l, char *out, size_t size)
{
  size_t copied = 0;
  while (copied < size && l->next < l->news->said) {
    const struct event *event = &l->news->ring[l->next % EVENTS];
    size_t part = event->size - l->sent;
    if (part > size - copied) part = size - copied;
    memcpy(out + copied, event->text + l->sent, part);
    copied += part;
    l->sent += part;
    if (l->sent == event->size) {
      l->next++;
      l->sent = 0;
    }
  }
  return copied;
}

static ssize_t on_room(void *listener, uint64_t position, char *out, size_t size)
{
  struct listener *l = listener;
  struct be_news *news = l->news;
  if (position < l->first.size) {
    size_t part = l->first.size - (size_t)position;
    if (part > size) part = size;
    memcpy(out, l->first.data + position, part);
    return (ssize_t)part;
  }
  pthread_mutex_lock(&news->lock);
  ssize_t result = 0;
  if (news->ended || l->leaves || news->said - l->next > EVENTS) {
    result = MHD_CONTENT_READER_END_OF_STREAM;
  } else if (l->next == news->said) {
    l->waiting = true;
    MHD_suspend_connection(l->connection);
  } else {
    result = (ssize_t)copy_events(l, out, size);
  }
  pthread_mutex_unlock(&news->lock);
  return result;
}

static void on_leave(void *listener)
{
  struct listener *l = listener;
  struct be_news *news = l->news;
  pthread_mutex_lock(&news->lock);
  if (l->before) l->before->after = l->after;
  else news->listeners = l->after;
  if (l->after) l->after->before = l->before;
  news->count--;
  pthread_mutex_unlock(&news->lock);
  be_buf_free(&l->first);
  be_free(l);
}

/* Takes a place among the listeners; false when all are taken. */
static bool join(struct be_news *news, struct listener *l)
{
  pthread_mutex_lock(&news->lock);
  bool room = news->count < BE_NEWS_LISTENERS_MAX && !news->ended;
  if (room) {
    l->after = news->listeners;
    if (l->after) l->after->before = l;
    news->listeners = l;
    news->count++;
  }
  pthread_mutex_unlock(&news->lock);
  return room;
}

struct MHD_Response *be_news_response(struct be_news *news, struct MHD_Connection *connection,
                                      struct be_buf *first, uint64_t since, const char *who)
{
  struct listener *l = be_alloc_array(1, sizeof *l);
  if (!l) {
    be_buf_free(first);
    return NULL;
  }
  *l = (struct listener){.news = news, .connection = connection, .first = *first, .next = since};
  snprintf(l->who, sizeof l->who, "%s", who);
  if (!join(news, l)) {
    be_buf_free(&l->first);
    be_free(l);
    return NULL;
  }
  struct MHD_Response *response =
      MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, BLOCK, on_room, l, on_leave);
  if (response)
    be_limit_unsent(
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD)->connect_fd,
        UNSENT_MAX);
  else on_leave(l);
  return response;
}
