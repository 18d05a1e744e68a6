/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Feeds any bytes to the trace reader and whatever it reads to the events. One
 * thread, three threads and packed bytes must give the same. Build with clang
 * -fsanitize=fuzzer,address,undefined; with -I tests/fuzz/small before -I src
 * small inputs go through many windows and are thinned. The first byte chooses
 * the options, so that those paths are reached too. */
#include "trace/trace.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <zlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void look(const struct be_trace *trace)
{
  struct be_trace_events events;
  assert(trace->n > 0 && trace->force_N && trace->line);
  assert(trace->rows >= trace->n && (trace->rows == trace->n || trace->whole));
  if (be_trace_find(trace, &events, NULL) != BE_OK) abort();
  assert(events.peak_row < trace->n && events.end_row <= trace->n);
  assert(events.slips_count + events.slips_after <= BE_SLIPS_MAX);
  assert(events.stages_count <= BE_STAGES_MAX && events.stages_count != 1);
  assert(events.end_row == trace->n || events.end_low_row + 1 >= events.end_row);
  assert(events.suggestion.evidence[0] && events.onset_row <= events.peak_row);
  for (int i = 0; i < BE_TRACE_FLAGS; i++)
    assert(events.flags[i] == be_rows_any(events.flag_rows[i]) &&
           (!events.flags[i] || events.flag_rows[i].last < trace->n));
  for (size_t i = 0; i < events.slips_count + events.slips_after; i++)
    assert(events.slips[i].from_row < events.slips[i].to_row && events.slips[i].to_row < trace->n &&
           events.slips[i].from_N > events.slips[i].to_N);
  for (size_t i = 0; i < events.slips_count; i++)
    assert(events.slips[i].from_row < events.slips[i].to_row &&
           events.slips[i].to_row <= events.peak_row);
  for (size_t i = 1; i < trace->n; i++) assert(trace->line[i] > trace->line[i - 1]);
  assert(isnan(events.rise_N) || events.noise_N >= 0);
}

/* ---- the same again ---- */

struct outcome {
  enum be_status status;
  struct be_trace_file *file;
  struct be_err err;
};

static struct outcome read_it(const void *bytes, size_t size, struct be_trace_options options,
                              unsigned threads)
{
  struct outcome outcome = {.file = NULL};
  options.threads = threads;
  outcome.status = be_trace_read_bytes(bytes, size, &options, &outcome.file, &outcome.err);
  return outcome;
}

static void same_numbers(const double *a, const double *b, size_t n)
{
  assert((a == NULL) == (b == NULL));
  assert(!a || memcmp(a, b, n * sizeof *a) == 0);
}

static void same_trace(const struct be_trace *a, const struct be_trace *b)
{
  assert(a->n == b->n && a->rows == b->rows && a->lane == b->lane);
  same_numbers(a->force_N, b->force_N, a->n);
  same_numbers(a->time_s, b->time_s, a->n);
  same_numbers(a->extension_m, b->extension_m, a->n);
  assert(memcmp(a->line, b->line, a->n * sizeof *a->line) == 0);
  assert(memcmp(&a->as_written, &b->as_written, sizeof a->as_written) == 0);
  assert(strcmp(a->title, b->title) == 0 && a->continues == b->continues);
  assert(a->decimals == b->decimals && a->time_decimals == b->time_decimals);
  assert(a->extension_decimals == b->extension_decimals);
  assert(a->skipped_rows == b->skipped_rows && a->over_rows == b->over_rows);
  assert(!a->whole == !b->whole && a->layout->sign == b->layout->sign);
  assert(a->layout->header_lines == b->layout->header_lines);
}

/* A line in an older coding grows as it is recoded: whether it then is longer than
 * the window may depend on when its coding was seen (docs/formats.md). */
static bool is_long_line(const struct outcome *outcome)
{
  return outcome->status == BE_BAD_INPUT && strstr(outcome->err.what, "this line is longer than");
}

static void same_outcome(const struct outcome *a, const struct outcome *b)
{
  if (is_long_line(a) != is_long_line(b)) return;
  if (a->status != b->status || strcmp(a->err.what, b->err.what) != 0)
    fprintf(stderr, "%zu: %s\n%zu: %s\n", a->err.line, a->err.what, b->err.line, b->err.what);
  assert(a->status == b->status);
  if (a->status != BE_OK)
    assert(strcmp(a->err.what, b->err.what) == 0 && a->err.line == b->err.line &&
           a->err.column == b->err.column);
  else assert(a->file->count == b->file->count);
  for (size_t k = 0; a->status == BE_OK && k < a->file->count; k++)
    same_trace(&a->file->tests[k], &b->file->tests[k]);
}

/* Two members of a gzip file, one after another. */
static size_t pack(const uint8_t *bytes, size_t size, uint8_t *packed, size_t room)
{
  size_t made = 0, half = size / 2;
  for (int part = 0; part < 2; part++) {
    z_stream stream = {.next_in = (Bytef *)(uintptr_t)(bytes + (part ? half : 0)),
                       .avail_in = (uInt)(part ? size - half : half),
                       .next_out = packed + made,
                       .avail_out = (uInt)(room - made)};
    int result = deflateInit2(&stream, 1, Z_DEFLATED, 15 + 16, 1, Z_DEFAULT_STRATEGY);
    if (result == Z_OK) result = deflate(&stream, Z_FINISH);
    deflateEnd(&stream);
    if (result != Z_STREAM_END) abort();
    made = room - stream.avail_out;
  }
  return made;
}

static void compare_packed(const uint8_t *bytes, size_t size, struct be_trace_options options,
                           const struct outcome *plain)
{
  size_t room = 2 * size + 256;
  uint8_t *packed = malloc(room);
  if (!packed) abort();
  struct outcome again = read_it(packed, pack(bytes, size, packed, room), options, 1);
  same_outcome(plain, &again);
  be_trace_file_free(again.file);
  free(packed);
}

static bool is_packed(const uint8_t *bytes, size_t size)
{
  return (size >= 3 && memcmp(bytes, "\x1F\x8B\x08", 3) == 0) ||
         (size >= 4 && memcmp(bytes, "\x28\xB5\x2F\xFD", 4) == 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  struct be_trace_options options = {0};
  if (size == 0) return 0;
  if (data[0] & 32) {
    if (data[0] & 1) options.decimal = ',';
    if (data[0] & 2) options.force_column = 1 + (data[0] >> 6);
    if (data[0] & 4) options.rate_Hz = 80;
    if (data[0] & 8) options.sign = -1;
    if (data[0] & 16) options.force_unit = be_unit_find("kg", 2);
  }
  struct outcome one = read_it(data + 1, size - 1, options, 1);
  struct outcome three = read_it(data + 1, size - 1, options, 3);
  same_outcome(&one, &three);
  be_trace_file_free(three.file);
  if (data[0] & 64 && !is_packed(data + 1, size - 1))
    compare_packed(data + 1, size - 1, options, &one);
  if (one.status != BE_OK) assert(!one.file && one.err.status == one.status && one.err.what[0]);
  for (size_t k = 0; one.file && k < one.file->count; k++) look(&one.file->tests[k]);
  be_trace_file_free(one.file);
  return 0;
}
