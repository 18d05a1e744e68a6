/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What happened in one pull: the peak, the zeros, the slopes and the energy. */
#include "trace/inside.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum { FLAT_ROWS = 5, FLAT_MOST = 25 };

/* ---- zeros ---- */

static double mean_of(const double *x, size_t n)
{
  double sum = 0;
  for (size_t i = 0; i < n; i++) sum += x[i];
  return sum / (double)n;
}

/* Flat within noise: both halves have the same mean, and no reading strays.
 * Three deviations of the difference of two means; five for single readings. */
static bool is_flat(const double *x, size_t n, double noise)
{
  size_t half = n / 2;
  double mean = mean_of(x, n);
  double drift = mean_of(x + n - half, half) - mean_of(x, half);
  if (fabs(drift) > 3 * noise * sqrt(2.0 / (double)half)) return false;
  for (size_t i = 0; i < n; i++)
    if (fabs(x[i] - mean) > 5 * noise) return false;
  return true;
}

/* Rows of slack at the start: a flat front, grown until two rows in turn leave
 * it, less its last fifth, which may hold the foot of the rise. */
static size_t slack_rows(const struct be_trace *trace, size_t peak, double noise)
{
  const double *x = trace->force_N;
  size_t n = peak / 10;
  n = n < FLAT_ROWS ? FLAT_ROWS : n > FLAT_MOST ? FLAT_MOST : n;
  if (n > peak) return 0;
  while (n > FLAT_ROWS && !is_flat(x, n, noise)) n = n / 2 < FLAT_ROWS ? FLAT_ROWS : n / 2;
  if (!is_flat(x, n, noise)) return 0;
  double sum = mean_of(x, n) * (double)n;
  for (; n < peak; n++) {
    double mean = sum / (double)n;
    if (fabs(x[n] - mean) > 4 * noise && fabs(x[n + 1] - mean) > 4 * noise) break;
    sum += x[n];
  }
  size_t kept = n - n / 5;
  return kept < FLAT_ROWS ? FLAT_ROWS : kept;
}

static void find_zero(const struct be_trace *trace, struct be_trace_events *events)
{
  size_t slack = slack_rows(trace, events->peak_row, events->noise_N);
  if (slack) events->zero_N = mean_of(trace->force_N, slack);
  /* A slack as high as the peak is a record without a pull. */
  if (slack && !(events->peak_N - events->zero_N > 10 * events->noise_N)) events->zero_N = NAN;
  events->rise_N = isnan(events->zero_N) ? events->peak_N : events->peak_N - events->zero_N;
}

/* Deviation about the fitted line: what stays of a smoothed slack is the slow
 * wander that neighbouring rows do not show. */
static double wander_of(const double *x, size_t n)
{
  double mean = mean_of(x, n), middle = ((double)n - 1) / 2, product = 0, square = 0, sum = 0;
  for (size_t i = 0; i < n; i++) {
    product += ((double)i - middle) * (x[i] - mean);
    square += ((double)i - middle) * ((double)i - middle);
  }
  double slope = square > 0 ? product / square : 0;
  for (size_t i = 0; i < n; i++) {
    double rest = x[i] - mean - slope * ((double)i - middle);
    sum += rest * rest;
  }
  return sqrt(sum / (double)n);
}

/* The last quarter of what follows the end; 0 rows if that is too few. */
static size_t tail_rows(const struct be_trace *trace, const struct be_trace_events *events)
{
  size_t left = trace->n - events->end_row, rows = left / 4 < FLAT_ROWS ? FLAT_ROWS : left / 4;
  if (events->ending != BE_ENDED_BROKE && events->ending != BE_ENDED_FADED) return 0;
  return rows > left ? 0 : rows;
}

/* The flat end after the load let go; a slow creep of it is allowed. */
static void find_zero_after(const struct be_trace *trace, struct be_trace_events *events)
{
  double zero = isnan(events->zero_N) ? 0 : events->zero_N;
  size_t rows = tail_rows(trace, events);
  if (rows == 0) return;
  const double *tail = trace->force_N + trace->n - rows;
  double mean = mean_of(tail, rows);
  double creep = mean_of(tail + rows - rows / 2, rows / 2) - mean_of(tail, rows / 2);
  if (mean - zero > 0.2 * events->rise_N) return;
  if (fabs(creep) > fmax(3 * events->noise_N, 0.02 * events->rise_N)) return;
  events->zero_after_N = mean;
}

/* ---- all ---- */

static void find_peak(const struct be_trace *trace, struct be_trace_events *events)
{
  for (size_t i = 1; i < trace->n; i++)
    if (trace->force_N[i] > trace->force_N[events->peak_row]) events->peak_row = i;
  events->peak_N = trace->force_N[events->peak_row];
}

/* The trapezoid rule; rows without an extension leave nothing to say. */
static double energy_of(const struct be_trace *trace, size_t peak)
{
  const double *x = trace->extension_m, *f = trace->force_N;
  double twice = 0;
  if (!x || peak == 0) return NAN;
  for (size_t i = 1; i <= peak; i++) twice += (f[i] + f[i - 1]) * (x[i] - x[i - 1]);
  return twice / 2;
}

enum be_status be_trace_find(const struct be_trace *trace, struct be_trace_events *events,
                             struct be_err *err)
{
  const double nan = NAN;
  memset(events, 0, sizeof *events);
  events->zero_N = events->zero_after_N = events->time_to_peak_s = nan;
  events->rate_N_per_s = events->stiffness_N_per_m = events->missed_N = nan;
  if (trace->n == 0) return be_fail(err, BE_BAD_INPUT, "the trace has no rows");
  double *smooth = be_alloc_array(trace->n, sizeof *smooth);
  double *scratch = be_alloc_array(trace->n, sizeof *scratch);
  enum be_status status = BE_OK;
  if (!smooth || !scratch) {
    status = be_fail(err, BE_NO_MEMORY, "no memory to look at %zu rows", trace->n);
    goto done;
  }
  be_smooth(trace->force_N, trace->n, smooth);
  find_peak(trace, events);
  events->noise_N = be_noise(trace->force_N, trace->n, scratch);
  find_zero(trace, events);
  struct be_pull pull = {trace, smooth, scratch, isnan(events->zero_N) ? 0 : events->zero_N, 0};
  be_ending_find(&pull, events);
  find_zero_after(trace, events);
  if (!isnan(events->zero_after_N)) {
    size_t rows = tail_rows(trace, events);
    pull.wander_N = wander_of(smooth + trace->n - rows, rows);
  }
  be_slips_find(&pull, events);
  be_slopes_find(&pull, events);
  events->energy_J = energy_of(trace, events->peak_row);
  be_flags_find(trace, events);
done:
  be_free(smooth);
  be_free(scratch);
  return status;
}
