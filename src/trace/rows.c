/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows to arrays. Nearly all rows are plain numbers: read_fast takes those in
 * one pass over their bytes. Whatever it does not understand it leaves to
 * judge_line, which knows quotes, words and errors. */
#include "trace/inside.h"

#include <math.h>
#include <string.h>

struct reader {
  struct be_lines lines;
  char delimiter, decimal;
  size_t columns; /* cells of a row */
  size_t last;    /* the last column that has a role */
  unsigned char role_at[BE_TRACE_COLUMNS_MAX];
  const struct be_roles *roles;
  enum be_role axis; /* time, or else extension, or none */
  double value[BE_ROLES];
  int decimals[BE_ROLES]; /* most seen so far */

  size_t n, capacity;
  double *array[BE_ROLES];
  size_t *line;
  size_t capacities[BE_ROLES], line_capacity;
  double axis_first, axis_last;
  struct be_clock_run clock;

  size_t blanks;                  /* lines since the last row */
  size_t skipped;                 /* rows without a force */
  size_t over;                    /* of these, rows past the rig's range */
  size_t gap_line, tail_gap_line; /* the first of them; the first after the last row */
};

/* ---- plain rows ---- */

static const double power_of_ten[] = {1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                      1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
enum { PLAIN_DIGITS = 15 };

/* The plain case of be_number_scan, in place: at most 15 digits are below 2^53,
 * so that one division of two exact numbers is correctly rounded. Returns null
 * for anything else. */
static inline const char *scan_plain(const char *p, const char *end, char mark, double *value,
                                     int *decimals)
{
  uint64_t digits = 0;
  bool negative = false;
  if (p < end && (*p == '-' || *p == '+')) negative = *p++ == '-';
  const char *first = p;
  while (p < end && (unsigned char)(*p - '0') < 10) digits = digits * 10 + (uint64_t)(*p++ - '0');
  ptrdiff_t count = p - first, after = 0;
  if (p < end && *p == mark) {
    const char *fraction = ++p;
    while (p < end && (unsigned char)(*p - '0') < 10) digits = digits * 10 + (uint64_t)(*p++ - '0');
    after = p - fraction;
    count += after;
  }
  if (count == 0 || count > PLAIN_DIGITS || (p < end && (*p | 0x20) == 'e')) return NULL;
  double exact = (double)digits / power_of_ten[after];
  *value = negative ? -exact : exact;
  if (after > *decimals) *decimals = (int)after;
  return p;
}

static inline const char *skip_spaces(const char *p, const char *end)
{
  while (p < end && *p == ' ') p++;
  return p;
}

/* Passes over the cells after the last one needed, to the end of the line;
 * null when there are more than a row has, or quotes. */
static const char *pass_rest(const struct reader *r, const char *p)
{
  const char *end = r->lines.end;
  size_t cells = r->last + 1;
  if (r->delimiter == ' ') p = skip_spaces(p, end);
  for (; p < end && *p != r->lines.eol && *p != '\r'; p++)
    if (*p == '"' || r->delimiter == ' ' || (*p == r->delimiter && ++cells > r->columns))
      return NULL;
  return p;
}

/* Reads one row into r->value and moves past it; false leaves r->lines. */
static inline bool read_fast(struct reader *r)
{
  const char *p = r->lines.at, *end = r->lines.end;
  for (size_t c = 0;; c++) {
    p = skip_spaces(p, end);
    unsigned char role = r->role_at[c];
    if (role != BE_ROLE_NONE) {
      p = scan_plain(p, end, r->decimal, &r->value[role], &r->decimals[role]);
      if (!p) return false;
      if (r->delimiter != ' ') p = skip_spaces(p, end);
    } else {
      while (p < end && *p != r->delimiter && *p != r->lines.eol && *p != '"') p++;
    }
    if (c == r->last) break;
    if (p == end || *p != r->delimiter) return false;
    p++;
  }
  if (p < end && *p == r->delimiter && !(p = pass_rest(r, p))) return false;
  if (p < end && *p == '\r' && r->lines.eol == '\n') p++;
  if (p < end && *p != r->lines.eol) return false;
  r->lines.at = p < end ? p + 1 : end;
  r->lines.number++;
  return true;
}

/* ---- keeping ---- */

static enum be_status grow_rows(struct reader *r, struct be_err *err)
{
  void *line = r->line;
  enum be_status status =
      be_grow(&line, &r->line_capacity, sizeof *r->line, r->n + 1, BE_TRACE_ROWS_MAX, err);
  r->line = line;
  for (int role = BE_ROLE_TIME; role < BE_ROLES && status == BE_OK; role++) {
    void *array = r->array[role];
    if (r->roles->column[role] == BE_NOWHERE) continue;
    status =
        be_grow(&array, &r->capacities[role], sizeof(double), r->n + 1, BE_TRACE_ROWS_MAX, err);
    r->array[role] = array;
  }
  if (status == BE_OK) r->capacity = r->line_capacity;
  return status;
}

static inline enum be_status keep_row(struct reader *r, struct be_err *err)
{
  if (r->n == r->capacity) {
    enum be_status status = grow_rows(r, err);
    if (status != BE_OK) return status;
    if (r->n == 0) r->axis_first = r->value[r->axis];
  }
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
    if (r->array[role]) r->array[role][r->n] = r->value[role];
  r->line[r->n++] = r->lines.number;
  r->axis_last = r->value[r->axis];
  r->blanks = 0;
  r->tail_gap_line = 0;
  return BE_OK;
}

static void move_arrays(struct reader *r, struct be_trace *trace)
{
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++) {
    /* Giving back what was not needed cannot fail in a way that matters. */
    void *less = r->array[role] ? be_resize(r->array[role], (r->n + 1) * sizeof(double)) : NULL;
    if (less) r->array[role] = less;
  }
  void *less = r->line ? be_resize(r->line, (r->n + 1) * sizeof *r->line) : NULL;
  if (less) r->line = less;
  trace->n = r->n;
  trace->time_s = r->array[BE_ROLE_TIME];
  trace->force_as_written = r->array[BE_ROLE_FORCE];
  trace->extension_m = r->array[BE_ROLE_EXTENSION];
  trace->line = r->line;
  trace->time_decimals = r->decimals[BE_ROLE_TIME];
  trace->decimals = r->decimals[BE_ROLE_FORCE];
  trace->extension_decimals = r->decimals[BE_ROLE_EXTENSION];
  trace->skipped_rows = r->skipped;
  trace->over_rows = r->over;
}

/* ---- lines that are not plain rows ---- */

enum verdict { ROW_READ, ROW_PASSED, ROW_ENDS, ROW_FAILS };

static struct be_span cell_at(const struct be_cells *cells, size_t column)
{
  return column < cells->count ? cells->cell[column] : (struct be_span){0};
}

static size_t count_numbers(const struct be_cells *cells, char decimal)
{
  size_t numbers = 0;
  double value;
  for (size_t c = 0; c < cells->count && c < BE_TRACE_COLUMNS_MAX; c++) {
    enum be_cell_kind kind = be_cell_read(cells->cell[c], decimal, &value);
    numbers += kind == BE_CELL_NUMBER || kind == BE_CELL_CLOCK;
  }
  return numbers;
}

static bool all_empty(const struct be_cells *cells)
{
  for (size_t c = 0; c < cells->count && c < BE_TRACE_COLUMNS_MAX; c++)
    if (cells->cell[c].size) return false;
  return true;
}

static enum verdict end_at(struct be_rows_end *end, struct be_span cell, size_t column)
{
  end->column = column + 1;
  be_span_copy(cell, end->cell, sizeof end->cell);
  return ROW_ENDS;
}

static enum verdict not_a_number(const struct reader *r, struct be_span cell, size_t column,
                                 struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "\"%.*s\" in column %zu is not a number",
          (int)(cell.size > 40 ? 40 : cell.size), cell.text, column + 1);
  be_fail_at(err, NULL, r->lines.number, column + 1);
  be_fail_remedy(err, "mend that cell, or write nan where there is no reading");
  return ROW_FAILS;
}

static enum verdict check_width(const struct reader *r, const struct be_cells *cells,
                                struct be_err *err)
{
  bool more = cells->count > BE_TRACE_COLUMNS_MAX;
  for (size_t c = r->columns; c < cells->count && !more; c++) more = cells->cell[c].size > 0;
  if (!more) return ROW_READ;
  be_fail(err, BE_BAD_INPUT, "this row has %zu columns where the rows before have %zu",
          cells->count, r->columns);
  be_fail_at(err, NULL, r->lines.number, r->columns + 1);
  be_fail_remedy(err, "look for a decimal comma among columns parted by commas");
  return ROW_FAILS;
}

/* Reads time and extension of a row whose force is a number. */
static enum verdict read_axes(struct reader *r, const struct be_cells *cells,
                              struct be_rows_end *end, struct be_err *err)
{
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++) {
    size_t column = r->roles->column[role];
    if (column == BE_NOWHERE || role == BE_ROLE_FORCE) continue;
    struct be_span cell = cell_at(cells, column);
    enum be_cell_kind kind = be_cell_read(cell, r->decimal, &r->value[role]);
    if (kind == BE_CELL_TEXT) return end_at(end, cell, column);
    if (kind == BE_CELL_BROKEN) return not_a_number(r, cell, column, err);
    if (kind == BE_CELL_DATE) return not_a_number(r, cell, column, err);
    if (kind == BE_CELL_CLOCK) r->value[role] = be_clock_go_on(&r->clock, r->value[role]);
    if (kind == BE_CELL_EMPTY || kind == BE_CELL_MISSING) r->value[role] = NAN;
    int decimals = be_cell_decimals(cell, r->decimal);
    if (decimals > r->decimals[role]) r->decimals[role] = decimals;
  }
  return check_width(r, cells, err);
}

static bool has_axis_number(const struct reader *r, const struct be_cells *cells)
{
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++) {
    double value;
    size_t column = r->roles->column[role];
    if (column == BE_NOWHERE || role == BE_ROLE_FORCE) continue;
    if (be_cell_read(cell_at(cells, column), r->decimal, &value) == BE_CELL_NUMBER) return true;
  }
  return false;
}

static enum verdict pass_gap(struct reader *r)
{
  r->skipped++;
  if (!r->gap_line) r->gap_line = r->lines.number;
  if (!r->tail_gap_line) r->tail_gap_line = r->lines.number;
  return ROW_PASSED;
}

/* A remark between rows: "# gust". A line that names columns is a head. */
static bool is_remark(struct be_span line, const struct be_cells *cells)
{
  line = be_span_trim(line);
  if (line.text[0] != '#' && line.text[0] != '%') return false;
  for (size_t c = 0; c < cells->count && c < BE_TRACE_COLUMNS_MAX; c++)
    if (be_text_is_heading(cells->cell[c])) return false;
  return true;
}

static enum verdict judge_line(struct reader *r, struct be_rows_end *end, struct be_err *err)
{
  struct be_cells cells;
  struct be_span line = {0};
  be_lines_next(&r->lines, &line);
  be_cells_split(line, r->delimiter, &cells);
  if (all_empty(&cells)) {
    r->blanks++;
    return ROW_PASSED;
  }
  if (is_remark(line, &cells)) return ROW_PASSED;
  size_t column = r->roles->column[BE_ROLE_FORCE];
  struct be_span cell = cell_at(&cells, column);
  enum be_cell_kind kind = be_cell_read(cell, r->decimal, &r->value[BE_ROLE_FORCE]);
  if (kind == BE_CELL_NUMBER) {
    if (be_unit_same(r->roles, r->decimal, &cells, r->lines.number, err) != BE_OK) return ROW_FAILS;
    int decimals = be_cell_decimals(cell, r->decimal);
    if (decimals > r->decimals[BE_ROLE_FORCE]) r->decimals[BE_ROLE_FORCE] = decimals;
    return read_axes(r, &cells, end, err);
  }
  if (kind == BE_CELL_MISSING) {
    r->over += be_span_is_over(cell);
    return pass_gap(r);
  }
  if (kind == BE_CELL_EMPTY && count_numbers(&cells, r->decimal) > 0 &&
      (r->axis == BE_ROLE_NONE || has_axis_number(r, &cells)))
    return pass_gap(r);
  bool broken = kind == BE_CELL_BROKEN && (r->columns == 1 || count_numbers(&cells, r->decimal));
  if (broken || kind == BE_CELL_CLOCK || (cell.size && has_axis_number(r, &cells)))
    return not_a_number(r, cell, column, err);
  return end_at(end, cell, column);
}

/* ---- where a test ends ---- */

/* Does the row in r->value start another test? Time that falls back to its
 * beginning does, when the next row goes on from there. */
static bool starts_again(const struct reader *r)
{
  double now = r->value[r->axis], span = r->axis_last - r->axis_first;
  if (r->n == 0) return false;
  if (r->axis == BE_ROLE_NONE) return r->blanks > 1;
  bool back = span > 0 && now < r->axis_last && now <= r->axis_first + span / 10;
  if (!back || r->blanks > 0) return back;
  struct be_lines lines = r->lines;
  struct be_span line;
  struct be_cells cells;
  double next;
  if (r->axis != BE_ROLE_TIME || r->n < 10 || !be_lines_next(&lines, &line)) return false;
  be_cells_split(line, r->delimiter, &cells);
  enum be_cell_kind kind =
      be_cell_read(cell_at(&cells, r->roles->column[BE_ROLE_TIME]), r->decimal, &next);
  return (kind == BE_CELL_NUMBER || kind == BE_CELL_CLOCK) && next >= now && next < r->axis_last;
}

static enum be_status read_all(struct reader *r, struct be_rows_end *end, struct be_err *err)
{
  while (r->lines.at != r->lines.end) {
    struct be_lines before = r->lines;
    enum verdict verdict = !r->roles->watched && read_fast(r) ? ROW_READ : judge_line(r, end, err);
    if (verdict == ROW_PASSED) continue;
    if (verdict == ROW_FAILS) return BE_BAD_INPUT;
    end->next = before;
    if (verdict == ROW_ENDS) return BE_OK;
    if ((r->blanks || r->value[r->axis] < r->axis_last) && starts_again(r)) {
      end->restarts = true;
      return BE_OK;
    }
    enum be_status status = keep_row(r, err);
    if (status != BE_OK) return status;
  }
  end->next = r->lines;
  return BE_OK;
}

static enum be_status check_gaps(const struct reader *r, struct be_err *err)
{
  size_t column = r->roles->column[BE_ROLE_FORCE];
  if (r->n == 0 && r->skipped == 0) {
    be_fail(err, BE_BAD_INPUT, "no row has a number in column %zu", column + 1);
    be_fail_at(err, NULL, r->lines.number, column + 1);
    be_fail_remedy(err, "name the column of the force with --columns force=2");
    return BE_BAD_INPUT;
  }
  if (r->skipped <= r->n) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "%zu of %zu rows have no force in column %zu", r->skipped,
          r->skipped + r->n, column + 1);
  be_fail_at(err, NULL, r->tail_gap_line ? r->tail_gap_line : r->gap_line, column + 1);
  be_fail_remedy(err, "the record of the force may have stopped there: cut the file, or name "
                      "another column with --columns force=2");
  return BE_BAD_INPUT;
}

enum be_status be_rows_read(const struct be_block *block, const struct be_roles *roles,
                            struct be_trace *trace, struct be_rows_end *end, struct be_err *err)
{
  struct reader r = {.lines = block->rows,
                     .delimiter = block->delimiter,
                     .decimal = block->decimal,
                     .columns = block->columns_count,
                     .roles = roles};
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++) {
    if (roles->column[role] == BE_NOWHERE) continue;
    r.role_at[roles->column[role]] = (unsigned char)role;
    if (roles->column[role] > r.last) r.last = roles->column[role];
  }
  if (roles->column[BE_ROLE_EXTENSION] != BE_NOWHERE) r.axis = BE_ROLE_EXTENSION;
  if (roles->column[BE_ROLE_TIME] != BE_NOWHERE) r.axis = BE_ROLE_TIME;
  *end = (struct be_rows_end){0};
  enum be_status status = read_all(&r, end, err);
  if (status == BE_OK) status = check_gaps(&r, err);
  end->axis_first = r.axis == BE_ROLE_NONE ? NAN : r.axis_first;
  end->axis_last = r.axis == BE_ROLE_NONE ? NAN : r.axis_last;
  move_arrays(&r, trace);
  return status;
}
