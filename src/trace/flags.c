/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a reader of the figures must know, and the words of this room. */
#include "trace/inside.h"

#include <assert.h>
#include <math.h>

/* ---- words ---- */

const char *be_role_word(enum be_role role)
{
  static const char *const words[BE_ROLES] = {"none", "time", "force", "extension"};
  assert((size_t)role < BE_ROLES);
  return words[role];
}

const char *be_sureness_word(enum be_sureness sureness)
{
  static const char *const words[] = {"sure", "likely", "guess"};
  assert((size_t)sureness < sizeof words / sizeof words[0]);
  return words[sureness];
}

const char *be_ending_words(enum be_ending ending)
{
  static const char *const words[] = {"the record stops before the end can be seen",
                                      "fell to near zero at once",
                                      "fell at once, but still carried load",
                                      "went down slowly or in steps",
                                      "held: nothing let go",
                                      "still rising when the record stops"};
  assert((size_t)ending < sizeof words / sizeof words[0]);
  return words[ending];
}

static const struct {
  const char *name, *words;
} flag_list[BE_TRACE_FLAGS] = {
#define X(code, name, words) {name, words},
    BE_TRACE_FLAG_LIST(X)
#undef X
};

const char *be_trace_flag_name(enum be_trace_flag flag)
{
  assert((size_t)flag < BE_TRACE_FLAGS);
  return flag_list[flag].name;
}

const char *be_trace_flag_words(enum be_trace_flag flag)
{
  assert((size_t)flag < BE_TRACE_FLAGS);
  return flag_list[flag].words;
}

/* ---- saturation ---- */

enum { TOP_ROWS = 5 };

/* The longest run of equal readings above level in [from, to). */
static size_t longest_run(const double *x, size_t from, size_t to, double level)
{
  size_t longest = 0, run = 0;
  for (size_t i = from; i < to; i++) {
    bool same = i > from && !(x[i] < x[i - 1]) && !(x[i] > x[i - 1]);
    run = x[i] < level ? 0 : same ? run + 1 : 1;
    if (run > longest) longest = run;
  }
  return longest;
}

/* At the end of its range a signal stops dead: five or more equal readings at
 * the very top, reached at a good part of the pull's own pace, while no other
 * part of the loaded trace repeats itself nearly as long. */
static bool is_saturated(const struct be_trace *trace, const struct be_trace_events *events)
{
  const double *x = trace->force_N;
  size_t peak = events->peak_row, half = peak;
  double zero = events->peak_N - events->rise_N;
  size_t top = longest_run(x, peak, trace->n, events->peak_N);
  if (top < TOP_ROWS || !(events->noise_N > 0) || peak < TOP_ROWS) return false;
  while (half > 0 && x[half - 1] > zero + 0.5 * events->rise_N) half--;
  if (half == peak || longest_run(x, half, peak, zero) * 3 > top) return false;
  /* Pace of the last tenth of the upper half against the pace of all of it. */
  size_t rows = peak - half, few = rows / 10 < 2 ? 2 : rows / 10;
  if (few > rows) few = rows;
  double pace = (events->peak_N - x[half]) / (double)rows;
  return (events->peak_N - x[peak - few]) / (double)few > 0.3 * pace;
}

/* ---- time ---- */

/* Steps may differ by a fifth, or by the last written decimal. One step in a
 * hundred may be odd, such as a short last one. */
static bool is_uneven(const struct be_trace *trace)
{
  const double *t = trace->time_s;
  size_t n = trace->n, odd = 0;
  if (!t || n < 3) return false;
  double usual = (t[n - 1] - t[0]) / (double)(n - 1), unit = 1;
  const struct be_trace_layout *layout = trace->layout;
  for (size_t c = 0; c < layout->columns_count; c++)
    if (layout->columns[c].role == BE_ROLE_TIME && layout->columns[c].unit)
      unit = layout->columns[c].unit->factor;
  double slack = 0.2 * usual + 1.01 * unit * pow(10, -trace->time_decimals);
  for (size_t i = 1; i < n; i++) {
    double step = t[i] - t[i - 1];
    if (!(step > 0) || fabs(step - usual) > slack) odd++;
  }
  return odd * 100 > n;
}

/* ---- flags ---- */

static bool starts_off(const struct be_trace *trace, const struct be_trace_events *events)
{
  double start = isnan(events->zero_N) ? trace->force_N[0] : events->zero_N;
  double share = isnan(events->zero_N) ? 0.05 : 0.01;
  return fabs(start) > share * fabs(events->rise_N) && fabs(start) > events->noise_N;
}

/* Without a slack start, only an end below the first reading can be told: a
 * pull starts at zero load or above it. */
static bool zero_drifted(const struct be_trace *trace, const struct be_trace_events *events)
{
  double shift = events->zero_after_N - events->zero_N;
  if (isnan(events->zero_after_N)) return false;
  if (isnan(events->zero_N))
    return events->zero_after_N < trace->force_N[0] - 0.02 * events->rise_N - 3 * events->noise_N;
  return fabs(shift) > 0.01 * events->rise_N && fabs(shift) > events->noise_N;
}

void be_flags_find(const struct be_trace *trace, struct be_trace_events *events)
{
  bool *flags = events->flags;
  flags[BE_FLAG_NO_TIME] = !trace->time_s;
  flags[BE_FLAG_ZERO_OFF] = starts_off(trace, events);
  flags[BE_FLAG_ZERO_DRIFT] = zero_drifted(trace, events);
  flags[BE_FLAG_SATURATED] = trace->over_rows > 0 || is_saturated(trace, events);
  flags[BE_FLAG_RISING] = events->ending == BE_ENDED_RISING;
  flags[BE_FLAG_HELD] = events->ending == BE_ENDED_HELD;
  /* Past the range nothing bounds what was missed. */
  if (flags[BE_FLAG_SATURATED]) events->missed_N = NAN;
  flags[BE_FLAG_MISSED_PEAK] = events->missed_N > 0.01 * fabs(events->rise_N);
  flags[BE_FLAG_FEW_ROWS] = trace->n < 20;
  flags[BE_FLAG_UNEVEN] = is_uneven(trace);
  flags[BE_FLAG_GAPS] = trace->skipped_rows > 0;
  flags[BE_FLAG_NOISY] = events->noise_N > 0.02 * fabs(events->rise_N);
}
