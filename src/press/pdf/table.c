/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables: columns as wide as what stands in them. One that is too wide gets smaller letters, or a
 * page that lies on its side, or both; only then are words broken. No row is cut unless it is
 * higher than a page. */
#include "press/pdf/page.h"

#include <math.h>
#include <string.h>

/* Of a table set in letters of 1 point. */
static const double column_gap = 1.1, row_gap = 0.5;
/* In letters: what is shorter stays in one line, what is longer gets a wide column at least. */
enum { SHORT_TEXT = 16, LONG_TEXT = 60, TEXT_LEAST = 14, LONG_TEXT_LEAST = 30 };
static const double letter = 0.58;  /* the usual width of one of 1 point */
static const double measured = 8.0; /* letters are measured at this size */
/* What is written on by hand, in points: rows, cells that are empty, the last of a row. */
static const double hand_row = 12 / 25.4 * 72, hand_cell = 22 / 25.4 * 72,
                    hand_last = 45 / 25.4 * 72;

/* Widths of a column, for letters of 1 point; all: of each of its cells, 0 where it is not broken.
 */
struct need {
  double all, least;
  float *texts;
};

static bool is_right(const struct be_table *table, size_t column)
{
  return table->columns[column].kind != BE_COLUMN_TEXT;
}

/* What stands behind the whole digits of a number is as wide for all that have as much of it. */
static double tail_width(struct pdf *pdf, size_t tail)
{
  char text[24] = ".00000000000000000";
  if (tail == 0) return 0;
  text[tail < 18 ? tail : 18] = '\0';
  return be_words_width(pdf, text, measured) / measured;
}

/* How far a number stands from the right edge, so that the points line up. */
static double behind(struct pdf *pdf, const struct be_table *table, size_t column,
                     const struct cell *cell)
{
  size_t most = table->tails[column], own = be_cell_tail(cell);
  if (cell->kind != CELL_NUMBER || most == own) return 0;
  return tail_width(pdf, most) - tail_width(pdf, own);
}

/* ---- how wide ---- */

static struct need need_of_text(struct pdf *pdf, const char *text)
{
  struct need need = {.all = be_words_width(pdf, text, measured) / measured};
  need.least = need.all;
  if (need.all <= SHORT_TEXT * letter) return need;
  bool is_long = need.all >= LONG_TEXT * letter;
  double floor = is_long ? LONG_TEXT_LEAST * letter : fmin(need.all, TEXT_LEAST * letter);
  need.least = fmax(be_words_longest(pdf, text, measured) / measured, floor);
  return need;
}

static bool is_blank(const struct be_table *table, size_t column)
{
  char room[CELL_ROOM];
  for (size_t row = 0; row < be_table_rows(table); row++) {
    const char *text = be_cell_text(be_table_cell(table, row, column), room);
    if (text[strspn(text, " ")]) return false;
  }
  return true;
}

static struct need need_of(struct pdf *pdf, const struct be_table *table, size_t column,
                           float *texts)
{
  const struct be_column *head = &table->columns[column];
  char room[CELL_ROOM];
  struct need need = {.texts = texts};
  for (size_t row = 0; row < be_table_rows(table); row++) {
    const struct cell *cell = be_table_cell(table, row, column);
    const char *text = be_cell_text(cell, room);
    struct need own;
    if (!*text) continue;
    if (cell->kind == CELL_TEXT) {
      own = need_of_text(pdf, text);
      texts[row] = (float)own.all;
    } else {
      own.all = be_words_width(pdf, text, measured) / measured + behind(pdf, table, column, cell);
      own.least = own.all;
    }
    need.all = fmax(need.all, own.all);
    need.least = fmax(need.least, own.least);
  }
  double word = be_words_longest(pdf, head->head, measured) / measured;
  double half = 0.6 * be_words_width(pdf, head->head, measured) / measured;
  need.least = fmax(need.least, word);
  need.all = fmax(need.all, fmax(word, half));
  if (table->by_hand && is_blank(table, column)) {
    double room_to_write = column + 1 == table->column_count ? hand_last : hand_cell;
    need.all = need.least = fmax(need.least, room_to_write / BE_TABLE_TEXT);
  }
  return need;
}

/* The columns share what is left beyond the least of each by how much more they want. */
static void share(const struct be_table *table, const struct need *needs, double room,
                  double *widths)
{
  double all = 0, least = 0;
  for (size_t i = 0; i < table->column_count; i++) {
    all += needs[i].all;
    least += needs[i].least;
  }
  double more = all > least ? fmin((room - least) / (all - least), 1) : 1;
  for (size_t i = 0; i < table->column_count; i++)
    widths[i] = least > room ? needs[i].least * room / least
                             : needs[i].least + more * (needs[i].all - needs[i].least);
}

/* How high all rows would be, in letters; words at the ends of lines leave some room unused. */
static double height_of(const struct be_table *table, const struct need *needs,
                        const double *widths)
{
  double height = 0;
  for (size_t row = 0; row < be_table_rows(table); row++) {
    double most = 1;
    for (size_t i = 0; i < table->column_count; i++) {
      double text = needs[i].texts ? needs[i].texts[row] : 0;
      if (text > widths[i]) most = fmax(most, ceil(1.1 * text / widths[i]));
    }
    height += 1.3 * most + row_gap;
  }
  return height;
}

static double table_width(const struct be_table *table, const struct spot *spot)
{
  double width = -column_gap * spot->size;
  for (size_t i = 0; i < table->column_count; i++)
    if (!table->columns[i].program_only) width += spot->widths[i] + column_gap * spot->size;
  return width;
}

/* Of the sizes and ways to hold the page that have room for the least, the one that takes the
 * fewest pages; a tenth of a page is given for half a point, for not turning it half a page and a
 * fifth of all. */
static void choose(struct spot *spot, const struct be_table *table, const struct need *needs)
{
  double least = 0, best = INFINITY;
  size_t shown = 0;
  for (size_t i = 0; i < table->column_count; i++) {
    least += needs[i].least;
    shown += !table->columns[i].program_only;
  }
  double gaps = shown > 1 ? (double)(shown - 1) * column_gap : 0;
  spot->size = BE_TABLE_TEXT_LEAST;
  spot->wide = true;
  for (int wide = table->by_hand; wide < 2; wide++)
    for (double size = BE_TABLE_TEXT; size >= BE_TABLE_TEXT_LEAST; size -= 0.5) {
      double room = be_page_width(wide) / size - gaps;
      if (least > room) continue;
      share(table, needs, room, spot->widths);
      double pages = size * height_of(table, needs, spot->widths) / be_page_height(wide);
      double cost = pages * (wide ? 1.2 : 1) + 0.2 * (BE_TABLE_TEXT - size) + (wide ? 0.5 : 0);
      if (cost >= best) continue;
      best = cost;
      spot->size = size;
      spot->wide = wide;
    }
  share(table, needs, be_page_width(spot->wide) / spot->size - gaps, spot->widths);
  for (size_t i = 0; i < table->column_count; i++) spot->widths[i] *= spot->size;
  if (table->by_hand)
    spot->widths[table->column_count - 1] +=
        fmax(0, be_page_width(true) - table_width(table, spot));
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

static double leading(const struct spot *spot)
{
  return 1.3 * spot->size;
}

static double row_height(struct pdf *pdf, const struct be_table *table, const struct spot *spot,
                         size_t row)
{
  int most = 1;
  char room[CELL_ROOM];
  for (size_t i = 0; i < table->column_count; i++) {
    const struct cell *cell = be_table_cell(table, row, i);
    if (table->columns[i].program_only || cell->kind != CELL_TEXT) continue;
    if (spot->texts[i * be_table_rows(table) + row] * spot->size <= spot->widths[i]) continue;
    int lines = lines_of(pdf, spot, be_cell_text(cell, room), spot->widths[i]);
    if (lines > most) most = lines;
  }
  double pad = row_gap * spot->size;
  if (table->by_hand) most = (int)fmax(most, ceil((hand_row - pad) / leading(spot)));
  return most * leading(spot) + pad;
}

static double head_height(struct pdf *pdf, const struct be_table *table, const struct spot *spot)
{
  int most = 1;
  for (size_t i = 0; i < table->column_count; i++) {
    if (table->columns[i].program_only) continue;
    int lines = lines_of(pdf, spot, table->columns[i].head, spot->widths[i]);
    if (lines > most) most = lines;
  }
  return most * leading(spot) + row_gap * spot->size;
}

static enum be_status measure(struct pdf *pdf, const struct be_table *table, struct spot *spot,
                              struct be_err *err)
{
  size_t rows = be_table_rows(table);
  struct need *needs = be_arena_alloc(pdf->arena, table->column_count * sizeof *needs);
  double *widths = be_arena_alloc(pdf->arena, table->column_count * sizeof *widths);
  double *heights = be_arena_alloc(pdf->arena, (rows + 1) * sizeof *heights);
  float *texts = be_arena_alloc(pdf->arena, (rows * table->column_count + 1) * sizeof *texts);
  if (!needs || !widths || !heights || !texts)
    return be_fail(err, BE_NO_MEMORY, "no memory for the table \"%.80s\"", table->name);
  spot->widths = widths;
  spot->heights = heights;
  spot->texts = texts;
  for (size_t i = 0; i < table->column_count; i++)
    if (!table->columns[i].program_only) needs[i] = need_of(pdf, table, i, texts + i * rows);
  choose(spot, table, needs);
  spot->head = head_height(pdf, table, spot);
  for (size_t row = 0; row < rows; row++) heights[row] = row_height(pdf, table, spot, row);
  return BE_OK;
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
    whole += spot->heights[row];
    if (row < 2) start += spot->heights[row];
  }
  *height = whole < be_page_height(spot->wide) / 3 ? whole : start;
  return BE_OK;
}

/* ---- on the page ---- */

static void caption(struct pdf *pdf, const char *title, bool again)
{
  struct words words = be_words(pdf, title, BE_TABLE_TEXT, !again, be_page_width(pdf->wide) - 70);
  be_words_show(pdf, &words, 0, words.lines, be_page_left(), pdf->y, false,
                again ? BE_TONE_MUTED : BE_TONE_INK);
  if (again) {
    struct words more = be_words(pdf, "continued", BE_TABLE_TEXT, false, 0);
    be_words_show(pdf, &more, 0, 1, be_page_left() + be_page_width(pdf->wide), pdf->y, true,
                  BE_TONE_MUTED);
    be_words_free(&more);
  }
  pdf->y += words.lines * words.leading + 2;
  be_words_free(&words);
}

/* Heads stand on the line below them. */
static void head(struct pdf *pdf, const struct be_table *table, const struct spot *spot)
{
  double x = be_page_left(), bottom = pdf->y + spot->head;
  for (size_t i = 0; i < table->column_count; i++) {
    if (table->columns[i].program_only) continue;
    struct words words =
        be_words(pdf, table->columns[i].head, spot->size, false, spot->widths[i] + 0.5);
    double y = bottom - words.lines * words.leading - row_gap / 2 * spot->size;
    bool right = is_right(table, i);
    be_words_show(pdf, &words, 0, words.lines, right ? x + spot->widths[i] : x, y, right,
                  BE_TONE_MUTED);
    be_words_free(&words);
    x += spot->widths[i] + column_gap * spot->size;
  }
  be_page_rule(pdf, be_page_left(), be_page_left() + table_width(table, spot), bottom, 0.8,
               BE_TONE_MUTED);
  pdf->y = bottom;
}

/* Lines of its cells from one on, so many. */
static void row_lines(struct pdf *pdf, const struct be_table *table, const struct spot *spot,
                      size_t row, int from, int count)
{
  double x = be_page_left();
  char room[CELL_ROOM];
  for (size_t i = 0; i < table->column_count; i++) {
    const struct be_column *column = &table->columns[i];
    if (column->program_only) continue;
    const struct cell *cell = be_table_cell(table, row, i);
    bool right = is_right(table, i), text = cell->kind == CELL_TEXT;
    struct words words = be_words(pdf, be_cell_text(cell, room), spot->size, false,
                                  text ? spot->widths[i] + 0.5 : 0);
    double edge = x + spot->widths[i] - behind(pdf, table, i, cell) * spot->size;
    double y = pdf->y + row_gap / 2 * spot->size;
    if (table->by_hand && words.lines < count) y += (count - words.lines) * leading(spot) / 2;
    be_words_show(pdf, &words, from, count, right ? edge : x, y, right,
                  column->kind == BE_COLUMN_INTERVAL ? BE_TONE_MUTED : BE_TONE_INK);
    be_words_free(&words);
    x += spot->widths[i] + column_gap * spot->size;
  }
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
    if (table->columns[i].program_only) continue;
    x += spot->widths[i] + column_gap * spot->size;
    cairo_move_to(pdf->cairo, x - column_gap / 2 * spot->size, pdf->y);
    cairo_rel_line_to(pdf->cairo, 0, height);
  }
  cairo_stroke(pdf->cairo);
}

static void again(struct pdf *pdf, const struct be_table *table, const struct spot *spot)
{
  be_page_next(pdf, spot->wide);
  caption(pdf, *table->title ? table->title : table->name, true);
  head(pdf, table, spot);
  pdf->blank = false;
}

static void row_of(struct pdf *pdf, const struct be_table *table, const struct spot *spot,
                   size_t row)
{
  double height = spot->heights[row], pad = row_gap * spot->size;
  int lines = (int)lround((height - pad) / leading(spot)), from = 0;
  /* No last row comes alone to the next page. */
  bool last_but_one = row > 0 && row + 2 == be_table_rows(table);
  double needed = height + (last_but_one ? spot->heights[row + 1] : 0);
  if (needed > be_page_room(pdf)) again(pdf, table, spot);
  while (from < lines) {
    int fit = (int)floor((be_page_room(pdf) - pad) / leading(spot));
    if (fit < 1) fit = 1;
    if (fit > lines - from) fit = lines - from;
    if (!pdf->dry) row_lines(pdf, table, spot, row, from, fit);
    if (table->by_hand) fences(pdf, table, spot, fit * leading(spot) + pad);
    pdf->y += fit * leading(spot) + pad;
    from += fit;
    if (from < lines) again(pdf, table, spot);
  }
  be_page_rule(pdf, be_page_left(), be_page_left() + table_width(table, spot), pdf->y, 0.4,
               BE_TONE_HAIRLINE);
}

enum be_status be_pdf_table(struct pdf *pdf, const struct be_table *table, const struct spot *spot,
                            bool titled, struct be_err *err)
{
  (void)err;
  if (for_programs(table)) return BE_OK;
  if (table->labels) {
    be_pdf_labels(pdf, table);
    return BE_OK;
  }
  if (titled && *table->title) caption(pdf, table->title, false);
  head(pdf, table, spot);
  pdf->blank = false;
  for (size_t row = 0; row < be_table_rows(table); row++) row_of(pdf, table, spot, row);
  if (be_table_rows(table) == 0) {
    struct words words = be_words(pdf, "No rows", spot->size, false, 0);
    be_words_show(pdf, &words, 0, 1, be_page_left(), pdf->y + row_gap * spot->size, false,
                  BE_TONE_MUTED);
    pdf->y += words.leading + 2 * row_gap * spot->size;
    be_words_free(&words);
  }
  pdf->y += 10;
  return BE_OK;
}
