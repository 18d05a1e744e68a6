/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Traces from other people's machines, read as they are with no options.
 *
 * Files: Santos, L.D.V. et al. (2025), data set, DOI 10.5281/zenodo.18748157,
 * CC BY 4.0: sheets of plant fibre pulled to failure. Their maxima are those of
 * the authors' own summary workbook. The energies are trapezoid sums worked out
 * apart from this program. The files are read from the folder beside this one
 * and are no part of it. */
#include "test.h"
#include "trace/trace.h"

static const struct {
  const char *name;
  size_t rows, line;
  double peak_N, extension_mm, energy_mJ;
} cases[] = {
    {"cp1.txt", 1961, 269, 258.572, 3.154, 330.04},
    {"cp3.txt", 1470, 351, 603.273, 4.125, 920.63},
    {"cp4.txt", 2647, 2178, 401.935, 26.521, 2906.7},
    {"cp_1.txt", 2110, 1194, 415.456, 14.344, 1700.2},
};

static bool load(const char *name, struct be_buf *buf)
{
  const char *shared = getenv("BE_SHARED");
  char path[1024];
  snprintf(path, sizeof path, "%s/traces/geocomposite/%s", shared ? shared : "../shared", name);
  be_buf_init(buf, 1 << 24);
  if (be_file_exists(path)) return be_file_read(path, buf, NULL) == BE_OK;
  printf("# SKIP no traces/geocomposite/%s under BE_SHARED\n", name);
  return false;
}

static void compare(size_t i, const struct be_trace *trace)
{
  struct be_trace_events events;
  assert_int_equal(be_trace_find(trace, &events, NULL), BE_OK);
  assert_int_equal(trace->n, cases[i].rows);
  assert_int_equal(trace->line[events.peak_row], cases[i].line);
  assert_near(trace->force_N[events.peak_row], cases[i].peak_N, 0);
  assert_near(events.peak_N, cases[i].peak_N, 0);
  assert_int_equal(trace->decimals, 3);
  assert_near(trace->extension_m[events.peak_row] * 1e3, cases[i].extension_mm, 1e-9);
  assert_near(events.energy_J * 1e3 / cases[i].energy_mJ, 1, 0.0005);
  assert_true(events.flags[BE_FLAG_NO_TIME]);
  assert_false(events.flags[BE_FLAG_SATURATED]);
}

static void sheets_give_the_published_maxima(void **state)
{
  (void)state;
  size_t read = 0;
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_buf buf;
    struct be_trace_file *file;
    if (!load(cases[i].name, &buf)) continue;
    assert_int_equal(be_trace_read_bytes(buf.data, buf.size, NULL, &file, NULL), BE_OK);
    assert_int_equal(file->count, 1);
    const struct be_trace_layout *layout = file->tests[0].layout;
    assert_int_equal(layout->coding, BE_LATIN1);
    assert_int_equal(layout->delimiter, '\t');
    assert_int_equal(layout->decimal, ',');
    assert_string_equal(layout->columns[1].name, "For\u00E7a (N) - Plot 0");
    assert_string_equal(layout->columns[1].unit->name, "N");
    assert_int_equal(layout->columns[1].sureness, BE_SURE);
    assert_string_equal(layout->columns[0].unit->name, "mm");
    assert_int_equal(layout->sign, 1);
    compare(i, &file->tests[0]);
    be_trace_file_free(file);
    be_buf_free(&buf);
    read++;
  }
  if (read == 0) skip();
}

/* What is said of each file: which let go at once, and the humps before and after the
 * peak, in mm, from an 11-row running median with swings of 15 % of the peak. */
static const double humps[][5] = {
    {3.15, 4.32, 8.2, 9.45}, {4.125, 7.72}, {1.25, 5.94, 26.521}, {2.68, 14.344, 16.34, 17.24}};

/* Twin tops of a noisy hump are a fifth of the way up its flanks apart. */
static size_t stages_at(const struct be_trace *trace, const struct be_trace_events *events,
                        double extension_mm)
{
  size_t found = 0;
  for (size_t k = 0; k < events->stages_count; k++)
    found += fabs(1e3 * trace->extension_m[events->stages[k].top_row] - extension_mm) < 0.7;
  return found;
}

static void sheets_end_as_described(void **state)
{
  (void)state;
  static const enum be_ending endings[] = {BE_ENDED_BROKE, BE_ENDED_BROKE, BE_ENDED_BROKE,
                                           BE_ENDED_FADED};
  size_t read = 0;
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_buf buf;
    struct be_trace_file *file;
    struct be_trace_events events;
    if (!load(cases[i].name, &buf)) continue;
    assert_int_equal(be_trace_read_bytes(buf.data, buf.size, NULL, &file, NULL), BE_OK);
    assert_int_equal(be_trace_find(&file->tests[0], &events, NULL), BE_OK);
    assert_int_equal(events.ending, endings[i]);
    for (size_t k = 0; k < 5 && humps[i][k] > 0; k++)
      assert_int_equal(stages_at(&file->tests[0], &events, humps[i][k]), 1);
    /* Only the third and fourth rose and fell before the peak. */
    assert_int_equal(events.flags[BE_FLAG_STAGES], i >= 2);
    be_trace_file_free(file);
    be_buf_free(&buf);
    read++;
  }
  if (read == 0) skip();
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(sheets_give_the_published_maxima),
      cmocka_unit_test(sheets_end_as_described),
  };
  return be_tests("published: traces", tests);
}
