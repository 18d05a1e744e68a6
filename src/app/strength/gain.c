/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The same knot as a bend between two lines and as a hitch on hardware: what it gains there,
 * matched by the line that both were divided by. */
#include "app/strength/strength.h"

#include <math.h>

/* d e = e d log e; a plain line that both share cancels as far as it does. */
struct gain {
  struct form points, log_ratio;
};

static enum be_status find_gain(const struct cell *hitch, const struct cell *bend,
                                struct gain *gain, struct be_err *err)
{
  double on = hitch->efficiency.value, between = bend->efficiency.value;
  *gain = (struct gain){0};
  enum be_status status = be_form_add(&gain->log_ratio, &hitch->log_share, 1, err);
  if (status == BE_OK) status = be_form_add(&gain->log_ratio, &bend->log_share, -1, err);
  if (status == BE_OK) status = be_form_add(&gain->points, &hitch->log_share, on, err);
  if (status == BE_OK) status = be_form_add(&gain->points, &bend->log_share, -between, err);
  gain->points.value = on - between;
  return status;
}

static void gain_row(struct be_table *table, const struct survey *survey, const struct cell *hitch,
                     const struct cell *bend, const struct gain *gain)
{
  double level = survey->how.level;
  struct be_estimate points = be_form_estimate(survey, &gain->points);
  struct be_estimate logs = be_form_estimate(survey, &gain->log_ratio);
  struct be_interval in_points = be_estimate_interval(&points, level);
  struct be_interval ratio = be_estimate_interval(&logs, level);
  be_table_text(table, "%s", be_knot_name(survey, hitch->knot));
  be_table_text(table, "%s", survey->line_names[hitch->plain.line]);
  be_table_text(table, "%s", survey->combinations[bend->combination].name);
  be_table_text(table, "%s", survey->combinations[hitch->combination].name);
  be_table_number(table, (double)bend->n, 0);
  be_table_number(table, (double)hitch->n, 0);
  be_table_number(table, 100 * bend->efficiency.value, 0);
  be_table_number(table, 100 * hitch->efficiency.value, 0);
  be_table_number(table, 100 * gain->points.value, 1);
  be_table_interval(table, 100 * in_points.low, 100 * in_points.high, 1);
  be_table_number(table, 100 * expm1(gain->log_ratio.value), 1);
  be_table_interval(table, 100 * expm1(ratio.low), 100 * expm1(ratio.high), 1);
}

static struct be_table *begin(struct be_doc *doc)
{
  static const struct be_column columns[] = {
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"line", "of the line", BE_COLUMN_TEXT, false},
      {"bend", "as a bend", BE_COLUMN_TEXT, false},
      {"hitch", "as a hitch", BE_COLUMN_TEXT, false},
      {"n_bend", "n bend", BE_COLUMN_NUMBER, false},
      {"n_hitch", "n hitch", BE_COLUMN_NUMBER, false},
      {"bend_percent", "bend (%)", BE_COLUMN_NUMBER, false},
      {"hitch_percent", "hitch (%)", BE_COLUMN_NUMBER, false},
      {"gain_points", "gain (pts)", BE_COLUMN_NUMBER, false},
      {"gain_points", "interval", BE_COLUMN_INTERVAL, false},
      {"gain_relative_percent", "(relative %)", BE_COLUMN_NUMBER, false},
      {"gain_relative_percent", "interval", BE_COLUMN_INTERVAL, false},
  };
  be_doc_heading(doc, "As a bend and as a hitch");
  return be_doc_table(doc, "gain", "The same knot, line by line", columns,
                      sizeof columns / sizeof columns[0]);
}

enum be_status be_say_gain(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  struct be_table *table = NULL;
  enum be_status status = BE_OK;
  for (size_t i = 0; i < survey->cells_count && status == BE_OK; i++)
    for (size_t k = 0; k < survey->cells_count && status == BE_OK; k++) {
      const struct cell *hitch = &survey->cells[i], *bend = &survey->cells[k];
      if (!be_is_gain(survey, hitch, bend)) continue;
      struct gain gain;
      status = find_gain(hitch, bend, &gain, err);
      if (!table) table = begin(doc);
      if (status == BE_OK) gain_row(table, survey, hitch, bend, &gain);
      be_form_free(&gain.points);
      be_form_free(&gain.log_ratio);
    }
  if (table)
    be_doc_note(doc,
                "Hitch less bend, both divided by the plain line named, each matched by its own "
                "spool, soak, speed, bench and length. Points are of the line; relative per "
                "cent is of the bend: never the one for the other.");
  return status;
}
