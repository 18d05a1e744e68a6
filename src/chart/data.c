/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The data of a figure: every item as one row, a line as a row for each of its points. Columns that
 * no row fills are left out, but for the first. */
#include "chart/inside.h"

#include <assert.h>
#include <ctype.h>
#include <math.h>
#include <stdio.h>

enum column { WHAT, OF, NOTE, X, X_TO, Y, Y_TO, WORDS };
static_assert(WORDS + 1 == BE_DATA_COLUMNS_MAX, "a column each");

/* "load (lb)" -> "load_lb", "efficiency (% of the line)" -> "efficiency_percent_of_the_line". */
static const char *key_of(const char *label, const char *otherwise, const char *ending,
                          struct be_arena *arena)
{
  char key[120];
  size_t at = 0;
  for (const char *c = label; *c && at + 10 < sizeof key; c++) {
    if (isalnum((unsigned char)*c)) key[at++] = (char)tolower((unsigned char)*c);
    else if (*c == '%') at += (size_t)snprintf(key + at, 9, "percent");
    else if (at && key[at - 1] != '_') key[at++] = '_';
  }
  while (at && key[at - 1] == '_') at--;
  key[at] = '\0';
  return be_arena_format(arena, "%s%s", at ? key : otherwise, ending);
}

static void row_texts(const struct be_figure *figure, double y, struct be_datum *cells)
{
  if (figure->row_count == 0) return;
  double row = floor(y + 0.5);
  if (!(row >= 0 && row < (double)figure->row_count)) return;
  cells[OF].text = figure->rows[(size_t)row].name;
  cells[NOTE].text = figure->rows[(size_t)row].note;
}

static void put_x(const struct be_figure *figure, double x, struct be_datum *cell)
{
  double at = floor(x + 0.5);
  if (figure->x.names && at >= 0 && at < (double)figure->x.names_count)
    cell->text = figure->x.names[(size_t)at];
  else cell->number = x;
}

static void put_item(const struct be_figure *figure, const struct item *item,
                     struct be_datum *cells)
{
  bool rows = figure->row_count > 0;
  cells[WHAT].text = item->means;
  cells[WORDS].text = item->text;
  if (item->kind == ITEM_RULE_X || item->kind == ITEM_RULE_Y) cells[WHAT].text = "rule";
  if (item->kind != ITEM_RULE_X) row_texts(figure, item->y, cells);
  if (item->kind != ITEM_RULE_Y && item->kind != ITEM_BRACKET) put_x(figure, item->x, &cells[X]);
  if (item->kind == ITEM_SPAN || item->kind == ITEM_BOX) put_x(figure, item->x2, &cells[X_TO]);
  if (rows && item->kind == ITEM_BOX && figure->x.names) cells[X_TO] = (struct be_datum){NULL, NAN};
  if (item->kind == ITEM_BRACKET) {
    cells[WHAT].text = "joined to";
    cells[WORDS].text =
        rows ? figure->rows[(size_t)fmin(item->y2, (double)figure->row_count - 1)].name : "";
  }
  if (rows || item->kind == ITEM_RULE_X) return;
  cells[Y].number = item->y;
  if (item->kind == ITEM_BOX) cells[Y_TO].number = item->y2;
}

static size_t rows_of(const struct item *item)
{
  return item->kind == ITEM_LINE ? item->count
         : item->kind == ITEM_KEY || item->kind == ITEM_NOTE || item->kind == ITEM_LABEL ? 0
                                                                                         : 1;
}

static void put_point(const struct be_figure *figure, const struct item *line, size_t i,
                      struct be_datum *cells)
{
  cells[WHAT].text = line->means;
  put_x(figure, line->points[i], &cells[X]);
  cells[Y].number = line->points[line->count + i];
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
  const char *x = figure->x.label, *y = figure->row_count ? "" : figure->y.label;
  *data = (struct be_data){
      .keys = {"what", "of", "note", key_of(x, "x", "", arena), key_of(x, "x", "_to", arena),
               key_of(y, "y", "", arena), key_of(y, "y", "_to", arena), "words"},
      .heads = {"what", "of", "note", *x ? x : "across", be_arena_format(arena, "to, %s", x),
                *y ? y : "up", be_arena_format(arena, "to, %s", y), "words"},
      .columns = BE_DATA_COLUMNS_MAX};
  for (size_t i = 0; i < figure->item_count; i++) data->rows += rows_of(&figure->items[i]);
  struct be_datum *cells =
                      be_arena_alloc(arena, (data->rows + 1) * BE_DATA_COLUMNS_MAX * sizeof *cells),
                  *at = cells;
  if (!cells || be_arena_ran_out(arena)) return BE_NO_MEMORY;
  for (size_t i = 0; i < data->rows * BE_DATA_COLUMNS_MAX; i++) cells[i].number = NAN;
  for (size_t i = 0; i < figure->item_count; i++)
    for (size_t k = 0; k < rows_of(&figure->items[i]); k++, at += BE_DATA_COLUMNS_MAX) {
      if (figure->items[i].kind == ITEM_LINE) put_point(figure, &figure->items[i], k, at);
      else put_item(figure, &figure->items[i], at);
    }
  data->cells = cells;
  close_up(data, cells);
  return BE_OK;
}
