/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which column is force, time and extension. A column speaks by its name and
 * unit first; columns that say nothing are told apart by the shape of their
 * numbers. What cannot be told is asked, never guessed silently. */
#include "trace/inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { UNIT_SPEAKS = 50, MUTE = -1 };

static const enum be_dimension role_dimension[BE_ROLES] = {
    [BE_ROLE_TIME] = BE_TIME, [BE_ROLE_FORCE] = BE_FORCE, [BE_ROLE_EXTENSION] = BE_LENGTH};
static const char *const unit_option[BE_ROLES] = {[BE_ROLE_TIME] = "--time",
                                                  [BE_ROLE_FORCE] = "--unit",
                                                  [BE_ROLE_EXTENSION] = "--extension-unit"};

struct table {
  const struct be_block *block;
  const struct be_sample *sample;
  const struct be_trace_options *options;
  struct be_trace_layout *layout;
  struct be_roles *roles;
  struct be_shape shape[BE_TRACE_COLUMNS_MAX];
  size_t columns;
};

static void give(struct table *t, size_t c, enum be_role role, enum be_sureness sureness,
                 const char *why)
{
  struct be_trace_column *column = &t->layout->columns[c];
  column->role = role;
  column->sureness = sureness;
  snprintf(column->why, sizeof column->why, "%s", why);
  t->roles->column[role] = c;
}

static bool has(const struct table *t, enum be_role role)
{
  return t->roles->column[role] != BE_NOWHERE;
}

static bool is_volts(const struct table *t, size_t c)
{
  const struct be_unit *unit = t->block->headings[c].unit;
  return unit && unit->dimension == BE_VOLTAGE && t->shape[c].numbers > 0;
}

/* A free column with numbers whose heading says nothing of any role. */
static bool is_mute(const struct table *t, size_t c)
{
  const struct be_heading *heading = &t->block->headings[c];
  return t->layout->columns[c].role == BE_ROLE_NONE && t->shape[c].numbers > 0 && !heading->unit &&
         !heading->strange_unit[0] && !heading->says.score[BE_ROLE_TIME] &&
         !heading->says.score[BE_ROLE_FORCE] && !heading->says.score[BE_ROLE_EXTENSION];
}

/* How strongly the heading of a free column speaks for a role; 0: not at all. */
static int heading_score(const struct table *t, size_t c, enum be_role role)
{
  const struct be_heading *heading = &t->block->headings[c];
  if (t->layout->columns[c].role != BE_ROLE_NONE || t->shape[c].numbers == 0) return 0;
  int score = heading->says.score[role];
  for (int other = BE_ROLE_TIME; other < BE_ROLES; other++)
    if (!heading->unit && heading->says.score[other] > score) return 0;
  if (heading->unit)
    return heading->unit->dimension == role_dimension[role] ? score + UNIT_SPEAKS : 0;
  if (heading->strange_unit[0] && role != BE_ROLE_FORCE) return 0;
  if (role == BE_ROLE_TIME && !score && t->sample->clocks[c]) return UNIT_SPEAKS;
  return score;
}

static const char *unit_words(enum be_unit_place place)
{
  static const char *const words[] = {"no unit", "unit in brackets", "unit on the line below",
                                      "unit in the name"};
  return words[place];
}

static void give_by_heading(struct table *t, size_t c, enum be_role role, const char *more)
{
  const struct be_heading *heading = &t->block->headings[c];
  char why[120];
  if (heading->says.score[role])
    snprintf(why, sizeof why, "named for %s, %s%s", be_role_word(role), unit_words(heading->place),
             more);
  else if (heading->unit)
    snprintf(why, sizeof why, "its %s is one of %s%s", unit_words(heading->place),
             be_dimension_word(role_dimension[role]), more);
  else snprintf(why, sizeof why, "it holds times of day%s", more);
  bool sure = heading->unit && heading->says.score[role] && !more[0];
  give(t, c, role, sure ? BE_SURE : BE_LIKELY, why);
}

/* The line that names the columns, or else the first row. */
static size_t head_line(const struct table *t)
{
  return t->block->head_line_number ? t->block->head_line_number : t->block->rows.number + 1;
}

static enum be_status ask(const struct table *t, size_t a, size_t b, enum be_role role,
                          struct be_err *err)
{
  const struct be_trace_column *columns = t->layout->columns;
  be_fail(err, BE_ASK, "columns %zu (\"%.40s\") and %zu (\"%.40s\") can both be the %s", a + 1,
          columns[a].name, b + 1, columns[b].name, be_role_word(role));
  be_fail_at(err, NULL, head_line(t), b + 1);
  be_fail_remedy(err, "say which: --columns %s=%zu or --columns %s=%zu", be_role_word(role), a + 1,
                 be_role_word(role), b + 1);
  return BE_ASK;
}

/* ---- told ---- */

static enum be_status take_told(struct table *t, struct be_err *err)
{
  const size_t told[BE_ROLES] = {[BE_ROLE_TIME] = t->options->time_column,
                                 [BE_ROLE_FORCE] = t->options->force_column,
                                 [BE_ROLE_EXTENSION] = t->options->extension_column};
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++) {
    if (told[role] == 0) continue;
    if (told[role] > t->columns || t->shape[told[role] - 1].numbers == 0) {
      be_fail(err, BE_BAD_INPUT,
              told[role] > t->columns ? "there is no column %zu: the rows have %zu columns"
                                      : "column %zu of %zu holds no numbers",
              told[role], t->columns);
      be_fail_at(err, NULL, t->block->rows.number + 1, told[role]);
      be_fail_remedy(err, "count the columns from 1");
      return BE_BAD_INPUT;
    }
    if (t->layout->columns[told[role] - 1].role != BE_ROLE_NONE)
      return be_fail(err, BE_WRONG_USE, "column %zu cannot have two roles", told[role]);
    give(t, told[role] - 1, (enum be_role)role, BE_SURE, "as told");
  }
  return BE_OK;
}

/* ---- by heading ---- */

/* True when a time or travel column lies in [from, to). */
static bool has_axis(const struct table *t, size_t from, size_t to)
{
  for (size_t c = from; c < to; c++)
    if (heading_score(t, c, BE_ROLE_TIME) || heading_score(t, c, BE_ROLE_EXTENSION)) return true;
  return false;
}

static enum be_status take_force(struct table *t, struct be_err *err)
{
  size_t first = BE_NOWHERE, second = BE_NOWHERE;
  int best = 0;
  for (size_t c = 0; c < t->columns; c++) {
    int score = heading_score(t, c, BE_ROLE_FORCE);
    if (score > best) first = c, second = BE_NOWHERE, best = score;
    else if (score == best && score > 0 && second == BE_NOWHERE) second = c;
  }
  if (first == BE_NOWHERE) return BE_OK;
  if (second != BE_NOWHERE && !(has_axis(t, 0, first) && has_axis(t, first + 1, second)))
    return ask(t, first, second, BE_ROLE_FORCE, err);
  give_by_heading(t, first, BE_ROLE_FORCE,
                  second == BE_NOWHERE ? "" : "; the first of several side by side");
  return BE_OK;
}

/* Volts are a force only when nothing else is there and a scale is told. */
static enum be_status take_volts(struct table *t, struct be_err *err)
{
  size_t first = BE_NOWHERE;
  for (size_t c = t->columns; c-- > 0;)
    if (is_volts(t, c) && t->layout->columns[c].role == BE_ROLE_NONE) first = c;
  if (first == BE_NOWHERE) return BE_OK;
  for (size_t c = 0; c < t->columns; c++)
    if (is_mute(t, c) && !t->shape[c].steady) return BE_OK;
  if (t->options->force_unit || t->options->force_scale_N < 0 || t->options->force_scale_N > 0) {
    give(t, first, BE_ROLE_FORCE, BE_LIKELY, "a signal in volts, scaled as told");
    return BE_OK;
  }
  be_fail(err, BE_ASK, "column %zu (\"%.40s\") is in volts, which are no force without a scale",
          first + 1, t->layout->columns[first].name);
  be_fail_at(err, NULL, head_line(t), first + 1);
  be_fail_remedy(err, "give the newtons of one volt with --scale, or export the trace as a force");
  return BE_ASK;
}

/* The best column for time or extension: the strongest heading, and among
 * equals the nearest to the left of the force. */
static void take_axis(struct table *t, enum be_role role)
{
  size_t force = t->roles->column[BE_ROLE_FORCE], found = BE_NOWHERE, equals = 0;
  int best = 0;
  if (has(t, role)) return;
  for (size_t c = 0; c < t->columns; c++) {
    int score = heading_score(t, c, role);
    if (score == 0 || score < best) continue;
    equals = score == best ? equals + 1 : 1;
    if (score > best || (force != BE_NOWHERE && c < force)) found = c;
    best = score;
  }
  if (found != BE_NOWHERE) give_by_heading(t, found, role, equals > 1 ? "; one of several" : "");
}

/* ---- by shape ---- */

struct mute {
  size_t count;
  size_t column[BE_TRACE_COLUMNS_MAX];
};

static struct mute mute_columns(const struct table *t)
{
  struct mute mute = {0};
  for (size_t c = 0; c < t->columns; c++)
    if (is_mute(t, c)) mute.column[mute.count++] = c;
  return mute;
}

static void drop(struct mute *mute, size_t i)
{
  memmove(&mute->column[i], &mute->column[i + 1], (mute->count - i - 1) * sizeof mute->column[0]);
  mute->count--;
}

/* Row numbers are no reading, as long as something else is left. */
static void drop_counters(struct table *t, struct mute *mute)
{
  for (size_t i = 0; i < mute->count && mute->count > 1;) {
    size_t c = mute->column[i];
    if (!t->shape[c].counts) {
      i++;
      continue;
    }
    snprintf(t->layout->columns[c].why, sizeof t->layout->columns[c].why, "it counts the rows");
    drop(mute, i);
  }
}

/* Takes the first column that rises in even steps for the time. */
static void take_even_time(struct table *t, struct mute *mute)
{
  size_t even = mute->count;
  for (size_t i = mute->count; i-- > 0;)
    if (t->shape[mute->column[i]].even) even = i;
  if (even == mute->count || has(t, BE_ROLE_TIME)) return;
  bool ms = t->shape[mute->column[even]].whole && t->shape[mute->column[even]].step >= 5;
  if (ms) t->layout->columns[mute->column[even]].unit = be_unit_find("ms", 2);
  give(t, mute->column[even], BE_ROLE_TIME, BE_GUESS,
       ms ? "it rises in even whole steps; milliseconds taken" : "it rises in even steps");
  drop(mute, even);
}

/* A travel that is driven turns far less often than a reading with noise. */
static void take_smooth_extension(struct table *t, struct mute *mute)
{
  size_t least = 0;
  bool clear = true;
  if (mute->count < 2 || has(t, BE_ROLE_EXTENSION)) return;
  for (size_t i = 1; i < mute->count; i++)
    if (t->shape[mute->column[i]].turns < t->shape[mute->column[least]].turns) least = i;
  const struct be_shape *smooth = &t->shape[mute->column[least]];
  for (size_t i = 0; i < mute->count; i++) {
    const struct be_shape *other = &t->shape[mute->column[i]];
    if (i == least) continue;
    if (smooth->steady && !other->steady) continue;
    if (smooth->turns * 3 >= other->turns) clear = false;
  }
  if (!clear) return;
  give(t, mute->column[least], BE_ROLE_EXTENSION, BE_GUESS,
       smooth->steady ? "it rises all the way, in uneven steps"
                      : "its numbers run smoothly, the others do not");
  drop(mute, least);
}

static enum be_status take_by_shape(struct table *t, struct be_err *err)
{
  struct mute mute = mute_columns(t);
  bool force_known = has(t, BE_ROLE_FORCE);
  drop_counters(t, &mute);
  if (mute.count + force_known > 1 && !has(t, BE_ROLE_TIME)) {
    bool all_even = !force_known;
    for (size_t i = 0; i < mute.count; i++) all_even = all_even && t->shape[mute.column[i]].even;
    if (all_even) return ask(t, mute.column[0], mute.column[1], BE_ROLE_FORCE, err);
    take_even_time(t, &mute);
  }
  if (force_known) return BE_OK;
  take_smooth_extension(t, &mute);
  if (mute.count > 1) return ask(t, mute.column[0], mute.column[1], BE_ROLE_FORCE, err);
  if (mute.count == 0) return BE_OK;
  give(t, mute.column[0], BE_ROLE_FORCE, BE_GUESS,
       t->columns == 1 ? "the only column" : "the only column left that can be a force");
  return BE_OK;
}

/* ---- units ---- */

static enum be_status settle_unit(struct table *t, enum be_role role, struct be_err *err)
{
  static const double taken[BE_ROLES] = {
      [BE_ROLE_TIME] = 1, [BE_ROLE_FORCE] = 1, [BE_ROLE_EXTENSION] = 1e-3};
  static const char *const words[BE_ROLES] = {
      [BE_ROLE_TIME] = "seconds", [BE_ROLE_FORCE] = "newtons", [BE_ROLE_EXTENSION] = "millimetres"};
  const struct be_unit *const told[BE_ROLES] = {[BE_ROLE_TIME] = t->options->time_unit,
                                                [BE_ROLE_FORCE] = t->options->force_unit,
                                                [BE_ROLE_EXTENSION] = t->options->extension_unit};
  size_t c = t->roles->column[role];
  if (c == BE_NOWHERE) return BE_OK;
  struct be_trace_column *column = &t->layout->columns[c];
  if (told[role] && told[role]->dimension != role_dimension[role])
    return be_fail(err, BE_WRONG_USE, "\"%s\" is not a unit of %s", told[role]->name,
                   be_dimension_word(role_dimension[role]));
  if (told[role]) column->unit = told[role];
  t->roles->scale[role] = column->unit ? column->unit->factor : taken[role];
  if (role == BE_ROLE_FORCE && (t->options->force_scale_N < 0 || t->options->force_scale_N > 0)) {
    if (column->unit && column->unit->dimension == BE_FORCE) {
      be_fail(err, BE_WRONG_USE, "column %zu (\"%.40s\") is a force in %s already", c + 1,
              column->name, column->unit->name);
      be_fail_remedy(err, "a scale is for a column in volts: leave --scale out");
      return BE_WRONG_USE;
    }
    t->roles->scale[role] = t->options->force_scale_N;
    return BE_OK;
  }
  bool fits = column->unit && column->unit->dimension == role_dimension[role];
  if (fits || (!column->unit && !t->block->headings[c].strange_unit[0])) {
    if (!column->unit && t->sample->clocks[c] == 0) {
      size_t length = strlen(column->why);
      column->sureness = BE_GUESS;
      snprintf(column->why + length, sizeof column->why - length, "; %s taken", words[role]);
    }
    return BE_OK;
  }
  be_fail(err, BE_BAD_INPUT, "the unit \"%s\" of column %zu (\"%.40s\") is not a unit of %s",
          column->unit ? column->unit->name : t->block->headings[c].strange_unit, c + 1,
          column->name, be_dimension_word(role_dimension[role]));
  be_fail_at(err, NULL, head_line(t), c + 1);
  be_fail_remedy(err, "say the unit: %s", unit_option[role]);
  return BE_BAD_INPUT;
}

/* ---- all ---- */

static enum be_status look_at_columns(struct table *t, struct be_err *err)
{
  for (size_t c = 0; c < t->columns; c++) {
    struct be_trace_column *column = &t->layout->columns[c];
    const struct be_heading *heading = &t->block->headings[c];
    enum be_status status = be_shape_of(t->sample, c, &t->shape[c], err);
    if (status != BE_OK) return status;
    memcpy(column->name, heading->name, sizeof column->name);
    column->unit = heading->unit;
    const char *why = t->shape[c].numbers == 0 ? "no numbers in it" : "not needed";
    snprintf(column->why, sizeof column->why, "%s", why);
  }
  return BE_OK;
}

static enum be_status no_force(const struct table *t, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "none of the %zu columns can be the force", t->columns);
  be_fail_at(err, NULL, head_line(t), 0);
  be_fail_remedy(err, "name the column, such as \"load (N)\", or say --columns force=2");
  return BE_BAD_INPUT;
}

enum be_status be_columns_assign(const struct be_block *block, const struct be_sample *sample,
                                 const struct be_trace_options *options,
                                 struct be_trace_layout *layout, struct be_lanes *lanes,
                                 struct be_err *err)
{
  struct be_roles *roles = &lanes->roles[0];
  *lanes = (struct be_lanes){.count = 1};
  struct table t = {block, sample, options, layout, roles, {{0}}, block->columns_count};
  char delimiter = block->columns_count == 1 ? ',' : block->delimiter;
  *layout = (struct be_trace_layout){.delimiter = delimiter,
                                     .decimal = block->decimal,
                                     .header_lines = block->header_lines,
                                     .columns_count = block->columns_count,
                                     .sign = 1};
  for (int role = 0; role < BE_ROLES; role++) {
    roles->column[role] = BE_NOWHERE;
    roles->scale[role] = 1;
  }
  roles->force_zero = options->force_zero;
  enum be_status status = look_at_columns(&t, err);
  if (status == BE_OK) status = take_told(&t, err);
  if (status == BE_OK && !has(&t, BE_ROLE_FORCE)) status = take_force(&t, err);
  if (status == BE_OK && !has(&t, BE_ROLE_FORCE)) status = take_volts(&t, err);
  if (status != BE_OK) return status;
  take_axis(&t, BE_ROLE_TIME);
  take_axis(&t, BE_ROLE_EXTENSION);
  status = take_by_shape(&t, err);
  if (status == BE_OK && !has(&t, BE_ROLE_FORCE)) status = no_force(&t, err);
  for (int role = BE_ROLE_TIME; role < BE_ROLES && status == BE_OK; role++)
    status = settle_unit(&t, (enum be_role)role, err);
  bool scaled = options->force_scale_N < 0 || options->force_scale_N > 0;
  return status == BE_OK && !scaled ? be_unit_beside(block, layout, roles, err) : status;
}
