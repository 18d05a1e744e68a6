/* SPDX-License-Identifier: GPL-3.0-or-later */
/* RFC 3986 section 2.1 (percent signs), RFC 9112 sections 3.2 and 6 (Host, length
 * of a body) and RFC 9110 section 15.5.20 (421) say what is well formed. */
#include "test.h"
#include "web/inside.h"

static int status_of(const struct be_refusal *refusal)
{
  return refusal ? refusal->status : 0;
}

static void paths_are_decoded_and_judged(void **state)
{
  (void)state;
  static const struct {
    const char *raw;
    int status;
    const char *path;
  } cases[] = {
      {"/", 0, "/"},
      {"/knots/double%20uni", 0, "/knots/double uni"},
      {"/a+b", 0, "/a+b"},
      {"/%C3%A9t%c3%a9", 0, "/\xC3\xA9t\xC3\xA9"},
      {"/100%25", 0, "/100%"},
      {"/a%252e%252e/b", 0, "/a%2e%2e/b"},
      {"/.well/..hidden/c...", 0, "/.well/..hidden/c..."},
      {"/a//b/", 0, "/a//b/"},
      {"", 400, NULL},
      {"*", 400, NULL},
      {"a/b", 400, NULL},
      {"http://localhost/", 400, NULL},
      {"/.", 400, NULL},
      {"/..", 400, NULL},
      {"/../etc/passwd", 400, NULL},
      {"/a/./b", 400, NULL},
      {"/a/%2e%2E/b", 400, NULL},
      {"/..%2fa", 400, NULL},
      {"/a%00b", 400, NULL},
      {"/a%0Ab", 400, NULL},
      {"/a\tb", 400, NULL},
      {"/a%7f", 400, NULL},
      {"/a b", 400, NULL},
      {"/a%", 400, NULL},
      {"/a%4", 400, NULL},
      {"/a%4g", 400, NULL},
      {"/%+41", 400, NULL},
      {"/%C3", 400, NULL},
      {"/%C0%AE%C0%AE/", 400, NULL}, /* two dots, overlong */
      {"/%ED%A0%80", 400, NULL},     /* half of a surrogate pair */
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_target target = {0};
    int status = status_of(be_target_path(&target, cases[i].raw));
    if (status != cases[i].status) print_error("case %zu: %s\n", i, cases[i].raw);
    assert_int_equal(status, cases[i].status);
    if (status == 0) assert_string_equal(target.path, cases[i].path);
  }
}

static int add_pair(struct be_target *target, const char *name, const char *value)
{
  return status_of(be_target_pair(target, name, strlen(name), value, value ? strlen(value) : 0));
}

static void query_values_are_found_by_name(void **state)
{
  (void)state;
  static struct be_inner inner;
  struct be_target *target = &inner.target;
  assert_int_equal(add_pair(target, "line%41", "braid 20%20lb%26"), 0);
  assert_int_equal(add_pair(target, "line", "first"), 0);
  assert_int_equal(add_pair(target, "line", "second"), 0);
  assert_int_equal(add_pair(target, "bare", NULL), 0);
  assert_int_equal(add_pair(target, "note", "two%0D%0Alines"), 0);
  struct be_request request = {.method = "GET", .path = "/", .inner = &inner};
  assert_string_equal(be_request_query(&request, "lineA"), "braid 20 lb&");
  assert_string_equal(be_request_query(&request, "line"), "first");
  assert_string_equal(be_request_query(&request, "bare"), "");
  assert_string_equal(be_request_query(&request, "note"), "two\r\nlines");
  assert_null(be_request_query(&request, "LINE"));
  assert_null(be_request_query(&request, ""));
  assert_int_equal(add_pair(target, "a", "%00"), 400);
  assert_int_equal(add_pair(target, "a", "%FF"), 400);
  assert_int_equal(add_pair(target, "%", "b"), 400);
  assert_null(be_request_query(&request, "a"));
}

static void a_target_has_a_ceiling(void **state)
{
  (void)state;
  static char raw[BE_ADDRESS_MAX + 2];
  struct be_target target = {0};
  memset(raw, 'k', BE_ADDRESS_MAX - 1);
  raw[0] = '/';
  assert_int_equal(status_of(be_target_path(&target, raw)), 0);
  assert_int_equal(strlen(target.path), BE_ADDRESS_MAX - 1);
  assert_int_equal(add_pair(&target, "", ""), 414);
  target.used = 0;
  raw[BE_ADDRESS_MAX - 1] = 'k';
  assert_int_equal(status_of(be_target_path(&target, raw)), 414);
  target.used = target.count = 0;
  for (int i = 0; i < WEB_QUERY_MAX; i++) assert_int_equal(add_pair(&target, "n", "7"), 0);
  assert_int_equal(add_pair(&target, "n", "7"), 400);
}

static int host_status(const char *host, const char *local)
{
  static const char *const names[] = {"bench.local", "shed-7.example"};
  struct be_headers headers = {0};
  if (host) be_headers_add(&headers, "hOST", 4, host, strlen(host));
  return status_of(be_headers_check_host(&headers, local, 18443, names, 2));
}

static void host_names_this_machine(void **state)
{
  (void)state;
  static const char *const good[] = {"127.0.0.1",         "127.0.0.1:18443", "localhost",
                                     "LocalHost:18443",   "[::1]",           "[::1]:18443",
                                     "192.0.2.7",         "192.0.2.7:18443", "bench.local",
                                     "Bench.Local:18443", "shed-7.example"};
  static const char *const other[] = {"evil.example",
                                      "localhost.evil.example",
                                      "localhost:18444",
                                      "localhost:",
                                      "127.0.0.1:184430",
                                      "127.0.0.10",
                                      "::1",
                                      "user@localhost",
                                      "localhost ",
                                      "192.0.2.8",
                                      "127.0.0.1, evil.example",
                                      ":18443",
                                      "bench.local:80",
                                      "bench.local.evil.example",
                                      "bench"};
  for (size_t i = 0; i < sizeof good / sizeof good[0]; i++)
    assert_int_equal(host_status(good[i], "192.0.2.7"), 0);
  for (size_t i = 0; i < sizeof other / sizeof other[0]; i++) {
    assert_int_equal(host_status(other[i], "192.0.2.7"), 421);
    assert_int_equal(host_status(other[i], ""), 421);
  }
  assert_int_equal(host_status("", ""), 400);
  assert_int_equal(host_status(NULL, "192.0.2.7"), 400);
  struct be_headers twice = {0};
  be_headers_add(&twice, "Host", 4, "localhost", 9);
  be_headers_add(&twice, "host", 4, "localhost", 9);
  assert_int_equal(status_of(be_headers_check_host(&twice, "", 18443, NULL, 0)), 400);
}

static void the_length_of_a_body_is_beyond_doubt(void **state)
{
  (void)state;
  static const struct {
    const char *names[2], *values[2];
    int status;
  } cases[] = {
      {{"Accept"}, {"text/html"}, 0},
      {{"Content-Length"}, {"0"}, 0},
      {{"content-length"}, {"65536"}, 0},
      {{"Content-Length"}, {"65537"}, 413},
      {{"Content-Length"}, {"18446744073709551617"}, 413},
      {{"Content-Length"}, {""}, 400},
      {{"Content-Length"}, {"+5"}, 400},
      {{"Content-Length"}, {"-5"}, 400},
      {{"Content-Length"}, {"5, 5"}, 400},
      {{"Content-Length"}, {"0x5"}, 400},
      {{"Content-Length", "CONTENT-LENGTH"}, {"5", "5"}, 400},
      {{"Transfer-Encoding"}, {"Chunked"}, 0},
      {{"Transfer-Encoding"}, {"gzip, chunked"}, 501},
      {{"Transfer-Encoding", "Content-Length"}, {"chunked", "5"}, 400},
      {{"Transfer-Encoding", "Transfer-Encoding"}, {"chunked", "chunked"}, 400},
      {{"Content-Length "}, {"5"}, 400},
      {{"X\x80"}, {"5"}, 400},
      {{""}, {"5"}, 400},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_headers headers = {0};
    for (size_t k = 0; k < 2 && cases[i].names[k]; k++)
      be_headers_add(&headers, cases[i].names[k], strlen(cases[i].names[k]), cases[i].values[k],
                     strlen(cases[i].values[k]));
    int status = status_of(be_headers_check_body(&headers, WEB_BODY_MAX));
    if (status != cases[i].status) print_error("case %zu\n", i);
    assert_int_equal(status, cases[i].status);
  }
  struct be_headers cut = {0};
  be_headers_add(&cut, "Accept", 6, "a\0b", 3);
  assert_int_equal(status_of(be_headers_check_body(&cut, WEB_BODY_MAX)), 400);
}

static int origin_status(const char *origin, const char *site, bool tls)
{
  struct be_headers headers = {0};
  be_headers_add(&headers, "Host", 4, "localhost:18443", 15);
  if (origin) be_headers_add(&headers, "Origin", 6, origin, strlen(origin));
  if (site) be_headers_add(&headers, "Sec-Fetch-Site", 14, site, strlen(site));
  return status_of(be_headers_check_origin(&headers, tls));
}

static void only_our_pages_may_send(void **state)
{
  (void)state;
  assert_int_equal(origin_status(NULL, NULL, false), 0); /* no browser */
  assert_int_equal(origin_status("http://localhost:18443", "same-origin", false), 0);
  assert_int_equal(origin_status("http://LOCALHOST:18443", NULL, false), 0);
  assert_int_equal(origin_status("https://localhost:18443", "none", true), 0);
  static const char *const others[] = {"https://localhost:18443",
                                       "http://localhost",
                                       "http://localhost:18444",
                                       "null",
                                       "",
                                       "http://localhost:18443.other",
                                       "localhost:18443",
                                       "http://other.example",
                                       "http://localhost:18443/",
                                       "http://localhost:18443 "};
  for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
    assert_int_equal(origin_status(others[i], NULL, false), 403);
  assert_int_equal(origin_status("http://localhost:18443", "cross-site", false), 403);
  assert_int_equal(origin_status(NULL, "same-site", false), 403);
  struct be_headers twice = {0};
  be_headers_add(&twice, "Host", 4, "localhost", 9);
  be_headers_add(&twice, "Origin", 6, "http://localhost", 16);
  be_headers_add(&twice, "origin", 6, "http://localhost", 16);
  assert_int_equal(status_of(be_headers_check_origin(&twice, false)), 403);
}

/* Reads a copy, since forms are decoded in place. */
static int form_status(const char *text, struct be_inner *inner, char copy[256])
{
  size_t size = strlen(text);
  memcpy(copy, text, size + 1);
  return status_of(be_form_read(copy, size, &inner->form));
}

static void a_form_is_read(void **state)
{
  (void)state;
  static struct be_inner inner;
  char copy[256];
  struct be_request request = {.method = "POST", .path = "/", .inner = &inner};
  assert_int_equal(
      form_status("load=+7%2C25+&&unit=lb&what&a=b=c&load=2&%6E=%3D%26&", &inner, copy), 0);
  assert_int_equal(inner.form.count, 6);
  assert_string_equal(be_request_form(&request, "load"), " 7,25 ");
  assert_string_equal(be_request_form(&request, "unit"), "lb");
  assert_string_equal(be_request_form(&request, "what"), "");
  assert_string_equal(be_request_form(&request, "a"), "b=c");
  assert_string_equal(be_request_form(&request, "n"), "=&");
  assert_null(be_request_form(&request, "Load"));
  static const char *const bad[] = {"a=%", "a=%4", "a=%zz", "a=%00", "%00=a", "a=%FF", "a=b&%C3=1"};
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
    assert_int_equal(form_status(bad[i], &inner, copy), 400);
  assert_int_equal(form_status("", &inner, copy), 0);
  assert_int_equal(inner.form.count, 0);
  static char many[4 * WEB_FORM_MAX + 5];
  for (int i = 0; i < WEB_FORM_MAX; i++) memcpy(many + 4 * i, "n=7&", 4);
  assert_int_equal(status_of(be_form_read(many, 4 * WEB_FORM_MAX, &inner.form)), 0);
  for (int i = 0; i <= WEB_FORM_MAX; i++) memcpy(many + 4 * i, "n=7&", 4);
  assert_int_equal(status_of(be_form_read(many, 4 * WEB_FORM_MAX + 4, &inner.form)), 400);
}

static void a_cookie_is_found_by_its_name(void **state)
{
  (void)state;
  static struct be_inner inner;
  static char longest[WEB_COOKIE_MAX + 8] = "key=";
  struct be_request request = {.method = "GET", .path = "/", .inner = &inner};
  assert_null(be_request_cookie(&request, "key"));
  inner.cookie = "keys=1; monkey=2;key=k7-Q=; key=3";
  assert_string_equal(be_request_cookie(&request, "key"), "k7-Q=");
  assert_string_equal(be_request_cookie(&request, "monkey"), "2");
  assert_null(be_request_cookie(&request, "ke"));
  inner.cookie = "key";
  assert_null(be_request_cookie(&request, "key"));
  inner.cookie = "key=";
  assert_string_equal(be_request_cookie(&request, "key"), "");
  memset(longest + 4, 'x', WEB_COOKIE_MAX);
  inner.cookie = longest;
  assert_null(be_request_cookie(&request, "key"));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(only_our_pages_may_send),
      cmocka_unit_test(a_form_is_read),
      cmocka_unit_test(a_cookie_is_found_by_its_name),
      cmocka_unit_test(paths_are_decoded_and_judged),
      cmocka_unit_test(query_values_are_found_by_name),
      cmocka_unit_test(a_target_has_a_ceiling),
      cmocka_unit_test(host_names_this_machine),
      cmocka_unit_test(the_length_of_a_body_is_beyond_doubt),
  };
  return be_tests("web: requests", tests);
}
