/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pages: the same documents as the commands, with ways between them. site.c serves them. */
#include "app/rig/trust.h"
#include "app/site/api.h"

#include <string.h>

enum { KNOTS_PAIRED_MAX = 40 };

/* What the address asks for is not there: BE_NO, told apart from what went wrong
 * on the way to a page that is. */
static enum be_status not_there(struct be_err *err, const char *what)
{
  return be_fail(err, BE_NO, "%s", what);
}

bool be_index_read(const char *text, size_t end, size_t *index)
{
  size_t value = 0;
  if (!*text || strlen(text) > 18) return false;
  for (; *text >= '0' && *text <= '9'; text++) value = value * 10 + (size_t)(*text - '0');
  *index = value;
  return !*text && value < end;
}

/* ---- the documents that only pages have ---- */

static void pair_row(struct be_table *table, const struct survey *survey, size_t a, size_t b)
{
  be_table_text(table, "%s", be_knot_name(survey, (int)a));
  be_table_text(table, "%s", be_knot_name(survey, (int)b));
  be_table_link(table, "/versus?a=%zu&b=%zu", a, b);
}

static const struct be_column pair_columns[] = {
    {"first", "first", BE_COLUMN_TEXT, false},
    {"second", "compare with", BE_COLUMN_TEXT, false},
};

/* All pairs, or, where they would be too many to look through, all knots. */
static enum be_status versus_list(const struct survey *survey, struct be_doc **out,
                                  struct be_err *err)
{
  static const struct be_column knots[] = {{"knot", "compare", BE_COLUMN_TEXT, false}};
  size_t count = survey->record.knots_count;
  struct be_doc *doc = be_doc_create("versus", "Versus");
  if (!doc) return be_no_memory(err);
  be_doc_sentence(doc, "Choose two knots to see whether the difference between them is real.");
  if (count > KNOTS_PAIRED_MAX) {
    struct be_table *table = be_doc_table(doc, "knots", "The first of the two", knots, 1);
    for (size_t a = 0; a < count; a++) {
      be_table_text(table, "%s", be_knot_name(survey, (int)a));
      be_table_link(table, "/versus?a=%zu", a);
    }
    return be_doc_done(doc, BE_OK, out);
  }
  struct be_table *table = be_doc_table(doc, "pairs", "Pairs of knots", pair_columns, 2);
  for (size_t a = 0; a < count; a++)
    for (size_t b = a + 1; b < count; b++) pair_row(table, survey, a, b);
  return be_doc_done(doc, BE_OK, out);
}

static enum be_status versus_others(const struct survey *survey, size_t a, struct be_doc **out,
                                    struct be_err *err)
{
  struct be_doc *doc = be_doc_create("versus", "Versus");
  if (!doc) return be_no_memory(err);
  be_doc_sentence(doc, "Choose the knot to compare the %s with.", be_knot_name(survey, (int)a));
  struct be_table *table = be_doc_table(doc, "pairs", "The second of the two", pair_columns, 2);
  for (size_t b = 0; b < survey->record.knots_count; b++)
    if (b != a) pair_row(table, survey, a, b);
  return be_doc_done(doc, BE_OK, out);
}

static enum be_status versus_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  const struct survey *survey = &visit->survey;
  const struct be_request *request = visit->request;
  const char *a = be_request_query(request, "a"), *b = be_request_query(request, "b");
  size_t first = 0, second = 0, count = survey->record.knots_count;
  enum be_status status = be_asking_versus(survey, request, &visit->asking, err);
  if (status != BE_OK) return status;
  if (!a && !b) return versus_list(survey, out, err);
  if (!a || !be_index_read(a, count, &first))
    return not_there(err, "the address does not name a knot of the book");
  if (!b) return versus_others(survey, first, out, err);
  if (!be_index_read(b, count, &second) || first == second)
    return not_there(err, "the address does not name two different knots");
  return be_versus_doc(survey, (int)first, (int)second, out, err);
}

static enum be_status next_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  const struct survey *survey = &visit->survey;
  const struct be_request *request = visit->request;
  struct be_tying tying;
  enum be_status status = be_asking_next(survey, request, &visit->asking, err);
  if (status == BE_OK) status = be_asking_tying(request, &tying, err);
  return status == BE_OK ? be_next_doc(survey, &tying, out, err) : status;
}

/* Cells are told by their place, which is the same as long as nothing is entered. */
static enum be_status cell_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  const struct survey *survey = &visit->survey;
  const struct be_request *request = visit->request;
  const char *at = be_request_query(request, "at");
  size_t cell = 0;
  if (!at || !be_index_read(at, survey->cells_count, &cell))
    return not_there(err, "the address does not name a knot in a combination");
  return be_cell_doc(survey, &survey->cells[cell], out, err);
}

enum be_status be_query_index(const struct be_request *request, const char *name, size_t end,
                              size_t *value, bool *has, struct be_err *err)
{
  const char *asked = be_request_query(request, name);
  *has = asked != NULL;
  if (!asked || be_index_read(asked, end, value)) return BE_OK;
  return not_there(err, "the book does not hold so many");
}

static enum be_status pulls_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  const struct survey *survey = &visit->survey;
  const struct be_request *request = visit->request;
  struct be_pulls_asked asked;
  size_t from = 0, all = survey->record.pulls_count;
  bool has_from;
  enum be_status status = be_asking_pulls(survey, request, &asked, &visit->asking, err);
  if (status == BE_OK)
    status = be_query_index(request, "from", all ? all : 1, &from, &has_from, err);
  return status == BE_OK ? be_pulls_doc(survey, &asked, from, out, err) : status;
}

static enum be_status findings_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  const struct survey *survey = &visit->survey;
  const struct be_request *request = visit->request;
  size_t at = 0, from = 0, all = survey->record.pulls_count;
  bool has_at, has_from;
  enum be_status status = be_query_index(request, "at", SIZE_MAX, &at, &has_at, err);
  if (status == BE_OK)
    status = be_query_index(request, "from", all ? all : 1, &from, &has_from, err);
  if (status != BE_OK) return status;
  return has_at ? be_finding_doc(survey, at, from, out, err) : be_findings_doc(survey, out, err);
}

static enum be_status standings_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  enum be_status status = be_asking_standings(&visit->survey, visit->request, &visit->asking, err);
  return status == BE_OK ? be_standings_doc(&visit->survey, out, err) : status;
}

static enum be_status strength_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  return be_strength_doc(&visit->survey, out, err);
}

void be_say_wrong(struct be_doc *doc, const struct visit *visit)
{
  const struct be_err *wrong = &visit->wrong;
  if (wrong->status != BE_OK)
    be_doc_sentence(doc, "Not done: %s%s%s.", wrong->what, *wrong->remedy ? "; " : "",
                    wrong->remedy);
}

/* The book is read after a form was taken, and the page stands without it: an answer must not wait
 * for a book that cannot be read now. Who may only look gets the page with all its forms shut. */
static enum be_status bench_page(struct visit *visit, struct be_doc **out, struct be_err *err)
{
  bool shut = visit->visitor.role > BE_DEVICE_BENCH;
  struct be_buf *html = &visit->html;
  if (shut) be_buf_text(html, "<fieldset class=\"shut\" disabled>\n");
  size_t before = html->size;
  struct be_err unread = {0};
  be_survey_read(visit->book_path, &visit->how, visit->arena, &visit->survey, &unread);
  const struct be_bench_asked asked = {.how = &visit->how,
                                       .wrong = visit->wrong.status ? &visit->wrong : NULL,
                                       .sent = visit->request,
                                       .unread = unread.status ? &unread : NULL,
                                       .arena = visit->arena};
  enum be_status status = be_live_site_page(visit->bench, &visit->survey, &asked, out, html, err);
  if (html->size > before) visit->script = "/bench.js";
  if (shut) be_buf_text(html, "</fieldset>\n");
  if (shut && status == BE_OK)
    be_doc_note(*out, "This device may look: pulls are taken by one with the role bench.");
  if (visit->visitor.role == BE_DEVICE_OWNER && visit->door->devices)
    be_buf_text(html,
                "<p class=\"note\">Who may use this page is on <a href=\"/devices\">Devices</a>."
                "</p>\n");
  return status;
}

static enum be_status bench_post(struct visit *visit, struct be_err *err)
{
  return be_live_site_post(visit->bench, visit->request, err);
}

/* ---- routes ---- */

static const struct be_route routes[] = {
    {"/", "/", standings_page, NULL, .name = "standings"},
    {"/api", NULL, NULL, NULL, .json = be_api_list},
    {"/bench", "/bench", bench_page, bench_post, .may_post = BE_DEVICE_BENCH, .kind = BE_ROUTE_BARE,
     .fresh = true},
    {"/cell", "/strength", cell_page, NULL},
    {"/devices", "", be_devices_page, be_devices_post,
     .kind = BE_ROUTE_BARE | BE_ROUTE_OWNER | BE_ROUTE_ALONE, .fresh = true},
    {"/findings", "/findings", findings_page, NULL},
    {"/knot", "/knots", be_knot_page, NULL},
    {"/knots", "/knots", be_knots_page, NULL},
    {"/labels", "/plan", be_labels_page, NULL},
    {"/line", "/lines", be_line_page, be_line_post, .takes = be_line_takes},
    {"/lines", "/lines", be_lines_page, NULL},
    {"/next", "/next", next_page, NULL},
    {"/openapi.json", NULL, NULL, NULL, .json = be_api_description},
    {"/pair", "", be_pair_page, be_pair_post, .may_post = BE_DEVICE_NOBODY,
     .kind = BE_ROUTE_BARE | BE_ROUTE_OPEN | BE_ROUTE_ALONE, .fresh = true},
    {"/plan", "/plan", be_plan_page, be_plan_post, .takes = be_plan_takes},
    {"/pull/", "/pulls", be_pull_page, be_pull_correct, .takes = be_correct_takes},
    {"/pulls", "/pulls", pulls_page, NULL},
    {"/reader", "", be_reader_page, be_reader_post, .may_post = BE_DEVICE_LOOK,
     .kind = BE_ROUTE_ALONE, .fresh = true},
    {"/record", NULL, NULL, NULL, .json = be_api_record},
    {"/rig", "/rig", be_rig_page, be_rig_log, .fresh = true, .takes = be_rig_takes},
    {"/rig/listen", "/rig", be_listen_page, be_listen_post, .fresh = true,
     .takes = be_listen_takes},
    {"/strength", "/strength", strength_page, NULL},
    {"/tie", "/knots", be_tie_page, be_tie_post, .kind = BE_ROUTE_BARE, .takes = be_tie_takes},
    {"/tie/lines", NULL, NULL, NULL, .kind = BE_ROUTE_BARE, .json = be_tie_lines_json},
    {"/ties", "/knots", be_ties_page, NULL, .kind = BE_ROUTE_BARE},
    {"/trace/", NULL, NULL, NULL, .json = be_api_trace},
    {"/versus", "/versus", versus_page, NULL},
};

size_t be_routes(const struct be_route **list)
{
  *list = routes;
  return sizeof routes / sizeof routes[0];
}

const struct be_route *be_route_find(const char *path)
{
  for (size_t i = 0; i < sizeof routes / sizeof routes[0]; i++) {
    size_t length = strlen(routes[i].path);
    bool any_below = length > 1 && routes[i].path[length - 1] == '/';
    if (any_below ? strncmp(path, routes[i].path, length) == 0 : strcmp(path, routes[i].path) == 0)
      return &routes[i];
  }
  return NULL;
}

bool be_is_page(const char *path)
{
  const struct be_route *route = be_route_find(path);
  return (route && route->make) || strcmp(path, "/bench") == 0;
}

const struct be_route *be_route_at(size_t i)
{
  return i < sizeof routes / sizeof routes[0] ? &routes[i] : NULL;
}

const char *be_route_path(const char *name)
{
  for (size_t i = 0; i < sizeof routes / sizeof routes[0]; i++)
    if (routes[i].name && strcmp(routes[i].name, name) == 0) return routes[i].path;
  return NULL;
}
