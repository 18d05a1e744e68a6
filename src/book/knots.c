/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Knot sheets, and the knot that a row names. What the book does not know yet is
 * made from what the row says, and said. */
#include "book/inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *text_of(struct entering *in, enum field field)
{
  return be_field_text(&in->sheet, &in->fields, in->row, field);
}

static enum be_status insert_knot(struct entering *in, const struct knot_named *knot, int64_t *id,
                                  struct be_err *err)
{
  sqlite3_stmt *statement = NULL;
  enum be_status status =
      be_sql_prepare(in->book->db,
                     "INSERT INTO knot (name, version, kind, turns, doubled, aliases, file,"
                     " crossings_a, crossings_b, overlap_m, tie, tie_s, guides)"
                     " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)",
                     &statement, err);
  if (status != BE_OK) return status;
  be_bind_text(statement, 1, knot->name);
  be_bind_text(statement, 2, knot->version);
  be_bind_text(statement, 3, knot->kind);
  be_bind_number(statement, 4, knot->turns);
  be_bind_text(statement, 5, knot->doubled);
  be_bind_text(statement, 6, knot->aliases);
  sqlite3_bind_int64(statement, 7, in->file);
  be_bind_number(statement, 8, knot->crossings_a);
  be_bind_number(statement, 9, knot->crossings_b);
  be_bind_number(statement, 10, knot->overlap_m);
  be_bind_text(statement, 11, knot->tie);
  be_bind_number(statement, 12, knot->tie_s);
  be_bind_text(statement, 13, knot->guides);
  status = be_sql_step(statement, NULL, err);
  sqlite3_finalize(statement);
  if (status != BE_OK) return status;
  *id = sqlite3_last_insert_rowid(in->book->db);
  in->entered->knots++;
  return BE_OK;
}

/* The first field in which the row of the book is another; FIELDS if none is. */
static enum field knot_differs(sqlite3_stmt *s, const struct knot_named *knot)
{
  if (!be_fits_text(s, 0, knot->kind)) return FIELD_KIND;
  if (!be_fits_text(s, 1, knot->doubled)) return FIELD_DOUBLED;
  if (!be_fits_text(s, 2, knot->aliases)) return FIELD_ALIASES;
  if (!be_fits_number(s, 4, knot->crossings_a)) return FIELD_CROSSINGS_A;
  if (!be_fits_number(s, 5, knot->crossings_b)) return FIELD_CROSSINGS_B;
  if (!be_fits_number(s, 6, knot->overlap_m)) return FIELD_OVERLAP;
  if (!be_fits_text(s, 7, knot->tie)) return FIELD_TIE;
  if (!be_fits_number(s, 8, knot->tie_s)) return FIELD_TIE_TIME;
  return be_fits_text(s, 9, knot->guides) ? FIELDS : FIELD_GUIDES;
}

/* Finds the knot of that name, version and turns: *id is 0 if there is none. */
static enum be_status knot_known(struct entering *in, const struct knot_named *knot, int64_t *id,
                                 struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  bool known = false;
  enum be_status status =
      be_sql_prepare(in->book->db,
                     "SELECT kind, doubled, aliases, id, crossings_a, crossings_b, overlap_m, tie,"
                     " tie_s, guides"
                     " FROM knot WHERE name = ?1 COLLATE NOCASE AND ifnull(version, '') = "
                     "ifnull(?2, '') COLLATE NOCASE AND turns IS ?3",
                     &s, err);
  if (status != BE_OK) return status;
  be_bind_text(s, 1, knot->name);
  be_bind_text(s, 2, knot->version);
  be_bind_number(s, 3, knot->turns);
  status = be_sql_step(s, &known, err);
  enum field other = status == BE_OK && known ? knot_differs(s, knot) : FIELDS;
  *id = known ? sqlite3_column_int64(s, 3) : 0;
  sqlite3_finalize(s);
  if (other == FIELDS) return status;
  be_fail(err, BE_BAD_INPUT, "this knot is in the book already: \"%s\", with other %s", knot->name,
          be_field_name(other));
  be_fail_remedy(err, "what is in the book stays: take the row out or give it the same values; "
                      "another version of it needs another \"version\" or \"turns\"");
  return be_fail_here(in, in->fields.column[other] >= 0 ? other : FIELD_KNOT, err);
}

/* What was not recorded may be told later. */
static enum be_status tell_more(struct entering *in, const struct knot_named *knot, int64_t id,
                                struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  enum be_status status = be_sql_prepare(
      in->book->db,
      "UPDATE knot SET kind = ifnull(kind, ?2), doubled = ifnull(doubled, ?3),"
      " aliases = ifnull(aliases, ?4), crossings_a = ifnull(crossings_a, ?5),"
      " crossings_b = ifnull(crossings_b, ?6), overlap_m = ifnull(overlap_m, ?7),"
      " tie = ifnull(tie, ?8), tie_s = ifnull(tie_s, ?9), guides = ifnull(guides, ?10)"
      " WHERE id = ?1",
      &s, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(s, 1, id);
  be_bind_text(s, 2, knot->kind);
  be_bind_text(s, 3, knot->doubled);
  be_bind_text(s, 4, knot->aliases);
  be_bind_number(s, 5, knot->crossings_a);
  be_bind_number(s, 6, knot->crossings_b);
  be_bind_number(s, 7, knot->overlap_m);
  be_bind_text(s, 8, knot->tie);
  be_bind_number(s, 9, knot->tie_s);
  be_bind_text(s, 10, knot->guides);
  status = be_sql_step(s, NULL, err);
  sqlite3_finalize(s);
  in->entered->known += status == BE_OK;
  return status;
}

/* A name must lead to one knot: no other may be called so. */
static enum be_status name_is_free(struct entering *in, const struct knot_named *knot,
                                   const char *name, enum field field, struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  bool taken = false;
  char other[100] = "";
  enum be_status status =
      be_sql_prepare(in->book->db,
                     "SELECT name FROM knot WHERE name <> ?2 COLLATE NOCASE AND"
                     " (name = ?1 COLLATE NOCASE OR instr(lower(',' || replace(ifnull(aliases, ''),"
                     " ', ', ',') || ','), lower(',' || ?1 || ',')) > 0) LIMIT 1",
                     &s, err);
  if (status != BE_OK) return status;
  be_bind_text(s, 1, name);
  be_bind_text(s, 2, knot->name);
  status = be_sql_step(s, &taken, err);
  const char *text = taken ? (const char *)sqlite3_column_text(s, 0) : NULL;
  if (text) snprintf(other, sizeof other, "%s", text);
  sqlite3_finalize(s);
  if (status != BE_OK || !taken) return status;
  be_fail(err, BE_BAD_INPUT, "\"%s\" is already a name of the knot \"%s\"", name, other);
  be_fail_remedy(err, "give each knot names of its own, or a \"version\" to tell two apart");
  return be_fail_here(in, field, err);
}

static enum be_status names_are_free(struct entering *in, const struct knot_named *knot,
                                     struct be_err *err)
{
  enum be_status status = name_is_free(in, knot, knot->name, FIELD_KNOT, err);
  for (const char *at = knot->aliases; at && *at && status == BE_OK;) {
    size_t length = strcspn(at, ",");
    char *name = be_arena_text(in->arena, at, length);
    if (!name) return be_fail(err, BE_NO_MEMORY, "no memory for a knot");
    while (length && name[length - 1] == ' ') name[--length] = '\0';
    if (length && !be_text_same(name, knot->name))
      status = name_is_free(in, knot, name, FIELD_ALIASES, err);
    at += strcspn(at, ",");
    at += strspn(at, ", ");
  }
  return status;
}

static enum be_status add_knot(struct entering *in, const struct knot_named *knot,
                               struct be_err *err)
{
  int64_t id = 0;
  enum be_status status = knot_known(in, knot, &id, err);
  if (status == BE_OK) status = names_are_free(in, knot, err);
  if (status != BE_OK) return status;
  return id ? tell_more(in, knot, id, err) : insert_knot(in, knot, &id, err);
}

/* "none" is zero: a line may cross nothing. */
static enum be_status read_drawn(struct entering *in, enum field field, double *value,
                                 struct be_err *err)
{
  const char *text = text_of(in, field);
  bool length = field == FIELD_OVERLAP;
  struct be_quantity quantity;
  enum be_status status = be_field_number(in, field, length ? BE_LENGTH : BE_RATIO,
                                          length ? NULL : be_unit_si(BE_RATIO), &quantity, err);
  *value = text && be_text_same(text, "none") ? 0 : quantity.value;
  return status;
}

enum be_status be_enter_knot_row(struct entering *in, struct be_err *err)
{
  struct knot_named knot = {.name = text_of(in, FIELD_KNOT),
                            .version = text_of(in, FIELD_VERSION),
                            .kind = text_of(in, FIELD_KIND),
                            .doubled = text_of(in, FIELD_DOUBLED),
                            .aliases = text_of(in, FIELD_ALIASES),
                            .tie = text_of(in, FIELD_TIE),
                            .guides = text_of(in, FIELD_GUIDES)};
  if (!knot.name) {
    be_fail(err, BE_BAD_INPUT, "the knot has no name");
    be_fail_remedy(err, "every row of a knot sheet needs one");
    return be_fail_here(in, FIELD_KNOT, err);
  }
  struct be_quantity time;
  enum be_status status =
      be_field_number(in, FIELD_TIE_TIME, BE_TIME, be_unit_si(BE_TIME), &time, err);
  knot.tie_s = time.value;
  if (status == BE_OK) status = be_turns_read(in, FIELD_TURNS, &knot.turns, err);
  if (status == BE_OK) status = read_drawn(in, FIELD_CROSSINGS_A, &knot.crossings_a, err);
  if (status == BE_OK) status = read_drawn(in, FIELD_CROSSINGS_B, &knot.crossings_b, err);
  if (status == BE_OK) status = read_drawn(in, FIELD_OVERLAP, &knot.overlap_m, err);
  if (status == BE_OK) status = add_knot(in, &knot, err);
  return status == BE_OK ? be_picture_of_row(in, &knot, err) : status;
}

/* Aliases are a list with commas between, searched with commas at both ends. */
static const char find_knot_sql[] =
    "SELECT id FROM knot WHERE (name = ?1 COLLATE NOCASE OR"
    " instr(lower(',' || replace(ifnull(aliases, ''), ', ', ',') || ','),"
    " lower(',' || ?1 || ',')) > 0)"
    " AND (?2 IS NULL AND version IS NULL OR version = ?2 COLLATE NOCASE)"
    " AND (?3 IS NULL OR turns = ?3) LIMIT 2";

enum be_status be_knot_resolve(struct entering *in, const struct knot_named *knot, enum field field,
                               int64_t *id, struct be_err *err)
{
  enum be_status status = BE_OK;
  if (!in->find_knot) status = be_sql_prepare(in->book->db, find_knot_sql, &in->find_knot, err);
  if (status != BE_OK) return status;
  sqlite3_stmt *statement = in->find_knot;
  be_bind_text(statement, 1, knot->name);
  be_bind_text(statement, 2, knot->version);
  be_bind_number(statement, 3, knot->turns);
  bool row = true;
  int found = 0;
  while (status == BE_OK && row) {
    status = be_sql_step(statement, &row, err);
    if (status == BE_OK && row) *id = sqlite3_column_int64(statement, 0), found++;
  }
  sqlite3_reset(statement);
  if (status != BE_OK || found == 1) return status;
  if (found > 1) {
    be_fail(err, BE_BAD_INPUT, "\"%s\" is the name of more than one knot in the book", knot->name);
    enum field turns = field == FIELD_KNOT_B ? FIELD_TURNS_B : FIELD_TURNS;
    enum field version = field == FIELD_KNOT_B ? FIELD_VERSION_B : FIELD_VERSION;
    bool there = in->fields.column[turns] >= 0 || in->fields.column[version] >= 0;
    be_fail_remedy(err, "%s the column \"%s\" or \"%s\"", there ? "fill in" : "add",
                   be_field_name(turns), be_field_name(version));
    return be_fail_here(in, field, err);
  }
  status = insert_knot(in, knot, id, err);
  if (status == BE_OK)
    be_note_here(in, in->sheet.lines[in->row], "new knot \"%s\"%s%s", knot->name,
                 knot->version ? ", version " : "", knot->version ? knot->version : "");
  return status;
}
