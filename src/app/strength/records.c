/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The records behind the strengths: lower bounds, voids, and what was not written
 * down. */
#include "app/strength/strength.h"

#include <math.h>
#include <string.h>

void be_say_pulls_of_kind(struct be_doc *doc, const struct survey *survey, enum be_kind kind,
                          const char *name, const char *title)
{
  const struct be_column columns[] = {
      {"specimen", "specimen", BE_COLUMN_TEXT, false},
      {"session", "session", BE_COLUMN_TEXT, false},
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
        table = be_doc_table(doc, name, title, columns, 7);
      }
      be_table_text(table, "%s", pull->code);
      be_table_link(table, "/pull/%lld", (long long)pull->id);
      be_table_text(table, "%s", pull->session ? pull->session : "");
      be_table_text(table, "%s", be_cell_name(survey, &survey->cells[i]));
      be_table_text(table, "%s", survey->combinations[survey->cells[i].combination].name);
      be_table_number(table, be_shown(survey, pull->load_N), survey->decimals);
      be_let_go_cell(table, pull->what, pull->where, BE_WHICH_UNKNOWN);
      be_table_text(table, "%s",
                    pull->reason           ? pull->reason
                    : kind == BE_KIND_VOID ? "not recorded"
                                           : "");
    }
}

/* ---- what was not recorded ---- */

/* The step a scale was read in is the greatest that divides every load typed in the unit
 * shown, counted in thousandths of it. */
double be_reading_step(const struct survey *survey, double *low, double *high)
{
  double step = 0;
  size_t count = 0;
  *low = INFINITY;
  *high = 0;
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
    *low = fmin(*low, load / 1000);
    *high = fmax(*high, load / 1000);
    count++;
  }
  return count < 10 ? NAN : step / 1000;
}

/* Said when it matters: half a per cent. */
static void say_reading_step(struct be_doc *doc, const struct survey *survey)
{
  double low, high, step = be_reading_step(survey, &low, &high);
  if (!(200 * step >= high)) return;
  be_doc_note(doc, "Loads were read in steps of %g %s, %.1f to %.1f %% of the loads.", step,
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
              "Not recorded, of %zu pull%s: what let go %zu%s, design %zu%s, soak %zu, speed "
              "%zu, tyer %zu.",
              all, be_plural(all), what, what ? " (taken as events)" : "", design,
              design ? " (taken as single knots)" : "", soak, speed, tyer);
  if (corrected)
    be_doc_note(doc, "Results corrected: %zu; the earlier values are kept.", corrected);
}

enum be_status be_say_records(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  (void)err;
  be_say_pulls_of_kind(doc, survey, BE_KIND_BOUND, "lower_bounds", "Lower bounds");
  if (!survey->in_report) be_say_pulls_of_kind(doc, survey, BE_KIND_VOID, "voids", "Voids");
  say_reading_step(doc, survey);
  not_recorded(doc, survey);
  return BE_OK;
}
