/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory fails at each point, once and for ever: every edition says so, and
 * nothing is leaked. */
#include "fault/failing.h"
#include "sample.h"

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

static enum be_status print_pdf(const struct be_doc *doc, struct be_buf *out, struct be_err *err)
{
  const struct be_edition edition = {.site = "s", .foot = "f"};
  return be_doc_pdf(&doc, 1, &edition, out, err);
}

static const struct {
  const char *name;
  enum be_status (*print)(const struct be_doc *doc, struct be_buf *out, struct be_err *err);
} editions[] = {{"text", print_text},          {"csv", be_doc_csv},  {"json", be_doc_json},
                {"markdown", be_doc_markdown}, {"html", print_html}, {"pdf", print_pdf}};
enum { EDITIONS = sizeof editions / sizeof editions[0] };

enum { ROOM = 1 << 18 };

struct attempt {
  size_t edition;
  char text[ROOM]; /* what was printed last */
  size_t size;
};

/* Builds the sample and prints one edition. */
static enum be_status attempt(void *context, struct be_err *err)
{
  struct attempt *made = context;
  struct be_doc *doc = sample();
  struct be_buf out;
  be_buf_init(&out, ROOM - 1);
  enum be_status status = editions[made->edition].print(doc, &out, err);
  if (status == BE_OK) memcpy(made->text, out.data, made->size = out.size);
  be_buf_free(&out);
  be_doc_free(doc);
  return status;
}

static void memory_may_fail_anywhere(void **state)
{
  (void)state;
  static struct attempt want, got;
  for (size_t edition = 0; edition < EDITIONS; edition++) {
    want.edition = got.edition = edition;
    assert_int_equal(attempt(&want, NULL), BE_OK);
    be_fail_loop(attempt, &got, 40);
    assert_int_equal(got.size, want.size);
    assert_memory_equal(got.text, want.text, want.size);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(memory_may_fail_anywhere)};
  return be_tests("press: memory", tests);
}
