/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pages as a browser meets them: every page, and every link found in one. */
#define _POSIX_C_SOURCE 200809L
#include "app_test.h"
#include "web/client.h"

enum { LINKS_MAX = 400 };

static const char sheet[] =
    "specimen,knot,line A,soak,load (lb),what,where,trace,result,reason\n"
    "p1,none,nylon 12 lb,dry,13.2,broke,clear of it,,,\n"
    "p2,none,nylon 12 lb,dry,13.6,broke,clear of it,,,\n"
    "p3,none,nylon 12 lb,dry,13.4,broke,clear of it,,,\n"
    "a1,palomar,nylon 12 lb,dry,22.537,broke,at its entry,pages-pull.csv,,\n"
    "a2,palomar,nylon 12 lb,dry,12.6,broke,in the knot,,,\n"
    "b1,clinch,nylon 12 lb,dry,10.1,slipped out,,,,\n"
    "b2,clinch,nylon 12 lb,dry,11.9,broke,in the knot,,,\n"
    "c1,uni,nylon 12 lb,dry,25.2,broke,in the knot,pages-swapped.csv,,\n"
    "c2,uni,nylon 12 lb,dry,,broke,in the knot,pages-third.csv,,\n"
    "c3,uni,nylon 12 lb,dry,,,,,void,not tied as drawn\n";

static const char correction[] =
    "specimen,knot,line A,soak,load (lb),what,where,correction\n"
    "c2,uni,nylon 12 lb,dry,22.4,broke,in the knot,read from the gauge\n";

static const char trial[] = "trial,specimen,order,block,knot,line A,soak\n"
                            "may <2>,m1,1,1,palomar,nylon 12 lb,dry\n"
                            "may <2>,m2,2,1,uni,nylon 12 lb,dry\n";

static struct be_site *site;
static char book[512];

/* 100 N above a zero of 0.25 N, whatever the name: files must differ to be entered. */
static void write_trace(const char *name, int rows)
{
  char path[512], text[4096];
  size_t used = (size_t)snprintf(text, sizeof text, "time (s),load (N)\n");
  for (int i = 0; i <= rows; i++)
    used += (size_t)snprintf(text + used, sizeof text - used, "%d.0,%.2f\n", i,
                             i < 10 || i == rows ? 0.25 : 100.25 * (i - 9) / (rows - 10));
  test_path(path, name);
  test_write(path, text);
}

static int start(void **state)
{
  (void)state;
  char path[512];
  struct be_answering how = {0};
  struct be_entering entering = {0};
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  write_trace("pages-pull.csv", 60);
  write_trace("pages-swapped.csv", 61);
  write_trace("pages-third.csv", 62);
  test_book(book, "pages.book", sheet, NULL);
  test_path(path, "pages-correction.csv");
  test_write(path, correction);
  char planned[512];
  test_path(planned, "pages-trial.csv");
  test_write(planned, trial);
  const char *const paths[] = {path, planned};
  enum be_status status = be_app_enter(book, paths, 2, &entering, &doc, &err);
  if (status != BE_OK) print_error("%s: %s\n", err.file, err.what);
  assert_int_equal(status, BE_OK);
  be_doc_free(doc);
  return be_app_serve(book, NULL, &how, &site, NULL) == BE_OK ? 0 : -1;
}

static int end(void **state)
{
  (void)state;
  be_app_serve_end(site);
  site = NULL;
  return 0;
}

static struct got load(const char *address)
{
  char request[1000];
  int length = snprintf(request, sizeof request,
                        "GET %s HTTP/1.1\r\nHost: localhost:%u\r\nConnection: close\r\n\r\n",
                        address, (unsigned)be_app_serve_port(site));
  return ask_at(NULL, be_app_serve_port(site), request, (size_t)length);
}

static void page_is(const char *address, int status, const char *words)
{
  struct got got = load(address);
  if (got.status != status || !strstr(got.body, words))
    print_error("%s: %d, without \"%s\":\n%.3000s\n", address, got.status, words, got.body);
  assert_int_equal(got.status, status);
  assert_non_null(strstr(got.body, words));
  free(got.text);
}

static void page_lacks(const char *address, const char *words)
{
  struct got got = load(address);
  assert_int_equal(got.status, 200);
  if (strstr(got.body, words)) print_error("%s says \"%s\"\n", address, words);
  assert_null(strstr(got.body, words));
  free(got.text);
}

/* ---- every link ---- */

struct links {
  char *address[LINKS_MAX];
  size_t count;
};

static void add_link(struct links *links, const char *start_, size_t length)
{
  char *made = calloc(1, length + 1);
  size_t used = 0;
  for (size_t i = 0; i < length; i++) {
    made[used++] = start_[i];
    if (strncmp(start_ + i, "&amp;", 5) == 0) i += 4;
  }
  made[used] = '\0';
  for (size_t i = 0; i < links->count; i++)
    if (strcmp(links->address[i], made) == 0) {
      free(made);
      return;
    }
  assert_true(links->count < LINKS_MAX);
  links->address[links->count++] = made;
}

static void collect(struct links *links, const char *body)
{
  for (const char *at = body; (at = strstr(at, "href=\"/")) != NULL;) {
    at += strlen("href=\"");
    size_t length = strcspn(at, "\"");
    add_link(links, at, length);
    at += length;
  }
}

static void every_link_leads_somewhere(void **state)
{
  (void)state;
  struct links links = {0};
  add_link(&links, "/", 1);
  for (size_t i = 0; i < links.count; i++) {
    struct got got = load(links.address[i]);
    if (got.status != 200) print_error("%s: %d\n", links.address[i], got.status);
    assert_int_equal(got.status, 200);
    if (strcmp(links.address[i], "/style.css") != 0) {
      assert_non_null(strstr(got.body, "</html>"));
      assert_null(strstr(got.body, ">nan"));
      assert_null(strstr(got.body, " nan "));
      assert_null(strstr(got.body, "(null)"));
    }
    collect(&links, got.body);
    free(got.text);
  }
  /* Four places and a sheet, ten pulls, three pairs of knots. */
  assert_in_range(links.count, 18, LINKS_MAX);
  for (size_t i = 0; i < links.count; i++) free(links.address[i]);
}

/* ---- a trial ---- */

static void a_trial_has_its_page_and_its_labels(void **state)
{
  (void)state;
  page_is("/plan", 200, "Trials in the book: 1; not pulled to the end yet: 1.");
  page_is("/plan", 200, "<a href=\"/plan?trial=0\">may &lt;2&gt;</a>");
  page_is("/plan?trial=0", 200, "0 of 2 specimens of the trial may &lt;2&gt; are pulled");
  page_is("/plan?trial=0", 200, "<a href=\"/labels?trial=0\">labels, and what to tie</a>");
  page_is("/labels?trial=0", 200, "<li><strong>m2</strong><span>may &lt;2&gt;</span>");
  page_is("/style.css", 200, ".labels li");
}

/* ---- addresses that are not there ---- */

static void what_is_not_there_is_said(void **state)
{
  (void)state;
  static const char *const wrong[] = {
      "/nowhere",
      "/pull/",
      "/pull/0",
      "/pull/12abc",
      "/pull/-1",
      "/pull/1%2F",
      "/versus?a=x",
      "/versus?a=0&b=x",
      "/cell",
      "/cell?at=x",
      "/cell?at=-1",
      "/cell?at=4711",
      "/versus?a=0&b=0",
      "/versus?b=1",
      "/versus?a=3",
      "/versus?a=0&b=99999999999999999999",
      "/pulls?from=10",
      "/pulls?from=abc",
      "/pulls?from=-1",
      "/pull/99999999999999999999",
      "/strength?unit=ft",
      "/plan?trial=1",
      "/plan?trial=x",
      "/labels",
      "/labels?trial=1",
  };
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    struct got got = load(wrong[i]);
    if (got.status != 404) print_error("%s: %d\n", wrong[i], got.status);
    assert_int_equal(got.status, 404);
    assert_non_null(strstr(got.body, "<h1>Not found</h1>"));
    assert_non_null(strstr(got.body, "This page cannot be shown: "));
    free(got.text);
  }
}

static void a_book_that_vanished_is_said(void **state)
{
  (void)state;
  char away[520];
  snprintf(away, sizeof away, "%s-away", book);
  assert_int_equal(rename(book, away), 0);
  page_is("/strength", 500, "<h1>Something failed</h1>");
  page_is("/pull/1", 500, "there is no such book");
  assert_int_equal(rename(away, book), 0);
  page_is("/strength", 200, "palomar");
}

/* ---- what pages say ---- */

static void any_page_takes_a_unit(void **state)
{
  (void)state;
  page_is("/strength?unit=kg", 200, "(kg)");
  page_is("/strength", 200, "(lb)");
  page_is("/pulls?unit=N", 200, "load (N)");
  page_is("/pull/1?unit=N", 200, "58.7");
  page_is("/?unit=oz", 200, "oz");
  page_is("/?unit=ounces", 200, "<a href=\"/strength?unit=oz\">");
  page_is("/?unit=oz", 200, "<a href=\"/?unit=oz\" aria-current=\"page\">");
  page_is("/versus?unit=oz", 200, "<a href=\"/versus?a=0&amp;b=1&amp;unit=oz\">");
  page_is("/versus", 200, "<a href=\"/versus?a=0&amp;b=1\">");
  page_is("/next", 200, "<h1>What to tie next</h1>");
  page_is("/strength", 200, "<a href=\"/cell?at=0\">");
  page_is("/cell?at=0", 200, "<caption>Its pulls, in the order of testing</caption>");
  page_is("/pulls?unit=stone%20throw", 404, "is not a unit of force");
  page_is("/?factor=turns,soak&unit=kg", 200, "Not held fixed: turns (");
  page_is("/?factor=turns%2Csoak&unit=kg", 200, "<dd>kg</dd>");
}

static void standings_go_by_what_is_asked(void **state)
{
  (void)state;
  page_is("/", 200, "<a href=\"/\" aria-current=\"page\">strength</a>");
  page_is("/", 200, "<a href=\"/?by=slips\">slips</a>");
  page_is("/?by=slips", 200, "Fewest slips first");
  page_is("/?by=slips&unit=kg", 200, "<a href=\"/?by=low&amp;unit=kg\">low end</a>");
  page_is("/?by=low", 200, "<a href=\"/?by=low\" aria-current=\"page\">low end</a>");
  page_is("/?by=held", 200, "By strength when it holds");
  page_is("/?by=", 200, "<a href=\"/\" aria-current=\"page\">strength</a>");
  page_is("/?factor=colour", 400, "&quot;colour&quot;");
  page_is("/?factor=soak,", 400, "Cannot be asked");
  page_is("/?by=luck", 400,
          "standings go by strength, slips, low or held, not by &quot;luck&quot;");
  page_is("/?by=slips&factor=soak", 400, "goes with standings by strength alone");
  page_is("/?since=1999-12-31&factor=soak", 400, "two questions: ask one of them");
  page_is("/?since=1999-12-31&factor=", 200, "autocomplete=\"off\" value=\"1999-12-31\"");
  page_is("/?factor=soak%2C%20turns%20", 200, "<option value=\"soak, turns \" selected>");
  page_is("/?factor=soak", 200, "<option value=\"soak\" selected>soak</option>");
  page_lacks("/", "name=\"factor\"");
  page_lacks("/", ">at least</th>");
  page_lacks("/?by=slips", "<form");
  page_lacks("/strength?by=slips", "Fewest slips first");
  page_lacks("/strength", "Ranked by");
}

static void versus_takes_a_margin_and_a_power(void **state)
{
  (void)state;
  page_is("/versus?a=0&b=1&within=3.5&power=", 200, "within 3.5 points of the line");
  page_is("/versus?a=0&b=1&within=3.5", 200, "name=\"within\" autocomplete=\"off\" value=\"3.5\"");
  page_is("/versus?a=0&b=1&power=93&unit=kg", 200, "have 93 % power");
  page_is("/versus?a=0&b=1&unit=kg", 200, "<input type=\"hidden\" name=\"unit\" value=\"kg\">");
  page_is("/versus?a=0&b=1", 200, "<option value=\"1\" selected>clinch</option>");
  page_is("/versus", 200, "<form method=\"get\" action=\"/versus\">");
  page_is("/versus?a=0&b=1&within=51", 400, "within takes a number from 0.1 to 50");
  page_is("/versus?a=0&b=1&power=1e1x", 400, "<h1>Cannot be asked</h1>");
}

static void next_is_asked_by_a_form(void **state)
{
  (void)state;
  page_is("/next?specimens=3&top=&minutes=&group=", 200, "<p>Tie 3: ");
  page_is("/next?minutes=9.9", 200, "<p>Tie 1: ");
  page_is("/next?minutes=9.9", 200, "name=\"minutes\" autocomplete=\"off\" value=\"9.9\"");
  page_is("/next?between=palomar&and=clinch", 200, "Asked is which is the stronger");
  page_is("/next?between=palomar&and=clinch", 200, "<option value=\"clinch\" selected>");
  page_is("/next?between=palomar&and=", 400, "a pair takes two knots");
  page_is("/next?specimens=3&minutes=9", 400, "cannot both be given");
  page_is("/next?specimens=3&minutes=9", 400, "autocomplete=\"off\" value=\"9\"");
  page_is("/next?specimens=2.5", 400, "autocomplete=\"off\" value=\"2.5\"");
  page_is("/next?specimens=2.5", 400, "specimens takes a whole number, not &quot;2.5&quot;");
  page_is("/next?top=0", 400, "top takes a number from 1 to 1000");
  page_is("/next?metres=much", 400, "metres takes a number from 0.1 to 1000");
  page_is("/next?group=%3Cb%3E", 400, "no group of knots has &quot;&lt;b&gt;&quot; in its name");
}

static void standings_say_what_moved(void **state)
{
  (void)state;
  page_is("/", 200, "Since pages-correction.csv (0 pulls, 1 correction): ");
  page_is("/", 200,
          "<caption>Figures alone: within their ranges, nothing real has changed</caption>");
  page_is("/?since=pages-correction.csv&unit=kg", 200, "1 correction of its own (-");
  page_is("/?since=1999-12-31%2007%3A45", 200, "Before 1999-12-31 07:45 the book held no pull");
  page_is("/?since=pages", 400, "&quot;pages&quot; is neither a file that was entered nor a date");
  page_is("/?since=pages", 400, "give a date such as 2026-10-01");
}

static void pulls_are_counted_from_one(void **state)
{
  (void)state;
  page_is("/pulls", 200, "The book holds 10 pulls; these are 1 to 10,");
  page_is("/pulls?from=9", 200, "these are 10 to 10,");
}

static void findings_lead_to_their_pulls(void **state)
{
  (void)state;
  page_is("/findings", 200, "What cannot be said yet");
  page_is("/findings?at=0", 200, "The figures");
  page_is("/findings?at=999", 404, "there are only");
  page_is("/findings?at=x", 404, "does not hold so many");
  page_is("/findings?at=0&from=9", 404, "pulls behind it");
  page_is("/pulls?knot=0", 200,
          "of the 10 pulls of the book match (the palomar); these are 1 to 2");
  page_is("/pulls?knot=99", 404, "does not hold so many");
  page_is("/pulls?knot=0&from=9", 404, "does not hold so many");
}

/* Findings of more pulls than one page shows, and their pages. */
static void many_pulls_stand_on_several_pages(void **state)
{
  (void)state;
  char many[512];
  struct be_buf text;
  struct be_answering how = {0};
  be_buf_init(&text, 1 << 20);
  be_buf_text(&text, "specimen,knot,line A,line B,soak,what,where,which,load (lb)\n");
  for (int i = 0; i < 207; i++)
    be_buf_format(&text, "w%d,uni,braid 20 lb,nylon 12 lb,dry,B,K,M,%d.7\n", i, 5 + i % 3);
  test_book(many, "many-pulls.book", text.data, NULL);
  be_buf_free(&text);
  struct be_site *kept = site;
  assert_int_equal(be_app_serve(many, NULL, &how, &site, NULL), BE_OK);
  page_is("/findings", 200, "<a href=\"/findings?at=0\">207</a>");
  page_is("/findings?at=0", 200, "<a href=\"/findings?at=0&amp;from=200\">201 to 207</a>");
  page_lacks("/findings?at=0", ">w200<");
  page_is("/findings?at=0&from=200", 200, ">w206<");
  page_lacks("/findings?at=0&from=200", ">w199<");
  page_is("/pulls?knot=0", 200, "<a href=\"/pulls?knot=0&amp;from=200\">201 to 207</a>");
  page_is("/pulls?from=200", 200, ">w206<");
  be_app_serve_end(site);
  site = kept;
}

static void a_load_that_is_not_the_trace_s_is_doubted(void **state)
{
  (void)state;
  /* 22.537 lb is 100.25 N; 25.2 lb typed for it has its digits swapped. */
  page_lacks("/pull/4", "one of them is wrong");
  page_is("/pull/8", 200, "The load typed, 25.2");
  page_is("/pull/8", 200, "one of them is wrong by 12.1 %");
}

static void a_correction_says_what_was_there(void **state)
{
  (void)state;
  page_is("/pull/9", 200, "Corrected 1 time: the newest result holds");
  page_is("/pull/9", 200,
          "read from the gauge</td></tr>\n<tr><th scope=\"row\" class=\"short\">event");
  page_is("/pull/9", 200, ">of the trace</td>");
  page_is("/pull/9", 200, ">first entered</td></tr>\n</tbody>");
  page_lacks("/pull/9", "nan");
}

/* Forty-one knots make 820 pairs: too many to look through. */
static void many_knots_are_chosen_one_by_one(void **state)
{
  (void)state;
  char many[512], text[8192];
  struct be_answering how = {0};
  for (int knots = 40; knots <= 41; knots++) {
    size_t used = (size_t)snprintf(text, sizeof text, "specimen,knot,line A,load (lb)\n");
    for (int i = 0; i < knots; i++)
      used += (size_t)snprintf(text + used, sizeof text - used, "s%d,knot %c%c,nylon 12 lb,%d.7\n",
                               i, 'a' + i / 26, 'a' + i % 26, 5 + i % 3);
    test_book(many, "many.book", text, NULL);
    struct be_site *kept = site;
    assert_int_equal(be_app_serve(many, NULL, &how, &site, NULL), BE_OK);
    if (knots == 40) {
      page_is("/versus", 200, "href=\"/versus?a=38&amp;b=39\"");
    } else {
      page_lacks("/versus", "&amp;b=");
      page_is("/versus", 200, "<a href=\"/versus?a=40\">knot bo</a>");
    }
    page_is("/versus?a=17", 200, "href=\"/versus?a=17&amp;b=39\"");
    page_lacks("/versus?a=17", "b=17\"");
    page_is("/versus?a=17&b=3", 200, "knot ar");
    be_app_serve_end(site);
    site = kept;
  }
}

static void an_empty_book_has_pages(void **state)
{
  (void)state;
  static const char *const all[] = {"/", "/strength", "/versus", "/findings", "/pulls"};
  char empty[512];
  struct be_answering how = {0};
  struct be_site *kept = site;
  test_path(empty, "pages-empty.book");
  be_file_remove(empty, NULL);
  assert_int_equal(be_book_create(empty, NULL), BE_OK);
  assert_int_equal(be_app_serve(empty, NULL, &how, &site, NULL), BE_OK);
  for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) page_is(all[i], 200, "</html>");
  page_is("/pulls", 200, "The book holds no pulls yet.");
  page_is("/pulls?from=1", 404, "does not hold so many");
  be_app_serve_end(site);
  site = kept;
}

/* ---- memory that runs out ---- */

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

/* Whatever allocation is the last that succeeds, the page is whole or it is none. A query that no
 * page reads makes each address one that is not kept. */
static void no_page_is_half_a_page(void **state)
{
  (void)state;
  size_t failed = 0;
  const struct be_allocator scant = {scant_resize, NULL};
  be_allocator_install(&scant);
  for (long most = 0;; most += most / 16 + 1) {
    assert_true(most < 1000000);
    atomic_store(&allocations_left, most);
    char address[64];
    snprintf(address, sizeof address, "/pull/4?never=%ld", most);
    struct got got = load(address);
    if (got.status == 200) assert_non_null(strstr(strstr(got.body, "Keep the corr"), "</html>"));
    else assert_int_equal(got.status, 500);
    assert_true(strlen(got.body) > 20);
    failed += got.status == 500;
    bool done = got.status == 200 && atomic_load(&allocations_left) > 0;
    free(got.text);
    if (done) break;
  }
  assert_true(failed > 50);
  be_allocator_install(NULL);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_trial_has_its_page_and_its_labels),
      cmocka_unit_test(every_link_leads_somewhere),
      cmocka_unit_test(what_is_not_there_is_said),
      cmocka_unit_test(a_book_that_vanished_is_said),
      cmocka_unit_test(any_page_takes_a_unit),
      cmocka_unit_test(standings_go_by_what_is_asked),
      cmocka_unit_test(versus_takes_a_margin_and_a_power),
      cmocka_unit_test(next_is_asked_by_a_form),
      cmocka_unit_test(standings_say_what_moved),
      cmocka_unit_test(pulls_are_counted_from_one),
      cmocka_unit_test(findings_lead_to_their_pulls),
      cmocka_unit_test(many_pulls_stand_on_several_pages),
      cmocka_unit_test(a_load_that_is_not_the_trace_s_is_doubted),
      cmocka_unit_test(a_correction_says_what_was_there),
      cmocka_unit_test(many_knots_are_chosen_one_by_one),
      cmocka_unit_test(an_empty_book_has_pages),
      cmocka_unit_test(no_page_is_half_a_page),
  };
  cmocka_set_message_output(CM_OUTPUT_TAP);
  return cmocka_run_group_tests_name("app: pages", tests, start, end);
}
