/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/base.h"
#include "fault/failing.h"
#include "test.h"

static void appends_add_up(void **state)
{
  (void)state;
  struct be_buf buf;
  be_buf_init(&buf, 5000);
  assert_null(buf.data);
  be_buf_add(&buf, "", 0);
  assert_string_equal(buf.data, "");
  be_buf_text(&buf, "spool ");
  be_buf_char(&buf, '#');
  be_buf_format(&buf, "%03d", 17);
  be_buf_add(&buf, "\0x", 2);
  assert_int_equal(buf.size, 12);
  assert_memory_equal(buf.data, "spool #017\0x", 13);
  for (int i = 0; i < 1000; i++) be_buf_format(&buf, "%d,", i % 7);
  assert_int_equal(buf.size, 2012);
  assert_memory_equal(buf.data + 12, "0,1,2,3,4,5,6,0,", 16);
  assert_int_equal(buf.data[buf.size], '\0');
  assert_int_equal(be_buf_status(&buf, NULL), BE_OK);
  be_buf_free(&buf);
  assert_null(buf.data);
  assert_int_equal(buf.size, 0);
  assert_int_equal(buf.ceiling, 5000);
}

static void exactly_the_ceiling_fits(void **state)
{
  (void)state;
  struct be_buf buf;
  be_buf_init(&buf, 23);
  be_buf_text(&buf, "twenty-three bytes, yes");
  assert_int_equal(be_buf_status(&buf, NULL), BE_OK);
  assert_int_equal(buf.size, 23);
  assert_int_equal(buf.data[23], '\0');
  be_buf_add(&buf, "", 0);
  assert_int_equal(be_buf_status(&buf, NULL), BE_OK);
  be_buf_char(&buf, '!');
  struct be_err err;
  assert_int_equal(be_buf_status(&buf, &err), BE_TOO_LARGE);
  assert_non_null(strstr(err.what, "23 bytes"));
  assert_string_equal(buf.data, "twenty-three bytes, yes");
  be_buf_free(&buf);
}

/* After a failure nothing more is added, also what would still have fitted. */
static void the_first_failure_sticks(void **state)
{
  (void)state;
  struct be_buf buf;
  be_buf_init(&buf, 10);
  be_buf_text(&buf, "seven b");
  be_buf_format(&buf, "%s", "four");
  be_buf_char(&buf, 'x');
  be_buf_text(&buf, "");
  be_buf_format(&buf, "%d", 3);
  assert_string_equal(buf.data, "seven b");
  assert_int_equal(be_buf_status(&buf, NULL), BE_TOO_LARGE);
  be_buf_free(&buf);
  be_buf_text(&buf, "again");
  assert_string_equal(buf.data, "again");
  assert_int_equal(be_buf_status(&buf, NULL), BE_OK);
  be_buf_free(&buf);
}

static void a_failed_allocation_sticks(void **state)
{
  (void)state;
  struct be_failing failing;
  be_failing_start(&failing, 2, false);
  struct be_buf buf;
  be_buf_init(&buf, 100000);
  be_buf_text(&buf, "kept");
  be_buf_format(&buf, "%*d", 99, 1);
  be_buf_text(&buf, "lost");
  struct be_err err;
  assert_int_equal(be_buf_status(&buf, &err), BE_NO_MEMORY);
  assert_non_null(strstr(err.what, "memory"));
  assert_string_equal(buf.data, "kept");
  be_buf_free(&buf);
  be_failing_stop();
  assert_int_equal(failing.blocks, 0);
  assert_int_equal(failing.broken, 0);
}

static void a_ceiling_of_nothing_holds_nothing(void **state)
{
  (void)state;
  struct be_buf buf;
  be_buf_init(&buf, 0);
  be_buf_text(&buf, "");
  assert_int_equal(be_buf_status(&buf, NULL), BE_OK);
  be_buf_char(&buf, 'a');
  assert_int_equal(be_buf_status(&buf, NULL), BE_TOO_LARGE);
  be_buf_free(&buf);
}

static enum be_status write_a_page(void *context, struct be_err *err)
{
  (void)context;
  struct be_buf buf;
  be_buf_init(&buf, 100000);
  for (int i = 0; i < 3000; i++) be_buf_format(&buf, "%d ", i);
  enum be_status status = be_buf_status(&buf, err);
  be_buf_free(&buf);
  return status;
}

/* 13890 bytes in doublings from 16: at least ten allocations. */
static void a_page_survives_every_failure(void **state)
{
  (void)state;
  be_fail_loop(write_a_page, NULL, 10);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(appends_add_up),
      cmocka_unit_test(exactly_the_ceiling_fits),
      cmocka_unit_test(the_first_failure_sticks),
      cmocka_unit_test(a_failed_allocation_sticks),
      cmocka_unit_test(a_ceiling_of_nothing_holds_nothing),
      cmocka_unit_test(a_page_survives_every_failure),
  };
  return be_tests("base: buffers", tests);
}
