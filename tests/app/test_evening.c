/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is the same for an evening: told once at the bench, and in each pull's record. */
#define _POSIX_C_SOURCE 200809L
#include "app_test.h"
#include "web/client.h"

#include "app/live/live.h"

static const char sheet[] =
    "specimen,knot,line A,soak,session,temperature (C),grips,tyer,load (lb)\n"
    "p1,none,nylon 12 lb,dry,2026-03-01,11.5,clamps,,13.2\n"
    "a1,palomar,nylon 12 lb,dry,2026-03-01,11.5,clamps,Plover,12.5\n";
static const char trial[] =
    "trial,specimen,order,knot,line A,soak,tyer,speed,grips,temperature (C),lubricant\n"
    "may,M1,1,palomar,nylon 12 lb,60 min,Plover,250,,30,\n"
    "may,M2,2,palomar,nylon 12 lb,,,,,,\n"
    "may,M3,3,none,nylon 12 lb,dry,,,,,\n";

static char book[512];
static struct be_site *site;

static int start(void **state)
{
  (void)state;
  char path[512], journal[520];
  struct be_answering how = {0};
  struct be_entering entering = {0};
  struct be_doc *doc = NULL;
  test_book(book, "evening.book", sheet, NULL);
  snprintf(journal, sizeof journal, "%s.live", book);
  be_file_remove(journal, NULL);
  test_path(path, "evening-trial.csv");
  test_write(path, trial);
  const char *const paths[] = {path};
  assert_int_equal(be_app_enter(book, paths, 1, &entering, &doc, NULL), BE_OK);
  be_doc_free(doc);
  return be_app_serve(book, NULL, &how, &site, NULL) == BE_OK ? 0 : -1;
}

static int end(void **state)
{
  (void)state;
  be_app_serve_end(site);
  return 0;
}

static struct got look_at(const char *address)
{
  return send_body(be_app_serve_port(site), "GET", address, FORM_TYPE, "");
}

static void post(const char *form, int status, const char *words)
{
  assert_says(send_body(be_app_serve_port(site), "POST", "/bench", FORM_TYPE, form), form, status,
              words);
}

static void bench_says(const char *words)
{
  assert_says(look_at("/bench"), "/bench", 200, words);
}

static void page_lacks(const char *address, const char *words)
{
  struct got got = look_at(address);
  if (strstr(got.body, words)) fail_msg("%s says %s", address, words);
  free(got.text);
}

/* One pull, from the step given; what else is told of the specimen. */
static void pull(int step, const char *specimen)
{
  char form[300];
  snprintf(form, sizeof form, "step=%d&do=choose&specimen=%s", step, specimen);
  post(form, 303, "Location");
  snprintf(form, sizeof form, "step=%d&do=guard", step + 1);
  post(form, 303, "Location");
  snprintf(form, sizeof form, "step=%d&do=answer&load=12.9+lb&what=broke", step + 2);
  post(form, 303, "Location");
}

#define EVENING                                                                                    \
  "do=evening&temperature=19.5+C&humidity=51&grips=bollards&speed=500&free+length=450&soak=dry&"   \
  "water=&tyer=Wren&lubricant=water&seating+load=2+lb&judged+by=Tern"

static struct be_pull pull_of(const char *code, struct be_arena *arena)
{
  struct be_book *opened = NULL;
  struct be_record record;
  assert_int_equal(be_book_open(book, false, &opened, NULL), BE_OK);
  assert_int_equal(be_book_read(opened, arena, &record, NULL), BE_OK);
  be_book_close(opened);
  for (size_t i = 0; i < record.pulls_count; i++)
    if (strcmp(record.pulls[i].code, code) == 0) return record.pulls[i];
  fail_msg("no pull %s", code);
  return (struct be_pull){0};
}

static void every_pull_has_it_but_where_its_plan_tells_more(void **state)
{
  (void)state;
  struct be_arena *arena = be_arena_create();
  bench_says("is not told yet: tell it once, below.");
  post("step=0&" EVENING, 303, "Location: /bench\r\n");
  bench_says(
      "Told of every pull: temperature: 19.5 C; humidity: 51; grips: bollards; speed: 500; ");
  page_lacks("/bench", "is not told yet");
  pull(1, "M1");
  pull(4, "M2");
  pull(7, "M3");
  pull(10, "x1&knot=palomar&line+A=nylon+12+lb&tyer=Plover&soak=30+min");
  struct be_pull got = pull_of("M1", arena);
  assert_near(got.handling[BE_HANDLED_TEMPERATURE].number, 292.65, 1e-9); /* the plan guessed */
  assert_string_equal(got.handling[BE_HANDLED_GRIPS].text, "bollards");
  assert_near(got.soak_s, 3600, 0);
  assert_string_equal(got.tyer, "Plover");
  assert_near(got.speed_m_s * 60000, 250, 1e-9);
  assert_near(got.length_m, 0.45, 1e-12);
  assert_string_equal(got.judged_by, "Tern");
  got = pull_of("M2", arena);
  assert_int_equal(got.soak, BE_SOAK_DRY);
  assert_string_equal(got.tyer, "Wren");
  assert_string_equal(got.lubricant, "water");
  assert_near(got.speed_m_s * 60000, 500, 1e-9);
  assert_near(got.handling[BE_HANDLED_HUMIDITY].number, 0.51, 1e-12);
  assert_near(got.handling[BE_HANDLED_SEATING].number, 2 * 0.45359237 * 9.80665, 1e-9);
  got = pull_of("M3", arena); /* a plain line is not tied */
  assert_null(got.tyer);
  assert_null(got.lubricant);
  assert_true(isnan(got.handling[BE_HANDLED_SEATING].number));
  assert_string_equal(got.handling[BE_HANDLED_GRIPS].text, "bollards");
  got = pull_of("x1", arena);
  assert_string_equal(got.tyer, "Plover");
  assert_near(got.soak_s, 1800, 0);
  be_arena_free(arena);
}

static void it_stays_until_it_is_changed(void **state)
{
  (void)state;
  struct be_arena *arena = be_arena_create();
  post("step=0&" EVENING, 303, "Location");
  pull(1, "M2");
  post("step=4&do=evening&temperature=15+C&soak=90+min&water=salt&tyer=Plover", 303, "Location");
  pull(5, "x1&knot=palomar&line+A=nylon+12+lb");
  struct be_pull got = pull_of("x1", arena);
  assert_near(got.handling[BE_HANDLED_TEMPERATURE].number, 288.15, 1e-9);
  assert_string_equal(got.handling[BE_HANDLED_WATER].text, "salt");
  assert_string_equal(got.tyer, "Plover");
  assert_null(got.handling[BE_HANDLED_GRIPS].text);
  /* A program that starts again on that day goes on with it. */
  struct be_answering how = {0};
  be_app_serve_end(site);
  assert_int_equal(be_app_serve(book, NULL, &how, &site, NULL), BE_OK);
  bench_says("Told of every pull: temperature: 15 \u00B0C; soak: 90 min; water: salt; "
             "tyer: Plover.");
  pull(0, "x2&knot=palomar&line+A=nylon+12+lb");
  assert_string_equal(pull_of("x2", arena).tyer, "Plover");
  be_arena_free(arena);
}

/* Another day's is only shown, and its air is not. */
static void another_day_is_proposed(void **state)
{
  (void)state;
  bench_says("Filled in as on 2026-03-01.");
  bench_says("name=\"tyer\" autocomplete=\"off\" value=\"Plover\"");
  bench_says("id=\"e-grips\" name=\"grips\" autocomplete=\"off\" value=\"clamps\"");
  page_lacks("/bench", "value=\"11.5");
  struct be_arena *arena = be_arena_create();
  pull(0, "M2");
  assert_null(pull_of("M2", arena).handling[BE_HANDLED_GRIPS].text);
  be_arena_free(arena);
}

static void what_no_sheet_takes_is_refused_at_once(void **state)
{
  (void)state;
  post("step=0&do=evening&temperature=19&grips=bollards", 400,
       "&quot;19&quot; has no unit; write &quot;21 C&quot;");
  post("step=0&do=evening&temperature=19&grips=bollards", 400,
       "id=\"e-grips\" name=\"grips\" autocomplete=\"off\" value=\"bollards\"");
  post("step=0&do=evening&humidity=120", 400, "is above 100 %");
  post("step=0&do=evening&soak=damp", 400, "write dry, soaked, or how long");
  post("step=0&do=evening&tyer=0123456789012345678901234567890123456789012345678901234567890123",
       400, "takes 63 bytes at most");
  post("step=1&do=evening&soak=dry", 409, "the bench has gone on");
  bench_says("is not told yet");
  post("step=0&do=choose&specimen=M2", 303, "Location");
  post("step=1&do=evening&soak=dry", 409, "the bench has gone on");
}

#define on_a_site(test) cmocka_unit_test_setup_teardown(test, start, end)

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_site(every_pull_has_it_but_where_its_plan_tells_more),
      on_a_site(it_stays_until_it_is_changed),
      on_a_site(another_day_is_proposed),
      on_a_site(what_no_sheet_takes_is_refused_at_once),
  };
  return be_tests("app: an evening", tests);
}
