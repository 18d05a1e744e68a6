/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Slips: falls that are followed by re-loading. The rule stands in trace.h.
 *
 *   smoothed rows     . . . . . . . . . . . . . . . .   each by itself: short falls
 *   running means     (       )                         of 4, 8, 16, ... rows, one
 *                       (       )                       every quarter of its width
 *
 * Means come from running sums of cells of rows; a cell is a row until there
 * are more than CELLS_MOST, so that long traces do not take longer a row. Each pass
 * walks from top to low and back; what a narrower one has found already is
 * passed over, and what is new is put on the readings. */
#include "trace/events/events.h"
#include "trace/rows/rows.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* Smoothing cuts tips off, so the walk asks for half of the fall, and the readings
 * must then show all of it. */
static const double share_of_load = 0.03, share_of_rise = 0.03;
static const double share_seen = 0.015, share_back = 0.015;
/* Of all widths together, in a trace with noise alone. */
static const double false_alarm = 1e-3;
/* w times the variance of a mean of w running medians of three, of readings with
 * the variance 1, is this less 1 / w: a median keeps more of what is slow than a
 * mean does. From simulation: 0.94 for 4, 1.19 for 64. */
static const double median_variance = 1.19;
enum { CELLS_MOST = 8192, LEAST_CELLS = 4, LEAST_WIDTHS = 12, QUIET_VALUES = 16, NEAR = 8 };
/* Values 4 apart have no rows in common, in medians of three and in means; a lag of a
 * 32nd of the trace leaves 32 that are their own; 256 places are good to 7 %. */
enum { LEAST_LAG = 4, LAG_SHARE = 32, LAG_PLACES = 256, STEPS = 1024 };

/* The z with an upper tail of p, by Newton's steps on the logarithm of the
 * tail, which is nearly a parabola: six are more than enough. */
static double upper_normal(double p)
{
  double z = sqrt(-2 * log(p));
  for (int i = 0; i < 6; i++) {
    double tail = 0.5 * erfc(z / sqrt(2.0));
    double density = exp(-z * z / 2) / sqrt(2 * acos(-1));
    z += (log(tail) - log(p)) * tail / density;
  }
  return z;
}

double be_noise_reach(double pairs, double chance)
{
  return upper_normal(chance / (pairs > 1 ? pairs : 1));
}

/* One series to be walked: value i is of `width` rows from i * stride on. Means
 * are differences of the running sums in x, `span` apart and one in `step`. */
struct series {
  const double *x;
  size_t n, stride, width, step, span;
  double part;    /* 1 / width */
  double among;   /* how many values these stand for: n, or all readings of a thinned trace */
  double least_N; /* smallest fall that is not noise, from any top before */
  double near_N;  /* the same from one of the NEAR values before */
};

struct search {
  const struct be_pull *pull;
  struct be_trace_events *events;
  size_t end;       /* rows to be looked at */
  size_t count;     /* slips kept */
  double chance;    /* of a false slip that one rule of one width may have */
  double deviation; /* of one reading, with one deviation of that estimate added */
  double quiet_N;   /* scatter of the last series with nothing on the line; 0: as rows make it */
  double lasting_N; /* the same as its longer lags show it */
  bool teeth;       /* what looks like lasting noise is a staircase of slips */
};

static inline double value(const struct series *series, size_t i)
{
  const double *x = series->x + i * series->step;
  return series->span ? (x[series->span] - x[0]) * series->part : x[0];
}

/* ---- what is found ---- */

/* The row of the highest (sign +1) or lowest (-1) reading beside a smoothed row. */
static size_t sharpen(const struct be_trace *trace, size_t row, size_t end, double sign)
{
  size_t best = row;
  if (row > 0 && sign * trace->force_N[row - 1] > sign * trace->force_N[best]) best = row - 1;
  if (row + 1 < end && sign * trace->force_N[row + 1] > sign * trace->force_N[best]) best = row + 1;
  return best;
}

static bool is_known(const struct search *search, size_t first, size_t last)
{
  for (size_t i = 0; i < search->count; i++)
    if (search->events->slips[i].from_row <= last && search->events->slips[i].to_row >= first)
      return true;
  return false;
}

static void keep(struct search *search, const struct series *series, size_t top, size_t low)
{
  const struct be_pull *pull = search->pull;
  const double *smooth = pull->smooth, *force = pull->trace->force_N;
  struct be_trace_events *events = search->events;
  if (value(series, top) - pull->zero_N < share_of_rise * events->rise_N) return;
  size_t first = top * series->stride, last = low * series->stride + series->width - 1;
  if (last >= search->end) last = search->end - 1;
  if (series->width > 1 && is_known(search, first, last)) return;
  size_t from = first, to = last;
  for (size_t i = first; series->width > 1 && i < last; i++)
    if (smooth[i] > smooth[from]) from = i;
  for (size_t i = last; series->width > 1 && i > from; i--)
    if (smooth[i] < smooth[to]) to = i;
  size_t high = sharpen(pull->trace, from, search->end, 1);
  size_t deep = sharpen(pull->trace, to, search->end, -1);
  if (high < deep) from = high, to = deep;
  if (force[from] - force[to] < share_of_load * (force[from] - pull->zero_N)) return;
  if (search->count == BE_SLIPS_MAX) {
    events->slips_more++;
    return;
  }
  events->slips[search->count++] =
      (struct be_slip){.from_row = from, .to_row = to, .from_N = force[from], .to_N = force[to]};
}

/* ---- one width ---- */

/* Loads below which a fall has begun. */
struct limits {
  double far, near;
};

static inline struct limits limits_of(const struct search *search, const struct series *series,
                                      double top)
{
  double share_N = share_seen * (top - search->pull->zero_N);
  return (struct limits){top - (share_N > series->least_N ? share_N : series->least_N),
                         top - (share_N > series->near_N ? share_N : series->near_N)};
}

static void walk(struct search *search, const struct series *series)
{
  bool falling = false;
  size_t top_at = 0, low_at = 0;
  double top = value(series, 0), low = top;
  struct limits limit = limits_of(search, series, top);
  for (size_t i = 1; i < series->n; i++) {
    double x = value(series, i);
    if (!falling && x < top && x >= limit.near) continue; /* the usual case */
    if (falling && x < low) {
      low = x, low_at = i;
      continue;
    }
    if (falling) {
      double load = top - search->pull->zero_N;
      if (!(x > low + fmax(series->near_N, share_back * load))) continue;
      keep(search, series, top_at, low_at);
    }
    if (falling || x >= top) {
      top = x, top_at = i;
      limit = limits_of(search, series, top);
      falling = false;
    } else if (x < limit.near && (x < limit.far || i - top_at <= NEAR)) {
      low = x, low_at = i;
      falling = true;
    }
  }
}

/* Deviation of the values in a quiet stretch about their line; 0 if too few. */
static double scatter_of(const struct series *series, struct be_rows rows)
{
  if (!be_rows_any(rows) || rows.last + 1 < rows.first + series->width) return 0;
  size_t first = (rows.first + series->stride - 1) / series->stride;
  size_t past = (rows.last + 1 - series->width) / series->stride + 1;
  if (past > series->n) past = series->n;
  /* Means that overlap are worth a quarter each. */
  size_t apart = series->width / series->stride;
  if (past < first + QUIET_VALUES * apart) return 0;
  double n = (double)(past - first), middle = (n - 1) / 2, mean = 0, product = 0, squares = 0;
  for (size_t i = first; i < past; i++) mean += value(series, i) / n;
  for (size_t i = first; i < past; i++)
    product += ((double)(i - first) - middle) * (value(series, i) - mean);
  double slope = product / (n * (n * n - 1) / 12);
  for (size_t i = first; i < past; i++) {
    double rest = value(series, i) - mean - slope * ((double)(i - first) - middle);
    squares += rest * rest;
  }
  return sqrt(squares / (n - 2 * (double)apart));
}

/* ---- noise that lasts over rows ---- */

/* Deviation of the series as values a lag apart show it. Second differences do not
 * feel the slope, but a slip is in two of them. First differences above their median
 * do not feel slips, which are falls, but changes of the slope. Each shows the noise or
 * more, so the smaller is taken; the second kind not where the first is `enough` or less. */
static double apart_by(const struct series *series, size_t lag, double enough)
{
  double rise[LAG_PLACES], bend[LAG_PLACES];
  size_t room = series->n - 2 * lag, count = 0;
  size_t stride = room > LAG_PLACES ? room / LAG_PLACES : 1;
  for (size_t i = lag; count < LAG_PLACES && count * stride < room; i += stride) {
    double before = value(series, i - lag), at = value(series, i);
    rise[count] = at - before;
    bend[count++] = fabs(before - 2 * at + value(series, i + lag));
  }
  double bent = be_median(bend, count) / (0.6745 * sqrt(6.0));
  if (!(bent > enough)) return bent;
  /* be_median leaves the upper half in the upper half. */
  double middle = be_median(rise, count);
  double upper = be_median(rise + count / 2, count - count / 2);
  return fmin(bent, (upper - middle) / (0.6745 * sqrt(2.0)));
}

/* One relative deviation of what apart_by says: a median of absolute normal deviates
 * is good to 1.17 / sqrt(count), and places nearer than a lag share values. */
static double doubt_of(const struct series *series, size_t lag)
{
  return 1.17 / sqrt(fmin((double)(series->n / lag), LAG_PLACES));
}

/* The deviation of the series where longer lags show clearly more than neighbouring
 * rows do, by three deviations of the estimate; else 0.
 *
 * A second difference over two lags is the sum of four over one, so noise shows at the
 * double lag at most 4 times as much, and the less the longer the lags. A curve shows
 * exactly 4 times. So what the double lag shows 3 times or more of is not counted: of a
 * noise with a curve c times as large beside it, 1 + 16 c^2 < 9 (1 + c^2), what counts is
 * 4.4 times that noise at most. More than 4 times is a staircase of slips; it ends there,
 * or where two lags in succession show no more. */
static double lasting(const struct series *series, double plain)
{
  static const double as_a_curve = 3, as_a_staircase = 4;
  size_t lag = LEAST_LAG, last = series->n / LAG_SHARE;
  double enough = plain * (1 + 3 * doubt_of(series, lag)), most = 0;
  double here = apart_by(series, lag, enough);
  if (!(here > enough)) return 0;
  here *= 1 + doubt_of(series, lag);
  for (int same = 0; 2 * lag <= last && same < 2; lag *= 2) {
    double doubt = doubt_of(series, 2 * lag), next = apart_by(series, 2 * lag, 0) * (1 + doubt);
    if (next > as_a_staircase * (1 + 3 * doubt) * here) break;
    same = next > most || next >= here * (1 + doubt) ? 0 : same + 1;
    if (next < as_a_curve * here) most = fmax(most, fmax(here, next));
    here = next;
  }
  return most;
}

/* Where the highest 32nd of the steps from row to row begins, or with sign -1 of the
 * falls; of rows that are loaded enough to slip. */
static double steep(const struct search *search, double sign)
{
  double step[STEPS], *x = step, middle = 0;
  const double *row = search->pull->smooth;
  double least = search->pull->zero_N + share_of_rise * search->events->rise_N;
  size_t room = search->end - 1, n = 0, stride = room > STEPS ? room / STEPS : 1;
  for (size_t i = 0; i < room && n < STEPS; i += stride)
    if (row[i] >= least && row[i + 1] >= least) step[n++] = sign * (row[i + 1] - row[i]);
  /* be_median leaves the upper half in the upper half. */
  for (int halves = 0; halves < 5; halves++, x += n / 2, n -= n / 2) middle = be_median(x, n);
  return middle;
}

/* Noise goes up as it goes down. Where falls are at least twice as steep as rises, one
 * row in 32 and more, the line slips and is loaded again, tooth after tooth. */
static bool has_teeth(const struct search *search)
{
  double rise = steep(search, 1), fall = steep(search, -1);
  return fall > 2 * rise && fall > 0;
}

/* The deviation of a value of the series: what neighbouring rows say, or more where
 * longer lags or the unloaded ends show more, because the noise lasts over rows. A
 * width with too few values for either takes that of the last that had enough: means
 * of more rows scatter no more. */
static double deviation_of(struct search *search, const struct series *series, double rows)
{
  double plain = search->deviation / sqrt(rows);
  double slack = scatter_of(series, search->events->slack);
  double quiet = fmax(slack, scatter_of(series, search->events->tail));
  /* The scatter of few values has a deviation of its own, and up to three of
   * those are no reason to expect noise that lasts. */
  double doubt = 1 + 3 / sqrt(2.0 * QUIET_VALUES);
  if (quiet > 0) search->quiet_N = quiet > plain * doubt ? quiet : 0;
  /* The rows of a thinned trace are lows and highs in turn, no series. */
  bool in_turn = series->width == 1 && search->pull->trace->whole;
  if (!in_turn && series->n >= 2 * LEAST_LAG * LAG_SHARE)
    search->lasting_N = lasting(series, plain);
  if (search->lasting_N > 0 && series->width == 1 && has_teeth(search)) search->teeth = true;
  if (search->teeth) search->lasting_N = 0;
  return fmax(plain, fmax(search->quiet_N, search->lasting_N));
}

static void look(struct search *search, struct series *series, double rows)
{
  double deviation = deviation_of(search, series, rows);
  double m = series->among, of_two = sqrt(2.0) * deviation;
  series->least_N = be_noise_reach(m * m / 2, search->chance) * of_two;
  series->near_N = be_noise_reach(m * NEAR, search->chance) * of_two;
  walk(search, series);
}

/* ---- all widths ---- */

static void look_at_means(struct search *search)
{
  double *sums = search->pull->scratch;
  const double *x = search->pull->smooth;
  size_t rows = 1;
  while (search->end / rows >= CELLS_MOST) rows *= 2;
  size_t cells = search->end / rows;
  /* Sums need one place more than there are cells: with one row a cell the last is left out. */
  if (cells == search->pull->trace->n) cells--;
  double sum = sums[0] = 0;
  for (size_t i = 0; i < cells; i++) {
    for (size_t k = 0; k < rows; k++) sum += x[i * rows + k];
    sums[i + 1] = sum;
  }
  for (size_t span = LEAST_CELLS; span * LEAST_WIDTHS <= cells; span *= 2) {
    size_t step = span / LEAST_CELLS;
    struct series series = {.x = sums,
                            .n = (cells - span) / step + 1,
                            .stride = step * rows,
                            .width = span * rows,
                            .step = step,
                            .span = span,
                            .part = 1 / (double)(span * rows)};
    series.among = (double)series.n;
    double width = (double)series.width;
    look(search, &series, width / (median_variance - 1 / width));
  }
}

/* Sorts by row: there are few, and most come in order. */
static void sort(struct be_slip *slips, size_t count)
{
  for (size_t i = 1; i < count; i++)
    for (size_t k = i; k > 0 && slips[k].from_row < slips[k - 1].from_row; k--) {
      struct be_slip kept = slips[k];
      slips[k] = slips[k - 1];
      slips[k - 1] = kept;
    }
}

static void recover(const struct search *search, size_t at)
{
  const struct be_trace *trace = search->pull->trace;
  struct be_slip *slip = &search->events->slips[at];
  const double *x = search->pull->smooth, *t = trace->time_s;
  size_t end = at + 1 < search->count ? slip[1].from_row + 1 : search->end;
  slip->recovered_N = slip->to_N;
  slip->recovered_row = trace->n;
  for (size_t i = slip->to_row; i < end; i++) {
    slip->recovered_N = fmax(slip->recovered_N, trace->force_N[i]);
    if (slip->recovered_row == trace->n && x[i] >= slip->from_N) slip->recovered_row = i;
  }
  slip->fall_s = t ? t[slip->to_row] - t[slip->from_row] : NAN;
  bool back = t && slip->recovered_row < trace->n;
  slip->recovery_s = back ? t[slip->recovered_row] - t[slip->to_row] : NAN;
}

void be_slips_find(const struct be_pull *pull, struct be_trace_events *events)
{
  const struct be_trace *trace = pull->trace;
  struct search search = {.pull = pull, .events = events};
  /* After the load let go there is only recoil. */
  search.end = events->ending == BE_ENDED_BROKE   ? events->end_row
               : events->ending == BE_ENDED_FADED ? events->end_low_row + 1
                                                  : trace->n;
  if (search.end > trace->n) search.end = trace->n;
  size_t seen = trace->n > BE_NOISE_ROWS ? BE_NOISE_ROWS : trace->n;
  double doubt = 1 + 1 / sqrt((double)seen);
  search.deviation = events->noise_N * doubt;
  if (!(events->rise_N > 0) || search.end < 3) return;
  size_t widths = 1;
  for (size_t span = LEAST_CELLS; span * LEAST_WIDTHS <= search.end; span *= 2) widths++;
  search.chance = false_alarm / (2.0 * (double)widths); /* two: from near and from far */
  /* Few rows leave no neighbours to smooth by: then each stands for itself. A
   * median of three has, far out, the tails of a mean of two. */
  bool few = events->peak_row < 20, thinned = trace->whole != NULL;
  struct series rows = {.x = few ? trace->force_N : pull->smooth,
                        .n = search.end,
                        .among = (double)(thinned ? trace->rows : search.end),
                        .stride = 1,
                        .width = 1,
                        .step = 1};
  look(&search, &rows, few || thinned ? 1 : 2);
  search.deviation = pull->noise_N * doubt;
  if (!few) look_at_means(&search);
  sort(events->slips, search.count);
  for (size_t i = 0; i < search.count; i++) {
    recover(&search, i);
    if (events->slips[i].to_row <= events->peak_row) events->slips_count = i + 1;
  }
  events->slips_after = search.count - events->slips_count;
}
