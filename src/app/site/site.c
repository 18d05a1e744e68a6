/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The site: which request gets which page, sheet, script or news. */
#include "app/live/live.h"
#include "app/site/maker.h"
#include "app/site/site.h"

#include "assets/assets.h"

#include <stdio.h>
#include <string.h>

enum { FORM_BYTES_MAX = 64 * 1024, PAGE_BYTES_MAX = 1024 * 1024 };

struct be_site {
  char *book_path;
  struct be_answering how;
  struct be_server *server;
  struct be_live_site *bench;
  struct be_maker *maker;
};

/* Made anew when something was entered at the bench, for whoever looks next. */
static const char *const usual_pages[] = {"/", "/strength"};

static const struct be_place places[] = {
    {"/", "Standings"}, {"/strength", "Strength"}, {"/versus", "Versus"}, {"/findings", "Findings"},
    {"/plan", "Plan"},  {"/next", "Next"},         {"/bench", "Bench"},   {"/pulls", "Book"},
};
enum { PLACES = sizeof places / sizeof places[0] };

/* How a page differs from the others. */
struct looks {
  const char *here, *unit, *insert, *script;
  const struct asking *asking;
};

/* A page that failed half-way is thrown away: nobody is to take it for the whole. */
static void write_page(const struct be_doc *doc, const struct looks *looks, struct be_reply *reply)
{
  const struct asking *asking = looks->asking;
  struct be_edition edition = {.sheet_link = "/style.css",
                               .site = "Bitter End",
                               .places = places,
                               .places_count = PLACES,
                               .here = looks->here,
                               .asking = looks->unit,
                               .foot = be_notice,
                               .insert = looks->insert,
                               .script_link = looks->script,
                               .ways = asking && asking->ways.count ? &asking->ways : NULL,
                               .form = asking && asking->form.count ? &asking->form : NULL};
  be_progress_step("writing the page", NULL, 0);
  if (be_doc_html(&doc, 1, &edition, &reply->body, NULL) == BE_OK) return;
  be_buf_free(&reply->body);
  reply->status = 500;
  reply->type = "text/plain; charset=utf-8";
  be_buf_text(&reply->body, "This page could not be written: it is too large, or memory is out. "
                            "Close other programs and load it again.\n");
}

/* What was asked stands in the form of the page that refuses it. */
static void write_error(enum be_status status, const struct be_err *err,
                        const struct asking *asking, struct be_reply *reply)
{
  reply->status = status == BE_NO ? 404 : status == BE_WRONG_USE ? 400 : 500;
  struct be_doc *doc = be_doc_create("error", status == BE_NO          ? "Not found"
                                              : status == BE_WRONG_USE ? "Cannot be asked"
                                                                       : "Something failed");
  be_doc_sentence(doc, "This page cannot be shown: %s.", err->what);
  if (err->remedy[0]) be_doc_sentence(doc, "What to do: %s.", err->remedy);
  const struct looks looks = {.here = "", .asking = status == BE_WRONG_USE ? asking : NULL};
  write_page(doc, &looks, reply);
  be_doc_free(doc);
}

/* Style sheets and scripts, by address. */
static bool write_asset(const char *path, struct be_reply *reply)
{
  static const char *const sheets[] = {"assets/style.css", "assets/labels.css", "assets/bench.css"};
  bool script = strcmp(path, "/bench.js") == 0;
  if (!script && strcmp(path, "/style.css") != 0) return false;
  reply->type = script ? "text/javascript; charset=utf-8" : "text/css; charset=utf-8";
  reply->cacheable = true;
  if (!script) be_buf_text(&reply->body, be_figure_style());
  for (size_t i = 0; i < (script ? 1 : sizeof sheets / sizeof sheets[0]); i++) {
    const struct be_asset *asset = be_asset_find(script ? "assets/bench.js" : sheets[i]);
    if (asset) be_buf_add(&reply->body, asset->text, asset->size);
  }
  return true;
}

/* Every page may be asked for in another unit: /strength?unit=kg. */
static enum be_status take_unit(const struct be_site *site, const struct be_request *request,
                                struct be_answering *how, char asking[32], struct be_err *err)
{
  const char *unit = be_request_query(request, "unit");
  *how = site->how;
  if (!unit) return BE_OK;
  how->unit = be_unit_find_in(BE_FORCE, unit, strlen(unit));
  if (how->unit) {
    snprintf(asking, 32, "unit=%s", how->unit->name);
    return BE_OK;
  }
  return be_fail(err, BE_NO, "\"%.40s\" is not a unit of force such as lb, kg or N", unit);
}

static int status_refused(enum be_status status)
{
  return status == BE_WRONG_USE ? 409 : status == BE_BAD_INPUT ? 400 : 500;
}

/* Back to the page that was posted to, in the reader's unit. */
static void send_back(struct visit *v)
{
  v->reply->status = 303;
  if (!*v->reply->location)
    snprintf(v->reply->location, sizeof v->reply->location, "%.200s%s%s", v->request->path,
             *v->unit ? "?" : "", v->unit);
}

static enum be_status finish_page(struct visit *v, const struct be_doc *doc, const char *here,
                                  struct be_err *err)
{
  enum be_status status = v->html.size ? be_buf_status(&v->html, err) : BE_OK;
  const struct looks looks = {.here = here,
                              .unit = *v->unit ? v->unit : NULL,
                              .insert = v->html.size ? v->html.data : NULL,
                              .script = v->script,
                              .asking = &v->asking};
  if (status == BE_OK) write_page(doc, &looks, v->reply);
  return status;
}

static enum be_status answer_bench(const struct be_site *site, struct visit *v, struct be_err *err)
{
  struct be_doc *doc = NULL;
  enum be_status status =
      be_live_site_answer(site->bench, &v->survey, v->request, v->reply, &doc, &v->html, err);
  if (v->html.size) v->script = "/bench.js";
  if (status == BE_OK && doc) status = finish_page(v, doc, "/bench", err);
  be_doc_free(doc);
  return status;
}

static enum be_status answer_page(const struct be_route *route, struct visit *v, struct be_err *err)
{
  if (strcmp(v->request->method, "POST") == 0) {
    if (route->post(v, &v->wrong) == BE_OK) {
      send_back(v);
      return BE_OK;
    }
    v->reply->status = status_refused(v->wrong.status);
  }
  struct be_doc *doc = NULL;
  enum be_status status = route->make(v, &doc, err);
  if (status == BE_OK) status = finish_page(v, doc, route->here, err);
  be_doc_free(doc);
  return status;
}

/* arena: of the record, and of what is asked. */
static enum be_status answer(const struct be_site *site, struct visit *v, struct be_arena *arena,
                             struct be_err *err)
{
  const char *path = v->request->path;
  const struct be_route *route = be_route_find(path);
  bool bench = strcmp(path, "/bench") == 0;
  bool posted = strcmp(v->request->method, "POST") == 0;
  enum be_status status = take_unit(site, v->request, &v->how, v->unit, err);
  if (status == BE_OK && posted && !bench && !(route && route->post))
    status = be_fail(err, BE_WRONG_USE, "nothing can be sent to this page");
  if (status == BE_OK && !bench && !route)
    status = be_fail(err, BE_NO, "there is no page at %.200s", path);
  if (status == BE_OK) status = be_asking_how(v->request, &v->how, err);
  if (status == BE_OK) status = be_survey_read(site->book_path, &v->how, arena, &v->survey, err);
  if (status != BE_OK) return status;
  return bench ? answer_bench(site, v, err) : answer_page(route, v, err);
}

/* Of so many pulls the record leaves holes that are worth giving back. */
enum { PULLS_MANY = 5000 };

static void make_page(void *context, const struct be_request *request, struct be_reply *reply)
{
  const struct be_site *site = context;
  struct visit v = {.book_path = site->book_path, .request = request, .reply = reply};
  struct be_err err = {0};
  be_buf_init(&v.html, PAGE_BYTES_MAX);
  struct be_arena *arena = be_arena_create();
  enum be_status status = arena ? answer(site, &v, arena, &err) : be_no_memory(&err);
  if (status != BE_OK) write_error(status, &err, &v.asking, reply);
  be_arena_free(arena);
  be_buf_free(&v.html);
  if (v.survey.record.pulls_count > PULLS_MANY) be_memory_trim();
}

static void write_waiting(const char *words, const char *here, struct be_reply *reply)
{
  struct be_doc *doc = be_doc_create("waiting", "Being worked out");
  if (*words) be_doc_sentence(doc, "This page is being worked out: %s.", words);
  else be_doc_sentence(doc, "This page is being worked out.");
  be_doc_sentence(doc, "It comes by itself, as soon as it is done.");
  const struct looks looks = {.here = here};
  reply->status = 202;
  reply->again_s = 1;
  write_page(doc, &looks, reply);
  be_doc_free(doc);
}

static void handle(void *context, const struct be_request *request, struct be_reply *reply)
{
  struct be_site *site = context;
  char words[BE_PROGRESS_WORDS];
  if (write_asset(request->path, reply)) return;
  if (strcmp(request->path, "/bench/news") == 0) {
    be_live_site_news(site->bench, reply);
    return;
  }
  const struct be_route *route = be_route_find(request->path);
  bool posted = strcmp(request->method, "POST") == 0;
  if (!route || route->fresh || posted) make_page(site, request, reply);
  else if (!be_maker_answer(site->maker, request, reply, words))
    write_waiting(words, route->here, reply);
  if (posted) be_maker_entered(site->maker);
}

/* ---- opening ---- */

/* Addresses of this machine alone. */
static bool is_loopback(const char *address)
{
  return !address || strncmp(address, "127.", 4) == 0 || strcmp(address, "::1") == 0;
}

static enum be_status open_parts(struct be_site *site, const struct be_serving *serving,
                                 struct be_err *err)
{
  struct be_rig_setup setup;
  bool here = is_loopback(serving->address);
  enum be_status status = serving->rig_path ? be_live_setup(serving, &setup, err) : BE_OK;
  if (status == BE_OK)
    status = be_live_site_open(site->book_path, serving->rig_path ? &setup : NULL, here,
                               &site->bench, err);
  char under[200];
  snprintf(under, sizeof under, "%s %.17g %llu %zu", site->how.unit ? site->how.unit->name : "",
           site->how.level, (unsigned long long)site->how.seed, site->how.resamples);
  const struct be_maker_options making = {.book_path = site->book_path,
                                          .under = under,
                                          .make = make_page,
                                          .context = site,
                                          .usual = usual_pages,
                                          .usual_count =
                                              sizeof usual_pages / sizeof usual_pages[0]};
  if (status == BE_OK) status = be_maker_open(&making, &site->maker, err);
  const struct be_server_options options = {
      .address = serving->address, .port = serving->port, .body_most = here ? FORM_BYTES_MAX : 0};
  if (status == BE_OK) status = be_server_open(&options, handle, site, &site->server, err);
  return status;
}

enum be_status be_app_serve(const char *book_path, const struct be_serving *serving,
                            const struct be_answering *how, struct be_site **out,
                            struct be_err *err)
{
  static const struct be_serving usual = {0};
  struct be_book *book = NULL;
  enum be_status status = be_book_open(book_path, false, &book, err);
  be_book_close(book);
  if (status != BE_OK) return status;
  struct be_site *site = be_alloc_array(1, sizeof *site);
  size_t path_size = strlen(book_path) + 1;
  if (site) site->book_path = be_alloc(path_size);
  if (!site || !site->book_path) {
    be_free(site);
    return be_no_memory(err);
  }
  memcpy(site->book_path, book_path, path_size);
  site->how = *how;
  status = open_parts(site, serving ? serving : &usual, err);
  if (status == BE_OK) *out = site;
  else be_app_serve_end(site);
  return status;
}

uint16_t be_app_serve_port(const struct be_site *site)
{
  return be_server_port(site->server);
}

void be_app_serve_end(struct be_site *site)
{
  if (!site) return;
  be_live_site_end(site->bench);
  be_server_close(site->server);
  be_maker_close(site->maker);
  be_live_site_close(site->bench);
  be_free(site->book_path);
  be_free(site);
}
