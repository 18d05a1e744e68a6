/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Slips before the peak. A slip runs from a top of the load to the lowest row
 * before the load passes that top again. It is looked for on the smoothed copy,
 * so that a lone reading makes none; the rule is then put to the readings. */
#include "trace/inside.h"

#include <math.h>

/* A fall counts from 3 % of the load, 6 times the noise of one reading and 6
 * times the slow wander of the unloaded end, whichever is most; the load itself
 * must be 3 % of the rise, since near zero everything is a large share. The
 * smoothed fall must be 5 times the noise, which is 7.4 times its own. */
static const double share_of_load = 0.03, times_noise = 6, times_smooth = 5, share_of_rise = 0.03;

/* The row of the highest (sign +1) or lowest (-1) reading beside a smoothed row. */
static size_t sharpen(const struct be_trace *trace, size_t row, size_t most, double sign)
{
  size_t best = row;
  if (row > 0 && sign * trace->force_N[row - 1] > sign * trace->force_N[best]) best = row - 1;
  if (row < most && sign * trace->force_N[row + 1] > sign * trace->force_N[best]) best = row + 1;
  return best;
}

static void keep_if_slip(const struct be_pull *pull, const double *x, size_t top, size_t low,
                         struct be_trace_events *events)
{
  const double *force = pull->trace->force_N;
  if (!(x[top] > x[low]) || x[top] - x[low] < times_smooth * events->noise_N) return;
  size_t from = sharpen(pull->trace, top, events->peak_row, 1);
  size_t to = sharpen(pull->trace, low, events->peak_row, -1);
  if (to <= from) from = top, to = low;
  double load = force[from] - pull->zero_N, fall = force[from] - force[to];
  if (load < share_of_rise * events->rise_N || fall < share_of_load * load ||
      fall < times_noise * fmax(events->noise_N, pull->wander_N) ||
      events->slips_count == BE_SLIPS_MAX)
    return;
  struct be_slip *slip = &events->slips[events->slips_count++];
  *slip = (struct be_slip){from, to, force[from], force[to], events->peak_N};
  if (events->slips_count > 1) slip[-1].recovered_N = slip->from_N;
}

void be_slips_find(const struct be_pull *pull, struct be_trace_events *events)
{
  /* Few rows leave no neighbours to smooth by. */
  const double *x = events->peak_row < 20 ? pull->trace->force_N : pull->smooth;
  size_t top = 0, low = 0;
  for (size_t i = 1; i <= events->peak_row; i++) {
    bool passed = x[i] >= x[top] || i == events->peak_row;
    if (passed) {
      keep_if_slip(pull, x, top, low, events);
      top = low = i;
    } else if (x[i] < x[low]) {
      low = i;
    }
  }
}
