/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The data of a figure: a row for each mark, box and rule, and for each point of a line, with what
 * was told of it. Columns that no row fills are left out, but for the first. */
#include "chart/inside.h"

#include <assert.h>
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- what is told ---- */

static struct be_datum *told_of(struct be_figure *figure, const char *column)
{
  size_t at = 0;
  while (at < figure->told_count && strcmp(figure->columns[at], column) != 0) at++;
  assert(at < BE_DATA_TOLD_MAX);
  if (at == figure->told_count) {
    figure->columns[figure->told_count++] = be_figure_copy(figure, column);
    figure->told[at] = (struct be_datum){NULL, NAN};
  }
  figure->told_kept = NULL;
  return &figure->told[at];
}

void be_figure_tell(struct be_figure *figure, const char *column, const char *text)
{
  if (!figure) return;
  *told_of(figure, column) = (struct be_datum){text ? be_figure_copy(figure, text) : NULL, NAN};
}

void be_figure_tell_number(struct be_figure *figure, const char *column, double number)
{
  if (figure) *told_of(figure, column) = (struct be_datum){NULL, number};
}

void be_figure_tell_nothing(struct be_figure *figure)
{
  if (!figure) return;
  for (size_t i = 0; i < figure->told_count; i++) figure->told[i] = (struct be_datum){NULL, NAN};
  figure->told_kept = NULL;
}

const struct be_datum *be_figure_told(struct be_figure *figure)
{
  size_t count = figure->told_count;
  if (figure->told_kept || count == 0) return figure->told_kept;
  struct be_datum *kept = be_arena_alloc(figure->arena, count * sizeof *kept);
  if (kept) memcpy(kept, figure->told, count * sizeof *kept);
  else if (figure->status == BE_OK) figure->status = BE_NO_MEMORY;
  return figure->told_kept = kept;
}

void be_figure_within(struct be_figure *figure, bool along_x, const double *low, const double *high)
{
  if (!figure || figure->status != BE_OK || figure->item_count == 0) return;
  struct item *item = &figure->items[figure->item_count - 1];
  size_t n = item->kind == ITEM_LINE ? item->count : 1;
  double *ends = be_arena_alloc(figure->arena, 2 * n * sizeof *ends);
  if (!ends) {
    figure->status = BE_NO_MEMORY;
    return;
  }
  memcpy(ends, low, n * sizeof *ends);
  memcpy(ends + n, high, n * sizeof *ends);
  item->low = ends;
  item->high = ends + n;
  item->within_x = along_x;
}

void be_figure_columns(struct be_figure *figure, const char *rows, const char *x, const char *y)
{
  if (!figure) return;
  figure->row_key = rows ? be_figure_copy(figure, rows) : NULL;
  figure->x_key = x ? be_figure_copy(figure, x) : NULL;
  figure->y_key = y ? be_figure_copy(figure, y) : NULL;
}

/* ---- columns ---- */

enum column { WHAT, OF, TOLD, X = TOLD + BE_DATA_TOLD_MAX, X_LOW, X_HIGH, Y, Y_LOW, Y_HIGH };
static_assert(Y_HIGH + 1 == BE_DATA_COLUMNS_MAX, "a column each");

/* "load (N)": load_N; "efficiency (% of the line)": efficiency_percent. */
static const char *key_of(const char *label, const char *name, const char *otherwise,
                          struct be_arena *arena)
{
  char key[120];
  size_t at = 0, open = strcspn(label, "(");
  const char *unit = label[open] ? label + open + 1 : "", *from = name ? name : label;
  size_t length = name ? strlen(name) : open;
  for (size_t i = 0; i < length && at + 20 < sizeof key; i++) {
    if (isalnum((unsigned char)from[i])) key[at++] = (char)tolower((unsigned char)from[i]);
    else if (at && key[at - 1] != '_') key[at++] = '_';
  }
  while (at && key[at - 1] == '_') at--;
  key[at] = '\0';
  if (at == 0) return otherwise;
  size_t end = strcspn(unit, " )");
  bool explained = strchr(unit, '=') != NULL; /* "(1 = strongest)" */
  if (end == 0 || explained) return be_arena_format(arena, "%s", key);
  if (*unit == '%') return be_arena_format(arena, "%s_percent", key);
  return be_arena_format(arena, "%s_%.*s", key, (int)end, unit);
}

/* "let_go" as people write it. */
static const char *spaced(const char *key, struct be_arena *arena)
{
  char *head = be_arena_text(arena, key, strlen(key));
  for (char *c = head; c && *c; c++)
    if (*c == '_') *c = ' ';
  return head;
}

static void name_axis(struct be_data *data, enum column at, const char *key, const char *head,
                      struct be_arena *arena)
{
  data->keys[at] = key;
  data->heads[at] = *head ? head : key;
  data->keys[at + 1] = be_arena_format(arena, "%s_low", key);
  data->keys[at + 2] = be_arena_format(arena, "%s_high", key);
  data->heads[at + 1] = "low";
  data->heads[at + 2] = "high";
}

static void name_columns(const struct be_figure *figure, struct be_data *data,
                         struct be_arena *arena)
{
  const char *x = figure->x.label, *y = figure->row_count ? "" : figure->y.label;
  data->keys[WHAT] = data->heads[WHAT] = "what";
  data->keys[OF] = data->heads[OF] = figure->row_key ? figure->row_key : "row";
  for (size_t i = 0; i < BE_DATA_TOLD_MAX; i++) {
    data->keys[TOLD + i] = i < figure->told_count ? figure->columns[i] : "";
    data->heads[TOLD + i] = spaced(data->keys[TOLD + i], arena);
  }
  name_axis(data, X, key_of(x, figure->x_key, "x", arena), x, arena);
  name_axis(data, Y, key_of(y, figure->y_key, "y", arena), y, arena);
}

/* ---- rows ---- */

static void put_x(const struct be_figure *figure, double x, struct be_datum *cell)
{
  double at = floor(x + 0.5);
  if (figure->x.names && at >= 0 && at < (double)figure->x.names_count)
    cell->text = figure->x.names[(size_t)at];
  else cell->number = x;
}

/* A span, or a box where the axis has numbers, has ends alone. */
static void put_reach(const struct be_figure *figure, const struct item *item,
                      struct be_datum *cells)
{
  bool box = item->kind == ITEM_BOX;
  if (box && figure->x.names) put_x(figure, (item->x + item->x2) / 2, &cells[X]);
  else {
    cells[X_LOW].number = item->x;
    cells[X_HIGH].number = item->x2;
  }
  if (!box || figure->row_count) return;
  cells[Y_LOW].number = item->y;
  cells[Y_HIGH].number = item->y2;
}

static void put_item(const struct be_figure *figure, const struct item *item,
                     struct be_datum *cells)
{
  double row = floor(item->y + 0.5);
  bool rule_x = item->kind == ITEM_RULE_X, rule_y = item->kind == ITEM_RULE_Y;
  cells[WHAT].text = rule_x || rule_y ? item->text : item->means;
  if (!rule_x && row >= 0 && row < (double)figure->row_count)
    cells[OF].text = figure->rows[(size_t)row].name;
  if (item->kind == ITEM_SPAN || item->kind == ITEM_BOX) {
    put_reach(figure, item, cells);
    return;
  }
  if (!rule_y) put_x(figure, item->x, &cells[X]);
  if (!rule_x && figure->row_count == 0) cells[Y].number = item->y;
}

static void put_point(const struct be_figure *figure, const struct item *line, size_t i,
                      struct be_datum *cells)
{
  cells[WHAT].text = line->means;
  put_x(figure, line->points[i], &cells[X]);
  cells[Y].number = line->points[line->count + i];
}

/* What is told may stand for a row or an axis. */
static enum column place_of(const struct be_data *data, enum column told)
{
  static const enum column others[] = {OF, X, Y};
  for (size_t i = 0; i < 3; i++)
    if (strcmp(data->keys[told], data->keys[others[i]]) == 0) return others[i];
  return told;
}

static void put_told(const struct item *item, size_t point, const struct be_data *data,
                     struct be_datum *cells)
{
  if (item->low) {
    cells[item->within_x ? X_LOW : Y_LOW].number = item->low[point];
    cells[item->within_x ? X_HIGH : Y_HIGH].number = item->high[point];
  }
  for (size_t i = 0; item->told && i < item->told_count; i++) {
    if (!item->told[i].text && isnan(item->told[i].number)) continue;
    enum column at = place_of(data, TOLD + (enum column)i);
    cells[at] = item->told[i];
    if (at >= X && !item->low) cells[at + 1].number = cells[at + 2].number = NAN;
  }
}

static size_t rows_of(const struct item *item)
{
  switch (item->kind) {
  case ITEM_LINE: return item->means ? item->count : 0;
  case ITEM_MARK:
  case ITEM_BAR:
  case ITEM_SPAN:
  case ITEM_BOX: return item->means != NULL;
  case ITEM_RULE_X:
  case ITEM_RULE_Y: return 1;
  case ITEM_BRACKET:
  case ITEM_KEY:
  case ITEM_NOTE:
  case ITEM_LABEL: break;
  }
  return 0;
}

/* Keeps the columns that any row fills. */
static void close_up(struct be_data *data, struct be_datum *cells)
{
  bool filled[BE_DATA_COLUMNS_MAX] = {[WHAT] = true};
  size_t all = data->columns, kept = 0;
  for (size_t i = 0; i < data->rows * all; i++)
    filled[i % all] |= (cells[i].text && *cells[i].text) || !isnan(cells[i].number);
  for (size_t c = 0; c < all; c++) {
    if (!filled[c]) continue;
    data->keys[kept] = data->keys[c];
    data->heads[kept++] = data->heads[c];
  }
  size_t to = 0;
  for (size_t i = 0; i < data->rows * all; i++)
    if (filled[i % all]) cells[to++] = cells[i];
  data->columns = kept;
}

enum be_status be_figure_data(const struct be_figure *figure, struct be_arena *arena,
                              struct be_data *data)
{
  enum be_status status = be_figure_status(figure);
  if (status != BE_OK) return status;
  *data = (struct be_data){.columns = BE_DATA_COLUMNS_MAX};
  name_columns(figure, data, arena);
  for (size_t i = 0; i < figure->item_count; i++) data->rows += rows_of(&figure->items[i]);
  struct be_datum *cells =
                      be_arena_alloc(arena, (data->rows + 1) * BE_DATA_COLUMNS_MAX * sizeof *cells),
                  *at = cells;
  if (!cells || be_arena_ran_out(arena)) return BE_NO_MEMORY;
  for (size_t i = 0; i < data->rows * BE_DATA_COLUMNS_MAX; i++)
    cells[i] = (struct be_datum){NULL, NAN};
  for (size_t i = 0; i < figure->item_count; i++)
    for (size_t k = 0; k < rows_of(&figure->items[i]); k++, at += BE_DATA_COLUMNS_MAX) {
      if (figure->items[i].kind == ITEM_LINE) put_point(figure, &figure->items[i], k, at);
      else put_item(figure, &figure->items[i], at);
      put_told(&figure->items[i], k, data, at);
    }
  data->cells = cells;
  close_up(data, cells);
  return BE_OK;
}
