/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The zero before the pull, from its slack start, and the zero after it. */
#include "trace/events/events.h"

#include <math.h>

enum { FLAT_ROWS = 5, FLAT_MOST = 25 };

/* Flat within noise: both halves have the same mean, and no reading strays.
 * Three deviations of the difference of two means; five for single readings. */
static bool is_flat(const double *x, size_t n, double noise)
{
  size_t half = n / 2;
  double mean = be_mean(x, n);
  double drift = be_mean(x + n - half, half) - be_mean(x, half);
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
  double sum = be_mean(x, n) * (double)n;
  for (; n < peak; n++) {
    double mean = sum / (double)n;
    if (fabs(x[n] - mean) > 4 * noise && fabs(x[n + 1] - mean) > 4 * noise) break;
    sum += x[n];
  }
  size_t kept = n - n / 5;
  return kept < FLAT_ROWS ? FLAT_ROWS : kept;
}

void be_zero_find(const struct be_pull *pull, struct be_trace_events *events)
{
  const struct be_trace *trace = pull->trace;
  size_t slack = slack_rows(trace, events->peak_row, pull->noise_N);
  if (slack) events->zero_N = be_mean(trace->force_N, slack);
  /* A slack as high as the peak is a record without a pull. */
  if (slack && !(events->peak_N - events->zero_N > 10 * pull->noise_N)) events->zero_N = NAN;
  if (!isnan(events->zero_N)) events->slack = (struct be_rows){0, slack - 1};
  events->rise_N = isnan(events->zero_N) ? events->peak_N : events->peak_N - events->zero_N;
}

/* The last quarter of what follows the end; 0 rows if that is too few. */
static size_t tail_rows(const struct be_trace *trace, const struct be_trace_events *events)
{
  size_t left = trace->n - events->end_row, rows = left / 4 < FLAT_ROWS ? FLAT_ROWS : left / 4;
  if (events->end_row == trace->n || events->ending == BE_ENDED_PARTLY ||
      events->ending == BE_ENDED_UNSEEN)
    return 0;
  return rows > left ? 0 : rows;
}

/* The flat end after the load let go; a slow creep of it is allowed. */
void be_zero_after_find(const struct be_pull *pull, struct be_trace_events *events)
{
  const struct be_trace *trace = pull->trace;
  double zero = isnan(events->zero_N) ? 0 : events->zero_N;
  size_t rows = tail_rows(trace, events);
  if (rows == 0) return;
  const double *tail = trace->force_N + trace->n - rows;
  double mean = be_mean(tail, rows);
  double creep = be_mean(tail + rows - rows / 2, rows / 2) - be_mean(tail, rows / 2);
  if (mean - zero > 0.2 * events->rise_N) return;
  if (fabs(creep) > fmax(3 * pull->noise_N, 0.02 * events->rise_N)) return;
  events->zero_after_N = mean;
  events->tail = (struct be_rows){trace->n - rows, trace->n - 1};
}
