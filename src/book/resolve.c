/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The line or knot that a row names. What the book does not know yet is made
 * from what the row says, and said. */
#include "book/inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum be_status be_fail_here(struct entering *in, enum field field, struct be_err *err)
{
  int column = in->fields.column[field];
  be_fail_at(err, in->name, in->sheet.lines[in->row], column >= 0 ? (size_t)column + 1 : 0);
  if (err && column >= 0) {
    char what[sizeof err->what];
    snprintf(what, sizeof what, "column \"%.100s\": %.280s",
             be_sheet_cell(&in->sheet, 0, (size_t)column), err->what);
    memcpy(err->what, what, sizeof what);
  }
  return err ? err->status : BE_BAD_INPUT;
}

void be_note_here(struct entering *in, size_t line, const char *format, ...)
{
  struct be_entered *entered = in->entered;
  char text[512];
  size_t used = 0;
  if (line) used = (size_t)snprintf(text, sizeof text, "line %zu: ", line);
  va_list list;
  va_start(list, format);
  vsnprintf(text + used, sizeof text - used, format, list);
  va_end(list);
  char *copy = entered->notes_count < BE_BOOK_NOTES_MAX
                   ? be_arena_text(in->arena, text, strlen(text))
                   : NULL;
  if (copy) entered->notes[entered->notes_count++] = copy;
  else entered->notes_dropped++;
}

/* What the user says of the decimal mark settles what else would be asked:
 * with a point said, 1,234 is a thousand and more. */
static enum be_status read_as_said(struct entering *in, const char *text,
                                   enum be_dimension dimension, const struct be_unit *unit,
                                   struct be_quantity *quantity, struct be_err *err)
{
  char plain[128];
  size_t used = 0;
  char thousands = in->how->decimal == '.' ? ',' : '.';
  for (; *text && used + 1 < sizeof plain; text++)
    if (*text != thousands) plain[used++] = *text;
  enum be_status status =
      be_quantity_parse(plain, used, dimension, unit, in->how->decimal, quantity, err);
  quantity->style = BE_NUMBER_THOUSANDS;
  return status;
}

static void note_style(struct entering *in, enum field field, const char *text,
                       const struct be_quantity *quantity)
{
  size_t line = in->sheet.lines[in->row];
  double typed = quantity->value / quantity->unit->factor;
  if (quantity->style == BE_NUMBER_COMMA || quantity->style == BE_NUMBER_POINT) {
    bool comma = quantity->style == BE_NUMBER_COMMA;
    be_note_here(in, line,
                 "column \"%s\": \"%s\" was taken for %g %s: a %s that does not stand "
                 "before three digits is a decimal mark%s",
                 be_field_name(field), text, typed, quantity->unit->name, comma ? "comma" : "point",
                 in->sheet.usual ? ", though the rest of the sheet writes the other" : "");
  } else if (quantity->style == BE_NUMBER_THOUSANDS) {
    be_note_here(in, line,
                 "column \"%s\": \"%s\" was taken for %g %s: marks before groups of three "
                 "digits are thousands",
                 be_field_name(field), text, typed, quantity->unit->name);
  }
}

enum be_status be_field_number(struct entering *in, enum field field, enum be_dimension dimension,
                               const struct be_unit *fallback, struct be_quantity *quantity,
                               struct be_err *err)
{
  const char *text = be_field_text(&in->sheet, &in->fields, in->row, field);
  *quantity = (struct be_quantity){.value = NAN};
  if (!text || be_text_same(text, "none")) return BE_OK;
  const struct be_unit *unit = in->fields.unit[field] ? in->fields.unit[field] : fallback;
  char usual = in->how->decimal ? in->how->decimal : in->sheet.usual;
  enum be_status status =
      be_quantity_parse(text, strlen(text), dimension, unit, usual, quantity, err);
  if (status == BE_ASK && in->how->decimal)
    status = read_as_said(in, text, dimension, unit, quantity, err);
  if (status == BE_OK && !isfinite(quantity->value))
    status = be_fail(err, BE_BAD_INPUT, "\"%s\" is too large", text);
  if (status == BE_OK && quantity->value < 0)
    status = be_fail(err, BE_BAD_INPUT, "\"%s\" is below zero", text);
  if (status == BE_OK) note_style(in, field, text, quantity);
  else be_fail_here(in, field, err);
  return status;
}

/* ---- lines ---- */

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
      " file) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
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
  int code = sqlite3_step(statement);
  sqlite3_finalize(statement);
  if (code == SQLITE_CONSTRAINT) {
    be_fail(err, BE_BAD_INPUT, "the line \"%s\"%s%s is in the book already", line->name,
            line->spool ? ", spool " : "", line->spool ? line->spool : "");
    return be_fail_here(in, FIELD_LINE, err);
  }
  if (code != SQLITE_DONE) return be_sql_failed(in->book->db, err);
  *id = sqlite3_last_insert_rowid(in->book->db);
  in->entered->lines++;
  return BE_OK;
}

enum be_status be_line_add(struct entering *in, const struct line_named *line, struct be_err *err)
{
  int64_t id;
  struct line_named known = *line;
  if (!known.material) known.material = material_in(known.name);
  return insert_line(in, &known, &id, err);
}

/* A line named without its spool is the only spool of it, or, where there are
 * several, the one whose spool was not recorded. */
static const char find_line_sql[] =
    "SELECT id FROM line WHERE (?1 IS NULL OR name = ?1 COLLATE NOCASE)"
    " AND CASE WHEN ?2 IS NOT NULL THEN spool = ?2 COLLATE NOCASE"
    " WHEN (SELECT count(*) FROM line WHERE name = ?1 COLLATE NOCASE) > 1 THEN spool IS NULL"
    " ELSE 1 END LIMIT 2";

static enum be_status find_line(struct entering *in, const char *name, const char *spool,
                                int64_t *id, int *found, struct be_err *err)
{
  sqlite3_stmt *statement = NULL;
  enum be_status status = be_sql_prepare(in->book->db, find_line_sql, &statement, err);
  if (status != BE_OK) return status;
  be_bind_text(statement, 1, name);
  be_bind_text(statement, 2, spool);
  bool row = true;
  *found = 0;
  while (status == BE_OK && row) {
    status = be_sql_step(statement, &row, err);
    if (status == BE_OK && row) *id = sqlite3_column_int64(statement, 0), ++*found;
  }
  sqlite3_finalize(statement);
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

enum be_status be_line_resolve(struct entering *in, enum field line, enum field spool, int64_t *id,
                               struct be_err *err)
{
  const char *name = be_field_text(&in->sheet, &in->fields, in->row, line);
  const char *of = be_field_text(&in->sheet, &in->fields, in->row, spool);
  *id = 0;
  if (name && be_text_same(name, "none")) return BE_OK;
  if (!name && !of) return BE_OK;
  int found = 0;
  enum be_status status = find_line(in, name, of, id, &found, err);
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

/* ---- knots ---- */

static enum be_status insert_knot(struct entering *in, const struct knot_named *knot, int64_t *id,
                                  struct be_err *err)
{
  sqlite3_stmt *statement = NULL;
  enum be_status status =
      be_sql_prepare(in->book->db,
                     "INSERT INTO knot (name, version, kind, turns, doubled, aliases, file)"
                     " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                     &statement, err);
  if (status != BE_OK) return status;
  be_bind_text(statement, 1, knot->name);
  be_bind_text(statement, 2, knot->version);
  be_bind_text(statement, 3, knot->kind);
  be_bind_number(statement, 4, knot->turns);
  be_bind_text(statement, 5, knot->doubled);
  be_bind_text(statement, 6, knot->aliases);
  sqlite3_bind_int64(statement, 7, in->file);
  int code = sqlite3_step(statement);
  sqlite3_finalize(statement);
  if (code == SQLITE_CONSTRAINT) {
    be_fail(err, BE_BAD_INPUT, "this knot is in the book already: \"%s\"", knot->name);
    return be_fail_here(in, FIELD_KNOT, err);
  }
  if (code != SQLITE_DONE) return be_sql_failed(in->book->db, err);
  *id = sqlite3_last_insert_rowid(in->book->db);
  in->entered->knots++;
  return BE_OK;
}

enum be_status be_knot_add(struct entering *in, const struct knot_named *knot, struct be_err *err)
{
  int64_t id;
  return insert_knot(in, knot, &id, err);
}

/* Aliases are kept as "|half blood|grinner|" would be found: by a comma list
 * searched with commas at both ends. */
static const char find_knot_sql[] =
    "SELECT id FROM knot WHERE (name = ?1 COLLATE NOCASE OR"
    " instr(lower(',' || replace(ifnull(aliases, ''), ', ', ',') || ','),"
    " lower(',' || ?1 || ',')) > 0)"
    " AND (?2 IS NULL AND version IS NULL OR version = ?2 COLLATE NOCASE)"
    " AND (?3 IS NULL OR turns = ?3) LIMIT 2";

enum be_status be_knot_resolve(struct entering *in, const struct knot_named *knot, int64_t *id,
                               struct be_err *err)
{
  sqlite3_stmt *statement = NULL;
  enum be_status status = be_sql_prepare(in->book->db, find_knot_sql, &statement, err);
  if (status != BE_OK) return status;
  be_bind_text(statement, 1, knot->name);
  be_bind_text(statement, 2, knot->version);
  be_bind_number(statement, 3, knot->turns);
  bool row = true;
  int found = 0;
  while (status == BE_OK && row) {
    status = be_sql_step(statement, &row, err);
    if (status == BE_OK && row) *id = sqlite3_column_int64(statement, 0), found++;
  }
  sqlite3_finalize(statement);
  if (status != BE_OK || found == 1) return status;
  if (found > 1) {
    be_fail(err, BE_BAD_INPUT, "\"%s\" is the name of more than one knot in the book", knot->name);
    be_fail_remedy(err, "add the column \"turns\" or \"version\"");
    return be_fail_here(in, FIELD_KNOT, err);
  }
  status = insert_knot(in, knot, id, err);
  if (status == BE_OK)
    be_note_here(in, in->sheet.lines[in->row], "new knot \"%s\"%s%s", knot->name,
                 knot->version ? ", version " : "", knot->version ? knot->version : "");
  return status;
}
