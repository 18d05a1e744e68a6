/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the pages take from their forms, sent as JSON; and which pages have nothing for programs. */
#define _POSIX_C_SOURCE 200809L
#include "app/site/api.h"
#include "app_test.h"
#include "web/client.h"

static const char sheet[] = "specimen,knot,line A,soak,load (lb),what,where\n"
                            "p1,none,nylon 12 lb,dry,13.2,broke,clear of it\n"
                            "a1,palomar,nylon 12 lb,dry,12.6,broke,in the knot\n"
                            "b1,clinch,nylon 12 lb,dry,10.1,slipped out,\n";

static struct be_site *site;

static int start(void **state)
{
  (void)state;
  char book[512];
  const struct be_answering how = {0};
  test_book(book, "api-posts.book", sheet, NULL);
  return be_app_serve(book, NULL, &how, &site, NULL) == BE_OK ? 0 : -1;
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

static void posted(const char *address, const char *body, int status, const char *words)
{
  assert_says_json(send_to("POST", address, JSON_TYPE, body), body, status, words);
}

static void pages_take_json_for_their_forms(void **state)
{
  (void)state;
  posted("/api/1/line?at=0", "{\"on-hand\":\"41.5\",\"colour\":\"\"}", 400,
         "\\\"colour\\\" is nothing it takes");
  posted("/api/1/line?at=0", "{\"on-hand\":\"41.5\"}", 200, "The count is in the book.");
  posted("/api/1/line", "{\"on-hand\":\"41.5\"}", 404, "does not name a line");
  posted("/api/1/pull/2", "{\"corrects\":\"2\"}", 400, "a correction needs its reason");
  posted("/api/1/pull/2", "{\"corrects\":\"2\",\"size\":\"\"}", 400, "\\\"size\\\" is nothing");
  says_json("/api/1/pull/2", 200, "\"corrects\":\"2\"");
  posted("/api/1/rig", "{\"weight\":\"20 N\"}", 400, "the bench has no name");
  posted("/api/1/rig", "{\"of\":\"\"}", 400, "\\\"of\\\" is nothing it takes");
  posted("/api/1/rig/listen", "{\"do\":\"save\",\"name\":\"n\"}", 409, "nothing was heard");
  posted("/api/1/rig/listen", "{\"port\":\"1\"}", 400, "\\\"port\\\" is nothing it takes");
  posted("/api/1/plan", "{\"seed\":\"1\"}", 400, "\\\"seed\\\" is nothing it takes");
}

static void a_plan_is_fixed_as_it_was_shown(void **state)
{
  (void)state;
  char body[300], shown[20] = "";
  struct got got =
      send_to("GET", "/api/1/plan?name=june&knots=palomar;clinch&on=nylon+12+lb+%2B+ring", "", "");
  const char *at = strstr(got.body, "\"shown\":\"");
  assert_non_null(at);
  snprintf(shown, sizeof shown, "%.16s", at + strlen("\"shown\":\""));
  free(got.text);
  for (int again = 0; again < 2; again++) {
    snprintf(body, sizeof body,
             "{\"name\":\"june\",\"knots\":\"palomar;clinch\",\"on\":\"nylon 12 lb + ring\","
             "\"shown\":\"%s\"}",
             again ? "0123456789abcdef" : shown);
    posted("/api/1/plan", body, again ? 409 : 200,
           again ? "the book has changed" : "The trial june is fixed: ");
  }
}

static void a_page_of_one_browser_has_no_twin(void **state)
{
  (void)state;
  static const char *const all[] = {"/api/1/reader", "/api/1/devices", "/api/1/pair"};
  for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
    says_json(all[i], 404, "is of one browser alone");
    posted(all[i], "{}", 404, "is of one browser alone");
  }
  struct got got = send_to("GET", "/api/1/", "", "");
  assert_non_null(strstr(got.body, "{\"path\":\"/api/1/rig/listen\",\"page\":\"/rig/listen\","
                                   "\"posts\":true}"));
  assert_null(strstr(got.body, "reader"));
  assert_null(strstr(got.body, "devices"));
  free(got.text);
}

int main(void)
{
#define served_book(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      served_book(pages_take_json_for_their_forms),
      served_book(a_plan_is_fixed_as_it_was_shown),
      served_book(a_page_of_one_browser_has_no_twin),
  };
  return be_tests("app: api_posts", tests);
}
