/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is told of a specimen after its pull: what was left unrecorded is filled in where it lacks,
 * what was otherwise is appended. */
#include "book/inside.h"

#include <math.h>
#include <string.h>

static const enum field fields[] = {FIELD_SOAK, FIELD_SPEED, FIELD_LENGTH, FIELD_TYER,
                                    FIELD_LUBRICANT};

static enum field field_of(int made)
{
  return made < BE_HANDLINGS ? FIELD_OF(made) : fields[made - BE_HANDLINGS];
}

const char *be_made_column(int made)
{
  return be_field_name(field_of(made));
}

/* In the order of BE_MADES; behind them, how long it was soaked. */
#define MADE_SQL HANDLING_SQL ", soak, speed_m_s, length_m, tyer, lubricant, soak_s"
#define MADE_PARAMETERS HANDLING_PARAMETERS ", ?, ?, ?, ?, ?, ?"
enum { MADE_COLUMNS = BE_MADES + 1 };

static bool is_text(int made)
{
  return made >= BE_HANDLINGS ? made != BE_MADE_SPEED && made != BE_MADE_LENGTH
                              : be_handling_dimension((enum be_handling)made) == BE_DIMENSIONS;
}

static bool is_told(const struct be_handled *one)
{
  return one->text || !isnan(one->number);
}

static bool near(double a, double b)
{
  return isnan(a) ? isnan(b) : fabs(a - b) <= 1e-9 * fabs(b);
}

/* Who says "soaked" alone says nothing of how long, and a soak of 0 is dry. */
static bool same(const struct be_handled *said, const struct be_handled *now)
{
  if (!said->text || !now->text)
    return !said->text && !now->text && near(said->number, now->number);
  return be_text_same(said->text, now->text) &&
         (!(said->number > 0) || near(said->number, now->number));
}

/* ---- in the tables ---- */

static void bind(sqlite3_stmt *s, int at, const struct be_handled made[BE_MADES])
{
  for (int i = 0; i < BE_MADES; i++)
    if (is_text(i)) be_bind_text(s, at + i, made[i].text);
    else be_bind_number(s, at + i, made[i].number);
  be_bind_number(s, at + BE_MADES, made[BE_MADE_SOAK].number);
}

static void read_columns(struct rows *rows, int at, struct be_handled made[BE_MADES])
{
  for (int i = 0; i < BE_MADES; i++)
    made[i] = is_text(i) ? (struct be_handled){NAN, be_column_text(rows, at + i)}
                         : (struct be_handled){be_column_number(rows->s, at + i), NULL};
  made[BE_MADE_SOAK].number = be_column_number(rows->s, at + BE_MADES);
}

static void lay_over(struct be_handled under[BE_MADES], const struct be_handled over[BE_MADES])
{
  for (int i = 0; i < BE_MADES; i++)
    if (is_told(&over[i])) under[i] = over[i];
}

/* As it was first told, then all that was told anew, in order. */
static enum be_status open_telling(struct be_book *book, int64_t pull, struct rows *rows,
                                   struct be_err *err)
{
  enum be_status status = be_sql_prepare(
      book->db,
      "WITH its AS (SELECT specimen FROM pull WHERE id = ?1)"
      " SELECT 0, NULL, NULL, NULL" MADE_SQL " FROM specimen WHERE id IN its UNION ALL"
      " SELECT id, why, told_by, (SELECT entered_at FROM file WHERE file.id = file)" MADE_SQL
      " FROM handling WHERE specimen IN its ORDER BY 1",
      &rows->s, err);
  if (status == BE_OK) sqlite3_bind_int64(rows->s, 1, pull);
  return status;
}

enum be_status be_made_now(struct be_book *book, int64_t pull, struct be_arena *arena,
                           struct be_handled now[BE_MADES], struct be_err *err)
{
  struct rows rows = {.arena = arena};
  struct be_handled told[BE_MADES];
  for (int i = 0; i < BE_MADES; i++) now[i] = (struct be_handled){NAN, NULL};
  enum be_status status = open_telling(book, pull, &rows, err);
  for (size_t i = 0; be_next_row(&rows, i, SIZE_MAX, &status, err); i++) {
    read_columns(&rows, 4, told);
    lay_over(now, told);
  }
  sqlite3_finalize(rows.s);
  return status;
}

/* ---- a row that tells ---- */

static const char *text_of(struct entering *in, enum field field)
{
  return be_field_text(&in->sheet, &in->fields, in->row, field);
}

/* A pull sheet that corrects a result tells only what is not part of the design. */
static enum be_status read_row(struct entering *in, struct be_handled said[BE_MADES],
                               struct be_err *err)
{
  int soak = BE_SOAK_UNKNOWN;
  struct be_quantity speed = {.value = NAN}, length = {.value = NAN};
  for (int i = 0; i < BE_MADES; i++) said[i] = (struct be_handled){NAN, NULL};
  enum be_status status = be_handling_read(in, NULL, said, err);
  if (status != BE_OK || in->fields.kind != SHEET_EVIDENCE) return status;
  status = be_soak_read(in, &soak, &said[BE_MADE_SOAK].number, err);
  if (status == BE_OK) status = be_speed_read(in, &speed, err);
  if (status == BE_OK) status = be_length_read(in, &length, err);
  said[BE_MADE_SOAK].text = be_word_or_null(soak, be_soak_word((enum be_soak)soak));
  said[BE_MADE_SPEED].number = speed.value;
  said[BE_MADE_LENGTH].number = length.value;
  said[BE_MADE_TYER].text = text_of(in, FIELD_TYER);
  said[BE_MADE_LUBRICANT].text = text_of(in, FIELD_LUBRICANT);
  return status;
}

static enum be_status tells_otherwise(struct entering *in, enum field field, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "the specimen has another %s in the book", be_field_name(field));
  be_fail_remedy(err,
                 "what is in the book stays on record; to have another go before it, enter a "
                 "sheet of \"specimen\", \"%s\" and \"reason\", without a result",
                 be_field_name(field));
  return be_fail_here(in, field, err);
}

#define KEEP(code, column, key, dimension) ", " key " = ifnull(" key ", ?)"

/* A soak that is known has no time filled in later: it is told anew. */
static enum be_status fill_in(struct entering *in, int64_t pull, const struct be_handled said[],
                              struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  enum be_status status = be_sql_prepare(
      in->book->db,
      "UPDATE specimen SET id = id" BE_HANDLING_LIST(
          KEEP) ", soak = ifnull(soak, ?), speed_m_s = ifnull(speed_m_s, ?),"
                " length_m = ifnull(length_m, ?), tyer = ifnull(tyer, ?), lubricant = "
                "ifnull(lubricant, ?), soak_s = iif(soak IS NULL, ?, soak_s)"
                " WHERE id = (SELECT specimen FROM pull WHERE id = ?)",
      &s, err);
  if (status != BE_OK) return status;
  bind(s, 1, said);
  sqlite3_bind_int64(s, MADE_COLUMNS + 1, pull);
  status = be_sql_step(s, NULL, err);
  sqlite3_finalize(s);
  return status;
}

static enum be_status append(struct entering *in, int64_t pull, const char *why,
                             const struct be_handled anew[BE_MADES], struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  enum be_status status =
      be_sql_prepare(in->book->db,
                     "INSERT INTO handling (specimen, why, told_by, file, file_line" MADE_SQL ")"
                     " VALUES ((SELECT specimen FROM pull WHERE id = ?1), ?2, ?3, ?4, "
                     "?5" MADE_PARAMETERS ")",
                     &s, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(s, 1, pull);
  be_bind_text(s, 2, why);
  be_bind_text(s, 3, text_of(in, FIELD_JUDGED));
  sqlite3_bind_int64(s, 4, in->file);
  sqlite3_bind_int64(s, 5, (int64_t)in->sheet.lines[in->row]);
  bind(s, 6, anew);
  status = be_sql_step(s, NULL, err);
  sqlite3_finalize(s);
  return status;
}

enum be_status be_retell(struct entering *in, int64_t pull, struct retold *told, struct be_err *err)
{
  struct be_handled said[BE_MADES], now[BE_MADES], anew[BE_MADES];
  const char *why = in->fields.kind == SHEET_EVIDENCE ? text_of(in, FIELD_REASON) : NULL;
  *told = (struct retold){0};
  enum be_status status = read_row(in, said, err);
  if (status == BE_OK) status = be_made_now(in->book, pull, in->arena, now, err);
  for (int i = 0; i < BE_MADES && status == BE_OK; i++) {
    anew[i] = (struct be_handled){NAN, NULL};
    if (!is_told(&said[i])) continue;
    told->told++;
    told->added += !is_told(&now[i]);
    if (!is_told(&now[i]) || same(&said[i], &now[i])) continue;
    if (!why) return tells_otherwise(in, field_of(i), err);
    anew[i] = said[i];
    told->anew++;
  }
  if (status == BE_OK && told->added) status = fill_in(in, pull, said, err);
  if (status == BE_OK && told->anew) status = append(in, pull, why, anew, err);
  return status;
}

/* ---- reading ---- */

void be_pull_made(const struct be_pull *pull, struct be_handled made[BE_MADES])
{
  memcpy(made, pull->handling, sizeof pull->handling);
  made[BE_MADE_SOAK] =
      (struct be_handled){pull->soak_s, be_word_or_null((int)pull->soak, be_soak_word(pull->soak))};
  made[BE_MADE_SPEED] = (struct be_handled){pull->speed_m_s, NULL};
  made[BE_MADE_LENGTH] = (struct be_handled){pull->length_m, NULL};
  made[BE_MADE_TYER] = (struct be_handled){NAN, pull->tyer};
  made[BE_MADE_LUBRICANT] = (struct be_handled){NAN, pull->lubricant};
}

static void put(struct be_pull *pull, const struct be_handled made[BE_MADES])
{
  const struct be_handled *soak = &made[BE_MADE_SOAK];
  int word = soak->text ? be_words_find(WORDS_SOAK, soak->text) : BE_SOAK_UNKNOWN;
  memcpy(pull->handling, made, sizeof pull->handling);
  pull->soak = word < 0 ? BE_SOAK_UNKNOWN : (enum be_soak)word;
  pull->soak_s = soak->number;
  pull->speed_m_s = made[BE_MADE_SPEED].number;
  pull->length_m = made[BE_MADE_LENGTH].number;
  pull->tyer = made[BE_MADE_TYER].text;
  pull->lubricant = made[BE_MADE_LUBRICANT].text;
}

enum be_status be_read_retold(struct be_book *book, int64_t until, struct be_arena *arena,
                              struct be_record *record, struct be_err *err)
{
  struct rows rows = {.arena = arena};
  struct be_handled told[BE_MADES], now[BE_MADES];
  enum be_status status =
      be_sql_prepare(book->db,
                     "SELECT pull.id" MADE_SQL " FROM handling JOIN pull USING (specimen)"
                     " WHERE file < ?1 ORDER BY pull.id, handling.id",
                     &rows.s, err);
  if (status == BE_OK) sqlite3_bind_int64(rows.s, 1, until);
  for (size_t i = 0, p = 0; be_next_row(&rows, i, SIZE_MAX, &status, err); i++) {
    int64_t pull = sqlite3_column_int64(rows.s, 0);
    while (p < record->pulls_count && record->pulls[p].id < pull) p++;
    if (p == record->pulls_count || record->pulls[p].id != pull) continue;
    read_columns(&rows, 1, told);
    be_pull_made(&record->pulls[p], now);
    lay_over(now, told);
    put(&record->pulls[p], now);
  }
  sqlite3_finalize(rows.s);
  return status;
}

enum be_status be_book_retold(struct be_book *book, int64_t pull, struct be_arena *arena,
                              struct be_retold **list, size_t *count, struct be_err *err)
{
  struct rows rows = {.arena = arena};
  struct be_handled told[BE_MADES], now[BE_MADES];
  size_t most = 0;
  *count = 0;
  enum be_status status = be_count_rows(
      book, "SELECT count(*) FROM handling JOIN pull USING (specimen) WHERE pull.id = ?1", pull,
      &most, err);
  *list = status == BE_OK ? be_arena_alloc(arena, (most * BE_MADES + 1) * sizeof **list) : NULL;
  if (status == BE_OK && !*list) status = be_fail(err, BE_NO_MEMORY, "no memory for what was told");
  if (status == BE_OK) status = open_telling(book, pull, &rows, err);
  size_t at = most * BE_MADES; /* filled from behind */
  for (size_t i = 0; be_next_row(&rows, i, most + 1, &status, err); i++) {
    read_columns(&rows, 4, told);
    for (int k = 0; k < BE_MADES && i; k++)
      if (is_told(&told[k]))
        (*list)[--at] = (struct be_retold){.made = k,
                                           .was = now[k],
                                           .is = told[k],
                                           .why = be_column_text(&rows, 1),
                                           .told_by = be_column_text(&rows, 2),
                                           .entered_at = be_column_text(&rows, 3)};
    if (i) lay_over(now, told);
    else memcpy(now, told, sizeof now);
  }
  sqlite3_finalize(rows.s);
  *count = most * BE_MADES - at;
  if (*list) *list += at;
  return status;
}
