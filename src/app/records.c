/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The records behind the strengths: alarms, lower bounds, voids, and what was
 * not written down. */
#include "app/survey.h"

#include <math.h>
#include <string.h>

static void alarm_row(struct be_table *table, const struct survey *survey, const struct cell *cell,
                      double *others)
{
  const struct be_pull *pull = cell->events[cell->alarm.index];
  struct be_summary without;
  size_t n = 0;
  for (size_t k = 0; k < cell->n; k++)
    if (k != cell->alarm.index) others[n++] = cell->loads[k];
  be_summary_of(others, n, &without);
  int decimals = survey->decimals;
  be_table_text(table, "%s", pull->code);
  be_table_link(table, "/pull/%lld", (long long)pull->id);
  be_table_text(table, "%s", be_knot_name(survey, cell->knot));
  be_table_text(table, "%s", survey->combinations[cell->combination].name);
  be_table_number(table, be_shown(survey, pull->load_N), decimals);
  be_table_number(table, cell->alarm.statistic, 2);
  be_table_number(table, cell->alarm.critical, 2);
  be_table_number(table, be_shown(survey, cell->summary.mean), decimals + 1);
  be_table_number(table, be_shown(survey, cell->summary.sd), decimals + 2);
  be_table_number(table, be_shown(survey, without.mean), decimals + 1);
  be_table_number(table, be_shown(survey, without.sd), decimals + 2);
}

static enum be_status alarms(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  size_t count = 0;
  for (size_t i = 0; i < survey->cells_count; i++) count += survey->cells[i].alarm.raised;
  if (count == 0) return BE_OK;
  const struct be_column columns[] = {
      {"specimen", "specimen", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"load", be_head(survey, "load"), BE_COLUMN_NUMBER, false},
      {"grubbs", "Grubbs", BE_COLUMN_NUMBER, false},
      {"critical", "critical", BE_COLUMN_NUMBER, false},
      {"mean_with", "mean with", BE_COLUMN_NUMBER, false},
      {"sd_with", "s with", BE_COLUMN_NUMBER, false},
      {"mean_without", "mean without", BE_COLUMN_NUMBER, false},
      {"sd_without", "s without", BE_COLUMN_NUMBER, false},
  };
  double *others = be_arena_alloc(survey->arena, survey->record.pulls_count * sizeof *others);
  if (!others) return be_no_memory(err);
  be_doc_heading(doc, "Alarms");
  be_doc_sentence(doc,
                  "Standing apart from the rest of their knot: %zu. Look at each specimen, sheet "
                  "and trace. Nothing is left out; each figure stands with and without.",
                  count);
  struct be_table *table = be_doc_table(
      doc, "alarms", "Grubbs' two-sided test at 5 %, one pull a cell of six or more", columns, 10);
  for (size_t i = 0; i < survey->cells_count; i++)
    if (survey->cells[i].alarm.raised) alarm_row(table, survey, &survey->cells[i], others);
  return BE_OK;
}

static void list_kind(struct be_doc *doc, const struct survey *survey, enum be_kind kind,
                      const char *name, const char *title)
{
  const struct be_column columns[] = {
      {"specimen", "specimen", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"load", be_head(survey, kind == BE_KIND_BOUND ? "at least" : "load"), BE_COLUMN_NUMBER,
       false},
      {"let_go", "what let go", BE_COLUMN_TEXT, false},
      {"reason", "reason", BE_COLUMN_TEXT, false},
  };
  struct be_table *table = NULL;
  for (size_t i = 0; i < survey->cells_count; i++)
    for (size_t k = 0; k < survey->cells[i].count; k++) {
      const struct be_pull *pull = survey->cells[i].pulls[k];
      if (pull->kind != kind) continue;
      if (!table) {
        be_doc_heading(doc, "%s", title);
        table = be_doc_table(doc, name, title, columns, 6);
      }
      be_table_text(table, "%s", pull->code);
      be_table_link(table, "/pull/%lld", (long long)pull->id);
      be_table_text(table, "%s", be_knot_name(survey, pull->knot));
      be_table_text(table, "%s", survey->combinations[survey->cells[i].combination].name);
      be_table_number(table, be_shown(survey, pull->load_N), survey->decimals);
      be_table_text(table, "%s, %s", be_what_word(pull->what), be_where_word(pull->where));
      be_table_text(table, "%s", pull->reason ? pull->reason : "");
    }
}

/* ---- what was not recorded ---- */

/* The step a scale was read in is the greatest that divides every load typed,
 * counted in thousandths of the unit. Said when it matters: half a per cent. */
static void reading_step(struct be_doc *doc, const struct survey *survey)
{
  double step = 0, low = INFINITY, high = 0;
  size_t count = 0;
  for (size_t i = 0; i < survey->record.pulls_count; i++) {
    const struct be_pull *pull = &survey->record.pulls[i];
    if (!pull->load_text || strcmp(pull->load_unit, survey->how.unit->name) != 0) continue;
    double load = nearbyint(1000 * be_shown(survey, pull->load_N));
    double divisor = load;
    while (step > 0.5) {
      double rest = fmod(divisor, step);
      divisor = step;
      step = rest;
    }
    step = divisor;
    low = fmin(low, load);
    high = fmax(high, load);
    count++;
  }
  if (count < 10 || 200 * step < high) return;
  be_doc_note(doc, "Loads were read in steps of %g %s, %.1f to %.1f %% of the loads.", step / 1000,
              survey->how.unit->name, 100 * step / high, 100 * step / low);
}

static void not_recorded(struct be_doc *doc, const struct survey *survey)
{
  size_t what = 0, design = 0, soak = 0, speed = 0, tyer = 0, corrected = 0;
  size_t all = survey->record.pulls_count;
  for (size_t i = 0; i < all; i++) {
    const struct be_pull *pull = &survey->record.pulls[i];
    what += pull->what == BE_WHAT_UNKNOWN && pull->kind == BE_KIND_EVENT;
    design += pull->design == BE_DESIGN_UNKNOWN;
    soak += pull->soak == BE_SOAK_UNKNOWN;
    speed += isnan(pull->speed_m_s);
    tyer += pull->tyer == NULL;
    corrected += pull->corrections > 0;
  }
  if (all == 0) return;
  be_doc_note(doc,
              "Not recorded, of %zu pulls: what let go %zu%s, design %zu%s, soak %zu, speed "
              "%zu, tyer %zu.",
              all, what, what ? " (taken as events)" : "", design,
              design ? " (taken as single knots)" : "", soak, speed, tyer);
  if (corrected)
    be_doc_note(doc, "Results corrected: %zu; the earlier values are kept.", corrected);
}

enum be_status be_say_records(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  enum be_status status = alarms(doc, survey, err);
  list_kind(doc, survey, BE_KIND_BOUND, "lower_bounds", "Lower bounds");
  list_kind(doc, survey, BE_KIND_VOID, "voids", "Voids");
  reading_step(doc, survey);
  not_recorded(doc, survey);
  return status;
}
