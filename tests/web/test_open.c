/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Opening and closing a server, and many connections at once. */
#define _POSIX_C_SOURCE 200809L
#include "client.h"

enum { HALF_OPEN = 20, AT_ONCE = 50 };

/* ---- connections ---- */

static void half_open_connections_block_nobody(void **state)
{
  uint16_t port = be_server_port(*state);
  int idle[HALF_OPEN];
  for (int i = 0; i < HALF_OPEN; i++) {
    idle[i] = dial(NULL, port);
    assert_true(idle[i] >= 0);
    if (i % 2) assert_int_equal(send(idle[i], "GET / HTT", 9, MSG_NOSIGNAL), 9);
  }
  for (int i = 0; i < 16; i++) { /* enough to meet every thread of the server */
    struct got got = get(*state, "GET", "/?q=still+here");
    assert_string_equal(got.body, "GET / q=still here");
    free(got.text);
  }
  for (int i = 0; i < HALF_OPEN; i++) close(idle[i]);
}

struct crowd {
  const struct be_server *server;
  bool right[AT_ONCE];
};

static void ask_in_a_crowd(void *crowd_, size_t i)
{
  struct crowd *crowd = crowd_;
  char target[32], want[64];
  snprintf(target, sizeof target, "/p%zu?q=%zu", i, i * i + 17);
  snprintf(want, sizeof want, "GET /p%zu q=%zu", i, i * i + 17);
  struct got got = get(crowd->server, "GET", target);
  crowd->right[i] = got.status == 404 && strcmp(got.body, want) == 0;
  free(got.text);
}

static void fifty_at_once_each_get_their_own(void **state)
{
  struct crowd crowd = {.server = *state};
  be_parallel(AT_ONCE, AT_ONCE, ask_in_a_crowd, &crowd);
  for (int i = 0; i < AT_ONCE; i++) assert_true(crowd.right[i]);
  assert_int_equal(atomic_load(&handler_calls), AT_ONCE);
}

static int open_files(void)
{
  int count = 0;
  for (int fd = 0; fd < 1024; fd++) count += fcntl(fd, F_GETFD) >= 0;
  return count;
}

static void closing_is_clean(void **state)
{
  (void)state;
  int before = open_files();
  struct be_server_options options = {0};
  struct be_server *server;
  for (int round = 0; round < 3; round++) {
    assert_int_equal(be_server_open(&options, handler, &handler_calls, &server, NULL), BE_OK);
    uint16_t port = be_server_port(server);
    if (options.port) assert_int_equal(port, options.port);
    int half = dial(NULL, port), deaf = dial(NULL, port);
    assert_true(half >= 0 && deaf >= 0);
    assert_int_equal(send(half, "GET", 3, MSG_NOSIGNAL), 3);
    static const char big[] = "GET /big HTTP/1.1\r\nHost: localhost\r\n\r\n";
    assert_int_equal(send(deaf, big, sizeof big - 1, MSG_NOSIGNAL), sizeof big - 1);
    char first;
    assert_int_equal(recv(deaf, &first, 1, 0), 1); /* the rest is still on its way */
    be_server_close(server);
    assert_int_equal(dial(NULL, port), -1);
    close(half);
    close(deaf);
    options.port = port; /* at once again on the same port */
  }
  assert_int_equal(open_files(), before);
  be_server_close(NULL);
}

/* ---- opening ---- */

static void a_port_in_use_says_what_to_do(void **state)
{
  struct be_server_options options = {.port = be_server_port(*state)};
  struct be_server *second;
  struct be_err err = {0};
  char port[8];
  snprintf(port, sizeof port, "%u", (unsigned)options.port);
  int before = open_files();
  assert_int_equal(be_server_open(&options, handler, NULL, &second, &err), BE_FAILED);
  assert_null(second);
  assert_non_null(strstr(err.what, port));
  assert_non_null(strstr(err.remedy, "another program uses port"));
  assert_non_null(strstr(err.remedy, port));
  assert_non_null(strstr(err.remedy, "--port"));
  assert_int_equal(open_files(), before);
  struct got got = get(*state, "GET", "/");
  assert_int_equal(got.status, 200);
  free(got.text);
}

static void an_address_that_is_not_to_be_had(void **state)
{
  (void)state;
  struct be_server_options options = {.address = "shed.example"};
  struct be_server *server;
  struct be_err err = {0};
  assert_int_equal(be_server_open(&options, handler, NULL, &server, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "shed.example"));
  assert_non_null(strstr(err.remedy, "127.0.0.1"));
  assert_int_equal(be_server_open(&options, handler, NULL, &server, NULL), BE_WRONG_USE);
  options.address = "203.0.113.9"; /* RFC 5737: nobody has it */
  assert_int_equal(be_server_open(&options, handler, NULL, &server, &err), BE_FAILED);
  assert_non_null(strstr(err.remedy, "address that this machine has"));
  atomic_store(&starving, true);
  options.address = NULL;
  enum be_status status = be_server_open(&options, handler, NULL, &server, &err);
  atomic_store(&starving, false);
  assert_int_equal(status, BE_NO_MEMORY);
  assert_null(server);
}

static void every_address_answers_to_the_one_reached(void **state)
{
  (void)state;
  const struct be_server_options options = {.address = "0.0.0.0"};
  struct be_server *server;
  assert_int_equal(be_server_open(&options, handler, &handler_calls, &server, NULL), BE_OK);
  uint16_t port = be_server_port(server);
  static const char reached[] = "GET / HTTP/1.1\r\nHost: 127.0.0.2\r\nConnection: close\r\n\r\n";
  static const char other[] = "GET / HTTP/1.1\r\nHost: 127.0.0.3\r\nConnection: close\r\n\r\n";
  int fd = dial("127.0.0.2", port);
  if (fd < 0) {
    be_server_close(server);
    skip(); /* some systems have one loopback address only */
  }
  close(fd);
  struct got good = ask_at("127.0.0.2", port, reached, sizeof reached - 1);
  struct got bad = ask_at("127.0.0.2", port, other, sizeof other - 1);
  be_server_close(server);
  assert_int_equal(good.status, 200);
  assert_int_equal(bad.status, 421);
  free(good.text);
  free(bad.text);
}

static void both_ends_are_told(void **state)
{
  uint16_t port = be_server_port(*state);
  static const char plain[] = "GET /ends HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n";
  static const char *const relays[] = {"Forwarded: for=a", "via: 1.1 b", "X-Forwarded-For: c",
                                       "X-REAL-IP: d"};
  int fd = dial_from("127.0.0.9", NULL, port);
  if (fd < 0) skip();
  struct got got = ask_by(fd, plain, sizeof plain - 1);
  assert_string_equal(got.body, "127.0.0.9 to 127.0.0.1");
  free(got.text);
  for (size_t i = 0; i < sizeof relays / sizeof relays[0]; i++) {
    char request[200];
    int size = snprintf(request, sizeof request,
                        "GET /ends HTTP/1.0\r\nHost: localhost\r\n%s\r\n\r\n", relays[i]);
    got = ask_at(NULL, port, request, (size_t)size);
    assert_string_equal(got.body, "127.0.0.1 to 127.0.0.1, relayed");
    free(got.text);
  }
}

static void names_are_answered_to_and_checked(void **state)
{
  (void)state;
  static const char *const names[] = {"bench.local", "shed-7.example"};
  static const char *const bad[] = {
      "",           "a b",
      "bench:8443", "http://bench",
      "b\nc",       "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"};
  struct be_server_options options = {.names = names, .names_count = 2};
  struct be_server *server;
  struct be_err err = {0};
  assert_int_equal(be_server_open(&options, handler, &handler_calls, &server, NULL), BE_OK);
  static const char good[] = "GET / HTTP/1.0\r\nHost: shed-7.example\r\n\r\n";
  static const char other[] = "GET / HTTP/1.0\r\nHost: shed-8.example\r\n\r\n";
  struct got got = ask(server, good);
  assert_int_equal(got.status, 200);
  free(got.text);
  got = ask(server, other);
  assert_int_equal(got.status, 421);
  free(got.text);
  be_server_close(server);
  options.names_count = 1;
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    options.names = &bad[i];
    assert_int_equal(be_server_open(&options, handler, &handler_calls, &server, &err),
                     BE_WRONG_USE);
    assert_non_null(strstr(err.what, "not the name of a machine"));
  }
}

static void the_newer_protocol_works_too(void **state)
{
  (void)state;
  const struct be_server_options options = {.address = "::1"};
  struct be_server *server;
  struct be_err err = {0};
  if (be_server_open(&options, handler, &handler_calls, &server, &err) != BE_OK) {
    assert_non_null(strstr(err.remedy, "address that this machine has"));
    skip();
  }
  struct sockaddr_in6 to = {.sin6_family = AF_INET6,
                            .sin6_port = htons(be_server_port(server)),
                            .sin6_addr = IN6ADDR_LOOPBACK_INIT};
  static const char request[] = "GET / HTTP/1.0\r\nHost: [::1]\r\n\r\n";
  char reply[16] = "";
  int fd = socket(AF_INET6, SOCK_STREAM, 0);
  assert_int_equal(connect(fd, (struct sockaddr *)&to, sizeof to), 0);
  assert_int_equal(send(fd, request, sizeof request - 1, MSG_NOSIGNAL), sizeof request - 1);
  assert_int_equal(recv(fd, reply, 12, MSG_WAITALL), 12);
  close(fd);
  be_server_close(server);
  assert_string_equal(reply, "HTTP/1.1 200");
}

int main(void)
{
  const struct be_allocator allocator = {resize, NULL};
  be_allocator_install(&allocator);
  const struct CMUnitTest tests[] = {
      served(half_open_connections_block_nobody),
      served(fifty_at_once_each_get_their_own),
      cmocka_unit_test(closing_is_clean),
      served(a_port_in_use_says_what_to_do),
      cmocka_unit_test(an_address_that_is_not_to_be_had),
      cmocka_unit_test(every_address_answers_to_the_one_reached),
      served(both_ends_are_told),
      cmocka_unit_test(names_are_answered_to_and_checked),
      cmocka_unit_test(the_newer_protocol_works_too),
  };
  return be_tests("web: opening and connections", tests);
}
