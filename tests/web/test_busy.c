/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A server that has more to do than it can: what waits for what, and what is let be. */
#define _POSIX_C_SOURCE 200809L
#include "client.h"

#include <pthread.h>
#include <sched.h>
#include <time.h>

enum { AT_ONCE = 4, ASKED = 17 }; /* pages made at once; asked for */

static const char held[] = "GET /held HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n";
static const char wide[] = "GET /wide HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n";

static int open_busy(void **state)
{
  const struct be_server_options options = {.body_most = 1000, .unsent_B = 30 * 1024 * 1024};
  atomic_store(&handler_calls, 0);
  handler_gate = be_gate_create();
  return be_server_open(&options, handler, &handler_calls, (struct be_server **)state, NULL);
}

static int close_busy(void **state)
{
  be_server_close(*state);
  be_gate_free(handler_gate);
  return 0;
}

static int send_off(const struct be_server *server, const char *request)
{
  int fd = dial(NULL, be_server_port(server));
  assert_int_equal(send(fd, request, strlen(request), MSG_NOSIGNAL), strlen(request));
  return fd;
}

/* More pages than are made at once; returns when so many are. */
static void ask_for_all(const struct be_server *server, int fds[static ASKED])
{
  for (int i = 0; i < ASKED; i++) fds[i] = send_off(server, held);
  while (atomic_load(&handler_calls) < AT_ONCE) sched_yield();
}

static void what_is_sent_waits_for_no_page(void **state)
{
  int fds[ASKED];
  ask_for_all(*state, fds);
  for (int i = 0; i < 3; i++) {
    struct got got = ask(*state, "POST /form HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n"
                                 "Content-Type: application/x-www-form-urlencoded\r\n"
                                 "Content-Length: 9\r\n\r\nload=11.3");
    assert_int_equal(got.status, 200);
    assert_non_null(strstr(got.body, "load=11.3"));
    free(got.text);
  }
  assert_int_equal(atomic_load(&handler_calls), AT_ONCE + 3); /* no page besides meanwhile */
  be_gate_pass(handler_gate);
  for (int i = 0; i < ASKED; i++) {
    struct got got = ask_by(fds[i], "", 0);
    assert_string_equal(got.body, "held");
    free(got.text);
  }
}

static void *close_it(void *server)
{
  be_server_close(server);
  return NULL;
}

static void at_the_end_only_what_was_begun_is_done(void **state)
{
  int fds[ASKED], done = 0;
  pthread_t closing;
  uint16_t port = be_server_port(*state);
  ask_for_all(*state, fds);
  /* The last was taken in, once one that was sent after it has been answered. */
  struct got sent = ask(*state, "POST / HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n"
                                "Content-Length: 0\r\n\r\n");
  assert_int_equal(sent.status, 200);
  free(sent.text);
  assert_int_equal(pthread_create(&closing, NULL, close_it, *state), 0);
  *state = NULL;
  /* Whoever comes now is told so; then it ends. */
  for (int status = 200; status == 200;) {
    static const char late[] = "POST / HTTP/1.0\r\nHost: localhost\r\n\r\n";
    struct got got = ask_at(NULL, port, late, sizeof late - 1);
    status = got.status;
    free(got.text);
  }
  int begun = atomic_load(&handler_calls);
  be_gate_pass(handler_gate);
  pthread_join(closing, NULL);
  assert_int_equal(atomic_load(&handler_calls), begun);
  for (int i = 0; i < ASKED; i++) {
    struct got got = ask_by(fds[i], "", 0);
    assert_true(got.size == 0 || got.status == 503 || strcmp(got.body, "held") == 0);
    done += got.status == 200;
    free(got.text);
  }
  assert_in_range(done, 0, AT_ONCE);
}

static void large_replies_that_nobody_takes_have_a_ceiling(void **state)
{
  char first;
  int fd = send_off(*state, wide), status = 503;
  assert_int_equal(recv(fd, &first, 1, 0), 1); /* the rest is still on its way */
  struct got got = ask(*state, wide);
  assert_int_equal(got.status, 503);
  assert_safe(&got);
  assert_non_null(strstr(got.body, "Too much is being sent"));
  free(got.text);
  got = get(*state, "GET", "/?q=small");
  assert_string_equal(got.body, "GET / q=small");
  free(got.text);
  close(fd);
  for (int i = 0; i < 500 && status == 503; i++) {
    const struct timespec little = {.tv_nsec = 10 * 1000 * 1000};
    got = ask(*state, wide);
    status = got.status;
    free(got.text);
    nanosleep(&little, NULL);
  }
  assert_int_equal(status, 200);
}

int main(void)
{
#define busy(test) cmocka_unit_test_setup_teardown(test, open_busy, close_busy)
  const struct CMUnitTest tests[] = {
      busy(what_is_sent_waits_for_no_page),
      busy(at_the_end_only_what_was_begun_is_done),
      busy(large_replies_that_nobody_takes_have_a_ceiling),
  };
  return be_tests("web: busy", tests);
}
