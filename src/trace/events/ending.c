/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How the pull ended. The load after the peak is cut at two levels, four fifths
 * and one fifth of the rise: the rows between the last above the one and the
 * first below the other say whether it let go at once. */
#include "trace/events/events.h"

#include <math.h>

static const double near_peak = 0.8, near_zero = 0.2;
/* "At once" is within 3 rows or a twentieth of the rows of the pull so far;
 * a partial fall counts from 30 % of the rise, or from 20 % of it where the load
 * ends below four fifths. */
static const double at_once = 0.05, partial = 0.3, part_of_fall = 0.2;
enum { AT_ONCE_ROWS = 3, AFTER_ROWS = 3 };

static size_t rows_at_once(size_t pull_rows)
{
  size_t rows = (size_t)(at_once * (double)pull_rows);
  return rows < AT_ONCE_ROWS ? AT_ONCE_ROWS : rows;
}

/* ---- falls ---- */

/* The last row in [from, to) at or above level; `from` if none is. */
static size_t last_above(const double *x, size_t from, size_t to, double level)
{
  for (size_t i = to; i > from; i--)
    if (x[i - 1] >= level) return i - 1;
  return from;
}

struct fall {
  size_t from, to;
  double by_N;
};

/* The largest fall within `window` rows after the peak. Each window's highest
 * row is kept at the front of a queue of falling rows, so that every row enters
 * and leaves once. `queue` is n long and holds row numbers. */
static struct fall largest_fall(const double *x, size_t from, size_t n, size_t window,
                                double *queue)
{
  struct fall fall = {from, from, 0};
  size_t head = 0, tail = 0;
  for (size_t i = from; i < n; i++) {
    while (tail > head && x[(size_t)queue[tail - 1]] <= x[i]) tail--;
    queue[tail++] = (double)i;
    while ((size_t)queue[head] + window < i) head++;
    size_t top = (size_t)queue[head];
    if (x[top] - x[i] > fall.by_N) fall = (struct fall){top, i, x[top] - x[i]};
  }
  return fall;
}

/* ---- the end of the record ---- */

/* Does the extension stand still after the peak? */
static bool stands_still(const struct be_trace *trace, size_t peak)
{
  const double *x = trace->extension_m;
  double least, most;
  if (!x || peak + 2 > trace->n) return false;
  least = most = x[peak];
  for (size_t i = peak; i < trace->n; i++) least = fmin(least, x[i]), most = fmax(most, x[i]);
  return most - least < 0.02 * fabs(x[peak] - x[0]);
}

/* The load is still up when the record stops: rising, held, or unseen. */
static enum be_ending still_up(const struct be_pull *pull, const struct be_trace_events *events,
                               double last)
{
  const struct be_trace *trace = pull->trace;
  size_t n = trace->n, tail = n / 20;
  tail = tail < 5 ? 5 : tail;
  tail = tail > n ? n : tail;
  size_t after = n - 1 - events->peak_row;
  double rise = be_rise_over(trace->force_N + n - tail, tail);
  /* The deviation of a fitted rise over n rows is about noise * sqrt(12 / n). */
  double doubt = 3 * pull->noise_N * sqrt(12.0 / (double)tail);
  bool at_end = events->peak_row + tail >= n;
  if (at_end && last >= 0.95 && rise > fmax(doubt, 0.005 * events->rise_N)) return BE_ENDED_RISING;
  if (stands_still(trace, events->peak_row) && after > AFTER_ROWS) return BE_ENDED_HELD;
  if (last >= 0.9 && fabs(rise) <= fmax(doubt, 0.02 * events->rise_N) && tail > AFTER_ROWS)
    return BE_ENDED_HELD;
  if (after == 0) return BE_ENDED_RISING;
  if (after < rows_at_once(events->peak_row)) return BE_ENDED_UNSEEN;
  if (last >= near_peak) return trace->extension_m ? BE_ENDED_UNSEEN : BE_ENDED_HELD;
  return BE_ENDED_FADED;
}

/* ---- let down ---- */

/* Does the load go down as a saw does, climbing back or falling tooth by tooth? A steady hand
 * does neither. A tooth falls three times as fast as the whole way down, and more than noise. */
static bool goes_by_teeth(const struct be_pull *pull, const struct be_trace_events *events,
                          size_t high, size_t low)
{
  static const double climbs = 0.1, falls = 0.2; /* of the rise, all together */
  const double *x = pull->smooth;
  double pace = (x[high] - x[low]) / (double)(low - high);
  double climbed = 0, fallen = 0, tooth = 3 * pace + 4 * pull->noise_N;
  for (size_t i = high + 1; i <= low; i++) {
    climbed += fmax(x[i] - x[i - 1], 0);
    if (x[i - 1] - x[i] > tooth) fallen += x[i - 1] - x[i];
  }
  /* E max(d, 0) of smoothed neighbours */
  double noise = (double)(low - high) * pull->noise_N * 0.5;
  return climbed >= climbs * events->rise_N + noise || fallen >= falls * events->rise_N;
}

/* Let down on purpose: no part of it fell at once, and the travel goes back as
 * the load goes down, or, where travel is not recorded, it took from a third to
 * three times the rows of the way up. Slipping goes on paying line out. */
static bool is_let_down(const struct be_pull *pull, const struct be_trace_events *events,
                        size_t high, size_t low)
{
  const struct be_trace *trace = pull->trace;
  const double *x = pull->smooth;
  size_t peak = events->peak_row, up_high = peak;
  struct fall fall = largest_fall(x, high, low + 1, rows_at_once(peak), pull->scratch);
  if (fall.by_N > partial * events->rise_N) return false;
  if (trace->extension_m) {
    const double *way = trace->extension_m;
    return way[peak] - way[low] > 0.25 * fabs(way[peak] - way[0]);
  }
  while (up_high > 0 && x[up_high] >= pull->zero_N + near_peak * events->rise_N) up_high--;
  size_t up_low = up_high;
  while (up_low > 0 && x[up_low] >= pull->zero_N + near_zero * events->rise_N) up_low--;
  size_t up = up_high - up_low, down = low - high;
  return down * 3 >= up && down <= 3 * up && !goes_by_teeth(pull, events, high, low);
}

/* ---- all ---- */

static void went_down(const struct be_pull *pull, size_t low, struct be_trace_events *events)
{
  size_t peak = events->peak_row;
  double high_N = pull->zero_N + near_peak * events->rise_N;
  size_t high = last_above(pull->smooth, peak, low, high_N);
  events->end_row = high + 1;
  events->end_low_row = low;
  if (low - high <= rows_at_once(high)) events->ending = BE_ENDED_BROKE;
  else if (is_let_down(pull, events, high, low)) events->ending = BE_ENDED_LET_DOWN;
  else events->ending = BE_ENDED_FADED;
}

void be_ending_find(const struct be_pull *pull, struct be_trace_events *events)
{
  const struct be_trace *trace = pull->trace;
  const double *x = pull->smooth;
  size_t n = trace->n, peak = events->peak_row, low = peak + 1;
  double rise = events->rise_N, zero = pull->zero_N;
  events->ending = BE_ENDED_UNSEEN;
  events->end_row = events->end_low_row = n;
  if (!(rise > 6 * pull->noise_N) || n < 3) return;
  double least = x[peak];
  for (; low < n && x[low] >= zero + near_zero * rise; low++)
    if (x[low] < least) least = x[low];
  if (low < n) {
    went_down(pull, low, events);
    return;
  }
  struct fall fall = {peak, peak, 0};
  if (events->peak_N - least >= part_of_fall * rise) /* most holds have no such fall */
    fall = largest_fall(x, peak, n, rows_at_once(peak), pull->scratch);
  double last = (x[n - 1] - zero) / rise;
  if (fall.by_N >= partial * rise || (last < near_peak && fall.by_N >= part_of_fall * rise)) {
    /* A record that stops in the middle of a fall has not seen its end: the
     * fall is over once most of it is. */
    size_t over = fall.from;
    while (over < fall.to && x[fall.from] - x[over] < near_peak * fall.by_N) over++;
    bool seen = n - 1 - over >= AFTER_ROWS && last < near_peak;
    events->ending = seen ? BE_ENDED_PARTLY : BE_ENDED_UNSEEN;
    size_t from = last_above(x, fall.from, over, x[fall.from] - (1 - near_peak) * fall.by_N);
    events->end_row = from + 1;
    events->end_low_row = over > from ? over : fall.to;
    return;
  }
  events->ending = still_up(pull, events, last);
  if (events->ending != BE_ENDED_FADED) return;
  events->end_row = last_above(x, peak, n, zero + near_peak * rise) + 1;
  events->end_low_row = n - 1;
}
