/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/merge/merge.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct loading {
  struct loaded *loaded;
  struct be_arena *arena;
  const struct side *side;
  struct be_buf number;
};

/* The hash of a file stands for it in both books. */
static const char *hash_of(const struct side *side, int64_t id)
{
  size_t low = 0, high = side->files_count;
  while (low < high) {
    size_t middle = (low + high) / 2;
    if (side->files[middle].id < id) low = middle + 1;
    else high = middle;
  }
  return low < side->files_count ? side->files[low].sha256 : "";
}

static const char *text_of(struct loading *in, size_t column, const struct be_table_cell *cell)
{
  if (cell->text) return cell->text;
  if (isnan(cell->number)) return "";
  if (in->loaded->table->columns[column].role == BE_TABLE_TRACE)
    return hash_of(in->side, (int64_t)cell->number);
  in->number.size = 0;
  be_csv_number(&in->number, cell->number);
  if (!in->loaded->table->columns[column].number) be_buf_text(&in->number, " s");
  return in->number.status == BE_OK ? in->number.data : NULL;
}

static enum be_status take_row(void *context, const struct be_table_cell *cells, struct be_err *err)
{
  struct loading *in = context;
  struct loaded *loaded = in->loaded;
  void *block = loaded->cells;
  size_t columns = loaded->table->count;
  enum be_status status = be_grow(&block, &loaded->capacity, sizeof *loaded->cells,
                                  loaded->cells_count + columns, SIZE_MAX / 64, err);
  loaded->cells = block;
  for (size_t i = 0; i < columns && status == BE_OK; i++) {
    const char *text = text_of(in, i, &cells[i]);
    char *kept = text ? be_arena_text(in->arena, text, strlen(text)) : NULL;
    if (!kept) status = be_no_memory(err);
    else loaded->cells[loaded->cells_count++] = kept;
  }
  loaded->rows += status == BE_OK;
  return status;
}

/* ---- by the codes of specimens ---- */

int be_fold(const char *a, const char *b)
{
  for (;; a++, b++) {
    int c = (unsigned char)*a, d = (unsigned char)*b;
    if (c >= 'A' && c <= 'Z') c += 'a' - 'A';
    if (d >= 'A' && d <= 'Z') d += 'a' - 'A';
    if (c != d || !c) return c - d;
  }
}

static int by_code(const void *a, const void *b)
{
  const struct coded *x = a, *y = b;
  int order = be_fold(x->code, y->code);
  return order ? order : x->row < y->row ? -1 : x->row > y->row;
}

static enum be_status index_codes(struct loaded *loaded, struct be_err *err)
{
  size_t at = 0, columns = loaded->table->count;
  while (at < columns && loaded->table->columns[at].role != BE_TABLE_SPECIMEN) at++;
  if (at == columns || !loaded->rows) return BE_OK;
  loaded->coded = be_alloc_array(loaded->rows, sizeof *loaded->coded);
  if (!loaded->coded) return be_no_memory(err);
  for (size_t row = 0; row < loaded->rows; row++)
    loaded->coded[row] = (struct coded){loaded->cells[row * columns + at], row};
  qsort(loaded->coded, loaded->rows, sizeof *loaded->coded, by_code);
  return BE_OK;
}

size_t be_loaded_of(const struct loaded *loaded, const char *code, size_t nth)
{
  size_t low = 0, high = loaded->coded ? loaded->rows : 0;
  while (low < high) {
    size_t middle = (low + high) / 2;
    if (be_fold(loaded->coded[middle].code, code) < 0) low = middle + 1;
    else high = middle;
  }
  low += nth;
  bool is = loaded->coded && low < loaded->rows && be_text_same(loaded->coded[low].code, code);
  return is ? loaded->coded[low].row : BE_NO_ROW;
}

enum be_status be_side_load(struct be_book *book, struct be_arena *arena, struct side *side,
                            struct be_err *err)
{
  struct loading loading = {.arena = arena, .side = side};
  be_buf_init(&loading.number, 1 << 12);
  enum be_status status = be_book_files(book, arena, &side->files, &side->files_count, err);
  for (size_t i = 0; i < TABLES && status == BE_OK; i++) {
    loading.loaded = &side->tables[i];
    loading.loaded->table = &be_book_tables[i];
    status = be_book_table_read(book, &be_book_tables[i], take_row, &loading, err);
    if (status == BE_OK) status = index_codes(loading.loaded, err);
  }
  be_buf_free(&loading.number);
  return status;
}

void be_side_free(struct side *side)
{
  for (size_t i = 0; i < TABLES; i++) {
    be_free(side->tables[i].cells);
    be_free(side->tables[i].coded);
  }
}

const struct loaded *be_side_table(const struct side *side, const char *name)
{
  return &side->tables[be_book_table(name) - be_book_tables];
}

const char *be_loaded_cell(const struct loaded *loaded, size_t row, const char *column)
{
  size_t at = 0;
  while (at < loaded->table->count && strcmp(loaded->table->columns[at].name, column) != 0) at++;
  return at < loaded->table->count ? loaded->cells[row * loaded->table->count + at] : "";
}

size_t be_loaded_find(const struct loaded *loaded, const char *first)
{
  for (size_t row = 0; row < loaded->rows; row++)
    if (be_text_same(loaded->cells[row * loaded->table->count], first)) return row;
  return BE_NO_ROW;
}
