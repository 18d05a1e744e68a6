/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The two sheets of a trial: documents of one table each, in the edition for spreadsheets. */
#include "app/plan/plan.h"

#include <math.h>

const char *be_sheet_mark(const struct survey *survey, const struct be_trial *trial)
{
  return be_arena_format(survey->arena, "# trial %s, written by bitterend plan", trial->name);
}

static enum be_status write_sheet(const struct survey *survey, const struct be_trial *trial,
                                  struct be_doc *doc, struct be_buf *out, struct be_err *err)
{
  const char *mark = be_sheet_mark(survey, trial);
  enum be_status status = mark ? BE_OK : be_no_memory(err);
  if (mark) be_buf_format(out, "%s\r\n", mark);
  if (status == BE_OK) status = be_doc_csv(doc, out, err);
  be_doc_free(doc);
  return status == BE_OK ? be_buf_status(out, err) : status;
}

/* without: what stands where there is no knot. */
static void put_knot(struct be_table *table, const struct survey *survey, int index,
                     const char *without)
{
  const struct be_knot *knot = index < 0 ? NULL : &survey->record.knots[index];
  be_table_text(table, "%s", knot ? knot->name : without);
  if (knot && knot->version) be_table_text(table, "%s", knot->version);
  else be_table_none(table);
  if (knot && !isnan(knot->turns)) be_table_number(table, knot->turns, 2);
  else be_table_none(table);
}

static void put_line(struct be_table *table, const struct survey *survey, int index)
{
  const struct be_line *line = index < 0 ? NULL : &survey->record.lines[index];
  if (line) be_table_text(table, "%s", line->name);
  else be_table_none(table);
  if (line && line->spool) be_table_text(table, "%s", line->spool);
  else be_table_none(table);
}

enum be_status be_trial_sheet(const struct survey *survey, const struct be_trial *trial,
                              struct be_buf *out, struct be_err *err)
{
  static const struct be_column columns[] = {
      {"trial", "", BE_COLUMN_TEXT, false},     {"specimen", "", BE_COLUMN_TEXT, false},
      {"block", "", BE_COLUMN_NUMBER, false},   {"order", "", BE_COLUMN_NUMBER, false},
      {"design", "", BE_COLUMN_TEXT, false},    {"knot", "", BE_COLUMN_TEXT, false},
      {"version", "", BE_COLUMN_TEXT, false},   {"turns", "", BE_COLUMN_NUMBER, false},
      {"knot B", "", BE_COLUMN_TEXT, false},    {"version B", "", BE_COLUMN_TEXT, false},
      {"turns B", "", BE_COLUMN_NUMBER, false}, {"line A", "", BE_COLUMN_TEXT, false},
      {"spool A", "", BE_COLUMN_TEXT, false},   {"line B", "", BE_COLUMN_TEXT, false},
      {"spool B", "", BE_COLUMN_TEXT, false},   {"hardware", "", BE_COLUMN_TEXT, false},
      {"soak", "", BE_COLUMN_TEXT, false},      {"tyer", "", BE_COLUMN_TEXT, false},
  };
  struct be_doc *doc = be_doc_create("trial", "Trial");
  if (!doc) return be_no_memory(err);
  struct be_table *table =
      be_doc_table(doc, "trial", "", columns, sizeof columns / sizeof columns[0]);
  for (size_t i = 0; i < trial->planned_count; i++) {
    const struct be_planned *planned = &trial->planned[i];
    be_table_text(table, "%s", trial->name);
    be_table_text(table, "%s", planned->code);
    be_table_number(table, planned->block, 0);
    be_table_number(table, planned->order, 0);
    be_table_text(table, "%s", be_design_word(planned->design));
    put_knot(table, survey, planned->knot, "none");
    put_knot(table, survey, planned->knot_b, "");
    put_line(table, survey, planned->line_a);
    put_line(table, survey, planned->line_b);
    if (planned->hardware) be_table_text(table, "%s", planned->hardware);
    else be_table_none(table);
    be_table_text(table, "%s", be_soak_word(planned->soak));
    be_put_tyer(table, planned);
  }
  return write_sheet(survey, trial, doc, out, err);
}

enum be_status be_rule_sheet(const struct survey *survey, const struct be_trial *trial,
                             struct be_buf *out, struct be_err *err)
{
  static const struct be_column columns[] = {
      {"trial", "", BE_COLUMN_TEXT, false},
      {"rule", "", BE_COLUMN_TEXT, false},
      {"value", "", BE_COLUMN_TEXT, false},
  };
  struct be_doc *doc = be_doc_create("rules", "Rules");
  if (!doc) return be_no_memory(err);
  struct be_table *table = be_doc_table(doc, "rules", "", columns, 3);
  for (int i = 0; i < BE_RULES; i++) {
    if (!trial->rule[i]) continue;
    be_table_text(table, "%s", trial->name);
    be_table_text(table, "%s", be_rule_word((enum be_rule)i));
    be_table_text(table, "%s", trial->rule[i]);
  }
  return write_sheet(survey, trial, doc, out, err);
}
