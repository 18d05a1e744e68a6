/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Calibrations as they are kept, and when they are due. */
#include "rig/calibration/calibration.h"
#include "test.h"

/* ---- dates ---- */

static long day_of(const char *text)
{
  long day = 0;
  struct be_err err = {0};
  if (be_date_read(text, strlen(text), &day, &err) != BE_OK) fail_msg("%s", err.what);
  return day;
}

static void dates(void **state)
{
  (void)state;
  /* date -u -d DATE +%s / 86400. */
  assert_int_equal(day_of("1970-01-01"), 0);
  assert_int_equal(day_of("2000-02-29"), 11016);
  assert_int_equal(day_of("2026-03-01"), 20513);
  assert_int_equal(day_of("1969-12-31"), -1);
  assert_int_equal(day_of("0001-01-01"), -719162);
  for (long day = -719162; day < 2932897; day += day % 7 ? 1 : 997) {
    char text[16];
    be_date_write(day, text);
    assert_int_equal(day_of(text), day);
  }
  static const char *const wrong[] = {"2026-02-29",
                                      "2100-02-29",
                                      "2026-13-01",
                                      "2026-00-01",
                                      "2026-04-31",
                                      "2026-01-00",
                                      "0000-01-01",
                                      "26-01-01",
                                      "2026/01/01",
                                      "2026-01-1x",
                                      ""};
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    long day;
    assert_int_equal(be_date_read(wrong[i], strlen(wrong[i]), &day, NULL), BE_BAD_INPUT);
  }
}

static void due_dates(void **state)
{
  (void)state;
  static const struct {
    const char *from, *to;
    int months;
  } cases[] = {{"2026-01-31", "2026-02-28", 1},  {"2027-08-31", "2028-02-29", 6},
               {"2026-03-15", "2027-03-15", 12}, {"2026-12-31", "2027-01-31", 1},
               {"2024-02-29", "2025-02-28", 12}, {"2026-11-30", "2026-11-30", 0},
               {"2026-01-30", "2036-01-30", 120}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char text[16];
    be_date_write(be_date_months_later(day_of(cases[i].from), cases[i].months), text);
    assert_string_equal(text, cases[i].to);
  }
  struct be_calibration calibration = {.dated = true, .day = day_of("2026-02-11"), .months = 12};
  long left = 0;
  assert_true(be_calibration_due(&calibration, day_of("2026-11-26"), &left));
  assert_int_equal(left, 77);
  assert_true(be_calibration_due(&calibration, day_of("2027-02-14"), &left));
  assert_int_equal(left, -3);
  calibration.months = 0;
  assert_false(be_calibration_due(&calibration, 0, &left));
}

/* ---- as it is kept ---- */

static const char kept[] = "# two cells\n[other]\nmonths = 6\n\n[bench cell]\r\n"
                           "certificate = K 417/26\ndate = 2026-02-11\nmonths = 12\nunit = kg\n"
                           "reference = 0.05 %\nresolution = 0.02 N\ncurve = bent\n"
                           "point = 0 N -0.0125\npoint = 98.0665 N 10.013\n"
                           "point = 20 kg 20.031 falling\n";

static void read_and_written(void **state)
{
  (void)state;
  static struct be_calibration calibration, again;
  struct be_err err = {0};
  struct be_buf text, second;
  assert_int_equal(be_calibration_parse(kept, strlen(kept), "bench cell", &calibration, &err),
                   BE_OK);
  assert_string_equal(calibration.name, "bench cell");
  assert_string_equal(calibration.certificate, "K 417/26");
  assert_string_equal(calibration.unit, "kg");
  assert_int_equal(calibration.day, day_of("2026-02-11"));
  assert_near(calibration.reference_percent, 0.05, 0);
  assert_near(calibration.resolution_N, 0.02, 0);
  assert_int_equal(calibration.curve, BE_CURVE_BENT);
  assert_int_equal(calibration.points_count, 3);
  assert_near(calibration.points[0].reading, -0.0125, 0);
  assert_near(calibration.points[2].load_N, 196.133, 1e-12);
  assert_true(calibration.points[2].falling && !calibration.points[1].falling);
  be_buf_init(&text, 10000);
  be_calibration_write(&text, &calibration);
  assert_int_equal(be_calibration_parse(text.data, text.size, NULL, &again, &err), BE_OK);
  be_buf_init(&second, 10000);
  be_calibration_write(&second, &again);
  assert_string_equal(second.data, text.data);
  assert_int_equal(again.points_count, 3);
  assert_near(again.points[2].load_N, calibration.points[2].load_N, 0);
  assert_true(again.points[2].falling);
  be_buf_free(&text);
  be_buf_free(&second);
  /* The first one, of which little is told. */
  assert_int_equal(be_calibration_parse(kept, strlen(kept), NULL, &calibration, &err), BE_OK);
  assert_string_equal(calibration.name, "other");
  assert_true(isnan(calibration.reference_percent) && isnan(calibration.resolution_N));
  assert_int_equal(calibration.points_count, 0);
}

static void refused(void **state)
{
  (void)state;
  static const char long_name[] =
      "certificate = 0123456789012345678901234567890123456789012345678901234567890123";
  static const char *const lines[] = {
      "colour = blue",    "no sense",          "date = 2026-02-30", "months = 1.5",
      "months = -1",      "unit = cubit",      "reference = 0.05",  "reference = -1 %",
      "resolution = 5",   "resolution = -1 N", "resolution = 5 mm", "curve = crooked",
      "point = 5 N",      "point = 5 12",      "point = 5 mm 12",   "point = 5 N 1e999",
      "point = 5 N 12 x", "point = ",          "point = falling",   long_name};
  for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
    static struct be_calibration calibration;
    struct be_err err = {0};
    char text[200];
    snprintf(text, sizeof text, "[cell]\n\n%s\n", lines[i]);
    enum be_status status = be_calibration_parse(text, strlen(text), "cell", &calibration, &err);
    if (status != BE_BAD_INPUT || err.line != 3) print_error("%s\n", lines[i]);
    assert_int_equal(status, BE_BAD_INPUT);
    assert_int_equal(err.line, 3);
  }
  static struct be_calibration calibration;
  struct be_err err = {0};
  assert_int_equal(be_calibration_parse(kept, strlen(kept), "cell", &calibration, &err),
                   BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "no calibration \"cell\""));
  struct be_buf text;
  be_buf_init(&text, 100000);
  be_buf_text(&text, "[cell]\n");
  for (int i = 0; i < BE_CALIBRATION_POINTS_MAX + 1; i++)
    be_buf_format(&text, "point = %d N %d\n", i, i);
  assert_int_equal(be_calibration_parse(text.data, text.size, "cell", &calibration, &err),
                   BE_BAD_INPUT);
  assert_int_equal(err.line, BE_CALIBRATION_POINTS_MAX + 2);
  be_buf_free(&text);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(dates),
      cmocka_unit_test(due_dates),
      cmocka_unit_test(read_and_written),
      cmocka_unit_test(refused),
  };
  return be_tests("rig: calibrations kept", tests);
}
