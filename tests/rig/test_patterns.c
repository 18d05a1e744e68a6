/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Frames told by a pattern. */
#include "rig_test.h"

static const double kg = 9.80665;

static struct be_rig_sample told(const char *settings, const char *text)
{
  return one_of("pattern", settings, text);
}

/* The three examples of docs/formats.md. */
static void examples_of_the_manual(void **state)
{
  (void)state;
  struct be_rig_sample sample =
      told("pattern=\"Force: {force} {unit} (peak {skip})\"", "Force:  12.5 kg (peak 31.7)\r\n");
  assert_near(sample.force_N, 12.5 * kg, 1e-12);
  sample =
      told("pattern=\"{status S=steady D=moving}{force 7.2}{unit K=kg L=lb}\"", "D 001250K\r\n");
  assert_near(sample.force_N, 12.5 * kg, 1e-12);
  assert_int_equal(sample.flags, BE_SAMPLE_MOVING);
  sample =
      told("pattern=\"#{count};t={time us};{force}{skip}\" unit=N", "#41;t=512500;-3,25;0x7F\r\n");
  assert_near(sample.force_N, -3.25, 0);
  assert_near(sample.rig_time_s, 0.5125, 0);
}

static void not_matched(void **state)
{
  (void)state;
  static const struct {
    const char *settings, *text;
  } cases[] = {
      {"pattern=\"F={force}\"", "F=12.5 kg\n"},
      {"pattern=\"F={force}\"", "f=12.5\n"},
      {"pattern=\"F={force} N\"", "F=12.5N\n"},
      {"pattern=\"{force 5}\"", "12.5\n"},
      {"pattern=\"{force 5}\"", "12.5x\n"},
      {"pattern=\"{force 5}\"", "     \n"},
      {"pattern=\"{force}{unit}\"", "12.5\n"},
      {"pattern=\"{force} {unit}\"", "12.5 parsec\n"},
      {"pattern=\"{skip 3}{force}\"", "ab\n"},
      {"pattern=\"{time ms} {force}\"", "-5 12.5\n"},
      {"pattern=\"{count} {force}\"", "5.5 12.5\n"},
  };
  static struct kept kept;
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    read_text(&kept, "pattern", cases[i].settings, cases[i].text);
    if (kept.count) print_error("%s read \"%s\"\n", cases[i].settings, cases[i].text);
    assert_int_equal(kept.count, 0);
  }
  /* Blanks alone are an empty line; all else was counted. */
  assert_int_equal(kept.counts.not_understood, 1);
}

static void literals_and_blanks(void **state)
{
  (void)state;
  assert_near(told("pattern=\"{{{force}}\"", "{12.5}\n").value, 12.5, 0);
  assert_near(told("pattern=\"a b {force}\"", "  a   b\t 12.5  \n").value, 12.5, 0);
  assert_near(told("pattern=\"\\x41\\x09{force}\"", "A\t12.5\n").value, 12.5, 0);
  assert_near(told("pattern=\"{skip 2}{force 4}{skip 1}\"", "Q712.5#\n").value, 12.5, 0);
  assert_near(told("pattern=\"{skip}={force}\"", "load on cell=12.5\n").value, 12.5, 0);
  assert_near(told("pattern=\"{skip} {force}\"", "load 12.5\n").value, 12.5, 0);
  assert_near(told("pattern=\"{force .3}\"", "-12500\n").value, -12.5, 0);
  assert_near(told("pattern=\"{force .3}\"", "-12.5\n").value, -12.5, 0);
  assert_near(told("pattern=\"{force 8.1}\"", "   - 125\n").value, -12.5, 0);
  assert_int_equal(told("pattern=\"{force}{status?}\"", "12.5\n").flags, 0);
  assert_int_equal(told("pattern=\"{force}{status?}\"", "12.5 US\n").flags, BE_SAMPLE_MOVING);
  assert_int_equal(told("pattern=\"{force}{status A=nothing AB=error}\"", "12.5A\n").flags, 0);
  assert_int_equal(told("pattern=\"{force}|{status}\"", "OVER|O\n").flags, BE_SAMPLE_OVER);
}

static void refused(void **state)
{
  (void)state;
  static const struct {
    const char *pattern, *says;
  } cases[] = {
      {"12.5", "needs {force}, once"},
      {"{force}{force}", "needs {force}, once"},
      {"{force}{unit}{unit}", "twice"},
      {"{force", "has no }"},
      {"{load}", "\"load\" is none of {force}"},
      {"{}{force}", "is none of {force}"},
      {"{force?}", "must be there"},
      {"{force 0x7}", "\"0x7\" cannot stand there"},
      {"{force 7.}", "cannot stand there"},
      {"{force 100}", "cannot stand there"},
      {"{skip 3.2}{force}", "cannot stand there"},
      {"{time}{force}", "is no unit of time"},
      {"{time h}{force}", "\"h\" cannot stand there"},
      {"{count 7}{force}", "\"7\" cannot stand there"},
      {"{force}{status A=asleep}", "means none of steady"},
      {"{force}{status A}", "is no WORD=MEANING"},
      {"{force}{status =steady}", "is no WORD=MEANING"},
      {"{force}{status ABCDEFGHI=steady}", "is no WORD=MEANING"},
      {"{force}{unit X=metre}", "names no unit of force"},
      {"{force}{status a=net b=net c=net d=net e=net f=net g=net h=net i=net j=net k=net l=net "
       "m=net n=net o=net p=net q=net}",
       "\"q=net\" is one word too many"},
      {"{status}{status}{status}{status}{force}", "is one word too many"},
      {"abcdefghijklmnopqrstuvwx{force}", "24 pieces are the most"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_frames *frames = NULL;
    struct be_err err = {0};
    char settings[400];
    snprintf(settings, sizeof settings, "pattern=\"%s\"", cases[i].pattern);
    assert_int_equal(be_frames_create("pattern", settings, &frames, &err), BE_WRONG_USE);
    if (!strstr(err.what, cases[i].says)) print_error("%s: %s\n", cases[i].pattern, err.what);
    assert_non_null(strstr(err.what, cases[i].says));
    assert_non_null(strstr(err.remedy, "docs/formats.md"));
    assert_null(frames);
  }
}

/* A frame that could have lost its first bytes is flagged, one that could not is not. */
static void cut_at_the_start(void **state)
{
  (void)state;
  static const struct {
    const char *pattern, *text;
    unsigned flags;
  } cases[] = {
      {"{force}", "2.5\n", BE_SAMPLE_FIRST},
      {"{time ms} {force}", "7 2.5\n", BE_SAMPLE_FIRST},
      {"{skip}={force}", "f=2.5\n", BE_SAMPLE_FIRST},
      {"{unit?}{force}", "2.5\n", BE_SAMPLE_FIRST},
      {"F {force}", "F 2.5\n", 0},
      {"{force 3}", "2.5\n", 0},
      {"{unit}{force}", "N 2.5\n", 0},
  };
  static struct kept kept;
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char settings[100];
    snprintf(settings, sizeof settings, "pattern=\"%s\"", cases[i].pattern);
    struct be_frames *frames = frames_of("pattern", settings);
    kept.count = 0;
    be_frames_restart(frames, false);
    be_frames_feed(frames, cases[i].text, strlen(cases[i].text), 5, keep, &kept);
    be_frames_feed(frames, cases[i].text, strlen(cases[i].text), 6, keep, &kept);
    be_frames_free(frames);
    assert_int_equal(kept.count, 2);
    assert_int_equal(kept.samples[0].flags, cases[i].flags);
    assert_int_equal(kept.samples[1].flags, 0);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(examples_of_the_manual),
      cmocka_unit_test(literals_and_blanks),
      cmocka_unit_test(not_matched),
      cmocka_unit_test(refused),
      cmocka_unit_test(cut_at_the_start),
  };
  return be_tests("rig: patterns", tests);
}
