/* SPDX-License-Identifier: GPL-3.0-or-later */
#define ZLIB_CONST
#include "base/base.h"
#include "fault/failing.h"
#include "test.h"

#include <zlib.h>
#include <zstd.h>

/* ---- packing ---- */

enum { TEXT_SIZE = 300000, PACKED_SIZE = 400000 };
static char text[TEXT_SIZE], packed[PACKED_SIZE], got_text[TEXT_SIZE + 10];

static void make_text(void)
{
  struct be_random random;
  be_random_init(&random, 8117, 1);
  for (size_t i = 0; i < TEXT_SIZE; i++)
    text[i] = i % 13 == 12 ? '\n' : (char)('0' + be_random_below(&random, 7));
}

static size_t pack_gzip(const char *from, size_t size, char *to, size_t room)
{
  z_stream stream = {0};
  assert_int_equal(deflateInit2(&stream, 6, Z_DEFLATED, 15 + 16, 8, Z_DEFAULT_STRATEGY), Z_OK);
  stream.next_in = (const Bytef *)from;
  stream.avail_in = (uInt)size;
  stream.next_out = (Bytef *)to;
  stream.avail_out = (uInt)room;
  assert_int_equal(deflate(&stream, Z_FINISH), Z_STREAM_END);
  size_t made = room - stream.avail_out;
  deflateEnd(&stream);
  return made;
}

/* The whole text, packed by gzip (0) or Zstandard (1). */
static size_t pack_either(int way)
{
  return way ? ZSTD_compress(packed, PACKED_SIZE, text, TEXT_SIZE, 3)
             : pack_gzip(text, TEXT_SIZE, packed, PACKED_SIZE);
}

/* Reads all of it in odd pieces; *size is how much there was. */
static enum be_status read_pieces(const char *bytes, size_t count, size_t *size, struct be_err *err)
{
  struct be_source *source = NULL;
  enum be_status status = be_source_of_bytes(bytes, count, &source, err);
  size_t got = 1;
  *size = 0;
  while (status == BE_OK && got > 0 && *size < sizeof got_text) {
    size_t room = sizeof got_text - *size < 7001 ? sizeof got_text - *size : 7001;
    status = be_source_read(source, got_text + *size, room, &got, err);
    *size += got;
    if (status == BE_OK && got < room) break;
  }
  be_source_close(source);
  return status;
}

static void assert_unpacks(const char *bytes, size_t count)
{
  size_t size;
  assert_int_equal(read_pieces(bytes, count, &size, NULL), BE_OK);
  assert_int_equal(size, TEXT_SIZE);
  assert_memory_equal(got_text, text, TEXT_SIZE);
}

static void bytes_come_as_they_are(void **state)
{
  (void)state;
  size_t size;
  make_text();
  assert_unpacks(text, TEXT_SIZE);
  assert_int_equal(read_pieces("ab", 2, &size, NULL), BE_OK);
  assert_int_equal(size, 2);
  assert_memory_equal(got_text, "ab", 2);
  assert_int_equal(read_pieces("", 0, &size, NULL), BE_OK);
  assert_int_equal(size, 0);
}

static void gzip_is_unpacked(void **state)
{
  (void)state;
  make_text();
  assert_unpacks(packed, pack_gzip(text, TEXT_SIZE, packed, PACKED_SIZE));
  /* RFC 1952, section 2.2: a file is a series of members. */
  size_t first = pack_gzip(text, 100001, packed, PACKED_SIZE);
  size_t second = pack_gzip(text + 100001, TEXT_SIZE - 100001, packed + first, PACKED_SIZE - first);
  assert_unpacks(packed, first + second);
}

static void zstandard_is_unpacked(void **state)
{
  (void)state;
  make_text();
  size_t first = ZSTD_compress(packed, PACKED_SIZE, text, 77777, 3);
  size_t second =
      ZSTD_compress(packed + first, PACKED_SIZE - first, text + 77777, TEXT_SIZE - 77777, 19);
  assert_unpacks(packed, first + second);
}

static void what_is_damaged_is_refused(void **state)
{
  (void)state;
  struct be_err err = {0};
  size_t size;
  make_text();
  for (int way = 0; way < 2; way++) {
    size_t count = pack_either(way);
    for (size_t cut = 5; cut < count; cut += count / 9) {
      assert_int_equal(read_pieces(packed, cut, &size, &err), BE_BAD_INPUT);
      assert_string_equal(err.what, "the packed file ends early");
    }
    memset(packed + count / 2, 0x5A, 40);
    assert_int_equal(read_pieces(packed, count, &size, &err), BE_BAD_INPUT);
    assert_non_null(strstr(err.what, "damaged"));
    assert_true(err.remedy[0]);
  }
}

static void what_follows_the_packed_data_is_refused(void **state)
{
  (void)state;
  struct be_err err = {0};
  size_t size;
  make_text();
  for (int way = 0; way < 2; way++) {
    size_t count = pack_either(way);
    memcpy(packed + count, "1,2\n3,4\n", 8);
    assert_int_equal(read_pieces(packed, count + 8, &size, &err), BE_BAD_INPUT);
    assert_non_null(strstr(err.what, "after its end follows what is not packed"));
    assert_true(err.remedy[0]);
  }
}

/* Whoever passed over an error reads no further: bytes may be lost. */
static void a_source_that_failed_goes_on_failing(void **state)
{
  (void)state;
  struct be_source *source = NULL;
  struct be_err first = {0}, again = {0};
  size_t got;
  make_text();
  size_t count = pack_gzip(text, TEXT_SIZE, packed, PACKED_SIZE);
  memset(packed + count / 2, 0x5A, 40);
  assert_int_equal(be_source_of_bytes(packed, count, &source, NULL), BE_OK);
  assert_int_equal(be_source_read(source, got_text, TEXT_SIZE + 10, &got, &first), BE_BAD_INPUT);
  assert_int_equal(got, 0);
  assert_int_equal(be_source_read(source, got_text, 10, &got, NULL), BE_BAD_INPUT);
  assert_int_equal(be_source_read(source, got_text, 10, &got, &again), BE_BAD_INPUT);
  assert_int_equal(got, 0);
  assert_string_equal(first.what, again.what);
  be_source_close(source);
}

static enum be_status unpack_all(void *count, struct be_err *err)
{
  size_t size;
  return read_pieces(packed, *(size_t *)count, &size, err);
}

static void memory_may_fail(void **state)
{
  (void)state;
  make_text();
  size_t count = pack_gzip(text, TEXT_SIZE, packed, PACKED_SIZE);
  be_fail_loop(unpack_all, &count, 4);
}

/* ---- recoding ---- */

static void codings_become_utf8(void **state)
{
  (void)state;
  static const struct {
    const char *coding, *bytes, *utf8;
  } cases[] = {
      {"CP1252",
       "For\xE7"
       "a \x80",
       "For\u00E7a \u20AC"},
      {"GB18030", "\xC1\xA6", "\u529B"},
      {"CP932", "\x97\xCD", "\u529B"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_recoder *recoder = be_recoder_create(cases[i].coding);
    char out[32] = "";
    size_t made, size = strlen(cases[i].bytes);
    assert_non_null(recoder);
    assert_int_equal(be_recode(recoder, cases[i].bytes, size, out, sizeof out, &made), size);
    assert_int_equal(made, strlen(cases[i].utf8));
    assert_string_equal(out, cases[i].utf8);
    be_recoder_free(recoder);
  }
  assert_null(be_recoder_create("no such coding"));
}

static void recoding_stops_at_what_is_no_character(void **state)
{
  (void)state;
  struct be_recoder *recoder = be_recoder_create("GB18030");
  char out[8];
  size_t made;
  assert_int_equal(be_recode(recoder, "a\xC1", 2, out, sizeof out, &made), 1);
  assert_int_equal(be_recode(recoder, "ab\xFF\xFF", 4, out, sizeof out, &made), 2);
  assert_int_equal(made, 2);
  assert_int_equal(be_recode(recoder, "abcd", 4, out, 3, &made), 3);
  be_recoder_free(recoder);
}

/* ---- gate ---- */

struct order {
  struct be_gate *gate;
  size_t seen[64], count;
};

static void pass_in_order(void *context, size_t i)
{
  struct order *order = context;
  be_gate_wait(order->gate, i);
  order->seen[order->count++] = i;
  be_gate_pass(order->gate);
}

static void a_gate_keeps_the_order(void **state)
{
  (void)state;
  struct order order = {.gate = be_gate_create()};
  be_parallel(64, 4, pass_in_order, &order);
  assert_int_equal(order.count, 64);
  for (size_t i = 0; i < 64; i++) assert_int_equal(order.seen[i], i);
  be_gate_free(order.gate);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(bytes_come_as_they_are),
      cmocka_unit_test(gzip_is_unpacked),
      cmocka_unit_test(zstandard_is_unpacked),
      cmocka_unit_test(what_is_damaged_is_refused),
      cmocka_unit_test(what_follows_the_packed_data_is_refused),
      cmocka_unit_test(a_source_that_failed_goes_on_failing),
      cmocka_unit_test(memory_may_fail),
      cmocka_unit_test(codings_become_utf8),
      cmocka_unit_test(recoding_stops_at_what_is_no_character),
      cmocka_unit_test(a_gate_keeps_the_order),
  };
  return be_tests("base: source", tests);
}
