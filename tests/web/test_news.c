/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Those who listen: each hears everything in order, or is sent away. */
#define _POSIX_C_SOURCE 200809L
#include "client.h"

#include <sched.h>

enum { LISTENERS = 40, SAID = 500 };

static int open_telling(void **state)
{
  int status = be_news_open(&handler_news, NULL);
  return status == BE_OK ? open_site(state) : status;
}

static int close_telling(void **state)
{
  be_news_end(handler_news);
  close_site(state);
  be_news_close(handler_news);
  return 0;
}

/* Opens the news; returns once the first state has come. */
static int listen_in(const struct be_server *server)
{
  static const char request[] = "GET /news?q=seven HTTP/1.1\r\nHost: localhost\r\n\r\n";
  int fd = dial(NULL, be_server_port(server));
  assert_true(fd >= 0);
  assert_int_equal(send(fd, request, sizeof request - 1, MSG_NOSIGNAL), sizeof request - 1);
  char head[2048] = "";
  for (size_t size = 0; !strstr(head, "event: state\ndata: seven\n\n");) {
    ssize_t n = recv(fd, head + size, sizeof head - 1 - size, 0);
    assert_true(n > 0);
    size += (size_t)n;
  }
  assert_non_null(strstr(head, "Content-Type: text/event-stream\r\n"));
  assert_non_null(strstr(head, "Cache-Control: no-store\r\n"));
  return fd;
}

/* Reads on until `text` or the end; what came is the caller's. */
static char *hear(int fd, const char *text)
{
  char *heard = calloc(1, GOT_MAX);
  for (size_t size = 0; size < GOT_MAX - 1 && !(text && strstr(heard, text));) {
    ssize_t n = recv(fd, heard + size, GOT_MAX - 1 - size, 0);
    if (n <= 0) break;
    size += (size_t)n;
  }
  return heard;
}

static void an_event_is_written_line_by_line(void **state)
{
  (void)state;
  struct be_buf buf;
  be_buf_init(&buf, 1000);
  be_news_event(&buf, "load", "one\ntwo\r\n\rthree");
  assert_string_equal(buf.data, "event: load\ndata: one\ndata: two\ndata: \ndata: three\n\n");
  be_buf_free(&buf);
}

static void everyone_hears_everything_in_order(void **state)
{
  int fds[LISTENERS];
  for (int i = 0; i < LISTENERS; i++) fds[i] = listen_in(*state);
  assert_int_equal(be_news_listeners(handler_news), LISTENERS);
  for (int round = 0; round < 3; round++) {
    char last[64];
    for (int i = 0; i < 20; i++) {
      char text[64];
      snprintf(text, sizeof text, "%d-%d", round, i);
      assert_int_equal(be_news_say(handler_news, "load", text), BE_OK);
    }
    snprintf(last, sizeof last, "data: %d-19\n\n", round);
    for (int i = 0; i < LISTENERS; i++) {
      char *heard = hear(fds[i], last), *at = heard;
      for (int k = 0; k < 20; k++) {
        char want[64];
        snprintf(want, sizeof want, "data: %d-%d\n", round, k);
        at = strstr(at, want);
        assert_non_null(at);
      }
      free(heard);
    }
  }
  for (int i = 0; i < LISTENERS; i++) close(fds[i]);
}

/* As many as are made at once: each would hold up a thread that moves bytes, and all who are on it.
 */
static void pages_in_the_making_hold_up_no_news(void **state)
{
  enum { HELD = 4 };
  static const char request[] =
      "GET /held HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n";
  int fds[LISTENERS], held[HELD];
  handler_gate = be_gate_create();
  for (int i = 0; i < LISTENERS; i++) fds[i] = listen_in(*state);
  for (int i = 0; i < HELD; i++) {
    held[i] = dial(NULL, be_server_port(*state));
    assert_int_equal(send(held[i], request, sizeof request - 1, MSG_NOSIGNAL), sizeof request - 1);
  }
  while (atomic_load(&handler_calls) < LISTENERS + HELD) sched_yield();
  assert_int_equal(be_news_say(handler_news, "load", "41.7"), BE_OK);
  for (int i = 0; i < LISTENERS; i++) {
    char *heard = hear(fds[i], "data: 41.7\n\n");
    assert_non_null(strstr(heard, "data: 41.7\n\n"));
    free(heard);
    close(fds[i]);
  }
  be_gate_pass(handler_gate);
  for (int i = 0; i < HELD; i++) {
    char *page = hear(held[i], NULL);
    assert_non_null(strstr(page, "\r\n\r\nheld"));
    free(page);
    close(held[i]);
  }
  be_gate_free(handler_gate);
}

static void who_falls_behind_is_sent_away(void **state)
{
  static char block[64 * 1024];
  memset(block, 'b', sizeof block - 1);
  int slow = listen_in(*state);
  for (int i = 0; i < SAID; i++) assert_int_equal(be_news_say(handler_news, "load", block), BE_OK);
  char *heard = hear(slow, NULL); /* to the end, which comes before all was said */
  assert_true(strlen(heard) < (size_t)SAID * sizeof block / 2);
  free(heard);
  close(slow);
}

static void places_are_limited(void **state)
{
  static int fds[BE_NEWS_LISTENERS_MAX];
  for (int i = 0; i < BE_NEWS_LISTENERS_MAX; i++) fds[i] = listen_in(*state);
  struct got got = get(*state, "GET", "/news");
  assert_int_equal(got.status, 503);
  assert_safe(&got);
  free(got.text);
  got = get(*state, "GET", "/?q=still+here");
  assert_string_equal(got.body, "GET / q=still here");
  free(got.text);
  for (int i = 0; i < BE_NEWS_LISTENERS_MAX; i++) close(fds[i]);
}

static void the_end_sends_everyone_away(void **state)
{
  int fd = listen_in(*state);
  be_news_end(handler_news);
  char *heard = hear(fd, NULL);
  assert_non_null(strstr(heard, "0\r\n\r\n"));
  free(heard);
  close(fd);
}

int main(void)
{
  const struct be_allocator allocator = {resize, NULL};
  be_allocator_install(&allocator);
#define telling(test) cmocka_unit_test_setup_teardown(test, open_telling, close_telling)
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(an_event_is_written_line_by_line),
      telling(everyone_hears_everything_in_order),
      telling(pages_in_the_making_hold_up_no_news),
      telling(who_falls_behind_is_sent_away),
      telling(places_are_limited),
      telling(the_end_sends_everyone_away),
  };
  return be_tests("web: news", tests);
}
