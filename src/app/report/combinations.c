/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The strengths of one combination as a document, and of all of them as a part of the report. */
#include "app/ranking/places.h"
#include "app/report/report.h"
#include "app/strength/strength.h"

#include <math.h>
#include <string.h>

/* ---- the answer ---- */

static const char *mean_words(const struct survey *survey, const struct cell *cell)
{
  struct be_interval mean = be_load_interval(&cell->load, survey->how.level);
  struct be_interval kept = be_interval_percent(&cell->efficiency);
  int decimals = survey->decimals + 1, percent = be_percent_decimals(&cell->efficiency);
  const char *of_line = "";
  if (!isnan(cell->efficiency.value))
    of_line = be_arena_format(survey->arena, ", %.*f %%%s of the plain line", percent,
                              100 * cell->efficiency.value,
                              be_interval_words(survey, kept.low, kept.high, percent));
  return be_arena_format(
      survey->arena, "%s %s%s, n = %zu%s",
      be_number_words(survey, be_shown(survey, cell->load.value), decimals), survey->how.unit->name,
      be_interval_words(survey, be_shown(survey, mean.low), be_shown(survey, mean.high), decimals),
      cell->n, of_line ? of_line : "");
}

static const struct cell *strongest(const struct survey *survey, const struct combination *where)
{
  const struct cell *first = NULL;
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++)
    if (survey->cells[i].n && (!first || survey->cells[i].load.value > first->load.value))
      first = &survey->cells[i];
  return first;
}

static enum be_status say_answer(struct be_doc *doc, const struct survey *survey,
                                 const struct combination *where, struct be_err *err)
{
  struct survey own = *survey;
  own.how.resamples = 0;
  struct place place = {.name = where->name};
  const struct cell *first = strongest(survey, where);
  if (!first) {
    be_doc_sentence(doc, "No event yet in %s, only lower bounds or voids.", where->name);
    return BE_OK;
  }
  enum be_status status = be_grid_make(&own, &where, 1, &place.all, err);
  place.block = place.all;
  bool ranked = where->design != BE_DESIGN_TWO_DIFFERENT && be_place_ranked(&place);
  if (status == BE_OK && ranked) status = be_place_rank(&own, &place, err);
  if (status != BE_OK) return status;
  size_t others = ranked ? be_ranking_followers(place.ranking) : 0;
  if (ranked) first = be_grid_cell(&place.block, place.ranking->order[0], 0);
  const char *name = be_cell_name(survey, first), *words = mean_words(survey, first);
  if (!words) return be_no_memory(err);
  if (be_is_plain(where)) be_doc_sentence(doc, "%s: the plain line held %s.", where->name, words);
  else if (!ranked)
    be_doc_sentence(doc, "In %s the %s held %s; no other is ranked against it.", where->name, name,
                    words);
  else if (others && be_ranking_bare(place.ranking))
    be_doc_sentence(doc,
                    "In %s one pull of a knot tells nothing of scatter, so nothing is said of "
                    "which is the stronger; the %s held %s.",
                    where->name, name, words);
  else if (others)
    be_doc_sentence(doc,
                    "In %s the first cannot be separated from %zu other%s; the %s stands first by "
                    "its mean: %s.",
                    where->name, others, others == 1 ? "" : "s", name, words);
  else
    be_doc_sentence(doc, "In %s the %s held most, apart from every other that was ranked: %s.",
                    where->name, name, words);
  return BE_OK;
}

/* ---- its lines ---- */

static const struct cell *plain_of(const struct survey *survey, int line, enum be_soak soak)
{
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct combination *where = &survey->combinations[survey->cells[i].combination];
    if (be_is_plain(where) && where->line_a == line && where->soak == soak && survey->cells[i].n)
      return &survey->cells[i];
  }
  return NULL;
}

static void say_line(struct be_doc *doc, const struct survey *survey, int line, enum be_soak soak)
{
  const char *name = survey->line_names[line];
  const struct cell *plain = plain_of(survey, line, soak);
  if (!plain) {
    be_doc_note(doc, "%s: never pulled plain in this soak.", name);
    return;
  }
  const struct be_line_class *is = be_line_class_of(plain->load.value);
  const char *words = mean_words(survey, plain);
  const char *of_class = "above every record class";
  if (is)
    of_class = be_arena_format(survey->arena, "in the record class of %d kg, %d lb by custom",
                               is->kg, is->lb);
  be_doc_note(doc, "%s, as measured%s%s: %s: %s.", name,
              soak == BE_SOAK_UNKNOWN ? ", soak not recorded" : " ",
              soak == BE_SOAK_UNKNOWN ? "" : be_soak_word(soak), words ? words : "",
              of_class ? of_class : "");
}

static void say_lines(struct be_doc *doc, const struct survey *survey,
                      const struct combination *where)
{
  say_line(doc, survey, where->line_a, where->soak);
  if (where->line_b >= 0 && where->line_b != where->line_a)
    say_line(doc, survey, where->line_b, where->soak);
}

static void say_columns(struct be_doc *doc, const struct survey *survey)
{
  be_doc_note(
      doc,
      "n: events, with lower bounds counted in means where strength says so. Intervals are "
      "at %g %%, of the scatter of pulls alone: what the rig adds is in the uncertainty budget. "
      "Efficiency: mean load over that of the weaker plain line. s, CV and worst "
      "are of events alone; one in ten below: the load that one pull in ten does not reach, "
      "by a Weibull. Slipped out: of those that say what let go. Line class: the smallest "
      "record class, in kg, that the label is in; such classes are of wet line.",
      100 * survey->how.level);
}

/* ---- the documents ---- */

static enum be_status say_combination(struct be_doc *doc, const struct survey *survey,
                                      const struct combination *where, struct be_err *err)
{
  enum be_status status = say_answer(doc, survey, where, err);
  if (status == BE_OK) status = be_say_strengths(doc, survey, &where, 1, where->name, err);
  if (status != BE_OK) return status;
  say_lines(doc, survey, where);
  if (be_is_plain(where)) return BE_OK;
  be_say_beneath(doc, survey, where);
  if (strongest(survey, where)) be_doc_figure(doc, be_figure_of_pulls(survey, where));
  return BE_OK;
}

enum be_status be_combination_doc(const struct survey *survey, const struct combination *where,
                                  struct be_doc **out, struct be_err *err)
{
  const char *title = be_arena_format(survey->arena, "Strengths: %s", where->name);
  struct be_doc *doc = title ? be_doc_create("strengths", title) : NULL;
  if (!doc) return be_no_memory(err);
  enum be_status status = say_combination(doc, survey, where, err);
  say_columns(doc, survey);
  return be_answer_done(survey, doc, status, out, err);
}

enum be_status be_all_strengths_doc(const struct survey *survey, struct be_doc **out,
                                    struct be_err *err)
{
  size_t count = survey->combinations_count, plain = 0;
  const struct combination **where = be_arena_alloc(survey->arena, count * sizeof *where);
  struct be_doc *doc = be_doc_create("strengths", "Strengths: all combinations");
  if (!doc || !where) {
    be_doc_free(doc);
    return be_no_memory(err);
  }
  for (size_t i = 0; i < count; i++) {
    where[i] = &survey->combinations[i];
    plain += be_is_plain(where[i]);
  }
  be_doc_sentence(doc, "Pulls: %zu; combinations of knots with lines: %zu; plain lines: %zu.",
                  survey->record.pulls_count, count - plain, plain);
  enum be_status status = be_say_strengths(doc, survey, where, count, "Strengths", err);
  say_columns(doc, survey);
  return be_answer_done(survey, doc, status, out, err);
}

enum be_status be_tables_doc(const struct survey *survey, struct be_doc **out, struct be_err *err)
{
  size_t count = 0;
  struct be_doc *doc = be_doc_create("tables", "Tables, combination by combination");
  if (!doc) return be_no_memory(err);
  for (size_t i = 0; i < survey->combinations_count; i++)
    count += !be_is_plain(&survey->combinations[i]);
  if (count)
    be_doc_sentence(doc, "Combinations of lines and hardware in which knots were pulled: %zu%s.",
                    count,
                    count > 1 ? "; what was pulled in one is not averaged with another" : "");
  else be_doc_sentence(doc, "No knot was pulled yet.");
  if (count) say_columns(doc, survey);
  enum be_status status = BE_OK;
  be_progress_step("setting up the tables", NULL, 0);
  for (size_t i = 0; i < survey->combinations_count && status == BE_OK; i++) {
    if (be_is_plain(&survey->combinations[i])) continue;
    be_doc_heading(doc, "%s", survey->combinations[i].name);
    status = say_combination(doc, survey, &survey->combinations[i], err);
  }
  return be_answer_done(survey, doc, status, out, err);
}
