/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the shape of the numbers says: of columns without a name, and against
 * names that the numbers do not bear out. */
#include "trace/layout/layout.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { FEW_STEPS = 8, MANY_ROWS = 20 };

struct mute {
  size_t count;
  size_t column[BE_TRACE_COLUMNS_MAX];
};

static bool has(const struct be_table *t, enum be_role role)
{
  return t->roles->column[role] != BE_NOWHERE;
}

static struct mute mute_columns(const struct be_table *t)
{
  struct mute mute = {0};
  for (size_t c = t->from; c < t->to; c++)
    if (be_column_is_mute(t, c)) mute.column[mute.count++] = c;
  return mute;
}

static void drop(struct mute *mute, size_t i)
{
  memmove(&mute->column[i], &mute->column[i + 1], (mute->count - i - 1) * sizeof mute->column[0]);
  mute->count--;
}

/* Row numbers and settings are no reading, as long as something else is left. */
static void drop_idle(struct be_table *t, struct mute *mute)
{
  size_t lively = 0;
  for (size_t i = 0; i < mute->count; i++) lively += !t->shape[mute->column[i]].constant;
  for (size_t i = 0; i < mute->count && mute->count > 1;) {
    size_t c = mute->column[i];
    const struct be_shape *shape = &t->shape[c];
    if (!shape->counts && !(shape->constant && lively > 0)) {
      i++;
      continue;
    }
    snprintf(t->layout->columns[c].why, sizeof t->layout->columns[c].why,
             shape->counts ? "it counts the rows" : "it never changes");
    drop(mute, i);
  }
}

/* Takes the first column that rises in even steps for the time. */
static void take_even_time(struct be_table *t, struct mute *mute)
{
  size_t even = mute->count;
  for (size_t i = mute->count; i-- > 0;)
    if (t->shape[mute->column[i]].even) even = i;
  if (even == mute->count || has(t, BE_ROLE_TIME)) return;
  be_column_give(t, mute->column[even], BE_ROLE_TIME, BE_GUESS, "it rises in even steps");
  drop(mute, even);
}

/* A load comes from near nothing: a temperature or a setting moves by a small
 * part of itself. */
static bool can_be_load(const struct be_shape *shape)
{
  return shape->most - shape->least >= 0.25 * fmax(fabs(shape->most), fabs(shape->least));
}

/* A travel that is driven turns far less often than a reading with noise. */
static void take_smooth_extension(struct be_table *t, struct mute *mute)
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
    if (!can_be_load(other)) clear = false;
    if (smooth->steady && !other->steady) continue;
    if (smooth->turns * 3 >= other->turns) clear = false;
  }
  if (!clear) return;
  be_column_give(t, mute->column[least], BE_ROLE_EXTENSION, BE_GUESS,
                 smooth->steady ? "it rises all the way, in uneven steps"
                                : "its numbers run smoothly, the others do not");
  drop(mute, least);
}

enum be_status be_guess_roles(struct be_table *table, struct be_err *err)
{
  struct be_table *t = table;
  struct mute mute = mute_columns(t);
  bool force_known = has(t, BE_ROLE_FORCE);
  drop_idle(t, &mute);
  if (mute.count + force_known > 1 && !has(t, BE_ROLE_TIME)) {
    bool all_even = !force_known;
    for (size_t i = 0; i < mute.count; i++) all_even = all_even && t->shape[mute.column[i]].even;
    if (all_even)
      return be_column_ask(t, mute.column[0], mute.column[1], BE_ROLE_FORCE, "both rise evenly",
                           err);
    take_even_time(t, &mute);
  }
  if (force_known) return BE_OK;
  take_smooth_extension(t, &mute);
  if (mute.count > 1)
    return be_column_ask(t, mute.column[0], mute.column[1], BE_ROLE_FORCE, NULL, err);
  if (mute.count == 0) return BE_OK;
  be_column_give(t, mute.column[0], BE_ROLE_FORCE, BE_GUESS,
                 t->columns == 1 ? "the only column" : "the only column left that can be a force");
  return BE_OK;
}

/* ---- doubts ---- */

static size_t steps_of(const struct be_shape *shape)
{
  return shape->rises + shape->falls + shape->level;
}

static enum be_status ask_swapped(const struct be_table *t, size_t time, size_t force,
                                  struct be_err *err)
{
  char times[80], forces[80];
  be_sample_words(t->sample, time, times, sizeof times);
  be_sample_words(t->sample, force, forces, sizeof forces);
  be_fail(err, BE_ASK,
          "column %zu (\"%.30s\": %s) is named for time and does not rise, while column %zu "
          "(\"%.30s\": %s), named for force, rises in even steps: the names may be changed over",
          time + 1, t->layout->columns[time].name, times, force + 1, t->layout->columns[force].name,
          forces);
  be_fail_at(err, NULL, be_table_line(t), time + 1);
  be_fail_remedy(
      err, "say which: --columns force=%zu,time=%zu as named, or --columns force=%zu,time=%zu",
      force + 1, time + 1, time + 1, force + 1);
  return BE_ASK;
}

static enum be_status doubt_time(struct be_table *t, struct be_err *err)
{
  size_t c = t->roles->column[BE_ROLE_TIME], force = t->roles->column[BE_ROLE_FORCE];
  struct be_trace_column *column = &t->layout->columns[c];
  const struct be_shape *shape = &t->shape[c];
  size_t all = steps_of(shape);
  char why[80];
  if (all < FEW_STEPS) return BE_OK;
  snprintf(why, sizeof why, "but it falls back in %zu of %zu steps", shape->falls, all);
  if (shape->falls * 4 <= all && shape->rises > 0) {
    if (shape->falls * 10 > all) be_column_doubt(column, BE_GUESS, why);
    return BE_OK;
  }
  if (force != BE_NOWHERE && !t->options->force_column && all >= MANY_ROWS && shape->falls &&
      t->shape[force].even)
    return ask_swapped(t, c, force, err);
  be_column_doubt(column, BE_GUESS, shape->falls ? why : "but it never rises");
  be_column_doubt(column, BE_GUESS, "not used");
  column->role = BE_ROLE_NONE;
  t->roles->column[BE_ROLE_TIME] = BE_NOWHERE;
  return BE_OK;
}

static enum be_status doubt_force(struct be_table *t, struct be_err *err)
{
  size_t c = t->roles->column[BE_ROLE_FORCE];
  const struct be_shape *shape = &t->shape[c];
  if (shape->numbers < MANY_ROWS || !(shape->counts || shape->constant)) return BE_OK;
  const char *why = shape->counts ? "but it only counts the rows" : "but it never changes";
  for (size_t other = t->from; other < t->to; other++)
    if (be_column_is_mute(t, other) && !t->shape[other].counts && !t->shape[other].constant &&
        !t->shape[other].even)
      return be_column_ask(t, c, other, BE_ROLE_FORCE, why, err);
  be_column_doubt(&t->layout->columns[c], BE_GUESS, why);
  return BE_OK;
}

enum be_status be_guess_doubts(struct be_table *table, struct be_err *err)
{
  struct be_table *t = table;
  size_t extension = t->roles->column[BE_ROLE_EXTENSION];
  enum be_status status = BE_OK;
  if (has(t, BE_ROLE_TIME) && !t->options->time_column) status = doubt_time(t, err);
  if (status == BE_OK && has(t, BE_ROLE_FORCE) && !t->options->force_column)
    status = doubt_force(t, err);
  if (extension == BE_NOWHERE || t->options->extension_column) return status;
  const struct be_shape *shape = &t->shape[extension];
  if (shape->numbers >= MANY_ROWS && shape->counts)
    be_column_doubt(&t->layout->columns[extension], BE_GUESS, "but it only counts the rows");
  if (shape->numbers >= MANY_ROWS && shape->constant)
    be_column_doubt(&t->layout->columns[extension], BE_GUESS, "but it never changes");
  return status;
}
