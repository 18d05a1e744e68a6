/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The page of the bench as forms alone, without a rig and without script. */
#define _POSIX_C_SOURCE 200809L
#include "app_test.h"
#include "web/client.h"

static const char sheet[] = "specimen,knot,line A,soak,load (lb),what,where\n"
                            "p1,none,nylon 12 lb,dry,13.2,broke,clear of it\n"
                            "a1,palomar,nylon 12 lb,dry,12.5,broke,at its entry\n";
static const char trial[] = "trial,specimen,order,knot,line A,hardware,soak\n"
                            "may,M1,1,palomar,nylon 12 lb,ring,dry\n"
                            "may,M2,2,clinch,nylon 12 lb,ring,dry\n";

static char book[512];
static struct be_site *site;

static int open_bench(const struct be_serving *serving)
{
  char path[512], journal[520];
  struct be_answering how = {0};
  struct be_entering entering = {0};
  struct be_doc *doc = NULL;
  test_book(book, "bench.book", sheet, NULL);
  snprintf(journal, sizeof journal, "%s.live", book);
  be_file_remove(journal, NULL);
  test_path(path, "bench-trial.csv");
  test_write(path, trial);
  const char *const paths[] = {path};
  assert_int_equal(be_app_enter(book, paths, 1, &entering, &doc, NULL), BE_OK);
  be_doc_free(doc);
  return be_app_serve(book, serving, &how, &site, NULL) == BE_OK ? 0 : -1;
}

static int start(void **state)
{
  (void)state;
  return open_bench(NULL);
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

/* The page says so; what form has it all. */
static void bench_says(const char *words)
{
  assert_says(send_to("GET", "/bench", ""), "/bench", 200, words);
}

static void post(const char *form, int status, const char *words)
{
  assert_says(send_to("POST", "/bench", form), form, status, words);
}

static void a_specimen_goes_from_plan_to_book(void **state)
{
  (void)state;
  bench_says("Next is specimen M1.");
  bench_says("<option>M1</option><option>M2</option>");
  post("step=0&do=choose&specimen=M1", 303, "Location: /bench\r\n");
  bench_says("Specimen M1, nylon 12 lb to ring: put it on the rig.");
  bench_says("<strong>CAUTION</strong>");
  post("step=1&do=guard", 303, "Location: /bench\r\n");
  bench_says("Specimen M1, nylon 12 lb to ring: say what let go.");
  bench_says("name=\"load\"");
  bench_says("name=\"photo\" autocomplete=\"off\" placeholder=\"M1-1.jpg\"");
  bench_says("name=\"clip\" autocomplete=\"off\" placeholder=\"M1-1.mp4\"");
  bench_says("name=\"judged by\"");
  post("step=2&do=answer&load=12.9+lb&what=broke&where=in+the+knot&which=&note=&judged+by=Wren&"
       "photo=M1-1.jpg%3B+M1-2.jpg&clip=",
       303, "Location");
  bench_says("Kept: M1, 12.9 lb, broke, in the knot.");
  bench_says("Next is specimen M2.");
  post("step=3&do=again&what=slipped+out&where=in+the+knot", 303, "Location");
  bench_says("Kept: M1, 12.9 lb, slipped out, in the knot.");
  struct got got = send_to("GET", "/pull/3", "");
  assert_non_null(strstr(got.body, ">M1-2.jpg</"));
  assert_non_null(strstr(got.body, ">Wren</"));
  free(got.text);
}

/* With the answer, or when it is chosen; what is sent later goes before. */
static void how_it_was_handled_is_told_with_the_answer(void **state)
{
  (void)state;
  post("step=0&do=choose&specimen=M1&temperature=19+C&grips=bollards&humidity=51", 303, "Location");
  post("step=1&do=guard", 303, "Location");
  bench_says("name=\"seating load\"");
  bench_says("What is left empty is as it was told before, or planned.");
  post("step=2&do=answer&load=12.9+lb&what=broke&temperature=-300+C", 400, "below absolute zero");
  bench_says("name=\"temperature\" autocomplete=\"off\"");
  post("step=2&do=answer&load=12.9+lb&what=broke&temperature=70+F&seating+load=2+lb&seating+held=5&"
       "tag+end=4&glue=none&tied=2026-03-01&water=salt",
       303, "Location");
  static const char *const told[] = {">21.11 \u00B0C<", ">51 %<", ">bollards<",   ">2 lb<", ">5 s<",
                                     ">4 mm<",          ">none<", ">2026-03-01<", ">salt<"};
  struct got got = send_to("GET", "/pull/3", "");
  for (size_t i = 0; i < sizeof told / sizeof told[0]; i++)
    if (!strstr(got.body, told[i])) fail_msg("no %s", told[i]);
  free(got.text);
  bench_says("value=\"21.11 \u00B0C\"");
  bench_says("value=\"bollards\"");
  got = send_to("GET", "/bench", "");
  assert_null(strstr(got.body, "value=\"2026-03-01\"")); /* when it was tied is its own */
  free(got.text);
}

static void what_cannot_be_done_is_said_on_the_page(void **state)
{
  (void)state;
  post("step=0&do=dance", 409, "does not know how to do &quot;dance&quot;");
  post("step=0&do=guard", 409, "the bench has gone on");
  post("step=0", 409, "does not say what");
  post("step=0&do=choose&specimen=", 400, "needs its code");
  post("step=0&do=choose&specimen=M1", 303, "Location");
  post("step=1&do=guard", 303, "Location");
  post("step=2&do=answer&what=broke", 400, "the load is missing");
  post("step=2&do=answer&load=12.9+lb&what=exploded", 400, "exploded");
  post("step=2&do=answer&load=weak&what=broke", 400, "Not done: ");
  bench_says("say what let go");
  post("step=2&do=answer&result=void&reason=mis-tied", 303, "Location");
  bench_says("Kept: M1, void.");
}

static void a_specimen_of_no_plan_tells_what_it_is(void **state)
{
  (void)state;
  post("step=0&do=choose&specimen=x9&knot=uni&line+A=nylon+12+lb&soak=dry", 303, "Location");
  bench_says("Specimen x9: put it on the rig.");
  post("step=1&do=leave", 303, "Location");
  bench_says("Next is specimen M1.");
  post("step=2&do=choose&specimen=x9&knot=uni&line+A=nylon+12+lb&soak=dry", 303, "Location");
  post("step=3&do=guard", 303, "Location");
  post("step=4&do=answer&load=44+N&what=broke&where=at+its+entry", 303, "Location");
  bench_says("Kept: x9, 9.9 lb, broke, at its entry.");
}

static void a_planned_specimen_tells_its_place_and_its_lines(void **state)
{
  (void)state;
  bench_says("Its lines: nylon 12 lb to ring.");
  bench_says("Trial may, 1 of 2; still to pull: 2.");
  post("step=0&do=choose&specimen=M2&free+length=800+mm&tyer=Wren", 303, "Location");
  bench_says("Tied by Wren.");
  bench_says("Trial may, 2 of 2; still to pull: 2.");
  /* 13.2 lb = 58.7 N x 0.25 x 0.8 m / 2 = 5.9 J; 48 m/s */
  bench_says("About 5.9 J when it lets go: a 5 g swivel would leave at about 48 m/s.");
  bench_says("13.2 lb, nylon 12 lb, as its plain line held");
  bench_says("<details><summary>Which knot it is (leave it closed to judge blind)</summary>\n"
             "<p>clinch</p>");
}

static void hands_stay_off_until_zero(void **state)
{
  (void)state;
  post("step=0&do=choose&specimen=M1", 303, "Location");
  bench_says("hands off until the load reads zero");
  post("step=1&do=guard", 303, "Location");
  bench_says("<strong>CAUTION</strong> Hands off until the load reads zero.");
}

static void what_the_book_lacks_makes_no_energy(void **state)
{
  (void)state;
  post("step=0&do=choose&specimen=x7&knot=uni&line+A=gut+%3Ci%3E", 303, "Location");
  bench_says("the book does not tell which line it is: take it for much.");
  bench_says("<strong>CAUTION</strong>");
}

static void a_load_without_a_unit_takes_that_of_the_page(void **state)
{
  (void)state;
  post("step=0&do=choose&specimen=M1", 303, "Location");
  post("step=1&do=guard", 303, "Location");
  bench_says("<input type=\"hidden\" name=\"unit\" value=\"lb\">");
  bench_says("A load typed without its unit is taken as lb.");
  post("step=2&do=answer&load=12.9&what=broke", 400, "has no unit");
  post("step=2&do=answer&load=12.9&unit=furlong&what=broke", 400, "has no unit");
  post("step=2&do=answer&load=12.9&unit=mm&what=broke", 400, "has no unit");
  post("step=2&do=answer&load=57+N&unit=lb&what=broke", 303, "Location");
  bench_says("Kept: M1, 12.8 lb");
  post("step=3&do=choose&specimen=M2", 303, "Location");
  post("step=4&do=guard", 303, "Location");
  post("step=5&do=answer&load=12.9&unit=lb&what=broke", 303, "Location");
  bench_says("Kept: M2, 12.9 lb");
}

static void the_next_is_filled_in_as_the_last_was(void **state)
{
  (void)state;
  bench_says("name=\"knot\" autocomplete=\"off\" list=\"knots\">");
  post("step=0&do=choose&specimen=x1&knot=%22un%3Ci&turns=5&line+A=nylon+12+lb&soak=90+min&"
       "speed=240+mm%2Fmin&free+length=450+mm&tyer=Wren&bench=shed",
       303, "Location");
  post("step=1&do=guard", 303, "Location");
  post("step=2&do=answer&load=44+N&what=broke", 303, "Location");
  bench_says("Filled in as the last one was.");
  bench_says("list=\"knots\" value=\"&quot;un&lt;i\">");
  bench_says("name=\"turns\" autocomplete=\"off\" value=\"5\">");
  bench_says("name=\"soak\" autocomplete=\"off\" value=\"90 min\">");
  bench_says("name=\"speed\" autocomplete=\"off\" value=\"240 mm/min\">");
  bench_says("name=\"free length\" autocomplete=\"off\" value=\"450 mm\">");
  bench_says("name=\"bench\" autocomplete=\"off\" value=\"shed\">");
}

static void names_are_markup_to_nobody(void **state)
{
  (void)state;
  post("step=0&do=choose&specimen=%3Cb%3E%22&knot=uni&line+A=nylon+12+lb", 303, "Location");
  bench_says("Specimen &lt;b&gt;&quot;: put it on the rig.");
}

static void other_pages_take_nothing(void **state)
{
  (void)state;
  struct got got = send_to("POST", "/strength", "a=b");
  assert_int_equal(got.status, 405);
  assert_header(&got, "Allow: GET, HEAD");
  assert_non_null(strstr(got.body, "nothing can be sent to this page"));
  free(got.text);
  got = send_to("GET", "/bench.js", "");
  assert_int_equal(got.status, 200);
  assert_header(&got, "Content-Type: text/javascript; charset=utf-8");
  free(got.text);
}

/* Scripts come from their folders, and nothing else does. */
static void scripts_are_told_by_name(void **state)
{
  (void)state;
  static const char *const there[] = {"/knots.js", "/space.js", "/pad/pad.js", "/pad/notation.js"};
  static const char *const none[] = {"/none.js", "/pad/none.js", "/.js", "/demo/knots.csv"};
  for (size_t i = 0; i < sizeof there / sizeof there[0]; i++) {
    struct got got = send_to("GET", there[i], "");
    assert_int_equal(got.status, 200);
    assert_header(&got, "Content-Type: text/javascript; charset=utf-8");
    assert_non_null(strstr(got.body, "port"));
    free(got.text);
  }
  for (size_t i = 0; i < sizeof none / sizeof none[0]; i++) {
    struct got got = send_to("GET", none[i], "");
    assert_int_equal(got.status, 404);
    free(got.text);
  }
}

static void a_rig_that_is_none_is_refused(void **state)
{
  (void)state;
  char path[512];
  struct be_answering how = {0};
  struct be_err err = {0};
  test_path(path, "bench-rigs");
  test_write(path, "[shed]\nsource = steam\n");
  const struct be_serving serving = {.rig_path = path};
  assert_int_equal(be_app_serve(book, &serving, &how, &site, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "steam"));
  const struct be_serving missing = {.rig_path = "no-such-file"};
  assert_int_equal(be_app_serve(book, &missing, &how, &site, &err), BE_BAD_INPUT);
}

int main(void)
{
#define benched(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      benched(a_specimen_goes_from_plan_to_book),
      benched(how_it_was_handled_is_told_with_the_answer),
      benched(what_cannot_be_done_is_said_on_the_page),
      benched(a_specimen_of_no_plan_tells_what_it_is),
      benched(a_planned_specimen_tells_its_place_and_its_lines),
      benched(hands_stay_off_until_zero),
      benched(what_the_book_lacks_makes_no_energy),
      benched(a_load_without_a_unit_takes_that_of_the_page),
      benched(the_next_is_filled_in_as_the_last_was),
      benched(names_are_markup_to_nobody),
      benched(other_pages_take_nothing),
      benched(scripts_are_told_by_name),
      cmocka_unit_test(a_rig_that_is_none_is_refused),
  };
  return be_tests("app: bench", tests);
}
