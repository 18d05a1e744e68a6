/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Who is let in, and what he may. 127.0.0.2 plays a machine elsewhere; the clock is told. */
#define _POSIX_C_SOURCE 200809L
#include "app/site/site.h"
#include "app_test.h"
#include "fault/failing.h"
#include "web/client.h"

#include <stdatomic.h>
#include <sys/stat.h>

static const char sheet[] = "specimen,knot,line A,soak,load (lb),what,where\n"
                            "p1,none,nylon 12 lb,dry,13.2,broke,clear of it\n"
                            "a1,palomar,nylon 12 lb,dry,12.5,broke,at its entry\n";
enum { T0 = 1764100000, DAY_S = 24 * 3600 };

static char book[512], file[520], part[530];
static struct be_site *site;
static _Atomic int64_t clock_s;
static char said[300]; /* the last line that was told at the bench */
static int times_said;

static int64_t told_now(void)
{
  return atomic_load(&clock_s);
}

static bool is_one(const char *peer)
{
  return strcmp(peer, "127.0.0.1") == 0;
}

static void hear_code(void *context, const char *line)
{
  (void)context;
  times_said++;
  snprintf(said, sizeof said, "%s", line);
}

static enum be_status serve(struct be_err *err)
{
  const struct be_serving serving = {.say = hear_code, .now = told_now, .is_here = is_one};
  const struct be_answering how = {0};
  site = NULL;
  return be_app_serve(book, &serving, &how, &site, err);
}

static int start(void **state)
{
  (void)state;
  char journal[520];
  test_book(book, "devices.book", sheet, NULL);
  snprintf(journal, sizeof journal, "%s.live", book);
  be_file_remove(journal, NULL);
  snprintf(file, sizeof file, "%s.devices", book);
  be_file_remove(file, NULL);
  snprintf(part, sizeof part, "%s.part", file);
  rmdir(part); /* left by a run that failed */
  atomic_store(&clock_s, T0);
  times_said = 0;
  return serve(NULL) == BE_OK ? 0 : -1;
}

static int end(void **state)
{
  (void)state;
  be_app_serve_end(site);
  site = NULL;
  be_file_remove(file, NULL);
  return 0;
}

/* Null cookie: none. */
static struct got send_from(const char *from, const char *method, const char *address,
                            const char *cookie, const char *form)
{
  char request[2000];
  int length =
      snprintf(request, sizeof request,
               "%s %s HTTP/1.1\r\nHost: localhost:%u\r\nConnection: close\r\n"
               "Content-Type: application/x-www-form-urlencoded\r\n%s%s%s"
               "Content-Length: %zu\r\n\r\n%s",
               method, address, (unsigned)be_app_serve_port(site), cookie ? "Cookie: " : "",
               cookie ? cookie : "", cookie ? "\r\n" : "", strlen(form), form);
  return ask_by(dial_from(from, NULL, be_app_serve_port(site)), request, (size_t)length);
}

#define ELSEWHERE "127.0.0.2"

static void got_is(struct got got, int status, const char *words)
{
  if (got.status != status || !strstr(got.text, words))
    print_error("%d, without \"%s\":\n%.2500s\n", got.status, words, got.text);
  assert_int_equal(got.status, status);
  assert_non_null(strstr(got.text, words));
  assert_safe(&got);
  free(got.text);
}

/* The code that stands at the bench, as it was told. */
static void code_told(char code[10])
{
  const char *at = strstr(said, " type ");
  assert_non_null(at);
  memcpy(code, at + 6, 9);
  code[9] = '\0';
  assert_int_equal(strspn(code, "34679ACDEFGHJKMNPQRTVWXY-"), 9);
  assert_int_equal(code[4], '-');
}

/* Pairs a device with the present code; cookie is what the browser keeps. */
static void pair(const char *name, char cookie[200])
{
  char code[10], form[200];
  code_told(code);
  snprintf(form, sizeof form, "code=%s&name=%s", code, name);
  struct got got = send_from(ELSEWHERE, "POST", "/pair", NULL, form);
  if (got.status != 303) print_error("%.2000s\n", got.text);
  assert_int_equal(got.status, 303);
  assert_header(&got, "Location: /");
  const char *set = strstr(got.text, "Set-Cookie: bitterend-0=");
  assert_non_null(set);
  set += strlen("Set-Cookie: ");
  size_t size = strcspn(set, ";");
  assert_int_equal(size, strlen("bitterend-0=") + BE_TOKEN);
  assert_memory_equal(set + size, "; Path=/; HttpOnly; SameSite=Strict; Max-Age=34560000\r\n", 55);
  memcpy(cookie, set, size);
  cookie[size] = '\0';
  free(got.text);
}

/* A new code of that role, made by the owner. */
static void make_code(const char *role)
{
  char form[60];
  snprintf(form, sizeof form, "do=code&role=%s", role);
  got_is(send_from(NULL, "POST", "/devices", NULL, form), 303, "Location: /devices\r\n");
  assert_non_null(strstr(said, role));
}

/* ---- pairing ---- */

static void a_device_is_paired_by_the_code_at_the_bench(void **state)
{
  (void)state;
  char first[10], second[10], form[100], cookie[200], id[BE_DEVICE_ID + 1], hash[65];
  got_is(send_from(ELSEWHERE, "GET", "/strength", NULL, ""), 303, "Location: /pair\r\n");
  got_is(send_from(ELSEWHERE, "GET", "/bench/news", NULL, ""), 403, "not paired");
  struct got got = send_from(ELSEWHERE, "GET", "/pair", NULL, "");
  assert_int_equal(got.status, 200);
  assert_non_null(strstr(got.body, "This device is not paired"));
  assert_null(strstr(got.body, "palomar"));
  assert_null(strstr(got.body, "href=\"/strength\""));
  code_told(first);
  assert_null(strstr(got.body, first));
  free(got.text);
  assert_int_equal(times_said, 1);
  assert_false(be_file_exists(file));
  pair("tablet+by+%3Cthe%3E+guard", cookie);
  code_told(second);
  assert_string_not_equal(first, second); /* good once */
  snprintf(form, sizeof form, "code=%s&name=again", first);
  got_is(send_from(ELSEWHERE, "POST", "/pair", NULL, form), 403, "that is not the code");
  got_is(send_from(ELSEWHERE, "GET", "/strength", cookie, ""), 200, "palomar");
  got_is(send_from(ELSEWHERE, "GET", "/pair", cookie, ""), 200,
         "paired as &quot;tablet by &lt;the&gt; guard&quot; (role bench)");
  got_is(send_from(NULL, "GET", "/pair", NULL, ""), 200, "needs no pairing");
  got_is(send_from(NULL, "POST", "/pair", NULL, form), 409, "no device can be paired from here");
  got_is(send_from(NULL, "GET", "/devices", NULL, ""), 200, "1 device is paired.");
  be_sha256_hex(strchr(cookie, '=') + 1, BE_TOKEN, hash);
  snprintf(id, sizeof id, "%.*s", BE_DEVICE_ID, hash);
  struct be_buf text;
  struct stat about;
  be_buf_init(&text, 10000);
  assert_int_equal(be_file_read(file, &text, NULL), BE_OK);
  assert_null(strstr(text.data, strchr(cookie, '=') + 1)); /* the token is nowhere */
  assert_non_null(strstr(text.data, hash));
  assert_int_equal(stat(file, &about), 0);
  assert_int_equal(about.st_mode & 0777, 0600);
  be_buf_free(&text);
  snprintf(form, sizeof form, "do=forget&device=%s", id);
  got_is(send_from(NULL, "POST", "/devices", NULL, form), 303, "Location: /devices");
  got_is(send_from(ELSEWHERE, "GET", "/strength", cookie, ""), 303, "Location: /pair");
  got_is(send_from(NULL, "POST", "/devices", NULL, form), 409, "no such device");
}

static void codes_are_typed_as_people_type(void **state)
{
  (void)state;
  struct be_pairing pairing = {0};
  char typed[80];
  assert_int_equal(be_pairing_try(&pairing, "", T0, NULL), BE_NO); /* no code matches none */
  assert_int_equal(be_pairing_renew(&pairing, BE_DEVICE_LOOK, T0, NULL), BE_OK);
  snprintf(typed, sizeof typed, " %.3s-%s ", pairing.code, pairing.code + 3);
  for (char *c = typed; *c; c++)
    if (*c >= 'A' && *c <= 'Z') *c = (char)(*c - 'A' + 'a');
  assert_int_equal(be_pairing_try(&pairing, typed, T0 + 599, NULL), BE_OK);
  assert_int_equal(be_pairing_try(&pairing, typed, T0 + 600, NULL), BE_NO);
  assert_int_equal(be_pairing_try(&pairing, typed, T0 - 1, NULL), BE_NO); /* set back */
  snprintf(typed, sizeof typed, "%sA", pairing.code);
  assert_int_equal(be_pairing_try(&pairing, typed, T0 + 100, NULL), BE_NO);
}

static void every_letter_of_a_code_comes(void **state)
{
  (void)state;
  struct be_pairing pairing = {0};
  bool seen[128] = {false};
  int letters = 0;
  for (int i = 0; i < 400; i++) { /* 3200 letters of 24: one is missing once in 1e58 */
    assert_int_equal(be_pairing_renew(&pairing, BE_DEVICE_BENCH, T0, NULL), BE_OK);
    for (const char *c = pairing.code; *c; c++) seen[(unsigned char)*c] = true;
  }
  for (int i = 0; i < 128; i++) letters += seen[i];
  assert_int_equal(letters, 24);
}

static void wrong_codes_are_counted(void **state)
{
  (void)state;
  char first[10], now[10], form[100];
  code_told(first);
  for (int i = 0; i < 4; i++)
    got_is(send_from(ELSEWHERE, "POST", "/pair", NULL, "code=333-33333&name=x"), 403,
           "not the code");
  code_told(now);
  assert_string_equal(first, now);
  got_is(send_from("127.0.0.3", "POST", "/pair", NULL, "code=&name=x"), 403, "not the code");
  code_told(now);
  assert_string_not_equal(first, now); /* the fifth, from anywhere */
  for (int i = 0; i < 5; i++)
    got_is(send_from(ELSEWHERE, "POST", "/pair", NULL, "code=AAAA-AAAA&name=x"), 403,
           "not the code");
  code_told(now);
  snprintf(form, sizeof form, "code=%s&name=x", now);
  got_is(send_from(ELSEWHERE, "POST", "/pair", NULL, form), 429, "wait a minute");
  atomic_fetch_add(&clock_s, 61);
  got_is(send_from(ELSEWHERE, "POST", "/pair", NULL, form), 303, "Set-Cookie");
}

static void a_code_lasts_ten_minutes(void **state)
{
  (void)state;
  char first[10], now[10], form[100];
  code_told(first);
  atomic_fetch_add(&clock_s, 600);
  snprintf(form, sizeof form, "code=%s&name=x", first);
  got_is(send_from(ELSEWHERE, "POST", "/pair", NULL, form), 403, "not the code");
  code_told(now);
  assert_string_not_equal(first, now);
  assert_int_equal(times_said, 2);
  atomic_fetch_add(&clock_s, 600);
  got_is(send_from(ELSEWHERE, "GET", "/pair", NULL, ""), 200, "type the code");
  assert_int_equal(times_said, 3); /* whoever comes to pair finds a fresh one at the bench */
}

static void a_device_needs_a_name(void **state)
{
  (void)state;
  static const char *const names[] = {
      "", "+++", "a%0Ab", "a%7Fb", "0123456789012345678901234567890123456789012345678901234567890"};
  char code[10], form[200];
  code_told(code);
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
    snprintf(form, sizeof form, "code=%s&name=%s", code, names[i]);
    got_is(send_from(ELSEWHERE, "POST", "/pair", NULL, form), 400, "needs a name");
  }
  assert_int_equal(times_said, 1); /* none of these was a try */
}

static void who_is_not_seen_is_forgotten(void **state)
{
  (void)state;
  char cookie[200];
  pair("tablet", cookie);
  atomic_fetch_add(&clock_s, 89 * DAY_S);
  got_is(send_from(ELSEWHERE, "GET", "/strength", cookie, ""), 200, "palomar");
  atomic_fetch_add(&clock_s, 90 * DAY_S);
  be_app_serve_end(site); /* when it was seen last is kept in the file */
  assert_int_equal(serve(NULL), BE_OK);
  got_is(send_from(ELSEWHERE, "GET", "/strength", cookie, ""), 200, "palomar");
  atomic_fetch_add(&clock_s, 90 * DAY_S + 1);
  got_is(send_from(ELSEWHERE, "GET", "/strength", cookie, ""), 303, "Location: /pair");
}

/* ---- roles ---- */

static void every_role_is_held_to_what_it_may(void **state)
{
  (void)state;
  static const char *const roles[] = {"owner", "bench", "look"};
  char cookies[4][200] = {"", "", "", "bitterend-0=unknown"};
  const struct be_route *routes;
  size_t count = be_routes(&routes);
  for (int i = 0; i < 3; i++) {
    make_code(roles[i]);
    pair(roles[i], cookies[i]);
  }
  for (size_t r = 0; r < count; r++)
    for (int role = 0; role <= BE_DEVICE_NOBODY; role++) {
      char address[60];
      snprintf(address, sizeof address, "%s%s", routes[r].path,
               strcmp(routes[r].path, "/pull/") == 0 ? "1" : "");
      bool pairs = strcmp(address, "/pair") == 0, owns = strcmp(address, "/devices") == 0;
      bool may_look = pairs || (role < BE_DEVICE_NOBODY && (!owns || role == BE_DEVICE_OWNER));
      struct got got = send_from(ELSEWHERE, "GET", address, cookies[role], "");
      bool is_there = got.status == 200 || got.status == 404; /* some need a query */
      if (is_there != may_look) print_error("GET %s as %d: %d\n", address, role, got.status);
      assert_true(is_there == may_look);
      if (!may_look) assert_int_equal(got.status, role == BE_DEVICE_NOBODY ? 303 : 403);
      free(got.text);
      /* Nothing is done by a form that says nothing; what matters is who says so. */
      int least = pairs                            ? BE_DEVICE_NOBODY
                  : strcmp(address, "/bench") == 0 ? BE_DEVICE_BENCH
                                                   : BE_DEVICE_OWNER;
      got = send_from(ELSEWHERE, "POST", address, cookies[role], "a=b");
      int want = role > least && (routes[r].post || role == BE_DEVICE_NOBODY) ? 403
                 : !routes[r].post                                            ? 405
                 : pairs                                                      ? 400
                                                                              : 409;
      if (got.status != want) print_error("POST %s as %d: %d\n", address, role, got.status);
      assert_int_equal(got.status, want);
      if (want == 403) assert_non_null(strstr(got.body, "What to do: "));
      free(got.text);
    }
  got_is(send_from(ELSEWHERE, "GET", "/bench", cookies[2], ""), 200, "<fieldset class=\"shut\"");
  got_is(send_from(ELSEWHERE, "GET", "/", cookies[0], ""), 200, "href=\"/devices\"");
  struct got got = send_from(ELSEWHERE, "GET", "/bench", cookies[1], "");
  assert_null(strstr(got.body, "fieldset class=\"shut\""));
  assert_null(strstr(got.body, "href=\"/devices\""));
  free(got.text);
  got_is(send_from(ELSEWHERE, "POST", "/bench", cookies[1],
                   "step=0&do=choose&specimen=x9&knot=uni&line+A=nylon+12+lb"),
         303, "Location: /bench");
}

static void what_is_passed_on_is_not_this_machines(void **state)
{
  (void)state;
  char request[300];
  int size = snprintf(request, sizeof request,
                      "GET /strength HTTP/1.0\r\nHost: localhost\r\nX-Forwarded-For: "
                      "127.0.0.1\r\n\r\n");
  got_is(ask_at(NULL, be_app_serve_port(site), request, (size_t)size), 303, "Location: /pair");
}

static void forgetting_ends_the_news(void **state)
{
  (void)state;
  char cookie[200], hash[65], form[100], request[600], heard[8192] = "";
  pair("tablet", cookie);
  int fd = dial_from(ELSEWHERE, NULL, be_app_serve_port(site));
  int size = snprintf(request, sizeof request,
                      "GET /bench/news HTTP/1.1\r\nHost: localhost\r\nCookie: %s\r\n\r\n", cookie);
  assert_int_equal(send(fd, request, (size_t)size, MSG_NOSIGNAL), size);
  size_t used = 0;
  while (!strstr(heard, "event: step")) {
    ssize_t n = recv(fd, heard + used, sizeof heard - 1 - used, 0);
    assert_true(n > 0);
    used += (size_t)n;
  }
  be_sha256_hex(strchr(cookie, '=') + 1, BE_TOKEN, hash);
  snprintf(form, sizeof form, "do=forget&device=%.*s", BE_DEVICE_ID, hash);
  got_is(send_from(NULL, "POST", "/devices", NULL, form), 303, "Location");
  while (!strstr(heard, "\r\n0\r\n\r\n")) {
    ssize_t n = recv(fd, heard + used, sizeof heard - 1 - used, 0);
    if (n <= 0) break;
    used += (size_t)n;
  }
  assert_non_null(strstr(heard, "\r\n0\r\n\r\n"));
  close(fd);
}

/* ---- the file ---- */

#define HASH "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef"
#define GOOD HASH " bench 1764100000 1764100777 tablet by the guard\n"

static void a_file_that_is_none_lets_nobody_in(void **state)
{
  (void)state;
  static const struct {
    const char *text;
    size_t line;
  } bad[] = {
      {"", 1},
      {"bitterend devices 2\n", 1},
      {"bitterend devices 1", 1},
      {"bitterend devices 1\n" GOOD HASH " ben", 3},
      {"bitterend devices 1\n" HASH " bench 1764100000 1764100777 \n", 2},
      {"bitterend devices 1\n" HASH " guest 1764100000 1764100777 x\n", 2},
      {"bitterend devices 1\n" HASH " bench -1 1764100777 x\n", 2},
      {"bitterend devices 1\n" HASH " bench 1764100000 9999999999999 x\n", 2},
      {"bitterend devices 1\n0123 bench 1764100000 1764100777 x\n", 2},
      {"bitterend devices 1\n" GOOD "\n", 3},
      {"bitterend devices 1\n" HASH " bench 1764100000 1764100777 \xC3\n", 2},
  };
  be_app_serve_end(site);
  site = NULL;
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    struct be_err err = {0};
    test_write(file, bad[i].text);
    enum be_status status = serve(&err);
    if (status != BE_BAD_INPUT || err.line != bad[i].line)
      print_error("case %zu: %d, line %zu\n", i, status, err.line);
    assert_int_equal(status, BE_BAD_INPUT);
    assert_int_equal(err.line, bad[i].line);
    assert_string_equal(err.file, file);
    assert_non_null(strstr(err.remedy, "paired anew"));
    assert_null(site);
  }
  test_write(file, "bitterend devices 1\n" GOOD);
  assert_int_equal(serve(NULL), BE_OK);
  got_is(send_from(NULL, "GET", "/devices", NULL, ""), 200, "tablet by the guard");
}

static void what_is_written_is_read_again(void **state)
{
  (void)state;
  static struct be_device list[BE_DEVICES_MAX], again[BE_DEVICES_MAX];
  struct be_buf text;
  size_t count = 0;
  for (size_t i = 0; i < BE_DEVICES_MAX; i++) {
    list[i] = (struct be_device){.role = (enum be_device_role)(i % 3),
                                 .paired_s = T0 + (int64_t)i,
                                 .seen_s = T0 + 77 * (int64_t)i};
    char token[20];
    snprintf(token, sizeof token, "token %zu", i);
    be_sha256_hex(token, strlen(token), list[i].hash);
    snprintf(list[i].name, sizeof list[i].name, "caf\xC3\xA9  %zu of the shed ", i);
  }
  be_buf_init(&text, 100000);
  be_devices_write(list, BE_DEVICES_MAX, &text);
  assert_int_equal(be_devices_parse(text.data, text.size, again, &count, NULL), BE_OK);
  assert_int_equal(count, BE_DEVICES_MAX);
  for (size_t i = 0; i < count; i++) {
    assert_string_equal(again[i].hash, list[i].hash);
    assert_string_equal(again[i].name, list[i].name);
    assert_int_equal(again[i].role, list[i].role);
    assert_int_equal(again[i].paired_s, list[i].paired_s);
    assert_int_equal(again[i].seen_s, list[i].seen_s);
  }
  be_buf_add(&text, GOOD, strlen(GOOD));
  struct be_err err = {0};
  assert_int_equal(be_devices_parse(text.data, text.size, again, &count, &err), BE_BAD_INPUT);
  assert_int_equal(err.line, BE_DEVICES_MAX + 2);
  be_buf_free(&text);
}

static void a_file_that_cannot_be_written_is_told(void **state)
{
  (void)state;
  char cookie[200], other[200], code[10], form[100], hash[65];
  pair("tablet", cookie);
  pair("laptop", other);
  /* A folder stands where the new file is to be made: so also for root. */
  assert_int_equal(mkdir(part, 0700), 0);
  code_told(code);
  snprintf(form, sizeof form, "code=%s&name=phone", code);
  got_is(send_from(ELSEWHERE, "POST", "/pair", NULL, form), 500, "cannot create the file");
  be_sha256_hex(strchr(cookie, '=') + 1, BE_TOKEN, hash);
  snprintf(form, sizeof form, "do=forget&device=%.*s", BE_DEVICE_ID, hash);
  got_is(send_from(NULL, "POST", "/devices", NULL, form), 500,
         "it is shut out until the program ends");
  got_is(send_from(ELSEWHERE, "GET", "/", cookie, ""), 303, "/pair");
  assert_int_equal(rmdir(part), 0);
  /* The next that is written does not bring it back. */
  atomic_fetch_add(&clock_s, 2 * 3600);
  got_is(send_from(ELSEWHERE, "GET", "/", other, ""), 200, "palomar");
  got_is(send_from(ELSEWHERE, "GET", "/", cookie, ""), 303, "/pair");
  struct be_buf text;
  be_buf_init(&text, 10000);
  assert_int_equal(be_file_read(file, &text, NULL), BE_OK);
  assert_null(strstr(text.data, hash));
  assert_non_null(strstr(text.data, "laptop"));
  be_buf_free(&text);
}

/* Opens, pairs, shows the page, forgets. */
static enum be_status come_and_go(void *context, struct be_err *err)
{
  const struct be_devices_options options = {.book_path = context, .now = told_now};
  struct be_pairing pairing;
  struct be_doc *doc = NULL;
  struct door door = {.plain = true};
  struct visit visit = {.door = &door, .visitor = {.here = true}};
  char token[BE_TOKEN + 1], id[65];
  be_file_remove(file, NULL);
  be_buf_init(&visit.html, 1 << 16);
  enum be_status status = be_devices_open(&options, &door.devices, err);
  if (status == BE_OK) status = be_devices_code(door.devices, &pairing, err);
  if (status == BE_OK)
    status = be_devices_pair(door.devices, pairing.code, "tablet", "", token, err);
  if (status == BE_OK) status = be_devices_page(&visit, &doc, err);
  if (status == BE_OK) status = be_buf_status(&visit.html, err);
  if (status == BE_OK) {
    be_sha256_hex(token, BE_TOKEN, id);
    id[BE_DEVICE_ID] = '\0';
    status = be_devices_forget(door.devices, id, err);
  }
  be_doc_free(doc);
  be_buf_free(&visit.html);
  be_devices_close(door.devices);
  return status;
}

static void memory_may_fail_anywhere(void **state)
{
  (void)state;
  be_fail_loop(come_and_go, book, 10);
}

/* ---- opening ---- */

static void beyond_this_machine_it_is_asked_for(void **state)
{
  (void)state;
  const struct be_answering how = {0};
  struct be_err err = {0};
  struct be_site *other = NULL;
  struct be_serving serving = {.address = "0.0.0.0"};
  assert_int_equal(be_app_serve(book, &serving, &how, &other, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "can be read on that network"));
  assert_non_null(strstr(err.remedy, "--plain"));
  serving = (struct be_serving){.certificate_path = file};
  assert_int_equal(be_app_serve(book, &serving, &how, &other, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.remedy, "--key"));
  serving.key_path = serving.certificate_path = "no-such-file";
  assert_int_equal(be_app_serve(book, &serving, &how, &other, &err), BE_BAD_INPUT);
  assert_string_equal(err.file, "no-such-file");
  serving.certificate_path = book;
  assert_int_equal(be_app_serve(book, &serving, &how, &other, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "no CERTIFICATE"));
  assert_null(other);
}

static void this_machine_alone_has_no_devices(void **state)
{
  (void)state;
  const struct be_answering how = {0};
  assert_int_equal(be_app_serve(book, NULL, &how, &site, NULL), BE_OK);
  /* 127.0.0.2 is this machine's too, where nobody says otherwise. */
  got_is(send_from(ELSEWHERE, "GET", "/devices", NULL, ""), 200, "Only this machine is served.");
  got_is(send_from(ELSEWHERE, "POST", "/devices", NULL, "do=code&role=look"), 409,
         "only this machine");
  got_is(send_from(NULL, "GET", "/pair", NULL, ""), 200, "needs no pairing");
  struct got got = send_from(NULL, "GET", "/bench", NULL, "");
  assert_null(strstr(got.body, "/devices"));
  free(got.text);
  assert_false(be_file_exists(file));
  be_app_serve_end(site);
  site = NULL;
}

/* ---- TLS ---- */

/* What a program prints, or null when it cannot be run. */
static char *output_of(const char *command)
{
  FILE *pipe = popen(command, "r");
  char *text = calloc(1, GOT_MAX);
  size_t size = pipe ? fread(text, 1, GOT_MAX - 1, pipe) : 0;
  if (pipe) pclose(pipe);
  text[size] = '\0';
  return text;
}

static void pages_are_served_by_tls(void **state)
{
  (void)state;
  char certificate[512], key[512], command[2400];
  const char *const names[] = {"bench.local"};
  const struct be_answering how = {0};
  test_path(certificate, "devices-certificate.pem");
  test_path(key, "devices-key.pem");
  be_file_remove(key, NULL);
  snprintf(command, sizeof command,
           "openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 2 "
           "-subj /CN=bench.local -addext subjectAltName=DNS:bench.local -keyout '%s' -out '%s' "
           "2>/dev/null",
           key, certificate);
  free(output_of(command));
  if (be_file_size(key) == 0) {
    print_message("# no openssl here to make a certificate\n");
    skip();
  }
  struct be_serving serving = {.certificate_path = certificate,
                               .key_path = key,
                               .names = names,
                               .names_count = 1,
                               .say = hear_code,
                               .is_here = is_one};
  struct be_err err = {0};
  assert_int_equal(be_app_serve(book, &serving, &how, &site, &err), BE_OK);
  snprintf(
      command, sizeof command,
      "printf 'GET /strength HTTP/1.0\\r\\nHost: bench.local:%u\\r\\n\\r\\n' | openssl s_client "
      "-quiet -verify_return_error -CAfile '%s' -verify_hostname bench.local -connect "
      "127.0.0.1:%u 2>/dev/null",
      (unsigned)be_app_serve_port(site), certificate, (unsigned)be_app_serve_port(site));
  char *got = output_of(command);
  assert_non_null(strstr(got, "HTTP/1.1 200"));
  assert_non_null(strstr(got, "palomar"));
  assert_null(strstr(got, "Strict-Transport-Security"));
  free(got);
  char code[10], form[60];
  code_told(code);
  snprintf(form, sizeof form, "code=%s&name=tablet", code);
  snprintf(
      command, sizeof command,
      "printf 'POST /pair HTTP/1.0\\r\\nHost: bench.local\\r\\nOrigin: https://bench.local\\r\\n"
      "Via: 1.1 x\\r\\nContent-Type: application/x-www-form-urlencoded\\r\\n"
      "Content-Length: %zu\\r\\n\\r\\n%s' | openssl s_client -quiet -CAfile '%s' -connect "
      "127.0.0.1:%u 2>/dev/null",
      strlen(form), form, certificate, (unsigned)be_app_serve_port(site));
  got = output_of(command);
  if (!strstr(got, "HTTP/1.1 303")) print_error("%.2000s\n", got);
  assert_non_null(strstr(got, "HTTP/1.1 303"));
  assert_non_null(strstr(got, "Set-Cookie: __Host-bitterend-0="));
  assert_non_null(strstr(got, "; Secure; Max-Age="));
  free(got);
  struct got plain = send_from(NULL, "GET", "/", NULL, ""); /* without TLS: no answer */
  assert_int_equal(plain.status, 0);
  free(plain.text);
  be_app_serve_end(site);
  site = NULL;
  serving.key_path = certificate;
  assert_int_equal(be_app_serve(book, &serving, &how, &site, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "no PRIVATE KEY"));
  assert_string_equal(err.file, certificate);
}

static int clean(void **state)
{
  start(state);
  be_app_serve_end(site);
  site = NULL;
  return 0;
}

int main(void)
{
#define served_beyond(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      served_beyond(a_device_is_paired_by_the_code_at_the_bench),
      cmocka_unit_test(codes_are_typed_as_people_type),
      cmocka_unit_test(every_letter_of_a_code_comes),
      served_beyond(wrong_codes_are_counted),
      served_beyond(a_code_lasts_ten_minutes),
      served_beyond(a_device_needs_a_name),
      served_beyond(who_is_not_seen_is_forgotten),
      served_beyond(every_role_is_held_to_what_it_may),
      served_beyond(what_is_passed_on_is_not_this_machines),
      served_beyond(forgetting_ends_the_news),
      served_beyond(a_file_that_is_none_lets_nobody_in),
      cmocka_unit_test(what_is_written_is_read_again),
      served_beyond(a_file_that_cannot_be_written_is_told),
      cmocka_unit_test_setup_teardown(memory_may_fail_anywhere, clean, NULL),
      cmocka_unit_test_setup_teardown(beyond_this_machine_it_is_asked_for, clean, NULL),
      cmocka_unit_test_setup_teardown(this_machine_alone_has_no_devices, clean, NULL),
      cmocka_unit_test_setup_teardown(pages_are_served_by_tls, clean, NULL),
  };
  return be_tests("app: devices", tests);
}
