/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables on pages. Where the columns are in parts, so many rows at a time that all parts of them
 * stand on one page. No row is cut unless it is higher than a page. */
#include "press/pdf/page.h"

#include <math.h>

/* What is written on by hand, in points. */
static const double hand_row = 12 / 25.4 * 72;
static const double part_gap = 8;

static bool is_right(const struct be_table *table, size_t column)
{
  return table->columns[column].kind != BE_COLUMN_TEXT;
}

static double leading(const struct spot *spot)
{
  return BE_LEADING * spot->size;
}

static double pad_of(const struct spot *spot)
{
  return BE_ROW_GAP * spot->size;
}

/* ---- how high ---- */

static int lines_of(struct pdf *pdf, const struct spot *spot, const char *text, double width)
{
  /* A hair wider, so that what was measured fits whatever was rounded. */
  struct words words = be_words(pdf, text, spot->size, false, width + 0.5);
  int lines = words.lines;
  be_words_free(&words);
  return lines;
}

static double row_height(struct pdf *pdf, const struct be_table *table, const struct spot *spot,
                         size_t row, unsigned part)
{
  int most = 1;
  char room[CELL_ROOM];
  for (size_t i = 0; i < table->column_count; i++) {
    const struct cell *cell = be_table_cell(table, row, i);
    if (!be_column_in(table, spot, i, part) || cell->kind != CELL_TEXT) continue;
    if (spot->texts[i * be_table_rows(table) + row] * spot->size <= spot->widths[i]) continue;
    int lines = lines_of(pdf, spot, be_cell_text(cell, room), spot->widths[i]);
    if (lines > most) most = lines;
  }
  if (table->by_hand) most = (int)fmax(most, ceil((hand_row - pad_of(spot)) / leading(spot)));
  return most * leading(spot) + pad_of(spot);
}

static double head_height(struct pdf *pdf, const struct be_table *table, const struct spot *spot,
                          unsigned part)
{
  int most = 1;
  for (size_t i = 0; i < table->column_count; i++) {
    if (!be_column_in(table, spot, i, part)) continue;
    int lines = lines_of(pdf, spot, table->columns[i].head, spot->widths[i]);
    if (lines > most) most = lines;
  }
  return most * leading(spot) + pad_of(spot);
}

static enum be_status measure(struct pdf *pdf, const struct be_table *table, struct spot *spot,
                              struct be_err *err)
{
  size_t rows = be_table_rows(table);
  enum be_status status = be_columns_measure(pdf, table, spot, err);
  if (status != BE_OK) return status;
  /* The head of each part, then its rows. */
  spot->heights = be_arena_alloc(pdf->arena, spot->parts * (rows + 1) * sizeof *spot->heights);
  if (!spot->heights)
    return be_fail(err, BE_NO_MEMORY, "no memory for the table \"%.80s\"", table->name);
  spot->head = part_gap * (spot->parts - 1);
  for (unsigned part = 1; part <= spot->parts; part++) {
    double *heights = spot->heights + (part - 1) * (rows + 1);
    heights[0] = head_height(pdf, table, spot, part);
    spot->head += heights[0];
    for (size_t row = 0; row < rows; row++)
      heights[row + 1] = row_height(pdf, table, spot, row, part);
  }
  return BE_OK;
}

/* In all parts. */
static double height_of(const struct be_table *table, const struct spot *spot, size_t row)
{
  double height = 0;
  for (unsigned part = 0; part < spot->parts; part++)
    height += spot->heights[part * (be_table_rows(table) + 1) + row + 1];
  return height;
}

static bool for_programs(const struct be_table *table)
{
  for (size_t i = 0; i < table->column_count; i++)
    if (!table->columns[i].program_only) return false;
  return true;
}

/* A short table keeps together; of a long one its title, its head and two rows. */
enum be_status be_pdf_table_start(struct pdf *pdf, const struct be_table *table, struct spot *spot,
                                  double *height, struct be_err *err)
{
  *height = 0;
  if (for_programs(table) || table->labels) return BE_OK;
  enum be_status status = spot->widths ? BE_OK : measure(pdf, table, spot, err);
  if (status != BE_OK) return status;
  size_t rows = be_table_rows(table);
  double whole = 3 * BE_TABLE_TEXT + spot->head, start = whole;
  for (size_t row = 0; row < rows; row++) {
    whole += height_of(table, spot, row);
    if (row < 2) start = whole;
  }
  *height = whole < 0.45 * be_page_height(spot->wide) ? whole : start;
  return BE_OK;
}

/* ---- on the page ---- */

/* Above the rows: nothing, the title, or that they are further rows of it. */
enum above { ABOVE_NOTHING, ABOVE_TITLE, ABOVE_AGAIN };

static const char *title_of(const struct be_table *table)
{
  return *table->title ? table->title : table->name;
}

/* Returns how high it is. */
static double caption(struct pdf *pdf, const struct be_table *table, enum above above, bool show)
{
  const char *tag = above == ABOVE_TITLE ? "Caption" : NULL;
  if (above == ABOVE_NOTHING) return 0;
  struct words words = be_words(pdf, title_of(table), BE_TABLE_TEXT, above == ABOVE_TITLE,
                                be_page_width(pdf->wide) - 70);
  double height = words.lines * words.leading + 2;
  if (show) {
    be_tag(pdf, tag);
    be_words_show(pdf, &words, 0, words.lines, be_page_left(), pdf->y, false,
                  above == ABOVE_TITLE ? BE_TONE_INK : BE_TONE_MUTED);
    be_tag_end(pdf, tag);
    if (above == ABOVE_AGAIN) {
      struct words more = be_words(pdf, "continued", BE_TABLE_TEXT, false, 0);
      be_words_show(pdf, &more, 0, 1, be_page_left() + be_page_width(pdf->wide), pdf->y, true,
                    BE_TONE_MUTED);
      be_words_free(&more);
    }
    pdf->y += height;
    pdf->blank = false;
  }
  be_words_free(&words);
  return height;
}

/* Heads stand on the line below them. */
static void head(struct pdf *pdf, const struct be_table *table, const struct spot *spot,
                 unsigned part)
{
  double bottom = pdf->y + spot->heights[(part - 1) * (be_table_rows(table) + 1)];
  double x = be_page_left(), right_end = x + be_columns_width(table, spot, part);
  be_tag(pdf, "TR");
  for (size_t i = 0; i < table->column_count; i++) {
    if (!be_column_in(table, spot, i, part)) continue;
    struct words words =
        be_words(pdf, table->columns[i].head, spot->size, false, spot->widths[i] + 0.5);
    double y = bottom - words.lines * words.leading - BE_ROW_GAP / 2 * spot->size;
    bool right = is_right(table, i);
    be_tag(pdf, "TH");
    be_words_show(pdf, &words, 0, words.lines, right ? x + spot->widths[i] : x, y, right,
                  BE_TONE_MUTED);
    be_tag_end(pdf, "TH");
    be_words_free(&words);
    x += spot->widths[i] + BE_COLUMN_GAP * spot->size;
  }
  be_tag_end(pdf, "TR");
  be_page_rule(pdf, be_page_left(), right_end, bottom, 0.8, BE_TONE_MUTED);
  pdf->y = bottom;
  pdf->blank = false;
}

/* Lines of its cells from one on, so many. */
static void row_lines(struct pdf *pdf, const struct be_table *table, const struct spot *spot,
                      size_t row, unsigned part, int from, int count)
{
  double x = be_page_left();
  char room[CELL_ROOM];
  be_tag(pdf, "TR");
  for (size_t i = 0; i < table->column_count; i++) {
    const struct be_column *column = &table->columns[i];
    if (!be_column_in(table, spot, i, part)) continue;
    const struct cell *cell = be_table_cell(table, row, i);
    bool right = is_right(table, i), text = cell->kind == CELL_TEXT;
    struct words words = be_words(pdf, be_cell_text(cell, room), spot->size, false,
                                  text ? spot->widths[i] + 0.5 : 0);
    double edge = x + spot->widths[i] - be_column_behind(pdf, table, i, cell) * spot->size;
    double y = pdf->y + BE_ROW_GAP / 2 * spot->size;
    if (table->by_hand && words.lines < count) y += (count - words.lines) * leading(spot) / 2;
    be_tag(pdf, "TD");
    be_words_show(pdf, &words, from, count, right ? edge : x, y, right,
                  column->kind == BE_COLUMN_INTERVAL ? BE_TONE_MUTED : BE_TONE_INK);
    be_tag_end(pdf, "TD");
    be_words_free(&words);
    x += spot->widths[i] + BE_COLUMN_GAP * spot->size;
  }
  be_tag_end(pdf, "TR");
}

/* Between the cells of a row that is written on. */
static void fences(struct pdf *pdf, const struct be_table *table, const struct spot *spot,
                   double height)
{
  double x = be_page_left();
  if (pdf->dry) return;
  be_page_tone(pdf, BE_TONE_HAIRLINE);
  cairo_set_line_width(pdf->cairo, 0.4);
  for (size_t i = 0; i + 1 < table->column_count; i++) {
    if (!be_column_in(table, spot, i, 1)) continue;
    x += spot->widths[i] + BE_COLUMN_GAP * spot->size;
    cairo_move_to(pdf->cairo, x - BE_COLUMN_GAP / 2 * spot->size, pdf->y);
    cairo_rel_line_to(pdf->cairo, 0, height);
  }
  cairo_stroke(pdf->cairo);
}

static void row_of(struct pdf *pdf, const struct be_table *table, const struct spot *spot,
                   size_t row, unsigned part)
{
  double height = spot->heights[(part - 1) * (be_table_rows(table) + 1) + row + 1];
  double pad = pad_of(spot), right_end = be_page_left() + be_columns_width(table, spot, part);
  int lines = (int)lround((height - pad) / leading(spot));
  for (int from = 0, fit; from < lines; from += fit) {
    if (from > 0) {
      be_page_next(pdf, spot->wide);
      caption(pdf, table, ABOVE_AGAIN, true);
      head(pdf, table, spot, part);
    }
    fit = (int)floor((be_page_room(pdf) - pad) / leading(spot));
    if (fit < 1) fit = 1;
    if (fit > lines - from) fit = lines - from;
    if (!pdf->dry) row_lines(pdf, table, spot, row, part, from, fit);
    if (table->by_hand) fences(pdf, table, spot, fit * leading(spot) + pad);
    pdf->y += fit * leading(spot) + pad;
  }
  be_page_rule(pdf, be_page_left(), right_end, pdf->y, 0.4, BE_TONE_HAIRLINE);
}

/* Rows from one on that this page has room for, in all their parts: no last one is left to the next
 * page alone, and none to this one. */
static size_t rows_that_fit(struct pdf *pdf, const struct be_table *table, const struct spot *spot,
                            size_t row, enum above above)
{
  size_t left = be_table_rows(table) - row, count = 0;
  double used = caption(pdf, table, above, false) + spot->head;
  for (; count < left; count++) {
    used += height_of(table, spot, row + count);
    if (used > be_page_room(pdf) + 0.01) break;
  }
  if (count > 2 && count + 1 == left) count--;
  return count == 1 && left > 1 && !pdf->blank ? 0 : count;
}

static void rows_of(struct pdf *pdf, const struct be_table *table, const struct spot *spot,
                    size_t row, size_t count, enum above above)
{
  for (unsigned part = 1; part <= spot->parts; part++) {
    if (part > 1) pdf->y += part_gap;
    be_tag(pdf, "Table");
    if (part == 1) caption(pdf, table, above, true);
    head(pdf, table, spot, part);
    for (size_t i = row; i < row + count; i++) row_of(pdf, table, spot, i, part);
    be_tag_end(pdf, "Table");
  }
}

static void no_rows(struct pdf *pdf, const struct spot *spot)
{
  struct words words = be_words(pdf, "No rows", spot->size, false, 0);
  be_tag(pdf, "P");
  be_words_show(pdf, &words, 0, 1, be_page_left(), pdf->y + pad_of(spot), false, BE_TONE_MUTED);
  be_tag_end(pdf, "P");
  pdf->y += words.leading + 2 * pad_of(spot);
  be_words_free(&words);
}

void be_pdf_table(struct pdf *pdf, const struct be_table *table, const struct spot *spot,
                  bool titled)
{
  size_t rows = be_table_rows(table), row = 0;
  enum above above = titled && *table->title ? ABOVE_TITLE : ABOVE_NOTHING;
  if (for_programs(table)) return;
  if (table->labels) {
    be_pdf_labels(pdf, table);
    return;
  }
  do {
    size_t count = rows_that_fit(pdf, table, spot, row, above);
    if (count == 0 && !pdf->blank) be_page_next(pdf, spot->wide);
    if (count == 0) count = rows_that_fit(pdf, table, spot, row, above);
    if (count == 0 && rows > 0) count = 1;
    rows_of(pdf, table, spot, row, count, above);
    row += count;
    above = ABOVE_AGAIN;
    if (row < rows) be_page_next(pdf, spot->wide);
  } while (row < rows);
  if (rows == 0) no_rows(pdf, spot);
  pdf->y += 10;
}
