/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Parts of the report that other folders know how to say: each with its own title here. */
#include "app/plan/plan.h"
#include "app/report/report.h"
#include "app/rig/trust.h"
#include "app/strength/strength.h"

/* ---- departures ---- */

static enum be_status say_trial(struct be_doc *doc, const struct survey *survey,
                                const struct be_trial *trial, struct be_err *err)
{
  be_doc_heading(doc, "%s", trial->name);
  if (trial->changes_count || be_progress_of(survey, trial).pulled)
    return be_say_departures_of(doc, survey, trial, err);
  be_doc_sentence(doc, "Nothing of the trial %s is pulled yet.", trial->name);
  return BE_OK;
}

enum be_status be_departures_doc(const struct survey *survey, struct be_doc **out,
                                 struct be_err *err)
{
  size_t trials = survey->record.trials_count, free_pulls = 0;
  struct be_doc *doc = be_doc_create("departures", "Departures from the plan");
  if (!doc) return be_no_memory(err);
  for (size_t i = 0; i < survey->record.pulls_count; i++)
    free_pulls += survey->record.pulls[i].trial < 0;
  if (!trials) be_doc_sentence(doc, "No trial was planned, so there is no plan to depart from.");
  else
    be_doc_sentence(doc, "Trials planned: %zu; of %zu pulls %zu belong to none.", trials,
                    survey->record.pulls_count, free_pulls);
  enum be_status status = BE_OK;
  for (size_t i = 0; i < trials && status == BE_OK; i++)
    status = say_trial(doc, survey, &survey->record.trials[i], err);
  return be_answer_done(survey, doc, status, out, err);
}

/* ---- the rig ---- */

/* The last day that the record speaks of, so that a report is the same whenever it is written. */
static bool last_day(const struct survey *survey, long *day)
{
  const struct be_record *record = &survey->record;
  bool any = false;
  for (size_t i = 0; i < record->pulls_count; i++)
    if (!any || record->pulls[i].day > *day) *day = record->pulls[i].day, any = true;
  for (size_t i = 0; i < record->weights_count; i++)
    if (!any || record->weights[i].day > *day) *day = record->weights[i].day, any = true;
  for (size_t i = 0; i < record->calibrations_count; i++)
    if (!any && record->calibrations[i].is.dated) *day = record->calibrations[i].is.day, any = true;
  return any;
}

enum be_status be_rig_part_doc(const struct survey *survey, struct be_doc **out, struct be_err *err)
{
  long day = 0;
  if (last_day(survey, &day)) return be_rig_doc(survey, day, out, err);
  struct be_doc *doc = be_doc_create("rig", "Rig");
  if (!doc) return be_no_memory(err);
  be_doc_sentence(doc,
                  "Whether the rig can be trusted is not known: the book has neither pulls nor "
                  "calibrations.");
  return be_answer_done(survey, doc, BE_OK, out, err);
}

/* ---- the budget ---- */

enum be_status be_budget_doc(const struct survey *survey, struct be_doc **out, struct be_err *err)
{
  struct be_doc *doc = be_doc_create("budget", "Uncertainty budget");
  if (!doc) return be_no_memory(err);
  enum be_status status = be_say_budget(doc, survey, err);
  size_t place = be_doc_place(doc);
  if (place)
    be_doc_sentence(doc, "The doubt about each mean load, source by source: scatter of the pulls, "
                         "calibration, resolution, drift of the zero, and peaks that were missed.");
  else be_doc_sentence(doc, "No budget: none has two events of different loads.");
  be_doc_first(doc, place);
  return be_answer_done(survey, doc, status, out, err);
}

/* ---- cautions ---- */

enum be_status be_cautions_doc(const struct survey *survey, struct be_doc **out, struct be_err *err)
{
  struct be_doc *doc = be_doc_create("cautions", "Cautions, version and seed");
  if (!doc) return be_no_memory(err);
  be_doc_sentence(doc, "What these figures are not to be used for, and what is needed to make them "
                       "again.");
  be_doc_caution(doc, "%s", be_notice);
  be_doc_sentence(doc,
                  "A figure holds for the lines, hands, soak and speed it was pulled with. "
                  "Strongest is not best: a knot must also be tied, seated, and pass the guides.");
  be_doc_sentence(doc,
                  "Where it says \"cannot separate\", the order of knots may be luck; that two "
                  "are equal is never shown, only how far they may differ.");
  be_doc_sentence(doc,
                  "\"At least\" is a lower bound: the specimen held that, and what more is not "
                  "known.");
  be_doc_fact(doc, "version", "Version", "bitterend %s", be_version);
  if (survey->record.last.file)
    be_doc_fact(doc, "as_of", "The record as of", "%s, when %s was entered",
                survey->record.last.entered_at, survey->record.last.file);
  be_doc_fact(doc, "seed", "Seed", "%llu", (unsigned long long)survey->how.seed);
  be_doc_fact(doc, "resamples", "Resamples", "%zu", survey->how.resamples);
  be_doc_fact(doc, "level", "Level of intervals", "%g", survey->how.level);
  be_doc_fact(doc, "unit", "Unit of force", "%s", survey->how.unit->name);
  be_doc_fact(doc, "pulls", "Pulls in the book", "%zu", survey->record.pulls_count);
  return be_answer_done(survey, doc, BE_OK, out, err);
}
