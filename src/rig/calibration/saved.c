/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A calibration as text. What was seen is kept, the points; the curve is worked out
 * again each time. */
#include "rig/calibration/calibration.h"
#include "rig/settings/settings.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *const curves[] = {"straight", "through zero", "bent"};
enum { CURVES = sizeof curves / sizeof curves[0], MONTHS_MAX = 1200 };

const char *be_calibration_curve_word(enum be_calibration_curve curve)
{
  return curves[curve];
}

static void write_number(struct be_buf *text, const char *key, double value, const char *unit)
{
  if (!isnan(value)) be_buf_format(text, "%s = %.17g %s\n", key, value, unit);
}

void be_calibration_write(struct be_buf *text, const struct be_calibration *calibration)
{
  char date[16];
  be_buf_format(text, "[%s]\n", calibration->name);
  if (calibration->certificate[0])
    be_buf_format(text, "certificate = %s\n", calibration->certificate);
  if (calibration->dated) {
    be_date_write(calibration->day, date);
    be_buf_format(text, "date = %s\n", date);
  }
  if (calibration->months) be_buf_format(text, "months = %d\n", calibration->months);
  if (calibration->unit[0]) be_buf_format(text, "unit = %s\n", calibration->unit);
  write_number(text, "reference", calibration->reference_percent, "%");
  write_number(text, "resolution", calibration->resolution_N, "N");
  be_buf_format(text, "curve = %s\n", curves[calibration->curve]);
  for (size_t i = 0; i < calibration->points_count; i++) {
    const struct be_calibration_point *point = &calibration->points[i];
    be_buf_format(text, "point = %.17g N %.17g%s\n", point->load_N, point->reading,
                  point->falling ? " falling" : "");
  }
}

/* ---- reading ---- */

static bool read_quantity(const struct be_section_line *line, enum be_dimension dimension,
                          double least, double *value)
{
  struct be_quantity quantity;
  if (be_quantity_parse(line->value, line->value_size, dimension, NULL, '.', &quantity, NULL) !=
      BE_OK)
    return false;
  *value = quantity.value;
  return isfinite(quantity.value) && quantity.value >= least;
}

static bool read_percent(const struct be_section_line *line, double *percent)
{
  size_t used = be_number_scan(line->value, line->value_size, '.', percent);
  size_t left = line->value_size - used;
  while (left > 1 && line->value[used] == ' ') used++, left--;
  return used && left == 1 && line->value[used] == '%' && isfinite(*percent) && *percent >= 0;
}

/* "LOAD UNIT READING", and "falling" behind it. */
static bool read_point(const struct be_section_line *line, struct be_calibration *calibration)
{
  static const char falling[] = " falling";
  struct be_calibration_point point = {0};
  size_t size = line->value_size, tail = strlen(falling);
  if (calibration->points_count == BE_CALIBRATION_POINTS_MAX) return false;
  if (size > tail && memcmp(line->value + size - tail, falling, tail) == 0) {
    point.falling = true;
    size -= tail;
  }
  size_t last = size;
  while (last && line->value[last - 1] != ' ') last--;
  struct be_section_line load = *line;
  load.value_size = last;
  if (!last || be_number_scan(line->value + last, size - last, '.', &point.reading) != size - last)
    return false;
  if (!isfinite(point.reading) || !read_quantity(&load, BE_FORCE, -INFINITY, &point.load_N))
    return false;
  calibration->points[calibration->points_count++] = point;
  return true;
}

static bool read_months(const struct be_section_line *line, int *months)
{
  double value = 0;
  if (be_number_scan(line->value, line->value_size, '.', &value) != line->value_size) return false;
  if (!(value >= 0 && value <= MONTHS_MAX) || floor(value) < value) return false;
  *months = (int)value;
  return true;
}

static bool read_key(const struct be_section_line *line, struct be_calibration *calibration)
{
  if (be_section_key(line, "certificate"))
    return be_section_copy(line, calibration->certificate, sizeof calibration->certificate);
  if (be_section_key(line, "date"))
    return calibration->dated =
               be_date_read(line->value, line->value_size, &calibration->day, NULL) == BE_OK;
  if (be_section_key(line, "months")) return read_months(line, &calibration->months);
  if (be_section_key(line, "unit"))
    return be_section_copy(line, calibration->unit, sizeof calibration->unit) &&
           be_unit_find(line->value, line->value_size);
  if (be_section_key(line, "resolution"))
    return read_quantity(line, BE_FORCE, 0, &calibration->resolution_N);
  if (be_section_key(line, "point")) return read_point(line, calibration);
  if (be_section_key(line, "reference")) return read_percent(line, &calibration->reference_percent);
  if (!be_section_key(line, "curve")) return false;
  for (int i = 0; i < CURVES; i++)
    if (line->value_size == strlen(curves[i]) &&
        memcmp(line->value, curves[i], line->value_size) == 0) {
      calibration->curve = (enum be_calibration_curve)i;
      return true;
    }
  return false;
}

enum be_status be_calibration_parse(const char *text, size_t size, const char *name,
                                    struct be_calibration *calibration, struct be_err *err)
{
  struct be_section_line line = {0};
  size_t at = 0;
  bool found = false, inside = false;
  *calibration = (struct be_calibration){.reference_percent = NAN, .resolution_N = NAN};
  while (be_section_next(text, size, &at, &line)) {
    if (line.name) {
      if (found) break;
      inside = found = be_section_is(&line, name) && line.name_size < sizeof calibration->name;
      if (found) memcpy(calibration->name, line.name, line.name_size);
    } else if (inside && !read_key(&line, calibration)) {
      be_fail(err, BE_BAD_INPUT, "this line of the calibration cannot be read");
      be_fail_at(err, NULL, line.number, 0);
      be_fail_remedy(err, "docs/formats.md shows what may stand there");
      return BE_BAD_INPUT;
    }
  }
  if (found) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "there is no calibration \"%s\"", name ? name : "[...]");
  be_fail_remedy(err, "look at the name, in [...] above its lines");
  return BE_BAD_INPUT;
}
