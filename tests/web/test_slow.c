/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Who is never silent and never done: each is cut, and nobody else waits for it. The limits here
 * are short, so that nothing is waited for but the cutting itself. */
#define _POSIX_C_SOURCE 200809L
#include "client.h"

#include <poll.h>
#include <time.h>

static const struct be_server_options hasty = {
    .body_most = 1000, .request_s = 0.2, .least_B_s = 1e9, .listening_s = 0.2};

static int open_hasty(void **state)
{
  int status = be_news_open(&handler_news, NULL);
  if (status != BE_OK) return status;
  return be_server_open(&hasty, handler, &handler_calls, (struct be_server **)state, NULL);
}

static int close_hasty(void **state)
{
  be_news_end(handler_news);
  be_server_close(*state);
  be_news_close(handler_news);
  return 0;
}

static void doze(void)
{
  const struct timespec little = {.tv_nsec = 10 * 1000 * 1000};
  nanosleep(&little, NULL);
}

/* Whether the other end has closed; what it sent before is passed over. */
static bool is_cut(int fd)
{
  char bytes[512];
  struct pollfd look = {.fd = fd, .events = POLLIN};
  while (poll(&look, 1, 0) > 0)
    if (recv(fd, bytes, sizeof bytes, 0) <= 0) return true;
  return false;
}

/* Sends start, then one byte after another; the server cuts it long before the thousandth. */
static void drip(const struct be_server *server, const char *start, const char *again)
{
  int fd = dial(NULL, be_server_port(server));
  assert_int_equal(send(fd, start, strlen(start), MSG_NOSIGNAL), strlen(start));
  size_t sent = 0;
  for (; sent < 1000 && !is_cut(fd); sent++) {
    send(fd, again + sent % strlen(again), 1, MSG_NOSIGNAL);
    doze();
  }
  assert_in_range(sent, 2, 900);
  close(fd);
  struct got got = get(server, "GET", "/?q=still+here");
  assert_string_equal(got.body, "GET / q=still here");
  free(got.text);
}

static void a_request_line_that_drips_is_cut(void **state)
{
  drip(*state, "GET /", "a");
}

static void headers_that_drip_are_cut(void **state)
{
  drip(*state, "GET / HTTP/1.1\r\nHost: localhost\r\n", "X: y\r\n");
}

static void a_body_that_drips_is_cut(void **state)
{
  drip(*state, "POST /form HTTP/1.1\r\nHost: localhost\r\nContent-Length: 999\r\n\r\n", "a");
  drip(*state, "POST /form HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\n",
       "1\r\na\r\n");
}

static void who_says_nothing_is_cut(void **state)
{
  int fd = dial(NULL, be_server_port(*state));
  char byte;
  assert_int_equal(recv(fd, &byte, 1, 0), 0);
  close(fd);
}

static void a_reply_that_is_taken_too_slowly_is_cut(void **state)
{
  static const char request[] = "GET /wide HTTP/1.1\r\nHost: localhost\r\n\r\n";
  const int small = 4096;
  struct sockaddr_in to = {.sin_family = AF_INET,
                           .sin_port = htons(be_server_port(*state)),
                           .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
  int fd = socket(AF_INET, SOCK_STREAM, 0);
  setsockopt(fd, SOL_SOCKET, SO_RCVBUF, &small, sizeof small);
  assert_int_equal(connect(fd, (struct sockaddr *)&to, sizeof to), 0);
  assert_int_equal(send(fd, request, sizeof request - 1, MSG_NOSIGNAL), sizeof request - 1);
  size_t taken = 0;
  char bytes[1000];
  for (int i = 0; i < 40; i++) { /* twice the time it has */
    ssize_t n = recv(fd, bytes, sizeof bytes, 0);
    if (n <= 0) break;
    taken += (size_t)n;
    doze();
  }
  for (ssize_t n = 1; n > 0; taken += n > 0 ? (size_t)n : 0) n = recv(fd, bytes, sizeof bytes, 0);
  assert_in_range(taken, 1000, WIDE_MIB * 1024 * 1024);
  close(fd);
}

static void who_asks_again_and_again_is_not_cut(void **state)
{
  static const char request[] = "GET /empty HTTP/1.1\r\nHost: localhost\r\n\r\n";
  int fd = dial(NULL, be_server_port(*state));
  char bytes[4096];
  double until_s = be_clock_s() + 2 * hasty.request_s;
  while (be_clock_s() < until_s) {
    assert_int_equal(send(fd, request, sizeof request - 1, MSG_NOSIGNAL), sizeof request - 1);
    assert_in_range(recv(fd, bytes, sizeof bytes, 0), 100, sizeof bytes);
    doze();
  }
  close(fd);
}

/* ---- listeners ---- */

static int listen_as(const struct be_server *server, const char *who)
{
  char request[100], head[4096] = "";
  int size =
      snprintf(request, sizeof request, "GET /news?q=%s HTTP/1.1\r\nHost: localhost\r\n\r\n", who);
  int fd = dial(NULL, be_server_port(server));
  assert_int_equal(send(fd, request, (size_t)size, MSG_NOSIGNAL), size);
  for (size_t used = 0; !strstr(head, "data: ");) {
    ssize_t n = recv(fd, head + used, sizeof head - 1 - used, 0);
    assert_true(n > 0);
    used += (size_t)n;
  }
  return fd;
}

static bool hears(int fd, const char *word)
{
  char heard[4096] = "";
  for (size_t used = 0; used < sizeof heard - 1;) {
    ssize_t n = recv(fd, heard + used, sizeof heard - 1 - used, 0);
    if (n <= 0) return false;
    used += (size_t)n;
    if (strstr(heard, word)) return true;
    if (strstr(heard, "0\r\n\r\n")) return false; /* the last chunk */
  }
  return false;
}

static void a_listener_is_sent_away_in_time(void **state)
{
  int fds[50];
  for (int i = 0; i < 50; i++) fds[i] = listen_as(*state, "tablet");
  for (int i = 0; i < 50; i++) {
    assert_false(hears(fds[i], "never said")); /* to its end */
    close(fds[i]);
  }
  for (int i = 0; i < 500 && be_news_listeners(handler_news) > 0; i++) doze();
  assert_int_equal(be_news_listeners(handler_news), 0);
}

static void one_of_them_is_sent_away_at_once(void **state)
{
  (void)state;
  const struct be_server_options options = {0};
  struct be_server *server;
  assert_int_equal(be_server_open(&options, handler, &handler_calls, &server, NULL), BE_OK);
  int one = listen_as(server, "tablet"), other = listen_as(server, "laptop");
  be_news_send_away(handler_news, "phone");
  be_news_send_away(handler_news, "tablet");
  assert_int_equal(be_news_say(handler_news, "load", "41.25"), BE_OK);
  assert_false(hears(one, "41.25"));
  assert_true(hears(other, "41.25"));
  close(one);
  close(other);
  be_news_end(handler_news);
  be_server_close(server);
}

static void one_address_has_so_many_connections(void **state)
{
  (void)state;
  const struct be_server_options options = {.each = 3};
  struct be_server *server;
  int fds[8];
  int cut = 0;
  assert_int_equal(be_server_open(&options, handler, &handler_calls, &server, NULL), BE_OK);
  for (int i = 0; i < 8; i++) fds[i] = dial(NULL, be_server_port(server));
  for (int wait = 0; wait < 500 && cut < 5; wait++) {
    cut = 0;
    for (int i = 0; i < 8; i++) {
      char byte;
      cut += recv(fds[i], &byte, 1, MSG_DONTWAIT | MSG_PEEK) == 0;
    }
    doze();
  }
  assert_int_equal(cut, 5);
  int other = dial_from("127.0.0.3", NULL, be_server_port(server));
  if (other >= 0) {
    static const char request[] = "GET / HTTP/1.0\r\nHost: localhost\r\n\r\n";
    struct got got = ask_by(other, request, sizeof request - 1);
    assert_int_equal(got.status, 200);
    free(got.text);
  }
  for (int i = 0; i < 8; i++) close(fds[i]);
  be_server_close(server);
}

/* 127.0.0.2 plays another machine. */
static void others_leave_room_for_this_machine(void **state)
{
  (void)state;
  const struct be_server_options options = {.others = 3};
  static const char request[] = "GET / HTTP/1.0\r\nHost: localhost\r\n\r\n";
  struct be_server *server;
  int fds[3];
  assert_int_equal(be_server_open(&options, handler, &handler_calls, &server, NULL), BE_OK);
  for (int i = 0; i < 3; i++) {
    char byte;
    fds[i] = dial_from("127.0.0.2", NULL, be_server_port(server));
    if (fds[i] < 0) {
      be_server_close(server);
      skip(); /* some systems have one loopback address only */
    }
    /* Taken up: it answers, and stays. */
    static const char kept[] = "GET / HTTP/1.1\r\nHost: localhost\r\n\r\n";
    assert_int_equal(send(fds[i], kept, sizeof kept - 1, MSG_NOSIGNAL), sizeof kept - 1);
    assert_int_equal(recv(fds[i], &byte, 1, 0), 1);
  }
  struct got got =
      ask_by(dial_from("127.0.0.2", NULL, be_server_port(server)), request, sizeof request - 1);
  assert_int_equal(got.size, 0);
  free(got.text);
  got = ask(server, request);
  assert_int_equal(got.status, 200);
  free(got.text);
  for (int i = 0; i < 3; i++) close(fds[i]);
  be_server_close(server);
}

/* Nothing is said meanwhile, as at a bench where loads are typed. */
static void who_left_is_not_taken_for_a_listener(void **state)
{
  (void)state;
  const struct be_server_options options = {.idle_s = 1};
  static const char request[] = "GET /news HTTP/1.1\r\nHost: localhost\r\n\r\n";
  struct be_server *server;
  int fds[3];
  assert_int_equal(be_news_open(&handler_news, NULL), BE_OK);
  assert_int_equal(be_server_open(&options, handler, &handler_calls, &server, NULL), BE_OK);
  for (int i = 0; i < 3; i++) {
    char byte;
    fds[i] = dial(NULL, be_server_port(server));
    assert_int_equal(send(fds[i], request, sizeof request - 1, MSG_NOSIGNAL), sizeof request - 1);
    assert_int_equal(recv(fds[i], &byte, 1, 0), 1);
  }
  assert_int_equal(be_news_listeners(handler_news), 3);
  close(fds[0]);
  shutdown(fds[2], SHUT_RDWR);
  for (int wait = 0; wait < 1000 && be_news_listeners(handler_news) > 1; wait++) doze();
  assert_int_equal(be_news_listeners(handler_news), 1);
  assert_false(is_cut(fds[1]));
  close(fds[1]);
  close(fds[2]);
  be_news_end(handler_news);
  be_server_close(server);
  be_news_close(handler_news);
}

int main(void)
{
#define hastened(test) cmocka_unit_test_setup_teardown(test, open_hasty, close_hasty)
  const struct CMUnitTest tests[] = {
      hastened(a_request_line_that_drips_is_cut),
      hastened(headers_that_drip_are_cut),
      hastened(a_body_that_drips_is_cut),
      hastened(who_says_nothing_is_cut),
      hastened(a_reply_that_is_taken_too_slowly_is_cut),
      hastened(who_asks_again_and_again_is_not_cut),
      hastened(a_listener_is_sent_away_in_time),
      hastened(one_of_them_is_sent_away_at_once),
      cmocka_unit_test(who_left_is_not_taken_for_a_listener),
      cmocka_unit_test(others_leave_room_for_this_machine),
      cmocka_unit_test(one_address_has_so_many_connections),
  };
  return be_tests("web: the slow", tests);
}
