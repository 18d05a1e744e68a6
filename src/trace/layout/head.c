/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The lines above the rows: a line of names, perhaps a line of units below it,
 * perhaps a title above it, and anything else, which is passed over. */
#include "trace/layout/layout.h"

#include <string.h>

enum { HEAD_KEPT = 16, NAMES_WITHIN = 4 };

struct head_line {
  struct be_span text;
  size_t number;
};

/* Comment marks of several kinds of file. */
static struct be_span without_comment(struct be_span line, char delimiter)
{
  line = be_span_trim(line);
  while (line.size && strchr("#%!'", line.text[0])) line.text++, line.size--;
  if (line.size && line.text[0] == ';' && delimiter != ';') line.text++, line.size--;
  if (line.size >= 2 && memcmp(line.text, "//", 2) == 0) line.text += 2, line.size -= 2;
  return line;
}

/* "-----  -----" under names. */
static bool is_rule(struct be_span line)
{
  size_t marks = 0;
  for (size_t i = 0; i < line.size; i++) {
    if (!strchr("-=_+|*#;, \t", line.text[i])) return false;
    marks += strchr("-=_*#", line.text[i]) != NULL;
  }
  return marks > 2;
}

/* The line by which spreadsheets are told the delimiter. */
bool be_line_names_delimiter(struct be_span line, char *delimiter)
{
  line = be_span_trim(line);
  if (line.size && line.text[0] == '"') line.text++, line.size--;
  if (line.size < 5 || !be_span_is((struct be_span){line.text, 4}, "sep=")) return false;
  if (!line.text[4] || !strchr(",;\t ", line.text[4])) return false;
  *delimiter = line.text[4];
  return true;
}

/* ---- names between spaces ---- */

static void join(struct be_cells *cells, size_t i)
{
  struct be_span *a = &cells->cell[i], *b = &cells->cell[i + 1];
  a->size = (size_t)(b->text + b->size - a->text);
  memmove(b, b + 1, (cells->count - i - 2) * sizeof *b);
  cells->count--;
}

/* "Time (s) Force (N)": a cell that starts with a bracket belongs to the one
 * before it. */
static void join_brackets(struct be_cells *cells)
{
  for (size_t i = 1; i < cells->count;) {
    struct be_span cell = cells->cell[i];
    if (cell.size && (cell.text[0] == '(' || cell.text[0] == '[')) join(cells, i - 1);
    else i++;
  }
}

/* Cuts at tabs and runs of two or more spaces. */
static void split_wide(struct be_span line, struct be_cells *cells)
{
  const char *p = line.text, *end = p + line.size;
  cells->count = 0;
  while (p < end && cells->count < BE_TRACE_COLUMNS_MAX) {
    const char *from = p;
    while (p < end && *p != '\t' && !(p + 1 < end && p[0] == ' ' && p[1] == ' ')) p++;
    cells->cell[cells->count++] = be_span_trim((struct be_span){from, (size_t)(p - from)});
    while (p < end && (*p == ' ' || *p == '\t')) p++;
  }
}

void be_head_split(struct be_span line, const struct be_block *block, struct be_cells *cells)
{
  line = without_comment(line, block->delimiter);
  if (block->columns_count == 1) {
    be_cells_split(line, '\t', cells);
  } else if (block->delimiter != ' ') {
    be_cells_split(line, block->delimiter, cells);
    /* "; Time; Force": the first mark is one of comment. */
    if (cells->count == block->columns_count + 1 && block->delimiter == ';' &&
        cells->count <= BE_TRACE_COLUMNS_MAX && line.text[0] == ';')
      memmove(cells->cell, cells->cell + 1, --cells->count * sizeof cells->cell[0]);
  } else {
    split_wide(be_span_trim(line), cells);
    if (cells->count == block->columns_count) return;
    be_cells_split(line, ' ', cells);
    if (cells->count > block->columns_count && cells->count <= BE_TRACE_COLUMNS_MAX)
      join_brackets(cells);
  }
  if (cells->count > BE_TRACE_COLUMNS_MAX) cells->count = BE_TRACE_COLUMNS_MAX;
}

/* ---- kinds of line ---- */

struct line_kind {
  size_t filled, words, numbers;
};

static struct line_kind kind_of(const struct be_cells *cells, char decimal)
{
  struct line_kind kind = {0};
  double value;
  for (size_t i = 0; i < cells->count; i++) {
    enum be_cell_kind cell = be_cell_read(cells->cell[i], decimal, &value);
    kind.filled += cell != BE_CELL_EMPTY;
    kind.words += cell == BE_CELL_TEXT || cell == BE_CELL_BROKEN;
    kind.numbers += cell == BE_CELL_NUMBER || cell == BE_CELL_CLOCK;
  }
  return kind;
}

/* A line can name the columns when it holds words and no numbers, and about as
 * many cells as the rows have. A lone word names the column of a one-column
 * file; beside several columns it is a title. */
static bool can_name(const struct be_cells *cells, const struct be_block *block)
{
  struct line_kind kind = kind_of(cells, block->decimal);
  if (kind.words == 0 || kind.numbers > 0) return false;
  if (block->columns_count == 1) return cells->count == 1;
  bool pairs = cells->count == 2 * block->columns_count; /* "Time, s, Load, N" */
  return cells->count >= 2 && (cells->count <= block->columns_count + 2 || pairs) &&
         (kind.filled >= 2 || cells->count == block->columns_count);
}

static void read_title(const struct head_line *line, const struct be_block *block, char *title)
{
  struct be_cells cells;
  size_t length = 0;
  char named;
  if (be_line_names_delimiter(line->text, &named)) return;
  be_cells_split(without_comment(line->text, block->delimiter),
                 block->columns_count == 1 ? '\t' : block->delimiter, &cells);
  if (cells.count > BE_TRACE_COLUMNS_MAX) return;
  struct line_kind kind = kind_of(&cells, block->decimal);
  bool spaced = block->delimiter == ' ';
  if (kind.words == 0 || (!spaced && (kind.filled > 2 || kind.numbers > 0))) return;
  for (size_t i = 0; i < cells.count && length + 2 < BE_NAME_MAX; i++) {
    if (cells.cell[i].size == 0) continue;
    if (length) title[length++] = ' ';
    be_span_copy(cells.cell[i], title + length, BE_NAME_MAX - length);
    length += strlen(title + length);
  }
}

/* ---- the head ---- */

/* Keeps the last filled lines of the head; returns how many. Looks in all of
 * them for what they state. */
static size_t last_lines(struct be_lines from, struct be_block *block,
                         struct head_line kept[HEAD_KEPT])
{
  size_t count = 0;
  struct be_span line;
  while (from.number < block->rows.number && be_lines_next(&from, &line)) {
    if (be_span_trim(line).size == 0 || is_rule(line)) continue;
    be_stated_read(be_span_trim(line), from.number, block);
    if (count == HEAD_KEPT) memmove(kept, kept + 1, --count * sizeof *kept);
    kept[count++] = (struct head_line){line, from.number};
  }
  return count;
}

/* Does a line that can name the columns name one of a trace? */
static bool names_one(const struct be_cells *cells)
{
  for (size_t i = 0; i < cells->count; i++)
    if (be_text_is_heading(cells->cell[i])) return true;
  return false;
}

static bool is_bare_unit(struct be_span cell)
{
  return cell.size > 0 && be_unit_find(cell.text, cell.size) != NULL;
}

/* "Time, s, Load, N" over two columns: a name and its unit in two cells each.
 * Names that stay too many, with units among them, name nothing. */
static void join_units(const struct be_block *block, struct be_cells *names, struct be_cells *units)
{
  size_t n = block->columns_count, bare = 0, filled = 0;
  bool pairs = names->count == 2 * n;
  for (size_t i = 0; i < names->count; i++) {
    bool unit = is_bare_unit(names->cell[i]);
    bare += unit;
    filled += names->cell[i].size > 0;
    if (i % 2) pairs = pairs && (unit || names->cell[i].size == 0);
  }
  if (filled <= n || n < 2) return;
  if (pairs && units->count == 0) {
    units->count = n;
    for (size_t i = 0; i < n; i++) {
      units->cell[i] = names->cell[2 * i + 1];
      names->cell[i] = names->cell[2 * i];
    }
    names->count = n;
  } else if (bare > 0) {
    names->count = 0;
  }
}

/* Tables written with row names have one name fewer than columns: the first
 * column then counts the rows. */
static bool first_counts(const struct be_block *block)
{
  enum { LOOKED_AT = 50 };
  struct be_lines lines = block->rows;
  struct be_span line;
  double before = 0, value;
  size_t rows = 0;
  while (rows < LOOKED_AT && be_lines_next(&lines, &line)) {
    struct be_cells cells;
    if (be_span_trim(line).size == 0) continue;
    be_cells_split(line, block->delimiter, &cells);
    if (cells.count != block->columns_count || cells.cell[cells.count - 1].size == 0 ||
        be_cell_read(cells.cell[0], block->decimal, &value) != BE_CELL_NUMBER)
      break;
    if (rows > 0 && (value < before + 1 || value > before + 1)) return false;
    before = value;
    rows++;
  }
  return rows > 2;
}

static void shift_names(const struct be_block *block, struct be_cells *names)
{
  if (block->columns_count < 2 || names->count + 1 != block->columns_count) return;
  if (!first_counts(block)) return;
  memmove(names->cell + 1, names->cell, names->count * sizeof names->cell[0]);
  names->cell[0] = (struct be_span){"", 0};
  names->count++;
}

/* The line that names the columns: the nearest to the rows that speaks of a
 * trace, or else the last one if it can be. Returns its place from 1, or 0. */
static size_t find_names(const struct head_line *kept, size_t count, const struct be_block *block)
{
  struct be_cells cells;
  size_t lowest = count > NAMES_WITHIN ? count - NAMES_WITHIN : 0;
  for (size_t i = count; i > lowest; i--) {
    be_head_split(kept[i - 1].text, block, &cells);
    if (can_name(&cells, block) && names_one(&cells)) return i;
  }
  if (count == 0) return 0;
  be_head_split(kept[count - 1].text, block, &cells);
  return can_name(&cells, block) ? count : 0;
}

/* A line below names where one cell is a unit and none is a name: its strange
 * words are units too. */
static bool are_units_below(const struct head_line *kept, size_t count,
                            const struct be_block *block, const struct be_cells *units)
{
  struct be_cells names;
  bool known = be_cells_are_units(units), spoken = false;
  if (known || count < 2) return known;
  for (size_t i = 0; i < units->count; i++) {
    struct be_heading heading;
    be_heading_read(units->cell[i], (struct be_span){0}, &heading);
    for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
      if (heading.says.score[role]) return false;
    known |= heading.unit && heading.place == BE_UNIT_IN_NAME;
  }
  be_head_split(kept[count - 2].text, block, &names);
  for (size_t i = 0; i < names.count; i++) {
    struct be_heading heading;
    be_heading_read(names.cell[i], (struct be_span){0}, &heading);
    spoken |= heading.says.score[BE_ROLE_FORCE] > 0;
  }
  return known && spoken && can_name(&names, block);
}

void be_head_read(struct be_lines from, struct be_block *block)
{
  struct head_line kept[HEAD_KEPT];
  struct be_cells names = {0}, units = {0};
  size_t left = last_lines(from, block, kept);
  if (left == 0) return;
  block->head_line = kept[left - 1].text;
  block->head_line_number = kept[left - 1].number;
  be_head_split(kept[left - 1].text, block, &units);
  bool below = are_units_below(kept, left, block, &units);
  if (below) left--;
  else units.count = 0;
  size_t at = find_names(kept, left, block);
  if (at > 0) {
    be_head_split(kept[at - 1].text, block, &names);
    block->has_names = true;
    block->head_line = kept[at - 1].text;
    block->head_line_number = kept[at - 1].number;
    if (units.count == 0 && at < left) {
      be_head_split(kept[at].text, block, &units);
      if (!be_cells_are_units(&units)) units.count = 0;
    }
    left = at - 1;
    join_units(block, &names, &units);
    shift_names(block, &names);
    if (units.count + 1 == names.count) shift_names(block, &units);
  }
  for (size_t i = 0; i < block->columns_count; i++)
    be_heading_read(i < names.count ? names.cell[i] : (struct be_span){0},
                    i < units.count ? units.cell[i] : (struct be_span){0}, &block->headings[i]);
  while (left > 0 && !block->title[0]) read_title(&kept[--left], block, block->title);
}
