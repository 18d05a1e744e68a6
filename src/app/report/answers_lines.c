/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Answers about lines, and about the scale. */
#include "app/report/questions.h"

#include <math.h>

/* ---- lines ---- */

static bool has_text(const char *text)
{
  return text && *text;
}

static size_t count_lines(const struct survey *survey, bool (*has)(const struct be_line *line))
{
  size_t count = 0;
  for (size_t i = 0; i < survey->record.lines_count; i++) count += has(&survey->record.lines[i]);
  return count;
}

static bool has_spool(const struct be_line *line)
{
  return has_text(line->spool);
}

static bool has_lot(const struct be_line *line)
{
  return has_text(line->lot);
}

static bool has_diameter(const struct be_line *line)
{
  return !isnan(line->diameter_m);
}

static bool has_label(const struct be_line *line)
{
  return !isnan(line->label_N);
}

enum be_status be_answer_lines(struct be_answer *answer, struct be_err *err)
{
  const struct survey *survey = answer->survey;
  const char *text = "";
  if (be_answer_is_empty(answer, survey->line_names_count, "lines")) return BE_OK;
  for (size_t i = 0; i < survey->line_names_count && i < 24 && text; i++)
    text = be_arena_format(survey->arena, "%s%s%.40s", text, i ? "; " : "", survey->line_names[i]);
  if (text && survey->line_names_count > 24)
    text = be_arena_format(survey->arena, "%s; and %zu more", text, survey->line_names_count - 24);
  if (!text) return be_no_memory(err);
  be_answer_add(
      answer, 1, 1,
      "Lines that were pulled: %zu: %s. What was pulled on one is averaged with no other; "
      "of other lines the record says nothing.",
      survey->line_names_count, text);
  return BE_OK;
}

enum be_status be_answer_joints(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct survey *survey = answer->survey;
  size_t joints = 0, unlike = 0, pulls = 0;
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct combination *where = &survey->combinations[survey->cells[i].combination];
    if (where->line_b < 0) continue;
    bool first = where->first_cell == i, differ = where->line_b != where->line_a;
    joints += first;
    unlike += first && differ;
    pulls += differ ? survey->cells[i].count : 0;
  }
  if (!unlike) {
    be_answer_add(answer, 0, 1, "No two unlike lines were joined.");
    return BE_OK;
  }
  be_answer_add(
      answer, 1, 1,
      "Combinations of two lines: %zu, of unlike ones: %zu, with %zu pull%s; efficiency is of the "
      "weaker line, and the part on strength says which line let go where that was recorded.",
      joints, unlike, pulls, be_plural(pulls));
  return BE_OK;
}

enum be_status be_answer_spools(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct survey *survey = answer->survey;
  size_t lines = survey->record.lines_count, several = 0;
  if (be_answer_is_empty(answer, lines, "lines")) return BE_OK;
  for (size_t i = 0; i < survey->line_names_count; i++) {
    size_t spools = 0;
    for (size_t k = 0; k < lines; k++) spools += survey->name_of_line[k] == (int)i;
    several += spools > 1;
  }
  size_t told = count_lines(survey, has_spool);
  be_answer_add(
      answer, told, lines,
      "Spools in the record: %zu, named %zu, with their lot %zu; of more than one spool: %zu of "
      "%zu line%s. Each pull is divided by its own spool where that was pulled plain.",
      lines, told, count_lines(survey, has_lot), several, survey->line_names_count,
      be_plural(survey->line_names_count));
  return BE_OK;
}

enum be_status be_answer_diameter(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct survey *survey = answer->survey;
  size_t lines = survey->record.lines_count, told = count_lines(survey, has_diameter);
  if (be_answer_is_empty(answer, lines, "lines")) return BE_OK;
  be_answer_add(
      answer, told, lines,
      "Spools in the record: %zu, with a measured diameter %zu, with a label %zu. Knots are "
      "compared on the same lines, so that neither enters; efficiency is of what the line itself "
      "held.",
      lines, told, count_lines(survey, has_label));
  return BE_OK;
}

/* ---- the scale ---- */

enum be_status be_answer_scale(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct be_record *record = &answer->survey->record;
  size_t under = 0, known = 0;
  double missed = 0;
  for (size_t i = 0; i < record->pulls_count; i++) {
    const struct be_pull *pull = &record->pulls[i];
    under += pull->calibration >= 0;
    if (isnan(pull->trace_missed_N) || !(pull->load_N > 0)) continue;
    known++;
    missed = fmax(missed, pull->trace_missed_N / pull->load_N);
  }
  if (be_answer_is_empty(answer, record->pulls_count, "pulls")) return BE_OK;
  be_answer_add(answer, under, record->pulls_count,
                "Of %zu pull%s %zu have a calibration in force; readings of check weights: %zu.",
                record->pulls_count, be_plural(record->pulls_count), under, record->weights_count);
  if (known)
    be_answer_add(
        answer, known, record->pulls_count,
        "How much of the peak sampling may have missed is known of %zu trace%s: %.2g %% at most.",
        known, be_plural(known), 100 * missed);
  else
    be_answer_add(answer, 0, 1,
                  "How much of a peak may be missed is not recorded: no trace tells.");
  return BE_OK;
}
