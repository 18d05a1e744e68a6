/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The check weights of a bench as series: a weight each, since a calibration is in force. */
#include "app/rig/trust.h"

#include <math.h>
#include <string.h>

double be_rig_indicated(const struct worked *worked, const struct be_check_weight *weight)
{
  const struct be_unit *unit =
      weight->unit ? be_unit_find(weight->unit, strlen(weight->unit)) : NULL;
  struct be_rig_sample sample = {.value = weight->reading, .unit = unit};
  if (!worked) return unit && unit->dimension == BE_FORCE ? weight->reading * unit->factor : NAN;
  be_rig_calibrate(&worked->kept->is, &worked->fit, &sample, 1);
  return sample.force_N;
}

static bool same_weight(double a, double b)
{
  return fabs(a - b) <= 1e-9 * a;
}

static struct checks *checks_of(struct checks *checks, size_t *count, double weight_N)
{
  for (size_t i = 0; i < *count; i++)
    if (same_weight(checks[i].weight_N, weight_N)) return &checks[i];
  checks[*count].weight_N = weight_N;
  return &checks[(*count)++];
}

/* The first twenty set the limits; until then all but the last, which is to be judged by them. */
static size_t base_of(size_t n)
{
  enum { FAIR = 20 };
  return n > FAIR ? FAIR : n > 2 ? n - 1 : n;
}

static enum be_status chart(const struct survey *survey, struct checks *series, struct be_err *err)
{
  series->marks = be_arena_alloc(survey->arena, (series->n + 1) * sizeof *series->marks);
  if (!series->marks) return be_no_memory(err);
  if (series->n < 2) return BE_OK;
  enum be_status status = be_chart_of(series->forces_N, series->n, base_of(series->n),
                                      &series->chart, series->marks, err);
  /* Readings that never moved are told apart by their last digit alone. */
  series->charted = status == BE_OK && series->chart.range > 0;
  return status;
}

/* Whether a reading is of the bench, of that time, under the calibration, and a force by it. */
static bool belongs(const struct survey *survey, const struct be_check_weight *weight,
                    const struct weighed *of)
{
  const struct be_kept_calibration *by =
      weight->calibration == BE_NO_INDEX ? NULL : &survey->record.calibrations[weight->calibration];
  return weight->bench == of->bench && weight->day <= of->day &&
         by == (of->worked ? of->worked->kept : NULL) &&
         isfinite(be_rig_indicated(of->worked, weight));
}

static enum be_status make_room(const struct survey *survey, struct checks *series,
                                const struct worked *worked, struct be_err *err)
{
  series->worked = worked;
  series->list = be_arena_alloc(survey->arena, series->n * sizeof *series->list);
  series->forces_N = be_arena_alloc(survey->arena, series->n * sizeof *series->forces_N);
  series->n = 0;
  return series->list && series->forces_N ? BE_OK : be_no_memory(err);
}

enum be_status be_rig_checks(const struct survey *survey, const struct weighed *of,
                             struct checks **out, size_t *count, struct be_err *err)
{
  const struct be_check_weight *weights = survey->record.weights;
  size_t all = survey->record.weights_count;
  struct checks *checks = be_arena_alloc(survey->arena, (all + 1) * sizeof *checks);
  enum be_status status = checks ? BE_OK : be_no_memory(err);
  *count = 0;
  *out = checks;
  for (size_t i = 0; i < all && status == BE_OK; i++)
    if (belongs(survey, &weights[i], of)) checks_of(checks, count, weights[i].weight_N)->n++;
  for (size_t i = 0; i < *count && status == BE_OK; i++)
    status = make_room(survey, &checks[i], of->worked, err);
  for (size_t i = 0; i < all && status == BE_OK; i++) {
    if (!belongs(survey, &weights[i], of)) continue;
    struct checks *series = checks_of(checks, count, weights[i].weight_N);
    series->list[series->n] = &weights[i];
    series->forces_N[series->n++] = be_rig_indicated(of->worked, &weights[i]);
  }
  for (size_t i = 0; i < *count && status == BE_OK; i++) status = chart(survey, &checks[i], err);
  return status;
}
