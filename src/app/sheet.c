/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/sheet.h"

#include "press/press.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- writing ---- */

void be_csv_text(struct be_buf *out, const char *text)
{
  if (!text || !*text) return;
  size_t size = strlen(text);
  bool plain = !strpbrk(text, "\",;\t\r\n") && *text != ' ' && *text != '#' && *text != '\'' &&
               text[size - 1] != ' ';
  if (plain) {
    be_buf_text(out, text);
    return;
  }
  be_buf_char(out, '"');
  for (; *text; text++) {
    if (*text == '"') be_buf_char(out, '"');
    be_buf_char(out, *text);
  }
  be_buf_char(out, '"');
}

void be_csv_person_text(struct be_buf *out, const char *text)
{
  if (!text || !be_csv_runs(text)) {
    be_csv_text(out, text);
    return;
  }
  be_buf_text(out, "\"'");
  for (; *text; text++) {
    if (*text == '"') be_buf_char(out, '"');
    be_buf_char(out, *text);
  }
  be_buf_char(out, '"');
}

/* The fewest decimals that give the value again. A double in decimals has at most 1074, but what
 * needs more than 340 is 0 to anybody. */
void be_csv_number(struct be_buf *out, double value)
{
  enum { MOST = 340, ROOM = MOST + 330 };
  char text[ROOM];
  if (isnan(value)) return;
  int decimals = 0;
  for (; decimals <= MOST; decimals++) {
    snprintf(text, sizeof text, "%.*f", decimals, value);
    if (strtod(text, NULL) == value) break;
  }
  be_buf_text(out, text);
  if (decimals == 3) be_buf_char(out, '0');
}

struct writing {
  const struct be_book_table *table;
  be_csv_hook *hook;
  void *context;
  struct be_buf *out;
  size_t *rows;
};

static enum be_status write_row(void *context, const struct be_table_cell *cells,
                                struct be_err *err)
{
  struct writing *in = context;
  struct be_table_cell mine[BE_TABLE_COLUMNS];
  bool kept = true;
  memcpy(mine, cells, in->table->count * sizeof *cells);
  if (in->hook) {
    enum be_status status = in->hook(in->context, in->table, mine, &kept, err);
    if (status != BE_OK || !kept) return status;
  }
  for (size_t i = 0; i < in->table->count; i++) {
    if (i) be_buf_char(in->out, ',');
    if (mine[i].text) {
      be_csv_text(in->out, mine[i].text);
      continue;
    }
    be_csv_number(in->out, mine[i].number);
    bool seconds = !in->table->columns[i].number && !isnan(mine[i].number);
    if (seconds) be_buf_text(in->out, " s");
  }
  be_buf_text(in->out, "\r\n");
  ++*in->rows;
  return be_buf_status(in->out, err);
}

enum be_status be_csv_write(struct be_book *book, const struct be_book_table *table,
                            be_csv_hook *hook, void *context, struct be_buf *out, size_t *rows,
                            struct be_err *err)
{
  struct writing writing = {table, hook, context, out, rows};
  *rows = 0;
  for (size_t i = 0; i < table->count; i++) {
    if (i) be_buf_char(out, ',');
    be_csv_text(out, table->columns[i].name);
  }
  be_buf_text(out, "\r\n");
  enum be_status status = be_book_table_read(book, table, write_row, &writing, err);
  return status == BE_OK ? be_buf_status(out, err) : status;
}

/* ---- reading ---- */

enum { COLUMNS_MOST = 64 };

struct reader {
  char *at, *end;
  size_t line;
};

static enum be_status not_so(const struct reader *in, const char *why, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "%s", why);
  be_fail_at(err, NULL, in->line, 0);
  return be_fail_remedy(err, "take the file as it was written");
}

/* One cell, in place; *last: it ends its row. */
static enum be_status read_cell(struct reader *in, char **cell, bool *last, struct be_err *err)
{
  char *out = in->at;
  bool quoted = in->at < in->end && *in->at == '"';
  *cell = in->at;
  for (in->at += quoted; in->at < in->end; in->at++) {
    if (quoted && *in->at == '"') {
      if (in->at + 1 >= in->end || in->at[1] != '"') break;
      in->at++;
    } else if (!quoted && (*in->at == ',' || *in->at == '\r' || *in->at == '\n')) {
      break;
    }
    if (*in->at == '\0') return not_so(in, "a cell holds a zero byte", err);
    in->line += *in->at == '\n';
    *out++ = *in->at;
  }
  if (quoted && in->at >= in->end) return not_so(in, "a quoted cell is not closed", err);
  in->at += quoted;
  char *mark = in->at;
  if (mark < in->end && *mark == '\r') mark++;
  *last = mark >= in->end || *mark == '\n';
  if (!*last && (mark > in->at || *mark != ','))
    return not_so(in, "text follows a closed quotation mark", err);
  in->at = mark < in->end ? mark + 1 : mark;
  in->line += *last;
  *out = '\0';
  return BE_OK;
}

static enum be_status read_row(struct reader *in, char **cells, size_t columns, struct be_err *err)
{
  bool last = false;
  size_t got = 0;
  while (!last) {
    if (got == columns) return not_so(in, "the row has too many cells", err);
    enum be_status status = read_cell(in, &cells[got], &last, err);
    if (status != BE_OK) return status;
    got++;
  }
  if (got == columns) return BE_OK;
  in->line--;
  return not_so(in, "the row has too few cells", err);
}

enum be_status be_csv_cells(const char *bytes, size_t size, size_t columns, be_csv_row *row,
                            void *context, struct be_err *err)
{
  char *cells[COLUMNS_MOST];
  if (columns > COLUMNS_MOST) return be_fail(err, BE_TOO_LARGE, "too many columns");
  char *copy = be_alloc(size + 1);
  if (!copy) return be_fail(err, BE_NO_MEMORY, "no memory for a sheet");
  memcpy(copy, bytes, size);
  struct reader in = {copy, copy + size, 1};
  enum be_status status = BE_OK;
  while (status == BE_OK && in.at < in.end) {
    size_t line = in.line;
    status = read_row(&in, cells, columns, err);
    if (status == BE_OK) status = row(context, cells, line, err);
  }
  be_free(copy);
  return status;
}
