/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each void pull, with its reason. */
#include "app/report/recorded.h"
#include "app/report/report.h"
#include "app/strength/strength.h"

static void say_by_knot(struct be_doc *doc, const struct survey *survey)
{
  static const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"void", "void, of all", BE_COLUMN_COUNT, false},
      {"void_percent", "interval (%)", BE_COLUMN_INTERVAL, false},
  };
  struct be_table *table =
      be_doc_table(doc, "voids_by_knot", "How many of each were void", columns, 4);
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (!cell->voids) continue;
    struct be_interval share = be_rate_exact(cell->voids, cell->count, survey->how.level);
    be_table_text(table, "%s", survey->combinations[cell->combination].name);
    be_table_text(table, "%s", be_cell_name(survey, cell));
    be_table_count(table, cell->voids, cell->count);
    be_table_interval(table, 100 * share.low, 100 * share.high, 0);
  }
  be_table_fold_long(table);
}

enum be_status be_voids_doc(const struct survey *survey, struct be_doc **out, struct be_err *err)
{
  struct be_told reasons;
  struct be_doc *doc = be_doc_create("voids", "Void pulls");
  if (!doc) return be_no_memory(err);
  enum be_status status = be_told_of(survey, BE_TELLS_REASON, &reasons, err);
  if (status != BE_OK) return be_doc_done(doc, status, out);
  if (!reasons.n)
    be_doc_sentence(doc, "Void: none of %zu pull%s.", survey->record.pulls_count,
                    be_plural(survey->record.pulls_count));
  else {
    struct be_interval share =
        be_rate_exact(reasons.n, survey->record.pulls_count, survey->how.level);
    be_doc_sentence(
        doc,
        "Void: %zu of %zu pull%s, %.1f %% [%.1f, %.1f]; listed here; drawn crossed out where they "
        "have a load, and counted in no mean or rate.",
        reasons.n, survey->record.pulls_count, be_plural(survey->record.pulls_count),
        100.0 * (double)reasons.n / (double)survey->record.pulls_count, 100 * share.low,
        100 * share.high);
    if (reasons.k) be_doc_sentence(doc, "Their reasons: %s.", reasons.values);
    if (reasons.k < reasons.n)
      be_doc_sentence(doc, "Of %zu no reason is recorded.", reasons.n - reasons.k);
    be_say_pulls_of_kind(doc, survey, BE_KIND_VOID, "voids", "Each of them");
    say_by_knot(doc, survey);
  }
  return be_answer_done(survey, doc, status, out, err);
}
