/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tests or signals side by side: the columns repeat one pattern, such as time,
 * force, travel, and each repeat has a force and an axis of its own. */
#include "trace/layout/layout.h"

#include <stdio.h>

struct pattern {
  size_t count, forces;
  size_t column[BE_TRACE_COLUMNS_MAX];
  enum be_role role[BE_TRACE_COLUMNS_MAX];
};

/* The role for which the heading of a column speaks most. */
static enum be_role spoken_role(const struct be_table *t, size_t c, int *score)
{
  enum be_role role = BE_ROLE_NONE;
  *score = 0;
  for (int i = BE_ROLE_TIME; i < BE_ROLES; i++) {
    int here = be_heading_score(t, c, (enum be_role)i);
    if (here > *score) *score = here, role = (enum be_role)i;
  }
  return role;
}

/* The columns that speak; names for the force that are weaker by more than
 * `below` are left out. */
static struct pattern pattern_of(const struct be_table *t, int below)
{
  struct pattern pattern = {0};
  int best = 0, score;
  for (size_t c = 0; c < t->columns; c++)
    if (spoken_role(t, c, &score) == BE_ROLE_FORCE && score > best) best = score;
  for (size_t c = 0; c < t->columns; c++) {
    enum be_role role = spoken_role(t, c, &score);
    if (role == BE_ROLE_NONE || (role == BE_ROLE_FORCE && score < best - below)) continue;
    pattern.column[pattern.count] = c;
    pattern.role[pattern.count++] = role;
    pattern.forces += role == BE_ROLE_FORCE;
  }
  return pattern;
}

static bool repeats(const struct pattern *pattern)
{
  size_t lanes = pattern->forces;
  if (lanes < 2 || pattern->count % lanes != 0 || pattern->count == lanes) return false;
  for (size_t i = 0, period = pattern->count / lanes; i < pattern->count; i++)
    if (pattern->role[i] != pattern->role[i % period]) return false;
  return true;
}

/* A signal beside one with a unit, without one itself, is not read. */
static bool has_its_unit(struct be_table *t, const struct pattern *pattern, size_t start)
{
  const struct be_heading *headings = t->block->headings;
  size_t period = pattern->count / pattern->forces, force = 0;
  while (pattern->role[force] != BE_ROLE_FORCE) force++;
  size_t c = pattern->column[start + force];
  if (!headings[pattern->column[force]].unit || headings[c].unit) return true;
  for (size_t i = start; i < start + period; i++) {
    struct be_trace_column *column = &t->layout->columns[pattern->column[i]];
    snprintf(column->why, sizeof column->why,
             "of a second signal without a unit beside one with: not read");
  }
  return false;
}

size_t be_lanes_find(struct be_table *table, size_t from[BE_LANES_MAX])
{
  enum { NEARLY = 10 }; /* "F" beside "Force" */
  struct pattern pattern = pattern_of(table, 0);
  size_t lanes = 1;
  from[0] = 0;
  if (!repeats(&pattern)) pattern = pattern_of(table, NEARLY);
  if (!repeats(&pattern) || pattern.forces > BE_LANES_MAX) return 1;
  size_t period = pattern.count / pattern.forces;
  for (size_t i = period; i < pattern.count; i += period) {
    if (!has_its_unit(table, &pattern, i)) break;
    from[lanes++] = pattern.column[i];
  }
  /* The columns after the last lane are no part of it. */
  table->columns = lanes < pattern.forces ? pattern.column[lanes * period] : table->columns;
  return lanes;
}
