/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/survey/survey.h"

#include <math.h>
#include <string.h>

const char *be_handled_words(const struct survey *survey, const struct be_handled *handled,
                             enum be_handling handling)
{
  const struct be_unit *unit = survey->how.unit;
  double number = handled[handling].number;
  switch (be_handling_dimension(handling)) {
  case BE_DIMENSIONS: return handled[handling].text;
  case BE_FORCE: break;
  case BE_LENGTH: unit = be_unit_find_in(BE_LENGTH, "mm", 2); break;
  case BE_TEMPERATURE: unit = be_unit_find_in(BE_TEMPERATURE, "C", 1); break;
  case BE_RATIO: unit = be_unit_find_in(BE_RATIO, "%", 1); break;
  default: unit = be_unit_si(be_handling_dimension(handling)); break;
  }
  bool may_be_none = unit->dimension != BE_TEMPERATURE && unit->dimension != BE_RATIO;
  if (isnan(number)) return NULL;
  if (number == 0 && may_be_none) return "none";
  double shown = be_unit_from_si(number, unit);
  /* A degree less 273.15 leaves what is no digit of anybody's. */
  if (fabs(shown) < 1e-9) shown = 0;
  const char *words = be_arena_format(survey->arena, "%.4g %s", shown, unit->name);
  return words ? words : "?";
}
