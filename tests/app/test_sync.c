/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The break of a trace put at the snap of a sound file, read as footage is. */
#include "app/clips/clips.h"
#include "app/clips/overlay.h"
#include "app_test.h"
#include "snap_maker.h"

enum { RATE = 44100, ROWS = 900 };

static void put(struct be_buf *out, uint32_t value, int bytes)
{
  for (int i = 0; i < bytes; i++) be_buf_char(out, (char)(value >> (8 * i) & 255));
}

/* 16 bits, one channel. */
static void write_wav(const char *path, const struct shed *shed)
{
  struct be_buf out;
  uint32_t bytes = (uint32_t)(2 * shed->n), rate = RATE;
  be_buf_init(&out, 1 << 26);
  be_buf_text(&out, "RIFF");
  put(&out, 36 + bytes, 4);
  be_buf_text(&out, "WAVEfmt ");
  put(&out, 16, 4);
  put(&out, 1, 2);
  put(&out, 1, 2);
  put(&out, rate, 4);
  put(&out, 2 * rate, 4);
  put(&out, 2, 2);
  put(&out, 16, 2);
  be_buf_text(&out, "data");
  put(&out, bytes, 4);
  for (size_t i = 0; i < shed->n; i++)
    put(&out, (uint32_t)(uint16_t)(int16_t)lrintf(shed->sound[i] * 32767), 2);
  assert_int_equal(be_file_write(path, out.data, out.size, NULL), BE_OK);
  be_buf_free(&out);
}

/* Rises from 1 s on, slips where the sound creaks, and breaks rise_s later. */
static void fill_rows(const struct shed *shed, double *at_s, double *force_N,
                      struct overlay *overlay)
{
  double step_s = (shed->hint.rise_s + 3) / ROWS, load = 0, breaks_s = 1 + shed->hint.rise_s;
  for (size_t i = 0; i < ROWS; i++) {
    at_s[i] = (double)i * step_s;
    if (at_s[i] > 1) load += 80 * step_s / shed->hint.rise_s;
    for (size_t k = 0; k < shed->hint.clicks; k++)
      if (fabs(at_s[i] - (breaks_s - shed->hint.click_s[k])) < step_s / 2) load *= 0.8;
    force_N[i] = (at_s[i] < breaks_s ? load : 0) + 0.02 * (double)(i % 3);
  }
  *overlay = (struct overlay){.at_s = at_s, .force_N = force_N, .rows = ROWS, .breaks_s = breaks_s};
}

static void the_snap_is_heard_in_a_file(void **state)
{
  (void)state;
  static double at_s[ROWS], force_N[ROWS];
  const struct be_film *film = NULL;
  struct be_err err = {0};
  char path[512];
  size_t right = 0;
  if (be_film_open(&film, &err) != BE_OK) fail_msg("%s", err.what);
  test_path(path, "snap.wav");
  for (uint64_t seed = 41; seed < 45; seed++) {
    struct shed shed;
    struct overlay overlay;
    struct snap_found found = {NAN, NAN};
    shed_make(&shed, SHED_HUM, true, 12, RATE, seed);
    fill_rows(&shed, at_s, force_N, &overlay);
    write_wav(path, &shed);
    enum be_status status = be_snap_in_footage(film, path, &overlay, &found, &err);
    assert_true(status == BE_OK || status == BE_BAD_INPUT);
    if (status == BE_OK) assert_true(found.confidence > 0.5 && found.confidence <= 1);
    right += status == BE_OK && fabs(found.at_s - shed.snap_s) < 1.0 / 60;
    be_free(shed.sound);
  }
  assert_true(right >= 3);
}

/* Three pulls in one recording: none is taken for another, and all are named. */
static void of_three_alike_none_is_taken(void **state)
{
  (void)state;
  static double at_s[ROWS], force_N[ROWS];
  const struct be_film *film = NULL;
  struct be_err err = {0};
  struct shed shed, all;
  struct overlay overlay;
  struct snap_found found;
  char path[512], words[40];
  assert_int_equal(be_film_open(&film, &err), BE_OK);
  test_path(path, "three-snaps.wav");
  shed_make(&shed, SHED_QUIET, true, 12, RATE, 43);
  shed.hint.clicks = 0;
  fill_rows(&shed, at_s, force_N, &overlay);
  all = shed;
  all.n = 3 * shed.n;
  all.sound = be_alloc_array(all.n, sizeof *all.sound);
  assert_non_null(all.sound);
  for (size_t i = 0; i < 3; i++)
    memcpy(all.sound + i * shed.n, shed.sound, shed.n * sizeof *shed.sound);
  write_wav(path, &all);
  assert_int_equal(be_snap_in_footage(film, path, &overlay, &found, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "several moments"));
  for (int i = 0; i < 3; i++) {
    snprintf(words, sizeof words, "%.2f s (0.", shed.snap_s + 12 * i);
    if (!strstr(err.what, words)) fail_msg("%s, not %s", err.what, words);
  }
  be_free(all.sound);
  be_free(shed.sound);
}

static void a_file_without_one_says_so(void **state)
{
  (void)state;
  static double at_s[ROWS], force_N[ROWS];
  const struct be_film *film = NULL;
  struct be_err err = {0};
  struct shed shed;
  struct overlay overlay;
  struct snap_found found;
  char path[512];
  assert_int_equal(be_film_open(&film, &err), BE_OK);
  test_path(path, "no-snap.wav");
  shed_make(&shed, SHED_HUM, true, 12, RATE, 7);
  fill_rows(&shed, at_s, force_N, &overlay);
  memset(shed.sound, 0, shed.n * sizeof *shed.sound);
  write_wav(path, &shed);
  assert_int_equal(be_snap_in_footage(film, path, &overlay, &found, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "silent"));
  assert_non_null(strstr(err.remedy, "--offset"));
  shed_hum(&shed, 0.05);
  write_wav(path, &shed);
  assert_int_equal(be_snap_in_footage(film, path, &overlay, &found, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "snap"));
  assert_non_null(strstr(err.remedy, "--offset"));
  test_write(path, "not a sound");
  assert_int_not_equal(be_snap_in_footage(film, path, &overlay, &found, &err), BE_OK);
  be_free(shed.sound);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_snap_is_heard_in_a_file),
      cmocka_unit_test(of_three_alike_none_is_taken),
      cmocka_unit_test(a_file_without_one_says_so),
  };
  return be_tests("app: sync", tests);
}
