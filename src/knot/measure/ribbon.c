/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/measure/inside.h"

enum be_status be_ribbon(const struct be_curve *curve, const struct be_view *view,
                         struct be_arena *arena, struct be_ribbon *ribbon, struct be_err *err)
{
  struct be_lines lines = {1, {*curve}, {1}};
  struct be_crossing *crossings;
  struct be_crossing_counts counts;
  size_t count;
  *ribbon = (struct be_ribbon){.closed = curve->closed};
  enum be_status status = be_crossings_find(&lines, view, arena, &crossings, &count, err);
  if (status == BE_OK) status = be_writhe(curve, arena, &ribbon->writhe, err);
  if (status != BE_OK) return status;
  be_crossings_count(crossings, count, &counts);
  ribbon->signs = counts.own_sign[0];
  ribbon->twist = be_twist_of_view(curve, view);
  ribbon->sum = ribbon->writhe + ribbon->twist;
  ribbon->error = fabs(ribbon->sum - round(ribbon->sum));
  return BE_OK;
}
