/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How much line a spool has: counts are appended, and what was pulled since the
 * last one is taken off. */
#include "book/inside.h"

#include <math.h>
#include <string.h>

/* Line that a specimen takes beside its free length, for grips and tails, and all of one whose
 * free length is not recorded. (Common practice; no source.) */
static const double beside_m = 1, usual_m = 1.5;

/* ---- a row that counts ---- */

enum be_status be_stock_read(struct entering *in, double *on_hand_m, struct be_err *err)
{
  const char *text = be_field_text(&in->sheet, &in->fields, in->row, FIELD_ON_HAND);
  struct be_quantity quantity;
  enum be_status status = be_field_number(in, FIELD_ON_HAND, BE_LENGTH, NULL, &quantity, err);
  *on_hand_m = text && be_text_same(text, "none") ? 0 : quantity.value;
  int column = in->fields.column[FIELD_COUNTED];
  bool dated = column >= 0 && be_sheet_cell(&in->sheet, in->row, (size_t)column)[0];
  if (status != BE_OK || text || !dated) return status;
  be_fail(err, BE_BAD_INPUT, "the line was counted, but not how much of it there is");
  be_fail_remedy(err, "tell it in the column \"on hand\", or leave both cells empty");
  return be_fail_here(in, FIELD_COUNTED, err);
}

enum be_status be_stock_add(struct entering *in, int64_t line, double on_hand_m, struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  if (isnan(on_hand_m)) return BE_OK;
  enum be_status status =
      be_sql_prepare(in->book->db,
                     "INSERT INTO stock (line, on_hand_m, counted, file, file_line)"
                     " VALUES (?1, ?2, ?3, ?4, ?5)",
                     &s, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(s, 1, line);
  sqlite3_bind_double(s, 2, on_hand_m);
  be_bind_text(s, 3, be_field_text(&in->sheet, &in->fields, in->row, FIELD_COUNTED));
  sqlite3_bind_int64(s, 4, in->file);
  sqlite3_bind_int64(s, 5, (int64_t)in->sheet.lines[in->row]);
  status = be_sql_step(s, NULL, err);
  sqlite3_finalize(s);
  return status;
}

/* ---- what is left ---- */

/* The last count of each line; *counts are their files, 0 where there is none. */
static enum be_status read_counts(struct be_book *book, struct be_arena *arena,
                                  struct be_record *record, const struct ids *lines,
                                  int64_t *counts, struct be_err *err)
{
  struct rows rows = {.arena = arena};
  struct pool dates = {.count = 0};
  enum be_status status = be_sql_prepare(
      book->db, "SELECT line, on_hand_m, counted, file FROM stock ORDER BY id", &rows.s, err);
  while (be_next_row(&rows, 0, 1, &status, err)) {
    int line = be_index_of(lines, rows.s, 0);
    if (line == BE_NO_INDEX) continue;
    record->lines[line].counted_m = record->lines[line].on_hand_m = be_column_number(rows.s, 1);
    record->lines[line].counted = be_column_pooled(&rows, 2, &dates);
    counts[line] = sqlite3_column_int64(rows.s, 3);
  }
  sqlite3_finalize(rows.s);
  return status;
}

/* What a specimen took: as its trial rules, else by its free length. */
static double metres_of(const struct be_record *record, const struct be_pull *pull)
{
  const char *told =
      pull->trial == BE_NO_INDEX ? NULL : record->trials[pull->trial].rule[BE_RULE_METRES];
  double metres = NAN;
  if (told && be_number_scan(told, strlen(told), '.', &metres)) return metres;
  return isnan(pull->length_m) ? usual_m : pull->length_m + beside_m;
}

static void take_off(struct be_line *line, double metres)
{
  line->used_since++;
  line->on_hand_m = fmax(line->on_hand_m - metres, 0);
}

static enum be_status take_off_pulls(struct be_book *book, struct be_record *record,
                                     const int64_t *counts, struct be_err *err)
{
  struct rows rows = {.arena = NULL};
  enum be_status status = be_sql_prepare(
      book->db, "SELECT pull, file FROM result WHERE corrects IS NULL ORDER BY pull, id", &rows.s,
      err);
  for (size_t i = 0; be_next_row(&rows, i, record->pulls_count, &status, err);) {
    while (i < record->pulls_count && record->pulls[i].id < sqlite3_column_int64(rows.s, 0)) i++;
    if (i == record->pulls_count) break;
    const struct be_pull *pull = &record->pulls[i];
    if (pull->id != sqlite3_column_int64(rows.s, 0)) continue;
    int64_t file = sqlite3_column_int64(rows.s, 1);
    int a = pull->line_a, b = pull->line_b;
    double metres = metres_of(record, pull);
    if (a != BE_NO_INDEX && counts[a] && file > counts[a]) take_off(&record->lines[a], metres);
    if (b != BE_NO_INDEX && b != a && counts[b] && file > counts[b])
      take_off(&record->lines[b], metres);
    i++;
  }
  sqlite3_finalize(rows.s);
  return status;
}

enum be_status be_read_stock(struct be_book *book, struct be_arena *arena, struct be_record *record,
                             const struct ids *lines, struct be_err *err)
{
  size_t any = 0;
  enum be_status status = be_count_rows(book, "SELECT EXISTS (SELECT 1 FROM stock)", 0, &any, err);
  if (status != BE_OK || !any) return status;
  int64_t *counts = be_arena_alloc(arena, record->lines_count * sizeof *counts);
  if (!counts) return be_fail(err, BE_NO_MEMORY, "no memory for the lines");
  status = read_counts(book, arena, record, lines, counts, err);
  return status == BE_OK ? take_off_pulls(book, record, counts, err) : status;
}
