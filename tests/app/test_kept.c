/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Kept pages by themselves: which stay, which go, and what a file of them gives back. */
#include "app/site/kept.h"
#include "fault/failing.h"
#include "test.h"

static bool add(struct be_kept_pages *kept, const char *address, size_t size, char fill, bool slow)
{
  struct be_buf text;
  be_buf_init(&text, 64 * 1024 * 1024);
  for (size_t i = 0; i < size; i++) be_buf_char(&text, (char)(fill + (char)(i % 7)));
  bool added = be_pages_add(kept, address, strlen(address), &text, 0, slow);
  be_buf_free(&text);
  return added;
}

static bool holds(struct be_kept_pages *kept, const char *address)
{
  return be_pages_find(kept, address, strlen(address)) != NULL;
}

/* The same without asking for it. */
static bool lies_there(const struct be_kept_pages *kept, const char *address)
{
  const struct be_kept_page *page = kept->first;
  while (page && (page->address_size != strlen(address) ||
                  memcmp(page->address, address, page->address_size) != 0))
    page = page->next;
  return page != NULL;
}

static void pages_are_those_of_one_state(void **state)
{
  (void)state;
  struct be_kept_pages kept;
  be_pages_init(&kept, 100000);
  be_pages_turn(&kept, "seventh");
  assert_true(add(&kept, "/a", 137, 'a', false));
  be_pages_turn(&kept, "seventh");
  assert_true(holds(&kept, "/a"));
  assert_false(holds(&kept, "/"));
  assert_false(holds(&kept, "/ab"));
  assert_false(add(&kept, "/a", 11, 'b', false));
  be_pages_turn(&kept, "eighth");
  assert_false(holds(&kept, "/a"));
  assert_int_equal(kept.count, 0);
  assert_int_equal(kept.bytes, 0);
  be_pages_clear(&kept);
}

static void the_page_used_longest_ago_goes_first(void **state)
{
  (void)state;
  struct be_kept_pages kept;
  be_pages_init(&kept, 10 * 1000);
  static const char *const all[] = {"/1", "/2", "/3"};
  for (int i = 0; i < 3; i++) {
    assert_true(add(&kept, all[i], 2900, 'a', false));
    assert_true(holds(&kept, all[i]));
  }
  assert_true(holds(&kept, "/1"));
  assert_true(add(&kept, "/4", 2900, 'a', false));
  assert_true(lies_there(&kept, "/1"));
  assert_false(lies_there(&kept, "/2"));
  assert_true(lies_there(&kept, "/3"));
  assert_true(kept.bytes <= 10 * 1000);
  be_pages_clear(&kept);
}

static void a_flood_displaces_itself(void **state)
{
  (void)state;
  struct be_kept_pages kept;
  be_pages_init(&kept, 100 * 1000);
  assert_true(add(&kept, "/", 30000, 'a', false));
  assert_true(holds(&kept, "/"));
  assert_true(add(&kept, "/strength", 30000, 'a', false));
  assert_true(holds(&kept, "/strength"));
  for (int i = 0; i < 5000; i++) {
    char address[64];
    snprintf(address, sizeof address, "/?never=%d", i);
    assert_true(add(&kept, address, i % 3 ? 10 : 9973, 'f', false));
    assert_true(lies_there(&kept, address));
    assert_true(kept.bytes <= 100 * 1000 && kept.count <= BE_KEPT_PAGES_MAX);
  }
  assert_true(lies_there(&kept, "/"));
  assert_true(lies_there(&kept, "/strength"));
  /* One that is larger than all the room stays until the next one is added. */
  assert_true(add(&kept, "/large", 150 * 1000, 'l', false));
  assert_true(lies_there(&kept, "/large"));
  assert_int_equal(kept.count, 1);
  assert_true(add(&kept, "/next", 17, 'n', false));
  assert_false(lies_there(&kept, "/large"));
  be_pages_clear(&kept);
}

static void addresses_are_bounded(void **state)
{
  (void)state;
  char address[BE_KEPT_ADDRESS_MAX + 2];
  struct be_kept_pages kept;
  be_pages_init(&kept, 100 * 1000);
  memset(address, 'q', sizeof address);
  address[BE_KEPT_ADDRESS_MAX + 1] = '\0';
  assert_false(add(&kept, address, 10, 'a', false));
  address[BE_KEPT_ADDRESS_MAX] = '\0';
  assert_true(add(&kept, address, 10, 'a', false));
  be_pages_clear(&kept);
}

static void a_large_page_is_packed_and_comes_back(void **state)
{
  (void)state;
  struct be_buf text, out;
  be_buf_init(&text, 64 * 1024 * 1024);
  be_buf_init(&out, 64 * 1024 * 1024);
  for (int i = 0; text.size <= BE_KEPT_WHOLE_MAX; i++) be_buf_format(&text, "<td>%d.7</td>", i);
  size_t size = text.size;
  uint64_t sum = 0, again = 0;
  for (size_t i = 0; i < size; i++) sum = sum * 31 + (unsigned char)text.data[i];
  size_t whole = be_page_pack(&text);
  assert_int_equal(whole, size);
  assert_true(text.size < size / 3);
  be_page_unpack(text.data, text.size, whole, &out);
  assert_int_equal(out.status, BE_OK);
  assert_int_equal(out.size, size);
  for (size_t i = 0; i < size; i++) again = again * 31 + (unsigned char)out.data[i];
  assert_true(sum == again);
  be_buf_free(&out);
  /* What cannot be unpacked is an error, and no page. */
  be_buf_init(&out, 64 * 1024 * 1024);
  be_page_unpack(text.data, text.size / 2, whole, &out);
  assert_int_not_equal(out.status, BE_OK);
  be_buf_free(&out);
  be_buf_init(&out, 1000);
  be_page_unpack(text.data, text.size, whole, &out);
  assert_int_not_equal(out.status, BE_OK);
  be_buf_free(&out);
  be_buf_free(&text);
  be_buf_init(&text, 100);
  be_buf_text(&text, "small");
  assert_int_equal(be_page_pack(&text), 0);
  assert_string_equal(text.data, "small");
  be_buf_free(&text);
}

/* ---- the file ---- */

static void write_three(struct be_buf *bytes, const char *state)
{
  struct be_kept_pages kept;
  be_pages_init(&kept, 100 * 1000);
  be_pages_turn(&kept, state);
  assert_true(add(&kept, "/slow", 301, 's', true));
  assert_true(add(&kept, "/quick", 302, 'q', false));
  assert_true(add(&kept, "/last", 303, 'l', true));
  be_buf_init(bytes, 100 * 1000);
  be_pages_write(&kept, bytes);
  assert_int_equal(bytes->status, BE_OK);
  be_pages_clear(&kept);
}

static size_t read_back(struct be_kept_pages *kept, const char *state, const char *bytes,
                        size_t size)
{
  be_pages_init(kept, 100 * 1000);
  be_pages_turn(kept, state);
  return be_pages_read(kept, bytes, size);
}

static void a_file_gives_back_slow_pages(void **state)
{
  (void)state;
  struct be_buf bytes;
  struct be_kept_pages kept;
  write_three(&bytes, "the state");
  assert_int_equal(read_back(&kept, "the state", bytes.data, bytes.size), 2);
  assert_false(holds(&kept, "/quick"));
  const struct be_kept_page *page = be_pages_find(&kept, "/slow", 5);
  assert_non_null(page);
  assert_int_equal(page->size, 301);
  for (size_t i = 0; i < 301; i++) assert_int_equal(page->text[i], 's' + (int)(i % 7));
  be_pages_clear(&kept);
  assert_int_equal(read_back(&kept, "the states", bytes.data, bytes.size), 0);
  assert_int_equal(read_back(&kept, "the stat", bytes.data, bytes.size), 0);
  assert_int_equal(read_back(&kept, "", bytes.data, bytes.size), 0);
  be_buf_free(&bytes);
}

static bool page_is_whole(struct be_kept_pages *kept, const char *address, size_t size, char fill)
{
  const struct be_kept_page *page = be_pages_find(kept, address, strlen(address));
  if (!page) return true;
  if (page->size != size) return false;
  for (size_t i = 0; i < size; i++)
    if (page->text[i] != (char)(fill + (char)(i % 7))) return false;
  return true;
}

static void a_torn_file_gives_whole_pages_or_none(void **state)
{
  (void)state;
  struct be_buf bytes;
  struct be_kept_pages kept;
  write_three(&bytes, "the state");
  for (size_t size = 0; size < bytes.size; size++) {
    /* A copy of the very size, so that a read past its end is seen. */
    char *torn = be_alloc(size + 1);
    memcpy(torn, bytes.data, size);
    assert_true(read_back(&kept, "the state", torn, size) < 2);
    assert_true(page_is_whole(&kept, "/last", 303, 'l'));
    be_pages_clear(&kept);
    be_free(torn);
  }
  for (size_t at = 0; at < bytes.size; at++) {
    bytes.data[at] ^= 0x41;
    assert_true(read_back(&kept, "the state", bytes.data, bytes.size) < 2);
    assert_true(page_is_whole(&kept, "/last", 303, 'l'));
    assert_true(page_is_whole(&kept, "/slow", 301, 's'));
    be_pages_clear(&kept);
    bytes.data[at] ^= 0x41;
  }
  be_buf_free(&bytes);
}

/* ---- memory ---- */

/* What is not kept for want of memory is made again: nothing but that is lost. */
static enum be_status keep_some(void *bytes_, struct be_err *err)
{
  const struct be_buf *bytes = bytes_;
  struct be_kept_pages kept;
  size_t read = read_back(&kept, "the state", bytes->data, bytes->size);
  bool whole = page_is_whole(&kept, "/last", 303, 'l') && page_is_whole(&kept, "/slow", 301, 's');
  struct be_buf text;
  be_buf_init(&text, 1000);
  be_buf_text(&text, "one more");
  bool added = text.status == BE_OK && be_pages_add(&kept, "/more", 5, &text, 0, true);
  bool consistent = added == holds(&kept, "/more");
  be_buf_free(&text);
  be_pages_clear(&kept);
  if (!whole || !consistent) return be_fail(err, BE_BAD_INPUT, "half a page was kept");
  return read == 2 && added ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory for a page");
}

static void without_memory_no_page_is_half_kept(void **state)
{
  (void)state;
  struct be_buf bytes;
  write_three(&bytes, "the state");
  be_fail_loop_apart(keep_some, &bytes, 7);
  be_buf_free(&bytes);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(pages_are_those_of_one_state),
      cmocka_unit_test(the_page_used_longest_ago_goes_first),
      cmocka_unit_test(a_flood_displaces_itself),
      cmocka_unit_test(addresses_are_bounded),
      cmocka_unit_test(a_large_page_is_packed_and_comes_back),
      cmocka_unit_test(a_file_gives_back_slow_pages),
      cmocka_unit_test(a_torn_file_gives_whole_pages_or_none),
      cmocka_unit_test(without_memory_no_page_is_half_kept),
  };
  return be_tests("app: kept pages", tests);
}
