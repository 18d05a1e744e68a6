/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The data of a figure as a table for people. */
#include "press/inside.h"

#include <math.h>

/* More rows than that are for programs. */
enum { NUMBERS_MAX = 300 };

/* None of whole numbers, else three figures behind the first of the largest. */
static int decimals_of(const struct be_data *data, size_t column)
{
  double most = 0;
  bool whole = true;
  for (size_t row = 0; row < data->rows; row++) {
    double size = fabs(data->cells[row * data->columns + column].number);
    if (!isfinite(size)) continue;
    whole &= floor(size) == size;
    if (size > most) most = size;
  }
  double decimals = most > 0 && !whole ? 3 - floor(log10(most)) : 0;
  return decimals < 0 ? 0 : decimals > 6 ? 6 : (int)decimals;
}

static void table_of_data(struct be_doc *doc, const struct be_data *data)
{
  struct be_column columns[BE_DATA_COLUMNS_MAX];
  int decimals[BE_DATA_COLUMNS_MAX];
  for (size_t i = 0; i < data->columns; i++) {
    bool numbers = false;
    for (size_t row = 0; row < data->rows; row++)
      numbers |= isfinite(data->cells[row * data->columns + i].number);
    columns[i] = (struct be_column){data->keys[i], data->heads[i],
                                    numbers ? BE_COLUMN_NUMBER : BE_COLUMN_TEXT, false};
    decimals[i] = decimals_of(data, i);
  }
  struct be_table *table = be_doc_table(doc, "numbers", "In numbers", columns, data->columns);
  for (size_t i = 0; i < data->rows * data->columns; i++) {
    const struct be_datum *cell = &data->cells[i];
    if (cell->text) be_table_text(table, "%s", cell->text);
    else if (isnan(cell->number)) be_table_none(table);
    else be_table_number(table, cell->number, decimals[i % data->columns]);
  }
  be_table_fold(table);
}

enum be_status be_numbers_doc(const struct be_figure *figure, struct be_doc **doc,
                              struct be_err *err)
{
  struct be_data data;
  struct be_arena *arena = be_arena_create();
  struct be_doc *made = be_doc_create("numbers", "Numbers");
  enum be_status status = arena && made ? be_figure_data(figure, arena, &data) : BE_NO_MEMORY;
  if (status == BE_OK && data.rows > 0 && data.rows <= NUMBERS_MAX) table_of_data(made, &data);
  be_arena_free(arena);
  if (status != BE_OK) be_fail(err, status, "no memory for the numbers of a figure");
  else status = be_doc_status(made, err);
  if (status == BE_OK) *doc = made;
  else be_doc_free(made);
  return status;
}
