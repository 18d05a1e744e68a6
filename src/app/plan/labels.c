/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Labels for the specimens, which say nothing of the knot, and apart from them the list for
 * whoever ties. */
#include "app/plan/plan.h"

#include <string.h>

/* Draws a code both ways. What cannot be drawn is told once for all labels: which way, of which
 * code, and why; the code stands there as text in any case. */
struct undrawn {
  size_t count;
  const char *code; /* the first of them */
  struct be_err why;
};

static enum be_status draw(struct be_table *table, const char *code, enum be_symbol_kind kind,
                           struct undrawn *undrawn, struct be_err *err)
{
  struct be_symbol symbol;
  struct be_err why = {0};
  enum be_status status = be_symbol_make(kind, code, &symbol, &why);
  if (status == BE_OK) be_table_symbol(table, &symbol);
  if (status == BE_BAD_INPUT && undrawn->count++ == 0) {
    undrawn->code = code;
    undrawn->why = why;
  }
  return status == BE_OK || status == BE_BAD_INPUT ? BE_OK : be_fail(err, status, "%s", why.what);
}

static void say_undrawn(struct be_doc *doc, const struct undrawn *undrawn, size_t all)
{
  if (undrawn->count == 0) return;
  be_doc_note(doc, "%zu of %zu labels lack a symbol; the first is that of \"%.60s%s\": %s.",
              undrawn->count, all, undrawn->code, strlen(undrawn->code) > 60 ? "..." : "",
              undrawn->why.what);
}

static enum be_status say_labels(struct be_doc *doc, const struct be_trial *trial,
                                 struct be_err *err)
{
  struct undrawn bars = {0}, squares = {0};
  enum be_status status = BE_OK;
  static const struct be_column columns[] = {
      {"specimen", "", BE_COLUMN_TEXT, false},   {"trial", "", BE_COLUMN_TEXT, false},
      {"block", "", BE_COLUMN_TEXT, false},      {"what", "what", BE_COLUMN_TEXT, false},
      {"where", "where", BE_COLUMN_TEXT, false},
  };
  struct be_table *table = be_doc_table(doc, "labels", "Labels", columns, 5);
  be_table_labels(table);
  for (size_t i = 0; i < trial->planned_count && status == BE_OK; i++) {
    const struct be_planned *planned = &trial->planned[i];
    be_table_text(table, "%s", planned->code);
    status = draw(table, planned->code, BE_SYMBOL_BARS, &bars, err);
    if (status == BE_OK) status = draw(table, planned->code, BE_SYMBOL_SQUARE, &squares, err);
    be_table_text(table, "%s", trial->name);
    be_table_text(table, "block %.10g, pull %.10g", planned->block, planned->order);
    be_table_text(table, "\u2610\u00A0broke \u2610\u00A0slipped\u00A0out \u2610\u00A0both");
    be_table_text(table, "\u2610\u00A0in \u2610\u00A0entry \u2610\u00A0clear \u2610\u00A0grip");
  }
  say_undrawn(doc, &bars, trial->planned_count);
  say_undrawn(doc, &squares, trial->planned_count);
  return status;
}

static void say_ties(struct be_doc *doc, const struct survey *survey, const struct be_trial *trial,
                     const struct plan_grid *grid, const size_t *of)
{
  static const struct be_column columns[] = {
      {"block", "block", BE_COLUMN_NUMBER, false}, {"specimen", "specimen", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},     {"lines", "lines", BE_COLUMN_TEXT, false},
      {"tyer", "tyer", BE_COLUMN_TEXT, false},
  };
  bool tyers = be_plan_has_tyers(trial);
  struct be_table *table = be_doc_table(doc, "ties", "What to tie", columns, tyers ? 5 : 4);
  for (size_t i = 0; i < trial->planned_count; i++) {
    const struct plan_cell *cell = &grid->cells[of[i]];
    be_table_number(table, trial->planned[i].block, 0);
    be_table_text(table, "%s", trial->planned[i].code);
    be_table_text(table, "%s", be_plan_knot(survey, cell));
    be_table_text(table, "%s", be_plan_where(survey, cell));
    if (tyers) be_put_tyer(table, &trial->planned[i]);
  }
}

enum be_status be_trial_labels_doc(const struct survey *survey, const struct be_trial *trial,
                                   struct be_doc **out, struct be_err *err)
{
  struct plan_grid grid;
  size_t *of = be_arena_alloc(survey->arena, (trial->planned_count + 1) * sizeof *of);
  const char *title = be_arena_format(survey->arena, "Labels of %s", trial->name);
  if (!of || !title) return be_no_memory(err);
  enum be_status status = be_grid_of_trial(survey, trial, &grid, of, err);
  if (status != BE_OK) return status;
  struct be_doc *doc = be_doc_create("labels", title);
  if (!doc) return be_no_memory(err);
  be_doc_sentence(doc,
                  "%zu labels, in the order of pulling: tie each to its specimen. Nothing on "
                  "them tells the knot: the list after them does, so keep it from whoever judges "
                  "what let go.",
                  trial->planned_count);
  be_doc_note(doc,
              "Printed on A4 at full size (100 %%), a label is 63.5 mm by 33.9 mm, 24 to a sheet.");
  status = say_labels(doc, trial, err);
  be_doc_heading(doc, "What to tie");
  say_ties(doc, survey, trial, &grid, of);
  be_doc_note(doc, "Tie in this order: what is tied later is tied by a better hand.");
  return be_answer_done(survey, doc, status, out, err);
}
