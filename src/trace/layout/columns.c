/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which column is force, time and extension. A column speaks by its name and
 * unit first; columns that say nothing are told apart by the shape of their
 * numbers. What cannot be told is asked, never guessed silently. */
#include "trace/layout/layout.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

const char *be_role_word(enum be_role role)
{
  static const char *const words[BE_ROLES] = {"none", "time", "force", "extension"};
  assert((size_t)role < BE_ROLES);
  return words[role];
}

const char *be_sureness_word(enum be_sureness sureness)
{
  static const char *const words[] = {"sure", "likely", "guess"};
  assert((size_t)sureness < sizeof words / sizeof words[0]);
  return words[sureness];
}

const struct be_trace_column *be_trace_column_of(const struct be_trace *trace, enum be_role role)
{
  const struct be_trace_layout *layout = trace->layout;
  for (size_t c = 0; layout && c < layout->columns_count; c++)
    if (layout->columns[c].role == role && layout->columns[c].lane == trace->lane)
      return &layout->columns[c];
  return NULL;
}

enum { UNIT_SPEAKS = 50 };

const enum be_dimension be_role_dimension[BE_ROLES] = {
    [BE_ROLE_TIME] = BE_TIME, [BE_ROLE_FORCE] = BE_FORCE, [BE_ROLE_EXTENSION] = BE_LENGTH};

void be_column_give(struct be_table *table, size_t column, enum be_role role,
                    enum be_sureness sureness, const char *why)
{
  struct be_trace_column *given = &table->layout->columns[column];
  given->role = role;
  given->lane = table->lane;
  given->clock = role == BE_ROLE_TIME && table->sample->clocks[column] > 0;
  given->sureness = sureness;
  snprintf(given->why, sizeof given->why, "%s", why);
  table->roles->column[role] = column;
}

void be_column_doubt(struct be_trace_column *column, enum be_sureness sureness, const char *why)
{
  size_t length = strlen(column->why);
  if (sureness > column->sureness) column->sureness = sureness;
  snprintf(column->why + length, sizeof column->why - length, "; %s", why);
}

static bool has(const struct be_table *t, enum be_role role)
{
  return t->roles->column[role] != BE_NOWHERE;
}

static bool is_volts(const struct be_table *t, size_t c)
{
  const struct be_unit *unit = t->block->headings[c].unit;
  return unit && unit->dimension == BE_VOLTAGE && t->shape[c].numbers > 0;
}

static bool says_no_reading(const struct be_speech *says)
{
  return says->other || says->counter ||
         (says->figure && !says->score[BE_ROLE_TIME] && !says->score[BE_ROLE_FORCE] &&
          !says->score[BE_ROLE_EXTENSION]);
}

bool be_column_is_mute(const struct be_table *table, size_t column)
{
  const struct be_heading *heading = &table->block->headings[column];
  return table->layout->columns[column].role == BE_ROLE_NONE && table->shape[column].numbers > 0 &&
         !heading->unit && !heading->strange_unit[0] && !says_no_reading(&heading->says) &&
         !heading->says.score[BE_ROLE_TIME] && !heading->says.score[BE_ROLE_FORCE] &&
         !heading->says.score[BE_ROLE_EXTENSION];
}

int be_heading_score(const struct be_table *table, size_t column, enum be_role role)
{
  const struct be_heading *heading = &table->block->headings[column];
  int score = heading->says.score[role];
  if (table->layout->columns[column].role != BE_ROLE_NONE || table->shape[column].numbers == 0)
    return 0;
  if (table->sample->clocks[column]) return role == BE_ROLE_TIME ? score + UNIT_SPEAKS : 0;
  if (says_no_reading(&heading->says)) return 0;
  for (int other = BE_ROLE_TIME; other < BE_ROLES; other++)
    if (!heading->unit && heading->says.score[other] > score) return 0;
  if (heading->unit)
    return heading->unit->dimension == be_role_dimension[role] ? score + UNIT_SPEAKS : 0;
  if (heading->strange_unit[0] && role != BE_ROLE_FORCE) return 0;
  return score;
}

static const char *unit_words(enum be_unit_place place)
{
  static const char *const words[] = {"no unit", "unit in brackets", "unit on the line below",
                                      "unit in the name"};
  return words[place];
}

static void give_by_heading(struct be_table *t, size_t c, enum be_role role, const char *more)
{
  const struct be_heading *heading = &t->block->headings[c];
  bool clock = role == BE_ROLE_TIME && t->sample->clocks[c] > 0;
  char why[120];
  if (heading->says.score[role])
    snprintf(why, sizeof why, "named for %s, %s%s%s", be_role_word(role),
             clock ? "times of day" : unit_words(heading->place),
             heading->says.figure ? "; by name a figure or setting" : "", more);
  else if (clock) snprintf(why, sizeof why, "it holds times of day%s", more);
  else
    snprintf(why, sizeof why, "its %s is one of %s%s", unit_words(heading->place),
             be_dimension_word(be_role_dimension[role]), more);
  bool alone = !more[0] || t->lanes->count > 1;
  bool sure = (heading->unit || clock) && heading->says.score[role] && alone;
  be_column_give(t, c, role, heading->says.figure ? BE_GUESS : sure ? BE_SURE : BE_LIKELY, why);
}

size_t be_table_line(const struct be_table *table)
{
  const struct be_block *block = table->block;
  return block->head_line_number ? block->head_line_number : block->rows.number + 1;
}

enum be_status be_column_ask(const struct be_table *table, size_t a, size_t b, enum be_role role,
                             const char *why, struct be_err *err)
{
  const struct be_trace_column *columns = table->layout->columns;
  char first[80], second[80];
  be_sample_words(table->sample, a, first, sizeof first);
  be_sample_words(table->sample, b, second, sizeof second);
  be_fail(err, BE_ASK,
          "columns %zu (\"%.40s\") and %zu (\"%.40s\") can both be the %s%s%s: "
          "the one gives %s, the other %s",
          a + 1, columns[a].name, b + 1, columns[b].name, be_role_word(role), why ? ", " : "",
          why ? why : "", first, second);
  be_fail_at(err, NULL, be_table_line(table), b + 1);
  be_fail_remedy(err, "say which: --columns %s=%zu or --columns %s=%zu", be_role_word(role), a + 1,
                 be_role_word(role), b + 1);
  return BE_ASK;
}

/* ---- told ---- */

static enum be_status take_told(struct be_table *t, struct be_err *err)
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
    be_column_give(t, told[role] - 1, (enum be_role)role, BE_SURE, "as told");
  }
  return BE_OK;
}

/* ---- by heading ---- */

/* True when a time or travel column lies in [from, to). */
static bool has_axis(const struct be_table *t, size_t from, size_t to)
{
  for (size_t c = from; c < to; c++)
    if (be_heading_score(t, c, BE_ROLE_TIME) || be_heading_score(t, c, BE_ROLE_EXTENSION))
      return true;
  return false;
}

static enum be_status take_force(struct be_table *t, struct be_err *err)
{
  size_t first = BE_NOWHERE, second = BE_NOWHERE;
  int best = 0;
  for (size_t c = t->from; c < t->to; c++) {
    int score = be_heading_score(t, c, BE_ROLE_FORCE);
    if (score > best) first = c, second = BE_NOWHERE, best = score;
    else if (score == best && score > 0 && second == BE_NOWHERE) second = c;
  }
  if (first == BE_NOWHERE) return BE_OK;
  if (second != BE_NOWHERE && !(has_axis(t, 0, first) && has_axis(t, first + 1, second)))
    return be_column_ask(t, first, second, BE_ROLE_FORCE, NULL, err);
  const char *more = second != BE_NOWHERE   ? "; the first of several, unlike one another"
                     : t->lanes->count == 1 ? ""
                     : t->lane == 0         ? "; the first of several side by side"
                                            : "; one of several side by side";
  give_by_heading(t, first, BE_ROLE_FORCE, more);
  return BE_OK;
}

/* Volts are a force only when nothing else is there and a scale is told. */
static enum be_status take_volts(struct be_table *t, struct be_err *err)
{
  size_t first = BE_NOWHERE;
  for (size_t c = t->columns; c-- > 0;)
    if (is_volts(t, c) && t->layout->columns[c].role == BE_ROLE_NONE) first = c;
  if (first == BE_NOWHERE) return BE_OK;
  for (size_t c = 0; c < t->columns; c++)
    if (be_column_is_mute(t, c) && !t->shape[c].steady) return BE_OK;
  if (t->options->force_unit || t->options->force_scale_N < 0 || t->options->force_scale_N > 0) {
    be_column_give(t, first, BE_ROLE_FORCE, BE_LIKELY, "a signal in volts, scaled as told");
    return BE_OK;
  }
  be_fail(err, BE_ASK, "column %zu (\"%.40s\") is in volts, which are no force without a scale",
          first + 1, t->layout->columns[first].name);
  be_fail_at(err, NULL, be_table_line(t), first + 1);
  be_fail_remedy(err, "give the newtons of one volt with --scale, or export the trace as a force");
  return BE_ASK;
}

/* The best column for time or extension: the strongest heading, and among
 * equals the nearest to the left of the force. */
static void take_axis(struct be_table *t, enum be_role role)
{
  size_t force = t->roles->column[BE_ROLE_FORCE], found = BE_NOWHERE, equals = 0;
  int best = 0;
  if (has(t, role)) return;
  for (size_t c = t->from; c < t->to; c++) {
    int score = be_heading_score(t, c, role);
    if (score == 0 || score < best) continue;
    equals = score == best ? equals + 1 : 1;
    if (score > best || (force != BE_NOWHERE && c < force)) found = c;
    best = score;
  }
  if (found != BE_NOWHERE) give_by_heading(t, found, role, equals > 1 ? "; one of several" : "");
}

/* ---- all ---- */

static enum be_status look_at_columns(struct be_table *t, struct be_err *err)
{
  for (size_t c = 0; c < t->columns; c++) {
    struct be_trace_column *column = &t->layout->columns[c];
    const struct be_heading *heading = &t->block->headings[c];
    enum be_status status = be_shape_of(t->sample, c, &t->shape[c], err);
    if (status != BE_OK) return status;
    memcpy(column->name, heading->name, sizeof column->name);
    column->unit = heading->unit;
    const char *why = t->shape[c].numbers == 0 ? "no numbers in it"
                      : heading->says.other    ? "named for another quantity"
                      : heading->says.counter  ? "by name no reading"
                      : heading->says.figure   ? "by name a figure or setting"
                      : is_volts(t, c)         ? "in volts, which are no force without a scale"
                                               : "not needed";
    snprintf(column->why, sizeof column->why, "%s", why);
  }
  return BE_OK;
}

static enum be_status no_force(const struct be_table *t, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "none of the %zu columns can be the force", t->columns);
  be_fail_at(err, NULL, be_table_line(t), 0);
  be_fail_remedy(err, "name the column, such as \"load (N)\", or say --columns force=2");
  return BE_BAD_INPUT;
}

/* "+   12.5" cut between its sign and its digits would lose the sign. */
static enum be_status check_signs(const struct be_table *t, struct be_err *err)
{
  enum { LOOKED_AT = 600 };
  size_t force = t->roles->column[BE_ROLE_FORCE];
  struct be_lines lines = t->block->rows;
  struct be_span line;
  struct be_cells cells;
  if (force == 0 || t->layout->columns[force - 1].role != BE_ROLE_NONE) return BE_OK;
  for (size_t i = 0; i < LOOKED_AT && be_lines_next(&lines, &line); i++) {
    be_cells_split(line, t->block->delimiter, &cells);
    if (force >= cells.count || cells.count > BE_TRACE_COLUMNS_MAX) continue;
    struct be_span cell = cells.cell[force - 1];
    bool minus = t->block->delimiter == ' ' && be_span_is(cell, "-");
    if (!minus && !be_span_is(cell, "+")) continue;
    be_fail(err, BE_BAD_INPUT, "a sign stands apart from its number");
    be_fail_at(err, NULL, lines.number, force);
    be_fail_remedy(err, "export the numbers with their signs, such as -12.5");
    return BE_BAD_INPUT;
  }
  return BE_OK;
}

/* Roles for the columns of one lane. */
static enum be_status assign_lane(struct be_table *t, struct be_err *err)
{
  bool scaled = t->options->force_scale_N < 0 || t->options->force_scale_N > 0;
  enum be_status status = BE_OK;
  if (!has(t, BE_ROLE_FORCE)) status = take_force(t, err);
  if (status == BE_OK && !has(t, BE_ROLE_FORCE)) status = take_volts(t, err);
  if (status != BE_OK) return status;
  take_axis(t, BE_ROLE_TIME);
  take_axis(t, BE_ROLE_EXTENSION);
  status = be_guess_doubts(t, err);
  if (status == BE_OK && t->lanes->count == 1) status = be_guess_roles(t, err);
  if (status == BE_OK && !has(t, BE_ROLE_FORCE)) status = no_force(t, err);
  if (status == BE_OK) status = check_signs(t, err);
  for (int role = BE_ROLE_TIME; role < BE_ROLES && status == BE_OK; role++)
    status = be_unit_settle(t, (enum be_role)role, err);
  return status == BE_OK && !scaled ? be_unit_beside(t->block, t->layout, t->roles, err) : status;
}

static void start_roles(struct be_roles *roles, double force_zero)
{
  *roles = (struct be_roles){.force_zero = force_zero};
  for (int role = 0; role < BE_ROLES; role++) {
    roles->column[role] = BE_NOWHERE;
    roles->scale[role] = 1;
  }
}

enum be_status be_columns_assign(const struct be_block *block, const struct be_sample *sample,
                                 const struct be_trace_options *options,
                                 struct be_trace_layout *layout, struct be_lanes *lanes,
                                 struct be_err *err)
{
  size_t from[BE_LANES_MAX] = {0};
  struct be_table t = {.block = block,
                       .sample = sample,
                       .options = options,
                       .layout = layout,
                       .lanes = lanes,
                       .roles = &lanes->roles[0],
                       .columns = block->columns_count};
  *layout =
      (struct be_trace_layout){.delimiter = block->columns_count == 1 ? ',' : block->delimiter,
                               .decimal = block->decimal,
                               .header_lines = block->header_lines,
                               .columns_count = block->columns_count,
                               .sign = 1,
                               .columns = layout->columns};
  memset(layout->columns, 0, block->columns_count * sizeof *layout->columns);
  memcpy(layout->delimiter_why, block->delimiter_why, sizeof layout->delimiter_why);
  memcpy(layout->decimal_why, block->decimal_why, sizeof layout->decimal_why);
  lanes->count = 1;
  for (size_t i = 0; i < BE_LANES_MAX; i++) start_roles(&lanes->roles[i], options->force_zero);
  enum be_status status = look_at_columns(&t, err);
  if (status == BE_OK) status = take_told(&t, err);
  if (status != BE_OK) return status;
  bool told = options->force_column || options->time_column || options->extension_column;
  if (!told) lanes->count = be_lanes_find(&t, from);
  for (size_t lane = 0; lane < lanes->count && status == BE_OK; lane++) {
    t.lane = lane;
    t.roles = &lanes->roles[lane];
    t.from = from[lane];
    t.to = lane + 1 < lanes->count ? from[lane + 1] : t.columns;
    status = assign_lane(&t, err);
  }
  if (status == BE_OK && lanes->roles[0].column[BE_ROLE_TIME] == BE_NOWHERE) {
    layout->interval_s = block->interval_s;
    memcpy(layout->interval_why, block->interval_why, sizeof layout->interval_why);
  }
  return status;
}
