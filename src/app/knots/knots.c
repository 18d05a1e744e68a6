/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every knot of the book. */
#include "app/knots/knots.h"

#include <math.h>

static void say_answer(struct be_doc *doc, const struct survey *survey, const struct ranked *ranked)
{
  size_t all = survey->record.knots_count, compared = 0, pulled = 0, pictures = 0;
  for (size_t i = 0; i < all; i++) {
    compared += ranked->states[i].compared;
    pulled += ranked->states[i].pulls > 0;
    pictures += survey->record.knots[i].picture != 0;
  }
  if (all == 0) {
    be_doc_sentence(doc, "The book knows no knot yet: a knot sheet tells them, and a pull sheet "
                         "makes the knots that it names.");
    return;
  }
  be_doc_sentence(doc,
                  "The book knows %zu knot%s: %zu compared with another, %zu pulled but never "
                  "compared, %zu never pulled; %zu with a picture.",
                  all, all == 1 ? "" : "s", compared, pulled - compared, all - pulled, pictures);
  if (pictures < all)
    be_doc_note(doc, "A picture is a PNG, JPEG or SVG file named as its knot, such as palomar.png, "
                     "entered like a sheet; or the column \"picture\" of a knot sheet names it.");
}

static void put_text(struct be_table *table, const char *text)
{
  be_table_text(table, "%s", text ? text : "not recorded");
}

static void knot_row(struct be_table *table, const struct survey *survey,
                     const struct ranked *ranked, int knot)
{
  const struct be_knot *of = &survey->record.knots[knot];
  const struct knot_state *state = &ranked->states[knot];
  be_table_text(table, "%s", of->name);
  be_table_link(table, "/knot?at=%d", knot);
  be_table_text(table, "%s", of->version ? of->version : "");
  be_table_number(table, of->turns, of->turns == floor(of->turns) ? 0 : 1);
  put_text(table, of->kind);
  be_table_text(table, "%s", of->aliases ? of->aliases : "");
  be_table_number(table, of->crossings_a, 0);
  be_table_number(table, of->crossings_b, 0);
  be_table_number(table, 1000 * of->overlap_m, 1);
  be_table_text(table, "%s", be_knot_tie_words(survey, of));
  const char *tie = be_knot_tie(of), *way = tie ? be_knot_tie_way(survey, of, tie) : "";
  if (*way) be_table_link(table, "%s", way);
  be_table_number(table, (double)state->pulls, 0);
  be_table_number(table, (double)state->combinations, 0);
  be_table_text(table, "%s", be_missing_words(survey, ranked, knot));
}

static void say_knots(struct be_doc *doc, const struct survey *survey, const struct ranked *ranked)
{
  bool drawn = false, tied = false;
  for (size_t i = 0; i < survey->record.knots_count; i++) {
    const struct be_knot *of = &survey->record.knots[i];
    drawn |= !isnan(of->crossings_a) || !isnan(of->overlap_m);
    tied |= be_knot_tie(of) != NULL;
  }
  const struct be_column columns[] = {
      {"name", "knot", BE_COLUMN_TEXT, false},
      {"version", "version", BE_COLUMN_TEXT, false},
      {"turns", "turns", BE_COLUMN_NUMBER, false},
      {"kind", "kind", BE_COLUMN_TEXT, false},
      {"aliases", "also called", BE_COLUMN_TEXT, false},
      {"crossings_a", "crossings of A", BE_COLUMN_NUMBER, !drawn},
      {"crossings_b", "of B", BE_COLUMN_NUMBER, !drawn},
      {"overlap_mm", "overlap (mm)", BE_COLUMN_NUMBER, !drawn},
      {"tie", "tie", BE_COLUMN_TEXT, !tied},
      {"pulls", "pulls", BE_COLUMN_NUMBER, false},
      {"combinations", "combinations", BE_COLUMN_NUMBER, false},
      {"missing", "missing", BE_COLUMN_TEXT, false},
  };
  struct be_table *table =
      be_doc_table(doc, "knots", "Knots", columns, sizeof columns / sizeof columns[0]);
  for (size_t i = 0; i < survey->record.knots_count; i++) knot_row(table, survey, ranked, (int)i);
}

enum be_status be_knots_doc(const struct survey *survey, struct be_doc **out, struct be_err *err)
{
  struct ranked ranked;
  enum be_status status = be_ranked_make(survey, &ranked, err);
  if (status != BE_OK) return status;
  struct be_doc *doc = be_doc_create("knots", "Knots");
  if (!doc) return be_no_memory(err);
  say_answer(doc, survey, &ranked);
  if (survey->record.knots_count) {
    say_knots(doc, survey, &ranked);
    be_say_ranked(doc, survey, &ranked, -1);
  }
  be_doc_fact(doc, "level", "Level of intervals", "%g", survey->how.level);
  return be_answer_done(survey, doc, status, out, err);
}
