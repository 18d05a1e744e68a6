/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What goes wrong at the bench, as its page says it; and that the other pages are served. */
#define _POSIX_C_SOURCE 200809L
#include "fault/bench_trial.h"
#include "test.h"

#include "web/client.h"

#include <errno.h>
#include <sqlite3.h>
#include <unistd.h>

enum { SEED = 4711 };

static struct bench_trial trial;

static int start(void **state)
{
  (void)state;
  bench_start(&trial, SEED);
  bench_restore(&trial);
  return 0;
}

static int stop(void **state)
{
  (void)state;
  bench_stop(&trial);
  return 0;
}

static void says(const char *text, const char *part)
{
  if (!strstr(text, part)) print_error("\"%s\" is not in: %s\n", part, text);
  assert_non_null(strstr(text, part));
}

static void fail_all(enum call_kind kind, const char *ending, int code)
{
  failing_calls = (struct failing_calls){
      .kind = kind, .end = CALL_FAILS_FOR_EVER, .at = 1, .code = code, .ending = ending};
}

static void well_again(void)
{
  failing_calls = (struct failing_calls){.at = 0};
}

static sqlite3 *hold_book(void)
{
  sqlite3 *other = NULL;
  assert_int_equal(sqlite3_open(trial.book, &other), SQLITE_OK);
  sqlite3_busy_timeout(other, 20000); /* pages may be made of it just now */
  assert_int_equal(sqlite3_exec(other, "BEGIN EXCLUSIVE", NULL, NULL, NULL), SQLITE_OK);
  return other;
}

static struct be_site *site;

static struct got send_to(const char *method, const char *address, const char *form)
{
  return send_body(be_app_serve_port(site), method, address, FORM_TYPE, form);
}

static void page_says(const char *method, const char *address, const char *form, int status,
                      const char *words)
{
  assert_says(send_to(method, address, form), *form ? form : address, status, words);
}

static bool is_on_page(const char *words)
{
  struct got got = send_to("GET", "/bench", "");
  bool is = strstr(got.text, words) != NULL;
  free(got.text);
  return is;
}

static void without_a_journal_the_other_pages_are_served(void **state)
{
  (void)state;
  char words[BE_WORD_MAX], path[96];
  const struct be_answering how = {0};
  snprintf(path, sizeof path, "%s/rigs", trial.folder);
  const char rigs[] = "[shed]\nsource = tcp\nsource settings = address=127.0.0.1 port=9\n"
                      "frames = number\nframe settings = unit=N\n";
  assert_int_equal(be_file_write(path, rigs, sizeof rigs - 1, NULL), BE_OK);
  const struct be_serving serving = {.rig_path = path};
  fail_all(CALL_OPEN, ".live", EROFS);
  assert_int_equal(be_app_serve(trial.book, &serving, &how, &site, NULL), BE_OK);
  assert_true(be_app_serve_word(site, words));
  says(words, "The bench cannot be used: cannot open the journal: Read-only file system");
  says(words, "The other pages are served");
  page_says("GET", "/pulls", "", 200, "Bitter End");
  page_says("GET", "/bench", "", 200, "The bench cannot be used here: cannot open the journal");
  page_says("POST", "/bench", "step=0&do=choose&specimen=M1", 500, "What to do: ");
  well_again();
  for (int i = 0; i < 1000 && !is_on_page("The rig is away: the instrument cannot be reached"); i++)
    continue; /* until the connection is refused */
  page_says("GET", "/bench", "", 200, "The rig is away: the instrument cannot be reached");
  assert_false(be_app_serve_word(site, words));
  /* Its port is taken now, and so is its bench. */
  struct be_site *second = NULL;
  struct be_err err = {0};
  const struct be_serving same = {.port = be_app_serve_port(site)};
  assert_int_equal(be_app_serve(trial.book, &same, &how, &second, &err), BE_FAILED);
  says(err.what, "cannot listen on 127.0.0.1, port ");
  says(err.remedy, "give another with --port");
  be_app_serve_end(site);
  unlink(path);
}

static void a_held_book_is_said_on_the_page_and_the_second_try_succeeds(void **state)
{
  (void)state;
  char words[BE_WORD_MAX];
  const struct be_answering how = {0};
  assert_int_equal(be_app_serve(trial.book, NULL, &how, &site, NULL), BE_OK);
  page_says("POST", "/bench", "step=0&do=choose&specimen=x9&knot=uni&line+A=nylon+12+lb", 303, "");
  page_says("POST", "/bench", "step=1&do=guard", 303, "Location");
  sqlite3 *other = hold_book();
  const char form[] = "step=2&do=answer&load=12.9+lb&what=broke&note=frayed+at+%22a%22";
  page_says("POST", "/bench", form, 500, "Not done: another program is writing to the book; wait");
  page_says("POST", "/bench", form, 500, "value=\"frayed at &quot;a&quot;\"");
  page_says("POST", "/bench", form, 500, "value=\"broke\" data-key=\"1\" checked");
  page_says("GET", "/bench", "", 200, "The book cannot be read now: another program is writing");
  page_says("GET", "/bench", "", 200, "Specimen x9: say what let go.");
  page_says("GET", "/strength", "", 500, "another program is writing");
  assert_true(be_app_serve_word(site, words));
  says(words, "The pull of x9 is not in the book yet: it is kept in ");
  sqlite3_close(other);
  page_says("POST", "/bench", form, 303, "Location");
  page_says("GET", "/bench", "", 200, "Kept: x9, 12.9 lb, broke");
  assert_false(be_app_serve_word(site, words));
  be_app_serve_end(site);
}

int main(void)
{
#define alone(test) cmocka_unit_test_setup_teardown(test, start, stop)
  const struct CMUnitTest tests[] = {
      alone(without_a_journal_the_other_pages_are_served),
      alone(a_held_book_is_said_on_the_page_and_the_second_try_succeeds),
  };
  return be_tests("fault: trouble on the page of the bench", tests);
}
