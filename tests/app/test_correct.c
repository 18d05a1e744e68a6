/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A pull corrected on its page, and the Book page's form, as a browser without script sends them.
 */
#define _POSIX_C_SOURCE 200809L
#include "app_test.h"
#include "web/client.h"

static const char sheet[] =
    "specimen,knot,line A,soak,load (lb),what,where,result,reason,judged by,note,photo\n"
    "p1,none,nylon 12 lb,dry,13.2,broke,clear of it,,,,,\n"
    "\"a \"\"1\"\"\",palomar,nylon 12 lb,dry,\"12,5\",broke,grip,,,Wren,left "
    "<hook>,a<1>.jpg;b.jpg\n"
    "v1,palomar,nylon 12 lb,dry,11.5,broke,in the knot,void,mis-tied,,,\n";

static char book[512];
static struct be_site *site;

static int open_at(const struct be_serving *serving)
{
  struct be_answering how = {0};
  test_book(book, "correct.book", sheet, NULL);
  return be_app_serve(book, serving, &how, &site, NULL) == BE_OK ? 0 : -1;
}

static int start(void **state)
{
  (void)state;
  return open_at(NULL);
}

static int end(void **state)
{
  (void)state;
  be_app_serve_end(site);
  return 0;
}

static struct got send_from(const char *origin, const char *method, const char *address,
                            const char *form)
{
  char request[4000];
  int length =
      snprintf(request, sizeof request,
               "%s %s HTTP/1.1\r\nHost: localhost:%u\r\nConnection: close\r\n%s"
               "Content-Type: application/x-www-form-urlencoded\r\n"
               "Content-Length: %zu\r\n\r\n%s",
               method, address, (unsigned)be_app_serve_port(site), origin, strlen(form), form);
  return ask_at(NULL, be_app_serve_port(site), request, (size_t)length);
}

static void replies(struct got got, int status, const char *words)
{
  if (got.status != status || !strstr(got.text, words))
    print_error("%d, without \"%s\":\n%.4000s\n", got.status, words, got.text);
  assert_int_equal(got.status, status);
  assert_non_null(strstr(got.text, words));
  free(got.text);
}

static void post(const char *address, const char *form, int status, const char *words)
{
  replies(send_from("", "POST", address, form), status, words);
}

static void page_says(const char *address, const char *words)
{
  replies(send_from("", "GET", address, ""), 200, words);
}

static void is_sound(void)
{
  struct be_book *opened;
  struct be_book_check checked;
  struct be_err err = {0};
  assert_int_equal(be_book_open(book, false, &opened, NULL), BE_OK);
  enum be_status status = be_book_check(opened, &checked, &err);
  if (status != BE_OK) print_error("%s\n", err.what);
  assert_int_equal(status, BE_OK);
  be_book_close(opened);
}

static void the_form_has_what_the_book_has(void **state)
{
  (void)state;
  page_says("/pull/2",
            "<form method=\"post\">\n<input type=\"hidden\" name=\"do\" value=\"correct\">");
  page_says("/pull/2", "name=\"corrects\" value=\"2\"");
  page_says("/pull/2", "name=\"load\" autocomplete=\"off\" value=\"12.5 lb\">");
  page_says("/pull/2", "<option value=\"grip\" selected>grip</option>");
  page_says("/pull/2", "<option value=\"\" selected>by the rules</option>");
  page_says("/pull/2", "name=\"judged by\" autocomplete=\"off\" value=\"\" required>");
  page_says("/pull/2", "name=\"note\" autocomplete=\"off\" value=\"left &lt;hook&gt;\"");
  page_says("/pull/2", "name=\"correction\" autocomplete=\"off\" value=\"\" required>");
  page_says("/pull/2", ">a&lt;1&gt;.jpg</td>");
  page_says("/pull/2", "the files stay where they are");
  page_says("/pull/3", "<option value=\"void\" selected>void</option>");
  page_says("/pull/3", "name=\"reason\" autocomplete=\"off\" value=\"mis-tied\"");
}

static void a_correction_goes_before_the_old_result(void **state)
{
  (void)state;
  post("/pull/2",
       "corrects=2&correction=seen+on+the+clip&load=12.7+lb&what=broke&where=in+the+knot&which="
       "line+A&result=&reason=&judged+by=Tern&note=",
       303, "Location: /pull/2\r\n");
  page_says("/pull/2", "The palomar held 12.7 lb; what let go: broke, where: in the knot, which: "
                       "line A.");
  page_says("/pull/2", "Corrected 1 time");
  page_says("/pull/2", ">seen on the clip</td></tr>");
  page_says("/pull/2", ">Wren</td>");
  page_says("/pull/2", ">Tern</td>");
  page_says("/pull/2", ">a&lt;1&gt;.jpg</td>");
  page_says("/pulls?corrections=with", "1 of the 3 pulls of the book match (with corrections)");
  post("/pull/2?unit=kg", "corrects=4&correction=back&load=12.5+lb&what=broke&where=grip", 303,
       "Location: /pull/2?unit=kg\r\n");
  /* The same again, of the newer result: another correction, not the same file. */
  post("/pull/2", "corrects=5&correction=back&load=12.5+lb&what=broke&where=grip", 303, "Location");
  page_says("/pull/2", "Corrected 3 times");
  page_says("/pull/2", "The palomar held at least 12.5 lb");
  post("/pull/3", "corrects=3&correction=it+was+fine&load=11.5+lb&what=broke&where=in+the+knot",
       303, "Location");
  page_says("/pull/3", "The palomar held 11.5 lb; what let go: broke, where: in the knot.");
  is_sound();
}

static void an_old_form_is_refused(void **state)
{
  (void)state;
  post("/pull/1", "corrects=1&correction=first&load=13.4+lb", 303, "Location");
  post("/pull/1", "corrects=1&correction=second&load=13.6+lb&note=mine", 409,
       "<p>Not corrected: the result of specimen &quot;p1&quot; was corrected meanwhile; look at "
       "what it is now, then correct that.</p>");
  /* What was typed is not lost, and the form is of the newest result. */
  post("/pull/1", "corrects=1&correction=second&load=13.6+lb&note=mine", 409,
       "name=\"load\" autocomplete=\"off\" value=\"13.6 lb\">");
  post("/pull/1", "corrects=1&correction=second&load=13.6+lb", 409,
       "name=\"corrects\" value=\"4\"");
  page_says("/pull/1", "held 13.4 lb; what let go is not recorded.");
  is_sound();
}

static void what_is_wrong_is_said_on_the_page(void **state)
{
  (void)state;
  post("/pull/1", "corrects=1&load=13.4+lb", 400,
       "<p>Not corrected: a correction needs its reason");
  post("/pull/1", "corrects=1&load=13.4+lb&correction=++", 400, "needs its reason");
  post("/pull/1", "correction=x&load=13.4+lb", 409, "does not say which result");
  post("/pull/1", "corrects=1x&correction=x&load=13.4+lb", 409, "does not say which result");
  post("/pull/1", "corrects=0&correction=x&load=13.4+lb", 409, "does not say which result");
  post("/pull/1", "corrects=99999999999999999999&correction=x", 409, "does not say which");
  post("/pull/1", "corrects=2&correction=x&load=13.4+lb", 409, "was corrected meanwhile");
  post("/pull/1", "corrects=1&correction=x&load=", 400, "there is no load");
  post("/pull/1", "corrects=1&correction=x&load=13.4", 400, "unit");
  post("/pull/1", "corrects=1&correction=x&load=weak", 400, "Not corrected: ");
  post("/pull/1", "corrects=1&correction=x&load=0+lb", 400, "above zero");
  post("/pull/1", "corrects=1&correction=x&load=13+lb&what=%3Cb%3E", 400, "&lt;b&gt;");
  post("/pull/1", "corrects=1&correction=x&load=13+lb&which=knot+B", 400, "has no knot B");
  post("/pull/1", "corrects=1&correction=x&result=void", 400, "a void needs its reason");
  post("/pull/1", "corrects=1&correction=x&load=13+lb&note=a%0Ab", 400, "must be one line");
  post("/pull/9", "corrects=1&correction=x", 404, "there is no such pull");
  post("/pulls", "corrects=1&correction=x", 405, "nothing can be sent to this page");
  page_says("/pull/1", "held 13.2 lb");
  replies(send_from("", "GET", "/pulls?what=%3Cb%3E", ""), 400,
          "what does not take &quot;&lt;b&gt;&quot;");
  replies(send_from("", "GET", "/pulls?session=2026-03-01..x", ""), 400,
          "name=\"session\" autocomplete=\"off\" value=\"2026-03-01..x\"");
  is_sound();
}

static void how_it_was_handled_is_told_later(void **state)
{
  (void)state;
  page_says("/pull/2", "<summary>How it was tied, gripped and pulled</summary>");
  page_says("/pull/2", "name=\"soak\" autocomplete=\"off\" value=\"dry\"");
  post("/pull/2", "do=handle&temperature=18.5+C&grips=bollards&tyer=&soak=dry&reason=", 303,
       "Location: /pull/2\r\n");
  page_says("/pull/2", ">18.5 \u00B0C</td>");
  page_says("/pull/2", ">bollards</td>");
  page_says("/pull/2", "The palomar held at least 12.5 lb");
  struct got got = send_from("", "GET", "/pull/2", "");
  assert_null(strstr(got.text, "What was told anew"));
  free(got.text);
  is_sound();
}

static void what_was_told_is_told_anew_with_its_reason(void **state)
{
  (void)state;
  char seen[17], form[300];
  post("/pull/2", "do=handle&soak=90+min&tyer=Wren", 400,
       "<p>Not kept: soak is on record as &quot;dry&quot;; say why it is changed.</p>");
  post("/pull/2", "do=handle&soak=90+min&tyer=Wren", 400, "<details open><summary>How it was tied");
  post("/pull/2", "do=handle&soak=90+min&tyer=Wren", 400,
       "name=\"tyer\" autocomplete=\"off\" value=\"Wren\"");
  /* The reason of this form is not that of the other. */
  post("/pull/3", "do=handle&soak=damp&reason=a+slip", 400,
       "name=\"reason\" autocomplete=\"off\" value=\"mis-tied\"");
  struct got got = send_from("", "GET", "/pull/2", "");
  const char *at = strstr(got.text, "name=\"seen\" value=\"");
  assert_non_null(at);
  snprintf(seen, sizeof seen, "%s", at + strlen("name=\"seen\" value=\""));
  free(got.text);
  snprintf(form, sizeof form,
           "do=handle&seen=%s&soak=90+min&tyer=Wren&reason=a+slip&judged+by=Tern", seen);
  post("/pull/2", form, 303, "Location");
  static const char *const told[] = {"What was told anew of how it was handled", ">dry</td>",
                                     ">90 min</td>", ">a slip</td>", ">Tern</td>"};
  for (size_t i = 0; i < sizeof told / sizeof told[0]; i++) page_says("/pull/2", told[i]);
  post("/pull/2", form, 409, "was told meanwhile; look at what it is now");
  /* Back and forth with the same words: each time another file. */
  post("/pull/2", "do=handle&soak=dry&reason=no", 303, "Location");
  post("/pull/2", "do=handle&soak=90+min&reason=no", 303, "Location");
  post("/pull/2", "do=handle&soak=dry&reason=no", 303, "Location");
  post("/pull/2", "do=handle&soak=dry", 400, "nothing was told that is not on record");
  post("/pull/2", "do=handle&soak=", 400, "is on record as &quot;dry&quot; and cannot be emptied");
  post("/pull/2", "do=handle&temperature=18", 400, "Not kept: ");
  post("/pull/9", "do=handle&soak=dry", 404, "there is no such pull");
  is_sound();
}

/* A page of another site cannot send it. */
static void another_origin_is_refused(void **state)
{
  (void)state;
  static const char form[] = "corrects=1&correction=x&load=13.4+lb";
  char own[100];
  replies(send_from("Origin: http://example.org\r\n", "POST", "/pull/1", form), 403, "");
  replies(send_from("Origin: null\r\n", "POST", "/pull/1", form), 403, "");
  page_says("/pull/1", "held 13.2 lb");
  snprintf(own, sizeof own, "Origin: http://localhost:%u\r\n", (unsigned)be_app_serve_port(site));
  replies(send_from(own, "POST", "/pull/1", form), 303, "Location");
}

#define on_a_site(test) cmocka_unit_test_setup_teardown(test, start, end)

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_site(the_form_has_what_the_book_has),
      on_a_site(a_correction_goes_before_the_old_result),
      on_a_site(an_old_form_is_refused),
      on_a_site(what_is_wrong_is_said_on_the_page),
      on_a_site(how_it_was_handled_is_told_later),
      on_a_site(what_was_told_is_told_anew_with_its_reason),
      on_a_site(another_origin_is_refused),
  };
  return be_tests("app: corrections", tests);
}
