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

static const char *in_unit(const struct survey *survey, double value, const char *unit)
{
  const char *words = be_arena_format(survey->arena, "%.6g %s", value, unit);
  return words ? words : "?";
}

const char *be_made_words(const struct survey *survey, const struct be_handled *made, int which)
{
  const struct be_handled *one = &made[which];
  if (which < BE_HANDLINGS) return be_handled_words(survey, made, (enum be_handling)which);
  if (which == BE_MADE_SOAK && one->text && one->number > 0)
    return in_unit(survey, one->number / 60, "min");
  if (one->text || isnan(one->number)) return one->text;
  return which == BE_MADE_SPEED ? in_unit(survey, one->number * 60e3, "mm/min")
                                : in_unit(survey, one->number * 1e3, "mm");
}

const char *be_made_label(int which)
{
  static const char *const labels[BE_MADES] = {
      [BE_HANDLED_SEATING] = "Drawn up with, a load with its unit",
      [BE_HANDLED_HELD] = "Held for, in seconds",
      [BE_HANDLED_TAG] = "Tag end left standing, in mm",
      [BE_HANDLED_GLUE] = "Glue, or none",
      [BE_HANDLED_TIED] = "Tied on (2026-03-01, perhaps with a time)",
      [BE_HANDLED_WATER] = "Water of the soak: fresh, salt",
      [BE_HANDLED_GRIPS] = "Grips, and how many wraps",
      [BE_HANDLED_TEMPERATURE] = "Temperature, with C or F",
      [BE_HANDLED_HUMIDITY] = "Humidity, in %",
      [BE_MADE_SOAK] = "Soak: dry, soaked, or how long (120 min)",
      [BE_MADE_SPEED] = "Speed of pulling (500 mm/min)",
      [BE_MADE_LENGTH] = "Free length (500 mm)",
      [BE_MADE_TYER] = "Tied by",
      [BE_MADE_LUBRICANT] = "Wetted with, to draw it up (water, saliva, none)"};
  return labels[which];
}
