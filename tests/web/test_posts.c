/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A server that takes what pages send. */
#define _POSIX_C_SOURCE 200809L
#include "client.h"

enum { BODY_MOST = 100 * 1024 };

static int open_taking(void **state)
{
  const struct be_server_options options = {.body_most = BODY_MOST};
  atomic_store(&handler_calls, 0);
  return be_server_open(&options, handler, &handler_calls, (struct be_server **)state, NULL);
}

#define HEAD "POST /form HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n"
#define FORM "Content-Type: application/x-www-form-urlencoded; charset=UTF-8\r\n"

static void a_form_comes_to_the_handler(void **state)
{
  struct got got = ask(*state, HEAD FORM "Cookie: other=1; key=abc\r\nContent-Length: 27\r\n\r\n"
                                         "load=7%2C25&note=at+its+end");
  assert_int_equal(got.status, 200);
  assert_string_equal(got.body, "POST application/x-www-form-urlencoded 27 load=7,25 "
                                "note=at its end key=abc");
  assert_header(&got, "Set-Cookie: key=7,25; Path=/; HttpOnly; SameSite=Strict");
  assert_safe(&got);
  free(got.text);
}

static void a_cookie_may_be_kept(void **state)
{
  struct got got = ask(*state, HEAD FORM "Content-Length: 16\r\n\r\nload=7&note=kept");
  assert_header(&got, "Set-Cookie: key=7; Path=/; HttpOnly; SameSite=Strict; Max-Age=41");
  free(got.text);
}

static void a_body_in_pieces_is_joined(void **state)
{
  struct got got = ask(*state, HEAD FORM "Transfer-Encoding: chunked\r\n\r\n"
                                         "4\r\nload\r\n3\r\n=61\r\n8\r\n.5&note=\r\n0\r\n\r\n");
  assert_int_equal(got.status, 200);
  assert_non_null(strstr(got.body, " 15 load=61.5 note= key=none"));
  free(got.text);
}

static void another_type_is_left_to_the_handler(void **state)
{
  struct got got =
      ask(*state, HEAD "Content-Type: application/json\r\nContent-Length: 10\r\n\r\n{\"load\":7}");
  assert_string_equal(got.body, "POST application/json 10 load=none note=none key=none");
  assert_null(strstr(got.text, "Set-Cookie"));
  free(got.text);
  got = ask(*state, HEAD "Content-Length: 0\r\n\r\n");
  assert_string_equal(got.body, "POST  0 load=none note=none key=none");
  free(got.text);
}

/* A body of so many bytes, as one form value. */
static struct got post_bytes(const struct be_server *server, size_t size, bool said)
{
  struct be_buf request;
  be_buf_init(&request, GOT_MAX);
  be_buf_text(&request, HEAD FORM);
  if (said) be_buf_format(&request, "Content-Length: %zu\r\n\r\nload=", size);
  else be_buf_format(&request, "Transfer-Encoding: chunked\r\n\r\n%zx\r\nload=", size);
  for (size_t i = 5; i < size; i++) be_buf_char(&request, 'x');
  if (!said) be_buf_text(&request, "\r\n0\r\n\r\n");
  assert_int_equal(request.status, BE_OK);
  struct got got = ask_at(NULL, be_server_port(server), request.data, request.size);
  be_buf_free(&request);
  return got;
}

static void a_body_has_a_ceiling(void **state)
{
  struct got got = post_bytes(*state, BODY_MOST, true);
  assert_int_equal(got.status, 200);
  assert_non_null(strstr(got.body, " 102400 load=xxxx"));
  free(got.text);
  atomic_store(&handler_calls, 0);
  assert_refused(ask(*state, HEAD FORM "Content-Length: 102401\r\n\r\n"), 413);
  got = post_bytes(*state, BODY_MOST + 1, false);
  assert_int_equal(got.size, 0); /* cut */
  assert_int_equal(atomic_load(&handler_calls), 0);
  free(got.text);
}

static void what_another_site_sends_is_refused(void **state)
{
  assert_refused(
      ask(*state, HEAD FORM "Origin: http://other.example\r\nContent-Length: 6\r\n\r\nload=7"),
      403);
  assert_refused(ask(*state, HEAD FORM "Origin: null\r\nContent-Length: 6\r\n\r\nload=7"), 403);
  assert_refused(
      ask(*state, "POST /form HTTP/1.1\r\nHost: other.example\r\nContent-Length: 0\r\n\r\n"), 421);
  struct got got =
      ask(*state, HEAD FORM "Origin: http://localhost\r\nContent-Length: 6\r\n\r\nload=7");
  assert_int_equal(got.status, 200);
  free(got.text);
}

static void what_cannot_be_read_is_refused(void **state)
{
  assert_refused(ask(*state, HEAD FORM "Content-Length: 8\r\n\r\nload=%zz"), 400);
  struct got got = ask(*state, "PUT /form HTTP/1.1\r\nHost: localhost\r\n\r\n");
  assert_header(&got, "Allow: GET, HEAD, POST");
  assert_refused(got, 405);
  assert_refused(
      ask(*state, HEAD "Content-Type: a/b\r\nContent-Type: c/d\r\nContent-Length: 0\r\n\r\n"), 400);
}

static void without_memory_nothing_is_taken(void **state)
{
  atomic_store(&starving, true);
  struct got got = ask(*state, HEAD FORM "Content-Length: 6\r\n\r\nload=7");
  atomic_store(&starving, false);
  assert_int_equal(atomic_load(&handler_calls), 0);
  assert_true(got.status == 500 || got.size == 0);
  free(got.text);
}

static void a_certificate_that_is_none_is_refused(void **state)
{
  (void)state;
  const struct be_server_options options = {.certificate = "not one", .key = "neither"};
  struct be_server *server = NULL;
  struct be_err err = {0};
  assert_int_equal(be_server_open(&options, handler, &handler_calls, &server, &err), BE_BAD_INPUT);
  assert_null(server);
  assert_non_null(strstr(err.remedy, "PEM"));
}

int main(void)
{
  const struct be_allocator allocator = {resize, NULL};
  be_allocator_install(&allocator);
#define taking(test) cmocka_unit_test_setup_teardown(test, open_taking, close_site)
  const struct CMUnitTest tests[] = {
      taking(a_form_comes_to_the_handler),
      taking(a_cookie_may_be_kept),
      taking(a_body_in_pieces_is_joined),
      taking(another_type_is_left_to_the_handler),
      taking(a_body_has_a_ceiling),
      taking(what_another_site_sends_is_refused),
      taking(what_cannot_be_read_is_refused),
      taking(without_memory_nothing_is_taken),
      cmocka_unit_test(a_certificate_that_is_none_is_refused),
  };
  return be_tests("web: posts", tests);
}
