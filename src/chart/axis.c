/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "chart/inside.h"

#include <math.h>
#include <stdio.h>

enum { TICKS_MAX = 200 };

/* What the scaling cannot take lies beyond its end. */
static double warp(enum be_scaling scaling, double value)
{
  switch (scaling) {
  case BE_SCALING_LOG: return value > 0 ? log(value) : -INFINITY;
  case BE_SCALING_WEIBULL:
    return value <= 0 ? -INFINITY : value >= 100 ? INFINITY : log(-log1p(-value / 100));
  case BE_SCALING_EVEN: break;
  }
  return value;
}

double be_scale_px(const struct scale *scale, double value)
{
  double low = warp(scale->scaling, scale->low), high = warp(scale->scaling, scale->high);
  double part = (warp(scale->scaling, value) - low) / (high - low);
  part = part < 0 ? 0 : part > 1 ? 1 : part;
  return scale->start + part * (scale->end - scale->start);
}

static void include(struct scale *range, double value)
{
  if (!isfinite(value) || !isfinite(warp(range->scaling, value))) return;
  if (value < range->low) range->low = value;
  if (value > range->high) range->high = value;
}

struct scale be_axis_range(const struct be_figure *figure, bool along_x)
{
  const struct axis *axis = along_x ? &figure->x : &figure->y;
  struct scale range = {.scaling = axis->scaling, .low = axis->low, .high = axis->high};
  for (size_t i = 0; i < figure->item_count; i++) {
    const struct item *item = &figure->items[i];
    const double *points = item->points ? item->points + (along_x ? 0 : item->count) : NULL;
    for (size_t k = 0; points && k < item->count; k++) include(&range, points[k]);
    if (item->kind == ITEM_LINE || item->kind == ITEM_BRACKET || item->kind == ITEM_KEY) continue;
    if (item->kind == (along_x ? ITEM_RULE_Y : ITEM_RULE_X)) continue;
    include(&range, along_x ? item->x : item->y);
    if (item->kind == ITEM_BOX) include(&range, along_x ? item->x2 : item->y2);
    if (along_x && item->kind == ITEM_SPAN) include(&range, item->x2);
  }
  /* An axis of no length has no scale: give it one around its value. */
  if (!(range.high > range.low)) {
    double half = range.low == 0 ? 1 : fabs(range.low) / 2;
    range.low -= half;
    range.high += half;
  }
  return range;
}

/* 1, 2 or 5 times a power of ten, at least as much. */
static double step_from(double raw)
{
  double power = pow(10, floor(log10(raw)));
  /* 1e-9: a step that misses its multiple only by rounding is that multiple. */
  double over = raw / power - 1e-9;
  return power * (over <= 1 ? 1 : over <= 2 ? 2 : over <= 5 ? 5 : 10);
}

/* At least `spacing` px. */
static double step_of(const struct scale *scale, double spacing)
{
  double length = fabs(scale->end - scale->start);
  double room = floor(length / spacing);
  return step_from((scale->high - scale->low) / (room < 1 ? 1 : room));
}

/* Of a list those that lie far enough apart. */
static void list_ticks(struct ticks *ticks, const struct scale *scale, const double *values,
                       size_t count, double spacing)
{
  double last = NAN;
  for (size_t i = 0; i < count && ticks->count < TICKS_LISTED; i++) {
    double px = be_scale_px(scale, values[i]);
    if (values[i] < scale->low * (1 - 1e-9) || values[i] > scale->high * (1 + 1e-9)) continue;
    if (fabs(px - last) < spacing) continue;
    ticks->list[ticks->count++] = values[i];
    last = px;
  }
}

/* In even steps, so wide that labels have room where the scaling crowds them most. */
static void even_ticks(struct ticks *ticks, const struct scale *scale, double spacing)
{
  for (double room = 2 * spacing; room > 4 && ticks->count < 2; room /= 2) {
    double values[TICKS_MAX], step = step_of(scale, room);
    size_t count = 0;
    for (double at = ceil(scale->low / step) * step; count < TICKS_MAX && at <= scale->high;
         at += step)
      values[count++] = at;
    ticks->count = 0;
    list_ticks(ticks, scale, values, count, spacing);
  }
}

static struct ticks uneven_ticks(const struct scale *scale, double spacing)
{
  static const double shares[] = {0.1, 0.2, 0.5, 1,  2,  5,  10, 20,   30,
                                  50,  70,  80,  90, 95, 98, 99, 99.5, 99.9};
  struct ticks ticks = {.listed = true};
  if (scale->scaling == BE_SCALING_WEIBULL) {
    list_ticks(&ticks, scale, shares, sizeof shares / sizeof shares[0], spacing);
    return ticks;
  }
  if (scale->high / scale->low < 30) {
    even_ticks(&ticks, scale, spacing);
    return ticks;
  }
  static const double of[] = {1, 2, 5};
  double values[60], power = pow(10, floor(log10(scale->low)));
  for (size_t i = 0; i < 60; i++) {
    values[i] = power * of[i % 3];
    if (i % 3 == 2) power *= 10;
  }
  list_ticks(&ticks, scale, values, 60, spacing);
  return ticks;
}

double be_tick_at(const struct ticks *ticks, size_t i)
{
  return ticks->listed ? ticks->list[i] : ticks->first + (double)i * ticks->step;
}

struct ticks be_axis_ticks(const struct scale *scale, bool integers, double spacing)
{
  if (scale->scaling != BE_SCALING_EVEN) return uneven_ticks(scale, spacing);
  struct ticks ticks = {.step = step_of(scale, spacing)};
  double length = fabs(scale->end - scale->start), range = scale->high - scale->low;
  /* One tick is no scale: then to the pixel. */
  if (range < 2 * ticks.step && length > spacing) ticks.step = step_from(range * spacing / length);
  if (integers && ticks.step < 1) ticks.step = 1;
  ticks.first = integers ? ceil(scale->low) : ceil(scale->low / ticks.step - 1e-9) * ticks.step;
  double count = floor((scale->high - ticks.first) / ticks.step + 1e-9) + 1;
  ticks.count = !(count > 0) ? 0 : count > TICKS_MAX ? TICKS_MAX : (size_t)count;
  if (ticks.step < 1) ticks.decimals = (int)ceil(-log10(ticks.step) - 1e-9);
  return ticks;
}

void be_tick_text(const struct ticks *ticks, size_t i, char text[32])
{
  double value = be_tick_at(ticks, i);
  if (ticks->listed) {
    snprintf(text, 32, "%.6g", value);
    return;
  }
  if (fabs(value) < 1e-6 * ticks->step) value = 0; /* no "-0" */
  if (fabs(value) < 1e9 && ticks->decimals < 10) snprintf(text, 32, "%.*f", ticks->decimals, value);
  else snprintf(text, 32, "%g", value);
}

double be_ticks_width(const struct ticks *ticks)
{
  double widest = 0;
  for (size_t i = 0; i < ticks->count; i++) {
    char text[32];
    be_tick_text(ticks, i, text);
    double width = be_text_width(text, SMALL_TEXT);
    if (width > widest) widest = width;
  }
  return widest;
}
