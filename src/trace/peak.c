/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A flat top: the rows around the peak that cannot be told from it. */
#include "trace/inside.h"

#include <math.h>

/* Rows belong to the top while the smoothed load is within four deviations of
 * a reading below the peak: the highest of some hundred equal readings lies two
 * to three above their mean. Three equal readings are a top without noise. */
static const double top_noise = 4;
enum { EQUAL_ROWS = 3, FLAT_TOP_ROWS = 8 };

/* Both halves have the same mean: three deviations of their difference. Of a
 * mean of smoothed rows that is about 5 % more than of plain ones. */
static bool is_level(const double *x, size_t n, double noise)
{
  size_t half = n / 2;
  double drift = be_mean(x + n - half, half) - be_mean(x, half);
  return fabs(drift) <= 3 * 1.05 * noise * sqrt(2.0 / (double)half);
}

static struct be_rows rows_above(const double *x, size_t n, size_t peak, double level)
{
  struct be_rows rows = {peak, peak};
  while (rows.first > 0 && x[rows.first - 1] >= level) rows.first--;
  while (rows.last + 1 < n && x[rows.last + 1] >= level) rows.last++;
  return rows;
}

void be_plateau_find(const struct be_pull *pull, struct be_trace_events *events)
{
  const struct be_trace *trace = pull->trace;
  size_t peak = events->peak_row;
  if (!(events->rise_N > 10 * events->noise_N) || events->rise_N <= 0) return;
  struct be_rows rows = rows_above(trace->force_N, trace->n, peak, events->peak_N);
  bool equal = rows.last - rows.first + 1 >= EQUAL_ROWS;
  if (equal) events->plateau = rows;
  if (!(events->noise_N > 0)) return;
  rows = rows_above(pull->smooth, trace->n, peak, events->peak_N - top_noise * events->noise_N);
  size_t count = rows.last - rows.first + 1;
  if (count < FLAT_TOP_ROWS) return;
  if (is_level(pull->smooth + rows.first, count, events->noise_N)) events->plateau = rows;
}
