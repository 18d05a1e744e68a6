/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables that a new plan and a trial under way have in common. */
#include "app/plan/plan.h"

#include <math.h>

const char *be_hours(const struct survey *survey, double minutes)
{
  long whole = lround(ceil(minutes - 1e-9));
  const char *words = whole < 60 ? be_arena_format(survey->arena, "%ld min", whole)
                      : whole % 60 == 0
                          ? be_arena_format(survey->arena, "%ld h", whole / 60)
                          : be_arena_format(survey->arena, "%ld h %ld min", whole / 60, whole % 60);
  return words ? words : "?";
}

const char *be_plan_knot(const struct survey *survey, const struct plan_cell *cell)
{
  const char *name = be_knot_name(survey, cell->knot);
  if (cell->knot_b < 0 || cell->knot_b == cell->knot) return name;
  const char *both =
      be_arena_format(survey->arena, "%s against %s", name, be_knot_name(survey, cell->knot_b));
  return both ? both : name;
}

bool be_plan_has_tyers(const struct be_trial *trial)
{
  size_t i = 0;
  while (i < trial->planned_count && !trial->planned[i].tyer) i++;
  return i < trial->planned_count;
}

void be_put_tyer(struct be_table *table, const struct be_planned *planned)
{
  if (planned->tyer) be_table_text(table, "%s", planned->tyer);
  else be_table_none(table);
}

void be_say_grid(struct be_doc *doc, const struct survey *survey, const struct plan_grid *grid)
{
  static const struct be_column columns[] = {
      {"combination", "lines", BE_COLUMN_TEXT, false},
      {"knot", "knot, or plain line", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
  };
  struct be_table *table = be_doc_table(doc, "grid", "What is tied", columns, 3);
  for (size_t i = 0; i < grid->count; i++) {
    if (grid->cells[i].n == 0) continue;
    be_table_text(table, "%s", be_plan_where(survey, &grid->cells[i]));
    be_table_text(table, "%s", be_plan_knot(survey, &grid->cells[i]));
    be_table_number(table, (double)grid->cells[i].n, 0);
  }
}

/* ---- line ---- */

/* Specimens still to pull that use a line. */
static size_t count_on(const struct be_trial *trial, int line)
{
  size_t count = 0;
  for (size_t i = 0; i < trial->planned_count; i++) {
    const struct be_planned *planned = &trial->planned[i];
    count += planned->pull < 0 && (planned->line_a == line || planned->line_b == line);
  }
  return count;
}

struct plan_stock be_stock_of(const struct survey *survey, const struct be_trial *trial)
{
  struct plan_stock stock = {0, ""};
  double each = be_rule_number(trial, BE_RULE_METRES);
  for (size_t i = 0; i < survey->record.lines_count; i++) {
    double needed = (double)count_on(trial, (int)i) * each;
    double on_hand = survey->record.lines[i].on_hand_m;
    stock.metres += needed;
    if (!(needed > on_hand)) continue;
    const char *words = be_arena_format(survey->arena, "%s; %s is %.1f m short", stock.shortage,
                                        be_plan_line(survey, (int)i), needed - on_hand);
    if (words) stock.shortage = words;
  }
  return stock;
}

/* Of what is on hand, other trials may need some; how much of it they will is not known. */
static void say_others(struct be_doc *doc, const struct survey *survey, const struct be_trial *own,
                       int line)
{
  double needed = 0;
  for (size_t i = 0; i < survey->record.trials_count; i++) {
    const struct be_trial *trial = &survey->record.trials[i];
    double each = be_rule_number(trial, BE_RULE_METRES);
    if (be_text_same(trial->name, own->name) || isnan(each)) continue;
    needed += (double)count_on(trial, line) * each;
  }
  if (needed > 0)
    be_doc_note(doc,
                "Of %s other trials of the book, not pulled to their end, still need %.1f m: it is "
                "not taken off what is on hand.",
                be_plan_line(survey, line), needed);
}

void be_say_line_needed(struct be_doc *doc, const struct survey *survey,
                        const struct be_trial *trial)
{
  static const struct be_column columns[] = {
      {"line", "spool", BE_COLUMN_TEXT, false},
      {"specimens", "specimens", BE_COLUMN_NUMBER, false},
      {"needed_m", "needed (m)", BE_COLUMN_NUMBER, false},
      {"on_hand_m", "on hand (m)", BE_COLUMN_NUMBER, false},
      {"short_m", "short by (m)", BE_COLUMN_NUMBER, false},
      {"counted", "counted", BE_COLUMN_TEXT, false},
  };
  double each = be_rule_number(trial, BE_RULE_METRES);
  struct be_table *table = be_doc_table(doc, "stock", "Line", columns, 6);
  bool unknown = false;
  for (size_t i = 0; i < survey->record.lines_count; i++) {
    const struct be_line *line = &survey->record.lines[i];
    size_t count = count_on(trial, (int)i);
    if (count == 0) continue;
    double needed = (double)count * each;
    be_table_text(table, "%s", be_plan_line(survey, (int)i));
    be_table_number(table, (double)count, 0);
    be_table_number(table, needed, 1);
    be_table_number(table, line->on_hand_m, 1);
    if (needed > line->on_hand_m) be_table_number(table, needed - line->on_hand_m, 1);
    else be_table_none(table);
    if (isnan(line->counted_m)) be_table_text(table, "never");
    else be_table_text(table, "%s", line->counted ? line->counted : "not recorded when");
    unknown = unknown || isnan(line->on_hand_m);
  }
  for (size_t i = 0; i < survey->record.lines_count; i++)
    if (count_on(trial, (int)i)) say_others(doc, survey, trial, (int)i);
  if (unknown)
    be_doc_note(doc, "Line that was never counted is not known to be enough: tell what is left on "
                     "a spool in a line sheet.");
}

/* ---- rules ---- */

void be_say_rules(struct be_doc *doc, const struct survey *survey, const struct be_trial *trial)
{
  static const struct be_column columns[] = {
      {"rule", "rule", BE_COLUMN_TEXT, false},
      {"value", "in force", BE_COLUMN_TEXT, false},
  };
  struct be_table *table = be_doc_table(doc, "rules", "Rules", columns, 2);
  for (int i = 0; i < BE_RULES; i++) {
    const char *value = be_rule_in_force(survey, trial, (enum be_rule)i);
    be_table_text(table, "%s", be_rule_word((enum be_rule)i));
    if (!trial->rule[i] && value)
      be_table_text(table, "%s, as usual: the rules say nothing", value);
    else be_table_text(table, "%s", value ? value : "not told");
  }
}
