/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "trace_test.h"
#include "trace/rows/rows.h"

#define ROWS_CSV "0.1,2.5\n0.2,7.25\n0.3,5\n"

/* The text of some bytes, which must fit one window. */
static char *text_of(const char *bytes, size_t size, enum be_text_coding *coding)
{
  struct be_source *source;
  struct be_feed feed;
  assert_int_equal(be_source_of_bytes(bytes, size, &source, NULL), BE_OK);
  assert_int_equal(be_feed_start(&feed, source, NULL), BE_OK);
  char *text = be_alloc_array(feed.size - feed.at + 1, 1);
  memcpy(text, feed.data + feed.at, feed.size - feed.at);
  *coding = feed.coding;
  be_feed_end(&feed);
  be_source_close(source);
  return text;
}

static void assert_text(const char *bytes, size_t size, enum be_text_coding want, const char *text)
{
  enum be_text_coding coding;
  char *got = text_of(bytes, size, &coding);
  assert_string_equal(got, text);
  assert_int_equal(coding, want);
  be_free(got);
}

static void utf8_stays_as_it_is(void **state)
{
  (void)state;
  static const char text[] = "Zeit (s);Kraft f\xC3\xBCr alles (N)\n1;2\n3;4\n";
  assert_text(text, sizeof text - 1, BE_UTF8, text);
}

static void a_mark_is_dropped(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text("\xEF\xBB\xBFtime (s),force (N)\n" ROWS_CSV);
  assert_int_equal(file->tests[0].layout->coding, BE_UTF8_BOM);
  assert_string_equal(file->tests[0].layout->columns[0].name, "time (s)");
  assert_string_equal(be_text_coding_word(BE_UTF8_BOM), "UTF-8 with mark");
  be_trace_file_free(file);
}

/* "\u529B" is force in Chinese and Japanese; it takes two bytes in UTF-16. */
static void utf16_is_read_both_ways(void **state)
{
  (void)state;
  static const char plain[] = "t(s)\tx,\r\n0\t7\r\n0.5\t9.25\r\n";
  for (int big = 0; big < 2; big++)
    for (int marked = 0; marked < 2; marked++) {
      char bytes[2 * sizeof plain + 2];
      size_t size = 0;
      if (marked) bytes[size++] = big ? '\xFE' : '\xFF', bytes[size++] = big ? '\xFF' : '\xFE';
      for (size_t i = 0; i + 1 < sizeof plain; i++) {
        char high = plain[i] == 'x' ? '\x52' : 0, low = plain[i] == 'x' ? '\x9B' : plain[i];
        if (plain[i] == ',') high = 0, low = 'N';
        if (!marked && plain[i] == 'x') high = 0, low = 'F';
        bytes[size++] = big ? high : low;
        bytes[size++] = big ? low : high;
      }
      struct be_trace_file *file = read_with(bytes, size, NULL);
      const struct be_trace_layout *layout = file->tests[0].layout;
      assert_int_equal(layout->coding, big ? BE_UTF16_BE : BE_UTF16_LE);
      assert_string_equal(layout->columns[1].name, marked ? "\u529BN" : "FN");
      assert_near(file->tests[0].force_N[1], 9.25, 0);
      be_trace_file_free(file);
    }
}

static void pairs_of_utf16_become_one_character(void **state)
{
  (void)state;
  static const char bytes[] = "\xFF\xFE\x3D\xD8\x00\xDE\x00\xD8\x41\x00";
  assert_text(bytes, sizeof bytes - 1, BE_UTF16_LE,
              "\xF0\x9F\x98\x80\xEF\xBF\xBD"
              "A");
}

static void eight_bit_text_is_latin1(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text("Posi\xE7\xE3o (mm)\tFor\xE7"
                                         "a (N)\t\x80\n0\t2,5\t\n0,5\t7,25\t\n");
  const struct be_trace_layout *layout = file->tests[0].layout;
  assert_int_equal(layout->coding, BE_LATIN1);
  assert_string_equal(layout->columns[1].name, "For\u00E7a (N)");
  assert_string_equal(layout->columns[2].name, "\u20AC");
  assert_int_equal(layout->columns[1].role, BE_ROLE_FORCE);
  assert_int_equal(layout->columns[1].sureness, BE_SURE);
  be_trace_file_free(file);
}

/* Text that is not UTF-8 is in the coding in which its headings say something; a
 * unit in ASCII alone would not tell. */
static void older_codings_are_told_by_their_words(void **state)
{
  (void)state;
  static const char gb[] = "\xCA\xD4\xD1\xE9,\xB1\xE0\xBA\xC5 17\n"
                           "\xCA\xB1\xBC\xE4(s),\xC1\xA6\xD6\xB5(N),\xCE\xBB\xD2\xC6(mm)\n"
                           "0,1.5,0\n1,9.25,0.5\n2,0.5,1\n";
  static const char jis[] = "\x8E\x8E\x8C\xB1,17\n"
                            "\x8E\x9E\x8A\xD4[s],\x89\xD7\x8F"
                            "d[N],\x95\xCF\x88\xCA[mm]\n"
                            "0,1.5,0\n1,9.25,0.5\n2,0.5,1\n";
  const struct {
    const char *bytes;
    size_t size;
    enum be_text_coding coding;
    const char *force;
  } cases[] = {{gb, sizeof gb - 1, BE_GB18030, "\u529B\u503C(N)"},
               {jis, sizeof jis - 1, BE_SHIFT_JIS, "\u8377\u91CD[N]"}};
  for (size_t i = 0; i < 2; i++) {
    struct be_trace_file *file = read_with(cases[i].bytes, cases[i].size, NULL);
    const struct be_trace_layout *layout = file->tests[0].layout;
    assert_int_equal(layout->coding, cases[i].coding);
    assert_string_equal(layout->columns[1].name, cases[i].force);
    assert_int_equal(layout->columns[1].sureness, BE_SURE);
    assert_int_equal(layout->columns[2].role, BE_ROLE_EXTENSION);
    assert_near(file->tests[0].as_written.peak, 9.25, 0);
    be_trace_file_free(file);
  }
}

static void bytes_that_are_no_text_are_refused(void **state)
{
  (void)state;
  struct be_trace_file *file = NULL;
  struct be_err err;
  static const char bytes[] = "time,force\n1,2\n3\0,4\n";
  assert_int_equal(be_trace_read_bytes(bytes, sizeof bytes - 1, NULL, &file, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "byte 2 of line 3 is 0"));
  assert_int_equal(err.line, 3);
  char all[256];
  for (int i = 0; i < 256; i++) all[i] = (char)i;
  assert_int_equal(be_trace_read_bytes(all, sizeof all, NULL, &file, NULL), BE_BAD_INPUT);
  assert_null(file);
}

static void old_line_ends_are_read(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text("time (s),force (N)\r0.1,2.5\r0.2,7.25");
  assert_int_equal(file->tests[0].n, 2);
  assert_int_equal(file->tests[0].line[1], 3);
  be_trace_file_free(file);
  file = read_text("time (s),force (N)\r\n0.1,2.5\n0.2,7.25\r\r\n0.3,1");
  assert_int_equal(file->tests[0].n, 3);
  assert_int_equal(file->tests[0].line[2], 4);
  be_trace_file_free(file);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(utf8_stays_as_it_is),
      cmocka_unit_test(a_mark_is_dropped),
      cmocka_unit_test(utf16_is_read_both_ways),
      cmocka_unit_test(pairs_of_utf16_become_one_character),
      cmocka_unit_test(eight_bit_text_is_latin1),
      cmocka_unit_test(older_codings_are_told_by_their_words),
      cmocka_unit_test(bytes_that_are_no_text_are_refused),
      cmocka_unit_test(old_line_ends_are_read),
  };
  return be_tests("trace: coding", tests);
}
