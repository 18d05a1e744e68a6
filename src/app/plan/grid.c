/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which knots on which lines, and the plain lines that these are divided by. */
#include "app/plan/plan.h"

#include <stdio.h>
#include <string.h>

enum { NAME_MAX_SIZE = 200, GRID_CELLS_MAX = 2000 };

bool be_plan_is_plain(const struct plan_cell *cell)
{
  return cell->design == BE_DESIGN_PLAIN;
}

bool be_plan_uses(const struct plan_cell *cell, int line)
{
  return cell->line_a == line || cell->line_b == line;
}

const char *be_plan_line(const struct survey *survey, int line)
{
  const struct be_line *of = &survey->record.lines[line];
  const char *words =
      of->spool ? be_arena_format(survey->arena, "%s (%s)", of->name, of->spool) : of->name;
  return words ? words : "?";
}

const char *be_plan_where(const struct survey *survey, const struct plan_cell *cell)
{
  const char *to = cell->line_b >= 0 ? be_plan_line(survey, cell->line_b) : cell->hardware;
  const char *by = cell->line_b >= 0 ? cell->hardware : NULL;
  bool odd = cell->design > BE_DESIGN_SINGLE;
  const char *words = be_arena_format(
      survey->arena, "%s%s%s%s%s, %s%s%s", be_plan_line(survey, cell->line_a), to ? " to " : "",
      to ? to : "", by ? " by " : "", by ? by : "", be_soak_word(cell->soak), odd ? ", " : "",
      odd ? be_design_word(cell->design) : "");
  return words ? words : "?";
}

/* ---- order and likeness ---- */

static int compare_text(const char *a, const char *b)
{
  return strcmp(a ? a : "", b ? b : "");
}

static int compare_where(const struct plan_cell *a, const struct plan_cell *b)
{
  if (be_plan_is_plain(a) != be_plan_is_plain(b)) return be_plan_is_plain(a) ? -1 : 1;
  if (a->line_a != b->line_a) return a->line_a < b->line_a ? -1 : 1;
  if (a->line_b != b->line_b) return a->line_b < b->line_b ? -1 : 1;
  int hardware = compare_text(a->hardware, b->hardware);
  if (hardware) return hardware;
  if (a->soak != b->soak) return a->soak < b->soak ? -1 : 1;
  if (a->design != b->design) return a->design < b->design ? -1 : 1;
  return 0;
}

bool be_plan_together(const struct plan_cell *a, const struct plan_cell *b)
{
  return compare_where(a, b) == 0;
}

static int compare(const struct plan_cell *a, const struct plan_cell *b)
{
  int where = compare_where(a, b);
  if (where) return where;
  if (a->knot != b->knot) return a->knot < b->knot ? -1 : 1;
  return a->knot_b == b->knot_b ? 0 : a->knot_b < b->knot_b ? -1 : 1;
}

static const char *no_hardware(const char *hardware)
{
  return hardware && be_text_same(hardware, "none") ? NULL : hardware;
}

/* A design that was not recorded is taken for a single knot, as everywhere. */
static enum be_design design_of(enum be_design design, int knot)
{
  if (design != BE_DESIGN_UNKNOWN) return design;
  return knot < 0 ? BE_DESIGN_PLAIN : BE_DESIGN_SINGLE;
}

static bool same_hardware(const char *a, const char *b)
{
  return a == b || (a && b && be_text_same(a, b));
}

bool be_plan_matches(const struct plan_cell *cell, const struct be_pull *pull)
{
  return cell->knot == pull->knot && cell->knot_b == pull->knot_b && cell->line_a == pull->line_a &&
         cell->line_b == pull->line_b && cell->soak == pull->soak &&
         cell->design == design_of(pull->design, pull->knot) &&
         same_hardware(cell->hardware, no_hardware(pull->hardware));
}

/* Keeps the cells in order, each once; where it stands. */
static size_t insert_cell(struct plan_grid *grid, const struct plan_cell *cell)
{
  size_t at = grid->count;
  for (size_t i = 0; i < grid->count; i++) {
    int order = compare(cell, &grid->cells[i]);
    if (order == 0) return i;
    if (order < 0) {
      at = i;
      break;
    }
  }
  memmove(&grid->cells[at + 1], &grid->cells[at], (grid->count - at) * sizeof *grid->cells);
  grid->cells[at] = *cell;
  grid->count++;
  return at;
}

static void count_kinds(struct plan_grid *grid)
{
  grid->knots = grid->combinations = 0;
  for (size_t i = 0; i < grid->count; i++) {
    const struct plan_cell *cell = &grid->cells[i];
    if (be_plan_is_plain(cell)) continue;
    bool new_knot = true;
    for (size_t k = 0; k < i; k++)
      new_knot =
          new_knot && (be_plan_is_plain(&grid->cells[k]) || grid->cells[k].knot != cell->knot ||
                       grid->cells[k].knot_b != cell->knot_b);
    grid->knots += new_knot;
    grid->combinations += i == 0 || compare_where(&grid->cells[i - 1], cell) != 0;
  }
}

/* ---- of a trial ---- */

static struct plan_cell cell_of(const struct be_planned *planned)
{
  return (struct plan_cell){.knot = planned->knot,
                            .knot_b = planned->knot_b,
                            .line_a = planned->line_a,
                            .line_b = planned->line_b,
                            .hardware = no_hardware(planned->hardware),
                            .soak = planned->soak,
                            .design = design_of(planned->design, planned->knot)};
}

enum be_status be_grid_of_trial(const struct survey *survey, const struct be_trial *trial,
                                struct plan_grid *grid, size_t *of, struct be_err *err)
{
  *grid = (struct plan_grid){0};
  size_t most = trial->planned_count < GRID_CELLS_MAX ? trial->planned_count : GRID_CELLS_MAX;
  grid->cells = be_arena_alloc(survey->arena, (most + 1) * sizeof *grid->cells);
  if (!grid->cells) return be_no_memory(err);
  for (size_t i = 0; i < trial->planned_count; i++) {
    if (grid->count == GRID_CELLS_MAX)
      return be_fail(err, BE_TOO_LARGE, "the trial %s has more than %d kinds of specimen",
                     trial->name, GRID_CELLS_MAX);
    struct plan_cell cell = cell_of(&trial->planned[i]);
    grid->cells[insert_cell(grid, &cell)].n++;
  }
  for (size_t i = 0; i < trial->planned_count; i++) {
    struct plan_cell cell = cell_of(&trial->planned[i]);
    size_t at = insert_cell(grid, &cell);
    if (of) of[i] = at;
    if (be_plan_is_plain(&cell)) grid->plain++;
    else grid->knotted++;
  }
  count_kinds(grid);
  return BE_OK;
}

/* ---- as a person names it ---- */

/* The next of "A; B; C": trimmed, and empty at the end. Returns where to go on, or null. */
static const char *next_name(const char *at, char mark, char name[NAME_MAX_SIZE])
{
  name[0] = '\0';
  while (*at == ' ' || *at == mark) at++;
  if (!*at) return NULL;
  size_t length = 0;
  while (at[length] && at[length] != mark) length++;
  const char *rest = at + length;
  while (length > 0 && at[length - 1] == ' ') length--;
  snprintf(name, NAME_MAX_SIZE, "%.*s", (int)length, at);
  return rest;
}

/* What the book calls hardware, or anybody would. */
static const char *hardware_of(const struct survey *survey, const char *name)
{
  static const char *const usual[] = {"ring", "hook", "swivel", "snap", "eye"};
  for (size_t i = 0; i < survey->record.pulls_count; i++) {
    const char *known = no_hardware(survey->record.pulls[i].hardware);
    if (known && be_text_same(known, name)) return known;
  }
  for (size_t i = 0; i < sizeof usual / sizeof usual[0]; i++)
    if (be_text_same(usual[i], name)) return usual[i];
  return NULL;
}

/* By spool, or by name when that has one spool only. *several: how many it could be. */
static int find_line(const struct survey *survey, const char *name, size_t *several)
{
  const struct be_record *record = &survey->record;
  int found = BE_NO_INDEX;
  *several = 0;
  for (size_t i = 0; i < record->lines_count; i++)
    if (record->lines[i].spool && be_text_same(record->lines[i].spool, name)) {
      *several = 1;
      return (int)i;
    }
  for (size_t i = 0; i < record->lines_count; i++)
    if (be_text_same(record->lines[i].name, name)) {
      found = (int)i;
      ++*several;
    }
  return found;
}

static enum be_status refuse_line(const struct survey *survey, const char *name, size_t several,
                                  struct be_err *err)
{
  char list[300] = "";
  size_t used = 0;
  for (size_t i = 0; i < survey->record.lines_count; i++) {
    const struct be_line *line = &survey->record.lines[i];
    if (several && !be_text_same(line->name, name)) continue;
    int put = snprintf(list + used, sizeof list - used, "%s%s", used ? ", " : "",
                       line->spool ? line->spool : line->name);
    if (put < 0 || (size_t)put >= sizeof list - used) break;
    used += (size_t)put;
  }
  if (several) be_fail(err, BE_WRONG_USE, "there are %zu spools of \"%s\"", several, name);
  else be_fail(err, BE_WRONG_USE, "there is no line, spool or hardware \"%s\"", name);
  be_fail_remedy(err, used ? "name one of %s" : "enter a line sheet first%s", list);
  return BE_WRONG_USE;
}

static enum be_status read_combination(const struct survey *survey, const char *text,
                                       struct plan_cell *cell, struct be_err *err)
{
  char name[NAME_MAX_SIZE];
  size_t several = 0;
  const char *rest = next_name(text, '+', name);
  cell->line_a = find_line(survey, name, &several);
  cell->line_b = BE_NO_INDEX;
  if (!rest || several != 1) return refuse_line(survey, name, several, err);
  rest = next_name(rest, '+', name);
  if (!rest) return BE_OK;
  cell->line_b = find_line(survey, name, &several);
  cell->hardware = several ? NULL : hardware_of(survey, name);
  if (several > 1 || (!several && !cell->hardware)) return refuse_line(survey, name, several, err);
  if (next_name(rest, '+', name))
    return be_fail(err, BE_WRONG_USE, "\"%s\" joins more than two", text);
  return BE_OK;
}

static size_t count_names(const char *list)
{
  char name[NAME_MAX_SIZE];
  size_t count = 0;
  while ((list = next_name(list, ';', name)) != NULL) count++;
  return count;
}

static void add_plain(struct plan_grid *grid, int line, enum be_soak soak)
{
  if (line < 0) return;
  insert_cell(grid, &(const struct plan_cell){.knot = BE_NO_INDEX,
                                              .knot_b = BE_NO_INDEX,
                                              .line_a = line,
                                              .line_b = BE_NO_INDEX,
                                              .soak = soak,
                                              .design = BE_DESIGN_PLAIN});
}

static enum be_status add_knots(const struct survey *survey, const char *knots,
                                const struct plan_cell *where, struct plan_grid *grid,
                                struct be_err *err)
{
  char name[NAME_MAX_SIZE];
  while ((knots = next_name(knots, ';', name)) != NULL) {
    struct plan_cell cell = *where;
    cell.knot = be_knot_find(survey, name, err);
    if (cell.knot < 0) return BE_WRONG_USE;
    insert_cell(grid, &cell);
  }
  return BE_OK;
}

enum be_status be_grid_asked(const struct survey *survey, const char *knots, const char *on,
                             enum be_soak soak, struct plan_grid *grid, struct be_err *err)
{
  *grid = (struct plan_grid){0};
  size_t ties = count_names(knots), places = count_names(on);
  if (!ties || !places)
    return be_fail(err, BE_WRONG_USE, "a plan takes one knot and one line at least");
  if (ties > GRID_CELLS_MAX / places || places * (ties + 2) > GRID_CELLS_MAX)
    return be_fail(err, BE_TOO_LARGE, "%zu knots on %zu lines are more than a plan can hold", ties,
                   places);
  grid->cells = be_arena_alloc(survey->arena, (places * (ties + 2) + 1) * sizeof *grid->cells);
  if (!grid->cells) return be_no_memory(err);
  char name[NAME_MAX_SIZE];
  enum be_status status = BE_OK;
  while (status == BE_OK && (on = next_name(on, ';', name)) != NULL) {
    struct plan_cell where = {.knot_b = BE_NO_INDEX, .soak = soak, .design = BE_DESIGN_SINGLE};
    status = read_combination(survey, name, &where, err);
    if (status == BE_OK) status = add_knots(survey, knots, &where, grid, err);
    if (status != BE_OK) return status;
    add_plain(grid, where.line_a, soak);
    add_plain(grid, where.line_b, soak);
  }
  count_kinds(grid);
  return status;
}
