/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "trace/trace.h"

#include <math.h>

/* The break and a slip are each known to a row, and a slip may fall over some. */
void be_snap_hint_of(const struct be_trace *trace, const struct be_trace_events *events,
                     struct be_snap_hint *hint)
{
  *hint = (struct be_snap_hint){0};
  if (!trace->time_s || events->end_row >= trace->n || events->end_row == 0) return;
  size_t broke = events->end_row - 1, onset = events->onset_row;
  double row_s = 0;
  for (size_t i = 0; i + 1 < trace->n; i++)
    row_s += fmax(0, trace->time_s[i + 1] - trace->time_s[i]) / (double)(trace->n - 1);
  hint->doubt_s = fmax(2 * row_s, 0.005);
  if (onset < broke) hint->rise_s = fmax(0, trace->time_s[broke] - trace->time_s[onset]);
  size_t kept = events->slips_count < BE_SLIPS_MAX ? events->slips_count : BE_SLIPS_MAX;
  for (size_t i = 0; i < kept && hint->clicks < BE_SNAP_CLICKS_MAX; i++) {
    double before_s = trace->time_s[broke] - trace->time_s[events->slips[i].from_row];
    if (before_s > hint->doubt_s) hint->click_s[hint->clicks++] = before_s;
  }
}
