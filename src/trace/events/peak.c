/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A flat top: the rows around the peak that cannot be told from it. */
#include "trace/events/events.h"

#include <math.h>

/* Rows belong to the top while the smoothed load is within six deviations of a
 * reading below the peak: the highest of a thousand equal readings lies three
 * above their mean, and their smoothed load as far below it. Three equal readings are
 * a top without noise. */
static const double top_noise = 6;
enum { EQUAL_ROWS = 3, FLAT_TOP_ROWS = 12 };

/* Neither its halves differ, which is a slope, nor its middle third from the
 * outer ones, which is a tip: three deviations of either difference. Means of
 * smoothed rows scatter about 5 % more than of plain ones. */
static bool is_level(const double *x, size_t n, double noise)
{
  size_t half = n / 2, third = n / 3;
  double drift = be_mean(x + n - half, half) - be_mean(x, half);
  double outer = (be_mean(x, third) + be_mean(x + n - third, third)) / 2;
  double tip = be_mean(x + third, n - 2 * third) - outer;
  double three = 3 * 1.05 * noise;
  return fabs(drift) <= three * sqrt(2.0 / (double)half) &&
         fabs(tip) <= three * sqrt(1.5 / (double)third);
}

static struct be_rows rows_above(const double *x, size_t n, size_t peak, double level)
{
  struct be_rows rows = {peak, peak};
  while (rows.first > 0 && x[rows.first - 1] >= level) rows.first--;
  while (rows.last + 1 < n && x[rows.last + 1] >= level) rows.last++;
  return rows;
}

/* Cuts a fortieth off the lower end, never the peak, until what is left is level;
 * none if that leaves fewer rows than `least`. */
static struct be_rows trim(const double *x, struct be_rows rows, size_t peak, double noise,
                           size_t least)
{
  while (rows.last - rows.first + 1 >= least) {
    size_t n = rows.last - rows.first + 1, tenth = n / 10 + 1, cut = n / 40 + 1;
    if (is_level(x + rows.first, n, noise)) return rows;
    bool left = be_mean(x + rows.first, tenth) < be_mean(x + rows.last + 1 - tenth, tenth);
    if (left && rows.first + cut > peak) left = false;
    if (!left && rows.last < peak + cut) break;
    if (left) rows.first += cut;
    else rows.last -= cut;
  }
  return be_no_rows();
}

void be_plateau_find(const struct be_pull *pull, struct be_trace_events *events)
{
  const struct be_trace *trace = pull->trace;
  size_t peak = events->peak_row;
  double noise = pull->noise_N;
  if (!(events->rise_N > 10 * noise) || events->rise_N <= 0) return;
  struct be_rows rows = rows_above(trace->force_N, trace->n, peak, events->peak_N);
  if (rows.last - rows.first + 1 >= EQUAL_ROWS) events->plateau = rows;
  if (!(noise > 0)) return;
  rows = rows_above(pull->smooth, trace->n, peak, events->peak_N - top_noise * noise);
  /* The end of a rise at the pull's own pace must not look level: three times
   * the rows that it takes for what the noise hides. */
  double pace = events->rise_N / (double)(peak + 1), least = 3 * top_noise * noise / pace;
  if (least > (double)trace->n) return;
  size_t rows_least = (size_t)least < FLAT_TOP_ROWS ? FLAT_TOP_ROWS : (size_t)least;
  rows = trim(pull->smooth, rows, peak, noise, rows_least);
  if (be_rows_any(rows)) events->plateau = rows;
}
