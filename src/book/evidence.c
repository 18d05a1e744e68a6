/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Photos and clips of a pull, by the names of their files, which stay where they are. Names are
 * appended, never replaced. */
#include "book/inside.h"

#include <stdio.h>
#include <string.h>

enum { NAME_MOST = 255, NAMES_MOST = 100 }; /* bytes of a name; names of one cell */

static const char *text_of(struct entering *in, enum field field)
{
  return be_field_text(&in->sheet, &in->fields, in->row, field);
}

/* ---- a row that names some ---- */

struct naming {
  sqlite3_stmt *insert;
  int64_t pull;
  size_t named, added;
};

static enum be_status add_name(struct entering *in, struct naming *naming, enum field field,
                               const char *name, struct be_err *err)
{
  sqlite3_stmt *s = naming->insert;
  sqlite3_bind_int64(s, 1, naming->pull);
  be_bind_text(s, 2, be_field_name(field));
  be_bind_text(s, 3, name);
  be_bind_text(s, 4, in->fields.kind == SHEET_EVIDENCE ? text_of(in, FIELD_NOTE) : NULL);
  sqlite3_bind_int64(s, 5, in->file);
  sqlite3_bind_int64(s, 6, (int64_t)in->sheet.lines[in->row]);
  enum be_status status = be_sql_step(s, NULL, err);
  naming->named++;
  size_t added = status == BE_OK ? (size_t)sqlite3_changes(in->book->db) : 0;
  naming->added += added;
  in->entered->evidence += strcmp(name, "none") == 0 ? 0 : added;
  sqlite3_reset(s);
  return status;
}

/* One of "a.jpg; b.jpg", of the size given; what is between two marks may be nothing. */
static enum be_status take_name(struct entering *in, struct naming *naming, enum field field,
                                const char *text, size_t size, struct be_err *err)
{
  char name[NAME_MOST + 1];
  while (size && *text == ' ') text++, size--;
  while (size && text[size - 1] == ' ') size--;
  if (size == 0) return BE_OK;
  bool control = false;
  for (size_t i = 0; i < size; i++) control |= (unsigned char)text[i] < ' ' || text[i] == 0x7F;
  if (size > NAME_MOST || control) {
    if (control)
      be_fail(err, BE_BAD_INPUT, "the name of a %s holds a line break or the like",
              be_field_name(field));
    else
      be_fail(err, BE_BAD_INPUT, "the name of a %s has more than %d bytes", be_field_name(field),
              NAME_MOST);
    be_fail_remedy(err, "write the names of the files alone, several with \";\" between them");
    return be_fail_here(in, field, err);
  }
  snprintf(name, sizeof name, "%.*s", (int)size, text);
  return add_name(in, naming, field, be_text_same(name, "none") ? "none" : name, err);
}

static enum be_status take_names(struct entering *in, struct naming *naming, enum field field,
                                 struct be_err *err)
{
  const char *text = text_of(in, field);
  enum be_status status = BE_OK;
  for (size_t i = 0; text && status == BE_OK; i++) {
    if (i == NAMES_MOST) {
      be_fail(err, BE_BAD_INPUT, "a cell names more than %d files", NAMES_MOST);
      be_fail_remedy(err, "name the others in another row of an evidence sheet");
      return be_fail_here(in, field, err);
    }
    size_t size = strcspn(text, ";");
    status = take_name(in, naming, field, text, size, err);
    text = text[size] ? text + size + 1 : NULL;
  }
  return status;
}

static enum be_status take_row(struct entering *in, struct naming *naming, struct be_err *err)
{
  if (!text_of(in, FIELD_PHOTO) && !text_of(in, FIELD_CLIP)) return BE_OK;
  enum be_status status = be_sql_prepare(
      in->book->db,
      "INSERT INTO evidence (pull, kind, name, note, file, file_line) SELECT ?1, ?2, ?3, ?4, ?5, ?6"
      " WHERE NOT EXISTS (SELECT 1 FROM evidence WHERE pull = ?1 AND kind = ?2 AND name = ?3)",
      &naming->insert, err);
  if (status == BE_OK) status = take_names(in, naming, FIELD_PHOTO, err);
  if (status == BE_OK) status = take_names(in, naming, FIELD_CLIP, err);
  sqlite3_finalize(naming->insert);
  return status;
}

enum be_status be_evidence_of_row(struct entering *in, int64_t pull, struct be_err *err)
{
  struct naming naming = {.pull = pull};
  return take_row(in, &naming, err);
}

/* ---- an evidence sheet ---- */

static enum be_status find_pull(struct entering *in, const char *code, int64_t *pull,
                                struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  bool row = false;
  enum be_status status =
      be_sql_prepare(in->book->db,
                     "SELECT pull.id FROM pull JOIN specimen ON specimen.id = specimen"
                     " WHERE code = ?1",
                     &s, err);
  if (status != BE_OK) return status;
  be_bind_text(s, 1, code);
  status = be_sql_step(s, &row, err);
  if (status == BE_OK && row) *pull = sqlite3_column_int64(s, 0);
  sqlite3_finalize(s);
  if (status != BE_OK || row) return status;
  be_fail(err, BE_BAD_INPUT, "there is no pull of specimen \"%s\" in the book", code);
  be_fail_remedy(err, "check its code, or enter its pull first");
  return be_fail_here(in, FIELD_SPECIMEN, err);
}

enum be_status be_enter_evidence_row(struct entering *in, struct be_err *err)
{
  const char *code = text_of(in, FIELD_SPECIMEN);
  struct naming naming = {.pull = 0};
  if (!code) {
    be_fail(err, BE_BAD_INPUT, "the specimen is not named");
    be_fail_remedy(err, "every row needs the code of its specimen");
    return be_fail_here(in, FIELD_SPECIMEN, err);
  }
  struct retold told;
  enum be_status status = find_pull(in, code, &naming.pull, err);
  if (status == BE_OK) status = take_row(in, &naming, err);
  if (status == BE_OK) status = be_retell(in, naming.pull, &told, err);
  if (status != BE_OK) return status;
  in->entered->known += naming.added + told.added + told.anew == 0;
  in->entered->told += told.added + told.anew > 0;
  if (naming.named) return BE_OK;
  if (text_of(in, FIELD_NOTE)) {
    be_fail(err, BE_BAD_INPUT, "the note belongs to no photo and no clip");
    be_fail_remedy(err, "name the file, or take the note out: it would be lost");
    return be_fail_here(in, FIELD_NOTE, err);
  }
  if (told.told) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "the row names no photo and no clip, and tells nothing else");
  be_fail_remedy(err, "name the file, write \"none\" where there is none, or leave the row out");
  return be_fail_here(in, in->fields.column[FIELD_PHOTO] >= 0 ? FIELD_PHOTO : FIELD_CLIP, err);
}

/* ---- reading ---- */

/* Rows stand by pull, as the pulls of the record do. */
static void hand_out(struct be_record *record, const int64_t *pulls, const struct be_evidence *list,
                     size_t count)
{
  for (size_t i = 0, p = 0; i < count; i++) {
    while (p < record->pulls_count && record->pulls[p].id < pulls[i]) p++;
    if (p == record->pulls_count) return;
    if (record->pulls[p].id != pulls[i]) continue;
    if (!record->pulls[p].evidence) record->pulls[p].evidence = &list[i];
    record->pulls[p].evidence_count++;
  }
}

enum be_status be_read_evidence(struct be_book *book, int64_t until, struct be_arena *arena,
                                struct be_record *record, struct be_err *err)
{
  size_t most = 0, count = 0;
  enum be_status status =
      be_count_rows(book, "SELECT count(*) FROM evidence WHERE file < ?1", until, &most, err);
  if (status != BE_OK || most == 0) return status;
  struct be_evidence *list = be_arena_alloc(arena, most * sizeof *list);
  int64_t *pulls = be_arena_alloc(arena, most * sizeof *pulls);
  if (!list || !pulls) return be_fail(err, BE_NO_MEMORY, "no memory for photos and clips");
  struct rows rows = {.arena = arena};
  struct pool notes = {.count = 0};
  status = be_sql_prepare(book->db,
                          "SELECT pull, kind = 'clip', name, note FROM evidence WHERE file < ?1"
                          " ORDER BY pull, id",
                          &rows.s, err);
  if (status == BE_OK) sqlite3_bind_int64(rows.s, 1, until);
  for (; be_next_row(&rows, count, most, &status, err); count++) {
    pulls[count] = sqlite3_column_int64(rows.s, 0);
    list[count] = (struct be_evidence){.clip = sqlite3_column_int(rows.s, 1) != 0,
                                       .name = be_column_text(&rows, 2),
                                       .note = be_column_pooled(&rows, 3, &notes)};
  }
  sqlite3_finalize(rows.s);
  if (status == BE_OK) hand_out(record, pulls, list, count);
  return status;
}
