/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Who is let in, and what he may. */
#define _POSIX_C_SOURCE 200809L
#define DEVICES_BOOK "devices.book"
#include "devices_test.h"

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
      if (routes[r].json) continue; /* no page: tests/app/test_api.c has them */
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
      int least = pairs                             ? BE_DEVICE_NOBODY
                  : strcmp(address, "/bench") == 0  ? BE_DEVICE_BENCH
                  : strcmp(address, "/reader") == 0 ? BE_DEVICE_LOOK
                                                    : BE_DEVICE_OWNER;
      got = send_from(ELSEWHERE, "POST", address, cookies[role], "a=b");
      bool refused = role > least && (routes[r].post || role == BE_DEVICE_NOBODY);
      int want = refused ? 403 : routes[r].post ? got.status : 405;
      bool known = got.status == 303 || got.status == 400 || got.status == 404 || got.status == 409;
      if (got.status != want || (want == got.status && want < 403 && !known))
        print_error("POST %s as %d: %d\n", address, role, got.status);
      assert_int_equal(got.status, want);
      assert_true(want == 403 || want == 405 || known);
      if (want == 403) assert_non_null(strstr(got.body, "What to do: "));
      free(got.text);
    }
  got_is(send_from(ELSEWHERE, "GET", "/bench", cookies[2], ""), 200, "<fieldset class=\"shut\"");
  got_is(send_from(ELSEWHERE, "GET", "/", cookies[0], ""), 200, "href=\"/devices\"");
  got_is(send_from(ELSEWHERE, "GET", "/tie", cookies[0], ""), 200, "Keep it in the book");
  struct got got = send_from(ELSEWHERE, "GET", "/bench", cookies[1], "");
  assert_null(strstr(got.body, "fieldset class=\"shut\""));
  assert_null(strstr(got.body, "href=\"/devices\""));
  free(got.text);
  got = send_from(ELSEWHERE, "GET", "/tie", cookies[2], "");
  assert_non_null(strstr(got.body, "Look at it"));
  assert_null(strstr(got.body, "Keep it in the book"));
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

int main(void)
{
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
  };
  return be_tests("app: devices", tests);
}
