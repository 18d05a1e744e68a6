/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shapes met in the wild whose pull is not the positive side of the file: pads that
 * are pressed on and pulled off in cycles, and a force in volts, reversed and
 * offset. Described, with their sources, in shared/checks/traces.md, section 3; the
 * numbers here are none of theirs. */
#include "trace_test.h"

enum { TEXT = 1024 * 1024 };

static struct be_buf text;

static struct be_trace_file *finish(const struct be_trace_options *options)
{
  assert_int_equal(be_buf_status(&text, NULL), BE_OK);
  struct be_trace_file *file = read_with(text.data, text.size, options);
  be_buf_free(&text);
  return file;
}

/* ---- pressed on and pulled off ---- */

enum { CYCLES = 5, PARTS = 5, BLOCKS = CYCLES * PARTS, PULL_OFF = 3 };

/* What was written of a block, in the sense of the file: pulling is negative. */
struct block {
  size_t rows, repeats, first_line;
  size_t lowest_row;
  double lowest_N, gap_mm;
  double time_s; /* the last one */
};

static struct block blocks[BLOCKS];

static struct {
  bool bare; /* only gap and force, without any head */
  double time_s, gap_mm;
  size_t line;
  struct be_random random;
} rig;

static void pad_row(struct block *block, double force_N, double dt_s)
{
  char force[40], time[40], gap[40];
  snprintf(force, sizeof force, "%.6G", force_N + 0.0007 * be_random_normal(&rig.random));
  snprintf(time, sizeof time, "%.4G", rig.time_s);
  snprintf(gap, sizeof gap, "%.6G", rig.gap_mm);
  if (rig.bare) be_buf_format(&text, "%s,%s\n", gap, force);
  else be_buf_format(&text, "\r\n,%zu,%s,%s,%s", block->rows + 1, force, gap, time);
  double force_read = strtod(force, NULL), time_read = strtod(time, NULL);
  rig.line++;
  if (block->rows == 0) block->first_line = rig.line;
  else if (time_read <= block->time_s) block->repeats++;
  if (block->rows == 0 || force_read < block->lowest_N) {
    block->lowest_N = force_read;
    block->lowest_row = block->rows;
    block->gap_mm = strtod(gap, NULL);
  }
  block->time_s = time_read;
  block->rows++;
  rig.time_s += dt_s;
}

/* Share of the pull that has been let go: each tooth falls at once by two and a
 * half times its part, and then loads again by one and a half. */
enum { TEETH = 20, TOOTH_ROWS = 9 };
static double tooth_of(size_t row)
{
  double tooth = (double)(row / TOOTH_ROWS), since = (double)(row % TOOTH_ROWS) / TOOTH_ROWS;
  return fmin((tooth + 2.5 - 1.5 * since) / TEETH, 1);
}

/* Near, press, hold, pull off, rest. The pads let go one after another. */
static void pad_part(struct block *block, size_t part, double pull_N)
{
  static const size_t rows[PARTS] = {400, 160, 300, 520, 12};
  static const double dt_s[PARTS] = {0.05, 0.05, 0.1, 0.05, 1};
  static const double gap_step_mm[PARTS] = {-0.02, -0.02, 0, 0.02, 0};
  for (size_t i = 0; i < rows[part]; i++) {
    double share = (double)i / (double)rows[part], force_N = 0;
    if (part == 1) force_N = 18.3 * share * share;
    if (part == 2) force_N = 18.3 - 2.6 * (1 - exp(-5 * share));
    if (part == PULL_OFF && i < 120) force_N = 15.7 * pow(1 - (double)i / 120, 2);
    else if (part == PULL_OFF && i < 220) force_N = -pull_N * (double)(i - 120) / 100;
    else if (part == PULL_OFF && i < 220 + TEETH * TOOTH_ROWS)
      force_N = -pull_N * (1 - tooth_of(i - 220));
    pad_row(block, force_N, dt_s[part]);
    rig.gap_mm += gap_step_mm[part];
  }
}

static void write_pads(bool bare)
{
  static const double pull_N[CYCLES] = {0.137, 0.158, 0.181, 0.129, 0.166};
  be_buf_init(&text, TEXT);
  memset(blocks, 0, sizeof blocks);
  memset(&rig, 0, sizeof rig);
  rig.bare = bare;
  be_random_init(&rig.random, 41, 14);
  if (!bare) {
    be_buf_text(&text, "Rig:,pads\r\nSeries:,7\r\nOperator:,\r\nProbe:,flat\r\nNote:,\r\n");
    rig.line = 6;
  }
  for (size_t k = 0; k < BLOCKS; k++) {
    if (k % PARTS == 0) rig.gap_mm = 15.2;
    if (!bare) {
      be_buf_format(&text, "\r\nInterval %zu\r\n,No.,Normal force,Gap,Time\r\n", k + 1);
      be_buf_text(&text, ",,[N],[mm],[s]");
      rig.line += 3;
    }
    pad_part(&blocks[k], k % PARTS, pull_N[k / PARTS]);
    if (bare) continue;
    be_buf_text(&text, "\r\n");
    rig.line++;
  }
  if (!bare) text.size -= 2; /* the last line has no end */
}

/* The 14 teeth above a fifth of the pull are slips after the peak; noise may hide
 * one at each end. */
static void assert_pull_off(const struct be_trace_events *events)
{
  assert_int_equal(events->ending, BE_ENDED_FADED);
  assert_int_equal(events->suggestion.result, BE_SUGGEST_EVENT);
  assert_int_equal(events->suggestion.what, BE_LET_GO_SLIPPED_OUT);
  assert_near(events->zero_after_N, 0, 3e-4);
  assert_int_equal(events->slips_count, 0);
  assert_in_range(events->slips_after, 12, 14);
}

static void every_pull_off_is_a_test_of_its_own(void **state)
{
  (void)state;
  write_pads(false);
  struct be_trace_file *file = finish(NULL);
  assert_int_equal(file->count, BLOCKS);
  assert_int_equal(file->tests[0].layout->sign, -1);
  for (size_t k = 0; k < BLOCKS; k++) {
    const struct be_trace *trace = &file->tests[k];
    const struct block *block = &blocks[k];
    struct be_trace_events events;
    assert_int_equal(trace->n, block->rows);
    assert_int_equal(be_trace_find(trace, &events, NULL), BE_OK);
    assert_int_equal(events.peak_row, block->lowest_row);
    assert_near(events.peak_N, -block->lowest_N, 0);
    assert_near(trace->extension_m[events.peak_row], block->gap_mm * 1e-3, 1e-15);
    assert_int_equal(trace->line[events.peak_row], block->first_line + block->lowest_row);
    assert_int_equal(events.flags[BE_FLAG_REPEATED], block->repeats > 0);
    assert_false(events.flags[BE_FLAG_ZERO_LOADED]);
    if (k % PARTS == PULL_OFF) assert_pull_off(&events);
    else assert_int_equal(events.suggestion.result, BE_SUGGEST_VOID);
  }
  be_trace_file_free(file);
}

/* The same rows without a head or times: nothing says that the first column is a
 * gap, and the largest load is no pull, so the sign is told. */
static void a_table_without_a_head_is_told_its_sign(void **state)
{
  (void)state;
  struct be_trace_events events;
  size_t rows = 0, lowest = 0;
  struct be_trace_options options = {.sign = -1};
  write_pads(true);
  struct be_trace_file *file = finish(&options);
  const struct be_trace *trace = &file->tests[0];
  for (size_t k = 0; k < BLOCKS; k++) {
    rows += blocks[k].rows;
    if (blocks[k].lowest_N < blocks[lowest].lowest_N) lowest = k;
  }
  assert_int_equal(file->count, 1);
  assert_int_equal(trace->n, rows);
  assert_int_equal(trace->layout->columns[0].role, BE_ROLE_EXTENSION);
  assert_int_equal(trace->layout->columns[1].role, BE_ROLE_FORCE);
  assert_int_equal(trace->layout->sign, -1);
  assert_int_equal(be_trace_find(trace, &events, NULL), BE_OK);
  assert_near(events.peak_N, -blocks[lowest].lowest_N, 0);
  assert_int_equal(trace->line[events.peak_row],
                   blocks[lowest].first_line + blocks[lowest].lowest_row);
  assert_near(trace->extension_m[events.peak_row], blocks[lowest].gap_mm * 1e-3, 1e-15);
  assert_true(events.flags[BE_FLAG_NO_TIME]);
  be_trace_file_free(file);
}

/* ---- volts ---- */

enum { SIGNAL_ROWS = 1060, TURN = 540 };

/* Slides one way, then back: noisy while it slides, quiet at both ends. */
static void write_volts(double *volts)
{
  struct be_random random;
  be_random_init(&random, 42, 15);
  be_buf_init(&text, TEXT);
  be_buf_text(&text, "\xEF\xBB\xBF"
                     "2019-11-21 14:05:33\r\nInterval,0.0005\r\n"
                     "\"Time\",\"Input 0\",\"Time\",\"Input 1\"\r\n\"s\",\"V\",\"s\",\"V\"\r\n");
  for (size_t i = 0; i < SIGNAL_ROWS; i++) {
    bool slides = i >= 60 && i < SIGNAL_ROWS - 30;
    double mean = !slides ? -0.113 : i < TURN ? -0.46 : 0.11;
    volts[i] = mean + (slides ? 0.12 : 0.0008) * be_random_normal(&random);
    if (i == 431) volts[i] = -0.9741052;
    char number[40];
    snprintf(number, sizeof number, "%.15f", volts[i]);
    volts[i] = strtod(number, NULL);
    be_buf_format(&text, "%.4f,%s,%.4f,%.15f\r\n", 0.0005 * (double)i, number, 0.0005 * (double)i,
                  0.27 + 0.003 * be_random_normal(&random));
  }
}

static void volts_are_scaled_and_turned(void **state)
{
  (void)state;
  static double volts[SIGNAL_ROWS];
  write_volts(volts);
  struct be_trace_file *file = NULL;
  struct be_err err = {0};
  assert_int_equal(be_trace_read_bytes(text.data, text.size, NULL, &file, &err), BE_ASK);
  assert_non_null(strstr(err.what, "volts"));
  double zero = 0;
  for (size_t i = 0; i < 10; i++) zero += volts[i] / 10;
  struct be_trace_options options = {.force_scale_N = -200, .force_zero = zero};
  file = finish(&options);
  const struct be_trace *trace = &file->tests[0];
  struct be_trace_events events;
  assert_int_equal(file->count, 1);
  assert_int_equal(trace->n, SIGNAL_ROWS);
  assert_int_equal(trace->layout->columns[1].role, BE_ROLE_FORCE);
  assert_int_equal(trace->layout->columns[3].role, BE_ROLE_NONE);
  assert_null(trace->extension_m);
  for (size_t i = 0; i < SIGNAL_ROWS; i++)
    assert_near(trace->force_N[i], -200 * (volts[i] - zero), 1e-10);
  assert_int_equal(be_trace_find(trace, &events, NULL), BE_OK);
  assert_int_equal(events.peak_row, 431);
  assert_near(trace->time_s[431], 0.2155, 0);
  assert_true(isnan(events.energy_J));
  assert_true(events.flags[BE_FLAG_NOISY]);
  assert_false(events.flags[BE_FLAG_UNEVEN]);
  /* Nothing broke, and the chatter is too large for the top to be a pull. */
  assert_int_equal(events.suggestion.result, BE_SUGGEST_VOID);
  be_trace_file_free(file);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_pull_off_is_a_test_of_its_own),
      cmocka_unit_test(a_table_without_a_head_is_told_its_sign),
      cmocka_unit_test(volts_are_scaled_and_turned),
  };
  return be_tests("trace: pulls on the other side of zero", tests);
}
