/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "book/inside.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Where from, and up to which file: of ids before `until`. Ids rise in the order of entering, and
 * a row belongs to the file it came with, so that this is the record as it stood then. */
struct reading {
  struct be_book *book;
  struct be_arena *arena;
  int64_t until;
};

static enum be_status prepare(const struct reading *reading, const char *sql, sqlite3_stmt **s,
                              struct be_err *err)
{
  enum be_status status = be_sql_prepare(reading->book->db, sql, s, err);
  if (status == BE_OK) sqlite3_bind_int64(*s, 1, reading->until);
  return status;
}

/* ---- tables as arrays ---- */

static enum be_status read_lines(const struct reading *reading, struct be_record *record,
                                 struct ids *ids, struct be_err *err)
{
  struct be_arena *arena = reading->arena;
  enum be_status status =
      be_count_rows(reading->book, "SELECT count(*) FROM line WHERE ifnull(file, 0) < ?1",
                    reading->until, &record->lines_count, err);
  if (status != BE_OK) return status;
  record->lines = be_arena_alloc(arena, record->lines_count * sizeof *record->lines);
  ids->id = be_arena_alloc(arena, record->lines_count * sizeof *ids->id);
  ids->count = record->lines_count;
  if (!record->lines || !ids->id) return be_fail(err, BE_NO_MEMORY, "no memory for the lines");
  struct rows rows = {.arena = arena};
  status = prepare(reading,
                   "SELECT id, name, spool, material, label, label_N, diameter_m, size, lot,"
                   " source, opened, construction FROM line WHERE ifnull(file, 0) < ?1 ORDER BY id",
                   &rows.s, err);
  for (size_t i = 0; be_next_row(&rows, i, record->lines_count, &status, err); i++) {
    ids->id[i] = sqlite3_column_int64(rows.s, 0);
    record->lines[i] = (struct be_line){.name = be_column_text(&rows, 1),
                                        .spool = be_column_text(&rows, 2),
                                        .material = be_column_text(&rows, 3),
                                        .label = be_column_text(&rows, 4),
                                        .label_N = be_column_number(rows.s, 5),
                                        .diameter_m = be_column_number(rows.s, 6),
                                        .size = be_column_text(&rows, 7),
                                        .lot = be_column_text(&rows, 8),
                                        .source = be_column_text(&rows, 9),
                                        .opened = be_column_text(&rows, 10),
                                        .construction = be_column_text(&rows, 11),
                                        .on_hand_m = NAN,
                                        .counted_m = NAN};
  }
  sqlite3_finalize(rows.s);
  return status;
}

const char *be_knot_full(const struct be_knot *knot, struct be_arena *arena)
{
  char turns[32] = "";
  if (!isnan(knot->turns))
    snprintf(turns, sizeof turns, ", %g turn%s", knot->turns, knot->turns == 1 ? "" : "s");
  const char *version = knot->version;
  return be_arena_format(arena, "%s%s%s%s%s", knot->name, turns, version ? " (" : "",
                         version ? version : "", version ? ")" : "");
}

static enum be_status read_knots(const struct reading *reading, struct be_record *record,
                                 struct ids *ids, struct be_err *err)
{
  struct be_arena *arena = reading->arena;
  enum be_status status =
      be_count_rows(reading->book, "SELECT count(*) FROM knot WHERE ifnull(file, 0) < ?1",
                    reading->until, &record->knots_count, err);
  if (status != BE_OK) return status;
  record->knots = be_arena_alloc(arena, record->knots_count * sizeof *record->knots);
  ids->id = be_arena_alloc(arena, record->knots_count * sizeof *ids->id);
  ids->count = record->knots_count;
  if (!record->knots || !ids->id) return be_fail(err, BE_NO_MEMORY, "no memory for the knots");
  struct rows rows = {.arena = arena};
  status = prepare(reading,
                   "SELECT id, name, version, kind, turns, doubled, aliases, crossings_a,"
                   " crossings_b, overlap_m, tie, tie_s, guides FROM knot WHERE ifnull(file, 0) < "
                   "?1 ORDER BY id",
                   &rows.s, err);
  for (size_t i = 0; be_next_row(&rows, i, record->knots_count, &status, err); i++) {
    ids->id[i] = sqlite3_column_int64(rows.s, 0);
    struct be_knot *knot = &record->knots[i];
    *knot = (struct be_knot){.name = be_column_text(&rows, 1),
                             .version = be_column_text(&rows, 2),
                             .kind = be_column_text(&rows, 3),
                             .turns = be_column_number(rows.s, 4),
                             .doubled = be_column_text(&rows, 5),
                             .aliases = be_column_text(&rows, 6),
                             .crossings_a = be_column_number(rows.s, 7),
                             .crossings_b = be_column_number(rows.s, 8),
                             .overlap_m = be_column_number(rows.s, 9),
                             .tie = be_column_text(&rows, 10),
                             .tie_s = be_column_number(rows.s, 11),
                             .guides = be_column_text(&rows, 12)};
    if (knot->name) knot->full = be_knot_full(knot, arena);
    if (!knot->full) rows.lost = true;
  }
  sqlite3_finalize(rows.s);
  return status;
}

static enum be_status read_benches(const struct reading *reading, struct be_record *record,
                                   struct ids *ids, struct be_err *err)
{
  struct be_arena *arena = reading->arena;
  size_t *count = &record->benches_count;
  enum be_status status =
      be_count_rows(reading->book, "SELECT count(*) FROM bench WHERE ifnull(file, 0) < ?1",
                    reading->until, count, err);
  if (status != BE_OK) return status;
  record->benches = be_arena_alloc(arena, *count * sizeof *record->benches);
  ids->id = be_arena_alloc(arena, *count * sizeof *ids->id);
  ids->count = *count;
  if (!record->benches || !ids->id) return be_fail(err, BE_NO_MEMORY, "no memory for the benches");
  struct rows rows = {.arena = arena};
  status = prepare(reading,
                   "SELECT id, name, calibration, resolution_N, drift_N, missed,"
                   " certificate, calibrated FROM bench WHERE ifnull(file, 0) < ?1 ORDER BY id",
                   &rows.s, err);
  for (size_t i = 0; be_next_row(&rows, i, *count, &status, err); i++) {
    ids->id[i] = sqlite3_column_int64(rows.s, 0);
    record->benches[i] = (struct be_bench){.name = be_column_text(&rows, 1),
                                           .calibration = be_column_number(rows.s, 2),
                                           .resolution_N = be_column_number(rows.s, 3),
                                           .drift_N = be_column_number(rows.s, 4),
                                           .missed = be_column_number(rows.s, 5),
                                           .certificate = be_column_text(&rows, 6),
                                           .calibrated = be_column_text(&rows, 7)};
  }
  sqlite3_finalize(rows.s);
  return status;
}

/* Scans pulls in order and finds the rest of each by its key: what CROSS JOIN asks of SQLite. ?2
 * tells whether anything was corrected at all. */
static const char pulls_sql[] =
    /* A file's date stands behind its bytes: it is read once a file, not once a pull. */
    "WITH dated AS MATERIALIZED (SELECT id AS sheet, entered_at AS at FROM file"
    " WHERE id IN (SELECT file FROM result))"
    " SELECT pull.id, code, design, knot, line_a, line_b, hardware, soak, soak_s, speed_m_s,"
    " length_m, tyer, lubricant, session, place, result.kind, load_N, load_text, load_unit, what,"
    " where_, which, reason, note, file.name, file_line,"
    " iif(pull.trace < ?1, pull.trace, NULL), derived.peak_N,"
    " derived.zero_N, derived.rise_N, derived.first_slip_N,"
    " iif(?2, (SELECT count(*) - 1 FROM result AS r WHERE r.pull = pull.id AND r.file < ?1), 0),"
    " knot_b, pull.bench, derived.missed_N, derived.drift_N, result.file,"
    " judged_by, result.id, derived.flags, pull.calibration,"
    " zero_before_N, zero_after_N, dated.at" HANDLING_SQL
    " FROM pull CROSS JOIN specimen ON specimen.id = pull.specimen"
    " CROSS JOIN result ON result.pull = pull.id"
    " CROSS JOIN file ON file.id = result.file"
    " LEFT JOIN derived ON derived.trace = pull.trace AND derived.trace < ?1"
    " LEFT JOIN dated ON dated.sheet = (SELECT min(r.file) FROM result AS r"
    " WHERE r.pull = pull.id)"
    " WHERE result.file < ?1 AND (?2 = 0 OR NOT EXISTS (SELECT 1 FROM result AS later"
    " WHERE later.corrects = result.id AND later.file < ?1))"
    " ORDER BY pull.id";

struct pools {
  struct pool hardware, tyer, lubricant, session, unit, file, judged, flags, calibration;
  struct pool handling[BE_HANDLINGS];
};

/* Of the tables that a pull points into. */
struct found {
  struct ids lines, knots, benches;
};

/* A session that is no date tells no day: then it is that of the entering. */
static long day_of(const char *session, const char *entered_at)
{
  char date[DATE_MAX + 1];
  long day = 0;
  const char *told = session && be_when_read(session, date) ? date : entered_at;
  if (told && strlen(told) >= 10) be_date_read(told, 10, &day, NULL);
  return day;
}

static void read_pull(struct rows *rows, const struct found *found, struct pools *pools,
                      struct be_pull *pull)
{
  sqlite3_stmt *s = rows->s;
  *pull = (struct be_pull){.id = sqlite3_column_int64(s, 0),
                           .code = be_column_text(rows, 1),
                           .design = (enum be_design)be_column_word(rows, 2, WORDS_DESIGN),
                           .knot = be_index_of(&found->knots, s, 3),
                           .line_a = be_index_of(&found->lines, s, 4),
                           .line_b = be_index_of(&found->lines, s, 5),
                           .trial = BE_NO_INDEX,
                           .hardware = be_column_pooled(rows, 6, &pools->hardware),
                           .soak = (enum be_soak)be_column_word(rows, 7, WORDS_SOAK),
                           .soak_s = be_column_number(s, 8),
                           .speed_m_s = be_column_number(s, 9),
                           .length_m = be_column_number(s, 10),
                           .tyer = be_column_pooled(rows, 11, &pools->tyer),
                           .lubricant = be_column_pooled(rows, 12, &pools->lubricant),
                           .session = be_column_pooled(rows, 13, &pools->session),
                           .order = be_column_number(s, 14),
                           .kind = (enum be_kind)be_column_word(rows, 15, WORDS_KIND),
                           .load_N = be_column_number(s, 16),
                           .load_text = be_column_text(rows, 17),
                           .load_unit = be_column_pooled(rows, 18, &pools->unit),
                           .what = (enum be_what)be_column_word(rows, 19, WORDS_WHAT),
                           .where = (enum be_where)be_column_word(rows, 20, WORDS_WHERE),
                           .which = (enum be_which)be_column_word(rows, 21, WORDS_WHICH),
                           .reason = be_column_text(rows, 22),
                           .note = be_column_text(rows, 23),
                           .file = be_column_pooled(rows, 24, &pools->file),
                           .file_line = sqlite3_column_int(s, 25),
                           .trace = sqlite3_column_int64(s, 26),
                           .trace_peak_N = be_column_number(s, 27),
                           .trace_zero_N = be_column_number(s, 28),
                           .first_slip_N = be_column_number(s, 30),
                           .corrections = sqlite3_column_int(s, 31),
                           .knot_b = be_index_of(&found->knots, s, 32),
                           .bench = be_index_of(&found->benches, s, 33),
                           .trace_missed_N = be_column_number(s, 34),
                           .trace_drift_N = be_column_number(s, 35),
                           .entering = sqlite3_column_int64(s, 36),
                           .judged_by = be_column_pooled(rows, 37, &pools->judged),
                           .result = sqlite3_column_int64(s, 38),
                           .flags = be_column_pooled(rows, 39, &pools->flags),
                           .calibration_told = be_column_pooled(rows, 40, &pools->calibration),
                           .zero_before_N = be_column_number(s, 41),
                           .zero_after_N = be_column_number(s, 42),
                           .calibration = BE_NO_INDEX};
  be_handling_columns(rows, 44, pools->handling, pull->handling);
  pull->day = day_of(pull->session, (const char *)sqlite3_column_text(s, 43));
  if (isnan(pull->load_N) && pull->kind != BE_KIND_VOID) pull->load_N = be_column_number(s, 29);
}

/* Figures that the book does not keep. */
static enum be_status read_trace(const struct reading *reading, struct be_pull *pull,
                                 struct be_err *err)
{
  struct derived derived;
  enum be_status status = be_derive_file(reading->book, pull->trace, &derived, err);
  if (status != BE_OK) return status;
  pull->flags = be_arena_text(reading->arena, derived.flags, strlen(derived.flags));
  if (!pull->flags) return be_fail(err, BE_NO_MEMORY, "no memory for a trace");
  pull->trace_peak_N = derived.peak_N;
  pull->trace_zero_N = derived.zero_N;
  pull->first_slip_N = derived.first_slip_N;
  pull->trace_missed_N = derived.missed_N;
  pull->trace_drift_N = derived.drift_N;
  if (isnan(pull->load_N) && pull->kind != BE_KIND_VOID) pull->load_N = derived.rise_N;
  return BE_OK;
}

/* A merge writes what it brings in newtons: nobody typed them. */
static bool was_merged(const struct be_pull *pull)
{
  return pull->file && strncmp(pull->file, "merged-", 7) == 0 && strcmp(pull->load_unit, "N") == 0;
}

/* The unit that most loads were typed in; newtons when none was. */
static const char *usual_unit(const struct be_record *record)
{
  const char *names[16] = {0};
  size_t counts[16] = {0}, best = 0;
  for (size_t i = 0; i < record->pulls_count; i++) {
    const char *unit = record->pulls[i].load_unit;
    if (unit && was_merged(&record->pulls[i])) continue;
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

static enum be_status read_pulls(const struct reading *reading, struct be_record *record,
                                 const struct found *found, struct be_err *err)
{
  enum be_status status =
      be_count_rows(reading->book, "SELECT count(*) FROM pull", 0, &record->pulls_count, err);
  if (status != BE_OK) return status;
  record->pulls = be_arena_alloc(reading->arena, record->pulls_count * sizeof *record->pulls);
  if (!record->pulls) return be_fail(err, BE_NO_MEMORY, "no memory for the pulls");
  struct rows rows = {.arena = reading->arena};
  struct pools pools = {0};
  size_t corrected = 0, count = 0;
  status = be_count_rows(reading->book, "SELECT EXISTS (SELECT 1 FROM result WHERE corrects > 0)",
                         0, &corrected, err);
  if (status == BE_OK) status = prepare(reading, pulls_sql, &rows.s, err);
  if (status == BE_OK) sqlite3_bind_int(rows.s, 2, corrected > 0);
  be_progress_step("reading the record", "pulls", record->pulls_count);
  for (; be_next_row(&rows, count, record->pulls_count, &status, err); count++) {
    struct be_pull *pull = &record->pulls[count];
    be_progress_at(count);
    read_pull(&rows, found, &pools, pull);
    if (pull->trace && isnan(pull->trace_peak_N)) status = read_trace(reading, pull, err);
  }
  record->pulls_count = count;
  sqlite3_finalize(rows.s);
  return status;
}

static enum be_status read_last(const struct reading *reading, struct be_record *record,
                                struct be_err *err)
{
  struct rows rows = {.arena = reading->arena};
  enum be_status status =
      prepare(reading,
              "SELECT file.id, name, entered_at FROM entered JOIN file ON file.id = entered.file"
              " WHERE file.id < ?1 ORDER BY file.id DESC LIMIT 1",
              &rows.s, err);
  if (be_next_row(&rows, 0, 1, &status, err))
    record->last = (struct be_moment){.id = sqlite3_column_int64(rows.s, 0),
                                      .file = be_column_text(&rows, 1),
                                      .entered_at = be_column_text(&rows, 2)};
  if (status == BE_OK && rows.lost) status = be_fail(err, BE_NO_MEMORY, "no memory for the record");
  sqlite3_finalize(rows.s);
  return status;
}

/* Trials and line on hand are as they are now: of an earlier record they are not read. */
static enum be_status read_all(const struct reading *reading, struct be_record *record,
                               struct be_err *err)
{
  struct found found = {0};
  enum be_status status = read_last(reading, record, err);
  if (status == BE_OK) status = read_lines(reading, record, &found.lines, err);
  if (status == BE_OK) status = read_knots(reading, record, &found.knots, err);
  if (status == BE_OK)
    status = be_read_pictures(reading->book, reading->until, reading->arena, record, err);
  if (status == BE_OK) status = read_benches(reading, record, &found.benches, err);
  if (status == BE_OK) status = read_pulls(reading, record, &found, err);
  if (status == BE_OK)
    status = be_read_retold(reading->book, reading->until, reading->arena, record, err);
  if (status == BE_OK)
    status = be_read_evidence(reading->book, reading->until, reading->arena, record, err);
  if (status == BE_OK)
    status = be_read_calibrations(reading->book, reading->until, reading->arena, record,
                                  &found.benches, err);
  if (status != BE_OK || reading->until != INT64_MAX) return status;
  status = be_read_trials(reading->book, reading->arena, record, &found.knots, &found.lines, err);
  if (status == BE_OK)
    status = be_read_stock(reading->book, reading->arena, record, &found.lines, err);
  return status;
}

enum be_status be_book_read_until(struct be_book *book, int64_t until, struct be_arena *arena,
                                  struct be_record *record, struct be_err *err)
{
  const struct reading reading = {book, arena, until};
  memset(record, 0, sizeof *record);
  bool alone = !be_sql_is_open(book);
  enum be_status status = alone ? be_sql_run(book->db, "BEGIN", err) : BE_OK;
  if (status != BE_OK) return status;
  status = read_all(&reading, record, err);
  if (alone) be_sql_rollback(book);
  if (status == BE_OK) {
    record->unit = usual_unit(record);
    return BE_OK;
  }
  memset(record, 0, sizeof *record);
  be_fail_at(err, book->path, 0, 0);
  return status;
}

enum be_status be_book_read(struct be_book *book, struct be_arena *arena, struct be_record *record,
                            struct be_err *err)
{
  return be_book_read_until(book, INT64_MAX, arena, record, err);
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

enum be_status be_book_results(struct be_book *book, int64_t pull, struct be_arena *arena,
                               struct be_result **list, size_t *count, struct be_err *err)
{
  struct rows rows = {.arena = arena};
  size_t most = 0;
  *list = NULL;
  *count = 0;
  enum be_status status =
      be_count_rows(book, "SELECT count(*) FROM result WHERE pull = ?1", pull, &most, err);
  if (status != BE_OK) return status;
  *list = be_arena_alloc(arena, most * sizeof **list);
  if (!*list) return be_fail(err, BE_NO_MEMORY, "no memory for the results");
  status = be_sql_prepare(book->db,
                          "SELECT result.id, result.kind, load_N, what, where_, which, reason,"
                          " judged_by, why, entered_at FROM result"
                          " JOIN file ON file.id = result.file WHERE pull = ?1"
                          " ORDER BY result.id DESC",
                          &rows.s, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(rows.s, 1, pull);
  for (; be_next_row(&rows, *count, most, &status, err); ++*count)
    (*list)[*count] =
        (struct be_result){.id = sqlite3_column_int64(rows.s, 0),
                           .kind = (enum be_kind)be_column_word(&rows, 1, WORDS_KIND),
                           .load_N = be_column_number(rows.s, 2),
                           .what = (enum be_what)be_column_word(&rows, 3, WORDS_WHAT),
                           .where = (enum be_where)be_column_word(&rows, 4, WORDS_WHERE),
                           .which = (enum be_which)be_column_word(&rows, 5, WORDS_WHICH),
                           .reason = be_column_text(&rows, 6),
                           .judged_by = be_column_text(&rows, 7),
                           .why = be_column_text(&rows, 8),
                           .entered_at = be_column_text(&rows, 9)};
  sqlite3_finalize(rows.s);
  return status;
}
