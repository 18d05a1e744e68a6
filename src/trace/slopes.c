/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How fast and how stiffly the load rose, and what the sampling may have
 * missed at the top. */
#include "trace/inside.h"

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
  double level = pull->zero_N + 5 * events->noise_N;
  size_t i = 0;
  while (i < events->peak_row && !(x[i] > level && x[i + 1] > level)) i++;
  return i > 0 ? i - 1 : 0;
}

/* ---- the top ---- */

/* Most the load may have risen past the peak row before the next reading: the
 * local rate before the peak, by least squares, times one interval. */
static double missed_of(const struct be_trace *trace, size_t peak)
{
  size_t n = peak / 20 < 3 ? 3 : peak / 20 > 25 ? 25 : peak / 20;
  if (peak < n || peak + 1 >= trace->n) return NAN;
  const double *force = trace->force_N + peak - n;
  double mean = 0, slope = 0, spread = 0, middle = (double)n / 2;
  for (size_t i = 0; i <= n; i++) mean += force[i];
  mean /= (double)(n + 1);
  for (size_t i = 0; i <= n; i++) {
    slope += ((double)i - middle) * (force[i] - mean);
    spread += ((double)i - middle) * ((double)i - middle);
  }
  double per_row = fmax(slope / spread, 0);
  if (!trace->time_s) return per_row;
  const double *t = trace->time_s + peak;
  double usual = (t[0] - *(t - n)) / (double)n;
  double stretch = (t[1] - t[0]) / usual;
  return usual > 0 && stretch > 1 && isfinite(stretch) ? per_row * stretch : per_row;
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

/* The steepest of the slopes over windows a tenth of the rise high, or ten
 * times the noise, a fortieth of the rise apart: each row is in few windows. */
static double stiffness_of(const struct be_pull *pull, const struct be_trace_events *events)
{
  enum { STEPS = 40 };
  const double *x = pull->smooth, *extension = pull->trace->extension_m;
  double high = fmax(0.1 * events->rise_N, 10 * events->noise_N);
  double steepest = NAN;
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
    if (isfinite(slope) && !(slope <= steepest)) steepest = slope;
  }
  return steepest > 0 ? steepest : NAN;
}

void be_slopes_find(const struct be_pull *pull, struct be_trace_events *events)
{
  const struct be_trace *trace = pull->trace;
  if (!(events->rise_N > 0) || events->peak_row < 2) return;
  if (trace->time_s) {
    events->rate_N_per_s = rate_of(pull, events);
    double to_peak = trace->time_s[events->peak_row] - trace->time_s[onset_of(pull, events)];
    events->time_to_peak_s = to_peak > 0 ? to_peak : NAN;
  }
  if (trace->extension_m) events->stiffness_N_per_m = stiffness_of(pull, events);
  events->missed_N = missed_of(trace, events->peak_row);
}
