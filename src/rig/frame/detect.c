/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which kind of frames some bytes are. Each trial reads them all; one stands when
 * it understood nearly everything and what is special to it was there. Of those that
 * stand the first in the table wins, for it asks the most; two that explain the
 * bytes as well and differ in the numbers they give are asked about. */
#include "rig/frame/inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { SAMPLES_LEAST = 3, LOOKED_AT_MAX = 65536 };
/* A banner or a line cut at the start is allowed among some 20 frames. */
static const double understood_least = 0.8;

struct stats {
  const char *bytes;
  size_t size;
  struct be_rig_sample previous;
  size_t status, weak, powers, figures, plausible;
  size_t steps, falls, ones, fractions; /* of the first column */
  double first_time, last_time, step_max;
  double variation, magnitude; /* sums of |difference| and of |value| */
  struct be_frame_candidate *candidate;
};

static void add_preview(void *context, const struct be_rig_sample *sample)
{
  struct be_frame_candidate *candidate = context;
  if (candidate->preview_count < BE_FRAME_PREVIEW)
    candidate->preview[candidate->preview_count++] = *sample;
}

/* Written in figures. */
static bool has_figures(const struct stats *stats, const struct be_rig_sample *sample)
{
  for (size_t i = 0; i < sample->length; i++)
    if (!memchr("0123456789+-.,eE ", stats->bytes[sample->offset + i], 17)) return false;
  return true;
}

/* With a power of ten: 1.2E+01. */
static bool has_power(const struct stats *stats, const struct be_rig_sample *sample)
{
  for (size_t i = 0; i < sample->length; i++)
    if ((stats->bytes[sample->offset + i] | 0x20) == 'e') return true;
  return false;
}

static void look_at_times(struct stats *stats, const struct be_rig_sample *sample)
{
  double t = sample->rig_time_s;
  stats->fractions += floor(t) < t;
  stats->last_time = t;
  if (stats->candidate->samples == 0) {
    stats->first_time = t;
    return;
  }
  double step = t - stats->previous.rig_time_s;
  stats->steps++;
  stats->falls += !(step > 0);
  stats->ones += step >= 1 && step <= 1;
  if (step > stats->step_max) stats->step_max = step;
}

static void look_at_sample(void *context, const struct be_rig_sample *sample)
{
  static const unsigned states = BE_SAMPLE_STABLE | BE_SAMPLE_MOVING | BE_SAMPLE_GROSS |
                                 BE_SAMPLE_NET | BE_SAMPLE_OVER | BE_SAMPLE_UNDER | BE_SAMPLE_ERROR;
  struct stats *stats = context;
  struct be_frame_candidate *candidate = stats->candidate;
  candidate->understood += sample->length;
  add_preview(candidate, sample);
  /* A column that lacks its first figures is no evidence. */
  if (sample->flags & BE_SAMPLE_FIRST) return;
  unsigned said = sample->flags & states;
  stats->status += said != 0;
  stats->weak += !sample->unit && (said == BE_SAMPLE_NET || said == BE_SAMPLE_GROSS);
  stats->powers += has_power(stats, sample);
  stats->figures += has_figures(stats, sample);
  double size = fabs(sample->value);
  if (!(size > 0) || (size > 1e-3 && size < 1e7)) stats->plausible += !isnan(size);
  if (candidate->samples && !isnan(size) && !isnan(stats->previous.value))
    stats->variation += fabs(sample->value - stats->previous.value);
  if (!isnan(size)) stats->magnitude += size;
  if (!isnan(sample->rig_time_s)) look_at_times(stats, sample);
  candidate->samples++;
  stats->previous = *sample;
}

/* ---- what is special to a kind ---- */

static bool needs_nothing(struct stats *stats)
{
  snprintf(stats->candidate->why, sizeof stats->candidate->why, "%zu lines hold a number each",
           stats->candidate->samples);
  return true;
}

static bool needs_status(struct stats *stats)
{
  snprintf(stats->candidate->why, sizeof stats->candidate->why,
           "%zu of %zu lines begin with a word of status", stats->status,
           stats->candidate->samples);
  return 10 * stats->status >= 9 * stats->candidate->samples;
}

/* N or G alone may be newton or gram, unless the frames begin with STX; then both
 * kinds stand, and it is asked. */
static bool needs_letters(struct stats *stats)
{
  snprintf(stats->candidate->why, sizeof stats->candidate->why,
           "%zu of %zu lines have letters of status", stats->status, stats->candidate->samples);
  return 2 * stats->status >= stats->candidate->samples &&
         (stats->status > stats->weak || memchr(stats->bytes, 0x02, stats->size));
}

static bool needs_powers(struct stats *stats)
{
  snprintf(stats->candidate->why, sizeof stats->candidate->why,
           "%zu numbers with powers of ten, as IEEE 488.2 writes them (NR3)", stats->powers);
  return stats->powers == stats->candidate->samples;
}

static bool needs_block(struct stats *stats)
{
  snprintf(stats->candidate->why, sizeof stats->candidate->why,
           "blocks of binary numbers with their length in front (IEEE 488.2)");
  return stats->plausible == stats->candidate->samples &&
         10 * stats->figures < stats->candidate->samples;
}

static bool needs_check(struct stats *stats)
{
  snprintf(stats->candidate->why, sizeof stats->candidate->why, "%zu answers whose check is right",
           stats->candidate->samples);
  return true;
}

static double mean_step(const struct stats *stats)
{
  return stats->steps ? (stats->last_time - stats->first_time) / (double)stats->steps : NAN;
}

/* Rises always and without leaps. */
static bool is_clock(const struct stats *stats)
{
  return stats->steps >= SAMPLES_LEAST && stats->falls == 0 &&
         stats->step_max < 5 * mean_step(stats);
}

/* A line may have been lost. */
static bool mostly_ones(const struct stats *stats)
{
  return 10 * stats->ones >= 9 * stats->steps;
}

static bool needs_ones(struct stats *stats)
{
  snprintf(stats->candidate->why, sizeof stats->candidate->why,
           "the first column rises by one from line to line");
  return is_clock(stats) && mostly_ones(stats);
}

static bool rises_by(struct stats *stats, double second, bool fine)
{
  double step = mean_step(stats);
  snprintf(stats->candidate->why, sizeof stats->candidate->why,
           "the first column rises steadily, by %.4g: %.4g lines a second", step, second / step);
  return is_clock(stats) && fine && !mostly_ones(stats);
}

/* Whole steps below 2000 are milliseconds, for microseconds would make more than 500
 * lines a second of a bench that prints text; above, milliseconds would make less
 * than one in two seconds. */
static bool needs_seconds(struct stats *stats)
{
  return rises_by(stats, 1, stats->fractions > 0 && mean_step(stats) < 10);
}

static bool needs_ms(struct stats *stats)
{
  double step = mean_step(stats);
  return rises_by(stats, 1e3, step < 2000 && (stats->fractions == 0 || step >= 10));
}

static bool needs_us(struct stats *stats)
{
  return rises_by(stats, 1e6, mean_step(stats) >= 2000 && stats->fractions == 0);
}

/* The counts of `counted` are not in its samples: seconds tell them as well. */
static const struct trial {
  const char *kind, *settings, *read_as;
  bool (*needs)(struct stats *stats);
} trials[] = {
    {"modbus-rtu", "device=0 function=3 order=abcd", NULL, needs_check},
    {"modbus-rtu", "device=0 function=4 order=abcd", NULL, needs_check},
    {"modbus-tcp", "device=0 function=3 order=abcd", NULL, needs_check},
    {"modbus-tcp", "device=0 function=4 order=abcd", NULL, needs_check},
    {"scpi", "block=real32 border=normal", NULL, needs_block},
    {"scpi", "block=real32 border=swapped", NULL, needs_block},
    {"scpi", "block=real64 border=normal", NULL, needs_block},
    {"scpi", "block=real64 border=swapped", NULL, needs_block},
    {"header", "", NULL, needs_status},
    {"letters", "", NULL, needs_letters},
    {"counted", "", "timed-s", needs_ones},
    {"timed-s", "", NULL, needs_seconds},
    {"timed-ms", "", "timed-s", needs_ms},
    {"timed-us", "", "timed-s", needs_us},
    {"scpi", "", NULL, needs_powers},
    {"number", "", NULL, needs_nothing},
};
enum { TRIALS = sizeof trials / sizeof trials[0] };

/* ---- reading ---- */

static enum be_status read_as(const char *kind, const char *settings, struct stats *stats,
                              struct be_err *err)
{
  struct be_frames *frames = NULL;
  enum be_status status = be_frames_create(kind, settings, &frames, err);
  if (status != BE_OK) return status;
  be_frames_restart(frames, false);
  be_frames_feed(frames, stats->bytes, stats->size, 0, look_at_sample, stats);
  double garbage = (double)be_frames_counted(frames).garbage, all = garbage;
  all += stats->candidate->understood;
  stats->candidate->understood = all > 0 ? stats->candidate->understood / all : 0;
  be_frames_free(frames);
  return BE_OK;
}

/* The first samples as the kind itself reads them, which another read for it. */
static enum be_status preview_again(const struct stats *stats, struct be_err *err)
{
  struct be_frames *frames = NULL;
  enum be_status status = be_frames_create(stats->candidate->kind, "", &frames, err);
  if (status != BE_OK) return status;
  stats->candidate->preview_count = 0;
  be_frames_restart(frames, false);
  be_frames_feed(frames, stats->bytes, stats->size, 0, add_preview, stats->candidate);
  be_frames_free(frames);
  return BE_OK;
}

static enum be_status hold(const struct trial *trial, struct stats *stats, bool *stands,
                           struct be_err *err)
{
  const char *reader = trial->read_as ? trial->read_as : trial->kind;
  struct be_frame_candidate *candidate = stats->candidate;
  *candidate = (struct be_frame_candidate){.kind = trial->kind};
  *stands = false;
  if (trial->needs == needs_block && !memchr(stats->bytes, '#', stats->size)) return BE_OK;
  snprintf(candidate->settings, sizeof candidate->settings, "%s", trial->settings);
  enum be_status status = read_as(reader, trial->settings, stats, err);
  if (status != BE_OK) return status;
  *stands = candidate->samples >= SAMPLES_LEAST && candidate->understood >= understood_least &&
            trial->needs(stats);
  return *stands && reader != trial->kind ? preview_again(stats, err) : BE_OK;
}

/* ---- the order of the bytes of a float ---- */

/* Loads lie between a thousandth and ten million, and change little from one to the
 * next: relative to their size, far less than the same bytes in a wrong order. */
static double roughness(const struct stats *stats)
{
  if (stats->plausible < stats->candidate->samples) return INFINITY;
  return stats->magnitude > 0 ? stats->variation / stats->magnitude : 0;
}

static enum be_status settle_order(struct stats *stats, bool *sure, struct be_err *err)
{
  static const char *const orders[] = {"abcd", "cdab", "badc", "dcba"};
  struct be_frame_candidate best = *stats->candidate, *candidate = stats->candidate;
  double least = INFINITY, second = INFINITY;
  unsigned device =
      (unsigned char)
          stats->bytes[best.preview[0].offset + (strcmp(best.kind, "modbus-tcp") == 0 ? 6 : 0)];
  const char *function = strstr(best.settings, "function=4") ? "4" : "3";
  for (int i = 0; i < 4; i++) {
    struct stats again = {.bytes = stats->bytes, .size = stats->size, .candidate = candidate};
    *candidate = (struct be_frame_candidate){.kind = best.kind};
    snprintf(candidate->settings, sizeof candidate->settings, "device=%u function=%s order=%s",
             device, function, orders[i]);
    enum be_status status = read_as(best.kind, candidate->settings, &again, err);
    if (status != BE_OK) return status;
    double rough = roughness(&again);
    if (rough < least) {
      second = least;
      least = rough;
      memcpy(candidate->why, best.why, sizeof best.why);
      best = *candidate;
    } else if (rough < second) {
      second = rough;
    }
  }
  *candidate = best;
  *sure = least < second / 4 || (isinf(second) && !isinf(least));
  return BE_OK;
}

/* ---- deciding ---- */

static bool same_number(double x, double y)
{
  return (isnan(x) && isnan(y)) || !(x < y || x > y || isnan(x) || isnan(y));
}

/* Whether two candidates give other numbers, as far as the preview goes. */
static bool differ(const struct be_frame_candidate *a, const struct be_frame_candidate *b)
{
  for (size_t i = 0; i < a->preview_count && i < b->preview_count; i++) {
    const struct be_rig_sample *x = &a->preview[i], *y = &b->preview[i];
    if (!same_number(x->value, y->value) || !same_number(x->force_N, y->force_N)) return true;
  }
  return a->preview_count != b->preview_count;
}

/* Clearly less of the bytes. */
static bool understands_less(const struct be_frame_candidate *a, const struct be_frame_candidate *b)
{
  return a->understood < b->understood - 0.02;
}

static void decide(struct be_frame_detection *detection, bool order_sure)
{
  struct be_frame_candidate *first = &detection->candidates[0], *second = first + 1;
  for (size_t k = 1; k < detection->count; k++)
    for (size_t i = k; i > 0 && understands_less(first + i - 1, first + i); i--) {
      struct be_frame_candidate swapped = first[i];
      first[i] = first[i - 1];
      first[i - 1] = swapped;
    }
  if (detection->count == 0) {
    detection->found = BE_NO;
    snprintf(detection->why, sizeof detection->why,
             "no kind of frames reads this: is the speed of the line right?");
    return;
  }
  detection->found = BE_OK;
  snprintf(detection->why, sizeof detection->why, "%s: %s", first->kind, first->why);
  if (!order_sure) {
    detection->found = BE_ASK;
    snprintf(detection->why, sizeof detection->why,
             "%s, but the order of the bytes cannot be told: load the cell a little, or set order",
             first->kind);
  } else if (detection->count > 1 && !understands_less(second, first) && differ(first, second)) {
    detection->found = BE_ASK;
    snprintf(detection->why, sizeof detection->why,
             "%s or %s: choose the one whose preview shows the load", first->kind, second->kind);
  }
}

enum be_status be_frames_detect(const char *bytes, size_t size,
                                struct be_frame_detection *detection, struct be_err *err)
{
  bool order_sure = true;
  *detection = (struct be_frame_detection){.found = BE_NO};
  if (size > LOOKED_AT_MAX) size = LOOKED_AT_MAX;
  for (size_t i = 0; i < TRIALS && detection->count < BE_FRAME_CANDIDATES; i++) {
    bool stands = false, sure = false;
    struct stats stats = {.bytes = bytes, .size = size};
    stats.candidate = &detection->candidates[detection->count];
    enum be_status status = hold(&trials[i], &stats, &stands, err);
    if (status == BE_OK && stands && trials[i].needs == needs_check)
      status = settle_order(&stats, &order_sure, err);
    if (status != BE_OK) return status;
    detection->count += stands;
    /* A check or a length that is right leaves no doubt. */
    sure = trials[i].needs == needs_check || trials[i].needs == needs_block;
    if (stands && sure) break;
  }
  decide(detection, order_sure);
  return BE_OK;
}
