/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a reader of the figures must know, and the words of this room. */
#include "trace/events/events.h"

#include <assert.h>
#include <math.h>

/* ---- words ---- */

const char *be_ending_words(enum be_ending ending)
{
  static const char *const words[] = {"the record stops before the end can be seen",
                                      "fell to near zero at once",
                                      "fell at once, but still carried load",
                                      "went down slowly or in steps",
                                      "held: nothing let go",
                                      "still rising when the record stops",
                                      "let down as slowly as it was pulled: nothing let go"};
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

const char *be_suggested_word(enum be_suggested result)
{
  static const char *const words[] = {"event", "lower bound", "void"};
  assert((size_t)result < sizeof words / sizeof words[0]);
  return words[result];
}

const char *be_let_go_word(enum be_let_go what)
{
  static const char *const words[] = {"not seen",    "broke",  "slipped then broke",
                                      "slipped out", "strand", "nothing"};
  assert((size_t)what < sizeof words / sizeof words[0]);
  return words[what];
}

/* ---- saturation ---- */

enum { TOP_ROWS = 5 };

/* The longest run of equal readings above level in [from, to). */
static struct be_rows longest_run(const double *x, size_t from, size_t to, double level)
{
  struct be_rows longest = {from, from};
  size_t most = 0, run = 0;
  for (size_t i = from; i < to; i++) {
    bool same = i > from && !(x[i] < x[i - 1]) && !(x[i] > x[i - 1]);
    run = x[i] < level ? 0 : same ? run + 1 : 1;
    if (run > most) most = run, longest = (struct be_rows){i + 1 - run, i};
  }
  return most ? longest : be_no_rows();
}

static size_t rows_in(struct be_rows rows)
{
  return be_rows_any(rows) ? rows.last - rows.first + 1 : 0;
}

/* At the end of its range a signal stops dead: five or more equal readings at
 * the very top, reached at a good part of the pull's own pace, while no other
 * part of the loaded trace repeats itself nearly as long. */
static struct be_rows saturated_rows(const struct be_pull *pull,
                                     const struct be_trace_events *events)
{
  const struct be_trace *trace = pull->trace;
  const double *x = trace->force_N;
  size_t peak = events->peak_row, half = peak;
  double zero = events->peak_N - events->rise_N;
  if (pull->ties < TOP_ROWS || !(events->noise_N > 0) || peak < TOP_ROWS) return be_no_rows();
  struct be_rows top = longest_run(x, peak, trace->n, events->peak_N);
  if (rows_in(top) < TOP_ROWS) return be_no_rows();
  while (half > 0 && x[half - 1] > zero + 0.5 * events->rise_N) half--;
  if (half == peak || rows_in(longest_run(x, half, peak, zero)) * 3 > rows_in(top))
    return be_no_rows();
  /* Pace of the last tenth of the upper half against the pace of all of it. */
  size_t rows = peak - half, few = rows / 10 < 2 ? 2 : rows / 10;
  if (few > rows) few = rows;
  double pace = (events->peak_N - x[half]) / (double)rows;
  bool fast = (events->peak_N - x[peak - few]) / (double)few > 0.3 * pace;
  return fast ? top : be_no_rows();
}

/* ---- time ---- */

/* The rows from the first odd step of time to the last; none while one step in
 * a hundred at most is odd, such as a short last one. Steps may differ by a
 * fifth, or by the last written decimal. *repeated: the same for steps that are
 * not forward at all. */
static struct be_rows uneven_rows(const struct be_trace *trace, struct be_rows *repeated)
{
  const double *t = trace->time_s;
  size_t n = trace->n, odd = 0;
  struct be_rows rows = be_no_rows();
  *repeated = be_no_rows();
  /* Rows that fell away leave steps of every size. */
  if (!t || n < 2 || trace->whole) return rows;
  double usual = (t[n - 1] - t[0]) / (double)(n - 1);
  double slack =
      0.2 * usual + 1.01 * be_unit_factor(trace, BE_ROLE_TIME) * pow(10, -trace->time_decimals);
  for (size_t i = 1; i < n; i++) {
    double step = t[i] - t[i - 1];
    if (step > 0 && fabs(step - usual) <= slack) continue;
    if (odd++ == 0) rows.first = i - 1;
    rows.last = i;
    if (step > 0 || isnan(step)) continue;
    if (!be_rows_any(*repeated)) repeated->first = i - 1;
    repeated->last = i;
  }
  return odd * 100 > n && n >= 3 ? rows : be_no_rows();
}

static struct be_rows gap_rows(const struct be_trace *trace)
{
  struct be_rows rows = {0, trace->n - 1};
  if (!trace->line || trace->whole) return rows;
  while (rows.first + 1 < trace->n && trace->line[rows.first + 1] == trace->line[rows.first] + 1)
    rows.first++;
  while (rows.last > rows.first + 1 && trace->line[rows.last] == trace->line[rows.last - 1] + 1)
    rows.last--;
  return rows;
}

/* ---- flags ---- */

static double start_N(const struct be_trace *trace, const struct be_trace_events *events)
{
  return isnan(events->zero_N) ? trace->force_N[0] : events->zero_N;
}

static bool starts_off(const struct be_trace *trace, const struct be_trace_events *events)
{
  double start = start_N(trace, events);
  double share = isnan(events->zero_N) ? 0.05 : 0.01;
  return fabs(start) > share * fabs(events->rise_N) && fabs(start) > events->noise_N;
}

/* How far the end lies below the start. An end that still creeps has no zero, but
 * all of its last tenth may lie below. It counts once the end is as long as the
 * pull: then the swing that follows a break is over. */
static double end_below(const struct be_trace *trace, const struct be_trace_events *events,
                        struct be_rows *rows)
{
  enum { LEAST_ROWS = 5 };
  bool let_go = events->ending == BE_ENDED_BROKE || events->ending == BE_ENDED_FADED;
  size_t left = let_go ? trace->n - events->end_row : 0, tenth = left / 10;
  double end_N = -INFINITY;
  *rows = events->tail;
  if (!isnan(events->zero_after_N)) return start_N(trace, events) - events->zero_after_N;
  if (left < events->peak_row || tenth < LEAST_ROWS) return -INFINITY;
  *rows = (struct be_rows){trace->n - tenth, trace->n - 1};
  for (size_t i = rows->first; i <= rows->last; i++) end_N = fmax(end_N, trace->force_N[i]);
  return start_N(trace, events) - end_N;
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

static void raise(struct be_trace_events *events, enum be_trace_flag flag, bool up,
                  struct be_rows rows)
{
  events->flags[flag] = up;
  if (up) events->flag_rows[flag] = rows;
}

static void flag_reading(const struct be_pull *pull, struct be_trace_events *events)
{
  const struct be_trace *trace = pull->trace;
  struct be_rows all = {0, trace->n - 1}, first = {0, 0}, repeated, end;
  struct be_rows peak = {events->peak_row, events->peak_row};
  struct be_rows around = {peak.first, peak.last + (peak.last + 1 < trace->n)};
  struct be_rows uneven = uneven_rows(trace, &repeated);
  struct be_rows start = be_rows_any(events->slack) ? events->slack : first;
  double percent = 0.01 * fabs(events->rise_N);
  /* No rig drifts by a tenth of the pull: an end so far below the start had load
   * on it when the zero was taken. */
  double far_N = 0.1 * fabs(events->rise_N) + 3 * events->noise_N;
  bool loaded = end_below(trace, events, &end) > far_N;
  raise(events, BE_FLAG_NO_TIME, !trace->time_s, all);
  raise(events, BE_FLAG_ZERO_OFF, starts_off(trace, events), start);
  raise(events, BE_FLAG_ZERO_DRIFT, zero_drifted(trace, events) || loaded, end);
  raise(events, BE_FLAG_ZERO_LOADED, loaded, end);
  raise(events, BE_FLAG_MISSED_PEAK, events->missed_N > percent, around);
  raise(events, BE_FLAG_SLOW_FILTER, events->lag_N > percent, around);
  raise(events, BE_FLAG_DEVICE, fabs(events->device_more) > 0.01, peak);
  raise(events, BE_FLAG_THINNED, trace->whole != NULL, all);
  raise(events, BE_FLAG_FEW_ROWS, trace->n < 20, all);
  raise(events, BE_FLAG_UNEVEN, be_rows_any(uneven), uneven);
  raise(events, BE_FLAG_REPEATED, be_rows_any(repeated), repeated);
  raise(events, BE_FLAG_GAPS, trace->skipped_rows > 0, gap_rows(trace));
  raise(events, BE_FLAG_NOISY, events->noise_N > 2 * percent, all);
  /* Half a step allows for rounding of the units. */
  raise(events, BE_FLAG_COARSE,
        !events->resolution_declared && events->resolution_N > 1.5 * events->written_N, all);
  raise(events, BE_FLAG_LOW_FORCE, events->rise_N < events->lowest_N, peak);
}

static void flag_pull(const struct be_pull *pull, struct be_trace_events *events)
{
  size_t last = pull->trace->n - 1, peak = events->peak_row;
  struct be_rows rest = {peak, last}, drop = be_no_rows(), slips = be_no_rows();
  if (events->end_row <= last) drop = (struct be_rows){events->end_row - 1, events->end_low_row};
  if (events->slips_count)
    slips =
        (struct be_rows){events->slips[0].from_row, events->slips[events->slips_count - 1].to_row};
  raise(events, BE_FLAG_RISING, events->ending == BE_ENDED_RISING, rest);
  raise(events, BE_FLAG_HELD, events->ending == BE_ENDED_HELD, rest);
  raise(events, BE_FLAG_LET_DOWN, events->ending == BE_ENDED_LET_DOWN, drop);
  raise(events, BE_FLAG_PARTLY, events->ending == BE_ENDED_PARTLY, drop);
  raise(events, BE_FLAG_STOPPED, events->ending == BE_ENDED_UNSEEN, rest);
  raise(events, BE_FLAG_SLIPPED, events->slips_count > 0, slips);
  for (size_t i = 0; i < events->stages_count; i++) {
    const struct be_stage *stage = &events->stages[i];
    bool before = stage->low_row < peak && stage->top_row < peak;
    if (before && !events->flags[BE_FLAG_STAGES])
      raise(events, BE_FLAG_STAGES, true, (struct be_rows){stage->top_row, peak});
    if (drop.first <= drop.last && stage->top_row > drop.last && !events->flags[BE_FLAG_HUMP])
      raise(events, BE_FLAG_HUMP, true, (struct be_rows){drop.last, stage->top_row});
  }
}

void be_flags_find(const struct be_pull *pull, struct be_trace_events *events)
{
  struct be_rows saturated = saturated_rows(pull, events);
  bool over = pull->trace->over_rows > 0;
  struct be_rows peak = {events->peak_row, events->peak_row};
  raise(events, BE_FLAG_SATURATED, over || be_rows_any(saturated),
        be_rows_any(saturated) ? saturated : peak);
  /* Past the range nothing bounds what was missed, and the top is the rig's. */
  if (events->flags[BE_FLAG_SATURATED]) events->missed_N = events->lag_N = NAN;
  if (be_rows_any(saturated)) events->plateau = be_no_rows();
  raise(events, BE_FLAG_PLATEAU, be_rows_any(events->plateau), events->plateau);
  flag_reading(pull, events);
  flag_pull(pull, events);
}
