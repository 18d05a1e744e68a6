/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A serial line whose other end is the test: a pseudo-terminal. It has no speed of
 * its own, and no parity; everything else is as on a cable. */
#define _XOPEN_SOURCE 700
#include "live.h"

#include <fcntl.h>
#include <stdlib.h>
#include <termios.h>

enum { LINES = 5000 };

/* The end of the instrument. The path is a link, so that another can be plugged in
 * under the same name. */
struct cable {
  int master, slave;
  char folder[32], path[64], settings[160];
};

static void plug_in(struct cable *cable)
{
  struct termios raw;
  char beside[80];
  cable->master = posix_openpt(O_RDWR | O_NOCTTY);
  assert_true(cable->master >= 0 && grantpt(cable->master) == 0 && unlockpt(cable->master) == 0);
  /* Held open and raw, so that nothing is echoed before the rig opens it. */
  cable->slave = open(ptsname(cable->master), O_RDWR | O_NOCTTY);
  assert_true(cable->slave >= 0 && tcgetattr(cable->slave, &raw) == 0);
  raw.c_lflag = raw.c_iflag = raw.c_oflag = 0;
  assert_int_equal(tcsetattr(cable->slave, TCSANOW, &raw), 0);
  snprintf(beside, sizeof beside, "%s.new", cable->path);
  assert_int_equal(symlink(ptsname(cable->master), beside), 0);
  assert_int_equal(rename(beside, cable->path), 0);
}

static void pull_out(struct cable *cable)
{
  close(cable->slave);
  close(cable->master);
}

static int set_up(void **state)
{
  static struct cable cable;
  strcpy(cable.folder, "/tmp/bitterend-line-XXXXXX");
  if (!mkdtemp(cable.folder)) return 1;
  snprintf(cable.path, sizeof cable.path, "%s/line", cable.folder);
  snprintf(cable.settings, sizeof cable.settings, "path=\"%s\" baud=19200", cable.path);
  plug_in(&cable);
  *state = &cable;
  return 0;
}

static int tear_down(void **state)
{
  struct cable *cable = *state;
  pull_out(cable);
  return unlink(cable->path) != 0 || rmdir(cable->folder) != 0;
}

static void *send_lines(void *cable)
{
  char line[40];
  for (int i = 0; i < LINES; i++) {
    int size = snprintf(line, sizeof line, "%d,%.2f\r\n", 417 + i, 0.25 * (i % 1013));
    if (!put(((struct cable *)cable)->master, line, (size_t)size)) return NULL;
  }
  return cable;
}

/* Every line of many arrives once, in order, and the bytes kept are those it is made of. */
static void none_lost(void **state)
{
  struct cable *cable = *state;
  static struct be_rig_sample samples[LINES];
  static char all[LINES * 40], bytes[BE_CHUNK_BYTES_MAX];
  struct be_rig *rig = started("serial", cable->settings, "counted", "unit=kg");
  pthread_t sender;
  void *sent = NULL;
  assert_int_equal(pthread_create(&sender, NULL, send_lines, cable), 0);
  take(rig, samples, LINES);
  pthread_join(sender, &sent);
  assert_non_null(sent);
  struct be_rig_chunk chunk;
  size_t size = 0, openings = 0;
  while (be_rig_take_chunk(rig, &chunk, bytes)) {
    openings += chunk.event == BE_CHUNK_OPENED;
    if (chunk.event != BE_CHUNK_BYTES) continue;
    assert_int_equal(chunk.offset, size);
    memcpy(all + size, bytes, chunk.size);
    size += chunk.size;
  }
  assert_int_equal(openings, 1);
  for (size_t i = 0; i < LINES; i++) {
    char line[40];
    snprintf(line, sizeof line, "%d,%.2f", 417 + (int)i, 0.25 * (double)(i % 1013));
    assert_int_equal(samples[i].sequence, i);
    assert_near(samples[i].force_N, 0.25 * (double)(i % 1013) * 9.80665, 1e-10);
    assert_int_equal(samples[i].flags, i ? 0 : BE_SAMPLE_FIRST);
    assert_int_equal(samples[i].length, strlen(line));
    assert_memory_equal(all + samples[i].offset, line, strlen(line));
    assert_true(i == 0 || samples[i].host_ns >= samples[i - 1].host_ns);
  }
  wait_until(counts_of(rig).frames.samples == LINES);
  struct be_rig_counts counts = counts_of(rig);
  assert_int_equal(counts.state, BE_RIG_READING);
  assert_int_equal(counts.heard_ns, samples[LINES - 1].host_ns);
  assert_int_equal(counts.overruns + counts.chunks_lost + counts.frames.missing, 0);
  assert_int_equal(counts.frames.garbage, 0);
  be_rig_stop(rig);
}

/* Unplugged in the middle of a frame and plugged in again. */
static void unplugged(void **state)
{
  struct cable *cable = *state;
  struct be_rig_sample samples[4];
  struct be_rig *rig = started("serial", cable->settings, "number", "unit=N");
  assert_true(put(cable->master, "11.5\n12.5\n13.", 13));
  take(rig, samples, 2);
  wait_until(counts_of(rig).frames.bytes == 13);
  /* Its name goes first, as when a cable is drawn; and no stranger may come by it. */
  assert_int_equal(unlink(cable->path), 0);
  pull_out(cable);
  wait_until(counts_of(rig).state == BE_RIG_AWAY);
  struct be_rig_counts counts = counts_of(rig);
  assert_int_equal(counts.openings, 1);
  assert_int_equal(counts.frames.halves, 1);
  /* While it is out, it is tried again and again. */
  wait_until(counts_of(rig).tries > 3);
  counts = counts_of(rig);
  assert_non_null(strstr(counts.lost.what, "cannot open the serial line"));
  plug_in(cable);
  wait_until(counts_of(rig).state == BE_RIG_READING);
  assert_true(put(cable->master, "14.5\n15.5\n", 10));
  take(rig, samples + 2, 2);
  counts = counts_of(rig);
  assert_int_equal(counts.openings, 2);
  assert_near(samples[2].force_N, 14.5, 0);
  assert_int_equal(samples[2].flags,
                   BE_SAMPLE_AFTER_GARBAGE | BE_SAMPLE_AFTER_GAP | BE_SAMPLE_FIRST);
  assert_int_equal(samples[2].sequence, 2);
  assert_int_equal(samples[2].offset, 13);
  assert_int_equal(samples[3].flags, 0);
  /* The bytes kept tell it too. */
  char bytes[BE_CHUNK_BYTES_MAX];
  struct be_rig_chunk chunk;
  size_t events[3] = {0};
  while (be_rig_take_chunk(rig, &chunk, bytes)) events[chunk.event]++;
  assert_int_equal(events[BE_CHUNK_OPENED], 2);
  assert_int_equal(events[BE_CHUNK_CLOSED], 1);
  assert_true(events[BE_CHUNK_BYTES] >= 2);
  be_rig_stop(rig);
}

/* An instrument that answers a letter, but not every time. */
static void *answer(void *cable_)
{
  struct cable *cable = cable_;
  char asked[8];
  int requests = 0;
  while (read(cable->master, asked, 1) == 1) {
    if (asked[0] == 'q') return cable;
    if (asked[0] != 'W') continue;
    if (++requests % 5 == 3) continue;
    char line[40];
    int size = snprintf(line, sizeof line, "ST,GS,%+08.2f,kg\r\n", 0.5 * requests);
    if (!put(cable->master, line, (size_t)size)) return NULL;
  }
  return NULL;
}

static void asked_and_answered(void **state)
{
  struct cable *cable = *state;
  struct be_rig_sample samples[20];
  pthread_t instrument;
  void *ended = NULL;
  assert_int_equal(pthread_create(&instrument, NULL, answer, cable), 0);
  struct be_rig *rig =
      started("serial", cable->settings, "header", "ask=\"W\\r\" every_s=0 timeout_s=0.15");
  take(rig, samples, 20);
  struct be_rig_counts counts = counts_of(rig);
  assert_true(counts.requests >= 24 && counts.timeouts >= 4);
  size_t late = 0;
  for (size_t i = 0; i < 20; i++) late += (samples[i].flags & BE_SAMPLE_AFTER_LOSS) != 0;
  assert_true(late >= 4);
  be_rig_stop(rig);
  assert_true(put(cable->slave, "q", 1));
  pthread_join(instrument, &ended);
  assert_non_null(ended);
}

/* A pseudo-terminal does eight bits without parity only: that is noticed. */
static void form_not_had(void **state)
{
  struct cable *cable = *state;
  char settings[200];
  void *line = NULL;
  struct be_err err = {0};
  snprintf(settings, sizeof settings, "%s form=7E1", cable->settings);
  assert_int_equal(be_rig_source_find("serial")->open(settings, &be_rig_clock_system, &line, &err),
                   BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "cannot be set to that speed and form"));
  assert_string_equal(err.file, cable->path);
}

/* Two readers would each get some of the bytes: the second is refused. */
static void one_reader(void **state)
{
  struct cable *cable = *state;
  const struct be_rig_source *serial = be_rig_source_find("serial");
  void *first = NULL, *second = NULL;
  struct be_err err = {0};
  assert_int_equal(serial->open(cable->settings, &be_rig_clock_system, &first, &err), BE_OK);
  assert_int_equal(serial->open(cable->settings, &be_rig_clock_system, &second, &err), BE_FAILED);
  assert_null(second);
  assert_string_equal(err.remedy, "another program has it: close that");
  serial->close(first);
  assert_int_equal(serial->open(cable->settings, &be_rig_clock_system, &second, &err), BE_OK);
  serial->close(second);
}

/* A twentieth of the system's pace: a busy machine is no silent line. */
static int64_t slow_now(void *host)
{
  (void)host;
  return be_rig_clock_system.now_ns(NULL) / 20;
}
static const struct be_rig_clock slow_clock = {slow_now, quick_sleep, NULL};

static atomic_bool enough;

static void *send_on(void *cable)
{
  char line[40];
  for (int i = 0; !atomic_load(&enough); i++) {
    int size = snprintf(line, sizeof line, "US,GS,%+08.2f,lb\r\n", 0.75 * (i % 211));
    if (!put(((struct cable *)cable)->master, line, (size_t)size)) return NULL;
  }
  return cable;
}

/* Any speed does on a pseudo-terminal, so the first that is tried is found. */
static void found_by_listening(void **state)
{
  struct cable *cable = *state;
  static struct be_rig_found found;
  char settings[120];
  struct be_err err = {0};
  pthread_t sender;
  void *sent = NULL;
  snprintf(settings, sizeof settings, "path=\"%s\"", cable->path);
  atomic_store(&enough, false);
  assert_int_equal(pthread_create(&sender, NULL, send_on, cable), 0);
  assert_int_equal(
      be_rig_find(be_rig_source_find("serial"), settings, NULL, NULL, &slow_clock, &found, &err),
      BE_OK);
  atomic_store(&enough, true);
  /* A writer that waits for room is let go. */
  tcflush(cable->slave, TCIOFLUSH);
  pthread_join(sender, &sent);
  assert_non_null(sent);
  assert_int_equal(found.verdict.found, BE_OK);
  assert_int_equal(found.baud, 9600);
  const struct be_frame_candidate *best = &found.verdict.frames.candidates[0];
  assert_string_equal(best->kind, "header");
  assert_true(best->samples >= 20);
  assert_memory_equal(found.bytes + best->preview[3].offset, "US,GS,", 6);
}

/* An instrument that must be asked is heard only when it is. */
static void found_by_asking(void **state)
{
  struct cable *cable = *state;
  static struct be_rig_found found;
  char settings[120];
  struct be_err err = {0};
  pthread_t instrument;
  void *ended = NULL;
  snprintf(settings, sizeof settings, "path=\"%s\"", cable->path);
  assert_int_equal(pthread_create(&instrument, NULL, answer, cable), 0);
  assert_int_equal(be_rig_find(be_rig_source_find("serial"), settings, "header", "ask=W",
                               &slow_clock, &found, &err),
                   BE_OK);
  assert_true(put(cable->slave, "q", 1));
  pthread_join(instrument, &ended);
  assert_non_null(ended);
  assert_int_equal(found.verdict.found, BE_OK);
  assert_string_equal(found.verdict.frames.candidates[0].kind, "header");
}

/* A second passes at each look, so that patience ends soon. */
static int64_t hasty_now(void *host)
{
  return *(int64_t *)host += 1000000000;
}
static int64_t hasty_ns;
static const struct be_rig_clock hasty_clock = {hasty_now, quick_sleep, &hasty_ns};

/* Nothing comes at any speed. */
static void found_nothing(void **state)
{
  struct cable *cable = *state;
  static struct be_rig_found found;
  char settings[120];
  struct be_err err = {0};
  struct be_rig_source serial = *be_rig_source_find("serial");
  static const int speeds[] = {2400, 1200, 0};
  serial.speeds = speeds;
  snprintf(settings, sizeof settings, "path=\"%s\"", cable->path);
  assert_int_equal(be_rig_find(&serial, settings, NULL, NULL, &hasty_clock, &found, &err), BE_OK);
  assert_int_equal(found.verdict.found, BE_NO);
  assert_int_equal(found.baud, 1200);
  assert_int_equal(found.size, 0);
  assert_true(strlen(found.verdict.why) > 20);
  assert_int_equal(be_rig_find(&serial, settings, "smoke", "", &hasty_clock, &found, &err),
                   BE_WRONG_USE);
  assert_int_equal(
      be_rig_find(&serial, "path=/dev/no-such-line", NULL, NULL, &hasty_clock, &found, &err),
      BE_BAD_INPUT);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(none_lost, set_up, tear_down),
      cmocka_unit_test_setup_teardown(unplugged, set_up, tear_down),
      cmocka_unit_test_setup_teardown(asked_and_answered, set_up, tear_down),
      cmocka_unit_test_setup_teardown(form_not_had, set_up, tear_down),
      cmocka_unit_test_setup_teardown(one_reader, set_up, tear_down),
      cmocka_unit_test_setup_teardown(found_by_listening, set_up, tear_down),
      cmocka_unit_test_setup_teardown(found_by_asking, set_up, tear_down),
      cmocka_unit_test_setup_teardown(found_nothing, set_up, tear_down),
  };
  return be_tests("rig: serial lines", tests);
}
