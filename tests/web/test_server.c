/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a server answers and what it refuses. Every refusal also shows that the
 * handler was not called. */
#define _POSIX_C_SOURCE 200809L
#include "client.h"

/* ---- pages ---- */

static void a_page_is_answered(void **state)
{
  struct got got = get(*state, "GET", "/?q=braid+20%20lb%26&r=%C3%A9");
  assert_int_equal(got.status, 200);
  assert_string_equal(got.body, "GET / q=braid 20 lb&");
  assert_safe(&got);
  assert_header(&got, "Content-Type: text/html; charset=utf-8");
  assert_header(&got, "Content-Length: 20");
  assert_header(&got, "Cache-Control: no-store");
  free(got.text);
  got = get(*state, "GET", "/no%20such?x");
  assert_int_equal(got.status, 404);
  assert_string_equal(got.body, "GET /no such q=none");
  assert_safe(&got);
  free(got.text);
  got = get(*state, "GET", "/style.css");
  assert_header(&got, "Content-Type: text/css");
  assert_header(&got, "Cache-Control: max-age=3600");
  assert_string_equal(got.body, "p{margin:7px}");
  free(got.text);
  got = get(*state, "GET", "/empty");
  assert_int_equal(got.status, 200);
  assert_header(&got, "Content-Length: 0");
  assert_string_equal(got.body, "");
  free(got.text);
}

static void a_big_page_comes_whole(void **state)
{
  struct got got = get(*state, "GET", "/big");
  assert_int_equal(got.status, 200);
  assert_header(&got, "Content-Length: 2100000");
  assert_int_equal(strlen(got.body), 7 * BIG_LINES);
  for (int i = 0; i < BIG_LINES; i += 997) assert_int_equal(atoi(got.body + 7 * i), i);
  free(got.text);
}

static void head_sends_the_length_only(void **state)
{
  struct got got = get(*state, "HEAD", "/big");
  assert_int_equal(got.status, 200);
  assert_header(&got, "Content-Length: 2100000");
  assert_string_equal(got.body, "");
  free(got.text);
  got = get(*state, "HEAD", "/other");
  assert_int_equal(got.status, 404);
  assert_header(&got, "Content-Length: 18");
  assert_string_equal(got.body, "");
  free(got.text);
}

static void a_connection_is_kept_for_the_next_request(void **state)
{
  /* The first carries a small body in chunks, which must not be read as a request. */
  struct got got = ask(*state, "GET /one HTTP/1.1\r\nHost: localhost\r\n"
                               "Transfer-Encoding: chunked\r\n\r\n5\r\nGET /\r\n0\r\n\r\n"
                               "GET /two HTTP/1.1\r\nHost: [::1]\r\nConnection: close\r\n\r\n");
  assert_non_null(strstr(got.text, "GET /one q=none"));
  assert_non_null(strstr(got.text, "GET /two q=none"));
  assert_int_equal(atomic_load(&handler_calls), 2);
  free(got.text);
}

static void a_redirect_carries_its_location(void **state)
{
  struct got got = get(*state, "GET", "/away?q=/knots/3%3Fa");
  assert_int_equal(got.status, 303);
  assert_header(&got, "Location: /knots/3?a");
  free(got.text);
  got = get(*state, "GET", "/away?q=/%0D%0ASet-Cookie:%20a=b");
  assert_int_equal(got.status, 500);
  assert_null(strstr(got.text, "Set-Cookie"));
  assert_safe(&got);
  free(got.text);
}

static void a_page_that_is_not_done_is_asked_for_again(void **state)
{
  struct got got = get(*state, "GET", "/later?q=7");
  assert_int_equal(got.status, 203);
  assert_header(&got, "Retry-After: 7");
  assert_header(&got, "Refresh: 7");
  assert_header(&got, "Cache-Control: no-store");
  assert_safe(&got);
  free(got.text);
  got = get(*state, "GET", "/");
  assert_null(strstr(got.text, "Refresh"));
  assert_null(strstr(got.text, "Retry-After"));
  free(got.text);
}

/* The copy outlives the handler; HEAD and GET of one address are one. */
static void a_request_is_copied_whole(void **state)
{
  static const char want[] = "GET /copy x=y:/copy\0q\0\0a b\0x=y\0q\0second\0";
  struct got got = get(*state, "GET", "/copy?q&a%20b=x%3Dy&q=second");
  assert_int_equal(got.size - (size_t)(got.body - got.text), sizeof want - 1);
  assert_memory_equal(got.body, want, sizeof want - 1);
  free(got.text);
}

static void a_page_that_failed_is_a_500(void **state)
{
  struct got got = get(*state, "GET", "/huge");
  assert_int_equal(got.status, 500);
  assert_non_null(strstr(got.body, "larger than the limit"));
  assert_safe(&got);
  free(got.text);
  atomic_store(&starving, true);
  got = get(*state, "GET", "/");
  atomic_store(&starving, false);
  assert_int_equal(got.status, 500);
  assert_non_null(strstr(got.body, "no memory"));
  assert_safe(&got);
  free(got.text);
  got = get(*state, "GET", "/");
  assert_int_equal(got.status, 200);
  free(got.text);
}

/* RFC 9110, section 15.5.6: a 405 says what is allowed, whoever says it. */
static void a_handler_may_refuse_what_was_sent(void **state)
{
  struct got got = get(*state, "GET", "/read-only");
  assert_int_equal(got.status, 405);
  assert_header(&got, "Allow: GET, HEAD");
  assert_safe(&got);
  free(got.text);
}

/* ---- refusals ---- */

static void other_methods_are_refused(void **state)
{
  static const char *const requests[] = {
      "POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5\r\n\r\nhello",
      "DELETE /x HTTP/1.1\r\nHost: localhost\r\n\r\n",
      "OPTIONS * HTTP/1.1\r\nHost: localhost\r\n\r\n",
      "get / HTTP/1.1\r\nHost: localhost\r\n\r\n",
  };
  for (size_t i = 0; i < sizeof requests / sizeof requests[0]; i++) {
    struct got got = ask(*state, requests[i]);
    assert_header(&got, "Allow: GET, HEAD");
    assert_refused(got, 405);
  }
}

static void a_body_is_counted_and_cut(void **state)
{
  assert_refused(ask(*state, "POST / HTTP/1.1\r\nHost: localhost\r\n"
                             "Content-Length: 10000000000\r\n\r\n"),
                 413);
  for (int pieces = 15; pieces <= 17; pieces += 2) { /* of 4 KiB: below and above 64 KiB */
    struct be_buf request;
    be_buf_init(&request, GOT_MAX);
    be_buf_text(&request,
                "POST / HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\n");
    for (int i = 0; i < pieces; i++) be_buf_format(&request, "1000\r\n%04096d\r\n", i);
    be_buf_text(&request, "0\r\n\r\n");
    assert_int_equal(request.status, BE_OK);
    struct got got = ask_at(NULL, be_server_port(*state), request.data, request.size);
    be_buf_free(&request);
    if (pieces == 15) {
      assert_refused(got, 405);
    } else {
      assert_int_equal(got.size, 0);
      free(got.text);
    }
  }
}

static void host_is_checked(void **state)
{
  assert_refused(ask(*state, "GET / HTTP/1.1\r\n\r\n"), 400);
  assert_refused(ask(*state, "GET / HTTP/1.0\r\n\r\n"), 400);
  assert_refused(ask(*state, "GET / HTTP/1.1\r\nHost: localhost\r\nHost: evil.example\r\n\r\n"),
                 400);
  assert_refused(ask(*state, "GET / HTTP/1.1\r\nHost: evil.example\r\n\r\n"), 421);
  assert_refused(ask(*state, "GET / HTTP/1.1\r\nHost: localhost.evil.example\r\n\r\n"), 421);
  assert_refused(ask(*state, "GET / HTTP/1.1\r\nHost: localhost:1\r\n\r\n"), 421);
}

static void doubtful_lengths_are_refused(void **state)
{
  /* Each hides a second request, which must not be answered either. */
#define HIDDEN "GET /hidden HTTP/1.1\r\nHost: localhost\r\n\r\n"
  static const char *const requests[] = {
      "GET / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5\r\n"
      "Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n" HIDDEN,
      "GET / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 0\r\nContent-Length: 46\r\n\r\n" HIDDEN,
      "GET / HTTP/1.1\r\nHost: localhost\r\nContent-Length : 46\r\n\r\n" HIDDEN,
  };
#undef HIDDEN
  for (size_t i = 0; i < sizeof requests / sizeof requests[0]; i++) {
    struct got got = ask(*state, requests[i]);
    assert_null(strstr(got.body, "HTTP/1.1"));
    assert_refused(got, 400);
  }
  assert_refused(
      ask(*state, "GET / HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: gzip\r\n\r\nab"), 501);
}

static void bad_addresses_are_refused(void **state)
{
  static const char *const targets[] = {"/../secret", "/a/%2e%2e/b", "/..%2fb", "/./a",
                                        "/a%00.css",  "/a%0d%0ab",   "/%FF",    "/a%2",
                                        "/?q=%00",    "/?q=%C3",     "/?%zz=1", "a"};
  for (size_t i = 0; i < sizeof targets / sizeof targets[0]; i++)
    assert_refused(get(*state, "GET", targets[i]), 400);
  static char target[60001];
  memset(target, 'a', 9000);
  target[0] = '/';
  assert_refused(get(*state, "GET", target), 414);
  memset(target + 1, 'a', sizeof target - 2);
  struct got got = get(*state, "GET", target);
  assert_int_equal(got.status, 414); /* the library's own page */
  assert_int_equal(atomic_load(&handler_calls), 0);
  free(got.text);
}

int main(void)
{
  const struct be_allocator allocator = {resize, NULL};
  be_allocator_install(&allocator);
  const struct CMUnitTest tests[] = {
      served(a_page_is_answered),
      served(a_big_page_comes_whole),
      served(head_sends_the_length_only),
      served(a_connection_is_kept_for_the_next_request),
      served(a_redirect_carries_its_location),
      served(a_page_that_is_not_done_is_asked_for_again),
      served(a_request_is_copied_whole),
      served(a_page_that_failed_is_a_500),
      served(a_handler_may_refuse_what_was_sent),
      served(other_methods_are_refused),
      served(a_body_is_counted_and_cut),
      served(host_is_checked),
      served(doubtful_lengths_are_refused),
      served(bad_addresses_are_refused),
  };
  return be_tests("web: server", tests);
}
