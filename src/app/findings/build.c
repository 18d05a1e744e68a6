/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How a knot is built: as it is recorded, or as its tie tells it. */
#include "app/anatomy/anatomy.h"
#include "app/findings/findings.h"

#include <math.h>

struct build be_build_recorded(const struct be_knot *knot)
{
  return (struct build){.crossings_a = knot->crossings_a,
                        .crossings_b = knot->crossings_b,
                        .overlap = 1000 * knot->overlap_m,
                        .turns = knot->turns,
                        .wraps = NAN};
}

/* Worked out once, for a knot may stand in several groups. A tie that cannot be read tells nothing;
 * the page of its knot says so. */
enum be_status be_build_of_tie(struct findings *findings, size_t knot, struct build *build,
                               struct be_err *err)
{
  const struct survey *survey = findings->survey;
  const char *tie = survey->record.knots[knot].tie;
  *build = (struct build){NAN, NAN, NAN, NAN, NAN};
  if (!tie || be_text_same(tie, "none")) return BE_OK;
  if (!findings->of_ties)
    findings->of_ties =
        be_arena_alloc(survey->arena, survey->record.knots_count * sizeof(const struct build *));
  if (!findings->of_ties) return be_no_memory(err);
  if (!findings->of_ties[knot]) {
    struct be_built built;
    struct be_err why = {0};
    struct build *told = be_arena_alloc(survey->arena, sizeof *told);
    if (!told) return be_no_memory(err);
    enum be_status status = be_tie_built(tie, &built, &why);
    if (status == BE_NO_MEMORY || status == BE_FAILED) {
      if (err) *err = why;
      return status;
    }
    *told = (struct build){.crossings_a = built.crossings_a,
                           .crossings_b = built.crossings_b,
                           .overlap = built.overlap,
                           .turns = NAN,
                           .wraps = built.wraps};
    findings->of_ties[knot] = told;
  }
  *build = *findings->of_ties[knot];
  return BE_OK;
}
