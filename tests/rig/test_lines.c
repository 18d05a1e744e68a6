/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sources that play by the clock, which here is the test's own: nothing waits. */
#define _POSIX_C_SOURCE 200809L
#include "fault/failing.h"
#include "rig/rig.h"
#include "rig/settings/settings.h"
#include "test.h"

#include <unistd.h>

struct time {
  int64_t now_ns;
  size_t sleeps;
};

static int64_t now_ns(void *host)
{
  return ((struct time *)host)->now_ns;
}

static void sleep_until(void *host, int64_t ns)
{
  struct time *time = host;
  time->sleeps++;
  if (ns > time->now_ns) time->now_ns = ns;
}

static struct time time_now;
static const struct be_rig_clock clock_of_test = {now_ns, sleep_until, &time_now};

static void *opened(const struct be_rig_source *source, const char *settings)
{
  void *state = NULL;
  struct be_err err = {0};
  time_now = (struct time){.now_ns = 7000000077};
  if (source->open(settings, &clock_of_test, &state, &err) != BE_OK) fail_msg("%s", err.what);
  return state;
}

static struct be_rig_got got_of(const struct be_rig_source *source, void *state, char *bytes,
                                size_t room, int64_t wait_ns)
{
  struct be_rig_got got;
  struct be_err err = {0};
  if (source->read(state, bytes, room, wait_ns, &got, &err) != BE_OK) fail_msg("%s", err.what);
  return got;
}

static const char path[] = "lines.part.txt";

static void write_file(const char *bytes, size_t size)
{
  struct be_err err = {0};
  assert_int_equal(be_file_write(path, bytes, size, &err), BE_OK);
}

static int tear_down(void **state)
{
  (void)state;
  return be_file_remove(path, NULL);
}

static void lines_at_their_rate(void **state)
{
  (void)state;
  const struct be_rig_source *file = be_rig_source_find("file");
  static const char text[] = "12.5\n13.25\n14.125";
  char bytes[64];
  write_file(text, sizeof text - 1);
  void *replay = opened(file, "path=lines.part.txt lines_per_s=4");
  struct be_rig_got got = got_of(file, replay, bytes, sizeof bytes, 50000000);
  assert_int_equal(got.size, 5);
  assert_memory_equal(bytes, "12.5\n", 5);
  assert_int_equal(got.host_ns, 7000000077);
  /* The second is due a quarter of a second later: five waits of 50 ms. */
  for (int i = 1; i <= 4; i++) {
    got = got_of(file, replay, bytes, sizeof bytes, 50000000);
    assert_int_equal(got.size, 0);
    assert_false(got.ended);
    assert_int_equal(time_now.now_ns, 7000000077 + 50000000 * i);
  }
  got = got_of(file, replay, bytes, sizeof bytes, 50000000);
  assert_int_equal(got.size, 6);
  assert_int_equal(got.host_ns, 7250000077);
  got = got_of(file, replay, bytes, sizeof bytes, INT64_C(9000000000));
  assert_int_equal(got.size, 6);
  assert_memory_equal(bytes, "14.125", 6);
  assert_true(got.ended);
  assert_int_equal(time_now.now_ns, 7500000077);
  file->close(replay);
}

static void faster_and_at_once(void **state)
{
  (void)state;
  const struct be_rig_source *file = be_rig_source_find("file");
  char text[700], bytes[64];
  for (size_t i = 0; i < 100; i++) memcpy(text + 7 * i, "12.625\n", 7);
  write_file(text, sizeof text);
  for (int at_once = 0; at_once < 2; at_once++) {
    void *replay = opened(file, at_once ? "path=lines.part.txt speed=0 lines_per_s=0.5"
                                        : "path=lines.part.txt lines_per_s=0.5 speed=40");
    struct be_rig_got got = {0};
    size_t size = 0;
    while (!got.ended) {
      got = got_of(file, replay, bytes, sizeof bytes, 50000000);
      assert_memory_equal(bytes, text + size, got.size);
      size += got.size;
    }
    assert_int_equal(size, sizeof text);
    /* 99 steps of 2 s, 40 times faster. */
    assert_int_equal(time_now.now_ns, 7000000077 + (at_once ? 0 : INT64_C(99) * 50000000));
    assert_true(at_once ? time_now.sleeps == 0 : time_now.sleeps > 90);
    file->close(replay);
  }
}

/* So slow that its time is no number of nanoseconds: it is not due, and no harm comes of it. */
static void slower_than_time(void **state)
{
  (void)state;
  const struct be_rig_source *file = be_rig_source_find("file");
  char bytes[64];
  write_file("12.5\n13.5\n", 10);
  void *replay = opened(file, "path=lines.part.txt speed=1e-300");
  assert_int_equal(got_of(file, replay, bytes, sizeof bytes, 50000000).size, 5);
  assert_int_equal(got_of(file, replay, bytes, sizeof bytes, 50000000).size, 0);
  file->close(replay);
}

/* A capture plays its runs at their times, and tells where the line had been away. */
static void captures(void **state)
{
  (void)state;
  const struct be_rig_source *file = be_rig_source_find("file");
  struct be_buf out;
  char bytes[64];
  static const struct {
    struct be_rig_chunk chunk;
    const char *bytes;
  } chunks[] = {
      {{BE_CHUNK_OPENED, 1000, 0, 0}, ""},         {{BE_CHUNK_BYTES, 1100, 0, 7}, "12.5\n13"},
      {{BE_CHUNK_BYTES, 30001100, 7, 4}, ".25\n"}, {{BE_CHUNK_CLOSED, 31001100, 11, 0}, ""},
      {{BE_CHUNK_OPENED, 41001100, 11, 0}, ""},    {{BE_CHUNK_BYTES, 42001000, 11, 3}, "\n\0\n"},
  };
  be_buf_init(&out, 4096);
  be_capture_start(&out);
  for (size_t i = 0; i < 6; i++) be_capture_add(&out, &chunks[i].chunk, chunks[i].bytes);
  write_file(out.data, out.size);
  void *replay = opened(file, "path=lines.part.txt");
  struct be_rig_got got = got_of(file, replay, bytes, sizeof bytes, 1000000);
  assert_true(got.anew);
  assert_int_equal(got.size, 7);
  assert_int_equal(time_now.now_ns, 7000000077 + 100);
  got = got_of(file, replay, bytes, sizeof bytes, 50000000);
  assert_false(got.anew);
  assert_int_equal(got.size, 4);
  assert_int_equal(time_now.now_ns, 7000000077 + 30000100);
  got = got_of(file, replay, bytes, sizeof bytes, 50000000);
  assert_true(got.anew && got.ended);
  assert_memory_equal(bytes, "\n\0\n", 3);
  assert_int_equal(time_now.now_ns, 7000000077 + 42000000);
  file->close(replay);
  /* Cut anywhere, it is played up to there and then refused, or ends at the end of a run. */
  for (size_t size = 20; size < out.size; size++) {
    struct be_err err = {0};
    enum be_status status;
    replay = NULL;
    write_file(out.data, size);
    status = file->open("path=lines.part.txt speed=0", &clock_of_test, &replay, &err);
    for (got = (struct be_rig_got){0}; status == BE_OK && !got.ended;)
      status = file->read(replay, bytes, sizeof bytes, 0, &got, &err);
    if (status != BE_OK) {
      assert_int_equal(status, BE_BAD_INPUT);
      assert_non_null(strstr(err.what, "damaged or cut short at byte"));
    }
    file->close(replay);
  }
  be_buf_free(&out);
}

static void damaged(void **state)
{
  (void)state;
  const struct be_rig_source *file = be_rig_source_find("file");
  static const char *const wrong[] = {"x",
                                      "5 bytes 3\nab",
                                      "5 bytes 3\nabcd\n",
                                      "5 other 0\n\n",
                                      "-5 bytes 0\n\n",
                                      "5 bytes 9999\n",
                                      "99999999999999999999 bytes 0\n\n"};
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    char text[100];
    void *replay = NULL;
    struct be_err err = {0};
    int size = snprintf(text, sizeof text, "bitterend capture 1\n%s", wrong[i]);
    write_file(text, (size_t)size);
    assert_int_equal(file->open("path=lines.part.txt", &clock_of_test, &replay, &err),
                     BE_BAD_INPUT);
    assert_null(replay);
    assert_non_null(strstr(err.what, "at byte 20"));
  }
}

/* The source gives the very points of the pull, each at its time, as frames that read. */
static void keep_point(void *context, const struct be_rig_sample *sample)
{
  struct be_simulated_pull *pull = context;
  struct be_simulated_point point;
  assert_int_equal(be_simulated_pull_next(pull, &point, 1), 1);
  assert_near(sample->rig_time_s, point.time_s, 1e-6);
  assert_near(sample->force_N, point.force_N, 1e-4);
  assert_int_equal(sample->flags, 0);
  assert_near((double)(sample->host_ns - 7000000077) * 1e-9, point.time_s, 0.021);
}

static void simulated_pull(void **state)
{
  (void)state;
  static const char settings[] = "seed=41 break_N=87.3 time_s=3 slips=2 ending=strand";
  const struct be_rig_source *source = be_rig_source_find("simulated");
  struct be_simulated_pull *pull = NULL;
  struct be_simulated_point point;
  struct be_frames *frames = NULL;
  struct be_err err = {0};
  char bytes[128];
  void *rig = opened(source, settings);
  assert_int_equal(be_simulated_pull_create(settings, &pull, &err), BE_OK);
  assert_int_equal(be_frames_create("timed-s", "", &frames, &err), BE_OK);
  be_frames_restart(frames, source->whole);
  for (struct be_rig_got got = {0}; !got.ended;) {
    got = got_of(source, rig, bytes, sizeof bytes, 20000000);
    be_frames_feed(frames, bytes, got.size, got.host_ns, keep_point, pull);
  }
  assert_int_equal(be_simulated_pull_next(pull, &point, 1), 0);
  assert_true(be_frames_counted(frames).samples > 200);
  assert_int_equal(be_frames_counted(frames).garbage, 0);
  be_frames_free(frames);
  be_simulated_pull_free(pull);
  source->close(rig);
}

static void refused(void **state)
{
  (void)state;
  static const struct {
    const char *source, *settings, *says;
    enum be_status status;
  } cases[] = {
      {"file", "path=no-such-file", "cannot open the file", BE_BAD_INPUT},
      {"file", "", "cannot open the file", BE_BAD_INPUT},
      {"file", "path=x speed=-1", "speed is a number from 0", BE_WRONG_USE},
      {"simulated", "slips=9", "slips is a number from 0 to 8", BE_WRONG_USE},
      {"simulated", "break_N=0", "break_N is a number", BE_WRONG_USE},
      {"simulated", "ending=burst", "ending is one of: broke strand faded held", BE_WRONG_USE},
      {"serial", "", "has no path", BE_WRONG_USE},
      {"serial", "path=/dev/null baud=9601", "9601 is not a speed", BE_WRONG_USE},
      {"serial", "path=/dev/null form=9N1", "form is one of", BE_WRONG_USE},
      {"serial", "path=/dev/null", "cannot open the serial line", BE_BAD_INPUT},
      {"serial", "path=/dev/no-such-line", "cannot open the serial line", BE_BAD_INPUT},
      {"tcp", "address=127.0.0.1", "the port is missing", BE_WRONG_USE},
      {"tcp", "address=localhost port=7", "not an address in figures", BE_WRONG_USE},
      {"tcp", "port=70000", "port is a whole number from 1 to 65535", BE_WRONG_USE},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    const struct be_rig_source *source = be_rig_source_find(cases[i].source);
    void *opened_one = NULL;
    struct be_err err = {0};
    enum be_status status = source->open(cases[i].settings, &clock_of_test, &opened_one, &err);
    if (status != cases[i].status || !strstr(err.what, cases[i].says))
      print_error("%s %s: %s\n", cases[i].source, cases[i].settings, err.what);
    assert_int_equal(status, cases[i].status);
    assert_non_null(strstr(err.what, cases[i].says));
    assert_true(strlen(err.remedy) > 10);
    assert_null(opened_one);
  }
  assert_null(be_rig_source_find("parallel"));
  for (size_t i = 0; i < be_rig_sources_count; i++) {
    assert_non_null(strstr(be_rig_sources[i]->help, "settings: "));
    be_rig_sources[i]->close(NULL);
  }
}

/* ---- settings ---- */

struct some {
  double number;
  int whole, word;
  struct be_setting_text text;
};

static const struct be_setting table[] = {
    {"number", BE_SETTING_NUMBER, offsetof(struct some, number), -2.5, 2.5},
    {"whole", BE_SETTING_WHOLE, offsetof(struct some, whole), -7, 7},
    {"word", BE_SETTING_WORD, offsetof(struct some, word), .words = "one two three"},
    {"text", BE_SETTING_TEXT, offsetof(struct some, text)},
};

static enum be_status read_some(const char *text, struct some *some, struct be_err *err)
{
  *some = (struct some){.number = 1.25, .whole = 5};
  return be_settings_read(text, table, 4, some, "so it is done", err);
}

static void settings_are_read(void **state)
{
  (void)state;
  struct some some;
  struct be_err err = {0};
  assert_int_equal(
      read_some("  whole=-7 text=\"a b\\\"\\\\\\r\\x00\\n\\t=\"   word=three ", &some, &err),
      BE_OK);
  assert_near(some.number, 1.25, 0);
  assert_int_equal(some.whole, -7);
  assert_int_equal(some.word, 2);
  assert_int_equal(some.text.size, 10);
  assert_memory_equal(some.text.bytes, "a b\"\\\r\0\n\t=", 11);
  struct be_buf out;
  char again[300];
  be_buf_init(&out, 1000);
  be_setting_write(&out, some.text.bytes, some.text.size);
  snprintf(again, sizeof again, "text=%s", out.data);
  be_buf_free(&out);
  struct some second;
  assert_int_equal(read_some(again, &second, &err), BE_OK);
  assert_memory_equal(&second.text, &some.text, some.text.size + 1);
}

static void settings_are_refused(void **state)
{
  (void)state;
  static char long_text[400];
  snprintf(long_text, sizeof long_text, "text=%0300d", 7);
  const char *const wrong[] = {"number=2.75", "number=",     "number=nan", "number=1x", "whole=2.5",
                               "whole=8",     "word=four",   "word=tw",    "=7",        "text",
                               "text=\"a",    "text=\"a\"b", "text=a\\q",  "text=\\x4", "text=\\",
                               "other=1",     long_text};
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    struct some some;
    struct be_err err = {0};
    if (read_some(wrong[i], &some, &err) != BE_WRONG_USE) print_error("%s\n", wrong[i]);
    assert_int_equal(err.status, BE_WRONG_USE);
    assert_string_equal(err.remedy, "so it is done");
  }
}

/* ---- memory ---- */

static enum be_status open_all(void *context, struct be_err *err)
{
  (void)context;
  static const char *const settings[][2] = {{"simulated", "seed=7"},
                                            {"file", "path=lines.part.txt speed=0"}};
  for (size_t i = 0; i < 2; i++) {
    const struct be_rig_source *source = be_rig_source_find(settings[i][0]);
    void *opened_one = NULL;
    enum be_status status = source->open(settings[i][1], &clock_of_test, &opened_one, err);
    if (status != BE_OK) return status;
    source->close(opened_one);
  }
  return BE_OK;
}

static void memory_fails(void **state)
{
  (void)state;
  write_file("12.5\n", 5);
  be_fail_loop(open_all, NULL, 4);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(lines_at_their_rate),
      cmocka_unit_test(faster_and_at_once),
      cmocka_unit_test(slower_than_time),
      cmocka_unit_test(captures),
      cmocka_unit_test(damaged),
      cmocka_unit_test(simulated_pull),
      cmocka_unit_test(refused),
      cmocka_unit_test(settings_are_read),
      cmocka_unit_test(settings_are_refused),
      cmocka_unit_test_teardown(memory_fails, tear_down),
  };
  char folder[] = "/tmp/bitterend-lines-XXXXXX";
  if (!mkdtemp(folder) || chdir(folder) != 0) return 1;
  int failed = be_tests("rig: lines", tests);
  return chdir("/") != 0 || rmdir(folder) != 0 ? 1 : failed;
}
