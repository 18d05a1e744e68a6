/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One knot tied in several ways, its turns the same: by the book's own words for them. */
#include "app/findings/findings.h"
#include "app/versus/versus.h"

#include <math.h>

static void say_pair(const struct survey *survey, const struct pair *pair, struct finding *finding)
{
  bool first = pair->log_ratio.value >= 0;
  finding->says =
      be_arena_format(survey->arena, "The %s held %s than the %s over %zu combination%s",
                      be_knot_name(survey, pair->a), first ? "more" : "less",
                      be_knot_name(survey, pair->b), pair->count, be_plural(pair->count));
  finding->asks = be_arena_format(survey->arena, "whether the %s or the %s holds more",
                                  be_knot_name(survey, pair->a), be_knot_name(survey, pair->b));
  finding->place =
      be_arena_format(survey->arena, "%s, %zu combination%s", survey->record.knots[pair->a].name,
                      pair->count, be_plural(pair->count));
  if (pair->has_points)
    finding->more = be_arena_format(
        survey->arena, "%.1f pts%s of the line", 100 * pair->points.value,
        be_interval_words(survey, pair->points_interval.low, pair->points_interval.high, 1));
}

static enum be_status find_pair(struct findings *findings, int a, int b, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  struct pair pair = {.a = a, .b = b};
  enum be_status status = be_pair_fill(survey, &pair, err);
  if (status == BE_OK && pair.count) {
    struct finding *finding = be_finding_add(findings, err);
    if (!finding) status = BE_NO_MEMORY;
    for (size_t i = 0; finding && i < pair.count; i++) {
      be_finding_cell(finding, survey, pair.list[i].a);
      be_finding_cell(finding, survey, pair.list[i].b);
    }
    if (finding) be_finding_sides(finding, pair.n_a, pair.n_b);
    if (finding) be_finding_ratio(finding, survey, &pair.ratio);
    if (finding) say_pair(survey, &pair, finding);
  }
  if (status == BE_OK) status = be_find_slips_between(findings, a, b, err);
  be_pair_empty(&pair);
  return status;
}

static bool same_turns(double a, double b)
{
  return isnan(a) || isnan(b) ? isnan(a) && isnan(b) : a == b;
}

enum be_status be_find_versions(struct findings *findings, struct be_err *err)
{
  const struct be_knot *knots = findings->survey->record.knots;
  size_t count = findings->survey->record.knots_count;
  enum be_status status = BE_OK;
  for (size_t a = 0; a < count; a++)
    for (size_t b = a + 1; b < count && status == BE_OK; b++)
      if (be_text_same(knots[a].name, knots[b].name) &&
          same_turns(knots[a].turns, knots[b].turns) &&
          be_same_words(knots[a].doubled, knots[b].doubled) &&
          !be_same_words(knots[a].version, knots[b].version))
        status = find_pair(findings, (int)a, (int)b, err);
  return status;
}
