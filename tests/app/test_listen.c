/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An instrument is listened to, and saved as a rig. */
#define _POSIX_C_SOURCE 200809L
#include "app/find/find.h"
#include "app_test.h"
#include "web/client.h"

#include <pthread.h>
#include <stdatomic.h>
#include <time.h>

/* An invented file of rigs, with a calibration and a remark. */
static const char rigs_text[] = "# the shed\n"
                                "[cell]\nunit = kg\npoint = 98.0665 N 10.013\n"
                                "[old]\nsource = tcp\nsource settings = port=4001\n"
                                "frames = number\nframe settings = unit=lb\n"
                                "[other]\nsource = simulated\nframes = timed-s\n";

/* What an instrument sends: words of status, kilograms. */
static void write_capture(const char *path, size_t lines)
{
  char text[8192];
  size_t used = 0;
  for (size_t i = 0; i < lines; i++)
    used += (size_t)snprintf(text + used, sizeof text - used, "ST,GS,%+09.3f,kg\r\n",
                             0.137 * (double)i);
  text[used] = '\0';
  test_write(path, text);
}

static void keep(const char *path, const char *name, enum be_status status)
{
  struct be_rig_setup setup = {.source = "serial",
                               .source_settings = "path=/dev/ttyUSB3 baud=19200 form=7E1",
                               .frames = "header"};
  snprintf(setup.name, sizeof setup.name, "%s", name);
  assert_int_equal(be_rigs_keep(path, &setup, NULL), status);
}

static void a_rig_takes_the_place_of_its_name(void **state)
{
  (void)state;
  char path[512];
  static struct be_rigs rigs;
  test_path(path, "listen.rigs");
  test_write(path, rigs_text);
  assert_int_equal(be_rigs_read(path, &rigs, NULL), BE_OK);
  assert_int_equal(rigs.count, 2);
  assert_string_equal(rigs.setup[0].name, "old");
  keep(path, "old", BE_OK);
  keep(path, "new one", BE_OK);
  assert_int_equal(be_rigs_read(path, &rigs, NULL), BE_OK);
  assert_int_equal(rigs.count, 3);
  assert_string_equal(rigs.setup[0].name, "other");
  assert_string_equal(rigs.setup[1].name, "old");
  assert_string_equal(rigs.setup[1].frames, "header");
  assert_string_equal(rigs.setup[2].source_settings, "path=/dev/ttyUSB3 baud=19200 form=7E1");
  struct be_buf text;
  be_buf_init(&text, 10000);
  assert_int_equal(be_file_read(path, &text, NULL), BE_OK);
  assert_non_null(strstr(text.data, "# the shed\n[cell]\nunit = kg\n"));
  be_buf_free(&text);
  keep(path, "a[b]", BE_WRONG_USE);
  keep(path, "", BE_WRONG_USE);
  /* A calibration of that name is no rig, and stays. */
  keep(path, "cell", BE_OK);
  struct be_calibration calibration;
  be_buf_init(&text, 10000);
  assert_int_equal(be_file_read(path, &text, NULL), BE_OK);
  assert_int_equal(be_calibration_parse(text.data, text.size, "cell", &calibration, NULL), BE_OK);
  be_buf_free(&text);
}

static void a_file_that_cannot_be_read_is_named(void **state)
{
  (void)state;
  char path[512];
  static struct be_rigs rigs;
  struct be_err err = {0};
  test_path(path, "listen-bad.rigs");
  test_write(path, "[shed]\nsource = serial\nframes = smoke\n");
  assert_int_equal(be_rigs_read(path, &rigs, &err), BE_WRONG_USE);
  assert_string_equal(err.file, path);
  test_write(path, "[shed]\nsource = serial\nbogus = 3\n");
  assert_int_equal(be_rigs_read(path, &rigs, &err), BE_BAD_INPUT);
  assert_int_equal(err.line, 3);
  test_path(path, "listen-none.rigs");
  be_file_remove(path, NULL);
  assert_int_equal(be_rigs_read(path, &rigs, NULL), BE_OK);
  assert_int_equal(rigs.count, 0);
}

static void listened_to_and_saved(void **state)
{
  (void)state;
  char capture[512], rigs_path[512], settings[600];
  static struct be_rigs rigs;
  test_path(capture, "listen.cap");
  test_path(rigs_path, "listen-saved.rigs");
  be_file_remove(rigs_path, NULL);
  write_capture(capture, 40);
  snprintf(settings, sizeof settings, "path=\"%s\" speed=0", capture);
  struct be_listening asked = {
      .source = "file", .settings = settings, .save_path = rigs_path, .name = "by the guard"};
  struct be_doc *doc = NULL;
  assert_int_equal(be_app_listen(&asked, &doc, NULL), BE_OK);
  assert_true(says(doc, "The file rig sends frames of the kind header: 40 were heard"));
  assert_true(says(doc, "ST,GS,+0000.137,kg"));
  assert_true(says(doc, "Saved as \"by the guard\" in "));
  be_doc_free(doc);
  assert_int_equal(be_rigs_read(rigs_path, &rigs, NULL), BE_OK);
  assert_int_equal(rigs.count, 1);
  assert_string_equal(rigs.setup[0].frames, "header");
  assert_string_equal(rigs.setup[0].source_settings, settings);
}

static void what_cannot_be_heard(void **state)
{
  (void)state;
  char capture[512], settings[600];
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  test_path(capture, "listen-noise.cap");
  test_write(capture, "no number here\nnor there\nfish\n");
  snprintf(settings, sizeof settings, "path=\"%s\" speed=0", capture);
  struct be_listening asked = {.source = "file", .settings = settings};
  asked.save_path = capture; /* nothing is saved */
  asked.name = "noise";
  assert_int_equal(be_app_listen(&asked, &doc, &err), BE_NO);
  assert_true(says(doc, "nothing here reads it"));
  assert_true(says(doc, "no number here"));
  be_doc_free(doc);
  asked.source = "smoke";
  assert_int_equal(be_app_listen(&asked, &doc, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "smoke"));
  asked = (struct be_listening){.source = "file", .settings = "path=no-such-file"};
  assert_int_equal(be_app_listen(&asked, &doc, &err), BE_BAD_INPUT);
}

/* ---- the page ---- */

static char book[512];
static struct be_site *site;

static int start(void **state)
{
  (void)state;
  char rigs_path[520];
  struct be_answering how = {0};
  test_book(book, "listen.book", "specimen,knot,line A,load (lb)\np1,none,nylon 12 lb,13.2\n",
            NULL);
  snprintf(rigs_path, sizeof rigs_path, "%s.rigs", book);
  be_file_remove(rigs_path, NULL);
  return be_app_serve(book, NULL, &how, &site, NULL) == BE_OK ? 0 : -1;
}

static int end(void **state)
{
  (void)state;
  be_app_serve_end(site);
  return 0;
}

static struct got send_at(const char *path, const char *method, const char *form)
{
  char request[2000];
  int length = snprintf(request, sizeof request,
                        "%s %s HTTP/1.1\r\nHost: localhost:%u\r\nConnection: close\r\n"
                        "Content-Type: application/x-www-form-urlencoded\r\n"
                        "Content-Length: %zu\r\n\r\n%s",
                        method, path, (unsigned)be_app_serve_port(site), strlen(form), form);
  return ask_at(NULL, be_app_serve_port(site), request, (size_t)length);
}

static void answers_at(const char *path, const char *method, const char *form, int status,
                       const char *words)
{
  struct got got = send_at(path, method, form);
  if (got.status != status || !strstr(got.text, words))
    print_error("%s: %d, without \"%s\":\n%.3000s\n", form, got.status, words, got.text);
  assert_int_equal(got.status, status);
  assert_non_null(strstr(got.text, words));
  free(got.text);
}

static void answers(const char *method, const char *form, int status, const char *words)
{
  answers_at("/rig/listen", method, form, status, words);
}

/* As a browser does that is told to ask again. */
static void until_heard(void)
{
  for (bool listening = true; listening;) {
    struct got got = send_at("/rig/listen", "GET", "");
    listening = strstr(got.text, "\r\nRefresh: 1\r\n") != NULL;
    assert_true(!listening || strstr(got.body, "Listening to the simulated rig"));
    free(got.text);
    nanosleep(&(struct timespec){.tv_nsec = 5000000}, NULL);
  }
}

static void the_page_listens_and_saves(void **state)
{
  (void)state;
  char rigs_path[520];
  static struct be_rigs rigs;
  snprintf(rigs_path, sizeof rigs_path, "%s.rigs", book);
  answers("GET", "", 200, "Listen to an instrument");
  answers("POST", "do=save&way=0&name=early", 409, "Not done: nothing was heard");
  answers("POST", "do=listen&source=smoke&settings=", 409, "there is no source &quot;smoke&quot;");
  answers("POST", "do=fish", 409, "Not done: the form does not say");
  answers("POST", "do=listen&source=simulated&settings=seed%3D7+speed%3D0", 303,
          "Location: /rig/listen\r\n");
  until_heard();
  answers("GET", "", 200, "sends frames of the kind timed-s");
  answers("POST", "do=save&way=9&name=shed", 400, "Not done: the form does not say how");
  answers("POST", "do=save&way=0&name=shed&more=bogus%3D3", 409, "bogus");
  answers("POST", "do=save&way=0&name=%5Bshed%5D", 409, "cannot be the name of a rig");
  answers("POST", "do=save&way=0&name=shed&more=unit%3Dlb", 303, "Location");
  answers("GET", "", 200, "Saved rigs");
  answers("GET", "", 200, "href=\"/rig\">Use a saved rig at the bench");
  answers_at("/rig", "GET", "", 200, "value=\"shed\"");
  assert_int_equal(be_rigs_read(rigs_path, &rigs, NULL), BE_OK);
  assert_string_equal(rigs.setup[0].source_settings, "seed=7 speed=0");
  assert_non_null(strstr(rigs.setup[0].frame_settings, "unit=lb"));
}

static void listening_is_given_up_at_the_end(void **state)
{
  (void)state;
  answers("POST", "do=listen&source=tcp&settings=address%3D127.0.0.1+port%3D9", 303, "Location");
}

/* ---- a saved rig is used at the bench ---- */

#define RIG                                                                                        \
  "[slow & steady]\nsource = simulated\nsource settings = slack_s=3600\n"                          \
  "frames = timed-s\nframe settings = unit=N\n"

static void save_rigs(const char *text)
{
  char path[520];
  snprintf(path, sizeof path, "%s.rigs", book);
  test_write(path, text);
}

static void a_saved_rig_is_used_without_a_restart(void **state)
{
  (void)state;
  save_rigs(RIG "[lost]\nsource = tcp\nsource settings = port=4001\nframes = number\n"
                "frame settings = unit=lb\ncalibration = nowhere\n");
  answers_at("/rig", "GET", "", 200, "Loads are typed now.");
  answers_at("/rig", "GET", "", 200, "name=\"rig\" value=\"slow &amp; steady\"");
  answers_at("/bench", "GET", "", 200, "name=\"step\" value=\"0\"");
  answers_at("/rig", "POST", "do=use&rig=slow+%26+steady", 303, "Location: /bench\r\n");
  answers_at("/rig", "GET", "", 200, "the rig \"slow &amp; steady\" now.");
  answers_at("/bench", "GET", "", 200, "data-rig");
  /* A page of before is old. */
  answers_at("/bench", "POST", "do=choose&step=0&specimen=z9&knot=none&line+A=nylon", 409,
             "gone on");
  answers_at("/rig", "POST", "do=use&rig=lost", 400, "nowhere");
  answers_at("/rig", "POST", "do=use&rig=fish", 400, "fish");
  answers_at("/rig", "POST", "do=use", 400, "no saved rig is named");
  answers_at("/rig", "POST", "do=dance", 400, "dance");
  answers_at("/rig", "GET", "", 200, "the rig \"slow &amp; steady\" now.");
  answers_at("/rig", "POST", "do=type", 303, "Location: /bench\r\n");
  answers_at("/rig", "GET", "", 200, "Loads are typed now.");
}

static uint64_t step_now(void)
{
  struct got got = send_at("/bench", "GET", "");
  const char *at = strstr(got.text, "name=\"step\" value=\"");
  assert_non_null(at);
  uint64_t step = strtoull(at + strlen("name=\"step\" value=\""), NULL, 10);
  free(got.text);
  return step;
}

static void not_while_a_specimen_is_at_the_bench(void **state)
{
  (void)state;
  char form[200];
  save_rigs(RIG);
  snprintf(form, sizeof form, "do=choose&step=%llu&specimen=z9&knot=none&line+A=nylon+12+lb",
           (unsigned long long)step_now());
  answers_at("/bench", "POST", form, 303, "Location");
  answers_at("/rig", "POST", "do=use&rig=slow+%26+steady", 409, "a specimen is at the bench");
  answers_at("/rig", "GET", "", 200, "Loads are typed now.");
  answers_at("/bench", "GET", "", 200, "z9");
  snprintf(form, sizeof form, "do=leave&step=%llu", (unsigned long long)step_now());
  answers_at("/bench", "POST", form, 303, "Location");
  answers_at("/rig", "POST", "do=use&rig=slow+%26+steady", 303, "Location");
}

static atomic_bool looking;

static void *look_on(void *count)
{
  while (atomic_load(&looking)) {
    answers_at("/bench", "GET", "", 200, "id=\"bench\"");
    ++*(size_t *)count;
  }
  return NULL;
}

static void pages_look_on_while_it_changes(void **state)
{
  (void)state;
  enum { LOOKERS = 3, CHANGES = 12 };
  pthread_t lookers[LOOKERS];
  size_t looks[LOOKERS] = {0};
  save_rigs(RIG);
  atomic_store(&looking, true);
  for (int i = 0; i < LOOKERS; i++)
    assert_int_equal(pthread_create(&lookers[i], NULL, look_on, &looks[i]), 0);
  for (int i = 0; i < CHANGES; i++)
    answers_at("/rig", "POST", i % 2 ? "do=type" : "do=use&rig=slow+%26+steady", 303, "Location");
  atomic_store(&looking, false);
  for (int i = 0; i < LOOKERS; i++) {
    pthread_join(lookers[i], NULL);
    assert_true(looks[i] > 0);
  }
  answers_at("/rig", "GET", "", 200, "Loads are typed now.");
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_rig_takes_the_place_of_its_name),
      cmocka_unit_test(a_file_that_cannot_be_read_is_named),
      cmocka_unit_test(listened_to_and_saved),
      cmocka_unit_test(what_cannot_be_heard),
      cmocka_unit_test_setup_teardown(the_page_listens_and_saves, start, end),
      cmocka_unit_test_setup_teardown(a_saved_rig_is_used_without_a_restart, start, end),
      cmocka_unit_test_setup_teardown(not_while_a_specimen_is_at_the_bench, start, end),
      cmocka_unit_test_setup_teardown(pages_look_on_while_it_changes, start, end),
      cmocka_unit_test_setup_teardown(listening_is_given_up_at_the_end, start, end),
  };
  return be_tests("app: listen", tests);
}
