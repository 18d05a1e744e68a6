/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pages for programs: their JSON is the commands', and what is posted may be JSON. That every
 * answer is as described is asked in tests/browser. */
#define _POSIX_C_SOURCE 200809L
#include "app/site/api.h"
#include "app_test.h"
#include "web/client.h"
#include "web/inside.h"

static const char sheet[] =
    "specimen,knot,line A,soak,load (lb),what,where,trace,hardware\n"
    "p1,none,nylon 12 lb,dry,13.2,broke,clear of it,,\n"
    "a1,palomar,nylon 12 lb,dry,22.537,broke,at its entry,api-pull.csv,none\n"
    "a2,palomar,nylon 12 lb,,12.6,broke,in the knot,api-bare.csv,\n"
    "b1,clinch,nylon 12 lb,dry,10.1,slipped out,,,\n";
static const char trial[] = "trial,specimen,order,knot,line A,hardware,soak\n"
                            "may,M1,1,palomar,nylon 12 lb,ring,dry\n"
                            "may,M2,2,clinch,nylon 12 lb,ring,dry\n";

static const char bench[] = "calibration,bench,date,months,unit,load applied,reading,direction\n"
                            "autumn,shed,2025-11-17,13,N,0 N,0.25,\n"
                            "autumn,shed,2025-11-17,13,N,47 N,47.5,falling\n";
static const char weight[] = "bench,date,weight,reading\nshed,2025-11-19,20 N,20.35 N\n";
static const char photo[] = "specimen,photo,clip\na1,a1 \"q\".jpg,none\n";

static char book[512];
static struct be_site *site;

/* Rows rise by their number; one of them dips. */
static void write_traces(void)
{
  char path[512], timed[4096], bare[4096];
  int used = snprintf(timed, sizeof timed, "time (s),load (N)\n");
  int used_bare = snprintf(bare, sizeof bare, "load (N)\n");
  for (int i = 0; i <= 60; i++) {
    double load = i < 10 || i == 60 ? 0.25 : i == 33 ? 11.5 : 2.005 * (i - 9);
    used += snprintf(timed + used, sizeof timed - (size_t)used, "%.1f,%.3f\n", i * 0.1, load);
    used_bare += snprintf(bare + used_bare, sizeof bare - (size_t)used_bare, "%.3f\n", load);
  }
  test_path(path, "api-pull.csv");
  test_write(path, timed);
  test_path(path, "api-bare.csv");
  test_write(path, bare);
}

static void enter(const char *name, const char *text)
{
  char path[512];
  struct be_entering entering = {0};
  struct be_doc *doc = NULL;
  test_path(path, name);
  test_write(path, text);
  const char *const paths[] = {path};
  assert_int_equal(be_app_enter(book, paths, 1, &entering, &doc, NULL), BE_OK);
  be_doc_free(doc);
}

static int open_api(const struct be_serving *serving)
{
  char journal[520];
  struct be_answering how = {0};
  write_traces();
  test_book(book, "api.book", sheet, NULL);
  snprintf(journal, sizeof journal, "%s.live", book);
  be_file_remove(journal, NULL);
  enter("api-trial.csv", trial);
  enter("api-calibration.csv", bench);
  enter("api-weight.csv", weight);
  enter("api-photo.csv", photo);
  return be_app_serve(book, serving, &how, &site, NULL) == BE_OK ? 0 : -1;
}

static int start(void **state)
{
  (void)state;
  return open_api(NULL);
}

static int end(void **state)
{
  (void)state;
  be_app_serve_end(site);
  return 0;
}

static struct got send_to(const char *method, const char *address, const char *lines,
                          const char *body)
{
  return send_body(be_app_serve_port(site), method, address, lines, body);
}

static void says_json(const char *address, int status, const char *words)
{
  assert_says_json(send_to("GET", address, "", ""), address, status, words);
}

static void post(const char *body, int status, const char *words)
{
  assert_says_json(
      send_to("POST", "/api/1/bench", "Content-Type: application/json; charset=utf-8\r\n", body),
      body, status, words);
}

/* ---- answers ---- */

static enum be_status versus(const char *path, const struct be_answering *how, struct be_doc **doc,
                             struct be_err *err)
{
  return be_app_versus(path, "palomar", "clinch", how, doc, err);
}

static enum be_status next(const char *path, const struct be_answering *how, struct be_doc **doc,
                           struct be_err *err)
{
  return be_app_next(path, &(const struct be_tying){.specimens = 3}, how, doc, err);
}

static enum be_status plan(const char *path, const struct be_answering *how, struct be_doc **doc,
                           struct be_err *err)
{
  return be_app_plan(path, &(const struct be_planning){.trial = "may"}, how, doc, err);
}

static void answers_are_those_of_commands(void **state)
{
  (void)state;
  static const struct {
    const char *address;
    enum be_status (*ask)(const char *, const struct be_answering *, struct be_doc **,
                          struct be_err *);
    enum be_by by;
  } all[] = {{"/api/1/standings", be_app_standings, BE_BY_STRENGTH},
             {"/api/1/standings?by=slips", be_app_standings, BE_BY_SLIPS},
             {"/api/1/strength", be_app_strength, BE_BY_STRENGTH},
             {"/api/1/findings", be_app_findings, BE_BY_STRENGTH},
             {"/api/1/versus?a=0&b=1", versus, BE_BY_STRENGTH},
             {"/api/1/next?specimens=3", next, BE_BY_STRENGTH},
             {"/api/1/plan?trial=0", plan, BE_BY_STRENGTH}};
  for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
    struct be_answering how = {.by = all[i].by};
    struct be_doc *doc = NULL;
    struct be_buf json;
    be_buf_init(&json, 1 << 22);
    assert_int_equal(all[i].ask(book, &how, &doc, NULL), BE_OK);
    be_doc_caution(doc, "%s", be_notice);
    assert_int_equal(be_doc_json(doc, &json, NULL), BE_OK);
    struct got got = send_to("GET", all[i].address, "", "");
    assert_string_equal(got.body, json.data);
    assert_header(&got, "Content-Type: application/json");
    free(got.text);
    be_buf_free(&json);
    be_doc_free(doc);
  }
}

static void errors_say_what_and_where(void **state)
{
  (void)state;
  says_json("/api/1/nowhere", 404,
            "{\"format\":1,\"error\":{\"what\":\"there is no page at /nowhere\",\"where\":null,"
            "\"remedy\":null}}\n");
  says_json("/api/2/strength", 404, "there is no page at /api/2/strength");
  says_json("/api/1/bench.js", 404, "there is no page");
  says_json("/api/1/strength?unit=ft", 404, "\\\"ft\\\" is not a unit of force");
  says_json("/api/1/next?specimens=2.5", 400, "specimens takes a whole number");
  says_json("/api/1/standings?since=pages", 400, "\"remedy\":\"give a date such as");
  says_json("/api/1/cell", 404, "does not name a knot");
  says_json("/api/1/pull/4711", 404, "there is no such pull");
  struct got got = send_to("GET", "/record", "", "");
  assert_int_equal(got.status, 404); /* no page */
  assert_non_null(strstr(got.body, "<h1>Not found</h1>"));
  free(got.text);
  assert_says_json(send_to("POST", "/api/1/strength", JSON_TYPE, "{}"), "strength", 405,
                   "nothing can be sent");
  assert_says_json(send_to("POST", "/api/1/record", JSON_TYPE, "{}"), "record", 405,
                   "nothing can be sent");
}

static void a_book_that_vanished_is_said(void **state)
{
  (void)state;
  static const char *const all[] = {"/api/1/",      "/api/1/strength", "/api/1/record",
                                    "/api/1/bench", "/api/1/trace/1",  "/api/1/openapi.json"};
  char away[520];
  snprintf(away, sizeof away, "%s-away", book);
  assert_int_equal(rename(book, away), 0);
  for (size_t i = 0; i < sizeof all / sizeof all[0]; i++)
    says_json(all[i], 500, "\"what\":\"there is no such book\",\"where\":\"api.book\"");
  assert_int_equal(rename(away, book), 0);
}

static void three_states_are_kept(void **state)
{
  (void)state;
  says_json(
      "/api/1/record", 200,
      "{\"format\":1,\"unit\":\"lb\",\"lines\":1,\"knots\":2,\"benches\":1,\"calibrations\":1,"
      "\"check_weights\":1,\"trials\":1,\"pulls\":4}");
  says_json("/api/1/record?of=pulls", 200,
            "\"specimen\":\"p1\",\"design\":\"plain line\","
            "\"knot\":\"none\"");
  says_json("/api/1/record?of=pulls&from=1&count=1", 200, "\"hardware\":\"none\",\"soak\":\"dry\"");
  says_json("/api/1/record?of=pulls&from=2&count=1", 200, "\"hardware\":null,\"soak\":null");
  says_json("/api/1/record?of=pulls&from=2&count=1", 200,
            "\"seating_N\":null,\"seating_s\":null,\"tag_m\":null,\"glue\":null,\"tied\":null,"
            "\"water\":null,\"grips\":null,\"temperature_K\":null,\"humidity_share\":null");
  says_json("/api/1/record?of=lines", 200, "\"source\":null,\"opened\":null,\"construction\":null");
  says_json("/api/1/record?of=knots", 200, "\"tie_s\":null,\"passes_guides\":null");
  says_json("/api/1/record?of=pulls&from=3", 200,
            "\"from\":3,\"all\":4,\"rows\":[\n"
            "  {\"row\":3,\"id\":4,\"specimen\":\"b1\"");
  says_json("/api/1/record?of=pulls&from=4", 200, "\"rows\":[]}");
  says_json("/api/1/record?of=pulls&count=0", 200, "\"rows\":[]}");
  says_json("/api/1/record?of=trials", 200, "\"specimen\":\"M2\"");
  says_json("/api/1/record?of=trials", 200, "\"pull\":\"none\"}");
  says_json("/api/1/record?of=pull", 400, "not \\\"pull\\\"");
  says_json("/api/1/record?of=pulls&from=-1", 400, "from takes a whole number");
  says_json("/api/1/record?count=10001", 400, "count takes a whole number up to 10000");
}

static void the_record_is_whole(void **state)
{
  (void)state;
  says_json("/api/1/record?of=calibrations", 200,
            "{\"row\":0,\"name\":\"autumn\",\"bench\":0,\"certificate\":null,"
            "\"date\":\"2025-11-17\",\"months\":13,\"unit\":\"N\",\"curve\":\"straight\","
            "\"reference_share\":null,\"resolution_N\":null,"
            "\"points\":[{\"falling\":false,\"load_N\":0,\"reading\":0.25},"
            "{\"falling\":true,\"load_N\":47,\"reading\":47.5}],"
            "\"file\":\"api-calibration.csv\",\"file_line\":2}");
  says_json("/api/1/record?of=check_weights", 200,
            "{\"row\":0,\"bench\":0,\"date\":\"2025-11-19\",\"weight_N\":20,\"reading\":20.35,"
            "\"unit\":\"N\",\"calibration\":0,\"session\":null,\"note\":null}");
  says_json("/api/1/record?of=pulls&from=1&count=1", 200,
            "\"evidence\":[{\"kind\":\"photo\",\"name\":\"a1 \\\"q\\\".jpg\",\"note\":null},"
            "{\"kind\":\"clip\",\"name\":\"none\",\"note\":null}]}");
  says_json("/api/1/record?of=pulls&from=0&count=1", 200, "\"flags\":null,\"zero_before_N\":null");
  says_json("/api/1/record?of=pulls&from=0&count=1", 200, "\"evidence\":[]}");
  says_json("/api/1/record?of=knots&count=1", 200, "\"picture\":null}");
}

/* Where the trace of a specimen is: "trace":N behind its code. */
static int trace_of(const char *specimen)
{
  char code[40];
  struct got got = send_to("GET", "/api/1/record?of=pulls", "", "");
  snprintf(code, sizeof code, "\"specimen\":\"%s\"", specimen);
  const char *at = strstr(got.body, code);
  at = at ? strstr(at, "\"trace\":") : NULL;
  int id = at ? atoi(at + strlen("\"trace\":")) : 0;
  free(got.text);
  return id;
}

static void a_trace_keeps_its_lows_and_highs(void **state)
{
  (void)state;
  char address[80];
  int id = trace_of("a1"), bare = trace_of("a2");
  assert_true(id > 0 && bare > 0 && id != bare);
  snprintf(address, sizeof address, "/api/1/trace/%d", id);
  says_json(address, 200, "\"specimen\":\"a1\",\"rows\":61,\"kept\":61,\n \"time_s\":[0,0.1,0.2,");
  says_json(address, 200, "46.115,11.5,50.125,");
  says_json(address, 200, "100.25,0.25]}");
  /* Of rows 0 to 29 and 30 to 60 the first lowest and the highest, in their order. */
  snprintf(address, sizeof address, "/api/1/trace/%d?points=5", id);
  says_json(address, 200, "\"time_s\":[0,2.9,5.9,6],\n \"force_N\":[0.25,40.1,100.25,0.25]}");
  snprintf(address, sizeof address, "/api/1/trace/%d?points=6", id);
  says_json(address, 200, "11.5");
  snprintf(address, sizeof address, "/api/1/trace/%d?points=1", id);
  says_json(address, 400, "points takes a whole number from 2");
  snprintf(address, sizeof address, "/api/1/trace/%d?points=61", bare);
  says_json(address, 200, "\"time_s\":null,\n \"force_N\":[0.25,");
  says_json("/api/1/trace/0", 404, "there is no such trace");
  says_json("/api/1/trace/1x", 404, "there is no such trace");
  says_json("/api/1/trace/1", 404, "there is no such trace"); /* a sheet */
}

/* ---- what is sent ---- */

static void a_pull_goes_from_plan_to_book(void **state)
{
  (void)state;
  says_json("/api/1/bench", 200, "\"step\":0,\"at\":\"choose\",\"specimen\":null,\"rig\":false");
  says_json("/api/1/bench", 200, "\"waiting\":[\"M1\",\"M2\"]");
  post("{\"do\":\"choose\",\"step\":0,\"specimen\":\"M1\"}", 200,
       "\"step\":1,\"at\":\"guard\",\"specimen\":\"M1\"");
  says_json("/api/1/bench", 200, "\"may_leave\":false,\"gaps\":0,\"calibration\":null");
  says_json("/api/1/bench", 200, "\"told\":{\"specimen\":\"M1\",\"session\":\"");
  says_json("/api/1/bench", 200,
            "\"subject\":{\"planned\":true,\"trial\":0,\"block\":null,\"order\":1,\"knot\":0,"
            "\"line_a\":0,\"line_b\":null,\"soak\":\"dry\",\"hardware\":\"ring\",\"tyer\":null,"
            "\"free_length_m\":null}");
  post("{\"do\":\"guard\",\"step\":1}", 200, "\"at\":\"answer\"");
  post("{\"do\":\"guard\",\"step\":1}", 409, "the bench has gone on");
  post("{\"do\":\"answer\",\"step\":2,\"what\":\"broke\"}", 400, "the load is missing");
  post("{\"do\":\"answer\",\"step\":2,\"load\":\"12.9 lb\",\"what\":\"broke\","
       "\"note\":\"caf\\u00e9 \\\"2\\\"\"}",
       200,
       "\"last\":\"M1\",\"trouble\":null,\n \"suggestion\":null,\n \"told\":{},\n "
       "\"subject\":null,\n \"waiting\":[\"M2\"]");
  says_json("/api/1/record?of=pulls&from=4", 200, "\"note\":\"caf\xC3\xA9 \\\"2\\\"\"");
  post("{\"do\":\"again\",\"what\":\"slipped out\",\"temperature\":\"21 C\",\"seating load\":"
       "\"none\",\"humidity\":\"50 %\"}",
       200, "\"step\":3");
  says_json("/api/1/record?of=pulls&from=4", 200,
            "\"seating_N\":0,\"seating_s\":null,\"tag_m\":null,\"glue\":null,\"tied\":null,"
            "\"water\":null,\"grips\":null,\"temperature_K\":294.15,\"humidity_share\":0.5");
  says_json("/api/1/record?of=pulls&from=4", 200, "\"what\":\"slipped out\"");
}

static void strictness_names_what_is_wrong(void **state)
{
  (void)state;
  post("{\"do\":\"choose\"", 400, "\"where\":\"line 1, column 14\"");
  post("{\"step\":0}", 400, "\\\"do\\\" is missing");
  post("{\"do\":\"dance\",\"step\":0}", 400, "how to do \\\"dance\\\"");
  post("{\"do\":\"guard\"}", 400, "\\\"step\\\" is missing");
  post("{\"do\":\"guard\",\"step\":\"0\"}", 400, "\\\"step\\\" takes a whole number");
  post("{\"do\":\"guard\",\"step\":-1}", 400, "\\\"step\\\" takes a whole number");
  post("{\"do\":\"choose\",\"step\":0,\"specimen\":7}", 400, "\\\"specimen\\\" takes a string");
  post("{\"do\":\"choose\",\"step\":0,\"what\":\"broke\"}", 400, "\\\"what\\\" is nothing that");
  post("{\"do\":\"guard\",\"step\":0,\"specimen\":\"M1\"}", 400,
       "\\\"specimen\\\" is nothing that");
  post("{\"do\":\"guard\",\"do\":\"stop\",\"step\":0}", 400, "duplicate object key");
  post("[\"do\"]", 400, "a list, not an object");
  post("", 400, "not JSON");
  assert_says_json(send_to("POST", "/api/1/bench", FORM_TYPE, "do=guard&step=0"), "a form", 415,
                   "\"remedy\":\"send it with Content-Type: application/json\"");
  says_json("/api/1/bench", 200, "\"step\":0,\"at\":\"choose\"");
  struct got got = send_to("POST", "/bench", JSON_TYPE, "{\"do\":\"guard\"}");
  assert_int_equal(got.status, 409); /* a page takes forms alone */
  free(got.text);
}

/* As any page has it that is posted to. */
static int take_form(const char *type, const char *body, const char *const *names,
                     enum be_status status, const char *words)
{
  static char text[400];
  static struct be_inner inner;
  struct be_err err = {0};
  struct be_reply reply = {.status = 200};
  snprintf(text, sizeof text, "%s", body);
  inner = (struct be_inner){.body = text};
  const struct be_request request = {
      .type = type, .body = text, .body_size = strlen(text), .inner = &inner};
  struct visit visit = {.request = &request, .reply = &reply};
  be_json_prepare();
  assert_int_equal(be_api_take(&visit, names, &err), status);
  const char *colour = be_request_form(&request, "colour");
  assert_non_null(strstr(status == BE_OK ? colour : err.what, words));
  return reply.status;
}

static void a_form_names_what_it_takes(void **state)
{
  (void)state;
  static const char *const names[] = {"colour", "lot", NULL};
  static const char type[] = "application/json", green[] = "{\"colour\":\"green\"}";
  static const char other[] = "{\"colour\":\"green\",\"size\":\"7\"}";
  assert_int_equal(take_form(type, green, names, BE_OK, "green"), 200);
  assert_int_equal(take_form("Application/JSON", green, NULL, BE_OK, "green"), 200);
  assert_int_equal(take_form(type, other, NULL, BE_OK, "green"), 200);
  assert_int_equal(take_form(type, other, names, BE_BAD_INPUT, "\"size\" is nothing it takes"),
                   400);
  assert_int_equal(take_form(type, "{\"colour\":", names, BE_BAD_INPUT, "not JSON"), 400);
  assert_int_equal(take_form("text/plain", green, names, BE_BAD_INPUT, "not \"text/plain\""), 415);
}

static bool nobody(const char *peer)
{
  (void)peer;
  return false;
}

static void who_is_not_paired_is_told(void **state)
{
  (void)state;
  const struct be_serving serving = {.plain = true, .is_here = nobody};
  assert_int_equal(open_api(&serving), 0);
  says_json("/api/1/bench", 403, "not paired");
  says_json("/api/1/standings", 403, "not paired");
  says_json("/api/1/bench/news", 403, "not paired");
  assert_says_json(send_to("POST", "/api/1/bench", JSON_TYPE, "{}"), "/api/1/bench", 403,
                   "not paired");
  be_app_serve_end(site);
}

/* ---- memory ---- */

static atomic_long allocations_left;

static void *scant_resize(void *host, void *block, size_t old_size, size_t new_size)
{
  (void)host;
  (void)old_size;
  if (new_size == 0) {
    free(block);
    return NULL;
  }
  return atomic_fetch_sub(&allocations_left, 1) > 0 ? realloc(block, new_size) : NULL;
}

/* Whatever allocation is the last that succeeds: the answer is whole, or it is an error of the
 * machine and not of the asker. */
static size_t try_scantly(const char *method, const char *address, const char *body, int status)
{
  size_t failed = 0;
  for (long most = 0;; most += most / 16 + 1) {
    assert_true(most < 1000000);
    atomic_store(&allocations_left, most);
    struct got got = send_to(method, address, JSON_TYPE, body);
    if (got.status != status && got.status != 500)
      print_error("%s: %d: %.300s\n", address, got.status, got.body);
    assert_true(got.status == status || got.status == 500);
    if (got.status == status) assert_string_equal(got.text + got.size - 2, "}\n");
    else assert_true(strlen(got.body) > 20);
    failed += got.status == 500;
    bool done = got.status == status && atomic_load(&allocations_left) > 0;
    free(got.text);
    if (done) return failed;
  }
}

static void no_answer_is_half_an_answer(void **state)
{
  (void)state;
  char trace[80];
  const struct be_allocator scant = {scant_resize, NULL};
  atomic_store(&allocations_left, 1000000000);
  be_allocator_install(&scant);
  assert_int_equal(open_api(NULL), 0);
  snprintf(trace, sizeof trace, "/api/1/trace/%d?points=7", trace_of("a1"));
  post("{\"do\":\"choose\",\"step\":0,\"specimen\":\"M1\"}", 200,
       "\"subject\":{"); /* the session is there */
  atomic_store(&allocations_left, 1000000000);
  assert_true(try_scantly("GET", "/api/1/record?of=pulls", "", 200) > 30);
  assert_true(try_scantly("GET", "/api/1/record?of=calibrations", "", 200) > 30);
  assert_true(try_scantly("GET", trace, "", 200) > 30);
  assert_true(try_scantly("GET", "/api/1/", "", 200) > 30);
  assert_true(try_scantly("GET", "/api/1/bench", "", 200) > 30);
  assert_true(try_scantly("GET", "/api/1/pull/2", "", 200) > 30);
  assert_true(try_scantly("POST", "/api/1/bench", "{\"do\":\"guard\",\"step\":99}", 409) >
              3); /* the book is not read */
  atomic_store(&allocations_left, 1000000000);
  be_app_serve_end(site);
  be_allocator_install(NULL);
}

int main(void)
{
#define served_book(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      served_book(answers_are_those_of_commands),    served_book(errors_say_what_and_where),
      served_book(a_book_that_vanished_is_said),     served_book(three_states_are_kept),
      served_book(a_trace_keeps_its_lows_and_highs), served_book(a_pull_goes_from_plan_to_book),
      served_book(strictness_names_what_is_wrong),   served_book(the_record_is_whole),
      cmocka_unit_test(a_form_names_what_it_takes),  cmocka_unit_test(who_is_not_paired_is_told),
      cmocka_unit_test(no_answer_is_half_an_answer),
  };
  return be_tests("app: api", tests);
}
