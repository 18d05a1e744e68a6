/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pulls that rose and fell more than once: tops that are followed by a fall of
 * 15 % of the rise, and rise by as much before the next. */
#include "trace/events/events.h"

#include <math.h>

static const double share_of_rise = 0.15;
enum { STAGE_VALUES = 8192 };

static void keep(const struct be_pull *pull, struct be_trace_events *events, size_t top, size_t low)
{
  const double *x = pull->trace->force_N;
  if (events->stages_count == BE_STAGES_MAX) return;
  if (x[top] - pull->zero_N < share_of_rise * events->rise_N) return;
  events->stages[events->stages_count++] = (struct be_stage){top, low, x[top], x[low]};
}

static size_t highest(const double *x, size_t from, size_t to)
{
  size_t best = from;
  for (size_t i = from; i < to; i++)
    if (x[i] > x[best]) best = i;
  return best;
}

static size_t lowest(const double *x, size_t from, size_t to)
{
  size_t best = from;
  for (size_t i = from; i < to; i++)
    if (x[i] < x[best]) best = i;
  return best;
}

/* Long traces are walked in strides of rows, by the first smoothed row of
 * each; a top is then the highest reading between two lows. */
void be_stages_find(const struct be_pull *pull, struct be_trace_events *events)
{
  const double *x = pull->smooth;
  size_t n = pull->trace->n, stride = n / STAGE_VALUES + 1, top = 0, low = 0, from = 0;
  const double *force = pull->trace->force_N;
  double m = (double)(n / stride + 1), noise = be_noise_reach(m * m / 2, 1e-4) * pull->noise_N;
  double fall = fmax(share_of_rise * events->rise_N, sqrt(2.0) * noise);
  bool falling = false;
  if (!(events->rise_N > 0)) return;
  for (size_t i = 0; i < n; i += stride) {
    if (!falling) {
      if (x[i] >= x[top]) top = i;
      falling = x[i] < x[top] - fall;
      low = i;
    } else if (x[i] < x[low]) {
      low = i;
    } else if (x[i] > x[low] + fall) {
      size_t tip = highest(force, from, low);
      from = lowest(force, tip, i);
      keep(pull, events, tip, from);
      falling = false;
      top = i;
    }
  }
  if (events->stages_count == 0) return;
  size_t tip = highest(force, from, n);
  keep(pull, events, tip, lowest(force, tip, n));
  if (events->stages_count < 2) events->stages_count = 0;
}
