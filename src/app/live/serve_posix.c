/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "app/live/live.h"
#include "app/survey/survey.h"

#include <pthread.h>
#include <stdio.h>
#include <string.h>

enum { SETUPS_MAX = 256 * 1024 };

struct be_live_site {
  pthread_mutex_t lock; /* of what opens the session */
  pthread_cond_t freed;
  struct be_session *session;
  size_t users;  /* of the session now; it is closed when there are none */
  bool changing; /* to another rig: whoever wants the session waits */
  struct be_news *news;
  struct be_live_rig rig;
  bool has_rig;
  bool begins;                /* the session is wanted before somebody looks at the page */
  const struct be_unit *unit; /* in which loads were shown last; null: not yet */
  char book_path[4096];
};

/* Of a book that cannot be read now nothing is known. */
static void read_evening(const char *book_path, const char *today, struct be_evening *evening)
{
  static const struct be_answering usual;
  struct survey survey;
  struct be_arena *arena = be_arena_create();
  *evening = (struct be_evening){.today = false};
  if (arena && be_survey_read(book_path, &usual, arena, &survey, NULL) == BE_OK)
    be_evening_last(&survey, today, evening);
  if (!evening->today) *evening = (struct be_evening){.today = false};
  be_arena_free(arena);
}

/* With the lock held, or while it changes. */
static enum be_status open_session(struct be_live_site *site, uint64_t after,
                                   const struct be_evening *told, struct be_err *err)
{
  char now[32];
  be_now(now);
  now[10] = '\0'; /* the day alone */
  const struct be_rig_options rig = be_rig_setup_options(&site->rig.setup);
  struct be_evening evening;
  if (told) evening = *told;
  else read_evening(site->book_path, now, &evening);
  const struct be_session_options options = {
      .book_path = site->book_path,
      .rig = site->has_rig ? &rig : NULL,
      .session = now,
      .reckoning = site->has_rig ? &site->rig.reckoning : NULL,
      .bench = site->has_rig && *site->rig.bench ? site->rig.bench : NULL,
      .evening = &evening,
      .after = after};
  return be_session_open(&options, site->news, &site->session, err);
}

/* The session, opened if it is not yet, until let_go; null with the reason in err. */
static struct be_session *session_of(struct be_live_site *site, struct be_err *err)
{
  pthread_mutex_lock(&site->lock);
  while (site->changing) pthread_cond_wait(&site->freed, &site->lock);
  if (!site->session) open_session(site, 0, NULL, err);
  struct be_session *session = site->session;
  if (session) site->users++;
  pthread_mutex_unlock(&site->lock);
  return session;
}

static void let_go(struct be_live_site *site)
{
  pthread_mutex_lock(&site->lock);
  if (--site->users == 0) pthread_cond_broadcast(&site->freed);
  pthread_mutex_unlock(&site->lock);
}

enum be_status be_live_setup(const char *book_path, const struct be_serving *serving,
                             struct be_live_rig *rig, struct be_err *err)
{
  struct be_buf text;
  be_buf_init(&text, SETUPS_MAX);
  enum be_status status = be_file_read(serving->rig_path, &text, err);
  if (status == BE_OK) {
    const char *data = text.size ? text.data : "";
    *rig = (struct be_live_rig){0};
    status = be_rig_setup_parse(data, text.size, serving->rig, &rig->setup, err);
    if (status == BE_OK) status = be_live_reckon(book_path, data, text.size, rig, err);
    if (status != BE_OK && err && !err->file[0])
      be_fail_at(err, serving->rig_path, err ? err->line : 0, 0);
  }
  be_buf_free(&text);
  return status;
}

enum be_status be_live_site_open(const char *book_path, const struct be_live_rig *rig,
                                 struct be_live_site **out, struct be_err *err)
{
  *out = NULL;
  struct be_live_site *site = be_alloc_array(1, sizeof *site);
  if (!site) return be_no_memory(err);
  if (snprintf(site->book_path, sizeof site->book_path, "%s", book_path) >=
      (int)sizeof site->book_path) {
    be_free(site);
    return be_fail(err, BE_WRONG_USE, "the name of the book is too long");
  }
  enum be_status status = be_news_open(&site->news, err);
  if (status != BE_OK) {
    be_free(site);
    return status;
  }
  pthread_mutex_init(&site->lock, NULL);
  pthread_cond_init(&site->freed, NULL);
  site->has_rig = rig != NULL;
  if (rig) site->rig = *rig;
  char journal[4200];
  snprintf(journal, sizeof journal, "%s.live", book_path);
  site->begins = rig || be_file_exists(journal);
  struct be_err why = {0};
  if (site->begins && open_session(site, 0, NULL, &why) == BE_WRONG_USE) {
    if (err) *err = why;
    be_live_site_close(site);
    return BE_WRONG_USE;
  }
  *out = site;
  return BE_OK;
}

void be_live_site_end(struct be_live_site *site)
{
  if (site) be_news_end(site->news);
}

void be_live_site_close(struct be_live_site *site)
{
  if (!site) return;
  be_session_close(site->session);
  be_news_close(site->news);
  pthread_cond_destroy(&site->freed);
  pthread_mutex_destroy(&site->lock);
  be_free(site);
}

static void set_rig(struct be_live_site *site, const struct be_live_rig *rig)
{
  site->has_rig = rig != NULL;
  site->rig = rig ? *rig : (struct be_live_rig){0};
}

/* Nobody uses the session now. */
static enum be_status change_rig(struct be_live_site *site, const struct be_live_rig *rig,
                                 struct be_err *err)
{
  const struct be_live_rig before = site->rig;
  bool had = site->has_rig;
  uint64_t number = 0;
  struct be_evening told = {.today = false};
  bool open = site->session != NULL;
  enum be_status status = open ? be_session_rests(site->session, &number, &told, err) : BE_OK;
  if (status != BE_OK) return status;
  be_session_close(site->session);
  site->session = NULL;
  set_rig(site, rig);
  status = open_session(site, number + 1, open ? &told : NULL, err);
  if (status == BE_OK) return BE_OK;
  set_rig(site, had ? &before : NULL);
  open_session(site, number + 2, open ? &told : NULL, NULL); /* or the next look tries */
  return status;
}

enum be_status be_live_site_use(struct be_live_site *site, const struct be_live_rig *rig,
                                struct be_err *err)
{
  pthread_mutex_lock(&site->lock);
  while (site->changing) pthread_cond_wait(&site->freed, &site->lock);
  site->changing = true;
  while (site->users) pthread_cond_wait(&site->freed, &site->lock);
  enum be_status status = change_rig(site, rig, err);
  site->begins = site->begins || site->has_rig;
  site->changing = false;
  pthread_cond_broadcast(&site->freed);
  pthread_mutex_unlock(&site->lock);
  return status;
}

void be_live_site_rig(struct be_live_site *site, char name[64])
{
  pthread_mutex_lock(&site->lock);
  snprintf(name, 64, "%s", site->has_rig ? site->rig.setup.name : "");
  pthread_mutex_unlock(&site->lock);
}

/* ---- what it is asked ---- */

/* The page of a bench that cannot be had. */
static enum be_status say_unavailable(const struct be_err *why, struct be_doc **out,
                                      struct be_err *err)
{
  struct be_doc *doc = be_doc_create("bench", "Bench");
  if (!doc) return be_no_memory(err);
  be_doc_sentence(doc, "The bench cannot be used here: %s.", why->what);
  if (*why->file) be_doc_sentence(doc, "Where: %s.", why->file);
  if (*why->remedy) be_doc_sentence(doc, "What to do: %s; then load this page again.", why->remedy);
  return be_doc_done(doc, BE_OK, out);
}

/* Whether the survey was read before the pull that was kept last: else a page would ask for it
 * again. */
static bool is_behind(const struct survey *survey, const struct be_session_view *view)
{
  for (size_t i = survey->record.pulls_count; i-- > 0;)
    if (strcmp(survey->record.pulls[i].code, view->last) == 0) return false;
  return *view->last;
}

static int status_refused(enum be_status status)
{
  return status == BE_WRONG_USE ? 409 : status == BE_BAD_INPUT ? 400 : 500;
}

static bool look(struct be_live_site *site, struct be_session_view *view, struct be_err *err)
{
  struct be_session *session = session_of(site, err);
  if (!session) return false;
  be_session_look(session, view);
  let_go(site);
  return true;
}

/* The bench is there also while the book cannot be read: without its plan, in the unit of before.
 */
static enum be_status without_book(struct be_live_site *site, const struct be_answering *how,
                                   struct be_arena *arena, struct survey *survey,
                                   struct be_err *err)
{
  const struct be_record nothing = {.unit = "N"};
  struct be_answering asked = *how;
  pthread_mutex_lock(&site->lock);
  if (!asked.unit) asked.unit = site->unit;
  pthread_mutex_unlock(&site->lock);
  return be_survey_of(&nothing, &asked, arena, survey, err);
}

enum be_status be_live_site_page(struct be_live_site *site, struct survey *survey,
                                 const struct be_bench_asked *asked, struct be_doc **doc,
                                 struct be_buf *html, struct be_err *err)
{
  struct be_err why = {0};
  struct be_arena *arena = asked->arena;
  struct be_session_view *view = be_arena_alloc(arena, sizeof *view);
  if (!view) return be_no_memory(err);
  if (!look(site, view, &why)) return say_unavailable(&why, doc, err);
  if (asked->unread) {
    enum be_status status = without_book(site, asked->how, arena, survey, err);
    if (status != BE_OK) return status;
  } else if (!asked->how->unit) {
    pthread_mutex_lock(&site->lock);
    site->unit = survey->how.unit;
    pthread_mutex_unlock(&site->lock);
  }
  if (!asked->unread && is_behind(survey, view)) {
    enum be_status status = be_survey_read(site->book_path, asked->how, arena, survey, err);
    if (status != BE_OK) return status;
  }
  return be_live_page(survey, view, asked, doc, html, err);
}

bool be_live_site_word(struct be_live_site *site, char words[BE_SESSION_TROUBLE])
{
  struct be_err why = {0};
  pthread_mutex_lock(&site->lock);
  bool begins = site->begins || site->session;
  pthread_mutex_unlock(&site->lock);
  if (!begins) return false;
  struct be_session *session = session_of(site, &why);
  if (session) {
    bool waits = be_session_waits(session, words);
    let_go(site);
    return waits;
  }
  snprintf(words, BE_SESSION_TROUBLE,
           "The bench cannot be used: %.300s (%.250s). What to do: %.250s. The other pages are "
           "served, and the page of the bench tries again each time it is looked at.",
           why.what, why.file, *why.remedy ? why.remedy : "look at the page of the bench");
  return true;
}

enum be_status be_live_site_do(struct be_live_site *site, const struct be_request *request,
                               struct be_reply *reply, struct be_err *err)
{
  struct be_session *session = session_of(site, err);
  if (!session) {
    reply->status = 500;
    return err->status;
  }
  enum be_status status = be_live_check(request, err);
  if (status == BE_OK) status = be_live_post(session, request, err);
  let_go(site);
  if (status != BE_OK) reply->status = status_refused(status);
  return status;
}

enum be_status be_live_site_view(struct be_live_site *site, const struct survey *survey,
                                 struct be_reply *reply, struct be_err *err)
{
  struct be_session_view *view = be_arena_alloc(survey->arena, sizeof *view);
  if (!view) return be_no_memory(err);
  if (!look(site, view, err)) {
    reply->status = 500;
    return err->status;
  }
  be_live_view(survey, view, &reply->body);
  return BE_OK;
}

enum be_status be_live_site_post(struct be_live_site *site, const struct be_request *request,
                                 struct be_err *err)
{
  struct be_err why = {0};
  struct be_session *session = session_of(site, &why);
  if (!session) {
    *err = why;
    return why.status;
  }
  enum be_status status = be_live_post(session, request, err);
  let_go(site);
  return status;
}

void be_live_site_news(struct be_live_site *site, const char *who, struct be_reply *reply)
{
  struct be_err err = {0};
  struct be_session *session = session_of(site, &err);
  if (!session) {
    reply->status = 503;
    reply->type = "text/plain; charset=utf-8";
    be_buf_format(&reply->body, "%s\n", err.what);
    return;
  }
  reply->news = site->news;
  reply->news_since = be_news_said(site->news);
  snprintf(reply->news_who, sizeof reply->news_who, "%s", who);
  be_buf_text(&reply->body,
              "retry: 500\n\n"); /* ms until a browser that lost the line asks again */
  be_session_tell(session, &reply->body);
  let_go(site);
}

void be_live_site_send_away(struct be_live_site *site, const char *who)
{
  be_news_send_away(site->news, who);
}
