/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is sent to pages from forms: a count of line, a plan that is fixed; and pictures of knots.
 */
#define _POSIX_C_SOURCE 200809L
#include "app_test.h"
#include "web/client.h"

static const char sheet[] = "specimen,knot,line A,spool A,soak,load (lb),what,where\n"
                            "p1,none,nylon 12 lb,S1,dry,13.2,broke,clear of it\n"
                            "p2,none,nylon 12 lb,S1,dry,13.7,broke,clear of it\n"
                            "a1,palomar,nylon 12 lb,S1,dry,12.5,broke,at its entry\n"
                            "b1,un<i>,nylon 12 lb,S1,dry,10.5,broke,at its entry\n";
static const char svg[] = "<svg xmlns=\"http://www.w3.org/2000/svg\"><path d=\"M1 2 3 7\"/></svg>";

static char book[512];
static struct be_site *site;

static void enter(const char *name, const char *text)
{
  char path[512];
  struct be_entering how = {0};
  struct be_doc *doc = NULL;
  test_path(path, name);
  test_write(path, text);
  const char *const paths[] = {path};
  assert_int_equal(be_app_enter(book, paths, 1, &how, &doc, NULL), BE_OK);
  be_doc_free(doc);
}

static int start(void **state)
{
  (void)state;
  struct be_answering how = {0};
  test_book(book, "posted.book", sheet, NULL);
  enter("palomar.svg", svg);
  return be_app_serve(book, NULL, &how, &site, NULL) == BE_OK ? 0 : -1;
}

static int end(void **state)
{
  (void)state;
  be_app_serve_end(site);
  return 0;
}

static struct got send_to(const char *method, const char *address, const char *form)
{
  return send_body(be_app_serve_port(site), method, address, FORM_TYPE, form);
}

static void page_is(const char *address, int status, const char *words)
{
  assert_says(send_to("GET", address, ""), address, status, words);
}

static void post(const char *address, const char *form, int status, const char *words)
{
  assert_says(send_to("POST", address, form), form, status, words);
}

static size_t trials_of_book(void)
{
  struct be_answering how = {0};
  struct survey survey;
  struct be_arena *arena = be_arena_create();
  assert_int_equal(be_survey_read(book, &how, arena, &survey, NULL), BE_OK);
  size_t count = survey.record.trials_count;
  be_arena_free(arena);
  return count;
}

/* ---- line ---- */

static void a_count_is_sent_from_the_line_s_page(void **state)
{
  (void)state;
  page_is("/line?at=0", 200, "<h2 id=\"form-namecount\">Count what is on hand</h2>");
  post("/line?at=0&unit=kg", "on-hand=41.5&counted=2026-11-26", 303,
       "Location: /line?at=0&counted=1&unit=kg\r\n");
  page_is("/line?at=0&counted=1", 200, "<p>The count is in the book.</p>");
  page_is("/lines", 200, ">2026-11-26<");
  page_is("/lines", 200, "41.5");
}

static void a_count_that_is_none_is_said_on_the_page(void **state)
{
  (void)state;
  post("/line?at=0", "on-hand=much&counted=noon", 400, "<p>Nothing was entered: ");
  post("/line?at=0", "on-hand=%3Cb%3E&counted=%3Ci%3E", 400, "value=\"&lt;b&gt;\"");
  post("/line?at=0", "", 400, "does not say how much line there is");
  post("/line?at=9", "on-hand=41.5", 404, "does not hold so many");
  post("/line", "on-hand=41.5", 404, "does not name a line");
  post("/lines", "on-hand=41.5", 405, "nothing can be sent to this page");
  page_is("/lines", 200, ">never<");
  page_is("/line?at=0&from=4", 404, "does not hold so many");
  page_is("/line?at=-1", 404, "does not hold so many");
}

/* ---- knots ---- */

static void a_knot_shows_its_picture(void **state)
{
  (void)state;
  page_is("/knots", 200, "2 compared with another");
  page_is("/knots", 200, "<a href=\"/knot?at=1\">un&lt;i&gt;</a>");
  page_is("/knot?at=0", 200, "alt=\"The palomar, as it is tied\"></p>");
  struct got got = send_to("GET", "/knot?at=0", "");
  const char *at = strstr(got.body, "<img src=\"/picture?of=");
  assert_non_null(at);
  char address[60];
  snprintf(address, sizeof address, "%.*s", (int)strcspn(at + 10, "\""), at + 10);
  free(got.text);
  got = send_to("GET", address, "");
  assert_int_equal(got.status, 200);
  assert_header(&got, "Content-Type: image/svg+xml");
  assert_header(&got, "X-Content-Type-Options: nosniff");
  assert_non_null(strstr(got.text, "Content-Security-Policy: default-src 'none'"));
  assert_string_equal(got.body, svg);
  free(got.text);
  /* What another program passes on is nobody's, and nobody is shown it. */
  char request[300];
  int size = snprintf(request, sizeof request,
                      "GET %s HTTP/1.0\r\nHost: localhost\r\nVia: 1.1 relay\r\n\r\n", address);
  got = ask_at(NULL, be_app_serve_port(site), request, (size_t)size);
  assert_int_equal(got.status, 403);
  assert_null(strstr(got.text, "<path"));
  free(got.text);
  page_is("/knot?at=1", 200, "no picture");
}

static void what_is_no_picture_is_not_found(void **state)
{
  (void)state;
  static const char *const wrong[] = {"/picture",
                                      "/picture?of=",
                                      "/picture?of=1",
                                      "/picture?of=x",
                                      "/picture?of=-2",
                                      "/picture?of=99999999",
                                      "/picture?of=99999999999999999999",
                                      "/knot",
                                      "/knot?at=2",
                                      "/knot?at=x",
                                      "/knot?at=0&from=1",
                                      "/knot?at=0&from=x"};
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
    page_is(wrong[i], 404, "<h1>Not found</h1>");
  post("/picture?of=2", "", 404, "there is no page");
}

/* ---- plan ---- */

#define ASKED "name=spring+%3C3%3E&knots=palomar&on=S1&specimens=3&tyers=Wren%3B+Sorrel"

/* What the page holds of the plan that it shows. */
static void shown_sum(char sum[20])
{
  struct got got = send_to("GET", "/plan?" ASKED, "");
  const char *at = strstr(got.body, "name=\"shown\" value=\"");
  assert_non_null(at);
  snprintf(sum, 20, "%.16s", at + strlen("name=\"shown\" value=\""));
  free(got.text);
}

static void a_plan_is_worked_out_and_changes_nothing(void **state)
{
  (void)state;
  page_is("/plan", 200, "<h2 id=\"form-name\">Plan a new trial</h2>");
  page_is("/plan?" ASKED, 200, "<h1>Plan of spring &lt;3&gt;</h1>");
  page_is("/plan?" ASKED, 200, "8 specimens: 1 knot in 1 combination, 3 each, and 5 plain lines");
  page_is("/plan?" ASKED, 200, "Nothing is fixed yet, and the book is as it was.");
  page_is("/plan?" ASKED, 200, "as they stand: 12 rules and 8 specimens");
  page_is("/plan?" ASKED, 200, "\ntrial,specimen,block,order,design,knot,");
  page_is("/plan?" ASKED, 200, "name=\"tyers\" value=\"Wren; Sorrel\"");
  assert_int_equal(trials_of_book(), 0);
}

static void a_plan_that_was_shown_is_fixed(void **state)
{
  (void)state;
  char form[400], sum[20];
  shown_sum(sum);
  snprintf(form, sizeof form, "%s&shown=%s", ASKED, sum);
  post("/plan?unit=kg", form, 303, "Location: /plan?trial=0&fixed=1&unit=kg\r\n");
  page_is(
      "/plan?trial=0&fixed=1", 200,
      "<p>The trial spring &lt;3&gt; is fixed: 8 specimens and their rules are in the book.</p>");
  page_is("/plan?trial=0", 200, "<a href=\"/bench\">the next specimen, at the bench</a>");
  page_is("/plan?trial=0", 200, "<a href=\"/labels?trial=0\">");
  page_is("/plan?" ASKED, 200, "It was fixed before, just so.");
  page_is("/plan?" ASKED "&plain=7", 400, "is fixed already, and not as this plan");
  page_is("/plan?" ASKED "&grip=void", 400, "with the rule");
  /* Sent twice it is one plan. */
  post("/plan", form, 303, "Location: /plan?trial=0&fixed=1\r\n");
  assert_int_equal(trials_of_book(), 1);
}

static void a_plan_that_was_not_shown_is_not_fixed(void **state)
{
  (void)state;
  char form[400], sum[20];
  shown_sum(sum);
  post("/plan", ASKED, 409, "<p>Nothing was fixed: the book has changed since this plan was shown");
  snprintf(form, sizeof form, "name=spring+%%3C3%%3E&knots=palomar&on=S1&specimens=4&shown=%s",
           sum);
  post("/plan", form, 409, "look at it again, as it is now, and fix that.</p>");
  enter("posted-more.csv",
        "specimen,knot,line A,spool A,soak,free length (mm),load (lb)\nc1,palomar,nylon 12 lb,S1,"
        "dry,731,12.2\n");
  snprintf(form, sizeof form, "%s&shown=%s", ASKED, sum);
  post("/plan", form, 409, "Nothing was fixed");
  assert_int_equal(trials_of_book(), 0);
  shown_sum(sum);
  snprintf(form, sizeof form, "%s&shown=%s", ASKED, sum);
  post("/plan", form, 303, "Location: /plan?trial=0&fixed=1\r\n");
  assert_int_equal(trials_of_book(), 1);
}

static void what_cannot_be_planned_is_said_above_the_form(void **state)
{
  (void)state;
  page_is("/plan?knots=palomar&on=S1", 400, "a trial has a name");
  page_is("/plan?knots=palomar&on=S1", 400,
          "name=\"knots\" autocomplete=\"off\" value=\"palomar\"");
  page_is("/plan?name=may&knots=bowline&on=S1", 400, "bowline");
  page_is("/plan?name=may", 400, "a new trial takes knots");
  page_is("/plan?name=may&knots=palomar&on=S1&specimens=2.5", 400, "takes a whole number");
  page_is("/plan?name=may&knots=palomar&on=S1&within=nan", 400, "within takes a number from");
  page_is("/plan?name=may&knots=palomar&on=S1&specimens=3&within=4", 400, "give one of the three");
  page_is("/plan?name=may&knots=palomar&on=S1&specimens=2500&plain=2500", 400, "more than the");
  page_is("/plan?name=may&knots=palomar&on=S1&grip=hope", 400, "cannot be &quot;hope&quot;");
  page_is("/plan?name=a%0Ab&knots=palomar&on=S1", 400, "on one line");
  page_is("/plan?trial=x", 404, "does not name a trial");
  post("/plan", "name=may&knots=bowline&on=S1&shown=0", 400, "<h1>Cannot be asked</h1>");
}

int main(void)
{
#define on_a_site(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      on_a_site(a_count_is_sent_from_the_line_s_page),
      on_a_site(a_count_that_is_none_is_said_on_the_page),
      on_a_site(a_knot_shows_its_picture),
      on_a_site(what_is_no_picture_is_not_found),
      on_a_site(a_plan_is_worked_out_and_changes_nothing),
      on_a_site(a_plan_that_was_shown_is_fixed),
      on_a_site(a_plan_that_was_not_shown_is_not_fixed),
      on_a_site(what_cannot_be_planned_is_said_above_the_form),
  };
  return be_tests("app: posted", tests);
}
