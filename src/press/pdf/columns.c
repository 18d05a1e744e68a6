/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How wide the columns of a table are: as what stands in them. One that is too wide gets smaller
 * letters, its texts are broken between words, or its columns are dealt to parts that stand below
 * one another, each with the columns that name the rows; no page is turned for it, for half of the
 * pages before and behind that would be empty. */
#include "press/pdf/page.h"

#include <math.h>
#include <string.h>

/* In letters: what is shorter stays in one line, what is longer gets a wide column at least. */
enum { SHORT_TEXT = 16, LONG_TEXT = 60, TEXT_LEAST = 14, LONG_TEXT_LEAST = 30 };
static const double letter = 0.58;  /* the usual width of one of 1 point */
static const double measured = 8.0; /* letters are measured at this size */
/* What is written on by hand, in points: cells that are empty, the last of a row. */
static const double hand_cell = 22 / 25.4 * 72, hand_last = 45 / 25.4 * 72;

/* Widths of a column, for letters of 1 point; texts: of each of its cells, 0 where it is not
 * broken. */
struct need {
  double all, least;
  float *texts;
};

/* What stands behind the whole digits of a number is as wide for all that have as much of it. */
static double tail_width(struct pdf *pdf, size_t tail)
{
  char text[24] = ".00000000000000000";
  if (tail == 0) return 0;
  text[tail < 18 ? tail : 18] = '\0';
  return be_words_width(pdf, text, measured) / measured;
}

double be_column_behind(struct pdf *pdf, const struct be_table *table, size_t column,
                        const struct cell *cell)
{
  size_t most = table->tails[column], own = be_cell_tail(cell);
  if (cell->kind != CELL_NUMBER || most == own) return 0;
  return tail_width(pdf, most) - tail_width(pdf, own);
}

/* ---- one column ---- */

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
      own.all = be_words_width(pdf, text, measured) / measured +
                be_column_behind(pdf, table, column, cell);
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

/* ---- all columns ---- */

struct columns {
  const struct be_table *table;
  struct need *needs;
  double *widths; /* for letters of 1 point */
  unsigned *part;
};

/* Those that name the rows: the first, and texts beside it that leave half a page to the others. */
static size_t naming(const struct columns *columns, double room)
{
  const struct be_table *table = columns->table;
  double taken = 0;
  size_t count = 0;
  for (size_t i = 0; i < table->column_count; i++) {
    if (table->columns[i].program_only) continue;
    taken += columns->needs[i].least + BE_COLUMN_GAP;
    if (count > 0 && (table->columns[i].kind != BE_COLUMN_TEXT || taken > room / 2)) return i;
    count = i + 1;
  }
  return count;
}

static double least_of(const struct columns *columns, size_t from, size_t past)
{
  double least = 0;
  for (size_t i = from; i < past; i++)
    if (!columns->table->columns[i].program_only) least += columns->needs[i].least + BE_COLUMN_GAP;
  return least;
}

/* A column and the interval behind it are not parted. */
static size_t together(const struct be_table *table, size_t i)
{
  for (i++; i < table->column_count; i++)
    if (!table->columns[i].program_only && table->columns[i].kind != BE_COLUMN_INTERVAL) break;
  return i;
}

/* From column `from` on into parts at most so wide; how many. */
static unsigned deal_into(const struct columns *columns, size_t from, double width)
{
  unsigned parts = 1;
  double taken = 0;
  for (size_t i = from, past; i < columns->table->column_count; i = past) {
    past = together(columns->table, i);
    double more = least_of(columns, i, past);
    if (taken > 0 && taken + more > width) {
      parts++;
      taken = 0;
    }
    taken += more;
    for (size_t k = i; k < past; k++) columns->part[k] = parts;
  }
  return parts;
}

/* As few parts as there is room for, and none much wider than another. Part 0: columns that stand
 * in every part. */
static unsigned deal(const struct columns *columns, double room)
{
  size_t named = naming(columns, room), count = columns->table->column_count;
  for (size_t i = 0; i < named; i++) columns->part[i] = 0;
  double all = least_of(columns, named, count), most = room - least_of(columns, 0, named);
  if (all <= most) return deal_into(columns, named, INFINITY);
  unsigned fewest = deal_into(columns, named, most), parts = 0;
  for (double width = all / fewest; parts != fewest; width *= 1.05)
    parts = deal_into(columns, named, fmin(width, most));
  return parts;
}

/* The columns of a part that are not fixed share the room beyond the least of each by how much more
 * they want. */
static void share(const struct columns *columns, unsigned part, bool fixed, double room)
{
  const struct need *needs = columns->needs;
  double all = 0, least = 0;
  for (size_t i = 0; i < columns->table->column_count; i++) {
    bool names = columns->part[i] == 0;
    if (columns->table->columns[i].program_only || !(names || columns->part[i] == part)) continue;
    if (names && fixed) room -= columns->widths[i];
    else all += needs[i].all, least += needs[i].least;
    room -= BE_COLUMN_GAP;
  }
  double more = all > least ? fmin((room - least) / (all - least), 1) : 1;
  for (size_t i = 0; i < columns->table->column_count; i++) {
    bool names = columns->part[i] == 0;
    if (!(names && !fixed) && (names || columns->part[i] != part)) continue;
    double width = least > room ? needs[i].least * room / least
                                : needs[i].least + more * (needs[i].all - needs[i].least);
    columns->widths[i] = names ? fmin(columns->widths[i], width) : width;
  }
}

/* What names the rows is as wide in one part as in the others. */
static void share_all(const struct columns *columns, unsigned parts, double room)
{
  for (size_t i = 0; i < columns->table->column_count; i++) columns->widths[i] = INFINITY;
  for (unsigned part = 1; part <= parts; part++) share(columns, part, false, room);
  for (unsigned part = 1; part <= parts; part++) share(columns, part, true, room);
}

/* How high all rows would be, in letters; words at the ends of lines leave some room unused. */
static double height_of(const struct columns *columns, unsigned part)
{
  double height = 0;
  for (size_t row = 0; row < be_table_rows(columns->table); row++) {
    double most = 1;
    for (size_t i = 0; i < columns->table->column_count; i++) {
      if (columns->part[i] != 0 && columns->part[i] != part) continue;
      double text = columns->needs[i].texts ? columns->needs[i].texts[row] : 0;
      if (text > columns->widths[i]) most = fmax(most, ceil(1.1 * text / columns->widths[i]));
    }
    height += BE_LEADING * most + BE_ROW_GAP;
  }
  return height;
}

/* Of the sizes the one that takes the fewest pages; a tenth of a page is given for half a point, a
 * quarter for not parting the columns. */
static void choose(const struct columns *columns, struct spot *spot)
{
  double best = INFINITY, width = be_page_width(columns->table->by_hand);
  for (double size = BE_TABLE_TEXT; size >= BE_TABLE_TEXT_LEAST; size -= 0.5) {
    double room = width / size + BE_COLUMN_GAP, pages = 0;
    unsigned parts = deal(columns, room);
    share_all(columns, parts, room);
    for (unsigned part = 1; part <= parts; part++)
      pages += size * height_of(columns, part) / be_page_height(columns->table->by_hand);
    double cost = pages + 0.2 * (BE_TABLE_TEXT - size) + 0.25 * parts;
    if (cost >= best) continue;
    best = cost;
    spot->size = size;
  }
  double room = width / spot->size + BE_COLUMN_GAP;
  spot->parts = deal(columns, room);
  share_all(columns, spot->parts, room);
}

enum be_status be_columns_measure(struct pdf *pdf, const struct be_table *table, struct spot *spot,
                                  struct be_err *err)
{
  size_t rows = be_table_rows(table), count = table->column_count;
  float *texts = be_arena_alloc(pdf->arena, (rows * count + 1) * sizeof *texts);
  struct columns columns = {.table = table,
                            .needs = be_arena_alloc(pdf->arena, count * sizeof *columns.needs),
                            .widths = be_arena_alloc(pdf->arena, count * sizeof *columns.widths),
                            .part = be_arena_alloc(pdf->arena, count * sizeof *columns.part)};
  if (!columns.needs || !columns.widths || !columns.part || !texts)
    return be_fail(err, BE_NO_MEMORY, "no memory for the table \"%.80s\"", table->name);
  for (size_t i = 0; i < count; i++)
    if (!table->columns[i].program_only)
      columns.needs[i] = need_of(pdf, table, i, texts + i * rows);
  choose(&columns, spot);
  spot->widths = columns.widths;
  spot->part = columns.part;
  spot->texts = texts;
  spot->wide = table->by_hand;
  for (size_t i = 0; i < count; i++) spot->widths[i] *= spot->size;
  if (table->by_hand)
    spot->widths[count - 1] += fmax(0, be_page_width(true) - be_columns_width(table, spot, 1));
  return BE_OK;
}

bool be_column_in(const struct be_table *table, const struct spot *spot, size_t column,
                  unsigned part)
{
  return !table->columns[column].program_only &&
         (spot->part[column] == 0 || spot->part[column] == part);
}

double be_columns_width(const struct be_table *table, const struct spot *spot, unsigned part)
{
  double width = -BE_COLUMN_GAP * spot->size;
  for (size_t i = 0; i < table->column_count; i++)
    if (be_column_in(table, spot, i, part)) width += spot->widths[i] + BE_COLUMN_GAP * spot->size;
  return width;
}
