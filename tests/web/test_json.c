/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What programs send, without a server. */
#include "fault/failing.h"
#include "test.h"
#include "web/inside.h"

struct sent {
  struct be_inner inner;
  struct be_request request;
  char body[8192];
};

static enum be_status read_sent(struct sent *sent, const char *body, struct be_err *err)
{
  memset(sent, 0, sizeof *sent);
  size_t size = strlen(body);
  assert_true(size < sizeof sent->body);
  memcpy(sent->body, body, size);
  sent->inner.body = sent->body;
  sent->request = (struct be_request){.body = sent->body, .body_size = size, .inner = &sent->inner};
  be_json_prepare();
  return be_request_json(&sent->request, "step", err);
}

static void pair_is(const struct sent *sent, size_t i, const char *name, const char *value)
{
  assert_string_equal(be_request_named(&sent->request, i), name);
  assert_string_equal(be_request_form(&sent->request, name), value);
}

static void members_are_pairs_of_a_form(void **state)
{
  (void)state;
  struct sent sent;
  assert_int_equal(read_sent(&sent, "{\"line A\":\"nylon\",\"step\":41,\"\":\"\"}", NULL), BE_OK);
  pair_is(&sent, 0, "line A", "nylon");
  pair_is(&sent, 1, "step", "41");
  pair_is(&sent, 2, "", "");
  assert_null(be_request_named(&sent.request, 3));
  assert_null(be_request_form(&sent.request, "line"));
  assert_int_equal(read_sent(&sent, " {\"note\":\"\\u00e9\\ud83d\\ude00\\n\"}\n", NULL), BE_OK);
  pair_is(&sent, 0, "note", "\xC3\xA9\xF0\x9F\x98\x80\n");
  assert_int_equal(read_sent(&sent, "{}", NULL), BE_OK);
  assert_null(be_request_named(&sent.request, 0));
  assert_int_equal(read_sent(&sent, "{\"step\":9223372036854775807}", NULL), BE_OK);
  pair_is(&sent, 0, "step", "9223372036854775807");
}

static void anything_else_is_refused(void **state)
{
  (void)state;
  static const struct {
    const char *body, *what;
    size_t line, column;
  } wrong[] = {
      {"", "not JSON", 1, 0},
      {"{", "not JSON", 1, 1},
      {"{}{}", "not JSON", 1, 3},
      {"{\"a\":\n\"b\",}", "not JSON", 2, 5},
      {"{'a':'b'}", "not JSON", 1, 2},
      {"{\"a\":\"\xC3\"}", "not JSON", 1, 6},
      {"{\"a\":\"\\u0000\"}", "not JSON", 1, 13},
      {"{\"a\":\"1\",\"a\":\"2\"}", "duplicate", 1, 12},
      {"{\"step\":9223372036854775808}", "not JSON", 1, 27},
      {"[\"a\"]", "a list", 0, 0},
      {"{\"a\":7}", "\"a\" takes a string", 0, 0},
      {"{\"a\":null}", "\"a\" takes a string", 0, 0},
      {"{\"a\":true}", "\"a\" takes a string", 0, 0},
      {"{\"a\":{\"b\":\"c\"}}", "\"a\" takes a string", 0, 0},
      {"{\"step\":\"7\"}", "\"step\" takes a whole number", 0, 0},
      {"{\"step\":7.0}", "\"step\" takes a whole number", 0, 0},
      {"{\"step\":-7}", "\"step\" takes a whole number", 0, 0},
  };
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    struct sent sent;
    struct be_err err = {0};
    assert_int_equal(read_sent(&sent, wrong[i].body, &err), BE_BAD_INPUT);
    if (!strstr(err.what, wrong[i].what) || err.line != wrong[i].line ||
        err.column != wrong[i].column)
      fail_msg("%s: %s, line %zu, column %zu", wrong[i].body, err.what, err.line, err.column);
    assert_null(be_request_named(&sent.request, 0));
  }
}

static void it_has_limits(void **state)
{
  (void)state;
  struct sent sent;
  struct be_err err = {0};
  for (int most = WEB_FORM_MAX; most <= WEB_FORM_MAX + 1; most++) {
    char body[8192];
    size_t used = 0;
    for (int i = 0; i < most; i++)
      used += (size_t)snprintf(body + used, sizeof body - used, "%c\"n%d\":\"v%d\"", i ? ',' : '{',
                               i, i);
    snprintf(body + used, sizeof body - used, "}");
    enum be_status status = read_sent(&sent, body, &err);
    assert_int_equal(status, most == WEB_FORM_MAX ? BE_OK : BE_BAD_INPUT);
    if (status == BE_OK) pair_is(&sent, 255, "n255", "v255");
  }
  assert_non_null(strstr(err.what, "more than 256"));
  char deep[6001];
  memset(deep, '[', sizeof deep - 1);
  deep[sizeof deep - 1] = '\0';
  assert_int_equal(read_sent(&sent, deep, &err), BE_BAD_INPUT);
}

static enum be_status read_some(void *context, struct be_err *err)
{
  struct sent *sent = context;
  return read_sent(sent, "{\"do\":\"choose\",\"step\":7,\"line A\":\"nylon\",\"soak\":\"dry\"}",
                   err);
}

static void memory_may_fail_at_each_point(void **state)
{
  (void)state;
  struct sent sent;
  be_fail_loop(read_some, &sent, 10);
  pair_is(&sent, 2, "line A", "nylon");
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(members_are_pairs_of_a_form),
      cmocka_unit_test(anything_else_is_refused),
      cmocka_unit_test(it_has_limits),
      cmocka_unit_test(memory_may_fail_at_each_point),
  };
  return be_tests("web: json", tests);
}
