/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The site: which request gets which page, sheet, script or news. */
#include "app/site/api.h"
#include "app/site/inside.h"

#include "assets/assets.h"

#include <stdio.h>
#include <string.h>

enum { PAGE_BYTES_MAX = 1024 * 1024 };

static const struct be_place places[] = {
    {"/", "Standings"},        {"/strength", "Strength"}, {"/versus", "Versus"},
    {"/findings", "Findings"}, {"/knots", "Knots"},       {"/lines", "Lines"},
    {"/plan", "Plan"},         {"/next", "Next"},         {"/bench", "Bench"},
    {"/rig", "Rig"},           {"/pulls", "Book"},
};
enum { PLACES = sizeof places / sizeof places[0] };

/* ---- pages as markup ---- */

/* How a page differs from the others. */
struct looks {
  const char *here, *insert, *script;
  const struct asking *asking;
};

/* In the style of a reader who writes a comma before decimals. */
static void style_page(struct be_buf *page)
{
  struct be_buf styled;
  be_buf_init(&styled, page->ceiling);
  be_html_comma(page->data, page->size, &styled);
  be_buf_free(page);
  *page = styled;
}

/* A page that failed half-way is thrown away: nobody is to take it for the whole. */
static void write_page(const struct be_doc *doc, const struct looks *looks, const struct visit *v)
{
  const struct asking *asking = looks->asking;
  struct be_reply *reply = v->reply;
  char back[300] = "/reader";
  if (be_is_page(v->request->path))
    snprintf(back, sizeof back, "/reader?back=%.200s", v->request->path);
  const struct be_place foot_ways[] = {{back, "Units and decimals"}, {"/devices", "Devices"}};
  bool known = v->visitor.role != BE_DEVICE_NOBODY;
  bool owner = v->visitor.role == BE_DEVICE_OWNER && v->door->devices;
  struct be_edition edition = {.sheet_link = "/style.css",
                               .site = "Bitter End",
                               .places = known ? places : NULL,
                               .places_count = known ? PLACES : 0,
                               .here = looks->here,
                               .asking = *v->unit ? v->unit : NULL,
                               .foot = be_notice,
                               .foot_ways = foot_ways,
                               .foot_ways_count = (size_t)known + owner,
                               .comma = v->reader.comma,
                               .insert = looks->insert,
                               .script_link = looks->script,
                               .ways = asking && asking->ways.count ? &asking->ways : NULL,
                               .form = asking && asking->form.count ? &asking->form : NULL};
  be_progress_step("writing the page", NULL, 0);
  if (be_doc_html(&doc, 1, &edition, &reply->body, NULL) == BE_OK) {
    if (v->reader.comma) style_page(&reply->body);
    return;
  }
  be_buf_free(&reply->body);
  reply->status = 500;
  reply->type = "text/plain; charset=utf-8";
  be_buf_text(&reply->body, "This page could not be written: it is too large, or memory is out. "
                            "Close other programs and load it again.\n");
}

/* What was asked stands in the form of the page that refuses it. */
static void write_error(enum be_status status, const struct be_err *err, const struct visit *v)
{
  struct be_reply *reply = v->reply;
  if (reply->status == 200)
    reply->status = status == BE_NO ? 404 : status == BE_WRONG_USE ? 400 : 500;
  struct be_doc *doc = be_doc_create("error", reply->status == 403     ? "Not for this device"
                                              : status == BE_NO        ? "Not found"
                                              : status == BE_WRONG_USE ? "Cannot be asked"
                                                                       : "Something failed");
  bool posted = strcmp(v->request->method, "POST") == 0;
  be_doc_sentence(doc, "%s: %s.", posted ? "Not done" : "This page cannot be shown", err->what);
  if (err->remedy[0]) be_doc_sentence(doc, "What to do: %s.", err->remedy);
  const struct looks looks = {.here = "", .asking = reply->status == 400 ? &v->asking : NULL};
  write_page(doc, &looks, v);
  be_doc_free(doc);
}

/* The script at /NAME is the asset assets/NAME, that at /FOLDER/NAME is FOLDER/NAME. */
static const struct be_asset *find_script(const char *path)
{
  char name[64];
  size_t length = strlen(path);
  if (length < 4 || strcmp(path + length - 3, ".js") != 0) return NULL;
  snprintf(name, sizeof name, "%s%s", strchr(path + 1, '/') ? "" : "assets/", path + 1);
  return be_asset_find(name);
}

/* Style sheets and scripts, by address. */
static bool write_asset(const char *path, struct be_reply *reply)
{
  static const char *const sheets[] = {"assets/style.css", "assets/labels.css", "assets/bench.css",
                                       "assets/knots.css"};
  const struct be_asset *script = find_script(path);
  if (!script && strcmp(path, "/style.css") != 0) return false;
  reply->type = script ? "text/javascript; charset=utf-8" : "text/css; charset=utf-8";
  reply->cacheable = true;
  if (script) be_buf_add(&reply->body, script->text, script->size);
  else be_buf_text(&reply->body, be_figure_style());
  for (size_t i = 0; !script && i < sizeof sheets / sizeof sheets[0]; i++) {
    const struct be_asset *asset = be_asset_find(sheets[i]);
    if (asset) be_buf_add(&reply->body, asset->text, asset->size);
  }
  return true;
}

/* ---- what is asked ---- */

/* Every page may be asked for in another unit: /strength?unit=kg. */
static enum be_status take_unit(const struct be_site *site, struct visit *v, struct be_err *err)
{
  const char *unit = be_request_query(v->request, "unit");
  v->how = site->how;
  if (v->reader.unit && !v->api) v->how.unit = v->reader.unit;
  if (!unit) return BE_OK;
  v->how.unit = be_unit_find_in(BE_FORCE, unit, strlen(unit));
  if (v->how.unit) {
    snprintf(v->unit, sizeof v->unit, "unit=%s", v->how.unit->name);
    return BE_OK;
  }
  return be_fail(err, BE_NO, "\"%.40s\" is not a unit of force such as lb, kg or N", unit);
}

/* Whether the page may be had: BE_OK, or what is said instead. */
static enum be_status admit(const struct be_route *route, struct visit *v, struct be_err *err)
{
  bool posted = strcmp(v->request->method, "POST") == 0;
  if (!be_door_opens(&v->visitor, route, posted && route && route->post, err)) {
    v->reply->status = 403;
    return err->status;
  }
  if (!route && be_is_page(v->request->path))
    return be_fail(err, BE_NO, "%.200s is of one browser alone, and has nothing for programs",
                   v->request->path);
  if (!route) return be_fail(err, BE_NO, "there is no page at %.200s", v->request->path);
  if (!posted || route->post) return BE_OK;
  v->reply->status = 405;
  return be_fail(err, BE_WRONG_USE, "nothing can be sent to this page");
}

/* ---- answers ---- */

static int status_refused(enum be_status status)
{
  return status == BE_WRONG_USE ? 409 : status == BE_BAD_INPUT ? 400 : status == BE_NO ? 404 : 500;
}

/* Back to the page that was posted to, in the reader's unit. */
static void send_back(struct visit *v)
{
  v->reply->status = 303;
  if (!*v->reply->location)
    snprintf(v->reply->location, sizeof v->reply->location, "%.200s%s%s", v->request->path,
             *v->unit ? "?" : "", v->unit);
}

static enum be_status finish_page(struct visit *v, struct be_doc *doc, const char *here,
                                  struct be_err *err)
{
  if (v->api) return be_api_say(doc, v->reply, err);
  enum be_status status = v->html.size ? be_buf_status(&v->html, err) : BE_OK;
  const struct looks looks = {.here = here,
                              .insert = v->html.size ? v->html.data : NULL,
                              .script = v->script,
                              .asking = &v->asking};
  if (status == BE_OK) write_page(doc, &looks, v);
  v->reply->again_s = v->again_s;
  return status;
}

/* The record after something was done. */
static enum be_status read_again(struct visit *v, struct be_err *err)
{
  *v->reply->location = '\0';
  return be_survey_read(v->book_path, &v->how, v->arena, &v->survey, err);
}

static enum be_status view_bench(struct visit *v, bool posted, struct be_err *err)
{
  enum be_status status = posted ? be_live_site_do(v->bench, v->request, v->reply, err) : BE_OK;
  if (status == BE_OK) status = read_again(v, err);
  v->reply->type = "application/json";
  return status == BE_OK ? be_live_site_view(v->bench, &v->survey, v->reply, err) : status;
}

/* *sent: the browser goes on elsewhere. A program gets what the page then shows, or why not. */
static enum be_status post_page(const struct be_route *route, struct visit *v, bool *sent,
                                struct be_err *err)
{
  enum be_status status = route->post(v, &v->wrong);
  if (status != BE_OK && v->reply->status == 200)
    v->reply->status = status_refused(v->wrong.status);
  if (v->api) {
    if (status != BE_OK) *err = v->wrong;
    return status == BE_OK ? read_again(v, err) : status;
  }
  *sent = status == BE_OK;
  if (*sent) send_back(v);
  return BE_OK;
}

static enum be_status answer_page(const struct be_route *route, struct visit *v, bool posted,
                                  struct be_err *err)
{
  struct be_doc *doc = NULL;
  bool sent = false;
  if (route->json) v->reply->type = "application/json";
  if (route->json) return route->json(v, err);
  enum be_status status = posted ? post_page(route, v, &sent, err) : BE_OK;
  if (sent) return status;
  if (status == BE_OK) status = route->make(v, &doc, err);
  if (status == BE_OK) status = finish_page(v, doc, route->here, err);
  /* There is no page on which to say why it was refused: then that is the answer. */
  if (status != BE_OK && posted && !v->api) v->reply->status = 200;
  be_doc_free(doc);
  return status;
}

static enum be_status answer(const struct be_site *site, struct visit *v, struct be_err *err)
{
  const struct be_route *route = be_route_find(v->request->path);
  if (route && (v->api ? (route->kind & BE_ROUTE_ALONE) != 0 : route->json != NULL)) route = NULL;
  bool bench = strcmp(v->request->path, "/bench") == 0;
  bool posted = strcmp(v->request->method, "POST") == 0;
  enum be_status status = admit(route, v, err);
  if (status == BE_OK) status = take_unit(site, v, err);
  if (status == BE_OK && posted && v->api)
    status = be_api_take(v, bench ? NULL : route->takes, err);
  if (status == BE_OK) status = be_asking_how(v->request, &v->how, err);
  if (status == BE_OK && !(route->kind & BE_ROUTE_BARE))
    status = be_survey_read(site->book_path, &v->how, v->arena, &v->survey, err);
  if (status != BE_OK) return status;
  return bench && v->api ? view_bench(v, posted, err) : answer_page(route, v, posted, err);
}

static void answer_news(const struct be_site *site, const struct visitor *visitor,
                        struct be_reply *reply)
{
  struct be_err why = {0};
  char who[BE_DEVICE_ID + 1];
  snprintf(who, sizeof who, "%.*s", BE_DEVICE_ID, visitor->device.hash);
  if (be_door_opens(visitor, NULL, false, &why)) {
    be_live_site_news(site->bench, who, reply);
    return;
  }
  reply->status = 403;
  reply->type = "text/plain; charset=utf-8";
  be_buf_format(&reply->body, "%s: %s\n", why.what, why.remedy);
}

/* Who is not paired is led to where he can be, whatever he looked for; a program is told. */
static bool lead_to_pairing(const struct visit *v)
{
  if (v->visitor.role != BE_DEVICE_NOBODY || !v->door->devices || v->api) return false;
  if (strcmp(v->request->path, "/pair") == 0 || strcmp(v->request->method, "POST") == 0)
    return false;
  v->reply->status = 303;
  snprintf(v->reply->location, sizeof v->reply->location, "/pair");
  return true;
}

static enum be_status answer_picture(struct visit *v, struct be_err *err)
{
  if (be_door_opens(&v->visitor, NULL, false, err))
    return strcmp(v->request->path, "/tie.svg") == 0
               ? be_tie_picture(v, err)
               : be_picture_reply(v->book_path, v->request, v->reply, err);
  v->reply->status = 403;
  return err->status;
}

static bool is_picture(const struct visit *v)
{
  const char *path = v->request->path;
  return !v->api && (strcmp(path, "/picture") == 0 || strcmp(path, "/tie.svg") == 0) &&
         strcmp(v->request->method, "POST") != 0;
}

/* Of so many pulls the record leaves holes that are worth giving back. */
enum { PULLS_MANY = 5000 };

/* Fills in the reply, of a visit that says who asks. */
static void make_visit(const struct be_site *site, struct visit *v)
{
  struct be_err err = {0};
  v->book_path = site->book_path;
  v->door = &site->door;
  v->bench = site->bench;
  v->seek = site->seek;
  v->rigs_path = site->rigs_path;
  v->takes_posts = v->visitor.role == BE_DEVICE_OWNER;
  be_buf_init(&v->html, PAGE_BYTES_MAX);
  v->arena = be_arena_create();
  enum be_status status = BE_OK;
  if (!v->arena) status = be_no_memory(&err);
  else if (is_picture(v)) status = answer_picture(v, &err);
  else status = answer(site, v, &err);
  if (status != BE_OK && v->api) be_api_say_error(status, &err, v->reply);
  else if (status != BE_OK) write_error(status, &err, v);
  be_arena_free(v->arena);
  be_buf_free(&v->html);
  if (v->survey.record.pulls_count > PULLS_MANY) be_memory_trim();
}

/* ---- pages that are kept ---- */

/* What a page depends on besides its address: who asks, and how he wants figures shown. */
enum { AS_MAX = 40 };

static void write_as(const struct visit *v, char as[AS_MAX])
{
  snprintf(as, AS_MAX, "%d %.20s %d", (int)v->visitor.role,
           v->reader.unit ? v->reader.unit->name : "-", v->reader.comma);
}

void be_site_make(void *context, const char *as, const struct be_request *request,
                  struct be_reply *reply)
{
  int role = BE_DEVICE_OWNER, comma = 0;
  char unit[24] = "-";
  sscanf(as, "%d %23s %d", &role, unit, &comma);
  struct visit v = {.request = request, .reply = reply};
  v.visitor.role = (enum be_device_role)role;
  v.reader = (struct be_reader){be_unit_find_in(BE_FORCE, unit, strlen(unit)), comma != 0};
  make_visit(context, &v);
}

static void write_waiting(const char *words, const char *here, const struct visit *v)
{
  struct be_doc *doc = be_doc_create("waiting", "Being worked out");
  if (*words) be_doc_sentence(doc, "This page is being worked out: %s.", words);
  else be_doc_sentence(doc, "This page is being worked out.");
  be_doc_sentence(doc, "It comes by itself, as soon as it is done.");
  const struct looks looks = {.here = here};
  v->reply->status = 202;
  v->reply->again_s = 1;
  write_page(doc, &looks, v);
  be_doc_free(doc);
}

void be_site_answer(void *context, const struct be_request *request, struct be_reply *reply)
{
  const struct be_site *site = context;
  if (write_asset(request->path, reply)) return;
  struct be_request twin;
  bool api = be_api_asks(request, &twin), posted = strcmp(request->method, "POST") == 0;
  struct visit v = {.request = api ? &twin : request,
                    .api = api,
                    .reply = reply,
                    .door = &site->door,
                    .reader = be_reader_of(request)};
  be_door_look(&site->door, request, &v.visitor);
  if (strcmp(v.request->path, "/bench/news") == 0) {
    answer_news(site, &v.visitor, reply);
    if (api && !reply->news) be_api_say_refused(reply);
    return;
  }
  if (lead_to_pairing(&v)) return;
  char as[AS_MAX], words[BE_PROGRESS_WORDS];
  const struct be_route *route = be_route_find(v.request->path);
  write_as(&v, as);
  if (!route || !route->make || route->fresh || posted || api) make_visit(site, &v);
  else if (!be_maker_answer(site->maker, as, request, reply, words))
    write_waiting(words, route->here, &v);
  if (posted) be_maker_entered(site->maker);
}
