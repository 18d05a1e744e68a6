/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the sampling and the filter may have taken off the peak, how fine the
 * readings are, and what the device itself held. */
#include "trace/events/events.h"
#include "trace/rows/rows.h"

#include <math.h>

double be_unit_factor(const struct be_trace *trace, enum be_role role)
{
  const struct be_trace_column *column = be_trace_column_of(trace, role);
  return column && column->unit ? column->unit->factor : 1;
}

/* The readings beside the peak, whether the trace keeps them or not. */
struct beside {
  const double *force, *time; /* of the peak; the rows before and after lie around it */
  size_t before, after;
};

static struct beside beside_peak(const struct be_trace *trace, size_t peak)
{
  const struct be_extreme *extreme = trace->whole ? &trace->whole->side[0] : NULL;
  if (extreme)
    return (struct beside){.force = extreme->force + extreme->at,
                           .time = extreme->time + extreme->at,
                           .before = extreme->at,
                           .after = extreme->n - extreme->at - 1};
  return (struct beside){.force = trace->force_N + peak,
                         .time = trace->time_s ? trace->time_s + peak : NULL,
                         .before = peak,
                         .after = trace->n - peak - 1};
}

/* Most the load may have risen past the peak row before the next reading: the
 * local rate before it, by least squares, times one interval, the linear-ramp
 * bound. A filter with the time constant tau = 1 / (2 pi corner) follows a ramp
 * tau late, so it shows rate * tau too little, and never more. */
static void find_missed(const struct be_pull *pull, struct be_trace_events *events)
{
  const struct be_trace *trace = pull->trace;
  size_t peak = events->peak_row;
  size_t rows = peak / 20 < 3 ? 3 : peak / 20 > BE_BESIDE ? BE_BESIDE : peak / 20;
  struct beside beside = beside_peak(trace, peak);
  if (beside.before < rows || beside.after < 1) return;
  double per_row = fmax(be_rise_over(beside.force - rows, rows + 1) / (double)rows, 0);
  events->missed_N = per_row;
  if (!trace->time_s) return;
  const double *t = beside.time;
  double usual = (t[0] - *(t - rows)) / (double)rows;
  double stretch = (t[1] - t[0]) / usual;
  if (usual > 0 && stretch > 1 && isfinite(stretch)) events->missed_N = per_row * stretch;
  if (pull->known->filter_Hz > 0 && usual > 0)
    events->lag_N = per_row / usual / (2 * acos(-1) * pull->known->filter_Hz);
}

/* Readings taken below 200 resolutions break the rule of force verification for
 * an error of 1 % (ASTM E4; ISO 7500-1, class 1, whose relative resolution is
 * 0.5 %: figures from memory). */
static const double least_resolutions = 200;

static void find_resolution(const struct be_pull *pull, double step, struct be_trace_events *events)
{
  const struct be_trace *trace = pull->trace;
  bool told = pull->known->resolution_N > 0;
  double unit = be_unit_factor(trace, BE_ROLE_FORCE);
  /* A column in volts says nothing of newtons. */
  const struct be_trace_column *column = be_trace_column_of(trace, BE_ROLE_FORCE);
  bool is_force = !column || !column->unit || column->unit->dimension == BE_FORCE;
  double written = unit * pow(10, -trace->decimals);
  /* Decimals past what a double holds come from a program, not from the device;
   * whole numbers say their step only where they were read from text. */
  bool held = written > 1e-14 * fabs(events->peak_N);
  if (is_force && held && (trace->decimals > 0 || trace->layout)) events->written_N = written;
  events->resolution_declared = told;
  if (told) events->resolution_N = pull->known->resolution_N;
  else events->resolution_N = step > 0 ? step : events->written_N;
  events->lowest_N = least_resolutions * events->resolution_N;
}

void be_trust_find(const struct be_pull *pull, double step, struct be_trace_events *events)
{
  if (events->rise_N > 0 && events->peak_row >= 2) find_missed(pull, events);
  find_resolution(pull, step, events);
  if (!(pull->known->device_peak_N > 0)) return;
  events->device_peak_N = pull->known->device_peak_N;
  if (events->peak_N > 0) events->device_more = events->device_peak_N / events->peak_N - 1;
}
