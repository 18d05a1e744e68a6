/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Traces longer than one window, and longer than what is kept. The slow twin of
 * the reader is a loop of strtod over the same text. */
#include "trace/rows/rows.h"
#include "fault/failing.h"
#include "trace_test.h"

#include <zlib.h>

/* ---- texts ---- */

struct long_text {
  struct be_buf buf;
  size_t rows;
};

enum form { FORM_PLAIN, FORM_QUOTED, FORM_COMMA, FORM_SPACES, FORM_MIXED, FORMS };

/* A climb with noise and a fall near its end. The numbers are the same in
 * every form; only how they are written differs. */
static void write_long(struct long_text *text, size_t rows, enum form form)
{
  static const char *const heads[FORMS] = {
      "time (s),force (N),extension (mm)\n", "\"time (s)\",\"force (N)\",\"extension (mm)\"\r\n",
      "time (s);force (N);extension (mm)\n", "time (s)   force (N)   extension (mm)\n",
      "time (s),force (N),extension (mm)\n"};
  struct be_random random;
  be_random_init(&random, 5903, 1);
  be_buf_init(&text->buf, (size_t)1 << 30);
  be_buf_text(&text->buf, heads[form]);
  text->rows = rows;
  for (size_t i = 0; i < rows; i++) {
    double climb = 90 * (double)i / (double)rows - 0.7;
    double force = (i < rows - rows / 10 ? climb : 0.3) + 0.04 * be_random_normal(&random);
    char line[96];
    double t = 0.002 * (double)i, x = 0.0005 * (double)i;
    if (form == FORM_QUOTED)
      snprintf(line, sizeof line, "\"%.3f\",\"%.3f\",\"%.4f\"\r\n", t, force, x);
    else if (form == FORM_SPACES)
      snprintf(line, sizeof line, " %9.3f  %8.3f %10.4f\n", t, force, x);
    else if (form == FORM_MIXED && i % 7 == 3)
      snprintf(line, sizeof line, "\"%.3f\", %.3f ,%.4f\n", t, force, x);
    else
      snprintf(line, sizeof line, form == FORM_COMMA ? "%.3f;%.3f;%.4f\n" : "%.3f,%.3f,%.4f\n", t,
               force, x);
    for (char *p = line; form == FORM_COMMA && *p; p++)
      if (*p == '.') *p = ',';
    be_buf_text(&text->buf, line);
  }
  assert_int_equal(be_buf_status(&text->buf, NULL), BE_OK);
}

static void assert_same_numbers(const double *a, const double *b, size_t n)
{
  assert_true((a == NULL) == (b == NULL));
  if (a) assert_memory_equal(a, b, n * sizeof *a);
}

static void assert_same_trace(const struct be_trace *a, const struct be_trace *b)
{
  assert_int_equal(a->n, b->n);
  assert_int_equal(a->rows, b->rows);
  assert_same_numbers(a->force_N, b->force_N, a->n);
  assert_same_numbers(a->time_s, b->time_s, a->n);
  assert_same_numbers(a->extension_m, b->extension_m, a->n);
  assert_memory_equal(a->line, b->line, a->n * sizeof *a->line);
  assert_int_equal(a->decimals, b->decimals);
  assert_memory_equal(&a->as_written, &b->as_written, sizeof a->as_written);
  assert_int_equal(a->whole != NULL, b->whole != NULL);
  if (!a->whole) return;
  assert_memory_equal(a->whole->side, b->whole->side, sizeof a->whole->side);
  assert_int_equal(a->whole->triples, b->whole->triples);
  assert_memory_equal(a->whole->triple, b->whole->triple,
                      a->whole->triples * sizeof a->whole->triple[0]);
}

static struct be_trace_file *read_threads(const struct be_buf *buf, unsigned threads)
{
  struct be_trace_options options = {.threads = threads};
  return read_with(buf->data, buf->size, &options);
}

/* ---- every row ---- */

static void every_number_equals_strtod(void **state)
{
  (void)state;
  struct long_text text;
  write_long(&text, 100003, FORM_PLAIN);
  struct be_trace_file *file = read_threads(&text.buf, 3);
  const struct be_trace *trace = &file->tests[0];
  char *p = strchr(text.buf.data, '\n') + 1;
  assert_int_equal(file->count, 1);
  assert_int_equal(trace->n, text.rows);
  assert_null(trace->whole);
  for (size_t i = 0; i < trace->n; i++) {
    double row[3];
    for (int c = 0; c < 3; c++) row[c] = strtod(p, &p), p++;
    double x = row[2] * be_unit_find("mm", 2)->factor;
    if (memcmp(&row[0], &trace->time_s[i], sizeof x) ||
        memcmp(&row[1], &trace->force_N[i], sizeof x) ||
        memcmp(&x, &trace->extension_m[i], sizeof x) || trace->line[i] != i + 2)
      fail_msg("row %zu", i);
  }
  assert_int_equal(trace->decimals, 3);
  assert_int_equal(trace->extension_decimals, 4);
  be_trace_file_free(file);
  be_buf_free(&text.buf);
}

static void every_form_gives_the_same_bits(void **state)
{
  (void)state;
  struct be_trace_file *first = NULL;
  for (enum form form = FORM_PLAIN; form < FORMS; form++) {
    struct long_text text;
    write_long(&text, 40009, form);
    struct be_trace_file *file = read_threads(&text.buf, 0);
    assert_int_equal(file->count, 1);
    if (first) assert_same_trace(&first->tests[0], &file->tests[0]);
    if (first) be_trace_file_free(file);
    else first = file;
    be_buf_free(&text.buf);
  }
  be_trace_file_free(first);
}

/* Each byte becomes two, after a mark. */
static void widen(const struct be_buf *narrow, struct be_buf *wide, bool big)
{
  be_buf_init(wide, (size_t)1 << 30);
  be_buf_add(wide, big ? "\xFE\xFF" : "\xFF\xFE", 2);
  for (size_t i = 0; i < narrow->size; i++) {
    if (big) be_buf_char(wide, '\0');
    be_buf_char(wide, narrow->data[i]);
    if (!big) be_buf_char(wide, '\0');
  }
}

static void gzip(const struct be_buf *plain, struct be_buf *packed)
{
  uLong room = compressBound((uLong)plain->size) + 64;
  char *bytes = be_alloc(room);
  z_stream stream = {0};
  assert_int_equal(deflateInit2(&stream, 1, Z_DEFLATED, 15 + 16, 8, Z_DEFAULT_STRATEGY), Z_OK);
  stream.next_in = (Bytef *)plain->data;
  stream.avail_in = (uInt)plain->size;
  stream.next_out = (Bytef *)bytes;
  stream.avail_out = (uInt)room;
  assert_int_equal(deflate(&stream, Z_FINISH), Z_STREAM_END);
  be_buf_init(packed, room);
  be_buf_add(packed, bytes, room - stream.avail_out);
  deflateEnd(&stream);
  be_free(bytes);
}

static void codings_and_packing_give_the_same_bits(void **state)
{
  (void)state;
  struct long_text text;
  write_long(&text, 30011, FORM_PLAIN);
  struct be_trace_file *want = read_threads(&text.buf, 1);
  for (int way = 0; way < 3; way++) {
    struct be_buf other;
    if (way < 2) widen(&text.buf, &other, way);
    else gzip(&text.buf, &other);
    struct be_trace_file *file = read_threads(&other, 2);
    assert_same_trace(&want->tests[0], &file->tests[0]);
    be_trace_file_free(file);
    be_buf_free(&other);
  }
  be_trace_file_free(want);
  be_buf_free(&text.buf);
}

/* ---- thinned ---- */

/* What thinning must keep, worked out from all rows. */
static void a_thinned_trace_keeps_what_counts(void **state)
{
  (void)state;
  struct long_text text;
  const size_t rows = 3 * (size_t)BE_TRACE_KEPT_MAX + 4321;
  write_long(&text, rows, FORM_PLAIN);
  struct be_trace_file *file = read_threads(&text.buf, 2);
  const struct be_trace *trace = &file->tests[0];
  assert_int_equal(trace->rows, rows);
  assert_non_null(trace->whole);
  assert_true(trace->n <= BE_TRACE_KEPT_MAX && trace->n > BE_TRACE_KEPT_MAX / 8);
  const char *p = strchr(text.buf.data, '\n') + 1;
  double peak = -INFINITY, low = INFINITY, energy = 0, at_peak = NAN, force = 0, x = 0;
  size_t peak_line = 0;
  for (size_t i = 0; i < rows; i++) {
    char *q;
    double before = force, x_before = x;
    strtod(p, &q);
    force = strtod(q + 1, &q);
    x = strtod(q + 1, &q) * 1e-3;
    p = q + 1;
    if (i > 0) energy += (force + before) * (x - x_before);
    if (force > peak) peak = force, peak_line = i + 2, at_peak = energy;
    if (force < low) low = force;
  }
  size_t high_row = 0, low_row = 0;
  for (size_t i = 0; i < trace->n; i++) {
    if (trace->force_N[i] > trace->force_N[high_row]) high_row = i;
    if (trace->force_N[i] < trace->force_N[low_row]) low_row = i;
    if (i > 0) assert_true(trace->line[i] > trace->line[i - 1]);
  }
  assert_true(!(trace->force_N[high_row] < peak) && !(trace->force_N[high_row] > peak));
  assert_true(!(trace->force_N[low_row] < low) && !(trace->force_N[low_row] > low));
  assert_int_equal(trace->line[high_row], peak_line);
  assert_int_equal(trace->line[0], 2);
  assert_int_equal(trace->line[trace->n - 1], rows + 1);
  assert_near(trace->whole->side[0].twice_energy / at_peak, 1, 1e-9);
  assert_near(trace->whole->side[0].force[trace->whole->side[0].at], peak, 0);
  assert_int_equal(trace->whole->side[0].n, BE_BESIDE + 1 + BE_AFTER);
  be_trace_file_free(file);
  be_buf_free(&text.buf);
}

static void threads_do_not_change_a_bit(void **state)
{
  (void)state;
  struct long_text text;
  write_long(&text, BE_TRACE_KEPT_MAX + (size_t)BE_TRACE_KEPT_MAX / 2, FORM_MIXED);
  struct be_trace_file *one = read_threads(&text.buf, 1);
  for (unsigned threads = 2; threads <= 4; threads++) {
    struct be_trace_file *file = read_threads(&text.buf, threads);
    assert_same_trace(&one->tests[0], &file->tests[0]);
    be_trace_file_free(file);
  }
  be_trace_file_free(one);
  be_buf_free(&text.buf);
}

/* ---- several tests ---- */

/* Each test is `rows` long and starts at time 0, with a head or without. */
static void write_tests(struct be_buf *buf, size_t tests, size_t rows, bool heads)
{
  be_buf_init(buf, (size_t)1 << 30);
  if (!heads) be_buf_text(buf, "t (s),F (N)\n");
  for (size_t k = 0; k < tests; k++) {
    if (heads) be_buf_format(buf, "specimen %zu\nt (s),F (N)\n", k + 1);
    for (size_t i = 0; i < rows; i++)
      be_buf_format(buf, "%.2f,%.1f\n", 0.01 * (double)i,
                    (double)k + 0.1 * (double)(i < rows - 3 ? i : 0));
  }
  assert_int_equal(be_buf_status(buf, NULL), BE_OK);
}

static void assert_tests(const struct be_trace_file *file, size_t tests, size_t rows, bool heads)
{
  assert_int_equal(file->count, tests);
  for (size_t k = 0; k < tests; k++) {
    const struct be_trace *trace = &file->tests[k];
    char title[32];
    snprintf(title, sizeof title, "specimen %zu", k + 1);
    assert_int_equal(trace->rows, rows);
    assert_string_equal(trace->title, heads ? title : "");
    assert_near(trace->force_N[0], (double)k, 0);
    size_t line = heads ? k * (rows + 2) + 3 : k * rows + 2;
    assert_int_equal(trace->line[0], line);
  }
}

static void many_tests_are_parted_wherever_the_text_is_cut(void **state)
{
  (void)state;
  for (int heads = 0; heads < 2; heads++)
    for (size_t rows = 40; rows < 100000; rows *= 9) {
      struct be_buf buf;
      size_t tests = 700000 / rows + 2;
      if (tests > 3000) tests = 3000;
      write_tests(&buf, tests, rows, heads);
      for (unsigned threads = 1; threads <= 3; threads += 2) {
        struct be_trace_file *file = read_threads(&buf, threads);
        assert_tests(file, tests, rows, heads);
        be_trace_file_free(file);
      }
      be_buf_free(&buf);
    }
}

static void the_longest_tests_are_thinned_first(void **state)
{
  (void)state;
  struct be_buf buf;
  be_buf_init(&buf, (size_t)1 << 30);
  const size_t rows[3] = {1000, 900000, 2000};
  for (size_t k = 0; k < 3; k++) {
    be_buf_format(&buf, "specimen %zu\nt (s),F (N)\n", k + 1);
    for (size_t i = 0; i < rows[k]; i++)
      be_buf_format(&buf, "%zu,%zu.5\n", i, i % 1000 + (i == 7 ? 5000 : 0));
  }
  struct be_trace_file *file = read_threads(&buf, 2);
  assert_int_equal(file->count, 3);
  for (size_t k = 0; k < 3; k++) assert_int_equal(file->tests[k].rows, rows[k]);
  assert_int_equal(file->tests[0].n, 1000);
  assert_int_equal(file->tests[2].n, 2000);
  assert_non_null(file->tests[1].whole);
  assert_near(file->tests[1].as_written.peak, 5007.5, 0);
  be_trace_file_free(file);
  be_buf_free(&buf);
}

/* ---- side by side ---- */

static void each_lane_is_a_test(void **state)
{
  (void)state;
  struct be_buf buf;
  be_buf_init(&buf, (size_t)1 << 30);
  be_buf_text(&buf, "t (s),F (N),t (s),F (N)\n");
  const size_t rows[2] = {30000, 70000};
  for (size_t i = 0; i < rows[1]; i++) {
    double t = 0.01 * (double)i;
    if (i < rows[0]) be_buf_format(&buf, "%.2f,%zu.5,", t, i % 700);
    else be_buf_text(&buf, ",,");
    /* The second lane starts again in its middle. */
    be_buf_format(&buf, "%.2f,%zu.25\n", i < 40000 ? t : t - 400, i % 900);
  }
  for (unsigned threads = 1; threads < 4; threads++) {
    struct be_trace_file *file = read_threads(&buf, threads);
    assert_int_equal(file->count, 3);
    assert_int_equal(file->tests[0].rows, 30000);
    assert_int_equal(file->tests[1].rows, 40000);
    assert_int_equal(file->tests[2].rows, 30000);
    assert_int_equal(file->tests[1].lane, 1);
    assert_int_equal(file->tests[2].lane, 1);
    assert_near(file->tests[0].force_N[699], 699.5, 0);
    assert_near(file->tests[1].force_N[899], 899.25, 0);
    assert_near(file->tests[2].time_s[1], 0.01, 1e-9);
    assert_int_equal(file->tests[2].line[0], 40002);
    be_trace_file_free(file);
  }
  be_buf_free(&buf);
}

/* ---- memory ---- */

static enum be_status read_it(void *buf, struct be_err *err)
{
  struct be_trace_options options = {.threads = 1};
  struct be_trace_file *file = NULL;
  const struct be_buf *text = buf;
  enum be_status status = be_trace_read_bytes(text->data, text->size, &options, &file, err);
  /* Arrays that could not be made smaller hold all the same. */
  if (status == BE_OK) {
    be_failing_relent();
    assert_true(file->count > 0 && file->tests[0].n > 0 && file->tests[0].layout);
  }
  be_trace_file_free(file);
  return status;
}

static void memory_may_fail_anywhere(void **state)
{
  (void)state;
  struct be_buf tests, wide;
  write_tests(&tests, 5, 60, true);
  be_fail_loop_bearing(read_it, &tests, 30);
  widen(&tests, &wide, true);
  be_fail_loop_bearing(read_it, &wide, 30);
  be_buf_free(&wide);
  be_buf_free(&tests);
}

/* Only blocks about as large as those that thinning needs are counted. */
static void memory_may_fail_while_thinning(void **state)
{
  (void)state;
  struct long_text text;
  bool failed = true;
  size_t refused = 0;
  write_long(&text, BE_TRACE_KEPT_MAX + 9000, FORM_PLAIN);
  for (size_t call = 1; failed; call++) {
    struct be_failing failing = {.at_least = 95000, .at_most = 140000};
    struct be_err err = {0};
    be_failing_start(&failing, call, false);
    enum be_status status = read_it(&text.buf, &err);
    be_failing_stop();
    failed = failing.failed > 0;
    assert_true(status == BE_OK || status == BE_NO_MEMORY);
    assert_int_equal(failing.blocks, 0);
    assert_int_equal(failing.broken, 0);
    refused += status == BE_NO_MEMORY;
  }
  assert_true(refused >= 5);
  be_buf_free(&text.buf);
}

/* ---- heads and lines ---- */

static void a_long_banner_is_passed_over(void **state)
{
  (void)state;
  struct be_buf buf;
  be_buf_init(&buf, (size_t)1 << 30);
  for (size_t i = 0; buf.size < 2u * BE_WINDOW; i++)
    be_buf_format(&buf, "remark %zu: wind, sun, \"and so on\"\n", i);
  size_t line = 0;
  for (size_t i = 0; i < buf.size; i++) line += buf.data[i] == '\n';
  be_buf_text(&buf, "t (s),F (N)\n0,1.5\n0.1,2.5\n0.2,9.75\n0.3,0\n");
  struct be_trace_file *file = read_threads(&buf, 2);
  assert_int_equal(file->tests[0].n, 4);
  assert_int_equal(file->tests[0].line[0], line + 2);
  assert_near(file->tests[0].as_written.peak, 9.75, 0);
  be_trace_file_free(file);
  be_buf_free(&buf);
}

static void fail_long(const struct be_buf *buf, size_t line, const char *what)
{
  struct be_trace_file *file = NULL;
  struct be_err err = {0};
  assert_int_equal(be_trace_read_bytes(buf->data, buf->size, NULL, &file, &err), BE_BAD_INPUT);
  assert_null(file);
  assert_non_null(strstr(err.what, what));
  assert_int_equal(err.line, line);
  assert_true(err.remedy[0]);
}

static void one_endless_line_is_refused(void **state)
{
  (void)state;
  struct be_buf buf;
  be_buf_init(&buf, (size_t)1 << 30);
  for (size_t i = 0; i < 3u * BE_WINDOW; i++) be_buf_char(&buf, "1,2;3 "[i % 6]);
  fail_long(&buf, 1, "longer than");
  be_buf_free(&buf);
  be_buf_init(&buf, (size_t)1 << 30);
  be_buf_text(&buf, "t (s),F (N)\n");
  for (size_t i = 0; i < 60000; i++) be_buf_format(&buf, "%zu,%zu\n", i, i % 9);
  for (size_t i = 0; i < 2u * BE_WINDOW; i++) be_buf_char(&buf, '7');
  fail_long(&buf, 60002, "longer than");
  be_buf_free(&buf);
}

static void errors_far_down_name_their_line(void **state)
{
  (void)state;
  struct be_buf buf;
  be_buf_init(&buf, (size_t)1 << 30);
  be_buf_text(&buf, "t (s),F (N)\n");
  for (size_t i = 0; i < 150000; i++)
    be_buf_format(&buf, i == 123456 ? "%zu,4.2x\n" : "%zu,4.25\n", i);
  fail_long(&buf, 123458, "\"4.2x\" in column 2");
  be_buf_free(&buf);
}

static void a_force_that_stops_half_way_is_refused(void **state)
{
  (void)state;
  struct be_buf buf;
  be_buf_init(&buf, (size_t)1 << 30);
  be_buf_text(&buf, "t (s),F (N),x (mm)\n");
  for (size_t i = 0; i < 100000; i++)
    be_buf_format(&buf, i < 30000 ? "%zu,4.25,1\n" : "%zu,,1\n", i);
  fail_long(&buf, 30002, "the force in column 2 stops: the last 70000 of 100000 rows have none");
  be_buf_free(&buf);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_number_equals_strtod),
      cmocka_unit_test(every_form_gives_the_same_bits),
      cmocka_unit_test(codings_and_packing_give_the_same_bits),
      cmocka_unit_test(a_thinned_trace_keeps_what_counts),
      cmocka_unit_test(threads_do_not_change_a_bit),
      cmocka_unit_test(many_tests_are_parted_wherever_the_text_is_cut),
      cmocka_unit_test(the_longest_tests_are_thinned_first),
      cmocka_unit_test(each_lane_is_a_test),
      cmocka_unit_test(memory_may_fail_anywhere),
      cmocka_unit_test(memory_may_fail_while_thinning),
      cmocka_unit_test(a_long_banner_is_passed_over),
      cmocka_unit_test(one_endless_line_is_refused),
      cmocka_unit_test(errors_far_down_name_their_line),
      cmocka_unit_test(a_force_that_stops_half_way_is_refused),
  };
  return be_tests("trace: long", tests);
}
