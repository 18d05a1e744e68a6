/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Frames of text in the forms that load-cell amplifiers and force gauges commonly
 * stream: "common practice, no source" unless said. */
#include "rig_test.h"

static const double kg = 9.80665, lb = 0.45359237 * 9.80665;

static void assert_value(const char *kind, const char *settings, const char *text, double value)
{
  struct be_rig_sample sample = one_of(kind, settings, text);
  if (!(fabs(sample.value - value) <= 1e-12 * fabs(value))) print_error("\"%s\":\n", text);
  assert_near(sample.value, value, 1e-12 * fabs(value));
}

static void signs_and_marks(void **state)
{
  (void)state;
  static const struct {
    const char *text;
    double value;
  } cases[] = {
      {"12.34\r\n", 12.34},    {"+0012.34\r", 12.34},  {"-0012.34\n", -12.34},
      {"  -7.25  \n", -7.25},  {"- 7.25\n", -7.25},    {"+   7.25\n", 7.25},
      {"7.25-\n", -7.25},      {"7.25+\n", 7.25},      {"\u22127.25\n", -7.25},
      {".625\n", 0.625},       {"-.625\n", -0.625},    {"625.\n", 625},
      {"12,34\r\n", 12.34},    {"-0,031\n", -0.031},   {"1.5e-2\n", 0.015},
      {"2.75E+01\n", 27.5},    {"0000000\n", 0},       {"-0000.0\n", 0},
      {"\t 3.125\t\n", 3.125}, {"8388607\n", 8388607}, {"-8388608\n", -8388608},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
    assert_value("number", "", cases[i].text, cases[i].value);
  assert_value("number", "decimal=comma", "12,34\n", 12.34);
  assert_value("number", "decimal=point", "12.34\n", 12.34);
}

static void no_thousands(void **state)
{
  (void)state;
  static struct kept kept;
  static const char *const wrong[] = {"1,234.5\n", "1.234,5\n", "1 234\n", "12,34\n", "--5\n",
                                      "+-5\n",     "5 6\n",     "12..3\n", "0x1F\n",  "e5\n"};
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    read_text(&kept, "number", "decimal=point", wrong[i]);
    if (kept.count) print_error("\"%s\" was read as %g\n", wrong[i], kept.samples[0].value);
    assert_int_equal(kept.count, 0);
    assert_int_equal(kept.counts.not_understood, 1);
    assert_int_equal(kept.counts.garbage, strlen(wrong[i]) - 1);
  }
}

static void units_make_forces(void **state)
{
  (void)state;
  static const struct {
    const char *text, *unit;
    double force_N;
  } cases[] = {
      {"12.5 kg\n", "kg", 12.5 * 9.80665},
      {"12.5kg\n", "kg", 12.5 * 9.80665},
      {"-3.75 lb\n", "lb", -3.75 * 0.45359237 * 9.80665},
      {"3.75 lbs\n", "lb", 3.75 * 0.45359237 * 9.80665},
      {"3.75 lbf\n", "lb", 3.75 * 0.45359237 * 9.80665},
      {"61.5 N\n", "N", 61.5},
      {"0,615 kN\n", "kN", 615},
      {"750 g\n", "g", 0.75 * 9.80665},
      {"750gf\n", "g", 0.75 * 9.80665},
      {"12.5 kgf\n", "kg", 12.5 * 9.80665},
      {"19 oz\n", "oz", 19 * 0.45359237 * 9.80665 / 16},
      {"4.5 daN\n", "daN", 45},
      {"4.5,kg\n", "kg", 4.5 * 9.80665},
      {"4,5;kg\n", "kg", 4.5 * 9.80665},
      {"4.5 KG\n", "kg", 4.5 * 9.80665},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_rig_sample sample = one_of("number", "", cases[i].text);
    assert_non_null(sample.unit);
    assert_string_equal(sample.unit->name, cases[i].unit);
    assert_near(sample.force_N, cases[i].force_N, 1e-12 * fabs(cases[i].force_N));
  }
  struct be_rig_sample bare = one_of("number", "", "12.5\n");
  assert_null(bare.unit);
  assert_true(isnan(bare.force_N));
  assert_near(one_of("number", "unit=lb", "12.5\n").force_N, 12.5 * lb, 1e-12);
  /* A unit of the frame goes before the one told; volts are no force. */
  assert_near(one_of("number", "unit=lb", "12.5 kg\n").force_N, 12.5 * kg, 1e-12);
  struct be_rig_sample volts = one_of("number", "", "1.125 mV\n");
  assert_true(isnan(volts.force_N));
  assert_near(volts.value, 1.125, 0);
}

static void assert_flagged(const char *kind, const char *text, unsigned flags, double value)
{
  struct be_rig_sample sample = one_of(kind, "unit=N", text);
  if (sample.flags != flags)
    print_error("\"%s\": flags %#x, want %#x\n", text, sample.flags, flags);
  assert_int_equal(sample.flags, flags);
  assert_near(sample.value, value, 0);
  if (flags & BE_SAMPLE_UNUSABLE) assert_true(isnan(sample.force_N));
  else assert_false(isnan(sample.force_N));
}

static void past_the_range(void **state)
{
  (void)state;
  static const char *const over[] = {"OL\n",      "ol\n",   "+OL\n",       "O.L.\n",
                                     "OVER\n",    "Ovld\n", "OVERLOAD\n",  "overrange kg\n",
                                     "^^^^^\n",   "^\n",    "^^^^^^^^^\n", "*****\n",
                                     "  OFL  \n", "inf\n",  "OVERFLOW\n"};
  static const char *const under[] = {"-OL\n", "UL\n", "UNDER\n", "-inf\n", "- OVER\n"};
  static const char *const none[] = {"-----\n", "--\n", "____\n", "nan\n", "N/A\n", "---- kg\n"};
  for (size_t i = 0; i < sizeof over / sizeof over[0]; i++)
    assert_flagged("number", over[i], BE_SAMPLE_OVER, NAN);
  for (size_t i = 0; i < sizeof under / sizeof under[0]; i++)
    assert_flagged("number", under[i], BE_SAMPLE_UNDER, NAN);
  for (size_t i = 0; i < sizeof none / sizeof none[0]; i++)
    assert_flagged("number", none[i], BE_SAMPLE_NO_VALUE, NAN);
  assert_flagged("number", "Err\n", BE_SAMPLE_ERROR, NAN);
  /* All nines without a word of status are kept and flagged, with one they are over. */
  assert_flagged("number", "999999\n", BE_SAMPLE_NINES, 999999);
  assert_flagged("number", "9999.9\n", BE_SAMPLE_NINES, 9999.9);
  assert_flagged("number", "9999\n", 0, 9999);
  assert_flagged("number", "99989\n", 0, 99989);
  assert_flagged("header", "OL,GS,+9999999,kg\n", BE_SAMPLE_OVER | BE_SAMPLE_GROSS, 9999999);
  assert_flagged("header", "OL,GS,^^^^^^^,kg\n", BE_SAMPLE_OVER | BE_SAMPLE_GROSS, NAN);
  assert_flagged("header", "UL,NT,-0000013,kg\n", BE_SAMPLE_UNDER | BE_SAMPLE_NET, -13);
  assert_flagged("letters", "\x02^^^^^^^^^  O\r\n", BE_SAMPLE_OVER, NAN);
  assert_flagged("letters", "\x02 9999999LGO\x03", BE_SAMPLE_OVER | BE_SAMPLE_GROSS, 9999999);
  /* 1e999 is past any range. */
  assert_flagged("number", "1e999\n", BE_SAMPLE_OVER, NAN);
}

static void words_in_front(void **state)
{
  (void)state;
  const unsigned steady = BE_SAMPLE_STABLE, moving = BE_SAMPLE_MOVING;
  struct be_rig_sample sample = one_of("header", "", "ST,GS,+0001.234,kg\r\n");
  assert_near(sample.force_N, 1.234 * kg, 1e-14);
  assert_int_equal(sample.flags, steady | BE_SAMPLE_GROSS);
  sample = one_of("header", "", "US,NT,-  17.25lb\r\n");
  assert_near(sample.force_N, -17.25 * lb, 1e-13);
  assert_int_equal(sample.flags, moving | BE_SAMPLE_NET);
  sample = one_of("header", "", "US,GS,   0,731 , kg\r\n");
  assert_near(sample.force_N, 0.731 * kg, 1e-13);
  sample = one_of("header", "", "ST,+00812.5  N\n");
  assert_near(sample.force_N, 812.5, 0);
  assert_int_equal(sample.flags, steady);
  sample = one_of("header", "", "ST NT  12.75 oz\n");
  assert_near(sample.force_N, 12.75 * lb / 16, 1e-14);
  assert_int_equal(sample.flags, steady | BE_SAMPLE_NET);
  static struct kept kept;
  read_text(&kept, "header", "", "ST,US,+1.5,kg\nGS,NT,+1.5,kg\nST,XX,+1.5,kg\nST,GS,+1.5,kq\n");
  /* Two words that contradict each other stand in fields of their own, and both are kept. */
  assert_int_equal(kept.count, 2);
  assert_int_equal(kept.samples[0].flags, steady | moving);
  assert_int_equal(kept.counts.not_understood, 2);
}

static void letters_behind(void **state)
{
  (void)state;
  struct be_rig_sample sample = one_of("letters", "", "\x02-0012.34LG\x03");
  assert_near(sample.force_N, -12.34 * lb, 1e-13);
  assert_int_equal(sample.flags, BE_SAMPLE_GROSS);
  sample = one_of("letters", "", "\x02  12.34KNM\r\n");
  assert_near(sample.force_N, 12.34 * kg, 1e-13);
  assert_int_equal(sample.flags, BE_SAMPLE_NET | BE_SAMPLE_MOVING);
  sample = one_of("letters", "", "\x02  12.34 kg G\x03");
  assert_near(sample.force_N, 12.34 * kg, 1e-13);
  assert_int_equal(sample.flags, BE_SAMPLE_GROSS);
  sample = one_of("letters", "", "\x02M 12.34 lb\x03");
  assert_near(sample.force_N, 12.34 * lb, 1e-13);
  assert_int_equal(sample.flags, BE_SAMPLE_MOVING);
  sample = one_of("letters", "", "\x02  12.34 E\x03");
  assert_true(isnan(sample.force_N));
  assert_int_equal(sample.flags, BE_SAMPLE_ERROR);
  /* Gross and net at once is nothing. */
  static struct kept kept;
  read_text(&kept, "pattern", "pattern={force}{status}", "12.34GN\n12.5US\n");
  assert_int_equal(kept.count, 1);
  assert_int_equal(kept.samples[0].flags, BE_SAMPLE_MOVING | BE_SAMPLE_AFTER_GARBAGE);
}

/* The unit is left blank while the reading moves, and toggled in the middle of a pull. */
static void units_come_and_go(void **state)
{
  (void)state;
  static struct kept kept;
  read_text(&kept, "letters", "",
            "\x02  2.25KG\x03\x02  2.50 M\x03\x02  5.75LG\x03\x02  6.25 M\x03");
  assert_int_equal(kept.count, 4);
  assert_near(kept.samples[1].force_N, 2.5 * kg, 1e-13);
  assert_int_equal(kept.samples[1].flags, BE_SAMPLE_MOVING);
  assert_near(kept.samples[2].force_N, 5.75 * lb, 1e-13);
  assert_int_equal(kept.samples[2].flags, BE_SAMPLE_GROSS | BE_SAMPLE_UNIT_CHANGED);
  assert_near(kept.samples[3].force_N, 6.25 * lb, 1e-13);
  assert_int_equal(kept.samples[3].flags, BE_SAMPLE_MOVING);
}

static void columns_in_front(void **state)
{
  (void)state;
  struct be_rig_sample sample = one_of("timed-ms", "", "3025,12.34 N\n");
  assert_near(sample.rig_time_s, 3.025, 0);
  assert_near(sample.force_N, 12.34, 0);
  assert_near(one_of("timed-s", "", "3.025;12,34\n").rig_time_s, 3.025, 0);
  assert_near(one_of("timed-s", "", "3.025;12,34\n").value, 12.34, 0);
  assert_near(one_of("timed-us", "", "3025117\t-8\n").rig_time_s, 3.025117, 1e-15);
  assert_near(one_of("timed-ms", "", "41:-8.5\n").value, -8.5, 0);
  assert_true(isnan(one_of("counted", "", "17 -8.5\n").rig_time_s));
  static struct kept kept;
  read_text(&kept, "counted", "", "17,1.5\n18,2.5\n21,3.5\n22,4.5\n3,5.5\n");
  assert_int_equal(kept.count, 5);
  assert_int_equal(kept.counts.missing, 2);
  const unsigned flags[] = {0, 0, BE_SAMPLE_AFTER_LOSS, 0, BE_SAMPLE_AFTER_LOSS};
  for (size_t i = 0; i < 5; i++) assert_int_equal(kept.samples[i].flags, flags[i]);
}

/* A banner, a line cut in two, rubbish and a frame too long; then all is well again. */
static void rubbish_between(void **state)
{
  (void)state;
  static struct kept kept;
  static char text[2000];
  snprintf(text, sizeof text,
           "amplifier ready, 80 SPS\r\n12.5\r\n\xFF\xFE\x80\r\n12.75\r\n%0400d\r\n%s", 7,
           "13.25\r\n\r\n  \r\n13.5\r\n");
  read_text(&kept, "number", "", text);
  assert_int_equal(kept.count, 4);
  assert_int_equal(kept.counts.not_understood, 2);
  assert_int_equal(kept.counts.too_long, 1);
  assert_int_equal(kept.counts.garbage, 23 + 3 + 400);
  assert_int_equal(kept.samples[0].flags, BE_SAMPLE_AFTER_GARBAGE);
  assert_int_equal(kept.samples[1].flags, BE_SAMPLE_AFTER_GARBAGE);
  assert_int_equal(kept.samples[2].flags, BE_SAMPLE_AFTER_GARBAGE);
  assert_int_equal(kept.samples[3].flags, 0);
  assert_bytes(text, &kept.samples[1], "12.75");
  assert_bytes(text, &kept.samples[3], "13.5");
  assert_same_cut("number", "", text, strlen(text));
}

static void nul_bytes(void **state)
{
  (void)state;
  static struct kept kept;
  static const char padded[] = "\0\0"
                               "12.5\r\n\0"
                               "12.75\r\n1\0"
                               "3\r\n14.5\r\n";
  read_bytes(&kept, "number", "", padded, sizeof padded - 1);
  assert_int_equal(kept.count, 3);
  assert_bytes(padded, &kept.samples[0], "12.5");
  assert_bytes(padded, &kept.samples[1], "12.75");
  assert_int_equal(kept.samples[1].flags, 0);
  assert_int_equal(kept.samples[2].flags, BE_SAMPLE_AFTER_GARBAGE);
  assert_same_cut("number", "", padded, sizeof padded - 1);
}

/* STX begins a frame anew; a check behind ETX is passed over. */
static void starts_and_checks(void **state)
{
  (void)state;
  static struct kept kept;
  static const char text[] = "\x02 1.5KG\x03q\x02 2.5KG\x03qr\r\n\x02 3.\x02 4.5KG\x03";
  read_text(&kept, "letters", "", text);
  assert_int_equal(kept.count, 3);
  assert_int_equal(kept.counts.halves, 1);
  assert_int_equal(kept.counts.garbage, 3);
  assert_int_equal(kept.samples[1].flags, BE_SAMPLE_GROSS);
  assert_int_equal(kept.samples[2].flags, BE_SAMPLE_GROSS | BE_SAMPLE_AFTER_GARBAGE);
  assert_bytes(text, &kept.samples[2], " 4.5KG");
  assert_same_cut("letters", "", text, strlen(text));
  /* Short frames that end in ETX without STX are no checks. */
  read_text(&kept, "number", "",
            "5\x03"
            "7\x03"
            "8\x03");
  assert_int_equal(kept.count, 3);
}

/* A line that is opened amid a frame, goes away amid one, and comes back. */
static void opened_anew(void **state)
{
  (void)state;
  static struct kept kept;
  struct be_frames *frames = frames_of("number", "");
  kept.count = 0;
  be_frames_restart(frames, false);
  be_frames_feed(frames, "2.5\r\n12.75\r\n13.", 15, 11, keep, &kept);
  be_frames_restart(frames, false);
  be_frames_feed(frames, "\n14.25\n", 7, 22, keep, &kept);
  be_frames_restart(frames, true);
  be_frames_feed(frames, "15.5\n", 5, 33, keep, &kept);
  const unsigned flags[] = {BE_SAMPLE_FIRST, 0, BE_SAMPLE_AFTER_GARBAGE | BE_SAMPLE_AFTER_GAP,
                            BE_SAMPLE_AFTER_GAP};
  assert_int_equal(kept.count, 4);
  for (size_t i = 0; i < 4; i++) {
    assert_int_equal(kept.samples[i].sequence, i);
    assert_int_equal(kept.samples[i].flags, flags[i]);
  }
  assert_int_equal(kept.samples[2].host_ns, 22);
  assert_int_equal(kept.samples[3].offset, 22);
  assert_int_equal(be_frames_counted(frames).halves, 1);
  be_frames_free(frames);
  /* A frame that begins with a word cannot have lost its start. */
  frames = frames_of("header", "");
  kept.count = 0;
  be_frames_restart(frames, false);
  be_frames_feed(frames, "ST,GS,+1.5,kg\n", 14, 11, keep, &kept);
  assert_int_equal(kept.samples[0].flags, BE_SAMPLE_STABLE | BE_SAMPLE_GROSS);
  be_frames_free(frames);
}

static void any_cut_gives_the_same(void **state)
{
  (void)state;
  static const struct {
    const char *kind, *text;
  } cases[] = {
      {"number", "12.5 kg\r\n-7,25\rOL\n^^^^\n17-\n\n\n3"},
      {"counted", "7,12.5\r\n9;13.5\r\n10 99999\n"},
      {"timed-ms", "7,12.5\r\n19,13.5 lb\r\n31,OL\n"},
      {"header", "ST,GS,+0001.234,kg\r\nUS,GS,+0002.718,kg\r\nOL,GS,+9999999,kg\r\nxx\r\n"},
      {"letters", "\x02 1.5KG\x03q\x02 2.5 M\x03\x02 2.5LN\x03\r\n"},
      {"scpi", "+1.25E+01\n#14\x41\x45\x70\xA4\n2.5,3.5\n#2z#0\n7\n"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
    assert_same_cut(cases[i].kind, "", cases[i].text, strlen(cases[i].text));
}

static void refused(void **state)
{
  (void)state;
  static const struct {
    const char *kind, *settings, *says;
  } cases[] = {
      {"morse", "", "\"morse\" is no kind of frames"},
      {"number", "unit=cubit", "\"cubit\" is no unit"},
      {"number", "decimal=dot", "decimal is one of: either point comma"},
      {"number", "baud=9600", "\"baud\" is not a setting"},
      {"number", "unit", "is not written as name=value"},
      {"number", "unit=\"kg", "is not written as name=value"},
      {"number", "every_s=-1", "every_s is a number from 0 to 3600"},
      {"modbus-rtu", "register=70000", "register is a whole number from 0 to 65534"},
      {"modbus-rtu", "register=7.5", "register is a whole number"},
      {"modbus-rtu", "register=7x", "register is a whole number"},
      {"pattern", "", "needs {force}, once"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_frames *frames = NULL;
    struct be_err err = {0};
    assert_int_equal(be_frames_create(cases[i].kind, cases[i].settings, &frames, &err),
                     BE_WRONG_USE);
    assert_null(frames);
    if (!strstr(err.what, cases[i].says)) print_error("%s\n", err.what);
    assert_non_null(strstr(err.what, cases[i].says));
    assert_true(strlen(err.remedy) > 10);
  }
  be_frames_free(NULL);
}

/* Each kind of text reads the example in its row. */
static void examples_are_read(void **state)
{
  (void)state;
  char line[80];
  size_t read = 0;
  for (size_t i = 0; i < be_frame_kinds_count; i++) {
    const struct be_frame_kind *kind = &be_frame_kinds[i];
    bool own = strcmp(kind->name, "pattern") == 0;
    if (!kind->example[0]) continue;
    snprintf(line, sizeof line, "%s\n", kind->example);
    struct be_rig_sample sample =
        one_of(kind->name, own ? "pattern=\"F= {force} {unit} #{count}\"" : "", line);
    assert_near(sample.value, 12.34, 1e-14);
    assert_true(strlen(kind->help) > 10);
    read++;
  }
  assert_true(read >= 9);
  for (int bit = 0; bit < BE_SAMPLE_BITS; bit++) {
    assert_true(strlen(be_sample_flag_word((enum be_sample_bit)bit)) > 2);
    assert_true(strlen(be_sample_flag_meaning((enum be_sample_bit)bit)) > 10);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(signs_and_marks),        cmocka_unit_test(no_thousands),
      cmocka_unit_test(units_make_forces),      cmocka_unit_test(past_the_range),
      cmocka_unit_test(words_in_front),         cmocka_unit_test(letters_behind),
      cmocka_unit_test(units_come_and_go),      cmocka_unit_test(columns_in_front),
      cmocka_unit_test(rubbish_between),        cmocka_unit_test(nul_bytes),
      cmocka_unit_test(starts_and_checks),      cmocka_unit_test(opened_anew),
      cmocka_unit_test(any_cut_gives_the_same), cmocka_unit_test(refused),
      cmocka_unit_test(examples_are_read),
  };
  return be_tests("rig: frames of text", tests);
}
