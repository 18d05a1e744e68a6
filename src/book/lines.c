/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Line sheets, and the line that a row names. What the book does not know yet is
 * made from what the row says, and said. */
#include "book/inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *text_of(struct entering *in, enum field field)
{
  return be_field_text(&in->sheet, &in->fields, in->row, field);
}

static const struct {
  const char *word, *material;
} materials[] = {
    {"nylon", "nylon"},
    {"monofilament", "nylon"},
    {"mono", "nylon"},
    {"copolymer", "nylon"},
    {"fluorocarbon", "fluorocarbon"},
    {"fluoro", "fluorocarbon"},
    {"superbraid", "braid"},
    {"braid", "braid"},
    {"pe", "braid"},
    {"polyester", "polyester"},
};

static bool starts_with(const char *text, const char *word)
{
  char part[16];
  size_t length = strcspn(text, " ,;");
  if (length != strlen(word) || length >= sizeof part) return false;
  memcpy(part, text, length);
  part[length] = '\0';
  return be_text_same(part, word);
}

/* The material that a word of the name tells, or null. */
static const char *material_in(const char *name)
{
  for (size_t i = 0; i < sizeof materials / sizeof materials[0]; i++)
    for (const char *at = name; *at; at += strcspn(at, " "), at += strspn(at, " "))
      if (starts_with(at, materials[i].word)) return materials[i].material;
  return NULL;
}

/* The strength that a name tells, such as the "40 lb" of "copolymer 40 lb". */
static double label_in(const char *name, char *label, size_t size)
{
  struct be_quantity quantity;
  for (const char *at = name; *at; at++) {
    bool starts = *at >= '0' && *at <= '9' && (at == name || at[-1] == ' ');
    if (starts &&
        be_quantity_parse(at, strlen(at), BE_FORCE, NULL, '.', &quantity, NULL) == BE_OK) {
      snprintf(label, size, "%s", at);
      return quantity.value;
    }
  }
  return NAN;
}

static enum be_status insert_line(struct entering *in, const struct line_named *line, int64_t *id,
                                  struct be_err *err)
{
  sqlite3_stmt *statement = NULL;
  enum be_status status = be_sql_prepare(
      in->book->db,
      "INSERT INTO line (name, spool, material, label, label_N, size, diameter_m, lot,"
      " file, source, opened, construction) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11,"
      " ?12)",
      &statement, err);
  if (status != BE_OK) return status;
  be_bind_text(statement, 1, line->name);
  be_bind_text(statement, 2, line->spool);
  be_bind_text(statement, 3, line->material);
  be_bind_text(statement, 4, line->label);
  be_bind_number(statement, 5, line->label_N);
  be_bind_text(statement, 6, line->size);
  be_bind_number(statement, 7, line->diameter_m);
  be_bind_text(statement, 8, line->lot);
  sqlite3_bind_int64(statement, 9, in->file);
  be_bind_text(statement, 10, line->source);
  be_bind_text(statement, 11, line->opened);
  be_bind_text(statement, 12, line->construction);
  status = be_sql_step(statement, NULL, err);
  sqlite3_finalize(statement);
  if (status != BE_OK) return status;
  *id = sqlite3_last_insert_rowid(in->book->db);
  in->entered->lines++;
  return BE_OK;
}

/* The first field in which the row of the book is another; FIELDS if none is. */
static enum field line_differs(sqlite3_stmt *s, const struct line_named *line)
{
  if (!be_fits_text(s, 0, line->material)) return FIELD_MATERIAL;
  if (!be_fits_number(s, 2, line->label_N)) return FIELD_LABEL;
  if (!be_fits_text(s, 3, line->size)) return FIELD_SIZE;
  if (!be_fits_number(s, 4, line->diameter_m)) return FIELD_DIAMETER;
  if (!be_fits_text(s, 5, line->lot)) return FIELD_LOT;
  if (!be_fits_text(s, 7, line->source)) return FIELD_SOURCE;
  if (!be_fits_text(s, 8, line->opened)) return FIELD_OPENED;
  return be_fits_text(s, 9, line->construction) ? FIELDS : FIELD_CONSTRUCTION;
}

/* Finds the line of that name and spool: *id is 0 if there is none. */
static enum be_status line_known(struct entering *in, const struct line_named *line, int64_t *id,
                                 struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  bool known = false;
  enum be_status status = be_sql_prepare(
      in->book->db,
      "SELECT material, label, label_N, size, diameter_m, lot, id, source, opened, construction "
      "FROM line"
      " WHERE name = ?1 COLLATE NOCASE AND ifnull(spool, '') = ifnull(?2, '') COLLATE NOCASE",
      &s, err);
  if (status != BE_OK) return status;
  be_bind_text(s, 1, line->name);
  be_bind_text(s, 2, line->spool);
  status = be_sql_step(s, &known, err);
  enum field other = status == BE_OK && known ? line_differs(s, line) : FIELDS;
  *id = known ? sqlite3_column_int64(s, 6) : 0;
  sqlite3_finalize(s);
  if (other == FIELDS) return status;
  be_fail(err, BE_BAD_INPUT, "the line \"%s\"%s%s is in the book already, with another %s",
          line->name, line->spool ? ", spool " : "", line->spool ? line->spool : "",
          be_field_name(other));
  be_fail_remedy(err, "what is in the book stays: take the row out or give it the same values; "
                      "another spool needs another name in the column \"spool\"");
  return be_fail_here(in, in->fields.column[other] >= 0 ? other : FIELD_LINE, err);
}

/* What was not recorded may be told later. */
static enum be_status tell_more(struct entering *in, const struct line_named *line, int64_t id,
                                struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  enum be_status status =
      be_sql_prepare(in->book->db,
                     "UPDATE line SET material = ifnull(material, ?2), label = ifnull(label, ?3),"
                     " label_N = ifnull(label_N, ?4), size = ifnull(size, ?5),"
                     " diameter_m = ifnull(diameter_m, ?6), lot = ifnull(lot, ?7),"
                     " source = ifnull(source, ?8), opened = ifnull(opened, ?9),"
                     " construction = ifnull(construction, ?10) WHERE id = ?1",
                     &s, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(s, 1, id);
  be_bind_text(s, 2, line->material);
  be_bind_text(s, 3, line->label);
  be_bind_number(s, 4, line->label_N);
  be_bind_text(s, 5, line->size);
  be_bind_number(s, 6, line->diameter_m);
  be_bind_text(s, 7, line->lot);
  be_bind_text(s, 8, line->source);
  be_bind_text(s, 9, line->opened);
  be_bind_text(s, 10, line->construction);
  status = be_sql_step(s, NULL, err);
  sqlite3_finalize(s);
  in->entered->known += status == BE_OK;
  return status;
}

static enum be_status add_line(struct entering *in, const struct line_named *line, int64_t *id,
                               struct be_err *err)
{
  struct line_named added = *line;
  if (!added.material) added.material = material_in(added.name);
  enum be_status status = line_known(in, &added, id, err);
  if (status != BE_OK) return status;
  return *id ? tell_more(in, &added, *id, err) : insert_line(in, &added, id, err);
}

enum be_status be_enter_line_row(struct entering *in, struct be_err *err)
{
  struct line_named line = {.name = text_of(in, FIELD_LINE),
                            .spool = text_of(in, FIELD_SPOOL),
                            .material = text_of(in, FIELD_MATERIAL),
                            .size = text_of(in, FIELD_SIZE),
                            .lot = text_of(in, FIELD_LOT),
                            .source = text_of(in, FIELD_SOURCE),
                            .opened = text_of(in, FIELD_OPENED),
                            .construction = text_of(in, FIELD_CONSTRUCTION)};
  if (!line.name) {
    be_fail(err, BE_BAD_INPUT, "the line has no name");
    be_fail_remedy(err, "every row needs one, such as \"nylon 12 lb\"");
    return be_fail_here(in, FIELD_LINE, err);
  }
  if (line.opened && !be_text_same(line.opened, "none") && !be_since_when_read(line.opened)) {
    be_fail(err, BE_BAD_INPUT, "\"%s\" is not a date", line.opened);
    be_fail_remedy(err, "write when the spool was opened as 2026, 2026-03 or 2026-03-01");
    return be_fail_here(in, FIELD_OPENED, err);
  }
  struct be_quantity label, diameter;
  double on_hand_m = NAN;
  enum be_status status = be_field_number(in, FIELD_LABEL, BE_FORCE, NULL, &label, err);
  if (status == BE_OK)
    status = be_field_number(in, FIELD_DIAMETER, BE_LENGTH, NULL, &diameter, err);
  if (status == BE_OK) status = be_stock_read(in, &on_hand_m, err);
  if (status != BE_OK) return status;
  line.label_N = label.value;
  line.diameter_m = diameter.value;
  const char *as_written = text_of(in, FIELD_LABEL);
  if (as_written && label.unit) {
    bool bare = strspn(as_written, "0123456789.,") == strlen(as_written);
    line.label =
        bare ? be_arena_format(in->arena, "%s %s", as_written, label.unit->name) : as_written;
    if (!line.label) return be_fail(err, BE_NO_MEMORY, "no memory for a line");
  }
  int64_t id = 0;
  status = add_line(in, &line, &id, err);
  return status == BE_OK ? be_stock_add(in, id, on_hand_m, err) : status;
}

/* A line named without its spool is the only spool of it, or, where there are
 * several, the one whose spool was not recorded. */
static const char find_line_sql[] =
    "SELECT id, spool FROM line WHERE (?1 IS NULL OR name = ?1 COLLATE NOCASE)"
    " AND CASE WHEN ?2 IS NOT NULL THEN spool = ?2 COLLATE NOCASE"
    " WHEN (SELECT count(*) FROM line WHERE name = ?1 COLLATE NOCASE) > 1 THEN spool IS NULL"
    " ELSE 1 END LIMIT 2";

/* Once a sheet, for each line. */
static void note_only_spool(struct entering *in, enum field field, const char *name, int64_t id,
                            const char *spool)
{
  for (size_t i = 0; i < in->noted_count; i++)
    if (in->noted[i] == id) return;
  if (in->noted_count == NOTED_MOST) return;
  in->noted[in->noted_count++] = id;
  be_note_here(in, in->sheet.lines[in->row], "%s \"%s\" was taken for its only known spool %s",
               be_field_name(field), name, spool);
}

static enum be_status find_line(struct entering *in, enum field field, const char *name,
                                const char *spool, int64_t *id, int *found, struct be_err *err)
{
  enum be_status status = BE_OK;
  if (!in->find_line) status = be_sql_prepare(in->book->db, find_line_sql, &in->find_line, err);
  if (status != BE_OK) return status;
  sqlite3_stmt *statement = in->find_line;
  be_bind_text(statement, 1, name);
  be_bind_text(statement, 2, spool);
  bool row = true;
  char only[64] = "";
  *found = 0;
  while (status == BE_OK && row) {
    status = be_sql_step(statement, &row, err);
    if (status != BE_OK || !row) break;
    const char *of = (const char *)sqlite3_column_text(statement, 1);
    snprintf(only, sizeof only, "%s", of ? of : "");
    *id = sqlite3_column_int64(statement, 0);
    ++*found;
  }
  sqlite3_reset(statement);
  if (status == BE_OK && *found == 1 && !spool && *only)
    note_only_spool(in, field, name, *id, only);
  return status;
}

/* Replaces *text by that of a column, if it has one. */
static enum be_status keep_text(struct entering *in, sqlite3_stmt *statement, int at,
                                const char **text, struct be_err *err)
{
  if (sqlite3_column_type(statement, at) == SQLITE_NULL) return BE_OK;
  const char *column = (const char *)sqlite3_column_text(statement, at);
  *text = column ? be_arena_text(in->arena, column, strlen(column)) : NULL;
  return *text ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory for a line");
}

/* Another spool of a line that the book knows has its material and label. */
static enum be_status like_its_kind(struct entering *in, struct line_named *line,
                                    struct be_err *err)
{
  sqlite3_stmt *statement = NULL;
  enum be_status status =
      be_sql_prepare(in->book->db,
                     "SELECT material, label, label_N FROM line WHERE name = ?1 "
                     "COLLATE NOCASE ORDER BY id LIMIT 1",
                     &statement, err);
  if (status != BE_OK) return status;
  be_bind_text(statement, 1, line->name);
  bool row = false;
  status = be_sql_step(statement, &row, err);
  if (status == BE_OK && row) {
    status = keep_text(in, statement, 0, &line->material, err);
    if (status == BE_OK) status = keep_text(in, statement, 1, &line->label, err);
    if (sqlite3_column_type(statement, 1) != SQLITE_NULL)
      line->label_N = sqlite3_column_double(statement, 2);
  }
  sqlite3_finalize(statement);
  return status;
}

static enum be_status make_line(struct entering *in, const char *name, const char *spool,
                                int64_t *id, struct be_err *err)
{
  char label[64] = "";
  struct line_named line = {.name = name, .spool = spool, .material = material_in(name)};
  line.label_N = label_in(name, label, sizeof label);
  line.diameter_m = NAN;
  if (*label) line.label = label;
  enum be_status status = like_its_kind(in, &line, err);
  if (status == BE_OK) status = insert_line(in, &line, id, err);
  if (status == BE_OK)
    be_note_here(in, in->sheet.lines[in->row], "new line \"%s\"%s%s: material %s, label %s", name,
                 spool ? ", spool " : "", spool ? spool : "",
                 line.material ? line.material : "not recorded",
                 line.label ? line.label : "not recorded");
  return status;
}

enum be_status be_line_resolve(struct entering *in, enum field line, enum field spool,
                               const struct line_told *like, int64_t *id, struct be_err *err)
{
  const char *name = be_field_text(&in->sheet, &in->fields, in->row, line);
  const char *of = be_field_text(&in->sheet, &in->fields, in->row, spool);
  *id = 0;
  if (name && !of && like->name && be_text_same(name, like->name)) of = like->spool;
  if (of && !name) name = like->name;
  if (name && be_text_same(name, "none")) return BE_OK;
  if (!name && !of) return BE_OK;
  int found = 0;
  enum be_status status = find_line(in, line, name, of, id, &found, err);
  if (status != BE_OK || found == 1) return status;
  if (found == 0 && !name) {
    be_fail(err, BE_BAD_INPUT, "there is no spool \"%s\" in the book", of);
    be_fail_remedy(err, "enter its line sheet first, or name the line too");
    return be_fail_here(in, spool, err);
  }
  if (found > 1 && of) {
    be_fail(err, BE_BAD_INPUT, "more than one line has a spool \"%s\"", of);
    be_fail_remedy(err, "name the line too");
    return be_fail_here(in, spool, err);
  }
  return make_line(in, name, of, id, err);
}
