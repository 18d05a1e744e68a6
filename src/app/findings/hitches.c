/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One knot on hardware and between two lines, divided by the same plain line. */
#include "app/findings/findings.h"

#include <math.h>

static size_t count_pairs(const struct survey *survey)
{
  size_t count = 0;
  for (size_t i = 0; i < survey->cells_count; i++)
    for (size_t k = 0; k < survey->cells_count; k++)
      count += be_is_gain(survey, &survey->cells[i], &survey->cells[k]);
  return count;
}

struct gains {
  struct form logs, points;
  double in_points;
};

/* d e = e d log e; a plain line that both share cancels as far as it does. */
static enum be_status add_pair(struct gains *gains, const struct cell *hitch,
                               const struct cell *bend, double weight, struct be_err *err)
{
  double on = hitch->efficiency.value, between = bend->efficiency.value;
  enum be_status status = be_form_add(&gains->logs, &hitch->log_share, weight, err);
  if (status == BE_OK) status = be_form_add(&gains->logs, &bend->log_share, -weight, err);
  if (status == BE_OK) status = be_form_add(&gains->points, &hitch->log_share, weight * on, err);
  if (status == BE_OK)
    status = be_form_add(&gains->points, &bend->log_share, -weight * between, err);
  gains->in_points += weight * (on - between);
  return status;
}

static void say_gains(const struct survey *survey, const struct gains *gains, size_t pairs,
                      struct finding *finding)
{
  struct be_estimate logs = be_form_estimate(survey, &gains->logs);
  struct be_estimate points = be_form_estimate(survey, &gains->points);
  struct be_interval interval = be_estimate_interval(&points, survey->how.level);
  be_finding_ratio(finding, survey, &logs);
  finding->says = be_arena_format(
      survey->arena, "On hardware knots kept %s of the line than the same knots between two lines",
      finding->value > 0 ? "more" : "less");
  finding->asks = "whether knots keep more of the line on hardware than between two lines";
  finding->more =
      be_arena_format(survey->arena, "%.1f pts%s of the line", 100 * gains->in_points,
                      be_interval_words(survey, 100 * interval.low, 100 * interval.high, 1));
  finding->place =
      be_arena_format(survey->arena, "%zu pair%s of a hitch and a bend", pairs, be_plural(pairs));
}

enum be_status be_find_hitches(struct findings *findings, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  size_t pairs = count_pairs(survey);
  if (pairs == 0) return BE_OK;
  struct finding *finding = be_finding_add(findings, err);
  if (!finding) return BE_NO_MEMORY;
  struct gains gains = {.in_points = 0};
  size_t hitches = 0, bends = 0;
  enum be_status status = BE_OK;
  for (size_t i = 0; i < survey->cells_count; i++)
    for (size_t k = 0; k < survey->cells_count && status == BE_OK; k++) {
      const struct cell *hitch = &survey->cells[i], *bend = &survey->cells[k];
      if (!be_is_gain(survey, hitch, bend)) continue;
      status = add_pair(&gains, hitch, bend, 1 / (double)pairs, err);
      be_finding_cell(finding, survey, hitch);
      be_finding_cell(finding, survey, bend);
      hitches += hitch->n, bends += bend->n;
    }
  be_finding_sides(finding, hitches, bends);
  if (status == BE_OK) say_gains(survey, &gains, pairs, finding);
  be_form_free(&gains.logs);
  be_form_free(&gains.points);
  return status;
}
