/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shapes of pulls met in the wild, rebuilt with numbers of our own: each is written
 * as text in the layout it came in, read back, and looked at. What must be found is
 * known from how it was made. The shapes are described, with their sources, in
 * shared/checks/traces.md, section 3; the numbers here are none of theirs. */
#include "trace_test.h"

enum { ROWS = 9000, TEXT = 1024 * 1024 };

/* A pull in the file's own units, each value as it will be written. */
static struct {
  size_t n;
  int decimals;
  double load[ROWS], way[ROWS], time[ROWS];
} made;

/* ---- making ---- */

static double written(double value, int decimals)
{
  char text[40];
  snprintf(text, sizeof text, "%.*f", decimals, value);
  return strtod(text, NULL);
}

static void start(double load)
{
  made.n = 1;
  made.load[0] = load;
  made.way[0] = made.time[0] = 0;
}

/* `rows` rows more, up or down to a load; a bend above 1 starts slowly, one
 * below 1 ends slowly. */
static void leg(size_t rows, double to, double bend)
{
  double from = made.load[made.n - 1];
  assert_true(made.n + rows <= ROWS);
  for (size_t i = 1; i <= rows; i++)
    made.load[made.n++] = from + (to - from) * pow((double)i / (double)rows, bend);
}

/* Noise, then steps of the reading, 0 for none, then the decimals of the file. */
static void measure(double sd, double step, int decimals, uint64_t seed)
{
  struct be_random random;
  be_random_init(&random, seed, 12);
  made.decimals = decimals;
  for (size_t i = 0; i < made.n; i++) {
    double load = made.load[i] + sd * be_random_normal(&random);
    if (step > 0) load = step * round(load / step);
    made.load[i] = written(load, decimals);
  }
}

static void steady(double dt_s, double per_row, int decimals)
{
  for (size_t i = 0; i < made.n; i++) {
    made.time[i] = written(dt_s * (double)i, 4);
    made.way[i] = written(per_row * (double)i, decimals);
  }
}

/* Travel in unequal steps, which one row in ten repeats. */
static void unequal(double per_row, uint64_t seed)
{
  struct be_random random;
  double way = 0;
  be_random_init(&random, seed, 13);
  for (size_t i = 0; i < made.n; i++) {
    made.way[i] = written(way, 9);
    if (i % 10 != 7) way += per_row * (0.6 + 0.8 * be_random_unit(&random));
  }
}

static size_t top_row(size_t from, size_t to)
{
  size_t top = from;
  for (size_t i = from; i < to; i++)
    if (made.load[i] > made.load[top]) top = i;
  return top;
}

/* ---- writing ---- */

static struct be_buf text;

static void begin(const char *head)
{
  be_buf_init(&text, TEXT);
  be_buf_text(&text, head);
}

static struct be_trace_file *finish(const struct be_trace_options *options)
{
  assert_int_equal(be_buf_status(&text, NULL), BE_OK);
  struct be_trace_file *file = read_with(text.data, text.size, options);
  be_buf_free(&text);
  return file;
}

/* Tabs, units in square brackets, no time. */
static struct be_trace_file *plain_table(void)
{
  begin("Desplaz. [mm]\tFuerza [N]\n");
  for (size_t i = 0; i < made.n; i++)
    be_buf_format(&text, "%.9f\t%.*f\n", made.way[i], made.decimals, made.load[i]);
  return finish(NULL);
}

/* Every value in quotes, CRLF, keys above, a line of units with an empty one. */
static struct be_trace_file *quoted_table(void)
{
  begin("Sample label,\"k-17\"\r\nLength,\"18.20\",mm\r\nDiameter,\"0.33\",mm\r\n"
        "Rate,\"5\",mm/min\r\n\r\n"
        "\"Extension\",\"Load\",\"Stress\",\"Time\",\"Cycle\",\"Tenacity\",\"Displacement\","
        "\"Strain\"\r\n(mm),(N),(MPa),(s),,(N/tex),(mm),(mm/mm)\r\n");
  for (size_t i = 0; i < made.n; i++)
    be_buf_format(&text, "\"%.5f\",\"%.5f\",\"%.4f\",\"%.4f\",\"1\",\"%.5f\",\"%.5f\",\"%.6f\"\r\n",
                  made.way[i], made.load[i], made.load[i] / 0.0855, made.time[i], made.load[i] / 90,
                  made.way[i], made.way[i] / 18.2);
  return finish(NULL);
}

enum { PLAIN_HEAD = 1, QUOTED_HEAD = 7 };

/* ---- what every shape must give ---- */

/* The peak is the first of the highest readings and stands where it was written;
 * the energy is the area under the rows up to it, by trapezoids. */
static struct be_trace_events look(const struct be_trace *trace, size_t head_lines)
{
  struct be_trace_events events;
  size_t peak = top_row(0, made.n);
  double twice = 0;
  assert_int_equal(trace->n, made.n);
  assert_int_equal(be_trace_find(trace, &events, NULL), BE_OK);
  assert_int_equal(events.peak_row, peak);
  assert_int_equal(trace->line[peak], head_lines + 1 + peak);
  assert_near(events.peak_N, made.load[peak], 0);
  assert_near(trace->extension_m[peak], made.way[peak] * 1e-3, 1e-15);
  for (size_t i = 1; i <= peak; i++)
    twice += (made.load[i] + made.load[i - 1]) * (made.way[i] - made.way[i - 1]);
  assert_near(events.energy_J * 1e3, twice / 2, 1e-9 * fabs(twice));
  return events;
}

static void assert_end(const struct be_trace_events *events, enum be_ending ending,
                       enum be_suggested result, enum be_let_go what)
{
  assert_int_equal(events->ending, ending);
  assert_int_equal(events->suggestion.result, result);
  assert_int_equal(events->suggestion.what, what);
}

/* ---- plastics ---- */

/* Yields, necks and runs on; the record stops at 80 % of the peak. */
static void a_neck_that_runs_on(void **state)
{
  (void)state;
  start(0);
  leg(140, 1874, 0.8);
  leg(30, 1866, 1);
  leg(90, 1560, 1);
  leg(300, 1509, 1);
  measure(0.9, 0, 1, 31);
  unequal(0.024, 31);
  struct be_trace_file *file = plain_table();
  struct be_trace_events events = look(&file->tests[0], PLAIN_HEAD);
  assert_end(&events, BE_ENDED_UNSEEN, BE_SUGGEST_BOUND, BE_LET_GO_UNSEEN);
  assert_non_null(strstr(events.suggestion.evidence, "ends at 81 %"));
  assert_true(events.flags[BE_FLAG_STOPPED] && events.flags[BE_FLAG_NO_TIME]);
  assert_false(events.flags[BE_FLAG_COARSE] || events.flags[BE_FLAG_STAGES]);
  assert_int_equal(events.slips_count + events.slips_after, 0);
  be_trace_file_free(file);
}

/* Rises all the way; the peak is the end, in steps of the reading. */
static void a_rise_to_the_very_end(void **state)
{
  (void)state;
  start(-0.763);
  leg(250, 61, 0.7);
  leg(747, 198.38, 1.6);
  measure(0.2, 0.763, 3, 32);
  unequal(0.2513, 32);
  struct be_trace_file *file = plain_table();
  struct be_trace_events events = look(&file->tests[0], PLAIN_HEAD);
  assert_end(&events, BE_ENDED_RISING, BE_SUGGEST_BOUND, BE_LET_GO_UNSEEN);
  assert_true(events.flags[BE_FLAG_RISING] && events.flags[BE_FLAG_COARSE]);
  assert_near(events.resolution_N, 0.763, 1e-9);
  assert_near(made.load[made.n - 1], events.peak_N, 0); /* a tie: the first is the peak */
  assert_int_equal(events.slips_count, 0);
  be_trace_file_free(file);
}

/* A flat top of which 14 rows share the maximum; one row at the end falls. */
static void a_flat_top_that_breaks_in_the_last_row(void **state)
{
  (void)state;
  enum { TIES = 14 };
  start(0);
  leg(330, 1410, 0.6);
  leg(300, 1502, 0.5);
  size_t flat = made.n;
  leg(60, 1502, 1);
  leg(60, 1478, 1);
  measure(1.1, 1, 0, 33);
  for (size_t i = 0; i < made.n; i++) made.load[i] = fmin(made.load[i], 1502);
  for (size_t i = 0; i < TIES; i++) made.load[flat + 4 * i] = 1503;
  made.load[made.n++] = 1059;
  unequal(0.0247, 33);
  struct be_trace_file *file = plain_table();
  struct be_trace_events events = look(&file->tests[0], PLAIN_HEAD);
  /* The record stops within the fall: whether load came back is not known. */
  assert_end(&events, BE_ENDED_UNSEEN, BE_SUGGEST_BOUND, BE_LET_GO_UNSEEN);
  assert_int_equal(events.end_row, made.n - 1);
  assert_non_null(strstr(events.suggestion.evidence, "to 70 % of the rise in 1 row"));
  assert_true(events.flags[BE_FLAG_PLATEAU] && events.flags[BE_FLAG_STOPPED]);
  assert_false(events.flags[BE_FLAG_SATURATED]);
  assert_in_range(flat, events.plateau.first, events.plateau.last);
  assert_in_range(flat + 4 * (TIES - 1), events.plateau.first, events.plateau.last);
  assert_int_equal(events.slips_count, 0);
  be_trace_file_free(file);
}

/* Yields early, then draws out for long while the load goes down slowly. */
static void an_early_yield_that_draws_out(void **state)
{
  (void)state;
  start(0);
  leg(130, 688.2, 0.6);
  leg(110, 545, 1);
  leg(560, 392, 1);
  leg(130, 254.6, 1);
  measure(0.6, 0, 1, 34);
  unequal(0.074, 34);
  struct be_trace_file *file = plain_table();
  struct be_trace_events events = look(&file->tests[0], PLAIN_HEAD);
  assert_end(&events, BE_ENDED_FADED, BE_SUGGEST_EVENT, BE_LET_GO_SLIPPED_OUT);
  assert_non_null(strstr(events.suggestion.evidence, "to 37 %"));
  assert_false(events.flags[BE_FLAG_STOPPED] || events.flags[BE_FLAG_LET_DOWN]);
  assert_true(isnan(events.zero_after_N));
  assert_int_equal(events.slips_count + events.slips_after, 0);
  be_trace_file_free(file);
}

/* Brittle: a toe of slack, stairs, and only three rows after the peak. */
static void a_brittle_end_of_three_rows(void **state)
{
  (void)state;
  start(0);
  leg(12, 30, 2);
  leg(88, 1210.7, 0.95);
  leg(3, 1041.2, 1);
  measure(2, 11, 0, 35);
  unequal(0.0224, 35);
  struct be_trace_file *file = plain_table();
  struct be_trace_events events = look(&file->tests[0], PLAIN_HEAD);
  assert_end(&events, BE_ENDED_UNSEEN, BE_SUGGEST_BOUND, BE_LET_GO_UNSEEN);
  assert_non_null(strstr(events.suggestion.evidence, "3 rows after the peak"));
  assert_true(events.flags[BE_FLAG_STOPPED] && events.flags[BE_FLAG_COARSE]);
  assert_true(events.flags[BE_FLAG_LOW_FORCE]);
  assert_near(events.resolution_N, 11, 1e-9);
  assert_int_equal(events.slips_count, 0);
  be_trace_file_free(file);
}

/* ---- tendon ---- */

/* A smooth dome that falls over 3 s and settles far below the start. */
static void a_dome_that_settles_below_its_start(void **state)
{
  (void)state;
  start(0);
  leg(1060, 3.31, 1.3);
  leg(110, 3.62, 0.5);
  leg(60, 3.5, 2);
  leg(300, 0.4, 1);
  leg(60, -1.16, 0.5);
  leg(200, -1.16, 1);
  measure(0.008, 0, 5, 36);
  steady(0.01, 0.000833, 5);
  struct be_trace_file *file = quoted_table();
  struct be_trace_events events = look(&file->tests[0], QUOTED_HEAD);
  assert_end(&events, BE_ENDED_FADED, BE_SUGGEST_EVENT, BE_LET_GO_SLIPPED_OUT);
  assert_near(events.zero_after_N, -1.16, 0.01);
  assert_true(events.flags[BE_FLAG_ZERO_LOADED] && events.flags[BE_FLAG_ZERO_DRIFT]);
  assert_false(events.flags[BE_FLAG_COARSE] || events.flags[BE_FLAG_UNEVEN]);
  assert_int_equal(events.slips_count + events.slips_after, 0);
  be_trace_file_free(file);
}

/* Three small slips, a main fall within 0.1 s, then 44 % is carried on. */
static void small_slips_and_a_part_that_holds(void **state)
{
  (void)state;
  start(0);
  leg(126, 0.52, 1.2);
  leg(3, 0.245, 1);
  leg(880, 2.31, 1);
  leg(4, 2.0, 1);
  leg(750, 3.4, 1);
  leg(4, 3.11, 1);
  leg(2330, 8.27, 1);
  leg(10, 3.19, 1);
  leg(240, 3.64, 0.5);
  measure(0.008, 0, 5, 37);
  steady(0.01, 0.000833, 5);
  struct be_trace_file *file = quoted_table();
  struct be_trace_events events = look(&file->tests[0], QUOTED_HEAD);
  static const size_t from[] = {126, 1009, 1763};
  static const double from_N[] = {0.52, 2.31, 3.4}, to_N[] = {0.245, 2.0, 3.11};
  assert_end(&events, BE_ENDED_PARTLY, BE_SUGGEST_EVENT, BE_LET_GO_STRAND);
  assert_true(events.flags[BE_FLAG_PARTLY] && events.flags[BE_FLAG_SLIPPED]);
  assert_false(events.flags[BE_FLAG_STOPPED]);
  assert_int_equal(events.slips_count, 3);
  for (size_t i = 0; i < 3; i++) {
    assert_in_range(events.slips[i].from_row, from[i] - 5, from[i] + 1);
    assert_near(events.slips[i].from_N, from_N[i], 0.03);
    assert_near(events.slips[i].to_N, to_N[i], 0.03);
    assert_in_range(events.slips[i].recovered_row, from[i] + 5, made.n - 1);
  }
  assert_in_range(events.end_row, 4094, 4102); /* the main fall takes ten rows from 4093 on */
  be_trace_file_free(file);
}

/* Lets go early in three sharp steps; later a slow hump that is none of the pull. */
static void three_steps_and_a_false_hump(void **state)
{
  (void)state;
  start(0);
  leg(200, 0.397, 1.2);
  leg(3, 0.101, 1);
  leg(130, 0.225, 1);
  leg(3, 0.002, 1);
  leg(43, 0.028, 1);
  leg(2, -0.064, 1);
  leg(355, 0.117, 0.8);
  leg(445, -0.282, 1.2);
  measure(0.004, 0, 5, 38);
  steady(0.01, 0.000833, 5);
  struct be_trace_file *file = quoted_table();
  struct be_trace_events events = look(&file->tests[0], QUOTED_HEAD);
  assert_end(&events, BE_ENDED_FADED, BE_SUGGEST_EVENT, BE_LET_GO_SLIPPED_OUT);
  assert_in_range(events.end_row, 198, 203);
  assert_in_range(events.end_low_row, 334, 337); /* the second step takes it below a fifth */
  assert_true(events.flags[BE_FLAG_HUMP]);
  assert_true(events.flags[BE_FLAG_ZERO_DRIFT] && events.flags[BE_FLAG_ZERO_LOADED]);
  assert_true(isnan(events.zero_after_N)); /* it still creeps */
  assert_false(events.flags[BE_FLAG_STAGES] || events.flags[BE_FLAG_SLIPPED]);
  assert_int_equal(events.slips_after, 1);
  assert_near(events.slips[0].to_N, 0.101, 0.02);
  be_trace_file_free(file);
}

/* A break whose swing has not died away when the record stops is no such end. */
static void a_swing_after_a_break_is_no_drift(void **state)
{
  (void)state;
  start(0);
  leg(900, 47.3, 1);
  for (int i = 1; i <= 130; i++) made.load[made.n++] = 15.1 * cos(0.021 * (i + 70));
  measure(0.05, 0, 5, 43);
  steady(0.01, 0.000833, 5);
  struct be_trace_file *file = quoted_table();
  struct be_trace_events events = look(&file->tests[0], QUOTED_HEAD);
  assert_end(&events, BE_ENDED_BROKE, BE_SUGGEST_EVENT, BE_LET_GO_BROKE);
  assert_true(made.load[made.n - 1] < -0.1 * events.rise_N);
  assert_true(isnan(events.zero_after_N));
  assert_false(events.flags[BE_FLAG_ZERO_LOADED] || events.flags[BE_FLAG_ZERO_DRIFT]);
  be_trace_file_free(file);
}

/* Pulled, then held for 180 s at half the rate of sampling, with one odd step;
 * the travel stands still but for small steps back. */
static void a_hold_that_relaxes(void **state)
{
  (void)state;
  start(0);
  leg(172, 2.43, 1.3);
  size_t held = made.n;
  leg(1800, 1.24, 0.35);
  measure(0.004, 0, 5, 39);
  for (size_t i = 0; i < made.n; i++) {
    size_t since = i < held ? 0 : i - held + 1;
    made.time[i] = written(0.05 * (double)(i - since) + 0.1 * (double)since, 4);
    if (since > 1) made.time[i] = written(made.time[i] - 0.096, 4);
    made.way[i] = written(0.0041667 * (double)(i - since), 5);
    if (since % 200 == 100) made.way[i] -= 0.00001;
  }
  struct be_trace_file *file = quoted_table();
  struct be_trace_events events = look(&file->tests[0], QUOTED_HEAD);
  assert_end(&events, BE_ENDED_HELD, BE_SUGGEST_BOUND, BE_LET_GO_NOTHING);
  assert_non_null(strstr(events.suggestion.evidence, "ends at 51 %"));
  assert_true(events.flags[BE_FLAG_HELD] && events.flags[BE_FLAG_UNEVEN]);
  assert_false(events.flags[BE_FLAG_REPEATED] || events.flags[BE_FLAG_STOPPED]);
  assert_int_equal(events.slips_count + events.slips_after, 0);
  be_trace_file_free(file);
}

/* ---- sheets ---- */

/* Tabs, decimal commas, 8-bit letters, an empty second plot, no time; three humps,
 * both first ones let go wholly, the last is the highest; then slack below zero. */
static void three_humps_the_last_the_highest(void **state)
{
  (void)state;
  start(0);
  leg(110, 268, 1.3);
  leg(130, 60, 1);
  leg(230, 251, 1);
  leg(100, 2, 1);
  leg(700, 4, 1);
  leg(880, 377, 1.2);
  leg(4, 30, 1);
  leg(20, -22, 1);
  leg(440, -22, 1);
  measure(5, 0, 3, 40);
  steady(0.1, 0.0121, 3);
  begin("Posi\xE7\xE3o (mm) - Plot 0\tFor\xE7"
        "a (N) - Plot 0\tPosi\xE7\xE3o (mm) - Plot 1\tFor\xE7"
        "a (N) - Plot 1\n");
  for (size_t i = 0; i < made.n; i++) {
    char way[40], load[40];
    snprintf(way, sizeof way, "%.3f", made.way[i]);
    snprintf(load, sizeof load, "%.3f", made.load[i]);
    *strchr(way, '.') = *strchr(load, '.') = ',';
    be_buf_format(&text, "%s\t%s\t\t\n", way, load);
  }
  struct be_trace_file *file = finish(NULL);
  struct be_trace_events events = look(&file->tests[0], 1);
  assert_end(&events, BE_ENDED_BROKE, BE_SUGGEST_EVENT, BE_LET_GO_SLIPPED_BROKE);
  assert_true(events.flags[BE_FLAG_STAGES] && events.flags[BE_FLAG_ZERO_DRIFT]);
  assert_false(events.flags[BE_FLAG_HUMP] || events.flags[BE_FLAG_ZERO_LOADED]);
  assert_int_equal(events.stages_count, 3);
  assert_near(events.stages[0].top_N, 268, 20);
  assert_near(events.stages[1].top_N, 251, 20);
  assert_int_equal(events.stages[2].top_row, events.peak_row);
  assert_near(events.zero_after_N, -22, 2);
  be_trace_file_free(file);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_neck_that_runs_on),
      cmocka_unit_test(a_rise_to_the_very_end),
      cmocka_unit_test(a_flat_top_that_breaks_in_the_last_row),
      cmocka_unit_test(an_early_yield_that_draws_out),
      cmocka_unit_test(a_brittle_end_of_three_rows),
      cmocka_unit_test(a_dome_that_settles_below_its_start),
      cmocka_unit_test(small_slips_and_a_part_that_holds),
      cmocka_unit_test(three_steps_and_a_false_hump),
      cmocka_unit_test(a_swing_after_a_break_is_no_drift),
      cmocka_unit_test(a_hold_that_relaxes),
      cmocka_unit_test(three_humps_the_last_the_highest),
  };
  return be_tests("trace: shapes in the wild", tests);
}
