/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/site/api.h"

#include "assets/assets.h"

#include <stdio.h>
#include <string.h>

static const char prefix[] = "/api/1/";

bool be_api_asks(const struct be_request *request, struct be_request *page)
{
  if (strncmp(request->path, "/api/", strlen("/api/")) != 0) return false;
  *page = *request;
  if (strncmp(request->path, prefix, strlen(prefix)) != 0) return true;
  const char *name = request->path + strlen(prefix);
  page->path = *name ? be_route_path(name) : "/api";
  if (!page->path) page->path = name - 1; /* with its slash */
  return true;
}

enum be_status be_api_take(struct visit *visit, const char *const *names, struct be_err *err)
{
  const struct be_request *request = visit->request;
  const char *name;
  visit->reply->status = 415;
  if (!be_text_same(request->type, "application/json")) {
    be_fail(err, BE_BAD_INPUT, "what is sent here is JSON, not \"%.40s\"", request->type);
    be_fail_remedy(err, "send it with Content-Type: application/json");
    return BE_BAD_INPUT;
  }
  visit->reply->status = 400;
  enum be_status status = be_request_json(request, "step", err);
  for (size_t i = 0; names && (name = be_request_named(request, i)) != NULL; i++) {
    size_t at = 0;
    while (names[at] && strcmp(names[at], name) != 0) at++;
    if (!names[at]) return be_fail(err, BE_BAD_INPUT, "\"%.60s\" is nothing it takes", name);
  }
  visit->reply->status = status == BE_OK ? 200 : status == BE_NO_MEMORY ? 500 : 400;
  return status;
}

enum be_status be_api_say(struct be_doc *doc, struct be_reply *reply, struct be_err *err)
{
  be_doc_caution(doc, "%s", be_notice);
  reply->type = "application/json";
  return be_doc_json(doc, &reply->body, err);
}

/* File, line and column, as far as they are known. */
static void say_where(struct be_buf *out, const struct be_err *err)
{
  const char *slash = strrchr(err->file, '/'), *file = slash ? slash + 1 : err->file;
  char where[400];
  int used = snprintf(where, sizeof where, "%.200s", file);
  if (err->line)
    used += snprintf(where + used, sizeof where - (size_t)used, "%sline %zu", used ? ", " : "",
                     err->line);
  if (err->column)
    snprintf(where + used, sizeof where - (size_t)used, "%scolumn %zu", used ? ", " : "",
             err->column);
  be_api_text(out, "where", *where ? where : NULL);
}

void be_api_say_error(enum be_status status, const struct be_err *err, struct be_reply *reply)
{
  if (reply->status == 200)
    reply->status = status == BE_NO ? 404 : status == BE_WRONG_USE ? 400 : 500;
  be_buf_free(&reply->body);
  reply->type = "application/json";
  *reply->location = '\0';
  be_buf_format(&reply->body, "{\"format\":%d,\"error\":{\"what\":", BE_JSON_FORMAT);
  be_json_string(&reply->body, err->what);
  say_where(&reply->body, err);
  be_api_text(&reply->body, "remedy", *err->remedy ? err->remedy : NULL);
  be_buf_text(&reply->body, "}}\n");
}

void be_api_say_refused(struct be_reply *reply)
{
  struct be_err err = {0};
  int size = (int)strcspn(reply->body.size ? reply->body.data : "", "\n");
  be_fail(&err, BE_FAILED, "%.*s", size, reply->body.size ? reply->body.data : "");
  be_api_say_error(BE_FAILED, &err, reply);
}

enum be_status be_api_list(struct visit *visit, struct be_err *err)
{
  struct be_buf *out = &visit->reply->body;
  const struct be_route *route;
  be_buf_format(out, "{\"format\":%d,\"version\":", BE_JSON_FORMAT);
  be_json_string(out, be_version);
  be_buf_text(out, ",\"paths\":[\n"
                   " {\"path\":\"/api/1/bench/news\",\"page\":null,\"posts\":false}");
  for (size_t i = 0; (route = be_route_at(i)) != NULL; i++) {
    const char *name = route->name ? route->name : route->path + 1;
    bool below = name[strlen(name) - 1] == '/';
    if (route->json == be_api_list || route->kind & BE_ROUTE_ALONE) continue;
    be_buf_format(out, ",\n {\"path\":\"%s%s%s\"", prefix, name, below ? "{id}" : "");
    be_api_text(out, "page", route->make ? route->path : NULL);
    be_buf_format(out, ",\"posts\":%s}", route->post ? "true" : "false");
  }
  be_buf_text(out, "]}\n");
  return be_buf_status(out, err);
}

enum be_status be_api_description(struct visit *visit, struct be_err *err)
{
  const struct be_asset *asset = be_asset_find("assets/openapi.json");
  be_buf_add(&visit->reply->body, asset->text, asset->size);
  return be_buf_status(&visit->reply->body, err);
}
