/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Feeds any bytes to the trace reader and whatever it reads to the events.
 * Build with clang -fsanitize=fuzzer,address,undefined. The first byte chooses
 * the options, so that those paths are reached too. */
#include "trace/trace.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void look(const struct be_trace *trace)
{
  struct be_trace_events events;
  assert(trace->n > 0 && trace->force_N && trace->line);
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

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  struct be_trace_options options = {0};
  struct be_trace_file *file = NULL;
  struct be_err err = {0};
  if (size == 0) return 0;
  if (data[0] & 1) options.decimal = ',';
  if (data[0] & 2) options.force_column = 1 + (data[0] >> 6);
  if (data[0] & 4) options.rate_Hz = 80;
  if (data[0] & 8) options.sign = -1;
  if (data[0] & 16) options.force_unit = be_unit_find("kg", 2);
  enum be_status status = be_trace_read_bytes((const char *)data + 1, size - 1,
                                              data[0] & 32 ? &options : NULL, &file, &err);
  if (status != BE_OK) {
    assert(!file && err.status == status && err.what[0]);
    return 0;
  }
  for (size_t k = 0; k < file->count; k++) look(&file->tests[k]);
  be_trace_file_free(file);
  return 0;
}
