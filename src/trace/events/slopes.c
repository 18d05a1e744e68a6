/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How fast and how stiffly the load rose, and what the sampling may have
 * missed at the top. */
#include "trace/events/events.h"

#include <math.h>
#include <string.h>

/* ---- levels ---- */

/* The last row before `to` at or below level; to if none is. */
static size_t last_below(const double *x, size_t to, double level)
{
  for (size_t i = to; i > 0; i--)
    if (x[i - 1] <= level) return i - 1;
  return to;
}

static size_t first_above(const double *x, size_t from, size_t to, double level)
{
  while (from < to && x[from] < level) from++;
  return from;
}

/* Where between rows i and i + 1 the load crosses level, in units of y. */
static double crossing(const double *x, const double *y, size_t i, double level)
{
  double step = x[i + 1] - x[i];
  return step > 0 ? y[i] + (y[i + 1] - y[i]) * (level - x[i]) / step : y[i];
}

/* ---- rate and time ---- */

static double rate_of(const struct be_pull *pull, const struct be_trace_events *events)
{
  const double *x = pull->smooth, *t = pull->trace->time_s;
  double low = pull->zero_N + 0.2 * events->rise_N, high = pull->zero_N + 0.8 * events->rise_N;
  size_t from = last_below(x, events->peak_row, low);
  if (from == events->peak_row) return NAN;
  size_t to = first_above(x, from + 1, events->peak_row, high);
  double dt = crossing(x, t, to - 1, high) - crossing(x, t, from, low);
  return dt > 0 ? (high - low) / dt : NAN;
}

/* The first rise out of the noise: the row before the first that lies, with its
 * neighbour, five deviations above the zero. Without a zero, the first row is
 * where the record starts. */
static size_t onset_of(const struct be_pull *pull, const struct be_trace_events *events)
{
  const double *x = pull->smooth;
  double level = pull->zero_N + 5 * pull->noise_N;
  size_t i = 0;
  while (i < events->peak_row && !(x[i] > level && x[i + 1] > level)) i++;
  return i > 0 ? i - 1 : 0;
}

/* ---- stiffness ---- */

/* Slope by a resistant line: the medians of the first and last thirds (Tukey,
 * "Exploratory Data Analysis", 1977, chapter 5). Windows too short for thirds
 * give their end points. */
static double line_slope(const double *x, const double *y, size_t n, double *scratch)
{
  size_t third = n / 3;
  if (third < 2) return (y[n - 1] - y[0]) / (x[n - 1] - x[0]);
  double at[4];
  const double *parts[4] = {x, x + n - third, y, y + n - third};
  for (int k = 0; k < 4; k++) {
    memcpy(scratch, parts[k], third * sizeof *scratch);
    at[k] = be_median(scratch, third);
  }
  return (at[3] - at[2]) / (at[1] - at[0]);
}

struct secant {
  double slope;
  struct be_rows rows;
};

/* The steepest of the slopes over windows a tenth of the rise high, or ten
 * times the noise, a fortieth of the rise apart: each row is in few windows. */
static struct secant steepest_of(const struct be_pull *pull, const struct be_trace_events *events)
{
  enum { STEPS = 40 };
  const double *x = pull->smooth, *extension = pull->trace->extension_m;
  double high = fmax(0.1 * events->rise_N, 10 * pull->noise_N);
  struct secant steepest = {NAN, be_no_rows()};
  size_t foot = last_below(x, events->peak_row, pull->zero_N + 0.05 * events->rise_N);
  size_t from = foot == events->peak_row ? 0 : foot, to = from;
  double floor_N = fmax(x[from], pull->zero_N);
  for (int k = 0; k < STEPS; k++) {
    double low = floor_N + (double)k / STEPS * events->rise_N;
    if (low + high > events->peak_N) break;
    from = first_above(x, from, events->peak_row, low);
    to = first_above(x, to < from ? from : to, events->peak_row, low + high);
    if (to - from < 2) continue;
    double slope =
        line_slope(extension + from, pull->trace->force_N + from, to - from + 1, pull->scratch);
    if (isfinite(slope) && !(slope <= steepest.slope))
      steepest = (struct secant){slope, {from, to}};
  }
  return steepest;
}

static double median_of(const double *x, struct be_rows rows, double *scratch)
{
  size_t n = rows.last - rows.first + 1;
  memcpy(scratch, x + rows.first, n * sizeof *scratch);
  return be_median(scratch, n);
}

/* The line of the steepest slope runs through the medians of its window; where it
 * meets zero load the slack and the toe are used up. */
static void find_stiffness(const struct be_pull *pull, struct be_trace_events *events)
{
  const struct be_trace *trace = pull->trace;
  struct secant steepest = steepest_of(pull, events);
  if (!(steepest.slope > 0)) return;
  events->stiffness_N_per_m = steepest.slope;
  events->stiffness = steepest.rows;
  events->elastic_J = events->rise_N * events->rise_N / (2 * steepest.slope);
  double at = median_of(trace->extension_m, steepest.rows, pull->scratch);
  double load = median_of(trace->force_N, steepest.rows, pull->scratch) - pull->zero_N;
  events->foot_m = at - load / steepest.slope;
  events->extension_at_peak_m = trace->extension_m[events->peak_row] - events->foot_m;
}

static double since(const double *t, size_t from, size_t to)
{
  double seconds = t[to] - t[from];
  return seconds > 0 ? seconds : NAN;
}

void be_slopes_find(const struct be_pull *pull, struct be_trace_events *events)
{
  const struct be_trace *trace = pull->trace;
  if (!(events->rise_N > 0) || events->peak_row < 2) return;
  events->onset_row = onset_of(pull, events);
  if (trace->time_s) {
    events->rate_N_per_s = rate_of(pull, events);
    events->rate_per_s = events->rate_N_per_s / events->rise_N;
    events->time_to_peak_s = since(trace->time_s, events->onset_row, events->peak_row);
    bool let_go = events->end_row < trace->n && events->ending != BE_ENDED_LET_DOWN;
    if (let_go)
      events->time_to_break_s = since(trace->time_s, events->onset_row, events->end_row - 1);
  }
  if (trace->extension_m) find_stiffness(pull, events);
}
