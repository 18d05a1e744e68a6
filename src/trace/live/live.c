/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rules are ours, the words common practice, no source. A zero is steady when the means of
 * sixteen stretches of time lie within half the preload of one another; sixteen, because fewer may
 * agree by chance on a slow ramp, and stretches of time, because thirty samples at 10 kHz would see
 * no ramp at all. A slip is what methods.md, 52, calls one, as far as it can be told by now: a fall
 * of 3 % of the load, and more than noise makes, of which half was taken up again. */
#include "trace/trace.h"

#include <math.h>

enum { TOUCH = 3, NOISES = 12 };
static const double slip_fall = 0.03, slip_rise = 0.5;

const char *be_live_word(enum be_live_phase phase)
{
  static const char *const words[] = {
#define X(code, word) [code] = word,
      BE_LIVE_LIST(X)
#undef X
  };
  return words[phase];
}

static double or_usual(double asked, double usual)
{
  return asked > 0 ? asked : usual;
}

void be_live_start(struct be_live *live, const struct be_live_settings *settings)
{
  static const struct be_live_settings none = {0};
  if (!settings) settings = &none;
  *live = (struct be_live){
      .phase = BE_LIVE_UNSTEADY,
      .zero_N = NAN,
      .noise_N = NAN,
      .load_N = NAN,
      .last_s = NAN,
      .by = {.preload_N = settings->preload_N,
             .zero_most_N = or_usual(settings->zero_most_N, INFINITY),
             .let_go = or_usual(settings->let_go, 0.2),
             .rest_s = or_usual(settings->rest_s, 1),
             .silence_s = or_usual(settings->silence_s, 2)},
  };
  be_live_next(live);
}

void be_live_next(struct be_live *live)
{
  live->phase = BE_LIVE_UNSTEADY;
  live->peak_N = live->peak_s = live->began_s = live->let_go_s = live->down_s = NAN;
  live->slip_N = live->slip_s = NAN;
  live->began = live->let_go = live->done = live->silences = live->slips = live->above = 0;
  live->buckets = live->in_bucket = 0;
  live->sum_N = 0;
  live->over = false;
}

/* Above zero by so much a pull has begun. */
static double preload(const struct be_live *live)
{
  if (live->by.preload_N > 0) return live->by.preload_N;
  double by_noise = NOISES * live->noise_N;
  return by_noise > 1 ? by_noise : 1;
}

/* ---- steady ---- */

/* The mean size of the difference of two normal neighbours is 2 / sqrt(pi) deviations. A knock
 * counts as a large difference, not as what it was. */
static void learn_noise(struct be_live *live, double force_N)
{
  static const double memory = 64, knock = 4;
  if (isnan(live->last_s)) return;
  double seen = (double)live->samples, size = fabs(force_N - live->last_N);
  if (seen > BE_LIVE_BUCKETS && size > knock * live->step_N) size = knock * live->step_N;
  live->step_N += (size - live->step_N) / (seen < memory ? seen : memory);
  live->noise_N = live->step_N * 0.886226925452758;
}

static void fill_bucket(struct be_live *live, double time_s, double force_N)
{
  double width = live->by.rest_s / BE_LIVE_BUCKETS;
  if (live->in_bucket > 0 && time_s - live->bucket_s >= width) {
    live->bucket_N[live->buckets++ % BE_LIVE_BUCKETS] = live->sum_N / (double)live->in_bucket;
    live->in_bucket = 0;
    live->sum_N = 0;
  }
  if (live->in_bucket++ == 0) live->bucket_s = time_s;
  live->sum_N += force_N;
}

/* Whether it is steady, and where: without the newest stretches, in which a pull may have begun. */
static bool is_steady(const struct be_live *live, double *mean_N)
{
  enum { NEWEST = BE_LIVE_BUCKETS / 4 };
  double low = INFINITY, high = -INFINITY, sum = 0;
  if (live->buckets < BE_LIVE_BUCKETS) return false;
  for (size_t i = 0; i < BE_LIVE_BUCKETS; i++) { /* from the oldest on */
    double value = live->bucket_N[(live->buckets + i) % BE_LIVE_BUCKETS];
    if (i < BE_LIVE_BUCKETS - NEWEST) sum += value;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  *mean_N = sum / (BE_LIVE_BUCKETS - NEWEST);
  return high - low <= preload(live) / 2;
}

/* Waiting: the zero is learnt, and follows what drifts slowly. */
static void wait_for_pull(struct be_live *live, double time_s, double force_N)
{
  double mean_N = 0;
  bool rising = live->phase == BE_LIVE_READY && force_N - live->zero_N > preload(live);
  live->above = rising ? live->above + 1 : 0;
  if (live->above == 1) {
    live->began = live->samples;
    live->began_s = live->last_s;
  }
  if (live->above == 2) {
    live->phase = BE_LIVE_PULLING;
    live->peak_N = live->last_N - live->zero_N;
    live->peak_s = live->last_s;
    live->top_N = live->low_N = live->peak_N;
    live->top_s = live->peak_s;
    return;
  }
  if (rising) return;
  learn_noise(live, force_N);
  fill_bucket(live, time_s, force_N);
  if (!is_steady(live, &mean_N)) return;
  bool near = live->phase != BE_LIVE_READY || fabs(mean_N - live->zero_N) < preload(live) / 2;
  if (fabs(mean_N) > live->by.zero_most_N) live->phase = BE_LIVE_LOADED;
  else if (near) live->phase = BE_LIVE_READY;
  if (live->phase == BE_LIVE_READY && near) live->zero_N = mean_N;
}

/* ---- pulling ---- */

static void finish(struct be_live *live)
{
  if (live->peak_N < TOUCH * preload(live) && !live->over) {
    size_t touches = live->touches + 1;
    be_live_next(live);
    live->touches = touches;
    return;
  }
  live->phase = BE_LIVE_DONE;
  live->done = live->samples;
}

static void follow_slips(struct be_live *live, double time_s)
{
  double fall = live->top_N - live->low_N, least = NOISES * live->noise_N;
  if (live->load_N < live->low_N) live->low_N = live->load_N;
  bool slipped = fall >= slip_fall * live->top_N && fall > least &&
                 live->load_N - live->low_N >= slip_rise * fall;
  if (slipped) {
    live->slips++;
    live->slip_N = live->top_N;
    live->slip_s = live->top_s;
  }
  if (!slipped && live->load_N <= live->top_N) return;
  live->top_N = live->low_N = live->load_N;
  live->top_s = time_s;
}

/* Below a share of the peak it has let go, and above half as much again it pulls on: lines that
 * slip are taken up again. At rest below the preload it is done; a strand that still carries
 * keeps it from that until somebody lets it down. */
static void follow_pull(struct be_live *live, double time_s)
{
  double limit = live->by.let_go * live->peak_N;
  follow_slips(live, time_s);
  if (live->load_N > live->peak_N) {
    live->peak_N = live->load_N;
    live->peak_s = time_s;
  }
  if (live->phase == BE_LIVE_PULLING && live->load_N < limit) {
    live->phase = BE_LIVE_LET_GO;
    live->let_go = live->samples;
    live->let_go_s = time_s;
  } else if (live->phase == BE_LIVE_LET_GO && live->load_N > 1.5 * limit) {
    live->phase = BE_LIVE_PULLING;
    live->let_go_s = NAN;
  }
  bool down = live->phase == BE_LIVE_LET_GO && live->load_N < preload(live);
  if (!down) live->down_s = NAN;
  else if (isnan(live->down_s)) live->down_s = time_s;
  if (down && time_s - live->down_s >= live->by.rest_s) finish(live);
}

enum be_live_phase be_live_take(struct be_live *live, double time_s, double force_N)
{
  if (live->phase == BE_LIVE_DONE || isnan(force_N)) return live->phase;
  if (live->phase == BE_LIVE_SILENT) live->phase = live->before;
  bool pulls = live->phase == BE_LIVE_PULLING || live->phase == BE_LIVE_LET_GO;
  if (isinf(force_N)) {
    live->over = live->over || pulls;
  } else {
    live->load_N = force_N - live->zero_N;
    if (pulls) follow_pull(live, time_s);
    else wait_for_pull(live, time_s, force_N);
    live->last_N = force_N;
  }
  live->last_s = time_s;
  live->samples++;
  return live->phase;
}

enum be_live_phase be_live_tick(struct be_live *live, double now_s)
{
  bool waiting = live->phase != BE_LIVE_DONE && live->phase != BE_LIVE_SILENT;
  if (!waiting || isnan(live->last_s) || now_s - live->last_s < live->by.silence_s)
    return live->phase;
  live->silences += live->phase == BE_LIVE_PULLING || live->phase == BE_LIVE_LET_GO;
  live->before = live->phase;
  live->phase = BE_LIVE_SILENT;
  return live->phase;
}
