/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything entered again. The bytes of the files are known to be right when
 * this is called, so a book made from them anew, in memory, is what the book
 * must hold; where it holds something else, someone changed it. */
#include "book/inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- entering ---- */

/* A sheet's traces were added right after it, in the order of its rows. */
struct traces {
  sqlite3_stmt *find;
  int64_t after; /* id of the file found last */
};

static enum be_status fetch_kept(void *context, const char *name, struct be_buf *bytes,
                                 struct be_err *err)
{
  struct traces *traces = context;
  bool row = false;
  sqlite3_bind_int64(traces->find, 1, traces->after);
  be_bind_text(traces->find, 2, name);
  enum be_status status = be_sql_step(traces->find, &row, err);
  if (status == BE_OK && !row) status = be_fail(err, BE_BAD_INPUT, "the book does not have it");
  if (status == BE_OK) {
    int64_t id = sqlite3_column_int64(traces->find, 0);
    if (id > traces->after) traces->after = id; /* a picture may have come earlier */
    be_buf_add(bytes, sqlite3_column_blob(traces->find, 1),
               (size_t)sqlite3_column_bytes(traces->find, 1));
    status = be_buf_status(bytes, err);
  }
  sqlite3_reset(traces->find);
  return status;
}

static const char *text_at(sqlite3_stmt *s, int at, bool *lost)
{
  const char *text = (const char *)sqlite3_column_text(s, at);
  if (!text && sqlite3_column_type(s, at) != SQLITE_NULL) *lost = true;
  return text;
}

static enum be_status enter_again(struct be_book *book, struct be_book *made, sqlite3_stmt *s,
                                  struct traces *traces, struct be_err *err)
{
  bool lost = false;
  const char *bytes = sqlite3_column_blob(s, 2), *mark = text_at(s, 5, &lost);
  const char *name = text_at(s, 1, &lost), *by = text_at(s, 7, &lost);
  size_t size = (size_t)sqlite3_column_bytes(s, 2);
  struct be_entering how = {.mapping = text_at(s, 3, &lost),
                            .save_as = text_at(s, 4, &lost),
                            .decimal = mark ? *mark : '\0',
                            .specimen = text_at(s, 6, &lost),
                            .like = book,
                            .fetch = fetch_kept,
                            .fetch_context = traces};
  struct be_arena *arena = lost ? NULL : be_arena_create();
  struct be_entered entered;
  struct be_err why = {0};
  if (!arena || (!bytes && size)) {
    be_arena_free(arena);
    return be_fail(err, BE_NO_MEMORY, "no memory for the check");
  }
  traces->after = sqlite3_column_int64(s, 0);
  enum be_status status =
      be_book_enter(made, name, bytes ? bytes : "", size, &how, arena, &entered, &why);
  be_arena_free(arena);
  if (status == BE_OK) return BE_OK;
  if (status == BE_NO_MEMORY) return be_fail(err, status, "no memory for the check");
  be_fail(err, BE_NO, "file \"%.80s\", entered with version %.20s, cannot be entered again: %.250s",
          name, by, why.what);
  return be_fail_remedy(err, "go back to a copy of the book from before, or enter its files, which "
                             "are whole, into a new book");
}

enum be_status be_enter_again(struct be_book *book, struct be_book *made, int64_t last,
                              struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  struct traces traces = {0};
  bool row = true;
  enum be_status status =
      be_sql_prepare(book->db,
                     "SELECT file.id, name, bytes, mapping, save_as, decimal_mark, specimen,"
                     " made_by FROM entered JOIN file ON file.id = file WHERE file.id <= ?1"
                     " ORDER BY entered.id",
                     &s, err);
  if (status == BE_OK) sqlite3_bind_int64(s, 1, last);
  if (status == BE_OK)
    status = be_sql_prepare(book->db,
                            "SELECT id, bytes FROM file WHERE name = ?2 AND (kind = 'picture' OR"
                            " kind = 'trace' AND id > ?1) ORDER BY id <= ?1, id LIMIT 1",
                            &traces.find, err);
  size_t files = 0;
  if (status == BE_OK)
    status =
        be_count_rows(book, "SELECT count(*) FROM entered WHERE file <= ?1", last, &files, err);
  for (size_t done = 0; status == BE_OK; done++) {
    status = be_sql_step(s, &row, err);
    if (status != BE_OK || !row) break;
    be_progress_step("entering again", "files", files);
    be_progress_at(done);
    status = enter_again(book, made, s, &traces, err);
  }
  sqlite3_finalize(s);
  sqlite3_finalize(traces.find);
  return status;
}

/* ---- comparing ---- */

#define LINE_KEY "name || ifnull(', spool ' || spool, '')"
#define KNOT_KEY                                                                                   \
  "name || ifnull(', ' || turns || ' turns', '') || ifnull(' (' || version || ')', '')"
#define SHA_OF(id) "(SELECT sha256 FROM file WHERE file.id = " id ")"
#define LINE_OF(id) "(SELECT " LINE_KEY " FROM line WHERE line.id = " id ")"

/* What specimens and their plans have in common. */
#define NAMED(code, column, key, dimension) ", " key " AS \"" column "\""
#define NAMED_ANEW(code, column, key, dimension) ", handling." key " AS \"" column "\""
#define TIED                                                                                       \
  "design, (SELECT " KNOT_KEY " FROM knot WHERE knot.id = knot) AS knot, (SELECT " KNOT_KEY        \
  " FROM knot WHERE knot.id = knot_b) AS \"knot B\", " LINE_OF(                                    \
      "line_a") " AS \"line A\", " LINE_OF("line_b") " AS \"line B\", hardware, soak, soak_s AS "  \
                                                     "\"time of soak\","                           \
                                                     " speed_m_s AS speed, length_m AS \"free "    \
                                                     "length\", tyer, lubricant" BE_HANDLING_LIST( \
                                                         NAMED)

/* The first column names the row, and orders it. */
static const struct table {
  const char *what, *sql;
} tables[] = {
    {"file", "SELECT name, sha256 AS \"hash\", kind FROM file ORDER BY name, sha256"},
    {"line", "SELECT " LINE_KEY " AS called, material, label, label_N, size,"
             " diameter_m AS diameter, lot, source, opened, construction, " SHA_OF(
                 "line.file") " AS \"file\" FROM line"
                              " ORDER BY called, id"},
    {"knot",
     "SELECT " KNOT_KEY " AS called, kind, doubled, aliases, crossings_a AS \"crossings A\","
     " crossings_b AS \"crossings B\", overlap_m AS overlap, tie, tie_s AS \"time to tie\", guides "
     "AS \"passes guides\", " SHA_OF("knot.file") " AS \"file\" FROM knot ORDER BY called, id"},
    {"bench",
     "SELECT name, calibration, resolution_N, drift_N, missed, certificate, calibrated, " SHA_OF(
         "bench.file") " AS \"file\" FROM bench ORDER BY name COLLATE BINARY"},
    {"calibration",
     "SELECT name, (SELECT name FROM bench WHERE bench.id = bench) AS bench, certificate, date,"
     " months, unit, reference, resolution_N, curve, file_line AS \"line of its file\", " SHA_OF(
         "calibration.file") " AS \"file\" FROM calibration ORDER BY name COLLATE BINARY"},
    {"a reading of calibration",
     "SELECT name, load_N AS \"load applied\", reading, falling, calibration_point.file_line AS"
     " \"line of its file\" FROM calibration_point JOIN calibration ON calibration.id ="
     " calibration_point.calibration ORDER BY name COLLATE BINARY, calibration_point.id"},
    {"a check weight on bench",
     "SELECT bench.name, date, weight_N AS weight, reading, unit, session, note,"
     " file_line AS \"line of its file\", " SHA_OF(
         "check_weight.file") " AS \"file\" FROM check_weight JOIN bench ON bench.id = bench"
                              " ORDER BY bench.name COLLATE BINARY, check_weight.id"},
    {"trial",
     "SELECT name, " SHA_OF("trial.file") " AS \"file\" FROM trial ORDER BY name COLLATE BINARY"},
    {"a rule of trial",
     "SELECT trial.name || ', ' || rule AS called, value, reason, pulled AS \"pulled by then\","
     " file_line AS \"line of its file\", " SHA_OF(
         "rule.file") " AS \"file\" FROM rule JOIN trial"
                      " ON trial.id = trial ORDER BY called COLLATE BINARY, rule.id"},
    {"planned specimen",
     "SELECT code, (SELECT name FROM trial WHERE trial.id = trial) AS trial, place AS \"order\","
     " block, " TIED ", pulled AS \"pulled by then\", file_line AS \"line of its file\", " SHA_OF(
         "planned.file") " AS \"file\" FROM planned ORDER BY code COLLATE BINARY"},
    {"specimen", "SELECT code, " TIED " FROM specimen ORDER BY code COLLATE BINARY"},
    {"the pull of specimen",
     "SELECT code, (SELECT name FROM bench WHERE bench.id = pull.bench) AS bench,"
     " session, place AS \"order\", calibration, zero_before_N AS \"zero before\","
     " zero_after_N AS \"zero after\", " SHA_OF(
         "trace") " AS trace FROM pull JOIN specimen ON specimen.id = specimen"
                  " ORDER BY code COLLATE BINARY"},
    {"a result of specimen",
     "SELECT code, result.kind, load_N AS \"load\", load_text AS \"load typed\","
     " load_unit AS unit, what, where_ AS \"where\", which, reason, judged_by AS \"judged by\", "
     "note, why AS correction,"
     " file_line AS \"line of its file\", " SHA_OF(
         "result.file") " AS \"file\","
                        " (SELECT count(*) FROM result AS r WHERE r.pull = result.pull AND r.id <= "
                        "result.corrects)"
                        " AS \"result corrected\" FROM result JOIN pull ON pull.id = result.pull"
                        " JOIN specimen ON specimen.id = specimen ORDER BY code COLLATE BINARY, "
                        "result.id"},
    {"what was told anew of specimen",
     "SELECT code, why AS reason, told_by AS \"judged by\", handling.soak, handling.soak_s AS"
     " \"time of soak\", handling.speed_m_s AS speed, handling.length_m AS \"free length\","
     " handling.tyer, handling.lubricant" BE_HANDLING_LIST(
         NAMED_ANEW) ", file_line AS \"line of its file\", " SHA_OF("handling.file") " AS \"file\" "
                                                                                     "FROM "
                                                                                     "handling "
                                                                                     "JOIN "
                                                                                     "specimen ON "
                                                                                     "specimen.id "
                                                                                     "= specimen"
                                                                                     " ORDER BY "
                                                                                     "code COLLATE "
                                                                                     "BINARY, "
                                                                                     "handling.id"},
    {"a photo or clip of specimen",
     "SELECT code, evidence.kind, name, note, file_line AS \"line of its file\", " SHA_OF(
         "evidence.file") " AS \"file\" FROM evidence JOIN pull ON pull.id = pull"
                          " JOIN specimen ON specimen.id = specimen ORDER BY code COLLATE BINARY,"
                          " evidence.id"},
    {"a count of line",
     "SELECT " LINE_OF("line") " AS called, on_hand_m AS \"on hand\", counted,"
                               " file_line AS \"line of its file\", " SHA_OF(
                                   "stock.file") " AS \"file\" FROM stock"
                                                 " ORDER BY called COLLATE BINARY, id"},
    {"mapping", "SELECT name, rules FROM mapping ORDER BY name"},
};

struct pair {
  sqlite3_stmt *stored, *made;
};

static bool same_value(const struct pair *rows, int at, bool *lost)
{
  int type = sqlite3_column_type(rows->stored, at);
  if (type != sqlite3_column_type(rows->made, at)) return false;
  if (type == SQLITE_NULL) return true;
  if (type != SQLITE_TEXT)
    return sqlite3_column_double(rows->stored, at) == sqlite3_column_double(rows->made, at);
  const char *a = text_at(rows->stored, at, lost), *b = text_at(rows->made, at, lost);
  return a && b && strcmp(a, b) == 0;
}

static void show_value(sqlite3_stmt *s, int at, char text[90])
{
  int type = sqlite3_column_type(s, at);
  const char *value = (const char *)sqlite3_column_text(s, at);
  if (type == SQLITE_NULL || !value) snprintf(text, 90, "not recorded");
  else if (type == SQLITE_TEXT) snprintf(text, 90, "\"%.80s\"", value);
  else snprintf(text, 90, "%.17g", sqlite3_column_double(s, at));
}

static enum be_status compare_rows(const struct pair *rows, const char *what, const char *key,
                                   struct be_err *err)
{
  for (int at = 1; at < sqlite3_column_count(rows->stored); at++) {
    bool lost = false;
    if (same_value(rows, at, &lost)) continue;
    if (lost) return be_fail(err, BE_NO_MEMORY, "no memory for the check");
    char stored[90], made[90];
    show_value(rows->stored, at, stored);
    show_value(rows->made, at, made);
    be_fail(err, BE_NO, "%s \"%.80s\": %s is %s, but entered again it is %s", what, key,
            sqlite3_column_name(rows->stored, at), stored, made);
    return BE_NO;
  }
  return BE_OK;
}

static enum be_status compare_next(const struct pair *rows, const char *what, bool *more,
                                   struct be_err *err)
{
  bool stored = false, made = false;
  enum be_status status = be_sql_step(rows->stored, &stored, err);
  if (status == BE_OK) status = be_sql_step(rows->made, &made, err);
  *more = stored || made;
  if (status != BE_OK || !*more) return status;
  const char *a = stored ? (const char *)sqlite3_column_text(rows->stored, 0) : NULL;
  const char *b = made ? (const char *)sqlite3_column_text(rows->made, 0) : NULL;
  if ((stored && !a) || (made && !b)) return be_fail(err, BE_NO_MEMORY, "no memory for the check");
  int order = !a ? 1 : !b ? -1 : strcmp(a, b);
  if (order == 0) return compare_rows(rows, what, a, err);
  if (order < 0)
    return be_fail(err, BE_NO, "%s \"%.80s\" is in the book, but no file entered gives it", what,
                   a);
  return be_fail(err, BE_NO, "%s \"%.80s\" is no longer in the book, but its file gives it", what,
                 b);
}

static enum be_status compare_table(struct be_book *book, struct be_book *made,
                                    const struct table *table, struct be_err *err)
{
  struct pair rows = {NULL, NULL};
  bool more = true;
  enum be_status status = be_sql_prepare(book->db, table->sql, &rows.stored, err);
  if (status == BE_OK) status = be_sql_prepare(made->db, table->sql, &rows.made, err);
  while (status == BE_OK && more) status = compare_next(&rows, table->what, &more, err);
  sqlite3_finalize(rows.stored);
  sqlite3_finalize(rows.made);
  if (status == BE_NO)
    be_fail_remedy(err, "the book was changed by something else than bitterend: go back to a copy "
                        "from before, or enter its files, which are whole, into a new book");
  return status;
}

enum be_status be_check_again(struct be_book *book, struct be_err *err)
{
  struct be_book *made = NULL;
  enum be_status status = be_book_in_memory(&made, err);
  if (status != BE_OK) return status;
  status = be_enter_again(book, made, INT64_MAX, err);
  be_progress_step("comparing what came out", NULL, 0);
  for (size_t i = 0; i < sizeof tables / sizeof tables[0] && status == BE_OK; i++)
    status = compare_table(book, made, &tables[i], err);
  be_book_close(made);
  return status;
}
