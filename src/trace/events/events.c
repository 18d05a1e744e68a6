/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What happened in one pull: asks each part in the order in which they need
 * one another, and works out the energy. */
#include "trace/events/events.h"
#include "trace/rows/rows.h"

#include <math.h>
#include <string.h>

static void clear(struct be_trace_events *events)
{
  const double nan = NAN;
  memset(events, 0, sizeof *events);
  events->zero_N = events->zero_after_N = events->missed_N = events->lag_N = nan;
  events->time_to_peak_s = events->time_to_break_s = events->rate_N_per_s = nan;
  events->rate_per_s = events->stiffness_N_per_m = events->foot_m = nan;
  events->extension_at_peak_m = events->elastic_J = events->written_N = events->lowest_N = nan;
  events->resolution_N = events->device_peak_N = events->device_more = nan;
  events->slack = events->tail = events->plateau = events->stiffness = be_no_rows();
  for (int i = 0; i < BE_TRACE_FLAGS; i++) events->flag_rows[i] = be_no_rows();
}

/* The highest reading, the first of equals; returns how many are equal. */
static size_t find_peak(const struct be_trace *trace, struct be_trace_events *events)
{
  const double *x = trace->force_N;
  size_t peak = 0, ties = 1;
  double most = x[0];
  for (size_t i = 1; i < trace->n; i++) {
    if (x[i] < most) continue;
    if (x[i] > most) most = x[i], peak = i, ties = 0;
    ties++;
  }
  events->peak_row = peak;
  events->peak_N = most;
  return ties;
}

/* The trapezoid rule; rows without an extension leave nothing to say. */
static double energy_of(const struct be_trace *trace, size_t peak)
{
  const double *x = trace->extension_m, *f = trace->force_N;
  double twice = 0;
  if (!x || peak == 0) return NAN;
  if (trace->whole) return trace->whole->side[0].twice_energy / 2;
  for (size_t i = 1; i <= peak; i++) twice += (f[i] + f[i - 1]) * (x[i] - x[i - 1]);
  return twice / 2;
}

static void find(struct be_pull *pull, double step, struct be_trace_events *events)
{
  be_zero_find(pull, events);
  pull->zero_N = isnan(events->zero_N) ? 0 : events->zero_N;
  be_plateau_find(pull, events);
  be_ending_find(pull, events);
  be_zero_after_find(pull, events);
  be_slips_find(pull, events);
  be_stages_find(pull, events);
  be_slopes_find(pull, events);
  events->energy_J = energy_of(pull->trace, events->peak_row);
  be_trust_find(pull, step, events);
  be_flags_find(pull, events);
  be_suggest(pull, events);
}

enum be_status be_trace_find_with(const struct be_trace *trace, const struct be_trace_known *known,
                                  struct be_trace_events *events, struct be_err *err)
{
  static const struct be_trace_known nothing;
  clear(events);
  if (trace->n == 0) return be_fail(err, BE_BAD_INPUT, "the trace has no rows");
  if (trace->n > BE_TRACE_ROWS_MAX)
    return be_fail(err, BE_TOO_LARGE, "the trace has more than %d rows", BE_TRACE_ROWS_MAX);
  double *smooth = be_alloc(trace->n * sizeof *smooth);
  /* A short test may have been thinned to fewer rows than it has triples. */
  size_t triples = trace->whole ? trace->whole->triples : 0;
  double *scratch = be_alloc((trace->n > triples ? trace->n : triples) * sizeof *scratch);
  enum be_status status = BE_OK;
  if (!smooth || !scratch) {
    status = be_fail(err, BE_NO_MEMORY, "no memory to look at %zu rows", trace->n);
    goto done;
  }
  double step = 0;
  struct be_pull pull = {
      .trace = trace, .known = known ? known : &nothing, .smooth = smooth, .scratch = scratch};
  pull.ties = find_peak(trace, events);
  if (trace->whole) {
    /* The kept rows are lows and highs in turn, which a median would swap. */
    memcpy(smooth, trace->force_N, trace->n * sizeof *smooth);
    events->noise_N = be_noise_of_triples(&trace->whole->triple[0][0], triples, scratch, &step);
    pull.noise_N = events->noise_N * be_noise_reach(2 * (double)trace->whole->bucket, 1);
  } else {
    be_smooth(trace->force_N, trace->n, smooth);
    pull.noise_N = events->noise_N = be_noise(trace->force_N, trace->n, scratch, &step);
  }
  find(&pull, step, events);
done:
  be_free(smooth);
  be_free(scratch);
  return status;
}

enum be_status be_trace_find(const struct be_trace *trace, struct be_trace_events *events,
                             struct be_err *err)
{
  return be_trace_find_with(trace, NULL, events, err);
}
