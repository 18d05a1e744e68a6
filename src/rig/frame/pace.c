/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rig/frame/frame.h"

#include <math.h>

/* Seconds since the first sample, by its own clock or by ours. */
static double time_of(const struct be_rig_sample *samples, size_t i, bool by_rig)
{
  return by_rig ? samples[i].rig_time_s - samples[0].rig_time_s
                : (double)(samples[i].host_ns - samples[0].host_ns) * 1e-9;
}

struct be_sample_pace be_sample_pace_of(const struct be_rig_sample *samples, size_t n)
{
  struct be_sample_pace pace = {.n = n, .rate_Hz = NAN, .jitter_s = NAN, .by_rig = n > 0};
  double mean_t = 0, mean_k = 0, tk = 0, kk = 0, squares = 0;
  for (size_t i = 0; i < n; i++) pace.by_rig &= !isnan(samples[i].rig_time_s);
  for (size_t i = 0; i < n; i++) {
    mean_t += time_of(samples, i, pace.by_rig) / (double)n;
    mean_k += (double)(samples[i].sequence - samples[0].sequence) / (double)n;
  }
  for (size_t i = 0; i < n; i++) {
    double k = (double)(samples[i].sequence - samples[0].sequence) - mean_k;
    double t = time_of(samples, i, pace.by_rig),
           gap = i ? t - time_of(samples, i - 1, pace.by_rig) : 0;
    tk += k * (t - mean_t);
    kk += k * k;
    if (gap > pace.longest_gap_s) pace.longest_gap_s = gap;
  }
  if (!(kk > 0) || !(tk > 0)) return pace;
  pace.rate_Hz = kk / tk;
  for (size_t i = 0; i < n; i++) {
    double k = (double)(samples[i].sequence - samples[0].sequence) - mean_k;
    double off = time_of(samples, i, pace.by_rig) - mean_t - k / pace.rate_Hz;
    squares += off * off;
  }
  if (n > 2) pace.jitter_s = sqrt(squares / (double)(n - 2));
  return pace;
}
