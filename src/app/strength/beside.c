/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What stands beside an efficiency and is none: the label, another knot. */
#include "app/survey/grid.h"
#include "app/strength/strength.h"

#include <math.h>

static void beside_label(struct be_doc *doc, const struct survey *survey)
{
  bool any = false;
  for (size_t i = 0; i < survey->cells_count; i++)
    any |= survey->cells[i].n && !isnan(be_label_of(survey, &survey->cells[i]));
  if (survey->plain_count || !any) return;
  static const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"of_label_percent", "of label (%)", BE_COLUMN_NUMBER, false},
  };
  be_doc_heading(doc, "Beside the label");
  struct be_table *table =
      be_doc_table(doc, "of_label", "Mean load beside the label: not an efficiency", columns, 4);
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    double label = be_label_of(survey, cell);
    if (isnan(label) || cell->n == 0) continue;
    be_table_text(table, "%s", survey->combinations[cell->combination].name);
    be_table_text(table, "%s", be_cell_name(survey, cell));
    be_table_number(table, (double)cell->n, 0);
    be_table_number(table, 100 * cell->load.value / label, 0);
  }
  be_doc_note(doc, "A label may be far from the line: most lines break well above or below it.");
}

static enum be_status relative_to(struct be_doc *doc, const struct survey *survey,
                                  struct be_err *err)
{
  if (!survey->how.relative_to) return BE_OK;
  int knot = be_knot_find(survey, survey->how.relative_to, err);
  if (knot < 0) return err ? err->status : BE_WRONG_USE;
  static const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"ratio_percent", "of it (%)", BE_COLUMN_NUMBER, false},
      {"ratio_percent", "log-ratio", BE_COLUMN_INTERVAL, false},
      {"ratio_df", "degrees of freedom", BE_COLUMN_NUMBER, false},
  };
  size_t passed = 0;
  be_doc_heading(doc, "Relative to %s", be_knot_name(survey, knot));
  struct be_table *table = be_doc_table(doc, "relative", "Ratio of mean loads", columns, 6);
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    const struct combination *where = &survey->combinations[cell->combination];
    const struct cell *of = be_cell_find(survey, where, knot);
    if (!of || of == cell || cell->n == 0) continue;
    if (!be_same_mix(cell, of)) {
      passed++;
      continue;
    }
    struct be_ratio ratio;
    be_ratio_log(&cell->pooled, &of->pooled, survey->how.level, &ratio);
    struct be_interval interval = be_interval_percent(&ratio);
    be_table_text(table, "%s", where->name);
    be_table_text(table, "%s", be_cell_name(survey, cell));
    be_table_number(table, (double)cell->n, 0);
    be_table_number(table, 100 * ratio.value, 1);
    be_table_interval(table, interval.low, interval.high, 1);
    be_table_number(table, ratio.df, 1);
  }
  be_doc_note(doc, "Relative to a knot, never an efficiency.");
  if (passed)
    be_doc_note(doc, "Passed over: %zu, tied on other spools, or pulled otherwise, than that knot.",
                passed);
  return BE_OK;
}

enum be_status be_say_beside(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  beside_label(doc, survey);
  return relative_to(doc, survey, err);
}
