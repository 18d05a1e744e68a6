/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "chart/inside.h"

#include <math.h>
#include <stdio.h>

enum { TICKS_MAX = 200 };

double be_scale_px(const struct scale *scale, double value)
{
  double part = (value - scale->low) / (scale->high - scale->low);
  part = part < 0 ? 0 : part > 1 ? 1 : part;
  return scale->start + part * (scale->end - scale->start);
}

static void include(struct scale *range, double value)
{
  if (!isfinite(value)) return;
  if (value < range->low) range->low = value;
  if (value > range->high) range->high = value;
}

struct scale be_axis_range(const struct be_figure *figure, bool along_x)
{
  const struct axis *axis = along_x ? &figure->x : &figure->y;
  struct scale range = {.low = axis->low, .high = axis->high};
  for (size_t i = 0; i < figure->item_count; i++) {
    const struct item *item = &figure->items[i];
    const double *points = item->points ? item->points + (along_x ? 0 : item->count) : NULL;
    for (size_t k = 0; points && k < item->count; k++) include(&range, points[k]);
    if (item->kind == ITEM_LINE || item->kind == ITEM_BRACKET) continue;
    if (item->kind == (along_x ? ITEM_RULE_Y : ITEM_RULE_X)) continue;
    include(&range, along_x ? item->x : item->y);
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

struct ticks be_axis_ticks(const struct scale *scale, bool integers, double spacing)
{
  double length = fabs(scale->end - scale->start);
  double room = floor(length / spacing);
  double raw = (scale->high - scale->low) / (room < 1 ? 1 : room);
  double power = pow(10, floor(log10(raw)));
  /* 1e-9: a step that misses its multiple only by rounding is that multiple. */
  double over = raw / power - 1e-9;
  struct ticks ticks = {.step = power * (over <= 1 ? 1 : over <= 2 ? 2 : over <= 5 ? 5 : 10)};
  if (integers && ticks.step < 1) ticks.step = 1;
  ticks.first = integers ? ceil(scale->low) : ceil(scale->low / ticks.step - 1e-9) * ticks.step;
  double count = floor((scale->high - ticks.first) / ticks.step + 1e-9) + 1;
  ticks.count = !(count > 0) ? 0 : count > TICKS_MAX ? TICKS_MAX : (size_t)count;
  if (ticks.step < 1) ticks.decimals = (int)ceil(-log10(ticks.step) - 1e-9);
  return ticks;
}

void be_tick_text(const struct ticks *ticks, size_t i, char text[32])
{
  double value = ticks->first + (double)i * ticks->step;
  if (fabs(value) < ticks->step / 2) value = 0; /* no "-0" */
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
