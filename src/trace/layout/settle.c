/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The unit of a column, and what is taken where none is written. */
#include "trace/layout/layout.h"

#include <math.h>
#include <stdio.h>

/* Where nothing says the unit. */
static const struct {
  double scale;
  const char *words, *option;
} taken[BE_ROLES] = {[BE_ROLE_TIME] = {1, "seconds taken", "--time"},
                     [BE_ROLE_FORCE] = {1, "newtons taken", "--unit"},
                     [BE_ROLE_EXTENSION] = {1e-3, "millimetres taken", "--extension-unit"}};

static enum be_status take_scale(struct be_table *t, struct be_err *err)
{
  size_t c = t->roles->column[BE_ROLE_FORCE];
  const struct be_trace_column *column = &t->layout->columns[c];
  if (column->unit && column->unit->dimension == BE_FORCE) {
    be_fail(err, BE_WRONG_USE, "column %zu (\"%.40s\") is a force in %s already", c + 1,
            column->name, column->unit->name);
    be_fail_remedy(err, "a scale is for a column in volts: leave --scale out");
    return BE_WRONG_USE;
  }
  t->roles->scale[BE_ROLE_FORCE] = t->options->force_scale_N;
  return BE_OK;
}

/* Times without a unit: the moments since 1970 of a computer tell their unit by
 * their size, the days of a spreadsheet look like seconds and are asked. */
static enum be_status judge_times(struct be_table *t, struct be_err *err)
{
  enum { DAYS_FROM = 30000, DAYS_TO = 80000 }; /* the years 1982 to 2119 */
  size_t c = t->roles->column[BE_ROLE_TIME];
  struct be_trace_column *column = &t->layout->columns[c];
  const struct be_shape *shape = &t->shape[c];
  const char *unit = NULL, *why = NULL;
  if (shape->first >= 1e12 && shape->last < 1e13) unit = "ms";
  else if (shape->first >= 1e15 && shape->last < 1e16) unit = "us";
  if (unit) why = unit[0] == 'm' ? "milliseconds since 1970" : "microseconds since 1970";
  else if (shape->whole && shape->step >= 5 && shape->even && !shape->counts)
    unit = "ms", why = "it rises in even whole steps; milliseconds taken";
  if (unit) {
    column->unit = be_unit_find_in(BE_TIME, unit, 2);
    t->roles->scale[BE_ROLE_TIME] = column->unit->factor;
    be_column_doubt(column, BE_GUESS, why);
    return BE_OK;
  }
  bool days = shape->first >= DAYS_FROM && shape->last <= DAYS_TO && shape->step < 0.01 &&
              !shape->whole && shape->last - shape->first < 2;
  if (!days) return BE_OK;
  be_fail(err, BE_ASK,
          "column %zu (\"%.40s\") runs from %.10g to %.10g: days as a spreadsheet counts them, "
          "which gives %.6g s from first to last, or seconds, which gives %.6g s",
          c + 1, column->name, shape->first, shape->last, 86400 * (shape->last - shape->first),
          shape->last - shape->first);
  be_fail_at(err, NULL, be_table_line(t), c + 1);
  be_fail_remedy(err, "say which: --time day or --time s");
  return BE_ASK;
}

static enum be_status no_unit(struct be_table *t, enum be_role role, struct be_err *err)
{
  struct be_trace_column *column = &t->layout->columns[t->roles->column[role]];
  const struct be_unit *stated = t->block->stated_unit[role];
  if (stated) {
    char why[60];
    snprintf(why, sizeof why, "line %zu of the file states the unit", t->block->stated_line[role]);
    be_column_doubt(column, BE_LIKELY, why);
    column->unit = stated;
    t->roles->scale[role] = stated->factor;
    return BE_OK;
  }
  if (role == BE_ROLE_TIME) {
    enum be_status status = judge_times(t, err);
    if (status != BE_OK || column->unit) return status;
  }
  be_column_doubt(column, BE_GUESS, taken[role].words);
  return BE_OK;
}

enum be_status be_unit_settle(struct be_table *table, enum be_role role, struct be_err *err)
{
  struct be_table *t = table;
  const struct be_unit *const told[BE_ROLES] = {[BE_ROLE_TIME] = t->options->time_unit,
                                                [BE_ROLE_FORCE] = t->options->force_unit,
                                                [BE_ROLE_EXTENSION] = t->options->extension_unit};
  size_t c = t->roles->column[role];
  if (c == BE_NOWHERE) return BE_OK;
  struct be_trace_column *column = &t->layout->columns[c];
  const struct be_heading *heading = &t->block->headings[c];
  if (told[role] && told[role]->dimension != be_role_dimension[role])
    return be_fail(err, BE_WRONG_USE, "\"%s\" is not a unit of %s", told[role]->name,
                   be_dimension_word(be_role_dimension[role]));
  if (told[role]) column->unit = told[role];
  /* The parts of a clock say their own units. */
  bool clock = role == BE_ROLE_TIME && t->sample->clocks[c] > 0;
  if (clock) column->unit = be_unit_si(BE_TIME);
  if (clock && t->sample->bare_clocks[c] == t->sample->clocks[c])
    be_column_doubt(column, BE_GUESS, "minutes and seconds taken, not hours and minutes");
  t->roles->scale[role] = column->unit ? column->unit->factor : taken[role].scale;
  bool scaled = t->options->force_scale_N < 0 || t->options->force_scale_N > 0;
  if (role == BE_ROLE_FORCE && scaled) return take_scale(t, err);
  if (column->unit && column->unit->dimension == be_role_dimension[role]) return BE_OK;
  if (!column->unit && !heading->strange_unit[0]) return no_unit(t, role, err);
  be_fail(err, BE_BAD_INPUT, "the unit \"%s\" of column %zu (\"%.40s\") is not a unit of %s",
          column->unit ? column->unit->name : heading->strange_unit, c + 1, column->name,
          be_dimension_word(be_role_dimension[role]));
  be_fail_at(err, NULL, be_table_line(t), c + 1);
  be_fail_remedy(err, "say the unit: %s", taken[role].option);
  return BE_BAD_INPUT;
}
