/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory fails at each point, once and for ever: every edition says so, and
 * nothing is leaked. */
#include "sample.h"

struct host {
  size_t calls, fail_at;
  bool for_ever;
  size_t blocks;
};

static void *failing_resize(void *context, void *block, size_t old_size, size_t new_size)
{
  (void)old_size;
  struct host *host = context;
  if (new_size == 0) {
    if (block) host->blocks--;
    free(block);
    return NULL;
  }
  host->calls++;
  bool fails = host->for_ever ? host->calls >= host->fail_at : host->calls == host->fail_at;
  if (fails) return NULL;
  void *moved = realloc(block, new_size);
  if (moved && !block) host->blocks++;
  return moved;
}

static enum be_status print_text(const struct be_doc *doc, struct be_buf *out, struct be_err *err)
{
  return be_doc_text(doc, 60, out, err);
}

static enum be_status print_html(const struct be_doc *doc, struct be_buf *out, struct be_err *err)
{
  static const struct be_place places[] = {{"/", "Bench"}};
  const struct be_edition edition = {
      .site = "s", .sheet = "p{}", .places = places, .places_count = 1, .foot = "f"};
  return be_doc_html(&doc, 1, &edition, out, err);
}

static const struct {
  const char *name;
  enum be_status (*print)(const struct be_doc *doc, struct be_buf *out, struct be_err *err);
} editions[] = {
    {"text", print_text}, {"csv", be_doc_csv}, {"json", be_doc_json}, {"html", print_html}};

/* Builds the sample and prints one edition; what is printed is left in text. */
static enum be_status attempt(size_t edition, char *text, size_t room)
{
  struct be_doc *doc = sample();
  struct be_buf out;
  be_buf_init(&out, room - 1);
  struct be_err err;
  enum be_status status = editions[edition].print(doc, &out, &err);
  if (status == BE_OK) memcpy(text, out.data, out.size + 1);
  else assert_int_equal(err.status, status);
  be_buf_free(&out);
  be_doc_free(doc);
  return status;
}

static void memory_may_fail_anywhere(void **state)
{
  (void)state;
  enum { ROOM = 1 << 18 };
  char *want = malloc(ROOM), *got = malloc(ROOM);
  for (size_t edition = 0; edition < 4; edition++) {
    assert_int_equal(attempt(edition, want, ROOM), BE_OK);
    for (int for_ever = 0; for_ever < 2; for_ever++) {
      enum be_status status = BE_NO_MEMORY;
      size_t failures = 0;
      for (size_t n = 1; status != BE_OK; n++) {
        assert_true(n < 10000);
        struct host host = {.fail_at = n, .for_ever = for_ever};
        const struct be_allocator table = {failing_resize, &host};
        be_allocator_install(&table);
        status = attempt(edition, got, ROOM);
        be_allocator_install(NULL);
        if (host.blocks != 0) print_error("%s, %zu: leak\n", editions[edition].name, n);
        assert_int_equal(host.blocks, 0);
        assert_true(status == BE_OK || status == BE_NO_MEMORY);
        if (status == BE_OK) assert_true(host.calls < n); /* no failure was passed over */
        failures += status != BE_OK;
      }
      assert_true(failures > 40);
      assert_string_equal(got, want);
    }
  }
  free(want);
  free(got);
}

int main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(memory_may_fail_anywhere)};
  return be_tests("press: memory", tests);
}
