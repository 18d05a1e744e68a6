/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Instruments on the network, of which the test plays the part: on 127.0.0.1 only, at
 * a port that the system chooses. */
#define _XOPEN_SOURCE 700
#include "fault/failing.h"
#include "live.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>

enum { MANY = 100000, BURST = 500, BURST_ns = 10000000 };

struct instrument {
  int fd; /* listening */
  char settings[80];
};

static int set_up(void **state)
{
  static struct instrument instrument;
  struct sockaddr_in at = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
  socklen_t size = sizeof at;
  instrument.fd = socket(AF_INET, SOCK_STREAM, 0);
  if (instrument.fd < 0 || bind(instrument.fd, (struct sockaddr *)&at, sizeof at) != 0 ||
      listen(instrument.fd, 4) != 0 ||
      getsockname(instrument.fd, (struct sockaddr *)&at, &size) != 0)
    return 1;
  snprintf(instrument.settings, sizeof instrument.settings, "address=127.0.0.1 port=%u",
           (unsigned)ntohs(at.sin_port));
  *state = &instrument;
  return 0;
}

static int tear_down(void **state)
{
  return close(((struct instrument *)*state)->fd);
}

/* 50,000 lines a second, in bursts at their times, as an amplifier with a buffer sends them. */
static void *stream(void *instrument)
{
  static char burst[BURST * 32];
  int fd = accept(((struct instrument *)instrument)->fd, NULL, NULL);
  int64_t due = be_rig_clock_system.now_ns(NULL);
  bool fine = fd >= 0;
  for (int i = 0; fine && i < MANY; due += BURST_ns) {
    size_t size = 0;
    for (int k = 0; k < BURST; k++, i++)
      size += (size_t)snprintf(burst + size, 32, "%d,%.3f\n", i, 0.125 * (i % 4001));
    fine = put(fd, burst, size);
    be_rig_clock_system.sleep_until(NULL, due);
  }
  close(fd);
  return fine ? instrument : NULL;
}

static void none_of_many_lost(void **state)
{
  struct instrument *instrument = *state;
  static struct be_rig_sample samples[MANY];
  pthread_t sender;
  void *sent = NULL;
  assert_int_equal(pthread_create(&sender, NULL, stream, instrument), 0);
  struct be_rig *rig = started("tcp", instrument->settings, "counted", "unit=N");
  take(rig, samples, MANY);
  pthread_join(sender, &sent);
  assert_non_null(sent);
  for (size_t i = 0; i < MANY; i++) {
    assert_int_equal(samples[i].sequence, i);
    assert_near(samples[i].force_N, 0.125 * (double)(i % 4001), 0);
    assert_int_equal(samples[i].flags, i ? 0 : BE_SAMPLE_FIRST);
  }
  /* The bytes kept are as many as came, in order. */
  static char bytes[BE_CHUNK_BYTES_MAX];
  struct be_rig_chunk chunk;
  uint64_t size = 0;
  /* It may already be connected again. */
  wait_until(counts_of(rig).lost.what[0]);
  while (be_rig_take_chunk(rig, &chunk, bytes)) {
    assert_int_equal(chunk.offset, size);
    size += chunk.size;
  }
  struct be_rig_counts counts = counts_of(rig);
  assert_int_equal(size, counts.frames.bytes);
  assert_int_equal(counts.frames.samples, MANY);
  assert_int_equal(counts.frames.missing + counts.frames.garbage + counts.frames.halves, 0);
  assert_int_equal(counts.overruns + counts.chunks_lost, 0);
  be_rig_stop(rig);
}

/* The server closes amid a frame and comes back. */
static void closes_and_comes_back(void **state)
{
  struct instrument *instrument = *state;
  struct be_rig_sample samples[4];
  struct be_rig *rig = started("tcp", instrument->settings, "header", "");
  int fd = accept(instrument->fd, NULL, NULL);
  assert_true(put(fd, "ST,GS,+1.5,kg\nUS,GS,+2.5,kg\nUS,GS,+3", 37));
  take(rig, samples, 2);
  close(fd);
  fd = accept(instrument->fd, NULL, NULL);
  assert_true(put(fd, "7.5,kg\nUS,GS,+4.5,kg\nUS,GS,+5.5,kg\n", 35));
  take(rig, samples + 2, 2);
  close(fd);
  assert_near(samples[2].value, 4.5, 0);
  assert_int_equal(samples[2].flags, BE_SAMPLE_MOVING | BE_SAMPLE_GROSS | BE_SAMPLE_AFTER_GARBAGE |
                                         BE_SAMPLE_AFTER_GAP);
  assert_int_equal(samples[3].flags, BE_SAMPLE_MOVING | BE_SAMPLE_GROSS);
  wait_until(counts_of(rig).openings >= 2);
  struct be_rig_counts counts = counts_of(rig);
  assert_string_equal(counts.lost.what, "the other side closed the line");
  assert_int_equal(counts.frames.halves, 1);
  assert_int_equal(counts.frames.not_understood, 1);
  be_rig_stop(rig);
}

/* Nobody listens: it goes on trying, and says why. */
static void nobody_listens(void **state)
{
  struct instrument *instrument = *state;
  struct be_rig *rig = started("tcp", instrument->settings, "number", "");
  close(accept(instrument->fd, NULL, NULL));
  close(instrument->fd);
  wait_until(counts_of(rig).tries >= 7);
  struct be_rig_counts counts = counts_of(rig);
  assert_int_equal(counts.state, BE_RIG_AWAY);
  assert_int_equal(counts.openings, 1);
  assert_non_null(strstr(counts.lost.what, "cannot be reached"));
  be_rig_stop(rig);
  set_up(state);
}

/* Whoever takes no samples delays nothing: what finds no room is counted and flagged. */
static void slow_taker(void **state)
{
  struct instrument *instrument = *state;
  struct be_rig *rig = NULL;
  struct be_err err = {0};
  struct be_rig_sample samples[16];
  char text[2000];
  size_t size = 0;
  const struct be_rig_options options = {.source = be_rig_source_find("tcp"),
                                         .source_settings = instrument->settings,
                                         .frames = "number",
                                         .frame_settings = "unit=lb",
                                         .samples_room = 7,
                                         .bytes_room = 64};
  assert_int_equal(be_rig_start(&options, &rig, &err), BE_OK);
  int fd = accept(instrument->fd, NULL, NULL);
  for (int i = 0; i < 100; i++) size += (size_t)snprintf(text + size, 20, "%d.5\n", i);
  assert_true(put(fd, text, size));
  wait_until(counts_of(rig).frames.samples == 100);
  struct be_rig_counts counts = counts_of(rig);
  assert_int_equal(counts.overruns, 92);
  assert_true(counts.chunks_lost >= 1);
  assert_int_equal(be_rig_take_samples(rig, samples, 16), 8);
  for (size_t i = 0; i < 8; i++) assert_near(samples[i].value, (double)i + 0.5, 0);
  assert_true(put(fd, "777.5\n778.5\n", 12));
  take(rig, samples, 2);
  assert_near(samples[0].value, 777.5, 0);
  assert_int_equal(samples[0].sequence, 100);
  assert_int_equal(samples[0].flags, BE_SAMPLE_AFTER_LOSS);
  assert_int_equal(samples[1].flags, 0);
  close(fd);
  be_rig_stop(rig);
}

/* ---- an instrument that is asked ---- */

enum { ANSWERS = 300 };

static float answer_of(int i)
{
  return 0.75F * (float)i - 11.5F;
}

static void *be_asked(void *instrument)
{
  int fd = accept(((struct instrument *)instrument)->fd, NULL, NULL);
  unsigned char asked[12], answer[13] = {0, 0, 0, 0, 0, 7, 9, 4, 4};
  bool fine = true;
  for (int i = 0; fine && recv(fd, asked, sizeof asked, MSG_WAITALL) == sizeof asked; i++) {
    static const unsigned char wanted[] = {0, 0, 0, 6, 9, 4, 0x01, 0x2D, 0, 2};
    fine = memcmp(asked + 2, wanted, sizeof wanted) == 0;
    uint32_t bits;
    float load = answer_of(i);
    memcpy(&bits, &load, 4);
    memcpy(answer, asked, 2);
    for (int k = 0; k < 4; k++) answer[9 + k] = (unsigned char)(bits >> 8 * (3 - (k ^ 2)));
    fine = fine && put(fd, (const char *)answer, sizeof answer);
  }
  close(fd);
  return fine ? instrument : NULL;
}

static void registers_over_tcp(void **state)
{
  struct instrument *instrument = *state;
  static struct be_rig_sample samples[ANSWERS];
  pthread_t other;
  void *fine = NULL;
  assert_int_equal(pthread_create(&other, NULL, be_asked, instrument), 0);
  /* Register 302 of a manual that counts from 1 is 301 on the wire. */
  struct be_rig *rig =
      started("tcp", instrument->settings, "modbus-tcp",
              "device=9 function=4 register=301 order=cdab unit=N every_s=0 timeout_s=50");
  take(rig, samples, ANSWERS);
  struct be_rig_counts counts = counts_of(rig);
  be_rig_stop(rig);
  pthread_join(other, &fine);
  assert_non_null(fine);
  for (int i = 0; i < ANSWERS; i++) {
    assert_near(samples[i].force_N, (double)answer_of(i), 0);
    assert_int_equal(samples[i].flags, 0);
  }
  assert_int_equal(counts.timeouts, 0);
}

/* ---- files and simulated pulls through the same thread ---- */

static void simulated_to_its_end(void **state)
{
  (void)state;
  static struct be_rig_sample samples[4096];
  struct be_rig *rig = started("simulated", "seed=13 time_s=4 speed=0", "timed-s", "");
  wait_until(counts_of(rig).state == BE_RIG_ENDED);
  struct be_rig_counts counts = counts_of(rig);
  assert_true(counts.frames.samples > 250 && counts.frames.samples < 4096);
  assert_int_equal(be_rig_take_samples(rig, samples, 4096), counts.frames.samples);
  assert_near(samples[50].rig_time_s, 1, 1e-9);
  assert_int_equal(counts.frames.garbage + counts.frames.halves, 0);
  be_rig_stop(rig);
}

/* What one rig brought, kept as a capture and played again, gives the same samples. */
static void capture_gives_the_same(void **state)
{
  (void)state;
  static struct be_rig_sample first[4096], second[4096];
  char path[] = "/tmp/bitterend-capture-XXXXXX", settings[100], bytes[BE_CHUNK_BYTES_MAX];
  struct be_rig_chunk chunk;
  struct be_buf out;
  struct be_err err = {0};
  struct be_rig *rig = started("simulated", "seed=13 time_s=2 speed=0", "timed-s", "");
  wait_until(counts_of(rig).state == BE_RIG_ENDED);
  size_t count = be_rig_take_samples(rig, first, 4096);
  be_buf_init(&out, 1000000);
  be_capture_start(&out);
  while (be_rig_take_chunk(rig, &chunk, bytes)) be_capture_add(&out, &chunk, bytes);
  be_rig_stop(rig);
  close(mkstemp(path));
  assert_int_equal(be_file_write(path, out.data, out.size, &err), BE_OK);
  be_buf_free(&out);
  snprintf(settings, sizeof settings, "path=%s", path);
  rig = started("file", settings, "timed-s", "");
  wait_until(counts_of(rig).state == BE_RIG_ENDED);
  assert_int_equal(be_rig_take_samples(rig, second, 4096), count);
  for (size_t i = 0; i < count; i++) {
    assert_near(second[i].force_N, first[i].force_N, 0);
    assert_int_equal(second[i].offset, first[i].offset);
    assert_int_equal(second[i].length, first[i].length);
  }
  be_rig_stop(rig);
  assert_int_equal(unlink(path), 0);
}

static void refused(void **state)
{
  (void)state;
  struct be_rig *rig = NULL;
  struct be_err err = {0};
  struct be_rig_options options = {.source = be_rig_source_find("simulated"),
                                   .source_settings = "seed=7",
                                   .frames = "semaphore",
                                   .frame_settings = ""};
  assert_int_equal(be_rig_start(&options, &rig, &err), BE_WRONG_USE);
  options.frames = "number";
  options.source_settings = "seed=x";
  assert_int_equal(be_rig_start(&options, &rig, &err), BE_WRONG_USE);
  static char long_text[2000];
  memset(long_text, ' ', sizeof long_text - 1);
  options.source_settings = long_text;
  assert_int_equal(be_rig_start(&options, &rig, &err), BE_WRONG_USE);
  options.source_settings = "seed=7";
  options.samples_room = 100000000;
  assert_int_equal(be_rig_start(&options, &rig, &err), BE_TOO_LARGE);
  assert_null(rig);
  be_rig_stop(NULL);
}

static enum be_status start_and_stop(void *context, struct be_err *err)
{
  (void)context;
  struct be_rig *rig = NULL;
  const struct be_rig_options options = {.source = be_rig_source_find("simulated"),
                                         .source_settings = "seed=7 time_s=0.1",
                                         .frames = "timed-s",
                                         .frame_settings = "",
                                         .clock = &quick_clock,
                                         .samples_room = 100,
                                         .bytes_room = 100};
  enum be_status status = be_rig_start(&options, &rig, err);
  be_rig_stop(rig);
  return status;
}

static void memory_fails(void **state)
{
  (void)state;
  be_fail_loop(start_and_stop, NULL, 8);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(none_of_many_lost, set_up, tear_down),
      cmocka_unit_test_setup_teardown(closes_and_comes_back, set_up, tear_down),
      cmocka_unit_test_setup_teardown(nobody_listens, set_up, tear_down),
      cmocka_unit_test_setup_teardown(slow_taker, set_up, tear_down),
      cmocka_unit_test_setup_teardown(registers_over_tcp, set_up, tear_down),
      cmocka_unit_test(simulated_to_its_end),
      cmocka_unit_test(capture_gives_the_same),
      cmocka_unit_test(refused),
      cmocka_unit_test(memory_fails),
  };
  return be_tests("rig: the reader, over TCP", tests);
}
