/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is written at the bench: an evening a page. */
#include "app/plan/plan.h"
#include "app/sheets/sheets.h"

#include <math.h>

enum { EMPTY_ROWS = 24 };

static const char box[] = "\u2610";

/* What holds for the whole evening is written once, above its rows. */
static void say_evening(struct be_doc *doc)
{
  static const struct {
    const char *key, *label;
  } blanks[] = {{"date", "Date"},
                {"hand", "Pulled by, judged by"},
                {"bench", "Bench and calibration"},
                {"zero", "Zero before and after"},
                {"check_weight", "Check weight and its reading"},
                {"speed", "Speed and free length"},
                {"water", "In which water, from, and out at"},
                {"grips", "Grips, and how many wraps"},
                {"seating", "Drawn up with, and held for"},
                {"room", "Temperature and humidity"}};
  for (size_t i = 0; i < sizeof blanks / sizeof blanks[0]; i++)
    be_doc_fact(doc, blanks[i].key, blanks[i].label, "________________________________________");
}

static struct be_table *add_table(struct be_doc *doc, const struct survey *survey, const char *name,
                                  bool spools)
{
  const struct be_column columns[] = {
      {"order", "pull", BE_COLUMN_NUMBER, false},
      {"specimen", "specimen", BE_COLUMN_TEXT, false},
      {"lines", "lines", BE_COLUMN_TEXT, !spools},
      {"load", be_head(survey, "load"), BE_COLUMN_TEXT, false},
      {"what", "what let go", BE_COLUMN_TEXT, false},
      {"where", "where", BE_COLUMN_TEXT, false},
      {"which", "which", BE_COLUMN_TEXT, false},
      {"handled", "tied on, drawn up with, tag, glue", BE_COLUMN_TEXT, false},
      {"note", "void and why, note, photo", BE_COLUMN_TEXT, false},
  };
  struct be_table *table =
      be_doc_table(doc, "pulls", name, columns, sizeof columns / sizeof *columns);
  be_table_by_hand(table);
  return table;
}

static void put_row(struct be_table *table, double order, const char *code, const char *lines)
{
  be_table_number(table, order, 0);
  be_table_text(table, "%s", code);
  be_table_text(table, "%s", lines);
  be_table_text(table, " ");
  be_table_text(
      table,
      "%s\u00A0broke %s\u00A0slipped %s\u00A0both %s\u00A0strand %s\u00A0hardware %s\u00A0nothing",
      box, box, box, box, box, box);
  be_table_text(
      table,
      "%s\u00A0in %s\u00A0entry %s\u00A0clear %s\u00A0grip %s\u00A0eye %s\u00A0not\u00A0seen", box,
      box, box, box, box, box);
  be_table_text(table, "%s\u00A0A %s\u00A0B %s\u00A0tag %s\u00A0knot\u00A0A %s\u00A0knot\u00A0B",
                box, box, box, box, box);
  be_table_text(table, " ");
  be_table_text(table, " ");
}

static const char *lines_of(const struct survey *survey, const struct be_planned *planned)
{
  const char *a = be_plan_line(survey, planned->line_a);
  const char *b = planned->line_b >= 0 ? be_plan_line(survey, planned->line_b) : planned->hardware;
  return b ? be_arena_format(survey->arena, "%s, %s", a ? a : "?", b) : a ? a : "?";
}

static size_t count_left(const struct be_trial *trial, size_t *blocks)
{
  double block = NAN;
  size_t left = 0;
  *blocks = 0;
  for (size_t i = 0; i < trial->planned_count; i++) {
    if (trial->planned[i].pull >= 0) continue;
    *blocks += trial->planned[i].block != block;
    block = trial->planned[i].block;
    left++;
  }
  return left;
}

static void say_blocks(struct be_doc *doc, const struct survey *survey,
                       const struct be_trial *trial)
{
  struct be_table *table = NULL;
  double block = NAN;
  for (size_t i = 0; i < trial->planned_count; i++) {
    const struct be_planned *planned = &trial->planned[i];
    if (planned->pull >= 0) continue;
    if (!table || planned->block != block) {
      be_doc_heading(doc, "%s, block %.10g", trial->name, planned->block);
      say_evening(doc);
      table = add_table(doc, survey, NULL, true);
    }
    block = planned->block;
    const char *lines = lines_of(survey, planned);
    put_row(table, planned->order, planned->code, lines ? lines : "?");
  }
}

static void say_rules(struct be_doc *doc, const struct survey *survey, const struct be_trial *trial)
{
  static const enum be_rule rules[] = {BE_RULE_GRIP, BE_RULE_CLEAR, BE_RULE_SLIP, BE_RULE_VOID,
                                       BE_RULE_REPLACE};
  for (size_t i = 0; i < sizeof rules / sizeof rules[0]; i++) {
    const char *word = be_rule_in_force(survey, trial, rules[i]);
    if (word) be_doc_note(doc, "By the trial's rules, %s: %s.", be_rule_word(rules[i]), word);
  }
}

static void say_empty(struct be_doc *doc, const struct survey *survey)
{
  say_evening(doc);
  struct be_table *table = add_table(doc, survey, NULL, true);
  for (int i = 1; i <= EMPTY_ROWS; i++) put_row(table, i, " ", " ");
}

enum be_status be_pull_sheet_doc(const struct survey *survey, const struct be_trial *trial,
                                 struct be_doc **out, struct be_err *err)
{
  const char *title =
      trial ? be_arena_format(survey->arena, "Pull sheet of %s", trial->name) : "Pull sheet";
  struct be_doc *doc = title ? be_doc_create("pull_sheet", title) : NULL;
  if (!doc) return be_no_memory(err);
  size_t blocks = 0, left = trial ? count_left(trial, &blocks) : 0;
  if (!trial) be_doc_sentence(doc, "For %d pulls that no trial plans.", EMPTY_ROWS);
  else if (left == 0)
    be_doc_sentence(doc, "All %zu specimens of the trial %s are pulled.", trial->planned_count,
                    trial->name);
  else
    be_doc_sentence(doc,
                    "%zu of %zu specimens of the trial %s are still to be pulled, in this order; "
                    "block%s left: %zu.",
                    left, trial->planned_count, trial->name, blocks == 1 ? "" : "s", blocks);
  be_doc_caution(doc, "%s", be_notice);
  if (trial) say_rules(doc, survey, trial);
  be_doc_note(doc,
              "Write the highest load that the display held, with all its figures; where there "
              "is no reading, a dash. Tick what was seen, not what was expected: \"not seen\" "
              "is an answer.");
  if (trial) say_blocks(doc, survey, trial);
  else say_empty(doc, survey);
  return be_answer_done(survey, doc, BE_OK, out, err);
}
