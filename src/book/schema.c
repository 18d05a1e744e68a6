/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Invariants of the tables:
 *  1. A row of `file` holds the bytes as they came; its hash is unique, so the
 *     same bytes are never entered twice.
 *  2. A specimen has at most one pull; a pull has one result that nothing
 *     corrects, and any number that something does.
 *  3. A correction is a new result whose `corrects` names the old one, with
 *     its reason. No row is deleted but those of `derived`, and none is changed
 *     but in what it left unrecorded: a field of a line, a knot or a bench that a
 *     later sheet tells, how a specimen was handled, the trace of a pull.
 *     How a specimen was handled otherwise is a row of `handling`, with its reason: of each
 *     column the last row that tells it holds; a soak and its time go together.
 *  4. NULL is "not recorded"; the text 'none' is none.
 *  5. `derived` may be emptied at any time: what is missing is worked out from
 *     `file` when it is read, and made again when the book is opened for
 *     writing, as is what another version of the program made.
 *  6. What a trial fixes is appended too: a rule told anew is a new row of `rule`,
 *     with its reason and how many specimens had been pulled; the last one is in
 *     force. A row of `planned` stays as it was planned, whatever is pulled.
 *  7. A count of a line is a new row of `stock`; the last one holds. A photo or clip of a pull is
 *     a row of `evidence`: its name, for the file itself stays where it is.
 *  8. A calibration and its points stay as entered; one made anew has another name. What a
 *     pull tells of its calibration is the name; which is in force is found on reading.
 *  9. `entered` keeps, in order, each file that was entered by itself and how it
 *     was read, so that all of the book can be entered again from `file`. */
#include "book/inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { APPLICATION_ID = 0x42456E64, /* "BEnd" */ PATH_MOST = 4096 };

#define HANDLED(table)                                                                             \
  "ALTER TABLE " table " ADD COLUMN seating_N REAL; ALTER TABLE " table                            \
  " ADD COLUMN seating_s REAL; ALTER TABLE " table " ADD COLUMN tag_m REAL; ALTER TABLE " table    \
  " ADD COLUMN glue TEXT; ALTER TABLE " table " ADD COLUMN tied TEXT; ALTER TABLE " table          \
  " ADD COLUMN water TEXT; ALTER TABLE " table " ADD COLUMN grips TEXT; ALTER TABLE " table        \
  " ADD COLUMN temperature_K REAL; ALTER TABLE " table " ADD COLUMN humidity_share REAL;"

/* Step i brings a book from version i to i + 1. Steps are never changed once
 * released: a new need is a new step. */
static const char *const steps[] = {
    "CREATE TABLE file ("
    " id INTEGER PRIMARY KEY, name TEXT NOT NULL, kind TEXT NOT NULL, sha256 TEXT NOT NULL UNIQUE,"
    " bytes BLOB NOT NULL, entered_at TEXT NOT NULL) STRICT;"
    "CREATE TABLE line ("
    " id INTEGER PRIMARY KEY, name TEXT NOT NULL, spool TEXT, material TEXT, label TEXT,"
    " label_N REAL, size TEXT, diameter_m REAL, lot TEXT,"
    " file INTEGER REFERENCES file) STRICT;"
    "CREATE UNIQUE INDEX line_name ON line"
    " (name COLLATE NOCASE, ifnull(spool, '') COLLATE NOCASE);"
    "CREATE TABLE knot ("
    " id INTEGER PRIMARY KEY, name TEXT NOT NULL, version TEXT, kind TEXT, turns REAL,"
    " doubled TEXT, aliases TEXT, file INTEGER REFERENCES file) STRICT;"
    "CREATE UNIQUE INDEX knot_name ON knot"
    " (name COLLATE NOCASE, ifnull(version, '') COLLATE NOCASE, ifnull(turns, -1));"
    "CREATE TABLE specimen ("
    " id INTEGER PRIMARY KEY, code TEXT NOT NULL UNIQUE COLLATE NOCASE, design TEXT,"
    " knot INTEGER REFERENCES knot, line_a INTEGER REFERENCES line,"
    " line_b INTEGER REFERENCES line, hardware TEXT, soak TEXT, soak_s REAL, speed_m_s REAL,"
    " length_m REAL, tyer TEXT, lubricant TEXT) STRICT;"
    "CREATE TABLE pull ("
    " id INTEGER PRIMARY KEY, specimen INTEGER NOT NULL UNIQUE REFERENCES specimen,"
    " session TEXT, place REAL, trace INTEGER REFERENCES file) STRICT;"
    "CREATE TABLE result ("
    " id INTEGER PRIMARY KEY, pull INTEGER NOT NULL REFERENCES pull,"
    " corrects INTEGER UNIQUE REFERENCES result, why TEXT, kind TEXT NOT NULL,"
    " load_N REAL, load_text TEXT, load_unit TEXT, what TEXT, where_ TEXT, which TEXT,"
    " reason TEXT, note TEXT, file INTEGER NOT NULL REFERENCES file, file_line INTEGER NOT NULL,"
    " CHECK (corrects IS NULL OR why IS NOT NULL)) STRICT;"
    "CREATE INDEX result_pull ON result (pull);"
    "CREATE TABLE derived ("
    " trace INTEGER PRIMARY KEY REFERENCES file, peak_N REAL NOT NULL, zero_N REAL,"
    " rise_N REAL NOT NULL, first_slip_N REAL, time_to_peak_s REAL, bound INTEGER NOT NULL,"
    " ending TEXT NOT NULL, flags TEXT NOT NULL, made_by TEXT NOT NULL) STRICT;"
    "CREATE TABLE mapping (name TEXT PRIMARY KEY, rules TEXT NOT NULL) STRICT;"
    "CREATE TABLE entered ("
    " id INTEGER PRIMARY KEY, file INTEGER NOT NULL UNIQUE REFERENCES file, mapping TEXT,"
    " save_as TEXT, decimal_mark TEXT, specimen TEXT, made_by TEXT NOT NULL) STRICT;",
    "CREATE TABLE layout (file INTEGER PRIMARY KEY REFERENCES file, text TEXT NOT NULL) STRICT;",
    "CREATE TABLE bench ("
    " id INTEGER PRIMARY KEY, name TEXT NOT NULL, calibration REAL, resolution_N REAL,"
    " drift_N REAL, missed REAL, certificate TEXT, calibrated TEXT,"
    " file INTEGER REFERENCES file) STRICT;"
    "CREATE UNIQUE INDEX bench_name ON bench (name COLLATE NOCASE);"
    "ALTER TABLE pull ADD COLUMN bench INTEGER REFERENCES bench;"
    "ALTER TABLE specimen ADD COLUMN knot_b INTEGER REFERENCES knot;"
    "DROP TABLE derived;"
    "CREATE TABLE derived ("
    " trace INTEGER PRIMARY KEY REFERENCES file, peak_N REAL NOT NULL, zero_N REAL,"
    " rise_N REAL NOT NULL, first_slip_N REAL, time_to_peak_s REAL, missed_N REAL, drift_N REAL,"
    " bound INTEGER NOT NULL, ending TEXT NOT NULL, flags TEXT NOT NULL,"
    " made_by TEXT NOT NULL) STRICT;",
    "ALTER TABLE knot ADD COLUMN crossings_a REAL;"
    "ALTER TABLE knot ADD COLUMN crossings_b REAL;"
    "ALTER TABLE knot ADD COLUMN overlap_m REAL;",
    "CREATE TABLE trial ("
    " id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE COLLATE NOCASE,"
    " file INTEGER NOT NULL REFERENCES file) STRICT;"
    "CREATE TABLE rule ("
    " id INTEGER PRIMARY KEY, trial INTEGER NOT NULL REFERENCES trial, rule TEXT NOT NULL,"
    " value TEXT NOT NULL, reason TEXT, pulled INTEGER NOT NULL,"
    " file INTEGER NOT NULL REFERENCES file, file_line INTEGER NOT NULL) STRICT;"
    "CREATE INDEX rule_trial ON rule (trial, rule);"
    "CREATE TABLE planned ("
    " id INTEGER PRIMARY KEY, trial INTEGER NOT NULL REFERENCES trial,"
    " code TEXT NOT NULL UNIQUE COLLATE NOCASE, place REAL NOT NULL, block REAL, design TEXT,"
    " knot INTEGER REFERENCES knot, knot_b INTEGER REFERENCES knot,"
    " line_a INTEGER REFERENCES line, line_b INTEGER REFERENCES line, hardware TEXT, soak TEXT,"
    " soak_s REAL, speed_m_s REAL, length_m REAL, tyer TEXT, lubricant TEXT,"
    " pulled INTEGER NOT NULL, file INTEGER NOT NULL REFERENCES file,"
    " file_line INTEGER NOT NULL) STRICT;"
    "CREATE UNIQUE INDEX planned_place ON planned (trial, place);",
    "CREATE TABLE stock ("
    " id INTEGER PRIMARY KEY, line INTEGER NOT NULL REFERENCES line, on_hand_m REAL NOT NULL,"
    " counted TEXT, file INTEGER NOT NULL REFERENCES file, file_line INTEGER NOT NULL) STRICT;",
    "ALTER TABLE result ADD COLUMN judged_by TEXT;"
    "CREATE TABLE evidence ("
    " id INTEGER PRIMARY KEY, pull INTEGER NOT NULL REFERENCES pull, kind TEXT NOT NULL,"
    " name TEXT NOT NULL, note TEXT, file INTEGER NOT NULL REFERENCES file,"
    " file_line INTEGER NOT NULL) STRICT;"
    "CREATE INDEX evidence_pull ON evidence (pull);",
    "CREATE TABLE calibration ("
    " id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE COLLATE NOCASE,"
    " bench INTEGER NOT NULL REFERENCES bench, certificate TEXT, date TEXT NOT NULL,"
    " months REAL, unit TEXT, reference REAL, resolution_N REAL, curve TEXT,"
    " file INTEGER NOT NULL REFERENCES file, file_line INTEGER NOT NULL) STRICT;"
    "CREATE TABLE calibration_point ("
    " id INTEGER PRIMARY KEY, calibration INTEGER NOT NULL REFERENCES calibration,"
    " load_N REAL NOT NULL, reading REAL NOT NULL, falling INTEGER NOT NULL,"
    " file_line INTEGER NOT NULL) STRICT;"
    "CREATE INDEX calibration_point_of ON calibration_point (calibration);"
    "CREATE TABLE check_weight ("
    " id INTEGER PRIMARY KEY, bench INTEGER NOT NULL REFERENCES bench, date TEXT NOT NULL,"
    " weight_N REAL NOT NULL, reading REAL NOT NULL, unit TEXT, session TEXT, note TEXT,"
    " file INTEGER NOT NULL REFERENCES file, file_line INTEGER NOT NULL) STRICT;"
    "ALTER TABLE pull ADD COLUMN calibration TEXT;"
    "ALTER TABLE pull ADD COLUMN zero_before_N REAL;"
    "ALTER TABLE pull ADD COLUMN zero_after_N REAL;",
    "ALTER TABLE knot ADD COLUMN tie TEXT;",
    HANDLED("specimen") HANDLED("planned") "ALTER TABLE line ADD COLUMN source TEXT; ALTER TABLE "
                                           "line ADD COLUMN opened TEXT;"
                                           "ALTER TABLE line ADD COLUMN construction TEXT;"
                                           "ALTER TABLE knot ADD COLUMN tie_s REAL; ALTER TABLE "
                                           "knot ADD COLUMN guides TEXT;",
    "CREATE TABLE handling ("
    " id INTEGER PRIMARY KEY, specimen INTEGER NOT NULL REFERENCES specimen, why TEXT NOT NULL,"
    " told_by TEXT, file INTEGER NOT NULL REFERENCES file, file_line INTEGER NOT NULL, soak TEXT,"
    " soak_s REAL, speed_m_s REAL, length_m REAL, tyer TEXT, lubricant TEXT) STRICT;"
    "CREATE INDEX handling_of ON handling (specimen);" HANDLED("handling"),
};
#undef HANDLED
enum { STEPS = sizeof steps / sizeof steps[0] };

/* ---- SQL with errors in our words ---- */

static enum be_status cut_short(struct be_err *err)
{
  be_fail(err, BE_FAILED,
          "a writing was cut short; the book must be opened once where it can be written");
  return be_fail_remedy(err, "check the rights of the file, of its journal and of their folder, or "
                             "copy the book with its journal to a folder of yours");
}

enum be_status be_sql_failed(sqlite3 *db, struct be_err *err)
{
  int code = db ? sqlite3_extended_errcode(db) : SQLITE_NOMEM;
  if (code == SQLITE_READONLY_ROLLBACK || code == SQLITE_READONLY_RECOVERY) return cut_short(err);
  switch (code & 0xFF) {
  case SQLITE_NOMEM: return be_fail(err, BE_NO_MEMORY, "no memory for the book");
  case SQLITE_BUSY:
  case SQLITE_LOCKED:
    be_fail(err, BE_FAILED, "another program is writing to the book");
    return be_fail_remedy(err, "wait until it has finished, then try again");
  case SQLITE_FULL:
    be_fail(err, BE_FAILED, "the disk is full; the book is as it was before");
    return be_fail_remedy(err, "make room and try again");
  case SQLITE_READONLY:
  case SQLITE_PERM:
    be_fail(err, BE_FAILED, "the book cannot be written");
    return be_fail_remedy(err, "check the rights of the file and of its folder");
  case SQLITE_CANTOPEN:
    be_fail(err, BE_FAILED, "the journal beside the book cannot be opened");
    return be_fail_remedy(err, "check the rights of the folder that the book lies in");
  case SQLITE_NOTADB:
    be_fail(err, BE_BAD_INPUT, "this is not a book");
    return be_fail_remedy(err, "name a book; `bitterend new BOOK` starts one");
  default: return be_fail(err, BE_FAILED, "the book failed: %s", sqlite3_errmsg(db));
  }
}

enum be_status be_sql_run(sqlite3 *db, const char *sql, struct be_err *err)
{
  return sqlite3_exec(db, sql, NULL, NULL, NULL) == SQLITE_OK ? BE_OK : be_sql_failed(db, err);
}

enum be_status be_sql_prepare(sqlite3 *db, const char *sql, sqlite3_stmt **statement,
                              struct be_err *err)
{
  return sqlite3_prepare_v2(db, sql, -1, statement, NULL) == SQLITE_OK ? BE_OK
                                                                       : be_sql_failed(db, err);
}

enum be_status be_sql_step(sqlite3_stmt *statement, bool *row, struct be_err *err)
{
  int code = sqlite3_step(statement);
  if (row) *row = code == SQLITE_ROW;
  return code == SQLITE_ROW || code == SQLITE_DONE
             ? BE_OK
             : be_sql_failed(sqlite3_db_handle(statement), err);
}

void be_sql_rollback(struct be_book *book)
{
  if (!sqlite3_get_autocommit(book->db)) sqlite3_step(book->rollback);
  sqlite3_reset(book->rollback);
}

bool be_sql_is_open(const struct be_book *book)
{
  return !sqlite3_get_autocommit(book->db);
}

/* Binding fails only for lack of memory, which the step then reports. */
void be_bind_text(sqlite3_stmt *statement, int at, const char *text)
{
  if (text) sqlite3_bind_text(statement, at, text, -1, SQLITE_STATIC);
  else sqlite3_bind_null(statement, at);
}

void be_bind_number(sqlite3_stmt *statement, int at, double value)
{
  if (isnan(value)) sqlite3_bind_null(statement, at);
  else sqlite3_bind_double(statement, at, value);
}

bool be_same_text(sqlite3_stmt *statement, int at, const char *text)
{
  const char *stored = (const char *)sqlite3_column_text(statement, at);
  return stored && text ? strcmp(stored, text) == 0 : !stored && !text;
}

bool be_fits_text(sqlite3_stmt *statement, int at, const char *text)
{
  bool silent = !text || sqlite3_column_type(statement, at) == SQLITE_NULL;
  return silent || be_same_text(statement, at, text);
}

bool be_fits_number(sqlite3_stmt *statement, int at, double value)
{
  bool silent = isnan(value) || sqlite3_column_type(statement, at) == SQLITE_NULL;
  return silent || be_same_number(statement, at, value);
}

bool be_same_number(sqlite3_stmt *statement, int at, double value)
{
  bool none = sqlite3_column_type(statement, at) == SQLITE_NULL;
  return none || isnan(value) ? none && isnan(value)
                              : sqlite3_column_double(statement, at) == value;
}

/* ---- life cycle ---- */

static enum be_status pragma(sqlite3 *db, const char *sql, int *value, struct be_err *err)
{
  sqlite3_stmt *statement = NULL;
  bool row = false;
  enum be_status status = be_sql_prepare(db, sql, &statement, err);
  if (status == BE_OK) status = be_sql_step(statement, &row, err);
  if (status == BE_OK && row) *value = sqlite3_column_int(statement, 0);
  sqlite3_finalize(statement);
  return status;
}

static enum be_status bring_up_to_date(sqlite3 *db, int from, struct be_err *err)
{
  enum be_status status = be_sql_run(db, "BEGIN IMMEDIATE", err);
  if (status != BE_OK) return status;
  for (int i = from; i < STEPS && status == BE_OK; i++) status = be_sql_run(db, steps[i], err);
  char sql[128];
  snprintf(sql, sizeof sql, "PRAGMA application_id = %d; PRAGMA user_version = %d; COMMIT",
           APPLICATION_ID, STEPS);
  if (status == BE_OK) status = be_sql_run(db, sql, err);
  if (status != BE_OK) be_sql_run(db, "ROLLBACK", NULL);
  return status;
}

static enum be_status open_failed(sqlite3 *db, struct be_err *err)
{
  if (!db || sqlite3_errcode(db) != SQLITE_CANTOPEN) return be_sql_failed(db, err);
  be_fail(err, BE_BAD_INPUT, "the book cannot be opened");
  be_fail_remedy(err, "check the name; `bitterend new BOOK` starts a new one");
  return BE_BAD_INPUT;
}

/* EXTRA: the folder is synced too before a commit counts as done, or a loss of
 * power could bring the journal back, and with it the book of before. The
 * caller closes *db, also on failure. */
static enum be_status connect(const char *name, int flags, sqlite3 **db, struct be_err *err)
{
  be_sql_use_our_memory();
  /* A book is used by one thread at a time. */
  if (sqlite3_open_v2(name, db, flags | SQLITE_OPEN_NOMUTEX, NULL) != SQLITE_OK)
    return open_failed(*db, err);
  sqlite3_busy_timeout(*db, 5000);
  return be_sql_run(*db, "PRAGMA foreign_keys = ON; PRAGMA synchronous = EXTRA", err);
}

/* SQLite has names of its own, such as ":memory:" and "file:a?mode=ro". */
static enum be_status connect_file(const char *path, int flags, sqlite3 **db, struct be_err *err)
{
  char name[PATH_MOST + 3];
  snprintf(name, sizeof name, "%s%s", *path == '/' ? "" : "./", path);
  return connect(name, flags, db, err);
}

/* What can be told of a name without opening it. */
static enum be_status look_at_name(const char *path, struct be_err *err)
{
  char text[PATH_MOST + 3];
  enum be_status status = BE_OK;
  if (!*path) status = be_fail(err, BE_WRONG_USE, "the book has no name");
  else if (strlen(path) >= PATH_MOST) status = be_fail(err, BE_WRONG_USE, "the name is too long");
  if (status != BE_OK) return be_fail_remedy(err, "give the name of a file");
  snprintf(text, sizeof text, "%s/.", path);
  if (be_file_exists(text)) {
    be_fail(err, BE_BAD_INPUT, "this is a folder, and a book is a file");
    status = be_fail_remedy(err, "give the name of a file in it");
  }
  snprintf(text, sizeof text, "%s", path);
  char *slash = strrchr(text, '/');
  if (slash && slash > text) {
    *slash = '\0';
    if (!be_file_exists(text)) {
      be_fail(err, BE_BAD_INPUT, "there is no folder \"%s\"", text);
      status = be_fail_remedy(err, "check the name, or make the folder first");
    }
  }
  if (status != BE_OK) be_fail_at(err, path, 0, 0);
  return status;
}

enum be_status be_book_create(const char *path, struct be_err *err)
{
  enum be_status status = look_at_name(path, err);
  if (status != BE_OK) return status;
  if (be_file_exists(path)) {
    be_fail(err, BE_WRONG_USE, "the file exists already");
    be_fail_at(err, path, 0, 0);
    return be_fail_remedy(err, "give another name, or enter into this one");
  }
  sqlite3 *db = NULL;
  status = connect_file(path, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, &db, err);
  if (status == BE_OK) status = bring_up_to_date(db, 0, err);
  sqlite3_close(db);
  if (status == BE_OK) return BE_OK;
  be_fail_at(err, path, 0, 0);
  char journal[PATH_MOST + 16];
  snprintf(journal, sizeof journal, "%s-journal", path);
  be_file_remove(journal, NULL);
  be_file_remove(path, NULL);
  return status;
}

static enum be_status look_at_version(sqlite3 *db, int *version, struct be_err *err)
{
  int application = 0;
  *version = 0;
  enum be_status status = pragma(db, "PRAGMA application_id", &application, err);
  if (status == BE_OK) status = pragma(db, "PRAGMA user_version", version, err);
  if (status != BE_OK) return status;
  if (application != APPLICATION_ID || *version < 0) {
    be_fail(err, BE_BAD_INPUT, "this is not a book");
    be_fail_remedy(err, "`bitterend new BOOK` starts a new one");
    return BE_BAD_INPUT;
  }
  if (*version <= STEPS) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "the book was written by a newer version of the program");
  be_fail_remedy(err, "use that version, or a later one");
  return BE_BAD_INPUT;
}

/* Who only reads an older book reads a copy that was brought up to date. */
static enum be_status attach(struct be_book *book, const char *path, bool writable,
                             struct be_err *err)
{
  int flags = writable ? SQLITE_OPEN_READWRITE : SQLITE_OPEN_READONLY, version = STEPS;
  enum be_status status = connect_file(path, flags, &book->db, err);
  if (status == BE_OK) status = look_at_version(book->db, &version, err);
  bool older = status == BE_OK && version < STEPS;
  if (older && !writable) status = be_copy_to_memory(&book->db, err);
  if (older && status == BE_OK) status = bring_up_to_date(book->db, version, err);
  if (status == BE_OK) status = be_sql_prepare(book->db, "ROLLBACK", &book->rollback, err);
  return status == BE_OK && (older || writable) ? be_derived_fill(book, err) : status;
}

static bool was_cut_short(sqlite3 *db)
{
  int code = db ? sqlite3_extended_errcode(db) : SQLITE_OK;
  return code == SQLITE_READONLY_ROLLBACK || code == SQLITE_READONLY_RECOVERY;
}

/* A writer that was ended in the middle leaves a journal; whoever may write
 * takes the half-done writing back. */
static enum be_status take_back(const char *path, struct be_err *err)
{
  sqlite3 *db = NULL;
  enum be_status status = connect_file(path, SQLITE_OPEN_READWRITE, &db, err);
  if (status == BE_OK) status = be_sql_run(db, "SELECT count(*) FROM sqlite_master", err);
  int code = db ? sqlite3_errcode(db) & 0xFF : SQLITE_NOMEM;
  if (status != BE_OK && code != SQLITE_NOMEM && code != SQLITE_BUSY) status = cut_short(err);
  sqlite3_close(db);
  return status;
}

enum be_status be_book_open(const char *path, bool writable, struct be_book **book,
                            struct be_err *err)
{
  enum be_status status = look_at_name(path, err);
  if (status != BE_OK) return status;
  if (!be_file_exists(path)) {
    be_fail(err, BE_BAD_INPUT, "there is no such book");
    be_fail_at(err, path, 0, 0);
    return be_fail_remedy(err, "`bitterend new %s` starts it", path);
  }
  if (!be_file_size(path)) { /* waiting for what a pipe gives would never end */
    be_fail(err, BE_BAD_INPUT, "this is not a book, but an empty file, a pipe or a device");
    be_fail_at(err, path, 0, 0);
    return be_fail_remedy(err, "name a book; `bitterend new BOOK` starts one");
  }
  struct be_book *opened = be_alloc_array(1, sizeof *opened);
  if (!opened) return be_fail(err, BE_NO_MEMORY, "no memory for the book");
  snprintf(opened->path, sizeof opened->path, "%s", path);
  status = attach(opened, path, writable, err);
  if (status != BE_OK && !writable && was_cut_short(opened->db)) {
    sqlite3_close(opened->db);
    opened->db = NULL;
    status = take_back(path, err);
    if (status == BE_OK) status = attach(opened, path, false, err);
  }
  if (status != BE_OK) {
    be_fail_at(err, path, 0, 0);
    be_book_close(opened);
    return status;
  }
  *book = opened;
  return BE_OK;
}

enum be_status be_book_in_memory(struct be_book **book, struct be_err *err)
{
  struct be_book *made = be_alloc_array(1, sizeof *made);
  if (!made) return be_fail(err, BE_NO_MEMORY, "no memory for the book");
  enum be_status status =
      connect(":memory:", SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, &made->db, err);
  if (status == BE_OK) status = bring_up_to_date(made->db, 0, err);
  if (status == BE_OK) status = be_sql_prepare(made->db, "ROLLBACK", &made->rollback, err);
  if (status != BE_OK) {
    be_book_close(made);
    return status;
  }
  *book = made;
  return BE_OK;
}

void be_book_close(struct be_book *book)
{
  if (!book) return;
  sqlite3_finalize(book->rollback);
  sqlite3_close(book->db);
  be_free(book);
}
