/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The site: which request gets which page, sheet, script or news. */
#include "app/site/site.h"

#include "assets/assets.h"

#include <stdio.h>
#include <string.h>

enum {
  FORM_BYTES_MAX = 64 * 1024,
  PAGE_BYTES_MAX = 1024 * 1024,
  PEM_BYTES_MAX = 256 * 1024,
  EACH_BEYOND = 64 /* connections from one address: a browser has six, and one that listens */
};

struct be_site {
  char *book_path;
  struct be_answering how;
  struct be_server *server;
  struct be_live_site *bench;
  struct door door;
};

static const struct be_place places[] = {
    {"/", "Standings"}, {"/strength", "Strength"}, {"/versus", "Versus"}, {"/findings", "Findings"},
    {"/plan", "Plan"},  {"/next", "Next"},         {"/bench", "Bench"},   {"/pulls", "Book"},
};
enum { PLACES = sizeof places / sizeof places[0] };

/* How a page differs from the others. */
struct looks {
  const char *here, *unit, *insert, *script;
  const struct asking *asking;
  const struct visitor *visitor;
  bool devices; /* others than this machine are served */
};

/* A page that failed half-way is thrown away: nobody is to take it for the whole. */
static void write_page(const struct be_doc *doc, const struct looks *looks, struct be_reply *reply)
{
  static const struct be_place devices = {"/devices", "Devices"};
  const struct asking *asking = looks->asking;
  bool known = looks->visitor->role != BE_DEVICE_NOBODY;
  bool owner = looks->visitor->role == BE_DEVICE_OWNER;
  struct be_edition edition = {.sheet_link = "/style.css",
                               .site = "Bitter End",
                               .places = known ? places : NULL,
                               .places_count = known ? PLACES : 0,
                               .here = looks->here,
                               .asking = looks->unit,
                               .foot = be_notice,
                               .foot_way = owner && looks->devices ? &devices : NULL,
                               .insert = looks->insert,
                               .script_link = looks->script,
                               .ways = asking && asking->ways.count ? &asking->ways : NULL,
                               .form = asking && asking->form.count ? &asking->form : NULL};
  if (be_doc_html(&doc, 1, &edition, &reply->body, NULL) == BE_OK) return;
  be_buf_free(&reply->body);
  reply->status = 500;
  reply->type = "text/plain; charset=utf-8";
  be_buf_text(&reply->body, "This page could not be written: it is too large, or memory is out. "
                            "Close other programs and load it again.\n");
}

static struct looks looks_of(const struct visit *v)
{
  return (struct looks){.here = "", .visitor = &v->visitor, .devices = v->door->devices != NULL};
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
  struct looks looks = looks_of(v);
  if (reply->status == 400) looks.asking = &v->asking;
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
  struct looks looks = looks_of(v);
  looks.here = here;
  looks.unit = *v->unit ? v->unit : NULL;
  looks.insert = v->html.size ? v->html.data : NULL;
  looks.script = v->script;
  looks.asking = &v->asking;
  if (status == BE_OK) write_page(doc, &looks, v->reply);
  return status;
}

static enum be_status answer_page(const struct be_route *route, struct visit *v, struct be_err *err)
{
  if (strcmp(v->request->method, "POST") == 0) {
    if (route->post(v, &v->wrong) == BE_OK) {
      send_back(v);
      return BE_OK;
    }
    if (v->reply->status == 200) v->reply->status = status_refused(v->wrong.status);
  }
  struct be_doc *doc = NULL;
  enum be_status status = route->make(v, &doc, err);
  if (status == BE_OK) status = finish_page(v, doc, route->here, err);
  be_doc_free(doc);
  return status;
}

/* Whether the page may be had: BE_OK, or what is said instead. */
static enum be_status admit(const struct be_route *route, struct visit *v, struct be_err *err)
{
  bool posted = strcmp(v->request->method, "POST") == 0;
  if (!be_door_opens(&v->visitor, route, posted && route && route->post, err)) {
    v->reply->status = 403;
    return err->status;
  }
  if (!route) return be_fail(err, BE_NO, "there is no page at %.200s", v->request->path);
  if (!posted || route->post) return BE_OK;
  v->reply->status = 405;
  return be_fail(err, BE_WRONG_USE, "nothing can be sent to this page");
}

/* arena: of the record, and of what is asked. */
static enum be_status answer(const struct be_site *site, struct visit *v, struct be_arena *arena,
                             struct be_err *err)
{
  const struct be_route *route = be_route_find(v->request->path);
  enum be_status status = admit(route, v, err);
  if (status == BE_OK) status = take_unit(site, v->request, &v->how, v->unit, err);
  if (status == BE_OK) status = be_asking_how(v->request, &v->how, err);
  if (status == BE_OK && !(route->kind & BE_ROUTE_BARE))
    status = be_survey_read(site->book_path, &v->how, arena, &v->survey, err);
  return status == BE_OK ? answer_page(route, v, err) : status;
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

/* Who is not paired is led to where he can be, whatever he looked for. */
static bool lead_to_pairing(const struct visit *v)
{
  if (v->visitor.role != BE_DEVICE_NOBODY || !v->door->devices) return false;
  if (strcmp(v->request->path, "/pair") == 0 || strcmp(v->request->method, "POST") == 0)
    return false;
  v->reply->status = 303;
  snprintf(v->reply->location, sizeof v->reply->location, "/pair");
  return true;
}

static void handle(void *context, const struct be_request *request, struct be_reply *reply)
{
  const struct be_site *site = context;
  if (write_asset(request->path, reply)) return;
  struct visit v = {.book_path = site->book_path,
                    .request = request,
                    .reply = reply,
                    .door = &site->door,
                    .bench = site->bench};
  be_door_look(&site->door, request, &v.visitor);
  v.who = v.visitor.device.name;
  if (strcmp(request->path, "/bench/news") == 0) {
    answer_news(site, &v.visitor, reply);
    return;
  }
  if (lead_to_pairing(&v)) return;
  struct be_err err = {0};
  be_buf_init(&v.html, PAGE_BYTES_MAX);
  struct be_arena *arena = be_arena_create();
  enum be_status status = arena ? answer(site, &v, arena, &err) : be_no_memory(&err);
  if (status != BE_OK) write_error(status, &err, &v);
  be_arena_free(arena);
  be_buf_free(&v.html);
}

/* ---- opening ---- */

/* Addresses of this machine alone. */
static bool is_loopback(const char *address)
{
  return !address || strncmp(address, "127.", 4) == 0 || strcmp(address, "::1") == 0;
}

bool be_app_serve_is_beyond(const struct be_serving *serving)
{
  return serving->is_here || !is_loopback(serving->address);
}

/* A text of PEM with a block of that kind. */
static enum be_status read_pem(const char *path, const char *kind, struct be_buf *text,
                               struct be_err *err)
{
  enum be_status status = be_file_read(path, text, err);
  if (status != BE_OK) return status;
  const char *begin = strstr(text->data, "-----BEGIN ");
  const char *end = begin ? strstr(begin, "-----END ") : NULL;
  const char *block = begin ? strstr(begin, kind) : NULL;
  if (end && block && block < end && strlen(text->data) == text->size) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "there is no %s in this file", kind);
  be_fail_at(err, path, 0, 0);
  be_fail_remedy(err, "name a file of PEM, with the line -----BEGIN %s-----", kind);
  return BE_BAD_INPUT;
}

static enum be_status open_server(struct be_site *site, const struct be_serving *serving,
                                  struct be_err *err)
{
  struct be_buf certificate, key;
  enum be_status status = BE_OK;
  be_buf_init(&certificate, PEM_BYTES_MAX);
  be_buf_init(&key, PEM_BYTES_MAX);
  if (!site->door.plain) {
    status = read_pem(serving->certificate_path, "CERTIFICATE", &certificate, err);
    if (status == BE_OK) status = read_pem(serving->key_path, "PRIVATE KEY", &key, err);
  }
  const struct be_server_options options = {
      .address = serving->address,
      .port = serving->port,
      .body_most = FORM_BYTES_MAX,
      .certificate = certificate.size ? certificate.data : NULL,
      .key = key.size ? key.data : NULL,
      .names = serving->names,
      .names_count = serving->names_count,
      .each = is_loopback(serving->address) ? 0 : EACH_BEYOND};
  if (status == BE_OK) {
    status = be_server_open(&options, handle, site, &site->server, err);
    if (status == BE_BAD_INPUT) be_fail_at(err, serving->certificate_path, 0, 0);
  }
  if (key.size) memset(key.data, 0, key.size);
  be_buf_free(&certificate);
  be_buf_free(&key);
  return status;
}

/* What is asked of serving that cannot be had together, or not safely. */
static enum be_status check_serving(const struct be_serving *serving, struct be_err *err)
{
  if (!serving->certificate_path != !serving->key_path) {
    be_fail(err, BE_WRONG_USE, "a certificate goes with its key");
    be_fail_remedy(err, "give both --certificate and --key, or neither");
    return BE_WRONG_USE;
  }
  if (serving->certificate_path || serving->plain || is_loopback(serving->address)) return BE_OK;
  be_fail(err, BE_WRONG_USE,
          "without a certificate, what is sent beyond this machine can be read on "
          "that network, codes and pulls alike");
  be_fail_remedy(err, "give --certificate and --key, or --plain where you trust the network");
  return BE_WRONG_USE;
}

static enum be_status open_door(struct be_site *site, const struct be_serving *serving,
                                struct be_err *err)
{
  const struct be_devices_options options = {.book_path = site->book_path,
                                             .now = serving->now,
                                             .say = serving->say,
                                             .context = serving->context};
  struct door *door = &site->door;
  door->plain = !serving->certificate_path;
  door->is_here = serving->is_here;
  /* Cookies know no ports, so that two books on one machine need two names; with __Host- a browser
   * takes it from this machine alone, over TLS (RFC 6265bis, section 4.1.3.2). */
  snprintf(door->cookie, sizeof door->cookie, "%sbitterend-%u", door->plain ? "" : "__Host-",
           (unsigned)serving->port);
  return be_app_serve_is_beyond(serving) ? be_devices_open(&options, &door->devices, err) : BE_OK;
}

static enum be_status open_parts(struct be_site *site, const struct be_serving *serving,
                                 struct be_err *err)
{
  struct be_rig_setup setup;
  struct be_pairing pairing;
  enum be_status status = check_serving(serving, err);
  if (status == BE_OK && serving->rig_path) status = be_live_setup(serving, &setup, err);
  if (status == BE_OK) status = open_door(site, serving, err);
  if (status == BE_OK)
    status =
        be_live_site_open(site->book_path, serving->rig_path ? &setup : NULL, &site->bench, err);
  if (status == BE_OK) status = open_server(site, serving, err);
  /* The first code is told at once. */
  if (status == BE_OK && site->door.devices)
    status = be_devices_code(site->door.devices, &pairing, err);
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
  be_live_site_close(site->bench);
  be_devices_close(site->door.devices);
  be_free(site->book_path);
  be_free(site);
}
