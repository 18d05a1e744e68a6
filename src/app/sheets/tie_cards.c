/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How each knot is tied, for whoever ties. */
#include "app/anatomy/anatomy.h"
#include "app/knots/knots.h"
#include "app/sheets/sheets.h"

#include <string.h>

enum { STEPS = 6, CARD_WIDTH = 640 };

static enum be_status draw_card(struct be_doc *doc, const struct survey *survey,
                                const struct be_knot *knot, const struct be_tie *tie,
                                struct be_err *err)
{
  struct anatomy *anatomy = be_arena_alloc(survey->arena, sizeof *anatomy);
  struct be_drawing *drawing = NULL;
  if (!anatomy) return be_no_memory(err);
  enum be_status status = be_anatomy_look(tie, BE_LOOKED_USUAL, 0, 0, survey->arena, anatomy, err);
  if (status != BE_OK) return status;
  const char *subtitle = be_arena_format(
      survey->arena, "%s%s%s%s, in %d steps", knot->kind ? knot->kind : "", knot->kind ? ", " : "",
      "tied as ", anatomy->full ? anatomy->full : "drawn", STEPS);
  if (!subtitle) return be_no_memory(err);
  const struct be_anatomy_asked asked = {.title = knot->full,
                                         .subtitle = subtitle,
                                         .loaded = tie->loaded,
                                         .hardware = tie->hardware,
                                         .letter = tie->letter,
                                         .steps = STEPS,
                                         .width = CARD_WIDTH};
  status = be_anatomy_drawing(&tie->lines, &anatomy->seen.view, &asked, &drawing, err);
  if (status == BE_OK) be_doc_drawing(doc, drawing);
  return status;
}

/* A tie that cannot be read or drawn is told, and keeps no other from the sheet. */
static enum be_status say_card(struct be_doc *doc, const struct survey *survey,
                               const struct be_knot *knot, size_t *drawn, struct be_err *err)
{
  struct be_err why = {0};
  struct be_tie tie;
  const char *text = be_knot_tie(knot);
  if (!text) {
    be_doc_note(doc, "%s: how it runs is not recorded.", knot->full);
    return BE_OK;
  }
  enum be_status status = be_tie_told(text, survey->arena, &tie, &why);
  if (status == BE_OK) status = be_anatomy_check(&tie, &why);
  if (status == BE_OK) status = draw_card(doc, survey, knot, &tie, &why);
  *drawn += status == BE_OK;
  if (status == BE_NO_MEMORY && err) *err = why;
  if (status == BE_OK || status == BE_NO_MEMORY) return status;
  be_doc_note(doc, "%s: its tie cannot be drawn: %s%s%s.", knot->full, why.what,
              *why.remedy ? "; " : "", why.remedy);
  return BE_OK;
}

static bool is_planned(const struct be_trial *trial, int knot)
{
  bool planned = !trial;
  for (size_t i = 0; trial && i < trial->planned_count && !planned; i++)
    planned = trial->planned[i].knot == knot || trial->planned[i].knot_b == knot;
  return planned;
}

enum be_status be_tie_cards_doc(const struct survey *survey, const struct be_trial *trial,
                                struct be_doc **out, struct be_err *err)
{
  const struct be_record *record = &survey->record;
  struct be_doc *doc = be_doc_create("tie_cards", "Tie cards");
  enum be_status status = BE_OK;
  size_t drawn = 0, all = 0;
  if (!doc) return be_no_memory(err);
  for (size_t i = 0; i < record->knots_count && status == BE_OK; i++) {
    if (!is_planned(trial, (int)i)) continue;
    all++;
    status = say_card(doc, survey, &record->knots[i], &drawn, err);
  }
  size_t place = be_doc_place(doc);
  be_doc_sentence(doc, "%zu of %zu knots%s%s, wrap by wrap.", drawn, all,
                  trial ? " of the trial " : " of the book", trial ? trial->name : "");
  be_doc_first(doc, place);
  return be_answer_done(survey, doc, status, out, err);
}
