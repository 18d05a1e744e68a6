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
  struct be_session *session;
  struct be_news *news;
  struct be_rig_setup setup;
  bool has_rig, allowed;
  char book_path[4096];
};

/* The session, opened if it is not yet; null with the reason in err. */
static struct be_session *session_of(struct be_live_site *site, struct be_err *err)
{
  char now[32];
  be_now(now);
  now[10] = '\0'; /* the day alone */
  const struct be_rig_options rig = be_rig_setup_options(&site->setup);
  const struct be_session_options options = {
      .book_path = site->book_path, .rig = site->has_rig ? &rig : NULL, .session = now};
  pthread_mutex_lock(&site->lock);
  if (!site->session && site->allowed) be_session_open(&options, site->news, &site->session, err);
  struct be_session *session = site->session;
  pthread_mutex_unlock(&site->lock);
  if (!site->allowed) {
    be_fail(err, BE_WRONG_USE, "the bench is served to the machine it stands at alone");
    be_fail_remedy(err, "open the page there, or serve without --address");
  }
  return session;
}

enum be_status be_live_setup(const struct be_serving *serving, struct be_rig_setup *setup,
                             struct be_err *err)
{
  struct be_buf text;
  be_buf_init(&text, SETUPS_MAX);
  enum be_status status = be_file_read(serving->rig_path, &text, err);
  if (status == BE_OK) {
    status = be_rig_setup_parse(text.size ? text.data : "", text.size, serving->rig, setup, err);
    if (status != BE_OK) be_fail_at(err, serving->rig_path, err ? err->line : 0, 0);
  }
  be_buf_free(&text);
  return status;
}

enum be_status be_live_site_open(const char *book_path, const struct be_rig_setup *rig,
                                 bool allowed, struct be_live_site **out, struct be_err *err)
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
  site->allowed = allowed;
  site->has_rig = rig != NULL;
  if (rig) site->setup = *rig;
  char journal[4200];
  snprintf(journal, sizeof journal, "%s.live", book_path);
  bool at_once = allowed && (rig || be_file_exists(journal));
  struct be_err why = {0};
  if (at_once && !session_of(site, &why) && rig) {
    if (err) *err = why;
    status = why.status;
    be_live_site_close(site);
    return status;
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
  pthread_mutex_destroy(&site->lock);
  be_free(site);
}

/* The page of a bench that cannot be had. */
static enum be_status say_unavailable(const struct be_err *why, struct be_doc **out,
                                      struct be_err *err)
{
  struct be_doc *doc = be_doc_create("bench", "Bench");
  if (!doc) return be_no_memory(err);
  be_doc_sentence(doc, "The bench cannot be used here: %s.", why->what);
  if (*why->remedy) be_doc_sentence(doc, "What to do: %s.", why->remedy);
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

enum be_status be_live_site_answer(struct be_live_site *site, const struct survey *survey,
                                   const struct be_request *request, struct be_reply *reply,
                                   struct be_doc **doc, struct be_buf *html, struct be_err *err)
{
  struct be_err wrong = {0};
  struct be_session *session = session_of(site, &wrong);
  if (!session) {
    reply->status = strcmp(request->method, "POST") == 0 ? 403 : 200;
    return say_unavailable(&wrong, doc, err);
  }
  if (strcmp(request->method, "POST") == 0) {
    if (be_live_post(session, request, &wrong) == BE_OK) {
      reply->status = 303;
      const char *unit = be_request_query(request, "unit");
      snprintf(reply->location, sizeof reply->location, "/bench%s%s", unit ? "?unit=" : "",
               unit ? survey->how.unit->name : "");
      return BE_OK;
    }
    reply->status = wrong.status == BE_WRONG_USE ? 409 : wrong.status == BE_BAD_INPUT ? 400 : 500;
  }
  struct be_session_view *view = be_arena_alloc(survey->arena, sizeof *view);
  if (!view) return be_no_memory(err);
  be_session_look(session, view);
  struct survey anew;
  if (is_behind(survey, view)) {
    enum be_status status =
        be_survey_read(site->book_path, &survey->how, survey->arena, &anew, err);
    if (status != BE_OK) return status;
    survey = &anew;
  }
  return be_live_page(survey, view, wrong.status == BE_OK ? NULL : &wrong, doc, html, err);
}

void be_live_site_news(struct be_live_site *site, struct be_reply *reply)
{
  struct be_err err = {0};
  struct be_session *session = session_of(site, &err);
  if (!session) {
    reply->status = 403;
    reply->type = "text/plain; charset=utf-8";
    be_buf_format(&reply->body, "%s\n", err.what);
    return;
  }
  reply->news = site->news;
  reply->news_since = be_news_said(site->news);
  be_buf_text(&reply->body,
              "retry: 500\n\n"); /* ms until a browser that lost the line asks again */
  be_session_tell(session, &reply->body);
}
