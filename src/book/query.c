/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "book/inside.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- columns as C values ---- */

/* A copy in the arena; null when not recorded, or when memory is out. */
static const char *column_text(sqlite3_stmt *statement, int at, struct be_arena *arena)
{
  const unsigned char *text = sqlite3_column_text(statement, at);
  if (!text) return NULL;
  return be_arena_text(arena, (const char *)text, (size_t)sqlite3_column_bytes(statement, at));
}

static double column_number(sqlite3_stmt *statement, int at)
{
  if (sqlite3_column_type(statement, at) == SQLITE_NULL) return NAN;
  return sqlite3_column_double(statement, at);
}

static int column_word(sqlite3_stmt *statement, int at, enum words list)
{
  const unsigned char *text = sqlite3_column_text(statement, at);
  int value = text ? be_words_find(list, (const char *)text) : 0;
  return value < 0 ? 0 : value;
}

/* The few words that repeat in every row are kept once. */
struct pool {
  const char *seen[64];
  size_t count;
};

static const char *column_pooled(sqlite3_stmt *statement, int at, struct be_arena *arena,
                                 struct pool *pool)
{
  const unsigned char *text = sqlite3_column_text(statement, at);
  if (!text) return NULL;
  for (size_t i = 0; i < pool->count; i++)
    if (strcmp(pool->seen[i], (const char *)text) == 0) return pool->seen[i];
  const char *copy = column_text(statement, at, arena);
  if (copy && pool->count < sizeof pool->seen / sizeof pool->seen[0])
    pool->seen[pool->count++] = copy;
  return copy;
}

/* ---- tables as arrays ---- */

static enum be_status count_rows(struct be_book *book, const char *sql, size_t *count,
                                 struct be_err *err)
{
  sqlite3_stmt *statement = NULL;
  bool row = false;
  enum be_status status = be_sql_prepare(book->db, sql, &statement, err);
  if (status == BE_OK) status = be_sql_step(statement, &row, err);
  *count = row ? (size_t)sqlite3_column_int64(statement, 0) : 0;
  sqlite3_finalize(statement);
  return status;
}

struct ids {
  int64_t *id;
  size_t count;
};

/* Rows come in the order of their ids, so an index is found by bisection. */
static int index_of(const struct ids *ids, sqlite3_stmt *statement, int at)
{
  if (sqlite3_column_type(statement, at) == SQLITE_NULL) return BE_NO_INDEX;
  int64_t id = sqlite3_column_int64(statement, at);
  size_t low = 0, high = ids->count;
  while (low < high) {
    size_t middle = (low + high) / 2;
    if (ids->id[middle] < id) low = middle + 1;
    else high = middle;
  }
  return low < ids->count && ids->id[low] == id ? (int)low : BE_NO_INDEX;
}

static enum be_status read_lines(struct be_book *book, struct be_arena *arena,
                                 struct be_record *record, struct ids *ids, struct be_err *err)
{
  enum be_status status = count_rows(book, "SELECT count(*) FROM line", &record->lines_count, err);
  if (status != BE_OK) return status;
  record->lines = be_arena_alloc(arena, record->lines_count * sizeof *record->lines);
  ids->id = be_arena_alloc(arena, record->lines_count * sizeof *ids->id);
  ids->count = record->lines_count;
  if (!record->lines || !ids->id) return be_fail(err, BE_NO_MEMORY, "no memory for the lines");
  sqlite3_stmt *s = NULL;
  status = be_sql_prepare(book->db,
                          "SELECT id, name, spool, material, label, label_N, diameter_m, size, lot"
                          " FROM line ORDER BY id",
                          &s, err);
  bool row = true;
  for (size_t i = 0; status == BE_OK && i < record->lines_count; i++) {
    status = be_sql_step(s, &row, err);
    if (status != BE_OK || !row) break;
    ids->id[i] = sqlite3_column_int64(s, 0);
    record->lines[i] = (struct be_line){.name = column_text(s, 1, arena),
                                        .spool = column_text(s, 2, arena),
                                        .material = column_text(s, 3, arena),
                                        .label = column_text(s, 4, arena),
                                        .label_N = column_number(s, 5),
                                        .diameter_m = column_number(s, 6),
                                        .size = column_text(s, 7, arena),
                                        .lot = column_text(s, 8, arena)};
    if (!record->lines[i].name) status = be_fail(err, BE_NO_MEMORY, "no memory for the lines");
  }
  sqlite3_finalize(s);
  return status;
}

static const char *full_name(const struct be_knot *knot, struct be_arena *arena)
{
  char turns[32] = "";
  if (!isnan(knot->turns))
    snprintf(turns, sizeof turns, ", %g turn%s", knot->turns, knot->turns == 1 ? "" : "s");
  const char *version = knot->version;
  return be_arena_format(arena, "%s%s%s%s%s", knot->name, turns, version ? " (" : "",
                         version ? version : "", version ? ")" : "");
}

static enum be_status read_knots(struct be_book *book, struct be_arena *arena,
                                 struct be_record *record, struct ids *ids, struct be_err *err)
{
  enum be_status status = count_rows(book, "SELECT count(*) FROM knot", &record->knots_count, err);
  if (status != BE_OK) return status;
  record->knots = be_arena_alloc(arena, record->knots_count * sizeof *record->knots);
  ids->id = be_arena_alloc(arena, record->knots_count * sizeof *ids->id);
  ids->count = record->knots_count;
  if (!record->knots || !ids->id) return be_fail(err, BE_NO_MEMORY, "no memory for the knots");
  sqlite3_stmt *s = NULL;
  status = be_sql_prepare(book->db,
                          "SELECT id, name, version, kind, turns, doubled, aliases FROM knot"
                          " ORDER BY id",
                          &s, err);
  bool row = true;
  for (size_t i = 0; status == BE_OK && i < record->knots_count; i++) {
    status = be_sql_step(s, &row, err);
    if (status != BE_OK || !row) break;
    ids->id[i] = sqlite3_column_int64(s, 0);
    struct be_knot *knot = &record->knots[i];
    *knot = (struct be_knot){.name = column_text(s, 1, arena),
                             .version = column_text(s, 2, arena),
                             .kind = column_text(s, 3, arena),
                             .turns = column_number(s, 4),
                             .doubled = column_text(s, 5, arena),
                             .aliases = column_text(s, 6, arena)};
    if (knot->name) knot->full = full_name(knot, arena);
    if (!knot->full) status = be_fail(err, BE_NO_MEMORY, "no memory for the knots");
  }
  sqlite3_finalize(s);
  return status;
}

static const char pulls_sql[] =
    "SELECT pull.id, code, design, knot, line_a, line_b, hardware, soak, soak_s, speed_m_s,"
    " length_m, tyer, lubricant, session, place, result.kind, load_N, load_text, load_unit, what,"
    " where_, which, reason, note, file.name, file_line, pull.trace, derived.peak_N,"
    " derived.zero_N, derived.rise_N, derived.first_slip_N,"
    " (SELECT count(*) - 1 FROM result AS r WHERE r.pull = pull.id)"
    " FROM pull JOIN specimen ON specimen.id = pull.specimen"
    " JOIN result ON result.pull = pull.id"
    " JOIN file ON file.id = result.file"
    " LEFT JOIN derived ON derived.trace = pull.trace"
    " WHERE NOT EXISTS (SELECT 1 FROM result AS later WHERE later.corrects = result.id)"
    " ORDER BY pull.id";

struct pools {
  struct pool hardware, tyer, lubricant, session, unit, file;
};

static void read_pull(sqlite3_stmt *s, struct be_arena *arena, const struct ids *knots,
                      const struct ids *lines, struct pools *pools, struct be_pull *pull)
{
  *pull = (struct be_pull){.id = sqlite3_column_int64(s, 0),
                           .code = column_text(s, 1, arena),
                           .design = (enum be_design)column_word(s, 2, WORDS_DESIGN),
                           .knot = index_of(knots, s, 3),
                           .line_a = index_of(lines, s, 4),
                           .line_b = index_of(lines, s, 5),
                           .hardware = column_pooled(s, 6, arena, &pools->hardware),
                           .soak = (enum be_soak)column_word(s, 7, WORDS_SOAK),
                           .soak_s = column_number(s, 8),
                           .speed_m_s = column_number(s, 9),
                           .length_m = column_number(s, 10),
                           .tyer = column_pooled(s, 11, arena, &pools->tyer),
                           .lubricant = column_pooled(s, 12, arena, &pools->lubricant),
                           .session = column_pooled(s, 13, arena, &pools->session),
                           .order = column_number(s, 14),
                           .kind = (enum be_kind)column_word(s, 15, WORDS_KIND),
                           .load_N = column_number(s, 16),
                           .load_text = column_text(s, 17, arena),
                           .load_unit = column_pooled(s, 18, arena, &pools->unit),
                           .what = (enum be_what)column_word(s, 19, WORDS_WHAT),
                           .where = (enum be_where)column_word(s, 20, WORDS_WHERE),
                           .which = (enum be_which)column_word(s, 21, WORDS_WHICH),
                           .reason = column_text(s, 22, arena),
                           .note = column_text(s, 23, arena),
                           .file = column_pooled(s, 24, arena, &pools->file),
                           .file_line = sqlite3_column_int(s, 25),
                           .trace = sqlite3_column_int64(s, 26),
                           .trace_peak_N = column_number(s, 27),
                           .trace_zero_N = column_number(s, 28),
                           .first_slip_N = column_number(s, 30),
                           .corrections = sqlite3_column_int(s, 31)};
  if (isnan(pull->load_N) && pull->kind != BE_KIND_VOID) pull->load_N = column_number(s, 29);
}

/* The unit that most loads were typed in; newtons when none was. */
static const char *usual_unit(const struct be_record *record)
{
  const char *names[16] = {0};
  size_t counts[16] = {0}, best = 0;
  for (size_t i = 0; i < record->pulls_count; i++) {
    const char *unit = record->pulls[i].load_unit;
    for (size_t k = 0; unit && k < 16; k++) {
      if (!names[k]) names[k] = unit;
      if (strcmp(names[k], unit) != 0) continue;
      counts[k]++;
      break;
    }
  }
  for (size_t k = 1; k < 16; k++)
    if (counts[k] > counts[best]) best = k;
  return names[best] ? names[best] : "N";
}

static enum be_status read_pulls(struct be_book *book, struct be_arena *arena,
                                 struct be_record *record, const struct ids *knots,
                                 const struct ids *lines, struct be_err *err)
{
  enum be_status status = count_rows(book, "SELECT count(*) FROM pull", &record->pulls_count, err);
  if (status != BE_OK) return status;
  record->pulls = be_arena_alloc(arena, record->pulls_count * sizeof *record->pulls);
  if (!record->pulls) return be_fail(err, BE_NO_MEMORY, "no memory for the pulls");
  sqlite3_stmt *s = NULL;
  struct pools pools = {0};
  status = be_sql_prepare(book->db, pulls_sql, &s, err);
  bool row = true;
  size_t count = 0;
  while (status == BE_OK && count < record->pulls_count) {
    status = be_sql_step(s, &row, err);
    if (status != BE_OK || !row) break;
    read_pull(s, arena, knots, lines, &pools, &record->pulls[count]);
    if (!record->pulls[count++].code)
      status = be_fail(err, BE_NO_MEMORY, "no memory for the pulls");
  }
  record->pulls_count = count;
  sqlite3_finalize(s);
  return status;
}

enum be_status be_book_read(struct be_book *book, struct be_arena *arena, struct be_record *record,
                            struct be_err *err)
{
  struct ids lines = {0}, knots = {0};
  memset(record, 0, sizeof *record);
  enum be_status status = be_sql_run(book->db, "BEGIN", err);
  if (status != BE_OK) return status;
  status = read_lines(book, arena, record, &lines, err);
  if (status == BE_OK) status = read_knots(book, arena, record, &knots, err);
  if (status == BE_OK) status = read_pulls(book, arena, record, &knots, &lines, err);
  be_sql_run(book->db, "ROLLBACK", NULL);
  if (status != BE_OK) be_fail_at(err, book->path, 0, 0);
  record->unit = usual_unit(record);
  return status;
}

enum be_status be_book_file(struct be_book *book, int64_t id, struct be_buf *bytes,
                            struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  enum be_status status = be_sql_prepare(book->db, "SELECT bytes FROM file WHERE id = ?1", &s, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(s, 1, id);
  bool row = false;
  status = be_sql_step(s, &row, err);
  if (status == BE_OK && !row) status = be_fail(err, BE_BAD_INPUT, "the book has no such file");
  if (status == BE_OK) {
    be_buf_add(bytes, sqlite3_column_blob(s, 0), (size_t)sqlite3_column_bytes(s, 0));
    status = be_buf_status(bytes, err);
  }
  sqlite3_finalize(s);
  return status;
}

enum be_status be_book_corrections(struct be_book *book, int64_t pull, struct be_arena *arena,
                                   struct be_correction **list, size_t *count, struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  enum be_status status = be_sql_prepare(
      book->db,
      "SELECT old.kind, old.load_N, later.why, file.entered_at FROM result AS old"
      " JOIN result AS later ON later.corrects = old.id JOIN file ON file.id = later.file"
      " WHERE old.pull = ?1 ORDER BY old.id",
      &s, err);
  *list = NULL;
  *count = 0;
  if (status != BE_OK) return status;
  enum { MOST = 1000 };
  *list = be_arena_alloc(arena, MOST * sizeof **list);
  if (!*list) status = be_fail(err, BE_NO_MEMORY, "no memory for corrections");
  sqlite3_bind_int64(s, 1, pull);
  bool row = true;
  while (status == BE_OK && *count < MOST) {
    status = be_sql_step(s, &row, err);
    if (status != BE_OK || !row) break;
    (*list)[(*count)++] =
        (struct be_correction){(enum be_kind)column_word(s, 0, WORDS_KIND), column_number(s, 1),
                               column_text(s, 2, arena), column_text(s, 3, arena)};
  }
  sqlite3_finalize(s);
  return status;
}
